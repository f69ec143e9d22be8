"""The inputs of each route with every cause of their uncertainty, built from readings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from solubility_stats.measurement import models
from solubility_stats.measurement.effects import Effect
from solubility_stats.measurement.propagation import SQRT2, SQRT3, SQRT12
from solubility_stats.measurement.readings import Readings
from solubility_stats.measurement.settings import Array, Keys
from solubility_stats.reference import water
from solubility_stats.reference.molar_mass import molar_mass

Number = float | Array
Model = Callable[[dict[str, Number]], models.Result]


@dataclass(frozen=True)
class Component:
    """One cause of uncertainty of one input, for all runs of a route.

    Attributes
    ----------
    name : str
        What causes it, in words.
    quantity : str
        The model input it belongs to.
    u : float or ndarray, shape (n,)
        Standard uncertainty, in ``unit``.
    unit, distribution, evaluation : str
        As in a budget; ``evaluation`` is A or B.
    dof : float
        Degrees of freedom.
    keys : Keys or None
        Which runs share it; None for a cause of each run's own.
    instrument : bool
        Whether the plain (apparent) result has it too.
    basis : str
        Where the size comes from.
    """

    name: str
    quantity: str
    u: Number
    unit: str
    distribution: str
    basis: str
    evaluation: str = "B"
    dof: float = np.inf
    keys: Keys | None = None
    instrument: bool = True


@dataclass(frozen=True)
class RouteInputs:
    """Everything needed to evaluate one route for its runs.

    Attributes
    ----------
    route : str
        ``residue``, ``titration`` or ``evaporation``.
    values : dict
        Model inputs.
    components : tuple of Component
        Causes of uncertainty.
    model, plain : callable
        Measurement equation after and before expected effects; both return value and gradient.
    """

    route: str
    values: dict[str, Number]
    components: tuple[Component, ...]
    model: Model
    plain: Model
    corrections: dict[str, tuple[str, Number]] = field(default_factory=dict)


def residue_inputs(r: Readings) -> RouteInputs:
    """Return inputs and components of the mass-difference route."""
    number = r.settings.number
    count, capacity, volume = r.fills()
    density, u_density = _water_density(r)
    values: dict[str, Number] = {
        "initial": r.initial(),
        "recovered": r.recovered(),
        "volume": volume,
        "density": density,
    }
    weighings = np.where(r.with_paper(), 4.0, 2.0) if r.with_paper().any() else 2.0
    parts = [
        *_weighing(r, "initial", "initial_mass_g", 2.0),
        *_weighing(r, "recovered", "recovered_mass_g", weighings),
        Component(
            "balance: drift between the weighings",
            "recovered",
            number("balance.drift_g"),
            "g",
            "normal",
            _basis(r, "balance"),
            keys=r.settings.keys("balance"),
        ),
        *_cylinder(r, count, capacity),
        Component(
            "water: density",
            "density",
            u_density,
            "g/mL",
            "normal",
            "density of pure water at the temperature of the water",
            keys=r.settings.keys("class"),
        ),
    ]
    together = r.with_paper()
    only = {
        "fibres": ~together,
        "paper_regain": together,
        "paper_liquor": together,
    }
    for effect in r.settings.effects("residue"):
        mask = only.get(effect.name)
        if mask is None or mask.any():
            _add_effect(
                r,
                "residue",
                effect,
                values,
                parts,
                1.0 if mask is None else mask.astype(np.float64),
            )
    solid = r.settings.protocol.solid
    corrections = _measured_liquor(r, values, parts)

    def model(inputs: dict[str, Number]) -> models.Result:
        return models.residue(
            inputs,
            carbonation_gain=solid.carbonation_gain,
            slurry_gain=solid.slurry_gain_g_per_mmol,
            oxide_gain=solid.oxide_gain,
            insoluble=solid.insoluble_fraction,
        )

    def plain(inputs: dict[str, Number]) -> models.Result:
        names = ("initial", "recovered", "volume", "density")
        return models.apparent_residue(*(inputs[name] for name in names))

    return RouteInputs("residue", values, tuple(parts), model, plain, corrections)


def titration_inputs(r: Readings) -> RouteInputs:
    """Return inputs and components of the titration of an aliquot."""
    number = r.settings.number
    solid = r.settings.protocol.solid
    # Without formula and stoichiometry nothing follows from a titre; conditions say so.
    known = bool(solid.formula) and solid.equivalents > 0
    mass, u_mass = molar_mass(solid.formula) if known else (np.nan, np.nan)
    aliquot = r.column("aliquot_ml")
    strength = r.column("titrant_mol_per_l")
    default = np.asarray(number("titrant.mol_per_l"))
    strength = np.where(np.isnan(strength) & (default > 0), default, strength)
    density, u_density = _water_density(r, mixture=True)
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
    burette, section = _basis(r, "burette"), r.settings.keys("section")
    parts = [
        Component("burette: two readings", "titrant", reading, "mL", "normal", burette),
        Component(
            "burette: calibration", "titrant", r.burette_limit() / SQRT3, "mL", "rectangular",
            burette, keys=section,
        ),
        Component(
            "titrant: concentration", "titrant_concentration",
            strength * number("titrant.u_relative"), "mol/L", "normal",
            _basis(r, "titrant"), keys=r.settings.keys("class"),
        ),
        *_pipette(r, aliquot),
        Component(
            "molar mass", "molar_mass", u_mass, "g/mol", "rectangular",
            "standard atomic weights", keys=r.settings.keys("class"),
        ),
        *_solution(r, u_density),
    ]  # fmt: skip
    for effect in r.settings.effects("titration"):
        _add_effect(r, "titration", effect, values, parts)
    return RouteInputs("titration", values, tuple(parts), models.titration, models.titration)


def evaporation_inputs(r: Readings) -> RouteInputs:
    """Return inputs and components of the evaporation of an aliquot."""
    own = r.column("evaporation_aliquot_ml")
    aliquot = np.where(np.isnan(own), r.column("aliquot_ml"), own)
    density, u_density = _water_density(r, mixture=True)
    solid = r.settings.protocol.solid
    values: dict[str, Number] = {
        "dish": r.column("dish_mass_g"),
        "dish_residue": r.column("dish_residue_mass_g"),
        "aliquot": aliquot,
        "density": density,
        "specific_volume": solid.specific_volume_ml_per_g,
    }
    parts = [
        *_weighing(r, "dish", "dish_mass_g", 2.0, linearity=False),
        *_weighing(r, "dish_residue", "dish_residue_mass_g", 2.0, linearity=False),
        # Dish and dish with residue weigh nearly the same, so what a balance does wrong at that
        # load cancels; what remains is its statement over the small difference.
        Component(
            "balance: linearity over the difference", "dish_residue",
            r.settings.number("balance.linearity_g") / SQRT3, "g", "rectangular",
            _basis(r, "balance"), keys=r.settings.keys("balance"),
        ),
        *_pipette(r, aliquot),
        *_solution(r, u_density),
    ]  # fmt: skip
    for effect in r.settings.effects("evaporation"):
        _add_effect(r, "evaporation", effect, values, parts)
    gain = solid.carbonation_gain

    def model(inputs: dict[str, Number]) -> models.Result:
        return models.evaporation(inputs, carbonation_gain=gain)

    return RouteInputs("evaporation", values, tuple(parts), model, model)


def _basis(r: Readings, part: str) -> str:
    return str(getattr(r.settings.protocol, part).basis)


def _weighing(
    r: Readings, quantity: str, column: str, weighings: Number, *, linearity: bool = True
) -> list[Component]:
    """Return the components of a mass that is a difference of weighings, zeroing included."""
    number = r.settings.number
    words, basis = quantity.replace("_", " ") + " mass", _basis(r, "balance")
    step = r.step(column, number("balance.readability_g"))
    parts = [
        Component(
            f"{words}: resolution", quantity, np.sqrt(weighings) * step / SQRT12, "g",
            "triangular", basis,
        ),
        Component(
            f"{words}: repeatability", quantity,
            np.sqrt(weighings) * number("balance.repeatability_g"), "g", "normal", basis,
            evaluation="A", dof=float(r.settings.protocol.balance.repeatability_dof),
        ),
    ]  # fmt: skip
    if linearity:
        parts.append(
            Component(
                f"{words}: balance linearity",
                quantity,
                number("balance.linearity_g") / SQRT3,
                "g",
                "rectangular",
                basis,
                keys=r.settings.keys("balance"),
            )
        )
    return parts


def _cylinder(r: Readings, count: Array, capacity: Array) -> list[Component]:
    """One cylinder's calibration error enters every fill alike; readings are independent."""
    limit, half = r.cylinder_limits(capacity)
    half = np.maximum(half, 0.5 * np.asarray(r.fill_step()))
    basis = _basis(r, "cylinder")
    return [
        Component(
            "cylinder: calibration", "volume", count * limit / SQRT3, "mL", "rectangular",
            basis, keys=r.settings.keys("cylinder"),
        ),
        Component(
            "cylinder: reading", "volume", np.sqrt(count) * half / SQRT3, "mL", "rectangular",
            basis,
        ),
    ]  # fmt: skip


def _pipette(r: Readings, aliquot: Array) -> list[Component]:
    basis = _basis(r, "pipette")
    return [
        Component(
            "pipette: calibration", "aliquot", r.pipette_limit(aliquot) / SQRT3, "mL",
            "rectangular", basis, keys=r.settings.keys("section"),
        ),
        Component(
            "pipette: filling", "aliquot", r.settings.number("pipette.filling_ml"), "mL",
            "normal", basis,
        ),
    ]  # fmt: skip


def _solution(r: Readings, u_density: Array) -> list[Component]:
    solid = r.settings.protocol.solid
    shared = r.settings.keys("class")
    return [
        Component(
            "water: density", "density", u_density, "g/mL", "normal",
            "density of pure water at the temperature of the filtrate", keys=shared,
        ),
        Component(
            "solute: volume in solution", "specific_volume", solid.u_specific_volume_ml_per_g,
            "mL/g", "normal", solid.basis, keys=shared,
        ),
    ]  # fmt: skip


def _water_density(r: Readings, *, mixture: bool = False) -> tuple[Array, Array]:
    t, u = r.temperature() if mixture else r.water_temperature()
    # A class shares few temperatures: the equation of state is evaluated once for each.
    pairs = t + 1j * u
    codes, distinct = pd.factorize(pairs)
    t, u = distinct.real, distinct.imag
    outside = (t < water.LOW_C) | (t > water.HIGH_C)
    found = water.density(np.where(outside, 20.0, t), u)
    return np.where(outside, np.nan, found.value)[codes], np.asarray(found.u)[codes]


def _add_effect(
    r: Readings,
    route: str,
    effect: Effect,
    values: dict[str, Number],
    parts: list[Component],
    factor: Number = 1.0,
) -> None:
    """Put an effect among the inputs, its shared and its own part among the components."""
    mean, u_shared, between = r.settings.effect(effect)
    name, unit = effect.name, effect.unit
    if route != "residue" and name == "fines":
        name, unit, factor = "fines_concentration", "g/mL", 1.0 / _volume(r)
    elif route != "residue" and name == "soluble_impurity":
        mass = np.where(np.isnan(r.initial()), r.settings.number("lab.initial_mass_g"), r.initial())
        name, unit, factor = "impurity_concentration", "g/mL", mass / _volume(r)
    values[name] = mean * factor
    if np.any(np.asarray(u_shared) > 0):
        parts.append(
            Component(
                f"{effect.term}: class mean",
                name,
                u_shared * factor,
                unit,
                effect.shape,
                effect.basis,
                dof=effect.dof,
                keys=r.settings.keys(effect.shared_by),
                instrument=False,
            )
        )
    if np.any(np.asarray(between) > 0):
        parts.append(
            Component(
                f"{effect.term}: group to group",
                name,
                between * factor,
                unit,
                effect.shape,
                effect.basis,
                dof=effect.dof,
                instrument=False,
            )
        )


def _volume(r: Readings) -> Array:
    recorded = r.column("water_volume_ml")
    usual = r.settings.number("lab.water_volume_ml")
    return np.where(recorded > 0, recorded, usual)


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
            own = u_measured if part.keys is None else 0.0
            parts[i] = replace(part, u=np.where(known, own, part.u))
    # The measured liquor depends on the recovered mass as well: dX/dmr = -wet / mr^2.
    with np.errstate(invalid="ignore", divide="ignore"):
        return {"recovered": ("retained_liquor", np.where(known, -wet / dry**2, 0.0))}
