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
}
__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
