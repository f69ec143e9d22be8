"""A heading line while its table is being found, and what may be said once for a whole table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from solubility_stats.quantities import is_canonical
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.view import View

Know = Callable[[Sequence[str]], Reading]


# What a line above a table may say about all its runs ("Section: Mon", "Temperature: 21 °C").
ONCE_PER_TABLE = (
    "semester", "section", "group", "instructor", "submitted", "solute", "balance", "bottle",
    "temperature_c", "titrant_mol_per_l", "filtration", "stir_min", "settle_min", "dry_min",
    "aliquot_ml", "evaporation_aliquot_ml", "water_volume_ml",
)  # fmt: skip


@dataclass
class Head:
    """A heading line under construction: its line and the places it covers."""

    line: int
    places: list[int]
    hits: dict[int, Reading]

    @property
    def columns(self) -> set[str]:
        """Everything the headings found so far may mean."""
        return {c for r in self.hits.values() for c in r.candidates}

    @property
    def certain(self) -> set[str]:
        """The columns that headings found so far name without doubt."""
        return {r.column for r in self.hits.values() if r.column}

    def leave_out(self, places: Sequence[int]) -> None:
        """Take places out that hold no heading of the table; the others keep their order."""
        self.places[:] = [p for p in self.places if p not in places]
        for place in places:
            self.hits.pop(place, None)


def width(head: Head) -> tuple[int, int]:
    """Return the first and last place of a heading line."""
    return head.places[0], head.places[-1]


def beside_label(view: View, line: int, place: int) -> int:
    """Return how many cells stand beside a label; none beside the title of those that follow."""
    return sum((i, place) in view.cells for i in view.lines if i > line)


def named_by(reading: Reading) -> set[str]:
    """Return the columns of ours that a heading may name."""
    return {c for c in reading.candidates if is_canonical(c)}
