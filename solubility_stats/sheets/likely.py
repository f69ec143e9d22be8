"""Headings with a word nobody foresaw: taken where the rest of the table leaves one meaning.

"White powder left over, g" says what it is to any colleague although "white" stands in no list. Such
a column is taken if the words that are understood mean one reading only, none of the others names
another thing, no other column claims that reading, and unit and values agree with it and with what
the other columns hold. What was taken so is said in the account, for a person to confirm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from solubility_stats.quantities import quantity
from solubility_stats.sheets import keywords
from solubility_stats.sheets.column_numbers import numbers_of
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.model import Decimal
from solubility_stats.sheets.numbers import decide_decimal
from solubility_stats.sheets.phrases import words_of
from solubility_stats.sheets.units import convert, dimension_of, unit_in_heading
from solubility_stats.sheets.view import looks_like_number
from solubility_stats.sheets.words import flag

Array = NDArray[np.float64]

# Most lines must hold a number, and most pairs must stand in the right order (judgement: a class
# makes slips, a wrong column is wrong on nearly every line).
_FILLED, _ORDERED = 0.5, 0.8
_FEWEST = 3
# Room around the typical range of a column: other solutes and other vessels (judgement).
_ROOM = 2.0
# Which of two readings is the larger, whatever the class did.
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
# A temperature of a lab, and of the things in it that are not the mixture (°C).
_LAB = (5.0, 45.0)


def take_likely(fields: list[Field], values: Values, lines: Sequence[int]) -> list[Field]:
    """Take the open columns that can only be one reading.

    Parameters
    ----------
    fields : list of Field
        Places of a table as settled by headings and arithmetic.
    values : mapping of int to sequence of RawCell or None
        Cells below the headings by place.
    lines : sequence of int
        Positions within ``values`` of the lines that may be runs.

    Returns
    -------
    list of Field
        The same places; those taken here say ``likely`` and why.
    """
    taken = {(f.column, f.trial) for f in fields if f.column}
    wanted = {f.place: column for f in fields if (column := _meant(f, taken))}
    if not wanted:
        return fields
    found: dict[tuple[str, str], list[Field]] = {}
    for f in fields:
        column = wanted.get(f.place, "")
        if not column or (column, f.trial) in taken:
            continue
        unit = f.unit or unit_in_heading(f.source.heading)[1]
        new = replace(
            f, column=column, unit=unit, state="understood", how="likely", note=_why(f, column)
        )
        if _fits(new, fields, values, lines):
            found.setdefault((column, f.trial), []).append(new)
    settled = {same[0].place: same[0] for same in found.values() if len(same) == 1}
    return [settled.get(f.place, f) for f in fields]


def _why(field: Field, column: str) -> str:
    strange = field.source.reading.strange
    words = f"although {_listed(strange)} is not understood" if strange else "by its unit"
    return f"taken as {column} {words}: nothing else in the table is"


def _listed(words: Sequence[str]) -> str:
    return ", ".join(f"'{w}'" for w in words)


def _meant(field: Field, taken: set[tuple[str, str]]) -> str:
    """Return the one column an open heading can mean, empty if there is none or more.

    What another heading claims is no longer open.
    """
    if field.state not in ("open", "unknown"):
        return ""
    reading = field.source.reading
    known = [c for c in reading.candidates if c != keywords.UNSURE]
    if known == [keywords.DERIVED]:
        return ""
    some = len(known) > 1
    if some and (reading.strange or set(known) == {"initial_mass_g", "recovered_mass_g"}):
        return ""  # a mass of anything
    known = [c for c in known if (c, field.trial) not in taken] if some else known
    if len(known) > 1 or (some and not known):
        return ""
    words = words_of(normal(field.source.heading))
    if not known:
        warm = reading.unit is not None and dimension_of(reading.unit) == "temperature"
        return "temperature_c" if warm and not keywords.names_other("temperature_c", words) else ""
    doubted = bool(reading.strange) or some
    return known[0] if doubted and not keywords.names_other(known[0], reading.strange) else ""


def _fits(field: Field, fields: Sequence[Field], values: Values, lines: Sequence[int]) -> bool:
    """Tell whether the values of a column may be the reading it is taken for."""
    cells = [c for i in lines if i < len(values[field.place]) and (c := values[field.place][i])]
    asked = quantity(field.column)
    if asked.kind == "identifier":
        return _are_codes([c.text.strip() for c in cells])
    if asked.kind != "number":
        return False
    numeric = [c for c in cells if looks_like_number(c)]
    if len(numeric) < max(2, _FILLED * len(cells)):
        return False
    own = _numbers(field, values, lines)
    return _usual(field, own) and _in_order(field, own, fields, values, lines)


def _are_codes(codes: Sequence[str]) -> bool:
    if all(flag(code) is not None and not code.isdigit() for code in codes):
        return False  # answers, yes or no
    short = all(len(c) <= 24 and "." not in c.rstrip(".") for c in codes)
    return len(codes) >= 2 and short


def _numbers(field: Field, values: Values, lines: Sequence[int]) -> Array:
    """Return the numbers of a column in its canonical unit, none where there is no number."""
    cells = values.get(field.place, ())
    chosen = [cells[i] if i < len(cells) else None for i in lines]
    asked = quantity(field.column)
    mark = _mark_elsewhere(values)
    if asked.unit != "degC":
        return numbers_of(chosen, field.unit, asked.unit, mark).values
    read = numbers_of(chosen, None, "", mark).values
    scale = field.unit or "degC"
    return np.array([convert(v, scale, "degC") if np.isfinite(v) else v for v in read.tolist()])


def _mark_elsewhere(values: Values) -> Decimal | None:
    """Return the decimal mark the columns of the table prove, if they agree."""
    texts = [[c.value for c in v if c is not None and isinstance(c.value, str)]
             for v in values.values()]  # fmt: skip
    marks = {decide_decimal(column)[0] for column in texts if column} - {None}
    return marks.pop() if len(marks) == 1 else None


def _usual(field: Field, own: Array) -> bool:
    asked = quantity(field.column)
    known = own[np.isfinite(own)]
    if known.size < 2:
        return False
    if asked.unit == "degC":
        low, high = _LAB
    elif asked.typical is None:
        return True
    else:
        low, high = asked.typical[0] / _ROOM, asked.typical[1] * _ROOM
    return bool(((known >= low) & (known <= high)).mean() >= _ORDERED)


def _in_order(
    field: Field, own: Array, fields: Sequence[Field], values: Values, lines: Sequence[int]
) -> bool:
    """Tell whether a column is lighter or smaller than what it must be, on most lines."""
    for part, whole in _LIGHTER:
        if field.column not in (part, whole):
            continue
        other = whole if field.column == part else part
        for g in fields:
            if g.column != other or g.trial != field.trial or g.state != "understood":
                continue
            theirs = _numbers(g, values, lines)
            small, large = (own, theirs) if field.column == part else (theirs, own)
            if not _mostly(small, large, np.less_equal):
                return False
    return True


def _mostly(one: Array, other: Array, holds: Callable[[Array, Array], NDArray[np.bool_]]) -> bool:
    both = np.isfinite(one) & np.isfinite(other)
    if both.sum() < 2:
        return True
    return bool(holds(one[both], other[both]).mean() >= _ORDERED)
