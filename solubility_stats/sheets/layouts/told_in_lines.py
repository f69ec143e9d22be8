"""Results told in a line of words per group: "Team 1: started with 2.46 g, water 4 x 50 mL, …".

So they stand in lists pasted out of letters. Each line is laid out as the labels and values of a
sheet of its own, below the section named last; cells keep their addresses.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.beam import beam_said
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.header import Know
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import GROUP_WORDS, section_named
from solubility_stats.sheets.units import dimension_of, known_unit

_LINE = re.compile(
    rf"\W*(?P<who>(?:{GROUP_WORDS}|table)\.?\s*#?\s*\w{{1,4}})\s*(?:[:–—]|\s-)\s*(?P<said>\S.{{10,}})",
    re.IGNORECASE | re.DOTALL,
)
_BETWEEN = re.compile(r"[;,.]\s+|\s+(?:and|und|et|y|en|och|og)\s+(?=\D{0,25}\d)")
_ASIDE = re.compile(r"\([^()\d]*\)")
_NUMBER = r"[~≈]?\d+(?:[.,]\d+)?"
_VALUE = re.compile(
    rf"(?P<number>{_NUMBER}(?:\s*[x×+]\s*{_NUMBER})*)\s*(?P<unit>°\s?[CF]|[^\W\d_]+[²³]?)?\.?"
)
_LONGEST_SECTION = 30
_FEWEST_LINES = 2
_FEWEST_READINGS = 2
_TIED = re.compile(
    r"\A(?:of|with|von|mit|de|d'|di|da|van|av|af|z)\b\s*|\s*\b(?:of|with|was|is)\Z", re.I
)

Told = tuple[tuple[RawCell, ...], Sheet]
_Pair = tuple[str, str]


def told_in_lines(sheet: Sheet, know: Know) -> list[Told]:
    """Return the lines of a sheet as titles over a sheet each, nothing for any other sheet.

    Parameters
    ----------
    sheet : Sheet
        Any sheet; only one of single texts is taken.
    know : callable
        Reads a stack of heading texts.
    """
    rows = sheet.by_row()
    if sheet.merged or any(len(cells) > 1 for cells in rows.values()):
        return []
    found: list[Told] = []
    section: tuple[RawCell, ...] = ()
    for row in sorted(rows):
        cell = next(iter(rows[row].values()))
        line = _LINE.fullmatch(cell.text) if isinstance(cell.value, str) else None
        if line is None:
            if len(cell.text) <= _LONGEST_SECTION and section_named(cell.text):
                section = (cell,)
            continue
        pairs = _settled(list(_pairs(line["said"], know)), know)
        if len(pairs) < _FEWEST_READINGS:
            return []
        cells: dict[tuple[int, int], RawCell] = {}
        for at, (label, value) in enumerate(pairs, start=1):
            cells[at, 1], cells[at, 2] = cell.saying(label), cell.saying(value)
        found.append(((*section, cell.saying(line["who"])), replace(sheet, cells=cells)))
    return found if len(found) >= _FEWEST_LINES else []


def _pairs(said: str, know: Know) -> Iterator[_Pair]:
    """Yield the labels and values of the clauses of a line."""
    for clause in _BETWEEN.split(_ASIDE.sub(" ", said)):
        clause = clause.strip(" .;,")
        values = list(_VALUE.finditer(clause))
        if values:
            yield from _stated(clause, values)
        elif choice(clause, quantity("filtration"))[0]:
            yield "Filtration", clause
        elif beam_said(clause):
            yield "Laser beam", clause


def _stated(clause: str, values: list[re.Match[str]]) -> Iterator[_Pair]:
    """Yield each value of a clause with the words before it, or else behind it."""
    ends = [0, *(v.end() for v in values)]
    for at, value in enumerate(values):
        words = _TIED.sub("", clause[ends[at] : value.start()].strip(" :="))
        if at == len(values) - 1:
            words = f"{words} {_TIED.sub('', clause[value.end() :].strip())}".strip(" :=")
        unit = known_unit(value["unit"] or "")
        if not words and unit and dimension_of(unit) == "temperature":
            words = "temperature"
        if unit is None or not words:
            yield "a figure that the line does not explain", clause
        else:
            yield f"{words} ({value['unit']})", f"{value['number']} {value['unit']}"


def _settled(pairs: list[_Pair], know: Know) -> list[_Pair]:
    """Return labels and values, "weighed" as what the other masses of the line leave open."""
    meant = [know((label,)) for label, _ in pairs]
    taken = {reading.column for reading in meant}
    settled = []
    for (label, value), reading in zip(pairs, meant, strict=True):
        left = [c for c in reading.candidates if is_canonical(c) and c not in taken]
        lone = reading.column is None and len(left) == 1 and len(reading.candidates) > 1
        settled.append((quantity(left[0]).headings[0] if lone else label, value))
    return settled
