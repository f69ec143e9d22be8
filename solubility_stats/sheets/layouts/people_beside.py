"""Members of a group beside the title of its card: "Team 1 | | Names: | Ana / Bo".

They are neither labels nor readings, and stand on the line that parts one card from the next.
"""

from __future__ import annotations

from dataclasses import replace

from solubility_stats.sheets.layouts.side_by_side import group_in
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.privacy import personal_kind
from solubility_stats.sheets.view import looks_like_number

_FEWEST = 2


def without_people_beside(sheet: Sheet) -> tuple[Sheet, list[RawCell]]:
    """Part a sheet from the members beside the titles of its cards.

    Parameters
    ----------
    sheet : Sheet
        Any sheet.

    Returns
    -------
    sheet : Sheet
        Without those cells; the same if there are none.
    people : list of RawCell
        Labels and names that were taken out.
    """
    found: list[list[RawCell]] = []
    for cells in sheet.lines().values():
        title, *others = cells
        if len(others) != 2 or not group_in(title) or looks_like_number(others[1]):
            continue
        if _asks_who(others[0]) and isinstance(others[1].value, str):
            found.append(others)
    if len(found) < _FEWEST:
        return sheet, []
    people = [cell for pair in found for cell in pair]
    out = {(cell.row, cell.col) for cell in people}
    return replace(sheet, cells={at: c for at, c in sheet.cells.items() if at not in out}), people


def _asks_who(label: RawCell) -> bool:
    return isinstance(label.value, str) and personal_kind(label.text) == "name"
