"""The bookkeeping of masses, against the algebra it must obey."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.bias.forward import RESIDUE_SIZES, Batch, Solid, predict, sensitivities


def batch(initial=2.5, volume=300.0, solubility=0.165, n=1):
    shape = np.broadcast_shapes(np.shape(initial), np.shape(volume), (n,))
    full = lambda x: np.array(np.broadcast_to(x, shape), dtype=float)  # noqa: E731
    return Batch(full(initial), full(volume), full(solubility), full(-0.00115), full(1.0))


@given(st.floats(1.0, 10.0), st.floats(100.0, 500.0), st.floats(0.05, 0.2))
def test_without_causes_every_route_reads_the_solubility(m0, volume, solubility):
    out = predict(batch(m0, volume, solubility), {})
    for route in ("residue", "titration", "methyl_orange", "evaporation"):
        assert out[route][0] == pytest.approx(solubility, rel=1e-12)


def test_retained_liquor_is_undone_exactly_by_the_water_it_held():
    # s = (m0 - mr) / (W - retained water), exact for a solubility per water
    b = batch(5.0, 100.0, 0.2)
    mr = predict(b, {"retained_liquor": 1.3})["recovered_g"][0]
    solid = 5.0 - 0.2
    assert 100.0 * (5.0 - mr) / (100.0 - 1.3 * solid) == pytest.approx(0.2, rel=1e-12)


def test_matter_already_in_the_bottle_cancels_exactly():
    b = batch()
    plain, slope = sensitivities(b, ["insoluble_matter"], "residue")
    assert slope[0, 0] == pytest.approx(0.0, abs=1e-9)
    assert predict(b, {"insoluble_matter": 0.3})["residue"] == pytest.approx(plain, rel=1e-12)


# Percent of the solubility at 2.5 g in 300 mL and 5 g in 100 mL, S = 1.65 g/L, worked by hand
# from the first-order equation of the module (residue 2.005 g and 4.835 g).
@pytest.mark.parametrize(
    ("name", "size", "percent"),
    [
        ("retained_liquor", 1.0, (-0.67, -4.84)),
        ("residual_moisture", 0.02, (-8.1, -58.6)),
        ("residue_carbonation", 0.05, (-7.1, -51.4)),
        ("constant_loss", 0.05, (10.1, 30.3)),
        ("transfer_loss", 0.05, (20.3, 146.5)),
        ("fines", 0.02, (4.04, 12.1)),
        ("reagent_moisture", 0.01, (5.05, 30.3)),
        ("reagent_oxide", 0.03, (-4.87, -29.2)),
        ("undersaturation", 0.1, (-10.0, -10.0)),
        ("early_carbonation", 0.05, (-0.26, -0.79)),
        ("early_evaporation", 3.0, (-1.0, -3.0)),
    ],
)
def test_sizes_of_single_causes(name, size, percent):
    for (m0, volume), expected in zip([(2.5, 300.0), (5.0, 100.0)], percent, strict=True):
        read = predict(batch(m0, volume), {name: size})["residue"][0]
        assert 100.0 * (read / 0.165 - 1.0) == pytest.approx(expected, rel=0.01, abs=0.01)


def test_too_little_solid_caps_the_result():
    assert predict(batch(0.3, 300.0), {})["residue"][0] == pytest.approx(0.1, rel=1e-12)


def test_a_solid_that_ignores_carbon_dioxide_does_not_gain_mass():
    inert = Solid(58.44, carbonate_ratio=1.0, oxide_ratio=1.0)
    b = batch(50.0, 100.0, 36.0)
    plain = predict(b, {}, inert)["residue"]
    taken = predict(b, {"residue_carbonation": 0.5, "early_carbonation": 2.0}, inert)["residue"]
    assert taken == pytest.approx(plain, rel=1e-12)


def test_sensitivities_match_the_change_they_announce():
    b = batch(np.linspace(1.5, 5, 7), np.linspace(450, 100, 7))
    base = {"transfer_loss": 0.03, "residual_moisture": 0.02, "retained_liquor": 1.0}
    reading, slope = sensitivities(b, RESIDUE_SIZES, "residue", at=base)
    assert slope.shape == (7, len(RESIDUE_SIZES))
    for j, name in enumerate(RESIDUE_SIZES):
        step = 1e-6
        moved = predict(b, {**base, name: base.get(name, 0.0) + step})["residue"]
        assert (moved - reading) / step == pytest.approx(slope[:, j], rel=2e-3, abs=2e-4)


def test_an_unknown_cause_is_refused():
    with pytest.raises(ValueError, match="gremlins"):
        predict(batch(), {"gremlins": 1.0})


@given(st.floats(0.5, 12.0), st.floats(80.0, 500.0))
def test_leverage_is_the_gain_on_a_proportional_loss(m0, volume):
    b = batch(m0, volume, 0.12)
    if m0 < 0.0013 * volume:
        return
    _, slope = sensitivities(b, ["transfer_loss"], "residue")
    assert slope[0, 0] / 0.12 == pytest.approx(b.leverage()[0], rel=1e-6)
