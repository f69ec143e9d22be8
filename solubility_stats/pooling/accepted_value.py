"""Trueness of a method: bias of the mean of several groups against an accepted value.

ISO 5725-4:2020. Groups are the replicates: more runs in the same groups do not sharpen the mean
beyond what the spread between groups allows.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError
from solubility_stats.pooling.anova import one_way
from solubility_stats.pooling.tidy import (
    Codes,
    Missing,
    Vector,
    as_columns,
    cell_statistics,
    default_grouping,
    labels,
    observations,
)


def a_factor(gamma: float, n: float, p: int) -> float:
    """Return A of ISO 5725-4: the bias is known within A times the reproducibility sd (95 %).

    Parameters
    ----------
    gamma : float
        Reproducibility over repeatability standard deviation, 1 or more.
    n : float
        Runs of each group.
    p : int
        Groups.

    Notes
    -----
    A = 1.96 sqrt[(n (gamma^2 - 1) + 1) / (gamma^2 p n)], ISO 5725-4:2020, 5.3; it takes both
    standard deviations as known.

    Examples
    --------
    >>> round(a_factor(2, 2, 10), 2)
    0.58
    """
    if gamma < 1 or n < 1 or p < 1:
        raise InputError(
            "out of range", where="a_factor", found=(gamma, n, p), expected="each 1 or more"
        )
    return 1.96 * math.sqrt((n * (gamma**2 - 1) + 1) / (gamma**2 * p * n))


def a_factor_one_group(n: float) -> float:
    """Return A_W of ISO 5725-4 for the bias of a single group: 1.96 / sqrt(n), times its sd."""
    if n < 1:
        raise InputError("out of range", where="n", found=n, expected="1 or more")
    return 1.96 / math.sqrt(n)


@dataclass(frozen=True, repr=False)
class Trueness(Result):
    """Bias against an accepted value.

    Attributes
    ----------
    bias, u : float
        Mean of the groups less the accepted value, and its standard uncertainty (spread of the
        groups and uncertainty of the accepted value).
    low, high : float
        Interval of the bias, by t on the effective degrees of freedom.
    bias_percent, low_percent, high_percent : float
        The same over the accepted value.
    p_value : float
        Two-sided, against no bias.
    dof : float
        Effective degrees of freedom of ``u``.
    low_iso, high_iso : float
        Interval of ISO 5725-4 (bias ± A s_R, standard deviations taken as known); not a number
        without repeated runs.
    smallest_detectable : float
        Bias that would be found significant with probability one half: the half width.
    mean, accepted, u_accepted : float
        Mean of the groups; accepted value and its standard uncertainty.
    groups, n, omitted : int
        Groups, runs, runs left out.
    level : float
        Confidence.
    unit : str
        Unit of the values.
    """

    bias: float
    u: float
    low: float
    high: float
    bias_percent: float
    low_percent: float
    high_percent: float
    p_value: float
    dof: float
    low_iso: float
    high_iso: float
    smallest_detectable: float
    mean: float
    accepted: float
    u_accepted: float
    groups: int
    n: int
    omitted: int
    level: float
    unit: str = ""

    def headline(self) -> str:
        """Return the bias with its interval."""
        found = "a bias is shown" if self.p_value < 1 - self.level else "no bias is shown"
        return (
            f"Bias {with_uncertainty(self.bias, self.u, self.unit)} "
            f"({self.bias_percent:+.2g} %, {self.low_percent:+.2g} to {self.high_percent:+.2g} %) "
            f"from {self.groups} groups: {found} (p = {self.p_value:.2g})"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the figures behind the headline."""
        names = ["mean", "accepted", "bias", "low", "high", "low_iso", "high_iso"]
        return {"Bias": pd.DataFrame({n: [getattr(self, n)] for n in names})}


def trueness(
    data: Any,
    accepted: float,
    u_accepted: float = 0.0,
    *,
    value: str | None = None,
    group: str | Sequence[str] | None = None,
    level: float = 0.95,
    route: str = "residue",
    missing: Missing = "raise",
) -> Trueness:
    """Return the bias of the mean of groups against an accepted value.

    Parameters
    ----------
    data : Estimates or DataFrame
        One row per run.
    accepted, u_accepted : float
        Accepted reference value and its standard uncertainty, unit of the values.
    value : str, optional
        Column of the values.
    group : str or sequence of str, optional
        Columns that together name a group; name sections where a cause is shared by a section.
    level : float
        Confidence.
    route, missing
        See :func:`solubility_stats.pooling.tidy.observations`.

    Raises
    ------
    InputError
        With fewer than two groups.
    """
    from scipy.special import stdtr, stdtrit

    columns = as_columns(group) or default_grouping(data, route)
    obs = observations(data, value, columns, route=route, missing=missing)
    codes, names = labels(obs.frame, columns)
    p = len(names)
    if p < 2 or (not columns and obs.n < 2):
        raise InputError("too few groups", where="trueness", found=p, expected="two or more")
    n, mean, _ = cell_statistics(obs.values, codes)
    centre = float(mean.mean())
    spread = float(mean.var(ddof=1)) / p
    variance = spread + u_accepted**2
    # Welch-Satterthwaite with the accepted value's uncertainty taken as well known.
    dof = (p - 1) * (variance / spread) ** 2 if spread > 0 else math.inf
    u, bias = math.sqrt(variance), centre - accepted
    half = float(stdtrit(dof, (1 + level) / 2)) * u
    p_value = float(2 * stdtr(dof, -abs(bias) / u)) if u > 0 else float(bias == 0)
    iso = _iso_half(obs.values, codes, n, p, u_accepted) if (n > 1).any() else math.nan
    percent = 100 / abs(accepted) if accepted else math.nan
    return Trueness(
        bias=bias,
        u=u,
        low=bias - half,
        high=bias + half,
        bias_percent=bias * percent,
        low_percent=(bias - half) * percent,
        high_percent=(bias + half) * percent,
        p_value=p_value,
        dof=dof,
        low_iso=bias - iso,
        high_iso=bias + iso,
        smallest_detectable=half,
        mean=centre,
        accepted=float(accepted),
        u_accepted=float(u_accepted),
        groups=p,
        n=obs.n,
        omitted=obs.omitted,
        level=level,
        unit=obs.unit,
    )


def _iso_half(values: Vector, codes: Codes, n: Vector, p: int, u_accepted: float) -> float:
    table = one_way(values, codes)
    between = max(0.0, (table.ms_between - table.ms_within) / table.n_bar)
    s_reproducibility = math.sqrt(table.ms_within + between)
    if s_reproducibility == 0:
        return 1.96 * u_accepted
    if table.ms_within == 0:
        half = 1.96 * s_reproducibility / math.sqrt(p)
    else:
        gamma = s_reproducibility / math.sqrt(table.ms_within)
        size = p / float((1 / n).sum())  # harmonic mean of group sizes
        half = a_factor(gamma, size, p) * s_reproducibility
    return math.hypot(half, 1.96 * u_accepted)
