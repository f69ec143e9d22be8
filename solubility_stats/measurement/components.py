"""The inputs of each route with every cause of their uncertainty, built from readings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from solubility_stats.measurement import models
from solubility_stats.measurement.effects import Effect
from solubility_stats.measurement.propagation import SQRT3, SQRT12
from solubility_stats.measurement.readings import Readings
from solubility_stats.measurement.settings import Array, Keys
from solubility_stats.reference import water

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
        Which runs share it; None where no run shares it with another.
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

    @property
    def own(self) -> bool:
        """Whether the cause is of each run's, or each group's, own."""
        return self.keys is None or self.keys.scopes == ("group",) * len(self.keys.labels)


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


def basis_of(r: Readings, part: str) -> str:
    """Return the basis of a part of the protocol."""
    return str(getattr(r.settings.protocol, part).basis)


def weighing(
    r: Readings, quantity: str, step: Number, weighings: Number = 2.0, *, linearity: bool = True
) -> list[Component]:
    """Return the components of a mass that is a difference of weighings, zeroing included.

    Parameters
    ----------
    r : Readings
        The runs.
    quantity : str
        Model input.
    step : float or ndarray
        Resolution of one weighing (g).
    weighings : float or ndarray
        How many weighings make up the mass.
    linearity : bool
        Whether the balance's linearity enters this mass by itself.
    """
    number = r.settings.number
    words, source = quantity.replace("_", " ") + " mass", basis_of(r, "balance")
    repeatability = np.sqrt(weighings) * number("balance.repeatability_g")
    parts = [
        Component(
            f"{words}: resolution", quantity, np.sqrt(weighings) * step / SQRT12, "g",
            "triangular", source,
        ),
        Component(
            f"{words}: repeatability", quantity, repeatability, "g", "normal", source,
            evaluation="A", dof=float(r.settings.protocol.balance.repeatability_dof),
        ),
        Component(
            f"{words}: balance linearity", quantity, number("balance.linearity_g") / SQRT3, "g",
            "rectangular", source, keys=r.settings.keys("balance"),
        ),
    ]  # fmt: skip
    return parts if linearity else parts[:2]


def cylinder(r: Readings, count: Array, capacity: Array) -> list[Component]:
    """One cylinder's calibration error enters every fill alike; readings are independent."""
    limit, half = r.cylinder_limits(capacity)
    half = np.maximum(half, 0.5 * np.asarray(r.fill_step()))
    source = basis_of(r, "cylinder")
    return [
        Component(
            "cylinder: calibration", "volume", count * limit / SQRT3, "mL", "rectangular",
            source, keys=r.settings.keys("cylinder"),
        ),
        Component(
            "cylinder: reading", "volume", np.sqrt(count) * half / SQRT3, "mL", "rectangular",
            source,
        ),
    ]  # fmt: skip


def pipette(r: Readings, aliquot: Array) -> list[Component]:
    """Return calibration and filling of a pipette."""
    source = basis_of(r, "pipette")
    return [
        Component(
            "pipette: calibration", "aliquot", r.pipette_limit(aliquot) / SQRT3, "mL",
            "rectangular", source, keys=r.settings.keys("section"),
        ),
        Component(
            "pipette: filling", "aliquot", r.settings.number("pipette.filling_ml"), "mL",
            "normal", source,
        ),
    ]  # fmt: skip


def solution(r: Readings, u_density: Array) -> list[Component]:
    """Return what water and dissolved solid add to a result from filtrate."""
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


def water_density(r: Readings, *, mixture: bool = False) -> tuple[Array, Array]:
    """Return density of the water (g/mL) and its standard uncertainty, shape (n,)."""
    t, u = r.temperature() if mixture else r.water_temperature()
    # A class shares few temperatures: the equation of state is evaluated once for each.
    pairs = t + 1j * u
    codes, distinct = pd.factorize(pairs)
    t, u = distinct.real, distinct.imag
    outside = (t < water.LOW_C) | (t > water.HIGH_C)
    found = water.density(np.where(outside, 20.0, t), u)
    return np.where(outside, np.nan, found.value)[codes], np.asarray(found.u)[codes]


def add_effect(
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
                keys=r.settings.keys("group"),
                instrument=False,
            )
        )


def _volume(r: Readings) -> Array:
    recorded = r.column("water_volume_ml")
    usual = r.settings.number("lab.water_volume_ml")
    return np.where(recorded > 0, recorded, usual)
