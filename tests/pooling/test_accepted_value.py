"""Trueness: ISO 5725-4's factor, intervals with groups as replicates."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from solubility_stats.errors import InputError
from solubility_stats.pooling.accepted_value import a_factor, a_factor_one_group, trueness


@pytest.mark.parametrize(
    ("gamma", "n", "p", "printed"),
    # ISO 5725-4, table of A; entries from memory.
    [(1, 2, 5, 0.62), (1, 2, 10, 0.44), (2, 2, 10, 0.58), (5, 2, 20, 0.43)],
)
def test_a_factor(gamma, n, p, printed):
    assert round(a_factor(gamma, n, p), 2) == printed


def test_limits_of_a():
    assert a_factor(1, 4, 9) == pytest.approx(1.96 / 6)
    assert a_factor(1e6, 4, 9) == pytest.approx(1.96 / 3)
    assert a_factor_one_group(4) == pytest.approx(0.98)


def test_groups_are_the_replicates():
    rng = np.random.default_rng(3)
    means = rng.normal(10, 1, 6)
    frame = pd.DataFrame(
        {"group": np.repeat(np.arange(6), 20), "v": np.repeat(means, 20) + rng.normal(0, 0.1, 120)}
    )
    found = trueness(frame, 9.0, value="v")
    one = stats.ttest_1samp(frame.groupby("group")["v"].mean(), 9.0)
    assert found.p_value == pytest.approx(one.pvalue, rel=1e-9)
    low, high = one.confidence_interval()
    assert (found.low + 9, found.high + 9) == pytest.approx((low, high), rel=1e-9)
    assert found.groups == 6
    assert found.low_iso > found.low  # 1.96 takes the spread as known


def test_uncertainty_of_the_accepted_value_widens():
    frame = pd.DataFrame({"group": range(5), "v": [1.0, 1.1, 0.9, 1.05, 0.95]})
    plain, wide = trueness(frame, 1.5, value="v"), trueness(frame, 1.5, 0.2, value="v")
    assert wide.u == pytest.approx(math.hypot(plain.u, 0.2))
    assert wide.p_value > plain.p_value
    assert math.isnan(plain.low_iso)
    assert plain.bias_percent == pytest.approx(100 * (1.0 - 1.5) / 1.5)


def test_edges():
    same = pd.DataFrame({"group": [1, 1, 2, 2], "v": [2.0, 2, 2, 2]})
    found = trueness(same, 2.0, value="v")
    assert (found.bias, found.u, found.p_value) == (0, 0, 1)
    assert trueness(same, 2.5, value="v").p_value == 0
    repeated = pd.DataFrame({"group": [1, 1, 2, 2], "v": [2.0, 2, 3, 3]})
    assert np.isfinite(trueness(repeated, 2.0, value="v").low_iso)
    with pytest.raises(InputError, match="too few groups"):
        trueness(same.head(2), 2.0, value="v")
    with pytest.raises(InputError, match="out of range"):
        a_factor(0.5, 2, 2)
    with pytest.raises(InputError, match="out of range"):
        a_factor_one_group(0)
