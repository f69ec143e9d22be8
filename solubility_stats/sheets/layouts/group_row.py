"""Names of groups in one row over their trials, steps down the side.

"Group 11 |  | Group 12 |" above "1st go | 2nd go | 1st go | 2nd go": each name is written once and
the two rows have no label of their own. The names are spread over their trials like merged cells
and the rows get the labels they lack, so that groups and trials are read like any other row. Trials
over groups, and sections over groups, are treated alike.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from solubility_stats.sheets import concepts
from solubility_stats.sheets.heading_text import ORDINALS, normal
from solubility_stats.sheets.lines import is_telling
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import (
    GROUP_WORDS,
    READING_WORDS,
    RUN_WORDS,
    TIME_WORDS,
    group_of_sheet,
    groups_in,
    section_in,
)
from solubility_stats.sheets.units import unit_in_heading

_FEWEST = 2
_LONGEST = 24
# So large a share of a group's first readings shows a trial of its own (judgement).
_ALIKE = 0.75
# What may head the labels of the steps.
_STEPS = concepts.listed("steps")

_Row = Mapping[int, RawCell]
_Range = tuple[int, int, int, int]


def with_group_rows(sheet: Sheet) -> Sheet:
    """Return a sheet with the names above trials spread over them; the sheet itself if none are."""
    rows = sheet.by_row()
    bands = [band for i in rows if i + 1 in rows for band in _bands(rows, i)]
    if not bands:
        return sheet
    cells = dict(sheet.cells)
    known = {m[:2] for m in sheet.merged}
    merged = list(sheet.merged)
    for band in bands:
        merged += [m for m in band.spread if m[:2] not in known]
        cells |= _labels(band, cells)
        titled = _sections_over(band, rows)
        merged += [m for m in titled if m[:2] not in known and m[1] < m[3]]
        if titled:
            own = cells.get((band.row - 1, band.lead)) or cells[titled[0][:2]]
            cells[band.row - 1, band.lead] = own.saying(_LABEL["section"])
    return replace(sheet, cells=dict(sorted(cells.items())), merged=tuple(merged))


@dataclass(frozen=True)
class _Band:
    """Two rows of names: what each holds, where the steps stand, and what a name reaches over."""

    row: int
    lead: int
    first: int
    kinds: tuple[str, str]
    spread: tuple[_Range, ...]
    names: tuple[int, ...]

    @property
    def last(self) -> int:
        """The last place with a name."""
        return self.names[-1]


def _sections_over(band: _Band, rows: Mapping[int, _Row]) -> list[_Range]:
    """Return what sections named above a row of groups reach over ("Section A | … | Section B")."""
    over = {j: c for j, c in rows.get(band.row - 1, {}).items() if band.first <= j <= band.last}
    starts = sorted(over)
    texts = [_plain(over[j]) for j in starts]
    if band.kinds[0] != "group" or len(starts) < _FEWEST or starts[0] != band.first:
        return []
    if len(set(texts)) < len(texts) or not all(section_in(t) for t in texts):
        return []
    if any(j not in rows[band.row] for j in starts):
        return []  # a section begins with a group
    ends = [*(j - 1 for j in starts[1:]), band.last]
    row = band.row - 1
    return [(row, j, row, end) for j, end in zip(starts, ends, strict=True)]


def _bands(rows: Mapping[int, _Row], i: int) -> list[_Band]:
    """Return the bands that begin in a row: one per stretch of names below without a gap."""
    over, names = rows[i], rows[i + 1]
    found: list[_Band] = []
    if sum(map(_is_name, over.values())) < _FEWEST or len(names) <= _FEWEST:
        return []
    end = 0
    for stretch in _stretches(names, rows.get(i + 2, {})):
        band = _band(rows, i, stretch, end)
        end = stretch[-1]
        if band is not None:
            found.append(band)
    return found


def _stretches(names: _Row, below: _Row) -> list[list[int]]:
    """Return the places of names without anything, say labels of another table, between them."""
    found: list[list[int]] = []
    for j in names:
        if found and not any(k in below for k in range(found[-1][-1] + 1, j)):
            found[-1].append(j)
        else:
            found.append([j])
    return found


def _band(rows: Mapping[int, _Row], i: int, stretch: Sequence[int], end: int) -> _Band | None:
    """Return the band over a stretch of names, ``None`` if these are no trials of groups."""
    over, names = rows[i], rows[i + 1]
    lead = min((j for j in rows.get(i + 2, {}) if end < j < stretch[-1]), default=0)
    step = rows.get(i + 2, {}).get(lead)
    if step is None or not isinstance(step.value, str) or _plain(step).isdigit():
        return None
    starts = [j for j in stretch if j > lead and j in over]
    label = over.get(lead)
    titles = [over[j] for j in starts]
    kind = _kind_over(titles, label if lead not in starts else None)
    if not starts or not kind:
        return None
    named = [j for j in stretch if j >= starts[0]]
    parts = _parts(over, starts, named)
    below = names[lead] if lead in names and lead < starts[0] else None
    own = _kind_below([[_plain(names[j]) for j in part] for part in parts], kind, below)
    if not own or own == kind:
        return None
    if own == "run" and _is_bare(names[named[0]], below) and not _filled_alike(rows, i + 2, parts):
        return None  # "1" and "2" may count fills or weighings of one run
    spread = tuple((i, part[0], i, part[-1]) for part in parts if len(part) > 1 and part[0] in over)
    spread = tuple(m for m in spread if not any(j in over for j in range(m[1] + 1, m[3] + 1)))
    return _Band(i, lead, starts[0], (kind, own), spread, tuple(named))


def _parts(over: _Row, starts: Sequence[int], named: Sequence[int]) -> list[list[int]]:
    """Return the places below each name, a name that is repeated counted once."""
    parts: list[list[int]] = []
    last = ""
    for j in named:
        if j in starts and _plain(over[j]) != last:
            parts.append([])
            last = _plain(over[j])
        parts[-1].append(j)
    return parts


def _kind_over(titles: Sequence[RawCell], label: RawCell | None) -> str:
    """Return what the names above are: groups, sections or trials, empty for neither."""
    texts = list(dict.fromkeys(map(_plain, titles)))
    if len(texts) < _FEWEST or any(len(t) > _LONGEST for t in texts):
        return ""
    for kind, named in (("group", _names_group), ("section", section_in)):
        if all(map(named, texts)):
            return kind
    if _asks(_ASKS_GROUP, label):
        return "group" if _counts(texts) or len(texts) == len(titles) else ""
    return "run" if _counts(texts) and all(map(_RUN.fullmatch, texts)) else ""


def _kind_below(parts: Sequence[Sequence[str]], over: str, label: RawCell | None) -> str:
    """Return what the names below are if they begin anew under every name above."""
    longest = max(parts, key=len)
    anew = all(part[0] == longest[0] for part in parts)
    same = all(list(part) == list(longest[: len(part)]) for part in parts)
    told = [name for name in longest if not is_telling(name)]  # "mean" beside the trials
    if not (anew and same) or len(told) < _FEWEST or len(set(longest)) < len(longest):
        return ""
    if all(map(_names_group, told)):
        return "group"
    if _asks(_ASKS_GROUP, label):  # "Group | mass at start / g" is a line of headings
        return "" if any(unit_in_heading(name)[1] for name in told) else "group"
    if not _counts(told):
        return ""
    if all(map(_RUN.fullmatch, told)) or _asks(_ASKS_RUN, label):
        return "run"
    if label is not None and set(normal(label.text).split()) - _STEPS:
        return ""  # "Fill" or "Weighing" above 1 and 2
    return "run" if over == "group" else "group"


def _asks(what: re.Pattern[str], label: RawCell | None) -> bool:
    return label is not None and what.fullmatch(_plain(label)) is not None


def _is_bare(name: RawCell, label: RawCell | None) -> bool:
    """Tell whether nothing but a number or letter, and no label, says that these are trials."""
    return _RUN.fullmatch(_plain(name)) is None and not _asks(_ASKS_RUN, label)


def _filled_alike(rows: Mapping[int, _Row], top: int, parts: Sequence[Sequence[int]]) -> bool:
    """Tell whether some later place of a group holds nearly as many readings as its first."""
    filled: dict[int, int] = {}
    i = top
    while i in rows:
        for j in rows[i]:
            filled[j] = filled.get(j, 0) + 1
        i += 1
    return any(
        _ALIKE * filled.get(part[0], 0) <= filled.get(j, 0) for part in parts for j in part[1:]
    )


def _counts(names: Sequence[str]) -> bool:
    """Tell whether names count from the first: "1st go", "2nd go"; "A", "B"; "trial 1"."""
    numbers = [number_of_run(name) for name in names]
    return numbers == list(range(1, len(names) + 1))


_RUN = re.compile(
    rf"(?:(?P<nth>\d{{1,2}})\s?(?:st|nd|rd|th|e|er|re|ère|ème|º|ª|a|:a|\.)?\s+|(?P<said>{'|'.join(ORDINALS)})\s+)?"
    rf"(?:{RUN_WORDS}|{READING_WORDS}|exp"
    rf"|(?(nth)(?:{TIME_WORDS})|(?!))|(?(said)(?:{TIME_WORDS})|(?!)))s?"
    r"(?:\W*(?:n[or°º]?\.?\s*)?(?P<code>\d{1,2}|[a-h]|i{1,3}|iv))?",
    re.IGNORECASE,
)
_CODE = re.compile(
    r"(?:[tr#]\W?(?=\d))?(?P<code>\d{1,2}|[a-h]|i{1,3}|iv)(?:\.|(?<=\d)(?:st|nd|rd|th))?",
    re.IGNORECASE,
)
_ROMAN = {"i": 1, "ii": 2, "iii": 3, "iv": 4}
_ASKS_RUN = re.compile(rf"(?:{RUN_WORDS})s?(?:\W*(?:no|nr|n°|number)?\W*)", re.I)
_ASKS_GROUP = re.compile(rf"(?:lab )?(?:{GROUP_WORDS})(?:\W*(?:no|nr|n°|number|code)?\W*)", re.I)


@lru_cache(maxsize=512)
def number_of_run(name: str) -> int:
    """Return the number of a trial by its name, 0 for none."""
    found = _RUN.fullmatch(name)
    if found is None:
        found = _CODE.fullmatch(name)
        code = found["code"] if found else ""
    elif found["said"]:
        code = str(ORDINALS[found["said"].casefold()])
    else:
        code = found["nth"] or found["code"] or ""
    code = code.casefold()
    if code.isdigit():
        return int(code)
    return _ROMAN.get(code) or (ord(code) - 96 if len(code) == 1 else 0)


def _is_worded(text: str) -> bool:
    return _RUN.fullmatch(text) is not None or (text[:1].isdigit() and text[-1:].isalpha())


def run_named(text: str) -> str:
    """Return the number of a trial that is called one ("2nd go"), empty for any other text."""
    number = number_of_run(text) if _RUN.fullmatch(text) else 0
    return str(number) if number else ""


@lru_cache(maxsize=512)
def _names_group(text: str) -> bool:
    return bool(group_of_sheet(text)) or (len(text) < _LONGEST and len(groups_in(text)) == 1)


def _is_name(cell: RawCell) -> bool:
    """Tell whether a cell may name a group, section or trial: short words, or a code."""
    return len(cell.text) <= _LONGEST and (
        isinstance(cell.value, (str, int))
        or (isinstance(cell.value, float) and cell.value.is_integer())
    )


def _plain(cell: RawCell) -> str:
    return " ".join(cell.text.split()).removesuffix(".0")


_LABEL = {"group": "Group", "section": "Section", "run": "Trial"}


def _labels(
    band: _Band, cells: Mapping[tuple[int, int], RawCell]
) -> dict[tuple[int, int], RawCell]:
    """Return the labels of the two rows of names, in the column of the steps."""
    found = {}
    for row, kind in zip((band.row, band.row + 1), band.kinds, strict=True):
        own = cells.get((row, band.lead))
        named = cells[row, band.first]
        if own is not None and section_in(own.text):  # "Section B" in the corner stays a title
            if row == 1 or (row - 1, band.lead) in cells:
                continue
            found[row - 1, band.lead] = own
        found[row, band.lead] = (own or named).saying(_LABEL[kind])
        for j in band.names if kind == "run" else ():
            name = cells.get((row, j))  # "meting 2", "2nd go"
            text = _plain(name) if name is not None else ""
            if name is not None and _is_worded(text) and number_of_run(text):
                found[row, j] = name.saying(str(number_of_run(text)))
    return found
