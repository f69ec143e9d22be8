"""Pooled class results of a solubility lab: value, uncertainty, bias and its likely causes.

``import solubility_stats as ss`` costs next to nothing: each name below loads its room on first
use, so a script that only reads a sheet never pays for plotting or statistics.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solubility_stats.lazy import on_first_use

__version__ = "0.1.0"

# Public name -> module that defines it. Submodules worth reaching by name map to themselves.
_HOMES = {
    "ClassRecords": "records",
    "analyse": "analysis",
    "Analysis": "analysis",
    "read_class": "sheets",
    "Protocol": "measurement",
    "estimate": "measurement",
    "Estimates": "measurement",
    "find_slips": "measurement",
    "Preparation": "measurement",
    "pool": "pooling",
    "Consensus": "pooling",
    "curve": "reference",
    "ReferenceCurve": "reference",
    "compare": "bias",
    "Comparison": "bias",
    "diagnose": "bias",
    "Diagnosis": "bias",
    "simulate": "simulation",
    "write_report": "report",
    "write_handouts": "report",
    "InputError": "errors",
    "SolubilityStatsError": "errors",
    "SolubilityStatsWarning": "errors",
}
_MODULES = (
    "bias",
    "datasets",
    "measurement",
    "planning",
    "pooling",
    "reference",
    "report",
    "sheets",
)

__all__ = ["__version__", *sorted({*_HOMES, *_MODULES})]

if TYPE_CHECKING:
    from solubility_stats import (
        bias,
        datasets,
        measurement,
        planning,
        pooling,
        reference,
        report,
        sheets,
    )
    from solubility_stats.analysis import Analysis, analyse
    from solubility_stats.bias import Comparison, Diagnosis, compare, diagnose
    from solubility_stats.errors import InputError, SolubilityStatsError, SolubilityStatsWarning
    from solubility_stats.measurement import (
        Estimates,
        Preparation,
        Protocol,
        estimate,
        find_slips,
    )
    from solubility_stats.pooling.consensus import pool
    from solubility_stats.pooling.result import Consensus
    from solubility_stats.records import ClassRecords
    from solubility_stats.reference import ReferenceCurve, curve
    from solubility_stats.report import write_handouts, write_report
    from solubility_stats.sheets import read_class
    from solubility_stats.simulation import simulate


__getattr__ = on_first_use(__name__, {**_HOMES, **{name: name for name in _MODULES}})


def __dir__() -> list[str]:
    return __all__
