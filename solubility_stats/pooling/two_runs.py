"""Two runs by each group: whether a group repeats its own deviation or chance rules both runs.

If groups that are high once are high again, the differences between groups are systematic (their
balance, their way of rinsing); if first and second run are unrelated, they are chance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.pooling.tidy import (
    Missing,
    Vector,
    as_columns,
    default_grouping,
    labels,
    observations,
    source_frame,
)


@dataclass(frozen=True, repr=False)
class TwoSample(Result):
    """Youden's two-sample statistics.

    Attributes
    ----------
    frame : DataFrame
        For the plot, one row per group: ``label, first, second`` (values), ``along`` (distance
        from the centre along the line of equal deviations: systematic), ``across`` (distance
        from that line: chance), ``distance``, ``outside`` (of the 95 % circle of pure chance).
    centre_first, centre_second : float
        Means of first and of second runs: the centre of the circle.
    sd_random, sd_random_low, sd_random_high : float
        Standard deviation between repeated runs of a group, with interval (chi-squared).
    sd_systematic, sd_systematic_low, sd_systematic_high : float
        Standard deviation between groups, chance taken off, with interval; low is zero where
        chance alone can explain all.
    radius : float
        Of the circle that holds 95 % of groups if there were chance alone.
    f, p_value : float
        Variance along over variance across, p - 1 degrees of freedom each; one-sided.
    shift, shift_low, shift_high, shift_p_value : float
        Mean of second less first runs with interval and p-value: practice, fatigue, or a
        solution that changed.
    correlation : float
        Between first and second runs.
    groups, without_pair, omitted : int
        Groups with two runs, groups without (not used), rows left out for a missing entry.
    further_runs : int
        Third and later runs, not used here.
    level : float
        Confidence.
    unit : str
        Unit of the values.
    """

    frame: pd.DataFrame
    centre_first: float
    centre_second: float
    sd_random: float
    sd_random_low: float
    sd_random_high: float
    sd_systematic: float
    sd_systematic_low: float
    sd_systematic_high: float
    radius: float
    f: float
    p_value: float
    shift: float
    shift_low: float
    shift_high: float
    shift_p_value: float
    correlation: float
    groups: int
    without_pair: int
    omitted: int
    further_runs: int
    level: float
    unit: str = ""

    def headline(self) -> str:
        """Return whether groups repeat their deviations."""
        systematic = (
            f"between groups {self.sd_systematic:.3g} "
            f"({self.sd_systematic_low:.3g} to {self.sd_systematic_high:.3g})"
        )
        chance = (
            f"between runs of a group {self.sd_random:.3g} "
            f"({self.sd_random_low:.3g} to {self.sd_random_high:.3g})"
        )
        verdict = (
            "groups repeat their own deviation"
            if self.p_value < 1 - self.level
            else "chance between runs can explain the differences between groups"
        )
        return (
            f"{self.groups} groups with two runs: standard deviation {systematic}, {chance}; "
            f"{verdict} (p = {self.p_value:.2g})"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the points of the plot."""
        return {"Two runs of each group": self.frame}


def two_sample(
    data: Any,
    value: str | None = None,
    group: str | Sequence[str] | None = None,
    run: str | None = None,
    *,
    level: float = 0.95,
    route: str = "residue",
    missing: Missing = "raise",
) -> TwoSample:
    """Split the differences between groups with two runs into systematic and random parts.

    Parameters
    ----------
    data : Estimates or DataFrame
        One row per run.
    value : str, optional
        Column of the values.
    group : str or sequence of str, optional
        Columns that together name a group.
    run : str, optional
        Column that orders the runs of a group (default ``run`` where present, else row order).
    level : float
        Confidence of the intervals and content of the circle.
    route, missing
        See :func:`solubility_stats.pooling.tidy.observations`.

    Raises
    ------
    InputError
        With fewer than three groups with two runs, or no column that names the group.

    Notes
    -----
    W. J. Youden, Ind. Qual. Control 15 (1959) 24-28. With S the sums and D the differences of
    the two runs, var(D)/2 estimates the random variance and var(S)/2 that plus twice the
    systematic one. The interval of the systematic part is Williams' (D. A. Williams, Biometrika
    49 (1962) 278-281), of close to the stated confidence.
    """
    columns = as_columns(group) or default_grouping(data, route)
    if not columns:
        raise InputError("which column names the group?", where="two_sample", expected="group=")
    order = run or ("run" if "run" in source_frame(data, route)[0].columns else None)
    carried = [*columns, *([order] if order else [])]
    obs = observations(
        data,
        value,
        carried,
        route=route,
        missing=missing,
        may_be_missing=[order] if order else [],
    )
    frame = obs.frame.copy()
    codes, names = labels(frame, columns)
    frame["code"] = codes
    if order:
        frame = frame.sort_values(["code", order], kind="stable", na_position="last")
    frame["nth"] = frame.groupby("code").cumcount()
    wide = frame.loc[frame["nth"] < 2].pivot(index="code", columns="nth", values="value")
    pairs = wide.dropna() if wide.shape[1] == 2 else wide.iloc[:0]
    p = len(pairs)
    if p < 3:
        raise InputError(
            "too few groups with two runs", where="two_sample", found=p, expected="three or more"
        )
    first, second = pairs[0].to_numpy(dtype=float), pairs[1].to_numpy(dtype=float)
    return _split(
        first,
        second,
        [names[int(c)] for c in pairs.index],
        level,
        without_pair=len(names) - p,
        omitted=obs.omitted,
        further_runs=int((frame["nth"] > 1).sum()),
        unit=obs.unit,
    )


def _split(
    first: Vector,
    second: Vector,
    names: list[str],
    level: float,
    **counted: Any,
) -> TwoSample:
    p = first.size
    difference, total = second - first, first + second
    across2, along2 = float(difference.var(ddof=1)) / 2, float(total.var(ddof=1)) / 2
    if across2 == 0 and along2 == 0:
        raise InputError("all groups have the same two values", where="two_sample")
    radius = math.sqrt(-2 * math.log(1 - level)) * math.sqrt(across2)
    frame = _points(first, second, names, radius)
    spread = float(first.std() * second.std())
    both = float(((first - first.mean()) * (second - second.mean())).mean())
    return TwoSample(
        frame=frame,
        centre_first=float(first.mean()),
        centre_second=float(second.mean()),
        radius=radius,
        correlation=both / spread if spread > 0 else math.nan,
        groups=p,
        level=level,
        **_deviations(across2, along2, p - 1, level),
        **_shift(difference, across2, level),
        **counted,
    )


def _points(first: Vector, second: Vector, names: list[str], radius: float) -> pd.DataFrame:
    a, b = first - first.mean(), second - second.mean()
    distance = np.hypot(a, b)
    return pd.DataFrame(
        {
            "label": names,
            "first": first,
            "second": second,
            "along": (a + b) / math.sqrt(2),
            "across": (b - a) / math.sqrt(2),
            "distance": distance,
            "outside": distance > radius,
        }
    )


def _deviations(across2: float, along2: float, dof: int, level: float) -> dict[str, Any]:
    """Return both standard deviations with their intervals, and the test between them."""
    from scipy.special import chdtri, fdtrc, fdtri

    tail = (1 - level) / 2
    upper, lower = float(chdtri(dof, tail)), float(chdtri(dof, 1 - tail))
    f_tail = float(fdtri(dof, dof, 1 - tail))
    f = along2 / across2 if across2 > 0 else math.inf
    low = max(0.0, along2 - across2 * f_tail) * dof / (2 * upper)
    high = max(0.0, along2 - across2 / f_tail) * dof / (2 * lower)
    return {
        "sd_random": math.sqrt(across2),
        "sd_random_low": math.sqrt(dof * across2 / upper),
        "sd_random_high": math.sqrt(dof * across2 / lower),
        "sd_systematic": math.sqrt(max(0.0, along2 - across2) / 2),
        "sd_systematic_low": math.sqrt(low),
        "sd_systematic_high": math.sqrt(high),
        "f": f,
        "p_value": float(fdtrc(dof, dof, f)) if math.isfinite(f) else 0.0,
    }


def _shift(difference: Vector, across2: float, level: float) -> dict[str, Any]:
    """Return the mean of second less first runs with its interval and p-value."""
    from scipy.special import stdtr, stdtrit

    dof = difference.size - 1
    shift, u = float(difference.mean()), math.sqrt(2 * across2 / difference.size)
    half = float(stdtrit(dof, (1 + level) / 2)) * u
    return {
        "shift": shift,
        "shift_low": shift - half,
        "shift_high": shift + half,
        "shift_p_value": float(2 * stdtr(dof, -abs(shift) / u)) if u else float(shift == 0),
    }
