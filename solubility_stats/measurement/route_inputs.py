"""What goes into each route: inputs with their causes of uncertainty, and its equations."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from solubility_stats.measurement import models
from solubility_stats.measurement.components import (
    Component,
    Number,
    RouteInputs,
    add_effect,
    basis_of,
    cylinder,
    pipette,
    solution,
    water_density,
    weighing,
)
from solubility_stats.measurement.propagation import SQRT2, SQRT3, SQRT12
from solubility_stats.measurement.readings import Readings
from solubility_stats.reference.molar_mass import molar_mass


def residue_inputs(r: Readings) -> RouteInputs:
    """Return inputs and components of the mass-difference route."""
    count, capacity, volume = r.fills()
    density, u_density = water_density(r)
    values: dict[str, Number] = {
        "initial": r.initial(),
        "recovered": r.recovered(),
        "volume": volume,
        "density": density,
    }
    parts = [
        *_residue_weighings(r),
        *cylinder(r, count, capacity),
        Component(
            "water: density", "density", u_density, "g/mL", "normal",
            "density of pure water at the temperature of the water",
            keys=r.settings.keys("class"),
        ),
    ]  # fmt: skip
    together = r.with_paper()
    only = {"fibres": ~together, "paper_regain": together, "paper_liquor": together}
    for effect in r.settings.effects("residue"):
        mask = only.get(effect.name)
        if mask is None:
            add_effect(r, "residue", effect, values, parts)
        elif mask.any():
            add_effect(r, "residue", effect, values, parts, mask.astype(np.float64))
    corrections = _measured_liquor(r, values, parts)
    solid = r.settings.protocol.solid

    model = partial(
        models.residue,
        carbonation_gain=solid.carbonation_gain,
        slurry_gain=solid.slurry_gain_g_per_mmol,
        oxide_gain=solid.oxide_gain,
        insoluble=solid.insoluble_fraction,
    )
    return RouteInputs("residue", values, tuple(parts), model, models.plain_residue, corrections)


def _residue_weighings(r: Readings) -> list[Component]:
    """Two weighings on one balance; a residue known with its paper takes two net weighings."""
    number = r.settings.number
    together = r.with_paper()
    step = r.step("recovered_mass_g", number("balance.readability_g"))
    weighings: Number = 2.0
    if together.any():
        with_paper = r.step("recovered_with_paper_mass_g", number("balance.readability_g"))
        step, weighings = np.where(together, with_paper, step), np.where(together, 4.0, 2.0)
    return [
        *weighing(r, "initial", r.step("initial_mass_g", number("balance.readability_g"))),
        *weighing(r, "recovered", step, weighings),
        Component(
            "balance: drift between the weighings", "recovered", number("balance.drift_g"), "g",
            "normal", basis_of(r, "balance"), keys=r.settings.keys("balance"),
        ),
    ]  # fmt: skip


def titration_inputs(r: Readings) -> RouteInputs:
    """Return inputs and components of the titration of an aliquot."""
    number = r.settings.number
    solid = r.settings.protocol.solid
    # Without formula and stoichiometry nothing follows from a titre; conditions say so.
    known = bool(solid.formula) and solid.equivalents > 0
    mass, u_mass = molar_mass(solid.formula) if known else (np.nan, np.nan)
    aliquot = r.aliquot()
    strength = r.stated("titrant_mol_per_l", "titrant.mol_per_l")
    density, u_density = water_density(r, mixture=True)
    values: dict[str, Number] = {
        "titrant": r.column("titrant_ml"),
        "titrant_concentration": strength,
        "aliquot": aliquot,
        "molar_mass": mass,
        "equivalents": solid.equivalents if known else np.nan,
        "density": density,
        "specific_volume": solid.specific_volume_ml_per_g,
    }
    two = SQRT2
    reading = np.hypot(number("burette.reading_ml") * two, two * r.step("titrant_ml", 0.0) / SQRT12)
    burette, section = basis_of(r, "burette"), r.settings.keys("section")
    parts = [
        Component("burette: two readings", "titrant", reading, "mL", "normal", burette),
        Component(
            "burette: calibration", "titrant", r.burette_limit() / SQRT3, "mL", "rectangular",
            burette, keys=section,
        ),
        Component(
            "titrant: concentration", "titrant_concentration",
            strength * number("titrant.u_relative"), "mol/L", "normal",
            basis_of(r, "titrant"), keys=r.settings.keys("class"),
        ),
        *pipette(r, aliquot),
        Component(
            "molar mass", "molar_mass", u_mass, "g/mol", "rectangular",
            "standard atomic weights", keys=r.settings.keys("class"),
        ),
        *solution(r, u_density),
    ]  # fmt: skip
    for effect in r.settings.effects("titration"):
        add_effect(r, "titration", effect, values, parts)
    return RouteInputs("titration", values, tuple(parts), models.titration, models.titration)


def evaporation_inputs(r: Readings) -> RouteInputs:
    """Return inputs and components of the evaporation of an aliquot."""
    readability = r.settings.number("balance.readability_g")
    own = r.column("evaporation_aliquot_ml")
    aliquot = np.where(np.isnan(own), r.aliquot(), own)
    density, u_density = water_density(r, mixture=True)
    solid = r.settings.protocol.solid
    values: dict[str, Number] = {
        "dish": r.column("dish_mass_g"),
        "dish_residue": r.column("dish_residue_mass_g"),
        "aliquot": aliquot,
        "density": density,
        "specific_volume": solid.specific_volume_ml_per_g,
    }
    parts = [
        *weighing(r, "dish", r.step("dish_mass_g", readability), linearity=False),
        *weighing(r, "dish_residue", r.step("dish_residue_mass_g", readability), linearity=False),
        # Dish and dish with residue weigh nearly the same, so what a balance does wrong at that
        # load cancels; what remains is its statement over the small difference.
        Component(
            "balance: linearity over the difference", "dish_residue",
            r.settings.number("balance.linearity_g") / SQRT3, "g", "rectangular",
            basis_of(r, "balance"), keys=r.settings.keys("balance"),
        ),
        *pipette(r, aliquot),
        *solution(r, u_density),
    ]  # fmt: skip
    for effect in r.settings.effects("evaporation"):
        add_effect(r, "evaporation", effect, values, parts)
    model = partial(models.evaporation, carbonation_gain=solid.carbonation_gain)
    return RouteInputs("evaporation", values, tuple(parts), model, model)


def _measured_liquor(
    r: Readings, values: dict[str, Number], parts: list[Component]
) -> dict[str, tuple[str, Number]]:
    """Where a wet cake was weighed, take the liquor from it instead of from the protocol."""
    wet, dry = r.column("wet_cake_mass_g"), r.recovered()
    known = ~np.isnan(wet) & (wet >= dry) & (dry > 0) & ~r.with_paper()
    if "retained_liquor" not in values or not known.any():
        return {}
    with np.errstate(invalid="ignore", divide="ignore"):
        measured = (wet - dry) / (dry * values["density"])
        u_reading = SQRT2 * r.step("wet_cake_mass_g", r.settings.number("balance.readability_g"))
        u_measured = np.hypot(u_reading / SQRT12 / dry, 0.05 * measured)
    values["retained_liquor"] = np.where(known, measured, values["retained_liquor"])
    for i, part in enumerate(parts):
        if part.quantity == "retained_liquor":
            own = u_measured if part.own else 0.0
            parts[i] = replace(part, u=np.where(known, own, part.u))
    # The measured liquor depends on the recovered mass as well: dX/dmr = -wet / mr^2.
    with np.errstate(invalid="ignore", divide="ignore"):
        return {"recovered": ("retained_liquor", np.where(known, -wet / dry**2, 0.0))}
