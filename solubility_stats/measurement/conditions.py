"""Which results may enter the statistics, and why others may not."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from solubility_stats.measurement.components import RouteInputs
from solubility_stats.measurement.propagation import SQRT12
from solubility_stats.measurement.readings import Readings
from solubility_stats.measurement.settings import Array, Mask
from solubility_stats.quantities import fill_columns

Reasons = npt.NDArray[np.object_]

# How many standard uncertainties below zero a result may lie before the readings cannot be right.
# Noise alone takes one result in 30 000 beyond it, so refusing those does not bias a mean, while
# dropping every negative result would.
IMPOSSIBLE_BELOW = 4.0
_NAMES = {
    "initial": "initial mass",
    "recovered": "recovered mass",
    "volume": "water volume",
    "titrant": "titrant volume",
    "titrant_concentration": "titrant concentration",
    "aliquot": "aliquot volume",
    "dish": "mass of the dish",
    "dish_residue": "mass of dish and residue",
}
_STATED = {
    "residue": (("water_volume_ml", "lab.water_volume_ml", "water volume"),),
    "titration": (
        ("aliquot_ml", "lab.aliquot_ml", "aliquot"),
        ("titrant_mol_per_l", "titrant.mol_per_l", "titrant concentration"),
    ),
    "evaporation": (("aliquot_ml", "lab.aliquot_ml", "aliquot"),),
}
_ZERO_IS_ABSURD = ("initial", "volume", "titrant", "titrant_concentration", "aliquot")


def reasons(r: Readings, inputs: RouteInputs, value: Array, u: Array) -> tuple[Reasons, Reasons]:
    """Return why each result must not be used (empty: it may), and remarks on those that may.

    Parameters
    ----------
    r : Readings
        The runs of this route.
    inputs : RouteInputs
        Their inputs.
    value, u : ndarray, shape (n,)
        Solubility after expected effects and its standard uncertainty (g per 100 g water).

    Returns
    -------
    reason, note : ndarray of str objects, shape (n,)

    Notes
    -----
    A negative solubility is kept while measurement error can explain it: a class near the limit
    of its balance scatters around a small value, and cutting off the lower tail would raise the
    mean. Beyond ``IMPOSSIBLE_BELOW`` standard uncertainties the readings themselves are wrong
    (a paper's tare, swapped masses) and the result is refused with that reason.
    """
    reason = np.full(r.n, "", dtype=object)
    note = np.full(r.n, "", dtype=object)

    def refuse(where: Mask, why: str) -> None:
        reason[where & (reason == "")] = why

    aside = r.runs["set_aside"].to_numpy(dtype=object)
    reason[:] = np.where(aside != "", aside, "")
    if inputs.route == "residue":
        lost = r.with_paper() & np.isnan(r.column("paper_mass_g"))
        refuse(lost, "recorded with its paper, but the mass of the paper is missing")
    if np.isnan(inputs.values.get("equivalents", 1.0)):
        refuse(
            np.ones(r.n, dtype=bool),
            "solid.formula or solid.equivalents is not known for this solid: set them in the "
            "protocol",
        )
    for name, words in _NAMES.items():
        if name in inputs.values:
            recorded = np.broadcast_to(np.asarray(inputs.values[name], dtype=float), (r.n,))
            refuse(np.isnan(recorded), f"missing: {words}")
            if name in _ZERO_IS_ABSURD:
                refuse(recorded <= 0, f"{words} is not above zero")
    _volume_conditions(r, inputs, refuse, note)
    with np.errstate(invalid="ignore"):
        no_liquid = np.isnan(np.asarray(inputs.values["density"], dtype=float))
    refuse(no_liquid, "at this temperature water is no liquid")
    if inputs.route == "residue":
        _solid_conditions(r, refuse, note)
    refuse(~np.isfinite(value) | ~np.isfinite(u), "the readings contradict each other")
    with np.errstate(invalid="ignore"):
        refuse(
            value < -IMPOSSIBLE_BELOW * u,
            "solubility far below zero: more than measurement error can explain",
        )
        negative = (value < 0) & (note == "")
    note[negative] = "negative, within what measurement error explains; kept"
    note[reason != ""] = ""
    return reason, note


def _volume_conditions(
    r: Readings, inputs: RouteInputs, refuse: Callable[[Mask, str], None], note: Reasons
) -> None:
    route, values = inputs.route, inputs.values
    names = fill_columns(r.runs.columns)
    water = r.water()
    for column, setting, words in _STATED[route]:
        stands_in = r.from_protocol(column, setting)
        if route == "evaporation":
            stands_in &= np.isnan(r.column("evaporation_aliquot_ml"))
        note[stands_in] = f"{words} taken from the protocol"
    with np.errstate(invalid="ignore"):
        if route == "residue" and names:
            fills = r.runs[names].to_numpy(dtype=float, na_value=np.nan)
            refuse(np.any(fills < 0, axis=1), "a fill is below zero")
            capacity = np.asarray(r.settings.number("cylinder.capacity_ml"))[..., None]
            beyond = (capacity > 0) & (fills > 1.05 * capacity)
            note[np.any(beyond, axis=1)] = (
                "a fill is more than the cylinder holds: check the reading"
            )
        if route != "residue":
            aliquot = np.asarray(values["aliquot"])
            refuse(aliquot > water, "the aliquot is more than the water there was")


def _solid_conditions(r: Readings, refuse: Callable[[Mask, str], None], note: Reasons) -> None:
    initial, recovered = r.initial(), r.recovered()
    number = r.settings.number
    smallest = 2.0 * np.hypot(
        number("balance.repeatability_g"), number("balance.readability_g") / SQRT12
    )
    with np.errstate(invalid="ignore"):
        refuse(recovered < -2 * smallest, "recovered mass is below zero")
        refuse(
            recovered <= smallest,
            "no solid was left: the solution need not be saturated, the result is a lower limit",
        )
        note[recovered > initial] = (
            "recovered more than was weighed out, within what measurement error explains; kept"
        )
        scarce = recovered < 0.13 * initial  # initial below 1.15 times what dissolved
    note[scarce] = "little solid was left over: check that there was an excess"
