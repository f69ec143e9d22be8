"""What the arithmetic of a sheet says about a column whose heading does not.

A class that reports a solubility, a dissolved mass or a total has calculated with its readings. If
one needed column is missing and exactly one column that was left open gives what the class worked
out, line by line and within the digits it wrote, that column holds the missing reading.

Only one reading is asked for at a time, and all others of its equation must be understood by their
headings. With both masses unknown a difference would fit as well if both held the same vessel.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from solubility_stats.sheets import keywords, strange_words
from solubility_stats.sheets.column_numbers import Numbers
from solubility_stats.sheets.equation_sides import (
    FEWEST_LINES,
    RESIDUE,
    Array,
    Known,
    Side,
    residues,
    starts,
    sums,
    total_of,
    waters,
)
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.phrases import words_of
from solubility_stats.sheets.units import dimension_of, unit_in_heading

# A class makes slips, so not every line agrees; on fewer lines or a smaller share it may be chance
# (judgement, checked on random columns in the tests).
_REPORTED_LINES, _REPORTED_SHARE = 4, 0.7
_SUM_LINES, _SUM_SHARE = 3, 0.8
# Two trials are enough where all digits of such a share agree: chance would be one in a million.
_FINE = 0.0005
# A figure written more coarsely than this share of itself tells too little.
_COARSE = 0.08
# Filtrate is a few per cent less than the water; it takes three digits to tell them apart.
_COARSE_WATER = 0.01
# Water weighed for water measured, and the density of the solution (0.3 %).
_DENSITY = 0.003
_MOST_LINES = 400

_RATIO_UNIT = re.compile(r"\bm?g\s*(?:/|per\b)|%", re.IGNORECASE)
_SAID = {
    "initial_mass_g": "initial mass",
    "recovered_mass_g": "recovered mass",
    "recovered_with_paper_mass_g": "paper with solid",
    "paper_mass_g": "paper",
    "water_volume_ml": "water",
}


@dataclass(frozen=True)
class _Claim:
    """Columns one equation gives: what is asked for, what each place holds, and the evidence."""

    slot: str
    places: tuple[tuple[int, str], ...]
    why: str


def arithmetic(fields: list[Field], values: Values, lines: Sequence[int]) -> list[Field]:
    """Settle open columns that alone give what the class worked out from them.

    Parameters
    ----------
    fields : list of Field
        Places of a table as settled by headings.
    values : mapping of int to sequence of RawCell or None
        Cells below the headings by place.
    lines : sequence of int
        Positions within ``values`` of the lines that may be runs.

    Returns
    -------
    list of Field
        The same places; those settled here say ``arithmetic`` and why.
    """
    done = fields
    for _ in range(3):  # what one equation settles may serve the next
        found = _claims(done, values, lines[:_MOST_LINES])
        if not found:
            return done
        done = [_taken(f, found) for f in done]
    return done


def _taken(field: Field, claims: Mapping[int, tuple[str, str]]) -> Field:
    if field.place not in claims:
        return field
    column, why = claims[field.place]
    unit = field.unit or unit_in_heading(field.source.heading)[1]
    return replace(
        field, column=column, unit=unit, state="understood", how="arithmetic", note=why, trial=""
    )


def _claims(
    fields: Sequence[Field], values: Values, lines: Sequence[int]
) -> dict[int, tuple[str, str]]:
    """Return column and reason by place, for every reading that exactly one claim fits."""
    sheet = Known(fields, values, lines)
    if sheet.in_trials or not sheet.open:
        return {}
    by_slot: dict[str, dict[tuple[tuple[int, str], ...], str]] = {}
    for witness in (
        _from_reported,
        _from_dissolved,
        _from_total,
        _to_total,
        _from_paper,
        _of_result,
    ):
        for claim in witness(sheet):
            by_slot.setdefault(claim.slot, {}).setdefault(claim.places, claim.why)
    found: dict[int, tuple[str, str]] = {}
    claimed: list[int] = []
    for claims in by_slot.values():
        claimed += {place for places in claims for place, _ in places}
        if len(claims) == 1:
            (places, why), *_ = claims.items()
            found |= {place: (column, why) for place, column in places}
    return {p: said for p, said in found.items() if claimed.count(p) == 1}


def _from_reported(sheet: Known) -> Iterator[_Claim]:
    """Ask which column gives the reported solubility: (initial − recovered) / water.

    The unit the class used may differ by powers of ten (g/L, g per 100 mL, mg/mL), the same on all
    lines that name the same unit.
    """
    field = sheet.columns.get("reported_solubility")
    if field is None:
        return
    told = sheet.numbers(field, "")
    for slot, (start, left, water) in _with_one_unknown(
        start=starts(sheet), left=residues(sheet), water=waters(sheet)
    ):
        places = start.places or left.places or water.places
        with np.errstate(all="ignore"):
            plain = (start.values - left.values) / water.values
        coarse = _COARSE_WATER if slot == "water" else _COARSE
        agree, n = _same_digits(plain, told, coarse)
        if n >= _REPORTED_LINES and agree >= _REPORTED_SHARE * n:
            yield _Claim(slot, places, _reason(places, agree, n))


def _with_one_unknown(**slots: list[Side]) -> Iterator[tuple[str, tuple[Side, ...]]]:
    """Yield every way to fill the equation if exactly one of its quantities is asked for."""
    asked = [name for name, sides in slots.items() if not sides or sides[0].places]
    if len(asked) == 1:
        for chosen in product(*slots.values()):
            yield asked[0], chosen


def _of_result(sheet: Known) -> Iterator[_Claim]:
    """Ask which column headed only by a unit of solubility is what the class worked out.

    Without a unit the mass dissolved in 100 mL would look the same.
    """
    start, water = sheet.get("initial_mass_g"), sheet.water()
    left = residues(sheet)
    if "reported_solubility" in sheet.columns or start is None or water is None:
        return
    if len(left) != 1 or left[0].places:
        return
    # Who dried and weighed twice may have calculated with the second weighing where there is one.
    again = sheet.get("second_dry_mass_g")
    last = left[0].values if again is None else np.where(np.isfinite(again), again, left[0].values)
    with np.errstate(all="ignore"):
        results = [(start - left[0].values) / water, (start - last) / water]
    for field in sheet.open:
        words = words_of(normal(field.source.heading))
        ratio = _RATIO_UNIT.search(field.source.heading)
        bare = field.source.reading.candidates[:1] == ("reported_solubility",)
        if not ratio or not (bare or strange_words.may_name(words, "reported_solubility")):
            continue
        agree, n = max(_same_digits(plain, sheet.numbers(field, "")) for plain in results)
        if n >= _REPORTED_LINES and agree >= _REPORTED_SHARE * n:
            why = (
                "taken as reported solubility because the mass dissolved, divided by the water, "
                f"gives it in {agree} of {n} rows"
            )
            yield _Claim("result", ((field.place, "reported_solubility"),), why)


def _reason(places: tuple[tuple[int, str], ...], agree: int, n: int) -> str:
    ways = {
        "initial_mass_g": "this − the recovered mass, divided by the water,",
        "recovered_mass_g": "initial mass − this, divided by the water,",
        "recovered_with_paper_mass_g": "initial mass − (this − paper), divided by the water,",
        "paper_mass_g": "initial mass − (paper with solid − this), divided by the water,",
        "water_volume_ml": "the mass dissolved, divided by this,",
    }
    way = ways.get(places[0][1], "the mass dissolved, divided by the sum of these,")
    said = _SAID.get(places[0][1], "fill of water")
    return f"taken as {said} because {way} gives the reported solubility in {agree} of {n} rows"


def _same_digits(plain: Array, told: Numbers, coarse: float = _COARSE) -> tuple[int, int]:
    """Count the lines on which a figure is reproduced but for one power of ten per unit."""
    usable = np.isfinite(plain) & (plain > 0) & np.isfinite(told.values) & (told.values > 0)
    usable &= told.half_step <= coarse * np.abs(told.values)
    agree = 0
    for unit in sorted({u for u, ok in zip(told.units, usable, strict=True) if ok}):
        here = usable & np.array([u == unit for u in told.units])
        power = np.round(np.median(np.log10(told.values[here] / plain[here])))
        expected = plain[here] * 10.0**power
        allowed = 1.01 * told.half_step[here] + _DENSITY * expected
        agree += int((np.abs(told.values[here] - expected) <= allowed).sum())
    return agree, int(usable.sum())


def _from_dissolved(sheet: Known) -> Iterator[_Claim]:
    """Ask which column gives a difference the class worked out: initial − recovered."""
    for field in sheet.fields:
        if field.state != "derived" or not keywords.tells_difference(
            words_of(normal(field.source.heading))
        ):
            continue
        unit = field.unit or unit_in_heading(field.source.heading)[1]
        if unit is not None and dimension_of(unit) != "mass":
            continue
        told = sheet.numbers(replace(field, unit=unit), "g")
        for slot, (start, left) in _with_one_unknown(start=starts(sheet), left=residues(sheet)):
            places = start.places or left.places
            agree, n = _equal(np.abs(start.values - left.values), told, rivals=True)
            if n >= _SUM_LINES and agree >= _SUM_SHARE * n:
                why = (
                    f"taken as {_SAID[places[0][1]]} because it gives '{field.source.heading}' in "
                    f"{agree} of {n} rows"
                )
                yield _Claim(slot, places, why)


def _equal(plain: Array, told: Numbers, *, rivals: bool = False) -> tuple[int, int]:
    """Count the lines on which a figure is reproduced within its digits, sign apart.

    A second weighing differs from the first by a little on a few lines. Where ``rivals`` are to be
    feared, a line that is missed by less than a tenth lets none agree.
    """
    size = np.abs(told.values)
    usable = np.isfinite(plain) & (size > 0) & (told.half_step <= _COARSE * size)
    off = np.abs(size - plain)[usable]
    good = off <= (1.01 * told.half_step + 1e-6 * size)[usable]
    if rivals and (off[~good] < 0.1 * size[usable][~good]).any():
        return 0, int(usable.sum())
    return int(good.sum()), int(usable.sum())


def _from_total(sheet: Known) -> Iterator[_Claim]:
    """Ask which volumes add up to the written total; they are its fills."""
    total = sheet.columns.get("water_volume_ml")
    if total is None:
        return
    told = sheet.numbers(total, "mL")
    poured = sheet.poured(sheet.fills)
    agree, n = _equal(poured, told) if poured is not None else (0, 0)
    if n and agree >= _SUM_SHARE * n:
        return  # nothing is missing
    for side in sums(sheet, named=False):
        if len(side.places) + len(sheet.fills) < 2:
            continue
        added = side.values if poured is None else total_of([poured, side.values])
        agree, n = _equal(added, told)
        if n >= _SUM_LINES and agree >= _SUM_SHARE * n:
            why = (
                f"taken as fill of water because the fills add up to '{total.source.heading}' in "
                f"{agree} of {n} rows"
            )
            yield _Claim("water", side.places, why)


def _to_total(sheet: Known) -> Iterator[_Claim]:
    """Ask which column is the sum of the fills that are known: "total" behind them."""
    poured = sheet.poured(sheet.fills)
    if "water_volume_ml" in sheet.columns or len(sheet.fills) < 2 or poured is None:
        return
    for side in sheet.candidates("water_volume_ml", named=False):
        field = next(f for f in sheet.fields if f.place == side.places[0][0])
        agree, n = _equal(poured, sheet.numbers(field, "mL"))
        if n >= FEWEST_LINES and agree == n:
            yield _Claim("water", side.places, f"taken as water: the sum of the fills in {n} rows")


def _from_paper(sheet: Known) -> Iterator[_Claim]:
    """Ask which column completes paper with solid − paper = recovered mass."""
    known = {c: v for c in RESIDUE if (v := sheet.get(c)) is not None}
    if len(known) != 2:
        return
    (asked,) = set(RESIDUE) - set(known)
    names = {"recovered_mass_g": -1.0, "recovered_with_paper_mass_g": 1.0, "paper_mass_g": -1.0}
    rest = sum((names[c] * v for c, v in known.items()), np.zeros(1))
    lone = {side.places for side in sheet.candidates(asked)}
    for side in sheet.candidates(asked, twins=True):
        field = next(f for f in sheet.fields if f.place == side.places[0][0])
        read = sheet.numbers(field, "g")
        agree, n = _equal(np.abs(rest), read, rivals=True)
        told = np.isfinite(read.values)
        fine = bool((read.half_step[told] <= _FINE * np.abs(read.values[told])).all())
        if not fine and side.places not in lone:
            continue
        fewest = FEWEST_LINES if fine else _SUM_LINES
        if n >= fewest and agree >= _SUM_SHARE * n:
            why = (
                f"taken as {_SAID[asked]} because paper with solid − paper = recovered mass in "
                f"{agree} of {n} rows"
            )
            yield _Claim("left", side.places, why)
