"""The values-only path: large clean sheets read column by column instead of cell by cell.

It sees values, not formats, comments, formulas or what is hidden. A sheet it cannot treat as one
plain table with headings on top goes to the full path.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import chain, filterfalse
from typing import Any

import numpy as np
from numpy.typing import NDArray

from solubility_stats.quantities import fill_columns, quantity
from solubility_stats.sheets import lines as line_kinds
from solubility_stats.sheets.assemble import unused
from solubility_stats.sheets.cell_columns import parse_numeric_column
from solubility_stats.sheets.cell_reader import spread_out
from solubility_stats.sheets.cells import decide_decimal, parse_cell, scale_breaks
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.ledger import UNREACHED
from solubility_stats.sheets.model import CellContext, ParsedCell, RawCell, Sheet
from solubility_stats.sheets.resolve import Field, is_number
from solubility_stats.sheets.table import Table
from solubility_stats.sheets.workbooks import as_text

BLIND_SPOTS = (
    "read by values only: number formats, comments, formulas, merged cells and hidden rows "
    "are not seen"
)
_HEAD_ROWS = 60

OUTCOMES = ["ignored", "used", "converted", "context", "unclear", "rejected"]
_USED = OUTCOMES.index("used")

Objects = NDArray[np.object_]


@dataclass
class Block:
    """A plain table read column by column.

    Attributes
    ----------
    sheet : Sheet
        Only the head of the sheet, for names and headings.
    cells : ndarray of object, shape (rows, columns)
        Raw values of the whole sheet; empty text for an empty cell.
    filled : ndarray of bool, shape (rows, columns)
        Which cells hold something.
    rows : ndarray of int, shape (n,)
        Index of the row of each run.
    columns, units : list of str, length columns
        Canonical column and unit of each place.
    outcomes : ndarray of int8, shape (rows, columns)
        Position in ``OUTCOMES``.
    values : ndarray of object, shape (rows, columns)
        Parsed values; of a column that fills one of ours the stored values until it is read.
    notes : dict of (int, int) to str
        Notes of single cells; ``general`` holds those of whole places.
    runs, unread : dict of str to ndarray, shape (n,)
        Parsed columns, and where a cell is there but could not be read.
    flags : list of tuple
        Position of the run, column, flag, note.
    """

    sheet: Sheet
    cells: Objects
    filled: NDArray[np.bool_]
    rows: NDArray[np.int64]
    columns: list[str]
    units: list[str]
    general: list[str]
    outcomes: NDArray[np.int8]
    values: Objects
    notes: dict[tuple[int, int], str] = field(default_factory=dict)
    runs: dict[str, NDArray[Any]] = field(default_factory=dict)
    unread: dict[str, NDArray[np.bool_]] = field(default_factory=dict)
    flags: list[tuple[int, str, str, str]] = field(default_factory=list)

    @property
    def span(self) -> slice | NDArray[np.int64]:
        """The rows of the runs as an index, a slice where none lies between."""
        if not len(self.rows):
            return slice(0, 0)
        first, last = int(self.rows[0]), int(self.rows[-1]) + 1
        return slice(first, last) if last - first == len(self.rows) else self.rows

    def raw(self, j: int) -> list[Any]:
        """Return the raw values of the runs in the column with index ``j``."""
        return list(self.cells[self.span, j].tolist())


def grids_of(source: Source) -> list[tuple[str, bool, Objects]]:
    """Return name, hidden state and values, shape (rows, columns), of each sheet.

    An empty cell is an empty text. Nothing of a file that calamine cannot read: the full path may
    read it, or says what is wrong with it.
    """
    import python_calamine as calamine

    found = []
    try:
        book = calamine.CalamineWorkbook.from_path(str(source.path))
        for info in book.sheets_metadata:
            if info.typ == calamine.SheetTypeEnum.WorkSheet:
                hidden = info.visible != calamine.SheetVisibleEnum.Visible
                found.append((info.name, hidden, _rectangle(book.get_sheet_by_name(info.name))))
    except calamine.CalamineError:
        return []
    return found


def _rectangle(sheet: Any) -> Objects:
    """Return the values from the first cell of a sheet to the last."""
    if sheet.end is None:
        return np.empty((0, 0), object)
    height, width = (last + 1 for last in sheet.end)
    # Row by row needs less memory, but leaves out empty columns on the left.
    whole = sheet.start == (0, 0)
    rows = sheet.iter_rows() if whole else sheet.to_python(skip_empty_area=False)
    cells = np.fromiter(chain.from_iterable(rows), object, height * width)
    return cells.reshape(height, width)


def head_of(label: str, name: str, hidden: bool, values: Objects) -> Sheet:
    """Return the first rows as a sheet of raw cells, for finding headings."""
    cells = {
        (i, j): RawCell(i, j, value, as_text(value), hidden=hidden)
        for i, row in enumerate(values[:_HEAD_ROWS].tolist(), start=1)
        for j, value in enumerate(row, start=1)
        if value is not None and value != ""
    }
    return Sheet(label, name, cells, hidden=hidden, notes=(BLIND_SPOTS,))


def read_block(sheet: Sheet, cells: Objects, table: Table, fields: Sequence[Field]) -> Block | None:
    """Read a plain table, or return ``None`` if it is not plain enough.

    Parameters
    ----------
    sheet : Sheet
        Head of the sheet.
    cells : ndarray of object, shape (rows, columns)
        All values.
    table : Table
        The one table found in the head.
    fields : sequence of Field
        What its places hold.
    """
    if table.view.turned or any(f.trial or f.state == "open" for f in fields):
        return None
    width = cells.shape[1]
    start = table.header[-1]
    if table.last > width:
        return None
    filled = np.column_stack([_filled(cells[:, j].tolist()) for j in range(width)])
    body = _plain_rows(cells, filled, start, fields)
    if body is None:
        return None
    block = Block(
        sheet, cells, filled, body, [""] * width, [""] * width, [""] * width,
        np.zeros(cells.shape, np.int8), cells.copy(),
    )  # fmt: skip
    used = {f.place - 1 for f in fields if f.column}
    block.values[:, [j for j in range(width) if j not in used]] = None
    block.general[:] = [UNREACHED.note] * width
    for f in fields:
        j = f.place - 1
        block.general[j] = ""
        if f.column:
            block.columns[j] = f.column
            _read_column(block, f)
        else:
            _leave_out(block, f)
    return block


def _leave_out(block: Block, f: Field) -> None:
    """Enter a column that fills none of ours as the full path would."""
    j = f.place - 1
    raw = block.raw(j)
    entries = {v: unused(f, RawCell(1, 1, v, as_text(v))) for v in set(raw) - {""}}
    for entry in entries.values():
        block.general[j] = entry.note
    codes = {v: OUTCOMES.index(entry.outcome) for v, entry in entries.items()}
    block.outcomes[block.span, j] = [codes.get(v, 0) for v in raw]


def _filled(values: Sequence[Any]) -> NDArray[np.bool_]:
    if "" not in values:
        return np.ones(len(values), bool)
    return np.fromiter((v != "" for v in values), bool, len(values))


def _plain_rows(
    cells: Objects, filled: NDArray[np.bool_], start: int, fields: Sequence[Field]
) -> NDArray[np.int64] | None:
    """Return the indices of the runs; ``None`` if some row needs a closer look.

    Empty rows are skipped. A row without group, or whose codes read like a summary, an example or
    a note, is no plain run, and the sheet goes to the full path.
    """
    place = next((f.place for f in fields if f.column == "group"), None)
    numbers = [f.place - 1 for f in fields if is_number(f)]
    if place is None or not numbers:
        return None
    below = filled[start:]
    used = below.any(axis=1)
    if not np.array_equal(used, below[:, place - 1] & below[:, numbers].any(axis=1)):
        return None
    codes = [c for c in set(cells[start:, place - 1].tolist()) if isinstance(c, str)]
    wordy = chain(filter(str.isalpha, codes), filterfalse(str.isalnum, codes))
    if any(map(line_kinds.is_telling, wordy)):
        return None
    return np.asarray(np.flatnonzero(used) + start)


def _read_column(block: Block, f: Field) -> None:
    raw = block.raw(f.place - 1)
    if not is_number(f):
        block.runs[f.column] = _words(
            block, f, CellContext(f.column, f.unit, heading=f.source.heading), raw
        )
        return
    block.units[f.place - 1] = quantity(f.column).unit
    kinds = set(map(type, raw))
    texts = [v for v in raw if isinstance(v, str) and v != ""] if str in kinds else []
    mark = decide_decimal(texts, quantity=quantity(f.column), unit=f.unit)[0] if texts else None
    context = CellContext(f.column, f.unit, mark, heading=f.source.heading)
    block.runs[f.column] = _numbers(block, f, context, raw, kinds)


def _numbers(
    block: Block, f: Field, context: CellContext, raw: Sequence[Any], kinds: set[type]
) -> NDArray[np.float64]:
    j, body = f.place - 1, block.rows
    numeric = np.ones(len(raw), bool)
    if not kinds <= {float, int}:
        numeric = np.fromiter((type(v) in (float, int) for v in raw), bool, len(raw))
    at = np.flatnonzero(numeric)
    stored = np.array(raw if len(at) == len(raw) else [raw[k] for k in at.tolist()], dtype=float)
    read = parse_numeric_column(stored, quantity(f.column), context)
    values = np.full(len(raw), np.nan)
    values[at] = read.values
    unread = np.zeros(len(raw), bool)
    unread[at] = np.isnan(read.values)
    codes = np.full(len(at), _USED, np.int8)
    for name in ("converted", "unclear", "rejected"):
        codes[read.outcomes == name] = OUTCOMES.index(name)
    into = block.span if len(at) == len(raw) else body[at]
    block.outcomes[into, j] = codes
    if kinds != {float} or (codes != _USED).any():
        shown = read.values.astype(object)
        shown[np.isnan(read.values)] = None
        block.values[into, j] = shown
    if read.notes and len(set(read.notes.values())) == 1 and len(read.notes) == len(at):
        block.general[j] = next(iter(read.notes.values()))
    else:
        block.notes |= {(int(body[at[k]]), j): note for k, note in read.notes.items()}
    for k, flags in read.flags.items():
        block.flags += [(int(at[k]), f.column, flag, read.notes.get(k, "")) for flag in flags]
    others = np.flatnonzero(~numeric & _filled(raw)).tolist() if len(at) < len(raw) else []
    for k in others:
        cell = RawCell(int(body[k]) + 1, f.place, raw[k], as_text(raw[k]))
        parsed = parse_cell(cell, quantity(f.column), context)
        _enter(block, k, j, f.column, parsed)
        values[k] = np.nan if parsed.value is None else float(str(parsed.value))
        unread[k] = parsed.value is None
    lone = spread_out(values) and scale_breaks(values, quantity(f.column))
    for k in np.flatnonzero(lone).tolist():
        note = "far off the rest of the column, as if in another unit"
        _enter(block, k, j, f.column, ParsedCell(None, "unclear", flags=("unclear",), note=note))
        values[k], unread[k] = np.nan, True
    block.unread[f.column] = unread
    return values


def _words(block: Block, f: Field, context: CellContext, raw: Sequence[Any]) -> Objects:
    j = f.place - 1
    answers: dict[Any, ParsedCell] = {}
    read: dict[Any, object] = {"": None}
    distinct = set(raw)
    distinct.discard("")
    for value in _to_parse(distinct, f):
        parsed = parse_cell(RawCell(1, 1, value, as_text(value)), quantity(f.column), context)
        read[value] = parsed.value
        if parsed.outcome != "used" or parsed.note or parsed.flags:
            answers[value] = parsed
    values = block.cells[block.span, j].copy()
    if len(read) > 1 or "" in raw:
        read = dict(zip(distinct, distinct, strict=True)) | read
        values[:] = list(map(read.__getitem__, raw))
        block.values[block.span, j] = values
    block.outcomes[block.span, j] = _USED
    if answers:
        for at, value in enumerate(raw):
            if value in answers:
                _enter(block, at, j, f.column, answers[value])
    return values


def _to_parse(distinct: set[Any], f: Field) -> set[Any]:
    """Return the values that do not stand for themselves, as a code of letters and digits does."""
    if quantity(f.column).kind != "identifier":
        return distinct
    return {v for v in distinct if not (isinstance(v, str) and v.isascii() and v.isalnum())}


def _enter(block: Block, at: int, j: int, column: str, parsed: ParsedCell) -> None:
    row = int(block.rows[at])
    block.outcomes[row, j] = OUTCOMES.index(parsed.outcome)
    block.values[row, j] = parsed.value
    if parsed.note:
        block.notes[row, j] = parsed.note
    block.flags += [(at, column, flag, parsed.note) for flag in parsed.flags]


def water_of(block: Block) -> NDArray[np.float64] | None:
    """Return the water of each run where every fill of every run was read, else ``None``."""
    fills = fill_columns(block.runs)
    if not fills:
        return np.asarray(block.runs.get("water_volume_ml", np.full(len(block.rows), np.nan)))
    if "water_volume_ml" in block.runs:
        return None
    poured = np.column_stack([block.runs[c] for c in fills])
    return None if np.isnan(poured).any() else np.asarray(poured.sum(axis=1))


def drafts_of(block: Block, at: Sequence[int] | None = None) -> list[Draft]:
    """Return runs as drafts, for the rare steps that look at single runs."""
    chosen = range(len(block.rows)) if at is None else at
    made = []
    for k in chosen:
        draft = Draft(block.sheet.file, block.sheet.name, f"row {block.rows[k] + 1}")
        for column, values in block.runs.items():
            value = values[k]
            if value is not None and value == value:
                draft.values[column] = float(value) if values.dtype == float else value
        draft.unread = {c for c, bad in block.unread.items() if bad[k]}
        made.append(draft)
    return made
