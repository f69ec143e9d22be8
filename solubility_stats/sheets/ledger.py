"""The ledger: one row for every non-empty cell of every file, kept complete by construction."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

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

    The first entry of a cell stands: a merged cell serves several runs but is one cell.
    """

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self.entries: dict[Place, Entry] = {}

    def enter(self, cell: RawCell, entry: Entry, *, again: bool = False) -> None:
        """Enter what became of a cell; ``again`` replaces an earlier entry."""
        place = cell.merged_from or (cell.row, cell.col)
        known = self.entries.get(place)
        # A cell that holds a label and its value is first met as the label.
        labelled = known is not None and known.outcome == "context" != entry.outcome
        if again or known is None or labelled:
            self.entries[place] = entry

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
    columns: dict[str, list[object]] = {name: [] for name in LEDGER_COLUMNS}
    file, sheet, place, raw = (columns[c] for c in ("file", "sheet", "cell", "raw"))
    outcome, column, value, unit, note = (
        columns[c] for c in ("outcome", "column", "value", "unit", "note")
    )
    letters: dict[int, str] = {}
    for book in books:
        cells = book.sheet.cells
        entries = book.entries
        file += [book.sheet.file] * len(cells)
        sheet += [book.sheet.name] * len(cells)
        for where in sorted(cells):
            cell = cells[where]
            entry = entries.get(where, UNREACHED)
            if cell.col not in letters:
                letters[cell.col] = column_letters(cell.col)
            place.append(f"{letters[cell.col]}{cell.row}")
            raw.append(shown(book, cell, entry))
            outcome.append(entry.outcome)
            column.append(entry.column)
            value.append(entry.value)
            unit.append(entry.unit)
            note.append(entry.note)
    frame = pd.DataFrame(
        {
            name: pd.Series(items, dtype="object" if name == "value" else "str")
            for name, items in columns.items()
        }
    )
    return frame[list(LEDGER_COLUMNS)]
