"""Shared covariance against plain dense algebra (numpy, scipy.linalg)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import linalg

from solubility_stats.covariance import SharedCovariance

sizes = st.tuples(st.integers(1, 12), st.integers(0, 4), st.integers(0, 10_000))


def random_covariance(n: int, k: int, seed: int) -> SharedCovariance:
    rng = np.random.default_rng(seed)
    return SharedCovariance(rng.uniform(0.1, 2.0, n), rng.normal(size=(n, k)))


@given(sizes)
def test_solving_equals_dense_algebra(size):
    cov = random_covariance(*size)
    right = np.random.default_rng(1).normal(size=(cov.n, 2))
    expected = linalg.solve(cov.dense(), right, assume_a="pos")
    np.testing.assert_allclose(cov.solve(right), expected, rtol=1e-8, atol=1e-10)
    np.testing.assert_allclose(cov.solve(right[:, 0]), expected[:, 0], rtol=1e-8, atol=1e-10)


@given(sizes)
def test_variance_of_a_sum_equals_the_quadratic_form(size):
    cov = random_covariance(*size)
    weights = np.random.default_rng(2).normal(size=cov.n)
    assert cov.variance_of(weights) == pytest.approx(weights @ cov.dense() @ weights)
    np.testing.assert_allclose(cov.diagonal(), np.diag(cov.dense()))


@given(sizes)
def test_a_full_matrix_comes_back_as_it_was(size):
    dense = random_covariance(*size).dense()
    np.testing.assert_allclose(SharedCovariance.from_dense(dense).dense(), dense, atol=1e-10)


@pytest.mark.parametrize(
    "matrix",
    [[[1.0, 2.0], [2.0, 1.0]], [[1.0, 0.5], [0.0, 1.0]], [1.0, 2.0], [[1.0, 0.0]]],
    ids=["negative eigenvalue", "not symmetric", "vector", "not square"],
)
def test_a_matrix_that_is_no_covariance_is_refused(matrix):
    with pytest.raises(ValueError, match="covariance"):
        SharedCovariance.from_dense(matrix)


def test_more_runs_do_not_average_a_shared_cause_out():
    few, many = (SharedCovariance(np.full(n, 1.0), np.full((n, 1), 0.5)) for n in (4, 4000))
    mean = [cov.variance_of(np.full(cov.n, 1 / cov.n)) for cov in (few, many)]
    assert mean[0] == pytest.approx(0.25 + 0.25)
    assert mean[1] == pytest.approx(0.25 + 1 / 4000)


def test_a_subset_is_the_dense_submatrix():
    cov = random_covariance(6, 2, 3)
    mask = np.array([True, False, True, True, False, False])
    np.testing.assert_allclose(cov.take(mask).dense(), cov.dense()[np.ix_(mask, mask)])
    np.testing.assert_allclose(cov.take([4, 0]).dense(), cov.dense()[np.ix_([4, 0], [4, 0])])


def test_added_variance_lands_on_the_diagonal():
    cov = random_covariance(3, 1, 0)
    np.testing.assert_allclose(cov.plus(0.5).dense(), cov.dense() + 0.5 * np.eye(3))


def test_arrays_are_copied_and_closed():
    variance = np.ones(3)
    cov = SharedCovariance(variance)
    variance[0] = 9.0
    assert cov.variance[0] == 1.0
    with pytest.raises(ValueError, match="read-only"):
        cov.variance[0] = 2.0


@pytest.mark.parametrize(
    ("variance", "loadings", "factors"),
    [
        ([1.0, -0.1], [], ()),
        ([1.0, 1.0], np.ones((3, 1)), ()),
        ([1.0, 1.0], np.ones((2, 1)), ("a", "b")),
    ],
)
def test_what_does_not_fit_is_refused(variance, loadings, factors):
    with pytest.raises(ValueError, match=r"variance|fit|factor"):
        SharedCovariance(np.array(variance), np.array(loadings), factors)


def test_solving_without_independent_variance_says_so():
    with pytest.raises(np.linalg.LinAlgError, match="singular"):
        SharedCovariance(np.zeros(2), np.ones((2, 1))).solve(np.ones(2))
