"""Outlier tests on one value for each group: Grubbs and the generalised ESD test.

They mark; nothing is ever removed. A marked value is a question to the bench, not a mistake.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.pooling.critical import (
    esd_critical,
    grubbs_critical,
    grubbs_p_value,
    two_outlier_critical,
    two_outlier_p_value,
)
from solubility_stats.pooling.tidy import (
    Missing,
    Vector,
    as_columns,
    cell_statistics,
    default_grouping,
    labels,
    observations,
)

Side = Literal["either", "high", "low"]


def mark(p_value: float, alpha: float = 0.05, strong: float = 0.01) -> str:
    """Return ISO 5725-2's word for a p-value: ``outlier``, ``straggler`` or nothing."""
    return "outlier" if p_value <= strong else "straggler" if p_value <= alpha else ""


@dataclass(frozen=True, repr=False)
class OutlierTest(Result):
    """Outcome of an outlier test.

    Attributes
    ----------
    test : str
        Name of the test.
    table : DataFrame
        One row per suspect: ``group, value, statistic, critical_5, critical_1, p_value, mark``
        (for ESD: ``critical`` at the one level asked for, and ``marked``).
    n : int
        Values tested.
    omitted : int
        Rows left out because something was missing.
    marked : tuple of str
        Labels of the marked groups.
    """

    test: str
    table: pd.DataFrame
    n: int
    omitted: int
    marked: tuple[str, ...]

    def headline(self) -> str:
        """Return which groups are marked."""
        who = "marks " + ", ".join(self.marked) if self.marked else "marks no group"
        return f"{self.test} on {self.n} values {who}"

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the suspects."""
        return {"Suspects": self.table}


def _group_values(
    data: Any, value: str | None, group: str | Sequence[str] | None, route: str, missing: Missing
) -> tuple[Vector, list[str], int]:
    """Return one value for each group (its mean), the labels, and the rows left out."""
    columns = as_columns(group)
    if not columns and hasattr(data, "used"):
        columns = default_grouping(data, route)
    obs = observations(data, value, columns, route=route, missing=missing)
    if obs.n == 0:
        return obs.values, [], obs.omitted
    codes, names = labels(obs.frame, columns)
    return cell_statistics(obs.values, codes)[1], names, obs.omitted


def _need(n: int, least: int, test: str) -> None:
    if n < least:
        raise InputError(
            "too few values", where=test, found=n, expected=f"{least} or more", remedy=""
        )


def _standardised(values: Vector, test: str) -> Vector:
    centred = values - values.mean()
    sd = centred.std(ddof=1)
    if sd <= 1e-14 * np.abs(values).max():
        raise InputError(
            "all values are equal, so none can stand apart", where=test, found=float(values[0])
        )
    return np.asarray(centred / sd)


def grubbs(
    data: Any,
    value: str | None = None,
    group: str | Sequence[str] | None = None,
    *,
    outliers: Literal[1, 2] = 1,
    side: Side = "either",
    route: str = "residue",
    missing: Missing = "raise",
) -> OutlierTest:
    """Test by Grubbs whether the most extreme value, or pair of values, stands apart.

    Parameters
    ----------
    data : Estimates, DataFrame or array_like
        With ``group``, the means of the groups are tested, else every value.
    value : str, optional
        Column of the values.
    group : str or sequence of str, optional
        Columns that together name a group; for estimates ``semester, section, group``.
    outliers : {1, 2}
        One value, or the two highest or two lowest together.
    side : {"either", "high", "low"}
        ``"either"`` tests both ends and doubles the tail probability, as the tables of
        ISO 5725-2 do.
    route, missing
        See :func:`solubility_stats.pooling.tidy.observations`.

    Returns
    -------
    OutlierTest
        ``mark`` is ``straggler`` at 5 % and ``outlier`` at 1 % (ISO 5725-2:1994, 7.3.2).

    Raises
    ------
    InputError
        With fewer than 3 values (one outlier) or fewer than 4 or more than 40 (two), or when
        all are equal.

    Notes
    -----
    F. E. Grubbs, Technometrics 11 (1969) 1-21. ISO 5725-2 tests for a pair only when the test
    for one finds nothing. The p-value for one outlier is the Bonferroni bound, exact in the
    tail that matters; for two it is interpolated in simulated quantiles.

    Examples
    --------
    >>> y = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
    >>> found = grubbs(y, side="high").table
    >>> print(f"{found.statistic[0]:.4f} {found.critical_5[0]:.4f}")
    2.4688 2.0317
    """
    values, names, omitted = _group_values(data, value, group, route, missing)
    if outliers == 2:
        return _grubbs_two(values, names, omitted, side)
    _need(values.size, 3, "Grubbs' test")
    h = _standardised(values, "Grubbs' test")
    score = {"either": np.abs(h), "high": h, "low": -h}[side]
    at = int(np.argmax(score))
    both = side == "either"
    p = float(grubbs_p_value(score[at], values.size, two_sided=both)) if score[at] > 0 else 1.0
    table = pd.DataFrame(
        {
            "group": [names[at]],
            "value": [values[at]],
            "statistic": [score[at]],
            "critical_5": [grubbs_critical(values.size, 0.05, two_sided=both)],
            "critical_1": [grubbs_critical(values.size, 0.01, two_sided=both)],
            "p_value": [p],
            "mark": [mark(p)],
        }
    )
    who = (names[at],) if mark(p) else ()
    return OutlierTest("Grubbs' test for one outlier", table, values.size, omitted, who)


def _grubbs_two(values: Vector, names: list[str], omitted: int, side: Side) -> OutlierTest:
    test = "Grubbs' test for two outliers"
    n = values.size
    _need(n, 4, test)
    z = _standardised(values, test)
    order = np.argsort(z, kind="stable")
    pairs = {"low": order[:2], "high": order[-2:][::-1]}
    ratio = {}
    for end, pair in pairs.items():
        rest = np.delete(z, pair)
        ratio[end] = float(((rest - rest.mean()) ** 2).sum() / (n - 1))
    end = min(ratio, key=lambda e: ratio[e]) if side == "either" else side
    both = side == "either"
    p = two_outlier_p_value(ratio[end], n, two_sided=both)
    pair = pairs[end]
    table = pd.DataFrame(
        {
            "group": [names[i] for i in pair],
            "value": values[pair],
            "statistic": ratio[end],
            "critical_5": two_outlier_critical(n, 0.05, two_sided=both),
            "critical_1": two_outlier_critical(n, 0.01, two_sided=both),
            "p_value": p,
            "mark": mark(p),
        }
    )
    who = tuple(names[i] for i in pair) if mark(p) else ()
    return OutlierTest(test, table, n, omitted, who)


def generalized_esd(
    data: Any,
    value: str | None = None,
    group: str | Sequence[str] | None = None,
    *,
    max_outliers: int | None = None,
    alpha: float = 0.05,
    route: str = "residue",
    missing: Missing = "raise",
) -> OutlierTest:
    """Test for up to ``max_outliers`` outliers by the generalised extreme studentised deviate.

    Unlike Grubbs' test repeated, it is not blinded by a second outlier that inflates the
    standard deviation.

    Parameters
    ----------
    data, value, group, route, missing
        As for :func:`grubbs`.
    max_outliers : int, optional
        Largest number looked for; by default a fifth of the values, at least one.
    alpha : float
        Probability of marking anything in a clean class.

    Returns
    -------
    OutlierTest
        ``table`` has one row per step: ``group, value, statistic, critical, marked``.

    Notes
    -----
    B. Rosner, Technometrics 25 (1983) 165-172. The level holds from about 25 values; with 15
    to 24 it is close, below that it is approximate.
    """
    values, names, omitted = _group_values(data, value, group, route, missing)
    test = "Generalised ESD test"
    _need(values.size, 5, test)
    _standardised(values, test)
    n = values.size
    most = max(1, n // 5) if max_outliers is None else max_outliers
    if not 1 <= most <= n - 3:
        raise InputError(
            "cannot look for that many outliers",
            where="max_outliers",
            found=most,
            expected=f"1 to {n - 3}",
        )
    left = np.arange(n)
    rows: list[tuple[str, float, float, float]] = []
    for step in range(most):
        rest = values[left]
        sd = rest.std(ddof=1)
        if sd <= 1e-14 * np.abs(values).max():
            break
        deviate = np.abs(rest - rest.mean()) / sd
        at = int(np.argmax(deviate))
        who = left[at]
        rows.append(
            (names[who], float(values[who]), float(deviate[at]), esd_critical(n, step, alpha))
        )
        left = np.delete(left, at)
    table = pd.DataFrame(rows, columns=["group", "value", "statistic", "critical"])
    beyond = np.flatnonzero(table["statistic"] > table["critical"])
    count = int(beyond[-1]) + 1 if beyond.size else 0
    table["marked"] = np.arange(len(table)) < count
    return OutlierTest(test, table, n, omitted, tuple(table["group"][:count]))
