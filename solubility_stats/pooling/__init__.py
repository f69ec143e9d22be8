"""One value out of many groups, how far they spread, and who stands apart.

Each name loads its module on first use, so that a consensus never pays for mixed models. No
module bears the name of a public function: importing it would put the module in its place.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from solubility_stats.lazy import on_first_use

# Module of this room -> the public names it defines.
_NAMES = {
    "accepted_value": ("Trueness", "trueness"),
    "anova": ("OneWay", "one_way"),
    "consensus": ("METHODS", "Consensus", "pool"),
    "consistency": ("Cochran", "Mandel", "cochran", "mandel"),
    "digits": ("ReadingDigits", "TerminalDigits", "reading_digits", "terminal_digits"),
    "estimators": ("EstimatorTable", "Heterogeneity", "compare_estimators", "heterogeneity"),
    "factor_effects": ("Factors", "drift", "factors"),
    "identical": ("IdenticalRows", "identical_rows"),
    "outliers": ("OutlierTest", "generalized_esd", "grubbs"),
    "replicates": ("Replication", "replication"),
    "resampling": ("Bootstrap", "bootstrap"),
    "scoring": (
        "Scores",
        "e_n",
        "horrat",
        "horwitz_sd",
        "scores",
        "z_prime",
        "z_score",
        "zeta_score",
    ),
    "sensitivity": ("Sensitivity", "with_and_without"),
    "standing": ("StandsApart", "stands_apart"),
    "tost": ("Equivalence", "equivalence"),
    "two_runs": ("TwoSample", "two_sample"),
    "variance_components": ("Precision", "precision"),
}
_HOMES = {name: module for module, names in _NAMES.items() for name in names}

# Written out, because a type checker does not run ``sorted``.
__all__ = [
    "METHODS",
    "Bootstrap",
    "Cochran",
    "Consensus",
    "Equivalence",
    "EstimatorTable",
    "Factors",
    "Heterogeneity",
    "IdenticalRows",
    "Mandel",
    "OneWay",
    "OutlierTest",
    "Precision",
    "ReadingDigits",
    "Replication",
    "Scores",
    "Sensitivity",
    "StandsApart",
    "TerminalDigits",
    "Trueness",
    "TwoSample",
    "bootstrap",
    "cochran",
    "compare_estimators",
    "drift",
    "e_n",
    "equivalence",
    "factors",
    "generalized_esd",
    "grubbs",
    "heterogeneity",
    "horrat",
    "horwitz_sd",
    "identical_rows",
    "mandel",
    "one_way",
    "pool",
    "precision",
    "reading_digits",
    "replication",
    "scores",
    "stands_apart",
    "terminal_digits",
    "trueness",
    "two_sample",
    "with_and_without",
    "z_prime",
    "z_score",
    "zeta_score",
]

if TYPE_CHECKING:
    from solubility_stats.pooling.accepted_value import Trueness, trueness
    from solubility_stats.pooling.anova import OneWay, one_way
    from solubility_stats.pooling.consensus import METHODS, Consensus, pool
    from solubility_stats.pooling.consistency import Cochran, Mandel, cochran, mandel
    from solubility_stats.pooling.digits import (
        ReadingDigits,
        TerminalDigits,
        reading_digits,
        terminal_digits,
    )
    from solubility_stats.pooling.estimators import (
        EstimatorTable,
        Heterogeneity,
        compare_estimators,
        heterogeneity,
    )
    from solubility_stats.pooling.factor_effects import Factors, drift, factors
    from solubility_stats.pooling.identical import IdenticalRows, identical_rows
    from solubility_stats.pooling.outliers import OutlierTest, generalized_esd, grubbs
    from solubility_stats.pooling.replicates import Replication, replication
    from solubility_stats.pooling.resampling import Bootstrap, bootstrap
    from solubility_stats.pooling.scoring import (
        Scores,
        e_n,
        horrat,
        horwitz_sd,
        scores,
        z_prime,
        z_score,
        zeta_score,
    )
    from solubility_stats.pooling.sensitivity import Sensitivity, with_and_without
    from solubility_stats.pooling.standing import StandsApart, stands_apart
    from solubility_stats.pooling.tost import Equivalence, equivalence
    from solubility_stats.pooling.two_runs import TwoSample, two_sample
    from solubility_stats.pooling.variance_components import Precision, precision


__getattr__ = on_first_use(__name__, _HOMES)


def __dir__() -> list[str]:
    return __all__
