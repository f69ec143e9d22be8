"""What stands above the labels of a turned table and is none of them: titles, cards, statements.

Groups side by side put the labels of the table in one column, and the title of the sheet, "Group 1"
and "Water temperature | 20.5" stand in that column as well.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence

from solubility_stats.sheets.head import ONCE_PER_TABLE, Head, Know, beside_label, named_by
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import (
    GROUP_WORDS,
    RUN_NAMED,
    TABLE_NUMBERED,
    groups_in,
    section_named,
)
from solubility_stats.sheets.units import known_unit
from solubility_stats.sheets.view import View, looks_like_number


def leave_titles_out(view: View, head: Head, know: Know) -> None:
    """Take from a turned heading line the title rows above and below the table.

    In a sheet with groups side by side the titles stand in the column of the headings; nothing, or
    only the value they are the label of, stands beside them.
    """

    def beside(place: int) -> int:
        count = beside_label(view, head.line, place)
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
            head.leave_out([place])


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
        head.leave_out(above)


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
        head.leave_out(above)


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
        if p in head.hits and named_by(head.hits[p]) == {"group"} and beside(p) > _VALUE_AND_UNIT
    )
    first = next(named, 0)
    above = head.places[:first]
    if above and all(_is_stated(view, head, p) for p in above):
        head.leave_out(above)


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
    double = all(beside_label(view, head.line, p) == 3 and beside(p) == 1 for p in above)
    if not above:
        return
    ends = {above[-1]}
    if max(map(beside, head.places)) > _VALUE_AND_UNIT:  # a title may stand right above trials
        ends |= {p for p in above if beside(p)}
    near = all(view.get(head.line, end + 1) is not None for end in ends)
    if near and not double:
        return
    if all(_may_be_label(head, p) for p in above if beside(p)):
        head.leave_out(above)


_VALUE_AND_UNIT = 2


def _may_be_label(head: Head, place: int) -> bool:
    """Tell whether a text may be the label of what holds for a whole table."""
    hit = head.hits.get(place)
    return hit is None or all(c in ONCE_PER_TABLE for c in named_by(hit))
