"""Cards on one sheet, each in the words of those who wrote it, side by side or below one another.

"BENCH 1" over "powder we started with | 2.41 g" stands beside "BENCH 2" over "Ca(OH)2 in | 2.46 g".
No label stands twice, so that the cards make no common table: each is read as a sheet of its own,
below what stands above all of them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from solubility_stats.sheets.head import Know
from solubility_stats.sheets.layouts.side_by_side import Card, group_in, with_fills_asked
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import TABLE_NUMBERED, groups_in, section_named
from solubility_stats.sheets.view import looks_like_number

_FEWEST_LINES = 3
_LONGEST = 24
# Cards that share more of their labels are of one form, and make a table (judgement).
_SHARED = 0.5
_Cells = dict[tuple[int, int], RawCell]


@dataclass(frozen=True)
class CardsApart:
    """The cards as sheets of their own with their titles, and the cells above all of them."""

    cards: tuple[tuple[tuple[RawCell, ...], Sheet], ...]
    above: tuple[RawCell, ...]


def cards_apart(sheet: Sheet, know: Know) -> CardsApart | None:
    """Return the cards of a sheet one by one, ``None`` for any other sheet.

    The cells keep their places.
    """
    if (stacked := _stacked(sheet, know)) is not None:
        return stacked
    titles = sorted(
        (c for c in sheet.texts if (c.row, c.col + 1) not in sheet.cells and _is_title(c)),
        key=lambda c: (c.row, c.col),
    )
    beside = [(a, b) for a, b in pairwise(titles) if a.row == b.row]
    if not beside or any(b.col - a.col < _NARROWEST for a, b in beside):
        return None
    blocks = [_block(sheet, title, titles) for title in titles]
    if not all(blocks):
        return None
    labels = {title: _labels(block) for title, block in zip(titles, blocks, strict=True)}
    if any(len(said) < _FEWEST_LINES for said in labels.values()):
        return None
    stated = [_stated(b) for b in blocks]
    if not all(stated) and any(_shared(labels[a], labels[b]) >= _SHARED for a, b in beside):
        return None
    inside = set().union(*blocks, {(t.row, t.col) for t in titles})
    rest = [c for at, c in sorted(sheet.cells.items()) if at not in inside]
    if any(map(looks_like_number, rest)):
        return None  # something else stands between the cards
    cards = [replace(sheet, cells=_with_fills_asked(b, know), merged=()) for b in blocks]
    return CardsApart(tuple(zip(map(_said, titles), cards, strict=True)), tuple(rest))


# So many cards below one another, each in its own words, are no table that starts anew.
_FEWEST_STACKED = 3


def _may_be_who(cell: RawCell) -> bool:
    return not looks_like_number(cell) and not _is_title(cell)


def _stacked(sheet: Sheet, know: Know) -> CardsApart | None:
    """Return cards below one another whose labels differ: "Group 1 | JT / MS" over its lines."""
    rows = sheet.by_row()
    first = min((c for _, c in sheet.cells), default=0)
    titles = [
        cell
        for row, cells in rows.items()
        if (cell := cells.get(first)) is not None
        and row - 1 not in rows
        and isinstance(cell.value, str)
        and (_is_title(cell) or _is_title_and_more(cell, cells))
        and all(at == first or (at == first + 1 and _may_be_who(c)) for at, c in cells.items())
    ]
    if len(titles) < _FEWEST_STACKED:
        return None
    blocks = [_block(sheet, title, titles) for title in titles]
    if _is_title_and_more(titles[-1], {}) and not blocks[-1]:
        titles, blocks = titles[:-1], blocks[:-1]  # "Bench 6 - both absent today"
    if not all(blocks):
        return None
    labels = [_labels(block) for block in blocks]
    if 2 * sum(len(said) >= _FEWEST_LINES for said in labels) <= len(labels) or not all(labels):
        if not all(_is_understood(block, know) for block in blocks):
            return None  # one of them may be a small table
        labels = [_texts(block) for block in blocks]
    shared = [_shared(a, b) for a, b in pairwise(labels)]
    if sum(shared) >= _SHARED * len(shared):
        return None
    top = min(t.row for t in titles)
    cards = []
    for title, block in zip(titles, blocks, strict=True):
        beside = {(c.row, c.col): c for c in rows[title.row].values() if c is not title}
        who = {(title.row, first): title.saying("Members")} | beside if beside else {}
        cells = _with_fills_asked(block, know)
        cards.append((_said(title), replace(sheet, cells=who | cells, merged=())))
    above = tuple(c for (row, _), c in sorted(sheet.cells.items()) if row < top)
    return None if any(map(looks_like_number, above)) else CardsApart(tuple(cards), above)


_AND_MORE = re.compile(r"(?P<title>[^()–—]{2,24}?)\s*(?:\(|[–—]|\s-\s)[^\d]{3,60}")


def _is_title_and_more(cell: RawCell, line: Mapping[int, RawCell]) -> bool:
    """Tell whether a remark follows the title of a card: "Bench 4 (sorry, sideways)"."""
    found = _AND_MORE.fullmatch(cell.text) if len(line) < 2 else None
    return found is not None and _is_title(cell.saying(found["title"]))


def _texts(block: _Cells) -> set[str]:
    """Return the labels and headings of a block, wherever they stand in it."""
    words = (
        c.text for c in block.values() if isinstance(c.value, str) and not looks_like_number(c)
    )
    return {" ".join(text.casefold().split()) for text in words}


def _is_understood(block: _Cells, know: Know) -> bool:
    """Tell whether a block has headings or labels of its own for several readings."""
    return len({know((text,)).column for text in _texts(block)} - {None, "group"}) >= _FEWEST_LINES


def _is_title(cell: RawCell) -> bool:
    """Tell whether a cell names the group of a card: "BENCH 1", "Table 3 (Mon)"."""
    short = len(cell.text) <= _LONGEST
    named = short and len(groups_in(cell.text)) == 1
    return bool(group_in(cell)) or named or (short and _table_of_section(cell.text) != "")


def _table_of_section(text: str) -> str:
    """Return the table that a title names behind its section: "Period 4, Table 5"."""
    section, comma, table = text.rpartition(",")
    found = TABLE_NUMBERED.fullmatch(table)
    return found[1] if comma and found and section_named(section) else ""


def _said(title: RawCell) -> tuple[RawCell, ...]:
    """Return a title, and the group it names where it takes two to see it."""
    code = _table_of_section(title.text)
    return (title, title.saying(f"Group: {code}")) if code else (title,)


# A label, its value, and the label of the next card.
_NARROWEST = 2


def _block(sheet: Sheet, title: RawCell, titles: Sequence[RawCell]) -> _Cells:
    """Return the cells below a title, as far as the next title beside and below it."""
    right = min((t.col for t in titles if t.row == title.row and t.col > title.col), default=0)
    below = min((t.row for t in titles if t.row > title.row), default=0)
    return {
        (row, col): cell
        for (row, col), cell in sorted(sheet.cells.items())
        if row > title.row and col >= title.col
        if (not right or col < right) and (not below or row < below)
    }


# "Lime, start: 2.44 g"
_STATED = re.compile(r"\s*([^\W\d_][^:=]{1,60}?)\s*[:=]\s*\S.*", re.DOTALL)


def _stated(block: _Cells) -> set[str]:
    """Return the labels of a card whose cells hold label and value both, each once."""
    first = min(col for _, col in block)
    if any(col > first or not isinstance(cell.value, str) for (_, col), cell in block.items()):
        return set()
    found = [m[1].casefold() for cell in block.values() if (m := _STATED.fullmatch(cell.text))]
    return set(found) if len(set(found)) == len(found) else set()


def _labels(block: _Cells) -> set[str]:
    """Return the labels of a card in its first column, each with a value beside it."""
    if stated := _stated(block):
        return stated
    first = min(col for _, col in block)
    return {
        " ".join(cell.text.casefold().split())
        for (row, col), cell in block.items()
        if col == first and isinstance(cell.value, str) and (row, col + 1) in block
    }


def _with_fills_asked(block: _Cells, know: Know) -> _Cells:
    """Return a card on which a fill that was left blank is a question."""
    first = min(col for _, col in block)
    lines = [(cell, block.get((row, col + 1))) for (row, col), cell in block.items()
             if col == first and isinstance(cell.value, str)]  # fmt: skip
    asked = with_fills_asked(Card(lines), know, few=True)
    blank = {(label.row, label.col + 1): value for label, value in asked.lines
             if value is not None and (label.row, label.col + 1) not in block}  # fmt: skip
    return block | blank


def _shared(one: set[str], other: set[str]) -> float:
    return len(one & other) / min(len(one), len(other))
