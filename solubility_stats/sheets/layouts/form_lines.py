"""Lines of a page that hold a question and its answer beside it: "4. How warm? | 22 | °C".

Pages of sentences with blanks have such lines among them, and questions with an answer to tick:
"5. How did you filter? | | gravity" over " | X | vacuum pump".
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.layouts.cards import beside
from solubility_stats.sheets.layouts.side_by_side import Line
from solubility_stats.sheets.layouts.ticks import TICKS
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.units import unit_in_heading

_TICKED = ("filtration", "scatter")
# "1. ", "b) " before a question
POINT = re.compile(
    r"\A\s*(?:(?:step|question|part)\s+)?\(?(?:\d{1,2}|[a-zA-Z])[.):]\s+", re.IGNORECASE
)
_SENTENCE = re.compile(r"(?<=[.!?])\s+")
_Rows = Mapping[int, Sequence[RawCell]]


def lines_at(rows: _Rows, row: int, know: Know) -> tuple[list[Line], int]:
    """Return the labels and values of a line, none for any other, and the last row they take.

    Parameters
    ----------
    rows : mapping of int to sequence of RawCell
        The filled cells of each row from left to right.
    row : int
        Where the line begins.
    know : callable
        Reads a stack of heading texts.
    """
    if (ticked := _ticked(rows, row, know)) is not None:
        return ticked
    lines = beside(rows[row], know) or []
    lines = [(_without_point(label, know), value) for label, value in lines]
    asked = any(value is not None or _is_measured(label, know) for label, value in lines)
    return (lines if asked else []), row


def _is_measured(label: RawCell, know: Know) -> bool:
    """Tell whether a label left blank asks for a reading; "Section B" alone is a title."""
    column = know((label.text,)).column
    return column is not None and is_canonical(column) and bool(quantity(column).unit)


def _without_point(label: RawCell, know: Know) -> RawCell:
    """Return a question without its number, and without what was to do before it is answered."""
    text = POINT.sub("", label.text, count=1)
    bare, unit = unit_in_heading(text)
    whole, last = know((text,)), _SENTENCE.split(bare.strip())[-1]
    short = f"{last} ({unit})" if unit else last
    if whole.column is None and know((short,)).column in whole.candidates:
        return label.saying(short)
    return label.saying(text)


def _ticked(rows: _Rows, row: int, know: Know) -> tuple[list[Line], int] | None:
    """Return a question with the answer that is ticked, ``None`` for any other line.

    Two ticks make an answer that nobody understands.
    """
    label, *others = rows[row]
    column = know((POINT.sub("", label.text, count=1),)).column
    if column not in _TICKED or not 1 <= len(others) <= 2:
        return None
    place = others[-1].col
    options: list[tuple[RawCell, RawCell | None]] = []
    at = row
    while at in rows:
        cells = [c for c in rows[at] if at > row or c is not label]
        option, marks = cells[-1], cells[:-1]
        if option.col != place or len(marks) > 1 or any(c.col <= label.col for c in cells):
            break
        if choice(option.text, quantity(column))[0] is None:
            return None
        if marks and marks[0].text.strip() not in TICKS:
            return None
        options.append((option, marks[0] if marks else None))
        at += 1
    if len({choice(option.text, quantity(column))[0] for option, _ in options}) < 2:
        return None
    chosen = [(option, mark) for option, mark in options if mark is not None]
    if not chosen:
        return [(label, None)], at - 1
    answer = " + ".join(option.text for option, _ in chosen)
    mark = chosen[0][1]
    asked = label.saying(POINT.sub("", label.text, count=1))
    return [(asked, None if mark is None else mark.saying(answer))], at - 1
