"""Records from one large plain sheet, without an object per cell."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd

from solubility_stats.quantities import SOURCE_COLUMNS, fill_columns, numeric_columns, quantity
from solubility_stats.records import FLAG_COLUMNS, HEADING_COLUMNS, ClassRecords, run_ids
from solubility_stats.sheets import privacy
from solubility_stats.sheets.account import account_of
from solubility_stats.sheets.block_ledger import ledger_of
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.duplicates import mark_duplicates
from solubility_stats.sheets.fast import (
    Block,
    drafts_of,
    grids_of,
    head_of,
    read_block,
    water_of,
)
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.for_the_table import place_run
from solubility_stats.sheets.frames import (
    decimals_frame,
    flags_frame,
    run_columns,
    runs_frame,
    typed_column,
)
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.model import column_letters
from solubility_stats.sheets.names_as_codes import personal_places
from solubility_stats.sheets.places import without_common_prefix
from solubility_stats.sheets.preamble import read_preamble
from solubility_stats.sheets.reading import enter_headings
from solubility_stats.sheets.resolve import Field, settle
from solubility_stats.sheets.state import State
from solubility_stats.sheets.tables import find_tables
from solubility_stats.sheets.told_by_headings import reported_unit
from solubility_stats.sheets.view import View
from solubility_stats.sheets.water import settle_water


def read_plain(source: Source, state: State, semester: str | None) -> ClassRecords | None:
    """Read a workbook that holds one plain table, or return ``None`` if it does not.

    Parameters
    ----------
    source : Source
        The file.
    state : State
        Fresh state of this call; filled only if the file is plain.
    semester : str or None
        Term for files that do not say it.
    """
    grids = [g for g in grids_of(source) if any(v != "" for v in g[2].flat)]
    if len(grids) != 1:
        return None
    name, hidden, cells = grids[0]
    sheet = head_of(source.label, name, hidden, cells)
    know = state.mapping.know(sheet.file, sheet.name)
    tables = find_tables(View(sheet), know)
    if len(tables) != 1 or hidden or state.mapping.cells or state.mapping.leave_out_sheets:
        return None
    table = tables[0]
    book = Book(sheet)
    values = {c.place: table.view.column(c.place, table.lines) for c in table.columns}
    personal = personal_places(table, values, state)
    fields = settle(table, values, personal)
    block = read_block(sheet, cells, table, fields)
    if block is None:
        return None
    enter_headings(fields, book, state)
    preamble = read_preamble(table, {f.column for f in fields if f.column}, book, know)
    pattern = Draft(sheet.file, sheet.name, "")
    place_run(pattern, preamble, sheet, False, state)
    if semester is not None:
        pattern.values.setdefault("semester", semester)
    unit = reported_unit(fields)
    if unit:
        pattern.values.setdefault("reported_unit", unit)
    _leave_out_personal(block, fields, personal, state)
    _complete(block, pattern)
    return _records(block, book, fields, state)


def _leave_out_personal(
    block: Block, fields: Sequence[Field], personal: dict[int, str], state: State
) -> None:
    """Replace personal data in what the ledger will show."""
    if state.keep_personal:
        return
    for f in fields:
        j = f.place - 1
        if f.place in personal:
            _show(block, j, lambda _: privacy.REDACTED[personal[f.place]])  # noqa: B023
        elif f.column == "comment" or (not f.column and f.state != "derived"):
            _show(block, j, lambda text: privacy.scrub(text, state.names))
            if f.column:
                clean = {
                    v: privacy.scrub(v, state.names)
                    for v in set(block.runs[f.column].tolist())
                    if isinstance(v, str)
                }
                block.runs[f.column] = np.array(
                    [clean.get(v, v) for v in block.runs[f.column].tolist()], dtype=object
                )
                block.values[block.rows, j] = block.runs[f.column]


def _show(block: Block, j: int, shown: Callable[[str], str]) -> None:
    known: dict[object, object] = {"": ""}
    for value in set(raw := block.raw(j)) - {""}:
        known[value] = shown(str(value)) if isinstance(value, str) or shown("") else value
    block.cells[block.span, j] = [known[v] for v in raw]


def _complete(block: Block, pattern: Draft) -> None:
    """Fill in what holds for every run of the sheet and shorten the codes."""
    n = len(block.rows)
    for column, value in pattern.values.items():
        if column not in block.runs:
            kind = float if quantity(column).kind == "number" else object
            block.runs[column] = np.full(n, value, dtype=kind)
    for column in ("group", "section", "run"):
        if column in block.runs:
            codes = block.runs[column].tolist()
            if set(map(type, codes)) != {str}:
                codes = ["" if v is None else str(v) for v in codes]
            short = without_common_prefix(filter(None, codes))
            block.runs[column][:] = [short.get(code, code) for code in codes] if short else codes


def _records(block: Block, book: Book, fields: Sequence[Field], state: State) -> ClassRecords:
    water = water_of(block)
    again = _equal_readings(block)
    understood = [f.column for f in fields if f.column]
    if water is None or _group_stands_twice(block) or len(again) > _FEW:
        drafts = drafts_of(block)
        for at, column, flag, note in block.flags:
            drafts[at].flag(column, flag, note)
        settle_water(drafts)
        mark_duplicates(drafts)
        columns = run_columns(drafts, understood)
        runs = runs_frame(drafts, columns)
        flags = flags_frame(drafts, runs["run_id"].tolist())
        decimals = decimals_frame(drafts, columns)
        runs["source_cells"] = _source_cells(block)
    else:
        block.runs["water_volume_ml"] = water
        same = drafts_of(block, again)
        mark_duplicates(same)
        for at, draft in zip(again, same, strict=True):
            block.flags += [(at, *flag) for flag in draft.flags]
        runs = _frame(block, understood)
        ids = runs["run_id"].to_numpy(dtype=object)
        flags = pd.DataFrame(
            [(ids[at], *rest) for at, *rest in block.flags], columns=list(FLAG_COLUMNS)
        ).astype("str")
        unknown = pd.arrays.IntegerArray(np.ones(len(runs), np.int64), np.ones(len(runs), np.bool_))
        decimals = pd.DataFrame(
            {c: unknown for c in numeric_columns(runs.columns)}, index=runs.index
        )
    ledger = ledger_of(block, book.entries)
    headings = pd.DataFrame(state.headings, columns=list(HEADING_COLUMNS)).astype("str")
    account = account_of([book], runs, ledger, headings, 1, state.decided)
    return ClassRecords(
        runs=runs, ledger=ledger, headings=headings, flags=flags, decimals=decimals,
        account={**account, "path": "values"},
    )  # fmt: skip


# More equal lines than this are looked at like an ordinary sheet.
_FEW = 20_000


def _group_stands_twice(block: Block) -> bool:
    if len(set(block.runs["group"].tolist())) == len(block.rows):
        return False  # usual, and much cheaper to see
    keys = [c for c in ("semester", "section", "group", "run") if c in block.runs]
    return bool(pd.DataFrame({c: block.runs[c] for c in keys}).duplicated().any())


def _equal_readings(block: Block) -> list[int]:
    """Return the positions of runs whose readings all equal those of another run."""
    fills = fill_columns(block.runs)
    left_out = {"reported_solubility", *(["water_volume_ml"] if fills else [])}
    readings = {c: v for c, v in block.runs.items() if v.dtype == float and c not in left_out}
    if not readings:
        return []
    again = pd.DataFrame(readings).duplicated(keep=False).to_numpy()
    return [int(k) for k in np.flatnonzero(again)]


def _frame(block: Block, understood: Sequence[str]) -> pd.DataFrame:
    columns = run_columns([Draft("", "", "", values=dict.fromkeys(block.runs))], understood)
    n = len(block.rows)
    runs = pd.DataFrame(
        {
            c: pd.Series(block.runs[c])
            if c in block.runs and block.runs[c].dtype == float
            else typed_column(block.runs[c].tolist() if c in block.runs else [None] * n, c)
            for c in columns
        },
        index=pd.RangeIndex(n),
    )
    runs["set_aside"] = pd.Series([""] * n, dtype="str")
    for name, text in zip(SOURCE_COLUMNS, (block.sheet.file, block.sheet.name, ""), strict=True):
        runs[name] = pd.Series([text] * n, dtype="str")
    runs["source_cells"] = _source_cells(block)
    runs.insert(0, "run_id", run_ids(runs))
    return runs


def _source_cells(block: Block) -> pd.Series:
    last = column_letters(block.cells.shape[1])
    return pd.Series([f"A{r}:{last}{r}" for r in (block.rows + 1).tolist()], dtype="str")
