"""Semesters repeat from their seed, show their causes, and refuse what cannot be."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from solubility_stats.errors import InputError
from solubility_stats.simulation import CAUSES, Recipe, simulate
from solubility_stats.simulation.habits import Instruments, exchange_digits, to_step


def apparent(sim) -> pd.Series:
    runs = sim.records.runs
    return (runs["initial_mass_g"] - runs["recovered_mass_g"]) / runs["water_volume_ml"] * 100


FINE = Instruments(
    balance_step_g=1e-6,
    balance_sd_g=0,
    balance_linearity_g=0,
    balance_drift_g=0,
    cylinder_step_ml=1e-4,
    cylinder_sd_ml=0,
    cylinder_tolerance_ml=0,
)


def test_the_same_seed_gives_the_same_semester():
    first, again, other = (simulate(groups=9, seed=s) for s in (4, 4, 5))
    pd.testing.assert_frame_equal(first.records.runs, again.records.runs)
    pd.testing.assert_frame_equal(first.truth, again.truth)
    assert not first.records.runs["recovered_mass_g"].equals(other.records.runs["recovered_mass_g"])


def test_without_causes_and_with_fine_instruments_the_readings_give_the_truth():
    from solubility_stats.reference.water import density

    sim = simulate(groups=12, usual=False, instruments=FINE, seed=1)
    rho = density(sim.truth["temperature_c"].to_numpy())[0]
    per_100g = apparent(sim) / rho
    np.testing.assert_allclose(per_100g, sim.truth["solubility_g_per_100g"], rtol=1e-4)


def test_stated_sizes_are_the_class_means():
    sim = simulate(groups=400, causes={"transfer_loss": 0.05}, seed=2)
    sizes = sim.truth["transfer_loss"]
    assert sizes.mean() == pytest.approx(0.05, abs=4 * sizes.std() / 20)
    assert (sizes >= 0).all()


def test_a_missed_fill_raises_the_written_volume_only():
    sim = simulate(groups=200, usual=False, causes={"missed_fill": 0.5}, seed=3, instruments=FINE)
    missed = sim.truth["mishap"] == "missed_fill"
    ratio = apparent(sim)[missed].median() / apparent(sim)[~missed].median()
    assert ratio == pytest.approx(3 / 4, rel=0.01)


def test_events_come_at_their_rate():
    sim = simulate(groups=2000, causes={"paper_tare_missed": 0.1, "calculation_slip": 0.2}, seed=6)
    assert (sim.truth["mishap"] == "paper_tare_missed").mean() == pytest.approx(0.1, abs=0.027)
    assert (sim.truth["calculation_slip"] != "").mean() == pytest.approx(0.2, abs=0.036)


def test_a_designed_class_varies_solid_and_fills():
    sim = simulate(groups=12, recipe=Recipe(initial_mass_g=(1.0, 3.0), fills=(2, 4, 6)), seed=1)
    runs = sim.records.runs
    assert runs["initial_mass_g"].round().nunique() == 2
    assert sorted(runs["water_volume_ml"].round(-2).unique()) == [100.0, 200.0, 300.0]


def test_all_routes_write_their_columns():
    sim = simulate(
        groups=6, routes=("titration", "evaporation"), seed=1, recipe=Recipe(extras=("wet_cake",))
    )
    wanted = {"titrant_ml", "aliquot_ml", "dish_mass_g", "dish_residue_mass_g", "wet_cake_mass_g"}
    assert wanted <= set(sim.records.runs.columns)
    assert (sim.records.runs["wet_cake_mass_g"] > sim.records.runs["recovered_mass_g"]).all()


@pytest.mark.parametrize(
    "wrong",
    [
        {"groups": 0},
        {"groups": 3, "sections": 4},
        {"routes": ("taste",)},
        {"causes": {"witchcraft": 1.0}},
        {"causes": {"transfer_loss": -0.1}},
        {"causes": {"missed_fill": 1.5}},
        {"causes": {"missed_fill": 0.7, "extra_fill": 0.7}},
    ],
)
def test_the_impossible_is_refused(wrong):
    with pytest.raises(InputError):
        simulate(**wrong)


def test_every_cause_says_its_unit_and_meaning():
    assert all(cause.unit and cause.meaning for cause in CAUSES.values())


def test_exchanged_digits_differ_by_a_multiple_of_nine():
    rng = np.random.default_rng(0)
    for reading in (2.504, 1.61, 0.213):
        wrong = exchange_digits(reading, 3, rng)
        assert wrong != reading
        assert round(abs(wrong - reading) * 1000) % 9 == 0


def test_rounding_to_a_step_leaves_no_binary_dust():
    assert to_step(np.array([0.30000000000000004, 49.74]), 0.5).tolist() == [0.5, 49.5]
