"""What belongs to a table beside its lines: leads, units, labels, captions."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from solubility_stats.sheets import concepts
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.header_lines import is_unit_line
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.headings import UNIT_WORDS
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import groups_in, section_in, section_named
from solubility_stats.sheets.table import Column
from solubility_stats.sheets.view import View, looks_like_number

_REMARKS = concepts.listed("remarks")


# More cells than these are readings of a run (judgement).
_MOST_LABELS = 3


def labels_beside(
    view: View, lines: tuple[int, ...], span: tuple[int, int], know: Know
) -> tuple[int, ...]:
    """Return the lines right of a card's values that hold labels and their values ("Bench | 5")."""
    found: list[int] = []
    for line, values in pairwise(lines[1:]):
        places = view.within(line, *span)
        texts = [view.cells[line, p] for p in places]
        short = 0 < len(places) <= _MOST_LABELS and places == view.within(values, *span)
        if not short or any(map(looks_like_number, texts)) or line in found:
            continue
        if any(know((c.text,)).column in ("group", "section") for c in texts):
            found += [line, values]
    return tuple(found)


_TICKS = "✓✔√☑☒✅"


_FEWEST_TICKS = 3


def is_ticked_off(view: View, line: int, first: int, last: int) -> bool:
    """Tell whether a line of a turned table only ticks the steps that were done."""
    texts = [view.cells[line, p].text.strip() for p in view.within(line, first, last)]
    ticks = [t for t in texts if t and t in _TICKS]
    return len(ticks) >= _FEWEST_TICKS and len(texts) - len(ticks) <= 2


def holds_signs(view: View, line: int, first: int, last: int) -> bool:
    """Tell whether a line of a turned table holds only "=" before the values or "±" behind."""
    texts = [view.cells[line, p].text.strip() for p in view.within(line, first, last)]
    signs = sum(_SIGN.fullmatch(t) is not None for t in texts)
    return signs > 0 and len(texts) - signs <= (1 if signs > 1 else 0)


# "=", a working that stands in its place ("= 2.517 - 2.176 ="), and "± 0.001".
_SIGN = re.compile(r"[=:]|=[^=]*=|(?:±|\+/-).*")


def heads_remarks(view: View, line: int, first: Column) -> bool:
    """Tell whether a line of a turned table is headed as remarks, above labels, groups or none."""
    cell = view.get(line, first.place)
    own = first.reading.column
    return (
        cell is not None
        and own in (None, "comment", "run", "group")
        and normal(cell.text) in _REMARKS
    )


def tells_in_sentences(view: View, line: int, places: Sequence[int]) -> bool:
    """Tell whether a line of a turned table holds sentences only, below its heading."""
    cells = [c for p in places[1:] if (c := view.get(line, p)) is not None]
    long = [c for c in cells if isinstance(c.value, str) and c.text.count(" ") >= _FEWEST_BLANKS]
    return bool(cells) and 2 * len(long) > len(cells) and not any(map(looks_like_number, cells))


# Words in a sentence, less one (judgement).
_FEWEST_BLANKS = 2


def units_beside(
    view: View, lines: tuple[int, ...], first: int, last: int
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Part the lines of a turned table into those of units behind the values, and the others."""
    if not view.turned:
        return (), lines
    units = tuple(
        i
        for i in lines[1:]
        if len(places := view.within(i, first, last)) > 1
        and is_unit_line([view.cells[i, p] for p in places])
    )
    return units, tuple(i for i in lines if i not in units)


def with_nameless_lead(
    view: View, header: tuple[int, ...], lines: tuple[int, ...], first: int
) -> int:
    """Include a column without heading on the left that names the lines."""
    left = first - 1
    while view.turned and left > 1 and not any(view.get(i, left) for i in lines):
        left -= 1  # titles of the labels below, or blank
    above = [cell for i in header if (cell := view.get(i, left)) is not None]
    if left < 1 or any(normal(cell.text) not in UNIT_WORDS for cell in above):
        return first
    names = [cell for i in lines if (cell := view.get(i, left)) is not None]
    # "Group 1", and its trials on the lines below.
    titles = (
        [c for (i, p), c in view.cells.items() if p == left and header[-1] < i < lines[-1]]
        if lines
        else []
    )
    over = len(titles) > 1 and not view.turned and all(len(groups_in(c.text)) == 1 for c in titles)
    return left if lines and (over or 2 * len(names) > len(lines)) else first


def with_group_beyond_gap(
    view: View, header: tuple[int, ...], lines: tuple[int, ...], first: int, know: Know
) -> int:
    """Include a column of groups that a blank column parts from the readings."""
    place = first - 2
    if view.turned or place < 1 or any(view.get(i, first - 1) for i in (*header, *lines)):
        return first
    titles = [cell.text for i in header if (cell := view.get(i, place)) is not None]
    filled = sum(view.get(i, place) is not None for i in lines)
    named = bool(titles) and know(tuple(titles)).column in ("group", "section")
    return place if named and 2 * filled > len(lines) else first


_FURTHEST = 5


def section_apart(view: View, line: int, ceiling: int) -> int:
    """Return where lines without gap begin, the last of them given, if they name a section.

    "PART 2 titration" names one, too. 0 if they do not, or touch the table above, which ends at or
    below ``ceiling``.
    """
    while line - 1 in view.along and line - 1 > ceiling:
        line -= 1
    cells = [view.cells[line, p] for p in view.along[line]]
    named = len(cells) == 1 and (section_in(cells[0].text) or _PART.match(cells[0].text))
    return line if line - 1 > ceiling and named else 0


_PART = re.compile(
    r"\W*(?:part|teil|partie|parte|del|deel|część|table)\s+(?:[2-9]|[B-E]|II+)\b", re.I
)


def names_section_only(view: View, line: int) -> bool:
    """Tell whether all a line says is which section stands below it: "Section 8"."""
    text = view.cells[line, view.along[line][0]].text.strip()
    return len(text) <= _LONGEST_SECTION and bool(section_named(text))


_LONGEST_SECTION = 24


def caption_of(view: View, top: int, ceiling: int, first: int, last: int) -> tuple[RawCell, ...]:
    """Return the cells above a table: to the top of the sheet, or to the table above it.

    Below another table only the lines that touch the headings belong to this one, or lines apart
    that begin with the name of a section.
    """
    found: list[RawCell] = []
    expected = top - 1
    for line in reversed([i for i in view.lines if ceiling < i < top]):
        if line != expected and (
            expected - line > _FURTHEST
            or (ceiling > 0 and (found or not section_apart(view, line, ceiling)))
        ):
            break
        places = view.within(line, max(1, first - 1), last + 1)
        lone = len(view.along[line]) == 1 and view.along[line][0] <= last + 1
        if lone and (ceiling == 0 or names_section_only(view, line)):
            places = view.along[line]  # a title of the whole sheet, or of tables side by side
        cells = [view.cells[line, p] for p in places]
        bare = [
            c
            for at, c in enumerate(cells)
            if looks_like_number(c)
            and not (at and cells[at - 1].text.rstrip().endswith((":", "=")))
        ]
        if len(bare) > 2:
            break
        found[:0] = cells
        expected = line - 1
    return tuple(found)
