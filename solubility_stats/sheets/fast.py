"""The values-only path: large clean sheets read column by column instead of cell by cell.

It sees values, not formats, comments, formulas or what is hidden. A sheet it cannot treat as one
plain table with headings on top goes to the full path.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from solubility_stats.quantities import fill_columns, quantity
from solubility_stats.sheets import lines as line_kinds
from solubility_stats.sheets.assemble import unused
from solubility_stats.sheets.cell_reader import spread_out
from solubility_stats.sheets.cells import (
    decide_decimal,
    parse_cell,
    parse_numeric_column,
    scale_breaks,
)
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.ledger import UNREACHED, Entry
from solubility_stats.sheets.model import CellContext, ParsedCell, RawCell, Sheet, column_letters
from solubility_stats.sheets.resolve import Field, is_number
from solubility_stats.sheets.tables import Table
from solubility_stats.sheets.workbooks import MAX_RECTANGLE, as_text

# Sheet XML from here on is worth the values path (about 150 000 cells).
LARGE_BYTES = 6_000_000
BLIND_SPOTS = "read by values only: number formats, comments, formulas and hidden rows are not seen"
# What the values path would miss: formulas, error cells, hidden rows or columns, merged cells.
_MISSED = (b"<f>", b"<f ", b"<f/", b't="e"', b'hidden="1"', b"<mergeCell ")
_FAR_COLUMN = re.compile(rb'r="[A-Z]{2,3}\d')
_FAR_ROW = re.compile(rb'<row [^>]*?r="(\d+)"')
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
    grid : list of list
        Raw values of the whole sheet by row; empty text for an empty cell.
    places : list of tuple
        The same by column.
    rows : ndarray of int, shape (n,)
        Index of the row of each run.
    columns, units : list of str, length columns
        Canonical column and unit of each place.
    outcomes : ndarray of int8, shape (rows, columns)
        Position in ``OUTCOMES``.
    values : ndarray of object, shape (rows, columns)
        Parsed values.
    notes : dict of (int, int) to str
        Notes of single cells; ``general`` holds those of whole places.
    runs, unread : dict of str to ndarray, shape (n,)
        Parsed columns, and where a cell is there but could not be read.
    flags : list of tuple
        Position of the run, column, flag, note.
    """

    sheet: Sheet
    grid: list[list[Any]]
    places: list[tuple[Any, ...]]
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

    def raw(self, j: int) -> Sequence[Any]:
        """Return the raw values of the runs in the column with index ``j``."""
        span = self.span
        column = self.places[j]
        return column[span] if isinstance(span, slice) else [column[i] for i in span.tolist()]


def is_compact(source: Source) -> bool:
    """Tell whether an ``.xlsx`` file laid out in full rectangles stays within bounds."""
    with zipfile.ZipFile(source.path) as archive:
        names = archive.namelist()
        sheets = [n for n in names if n.startswith("xl/worksheets/") and n.endswith(".xml")]
        return all(fits_in_memory(archive.read(n)) for n in sheets)


def is_large_and_clean(source: Source) -> bool:
    """Tell whether an ``.xlsx`` file is large and holds nothing that the values path would miss."""
    if source.kind != "xlsx":
        return False
    with zipfile.ZipFile(source.path) as archive:
        names = archive.namelist()
        sheets = [n for n in names if n.startswith("xl/worksheets/") and n.endswith(".xml")]
        if sum(archive.getinfo(n).file_size for n in sheets) < LARGE_BYTES:
            return False
        if any("comments" in n or "threadedComment" in n for n in names):
            return False
        return all(_is_plain(archive.read(n)) for n in sheets)


def _is_plain(content: bytes) -> bool:
    return not any(mark in content for mark in _MISSED) and fits_in_memory(content)


def fits_in_memory(content: bytes) -> bool:
    """Tell whether a sheet laid out as a full rectangle stays within bounds."""
    if b"<row " in content and not _FAR_COLUMN.search(content):
        return True
    columns = 702 if not re.search(rb'r="[A-Z]{3}\d', content) else 16_384
    rows = [int(n) for n in _FAR_ROW.findall(content)]
    return bool(rows) and max(rows) * columns < MAX_RECTANGLE


def grids_of(source: Source) -> list[tuple[str, bool, list[list[Any]]]]:
    """Return name, hidden state and rows of values of each sheet."""
    import python_calamine as calamine

    book = calamine.CalamineWorkbook.from_path(str(source.path))
    found = []
    for info in book.sheets_metadata:
        if info.typ == calamine.SheetTypeEnum.WorkSheet:
            rows = book.get_sheet_by_name(info.name).to_python(skip_empty_area=False)
            found.append((info.name, info.visible != calamine.SheetVisibleEnum.Visible, rows))
    return found


def head_of(label: str, name: str, hidden: bool, rows: Sequence[Sequence[Any]]) -> Sheet:
    """Return the first rows as a sheet of raw cells, for finding headings."""
    cells = {
        (i, j): RawCell(i, j, value, as_text(value), hidden=hidden)
        for i, row in enumerate(rows[:_HEAD_ROWS], start=1)
        for j, value in enumerate(row, start=1)
        if value is not None and value != ""
    }
    return Sheet(label, name, cells, hidden=hidden, notes=(BLIND_SPOTS,))


def read_block(
    sheet: Sheet, rows: list[list[Any]], table: Table, fields: Sequence[Field]
) -> Block | None:
    """Read a plain table, or return ``None`` if it is not plain enough.

    Parameters
    ----------
    sheet : Sheet
        Head of the sheet.
    rows : list of list
        All rows of values.
    table : Table
        The one table found in the head.
    fields : sequence of Field
        What its places hold.
    """
    if table.view.turned or any(f.trial or f.state == "open" for f in fields):
        return None
    width = len(rows[0])
    start = table.header[-1]
    if any(len(row) != width for row in rows[: start + 1]) or table.last > width:
        return None
    places = list(zip(*rows, strict=True))
    body = _plain_rows(places, start, fields)
    if body is None:
        return None
    block = Block(
        sheet, rows, places, body, [""] * width, [""] * width, [""] * width,
        np.zeros((len(rows), width), np.int8), np.full((len(rows), width), None, object),
    )  # fmt: skip
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


def _filled(place: Sequence[Any]) -> NDArray[np.bool_]:
    if "" not in place:
        return np.ones(len(place), bool)
    return np.fromiter((v != "" for v in place), bool, len(place))


def _plain_rows(
    places: Sequence[Sequence[Any]], start: int, fields: Sequence[Field]
) -> NDArray[np.int64] | None:
    """Return the indices of the runs; ``None`` if some row needs a closer look.

    Empty rows are skipped. A row without group, or whose codes read like a summary, an example or
    a note, is no plain run, and the sheet goes to the full path.
    """
    place = next((f.place for f in fields if f.column == "group"), None)
    numbers = [f.place - 1 for f in fields if is_number(f)]
    if place is None or not numbers:
        return None
    filled = [_filled(column[start:]) for column in places]
    used = np.logical_or.reduce(filled)
    some = np.logical_or.reduce([filled[j] for j in numbers])
    if not np.array_equal(used, filled[place - 1] & some):
        return None
    codes = set(places[place - 1][start:])
    if any(isinstance(c, str) and not c.isalnum() and line_kinds.is_telling(c) for c in codes):
        return None
    if any(isinstance(c, str) and c.isalpha() and line_kinds.is_telling(c) for c in codes):
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
    if kinds <= {float, int}:
        numeric = np.ones(len(raw), bool)
    else:
        numeric = np.fromiter((type(v) in (float, int) for v in raw), bool, len(raw))
    texts = [v for v in raw if isinstance(v, str) and v != ""] if str in kinds else []
    mark = decide_decimal(texts, quantity=quantity(f.column), unit=f.unit)[0] if texts else None
    context = CellContext(f.column, f.unit, mark, heading=f.source.heading)
    block.runs[f.column] = _numbers(block, f, context, raw, numeric)


def _numbers(
    block: Block, f: Field, context: CellContext, raw: Sequence[Any], numeric: NDArray[np.bool_]
) -> NDArray[np.float64]:
    j, body = f.place - 1, block.rows
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
    if (codes == _USED).all() and len(at) == len(raw):
        block.values[into, j] = list(map(float, raw))
    else:
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
    codes = quantity(f.column).kind == "identifier"
    answers: dict[Any, ParsedCell] = {}
    plain: dict[Any, object] = {"": None}
    for value in set(raw) - {""}:
        if codes and isinstance(value, str) and value.isascii() and value.isalnum():
            plain[value] = value  # such a code stands for itself
            continue
        parsed = parse_cell(RawCell(1, 1, value, as_text(value)), quantity(f.column), context)
        plain[value] = parsed.value
        if parsed.outcome != "used" or parsed.note or parsed.flags:
            answers[value] = parsed
    values = np.array(list(map(plain.__getitem__, raw)), dtype=object)
    block.values[block.span, j] = values
    block.outcomes[block.span, j] = _USED
    if answers:
        for at, value in enumerate(raw):
            if value in answers:
                _enter(block, at, j, f.column, answers[value])
    return values


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


def ledger_of(block: Block, above: Mapping[tuple[int, int], Entry]) -> pd.DataFrame:
    """Return the ledger of a block, columns of few different words as categories.

    ``raw`` holds the stored value itself, because making text of a million numbers costs more
    than reading them.

    Parameters
    ----------
    block : Block
        The table.
    above : mapping
        Entries of the cells above the runs, by row and column counted from 1.
    """
    rows, cols = block.outcomes.shape
    columns = np.tile(np.arange(1, cols + 1, dtype=np.int16), (rows, 1))
    words = ["", *block.columns]
    outcomes = block.outcomes
    notes = np.tile(np.arange(1, cols + 1, dtype=np.int32), (rows, 1))
    said = ["", *block.general]
    known: dict[str, int] = {}
    for (i, j), note in block.notes.items():
        if note not in known:
            known[note] = len(said)
            said.append(note)
        notes[i, j] = known[note]
    units = ["", *block.units]
    by_place = columns.copy()
    for i in range(rows if not len(block.rows) else int(block.rows[0])):
        for j in range(cols):
            entry = above.get((i + 1, j + 1), UNREACHED)
            columns[i, j], notes[i, j] = _code(words, entry.column), _code(said, entry.note)
            outcomes[i, j], block.values[i, j] = OUTCOMES.index(entry.outcome), entry.value
            by_place[i, j] = _code(units, entry.unit)
    flat = _listed(list(chain.from_iterable(block.grid)))
    letters = [column_letters(j) for j in range(1, cols + 1)]
    places = _listed([c + n for n in map(str, range(1, rows + 1)) for c in letters])
    filled = np.concatenate([_filled(column) for column in block.places]).reshape(cols, rows).T
    keep = slice(None) if filled.all() else np.flatnonzero(filled)
    one = np.zeros(len(flat), dtype=np.int8)
    return pd.DataFrame(
        {
            "file": _coded(one[keep], [block.sheet.file]),
            "sheet": _coded(one[keep], [block.sheet.name]),
            "cell": pd.Series(places[keep], dtype="str"),
            "raw": pd.Series(flat[keep], dtype="object"),
            "outcome": _coded(outcomes.ravel()[keep], OUTCOMES),
            "column": _coded(columns.ravel()[keep], words),
            "value": pd.Series(block.values.ravel()[keep], dtype="object"),
            "unit": _coded(by_place.ravel()[keep], units),
            "note": _coded(notes.ravel()[keep], said),
        },
        copy=False,
    )


def _listed(values: list[Any]) -> Objects:
    found = np.empty(len(values), dtype=object)
    found[:] = values
    return found


def _code(words: list[str], word: str) -> int:
    if word not in words:
        words.append(word)
    return words.index(word)


def _coded(codes: NDArray[Any], words: Sequence[str]) -> pd.Categorical:
    """Return categories from codes into a list of words that may repeat."""
    distinct = list(dict.fromkeys(words))
    at = {word: k for k, word in enumerate(distinct)}
    kind = np.int8 if len(distinct) < 100 else np.int32
    into = np.array([at[w] for w in words], dtype=kind)
    return pd.Categorical.from_codes(into[codes], categories=pd.Index(distinct, dtype="str"))
