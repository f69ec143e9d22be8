"""Readings of the runs under check as plain arrays, with the decimals they were recorded to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.measurement.slips.digits import Counts, Vector, half_unit, shortest_decimals
from solubility_stats.quantities import fill_columns

Index = npt.NDArray[np.int64]

NAMES = (
    "initial_mass_g",
    "recovered_mass_g",
    "recovered_with_paper_mass_g",
    "paper_mass_g",
    "water_volume_ml",
    "aliquot_ml",
    "titrant_mol_per_l",
    "titrant_ml",
    "evaporation_aliquot_ml",
    "dish_mass_g",
    "dish_residue_mass_g",
    "temperature_c",
    "filtrate_volume_ml",
)


@dataclass(frozen=True)
class Readings:
    """Columns of readings.

    Attributes
    ----------
    value : mapping of str to ndarray, shape (n,)
        Readings in the unit of their column name; not a number where missing.
    decimals : mapping of str to ndarray of int, shape (n,)
        Decimals each was recorded to; where unknown, those of the longest number in the column,
        because one instrument fills a column and programs drop the zeros at the end.
    told : mapping of str to ndarray of int, shape (n,)
        Decimals that count as figures: where unknown, only those the number itself shows.
    half : mapping of str to ndarray, shape (n,)
        Half a unit of the last recorded figure.
    fills : tuple of str
        The fill columns present.
    """

    value: Mapping[str, Vector]
    decimals: Mapping[str, Counts]
    told: Mapping[str, Counts]
    half: Mapping[str, Vector]
    fills: tuple[str, ...]

    @classmethod
    def of(cls, runs: pd.DataFrame, decimals: pd.DataFrame) -> Readings:
        """Take the readings of ``runs``, with their recorded decimals where these are known."""
        fills = tuple(fill_columns(runs.columns))
        value: dict[str, Vector] = {}
        recorded: dict[str, Counts] = {}
        told: dict[str, Counts] = {}
        for name in (*NAMES, *fills):
            column = runs[name] if name in runs else pd.Series(np.nan, index=runs.index)
            value[name] = np.array(column, dtype=np.float64)
            recorded[name], told[name] = _decimals(value[name], name, decimals, runs.index)
        half = {name: half_unit(recorded[name]) for name in value}
        _complete(value, recorded, told, half, fills)
        return cls(value, recorded, told, half, fills)

    def take(self, rows: Index) -> Readings:
        """Return the readings of the given rows, in that order."""
        return Readings(
            {name: column[rows] for name, column in self.value.items()},
            {name: column[rows] for name, column in self.decimals.items()},
            {name: column[rows] for name, column in self.told.items()},
            {name: column[rows] for name, column in self.half.items()},
            self.fills,
        )

    def text(self, name: str, row: int) -> str:
        """Return a reading as it was written."""
        return f"{self.value[name][row]:.{min(int(self.decimals[name][row]), 6)}f}"

    def fill_matrix(self) -> Vector:
        """Return the fills, shape (n, number of fill columns), missing ones not a number."""
        n = len(self.value["water_volume_ml"])
        if not self.fills:
            return np.empty((n, 0))
        return np.column_stack([self.value[name] for name in self.fills])


def _decimals(
    values: Vector, name: str, decimals: pd.DataFrame, index: pd.Index
) -> tuple[Counts, Counts]:
    shortest = shortest_decimals(values)
    common = np.full_like(shortest, shortest.max(initial=0))
    if name not in decimals:
        return common, shortest
    known = pd.to_numeric(decimals[name]).reindex(index)
    unknown, given = known.isna().to_numpy(dtype=bool), known.fillna(0).to_numpy(dtype=np.int64)
    return np.where(unknown, common, given), np.where(unknown, shortest, given)


def _complete(
    value: dict[str, Vector],
    decimals: dict[str, Counts],
    told: dict[str, Counts],
    half: dict[str, Vector],
    fills: tuple[str, ...],
) -> None:
    """Fill in what other readings determine: residue behind its paper, volume behind its fills."""
    paper, both = value["paper_mass_g"], value["recovered_with_paper_mass_g"]
    behind = np.isnan(value["recovered_mass_g"]) & np.isfinite(both - paper)
    value["recovered_mass_g"] = np.where(behind, both - paper, value["recovered_mass_g"])
    for places in (decimals, told):
        least = np.minimum(places["paper_mass_g"], places["recovered_with_paper_mass_g"])
        places["recovered_mass_g"] = np.where(behind, least, places["recovered_mass_g"])
    half["recovered_mass_g"] = np.where(
        behind,
        half["paper_mass_g"] + half["recovered_with_paper_mass_g"],
        half["recovered_mass_g"],
    )
    unweighed = np.isnan(paper) & np.isfinite(both - value["recovered_mass_g"])
    value["paper_mass_g"] = np.where(unweighed, both - value["recovered_mass_g"], paper)
    if fills:
        filled = np.column_stack([np.isfinite(value[name]) for name in fills])
        halves = np.column_stack([half[name] for name in fills])
        any_fill = filled.any(axis=1)
        half["water_volume_ml"] = np.where(
            any_fill, np.where(filled, halves, 0.0).sum(axis=1), half["water_volume_ml"]
        )
        for places in (decimals, told):
            least = np.column_stack([places[name] for name in fills])
            least = np.where(filled, least, 99).min(axis=1)
            places["water_volume_ml"] = np.where(any_fill, least, places["water_volume_ml"])
    whole = np.isnan(value["evaporation_aliquot_ml"])
    for columns in (value, decimals, told, half):
        columns["evaporation_aliquot_ml"] = np.where(
            whole, columns["aliquot_ml"], columns["evaporation_aliquot_ml"]
        )
