"""What the statistics of this room are computed on: one tidy frame, made the same way everywhere.

Rows are matched by position, never by label: the frame handed on has a fresh ``RangeIndex``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.errors import InputError

Vector = npt.NDArray[np.float64]
Codes = npt.NDArray[np.intp]
Missing = Literal["raise", "omit"]

ESTIMATE_VALUE = "value_g_per_100g"
ESTIMATE_U = "u_g_per_100g"
ESTIMATE_UNIT = "g/100 g water"
GROUPING = ("semester", "section", "group")


@dataclass(frozen=True)
class Observations:
    """Values with whatever identifies them.

    Attributes
    ----------
    frame : DataFrame
        ``value`` (float) first, then the columns asked for; ``RangeIndex``.
    rows : ndarray of int
        Position of each kept row in what was given.
    omitted : int
        Rows left out because something asked for was missing.
    unit : str
        Unit of ``value``; empty when the caller's frame does not tell.
    """

    frame: pd.DataFrame
    rows: Codes
    omitted: int
    unit: str

    @property
    def values(self) -> Vector:
        """The values as an array, shape (n,)."""
        return np.asarray(self.frame["value"], dtype=float)

    @property
    def n(self) -> int:
        """Number of values kept."""
        return len(self.frame)


def source_frame(data: Any, route: str = "residue") -> tuple[pd.DataFrame, bool]:
    """Return the frame behind ``data`` and whether it came from estimates.

    Parameters
    ----------
    data : Estimates, DataFrame, Series or array_like
        Estimates are recognised by their ``used(route)`` method.
    route : str
        Route whose used rows are taken from estimates.
    """
    if hasattr(data, "used") and callable(data.used):
        return data.used(route).reset_index(drop=True), True
    if isinstance(data, pd.DataFrame):
        return data.reset_index(drop=True), False
    array = np.asarray(data)
    if array.ndim != 1:
        raise InputError(
            "cannot tell which column holds the values",
            where="data",
            found=f"array of shape {array.shape}",
            expected="a one-dimensional array or a DataFrame",
        )
    return pd.DataFrame({"value": array}), False


def observations(
    data: Any,
    value: str | None = None,
    columns: Sequence[str] = (),
    *,
    route: str = "residue",
    missing: Missing = "raise",
    may_be_missing: Sequence[str] = (),
) -> Observations:
    """Return the tidy frame of one value column with the columns that identify its rows.

    Parameters
    ----------
    data : Estimates, DataFrame, Series or array_like
        See :func:`source_frame`.
    value : str, optional
        Column of the values; may be left out for estimates and for arrays.
    columns : sequence of str
        Further columns to carry along.
    route : str
        Route taken from estimates.
    missing : {"raise", "omit"}
        What to do with rows in which the value or one of ``columns`` is missing.
    may_be_missing : sequence of str
        Those of ``columns`` in which a missing entry is no reason to raise or omit.

    Raises
    ------
    InputError
        If a column is absent, a value is no number, or something is missing and
        ``missing="raise"``.
    """
    frame, from_estimates = source_frame(data, route)
    name = value or (ESTIMATE_VALUE if from_estimates else "value")
    absent = [c for c in (name, *columns) if c not in frame.columns]
    if absent:
        raise InputError(
            "column not found",
            where="data",
            found=", ".join(absent),
            expected="one of " + ", ".join(map(str, frame.columns)),
        )
    number = _numbers(frame[name], name)
    carried = {c: blank_as_missing(frame[c]) for c in columns}
    gap = ~np.isfinite(number)
    for column in set(columns) - set(may_be_missing):
        gap |= carried[column].isna().to_numpy(dtype=bool)
    if gap.any() and missing == "raise":
        raise InputError(
            f"{int(gap.sum())} of {len(frame)} rows miss a value or what identifies it",
            where=f"rows {', '.join(str(i) for i in np.flatnonzero(gap)[:5])} (counted from 0)",
            remedy='Fill them in, remove them, or pass missing="omit" to leave them out, counted.',
        )
    kept = np.flatnonzero(~gap)
    tidy = pd.DataFrame({"value": number[kept]})
    for column in columns:
        tidy[column] = carried[column].to_numpy()[kept]
    unit = ESTIMATE_UNIT if name == ESTIMATE_VALUE else ""
    return Observations(tidy, kept, int(gap.sum()), unit)


def blank_as_missing(series: pd.Series[Any]) -> pd.Series[Any]:
    """Return the entries of a column with empty text turned into missing ones."""
    if pd.api.types.is_numeric_dtype(series) or pd.api.types.is_datetime64_any_dtype(series):
        return series
    plain = series.astype(object)
    blank = [isinstance(v, str) and not v.strip() for v in plain]
    return plain.mask(np.array(blank, dtype=bool))


def recorded(frame: pd.DataFrame, names: Sequence[str]) -> list[str]:
    """Return those of ``names`` that are columns with at least one entry, in their order."""
    return [c for c in names if c in frame.columns and blank_as_missing(frame[c]).notna().any()]


def _numbers(series: pd.Series[Any], name: str) -> Vector:
    try:
        return np.array(series, dtype=float)
    except (TypeError, ValueError):
        odd = [v for v in series if not isinstance(v, (int, float, np.number))]
        raise InputError(
            "values are not all numbers",
            where=f"column {name}",
            found=odd[0] if odd else None,
            expected="numbers",
        ) from None


def as_columns(group: str | Sequence[str] | None) -> list[str]:
    """Return the grouping columns named by one name, several names, or none."""
    if group is None:
        return []
    return [group] if isinstance(group, str) else list(group)


def default_grouping(data: Any, route: str = "residue") -> list[str]:
    """Return the columns that together name one group: ``section`` and ``group`` where present."""
    frame, _ = source_frame(data, route)
    return recorded(frame, GROUPING)


def labels(frame: pd.DataFrame, columns: Sequence[str]) -> tuple[Codes, list[str]]:
    """Return integer codes and readable labels of the groups that ``columns`` name together.

    A column that is the same in every row adds nothing to the label and is left out of it. Codes
    count in order of first appearance.
    """
    if not columns:
        return np.arange(len(frame)), [str(i + 1) for i in range(len(frame))]
    telling = [c for c in columns if frame[c].nunique(dropna=False) > 1] or [columns[-1]]
    text = frame[telling[0]].astype(str)
    for column in telling[1:]:
        text = text + " / " + frame[column].astype(str)
    codes, names = pd.factorize(text)
    return np.asarray(codes, dtype=np.intp), [str(n) for n in names]


def cell_statistics(values: Vector, codes: Codes) -> tuple[Vector, Vector, Vector]:
    """Return count, mean and standard deviation of each group, each of shape (p,).

    Deviations are summed about the group mean (two passes), so values that agree in many digits
    lose none. The standard deviation of a single value is not a number.
    """
    n = np.bincount(codes).astype(float)
    shift = values - values[0]
    mean = np.bincount(codes, shift) / n
    squares = np.bincount(codes, (shift - mean[codes]) ** 2)
    # The second pass removes the rounding left in the first mean.
    rest = np.bincount(codes, shift - mean[codes])
    squares = squares - rest**2 / n
    mean = mean + rest / n
    with np.errstate(divide="ignore", invalid="ignore"):
        sd = np.sqrt(np.where(n > 1, np.maximum(squares, 0.0) / (n - 1), np.nan))
    return n, mean + values[0], sd
