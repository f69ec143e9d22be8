"""Columns of fills: several under one heading, some without heading, one that may be missing."""

from __future__ import annotations

import re
from collections.abc import Sequence, Set
from dataclasses import replace
from itertools import pairwise

import numpy as np

from solubility_stats.quantities import fill_column, fill_columns, quantity
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.heading_line import EACH_FILL
from solubility_stats.sheets.heading_text import (
    RATIO,
    counted,
    normal,
    plain_ordinals,
    without_size,
)
from solubility_stats.sheets.keywords import tells_volume
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.phrases import concepts_in, words_of
from solubility_stats.sheets.relations import readings
from solubility_stats.sheets.strange_words import may_name, names_other
from solubility_stats.sheets.units import dimension_of, unit_in_heading
from solubility_stats.sheets.view import looks_like_number


def number_repeated_fills(fields: list[Field]) -> list[Field]:
    """Give numbers to neighbouring volumes under one and the same heading: they are fills."""
    done = list(fields)
    start = 0
    while start < len(done):
        end = start + 1
        while end < len(done) and _same_volume(done[start], done[end]):
            end += 1
        if end - start > 1:
            for number, at in enumerate(range(start, end), start=1):
                done[at] = replace(
                    done[at],
                    column=fill_column(number),
                    how="pattern",
                    note="the same heading several times: read as one fill after another",
                )
        start = end
    return done


def go_on_counting(fields: list[Field]) -> list[Field]:
    """Take "2nd (mL)" or "2nd" behind "1st 50 mL cylinder (mL)" for the next fill."""
    done = list(fields)
    for at in range(1, len(done)):
        before, f = done[at - 1], done[at]
        if before.column == fill_column(4) and f.column == "water_volume_ml" and _fifth(before, f):
            note = "the next fill by its number"
            done[at] = replace(f, column=fill_column(5), how="pattern", note=note)
            continue
        if not fill_columns([before.column]) or f.state not in ("open", "unknown"):
            continue
        lowest = f.source.cells[-1].text if f.source.cells else ""
        rest, unit = unit_in_heading(f.source.heading)
        rest, unit = (lowest, unit) if counted(lowest).isdigit() else (rest, unit)
        number = counted(rest)
        following = fill_column(int(before.column.split("_")[1]) + 1)
        if unit is None and not normal(rest).isdigit():
            unit = before.unit  # "1st cylinder (mL) | 2nd | 3rd"
        bare = unit is None and normal(lowest) == normal(rest)  # "cyl. 1st | 2nd | 3rd"
        volume = bare or (unit is not None and dimension_of(unit) == "volume")
        if volume and number.isdigit() and fill_column(int(number)) == following:
            done[at] = replace(
                f, column=following, unit=unit, state="understood", how="pattern", trial="",
                note="the next fill by its number",
            )  # fmt: skip
    return done


def _fifth(before: Field, field: Field) -> bool:
    """Tell whether a heading ends in V where the one before it ends in IV."""
    one, two = (unit_in_heading(f.source.heading)[0].strip() for f in (before, field))
    return one.endswith(" IV") and two == f"{one.removesuffix(' IV')} V"


def sums_are_totals(fields: list[Field], values: Values) -> list[Field]:
    """Take a lone column of pours for the water where its cells are sums ("100+100+50")."""
    fields = [_as_sum(f, fields, values) for f in fields]
    fills = [f for f in fields if fill_columns([f.column])]
    if len(fills) != 1 or fills[0].column != fill_column(1) or fills[0].trial:
        return fields
    cells = [c.text for c in values.get(fills[0].place, ()) if c is not None]
    each = fills[0].note == EACH_FILL
    listed = each and 2 * sum(_IS_LIST.search(t) is not None for t in cells) > len(cells)
    if not listed and not mostly_sums(cells):
        if each and _is_sum_of_several(fills[0], values):
            total = replace(
                fills[0], column="water_volume_ml", how="values",
                note="so much in each of them would be more water than usual: all of them",
            )  # fmt: skip
            return [total if f is fills[0] else f for f in fields]
        if each and not any(f.column == "water_volume_ml" for f in fields):
            note = "the volume of one of several fills, or of all of them"
            opened = replace(fills[0], column="", state="open", note=note)
            return [opened if f is fills[0] else f for f in fields]
        return fields
    total = replace(fills[0], column="water_volume_ml", note="the pours of each run as a sum")
    return [total if f is fills[0] else f for f in fields]


# "Water (3 cylinders)"
_SEVERAL = re.compile(
    r"\b([2-9])\s+(?:cylinders|fills|pours|portions|cylinderfuls)\b", re.IGNORECASE
)
# So much water is the most that groups take (mL, judgement).
_MOST_ML = 600.0


def _is_sum_of_several(field: Field, values: Values) -> bool:
    """Tell whether volumes below "3 cylinders" are their sum: three times as much is too much."""
    counted = _SEVERAL.search(field.source.heading)
    if counted is None:
        return False
    poured = readings(replace(field, column="water_volume_ml"), values)
    known = poured[np.isfinite(poured)]
    return known.size > 0 and bool((known * int(counted[1]) > _MOST_ML).all())


def _as_sum(field: Field, fields: Sequence[Field], values: Values) -> Field:
    """Take an open column of water whose cells are sums or products for the fills of each run."""
    known = any(f.column != "water_volume_ml" and fill_columns([f.column]) for f in fields)
    rest, unit = unit_in_heading(field.source.heading)
    volume = unit is None or dimension_of(unit) == "volume"
    if field.state not in ("open", "unknown") or known or field.trial or not volume:
        return field
    said = concepts_in(rest)
    cells = [c.text for c in values.get(field.place, ()) if c is not None]
    if (
        not said & {"water", "fill", "volume"}
        or said & NO_FILL - {"total"}
        or not mostly_sums(cells)
    ):
        return field
    note = "volumes written as sums or products: the fills of each run"
    return replace(
        field, column="water_volume_ml", unit=unit, state="understood", how="values", note=note
    )


def mostly_sums(texts: Sequence[str]) -> bool:
    """Tell whether most of some volumes are written as a sum or product of fills."""
    return 2 * sum(_IS_SUM.search(t) is not None for t in texts) > len(texts)


_IS_SUM = re.compile(
    r"\d\s*(?:m?L|cm3|cm³)?\s*(?:\+|[x×*]\s?\d)|\d\D{0,6}\btimes\b|\btimes\b\D{0,4}\d|\d,\s\d+(?:\.\d+)?,\s\d",
    re.IGNORECASE,
)
# "100, 100", where the heading asks for each.
_IS_LIST = re.compile(r"\d\s*(?:m?L|cm3|cm³)?\s*(?:,\s|;|/|&|\band\b)\s*\d", re.IGNORECASE)
_NUMBER_WORDS = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}
# What is measured in numbered volumes and is no fill of water.
NO_FILL = frozenset(
    {"acid", "titre", "titrated", "burette", "aliquot", "filtrate", "evaporation", "dish",
     "derived", "summary", "total", "temperature", "time", "mass", "before", "after"}
)  # fmt: skip


def take_numbered_series(fields: list[Field], values: Values) -> list[Field]:
    """Take neighbouring columns "Splash 1 (mL)", "Splash 2 (mL)", … for the fills they count.

    Whatever the word, volumes counted from 1 beside one another are the fills, if no other column
    is and nothing says that they are of something else.
    """
    if any(f.trial or f.column == "water_volume_ml" or fill_columns([f.column]) for f in fields):
        return fields
    done = list(fields)
    start = 0
    while start < len(done):
        stem, number = _counted(done[start])
        end = start + 1
        while number == 1 and end < len(done) and _counted(done[end]) == (stem, end - start + 1):
            end += 1
        if end - start > 1 and not any(map(_holds_other_volume, done[:start] + done[end:])):
            for at in range(start, end):
                f = done[at]
                note = "volumes counted from 1: taken as one fill after another"
                unit = f.unit or unit_in_heading(f.source.heading)[1]
                done[at] = replace(
                    f, column=fill_column(at - start + 1), unit=unit, state="understood",
                    how="likely", note=note, trial="",
                )  # fmt: skip
            return done
        start = end
    return done


# Beside goes of a titration stand a rough one and their mean; nobody averages fills.
_OF_TITRATION = re.compile(r"\b(?:rough|average|avg|mean|best|concordant)\b")


def _holds_other_volume(field: Field) -> bool:
    """Tell whether a column beside a series is a volume that speaks against fills."""
    rest, unit = unit_in_heading(field.source.heading)
    if unit is None or dimension_of(unit) != "volume":
        return False
    words = normal(rest)
    return bool(_OF_TITRATION.search(words)) or "water" in concepts_in(words)


def _counted(field: Field) -> tuple[str, int]:
    """Return the words and the number of an open volume's heading, number 0 for any other."""
    rest, unit = unit_in_heading(field.source.heading)
    if field.state not in ("open", "unknown") or unit is None or dimension_of(unit) != "volume":
        return "", 0
    words = plain_ordinals(without_size(normal(rest))).split()
    numbers = [n for w in words if (n := _NUMBER_WORDS.get(w) or (int(w) if w.isdigit() else 0))]
    stem = " ".join(w for w in words if not (w.isdigit() or w in _NUMBER_WORDS))
    said = concepts_in(stem)
    if len(numbers) != 1 or said & NO_FILL or names_other("fill", words_of(stem)):
        return "", 0
    return stem, numbers[0]


def _same_volume(one: Field, other: Field) -> bool:
    return (
        one.column in ("water_volume_ml", "fill_1_ml")
        and other.column == one.column
        and other.trial == one.trial
        and normal(other.source.heading) == normal(one.source.heading)
    )


def open_volume_with_nameless_neighbours(fields: list[Field], values: Values) -> list[Field]:
    """Leave a volume open whose right neighbours hold numbers under no heading.

    They may be further fills under a heading written once; a sum without them would be wrong.
    """
    done = list(fields)
    for at, field in enumerate(fields[:-1]):
        nxt = fields[at + 1]
        if field.column not in ("water_volume_ml", "fill_1_ml") or nxt.source.cells:
            continue
        numbers = [c for c in values.get(nxt.place, ()) if c is not None and looks_like_number(c)]
        if len(numbers) >= 2:
            note = "the next column has no heading and may hold further fills"
            done[at] = replace(field, column="", state="open", note=note)
            done[at + 1] = replace(nxt, state="open", note="no heading; perhaps a fill")
    return done


def open_readings_of_no_volume(fields: list[Field], values: Values) -> list[Field]:
    """Leave "Reading I", "Reading II" open where the numbers below are no volumes of a cylinder.

    They may count the trials of one group.
    """
    note = "may count readings of anything: too small for fills of a cylinder"
    low = quantity("fill_1_ml").typical
    done = list(fields)
    for at, field in enumerate(fields):
        if field.column in fill_columns([field.column]) and _ANY_READING.fullmatch(
            normal(field.source.heading)
        ):
            found = readings(field, values)
            if low is not None and np.isfinite(found).any() and np.nanmedian(found) < low[0]:
                done[at] = replace(field, column="", state="open", note=note)
    return done


_ANY_READING = re.compile(r"(?:\w+ )?(?:reading|measure(?:ment)?|addition|load)s?(?: \w+)?")


def open_incomplete_fills(fields: list[Field], values: Values) -> list[Field]:
    """Leave fills open if another may be among the columns not understood and no total is given.

    Their sum would lack it. With a written total the two are compared run by run.
    """
    fills = {f.column for f in fields if f.column in fill_columns([f.column])}
    if not fills or any(f.column == "water_volume_ml" for f in fields):
        return fields
    whole = {fill_column(n) for n in range(1, len(fills) + 1)}
    missing = min(whole - fills, default="").removeprefix("fill_").removesuffix("_ml")
    other = next((f for f in fields if _may_be_fill(f, values.get(f.place, ()))), None)
    other = other or _counted_on(fields, values)
    if missing:
        note = f"fill {missing} is not among the columns, so the water is not known"
    elif other is not None:
        note = f"'{other.source.heading}' may be a further fill, so the water is not known"
    else:
        return fields
    return [
        replace(f, column="", state="open", note=note) if f.column in fills else f for f in fields
    ]


_ONLY_NUMBER = re.compile(r"\W*(?P<number>[1-9])[^\W\d]{0,4}\W*")


def _counted_on(fields: Sequence[Field], values: Values) -> Field | None:
    """Return the open column right of the last fill whose heading is little but the next number."""
    for before, f in pairwise(fields):
        found = _ONLY_NUMBER.fullmatch(f.source.cells[-1].text) if f.source.cells else None
        if found is None or f.column or not fill_columns([before.column]):
            continue
        numbers = [c for c in values.get(f.place, ()) if c is not None and looks_like_number(c)]
        if fill_column(int(found["number"]) - 1) == before.column and numbers:
            return f
    return None


def lone_letter_is_unit(fields: list[Field]) -> list[Field]:
    """Take "water_C" for a temperature unless a "water_B" before it makes it the third fill."""
    letters = {
        m["letter"].upper() for f in fields if (m := _ENDS_IN_LETTER.search(f.source.heading))
    }
    return [_as_degrees(f, fields, letters) for f in fields]


_ENDS_IN_LETTER = re.compile(r"[\s_](?P<letter>[A-Fa-f])\s*\Z")
_DEGREES = {"C": "degC", "F": "degF"}


def _as_degrees(field: Field, fields: Sequence[Field], letters: Set[str]) -> Field:
    ends = _ENDS_IN_LETTER.search(field.source.heading)
    letter = ends["letter"] if ends else ""
    if letter not in _DEGREES or field.column != fill_column(ord(letter) - ord("A") + 1):
        return field
    if chr(ord(letter) - 1) in letters:
        return field
    if any(f.column == "temperature_c" for f in fields):
        note = "a fill by its letter, or a temperature by its unit?"
        return replace(field, column="", state="open", note=note)
    note = f"{letter} for degrees, as no {chr(ord(letter) - 1)} stands beside it"
    return replace(
        field, column="temperature_c", unit=_DEGREES[letter], state="understood", how="pattern",
        trial="", note=note,
    )  # fmt: skip


# Water that was offered or left over. What rinsed a beaker may have gone in as well.
_NOT_POURED_IN = re.compile(
    r"\b(?:left|returned|remaining|unused|spare|spilled|spilt|planned|supplied|issued|"
    r"allowed|target|restante?|restant|übrig|waste|blank|collected|caught)\b"
)


def _may_be_fill(field: Field, cells: Sequence[RawCell | None]) -> bool:
    if field.state not in ("open", "unknown") or RATIO.search(field.source.heading):
        return False
    rest, unit = unit_in_heading(field.source.heading)
    words = words_of(normal(rest))
    if _NOT_POURED_IN.search(normal(rest)):
        return False
    numbers = sum(c is not None and looks_like_number(c) for c in cells)
    volume = tells_volume(words) if unit is None else dimension_of(unit) == "volume"
    return volume and may_name(words, "fill") and 2 * numbers > len(cells)
