"""The bootstrap: every estimator over rows equals the scalar one; shared causes are not lost."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.covariance import SharedCovariance
from solubility_stats.errors import InputError
from solubility_stats.pooling import METHODS, bootstrap, pool
from solubility_stats.pooling.pairs import pair_order_statistic
from solubility_stats.pooling.resample_pairs import PairStatistic
from solubility_stats.pooling.resample_rows import kernel


@pytest.fixture
def data() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(11)
    u = rng.uniform(0.3, 1.5, 30)
    return 10 + rng.normal(size=30) * np.hypot(u, 0.8), u


@pytest.mark.parametrize("method", METHODS)
def test_every_resample_gets_the_estimate_of_pool(
    data: tuple[np.ndarray, np.ndarray], method: str
) -> None:
    y, u = data
    rng = np.random.default_rng(0)
    positions = rng.integers(0, 30, size=(25, 30))
    rows = kernel(y, u**2, method)(positions)
    single = [pool(y[p], u=u[p], method=method).value for p in positions]
    assert rows == pytest.approx(single, rel=1e-6)


@given(
    st.lists(st.floats(-20, 20, width=16), min_size=3, max_size=12),
    st.integers(0, 1000),
    st.sampled_from(["sum", "difference"]),
)
def test_pairs_of_a_resample_without_making_them(values: list[float], seed: int, kind: str) -> None:
    y = np.array(values)
    rng = np.random.default_rng(seed)
    positions = rng.integers(0, y.size, size=(6, y.size + 2))
    m = positions.shape[1]
    pairs = m * (m + 1) // 2 if kind == "sum" else m * (m - 1) // 2
    rank = int(rng.integers(1, pairs + 1))
    expected = pair_order_statistic(y[positions], rank, kind)
    assert PairStatistic(y, kind)(positions, rank) == pytest.approx(expected, abs=1e-12)


def test_pairs_of_many_values_take_the_look_up_and_agree() -> None:
    y = np.random.default_rng(4).normal(size=400)
    positions = np.random.default_rng(5).integers(0, 400, size=(5, 400))
    rank = 201 * 200 // 2
    for kind in ("sum", "difference"):
        find = PairStatistic(y, kind)
        expected = pair_order_statistic(y[positions], rank, kind)
        assert find(positions, rank) == pytest.approx(expected, rel=1e-9)


def test_interval_of_the_mean_equals_scipy_at_the_widened_level() -> None:
    from scipy import stats

    x = np.random.default_rng(3).exponential(size=25)
    found = bootstrap(x, "mean", replicates=60_000, rng=1)
    # The small-sample widening is a change of level: sqrt(n / (n - 1)) t in place of z.
    widened = 2 * stats.norm.cdf(np.sqrt(25 / 24) * stats.t.ppf(0.975, 24)) - 1
    theirs = stats.bootstrap(
        (x,),
        np.mean,
        n_resamples=60_000,
        confidence_level=widened,
        method="BCa",
        rng=np.random.default_rng(2),
    )
    low, high = theirs.confidence_interval
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.015 * (high - low))
    # Skewed values: the interval leans to the long side, as percentiles do not enough.
    percentile = bootstrap(x, "mean", replicates=60_000, rng=1, method="percentile")
    assert found.high - percentile.high > 0.03 * (high - low)
    assert found.u == pytest.approx(x.std(ddof=1) / 5, rel=0.02)


def test_standard_error_of_the_mouse_data() -> None:
    # Efron & Tibshirani, An Introduction to the Bootstrap (1993), treatment group; the ideal
    # bootstrap standard error of the mean is 23.36 (data from memory; exact by its formula).
    mouse = [94, 197, 16, 38, 99, 141, 23]
    found = bootstrap(mouse, "mean", replicates=40_000, rng=5)
    ideal = float(np.std(mouse) / np.sqrt(7))
    assert ideal == pytest.approx(23.36, abs=0.01)
    assert float(found.draws.std()) == pytest.approx(ideal, rel=0.015)
    assert found.u == pytest.approx(ideal * np.sqrt(7 / 6), rel=0.015)


@pytest.mark.parametrize("method", ["reml", "median"])
def test_shared_causes_are_added(data: tuple[np.ndarray, np.ndarray], method: str) -> None:
    y, u = data
    alone = bootstrap(y, method, u=u, replicates=500, rng=1)
    cov = SharedCovariance(u**2, np.full((30, 1), 2.0))
    shared = bootstrap(y, method, covariance=cov, replicates=500, rng=1)
    assert shared.u_shared == pytest.approx(2.0)
    assert shared.u == pytest.approx(np.hypot(alone.u, 2.0))
    assert shared.value - shared.low >= 1.96 * 2.0
    assert shared.high - shared.value >= 1.96 * 2.0


def test_same_seed_same_result_and_the_global_state_is_left_alone(
    data: tuple[np.ndarray, np.ndarray],
) -> None:
    y, u = data
    before = str(np.random.get_state())  # noqa: NPY002 - this is what must not change
    a, b = (bootstrap(y, "dl", u=u, replicates=300, rng=9) for _ in range(2))
    assert (a.low, a.high, a.u) == (b.low, b.high, b.u)
    assert a.seed == "9"
    fresh = bootstrap(y, "dl", u=u, replicates=300)
    again = bootstrap(y, "dl", u=u, replicates=300, rng=int(fresh.seed))
    assert fresh.low == again.low
    assert bootstrap(y, "dl", u=u, replicates=300, rng=np.random.default_rng(9)).low == a.low
    assert str(np.random.get_state()) == before  # noqa: NPY002


def test_sections_can_be_resampled_and_equal_values_give_a_point() -> None:
    frame = pd.DataFrame(
        {
            "section": np.repeat(list("abcdef"), 4),
            "value": np.arange(24.0),
            "u": 1.0,
        }
    )
    by_row = bootstrap(frame, "mean", replicates=500, rng=1)
    by_section = bootstrap(frame, "mean", replicates=500, rng=1, by="section")
    assert by_section.n == 6
    assert by_section.draws.std() > 1.5 * by_row.draws.std()
    # Resampling rows does not see what sections share; it is added, and both then agree.
    assert by_row.u_shared > by_row.draws.std()
    assert by_row.u == pytest.approx(by_section.u, rel=0.1)
    assert by_section.notes
    flat = bootstrap(np.full(12, 2.0), "median", replicates=200, rng=1)
    assert (flat.low, flat.high) == (2.0, 2.0)
    stated = bootstrap(np.full(12, 2.0), "reml", u=0.6, replicates=200, rng=1)
    assert stated.u == pytest.approx(0.6 / np.sqrt(12))
    assert stated.high - stated.low == pytest.approx(2 * 1.96 * stated.u, rel=1e-3)


def test_percentile_and_printing(data: tuple[np.ndarray, np.ndarray]) -> None:
    y, u = data
    found = bootstrap(y, "huber", u=u, replicates=400, rng=2, method="percentile")
    assert found.bias_correction == 0
    assert found.acceleration == 0
    assert found.low < found.value < found.high
    loaded = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert "draws" not in loaded
    assert "400 resamples" in str(found)


def test_many_units_use_a_jackknife_in_blocks() -> None:
    y = np.random.default_rng(0).exponential(size=1500)
    found = bootstrap(y, "mean", replicates=300, rng=0)
    assert 0 < found.acceleration < 0.1


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"estimator": "mode"}, "estimator"),
        ({"replicates": 5}, "resamples"),
        ({"method": "normal"}, "interval"),
    ],
)
def test_wrong_arguments_are_named(arguments: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        bootstrap([1.0, 2.0, 3.0], **{"estimator": "mean", **arguments})


def test_two_units_are_too_few() -> None:
    with pytest.raises(InputError, match="too few units"):
        bootstrap([1.0, 2.0], "mean")
