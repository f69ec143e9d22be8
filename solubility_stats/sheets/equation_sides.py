"""The sides of the equations of a sheet: what is known of masses and water, and what may hold them.

An open column is a candidate for a reading as far as its heading, its unit and its values allow.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from solubility_stats.quantities import fill_column, fill_columns, quantity
from solubility_stats.sheets import keywords, strange_words
from solubility_stats.sheets.column_numbers import Numbers, numbers_of
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.phrases import words_of
from solubility_stats.sheets.twice import close
from solubility_stats.sheets.units import dimension_of, unit_in_heading

Array = NDArray[np.float64]

START = ("initial_mass_g",)
RESIDUE = ("recovered_mass_g", "recovered_with_paper_mass_g", "paper_mass_g")
# Two trials are enough where all their digits agree, and no column of one number tells anything.
FEWEST_LINES = 2
_MOST_VOLUMES = 10


@dataclass(frozen=True)
class Side:
    """A quantity of an equation: its values and the places it takes as a claim, if any."""

    values: Array
    places: tuple[tuple[int, str], ...] = ()


class Known:
    """The numbers of a table by what they are known to be, and its open columns."""

    def __init__(self, fields: Sequence[Field], values: Values, lines: Sequence[int]) -> None:
        self.fields = fields
        self._values, self._lines = values, lines
        self._read: dict[tuple[int, str], Numbers] = {}
        self.columns = {f.column: f for f in fields if f.state == "understood"}
        needed = (*START, *RESIDUE, "water_volume_ml", "reported_solubility")
        self.in_trials = any(f.trial and (f.column in needed or not f.column) for f in fields)
        self.open = [f for f in fields if f.state in ("open", "unknown")]
        self.fills = fill_columns(self.columns)

    def numbers(self, field: Field, unit: str) -> Numbers:
        """Return the numbers of a place in a unit."""
        key = (field.place, unit)
        if key not in self._read:
            cells = self._values.get(field.place, ())
            chosen = [cells[i] for i in self._lines if i < len(cells)]
            self._read[key] = numbers_of(chosen, field.unit, unit)
        return self._read[key]

    def get(self, column: str) -> Array | None:
        """Return the values of an understood column in its unit."""
        field = self.columns.get(column)
        return None if field is None else self.numbers(field, quantity(column).unit).values

    def water(self) -> Array | None:
        """Return the water of each line: the written total, else the sum of its fills."""
        total = self.get("water_volume_ml")
        whole = list(self.fills) == [fill_column(n + 1) for n in range(len(self.fills))]
        return total if total is not None or not whole else self.poured(self.fills)

    def poured(self, columns: Sequence[str]) -> Array | None:
        """Return the sum of the fills of each line, no number where there is none."""
        found = [v for c in columns if (v := self.get(c)) is not None]
        return total_of(found) if found else None

    def candidates(self, column: str, named: bool = True, *, twins: bool = False) -> Iterator[Side]:
        """Yield the open columns that may hold a reading as far as heading and values tell.

        A volume without unit must be called one, unless ``named`` is false. Of two columns with
        nearly the same masses neither is one, unless ``twins`` are told apart by their digits.
        """
        asked = quantity(column)
        for f in self.open:
            words = words_of(normal(f.source.heading))
            unit = f.unit or unit_in_heading(f.source.heading)[1]
            volume = column not in (*START, *RESIDUE)
            if unit is not None and dimension_of(unit) != ("volume" if volume else "mass"):
                continue
            if unit is None and volume and named and not keywords.tells_volume(words):
                continue
            if column == "recovered_mass_g" and "second_dry_mass_g" in f.source.reading.candidates:
                continue  # the class may have calculated with its second weighing
            if not twins and self._has_twin(f, column):
                continue  # or with either of two, whatever they are called
            if not strange_words.may_name(words, "fill" if column.startswith("fill") else column):
                continue
            read = self.numbers(replace(f, unit=unit), asked.unit).values
            filled = read[np.isfinite(read)]
            possible = ((filled > asked.low) & (filled <= asked.high)).all()
            if filled.size >= FEWEST_LINES and possible:
                yield Side(read, ((f.place, column),))

    def _has_twin(self, field: Field, column: str) -> bool:
        """Tell whether another open column holds nearly the same masses, as weighed twice."""
        if not column.endswith("_mass_g"):
            return False
        mine = replace(field, column=column)
        return any(
            close(mine, replace(g, column=column), self._values)
            for g in self.open
            if g is not field and unit_in_heading(g.source.heading)[1] in (None, field.unit)
        )


def total_of(parts: Sequence[Array]) -> Array:
    """Return the sum of arrays line by line, no number where all are blank."""
    stacked = np.vstack(parts)
    some = np.isfinite(stacked).any(axis=0)
    return np.where(some, np.nansum(stacked, axis=0), np.nan)


def starts(sheet: Known) -> list[Side]:
    """Return the initial mass, or the open columns that may hold it."""
    known = sheet.get("initial_mass_g")
    return [Side(known)] if known is not None else list(sheet.candidates("initial_mass_g"))


def residues(sheet: Known) -> list[Side]:
    """Return the recovered mass: weighed alone, or with its paper less the paper."""
    alone, both, paper = (sheet.get(c) for c in RESIDUE)
    if alone is not None:
        return [Side(alone)]
    found = list(sheet.candidates("recovered_mass_g"))
    if both is not None and paper is not None:
        return [Side(both - paper)]
    if both is not None:
        found += [Side(both - c.values, c.places) for c in sheet.candidates("paper_mass_g")]
    if paper is not None:
        more = sheet.candidates("recovered_with_paper_mass_g")
        found += [Side(c.values - paper, c.places) for c in more]
    return found


def waters(sheet: Known) -> list[Side]:
    """Return the water, or the open columns and sums of columns that may hold it."""
    known = sheet.water()
    if known is not None:
        return [Side(known)]
    single = list(sheet.candidates("water_volume_ml"))
    return [*single, *(s for s in sums(sheet) if len(s.places) > 1)]


def sums(sheet: Known, named: bool = True) -> Iterator[Side]:
    """Yield every selection of the open volumes as further fills, added up.

    Volumes have a heading or unit that says so, unless ``named`` is false.
    """
    parts = list(sheet.candidates(fill_column(1), named=named))
    if len(parts) > _MOST_VOLUMES:
        return
    taken = {int(c.split("_")[1]) for c in sheet.fills}
    free = [n for n in range(1, 31) if n not in taken]
    for count in range(1, len(parts) + 1):
        for chosen in combinations(parts, count):
            places = tuple(
                (side.places[0][0], fill_column(n)) for side, n in zip(chosen, free, strict=False)
            )
            yield Side(total_of([side.values for side in chosen]), places)
