"""What stands twice in a table: a residue dried and weighed again, two columns of one reading.

A second weighing is close to the first and never means the same. Only words tell which is which;
the class's own result does not, because it was calculated with either. What cannot be told apart
is a question, and no column is ever read over another.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from solubility_stats.sheets import keywords
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.relations import readings
from solubility_stats.sheets.units import dimension_of

_ROMAN = {"i": "1", "ii": "2", "1st": "1", "2nd": "2", "first": "1", "second": "2"}
_NTH = r"1|2|ii?|1st|2nd|first|second"
_DRYING = r"(?:dr(?:y|ied|ying)|heat(?:ed|ing)?|bak(?:ed|ing)|oven)"
# "Dry 1", "dried no 2", "dry2", "heating II", "II heating"
_DRY_NUMBER = re.compile(
    rf"\b{_DRYING}\b(?:[^\d]*[^\w\d])?(?:no )?(?P<behind>{_NTH})(?: |\Z)"
    r"|\bdr(?:y|ied|ying)(?P<tail>[12])\b"
    rf"|(?:\A|\s)(?P<before>{_NTH})(?: time)? {_DRYING}\b"
)
# Two weighings of one residue differ by the water that was left in it (judgement).
_CLOSE = 0.10
_DRY = frozenset({"recovered_mass_g", "recovered_with_paper_mass_g"})


def dried_again(fields: list[Field]) -> list[Field]:
    """Take the second of two weighings numbered 1 and 2 for the one after a second drying."""
    numbered_so: dict[str, Field] = {}
    for f in fields:
        meant = {*f.source.reading.candidates} & {"recovered_mass_g", "second_dry_mass_g"}
        if (number := _number(f)) and meant and f.state != "personal" and _weighs(f):
            numbered_so[number] = f
    if set(numbered_so) != {"1", "2"} or numbered_so["1"].trial != numbered_so["2"].trial:
        return fields
    first, second = numbered_so["1"], numbered_so["2"]
    settled = {
        first.place: replace(first, column="recovered_mass_g", state="understood", trial=""),
        second.place: replace(
            second, column="second_dry_mass_g", state="understood", trial="",
            note="the second of two dry weighings",
        ),
    }  # fmt: skip
    return [settled.get(f.place, f) for f in fields]


_MEAN = re.compile(
    r"\b(?:mean|average|avg|mittel\w*|moyenne|media|média|gemiddelde|medel\w*)\b", re.I
)
# Half a unit in the last of the digits that a balance of the lab shows (g).
_ROUNDING_G = 6e-4


def mean_of_weighings(fields: list[Field], values: Values) -> list[Field]:
    """Take the mean beside repeated weighings of one mass ("w1 | w2 | w3 | mean") for that mass."""
    for mean in [f for f in fields if f.state == "derived" and _MEAN.search(_lowest(f))]:
        over = mean.source.cells[:-1]
        titled = [f for f in fields if over and _texts(f.source.cells[:-1]) == _texts(over)]
        beside = [f for f in titled if f.state in ("open", "unknown")]
        meant = {c for f in beside for c in f.source.reading.candidates if c != keywords.UNSURE}
        if len(beside) < 2 or len(meant) != 1 or meant & {f.column for f in fields}:
            continue
        column = meant.pop()
        new = replace(mean, column=column, unit=beside[0].unit or mean.unit, state="understood",
                      how="arithmetic", note="the mean of the weighings beside it")  # fmt: skip
        weighed = np.vstack([readings(replace(f, column=column), values) for f in beside])
        apart = np.abs(readings(new, values) - weighed.mean(axis=0))
        known = apart[np.isfinite(apart)]
        if known.size > 1 and (known <= _ROUNDING_G).all():
            note = f"one of several weighings; their mean was taken as {column}"
            parts = {f.place: replace(f, column="", state="same", note=note) for f in beside}
            fields = [new if f is mean else parts.get(f.place, f) for f in fields]
    return fields


def _texts(cells: Sequence[RawCell]) -> list[str]:
    return [c.text for c in cells]


def _lowest(field: Field) -> str:
    return field.source.cells[-1].text if field.source.cells else ""


def first_and_last(fields: list[Field]) -> list[Field]:
    """Take "first weight of lime" and "last weight of lime" for what went in and came back."""
    told: dict[str, list[Field]] = {"first": [], "last": []}
    for f in fields:
        word = normal(f.source.heading).partition(" ")[0]
        if f.state == "open" and word in told and _weighs(f):
            told[word].append(f)
    known = {f.column for f in fields}
    if [len(same) for same in told.values()] != [1, 1] or known & {"initial_mass_g", *_DRY}:
        return fields
    meant = {"first": "initial_mass_g", "last": "recovered_mass_g"}
    if any(meant[w] not in same[0].source.reading.candidates for w, same in told.items()):
        return fields
    note = "the first and the last weight beside each other"
    new = {
        same[0].place: replace(
            same[0], column=meant[word], state="understood", how="values", note=note
        )
        for word, same in told.items()
    }
    return [new.get(f.place, f) for f in fields]


def _number(field: Field) -> str:
    """Return the number of the drying a heading names, empty for none."""
    found = _DRY_NUMBER.search(normal(field.source.heading))
    number = found["behind"] or found["tail"] or found["before"] if found else ""
    return _ROMAN.get(number, number)


# A residue loses a little water in the second drying and gains none (judgement; g).
_LOSES, _GAINS = 0.05, 0.002


def dried_once_more(fields: list[Field], values: Values, lines: Sequence[int]) -> list[Field]:
    """Take "m(dry, 2nd)" beside the one "m(dry)" for the weighing after a second drying.

    Only in a table of one initial mass, and if the second is nowhere on the ``lines`` that may be
    runs the heavier: a second run would be.
    """
    if {"second_dry_mass_g"} & {f.column for f in fields}:
        return fields
    dry = [f for f in fields if {*f.source.reading.candidates} == {"recovered_mass_g"}]
    dry = [f for f in dry if f.state != "personal" and _weighs(f)]
    later = [f for f in dry if _number(f) == "2"]
    begun = [f for f in fields if "initial_mass_g" in f.source.reading.candidates]
    if len(dry) != 2 or len(begun) != 1 or later != dry[1:] or any(f.trial for f in (*dry, *begun)):
        return fields
    first, second = (replace(f, column="recovered_mass_g") for f in dry)
    masses = readings(first, values, lines), readings(second, values, lines)
    both = np.isfinite(masses[0]) & np.isfinite(masses[1])
    lost = masses[0][both] - masses[1][both]
    if lost.size < 2 or lost.min() < -_GAINS or np.median(lost / masses[0][both]) > _LOSES:
        return fields
    note = "the second of two dry weighings"
    settled = {
        first.place: replace(first, state="understood"),
        second.place: replace(second, column="second_dry_mass_g", state="understood", note=note),
    }
    return [settled.get(f.place, f) for f in fields]


def second_taken_for_first(fields: list[Field], values: Values) -> list[Field]:
    """Leave a dry mass open that follows another dry mass, not understood, of nearly its size.

    The one before it is the first weighing, whatever the words beyond us say.
    """
    done = list(fields)
    for at, f in enumerate(fields):
        if f.column not in _DRY or f.how in ("vocabulary", "mapping"):
            continue
        before = [g for g in fields[:at] if g.trial == f.trial and _may_be(g, f.column)]
        if any(close(f, replace(g, column=f.column), values) for g in before):
            note = f"may mean {f.column}, but another dry weighing of nearly that mass is before it"
            done[at] = replace(f, column="", state="open", note=note)
    return done


def _may_be(field: Field, column: str) -> bool:
    meant = {*field.source.reading.candidates} - {keywords.UNSURE}
    return field.state == "open" and meant == {column} and _weighs(field)


def _weighs(field: Field) -> bool:
    """Tell whether the unit of a place is one of mass, or not named."""
    return field.unit is None or dimension_of(field.unit) == "mass"


def close(one: Field, other: Field, values: Values) -> bool:
    """Tell whether two places hold nearly the same numbers line by line, as weighed twice."""
    first, second = readings(one, values), readings(other, values)
    both = np.isfinite(first) & np.isfinite(second) & (first > 0)
    gaps = np.abs(first[both] - second[both]) / first[both]
    return bool(both.any() and np.median(gaps) <= _CLOSE)


def never_two(fields: list[Field]) -> list[Field]:
    """Leave open whatever two columns would fill with one reading of one run.

    Water may stand as its fills and as their total; the two are compared run by run.
    """
    by_column: dict[str, list[Field]] = defaultdict(list)
    for f in fields:
        if f.column and f.column != "comment":
            by_column[f.column].append(f)
    twice: dict[int, Field] = {}
    for column, same in by_column.items():
        if len(same) < 2 or (column == "water_volume_ml" and len(same) == 2):
            continue
        for f in same:
            if any(g is not f and _in_one_run(f, g) for g in same):
                note = f"another heading claims {column} as well"
                twice[f.place] = replace(f, column="", state="open", note=note)
    return [twice.get(f.place, f) for f in fields]


def _in_one_run(one: Field, other: Field) -> bool:
    """Tell whether two places fill the same run: of one trial, or one of them of all trials."""
    return one.trial == other.trial or not (one.trial and other.trial)
