"""Columns of plain numbers, read at once as :func:`parse_cell` would read each of them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from solubility_stats.quantities import Quantity
from solubility_stats.sheets.cells import asks_for_clock, heading_unit, parse_cell
from solubility_stats.sheets.model import CellContext, Outcome, RawCell
from solubility_stats.sheets.plausible import (
    FINE,
    IMPLAUSIBLE,
    REJECTED,
    UNCLEAR,
    dimension,
    judge_column,
)
from solubility_stats.sheets.units import SHOWN_UNIT, convert, dimension_of

COLUMN_OUTCOMES: tuple[Outcome, ...] = ("used", "converted", "unclear", "rejected")
_USED, _CONVERTED, _UNCLEAR, _REJECTED = range(len(COLUMN_OUTCOMES))


@dataclass(frozen=True)
class ParsedColumn:
    """A column of plain numbers, read at once.

    Attributes
    ----------
    values : ndarray of float, shape (n,)
        In the unit of the quantity; not-a-number where there is no usable value.
    codes : ndarray of uint8, shape (n,)
        Outcomes as positions in :data:`COLUMN_OUTCOMES`.
    unit : str
        Unit of the values.
    notes : dict of int to str
        Position and note of every value that needs one.
    flags : dict of int to tuple of str
        Position and flags of every flagged value.
    """

    values: NDArray[np.float64]
    codes: NDArray[np.uint8]
    unit: str
    notes: dict[int, str]
    flags: dict[int, tuple[str, ...]]

    @cached_property
    def outcomes(self) -> NDArray[np.str_]:
        """Outcomes in words, shape (n,)."""
        return np.array(COLUMN_OUTCOMES)[self.codes]


def parse_numeric_column(
    array: NDArray[np.float64], quantity: Quantity, context: CellContext
) -> ParsedColumn:
    """Read a column of plain numbers as :func:`parse_cell` would read each of them.

    Parameters
    ----------
    array : ndarray of float, shape (n,)
        Stored numbers in the heading's unit, all present; for blanks leave the row out.
    quantity : Quantity
        A quantity of kind ``number``.
    context : CellContext
        As for :func:`parse_cell`.
    """
    array = np.asarray(array, float)
    heading = heading_unit(quantity, context)
    wrong = bool(context.unit) and heading is None and bool(quantity.unit)
    wrong = wrong or asks_for_clock(quantity, context)
    unit = (heading or quantity.unit) if quantity.unit else ""
    if wrong or (quantity.unit and dimension_of(unit) != dimension(quantity)):
        probe = parse_cell(RawCell(1, 1, 1.0, "1"), quantity, context)
        blank = np.full(array.shape, np.nan)
        every = range(array.size)
        return ParsedColumn(
            blank,
            np.full(array.shape, _UNCLEAR, np.uint8),
            "",
            dict.fromkeys(every, probe.note),
            dict.fromkeys(every, probe.flags),
        )
    stated = heading is not None or not quantity.unit
    values = array if unit == quantity.unit else _convert_column(array, unit, quantity.unit)
    verdicts = judge_column(values, quantity, stated=stated, settled=context.unit_settled)
    if unit != quantity.unit and quantity.typical is not None:
        low, high = quantity.typical  # the figure fits, the unit of the heading does not
        verdicts[(verdicts == IMPLAUSIBLE) & (array >= low) & (array <= high)] = UNCLEAR
    codes = np.full(array.shape, _USED if unit == quantity.unit else _CONVERTED, np.uint8)
    codes[verdicts == UNCLEAR] = _UNCLEAR
    codes[verdicts == REJECTED] = _REJECTED
    notes: dict[int, str] = {}
    flags: dict[int, tuple[str, ...]] = {}
    for position in np.flatnonzero(verdicts != FINE).tolist():
        one = parse_cell(
            RawCell(1, 1, float(array[position]), f"{array[position]:g}"), quantity, context
        )
        notes[position], flags[position] = one.note, one.flags
    if unit != quantity.unit:
        note = f"converted from {SHOWN_UNIT.get(unit, unit)}"
        notes = {i: notes.get(i, note) for i in range(array.size)}
    kept = np.where(codes >= _UNCLEAR, np.nan, values)
    return ParsedColumn(kept, codes, quantity.unit, notes, flags)


def _convert_column(array: NDArray[np.float64], unit: str, target: str) -> NDArray[np.float64]:
    """Convert by the straight line through two points; every unit here is affine."""
    zero, hundred = convert(0.0, unit, target), convert(100.0, unit, target)
    if zero == 0.0:
        converted = array * convert(1.0, unit, target)
    else:
        converted = zero + array * ((hundred - zero) / 100.0)
    with np.errstate(all="ignore"):
        magnitude = np.where(converted == 0, 1.0, 10.0 ** np.floor(np.log10(np.abs(converted))))
    return np.where(
        np.isfinite(magnitude), np.round(converted / magnitude, 11) * magnitude, converted
    )
