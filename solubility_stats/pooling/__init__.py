"""One value out of many groups, how far they spread, and who stands apart.

Each name loads its module on first use, so that a consensus never pays for mixed models.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOMES = {
    "Consensus": "consensus",
    "pool": "consensus",
    "METHODS": "consensus",
    "EstimatorTable": "estimators",
    "compare_estimators": "estimators",
    "Heterogeneity": "estimators",
    "heterogeneity": "estimators",
    "Bootstrap": "resampling",
    "bootstrap": "resampling",
    "Replication": "replicates",
    "replication": "replicates",
    "Mandel": "consistency",
    "mandel": "consistency",
    "Cochran": "consistency",
    "cochran": "consistency",
    "OutlierTest": "outliers",
    "grubbs": "outliers",
    "generalized_esd": "outliers",
    "StandsApart": "standing",
    "stands_apart": "standing",
    "Sensitivity": "sensitivity",
    "with_and_without": "sensitivity",
    "Precision": "variance_components",
    "precision": "variance_components",
    "OneWay": "anova",
    "one_way": "anova",
    "Trueness": "accepted_value",
    "trueness": "accepted_value",
    "Scores": "scoring",
    "scores": "scoring",
    "z_score": "scoring",
    "z_prime": "scoring",
    "zeta_score": "scoring",
    "e_n": "scoring",
    "horwitz_sd": "scoring",
    "horrat": "scoring",
    "Factors": "factor_effects",
    "factors": "factor_effects",
    "drift": "factor_effects",
    "TwoSample": "two_runs",
    "two_sample": "two_runs",
    "TerminalDigits": "digits",
    "terminal_digits": "digits",
    "IdenticalRows": "identical",
    "identical_rows": "identical",
    "Equivalence": "tost",
    "equivalence": "tost",
}
__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
