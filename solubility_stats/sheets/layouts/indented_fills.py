"""The fills listed below a group, put in order: which is which, and which is the sum of the others.

What is not sure becomes a "?" in the place of a fill, so that no sum is made of the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from math import isclose

from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.view import looks_like_number


@dataclass
class Fill:
    """One line below a group: its number (0 for none), the cell that names it, and its volume."""

    number: int
    mark: RawCell
    volume: RawCell | None


@dataclass
class Poured:
    """The water of one group: what stands on its own line, the fills below it, and their sum."""

    row: int
    own: RawCell | None
    fills: list[Fill] = field(default_factory=list)
    total: Fill | None = None
    rest: list[RawCell] = field(default_factory=list)
    named: bool = True

    @property
    def marks(self) -> list[RawCell]:
        """The cells that name the fills and their sum."""
        return [f.mark for f in (*self.fills, *([self.total] if self.total else []))]


def in_order(runs: Sequence[Poured], book: Book) -> list[dict[int, RawCell]]:
    """Return the fills of each run by number; settle what stands on the line of each group.

    Parameters
    ----------
    runs : sequence of Poured
        The groups with the lines below them. ``own`` is left as what is the total of each.
    book : Book
        The ledger of the sheet, in which the names of the fills are entered.
    """
    for run in runs:
        for mark in run.marks:
            book.enter(mark, Entry("context", note="names a fill of the group above"))
    if all(not run.named for run in runs):
        _take_sums(runs)
    totals = _own_is_total(runs)
    return [_of_run(run, totals, book) for run in runs]


def _number(cell: RawCell | None) -> float | None:
    value = cell.value if cell is not None else None
    return float(value) if isinstance(value, (int, float)) else None


def _is_sum(cell: RawCell | None, parts: Sequence[RawCell | None]) -> bool:
    total, numbers = _number(cell), [_number(part) for part in parts]
    known = [n for n in numbers if n is not None]
    return total is not None and len(known) == len(numbers) and isclose(total, sum(known))


# The sum of one fill is the fill: two equal numbers tell nothing.
_FEWEST_PARTS = 2


def _take_sums(runs: Sequence[Poured]) -> None:
    """Take the last line below each group as the sum of the others, where it is in all of them."""
    summed = []
    for run in runs:
        *parts, last = [run.own, *(f.volume for f in run.fills)]
        parts = [p for p in parts if p is not None]
        formula = last.formula if last is not None else None
        adds = formula is not None and formula.upper().startswith("=SUM(")
        summed.append(adds or (len(parts) >= _FEWEST_PARTS and _is_sum(last, parts)))
    if all(summed):
        for run in runs:
            run.total = run.fills.pop()


def _own_is_total(runs: Sequence[Poured]) -> bool | None:
    """Tell whether the water on the lines of the groups is a total, or one fill more.

    ``None`` if that cannot be said.
    """
    own = [run for run in runs if run.own is not None]
    if any(f.number == 1 for run in own for f in run.fills):
        return True
    if own and all(f.number for run in own for f in run.fills):
        return False if all(run.fills[0].number == 2 for run in own) else None
    told = [run for run in own if len(run.fills) >= _FEWEST_PARTS]
    sums = [_is_sum(run.own, [f.volume for f in run.fills]) for run in told]
    if not own or (told and all(sums)):
        return True
    return False if told and not any(sums) and not own[0].named else None


def _of_run(run: Poured, totals: bool | None, book: Book) -> dict[int, RawCell]:
    counted = all(f.number for f in run.fills)
    fills: dict[int, RawCell] = {}
    unsure = run.fills[-1].mark.saying("?")
    if totals is False and run.own is not None:
        fills[1] = run.own
        run.own = None
    ahead = 0 if counted else len(fills)
    for at, fill in enumerate(run.fills, start=1):
        place = fill.number if counted else at + ahead
        if fill.volume is not None and place in fills:
            for twice in (fills[place], fill.volume):
                book.enter(twice, Entry("unclear", note=f"two volumes for fill {place}"))
            fills[place] = unsure
        elif fill.volume is not None:
            fills[place] = fill.volume
    for place in range(1, max(fills, default=1)):
        fills.setdefault(place, unsure)
    mixed = not counted and any(f.number for f in run.fills)
    if not fills or mixed or (totals is None and run.own is not None):
        fills[max(fills, default=0) + 1] = unsure
    _settle_total(run, book)
    return fills


def _settle_total(run: Poured, book: Book) -> None:
    """Make the sum below the fills the total of a run that has none on its line."""
    if run.total is None or run.total.volume is None:
        return
    if run.own is None:
        run.own = run.total.volume
        return
    same = run.total.volume.text == run.own.text
    note = "the same total again" if same else "differs from the total on the line of the group"
    book.enter(run.total.volume, Entry("ignored" if same else "unclear", note=note))
    if not same and looks_like_number(run.own):
        book.enter(run.own, Entry("unclear", note="differs from the total below the fills"))
        run.own = None
