"""The bench: what happens to the solid, the water and the filtrate, step by step.

Masses are followed species by species (hydroxide, carbonate, inert solid, soluble impurity,
water), so mass is conserved by construction and nothing here knows the formula by which anyone
later estimates a solubility. All arrays have one entry per run.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]

# g/mol, conventional atomic weights (CIAAW abridged): Ca 40.078, O 15.999, H 1.008, C 12.011.
M_HYDROXIDE, M_OXIDE, M_CARBONATE = 74.092, 56.077, 100.086


@dataclass(frozen=True)
class Material:
    """What matters about a solid on the bench.

    Attributes
    ----------
    molar_mass : float
        g/mol of the dissolving solid.
    equivalents : int
        Moles of strong acid one mole of it takes; 0 where no acid titration applies.
    is_lime : bool
        Whether it reacts with carbon dioxide as calcium hydroxide does.
    """

    molar_mass: float
    equivalents: int
    is_lime: bool


@dataclass(frozen=True)
class Preparation:
    """True amounts at the moment of filtering, one entry per run.

    Attributes
    ----------
    dissolved_g, water_g : ndarray, shape (n,)
        Solid in solution and water it is dissolved in.
    hydroxide_g, carbonate_g, inert_g : ndarray, shape (n,)
        Undissolved solid by kind; ``hydroxide_g`` is the solute whatever its formula.
    impurity_g : ndarray, shape (n,)
        Soluble neutral impurity in solution.
    """

    dissolved_g: Vector
    water_g: Vector
    hydroxide_g: Vector
    carbonate_g: Vector
    inert_g: Vector
    impurity_g: Vector


def prepare(
    solid_g: Vector,
    water_g: Vector,
    solubility_g_per_100g: Vector,
    sizes: Mapping[str, Vector],
    material: Material,
) -> Preparation:
    """Wet the solid, let air and time act, and stop at the moment of filtering.

    Parameters
    ----------
    solid_g, water_g : ndarray, shape (n,)
        True mass of reagent taken and of water poured.
    solubility_g_per_100g : ndarray, shape (n,)
        True solubility at the true temperature, g per 100 g water.
    sizes : mapping of str to ndarray, shape (n,)
        Size of each cause in each run, in the units of :data:`CAUSES`.
    """
    inert = sizes["insoluble_matter"] * solid_g
    impurity = sizes["soluble_impurity"] * solid_g
    moisture = sizes["reagent_moisture"] * solid_g
    oxide = sizes["reagent_oxide"] * solid_g if material.is_lime else np.zeros_like(solid_g)
    hydroxide = solid_g - inert - impurity - moisture - oxide
    slaked = oxide * M_HYDROXIDE / M_OXIDE  # the oxide takes up water and becomes hydroxide
    hydroxide = hydroxide + slaked
    water = water_g + moisture - (slaked - oxide) - sizes["early_evaporation"]
    carbonate = np.zeros_like(solid_g)
    if material.is_lime:
        moles = np.minimum(sizes["early_carbonation"] / 1000.0, hydroxide / M_HYDROXIDE)
        hydroxide = hydroxide - moles * M_HYDROXIDE
        carbonate = carbonate + moles * M_CARBONATE
    approach = 1.0 - sizes["undersaturation"]
    dissolved = np.minimum(approach * solubility_g_per_100g / 100.0 * water, hydroxide)
    return Preparation(dissolved, water, hydroxide - dissolved, carbonate, inert, impurity)


def recover_solid(
    flask: Preparation, sizes: Mapping[str, Vector], material: Material
) -> tuple[Vector, Vector]:
    """Filter, dry on gentle heat and scrape off the residue.

    Returns
    -------
    wet_cake_g, recovered_g : ndarray, shape (n,)
        True mass of the scraped cake before and after drying, without paper.
    """
    solid = flask.hydroxide_g + flask.carbonate_g + flask.inert_g
    with np.errstate(invalid="ignore", divide="ignore"):
        through = np.where(solid > 0, np.minimum(sizes["fines"] / solid, 1.0), 0.0)
    hydroxide = flask.hydroxide_g * (1.0 - through)
    rest = (flask.carbonate_g + flask.inert_g) * (1.0 - through)
    # The cake keeps liquor; its water is driven off later and its solute stays behind.
    held_water = np.minimum(sizes["retained_liquor"] * (hydroxide + rest), flask.water_g)
    carried = held_water / flask.water_g
    hydroxide = hydroxide + carried * flask.dissolved_g
    rest = rest + carried * flask.impurity_g
    kept = 1.0 - sizes["transfer_loss"]
    constant = sizes["constant_loss"]
    wet = np.maximum((hydroxide + rest + held_water) * kept - constant, 0.0)
    if material.is_lime:
        turned = sizes["residue_carbonation"] * hydroxide
        dry = hydroxide - turned + turned * M_CARBONATE / M_HYDROXIDE + rest
    else:
        dry = hydroxide + rest
    damp = dry * (1.0 + sizes["residual_moisture"])
    recovered = np.maximum(damp * kept - constant, 0.0) + sizes["fibres"]
    return wet, recovered


def filtrate_content(
    flask: Preparation, sizes: Mapping[str, Vector], material: Material
) -> tuple[Vector, Vector, Vector]:
    """Return solute, suspended fines and water of the clear filtrate's parent liquor.

    Returns
    -------
    solute_g, fines_g, water_g : ndarray, shape (n,)
        For the whole liquor; an aliquot takes its share. Water in the receiver dilutes it.
    """
    dilution = 1.0 / (1.0 - sizes["wet_receiver"])
    solute = flask.dissolved_g.copy()
    if material.is_lime:
        # Carbonate haze left behind: the hydroxide it was made from is gone from the liquor.
        lost = sizes["filtrate_carbonation"] / 1000.0 * flask.water_g / 1000.0 * M_HYDROXIDE
        solute = np.maximum(solute - lost, 0.0)
    return solute, sizes["fines"], flask.water_g * dilution


def titrate(
    solute_g_per_ml: Vector,
    aliquot_ml: Vector,
    acid_mol_per_l: Vector,
    sizes: Mapping[str, Vector],
    material: Material,
) -> Vector:
    """Return the true volume of acid run in, mL, with overshoot at the end point."""
    moles = material.equivalents * solute_g_per_ml * aliquot_ml / material.molar_mass
    return np.asarray(moles / acid_mol_per_l * 1000.0 + sizes["endpoint_overshoot"])


def evaporate(
    solute_g_per_ml: Vector,
    impurity_g_per_ml: Vector,
    aliquot_ml: Vector,
    sizes: Mapping[str, Vector],
    material: Material,
) -> Vector:
    """Return the true mass of an aliquot's dry residue, g; lime partly turns to carbonate."""
    solute = solute_g_per_ml * aliquot_ml
    if material.is_lime:
        turned = sizes["evaporation_carbonation"] * solute
        solute = solute - turned + turned * M_CARBONATE / M_HYDROXIDE
    residue = (solute + impurity_g_per_ml * aliquot_ml) * (1.0 - sizes["spattering"])
    return np.asarray(residue * (1.0 + sizes["evaporation_moisture"]))
