"""Cards of one run each whose labels stand above their values, in several small blocks.

"Lime | Filter paper" over "2.594 g | 0.895 g", and below it "1st | 2nd | all together" over
"100 | 50 | 150" under the title "Water (mL)". A form with labels beside the values may hold one
such block, mostly the portions of water. Each label gets its value beside it, and cards below one
another become columns of one table.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field

from solubility_stats.quantities import fill_columns, is_canonical, quantity
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.header_lines import is_unit_line
from solubility_stats.sheets.heading_forms import ONLY_RATIO
from solubility_stats.sheets.heading_text import counted, plain_ordinals
from solubility_stats.sheets.layouts.side_by_side import (
    Cards,
    Line,
    group_in,
    one_of_several,
    with_fills_asked,
    with_unit,
)
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import RUN_WORDS
from solubility_stats.sheets.said_temperatures import FROM_A_BOOK
from solubility_stats.sheets.units import known_unit, unit_in_heading
from solubility_stats.sheets.view import looks_like_number

_FEWEST_BLOCKS = 2
_FEWEST = 3
_LONGEST_LABEL = 80
# "second run, following week" beside the names
_RUN = re.compile(rf"\s*(?:the )?(\w+) (?:{RUN_WORDS})\b(?=\W|\Z)", re.IGNORECASE)
_Rows = dict[int, list[RawCell]]


@dataclass(frozen=True)
class _Block:
    """Labels with the values below them, where the next line of the sheet is, and the kind."""

    lines: tuple[Line, ...]
    end: int
    of_fills: bool


@dataclass
class _Page(Cards):
    """The cards of a sheet, and of each how many blocks and double lines it has."""

    blocks: list[int] = field(default_factory=lambda: [0])
    fills: list[int] = field(default_factory=lambda: [0])
    doubles: list[int] = field(default_factory=lambda: [0])

    def take(self, lines: Sequence[Line], block: _Block | None = None) -> None:
        """Add labels to the card, or to the next one if it has one of them."""
        known = self.cards[-1]
        anew = any(value is not None and known.asks(label.text) for label, value in lines)
        self.add(lines, anew=anew)
        for counts in (self.blocks, self.fills, self.doubles) if anew else ():
            counts.append(0)
        if block is not None:
            self.blocks[-1] += 1
            self.fills[-1] += block.of_fills
        else:
            self.doubles[-1] += sum(value is not None for _, value in lines) > 1

    def is_card(self, at: int, know: Know) -> bool:
        """Tell whether a card has enough blocks or double lines, and readings enough."""
        lines = self.cards[at].lines
        read = [c for label, value in lines if value is not None
                if (c := know((label.text,)).column) and is_canonical(c)]  # fmt: skip
        several = self.blocks[at] >= _FEWEST_BLOCKS or self.fills[at] or self.doubles[at] >= _FEWEST
        numbers = [c for c in read if quantity(c).kind == "number"]
        # A reading twice is of two runs, whose labels stand beside one another.
        return bool(several) and len(read) >= _FEWEST and len(set(numbers)) == len(numbers)


def labels_above(sheet: Sheet, know: Know) -> Sheet | None:
    """Return cards with labels above their values as labels and values side by side.

    The cells keep their addresses. ``None`` for any other sheet.
    """
    rows = sheet.lines()
    blocks = {row: block for row in rows if (block := _block(rows, row, know)) is not None}
    page = _page(rows, blocks, know)
    if page is None or not all(page.is_card(at, know) for at in range(len(page.cards))):
        return None
    page.cards = [with_fills_asked(card, know, few=False) for card in page.cards]
    return page.laid_out(sheet, know)


def _page(rows: _Rows, blocks: dict[int, _Block], know: Know) -> _Page | None:
    """Return the cards of a sheet, ``None`` if a line holds more than labels and their values."""
    page = _Page()
    done = 0
    for row, cells in rows.items():
        if row < done:
            continue
        if (block := blocks.get(row)) is not None:
            if named := group_in(cells[0]):  # "Table 1 | Lime (g) | 1st pour (mL)"
                page.take(named)
            page.take(block.lines, block)
            done = block.end
            continue
        named = [line for cell in cells for line in group_in(cell)]
        if len(named) > 1:
            return None  # cards beside one another
        lines = named or beside(cells, know)
        if lines is None:
            return None
        if named or (not page.cards[0].lines and all(value is None for _, value in lines)):
            for cell in cells:
                page.entitle(cell)
        if named or page.cards[0].lines or any(value is not None for _, value in lines):
            page.take(lines)
    return page


def _block(rows: _Rows, row: int, know: Know) -> _Block | None:
    """Return the block whose labels stand on a line, ``None`` for any other line."""
    labels = rows[row]
    units: dict[int, str] = {}
    at = row + 1
    if at in rows and is_unit_line(rows[at]):
        units = {c.col: c.text.strip(" ()[]") for c in rows[at]}
        at += 1
    if at not in rows or not _may_be_labels(labels) or not _ends(rows, at + 1, know):
        return None
    below = {c.col: c for c in rows[at]}
    if units and not any(map(looks_like_number, below.values())):
        return None
    # "100 | 50 | 150 | mL": the unit of all, behind the last of them.
    last = rows[at][-1]
    if last.col > labels[-1].col and (unit := _unit(last)):
        units |= {c.col: unit for c in labels}
        del below[last.col]
    lead = _lead(labels, below)
    title = lead or _title(rows, row)
    labels = labels[1:] if lead is not None else labels
    if not below or not set(below) <= {c.col for c in labels}:
        return None
    if any(_is_label(c, know) for c in below.values()):
        return None
    said = _in_full(labels, title, units, know)
    worded = {c.col for c in below.values() if not looks_like_number(c)}
    read = [column for c in said if (column := know((c.text,)).column) is not None]
    unknown = any(c.col in worded and not know((c.text,)).candidates for c in said)
    if unknown and (len(read) < _FEWEST or said[0].col in worded):
        return None  # "Measurement | Value" over "Lime | 2.5" is a list of readings
    numbers = sum(map(looks_like_number, below.values()))
    several = any(c.text == one_of_several(c) for c in said)
    if (
        not (read or several)
        or (not numbers and len(read) < len(labels))
        or len(set(read)) < len(read)
    ):
        return None
    lines = tuple((label, below.get(c.col)) for label, c in zip(said, labels, strict=True))
    return _Block(lines, at + 1, len(fill_columns(read)) > 1)


def _may_be_labels(cells: Sequence[RawCell]) -> bool:
    """Tell whether a line holds texts, and no numbers but those that count 1, 2, 3."""
    numbers = [c for c in cells if looks_like_number(c)]
    counts = [c.text.strip(" .") for c in numbers]
    counted_up = counts == [str(n) for n in range(1, len(counts) + 1)]
    return (
        len(numbers) < len(cells)
        and (not counts or (counted_up and len(counts) > 1))
        and all(len(c.text) <= _LONGEST_LABEL and not _unit(c) for c in cells)
    )


def _ends(rows: _Rows, row: int, know: Know) -> bool:
    """Tell whether a line is blank, a title, or begins with a label: no second line of values."""
    cells = rows.get(row, [])
    if not cells:
        return True
    if not isinstance(cells[0].value, str) or looks_like_number(cells[0]):
        return False
    return len(cells) == 1 or _is_label(cells[0], know)


def _lead(labels: Sequence[RawCell], below: dict[int, RawCell]) -> RawCell | None:
    """Return the title that stands before labels that only count: "Water | 1st | 2nd | total"."""
    first, *others = labels
    alone = first.col not in below and not _counts(first)
    return first if alone and others and sum(map(_counts, others)) > 1 else None


def _counts(cell: RawCell) -> bool:
    return plain_ordinals(counted(cell.text).casefold().strip(" .:")).isdigit()


def _title(rows: _Rows, row: int) -> RawCell | None:
    """Return the title on the line above."""
    above = rows.get(row - 1, [])
    alone = len(above) == 1 and isinstance(above[0].value, str) and row - 2 not in rows
    return above[0] if alone and not looks_like_number(above[0]) else None


def _in_full(
    labels: Sequence[RawCell], title: RawCell | None, units: dict[int, str], know: Know
) -> list[RawCell]:
    """Return labels with what they need to be understood; of one thing read twice none is."""
    said = [_asked(c, title, units.get(c.col, ""), know) for c in labels]
    counts = [at for at, c in enumerate(labels) if _counts(c)]
    meant = {know((said[at].text,)).column for at in counts}
    if len(counts) > 1 and not all(column and fill_columns([column]) for column in meant):
        for at in counts:
            said[at] = labels[at].saying(one_of_several(labels[at]))
    return _without_book([title] if title is not None else [], said)


def _without_book(before: Sequence[RawCell], labels: Sequence[RawCell]) -> list[RawCell]:
    """Return labels of which those behind a value from a book say nothing of the run.

    "Literature value | Temperature": at which the book gives it.
    """
    done: list[RawCell] = []
    book = any(FROM_A_BOOK.search(c.text) for c in before)
    for label in labels:
        done.append(label.saying(one_of_several(label)) if book else label)
        book = book or FROM_A_BOOK.search(label.text) is not None
    return done


def _asked(label: RawCell, title: RawCell | None, unit: str, know: Know) -> RawCell:
    """Return a label in full: with the title it needs and the unit of its value."""
    own = label.text.strip()
    if title is None or (not _counts(label) and _is_known((with_unit(own, unit),), know)):
        return label.saying(with_unit(own, unit))
    rest, named = unit_in_heading(title.text)
    rest = rest.strip(" :,-–")
    wordings = [f"{rest} {own}", f"{own} {rest}"]
    full = [with_unit(w, unit or named or "") for w in wordings]
    return label.saying(next((w for w in full if know((w,)).column), full[0]))


def _is_known(texts: Sequence[str], know: Know) -> bool:
    return know(texts).column is not None


_WORD = re.compile(r"[^\W\d_]{3}")


def _is_label(cell: RawCell, know: Know) -> bool:
    """Tell whether a text is a label and no answer; "gravity" is one."""
    if not isinstance(cell.value, str) or looks_like_number(cell):
        return False
    if cell.text.rstrip().endswith((":", "?")):
        return True
    text = cell.text.strip()
    read = know((text,))
    if not _WORD.search(text) and not (text.isalpha() and read.how == "vocabulary"):
        return False  # the initials "K.T." are no temperature
    meant = {c for c in read.candidates if is_canonical(c)} - {"filtration", "scatter", "solute"}
    return bool(meant) and len(text) > 1


def beside(cells: Sequence[RawCell], know: Know) -> list[Line] | None:
    """Return the labels of a line with the values beside them: "Stirring | 10 | min".

    ``None`` if it holds anything else, as the second value of another run.

    Parameters
    ----------
    cells : sequence of RawCell
        The filled cells of the line from left to right.
    know : callable
        Reads a stack of heading texts.
    """
    found: list[Line] = []
    at = 0
    while at < len(cells):
        label = cells[at]
        if not isinstance(label.value, str) or looks_like_number(label):
            return None
        at += 1
        value = cells[at] if at < len(cells) and _may_be_value(label, cells[at], know) else None
        if value is not None and _unit(value) and not _names_somebody(label, know):
            value = None  # left blank; but "Group | C"
        at += value is not None
        unit = _unit(cells[at]) if at < len(cells) else ""
        at += bool(unit)
        again = _RUN.match(label.text) if value is None else None
        if again and (number := plain_ordinals(again[1].lower())).isdigit():
            found.append((label.saying("Run"), label.saying(number)))
            continue
        if value is None and found and not unit and not _is_label(label, know):
            continue  # a remark behind the values
        found.append((label.saying(with_unit(label.text.strip(), unit)) if unit else label, value))
    own = _without_book([], [label for label, _ in found])
    found = [(label, value) for label, (_, value) in zip(own, found, strict=True)]
    asked = [" ".join(label.text.casefold().split()) for label, _ in found]
    return found if len(set(asked)) == len(asked) else None  # cards beside one another


def _may_be_value(label: RawCell, cell: RawCell, know: Know) -> bool:
    near = cell.col - label.col == 1 or (cell.col - label.col == 2 and looks_like_number(cell))
    return near and not _is_label(cell, know)


def _names_somebody(label: RawCell, know: Know) -> bool:
    column = know((label.text,)).column
    return column is not None and (not is_canonical(column) or not quantity(column).unit)


def _unit(cell: RawCell) -> str:
    """Return the unit that is all a cell holds, empty for any other cell."""
    text = cell.text.strip().strip("()[]").strip() if isinstance(cell.value, str) else ""
    return text if known_unit(text) or (text and ONLY_RATIO.fullmatch(text)) else ""
