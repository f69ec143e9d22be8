"""Density of water against two independent formulations and published figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.errors import InputError, OutOfRangeError
from solubility_stats.reference import water


@pytest.mark.parametrize("t_c", [0.01, 4.0, 10.0, 20.0, 25.0, 40.0, 60.0, 80.0, 99.9])
def test_agrees_with_iapws95(t_c):
    # IAPWS-95 (Wagner, Pruß 2002), another equation than SR6-08, as coded in `iapws`, at one
    # atmosphere so that 99.9 °C is still liquid (the 1.3 kPa change the density by 6e-7).
    iapws = pytest.importorskip("iapws")
    other = iapws.IAPWS95(T=t_c + 273.15, P=0.101325).rho / 1000
    assert water.density(t_c).value == pytest.approx(other, rel=1e-6)


@pytest.mark.parametrize(
    ("t_c", "kg_per_m3"),
    # Release SR6-08 as evaluated at 0.1 MPa by `iapws` 1.5.5, four decimals.
    [(0.01, 999.8431), (20, 998.2065), (25, 997.0470), (50, 988.0345), (99.9, 958.4203)],
)
def test_reproduces_the_release(t_c, kg_per_m3):
    assert 1000 * water.density(t_c).value == pytest.approx(kg_per_m3, abs=6e-5)


def test_agrees_with_tanaka_2001_up_to_40():
    # Tanaka et al., Metrologia 38 (2001) 301, formula from memory; its own uncertainty is 1e-6.
    t = np.linspace(0, 40, 41)
    tanaka = 999.974950 * (1 - (t - 3.983035) ** 2 * (t + 301.797) / (522528.9 * (t + 69.34881)))
    np.testing.assert_allclose(1000 * water.density(t).value, tanaka, rtol=2e-6)


@given(st.floats(0.01, 99.99))
def test_expansion_is_the_slope_of_density(t_c):
    step = 1e-3
    low, high = water.density(t_c - step).value, water.density(t_c + step).value
    slope = -(high - low) / (2 * step) / water.density(t_c).value
    assert water.expansion(t_c) == pytest.approx(slope, abs=2e-9)


def test_temperature_uncertainty_is_carried():
    # Expansion of water at 25 °C is 2.57e-4 per kelvin (general tables): 2 K is 0.051 %.
    plain, warm = water.density(25.0), water.density(25.0, u_t=2.0)
    assert warm.value == plain.value
    assert warm.u == pytest.approx(2 * 2.572e-4 * plain.value, rel=2e-3)
    assert plain.u > 0


def test_arrays_keep_their_shape_and_scalars_are_floats():
    value, u = water.density([[10.0, 20.0], [30.0, 40.0]])
    assert value.shape == u.shape == (2, 2)
    assert type(water.density(20.0).value) is float


def test_refuses_what_it_does_not_know():
    with pytest.raises(OutOfRangeError, match="0 to 100"):
        water.density([25.0, 101.0])
    with pytest.raises(InputError, match=r"positions \[1\] of 2"):
        water.density([25.0, np.nan])
