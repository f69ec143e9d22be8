"""Cards of one form pasted below one another, some a column further right, some without a gap."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise

from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import groups_in

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


def with_gaps(sheet: Sheet) -> Sheet:
    """Return a sheet with a blank line above each line of titles of cards that touch those above.

    "GROUP 3 | GROUP 4" right below the last lines of groups 1 and 2; the cells keep their
    addresses.
    """
    rows = sheet.by_row()
    titles = [row for row, cells in rows.items() if _names_groups(list(cells.values()))]
    touching = [row for row in titles[1:] if row - 1 in rows]
    if sheet.merged or not touching or len(titles) < _FEWEST_TITLES:
        return sheet
    cells = {
        (row + sum(title <= row for title in touching), col): cell
        for (row, col), cell in sheet.cells.items()
    }
    return replace(sheet, cells=cells)


# So many lines of titles are cards (judgement).
_FEWEST_TITLES = 2


def _names_groups(cells: list[RawCell]) -> bool:
    """Tell whether a line holds nothing but the titles of cards side by side."""
    texts = [c.text for c in cells if isinstance(c.value, str)]
    apart = all(b.col - a.col > 1 for a, b in pairwise(cells))
    named = [groups_in(text) for text in texts]
    return len(cells) > 1 and len(texts) == len(cells) and apart and all(len(n) == 1 for n in named)


def _said(cell: RawCell) -> str:
    """Return the words of a label, nothing for a number."""
    return " ".join(cell.text.casefold().split()) if isinstance(cell.value, str) else ""
