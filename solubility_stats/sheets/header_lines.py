"""How far the headings of a table reach: parent lines above, units and parts below."""

from __future__ import annotations

import re
from collections.abc import Sequence

from solubility_stats.sheets import concepts
from solubility_stats.sheets.head import Head, Know, width
from solubility_stats.sheets.header import FEWEST_OF_TRIAL, MANY_LINES, SAYS_VALUE
from solubility_stats.sheets.heading_text import counted, counted_by, normal
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import RUN_NAMED, section_named
from solubility_stats.sheets.units import known_unit
from solubility_stats.sheets.units_said import units_said
from solubility_stats.sheets.view import View, looks_like_number


def header_lines(view: View, head: Head, know: Know) -> tuple[int, ...]:
    """Return the heading lines of a table: the line found, parents above, parts below."""
    lines = [head.line]
    above = head.line - 1
    if above in view.along and _is_parent_line(view, head, above):
        lines.insert(0, above)
        if _is_title_of_parents(view, head, lines, above - 1, know):
            lines.insert(0, above - 1)
    for below in (head.line + 1, head.line + 2):
        if below not in view.along or not _is_part_line(view, head, lines, below, know):
            break
        lines.append(below)
        if is_unit_line([view.cells[below, p] for p in view.within(below, *width(head))]):
            break
        wide = view.range_of(head.line, head.places[-1])
        end = max(wide[3] if wide is not None else 0, head.places[-1] + 1)
        head.places += [p for p in view.along[below] if head.places[-1] < p <= end]
    return (*lines, *_covered(view, head, lines[-1]))


def _covered(view: View, head: Head, last: int) -> list[int]:
    """Return the lines below the last one that a heading merged down reaches over.

    "Bench" over three lines, beside "Water" over "1 | 2" over "(mL) | (mL)".
    """
    if view.turned:
        return []
    ranges = [view.range_of(head.line, p) for p in head.places]
    depth = max((r[2] for r in ranges if r is not None and r[1] == r[3]), default=last)
    return [i for i in range(last + 1, min(depth, head.line + _DEEPEST) + 1) if i in view.along]


_DEEPEST = 3


def _is_parent_line(view: View, head: Head, line: int) -> bool:
    """Tell whether the line above holds parents of the headings, or headings of its own.

    Headings of its own stand where the line below is blank ("Group" beside "Mass" over
    "initial"); they widen the table.
    """
    first, last = width(head)
    beside = [p for p in _reach(view, line, first, last) if (head.line, p) not in view.cells
              and (view.get(head.line, p) is None or _reaches_down(view, line, p))]  # fmt: skip
    within = [p for p in view.within(line, first, last) if p not in beside]
    over = [p for p in within if view.cells[line, p].text.strip()]
    cells = [view.cells[line, p] for p in (*beside, *over)]
    if over and _count_blocks(view, head, line, over):
        head.places[:] = sorted({*head.places, *beside})
        return True
    if not over or any(map(looks_like_number, cells)):
        return False
    if any(
        len(t := view.cells[line, p].text) > _LONGEST_PARENT or SAYS_VALUE.match(t) for p in over
    ):
        return False
    if len(cells) == 1 and len(units_said([cells[0].text])) > 1:
        return False  # "masses in grams, water in mL" is about all columns
    sections = [p for p in over if section_named(view.cells[line, p].text)]
    if sections == over[:1] and over[0] == first:
        return False  # "Klasse 10b" over the groups, a title beside it
    wide = view.range_of(line, over[0])
    beyond = any(_reaches_down(view, line, p) for p in beside)  # "Pair" beside "Mass" of four
    if wide is not None and wide[1] <= first and wide[3] >= last and not beyond:
        return False
    if len(cells) == 1 and over[0] == first and (wide is None or wide[3] == first):
        return False
    parts = [w for p in over if (w := view.range_of(line, p)) and w[1] < w[3]]
    below = [w for p in view.along[line + 1] if (w := view.range_of(line + 1, p))] if parts else []
    if any(b[1] < w[1] <= b[3] or b[1] <= w[3] < b[3] for w in parts for b in below):
        return False  # a title, wherever it was merged
    if parts and all(w[1] >= first or w[3] <= last for w in parts):
        over = []  # merged over some of the headings: a parent, whatever it says
    telling = sum(_tells_of_parts(str(view.cells[line, p].value)) for p in over)
    # A full line of headings that goes on below may hold one or two nobody foresaw.
    if telling < len(over) and (len(over) < MANY_LINES + 2 or 3 * telling < 2 * len(over)):
        return False
    head.places[:] = sorted({*head.places, *beside})
    return True


def _is_title_of_parents(
    view: View, head: Head, lines: Sequence[int], line: int, know: Know
) -> bool:
    """Tell whether a third line of headings stands above two: "Solid" over "recovered" over "dry".

    It divides the table by merged cells, or names the groups or sections where the lines below it
    are blank.
    """
    if line not in view.along:
        return False
    first, last = width(head)
    reached = _reach(view, line, first, last)
    apart = [p for p in reached if all((i, p) not in view.cells for i in lines)]
    named = {know((view.cells[line, p].text,)).column for p in apart} & {"group", "section"}
    wide = [w for p in reached if (w := view.range_of(line, p)) is not None and w[1] < w[3]]
    if not named and not any(w[1] >= first and w[3] <= last and w[0] == w[2] for w in wide):
        return False
    if not named or wide:
        return _is_parent_line(view, head, line)
    cells = [view.cells[line, p] for p in reached]
    if any(looks_like_number(c) or len(c.text) > _LONGEST_PARENT for c in cells):
        return False
    head.places[:] = sorted({*head.places, *apart})
    return True


def _count_blocks(view: View, head: Head, line: int, over: Sequence[int]) -> bool:
    """Tell whether "1" and "2", or "First" and "Second", stand over the same headings again."""
    names = [view.cells[line, p].text for p in over]
    if [counted_by(name) for name in names] != [str(n) for n in range(1, len(names) + 1)]:
        return False
    ends = [*over[1:], head.places[-1] + 1]
    below = [
        [view.cells[head.line, p].text.strip() for p in view.within(head.line, first, end - 1)]
        for first, end in zip(over, ends, strict=True)
    ]
    alike = all(texts == below[0] for texts in below)
    return len(names) > 1 and alike and len(below[0]) >= FEWEST_OF_TRIAL


def _tells_of_parts(text: str) -> bool:
    meaning = concepts.concepts_among(normal(text).split())
    told = RUN_NAMED.match(text) or _PLAN_OR_DONE.fullmatch(text)
    return bool(meaning - {"comment", "section", "group"} or told)


_PLAN_OR_DONE = re.compile(
    r"\W*(?:planned|actual(?:ly)?|soll|ist|prévu|réel|previsto|real)\W*", re.I
)


def _reaches_down(view: View, line: int, place: int) -> bool:
    """Tell whether a merged heading of one place reaches over the line below."""
    wide = view.range_of(line, place)
    return wide is not None and wide[2] > line and wide[1] == wide[3]


def _reach(view: View, line: int, first: int, last: int) -> list[int]:
    """Return the filled places of a line from ``first`` to ``last`` and without gap beyond."""
    places = set(view.within(line, first, last))
    for start, step in ((first - 1, -1), (last + 1, 1)):
        p = start
        while view.get(line, p) is not None:
            if (line, p) in view.cells:
                places.add(p)
            p += step
    return sorted(places)


# What is longer is a sentence above the table (judgement).
_LONGEST_PARENT = 40


_TICK = frozenset("✓✔√☑☒☐✅")


def _is_part_line(view: View, head: Head, lines: list[int], line: int, know: Know) -> bool:
    """Tell whether a line divides the headings above it, or holds their units.

    Every text must stand where the headings above leave room (a blank, a merged heading, or a
    heading followed by a blank), and most must make sense together with what is above.
    """
    first, last = width(head)
    wide = view.range_of(head.line, last)
    places = view.within(line, first, max(wide[3] if wide is not None else 0, last + 1))
    cells = [view.cells[line, p] for p in places]
    if not cells or any(c.text.strip() in _TICK for c in cells):
        return False
    if is_unit_line(cells):
        return True
    understood = previous = 0
    goes_on = _goes_on_below(view, line, places, cells)
    for place, cell in zip(places, cells, strict=True):
        if is_unit_line([cell]):
            understood += 1
            continue
        if not goes_on and not _has_room(view, lines[-1], line, place):
            return False
        above = _level(view, lines, head, place)
        text = counted_by(cell.text) or counted(cell.text)
        if text.isdigit() and int(text) in (1, previous + 1) and above:
            previous = int(text)
        elif not isinstance(cell.value, str) or (
            looks_like_number(cell) and not _counts_things(cell.value)
        ):
            return False
        understood += bool(know((*above, text)).candidates)
    return understood >= 2 and 3 * understood >= 2 * len(cells)


def _counts_things(text: str) -> bool:
    """Tell whether a text counts something that is no unit: "1. Zyl.", "2nd cyl"."""
    found = _COUNTS.fullmatch(text)
    return found is not None and not known_unit(found["what"])


_COUNTS = re.compile(r"\s*\d{1,2}\s?(?:\.|[ºª°]|st|nd|rd|th|e|a)\s?(?P<what>[^\W\d_]{2,})\.?\s*")


def _goes_on_below(view: View, line: int, places: list[int], cells: Sequence[RawCell]) -> bool:
    """Tell whether a line of nothing but words stands above the first run of a table.

    Every heading may go on in it ("GROUP" over "NO.", "LIME" over "GRAMS").
    """
    plain = [c.text.strip().removesuffix(".0") for c in cells]
    numbers = [text for text in plain if text.isdigit()]
    counted_on = numbers == [str(n) for n in range(1, len(numbers) + 1)]  # fills 1, 2, 3, 4
    words = counted_on and all(
        isinstance(c.value, str) and (not looks_like_number(c) or _counts_things(c.value))
        for c, text in zip(cells, plain, strict=True)
        if not text.isdigit()
    )
    below = [c for p in places if (c := view.get(line + 1, p)) is not None]
    if below and is_unit_line(below):
        below = [c for p in places if (c := view.get(line + 2, p)) is not None]
    return words and len(cells) > MANY_LINES and 2 * sum(map(looks_like_number, below)) > len(cells)


def _has_room(view: View, above: int, line: int, place: int) -> bool:
    if (above, place) not in view.cells:
        return True
    if view.range_of(above, place) is not None:
        return True
    return view.get(above, place + 1) is None and view.get(line, place + 1) is not None


def is_unit_line(cells: Sequence[RawCell]) -> bool:
    """Tell whether a line holds units and nothing else to speak of."""
    units = others = 0
    for cell in cells:
        if not isinstance(cell.value, str) or looks_like_number(cell):
            return False
        plain = cell.value.strip().strip("()[]").strip()
        if known_unit(plain) or _COMPOUND_UNIT.fullmatch(plain):
            units += 1
        elif plain not in ("", "-", "–", "—", "/"):
            others += 1
    return units >= 1 and units > others


_COMPOUND_UNIT = re.compile(r"(g|mg|mol)\s*/\s*(100\s*)?(g|ml|mL|l|L|dm3|kg)\b.*|%")


def _level(view: View, lines: Sequence[int], head: Head, place: int) -> tuple[str, ...]:
    """Return the heading texts above a place, merged or spread from the left."""
    return tuple(c.text for c in heading_cells(view, lines, head, place))


def heading_cells(view: View, lines: Sequence[int], head: Head, place: int) -> tuple[RawCell, ...]:
    """Return the heading cells above a place from top to bottom, parents included."""
    found = []
    for number, line in enumerate(lines):
        cell = view.get(line, place)
        lowest = number == len(lines) - 1
        own = any((above, place) in view.cells for above in lines[:number])
        if cell is None and not lowest and not own:
            cell = _spread(view, line, lines[number + 1], head, place)
        if cell is not None and str(cell.text).strip():
            found.append(cell)
    return tuple(c for c in found if not _OF_MACHINE.fullmatch(c.text)) or tuple(found)


# The number a survey program gives a question, below it: '{"question": "Q5"}'
_OF_MACHINE = re.compile(r"\s*\{\s*\"[^{}]*\"\s*:[^{}]*\}\s*")


def _spread(view: View, line: int, below: int, head: Head, place: int) -> RawCell | None:
    """Return the parent to the left that an unmerged two-line heading means for this place.

    The parent reaches over neighbours that are blank on its own line and filled below.
    """
    for p in range(place - 1, head.places[0] - 1, -1):
        if view.get(below, p + 1) is None:
            return None
        cell = view.cells.get((line, p))
        if cell is not None:
            merged = view.range_of(line, p)
            filled = view.get(below, p) is not None
            return cell if merged is None and filled else None
        if view.get(line, p) is not None:
            return None
    return None
