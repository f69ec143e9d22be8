"""Bias: class against curve, its causes, and what the data cannot tell apart."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOMES = {
    "Comparison": "comparison",
    "compare": "comparison",
    "Diagnosis": "diagnosis",
    "diagnose": "diagnosis",
    "DesignedFit": "designed",
    "designed_fit": "designed",
    "RouteContrast": "contrast",
    "residue_minus_titration": "contrast",
    "DesignRank": "design_rank",
    "design_rank": "design_rank",
    "Separability": "separability",
    "catalogue_table": "catalogue",
    "evidence_table": "evidence",
    "GroupReasons": "reasons",
    "reasons_for_group": "reasons",
}
__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
