"""What stands beside the title of a card: "Team 1 | | Names: | Ana / Bo", "Group 7 | Nov 12".

It is neither label nor reading, and no code of another group.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from solubility_stats.sheets.layouts.side_by_side import group_in
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import RUN_NAMED
from solubility_stats.sheets.privacy import personal_kind
from solubility_stats.sheets.view import looks_like_number

_FEWEST = 2
# A sheet with more cells is a list of runs or a log, and no card (judgement).
_MOST_BY_HAND = 3000


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
    if len(sheet.cells) > _MOST_BY_HAND:
        return sheet, []
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


def without_asides(sheet: Sheet) -> tuple[Sheet, list[RawCell]]:
    """Part a sheet of one group's trials from the day beside the group, and names told again.

    Parameters
    ----------
    sheet : Sheet
        Any sheet.

    Returns
    -------
    sheet : Sheet
        Without those cells; the same if there are none.
    asides : list of RawCell
        What was taken out.
    """
    if len(sheet.cells) > _MOST_BY_HAND:
        return sheet, []
    lines = sheet.lines()
    trials = [row for row, cells in lines.items() if _names_trials(cells)]
    titles = [
        cells
        for row, cells in lines.items()
        if trials and row < trials[0] and len(cells) > 1 and group_in(cells[0])
    ]
    asides = _named_again([lines[row] for row in trials], lines)
    if len(titles) == 1 and all(_WHEN_OR_WITH_WHAT.match(c.text) for c in titles[0][1:]):
        asides += [c for c in titles[0][1:] if not looks_like_number(c)]
    out = {(cell.row, cell.col) for cell in asides}
    return replace(sheet, cells={at: c for at, c in sheet.cells.items() if at not in out}), asides


def _named_again(
    named: Sequence[Sequence[RawCell]], lines: Mapping[int, Sequence[RawCell]]
) -> list[RawCell]:
    """Return the names of trials that stand again over each step: "WATER | Trial 1 | Trial 2".

    A label that stands twice begins another table, and so does a blank line.
    """
    labels = [cells[0].text for row, cells in lines.items() if named and row >= named[0][0].row]
    if len(named) < _FEWEST or len({*labels}) < len(labels):
        return []
    first = [(c.col, c.text) for c in named[0][1:]]
    again = [
        cells[1:]
        for cells in named[1:]
        if cells[0].row - 1 in lines and [(c.col, c.text) for c in cells[1:]] == first
    ]
    return [c for cells in again for c in cells]


_WHEN_OR_WITH_WHAT = re.compile(
    r"\s*(?:(?:mon|tue|wed|thu|fri|sat|sun)\w*\b|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)"
    r"\w*\.?\s+\d|\d{1,2}[./\s-]|\d{4}-\d\d-\d\d|balance\b|scale\b|hood\b|locker\b)",
    re.IGNORECASE,
)


def _names_trials(cells: Sequence[RawCell]) -> bool:
    named = [c for c in cells[1:] if isinstance(c.value, str) and RUN_NAMED.match(c.text.strip())]
    return len(named) >= _FEWEST and len(named) == len(cells) - 1


def _asks_who(label: RawCell) -> bool:
    return isinstance(label.value, str) and personal_kind(label.text) == "name"
