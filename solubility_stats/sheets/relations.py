"""What the values of two columns say about each other: a part is lighter than the whole.

Headings can be wrong or understood wrongly; the numbers below them show it on nearly every line.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from solubility_stats.quantities import fill_columns, quantity
from solubility_stats.sheets.column_numbers import numbers_of
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.model import Decimal, column_number
from solubility_stats.sheets.numbers import decide_decimal
from solubility_stats.sheets.units import convert, unit_in_heading

Array = NDArray[np.float64]

# A few lines may be slips of the pen; on most lines it is the heading (judgement).
MOST = 0.8
_FEWEST = 3
# What lies below what, whatever the class did.
_LIGHTER = (
    ("recovered_mass_g", "initial_mass_g"),
    ("second_dry_mass_g", "initial_mass_g"),
    ("recovered_mass_g", "recovered_with_paper_mass_g"),
    ("paper_mass_g", "recovered_with_paper_mass_g"),
    ("recovered_mass_g", "wet_cake_mass_g"),
    ("dish_mass_g", "dish_residue_mass_g"),
    ("aliquot_ml", "water_volume_ml"),
    ("evaporation_aliquot_ml", "water_volume_ml"),
    ("burette_start_ml", "burette_end_ml"),
)
# A residue may differ from the difference of its weighings by rounding; one that differs by more
# than a twentieth is another mass (judgement).
_SAME_MASS = 0.05
_SAME_ON_DISH_G = 1e-3
# A weighed-out mass aims at one target, so its values lie close together (judgement: 10 %).
_TARGET_SPREAD = 0.10


def readings(field: Field, values: Values, lines: Sequence[int] | None = None) -> Array:
    """Return the numbers of a column in its canonical unit, none where there is no number.

    Parameters
    ----------
    field : Field
        The place with the column it is taken for.
    values : mapping of int to sequence of RawCell or None
        Cells below the headings by place.
    lines : sequence of int, optional
        Positions within ``values`` to look at; all if not given.
    """
    cells = values.get(field.place, ())
    chosen = cells if lines is None else [cells[i] if i < len(cells) else None for i in lines]
    asked = quantity(field.column)
    unit = field.unit or unit_in_heading(field.source.heading)[1]
    mark = _mark_elsewhere(values)
    if asked.unit != "degC":
        return numbers_of(chosen, unit, asked.unit, mark).values
    read = numbers_of(chosen, None, "", mark).values.tolist()
    return np.array([convert(v, unit or "degC", "degC") if np.isfinite(v) else v for v in read])


def _mark_elsewhere(values: Values) -> Decimal | None:
    """Return the decimal mark the columns of the table prove, if they agree."""
    columns = [
        [c.value for c in cells if c is not None and isinstance(c.value, str)]
        for cells in values.values()
    ]
    marks = {decide_decimal(texts)[0] for texts in columns if texts} - {None}
    return marks.pop() if len(marks) == 1 else None


def mostly(one: Array, other: Array, holds: Callable[[Array, Array], NDArray[np.bool_]]) -> bool:
    """Tell whether a relation holds on most lines on which both columns have a number."""
    both = np.isfinite(one) & np.isfinite(other)
    return both.sum() < 2 or bool(holds(one[both], other[both]).mean() >= MOST)


def in_order(field: Field, fields: Sequence[Field], values: Values, lines: Sequence[int]) -> bool:
    """Tell whether a column lies below or above all columns it must, on most lines."""
    own = readings(field, values, lines)
    for part, whole in _LIGHTER:
        if field.column not in (part, whole):
            continue
        other = whole if field.column == part else part
        for g in _partners(fields, other, field.trial):
            theirs = readings(g, values, lines)
            small, large = (own, theirs) if field.column == part else (theirs, own)
            if not mostly(small, large, np.less_equal):
                return False
    return True


def _partners(fields: Sequence[Field], column: str, trial: str) -> Iterator[Field]:
    return (f for f in fields if f.column == column and f.trial == trial)


def contradicted(fields: Sequence[Field], values: Values) -> dict[int, str]:
    """Return remarks by place on columns whose values contradict their headings.

    Headings that stand in the vocabulary word for word are believed: then the class weighed a wet
    residue, say.
    """
    found: dict[int, str] = {}
    for part, whole in _LIGHTER:
        for f in (f for f in fields if f.column == part):
            for g in _partners(fields, whole, f.trial):
                if f.how == g.how == "vocabulary":
                    continue
                small, large = readings(f, values), readings(g, values)
                both = np.isfinite(small) & np.isfinite(large)
                if both.sum() >= _FEWEST and (small[both] > large[both]).mean() >= MOST:
                    for one, other in ((f, g), (g, f)):
                        said = other.source.heading
                        found[one.place] = f"its values and those of '{said}' contradict this"
    for f in fields:
        if f.column == "recovered_mass_g" and f.how != "vocabulary":
            own, net = readings(f, values), _difference(f, fields, values, "paper")
            if _differ(own, net):
                found[f.place] = "it is not the paper with its solid less the paper"
    return found


def dish_residues(fields: Sequence[Field], values: Values) -> set[int]:
    """Return the places called a residue that are what the evaporating dish holds."""
    if not any(f.column == "dish_mass_g" for f in fields):
        return set()
    return net_residues(fields, values) | {
        f.place
        for f in fields
        if f.column in ("recovered_mass_g", "initial_mass_g")
        if _on_dish(readings(f, values), _difference(f, fields, values, "dish"))
        or _worked_out_from_dish(f, fields, values)
    }


_DIFFERENCE_OF_CELLS = re.compile(r"=\s*\$?([A-Z]{1,2})\$?\d+\s*-\s*\$?([A-Z]{1,2})\$?\d+\s*")


def _worked_out_from_dish(field: Field, fields: Sequence[Field], values: Values) -> bool:
    """Tell whether formulas without a stored value take the dish from the dish with its residue."""
    pair = [next((f for f in fields if f.column == c), None) for c in reversed(_PAIRS["dish"])]
    if None in pair:
        return False
    empty, full = ({c.col for c in values.get(f.place, ()) if c} for f in pair if f is not None)
    cells = [c for c in values.get(field.place, ()) if c is not None and c.formula]
    told = [m for c in cells if (m := _DIFFERENCE_OF_CELLS.fullmatch(str(c.formula)))]
    own = [({column_number(m[1])}, {column_number(m[2])}) for m in told]
    return bool(told) and len(own) == len(cells) and all(o == (full, empty) for o in own)


def weighed_in_vessels(fields: Sequence[Field], values: Values) -> set[int]:
    """Return the places of a dish, empty and with solid, that what was weighed in came from.

    "Dish | Dish + lime | Lime | Water": no filtrate was evaporated, and the difference is the mass
    weighed in, or far more than a filtrate leaves.
    """
    pair = [next((f for f in fields if f.column == c), None) for c in reversed(_PAIRS["dish"])]
    if None in pair or any(f.column == "evaporation_aliquot_ml" for f in fields):
        return set()
    empty, full = (readings(f, values) for f in pair if f is not None)
    net = full - empty
    begun = [f for f in fields if f.column == "initial_mass_g"]
    alike = any(_equal(readings(f, values), net) for f in begun)
    known = net[np.isfinite(net)]
    heavy = known.size > 1 and float(np.median(known)) > _EVAPORATED_G
    return {f.place for f in pair if f is not None} if heavy and (alike or not begun) else set()


# More than 200 mL of saturated limewater leave, twice over (1.7 g/L).
_EVAPORATED_G = 0.7


def burette_used(fields: Sequence[Field], values: Values) -> int | None:
    """Return the place of an open column that holds the end less the start of the burette."""
    ends = [next((f for f in fields if f.column == c), None) for c in _BURETTE]
    if None in ends or any(f.column == "titrant_ml" for f in fields):
        return None
    start, end = (readings(f, values) for f in ends if f is not None)
    found = [
        f.place
        for f in fields
        if f.state in ("open", "unknown", "derived")
        and f.unit in (None, "mL")
        and _equal(readings(replace(f, column="titrant_ml"), values), end - start)
    ]
    return found[0] if len(found) == 1 else None


def off_paper(fields: Sequence[Field], values: Values) -> Field | None:
    """Return the worked-out or open column that holds paper with solid less the paper, as that."""
    if any(f.column == "recovered_mass_g" for f in fields):
        return None
    found = []
    for f in fields:
        gross = next(_partners(fields, "recovered_with_paper_mass_g", f.trial), None)
        open_mass = f.state == "open" and "initial_mass_g" in f.source.reading.candidates
        fits = f.state == "derived" or open_mass
        if not fits or gross is None or f.unit not in (None, gross.unit):
            continue
        net = replace(f, column="recovered_mass_g", unit=gross.unit)
        own = readings(net, values)
        to_mg = bool((np.abs(own * 100 - np.round(own * 100)) > _TRACE)[np.isfinite(own)].any())
        alike = _equal(own, _difference(net, fields, values, "paper"), 1 if to_mg else _FEWEST)
        if alike:
            found.append(net)
    return found[0] if len(found) == 1 else None


_BURETTE = ("burette_start_ml", "burette_end_ml")
# What a dish of filtrate leaves is so little that one line is enough to know it by (g).
_SPECK_G = 0.5


def agree(one: Field, other: Field, values: Values) -> bool:
    """Tell whether two places of one quantity hold the same in any unit: 299.5 mL, 0.2995 L."""
    if not one.column or one.column != other.column or quantity(one.column).kind != "number":
        return False
    first, second = readings(one, values), readings(other, values)
    both = np.isfinite(first) & np.isfinite(second)
    return bool(both.any() and np.allclose(first[both], second[both], rtol=1e-3))


def per_litre(fields: Sequence[Field], values: Values) -> Array | None:
    """Return what went missing per litre of water, line by line, if its columns are known."""
    known = {f.column: f for f in fields if f.column and not f.trial}
    start, left = known.get("initial_mass_g"), known.get("recovered_mass_g")
    gross, tare = (known.get(c) for c in _PAIRS["paper"])
    water = known.get("water_volume_ml")
    fills = [known[c] for c in fill_columns(known)]
    if start is None or (water is None and not fills):
        return None
    if left is not None:
        dry = readings(left, values)
    elif gross is not None and tare is not None:
        dry = readings(gross, values) - readings(tare, values)
    else:
        return None
    if water is not None:
        litres = readings(water, values) / 1000
    else:
        litres = np.nansum([readings(f, values) for f in fills], axis=0) / 1000
    with np.errstate(divide="ignore", invalid="ignore"):
        return (readings(start, values) - dry) / litres


def _on_dish(own: Array, net: Array | None) -> bool:
    if _equal(own, net):
        return True
    gaps, sizes = _gaps(own, net)
    return gaps.size > 0 and bool((gaps < _SAME_ON_DISH_G).all() and (sizes < _SPECK_G).all())


_PAIRS = {
    "paper": ("recovered_with_paper_mass_g", "paper_mass_g"),
    "dish": ("dish_residue_mass_g", "dish_mass_g"),
}


def net_residues(fields: Sequence[Field], values: Values) -> set[int]:
    """Return the places called a dish with its residue that hold the residue alone."""
    gross = [f for f in fields if f.column == "dish_residue_mass_g"]
    empty = next(_partners(fields, "dish_mass_g", ""), None)
    if empty is None or len(gross) < 2:
        return set()
    vessel = readings(empty, values)
    return {
        f.place
        for f in gross
        if any(
            _equal(readings(f, values), readings(g, values) - vessel) for g in gross if g is not f
        )
    }


def _difference(field: Field, fields: Sequence[Field], values: Values, pair: str) -> Array | None:
    """Return a vessel with its solid less the vessel, if both are among the columns."""
    gross, empty = (next(_partners(fields, c, field.trial), None) for c in _PAIRS[pair])
    if gross is None or empty is None:
        return None
    return readings(gross, values) - readings(empty, values)


# More than this is a third decimal, and no trace of binary fractions.
_TRACE = 0.05


def _equal(own: Array, net: Array | None, fewest: int = _FEWEST) -> bool:
    """Tell whether two masses are the same to the last digit on most lines.

    One line is enough where masses were read to the milligram.
    """
    gaps, _ = _gaps(own, net)
    return gaps.size >= fewest and bool((gaps < _SAME_ON_DISH_G).mean() >= MOST)


def _differ(own: Array, net: Array | None) -> bool:
    """Tell whether two masses are apart by more than rounding on most lines."""
    gaps, sizes = _gaps(own, net)
    return gaps.size >= _FEWEST and bool((gaps > _SAME_MASS * sizes).mean() >= MOST)


def _gaps(own: Array, net: Array | None) -> tuple[Array, Array]:
    """Return how far two masses are apart and their size, on the lines that have both."""
    both = np.zeros(own.shape, bool) if net is None else np.isfinite(own) & np.isfinite(net)
    apart = own[both] if net is None else np.abs(own - net)[both]
    return apart, np.abs(own)[both]


def never_below(mass: Field, recovered: Field, values: Values) -> bool:
    """Tell whether a mass is nowhere less than the recovered one, on lines enough to tell."""
    own, left = readings(mass, values), readings(recovered, values)
    both = np.isfinite(own) & np.isfinite(left)
    return bool(both.sum() >= _FEWEST and (own[both] >= left[both]).all())


def weighed_out(mass: Field, recovered: Field, values: Values) -> bool:
    """Tell whether masses lie close together, as weighed out, and never below the recovered."""
    own, left = readings(mass, values), readings(recovered, values)
    both = np.isfinite(own) & np.isfinite(left)
    if both.sum() < _FEWEST or (own[both] <= left[both]).any():
        return False
    sizes = np.sort(own[both])
    middle = sizes[sizes.size // 2]
    return bool(middle > 0 and sizes[-1] - sizes[0] <= 2 * _TARGET_SPREAD * middle)
