"""The plain numbers of a column, for comparing columns before anybody knows what they hold.

Only what can be read without doubt counts; everything else is no number here and is judged later,
when the column is read.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solubility_stats.sheets.expressions import read_text
from solubility_stats.sheets.formats import look
from solubility_stats.sheets.model import Decimal, RawCell
from solubility_stats.sheets.numbers import SIMPLE, Doubt, decide_decimal, read_literal, tidy
from solubility_stats.sheets.units import dimension_of, factor, known_unit


@dataclass(frozen=True)
class Numbers:
    """Numbers of a column, one entry per line.

    Attributes
    ----------
    values : ndarray
        Numbers in the unit asked for; nan where there is none.
    half_step : ndarray
        Half of the last digit written, in the same unit.
    units : tuple of str
        What stands behind each number, as written; empty for nothing.
    """

    values: NDArray[np.float64]
    half_step: NDArray[np.float64]
    units: tuple[str, ...]


_NUMBER_AND_REST = re.compile(rf"([-+]?\s?(?:{SIMPLE}))\s*([^\d].*)?")
_POURED = re.compile(r"\d\s*[+x×*]\s*\d", re.IGNORECASE)
_NONE = (float("nan"), float("nan"), "")
# A number stored without a format shows at most this many decimals.
_MOST_DECIMALS = 9


def numbers_of(
    cells: Sequence[RawCell | None],
    unit: str | None,
    target: str,
    elsewhere: Decimal | None = None,
) -> Numbers:
    """Return the numbers of a column in ``target``.

    Parameters
    ----------
    cells : sequence of RawCell or None
        One entry per line.
    unit : str or None
        Unit of the heading; the one asked for if there is none.
    target : str
        Unit name asked for; empty to leave the numbers as they are.
    elsewhere : str, optional
        Decimal mark of the other columns, for a column that does not tell.
    """
    texts = [c.value for c in cells if c is not None and isinstance(c.value, str)]
    mark = decide_decimal(texts, elsewhere=elsewhere)[0] if texts else None
    read = [_NONE if c is None else _one(c, unit, target, mark) for c in cells]
    values, steps, units = zip(*read, strict=True) if read else ((), (), ())
    return Numbers(np.array(values, dtype=float), np.array(steps, dtype=float), tuple(units))


def _one(
    cell: RawCell, unit: str | None, target: str, mark: Decimal | None
) -> tuple[float, float, str]:
    value, written = cell.value, ""
    if cell.is_error or cell.struck or isinstance(value, bool):
        return _NONE
    if isinstance(value, (int, float)):
        number, decimals = float(value), _decimals(cell)
        if decimals is None:
            return _NONE
    elif isinstance(value, str):
        if target == "mL" and _POURED.search(value):
            return _poured(value, unit, mark)
        found = _NUMBER_AND_REST.fullmatch(tidy(value))
        literal = read_literal(found[1], mark) if found else None
        if found is None or literal is None or isinstance(literal, Doubt):
            return _NONE
        number, decimals = float(literal.value), literal.decimals
        written = (found[2] or "").strip().casefold()
    else:
        return _NONE
    scale = _scale(written, unit, target)
    if scale is None:
        return _NONE
    return number * scale, 0.5 * 10.0**-decimals * scale, written


def _poured(text: str, unit: str | None, mark: Decimal | None) -> tuple[float, float, str]:
    """Return the volume of "3 x 50", "200 (4x50)" or "100+50" like a plain number."""
    said = read_text(text, mark, "volume", adds_up=True)
    scale = _scale((said.unit or "").casefold(), unit, "mL")
    if said.value is None or said.flags or scale is None:
        return _NONE
    step = 0.5 * 10.0 ** -(said.decimals or 0) * scale
    return float(said.value) * scale, step, (said.unit or "").casefold()


def _decimals(cell: RawCell) -> int | None:
    """Return the decimals of a stored number; ``None`` if it is shown as something else."""
    shape = look(cell.number_format)
    if shape.doubt or shape.percent or shape.exponent:
        return None
    if shape.decimals is not None:
        return shape.decimals
    value = cell.value
    assert isinstance(value, (int, float))
    for places in range(_MOST_DECIMALS):
        if round(value, places) == value:
            return places
    return _MOST_DECIMALS


def _scale(written: str, unit: str | None, target: str) -> float | None:
    """Return the factor to the unit asked for; ``None`` for a unit of another dimension."""
    if not target:
        return 1.0
    if written:
        dimension = dimension_of(target)
        unit = known_unit(written, dimension)
        if unit is None:
            return None
    if unit and dimension_of(unit) != dimension_of(target):
        return None  # a column that says minutes holds no mass
    return factor(unit or target, target)
