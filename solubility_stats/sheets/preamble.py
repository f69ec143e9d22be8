"""What stands above a table and holds for all its runs: section, semester, temperature."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from solubility_stats.quantities import quantity
from solubility_stats.sheets.cells import parse_cell
from solubility_stats.sheets.header import ONCE_PER_TABLE, Know
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import CellContext, ParsedCell, RawCell
from solubility_stats.sheets.places import section_in, semester_in
from solubility_stats.sheets.tables import Table
from solubility_stats.sheets.view import looks_like_number

_LABELLED = re.compile(r"\s*([^:=]{1,40}?)\s*[:=]\s*(\S.*)\Z", re.DOTALL)

_SECTION_WORD = re.compile(r"(?:lab\s+)?sec(?:tion|t\.?|\.)?\s+", re.IGNORECASE)


@dataclass
class Preamble:
    """Values that hold for a whole table, and what named the section."""

    values: dict[str, object] = field(default_factory=dict)
    decimals: dict[str, int] = field(default_factory=dict)
    flags: list[tuple[str, str, str]] = field(default_factory=list)
    section: str = ""
    title: str = ""


def read_preamble(table: Table, taken: set[str], book: Book, know: Know) -> Preamble:
    """Return what the cells above a table say; enter them in the ledger.

    Parameters
    ----------
    table : Table
        The table with its caption cells.
    taken : set of str
        Columns the table has itself; these are not overridden.
    book : Book
        Ledger of the sheet.
    know : callable
        Reads a stack of heading texts.
    """
    found = Preamble()
    cells = list(table.caption)
    used: set[int] = set()
    for at, cell in enumerate(cells):
        if at in used or not isinstance(cell.value, str):
            continue
        label, value = _pair(cells, at)
        if value is None or (value.col != cell.col and _LABELLED.match(value.text)):
            continue  # nothing beside it, or a label with its own value
        reading = know((label,))
        column = reading.column
        if column not in ONCE_PER_TABLE or column in taken or column in found.values:
            continue
        if value.col != cell.col:
            used.add(at + 1)
            book.enter(cell, Entry("context", note=f"label of {column}"))
        _take(found, column, value, reading.unit, book)
    _name_section(found, cells, used)
    for cell in cells:
        note = "above the table" if isinstance(cell.value, str) else "above the table, not used"
        book.enter(cell, Entry("context" if isinstance(cell.value, str) else "ignored", note=note))
    return found


def _pair(cells: Sequence[RawCell], at: int) -> tuple[str, RawCell | None]:
    """Return a label and its value: "Section: Mon" in one cell, or in two neighbours."""
    cell = cells[at]
    inside = _LABELLED.match(str(cell.value))
    if inside and inside[2].strip():
        text = inside[2].strip()
        return inside[1], RawCell(cell.row, cell.col, text, text, hidden=cell.hidden)
    nxt = cells[at + 1] if at + 1 < len(cells) else None
    label = str(cell.value).strip().rstrip(":=").strip()
    if nxt is not None and nxt.row == cell.row and nxt.col - cell.col in (1, 2) and len(label) < 40:
        return label, nxt
    return label, None


def _take(found: Preamble, column: str, value: RawCell, unit: str | None, book: Book) -> None:
    parsed: ParsedCell = parse_cell(value, quantity(column), CellContext(column, unit))
    note = "; ".join(n for n in ("stated once for the table", parsed.note) if n)
    book.enter(value, Entry(parsed.outcome, column, parsed.value, parsed.unit, note))
    if parsed.value is None:
        return
    if column == "section":
        found.section = _SECTION_WORD.sub("", str(parsed.value)) or str(parsed.value)
        return
    found.values[column] = parsed.value
    if parsed.decimals is not None:
        found.decimals[column] = parsed.decimals
    found.flags += [(column, flag, parsed.note) for flag in parsed.flags if flag != "hidden"]


def _name_section(found: Preamble, cells: Sequence[RawCell], used: set[int]) -> None:
    texts = [
        str(c.value)
        for at, c in enumerate(cells)
        if at not in used and isinstance(c.value, str) and not looks_like_number(c)
    ]
    for text in reversed(texts):  # the line nearest to the table counts first
        if found.section:
            break
        found.title = found.title or " ".join(text.split())[:60]
        if len(text) <= 80:
            found.section = section_in(text)
    if "semester" not in found.values and (semester := semester_in(texts)):
        found.values["semester"] = semester
