"""Can this value be true? Limits, missing-value codes and a lone value a power of ten away.

One set of thresholds serves the single cell and, vectorised, the column of plain numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from solubility_stats.quantities import Quantity
from solubility_stats.sheets.units import SHOWN_UNIT, convert, dimension_of

Verdict = Literal["fine", "implausible", "unclear", "rejected"]
VERDICTS: tuple[Verdict, ...] = ("fine", "implausible", "unclear", "rejected")
FINE, IMPLAUSIBLE, UNCLEAR, REJECTED = range(4)

# Codes that data loggers and habits put in place of a missing value.
PLACEHOLDERS = (99.0, 999.0, 9999.0, 99.99, 999.99, -9.0, -77.0, -88.0, -99.0, -999.0)
# A value of nothing cannot have been measured here (judgement: the run could not exist).
_NEVER_ZERO = frozenset(
    {
        "initial_mass_g",
        "water_volume_ml",
        "recovered_with_paper_mass_g",
        "aliquot_ml",
        "evaporation_aliquot_ml",
        "titrant_mol_per_l",
        "dish_mass_g",
        "dish_residue_mass_g",
    }
)
# Nothing left, or nothing needed, is possible but more often means that there is no value.
_ODD_ZERO = frozenset({"recovered_mass_g", "second_dry_mass_g", "wet_cake_mass_g", "titrant_ml"})
# How far outside the typical range a value must lie before its unit is in question (judgement:
# a factor of five leaves room for other solutes, and is far from the factors 60 and 1000).
_ROOM = 5.0
# Temperature has no factor; a lab between these needs no question about the scale (judgement).
_LAB_TEMPERATURES = (0.0, 40.0)
# Day numbers of spreadsheet programs for the years 1995 to 2064.
SERIALS = (35_000, 60_000)


@dataclass(frozen=True, slots=True)
class Limits:
    """Thresholds of one column, in its canonical unit."""

    low: float
    high: float
    odd_low: float
    odd_high: float
    never_zero: bool
    odd_zero: bool
    placeholders: tuple[float, ...]
    serial: bool
    litres: tuple[float, float]


def limits(quantity: Quantity) -> Limits:
    """Return the thresholds of a quantity."""
    q = quantity
    return _limits(q.name, q.unit, q.low, q.high, q.typical)


@lru_cache(maxsize=128)
def _limits(
    name: str, unit: str, lowest: float, highest: float, typical: tuple[float, float] | None
) -> Limits:
    odd = (-np.inf, np.inf)
    codes: tuple[float, ...] = PLACEHOLDERS
    if typical is not None:
        low, high = typical
        odd = (low / _ROOM, high * _ROOM)
        codes = tuple(c for c in PLACEHOLDERS if c > 900 or not low <= c <= high)
    if unit == "degC":
        odd = _LAB_TEMPERATURES
    # A volume that small is litres whatever the heading says; for masses the heading's word
    # stands, because other solutes take other masses.
    litres = (np.inf, -np.inf)
    if unit == "mL" and typical is not None:
        litres = (typical[0] / 1000, typical[1] / 1000)
    return Limits(
        lowest,
        highest,
        *odd,
        never_zero=name in _NEVER_ZERO,
        odd_zero=name in _ODD_ZERO,
        placeholders=codes,
        serial=highest > SERIALS[0],
        litres=litres,
    )


def judge(value: float, quantity: Quantity, *, stated: bool, settled: bool = False) -> Verdict:
    """Judge one value in the canonical unit; see :func:`judge_column`."""
    lim = limits(quantity)
    if not lim.low <= value <= lim.high:
        return "rejected"
    if value == 0.0:
        return "unclear" if lim.never_zero else "implausible" if lim.odd_zero else "fine"
    if value in lim.placeholders:
        return "unclear"
    if lim.serial and SERIALS[0] <= value <= SERIALS[1] and value == int(value):
        return "unclear"
    if settled or lim.odd_low <= value <= lim.odd_high:
        return "fine"
    in_litres = lim.litres[0] <= value <= lim.litres[1]
    return "implausible" if stated and not in_litres else "unclear"


def judge_column(
    values: NDArray[np.float64], quantity: Quantity, *, stated: bool, settled: bool = False
) -> NDArray[np.uint8]:
    """Judge a column of values.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Values in the canonical unit; not-a-number is judged ``unclear``.
    quantity : Quantity
        The column.
    stated : bool
        The heading or the cells name the unit. An unusual size is then only marked; without a
        unit it stops the value, because the unit may be another one.
    settled : bool
        A person has settled the unit; the size raises no question.

    Returns
    -------
    ndarray of uint8, shape (n,)
        Positions in :data:`VERDICTS`.
    """
    lim = limits(quantity)
    verdicts = np.zeros(values.shape, np.uint8)
    if not settled:
        odd = ~((values >= lim.odd_low) & (values <= lim.odd_high)) & (values != 0.0)
        verdicts[odd] = IMPLAUSIBLE if stated else UNCLEAR
        verdicts[odd & (values >= lim.litres[0]) & (values <= lim.litres[1])] = UNCLEAR
    if lim.odd_zero:
        verdicts[values == 0.0] = IMPLAUSIBLE
    for code in (*lim.placeholders, *((0.0,) if lim.never_zero else ())):
        verdicts[values == code] = UNCLEAR
    if lim.serial:
        day = (values >= SERIALS[0]) & (values <= SERIALS[1]) & (values == np.floor(values))
        verdicts[day] = UNCLEAR
    verdicts[np.isnan(values)] = UNCLEAR
    verdicts[(values < lim.low) | (values > lim.high)] = REJECTED
    return verdicts


def explain(
    value: float,
    quantity: Quantity,
    verdict: Verdict,
    *,
    stated: bool,
    written: tuple[float, str] | None = None,
) -> str:
    """Say in words why a value was marked or stopped.

    Parameters
    ----------
    value : float
        In the canonical unit.
    quantity : Quantity
        The column.
    verdict : str
        From :func:`judge`.
    stated : bool
        As for :func:`judge`.
    written : tuple of (float, str), optional
        Figure and unit before conversion, if there was one.
    """
    if verdict == "fine":
        return ""
    figure, told = written or (value, quantity.unit)
    other = _other_unit(figure, told, quantity)
    unit = SHOWN_UNIT.get(quantity.unit, quantity.unit) or "plain figures"
    lim = limits(quantity)
    if verdict == "rejected":
        span = f"{quantity.low:g} to {quantity.high:g} {unit}"
        return f"{value:g} {unit} is outside what is possible ({span}){other}"
    if value == 0.0 and verdict == "implausible":
        return "0 may be a true reading or stand for a missing value"
    if value == 0.0:
        return "0 cannot be a measurement here; it may stand for a missing value"
    if value in lim.placeholders:
        return f"{value:g} is often written where a value is missing"
    if lim.serial and SERIALS[0] <= value <= SERIALS[1]:
        return f"{value:g} may be the day number of a date"
    text = f"{value:g} {unit} is unusual here{other}"
    return text if stated else f"no unit is written and {text}"


def _other_unit(figure: float, told: str, quantity: Quantity) -> str:
    """Name the unit in which the same figure would be usual, if there is one."""
    if quantity.typical is None:
        return ""
    low, high = quantity.typical
    others = {"g": ("mg", "kg"), "mL": ("L",), "degC": ("degF", "K"), "min": ("h", "s")}
    for other in (quantity.unit, *others.get(quantity.unit, ())):
        if other != told and low <= convert(figure, other, quantity.unit) <= high:
            return f"; {figure:g} {SHOWN_UNIT.get(other, other)} would be usual"
    return ""


def scale_breaks(values: NDArray[np.float64], quantity: Quantity) -> NDArray[np.bool_]:
    """Mark lone values that look like another unit than the rest of their column.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Values of one column in the unit of the quantity; not-a-number counts as absent.
    quantity : Quantity
        The column.

    Returns
    -------
    ndarray of bool, shape (n,)
        True where the value is more than 30 times above or below the median of at least four
        positive values, half of which lie within a factor of three of that median (judgement:
        near the 1000 between units, and wide enough never to touch an honest slip of one digit,
        which is for the slip finder). For temperatures: more than 20 K from the median while the
        same figure in °F or K lies within 8 K of it.
    """
    good = values[np.isfinite(values)]
    marked = np.zeros(values.shape, bool)
    if good.size < 4:
        return marked
    middle = float(np.median(good))
    if quantity.unit == "degC":
        for scale in ("degF", "K"):
            other = np.array([convert(v, scale, "degC") for v in values.tolist()])
            marked |= (np.abs(values - middle) > 20) & (np.abs(other - middle) < 8)
        return marked
    if middle <= 0 or np.mean((good > middle / 3) & (good < middle * 3)) < 0.5:
        return marked
    with np.errstate(invalid="ignore"):
        return (values > 0) & ((values > 30 * middle) | (values < middle / 30))


def dimension(quantity: Quantity) -> str | None:
    """Return the dimension of a quantity's unit, ``None`` if it has none."""
    return dimension_of(quantity.unit)
