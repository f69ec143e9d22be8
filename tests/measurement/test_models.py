"""The route equations against the forward bookkeeping of mass and an independent program."""

import math

import numpy as np
import pytest
import uncertainties as un
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.measurement import models

GAINS = {"carbonation_gain": 0.3508, "slurry_gain": 0.02599, "oxide_gain": 0.3213}
MOLAR, CARBONATE, OXIDE = 74.093, 100.087, 56.077  # g/mol

# Ranges wide enough to include anything a class does, in the units of the models.
RANGES = {
    "initial": (0.8, 30.0),
    "volume": (80.0, 500.0),
    "density": (0.96, 1.0),
    "retained_liquor": (0.0, 3.0),
    "residual_moisture": (0.0, 0.15),
    "residue_carbonation": (0.0, 0.5),
    "dehydration": (0.0, 0.2),
    "transfer_loss": (0.0, 0.2),
    "constant_loss": (0.0, 0.2),
    "warm_weighing": (0.0, 0.03),
    "paper_regain": (0.0, 0.08),
    "fibres": (0.0, 0.03),
    "fines": (0.0, 0.03),
    "reagent_moisture": (0.0, 0.03),
    "soluble_impurity": (0.0, 0.03),
    "reagent_oxide": (0.0, 0.05),
    "early_carbonation": (0.0, 0.3),
    "drainage_film": (0.0, 0.01),
    "early_evaporation": (0.0, 5.0),
    "paper_liquor": (0.0, 3.0),
    "undersaturation": (0.0, 0.15),
}


def sizes(ranges):
    return st.fixed_dictionaries({k: st.floats(*v) for k, v in ranges.items()})


@given(sizes(RANGES), st.floats(0.01e-2, 0.2e-2), st.floats(0.0, 0.1))
def test_residue_undoes_the_bench_exactly(oracle, x, solubility, insoluble):
    gains = {
        "carbonation_gain": CARBONATE / MOLAR - 1,
        "slurry_gain": (CARBONATE - MOLAR) * 1e-3,
        "oxide_gain": MOLAR / OXIDE - 1,
    }
    x = x | {"recovered": oracle.bench(x, solubility, insoluble)}
    value, _ = models.residue(x, **gains, insoluble=insoluble)
    assert float(value) == pytest.approx(100 * solubility / x["density"], rel=1e-8, abs=1e-10)


@given(sizes(RANGES), st.floats(0.5, 0.95), st.floats(0.01, 1.0))
def test_residue_sensitivities_agree_with_the_uncertainties_package(oracle, x, kept, relative):
    x = x | {"recovered": kept * x["initial"]}
    u = {name: 0.01 * relative * (abs(v) + 0.01) for name, v in x.items()}
    tagged = {k: un.ufloat(v, u[k], tag=k) for k, v in x.items()}
    found = oracle.residue(tagged, insoluble=0.03)
    value, gradient = models.residue(x, **GAINS, insoluble=0.03)
    assert float(value) == pytest.approx(found.nominal_value, rel=1e-9)
    slopes = {var.tag: d for var, d in found.derivatives.items()}
    size = max(abs(d * u[k]) for k, d in slopes.items())
    for name, slope in slopes.items():
        assert float(gradient[name]) * u[name] == pytest.approx(
            slope * u[name], rel=1e-9, abs=1e-12 * size
        )


TITRATION = {
    "titrant": (3.0, 45.0),
    "titrant_concentration": (0.02, 0.5),
    "aliquot": (5.0, 100.0),
    "molar_mass": (50.0, 200.0),
    "density": (0.96, 1.0),
    "specific_volume": (0.0, 0.7),
    "endpoint_overshoot": (0.0, 0.2),
    "filtrate_carbonation": (0.0, 1.0),
    "wet_receiver": (0.0, 0.05),
    "fines_concentration": (0.0, 1e-4),
    "undersaturation": (0.0, 0.1),
}


@given(sizes(TITRATION))
def test_titration_agrees_with_the_uncertainties_package(x):
    u = {name: 0.01 * (abs(v) + 1e-3) for name, v in x.items()}
    y = {k: un.ufloat(v, u[k], tag=k) for k, v in x.items()}
    moles = y["titrant_concentration"] * (y["titrant"] - y["endpoint_overshoot"]) / 1000 / 2
    per_litre = moles / (y["aliquot"] / 1000) + y["filtrate_carbonation"] / 1000
    grams_per_ml = per_litre * y["molar_mass"] / 1000 * (1 + y["wet_receiver"])
    clear = grams_per_ml - y["fines_concentration"]
    oracle = 100 * clear / (y["density"] * (1 - y["specific_volume"] * clear))
    oracle = oracle / (1 - y["undersaturation"])
    value, gradient = models.titration(x | {"equivalents": 2.0})
    assert float(value) == pytest.approx(oracle.nominal_value, rel=1e-9)
    for var, slope in oracle.derivatives.items():
        assert float(gradient[var.tag]) == pytest.approx(slope, rel=1e-9, abs=1e-15)


EVAPORATION = {
    "dish": (20.0, 60.0),
    "dish_residue": (60.1, 64.0),
    "aliquot": (10.0, 100.0),
    "density": (0.96, 1.0),
    "specific_volume": (0.0, 0.7),
    "evaporation_carbonation": (0.0, 1.0),
    "evaporation_moisture": (0.0, 0.1),
    "spattering": (0.0, 0.1),
    "evaporation_dehydration": (0.0, 0.2),
    "wet_receiver": (0.0, 0.05),
    "fines_concentration": (0.0, 1e-4),
    "impurity_concentration": (0.0, 1e-4),
    "undersaturation": (0.0, 0.1),
}


@given(sizes(EVAPORATION), st.floats(0.01, 1.0))
def test_evaporation_agrees_with_the_uncertainties_package(x, grams):
    x = x | {"dish_residue": x["dish"] + grams}
    y = {k: un.ufloat(v, 0.01 * (abs(v) + 1e-3), tag=k) for k, v in x.items()}
    dry = (y["dish_residue"] - y["dish"]) / (1 + 0.3508 * y["evaporation_carbonation"])
    dry = dry / (1 + y["evaporation_moisture"]) / (1 - y["spattering"])
    dry = dry / (1 - y["evaporation_dehydration"])
    clear = dry / y["aliquot"] * (1 + y["wet_receiver"])
    clear = clear - y["fines_concentration"] - y["impurity_concentration"]
    oracle = 100 * clear / (y["density"] * (1 - y["specific_volume"] * clear))
    oracle = oracle / (1 - y["undersaturation"])
    value, gradient = models.evaporation(x, carbonation_gain=0.3508)
    assert float(value) == pytest.approx(oracle.nominal_value, rel=1e-9)
    for var, slope in oracle.derivatives.items():
        assert float(gradient[var.tag]) == pytest.approx(slope, rel=1e-9, abs=1e-15)


def plain(bench, initial, volume, solubility=1.65e-3, **effects):
    """Relative error (%) of the plain result when effects act on the bench and are ignored."""
    x = dict.fromkeys(RANGES, 0.0) | {"initial": initial, "volume": volume, "density": 1.0}
    insoluble = effects.pop("insoluble", 0.0)
    shown = bench(x | effects, solubility, insoluble)
    value, _ = models.apparent_residue(initial, shown, volume, 1.0)
    return 100 * (float(value) / (100 * solubility) - 1)


@pytest.mark.parametrize(
    ("effects", "small", "large"),
    [  # per cent of S for 2.5 g in 300 mL and 5 g in 100 mL, S = 1.65 g/L, by hand computation
        ({"retained_liquor": 1.0}, -0.7, -4.8),
        ({"retained_liquor": 2.0}, -1.3, -9.7),
        ({"residual_moisture": 0.02}, -8, -59),
        ({"residue_carbonation": 0.05}, -7, -51),
        ({"constant_loss": 0.05}, 10, 30),
        ({"transfer_loss": 0.05}, 20, 147),
        ({"fines": 0.02}, 4, 12),
        ({"fibres": 0.02}, -4, -12),
        ({"reagent_moisture": 0.01}, 5, 30),
        ({"reagent_oxide": 0.03}, -5, -29),
        ({"undersaturation": 0.1}, -10, -10),
        ({"early_evaporation": 3.0}, -1, -3),
    ],
)
def test_size_of_each_mechanism(oracle, effects, small, large):
    assert plain(oracle.bench, 2.5, 300, **effects) == pytest.approx(
        small, abs=max(0.06, 0.5 * (abs(small) >= 2))
    )
    assert plain(oracle.bench, 5.0, 100, **effects) == pytest.approx(
        large, abs=max(0.06, 0.5 * (abs(large) >= 3))
    )


@pytest.mark.parametrize("insoluble", [0.01, 0.05, 0.3])
def test_insoluble_matter_in_the_bottle_cancels(oracle, insoluble):
    assert plain(oracle.bench, 2.5, 300, insoluble=insoluble) == pytest.approx(0.0, abs=1e-9)


def test_retained_liquor_correction_is_exact_in_water():
    # 0.20 g/g solute, 4 g of water retained of 100 g: (m0 - mr)/(W - w) = 0.2000 exactly.
    solid = 2.0
    initial, shown = 20.0 + solid, solid + 0.20 * 4.0
    value, _ = models.residue(
        {
            "initial": initial,
            "recovered": shown,
            "volume": 100.0,
            "density": 1.0,
            "retained_liquor": 4.0 / solid,
        }
    )
    assert float(value) == pytest.approx(20.0, rel=1e-12)
    assert 100 * (initial - shown) / (100.0 - 4.0) == pytest.approx(20.0, rel=1e-12)


def test_leverage_is_the_amplification_of_a_residue_error():
    # residue over dissolved: 4.05 for 2.5 g in 300 mL, 29.3 for 5 g in 100 mL at 1.65 g/L
    for initial, volume, leverage in ((2.5, 300, 4.05), (5.0, 300, 9.1), (5.0, 100, 29.3)):
        dissolved = 1.65e-3 * volume
        value, gradient = models.apparent_residue(initial, initial - dissolved, volume, 1.0)
        found = -float(gradient["recovered"]) * (initial - dissolved) / float(value)
        assert found == pytest.approx(leverage, abs=0.05)


def test_more_liquor_than_water_still_has_a_root():
    x = {"initial": 200.0, "recovered": 190.0, "volume": 100.0, "density": 1.0}
    x["retained_liquor"] = 0.7
    value, _ = models.residue(x)
    c = float(value) / 100
    solid = 200.0 - c * 100.0
    assert solid * (1 + 0.7 * c) == pytest.approx(190.0, rel=1e-10)


def test_noise_gives_negative_values_and_absurdity_gives_none():
    x = {"initial": 2.5, "recovered": 2.6, "volume": 300.0, "density": 1.0, "retained_liquor": 1.2}
    assert float(models.residue(x)[0]) < 0
    assert math.isnan(float(models.residue(x | {"recovered": 400.0})[0]))


def test_titration_of_limewater():
    # 25 mL of saturated limewater (0.0203 mol/L, Bates, Bower & Smith 1956) take 10.15 mL of
    # 0.1 mol/L acid by 1:2 stoichiometry.
    value, _ = models.titration(
        {
            "titrant": 10.15,
            "titrant_concentration": 0.1,
            "aliquot": 25.0,
            "molar_mass": 74.092,
            "equivalents": 2.0,
            "density": 0.99705,
            "specific_volume": 0.0,
        }
    )
    assert float(value) == pytest.approx(100 * 0.0203 * 0.074092 / 0.99705, rel=1e-12)


def test_arrays_and_numbers_give_the_same():
    x = {"initial": 2.5, "recovered": 2.0, "volume": 300.0, "density": 0.998, "fines": 0.005}
    one, slope = models.residue(x)
    many, slopes = models.residue({k: np.full(3, v) for k, v in x.items()})
    assert many == pytest.approx(np.full(3, float(one)))
    assert slopes["fines"] == pytest.approx(np.full(3, float(slope["fines"])))
