"""Who is in a simulated class, at what temperature, with which instruments."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from solubility_stats.simulation.habits import Instruments

Vector = npt.NDArray[np.float64]
Index = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Crew:
    """The runs of a class, one entry per run.

    Attributes
    ----------
    section, group, run : ndarray of int, shape (n,)
        Zero-based; ``group`` counts through the whole class.
    vacuum : ndarray of bool, shape (n,)
        Filtered by vacuum rather than gravity.
    temperature_c : ndarray, shape (n,)
        True temperature at filtering.
    balance_offset_g : ndarray, shape (n,)
        Constant deviation of the balance used; one balance per section.
    balance_drift_g : ndarray, shape (n,)
        Drift of that balance between the weighing before and the one after.
    cylinder_scale : ndarray, shape (n,)
        True over read volume; one cylinder per group, from one batch per section.
    """

    section: Index
    group: Index
    run: Index
    vacuum: npt.NDArray[np.bool_]
    temperature_c: Vector
    balance_offset_g: Vector
    balance_drift_g: Vector
    cylinder_scale: Vector

    @property
    def n(self) -> int:
        """Number of runs."""
        return int(self.group.size)

    def number_in_section(self) -> Index:
        """Return the number of each run's group within its section, from 1."""
        first = np.zeros(int(self.section.max()) + 1, dtype=np.intp)
        for s in range(first.size):
            first[s] = self.group[self.section == s].min()
        return self.group - first[self.section] + 1


def muster(
    groups: int,
    sections: int,
    runs_per_group: int,
    *,
    vacuum_share: float,
    temperature_c: float,
    fill_ml: float,
    tools: Instruments,
    rng: np.random.Generator,
) -> Crew:
    """Fill the sections with groups and hand out instruments."""
    section_of_group = np.sort(np.arange(groups) % sections)
    group = np.repeat(np.arange(groups), runs_per_group)
    section = section_of_group[group]
    vacuum = rng.random(groups) < vacuum_share
    warmth = temperature_c + rng.normal(0.0, 0.5, sections)[section]
    warmth = warmth + rng.normal(0.0, 0.4, groups)[group]
    balance = rng.uniform(-1.0, 1.0, sections) * tools.balance_linearity_g
    cylinder = 1.0 + rng.uniform(-1.0, 1.0, sections) * tools.cylinder_tolerance_ml / fill_ml
    return Crew(
        section=section,
        group=group,
        run=np.tile(np.arange(runs_per_group), groups),
        vacuum=vacuum[group],
        temperature_c=warmth,
        balance_offset_g=balance[section],
        balance_drift_g=rng.normal(0.0, tools.balance_drift_g, sections)[section],
        cylinder_scale=cylinder[section],
    )
