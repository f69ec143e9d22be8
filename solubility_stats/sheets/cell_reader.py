"""Reading the cells of a table column by column: context, decimal mark, each content once."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from solubility_stats.quantities import quantity
from solubility_stats.sheets import lines as line_kinds
from solubility_stats.sheets.cells import decide_decimal, parse_cell, scale_breaks
from solubility_stats.sheets.fills import mostly_sums
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import CellContext, DateOrder, Decimal, ParsedCell, RawCell
from solubility_stats.sheets.numbers import BY_SIZE
from solubility_stats.sheets.resolve import Field, is_number


@dataclass(frozen=True)
class Habits:
    """What was decided for the whole table or file about how numbers and dates are written."""

    decimal: Decimal | None = None
    date_order: DateOrder | None = None
    settled_units: frozenset[str] = frozenset()
    settled_cells: Mapping[str, object] = field(default_factory=dict)
    codes: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True)
class Line:
    """A line of a table: number, kind and cells by place."""

    number: int
    kind: line_kinds.Kind
    cells: Mapping[int, RawCell]


class Read:
    """What one content of a column is read as, with its ledger entry.

    ``plain`` marks the common case: a value without flag that simply goes into its column.
    """

    __slots__ = ("entry", "parsed", "plain")

    def __init__(self, f: Field, parsed: ParsedCell) -> None:
        self.parsed = parsed
        self.entry = Entry(parsed.outcome, f.column, parsed.value, parsed.unit, parsed.note)
        several = f.column in ("comment", "reported_solubility")
        self.plain = parsed.value is not None and not (parsed.flags or parsed.parts or several)


class CellReader:
    """Reads the cells of a table column by column, each distinct content once."""

    def __init__(
        self, fields: Sequence[Field], listed: Sequence[Line], habits: Habits, book: Book
    ) -> None:
        self.decided: dict[str, str] = {}
        self._settled = habits.settled_cells
        self._contexts: dict[int, CellContext] = {}
        self._by_size: dict[int, str] = {}
        self._known: dict[int, dict[tuple[object, ...], Read]] = {f.place: {} for f in fields}
        runs = [line for line in listed if line.kind in ("run", "example", "blank", "summary")]
        texts: dict[int, list[str]] = {f.place: [] for f in fields}
        for line in runs:
            for place, cell in line.cells.items():
                if isinstance(cell.value, str) and place in texts:
                    texts[place].append(cell.value)
        elsewhere = self._elsewhere(fields, texts, habits)
        for f in fields:
            if f.column:
                own = texts[f.place]
                self._contexts[f.place] = self._context(f, own, runs, elsewhere, habits, book)
        self._breaks = self._lone_scales(fields, runs)

    def _elsewhere(
        self, fields: Sequence[Field], texts: Mapping[int, list[str]], habits: Habits
    ) -> Decimal | None:
        if habits.decimal is not None:
            return habits.decimal
        marks = set()
        for f in fields:
            if is_number(f) and texts[f.place]:
                mark, reason = decide_decimal(texts[f.place])
                if mark is None and reason.startswith("both"):
                    return None
                marks.add(mark)
        marks.discard(None)
        return marks.pop() if len(marks) == 1 else None

    def _context(
        self,
        f: Field,
        texts: list[str],
        runs: Sequence[Line],
        elsewhere: Decimal | None,
        habits: Habits,
        book: Book,
    ) -> CellContext:
        mark: Decimal | None = None
        if is_number(f):
            mark, reason = decide_decimal(
                texts,
                quantity=quantity(f.column),
                unit=f.unit,
                elsewhere=elsewhere,
                beside=self._numbers_of(f, runs) if texts else (),
            )
            if mark is not None:
                self.decided[f.column] = f"decimal '{mark}': {reason}"
            if reason.startswith(BY_SIZE):
                self._by_size[f.place] = f"decimal '{mark}': {reason}"
        order = habits.date_order
        if quantity(f.column).kind == "moment":
            order = order or _date_order(texts)
        return CellContext(
            f.column,
            f.unit,
            habits.decimal or mark,
            order,
            book.sheet.date_1904,
            " ".join([f.source.heading, *filter(None, [habits.codes.get(f.column)])]),
            f.column in habits.settled_units,
            f.column == "water_volume_ml" and mostly_sums(texts),
        )

    @staticmethod
    def _numbers_of(f: Field, runs: Sequence[Line]) -> list[float]:
        """Return what a column holds as numbers, beside its texts."""
        cells = [line.cells[f.place] for line in runs if f.place in line.cells]
        return [float(c.value) for c in cells if isinstance(c.value, (int, float))]

    def _lone_scales(self, fields: Sequence[Field], runs: Sequence[Line]) -> set[tuple[int, int]]:
        """Return the cells a factor of about a thousand away from the rest of their column."""
        found: set[tuple[int, int]] = set()
        for f in fields:
            if not is_number(f) or f.column == "burette_start_ml":  # near nothing after a filling
                continue
            cells = [
                line.cells[f.place] for line in runs if f.place in line.cells and line.kind == "run"
            ]
            if {c.value.__class__ for c in cells} <= {int, float} and not spread_out(
                np.array([c.value for c in cells], dtype=float)
            ):
                continue  # all typed and of one size: reading them one by one tells no more
            values = np.array([_in_one_unit(self._parse(f, c).parsed) for c in cells], dtype=float)
            if spread_out(values):
                marked = np.flatnonzero(scale_breaks(values, quantity(f.column)))
                found.update((cells[k].row, cells[k].col) for k in marked)
        return found

    def _parse(self, f: Field, cell: RawCell) -> Read:
        """Read a cell; cells of a column with equal content share one answer."""
        if cell.formula or cell.comment or cell.struck or cell.is_error or cell.hidden:
            return Read(f, parse_cell(cell, quantity(f.column), self._contexts[f.place]))
        known = self._known[f.place]
        key = (cell.value, cell.number_format, cell.value.__class__)
        found = known.get(key)
        if found is None:
            parsed = parse_cell(cell, quantity(f.column), self._contexts[f.place])
            if (
                f.place in self._by_size
                and isinstance(cell.value, str)
                and parsed.value is not None
            ):
                flags = (*parsed.flags, "unclear")
                parsed = replace(parsed, flags=flags, note=self._by_size[f.place])
            found = known[key] = Read(f, parsed)
        return found

    def read(self, f: Field, cell: RawCell) -> Read:
        """Return what a cell is read as."""
        if self._settled and cell.address in self._settled:
            return Read(f, _settled(self._settled[cell.address], f))
        found = self._parse(f, cell)
        if self._breaks and (cell.row, cell.col) in self._breaks and found.parsed.value is not None:
            note = "far off the rest of the column, as if in another unit"
            return Read(f, ParsedCell(None, "unclear", flags=("unclear",), note=note))
        return found


def _in_one_unit(parsed: ParsedCell) -> float:
    """Return a value for comparison with its column: a solubility in g/mL as one in g/L."""
    if not isinstance(parsed.value, float):
        return float("nan")
    per_millilitre = _PER_MILLILITRE.fullmatch(parsed.unit) if parsed.unit else None
    return parsed.value * (1000.0 if per_millilitre else 1.0)


_PER_MILLILITRE = re.compile(r"\s*g(?:rams?)?\s*(?:/|per)\s*(?:mL|cm3|cm³)\s*", re.IGNORECASE)


def spread_out(values: NDArray[np.float64]) -> bool:
    """Tell whether a column spans so much that a value in another unit is possible at all."""
    sizes = np.abs(values[np.isfinite(values)])
    return sizes.size > 0 and bool(sizes.max() - sizes.min() > 15 or sizes.max() > 25 * sizes.min())


_DATE = re.compile(r"\s*(\d{1,2})[/.-](\d{1,2})[/.-]\d{2,4}\b")


def _date_order(texts: Sequence[str]) -> DateOrder | None:
    """Return the order of day and month that some day above 12 proves for the column."""
    pairs = [(int(m[1]), int(m[2])) for t in texts if (m := _DATE.match(t))]
    day_first = any(a > 12 for a, _ in pairs)
    month_first = any(b > 12 for _, b in pairs)
    if day_first == month_first:
        return None
    return "dmy" if day_first else "mdy"


def _settled(value: object, f: Field) -> ParsedCell:
    note = "settled by the mapping"
    if value == "":
        return ParsedCell(None, "ignored", note="left out by the mapping")
    if is_number(f):
        return ParsedCell(float(str(value)), "used", quantity(f.column).unit, note=note)
    return ParsedCell(value, "used", note=note)
