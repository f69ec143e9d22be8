"""Heading lines: which lines of a sheet are headings, which places they cover, what is above them.

A heading line is a line on which at least two texts are understood as headings of different
columns. Lines above may hold their parents ("Mass" over "initial"), lines below their parts and
units.
"""

from __future__ import annotations

import re

from solubility_stats.quantities import is_canonical
from solubility_stats.sheets import concepts, keywords
from solubility_stats.sheets.above_labels import leave_titles_out
from solubility_stats.sheets.head import ONCE_PER_TABLE, Head, Know, beside_label, named_by
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import BEFORE_CODE, GROUP_WORDS
from solubility_stats.sheets.view import View, looks_like_number

_LONGEST_HEADING = 160


def heads_of(view: View, line: int, know: Know) -> list[Head]:
    """Return the pieces of a line that are headings of one table each."""
    places = view.along[line]
    if len(places) < 2 or not _mostly_text(view, line, places):
        return []
    found: list[Head] = []
    for piece in view.pieces(line):
        for part in _split_repeats(view, line, piece, know):
            goes_on = bool(found) and _is_next_trial(view, found[-1], part, know)
            anew = _names_groups_again(view, part) or not found or _starts_anew(found[-1], part)
            anew = anew or _has_same_lead(view, found[-1], part)
            if anew and not goes_on:
                found.append(part)
            elif goes_on or part.places[0] in piece[1:] or _goes_along(view, found[-1], part):
                found[-1].places += part.places
                found[-1].hits |= part.hits
    for head in found:
        if view.turned:
            leave_titles_out(view, head, know)
        else:
            _look_below_wide(view, head, know)
    return [h for h in found if h.places and _is_heading(view, h)]


def _look_below_wide(view: View, head: Head, know: Know) -> None:
    """Let a merged heading that may mean several things say what it means with the one below it.

    "Buret reading (mL)" over "initial" and "final" beside "Group"
    """
    for place in head.places if view.merged else ():
        hit, wide = head.hits.get(place), view.range_of(head.line, place)
        below = view.get(head.line + 1, place)
        if (hit and hit.column) or wide is None or wide[3] == place or below is None:
            continue
        both = know((view.cells[head.line, place].text, below.text))
        if both.column and not looks_like_number(below):
            head.hits[place] = both


def _mostly_text(view: View, line: int, places: list[int]) -> bool:
    numbers = 0
    for place in places:
        cell = view.cells[line, place]
        typed = cell.value.__class__ is float or cell.value.__class__ is int
        numbers += typed or looks_like_number(cell)
        if 2 * numbers >= len(places):
            return False  # most lines are runs: no need to look at the rest of them
    return True


def _hit(view: View, line: int, place: int, know: Know) -> Reading | None:
    cell = view.cells[line, place]
    if not isinstance(cell.value, str) or len(cell.value) > _LONGEST_HEADING:
        return None
    if looks_like_number(cell) or _counts_letters(view, line, place):
        return None
    if SAYS_VALUE.match(cell.value):
        return None
    reading = know((cell.value,))
    return reading if reading.candidates else None


# "Lab temperature: 27 °C" says something about the whole sheet and heads no column.
SAYS_VALUE = re.compile(
    r"[^:=]{3,40}[:=]\s*[~≈]?\d+(?:[.,]\d+)?\s*\S{0,8}(?:\s[CF])?\s*\Z|.*\d\s?°\s?[CF]\b"
)


def _counts_letters(view: View, line: int, place: int) -> bool:
    """Tell whether a letter stands in a row of letters (P, Q, R, S, T): codes, not symbols.

    So does "B4" after "B3", which is not "before".
    """

    def letter(p: int) -> int:
        cell = view.cells.get((line, p))
        text = cell.text.strip().upper() if cell is not None else ""
        if len(text) == 2 and text[0] == "B" and text[1].isdigit():
            return int(text[1]) + 1000
        return ord(text) if len(text) == 1 and text.isalpha() else -1000

    here = letter(place)
    inside = [letter(place + step) - here == step for step in (-2, -1, 1, 2)]
    return here > 0 and any(a and b for a, b in ((inside[0], inside[1]), inside[1:3], inside[2:]))


def _split_repeats(view: View, line: int, piece: list[int], know: Know) -> list[Head]:
    """Cut a piece where its first identifier comes again: two tables without a gap."""
    parts: list[Head] = []
    for place in piece:
        hit = _hit(view, line, place, know)
        column = hit.column if hit else None
        first, named = next(iter(parts[-1].hits.items())) if parts and parts[-1].hits else (0, None)
        lead = named.column if named is not None else None
        again = (
            column is not None
            and column == lead
            and column in ("group", "section", "run")
            and place - first > 1  # "group" beside "bench" are two names of one thing
        )
        if not parts or again:
            parts.append(Head(line, [], {}))
        parts[-1].places.append(place)
        if hit and not (view.turned and not beside_label(view, line, place)):
            parts[-1].hits[place] = hit
    return parts


def _names_groups_again(view: View, part: Head) -> bool:
    """Tell whether a piece of a turned line begins with a row of groups: "unit | Gp 1 | Gp 2"."""
    first = part.places[0]
    for place in (first - 1, first, first + 1) if view.turned else ():
        beside = [c for i in view.lines if i > part.line and (c := view.cells.get((i, place)))]
        beside = [c for c in beside if normal(c.text) not in concepts.listed("units")]
        codes = [c for c in beside if isinstance(c.value, str) and _GROUP_CODE.match(c.text)]
        if len(codes) > 1 and len(codes) == len(beside):
            return True
    return False


_GROUP_CODE = re.compile(rf"\s*(?:{GROUP_WORDS}){BEFORE_CODE}\w{{1,3}}\s*\Z", re.IGNORECASE)


def _is_next_trial(view: View, left: Head, right: Head, know: Know) -> bool:
    """Tell whether a piece repeats the headings before a gap under the name of another trial.

    "First go" over mass, water, mass, then a blank column, then "Second go" over the same.
    """
    texts = [view.cells[right.line, p].text.strip() for p in right.places]
    before = [view.cells[left.line, p].text.strip() for p in left.places[-len(texts) :]]
    if view.turned or len(texts) < FEWEST_OF_TRIAL or texts != before:
        return False
    over = [view.get(right.line - 1, h.places[at]) for h, at in ((left, 0), (right, 0))]
    if any(cell is None for cell in over):
        return False
    names = [know((cell.text, texts[0])).trial for cell in over if cell is not None]
    return all(names)


FEWEST_OF_TRIAL = 2


def _starts_anew(left: Head, right: Head) -> bool:
    """Tell whether a piece after a gap heads a table of its own."""
    first, again = min(left.hits, default=-1), min(right.hits, default=-1)
    if first == left.places[0] and again == right.places[0]:
        mine, theirs = left.hits[first], right.hits[again]
        if mine.column == theirs.column in ("bottle", "instructor"):
            return True  # "Batch" again, for batches of students
    if "group" in right.columns and "group" in left.columns:
        return True
    return len({c for c in right.columns & left.columns if is_canonical(c)}) >= 2


def _has_same_lead(view: View, left: Head, right: Head) -> bool:
    """Tell whether a piece after a gap begins with the heading the table begins with: "who"."""
    if view.turned:
        return False
    first, again = (view.cells[h.line, h.places[0]].text.strip() for h in (left, right))
    return first.casefold() == again.casefold() and not looks_like_number(
        view.cells[right.line, right.places[0]]
    )


# A column filled on fewer of the lines is a list of its own beside the table (judgement).
_ALONG = 0.8


def _goes_along(view: View, head: Head, part: Head) -> bool:
    """Tell whether a piece after a gap continues the table, or is a short list beside it."""
    if view.turned or any(c not in ONCE_PER_TABLE for r in part.hits.values() for c in named_by(r)):
        return True
    mine = [i for i in view.lines if i > head.line and (i, head.places[0]) in view.cells]
    both = sum((i, part.places[0]) in view.cells for i in mine)
    return both >= _ALONG * len(mine)


def _is_heading(view: View, head: Head) -> bool:
    cells = {p: view.cells[head.line, p] for p in head.places}
    texts = [p for p, c in cells.items() if not looks_like_number(c)]
    columns = head.columns - {keywords.DERIVED, keywords.UNSURE}
    # "mass dissolved" and "solubility" of a tab of calculations, one line each
    also = view.turned and keywords.DERIVED in head.columns and "reported_solubility" in columns
    certain = len(head.certain) + also
    if len(columns) + also < 2 or (certain < 2 and len(head.hits) < MANY_LINES):
        return False
    if certain < MANY_LINES and 5 * len(head.hits) < 2 * len(texts):
        return False
    labels = all(c in ONCE_PER_TABLE for c in columns)
    if labels and any(looks_like_number(c) or _ENDS_IN_VALUE.match(c.text) for c in cells.values()):
        return False  # "Batch | B2 | Room temp. (°C) | 27", "Rührzeit 5 min": labels and values
    labels_first = list(cells.values())[0::2]
    if not view.turned and all(c.text.rstrip().endswith(":") for c in labels_first):
        return False  # "Class: | T03 | Teacher: | R. Brand"
    read = sum(map(_is_reading, cells.values()))
    if read > 1 or (read and certain < MANY_LINES):
        return False  # a line of readings, with remarks that sound like headings
    return not _pairs_of_label_and_value(head)


_ENDS_IN_VALUE = re.compile(
    r".*\w\s+\d+(?:[.,]\d+)?\s*(?:min|h|°\s?[CF]|m[lL]|cm3|cm³|mol/[lL])\s*\Z", re.DOTALL
)
# So many different columns are no coincidence, however much stands beside them (judgement).
MANY_LINES = 3


_READING = re.compile(r"[\s~≈<>]*\d+(?:[.,]\d+\s*\S{0,5}|\s*[^\W\d]{1,5}\.?)\s*\Z|\S+@\S+\Z")


def _is_reading(cell: RawCell) -> bool:
    """Tell whether a cell holds something measured: a decimal, a number with unit, a moment."""
    if isinstance(cell.value, str):
        return bool(_READING.match(cell.value)) and not _ORDINAL.match(cell.value)
    return not isinstance(cell.value, (int, bool)) and cell.value is not None


_ORDINAL = re.compile(r"\s*(?:\d+\s*(?:st|nd|rd|th|er|ème)\b|[1-9](?:ª|º|e)(?!\w))", re.IGNORECASE)


def _pairs_of_label_and_value(head: Head) -> bool:
    """Recognise "Section | Mon | Balance | 3": every label has its value on its right."""
    if not all(c in ONCE_PER_TABLE for c in head.columns):
        return False
    return all(p + 1 in head.places and p + 1 not in head.hits for p in head.hits)
