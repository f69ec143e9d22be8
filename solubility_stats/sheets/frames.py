"""From drafts to the tidy frames of :class:`ClassRecords`."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from solubility_stats.quantities import (
    QUANTITIES,
    SOURCE_COLUMNS,
    fill_columns,
    quantity,
)
from solubility_stats.records import FLAG_COLUMNS, IDENTIFIERS, run_ids
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.model import address

_ALWAYS = (*IDENTIFIERS, "initial_mass_g", "water_volume_ml", "recovered_mass_g")


def run_columns(drafts: Sequence[Draft], understood: Sequence[str]) -> list[str]:
    """Return the columns of the runs frame in canonical order."""
    present = {*_ALWAYS, *understood, *(c for d in drafts for c in d.values)}
    columns = []
    for entry in QUANTITIES:
        if entry.name == "water_volume_ml":
            columns += fill_columns(present)
        if entry.name in present:
            columns.append(entry.name)
    return columns


def runs_frame(drafts: Sequence[Draft], columns: Sequence[str]) -> pd.DataFrame:
    """Return one row per run, typed by the kind of each column."""
    runs = pd.DataFrame(
        {c: typed_column([d.values.get(c) for d in drafts], c) for c in columns},
        index=pd.RangeIndex(len(drafts)),
    )
    runs["set_aside"] = pd.Series([d.set_aside for d in drafts], dtype="str")
    sources = ([d.file for d in drafts], [d.sheet for d in drafts], list(map(_cells, drafts)))
    for name, texts in zip(SOURCE_COLUMNS, sources, strict=True):
        runs[name] = pd.Series(texts, dtype="str")
    runs.insert(0, "run_id", run_ids(runs))
    return runs


def typed_column(values: list[object], name: str) -> pd.Series:
    """Return values as a series of the type of their column."""
    kind = quantity(name).kind
    if kind == "number":
        return pd.Series(values, dtype="float64")
    if kind == "flag":
        return pd.Series(values, dtype="boolean")
    if kind == "moment":
        return pd.Series(pd.to_datetime(pd.Series(values, dtype="object"), errors="raise"))
    if set(map(type, values)) != {str}:
        blank = "" if name in IDENTIFIERS else None
        values = [blank if v is None else str(v) for v in values]
    return pd.Series(values, dtype="str")


def _cells(draft: Draft) -> str:
    if not draft.cells:
        return ""
    first, last = address(*draft.cells[0]), address(*draft.cells[-1])
    return first if first == last else f"{first}:{last}"


def decimals_frame(drafts: Sequence[Draft], columns: Sequence[str]) -> pd.DataFrame:
    """Return recorded decimals, one column per numeric column, ``<NA>`` where unknown."""
    return pd.DataFrame(
        {c: _known_decimals(drafts, c) for c in columns if quantity(c).kind == "number"},
        index=pd.RangeIndex(len(drafts)),
    )


def _known_decimals(drafts: Sequence[Draft], column: str) -> pd.arrays.IntegerArray:
    known = [d.decimals.get(column) for d in drafts]
    counts = np.array([0 if n is None else n for n in known], dtype="int64")
    return pd.arrays.IntegerArray(counts, np.array([n is None for n in known], dtype=bool))


def flags_frame(drafts: Sequence[Draft], ids: Sequence[str]) -> pd.DataFrame:
    """Return the remarks on single readings."""
    rows = []
    for draft, run_id in zip(drafts, ids, strict=True):
        if draft.hidden:
            rows.append((run_id, "", "hidden", "the row, column or sheet is hidden"))
        rows += [(run_id, *flag) for flag in draft.flags]
    frame = pd.DataFrame(rows, columns=list(FLAG_COLUMNS))
    return frame.astype("str")
