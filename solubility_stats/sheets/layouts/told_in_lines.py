"""Results told in lines of words: "Team 1: started with 2.46 g, water 4 x 50 mL, …".

So they stand in lists pasted out of letters, and in notes with the group over its lines ("grp 1"
over "start 2.41g"). The lines of a group are laid out as the labels and values of a sheet of their
own, below the section named last; cells keep their addresses.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.beam import beam_said
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import GROUP_WORDS, section_named
from solubility_stats.sheets.units import dimension_of, known_unit

_LINE = re.compile(
    rf"\W*(?P<who>(?:{GROUP_WORDS}|table)\.?\s*#?\s*\w{{1,4}})\s*(?:[:–—]|\s-)\s*(?P<said>\S.{{10,}})",
    re.IGNORECASE | re.DOTALL,
)
_TITLE = re.compile(
    rf"\W*(?P<who>(?:{GROUP_WORDS}|table)\.?\s*#?\s*\w{{1,4}})\s*:?\s*(?:\([^()]*\))?\s*",
    re.IGNORECASE,
)
_BETWEEN = re.compile(r"[;,.]\s+|\s+(?:and|und|et|y|en|och|og)\s+(?=\D{0,25}\d)")
_ASIDE = re.compile(r"\([^()\d]*\)")
_NUMBER = (
    r"(?:[~≈]|(?:about|abt|approx|ca)\.?\s)?(?<![\d.,])(?:\d+(?:[.,]\d+)?|\.\d+)(?![.,]?\d|\.\.)"
)
_APPROXIMATE = re.compile(r"(?:[~≈]|(?:about|abt|approx|ca)\.?\s)\s*", re.IGNORECASE)
_VALUE = re.compile(
    rf"(?P<number>{_NUMBER}(?:\s*[x×+]\s*{_NUMBER})*)\s*(?P<unit>°\s?[CF]|[^\W\d_]+[²³]?)?\.?"
)
_LONGEST_SECTION = 30
_FEWEST_LINES = 2
_FEWEST_READINGS = 2
_TIED = re.compile(
    r"\A(?:of|with|von|mit|de|d'|di|da|van|av|af|z)\b\s*|\s*\b(?:of|with|was|is)\Z", re.I
)

_FIGURE = re.compile(r"\d[\d.,]*")
_UNEXPLAINED = "a figure that the line does not explain"

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
    found: list[tuple[tuple[RawCell, ...], list[tuple[RawCell, _Pair]]]] = []
    section: tuple[RawCell, ...] = ()
    for row in sorted(rows):
        cell = next(iter(rows[row].values()))
        text = cell.text if isinstance(cell.value, str) else ""
        if line := _LINE.fullmatch(text):
            found.append(((*section, cell.saying(line["who"])), _said(cell, line["said"])))
        elif title := _TITLE.fullmatch(text):
            found.append(((*section, cell.saying(title["who"])), []))
        elif len(text) <= _LONGEST_SECTION and section_named(text) and not _has_unit(text):
            section = (cell,)
        elif found and not _LINE.fullmatch(found[-1][0][-1].text):
            found[-1][1].extend(_said(cell, text))
    told = [(title, said) for title, said in found if said]
    if len(told) < _FEWEST_LINES or any(len(said) < _FEWEST_READINGS for _, said in told):
        return []
    return [(title, _laid_out(sheet, said, know)) for title, said in told]


def _has_unit(text: str) -> bool:
    return any(known_unit(v["unit"] or "") for v in _VALUE.finditer(text))


def _said(cell: RawCell, text: str) -> list[tuple[RawCell, _Pair]]:
    return [(cell, pair) for pair in _pairs(text)]


def _laid_out(sheet: Sheet, said: list[tuple[RawCell, _Pair]], know: Know) -> Sheet:
    """Return a sheet with the labels and values of one group below one another."""
    cells: dict[tuple[int, int], RawCell] = {}
    pairs = _settled([pair for _, pair in said], know)
    for at, ((cell, _), (label, value)) in enumerate(zip(said, pairs, strict=True), start=1):
        cells[at, 1], cells[at, 2] = cell.saying(label), cell.saying(value)
    return replace(sheet, cells=cells)


def _pairs(said: str) -> Iterator[_Pair]:
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
        elif any(map(str.isdigit, clause)):
            yield _UNEXPLAINED, _FIGURE.findall(clause)[0]


def _stated(clause: str, values: list[re.Match[str]]) -> Iterator[_Pair]:
    """Yield each value of a clause with the words before it, or else behind it."""
    ends = [0, *(v.end() for v in values)]
    for at, value in enumerate(values):
        words = _TIED.sub("", clause[ends[at] : value.start()].strip(" :="))
        if at == len(values) - 1:
            words = f"{words} {_TIED.sub('', clause[value.end() :].strip())}".strip(" :=")
        number = _APPROXIMATE.sub("~", value["number"])
        unit = known_unit(value["unit"] or "")
        if not words and unit and dimension_of(unit) == "temperature":
            words = "temperature"
        if words and not value["unit"]:
            yield words, number
        elif unit is None or not words:
            yield _UNEXPLAINED, _FIGURE.findall(clause)[0]
        else:
            yield f"{words} ({value['unit']})", f"{number} {value['unit']}"


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
