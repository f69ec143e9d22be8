"""Sourced solubility data, curves that know their sources disagree, and what lab sums need.

``curve("calcium hydroxide").at(25.0)`` gives g per 100 g water with its standard uncertainty.
Submodules: ``water`` (density), ``convert`` (units and bases), ``molar_mass``, ``glassware`` and
``weighing`` (tolerances), ``ksp`` (why a bare solubility product is no reference).
"""

from __future__ import annotations

from solubility_stats.reference.curves import ReferenceCurve, curve
from solubility_stats.reference.solutes import solute_names
from solubility_stats.reference.values import CurveValue, ExtrapolationWarning

__all__ = ["CurveValue", "ExtrapolationWarning", "ReferenceCurve", "curve", "solute_names"]
