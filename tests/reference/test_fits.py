"""Fits of one source: exactness, number of terms, honest covariance."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.reference.fits import basis, basis_slope, fit_source

T12 = np.array([0, 10, 20, 25, 30, 40, 50, 60, 70, 80, 90, 100], dtype=float)
EXACT = np.full(12, 1e-6)


@given(st.floats(-4000, 2000), st.floats(-8, 4))
def test_recovers_a_van_t_hoff_line(slope, level):
    s = np.exp(level + slope * (1 / (T12 + 273.15) - 1 / 298.15))
    fit = fit_source(T12, s, EXACT)
    assert fit.terms == 2
    assert fit.published()["B"] == pytest.approx(slope, abs=1e-4)
    assert fit.log_value(np.array([25.0]))[0] == pytest.approx(level, abs=1e-9)
    assert fit.inflation == 1.0


def test_takes_a_third_term_when_the_points_bear_it():
    kelvin = T12 + 273.15
    s = np.exp(87.6 - 3469 / kelvin - 13.67 * np.log(kelvin))
    fit = fit_source(T12, s, EXACT)
    assert fit.terms == 3
    said = fit.published()
    assert (said["A"], said["B"], said["C"]) == pytest.approx((87.6, -3469, -13.67), rel=1e-6)


@pytest.mark.parametrize(("points", "most"), [(1, 1), (2, 2), (3, 2), (4, 3), (5, 4), (12, 4)])
def test_never_more_terms_than_the_points_bear(points, most):
    rng = np.random.default_rng(points)
    s = np.exp(rng.normal(0, 0.3, points))
    assert fit_source(T12[:points], s, EXACT[:points]).terms <= most


def test_scatter_beyond_rounding_widens_the_covariance():
    s = np.exp(0.02 * (-1.0) ** np.arange(12))
    rough = fit_source(T12, s, EXACT)
    smooth = fit_source(T12, np.ones(12), EXACT)
    assert rough.inflation > 20
    assert np.sum(rough.loadings(T12) ** 2) > 20 * np.sum(smooth.loadings(T12) ** 2)
    assert rough.scatter == pytest.approx(0.02, rel=0.2)


def test_stated_u_matches_repeated_fits():
    # Points that scatter by the stated 1 %: the u of the fit must match the spread of refits.
    rng = np.random.default_rng(5)
    truth = np.exp(-1.0 - 500 * (1 / (T12 + 273.15) - 1 / 298.15))
    at = np.array([5.0, 50.0, 95.0])
    u1 = np.full(12, 0.01)
    fits = [fit_source(T12, truth * np.exp(rng.normal(0, 0.01, 12)), u1) for _ in range(400)]
    two = [f for f in fits if f.terms == 2]
    assert len(two) > 300  # the criterion seldom asks for terms that are not there
    spread = np.std([f.log_value(at) for f in two], axis=0)
    stated = np.sqrt(np.mean([np.sum(f.loadings(at) ** 2, axis=1) for f in two], axis=0))
    assert np.all(stated > 0.9 * spread)
    assert np.all(stated < 1.6 * spread)


@given(st.floats(-20, 120), st.integers(1, 4))
def test_slope_of_the_terms(t_c, terms):
    step = 1e-3
    low, high = (basis(np.array([t_c + d]), terms) for d in (-step, step))
    numeric = (high - low) / (2 * step)
    np.testing.assert_allclose(basis_slope(np.array([t_c]), terms), numeric, atol=1e-8)
