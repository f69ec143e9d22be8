"""What a recipe promises: leverage, spread of single results, and the floor under a class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.bias.forward import Batch, predict
from solubility_stats.bias.priors import solid_of, terms_for
from solubility_stats.display import Result
from solubility_stats.errors import InputError

# Solid below this multiple of what dissolves is no safe excess.
SAFE_EXCESS = 1.15
# Scope of budget components that differ from run to run.
OWN_SCOPES = ("run", "group")


@dataclass(frozen=True, repr=False)
class Recipe(Result):
    """Prediction for one recipe, before anybody has measured.

    Attributes
    ----------
    initial_mass_g, water_volume_ml, temperature_c : float
        The recipe.
    dissolved_g, residue_g : float
        Expected to dissolve, and to stay.
    leverage : float
        Residue over dissolved: one percent lost from the residue is this many percent of the
        result.
    spread_percent : float
        Predicted standard deviation of single results in a class (instruments and differences
        between groups), percent of the solubility.
    shared_percent : float
        Part of the uncertainty all groups share; no number of groups goes below it.
    enough_solid : bool
        Whether there is a safe excess of solid.
    components : DataFrame
        ``component, u_percent, share_percent, shared``, largest first, of one result.
    notes : tuple of str
        What to know before using it.
    """

    initial_mass_g: float
    water_volume_ml: float
    temperature_c: float
    dissolved_g: float
    residue_g: float
    leverage: float
    spread_percent: float
    shared_percent: float
    enough_solid: bool
    components: pd.DataFrame
    notes: tuple[str, ...]

    def headline(self) -> str:
        """Return leverage and spread."""
        return (
            f"{self.initial_mass_g:g} g in {self.water_volume_ml:g} mL: leverage "
            f"{self.leverage:.1f}, single results scatter by {self.spread_percent:.0f} %, "
            f"{self.shared_percent:.0f} % are common to all groups"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the components."""
        return {"Components of one result": self.components}


def recipe(
    initial_mass_g: float,
    water_volume_ml: float,
    protocol: Any,
    curve: Any,
    *,
    temperature_c: float | None = None,
    fills: int | None = None,
) -> Recipe:
    """Predict leverage and spread of a recipe for the residue route.

    Parameters
    ----------
    initial_mass_g, water_volume_ml : float
        Solid and water each group takes.
    protocol : Protocol
        Instruments and expected effects.
    curve : ReferenceCurve
        Gives the solubility to expect.
    temperature_c : float, optional
        Default the protocol's laboratory temperature.
    fills : int, optional
        In how many fills the water is measured; default one per 100 mL.

    Raises
    ------
    InputError
        For amounts that are not positive.
    """
    from solubility_stats.measurement import estimate
    from solubility_stats.reference.water import density

    for name, given in (("initial_mass_g", initial_mass_g), ("water_volume_ml", water_volume_ml)):
        if not (np.isfinite(given) and given > 0):
            raise InputError("an amount must be positive", where=name, found=given)
    t = float(protocol.lab.temperature_c if temperature_c is None else temperature_c)
    value = float(np.asarray(curve.at(t)[0]))
    rho = float(np.asarray(density(t)[0]))
    dissolved = min(value * rho * water_volume_ml / 100.0, initial_mass_g)
    run = _typical_run(initial_mass_g, water_volume_ml, t, value, rho, fills, protocol)
    enough = initial_mass_g >= SAFE_EXCESS * dissolved
    components = pd.DataFrame(columns=["component", "u_percent", "share_percent", "shared"])
    if enough:
        est = estimate(run, protocol)
        components = _components(est.budget_of(route="residue"), value)
    shared = components[components["shared"].astype(bool)]["u_percent"]
    own = components[~components["shared"].astype(bool)]["u_percent"]
    leverage = (initial_mass_g - dissolved) / dissolved
    return Recipe(
        initial_mass_g=float(initial_mass_g),
        water_volume_ml=float(water_volume_ml),
        temperature_c=t,
        dissolved_g=dissolved,
        residue_g=initial_mass_g - dissolved,
        leverage=leverage,
        spread_percent=float(np.sqrt(np.sum(own**2))) if enough else float("nan"),
        shared_percent=float(np.sqrt(np.sum(shared**2))) if enough else float("nan"),
        enough_solid=enough,
        components=components,
        notes=_notes(enough, leverage, dissolved),
    )


def _typical_run(
    m0: float, volume: float, t: float, value: float, rho: float, fills: int | None, protocol: Any
) -> pd.DataFrame:
    """Return the readings of a run in which every cause has its expected size."""
    count = fills or max(1, round(volume / 100.0))
    frame = pd.DataFrame({"group": ["1"], "temperature_c": [t], "initial_mass_g": [m0]})
    batch = Batch(
        np.array([m0]), np.array([volume]), np.array([value]), np.zeros(1), np.array([rho])
    )
    sizes: dict[str, Any] = {}
    for term in terms_for(protocol, frame, ["residue"]):
        sizes[term.cause.name] = sizes.get(term.cause.name, 0.0) + term.mean * term.pattern
    frame["recovered_mass_g"] = predict(batch, sizes, solid_of(protocol))["recovered_g"]
    for n in range(count):
        frame[f"fill_{n + 1}_ml"] = volume / count
    frame["solute"] = protocol.solid.name
    return frame


def _components(budget: pd.DataFrame, value: float) -> pd.DataFrame:
    percent = 100.0 * budget["contribution_g_per_100g"] / value
    table = pd.DataFrame(
        {
            "component": budget["component"],
            "variance": percent**2,
            "shared": ~budget["scope"].isin(OWN_SCOPES),
        }
    )
    keys = ["component", "shared"]
    table = table.groupby(keys, sort=False).agg({"variance": "sum"}).reset_index()
    table["u_percent"] = np.sqrt(table["variance"])
    table["share_percent"] = 100.0 * table["variance"] / table["variance"].sum()
    table = table.sort_values("variance", ascending=False, ignore_index=True)
    return table[["component", "u_percent", "share_percent", "shared"]]


def _notes(enough: bool, leverage: float, dissolved: float) -> tuple[str, ...]:
    notes = []
    if not enough:
        notes.append(
            f"Too little solid: about {dissolved:.2g} g dissolve, so nearly all of it may, and the "
            f"result would only be a lower limit. Take at least {SAFE_EXCESS * dissolved:.2g} g."
        )
    elif leverage > 5:
        notes.append(
            f"A generous excess costs accuracy: every percent of the residue lost or gained is "
            f"{leverage:.0f} % of the result. Less solid, or more water, lowers this."
        )
    return tuple(notes)


def compare_recipes(
    initial_masses_g: Sequence[float],
    water_volumes_ml: Sequence[float],
    protocol: Any,
    curve: Any,
    *,
    temperature_c: float | None = None,
) -> pd.DataFrame:
    """Return leverage and spread over a grid of recipes, one row each.

    Parameters
    ----------
    initial_masses_g : sequence of float
        Solid to weigh out, g.
    water_volumes_ml : sequence of float
        Water in all, mL.
    protocol : Protocol
        Instruments and expected effects.
    curve : ReferenceCurve
        Gives the solubility to expect.
    temperature_c : float, optional
        In °C; the protocol's laboratory temperature where not given.

    Returns
    -------
    DataFrame
        ``initial_mass_g, water_volume_ml, leverage, spread_percent, shared_percent,
        enough_solid``; spreads are absent where there is no safe excess of solid.
    """
    rows = []
    for mass in initial_masses_g:
        for volume in water_volumes_ml:
            found = recipe(mass, volume, protocol, curve, temperature_c=temperature_c)
            rows.append(
                {
                    "initial_mass_g": found.initial_mass_g,
                    "water_volume_ml": found.water_volume_ml,
                    "leverage": found.leverage,
                    "spread_percent": found.spread_percent,
                    "shared_percent": found.shared_percent,
                    "enough_solid": found.enough_solid,
                }
            )
    return pd.DataFrame(rows)
