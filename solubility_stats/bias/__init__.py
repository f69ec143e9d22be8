"""Bias: class against curve, its causes, and what the data cannot tell apart."""

from __future__ import annotations

from solubility_stats.lazy import on_first_use

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


__getattr__ = on_first_use(__name__, _HOMES)


def __dir__() -> list[str]:
    return __all__
