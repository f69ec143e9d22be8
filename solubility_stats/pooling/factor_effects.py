"""What goes with higher or lower results: filtration, section, instructor, times, temperature.

Every factor is first fitted alone, then all that can be told apart together. A factor that goes
with a difference is a place to look, not a cause: nobody assigned filtration or instructors by
lot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.pooling import factor_checks
from solubility_stats.pooling.aliasing import aliases
from solubility_stats.pooling.factor_model import Levels
from solubility_stats.pooling.factor_study import Study
from solubility_stats.pooling.multiplicity import adjust_p
from solubility_stats.pooling.tidy import (
    GROUPING,
    Missing,
    observations,
    recorded,
    source_frame,
)
from solubility_stats.pooling.variance_components import nested_levels
from solubility_stats.quantities import is_canonical, quantity

# What a teaching lab records beside the measurement itself, in the order it is reported.
USUAL_FACTORS = (
    "filtration",
    "section",
    "instructor",
    "balance",
    "scatter",
    "stir_min",
    "settle_min",
    "dry_min",
    "temperature_c",
    "semester",
)


@dataclass(frozen=True, repr=False)
class Factors(Result):
    """Effects of factors on the result.

    Attributes
    ----------
    tests : DataFrame
        One row per factor asked for: ``factor, kind`` (levels|slope|trend), ``n`` (runs),
        ``missing`` (runs without an entry), ``unit_of_replication, units, f, dof1, dof2,
        p_value, p_holm, p_bh`` (over all factors tested), ``verdict`` (``differs``, ``no
        difference shown``, ``cannot tell``) and ``words`` (why it cannot).
    effects : DataFrame
        One row per contrast of a factor fitted alone: ``factor, level, against, n, effect, u,
        low, high`` (in ``unit``), ``effect_percent, low_percent, high_percent`` (of the mean of
        all runs), ``dof, p_value, p_adjusted`` (Holm over all contrasts), ``words``. Two levels
        give their difference, more each level's distance from the mean of the levels, a number
        its slope per unit. Intervals are for one contrast at a time.
    joint : DataFrame
        The same with all factors that can be told apart fitted together; empty if they cannot.
    aliases : DataFrame
        Pairs that cannot be told apart: ``factor, other, relation, explained_percent, words``.
    checks : DataFrame
        ``factor, check, statistic, p_value, holds, words``.
    residuals : DataFrame
        For plots: ``factor, row`` (position in what was given), ``fitted, residual``.
    mean : float
        Mean of all runs, to which percentages refer.
    n, omitted : int
        Runs used; runs left out because the value is missing.
    level : float
        Confidence of the intervals.
    adjust : str
        Which adjusted p-value the verdict uses.
    notes : tuple of str
        What limits the reading.
    unit : str
        Unit of the value.
    """

    tests: pd.DataFrame
    effects: pd.DataFrame
    joint: pd.DataFrame
    aliases: pd.DataFrame
    checks: pd.DataFrame
    residuals: pd.DataFrame
    mean: float
    n: int
    omitted: int
    level: float
    adjust: str
    notes: tuple[str, ...]
    unit: str = ""

    def headline(self) -> str:
        """Return which factors go with a difference, and how many cannot be told."""
        hit = list(self.tests.loc[self.tests["verdict"] == "differs", "factor"])
        unsure = list(self.tests.loc[self.tests["verdict"] == "cannot tell", "factor"])
        told = len(self.tests) - len(unsure)
        text = f"Results go with {', '.join(hit)}" if hit else "No factor goes with a difference"
        text += f" ({told} of {len(self.tests)} factors tested on {self.n} runs)"
        return f"{text}; cannot tell: {', '.join(unsure)}" if unsure else text

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return effects, tests, and what cannot be told apart."""
        effects = ["factor", "level", "against", "n", "effect_percent", "low_percent"]
        tests = ["factor", "unit_of_replication", "units", "p_value", "p_holm", "verdict"]
        shown = {
            "Effects, % of the mean": self.effects[[*effects, "high_percent", "p_adjusted"]],
            "Tests": self.tests[tests],
        }
        if len(self.aliases):
            shown["Cannot be told apart"] = self.aliases[["words"]]
        failed = self.checks.loc[~self.checks["holds"].astype(bool), ["factor", "words"]]
        if len(failed):
            shown["Assumptions that do not hold"] = failed.reset_index(drop=True)
        return shown


def factors(
    data: Any,
    factors: Sequence[str] | None = None,
    *,
    value: str | None = None,
    categorical: Sequence[str] = (),
    semesters: Sequence[str] | None = None,
    level: float = 0.95,
    adjust: str = "holm",
    route: str = "residue",
    missing: Missing = "raise",
) -> Factors:
    """Estimate what goes with higher or lower results, one factor at a time and jointly.

    Parameters
    ----------
    data : Estimates or DataFrame
        One row per run. ``semester``, ``section`` and ``group`` columns, where present, are the
        nested units: groups of a section and runs of a group are never taken for independent.
    factors : sequence of str, optional
        Columns to test; by default those of :data:`USUAL_FACTORS` the data has.
    value : str, optional
        Column of the values; estimates bring theirs.
    categorical : sequence of str
        Numeric columns that are labels, not amounts (a balance numbered 1 to 4).
    semesters : sequence of str, optional
        Semesters in order of time; by default by year and season read from their names.
    level : float
        Confidence of the intervals.
    adjust : {"holm", "bh"}
        Which adjusted p-value decides ``differs``: Holm (any false one at most ``1 - level``) or
        Benjamini and Hochberg (their expected share).
    route, missing
        See :func:`solubility_stats.pooling.tidy.observations`; an entry missing in a factor
        leaves the run out of that factor's fit only, and is counted.

    Returns
    -------
    Factors
        A factor the data cannot tell gets a row with the reason instead of numbers.

    Raises
    ------
    InputError
        If a column asked for is absent, there are fewer than three runs, or no factor.

    Notes
    -----
    Model: value = factor + nested random effects of the units + run, by REML; t and F with
    containment degrees of freedom. See :mod:`solubility_stats.pooling.factor_model`.
    """
    if adjust not in ("holm", "bh"):
        raise InputError("unknown adjustment", where="adjust", found=adjust, expected="holm or bh")
    frame, _ = source_frame(data, route)
    asked = _asked(frame, factors)
    grouping = recorded(frame, GROUPING)
    carried = list(dict.fromkeys([*grouping, *asked]))
    obs = observations(data, value, carried, route=route, missing=missing, may_be_missing=carried)
    if obs.n < 3:
        raise InputError("too few runs", where="factors", found=obs.n, expected="three or more")
    study = Study(obs, _levels(obs.frame, grouping), grouping, level)
    for name in asked:
        study.add(name, _is_numeric(obs.frame[name], name, categorical, grouping))
    if "semester" in asked:
        study.add_trend(semesters)
    alias = aliases(study.terms, grouping)
    tests = study.tests_frame()
    _judge(tests, adjust, 1 - level)
    joint, notes = study.joint(alias)
    return Factors(
        tests=tests,
        effects=study.effects_frame(),
        joint=joint,
        aliases=alias,
        checks=factor_checks.table(study.checks),
        residuals=study.residuals_frame(),
        mean=study.mean,
        n=obs.n,
        omitted=obs.omitted,
        level=level,
        adjust=adjust,
        notes=tuple(notes),
        unit=obs.unit,
    )


def drift(
    data: Any,
    *,
    value: str | None = None,
    semesters: Sequence[str] | None = None,
    level: float = 0.95,
    route: str = "residue",
) -> Factors:
    """Return differences between semesters and, from three semesters on, their trend.

    Parameters
    ----------
    data, value, semesters, level, route
        As for :func:`factors`.
    """
    return factors(data, ["semester"], value=value, semesters=semesters, level=level, route=route)


def _asked(frame: pd.DataFrame, names: Sequence[str] | None) -> list[str]:
    if names is None:
        names = recorded(frame, USUAL_FACTORS)
    if isinstance(names, str):
        names = [names]
    if not names:
        raise InputError(
            "no factor to test",
            where="factors",
            expected="columns such as " + ", ".join(USUAL_FACTORS[:4]),
        )
    return list(dict.fromkeys(names))


def _is_numeric(
    series: pd.Series[Any], name: str, categorical: Sequence[str], grouping: Sequence[str]
) -> bool:
    if name in categorical or name in grouping or pd.api.types.is_bool_dtype(series):
        return False
    if is_canonical(name) and quantity(name).kind != "number":
        return False
    return bool(pd.api.types.is_numeric_dtype(series))


def _levels(frame: pd.DataFrame, grouping: Sequence[str]) -> Levels:
    found = nested_levels(frame, grouping)
    row = "run" if found.repeated else "group"
    return Levels(tuple(found.names), tuple(found.codes), row)


def _judge(tests: pd.DataFrame, adjust: str, alpha: float) -> None:
    p = tests["p_value"].to_numpy(dtype=float)
    tests["p_holm"], tests["p_bh"] = adjust_p(p, "holm"), adjust_p(p, "bh")
    decisive = tests[f"p_{adjust}"]
    tests["verdict"] = np.where(
        decisive.isna(),
        "cannot tell",
        np.where(decisive < alpha, "differs", "no difference shown"),
    )
