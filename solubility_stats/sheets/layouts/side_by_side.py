"""Cards of the same form laid out side by side: a label on each line, a value per card behind it.

Pages and cards below one another repeat their labels. Beside one another they make one table, so
that what one group left blank is seen to be blank where the others have a value.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from solubility_stats.quantities import fill_columns
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import (
    BEFORE_CODE,
    GROUP_WORDS,
    TABLE_NUMBERED,
    one_group_in,
    section_named,
)
from solubility_stats.sheets.units import known_unit, unit_in_heading
from solubility_stats.sheets.view import looks_like_number

Line = tuple[RawCell, RawCell | None]


@dataclass
class Card:
    """One filled form: its labels with their values, in the order of the page."""

    lines: list[Line] = field(default_factory=list)
    section: Line | None = None

    def asks(self, label: str) -> bool:
        """Tell whether the card has a label of this text."""
        return any(_key(known.text) == _key(label) for known, _ in self.lines)


@dataclass
class Cards:
    """The cards of a sheet as far as they have been read, and what stands above the first."""

    titles: list[RawCell] = field(default_factory=list)
    cards: list[Card] = field(default_factory=lambda: [Card()])
    section: Line | None = None

    def entitle(self, title: RawCell) -> None:
        """Keep a title above the first card, and the section any title names."""
        if isinstance(title.value, str) and (code := section_named(title.text)):
            self.section = (title.saying("Section"), title.saying(code))
            if not self.cards[-1].lines:
                self.cards[-1].section = self.section
        if not self.cards[0].lines:
            self.titles.append(title)

    def add(self, lines: Sequence[Line], *, anew: bool) -> None:
        """Add labels to the last card, or to a new one."""
        if anew:
            self.cards.append(Card(section=self.section))
        self.cards[-1].lines += lines

    def laid_out(self, sheet: Sheet, know: Know) -> Sheet:
        """Return the cards side by side."""
        said = {c.section[1].text for c in self.cards if c.section and c.section[1]}
        if len(said) > 1:
            for card in self.cards:
                if card.section is not None and not card.asks("Section"):
                    card.lines.insert(0, card.section)
        return side_by_side(sheet, self.titles, self.cards, know)


def side_by_side(
    sheet: Sheet, titles: Sequence[RawCell], cards: Sequence[Card], know: Know
) -> Sheet:
    """Return a sheet with the labels in its first column and each card in a column of its own.

    The cells keep their addresses.

    Parameters
    ----------
    sheet : Sheet
        The sheet the cards stand on.
    titles : sequence of RawCell
        What stands above the first card.
    cards : sequence of Card
        The cards in their order.
    know : callable
        Reads a stack of heading texts.
    """
    labels: list[RawCell] = []
    values: list[dict[int, RawCell]] = []
    for number, card in enumerate(cards):
        mine: set[int] = set()
        for label, value in card.lines:
            line = _line_of(label, labels, mine, know)
            if line is None:
                line = len(labels)
                labels.append(label)
                values.append({})
            mine.add(line)
            if value is not None:
                values[line][number] = value
    cells = {(row, 1): title for row, title in enumerate(titles, start=1)}
    top = len(titles) + 2
    for row, (label, filled) in enumerate(zip(labels, values, strict=True), start=top):
        cells[row, 1] = label
        cells |= {(row, 2 + number): value for number, value in filled.items()}
    return replace(sheet, cells=cells, merged=())


def _line_of(label: RawCell, labels: Sequence[RawCell], taken: set[int], know: Know) -> int | None:
    """Return the line of a label: the same text, or the only one that asks for the same."""
    free = [at for at in range(len(labels)) if at not in taken]
    same = [at for at in free if _key(labels[at].text) == _key(label.text)]
    if same:
        return same[0]
    column = know((label.text,)).column
    alike = [at for at in free if column and know((labels[at].text,)) == know((label.text,))]
    return alike[0] if len(alike) == 1 else None


def _key(text: str) -> str:
    return " ".join(text.casefold().split())


# "Page 2 - Group 3", not "Group 3 broke a beaker".
_TITLE = re.compile(
    rf".*\b(?:{GROUP_WORDS}){BEFORE_CODE}\w{{1,3}}\s*(?:\Z|[-–—:|;(].*)", re.IGNORECASE | re.DOTALL
)

_WORD = re.compile(rf"\s*(?:{GROUP_WORDS})\s*\Z", re.IGNORECASE)  # "grp" is no group P


def group_in(title: RawCell) -> list[Line]:
    """Return the group a title of a card names, as a label with its value."""
    text = title.text if isinstance(title.value, str) else ""
    named = (_TITLE.fullmatch(text) or TABLE_NUMBERED.fullmatch(text)) and not _WORD.match(text)
    code = one_group_in([title.text]) if named and not looks_like_number(title) else ""
    return [(title.saying("Group"), title.saying(code))] if code else []


def one_of_several(label: RawCell, number: int = 1) -> str:
    """Return a label that nobody understands for one of several readings of the same thing."""
    return f"one of several at {label.address}, {number}"


def with_unit(label: str, unit: str) -> str:
    """Return a label with the unit beside its value; nobody understands one that names another."""
    own = unit_in_heading(label)[1]
    if own and known_unit(unit) and own != known_unit(unit):
        return f"two units, {own} and {unit}"
    return label if not unit or own else f"{label} ({unit})"


def with_fills_asked(card: Card, know: Know, *, few: bool) -> Card:
    """Return a card on which a fill that was left blank cannot be overlooked.

    Without it the sum would be too small if it was poured and not written down.

    Parameters
    ----------
    card : Card
        A card.
    know : callable
        Reads a stack of heading texts.
    few : bool
        Few cards ask for the same, so that nothing but a total that agrees shows that there was
        none. Otherwise only a total that differs makes one doubtful.
    """
    meant = [know((label.text,)).column or "" for label, _ in card.lines]
    asked = list(zip(card.lines, meant, strict=True))
    fills = [_number(v) for (_, v), c in asked if v is not None and fill_columns([c])]
    total = [_number(v) for (_, v), c in asked if v is not None and c == "water_volume_ml"]
    agrees = len(total) == 1 and abs(total[0] - sum(fills)) <= _ROUNDING_ML
    if not fills or agrees or not (few or total):
        return card
    lines: list[Line] = [
        (label, label.saying("?") if value is None and fill_columns([column]) else value)
        for (label, value), column in asked
    ]
    return replace(card, lines=lines)


# Totals are rounded to a millilitre.
_ROUNDING_ML = 1.0


def _number(value: RawCell) -> float:
    """Return the number a value begins with, not a number for anything else."""
    found = re.match(r"\s*(\d+(?:[.,]\d+)?)(?![\d.,])", value.text)
    return float(found[1].replace(",", ".")) if found else float("nan")
