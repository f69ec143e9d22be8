"""What the class value would be without the groups that stand apart.

Nothing is decided here: the values are shown side by side, and the one with all groups comes first.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError
from solubility_stats.pooling.tidy import (
    ESTIMATE_UNIT,
    Codes,
    as_columns,
    default_grouping,
    labels,
    observations,
)


@dataclass(frozen=True, repr=False)
class Sensitivity(Result):
    """The class value with and without the marked groups.

    Attributes
    ----------
    table : DataFrame
        ``left_out, n`` (values), ``value, u, low, high, shift`` (from the value of all),
        ``shift_percent, shift_over_u``.
    unit : str
        Unit of the values.
    """

    table: pd.DataFrame
    unit: str = ""

    def headline(self) -> str:
        """Return how far the class value moves."""
        first, last = self.table.iloc[0], self.table.iloc[-1]
        full = with_uncertainty(first["value"], first["u"], self.unit)
        if len(self.table) == 1:
            return f"Class value {full}; no group is marked"
        less = with_uncertainty(last["value"], last["u"], self.unit)
        return (
            f"Class value {full} with all groups, {less} without the marked ones "
            f"({abs(last['shift_over_u']):.1f} standard uncertainties apart)"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the values side by side."""
        return {"With and without": self.table}


class _Part:
    """The rows of estimates that are left, in what the estimators ask of estimates."""

    def __init__(self, whole: Any, keep: Codes, route: str) -> None:
        self._whole, self._keep = whole, keep
        self.table = self.used(route)

    def used(self, route: str = "residue") -> pd.DataFrame:
        return pd.DataFrame(self._whole.used(route).iloc[self._keep])

    def covariance(self, route: str = "residue", apparent: bool = False) -> SharedCovariance:
        cov: SharedCovariance = self._whole.covariance(route, apparent).take(self._keep)
        return cov


def with_and_without(
    data: Any,
    marked: Sequence[str],
    value: str | None = None,
    u: str | None = None,
    group: str | Sequence[str] | None = None,
    *,
    estimator: Callable[[Any], Any] | None = None,
    route: str = "residue",
    **options: Any,
) -> Sensitivity:
    """Return the class value with all groups, without each marked one, and without all of them.

    Parameters
    ----------
    data : Estimates or DataFrame
        As for :func:`stands_apart`.
    marked : sequence of str
        Labels as in :attr:`StandsApart.marked`.
    value, u, group
        As for :func:`stands_apart`.
    estimator : callable, optional
        Takes the remaining data, returns an object with ``value, u, low, high``; by default the
        consensus of this room, with ``options`` handed on.
    route : str
        Route taken from estimates.
    **options : object
        Arguments of :func:`~solubility_stats.pooling.pool`, for the default estimator.

    Raises
    ------
    InputError
        If a label is unknown, or leaving the marked groups out leaves fewer than two.
    """
    columns = as_columns(group) or default_grouping(data, route)
    obs = observations(data, value, columns, route=route)
    codes, names = labels(obs.frame, columns)
    unknown = sorted(set(marked) - set(names))
    if unknown:
        raise InputError(
            "no such group", where="marked", found=unknown[0], expected=f"one of {names[:8]}"
        )
    if len(names) - len(set(marked)) < 2:
        raise InputError("fewer than two groups would be left", where="marked", found=len(names))
    fit = estimator or _consensus(value, u, route, options)
    sets: list[tuple[str, set[str]]] = [("none", set())]
    if len(marked) > 1:
        sets += [(name, {name}) for name in marked]
    if len(marked):
        sets.append((", ".join(marked), set(marked)))
    rows = []
    for title, out in sets:
        keep = np.flatnonzero([names[c] not in out for c in codes])
        part = _Part(data, keep, route) if hasattr(data, "used") else data.iloc[keep]
        found = fit(part)
        rows.append((title, keep.size, found.value, found.u, found.low, found.high))
    table = pd.DataFrame(rows, columns=["left_out", "n", "value", "u", "low", "high"])
    table["shift"] = table["value"] - table["value"].iloc[0]
    table["shift_percent"] = 100 * table["shift"] / abs(table["value"].iloc[0])
    table["shift_over_u"] = table["shift"] / table["u"].iloc[0]
    return Sensitivity(table, ESTIMATE_UNIT if hasattr(data, "used") else "")


def _consensus(
    value: str | None, u: str | None, route: str, options: dict[str, Any]
) -> Callable[[Any], Any]:
    from solubility_stats.pooling.consensus import pool

    def fit(part: Any) -> Any:
        if isinstance(part, _Part):
            return pool(part, route=route, **options)
        return pool(part, value=value, u=u, **options)

    return fit
