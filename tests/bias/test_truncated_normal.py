"""The sampler, against what can be known without it."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from solubility_stats.bias.truncated_normal import (
    half_line_moments,
    half_line_parameters,
    quarter_period_step,
)


def draw(mean, precision, positive, chains=3000, steps=30, seed=1):
    rng = np.random.default_rng(seed)
    d = len(mean)
    at = np.full((chains, d), 0.1)
    information = np.broadcast_to(np.asarray(precision) @ np.asarray(mean), (chains, d))
    precisions = np.broadcast_to(precision, (chains, d, d))
    kept = []
    for step in range(steps):
        at = quarter_period_step(
            at, information, precisions, np.asarray(positive, dtype=np.intp), rng
        )
        if step >= 10:
            kept.append(at)
    return np.concatenate(kept)


@given(st.floats(-3.0, 3.0), st.floats(0.1, 4.0))
def test_moments_agree_with_scipy(location, scale):
    mean, sd = half_line_moments(location, scale)
    there = stats.truncnorm(-location / scale, np.inf, location, scale)
    assert mean == pytest.approx(there.mean(), rel=1e-6)
    assert sd == pytest.approx(there.std(), rel=1e-5)


@given(st.floats(0.01, 5.0), st.floats(0.02, 0.94))
def test_parameters_give_back_mean_and_spread(mean, cv):
    back = half_line_moments(*half_line_parameters(mean, cv * mean))
    assert back[0] == pytest.approx(mean, rel=1e-3)
    assert back[1] == pytest.approx(cv * mean, rel=2e-3)


def test_a_spread_wider_than_the_mean_is_kept():
    assert half_line_moments(*half_line_parameters(0.001, 0.002))[1] == pytest.approx(
        0.002, rel=1e-3
    )


@pytest.mark.parametrize("location", [-2.0, 0.0, 1.5])
def test_one_size_has_the_exact_distribution(location):
    drawn = draw([location], [[4.0]], [0])[::7, 0]
    there = stats.truncnorm(-location / 0.5, np.inf, location, 0.5)
    assert stats.kstest(drawn, there.cdf).pvalue > 1e-3


def test_two_correlated_sizes_agree_with_rejection_sampling():
    mean, precision = np.array([-0.3, 0.4]), np.array([[2.0, 1.5], [1.5, 2.0]])
    rng = np.random.default_rng(5)
    plain = rng.multivariate_normal(mean, np.linalg.inv(precision), 400_000)
    kept = plain[(plain > 0).all(axis=1)]
    drawn = draw(mean, precision, [0, 1])
    assert drawn.min() >= 0
    assert drawn.mean(axis=0) == pytest.approx(kept.mean(axis=0), abs=0.01)
    assert drawn.std(axis=0) == pytest.approx(kept.std(axis=0), abs=0.01)
    assert np.corrcoef(drawn.T)[0, 1] == pytest.approx(np.corrcoef(kept.T)[0, 1], abs=0.02)


def test_free_coordinates_stay_free():
    drawn = draw([1.0, -2.0], np.eye(2), [0])
    assert drawn[:, 1].mean() == pytest.approx(-2.0, abs=0.02)
    assert (drawn[:, 1] < 0).mean() > 0.95


def test_a_tie_of_many_sizes_mixes():
    # Ten causes seen only through their sum: each must still wander over its prior range.
    precision = np.eye(10) + 1e4 * np.ones((10, 10))
    mean = np.linalg.solve(precision, 1e4 * np.ones(10) * 5.0 + 0.5)
    drawn = draw(mean, precision, range(10), chains=400, steps=40)
    assert drawn.sum(axis=1).std() < 0.02
    assert drawn.mean(axis=0) == pytest.approx(np.full(10, 0.5), abs=0.05)
    assert drawn.std(axis=0).min() > 0.3
