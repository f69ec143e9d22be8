"""Cards of one form pasted below one another, some of them a column further right."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from solubility_stats.sheets.model import RawCell, Sheet

# So many lines in a row with labels of the other cards are a card (judgement).
_FEWEST_LINES = 5


def below_one_another(sheet: Sheet) -> Sheet:
    """Return a sheet with its cards in one column; the cells keep their addresses.

    A card is moved only if its labels stand in the column of the other cards too.
    """
    if sheet.merged:
        return sheet
    rows = sheet.by_row()
    first = min((col for _, col in sheet.cells), default=0)
    labels = Counter(_said(c) for cells in rows.values() if (c := cells.get(first)) is not None)
    aside = {
        row: min(cells) - first
        for row, cells in rows.items()
        if min(cells) > first and (said := _said(cells[min(cells)])) and labels[said] > 1
    }
    moved: dict[int, int] = {}
    block: list[int] = []
    for row in sorted(aside):
        if block and (row != block[-1] + 1 or aside[row] != aside[block[-1]]):
            block = []
        block.append(row)
        if len(block) >= _FEWEST_LINES:
            moved |= dict.fromkeys(block, aside[row])
    if not moved:
        return sheet
    cells = {(row, col - moved.get(row, 0)): c for (row, col), c in sheet.cells.items()}
    return replace(sheet, cells=cells)


def _said(cell: RawCell) -> str:
    """Return the words of a label, nothing for a number."""
    return " ".join(cell.text.casefold().split()) if isinstance(cell.value, str) else ""
