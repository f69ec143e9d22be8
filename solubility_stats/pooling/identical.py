"""Rows of different groups that hold the same readings, and how likely chance is to make them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.pooling.tidy import as_columns, default_grouping, labels


@dataclass(frozen=True, repr=False)
class IdenticalRows(Result):
    """Sets of rows with the same readings.

    Attributes
    ----------
    table : DataFrame
        One row per set: ``labels, rows`` (positions, from 0), ``same`` (columns that agree),
        ``differ`` (columns that do not), ``expected_by_chance`` (pairs of rows that would agree
        in all of these columns if readings fell independently with the frequencies seen) and
        ``note``.
    columns : tuple of str
        Columns compared.
    n, omitted : int
        Rows compared; rows left out because too few of the columns are filled.
    """

    table: pd.DataFrame
    columns: tuple[str, ...]
    n: int
    omitted: int

    def headline(self) -> str:
        """Return how many sets of rows agree."""
        if self.table.empty:
            return f"No two of {self.n} rows hold the same readings"
        count = len(self.table)
        sets = "One set" if count == 1 else f"{count} sets"
        return (
            f"{sets} of rows with the same readings among {self.n}: a shared measurement, a form "
            "filled twice or a line entered twice are common reasons; ask"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the sets."""
        return {"Rows with the same readings": self.table}


def identical_rows(
    data: Any,
    columns: Sequence[str] | None = None,
    group: str | Sequence[str] | None = None,
    *,
    least: int = 3,
) -> IdenticalRows:
    """Find rows that hold the same readings in every compared column.

    Parameters
    ----------
    data : ClassRecords or DataFrame
        One row per run; records bring theirs as ``runs``.
    columns : sequence of str, optional
        Readings to compare; by default every numeric column that is not the same for nearly
        all rows (a prescribed volume or a room temperature says nothing).
    group : str or sequence of str, optional
        Columns that name a group, for the labels.
    least : int
        Fewest filled columns two rows must share to be compared.

    Raises
    ------
    InputError
        If fewer than ``least`` columns can be compared.
    """
    frame: pd.DataFrame = data.runs if hasattr(data, "runs") else data
    frame = frame.reset_index(drop=True)
    group_columns = as_columns(group) or default_grouping(frame)
    chosen = list(columns) if columns is not None else _telling(frame, group_columns)
    absent = [c for c in chosen if c not in frame.columns]
    if absent:
        raise InputError("column not found", where="data", found=", ".join(absent))
    if len(chosen) < least:
        raise InputError(
            "too few columns of readings to compare",
            where="identical_rows",
            found=len(chosen),
            expected=f"{least} or more",
        )
    filled = frame[chosen].notna().sum(axis=1) >= least
    kept = frame.loc[filled, chosen]
    codes, names = labels(frame, group_columns)
    rows = []
    for _, part in kept.groupby(chosen, dropna=False, sort=False, observed=True):
        if len(part) < 2:
            continue
        same = [c for c in chosen if part[c].notna().all()]
        others = [
            str(c)
            for c in frame.columns
            if c not in chosen
            and c not in group_columns
            and frame.loc[part.index, c].nunique(dropna=False) > 1
        ]
        rows.append(
            {
                "labels": ", ".join(dict.fromkeys(names[codes[i]] for i in part.index)),
                "rows": ", ".join(str(i) for i in part.index),
                "same": ", ".join(same),
                "differ": ", ".join(others),
                "expected_by_chance": _by_chance(kept, same, len(part)),
            }
        )
    table = pd.DataFrame(rows, columns=["labels", "rows", "same", "differ", "expected_by_chance"])
    table["note"] = [_note(float(x)) for x in table["expected_by_chance"]]
    return IdenticalRows(table, tuple(chosen), int(filled.sum()), int((~filled).sum()))


def _telling(frame: pd.DataFrame, group_columns: Sequence[str]) -> list[str]:
    found = []
    for column in frame.columns:
        series = frame[column]
        if column in group_columns or column == "run" or not pd.api.types.is_numeric_dtype(series):
            continue
        if pd.api.types.is_bool_dtype(series) or not series.notna().any():
            continue
        most_common = series.value_counts(normalize=True).iloc[0]
        if most_common < 0.5:
            found.append(str(column))
    return found


def _by_chance(frame: pd.DataFrame, columns: Sequence[str], size: int) -> float:
    """Return the pairs of rows expected to agree in all columns.

    How often two rows agree in one column is counted over all pairs but those of the set at
    hand, plus one half (Jeffreys), so that the set does not make itself look likely.
    """
    pairs = len(frame) * (len(frame) - 1) / 2
    own = size * (size - 1) / 2
    chance = 1.0
    for column in columns:
        counts = frame[column].value_counts().to_numpy(dtype=float)
        agreeing = float((counts * (counts - 1) / 2).sum()) - own
        chance *= (agreeing + 0.5) / (pairs - own + 1)
    return pairs * chance


def _note(expected: float) -> str:
    if expected > 0.05:
        return f"may well be chance: about {expected:.1g} such pairs expected"
    return "hardly chance; worth asking how the readings were taken"
