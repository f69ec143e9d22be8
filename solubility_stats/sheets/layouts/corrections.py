"""A column of corrected readings beside the one it corrects: where it is filled, it counts.

"Paper + residue (g) | Paper + residue, corrected (g)" holds one reading of each run, not two.
"""

from __future__ import annotations

import re
from dataclasses import replace

from solubility_stats.sheets.head import Know
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
        plain = _without_handed_in(original, know)
        columns = (plain if c is original else c for c in table.columns if c is not column)
        table = replace(table, columns=tuple(columns))
    return table


def _without_handed_in(column: Column, know: Know) -> Column:
    """Return a column headed "handed in" below its name as what that name means."""
    if len(column.cells) < 2 or not _HANDED_IN.fullmatch(column.cells[-1].text):
        return column
    return replace(column, reading=know(tuple(c.text for c in column.cells[:-1])))


def _corrected_by(column: Column, table: Table, know: Know) -> Column | None:
    """Return the column whose readings another corrects, by its heading without that word.

    "Corrected" alone below "Initial solid (g)" corrects what was "handed in" below it.
    """
    if not column.cells or not _CORRECTED.search(column.cells[-1].text):
        return None
    *over, lowest = (c.text for c in column.cells)
    plain = " ".join(_CORRECTED.sub(" ", lowest).split())
    others = [c for c in table.columns if c is not column and c.cells]
    if plain or not over:
        meant = know((*over, plain)).column
        found = [c for c in others if c.reading.column == meant]
    else:
        meant = know(tuple(over)).column
        beside = [c for c in others if [x.text for x in c.cells[:-1]] == over]
        found = [c for c in beside if _HANDED_IN.fullmatch(c.cells[-1].text)]
    return found[0] if meant and len(found) == 1 else None


_HANDED_IN = re.compile(
    r"\W*(?:as )?(?:handed in|submitted|recorded|written|reported|original(?:ly)?|first|raw|"
    r"uncorrected|given)\W*",
    re.IGNORECASE,
)
