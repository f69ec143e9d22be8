"""Consistency between groups: Mandel's h and k, Cochran's C. They mark and never delete.

Grubbs' tests and the generalised ESD test live in :mod:`solubility_stats.pooling.outliers`, the
judgement of whole classes in :mod:`solubility_stats.pooling.standing`, and what marked groups do
to the class value in :mod:`solubility_stats.pooling.sensitivity`. All are reached from here too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.pooling.critical import (
    cochran_critical,
    h_critical,
    h_p_value,
    k_critical,
    variance_p_value,
)
from solubility_stats.pooling.outliers import OutlierTest, generalized_esd, grubbs, mark
from solubility_stats.pooling.sensitivity import Sensitivity, with_and_without
from solubility_stats.pooling.standing import StandsApart, stands_apart
from solubility_stats.pooling.tidy import (
    Missing,
    Vector,
    as_columns,
    cell_statistics,
    default_grouping,
    labels,
    observations,
)

__all__ = [
    "Cochran",
    "Mandel",
    "OutlierTest",
    "Sensitivity",
    "StandsApart",
    "cochran",
    "generalized_esd",
    "grubbs",
    "mandel",
    "stands_apart",
    "with_and_without",
]


@dataclass(frozen=True, repr=False)
class Mandel(Result):
    """Mandel's between-group (h) and within-group (k) consistency statistics.

    Attributes
    ----------
    table : DataFrame
        One row per group: ``group, n, mean, sd, h, h_p_value, h_mark, k, k_p_value, k_mark``;
        k is missing for a group with a single value.
    critical : DataFrame
        ``alpha, h, k`` at the levels asked for; ``k`` for the most common group size.
    p, n : int
        Groups and values.
    omitted : int
        Rows left out because something was missing.
    notes : tuple of str
        What limits the reading of the table.
    """

    table: pd.DataFrame
    critical: pd.DataFrame
    p: int
    n: int
    omitted: int
    notes: tuple[str, ...] = ()

    def headline(self) -> str:
        """Return which groups are marked by which statistic."""
        told = []
        for statistic, what in (("h", "mean"), ("k", "scatter")):
            hit = self.table.loc[self.table[f"{statistic}_mark"] != "", "group"]
            if len(hit):
                told.append(f"{what} of {', '.join(hit)}")
        return f"Consistency of {self.p} groups: " + (
            f"worth a look: {'; '.join(told)}" if told else "no group is marked"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the statistics and their critical values."""
        return {"Mandel's h and k": self.table, "Critical values": self.critical}


def _cells(
    data: Any,
    value: str | None,
    group: str | Sequence[str] | None,
    route: str,
    missing: Missing,
    test: str,
) -> tuple[list[str], Vector, Vector, Vector, int]:
    columns = as_columns(group) or default_grouping(data, route)
    if not columns:
        raise InputError(
            "which column names the group?",
            where=test,
            expected="group= with one or more column names",
        )
    obs = observations(data, value, columns, route=route, missing=missing)
    if obs.n == 0:
        raise InputError("no values", where=test)
    codes, names = labels(obs.frame, columns)
    return (names, *cell_statistics(obs.values, codes), obs.omitted)


def _common_size(n: Vector) -> int:
    """Return the most common group size above one, the larger if two are as common."""
    sizes, counts = np.unique(n[n > 1], return_counts=True)
    return int(sizes[counts == counts.max()][-1]) if sizes.size else 1


def mandel(
    data: Any,
    value: str | None = None,
    group: str | Sequence[str] | None = None,
    *,
    alpha: Sequence[float] = (0.05, 0.01, 0.005),
    route: str = "residue",
    missing: Missing = "raise",
) -> Mandel:
    """Return Mandel's h and k of every group, with p-values and critical values.

    Parameters
    ----------
    data : Estimates or DataFrame
        Several values for each group; with one for each only h can be told.
    value : str, optional
        Column of the values.
    group : str or sequence of str, optional
        Columns that together name a group.
    alpha : sequence of float
        Levels of the critical values: ISO 5725-2 draws 5 % and 1 %, ASTM E691 uses 0.5 %.
    route, missing
        See :func:`solubility_stats.pooling.tidy.observations`.

    Returns
    -------
    Mandel
        h is the deviation of a group's mean from the mean of all values, over the root mean
        square of these deviations; k the group's standard deviation over the root mean of the
        variances. Marks follow ISO 5725-2: ``straggler`` at 5 %, ``outlier`` at 1 %; among many
        groups some stragglers are expected by chance.

    Raises
    ------
    InputError
        With fewer than three groups, or if all group means are equal.

    Notes
    -----
    ISO 5725-2:1994, 7.3.1; J. Mandel, ASTM E691. With unequal group sizes the p-values of k are
    still exact for normal data (F against the pooled variance of the other groups), those of h
    are approximate.
    """
    names, n, mean, sd, omitted = _cells(data, value, group, route, missing, "mandel")
    p = len(names)
    if p < 3:
        raise InputError("too few groups", where="mandel", found=p, expected="three or more")
    grand = float((n * mean).sum() / n.sum())
    spread = np.sqrt(((mean - grand) ** 2).sum() / (p - 1))
    if spread <= 1e-14 * np.abs(mean).max():
        raise InputError("all group means are equal, so h is not defined", where="mandel")
    h = (mean - grand) / spread
    h_p = h_p_value(h, p)
    k, k_p = _k(n, sd)
    size = _common_size(n)
    several = int((n > 1).sum())
    critical = pd.DataFrame(
        {
            "alpha": list(alpha),
            "h": [h_critical(p, a) for a in alpha],
            "k": [k_critical(several, size, a) if several > 1 else np.nan for a in alpha],
        }
    )
    table = pd.DataFrame(
        {
            "group": names,
            "n": n.astype(int),
            "mean": mean,
            "sd": sd,
            "h": h,
            "h_p_value": h_p,
            "h_mark": [mark(x) for x in h_p],
            "k": k,
            "k_p_value": k_p,
            "k_mark": [mark(x) if np.isfinite(x) else "" for x in k_p],
        }
    )
    return Mandel(table, critical, p, int(n.sum()), omitted, _size_notes(n, several))


def _k(n: Vector, sd: Vector) -> tuple[Vector, Vector]:
    k, p_value = np.full(n.size, np.nan), np.full(n.size, np.nan)
    many = n > 1
    if many.sum() > 1 and (sd[many] > 0).any():
        variance = sd[many] ** 2
        k[many] = sd[many] / np.sqrt(variance.mean())
        p_value[many] = variance_p_value(variance, n[many] - 1)
    return k, p_value


def _size_notes(n: Vector, several: int) -> tuple[str, ...]:
    notes = []
    if several < 2:
        notes.append("Fewer than two groups have repeated values: scatter within groups unknown.")
    if np.unique(n).size > 1:
        notes.append(
            "Groups have different numbers of values: critical values are those of the most "
            "common number, the p-values use each group's own."
        )
    return tuple(notes)


@dataclass(frozen=True, repr=False)
class Cochran(Result):
    """Outcome of Cochran's test for one group whose scatter exceeds the others'.

    Attributes
    ----------
    table : DataFrame
        One row per group with repeated values: ``group, n, sd, statistic, p_value, mark``,
        largest scatter first. ``statistic`` is the group's share of the total sum of squares
        within groups; for equal sizes the largest is Cochran's C.
    statistic, p_value : float
        Of the first row.
    critical_5, critical_1 : float
        Critical values for the most common group size.
    p, n, omitted : int
        Groups with repeated values, their values, rows left out.
    notes : tuple of str
        What limits the reading.
    """

    table: pd.DataFrame
    statistic: float
    p_value: float
    critical_5: float
    critical_1: float
    p: int
    n: int
    omitted: int
    notes: tuple[str, ...] = ()

    @property
    def marked(self) -> tuple[str, ...]:
        """Groups marked at 5 %."""
        return tuple(self.table.loc[self.table["mark"] != "", "group"])

    def headline(self) -> str:
        """Return whether the largest scatter stands apart."""
        first = self.table["group"].iloc[0]
        word = self.table["mark"].iloc[0]
        tail = f"a {word}" if word == "straggler" else f"an {word}" if word else "not exceptional"
        return (
            f"Largest scatter of {self.p} groups: {first}, C = {self.statistic:.3f} "
            f"(p = {self.p_value:.2g}), {tail}"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return scatter by group."""
        return {"Scatter within groups": self.table}


def cochran(
    data: Any,
    value: str | None = None,
    group: str | Sequence[str] | None = None,
    *,
    route: str = "residue",
    missing: Missing = "raise",
) -> Cochran:
    """Test by Cochran whether the largest scatter within a group stands apart.

    Parameters
    ----------
    data, value, group, route, missing
        As for :func:`mandel`; groups with a single value do not take part.

    Returns
    -------
    Cochran

    Raises
    ------
    InputError
        If fewer than two groups have repeated values, or no group shows any scatter.

    Notes
    -----
    W. G. Cochran, Ann. Eugen. 11 (1941) 47-52; ISO 5725-2:1994, 7.3.3. p-values are the
    Bonferroni bound over groups, each against its own F distribution, which is Cochran's test
    for equal sizes and its general form for unequal ones (R. U. E. 't Lam, Anal. Chim. Acta 659
    (2010) 68-84).
    """
    names, n, _, sd, omitted = _cells(data, value, group, route, missing, "cochran")
    many = n > 1
    p = int(many.sum())
    if p < 2:
        raise InputError(
            "too few groups with repeated values", where="cochran", found=p, expected="two or more"
        )
    variance, dof = sd[many] ** 2, n[many] - 1
    if not (variance > 0).any():
        raise InputError("no group shows any scatter between its values", where="cochran")
    p_value = np.minimum(1.0, p * variance_p_value(variance, dof))
    squares = variance * dof
    table = pd.DataFrame(
        {
            "group": [name for name, ok in zip(names, many, strict=True) if ok],
            "n": n[many].astype(int),
            "sd": sd[many],
            "statistic": squares / squares.sum(),
            "p_value": p_value,
            "mark": [mark(x) for x in p_value],
        }
    ).sort_values(["p_value", "statistic"], ascending=[True, False], kind="stable")
    table = table.reset_index(drop=True)
    size = _common_size(n)
    return Cochran(
        table=table,
        statistic=float(table["statistic"].iloc[0]),
        p_value=float(table["p_value"].iloc[0]),
        critical_5=cochran_critical(p, size, 0.05),
        critical_1=cochran_critical(p, size, 0.01),
        p=p,
        n=int(n[many].sum()),
        omitted=omitted,
        notes=_size_notes(n[many], p),
    )
