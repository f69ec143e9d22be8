"""Heading lines: which lines of a sheet are headings, which places they cover, what is above them.

A heading line is a line on which at least two texts are understood as headings of different
columns. Lines above may hold their parents ("Mass" over "initial"), lines below their parts and
units.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from solubility_stats.quantities import is_canonical
from solubility_stats.sheets import concepts, keywords
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import (
    BEFORE_CODE,
    GROUP_WORDS,
    RUN_NAMED,
    TABLE_NUMBERED,
    groups_in,
    section_named,
)
from solubility_stats.sheets.units import known_unit
from solubility_stats.sheets.view import View, looks_like_number

Know = Callable[[Sequence[str]], Reading]


# What a line above a table may say about all its runs ("Section: Mon", "Temperature: 21 °C").
ONCE_PER_TABLE = (
    "semester", "section", "group", "instructor", "submitted", "solute", "balance", "bottle",
    "temperature_c", "titrant_mol_per_l", "filtration", "stir_min", "settle_min", "dry_min",
    "aliquot_ml", "evaporation_aliquot_ml", "water_volume_ml",
)  # fmt: skip


_LONGEST_HEADING = 160


@dataclass
class Head:
    """A heading line under construction: its line and the places it covers."""

    line: int
    places: list[int]
    hits: dict[int, Reading]

    @property
    def columns(self) -> set[str]:
        """Everything the headings found so far may mean."""
        return {c for r in self.hits.values() for c in r.candidates}

    @property
    def certain(self) -> set[str]:
        """The columns that headings found so far name without doubt."""
        return {r.column for r in self.hits.values() if r.column}


def width(head: Head) -> tuple[int, int]:
    """Return the first and last place of a heading line."""
    return head.places[0], head.places[-1]


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
            _leave_titles_out(view, head, know)
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


def _leave_titles_out(view: View, head: Head, know: Know) -> None:
    """Take from a turned heading line the title rows above and below the table.

    In a sheet with groups side by side the titles stand in the column of the headings; nothing, or
    only the value they are the label of, stands beside them.
    """

    def beside(place: int) -> int:
        count = _beside(view, head.line, place)
        if count and _answers_label(view, head, place, know):
            return 1
        return 1 if count == 3 and _is_second_label(view, head.line, place, know) else count

    _leave_above_trials_out(view, head, beside)
    _leave_above_card_out(view, head, beside)
    _leave_stated_out(view, head, beside)
    most = max(map(beside, head.places), default=0)
    if most > 1:
        _leave_labels_above_out(view, head, beside)
    for end in (0, -1):
        while head.places and most:
            place = head.places[end]
            near = place + 1 if end == 0 else place - 1
            apart = view.get(head.line, near) is None
            if (
                beside(place)
                and not (most > 2 and beside(place) == 1 and _may_be_label(head, place) and apart)
                and not _says_all_itself(view, head.line, place, apart=apart)
            ):
                break
            head.places.pop(end)
            head.hits.pop(place, None)


def _leave_above_trials_out(view: View, head: Head, beside: Callable[[int], int]) -> None:
    """Take out the labels with one value each above "Trial 1 | Trial 2" without a label.

    "Group | 4" on the form of one group holds for both of its trials.
    """
    named = [
        place
        for place in sorted({p for i in view.lines if i > head.line for p in view.along[i]})
        if (head.line, place) not in view.cells and _names_trials(view, head.line, place)
    ]
    above = [p for p in head.places if named and p < named[0]]
    if above and all(beside(p) <= 1 for p in above) and len(above) < len(head.places):
        head.places[:] = [p for p in head.places if p not in above]
        for place in above:
            head.hits.pop(place, None)


def _leave_above_card_out(view: View, head: Head, beside: Callable[[int], int]) -> None:
    """Take out the lines above "Group 1" over the labels of a card: they are about all cards."""
    titles = [
        at
        for at, p in enumerate(head.places)
        if 0 < at <= _FEW_ABOVE and _CARD.fullmatch(view.cells[head.line, p].text)
        if not beside(p)
    ]
    above = head.places[: titles[0]] if titles else []
    if above and all(beside(p) <= 1 for p in above) and len(head.places) - len(above) > _FEW_ABOVE:
        head.places[:] = head.places[len(above) :]
        for place in above:
            head.hits.pop(place, None)


_FEW_ABOVE = 3
_CARD = re.compile(rf"\s*(?:{GROUP_WORDS})\s*(?:no\.?|#)?\s*\d{{1,2}}\W*", re.IGNORECASE)


def _names_trials(view: View, line: int, place: int) -> bool:
    """Tell whether two cells or more beside a blank label name trials, and nothing else."""
    cells = [view.cells[i, place] for i in view.lines if i > line and (i, place) in view.cells]
    return len(cells) > 1 and all(
        isinstance(c.value, str) and RUN_NAMED.match(c.text) for c in cells
    )


def _leave_stated_out(view: View, head: Head, beside: Callable[[int], int]) -> None:
    """Take out what is stated once above the line that names the groups side by side.

    "Water temperature | 20.5 | °C" over "Team | A | B | C" is no reading of team A.
    """
    named = (
        at
        for at, p in enumerate(head.places)
        if p in head.hits and _named(head.hits[p]) == {"group"} and beside(p) > _VALUE_AND_UNIT
    )
    first = next(named, 0)
    above = head.places[:first]
    if above and all(_is_stated(view, head, p) for p in above):
        head.places[:] = head.places[first:]
        for place in above:
            head.hits.pop(place, None)


def _is_stated(view: View, head: Head, place: int) -> bool:
    """Tell whether nothing but a value and perhaps its unit stands beside a label."""
    cells = [c for i in view.lines if i > head.line and (c := view.cells.get((i, place)))]
    unit = len(cells) < 2 or (isinstance(cells[1].value, str) and known_unit(cells[1].text.strip()))
    return len(cells) <= _VALUE_AND_UNIT and bool(unit) and all(map(_is_short, cells))


def _is_short(cell: RawCell) -> bool:
    return len(cell.text) <= _LONGEST_VALUE or _LABEL_AND_VALUE.fullmatch(cell.text) is not None


_LONGEST_VALUE = 20
_LABEL_AND_VALUE = re.compile(r"[^:=]{2,40}:\s*\S.*", re.DOTALL)


def _says_all_itself(view: View, line: int, place: int, *, apart: bool) -> bool:
    """Tell whether each cell is a label with its own value: "Batch : B2 | Group No. : 5".

    Where a blank line follows, the first has to be one and the others may be any words.
    """
    cells = [view.cells[i, place] for i in view.lines if i >= line and (i, place) in view.cells]
    told = [isinstance(c.value, str) and _LABEL_AND_VALUE.fullmatch(c.text) for c in cells]
    words = not any(map(looks_like_number, cells)) and all(len(c.text) > 3 for c in cells)
    return all(told) or bool(apart and told[0] and words) or _says_who(cells)


def _says_who(cells: Sequence[RawCell]) -> bool:
    """Tell whether a line only says whose the sheet is: "Group # 4 | Period 5".

    One cell names a class and at most one a group; the others are words ("CHM 1046L").
    """
    texts = [c.text for c in cells]
    if any(map(looks_like_number, cells)) or len(texts) < _CLASS_AND_MORE:
        return False
    groups = [t for t in texts if len(groups_in(t)) == 1 or TABLE_NUMBERED.fullmatch(t)]
    classes = [t for t in texts if t not in groups and section_named(t)]
    alone = len(texts) == _CLASS_AND_MORE and texts[1] in classes and len(texts[1].split()) < 3
    return len(classes) == 1 and len(groups) <= 1 and (bool(groups) or alone)


_CLASS_AND_MORE = 2


def _answers_label(view: View, head: Head, place: int, know: Know) -> bool:
    """Tell whether a cell is the answer to the one before it: "Batch | B2 | Table No. | 1"."""
    label = view.cells.get((head.line - 1, place))
    if label is None or not isinstance(label.value, str) or place in head.hits:
        return False
    return know((label.text,)).column in ONCE_PER_TABLE


def _is_second_label(view: View, line: int, place: int, know: Know) -> bool:
    """Tell whether a label and its value stand behind another: "Class | XI | Team | D"."""
    beside = [view.cells[i, place] for i in view.lines if i > line and (i, place) in view.cells]
    middle, own = beside[1], view.cells.get((line, place))
    if own is not None and own.text.strip() == middle.text.strip():
        return False  # cards side by side
    return isinstance(middle.value, str) and know((middle.text,)).column in ONCE_PER_TABLE


def _leave_labels_above_out(view: View, head: Head, beside: Callable[[int], int]) -> None:
    """Take out the labels with one value each that stand above the trials of one group."""
    first = next((at for at, p in enumerate(head.places) if beside(p) > 1), 0)
    above = head.places[:first]
    # Two labels on each line, so that the labels below them are those of the table.
    double = all(_beside(view, head.line, p) == 3 and beside(p) == 1 for p in above)
    if not above:
        return
    ends = {above[-1]}
    if max(map(beside, head.places)) > _VALUE_AND_UNIT:  # a title may stand right above trials
        ends |= {p for p in above if beside(p)}
    near = all(view.get(head.line, end + 1) is not None for end in ends)
    if near and not double:
        return
    if all(_may_be_label(head, p) for p in above if beside(p)):
        head.places[:] = head.places[first:]
        for place in above:
            head.hits.pop(place, None)


_VALUE_AND_UNIT = 2


def _may_be_label(head: Head, place: int) -> bool:
    """Tell whether a text may be the label of what holds for a whole table."""
    hit = head.hits.get(place)
    return hit is None or all(c in ONCE_PER_TABLE for c in _named(hit))


def _named(reading: Reading) -> set[str]:
    return {c for c in reading.candidates if is_canonical(c)}


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
        if hit and not (view.turned and not _beside(view, line, place)):
            parts[-1].hits[place] = hit
    return parts


def _beside(view: View, line: int, place: int) -> int:
    """Return how many cells stand beside a label; none beside the title of those that follow."""
    return sum((i, place) in view.cells for i in view.lines if i > line)


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
    if view.turned or any(c not in ONCE_PER_TABLE for r in part.hits.values() for c in _named(r)):
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
