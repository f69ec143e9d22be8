"""Grubbs and generalised ESD: published examples, exactness, nominal rates, edges."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from solubility_stats.errors import InputError
from solubility_stats.pooling.critical import (
    esd_critical,
    grubbs_critical,
    grubbs_p_value,
    h_critical,
    h_p_value,
    k_critical,
    two_outlier_critical,
    two_outlier_p_value,
    variance_p_value,
)
from solubility_stats.pooling.outliers import generalized_esd, grubbs

# Tietjen and Moore 1972, as in the NIST/SEMATECH e-Handbook, 1.3.5.17.
URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
# Rosner 1983, as in the NIST/SEMATECH e-Handbook, 1.3.5.17.3 (from memory).
ROSNER = [
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58,
    1.65, 1.69, 1.70, 1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15,
    2.23, 2.24, 2.26, 2.35, 2.37, 2.40, 2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21,
    3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01,
]  # fmt: skip


def test_grubbs_handbook_example():
    found = grubbs(URANIUM, side="high").table
    assert found["statistic"][0] == pytest.approx(2.468765, abs=1e-6)
    assert found["critical_5"][0] == pytest.approx(2.031652, abs=1e-6)
    # The exact value, by the t test of the suspect against the other seven. A published program
    # prints 1.5477e-7, which belongs to a statistic rounded before.
    assert found["p_value"][0] == pytest.approx(1.501319341e-7, rel=1e-9)
    assert found["group"][0] == "8"
    assert grubbs(URANIUM).table["p_value"][0] == pytest.approx(2 * 1.501319341e-7, rel=1e-9)
    low = grubbs(URANIUM, side="low")
    assert low.table["value"][0] == 199.31
    assert low.marked == ()


def test_generalized_esd_handbook_example():
    found = generalized_esd(ROSNER, max_outliers=10)
    # Statistics and critical values of the handbook, from memory; three outliers.
    r = [3.118, 2.942, 3.179, 2.810, 2.815, 2.848, 2.279, 2.310, 2.101, 2.067]
    crit = [3.158, 3.151, 3.143, 3.136, 3.128, 3.120, 3.111, 3.103, 3.094, 3.085]
    assert list(found.table["statistic"]) == pytest.approx(r, abs=1.1e-3)
    assert list(found.table["critical"]) == pytest.approx(crit, abs=1.1e-3)
    assert found.marked == ("54", "53", "52")


def test_generalized_esd_is_not_blinded_where_grubbs_is():
    values = [10.0, 10.1, 9.9, 10.05, 9.95, 10.02, 9.98, 10.07, 9.93, 15.0, 15.1]
    assert grubbs(values).marked == ()
    assert set(generalized_esd(values).marked) == {"10", "11"}
    assert set(grubbs(values, outliers=2).marked) == {"10", "11"}


def test_two_outliers_use_the_end_that_stands_apart():
    values = [1.0, 1.1, 9.8, 10.0, 10.1, 9.9, 10.2, 10.05]
    found = grubbs(values, outliers=2).table
    assert list(found["group"]) == ["1", "2"]
    rest = np.array(values[2:])
    whole = np.array(values)
    expected = ((rest - rest.mean()) ** 2).sum() / ((whole - whole.mean()) ** 2).sum()
    assert found["statistic"][0] == pytest.approx(expected, rel=1e-12)
    assert grubbs(values, outliers=2, side="high").marked == ()


@pytest.mark.parametrize("n", [4, 7, 20, 40])
def test_two_outlier_quantiles_and_p_values_are_inverse(n):
    for alpha in (0.002, 0.01, 0.05, 0.2):
        critical = two_outlier_critical(n, alpha)
        assert two_outlier_p_value(critical, n) == pytest.approx(alpha, rel=1e-9)
    assert two_outlier_p_value(0.0, n) == pytest.approx(4e-4)
    assert two_outlier_p_value(0.999, n) == 1.0


@pytest.mark.parametrize("n", [4, 8, 15, 30])
def test_formulas_and_p_values_are_inverse(n):
    for alpha in (0.001, 0.01, 0.05):
        assert grubbs_p_value(grubbs_critical(n, alpha), n) == pytest.approx(alpha, rel=1e-9)
        assert h_p_value(h_critical(n, alpha), n) == pytest.approx(alpha, rel=1e-9)
        variance = np.ones(n)
        k = k_critical(n, 4, alpha)
        # The variance of one group that gives exactly this k beside n - 1 groups of variance 1.
        variance[0] = k**2 * (n - 1) / (n - k**2)
        assert variance_p_value(variance, np.full(n, 3.0))[0] == pytest.approx(alpha, rel=1e-9)
    assert h_p_value((n - 1) / np.sqrt(n), n) == pytest.approx(0.0, abs=1e-6)


def test_esd_critical_is_grubbs_at_the_first_step():
    assert esd_critical(12, 0) == pytest.approx(grubbs_critical(12), rel=1e-12)


def test_outlier_rates_are_nominal():
    # 4000 clean classes each; the 99.9 % band of a 5 % rate is 1.1 percentage points.
    rng = np.random.default_rng(11)
    for n in (6, 12, 25):
        x = rng.standard_normal((4000, n))
        z = (x - x.mean(axis=1, keepdims=True)) / x.std(axis=1, ddof=1, keepdims=True)
        single = (np.abs(z).max(axis=1) > grubbs_critical(n)).mean()
        assert abs(single - 0.05) < 0.0115
        z.sort(axis=1)
        ends = np.stack([z[:, 2:].var(axis=1), z[:, :-2].var(axis=1)]) * (n - 2) / (n - 1)
        pair = (ends.min(axis=0) < two_outlier_critical(n)).mean()
        assert abs(pair - 0.05) < 0.0115


def test_labels_groups_and_missing_values():
    frame = pd.DataFrame(
        {"section": list("aabb") * 2, "group": [1, 2] * 4, "v": [1, 2, 3, 9, 1.2, 2.2, np.nan, 9.2]}
    )
    with pytest.raises(InputError, match="1 of 8 rows"):
        grubbs(frame, "v", ["section", "group"])
    found = grubbs(frame, "v", ["section", "group"], missing="omit")
    assert (found.n, found.omitted) == (4, 1)
    assert found.table["group"][0] == "b / 2"
    assert found.table["value"][0] == pytest.approx(9.1)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: grubbs([1.0, 2.0]), "too few"),
        (lambda: grubbs([1.0] * 6), "all values are equal"),
        (lambda: grubbs([1e9 + 1e-7] * 6), "all values are equal"),
        (lambda: grubbs(np.arange(50.0), outliers=2), "generalized_esd"),
        (lambda: grubbs([1.0, 2.0, 3.0], outliers=2), "too few"),
        (lambda: generalized_esd([1.0, 2.0, 3.0, 4.0]), "too few"),
        (lambda: generalized_esd(np.arange(9.0), max_outliers=7), "that many"),
        (lambda: grubbs(np.ones((3, 3))), "one-dimensional"),
        (lambda: grubbs(pd.DataFrame({"v": ["a", "b", "c"]}), "v"), "not all numbers"),
        (lambda: grubbs(pd.DataFrame({"v": [1.0, 2, 4]}), "w"), "column not found"),
    ],
)
def test_what_cannot_be_tested_is_said(call, message):
    with pytest.raises(InputError, match=message):
        call()


@given(
    st.lists(st.integers(-1000, 1000), min_size=5, max_size=30, unique=True),
    st.floats(0.01, 100),
    st.integers(-100, 100),
)
def test_scale_and_shift_change_nothing(values, scale, shift):
    plain = grubbs(np.array(values, dtype=float)).table
    moved = grubbs(np.array(values) * scale + shift).table
    assert moved["statistic"][0] == pytest.approx(plain["statistic"][0], rel=1e-6)
    marked = generalized_esd(np.array(values, dtype=float)).table
    again = generalized_esd(np.array(values) * scale + shift).table
    assert list(again["statistic"]) == pytest.approx(list(marked["statistic"]), rel=1e-5)


def test_grubbs_p_value_is_the_bonferroni_bound():
    values = np.array([4.1, 4.3, 4.2, 4.0, 5.0, 4.15])
    rest = np.delete(values, 4)
    t = (values[4] - rest.mean()) / (rest.std(ddof=1) * np.sqrt(1 + 1 / rest.size))
    expected = 6 * 2 * stats.t.sf(t, 4)
    assert grubbs(values).table["p_value"][0] == pytest.approx(expected, rel=1e-9)
