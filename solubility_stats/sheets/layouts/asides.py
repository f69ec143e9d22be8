"""What stands beside the title of a card: "Team 1 | | Names: | Ana / Bo", "Group 7 | Nov 12".

It is neither label nor reading, and no code of another group.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from solubility_stats.sheets.layouts.side_by_side import group_in
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import RUN_NAMED, section_named
from solubility_stats.sheets.privacy import personal_kind
from solubility_stats.sheets.view import MOST_BY_HAND, looks_like_number

_FEWEST = 2


@dataclass(frozen=True)
class Parted:
    """A sheet without what stands beside its titles, and that: members, days, names told again."""

    sheet: Sheet
    people: tuple[RawCell, ...] = ()
    asides: tuple[RawCell, ...] = ()


def without_asides(sheet: Sheet) -> Parted:
    """Part a sheet from what stands beside the titles of its cards or trials.

    Parameters
    ----------
    sheet : Sheet
        Any sheet; one without asides comes back as it is.
    """
    if len(sheet.cells) > MOST_BY_HAND:
        return Parted(sheet)
    lines = sheet.lines()
    people = (*_people(lines), *_people_beside_trials(lines))
    asides = (*_of_trials(lines), *_of_sections(lines))
    out = {(cell.row, cell.col) for cell in (*people, *asides)}
    if not out:
        return Parted(sheet)
    cells = {at: cell for at, cell in sheet.cells.items() if at not in out}
    return Parted(replace(sheet, cells=cells), people, asides)


def _people(lines: Mapping[int, Sequence[RawCell]]) -> list[RawCell]:
    """Return the labels and names of members beside the titles of several cards."""
    found: list[list[RawCell]] = []
    for title, *others in lines.values():
        if len(others) != 2 or not group_in(title) or looks_like_number(others[1]):
            continue
        if _asks_who(others[0]) and isinstance(others[1].value, str):
            found.append(others)
    return [cell for pair in found for cell in pair] if len(found) >= _FEWEST else []


def _people_beside_trials(lines: Mapping[int, Sequence[RawCell]]) -> list[RawCell]:
    """Return the names behind the trials of several cards: "TEAM 1 | Trial 1 | Trial 2 | A / B"."""
    found = [
        cells[-1]
        for cells in lines.values()
        if len(cells) > _FEWEST + 1 and group_in(cells[0]) and _names_trials(cells[:-1])
        if isinstance(cells[-1].value, str) and not RUN_NAMED.match(cells[-1].text.strip())
    ]
    places = {cell.col for cell in found}
    others = sum(cell.col in places for cells in lines.values() for cell in cells)
    return found if len(found) >= _FEWEST and len(places) == 1 and others == len(found) else []


def _of_trials(lines: Mapping[int, Sequence[RawCell]]) -> list[RawCell]:
    """Return the day or balance beside the group of some trials, and their names told again."""
    trials = [row for row, cells in lines.items() if _names_trials(cells)]
    titles = [
        cells
        for row, cells in lines.items()
        if trials and row < trials[0] and len(cells) > 1 and group_in(cells[0])
    ]
    asides = _named_again([lines[row] for row in trials], lines)
    if len(titles) == 1 and all(_WHEN_OR_WITH_WHAT.match(c.text) for c in titles[0][1:]):
        asides += [c for c in titles[0][1:] if not looks_like_number(c)]
    return asides


def _of_sections(lines: Mapping[int, Sequence[RawCell]]) -> list[RawCell]:
    """Return the day beside the section over cards: "Section D | Friday 9-12" over "Group 1"."""
    over_cards = sum(len(cells) == 1 and bool(group_in(cells[0])) for cells in lines.values())
    return [
        cells[1]
        for cells in lines.values()
        if over_cards >= _FEWEST and len(cells) == _FEWEST
        if isinstance(cells[0].value, str) and section_named(cells[0].text)
        if isinstance(cells[1].value, str) and _WHEN_OR_WITH_WHAT.match(cells[1].text)
    ]


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
