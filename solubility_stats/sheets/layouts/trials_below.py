"""Trials of one group below one another, each a form under its number: "Trial 1", "Trial 2".

What stands above the first ("Section | 7", "Water temp | 22 °C") is of the group and not of its
first trial. Each trial is read as a sheet of its own with those lines above it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from solubility_stats.sheets.head import ONCE_PER_TABLE, Know
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import RUN_WORDS, groups_in
from solubility_stats.sheets.view import looks_like_number

_FEWEST = 2
_FEWEST_LINES = 3
_TRIAL = re.compile(
    rf"\s*(?:{RUN_WORDS})\s*(?:no\.?|n[°º]|nr\.?|#)?\s*(\d{{1,2}})\b.{{0,30}}", re.I
)
_SAME = re.compile(
    r"\s*\((?:\D*\b)?(?:all|both|each|every|alle[ns]?|jede[ns]?|tou[st]|todos)\b\D*\)\s*\Z",
    re.IGNORECASE,
)
_NOT = re.compile(r"\b(?:not|except|but|nicht|außer|sauf|pas|no|salvo)\b", re.IGNORECASE)
_Rows = dict[int, list[RawCell]]


def trials_below(sheet: Sheet, know: Know) -> list[Sheet]:
    """Return the trials of a group as sheets of their own, nothing for any other sheet.

    The cells keep their addresses.

    Parameters
    ----------
    sheet : Sheet
        A sheet as read from the file.
    know : callable
        Reads a stack of heading texts.
    """
    rows = sheet.lines()
    titles = [c for cells in rows.values() for c in cells[:1] if len(cells) == 1 and _number(c)]
    numbers = [_number(c) for c in titles]
    if len(titles) < _FEWEST or len(set(numbers)) < len(numbers):
        return []
    if len({c.col for c in titles}) > 1:
        return []
    above = [cells for row, cells in rows.items() if row < titles[0].row]
    if not _is_of_the_group(above, know):
        return []
    ends = [c.row for c in titles[1:]] + [max(rows) + 1]
    blocks = [
        [cells for row, cells in rows.items() if title.row <= row < end]
        for title, end in zip(titles, ends, strict=True)
    ]
    if not all(_is_form(block[1:], know) for block in blocks):
        return []
    shared = [cell for cells in above for cell in _without_for_all(cells)]
    return [
        replace(
            sheet,
            cells={(c.row, c.col): c for c in [*shared, *(c for line in block for c in line)]},
            merged=(),
        )
        for block in blocks
    ]


def _number(cell: RawCell) -> str:
    """Return the number of the trial a title names, empty for any other cell."""
    found = _TRIAL.fullmatch(cell.text) if isinstance(cell.value, str) else None
    return found[1] if found else ""


def _is_of_the_group(above: Sequence[Sequence[RawCell]], know: Know) -> bool:
    """Tell whether the lines above say whose the trials are, and hold no reading of one of them."""
    said = [know((a.text,)) for cells in above for a, _ in pairwise(cells) if not _is_number(a)]
    named = any(r.column == "group" for r in said) or any(
        groups_in(c.text) for cells in above for c in cells if isinstance(c.value, str)
    )
    numbers = [c for cells in above for c in cells[1:] if looks_like_number(c)]
    asked = [r.column for r in said if r.candidates]
    return named and len(numbers) <= len(asked) and all(c in _OF_THE_GROUP for c in asked)


_OF_THE_GROUP = {*ONCE_PER_TABLE, "group", None} - {"initial_mass_g", "water_volume_ml"}


def _is_number(cell: RawCell) -> bool:
    return not isinstance(cell.value, str) or looks_like_number(cell)


def _is_form(lines: Sequence[Sequence[RawCell]], know: Know) -> bool:
    """Tell whether lines are labels with one value each, none of them a group."""
    columns = [
        know((cells[0].text,)).column
        for cells in lines
        if len(cells) > 1 and not _is_number(cells[0])
    ]
    return (
        all(sum(map(looks_like_number, cells)) <= 1 for cells in lines)
        and sum(c is not None for c in columns) >= _FEWEST_LINES
        and not {"group", "section"} & {*columns}
    )


def _without_for_all(cells: Sequence[RawCell]) -> list[RawCell]:
    """Return a line without "(same bottle for all trials)" behind its value."""
    first, *others = cells
    return [first] + [
        c.saying(c.text[: m.start()])
        if isinstance(c.value, str) and (m := _SAME.search(c.text)) and not _NOT.search(m[0])
        else c
        for c in others
    ]
