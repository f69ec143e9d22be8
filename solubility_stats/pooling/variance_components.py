"""Precision of a class: repeatability, what each level adds, reproducibility.

ISO 5725-2 for one factor, ISO 5725-3 for nested ones. In a teaching lab *repeatability* is what
one group gets when it repeats a run, and *reproducibility* what a run by any group of any section
of any semester gets; the conditions in between are named for what they hold fixed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pandas as pd

from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError
from solubility_stats.pooling import nested
from solubility_stats.pooling.anova import OneWay, one_way
from solubility_stats.pooling.tidy import (
    GROUPING,
    Codes,
    Missing,
    Vector,
    observations,
    recorded,
    source_frame,
)

__all__ = ["OneWay", "Precision", "nested_levels", "one_way", "precision"]

# ISO 5725-6, 4.1.4: two single results differ by more than 2.8 standard deviations in 5 %.
LIMIT_FACTOR = 2.8


@dataclass(frozen=True, repr=False)
class Precision(Result):
    """Where the spread of the runs comes from.

    Attributes
    ----------
    mean, u : float
        Mean of all runs (generalised least squares for REML) and its standard uncertainty from
        the spread alone.
    low, high : float
        95 % interval of the mean on as many degrees of freedom as the outermost units allow.
    components : DataFrame
        ``source, units, dof, variance, sd, sd_low, sd_high, share_percent`` from the outermost
        factor to the runs; the shares add to 100.
    conditions : DataFrame
        ``condition, sd, sd_low, sd_high, limit, percent_of_mean, holds_fixed``: repeatability,
        the conditions in between, reproducibility. ``limit``: two single results under the
        condition differ by more in 5 % of pairs (2.8 sd).
    n, omitted : int
        Rows used and left out.
    method : str
        ``reml`` or ``anova``.
    level : float
        Confidence of the intervals.
    notes : tuple of str
        What could not be told apart, and why.
    unit : str
        Unit of all but the shares.
    """

    mean: float
    u: float
    low: float
    high: float
    components: pd.DataFrame
    conditions: pd.DataFrame
    n: int
    omitted: int
    method: str
    level: float
    notes: tuple[str, ...]
    unit: str = ""

    def sd(self, condition: str) -> float:
        """Return the standard deviation of a condition, e.g. ``"repeatability"``.

        Raises
        ------
        InputError
            If the data cannot tell it.
        """
        found = self.conditions.loc[self.conditions["condition"] == condition, "sd"]
        if found.empty:
            raise InputError(
                "the data cannot tell this precision",
                where="condition",
                found=condition,
                expected="one of " + ", ".join(self.conditions["condition"]),
            )
        return float(found.iloc[0])

    def headline(self) -> str:
        """Return repeatability and reproducibility in one sentence."""
        parts = [
            f"{row['condition']} {row['sd']:.3g} ({row['sd_low']:.3g} to {row['sd_high']:.3g})"
            for row in self.conditions.to_dict("records")
            if row["condition"] in ("repeatability", "reproducibility")
        ]
        return (
            f"Mean {with_uncertainty(self.mean, self.u, self.unit)} of {self.n} runs; "
            f"standard deviations: {', '.join(parts)}"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return components and conditions."""
        return {"Where the spread comes from": self.components, "Precision": self.conditions}


@dataclass(frozen=True)
class _Levels:
    names: list[str]
    codes: list[Codes]
    notes: list[str]
    repeated: bool


def nested_levels(frame: pd.DataFrame, factors: Sequence[str]) -> _Levels:
    """Return the nested factors that the rows of ``frame`` can tell apart, outermost first.

    A factor with a single unit, or with the same units as the one outside it, is left out; one
    with a unit for each row is merged with the spread between runs. Each case is said in a note.
    """
    names: list[str] = []
    codes: list[Codes] = []
    notes: list[str] = []
    last = 1
    repeated = True
    for i, factor in enumerate(factors):
        code = frame.groupby(list(factors[: i + 1]), sort=False, dropna=False).ngroup()
        units = int(code.max()) + 1
        if units == 1:
            notes.append(f"Only one {factor}: what {factor}s add cannot be told.")
        elif units == last:
            notes.append(
                f"One {factor} in each {names[-1]}: what the two add cannot be told apart; it "
                f"counts as {names[-1]}."
            )
        elif units == len(frame):
            notes.append(
                f"One run in each {factor}: differences between {factor}s and between repeated "
                "runs cannot be told apart, so the repeatability is unknown. A second run by some "
                "groups would tell."
            )
            repeated = False
            break
        else:
            names.append(factor)
            codes.append(np.asarray(code, dtype=np.intp))
            last = units
    return _Levels(names, codes, notes, repeated)


def precision(
    data: Any,
    value: str | None = None,
    factors: Sequence[str] | None = None,
    *,
    method: Literal["reml", "anova"] = "reml",
    level: float = 0.95,
    route: str = "residue",
    missing: Missing = "raise",
) -> Precision:
    """Split the spread of runs over nested factors: repeatability to reproducibility.

    Parameters
    ----------
    data : Estimates or DataFrame
        One row per run.
    value : str, optional
        Column of the values; estimates bring theirs.
    factors : sequence of str, optional
        Nested factors, outermost first; by default those of ``semester, section, group`` that
        the data has. A label need only be unique within the factor outside it.
    method : {"reml", "anova"}
        ``"anova"`` gives the formulas of ISO 5725-2:1994, 7.4 (one factor, any group sizes);
        REML agrees with it for equal sizes and takes any nesting.
    level : float
        Confidence of the intervals.
    route, missing
        See :func:`solubility_stats.pooling.tidy.observations`.

    Returns
    -------
    Precision

    Raises
    ------
    InputError
        With fewer than three rows, no factor, or more than one factor for ``"anova"``.

    Notes
    -----
    Intervals of standard deviations are profile likelihood with Bartlett's factor, which gives
    an upper end far away when there are few units: three sections say little about sections.
    """
    frame, _ = source_frame(data, route)
    if factors is None:
        factors = recorded(frame, GROUPING)
    if not factors:
        raise InputError("no factor named", where="factors", expected="one or more column names")
    obs = observations(data, value, list(factors), route=route, missing=missing)
    if obs.n < 3:
        raise InputError("too few runs", where="precision", found=obs.n, expected="three or more")
    levels = nested_levels(obs.frame, factors)
    if method == "anova" and len(factors) != 1:
        raise InputError("takes one factor", where='method="anova"', found=tuple(factors))
    notes = list(levels.notes)
    d, shift = nested.design(obs.values, levels.codes)
    found = nested.fit(d, shift)
    if not found.converged:
        notes.append("The fit did not settle to full accuracy; treat the figures as rough.")
    if method == "anova" and levels.codes and levels.repeated:
        found = _iso_5725_2(obs.values, levels.codes[0], d, found)
    components, picks = _components(d, found, levels, level)
    conditions = _conditions(d, found, levels, components, picks, float(found.beta[0]), level)
    return _result(
        obs.n, obs.omitted, obs.unit, found, components, conditions, method, level, notes
    )


def _result(
    n: int,
    omitted: int,
    unit: str,
    found: nested.NestedFit,
    components: pd.DataFrame,
    conditions: pd.DataFrame,
    method: str,
    level: float,
    notes: list[str],
) -> Precision:
    from scipy.special import stdtrit

    mean, u = float(found.beta[0]), float(np.sqrt(found.covariance[0, 0]))
    half = float(stdtrit(float(components["dof"].iloc[0]), (1 + level) / 2)) * u
    return Precision(
        mean=mean,
        u=u,
        low=mean - half,
        high=mean + half,
        components=components,
        conditions=conditions,
        n=n,
        omitted=omitted,
        method=method,
        level=level,
        notes=tuple(notes),
        unit=unit,
    )


def _iso_5725_2(
    values: Vector, codes: Codes, d: nested.NestedDesign, reml: nested.NestedFit
) -> nested.NestedFit:
    """Return the analysis-of-variance estimates of ISO 5725-2:1994, 7.4.5."""
    table = one_way(values, codes)
    between = max(0.0, (table.ms_between - table.ms_within) / table.n_bar)
    n = np.bincount(codes)
    variance = between * float((n**2).sum()) / n.sum() ** 2 + table.ms_within / n.sum()
    return nested.NestedFit(
        variances=np.array([table.ms_within, between]),
        beta=np.array([table.mean]),
        covariance=np.array([[variance]]),
        deviance=reml.deviance,
        converged=True,
    )


def _components(
    d: nested.NestedDesign, found: nested.NestedFit, levels: _Levels, level: float
) -> tuple[pd.DataFrame, list[int]]:
    """Return the table, outermost first, and the position of each row in the variances."""
    counts = [1, *d.counts[::-1], d.n]
    names = [*levels.names, "run" if levels.repeated else "group and run"]
    picks = list(range(len(names) - 1, -1, -1))
    whole = float(found.variances.sum())
    rows = []
    for name, pick, outer, units in zip(names, picks, counts, counts[1:], strict=False):
        dof = units - outer
        low, high = np.sqrt(nested.profile_interval(d, found, [pick], dof, level))
        variance = float(found.variances[pick])
        share = 100 * variance / whole if whole > 0 else np.nan
        sd = float(np.sqrt(variance))
        rows.append((name, units, dof, variance, sd, min(low, sd), max(high, sd), share))
    columns = ["source", "units", "dof", "variance", "sd", "sd_low", "sd_high", "share_percent"]
    return pd.DataFrame(rows, columns=columns), picks


def _conditions(
    d: nested.NestedDesign,
    found: nested.NestedFit,
    levels: _Levels,
    components: pd.DataFrame,
    picks: list[int],
    mean: float,
    level: float,
) -> pd.DataFrame:
    rows = []
    names = levels.names
    for first in range(len(picks) - 1, -1, -1):
        part = components.iloc[first:]
        held = names[:first]
        if not levels.repeated and first == len(picks) - 1 and held:
            title = f"within {held[-1]}"
        elif first == len(picks) - 1 and levels.repeated:
            title = "repeatability"
        elif first == 0:
            title = "reproducibility"
        else:
            title = f"within {held[-1]}"
        variance = part["variance"].to_numpy()
        sd = float(np.sqrt(variance.sum()))
        if len(part) == 1:
            low, high = float(part["sd_low"].iloc[0]), float(part["sd_high"].iloc[0])
        else:
            dof = float(part["dof"].min())  # the level known worst decides how wide
            chosen = picks[first:]
            low, high = np.sqrt(nested.profile_interval(d, found, chosen, dof, level))
        percent = 100 * sd / abs(mean) if mean else np.nan
        fixed = ", ".join(held) if held else "nothing"
        rows.append((title, sd, min(low, sd), max(high, sd), LIMIT_FACTOR * sd, percent, fixed))
    columns = ["condition", "sd", "sd_low", "sd_high", "limit", "percent_of_mean", "holds_fixed"]
    return pd.DataFrame(rows, columns=columns)
