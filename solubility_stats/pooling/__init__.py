"""One value out of many groups, how far they spread, and who stands apart.

Each name loads its module on first use, so that a consensus never pays for mixed models. Where a
function bears the name of its module (``precision``, ``factors``, ``scores``, ``trueness``,
``two_sample``, ``equivalence``) the attribute is the module: ``pooling.precision.precision``.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

# Public name -> module of this room that defines it.
_HOMES = {
    "Bootstrap": "resampling",
    "Cochran": "consistency",
    "Consensus": "consensus",
    "Equivalence": "equivalence",
    "EstimatorTable": "estimators",
    "Factors": "factors",
    "Heterogeneity": "estimators",
    "IdenticalRows": "identical",
    "METHODS": "consensus",
    "Mandel": "consistency",
    "OutlierTest": "outliers",
    "Precision": "precision",
    "Replication": "replicates",
    "Scores": "scores",
    "Sensitivity": "sensitivity",
    "StandsApart": "standing",
    "TerminalDigits": "digits",
    "Trueness": "trueness",
    "TwoSample": "two_sample",
    "bootstrap": "resampling",
    "cochran": "consistency",
    "compare_estimators": "estimators",
    "drift": "factors",
    "e_n": "scores",
    "generalized_esd": "outliers",
    "grubbs": "outliers",
    "heterogeneity": "estimators",
    "horrat": "scores",
    "horwitz_sd": "scores",
    "identical_rows": "identical",
    "mandel": "consistency",
    "pool": "consensus",
    "replication": "replicates",
    "stands_apart": "standing",
    "terminal_digits": "digits",
    "with_and_without": "sensitivity",
    "z_prime": "scores",
    "z_score": "scores",
    "zeta_score": "scores",
}
_MODULES = ("equivalence", "factors", "precision", "scores", "trueness", "two_sample")

__all__ = sorted({*_HOMES, *_MODULES})

if TYPE_CHECKING:
    from solubility_stats.pooling.consensus import METHODS as METHODS
    from solubility_stats.pooling.consensus import Consensus as Consensus
    from solubility_stats.pooling.consensus import pool as pool
    from solubility_stats.pooling.estimators import EstimatorTable as EstimatorTable
    from solubility_stats.pooling.estimators import Heterogeneity as Heterogeneity
    from solubility_stats.pooling.estimators import compare_estimators as compare_estimators
    from solubility_stats.pooling.estimators import heterogeneity as heterogeneity
    from solubility_stats.pooling.replicates import Replication as Replication
    from solubility_stats.pooling.replicates import replication as replication
    from solubility_stats.pooling.resampling import Bootstrap as Bootstrap
    from solubility_stats.pooling.resampling import bootstrap as bootstrap


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    if name in _MODULES:
        return import_module(f"{__name__}.{name}")
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
