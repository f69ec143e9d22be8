"""The measurement equation of each route with its analytic sensitivities (numpy only).

Every function takes named inputs, numbers or arrays over runs, and returns the solubility in
g per 100 g water together with the partial derivative by each input it was given. An input left
out is zero, and nothing is spent on it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
Inputs = Mapping[str, "float | Array"]
Gradient = dict[str, "float | Array"]
Result = tuple[Array, Gradient]


def apparent_residue(
    initial: float | Array, recovered: float | Array, volume: float | Array, density: float | Array
) -> Result:
    """Return the plain mass difference over the water, as a class computes it.

    ``s = 100 (m0 - mr) / (V rho)``.

    Parameters
    ----------
    initial, recovered : float or ndarray
        Mass weighed out and mass recovered (g).
    volume : float or ndarray
        Water added (mL).
    density : float or ndarray
        Density of the water (g/mL).

    Returns
    -------
    value : ndarray
        g per 100 g water.
    gradient : dict
        Partial derivative by each input.
    """
    per_gram = np.asarray(100.0 / (volume * density))
    value = np.asarray((initial - recovered) * per_gram)
    return value, {
        "initial": per_gram,
        "recovered": -per_gram,
        "volume": -value / volume,
        "density": -value / density,
    }


def plain_residue(inputs: Inputs) -> Result:
    """Return :func:`apparent_residue` of named inputs."""
    return apparent_residue(*(inputs[n] for n in ("initial", "recovered", "volume", "density")))


def residue(
    inputs: Inputs,
    *,
    carbonation_gain: float = 0.0,
    slurry_gain: float = 0.0,
    oxide_gain: float = 0.0,
    insoluble: float = 0.0,
) -> Result:
    """Return the solubility from undissolved solid, after the expected effects.

    The bookkeeping of mass is run backwards from the weighed residue: what was lost is put back,
    what was gained is taken off, and the mother liquor dried into the cake is removed exactly.

    Parameters
    ----------
    inputs : mapping
        ``initial, recovered`` (g), ``volume`` (mL), ``density`` (g/mL) and any of the effects
        ``retained_liquor`` (mL/g), ``paper_liquor`` (mL), ``residual_moisture``,
        ``residue_carbonation``, ``dehydration``, ``transfer_loss`` (g/g), ``constant_loss``,
        ``warm_weighing``, ``paper_regain``, ``fibres``, ``fines`` (g), ``reagent_moisture``,
        ``soluble_impurity``,
        ``reagent_oxide`` (g/g), ``early_carbonation`` (mmol), ``drainage_film`` (mL/mL),
        ``early_evaporation`` (mL), ``undersaturation`` (fraction).
    carbonation_gain, slurry_gain, oxide_gain, insoluble : float
        See :class:`~solubility_stats.measurement.instruments.Solid`.

    Returns
    -------
    value : ndarray
        g per 100 g water; not-a-number where the equation has no real solution.
    gradient : dict
        Partial derivative by each input given.

    Notes
    -----
    With ``B`` the soluble-plus-insoluble mass that entered, ``K`` the cake before drying changed
    it, ``W`` the water (mL) at filtering and ``X`` the liquor held (mL of its water per g of dry
    solid), the concentration ``c`` (g per mL water) solves
    ``W X c^2 + (W - B X - Vp) c - (B - K) = 0``, which is the same statement as
    ``c = (B - K) / (W - retained water)``. Derivatives follow by implicit differentiation.
    """
    get = _getter(inputs)
    m0, x = get("initial"), get("residue_carbonation")
    before, d_before = _cake_before_drying(inputs)
    k_gain, soil = carbonation_gain, insoluble
    cake = (before + k_gain * soil * x * m0) / (1.0 + k_gain * x)
    entered_per_gram = (
        1.0 - get("reagent_moisture") - get("soluble_impurity") + oxide_gain * get("reagent_oxide")
    )
    entered = m0 * entered_per_gram + slurry_gain * get("early_carbonation") - get("fines")
    delivered = 1.0 - get("drainage_film")
    water = get("volume") * delivered - get("early_evaporation")
    held, paper = get("retained_liquor"), get("paper_liquor")
    c = _concentration(water, held, paper, entered, cake)
    saturation = 1.0 - get("undersaturation")
    scale = 100.0 / (get("density") * saturation)
    value = np.asarray(c * scale)

    # scale / G_c, with G the quadratic above
    bend = scale / (2.0 * water * held * c + water - entered * held - paper)
    by_water = -bend * (held * c + 1.0) * c
    by_entered = bend * (held * c + 1.0)
    by_cake = -bend
    by_before = by_cake / (1.0 + k_gain * x)
    every: Gradient = {
        "initial": by_entered * entered_per_gram
        + (by_cake * k_gain * x * soil / (1.0 + k_gain * x) if soil else 0.0),
        "volume": by_water * delivered,
        "density": -value / get("density"),
        "undersaturation": value / saturation,
        "drainage_film": -by_water * get("volume"),
        "early_evaporation": -by_water,
        "retained_liquor": bend * c * (entered - water * c),
        "paper_liquor": bend * c,
        "reagent_moisture": -by_entered * m0,
        "soluble_impurity": -by_entered * m0,
        "reagent_oxide": by_entered * oxide_gain * m0,
        "early_carbonation": by_entered * slurry_gain,
        "fines": -by_entered,
        "residue_carbonation": by_cake * k_gain * (soil * m0 - cake) / (1.0 + k_gain * x),
    }
    every |= {name: by_before * slope for name, slope in d_before.items()}
    return value, {name: every[name] for name in inputs if name in every}


def _getter(inputs: Inputs) -> Callable[[str], float | Array]:
    return lambda name: inputs.get(name, 0.0)


def _cake_before_drying(inputs: Inputs) -> tuple[float | Array, Gradient]:
    """Return the dry cake that left the filter, and its derivatives."""
    get = _getter(inputs)
    kept, wet = 1.0 - get("transfer_loss"), 1.0 + get("residual_moisture")
    hydrated = 1.0 - get("dehydration")
    whole = (
        get("recovered")
        + get("constant_loss")
        + get("warm_weighing")
        + get("paper_regain")
        - get("fibres")
    )
    factor = 1.0 / (kept * wet * hydrated)
    before = whole * factor
    return before, {
        "recovered": factor,
        "constant_loss": factor,
        "warm_weighing": factor,
        "paper_regain": factor,
        "fibres": -factor,
        "transfer_loss": before / kept,
        "residual_moisture": -before / wet,
        "dehydration": before / hydrated,
    }


def _concentration(
    water: float | Array,
    held: float | Array,
    paper: float | Array,
    entered: float | Array,
    cake: float | Array,
) -> Array:
    """Return the root of the liquor equation that tends to (B - K)/W as the liquor tends to 0."""
    b = np.asarray(water - entered * held - paper)
    dissolved = np.asarray(entered - cake)
    root = np.asarray(b * b + 4.0 * water * held * dissolved)
    with np.errstate(invalid="ignore", divide="ignore"):
        root = np.sqrt(np.where(root >= 0, root, np.nan))
        usual = 2.0 * dissolved / (b + root)
        if np.all(b > 0):
            return np.asarray(usual)
        # More liquor could be held than there is water: the other form avoids cancellation.
        return np.asarray(np.where(b > 0, usual, (root - b) / (2.0 * water * held)))


def titration(inputs: Inputs) -> Result:
    """Return the solubility from titrating an aliquot of the filtrate.

    Parameters
    ----------
    inputs : mapping
        ``titrant`` (mL), ``titrant_concentration`` (mol/L), ``aliquot`` (mL), ``molar_mass``
        (g/mol), ``equivalents``, ``density`` of water (g/mL), ``specific_volume`` (mL/g) and any
        of ``endpoint_overshoot`` (mL), ``filtrate_carbonation`` (mmol/L), ``wet_receiver``
        (mL/mL), ``fines_concentration`` (g/mL), ``undersaturation`` (fraction).

    Returns
    -------
    value : ndarray
        g per 100 g water.
    gradient : dict
        Partial derivative by each input given, but not by ``equivalents``.
    """
    get = _getter(inputs)
    used = get("titrant") - get("endpoint_overshoot")
    molar = 1e-3 * get("molar_mass")
    per_ml = get("titrant_concentration") * molar / (get("equivalents") * get("aliquot"))
    found = used * per_ml + 1e-3 * get("filtrate_carbonation") * molar
    value, gradient, by_found = _from_filtrate(inputs, found)
    gradient |= {
        "titrant": by_found * per_ml,
        "endpoint_overshoot": -by_found * per_ml,
        "titrant_concentration": by_found * used * per_ml / get("titrant_concentration"),
        "aliquot": -by_found * used * per_ml / get("aliquot"),
        "molar_mass": by_found * found / get("molar_mass"),
        "filtrate_carbonation": by_found * 1e-3 * molar,
    }
    return value, {name: gradient[name] for name in inputs if name in gradient}


def evaporation(inputs: Inputs, *, carbonation_gain: float = 0.0) -> Result:
    """Return the solubility from evaporating an aliquot of the filtrate to dryness.

    Parameters
    ----------
    inputs : mapping
        ``dish``, ``dish_residue`` (g), ``aliquot`` (mL), ``density`` of water (g/mL),
        ``specific_volume`` (mL/g) and any of ``evaporation_carbonation``,
        ``evaporation_moisture``, ``evaporation_dehydration``, ``spattering``, ``wet_receiver``,
        ``undersaturation`` (fractions), ``fines_concentration``, ``impurity_concentration`` (g/mL).
    carbonation_gain : float
        Mass gained per gram on full conversion to carbonate (g/g).

    Returns
    -------
    value : ndarray
        g per 100 g water.
    gradient : dict
        Partial derivative by each input given.
    """
    get = _getter(inputs)
    carbonated = 1.0 + carbonation_gain * get("evaporation_carbonation")
    moist, kept = 1.0 + get("evaporation_moisture"), 1.0 - get("spattering")
    hydrated = 1.0 - get("evaporation_dehydration")
    per_gram = 1.0 / (carbonated * moist * kept * hydrated * get("aliquot"))
    found = (get("dish_residue") - get("dish")) * per_gram
    value, gradient, by_found = _from_filtrate(inputs, found)
    whole = by_found * found
    gradient |= {
        "dish": -by_found * per_gram,
        "dish_residue": by_found * per_gram,
        "aliquot": -whole / get("aliquot"),
        "evaporation_carbonation": -whole * carbonation_gain / carbonated,
        "evaporation_moisture": -whole / moist,
        "spattering": whole / kept,
        "evaporation_dehydration": whole / hydrated,
    }
    return value, {name: gradient[name] for name in inputs if name in gradient}


def _from_filtrate(inputs: Inputs, found: float | Array) -> tuple[Array, Gradient, float | Array]:
    """Turn g solute per mL of (diluted, turbid) filtrate into g per 100 g water at saturation."""
    get = _getter(inputs)
    diluted = 1.0 + get("wet_receiver")
    clear = found * diluted - get("fines_concentration") - get("impurity_concentration")
    density, volume = get("density"), get("specific_volume")
    saturation = 1.0 - get("undersaturation")
    solvent = 1.0 - volume * clear  # mL of water per mL of solution
    scale = 100.0 / (density * saturation)
    value = np.asarray(clear * scale / solvent)
    by_clear = scale / (solvent * solvent)
    gradient: Gradient = {
        "wet_receiver": by_clear * found,
        "fines_concentration": -by_clear,
        "impurity_concentration": -by_clear,
        "density": -value / density,
        "specific_volume": value * clear / solvent,
        "undersaturation": value / saturation,
    }
    return value, gradient, by_clear * diluted
