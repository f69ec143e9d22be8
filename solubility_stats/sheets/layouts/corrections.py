"""A column of corrected readings beside the one it corrects: where it is filled, it counts.

"Paper + residue (g) | Paper + residue, corrected (g)" holds one reading of each run, not two.
"""

from __future__ import annotations

import re
from dataclasses import replace

from solubility_stats.sheets.header import Know
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.words import says_missing

_CORRECTED = re.compile(
    r"[,(\s–-]*\b(?:corrected|corr\.|amended|revised|korrigiert|berichtigt|corrigée?|corregid[oa]|"
    r"corrigid[oa]|corretto|corretta|gecorrigeerd|rättad|korrigerad)\b\W*(?=[(\[]|\Z)",
    re.IGNORECASE,
)


def with_corrections(table: Table, know: Know, book: Book) -> Table:
    """Return a table with each corrected reading in the place of the one it replaces.

    Parameters
    ----------
    table : Table
        The table; its view is changed.
    know : callable
        Reads a stack of heading texts.
    book : Book
        The ledger of the sheet: what is replaced says where the correction stands.
    """
    for column in table.columns:
        original = _corrected_by(column, table, know)
        if original is None:
            continue
        for line in table.lines:
            new = table.view.cells.get((line, column.place))
            old = table.view.cells.get((line, original.place))
            if new is None or says_missing(new.text):
                continue
            if old is not None:
                book.enter(old, Entry("ignored", note=f"corrected in {new.address}"))
            table.view.cells[line, original.place] = new
        for cell in column.cells:
            book.enter(cell, Entry("context", note=f"corrections of '{original.heading}'"))
        table = replace(table, columns=tuple(c for c in table.columns if c is not column))
    return table


def _corrected_by(column: Column, table: Table, know: Know) -> Column | None:
    """Return the column whose readings another corrects, by its heading without that word."""
    if not column.cells or not _CORRECTED.search(column.cells[-1].text):
        return None
    *over, lowest = (c.text for c in column.cells)
    plain = " ".join(_CORRECTED.sub(" ", lowest).split())
    meant = know((*over, plain)).column
    others = [c for c in table.columns if c is not column and c.reading.column == meant]
    return others[0] if meant and len(others) == 1 else None
