"""The ledger: one row for every non-empty cell of every file, kept complete by construction."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

import pandas as pd

from solubility_stats.records import LEDGER_COLUMNS
from solubility_stats.sheets.model import Outcome, RawCell, Sheet, column_letters

Place = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Entry:
    """What became of one cell."""

    outcome: Outcome
    column: str = ""
    value: object = None
    unit: str = ""
    note: str = ""


UNREACHED = Entry("ignored", note="not part of a table with headings that were understood")


class Book:
    """What became of the cells of one sheet.

    The first entry of a cell stands: a merged cell serves several runs but is one cell. What else a
    sentence in a cell says is told in its note.
    """

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.entries: dict[Place, Entry] = {}

    def enter(self, cell: RawCell, entry: Entry, *, again: bool = False) -> None:
        """Enter what became of a cell; ``again`` replaces an earlier entry."""
        place = cell.merged_from or (cell.row, cell.col)
        known = self.entries.get(place)
        # A cell that holds a label and its value is first met as the label.
        if known is None or again or known.outcome == "context" != entry.outcome:
            self.entries[place] = entry
        elif entry.column not in ("", known.column) and known.column:
            read = f"{entry.value} {entry.unit}".strip() if entry.value is not None else entry.note
            note = "; ".join(filter(None, [known.note, f"also {entry.column}: {read}"]))
            if entry.column not in known.note:
                self.entries[place] = replace(known, note=note)

    def cells_of(self, places: Iterable[Place], column: str) -> Iterator[RawCell]:
        """Yield the cells among some places that were entered for a column."""
        for place in places:
            entry, cell = self.entries.get(place), self.sheet.cells.get(place)
            if entry is not None and cell is not None and entry.column == column:
                yield cell

    def reached(self, cell: RawCell) -> bool:
        """Tell whether a cell has an entry."""
        return (cell.merged_from or (cell.row, cell.col)) in self.entries


def to_frame(books: Iterable[Book], shown: Callable[[Book, RawCell, Entry], str]) -> pd.DataFrame:
    """Return the ledger of all sheets, in reading order.

    Parameters
    ----------
    books : iterable of Book
        One per sheet.
    shown : callable
        Gives the raw text to show for a cell, personal data left out.
    """
    files: list[str] = []
    sheets: list[str] = []
    places: list[str] = []
    raw: list[str] = []
    entered: list[Entry] = []
    for book in books:
        cells, entries = book.sheet.cells, book.entries
        order = sorted(cells)
        letters = {col: column_letters(col) for col in {col for _, col in order}}
        own = [entries.get(where, UNREACHED) for where in order]
        files += [book.sheet.file] * len(order)
        sheets += [book.sheet.name] * len(order)
        places += [f"{letters[col]}{row}" for row, col in order]
        raw += [shown(book, cells[where], entry) for where, entry in zip(order, own, strict=True)]
        entered += own
    # Cells of a column with equal content share one entry, so there are few of them.
    distinct = {id(entry): entry for entry in entered}
    said = pd.DataFrame(
        [(e.outcome, e.column, e.value, e.unit, e.note) for e in distinct.values()],
        columns=["outcome", "column", "value", "unit", "note"],
        dtype="object",
    ).astype(dict.fromkeys(("outcome", "column", "unit", "note"), "str"))
    number = {which: k for k, which in enumerate(distinct)}
    frame = said.take([number[id(entry)] for entry in entered]).reset_index(drop=True)
    for name, items in (("file", files), ("sheet", sheets), ("cell", places), ("raw", raw)):
        frame[name] = pd.Series(items, dtype="str")
    return frame[list(LEDGER_COLUMNS)]
