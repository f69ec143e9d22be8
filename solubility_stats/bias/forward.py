"""What each cause does to each reading: the bookkeeping of masses, as a function of cause sizes.

Symbols: initial mass ``m0``, recovered mass ``mr``, dissolved mass ``D``, water mass ``W``,
solubility ``S`` in g per 100 g water. In the order things happen::

    A     = m0 (1 - i - h - q - c) + c m0 M / M_oxide        solute available
    D     = min((1 - d) S W / 100, A),  W = rho V (1 + e) - E   dissolved at filtering
    solid = A - D + (M_carbonate - M) n + i m0 - P           undissolved, less fines
    cake  = solid (1 + X D / W), then + x (ratio - 1) hydroxide, then times (1 + w)
    mr    = cake (1 - f) - L0 + F + offset

A plain difference over volume reads ``100 (m0 - mr) / (rho V)``. All sizes broadcast, so one
call evaluates many vectors of sizes over many runs. Nothing here knows a prior.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]

ROUTES = ("residue", "titration", "methyl_orange", "evaporation", "wet_cake")

# Names of the sizes and their units; "" is a mass fraction or ratio.
SIZES: Mapping[str, str] = {
    "retained_liquor": "g/g",
    "residual_moisture": "",
    "residue_carbonation": "",
    "early_carbonation": "mmol",
    "constant_loss": "g",
    "transfer_loss": "",
    "fines": "g",
    "fibres": "g",
    "paper_tare": "g",
    "balance_offset": "g",
    "reagent_moisture": "",
    "soluble_impurity": "",
    "reagent_oxide": "",
    "insoluble_matter": "",
    "undersaturation": "",
    "temperature_error": "K",
    "cylinder_error": "",
    "early_evaporation": "g",
    "filtrate_haze": "mmol/L",
    "filtrate_carbonation": "mmol/L",
    "acid_error": "",
    "wet_receiver": "",
    "endpoint_overshoot": "mL",
    "evaporation_carbonation": "",
    "evaporation_moisture": "",
    "drainage_film": "",
    "warm_weighing": "g",
    "spattering": "",
}
RESIDUE_SIZES = tuple(list(SIZES)[:18])
TITRATION_SIZES = ("filtrate_haze", "acid_error", "wet_receiver", "endpoint_overshoot")
DISH_SIZES = ("evaporation_carbonation", "evaporation_moisture")


@dataclass(frozen=True)
class Solid:
    """Constants of the solid that the bookkeeping needs.

    Attributes
    ----------
    molar_mass : float
        g/mol. Default calcium hydroxide, 74.092 (conventional atomic weights, CIAAW).
    carbonate_ratio : float
        Mass of carbonate formed per mass of solute converted; 1 where carbon dioxide does
        nothing to the solid.
    oxide_ratio : float
        Mass of solute formed per mass of oxide in the reagent; 1 where there is none.
    """

    molar_mass: float = 74.092
    carbonate_ratio: float = 100.086 / 74.092
    oxide_ratio: float = 74.092 / 56.077

    @property
    def takes_carbon_dioxide(self) -> bool:
        """Whether carbonation is a cause at all for this solid."""
        return self.carbonate_ratio != 1.0


@dataclass(frozen=True)
class Batch:
    """What each run was made of.

    Attributes
    ----------
    initial_mass_g, water_volume_ml : ndarray, shape (n,)
        As recorded.
    solubility : ndarray, shape (n,)
        Solubility at the recorded temperature, g per 100 g water.
    slope : ndarray, shape (n,)
        Its change with temperature, g per 100 g water per K.
    density : ndarray, shape (n,)
        Density of water, g/mL.
    titrant_ml : float
        Acid a titration takes, mL: an overshoot counts relative to it.
    """

    initial_mass_g: Vector
    water_volume_ml: Vector
    solubility: Vector
    slope: Vector
    density: Vector
    titrant_ml: float = 10.0

    @property
    def n(self) -> int:
        """Number of runs."""
        return int(self.initial_mass_g.size)

    def take(self, index: npt.ArrayLike) -> Batch:
        """Return the runs at the given positions or where a mask is true."""
        at = np.asarray(index)
        return Batch(
            self.initial_mass_g[at],
            self.water_volume_ml[at],
            self.solubility[at],
            self.slope[at],
            self.density[at],
            self.titrant_ml,
        )

    def leverage(self) -> Vector:
        """Return residue over dissolved mass for a saturated run, shape (n,).

        One percent lost from the residue is this many percent of the solubility.
        """
        dissolved = self.solubility * self.density * self.water_volume_ml / 100.0
        return np.asarray((self.initial_mass_g - dissolved) / dissolved)


def predict(
    batch: Batch, sizes: Mapping[str, npt.ArrayLike], solid: Solid | None = None
) -> dict[str, Vector]:
    """Return what each route would read, given the size of each cause.

    Parameters
    ----------
    batch : Batch
        The runs.
    sizes : mapping of str to array_like
        Sizes by the names of :data:`SIZES`, broadcast against shape (n,); absent means zero.
    solid : Solid, optional
        Default calcium hydroxide.

    Returns
    -------
    dict of str to ndarray
        ``recovered_g`` and ``wet_cake`` in g; ``residue`` (plain difference over volume),
        ``titration`` (phenolphthalein), ``methyl_orange`` and ``evaporation`` in g per 100 g
        water.
    """
    unknown = sorted(set(sizes) - set(SIZES))
    if unknown:
        raise ValueError(f"unknown cause sizes {unknown}; known are {sorted(SIZES)}")
    z = {name: np.asarray(sizes.get(name, 0.0), dtype=float) for name in SIZES}
    solid = solid or Solid()
    m0, recorded = batch.initial_mass_g, batch.water_volume_ml * batch.density
    inert = z["insoluble_matter"] * m0
    lost = z["insoluble_matter"] + z["reagent_moisture"] + z["soluble_impurity"]
    available = m0 * (1.0 - lost + z["reagent_oxide"] * (solid.oxide_ratio - 1.0))
    poured = recorded * (1.0 + z["cylinder_error"]) * (1.0 - z["drainage_film"])
    water = poured - z["early_evaporation"]
    at_equilibrium = batch.solubility + batch.slope * z["temperature_error"]
    strength = (1.0 - z["undersaturation"]) * at_equilibrium / 100.0
    dissolved = np.minimum(strength * water, available)
    mr, wet = _cake(z, solid, available - dissolved, inert, dissolved / water)
    mr = mr + z["paper_tare"] + z["balance_offset"] - z["warm_weighing"]
    filtrate = _filtrate(z, solid, 100.0 * dissolved / water, water, batch)
    return {
        "recovered_g": mr,
        "residue": 100.0 * (m0 - mr) / recorded,
        "wet_cake": wet,
        **filtrate,
    }


def _cake(
    z: Mapping[str, Vector], solid: Solid, hydroxide: Vector, inert: Vector, strength: Vector
) -> tuple[Vector, Vector]:
    """Return the dry recovered mass before paper and balance, and the wet cake, g."""
    carbonate_step = solid.carbonate_ratio - 1.0
    converted = z["early_carbonation"] / 1000.0 * solid.molar_mass
    early = converted * solid.carbonate_ratio  # a ratio of 1 leaves the mass as it was
    hydroxide = hydroxide - converted
    whole = hydroxide + early + inert
    kept = np.where(whole > 0, (whole - z["fines"]) / np.where(whole > 0, whole, 1.0), 1.0)
    cake = whole * kept
    active = hydroxide * kept * (1.0 + z["retained_liquor"] * strength)
    dry = cake * (1.0 + z["retained_liquor"] * strength)
    dry = dry + carbonate_step * z["residue_carbonation"] * active
    dry = dry * (1.0 + z["residual_moisture"])
    wet = cake * (1.0 + z["retained_liquor"] * (1.0 + strength))
    share, fixed = 1.0 - z["transfer_loss"], z["fibres"] - z["constant_loss"]
    return np.asarray(dry * share + fixed), np.asarray(wet * share + fixed)


def _filtrate(
    z: Mapping[str, Vector], solid: Solid, strength: Vector, water: Vector, batch: Batch
) -> dict[str, Vector]:
    """Return what titration and evaporation of the filtrate read, g per 100 g water."""
    per_mmol = solid.molar_mass / 1e4  # 1 mmol/L is this many g per 100 g water, near enough
    fines = 100.0 * z["fines"] / water
    diluted = 1.0 - z["wet_receiver"]
    gone = per_mmol * z["filtrate_carbonation"]
    haze = per_mmol * z["filtrate_haze"]
    content = strength - gone + fines
    # Acid stronger than its label is used up sooner and reads low.
    acid = (1.0 + z["endpoint_overshoot"] / batch.titrant_ml) / (1.0 + z["acid_error"])
    gain = solid.carbonate_ratio - 1.0
    dish = content + gain * (haze + z["evaporation_carbonation"] * strength)
    dish = dish + 100.0 * z["soluble_impurity"] * batch.initial_mass_g / water
    wet = 1.0 + z["evaporation_moisture"]
    return {
        "titration": np.asarray((content - haze) * diluted * acid),
        "methyl_orange": np.asarray(content * diluted * acid),
        "evaporation": np.asarray(dish * diluted * wet * (1.0 - z["spattering"])),
    }


# Step of the central difference, per unit of size; the bookkeeping is a low polynomial in the
# sizes, so the error of the difference is of the order of the square of this step.
_STEP = 1e-4


def sensitivities(
    batch: Batch,
    names: Sequence[str],
    route: str,
    *,
    at: Mapping[str, npt.ArrayLike] | None = None,
    solid: Solid | None = None,
) -> tuple[Vector, Vector]:
    """Return the reading of a route at the given sizes and its derivative by each size.

    Parameters
    ----------
    batch : Batch
        The runs, n of them.
    names : sequence of str
        The k sizes to differentiate by.
    route : str
        One of the keys returned by :func:`predict`.
    at : mapping of str to array_like, optional
        Sizes to differentiate at, scalars or shape (n,); absent means zero.

    Returns
    -------
    reading : ndarray, shape (n,)
    jacobian : ndarray, shape (n, k)
    """
    given = at or {}
    base = {n: np.asarray(given.get(n, 0.0), dtype=float) for n in {*names, *given}}
    k = len(names)
    shift = np.zeros((2 * k + 1, k))
    shift[1 : k + 1] = _STEP * np.eye(k)
    shift[k + 1 :] = -_STEP * np.eye(k)
    sizes: dict[str, npt.ArrayLike] = {n: v for n, v in base.items() if n not in names}
    for j, name in enumerate(names):
        sizes[name] = base[name] + shift[:, j][:, None]
    out = np.broadcast_to(predict(batch, sizes, solid)[route], (2 * k + 1, batch.n))
    slope = (out[1 : k + 1] - out[k + 1 :]) / (2.0 * _STEP)
    return np.array(out[0]), np.array(slope.T)
