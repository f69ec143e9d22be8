"""The bench conserves mass and moves a result in the direction chemistry says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.simulation import bench
from solubility_stats.simulation.causes import CAUSES

LIME = bench.Material(74.092, 2, True)
SALT = bench.Material(101.1, 0, False)


def no_sizes(**some: float) -> dict[str, np.ndarray]:
    sizes = {name: np.zeros(1) for name, cause in CAUSES.items() if cause.scope != "event"}
    return sizes | {name: np.array([size]) for name, size in some.items()}


def one(solid=2.5, water=300.0, solubility=0.165, material=LIME, **some):
    sizes = no_sizes(**some)
    flask = bench.prepare(
        np.array([solid]), np.array([water]), np.array([solubility]), sizes, material
    )
    return flask, sizes


fractions = st.floats(0, 0.2)


@given(
    solid=st.floats(0.5, 10),
    water=st.floats(50, 500),
    inert=fractions,
    salt=fractions,
    moisture=fractions,
    oxide=fractions,
    carbon=st.floats(0, 1),
)
def test_mass_is_conserved_up_to_the_carbonate_gained(
    solid, water, inert, salt, moisture, oxide, carbon
):
    flask, _ = one(
        solid,
        water,
        insoluble_matter=inert,
        soluble_impurity=salt,
        reagent_moisture=moisture,
        reagent_oxide=oxide,
        early_carbonation=carbon,
    )
    inside = sum(
        float(part[0])
        for part in (
            flask.dissolved_g,
            flask.water_g,
            flask.hydroxide_g,
            flask.carbonate_g,
            flask.inert_g,
            flask.impurity_g,
        )
    )
    moles = float(flask.carbonate_g[0]) / bench.M_CARBONATE
    gained = moles * (bench.M_CARBONATE - bench.M_HYDROXIDE)
    assert inside == pytest.approx(solid + water + gained, rel=1e-12)


def test_an_ideal_bench_gives_the_true_solubility():
    flask, sizes = one()
    _, recovered = bench.recover_solid(flask, sizes, LIME)
    assert (2.5 - recovered[0]) / 300.0 * 100 == pytest.approx(0.165, rel=1e-12)


@pytest.mark.parametrize(
    ("cause", "size", "direction"),
    [
        ("retained_liquor", 2.0, -1),
        ("residual_moisture", 0.02, -1),
        ("residue_carbonation", 0.05, -1),
        ("early_carbonation", 0.05, -1),
        ("constant_loss", 0.05, 1),
        ("transfer_loss", 0.05, 1),
        ("fines", 0.02, 1),
        ("fibres", 0.02, -1),
        ("reagent_moisture", 0.01, 1),
        ("soluble_impurity", 0.01, 1),
        ("reagent_oxide", 0.03, -1),
        ("undersaturation", 0.1, -1),
        ("early_evaporation", 3.0, -1),
    ],
)
def test_each_cause_moves_the_residue_result_its_own_way(cause, size, direction):
    """Directions after the master equation of the residue route (mass bookkeeping)."""
    flask, sizes = one(**{cause: size})
    _, recovered = bench.recover_solid(flask, sizes, LIME)
    moved = (2.5 - recovered[0]) / 300.0 * 100 / 0.165 - 1
    assert np.sign(moved) == direction
    assert abs(moved) > 1e-4


def test_inert_matter_in_the_bottle_cancels_exactly():
    flask, sizes = one(insoluble_matter=0.05)
    _, recovered = bench.recover_solid(flask, sizes, LIME)
    assert (2.5 - recovered[0]) / 3.0 == pytest.approx(0.165, rel=1e-12)


@pytest.mark.parametrize("held", [0.5, 1.0, 3.0])
def test_retained_liquor_is_undone_by_leaving_out_its_water(held):
    """s = (m0 − mr)/(W − w_ret) is exact whatever the concentration."""
    flask, sizes = one(
        solid=60.0, water=100.0, solubility=32.0, material=SALT, retained_liquor=held
    )
    _, recovered = bench.recover_solid(flask, sizes, SALT)
    kept = held * float(flask.hydroxide_g[0])
    assert (60.0 - recovered[0]) / (100.0 - kept) == pytest.approx(0.32, rel=1e-12)


def test_carbonate_from_the_air_only_matters_for_lime():
    lime, sizes = one(residue_carbonation=0.5)
    salt, _ = one(material=SALT, residue_carbonation=0.5)
    assert bench.recover_solid(lime, sizes, LIME)[1] > lime.hydroxide_g
    assert bench.recover_solid(salt, sizes, SALT)[1] == pytest.approx(salt.hydroxide_g)


def test_a_saturated_aliquot_takes_the_volume_of_acid_stoichiometry_gives():
    """1.65 g/L, 25 mL, 0.1 mol/L: 11.13 mL, from 1:2 stoichiometry."""
    used = bench.titrate(np.array([1.65e-3]), np.array([25.0]), np.array([0.1]), no_sizes(), LIME)
    assert used[0] == pytest.approx(2 * 1.65e-3 * 25 / 74.092 / 0.1 * 1000)
    assert used[0] == pytest.approx(11.13, abs=0.005)
