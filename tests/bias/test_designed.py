"""Planned amounts: the ratio of slopes, and the trap next to it."""

import numpy as np
import pandas as pd
import pytest

from solubility_stats.bias import designed_fit
from solubility_stats.bias.forward import Batch, predict
from solubility_stats.bias.inputs import as_estimates
from solubility_stats.errors import InputError

N = 30


def amounts(seed=0):
    rng = np.random.default_rng(seed)
    return rng.uniform(1.0, 6.0, N), rng.uniform(100.0, 450.0, N)


def class_frame(sizes, noise=0.0, seed=0, m0=None, volume=None):
    mass, water = amounts(seed)
    mass = mass if m0 is None else np.full(N, m0)
    water = water if volume is None else np.full(N, volume)
    batch = Batch(mass, water, np.full(N, 0.165), np.zeros(N), np.full(N, 0.9982))
    mr = predict(batch, sizes)["recovered_g"]
    mr = mr + noise * np.random.default_rng(seed + 1).normal(size=N)
    value = 100.0 * (mass - mr) / (water * 0.9982)
    return pd.DataFrame(
        {
            "group": [str(i) for i in range(N)],
            "temperature_c": 20.0,
            "value_g_per_100g": value,
            "u_g_per_100g": max(noise, 1e-5) * 100.0 / water,
            "initial_mass_g": mass,
            "water_volume_ml": water,
        }
    )


def fit(frame, curve, **options):
    return designed_fit(as_estimates(frame), curve, **options)


@pytest.mark.parametrize(
    "sizes",
    [
        {},
        {"retained_liquor": 2.0, "residue_carbonation": 0.1, "residual_moisture": 0.05,
         "transfer_loss": 0.05, "constant_loss": 0.1},
        {"fibres": 0.05, "fines": 0.03},
    ],
)  # fmt: skip
def test_effects_on_the_residue_and_constants_cancel_exactly(flat_curve, sizes):
    found = fit(class_frame(sizes), flat_curve(0.165))
    assert found.solubility_g_per_100g == pytest.approx(0.165, rel=2e-4)


# Moisture h looks like S / (1 - h): +2 % gives 1.0204. Saturation passes through in full.
@pytest.mark.parametrize(
    ("sizes", "ratio"),
    [({"reagent_moisture": 0.02}, 1 / 0.98), ({"undersaturation": 0.1}, 0.9)],
)
def test_what_does_not_cancel(flat_curve, sizes, ratio):
    found = fit(class_frame(sizes), flat_curve(0.165))
    assert found.solubility_g_per_100g == pytest.approx(0.165 * ratio, rel=1e-3)


def test_intervals_cover(flat_curve, protocol):
    hits, widths = 0, []
    for seed in range(200):
        frame = class_frame({"transfer_loss": 0.05}, noise=0.04, seed=seed)
        found = designed_fit(as_estimates(frame, protocol), flat_curve(0.165))
        hits += found.low_g_per_100g <= 0.165 <= found.high_g_per_100g
        widths.append(found.u_g_per_100g)
    # 95 % of 200 is 190 with a standard deviation of 3.1.
    assert 180 <= hits <= 199
    # Standard error of the slope at 0.04 g over volumes 100 to 450 mL, from the spread of V:
    # 100 * 0.04 / (101 mL * sqrt(30)) = 0.0072 g/100 g, over a = 0.95.
    assert np.median(widths) == pytest.approx(0.0076, rel=0.1)


def test_the_trap_is_refused_with_its_reason(flat_curve):
    with pytest.raises(InputError, match="-1"):
        fit(class_frame({}), flat_curve(0.165), regressors=("recovered_mass_g",))


def test_the_trap_is_one():
    # Dissolved on recovered mass at one initial mass: slope -1 although nothing depends on it.
    frame = class_frame({}, noise=0.04, m0=2.5, volume=300.0)
    dissolved = frame["value_g_per_100g"] * 300.0 * 0.9982 / 100.0
    recovered = 2.5 - dissolved
    assert np.polyfit(recovered, dissolved, 1)[0] == pytest.approx(-1.0, abs=1e-9)


@pytest.mark.parametrize(("m0", "volume"), [(2.5, None), (None, 300.0), (2.5, 300.0)])
def test_one_recipe_cannot_be_used(flat_curve, m0, volume):
    with pytest.raises(InputError, match="not varied"):
        fit(class_frame({}, m0=m0, volume=volume), flat_curve(0.165))


def test_too_few_runs(flat_curve):
    with pytest.raises(InputError, match="too few"):
        fit(class_frame({}).head(4), flat_curve(0.165))


def test_a_planned_class_gets_the_fit_with_the_shared_uncertainty_of_its_cylinders(planned, lime):
    found = designed_fit(planned, lime)
    assert found.n == 18
    assert found.low_g_per_100g < found.solubility_g_per_100g < found.high_g_per_100g
    assert found.low_percent < found.percent < found.high_percent
    width = found.high_g_per_100g - found.low_g_per_100g
    of_reference = float(lime.at(found.temperature_c)[0])
    assert found.high_percent - found.low_percent > 100 * width / of_reference
