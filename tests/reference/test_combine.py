"""How disagreeing sources become one curve."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.reference import ReferenceCurve

T = np.arange(0.0, 101.0, 20.0)


def truth(t):
    """Return ln s of a van 't Hoff line, which every fit can follow exactly."""
    return np.log(10) - 1500 * (1 / (np.asarray(t) + 273.15) - 1 / 298.15)


def made(offsets, families=None, quality="A", low=None, between_percent=5.0):
    """Return a curve of made-up sources that lie by fixed factors off one another."""
    parts = []
    for i, offset in enumerate(offsets):
        t = T if low is None else T[low[i] <= T]
        parts.append(
            pd.DataFrame(
                {
                    "temperature_c": t,
                    "value": np.exp(offset + truth(t)),
                    "source": f"s{i}",
                    "family": f"f{i}" if families is None else families[i],
                    "quality": quality if isinstance(quality, str) else quality[i],
                }
            )
        )
    return ReferenceCurve.from_frame(pd.concat(parts), "made up", between_percent=between_percent)


def test_one_source_takes_the_stated_uncertainty():
    value, u = made([0.0]).at(40.0)
    assert value == pytest.approx(np.exp(truth(40.0)), rel=1e-6)
    assert u / value == pytest.approx(0.05, rel=0.01)
    assert "1 source, widened" in made([0.0]).headline()


def test_two_families_by_hand():
    # Equal accuracy: the mean in ln s; u² = (0.04² + 0.04²)/2 + 0.05²/2.
    value, u = made([-0.04, 0.04]).at(40.0)
    assert value == pytest.approx(np.exp(truth(40.0)), rel=1e-6)
    assert u / value == pytest.approx(np.sqrt(0.04**2 + 0.05**2 / 2), rel=0.01)


def test_weights_follow_stated_accuracy():
    # A is 1 %, C is 4 %: sixteen to one.
    value, _ = made([0.0, 0.17], quality=["A", "C"]).at(40.0)
    assert np.log(value) - truth(40.0) == pytest.approx(0.01, rel=1e-3)


def test_a_copied_source_counts_once():
    plain = made([-0.04, 0.04]).at(T)
    copied = made([-0.04, 0.04, 0.04, 0.04], families=["a", "b", "b", "b"]).at(T)
    np.testing.assert_allclose(copied.value, plain.value, rtol=1e-9)
    np.testing.assert_allclose(copied.u, plain.u, rtol=1e-3)
    counted = made([-0.04, 0.04, 0.04, 0.04]).at(T)
    assert np.all(counted.u < plain.u)


def test_disagreement_within_a_family_counts():
    apart = made([0.0, -0.05, 0.05], families=["a", "b", "b"]).at(40.0)
    together = made([0.0, 0.0, 0.0], families=["a", "b", "b"]).at(40.0)
    assert apart.value == pytest.approx(together.value, rel=1e-6)
    assert apart.u > together.u


@given(st.permutations([-0.06, 0.01, 0.03]))
def test_order_of_sources_does_not_matter(offsets):
    value, u = made(offsets).at(T)
    expected = made(sorted(offsets)).at(T)
    np.testing.assert_allclose(value, expected.value, rtol=1e-9)
    np.testing.assert_allclose(u, expected.u, rtol=1e-6)


@given(st.lists(st.floats(-0.2, 0.2), min_size=1, max_size=6))
def test_never_below_the_unknown_of_a_family(offsets):
    value, u = made(offsets).at(T)
    assert np.all(u / value >= 0.05 / np.sqrt(len(offsets)) * 0.999)


def test_covers_the_truth_when_families_scatter_as_stated():
    # Families 5 % apart around a truth: the curve must lie within u of it more often than the
    # 68 % of a normal, because u is the distance of a family, not of the mean.
    rng = np.random.default_rng(11)
    hits = 0
    for _ in range(300):
        value, u = made(rng.normal(0, 0.05, 3)).at(40.0)
        hits += abs(np.log(value) - truth(40.0)) < u / value
    assert hits / 300 > 0.8


def test_nothing_jumps_where_a_source_begins():
    curve = made([0.0, 0.10], low=[0, 60])
    grid = np.arange(0.0, 100.01, 0.5)
    value, u = curve.at(grid)
    assert np.max(np.abs(np.diff(np.log(value), 2))) < 2e-4
    assert np.max(np.abs(np.diff(u / value))) < 2e-3
    # Far below its range the source is gone, at its range it counts fully.
    assert np.log(value[0]) - truth(0.0) == pytest.approx(0.0, abs=1e-4)
    assert np.log(value[-1]) - truth(100.0) == pytest.approx(0.05, abs=1e-4)


def test_errors_are_shared_between_temperatures():
    curve = made([-0.04, 0.04])
    dense = curve.covariance([20.0, 40.0, 100.0]).dense()
    sd = np.sqrt(np.diag(dense))
    np.testing.assert_allclose(sd, curve.at([20.0, 40.0, 100.0]).u)
    correlation = dense / np.outer(sd, sd)
    assert correlation[0, 1] > 0.95
    assert correlation[0, 2] < correlation[0, 1]
