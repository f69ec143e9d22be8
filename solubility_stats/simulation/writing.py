"""From true amounts on the bench to the readings a group writes down."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.quantities import fill_column
from solubility_stats.simulation import bench, habits
from solubility_stats.simulation.crew import Crew
from solubility_stats.simulation.habits import Instruments

Vector = npt.NDArray[np.float64]
Columns = dict[str, npt.NDArray[np.generic]]
PAPER_G = 0.62  # an 11 cm paper of about 65 g/m², from memory


@dataclass(frozen=True)
class Poured:
    """Fills as read and as really poured.

    Attributes
    ----------
    read_ml : ndarray, shape (n, k)
        Recorded fills; NaN where a run has fewer than ``k``.
    true_ml : ndarray, shape (n,)
        Water that really went in.
    """

    read_ml: Vector
    true_ml: Vector


def pour(
    crew: Crew,
    fills: npt.NDArray[np.intp],
    fill_ml: float,
    sizes: Mapping[str, Vector],
    mishap: npt.NDArray[np.str_],
    tools: Instruments,
    rng: np.random.Generator,
) -> Poured:
    """Fill and empty the cylinder; a fill may be forgotten or not written down."""
    most = int(fills.max()) + 1
    wanted = np.arange(most) < (fills + (mishap == "extra_fill"))[:, None]
    level = fill_ml + rng.normal(0.0, 0.6, wanted.shape)  # where people stop pouring
    read = habits.to_step(level, tools.cylinder_step_ml)
    scale = crew.cylinder_scale * (1.0 + sizes["cylinder_error"]) * (1.0 - sizes["drainage_film"])
    true = (level + rng.normal(0.0, tools.cylinder_sd_ml, level.shape)) * scale[:, None]
    poured = wanted.copy()
    last = fills - 1
    forgotten = np.flatnonzero(mishap == "missed_fill")
    poured[forgotten, last[forgotten]] = False
    written = np.arange(most) < fills[:, None]
    read_ml = np.where(written, read, np.nan)
    used = int(written.any(axis=0).sum())
    return Poured(read_ml[:, :used], np.where(poured, true, 0.0).sum(axis=1))


def write_masses(
    solid_g: Vector,
    recovered_g: Vector,
    wet_cake_g: Vector,
    crew: Crew,
    sizes: Mapping[str, Vector],
    mishap: npt.NDArray[np.str_],
    tools: Instruments,
    rng: np.random.Generator,
) -> dict[str, Vector]:
    """Weigh before and after, with at most one mishap per run."""
    m0 = habits.weigh(solid_g, crew.balance_offset_g, tools, rng)
    paper = np.where(mishap == "paper_tare_missed", PAPER_G + rng.normal(0, 0.01, crew.n), 0.0)
    offset = crew.balance_offset_g + crew.balance_drift_g
    offset = offset + sizes["balance_offset"] - sizes["warm_weighing"]
    mr = habits.weigh(recovered_g + paper, offset, tools, rng)
    digits = habits.decimals_of(tools.balance_step_g)
    for i in np.flatnonzero(mishap == "decimal_slip"):
        mr[i] = round(mr[i] / 10.0, digits)
    for i in np.flatnonzero(mishap == "transposed_digits"):
        mr[i] = habits.exchange_digits(float(mr[i]), digits, rng)
    wet = habits.weigh(wet_cake_g, crew.balance_offset_g, tools, rng)
    return {"initial_mass_g": m0, "recovered_mass_g": mr, "wet_cake_mass_g": wet}


def write_titration(
    solute_g_per_ml: Vector,
    aliquot_ml: float,
    acid_mol_per_l: float,
    sizes: Mapping[str, Vector],
    material: bench.Material,
    tools: Instruments,
    rng: np.random.Generator,
) -> dict[str, Vector]:
    """Pipette an aliquot and titrate it; two burette readings, one label on the acid."""
    n = solute_g_per_ml.size
    error = rng.uniform(-1.0, 1.0, n) * tools.pipette_tolerance_ml
    strength = acid_mol_per_l * (1.0 + sizes["acid_error"])
    used = bench.titrate(solute_g_per_ml, aliquot_ml + error, strength, sizes, material)
    start = rng.uniform(0.0, 2.0, n)
    low = habits.to_step(start + rng.normal(0, tools.burette_sd_ml, n), tools.burette_step_ml)
    high = habits.to_step(
        start + used + rng.normal(0, tools.burette_sd_ml, n), tools.burette_step_ml
    )
    return {
        "aliquot_ml": np.full(n, aliquot_ml),
        "titrant_mol_per_l": np.full(n, acid_mol_per_l),
        "titrant_ml": np.round(high - low, 2),
    }


def write_evaporation(
    solute_g_per_ml: Vector,
    impurity_g_per_ml: Vector,
    aliquot_ml: float,
    crew: Crew,
    sizes: Mapping[str, Vector],
    material: bench.Material,
    tools: Instruments,
    rng: np.random.Generator,
) -> dict[str, Vector]:
    """Evaporate an aliquot in a weighed dish."""
    dish = rng.uniform(38.0, 52.0, crew.n)
    taken = aliquot_ml + rng.uniform(-1.0, 1.0, crew.n) * tools.pipette_tolerance_ml
    residue = bench.evaporate(solute_g_per_ml, impurity_g_per_ml, taken, sizes, material)
    return {
        "evaporation_aliquot_ml": np.full(crew.n, aliquot_ml),
        "dish_mass_g": habits.weigh(dish, crew.balance_offset_g, tools, rng),
        "dish_residue_mass_g": habits.weigh(dish + residue, crew.balance_offset_g, tools, rng),
    }


def write_conditions(
    crew: Crew, sizes: Mapping[str, Vector], tools: Instruments, rng: np.random.Generator
) -> Columns:
    """Write temperature, filtration, times and the beam test."""
    reading = crew.temperature_c - sizes["temperature_error"]
    reading = reading + rng.uniform(-1.0, 1.0, crew.n) * tools.thermometer_tolerance_k
    # A beam shows when fines pass in quantity; a little goes unseen (judgement: 10 mg).
    visible = rng.random(crew.n) < 1.0 / (1.0 + np.exp(-(sizes["fines"] - 0.010) / 0.002))
    return {
        "temperature_c": habits.to_step(reading, tools.thermometer_step_k),
        "filtration": np.where(crew.vacuum, "vacuum", "gravity"),
        "stir_min": np.round(rng.uniform(8, 25, crew.n)),
        "settle_min": np.round(rng.uniform(5, 15, crew.n)),
        "dry_min": np.round(rng.uniform(20, 50, crew.n)),
        "scatter": np.where(visible, "visible", "clear"),
    }


def write_reports(
    written: Mapping[str, Vector], fills: Vector, chance: float, rng: np.random.Generator
) -> tuple[Vector, npt.NDArray[np.str_]]:
    """Let each group do its sum, to three figures, now and then with a slip.

    Returns
    -------
    reported, slip : ndarray, shape (n,)
        Value in g per 100 mL, and the name of the slip (empty for none).
    """
    n = fills.shape[0]
    slipped = rng.random(n) < chance
    which = rng.integers(len(habits.SLIPS), size=n)
    names = np.where(slipped, np.array(habits.SLIPS)[which], "")
    values = np.empty(n)
    for i in range(n):
        own = fills[i][np.isfinite(fills[i])]
        m0, mr = float(written["initial_mass_g"][i]), float(written["recovered_mass_g"][i])
        values[i] = habits.reported_value(m0, mr, own, str(names[i]) or None, 3)
    return values, names


def recorded_decimals(frame: pd.DataFrame, tools: Instruments) -> pd.DataFrame:
    """Return how many decimals each number was written with, by instrument."""
    steps = {
        "initial_mass_g": tools.balance_step_g,
        "recovered_mass_g": tools.balance_step_g,
        "wet_cake_mass_g": tools.balance_step_g,
        "dish_mass_g": tools.balance_step_g,
        "dish_residue_mass_g": tools.balance_step_g,
        "temperature_c": tools.thermometer_step_k,
        "titrant_ml": tools.burette_step_ml,
    }
    out: dict[str, pd.Series] = {}
    for name in frame.columns:
        step = tools.cylinder_step_ml if name.startswith("fill_") else steps.get(name)
        if step is not None:
            written = pd.Series(habits.decimals_of(step), index=frame.index, dtype="Int64")
            out[name] = written.where(frame[name].notna())
    return pd.DataFrame(out)


def fill_frame(read_ml: Vector) -> Columns:
    """Return fills as named columns."""
    return {fill_column(j + 1): read_ml[:, j] for j in range(read_ml.shape[1])}
