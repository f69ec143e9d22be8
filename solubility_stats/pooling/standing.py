"""Which groups stand apart from their class, and why.

Made for teaching classes: one value for each group, or a few, each with its uncertainty. Groups
are marked with reasons in words; none is removed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.pooling.critical import variance_p_value
from solubility_stats.pooling.multiplicity import holm
from solubility_stats.pooling.tidy import (
    Codes,
    Missing,
    Observations,
    Vector,
    as_columns,
    cell_statistics,
    default_grouping,
    labels,
    observations,
)

# Above this many groups the deleted residuals (groups x groups) would need much memory.
_MOST_GROUPS = 1000
_MOST_MARKED = 15
# Rosner's level holds from 25 values; in smaller classes looking on after the first group would
# mark up to 8 % of clean classes, so what is found there pays this factor (see the calibration).
_ROSNER_HOLDS = 25
_SEARCH_PRICE = 3


@dataclass(frozen=True, repr=False)
class StandsApart(Result):
    """Groups whose value or scatter stands apart from the class.

    Attributes
    ----------
    table : DataFrame
        One row per group: the grouping columns, ``label, n, value, u, difference_percent`` (from
        the others), ``robust_z`` (distance from the median in robust standard deviations),
        ``t, p_value`` (deleted residual), ``p_adjusted`` (after allowing for the number of
        groups, the marked ones left out of "the others"), ``scatter_p_adjusted`` (Holm),
        ``marked`` and ``reasons`` (in words). ``u`` is the part of the uncertainty the group
        does not share with others.
    marked : tuple of str
        Labels of the marked groups.
    n : int
        Groups.
    omitted : int
        Rows left out because something was missing.
    alpha : float
        Probability of marking any value in a class without outliers.
    notes : tuple of str
        What could not be judged, and why.
    unit : str
        Unit of ``value`` and ``u``.
    """

    table: pd.DataFrame
    marked: tuple[str, ...]
    n: int
    omitted: int
    alpha: float
    notes: tuple[str, ...]
    unit: str = ""

    def headline(self) -> str:
        """Return which groups stand apart."""
        if not self.marked:
            return f"None of {self.n} groups stands apart"
        return f"{len(self.marked)} of {self.n} groups stand apart: {', '.join(self.marked)}"

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the marked groups with reasons."""
        shown = self.table.loc[
            self.table["marked"], ["label", "n", "value", "difference_percent", "reasons"]
        ]
        return {"Groups to look at": shown.reset_index(drop=True)}


def stands_apart(
    data: Any,
    value: str | None = None,
    u: str | None = None,
    group: str | Sequence[str] | None = None,
    *,
    alpha: float = 0.05,
    route: str = "residue",
    missing: Missing = "raise",
) -> StandsApart:
    """Find the groups that stand apart from the class, with the reason in words.

    Parameters
    ----------
    data : Estimates or DataFrame
        Runs; those of one group are averaged.
    value, u : str, optional
        Columns of the value and of its own standard uncertainty (not shared with other groups).
        Estimates bring both. Without ``u`` the test is Grubbs', group by group.
    group : str or sequence of str, optional
        Columns that together name a group.
    alpha : float
        Probability of marking any value in a class without outliers. Scatter within groups is
        judged apart, at the same level.
    route, missing
        See :func:`solubility_stats.pooling.tidy.observations`.

    Returns
    -------
    StandsApart

    Raises
    ------
    InputError
        If no column names the groups or there is no value.

    Notes
    -----
    The deleted residual of a group is its distance from the random-effects mean of the others
    (between-group variance after R. C. Paule and J. Mandel, J. Res. Natl. Bur. Stand. 87 (1982)
    377-385), over the standard deviation of that distance, compared with t of at most p - 2
    degrees of freedom. With all ``u`` zero it is the externally studentised deviate, whose
    Bonferroni p-value is Grubbs'. The most deviating group is taken out and the rest judged
    again, up to a quarter of the groups, and all are marked up to the last that deviates
    significantly, so that two outliers cannot hide each other (B. Rosner, Technometrics 25
    (1983) 165-172).
    """
    columns = as_columns(group) or default_grouping(data, route)
    if not columns:
        raise InputError(
            "which column names the group?", where="stands_apart", expected="group=column name"
        )
    carried = [*columns, *([u] if u else [])]
    obs = observations(data, value, carried, route=route, missing=missing)
    if obs.n == 0:
        raise InputError("no values", where="stands_apart")
    codes, names = labels(obs.frame, columns)
    n, mean, sd = cell_statistics(obs.values, codes)
    own = _own_u(data, obs, codes, n, u, route)
    table = obs.frame.iloc[_first_rows(codes)][columns].reset_index(drop=True)
    table["label"], table["n"] = names, n.astype(int)
    table["value"], table["u"] = mean, own
    notes: list[str] = []
    reasons: list[list[str]] = [[] for _ in names]
    _judge_values(table, mean, np.nan_to_num(own), names, alpha, reasons, notes)
    _judge_scatter(table, n, sd, alpha, reasons, notes)
    table["marked"] = [bool(r) for r in reasons]
    table["reasons"] = ["; ".join(r) for r in reasons]
    marked = tuple(table.loc[table["marked"], "label"])
    return StandsApart(table, marked, len(names), obs.omitted, alpha, tuple(notes), obs.unit)


def _first_rows(codes: Codes) -> Codes:
    return np.asarray(np.unique(codes, return_index=True)[1], dtype=np.intp)


def _own_u(
    data: Any, obs: Observations, codes: Codes, n: Vector, u: str | None, route: str
) -> Vector:
    """Return the standard uncertainty of each group mean that no other group shares."""
    if hasattr(data, "covariance") and u is None:
        cov: SharedCovariance = data.covariance(route).take(obs.rows)
        variance = np.bincount(codes, cov.variance) / n**2
        for load in cov.loadings.T:
            where = np.flatnonzero(load)
            if where.size and np.all(codes[where] == codes[where[0]]):
                variance[codes[where[0]]] += (load.sum() / n[codes[where[0]]]) ** 2
        return np.asarray(np.sqrt(variance))
    if u is None:
        return np.full(n.size, np.nan)
    own = np.asarray(obs.frame[u], dtype=float)
    if not np.all(own >= 0):
        raise InputError("a standard uncertainty is negative", where=f"column {u}")
    return np.asarray(np.sqrt(np.bincount(codes, own**2)) / n)


def _judge_values(
    table: pd.DataFrame,
    mean: Vector,
    own: Vector,
    names: list[str],
    alpha: float,
    reasons: list[list[str]],
    notes: list[str],
) -> None:
    p = mean.size
    for column in ("difference_percent", "robust_z", "t", "p_value", "p_adjusted"):
        table[column] = np.nan
    if p < 4:
        notes.append(f"With {p} groups no single one can be said to stand apart from the rest.")
        return
    if np.ptp(mean) <= 1e-14 * np.abs(mean).max():
        notes.append("All groups have the same value.")
        return
    if p > _MOST_GROUPS:
        raise InputError(
            "too many groups at once",
            where="stands_apart",
            found=p,
            expected=f"{_MOST_GROUPS} or fewer",
            remedy="Judge one semester at a time.",
        )
    out, adjusted = _peel(mean, own, alpha)
    kept = np.setdiff1d(np.arange(p), out)
    centre, t, p_value = deleted_residuals(mean, own)
    for i in out:
        rest = np.append(kept, i)
        centre[i], t[i], p_value[i] = (c[-1] for c in deleted_residuals(mean[rest], own[rest]))
    ratio = float(np.median(_overstatement(mean[kept], own[kept])))
    if ratio < 1:
        notes.append(
            f"The groups agree better than their own uncertainties say (their spread is "
            f"{ratio:.0%} of what these explain); each is judged by the spread of the others."
        )
    away = mean - centre
    with np.errstate(divide="ignore", invalid="ignore"):
        table["difference_percent"] = np.where(centre != 0, 100 * away / np.abs(centre), np.nan)
    table["robust_z"] = _robust_z(mean)
    table["t"], table["p_value"] = t, p_value
    table["p_adjusted"] = np.fmin(adjusted, np.minimum(1.0, p * p_value))
    for i in out:
        reasons[i].append(_value_reason(table.iloc[i], away[i], p))


def _peel(mean: Vector, own: Vector, alpha: float) -> tuple[list[int], Vector]:
    """Return the positions of outlying groups and the p-value of each group taken out."""
    left = np.arange(mean.size)
    adjusted = np.full(mean.size, np.nan)
    order: list[int] = []
    last = 0
    for step in range(max(1, min(mean.size // 4, _MOST_MARKED))):
        if left.size < 4 or np.ptp(mean[left]) <= 1e-14 * np.abs(mean).max():
            break
        _, t, p_value = deleted_residuals(mean[left], own[left])
        at = int(np.lexsort((-np.abs(t), p_value))[0])
        order.append(int(left[at]))
        price = _SEARCH_PRICE if step and mean.size < _ROSNER_HOLDS else 1
        adjusted[left[at]] = min(1.0, price * left.size * p_value[at])
        if adjusted[left[at]] <= alpha:
            last = step + 1
        left = np.delete(left, at)
    out = order[:last]
    # One that only deviates once others are out is as significant as the last of them.
    for i in range(last - 2, -1, -1):
        adjusted[out[i]] = min(adjusted[out[i]], adjusted[out[i + 1]])
    adjusted[order[last:]] = np.nan
    return out, adjusted


def _value_reason(row: pd.Series[Any], away: float, p: int) -> str:
    side = "above" if away > 0 else "below"
    by = row["difference_percent"]
    size = f"{abs(by):.2g} %" if math.isfinite(by) else f"{abs(away):.3g}"
    return (
        f"value {size} {side} the other groups (p = {row['p_adjusted']:.2g} after allowing for "
        f"{p} groups)"
    )


def _robust_z(values: Vector) -> Vector:
    away = values - np.median(values)
    scale = 1.4826 * np.median(np.abs(away))  # normal-consistent MAD
    return np.asarray(away / scale) if scale > 0 else np.full(values.size, np.nan)


def _judge_scatter(
    table: pd.DataFrame,
    n: Vector,
    sd: Vector,
    alpha: float,
    reasons: list[list[str]],
    notes: list[str],
) -> None:
    table["scatter_p_adjusted"] = np.nan
    many = np.flatnonzero(n > 1)
    if many.size < 3 or not (sd[many] > 0).any():
        notes.append("Scatter within groups cannot be compared: too few groups repeated a run.")
        return
    adjusted = holm(variance_p_value(sd[many] ** 2, n[many] - 1))
    table.loc[many, "scatter_p_adjusted"] = adjusted
    for i, p_value in zip(many, adjusted, strict=True):
        if p_value <= alpha:
            reasons[i].append(
                f"its runs differ more among themselves than other groups' do (p = {p_value:.2g} "
                f"after allowing for {many.size} groups)"
            )


def deleted_residuals(x: Vector, u: Vector) -> tuple[Vector, Vector, Vector]:
    """Return for each value the mean of the others, its studentised distance and the p-value.

    Parameters
    ----------
    x, u : ndarray, shape (p,)
        Values and their own standard uncertainties (zero allowed), p at least 4.

    Returns
    -------
    centre, t, p_value : ndarray, shape (p,)
    """
    from scipy.special import stdtr

    u = u[None, :] * _overstatement(x, u)[:, None]
    shift = x - x.mean()
    others = ~np.eye(x.size, dtype=bool)
    tau2 = _paule_mandel_others(shift, u**2, others)
    total = tau2[:, None] + u**2
    with np.errstate(divide="ignore"):
        weight = np.where(others, 1 / total, 0.0)
    # Only reached with all others equal and exact: then any distance at all is infinitely far.
    exact = ~np.isfinite(weight).all(axis=1)
    weight[exact] = others[exact]
    centre = weight @ shift / weight.sum(axis=1)
    own2 = np.diagonal(u) ** 2
    variance = np.where(exact, 0.0, 1 / weight.sum(axis=1)) + tau2 + own2
    # Satterthwaite: the estimated part of the variance is known to 2 / (sum of squared weights),
    # which gives p - 2 without u and fewer where this value's u is small beside the others'.
    k = x.size - 1
    dof = (tau2 + own2) ** 2 * (weight**2).sum(axis=1) * (k - 1) / k
    dof = np.where(exact, k - 1.0, np.clip(dof, 1.0, k - 1.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(shift == centre, 0.0, (shift - centre) / np.sqrt(variance))
    return centre + x.mean(), t, np.asarray(2 * stdtr(dof, -np.abs(t)))


def _overstatement(x: Vector, u: Vector) -> Vector:
    """Return for each value the factor (at most 1) by which the others overstate their ``u``.

    Others that agree far better than they say (probability below 2.5 %) would hide one that does
    not; the spread they show is then the better yardstick.
    """
    from scipy.special import chdtr

    if x.size < 4 or np.any(u <= 0):
        return np.ones(x.size)
    w = np.where(~np.eye(x.size, dtype=bool), 1 / u**2, 0.0)
    centre = w @ x / w.sum(axis=1)
    q = (w * (x[None, :] - centre[:, None]) ** 2).sum(axis=1)
    dof = x.size - 2
    # All others equal: their u is all there is to judge by.
    small = (chdtr(dof, q) <= 0.025) & (q > 1e-20 * (x**2 / u**2).max())
    return np.asarray(np.where(small, np.sqrt(q / dof), 1.0))


def _paule_mandel_others(x: Vector, v: Vector, others: Any) -> Vector:
    """Return the between-group variance of all values but one, for each left out, shape (p,).

    ``v`` has one row for each value left out, shape (p, p).
    """
    dof = x.size - 2
    tau2 = np.zeros(x.size)

    def excess(t2: Vector) -> tuple[Vector, Vector]:
        with np.errstate(divide="ignore", invalid="ignore"):
            w = np.where(others, 1 / (t2[:, None] + v), 0.0)
            mu = (w @ x) / w.sum(axis=1)
            r2 = (x[None, :] - mu[:, None]) ** 2
            q = (w * r2).sum(axis=1)
            slope = (w**2 * r2).sum(axis=1)
        return q - dof, slope

    if (v == 0).any():
        # The equation starts from infinity there: begin at a variance safely below the root.
        tau2 += np.ptp(x) ** 2 * 1e-12 + np.finfo(float).tiny
    for _ in range(200):
        gap, slope = excess(tau2)
        step = np.where((gap > 0) & np.isfinite(gap), gap / np.maximum(slope, 1e-300), 0.0)
        tau2 = tau2 + step  # Q is convex and falling: Newton from the left never overshoots
        if np.all(step <= 1e-12 * np.maximum(tau2, 1e-300)):
            break
    return tau2
