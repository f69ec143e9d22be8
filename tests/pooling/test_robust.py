"""Robust estimates against published and independent results."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from solubility_stats.pooling import pool, robust
from solubility_stats.pooling.pairs import _by_bisection, _by_partition, pair_order_statistic

DATA = json.loads((Path(__file__).parent / "data" / "robust.json").read_text("utf-8"))
CLASSIC = ("abbey", "chem", "creosote", "amc6")


def values(name: str) -> np.ndarray:
    return np.array(DATA[name]["data"], dtype=float)


@pytest.mark.parametrize("name", CLASSIC)
def test_scales_equal_independent_implementations(name: str) -> None:
    x, expected = values(name), DATA[name]
    assert robust.made(x) == pytest.approx(expected["MADe_1.483"], rel=1e-12)
    # robustbase rounds the constant to 2.21914; exact 2.2191444.
    assert robust.qn_scale(x) == pytest.approx(expected["Qn"], rel=3e-6)
    plain = robust.qn_scale(x, finite_sample=False)
    assert plain == pytest.approx(expected["Qn_nofinite"], rel=3e-6)


@pytest.mark.parametrize("name", CLASSIC)
def test_huber_location_equals_an_independent_implementation(name: str) -> None:
    expected = DATA[name]["huber_MADscale"]
    location, _ = robust.huber(values(name), np.array(expected["s"]))
    assert location == pytest.approx(expected["mu"], rel=1e-6)  # theirs stops at 1e-6


@pytest.mark.parametrize("name", CLASSIC)
def test_algorithm_a_is_hubers_second_proposal_up_to_the_rounded_factor(name: str) -> None:
    mean, sd = robust.algorithm_a(values(name))
    expected = DATA[name]["hubers_prop2"]
    # 1.134 of the standard against 1.1333927, fed back through the iteration.
    assert mean == pytest.approx(expected["mu"], rel=2e-4)
    assert sd == pytest.approx(expected["s"], rel=3e-3)


def test_algorithm_a_follows_the_published_iterations_of_creosote() -> None:
    # ISO 5725-5:1998: the printed answer (20.41, about 1.04) is that of the fourth step.
    x = values("creosote")
    for steps, (mean, sd) in enumerate(DATA["creosote"]["iterations"]):
        found = robust.algorithm_a(x, iterations=steps)
        assert [float(f) for f in found] == pytest.approx([mean, sd], rel=1e-12)
    fourth = robust.algorithm_a(x, iterations=4)
    assert [round(float(f), 3) for f in fourth] == [20.412, 1.039]
    converged = robust.algorithm_a(x)
    assert [round(float(f), 4) for f in converged] == [20.4121, 1.0698]


def test_algorithm_a_on_the_examples_of_iso_13528() -> None:
    antibody = robust.algorithm_a(values("antibody"))
    expected = (DATA["antibody"]["x_star"], DATA["antibody"]["s_star"])
    assert [float(f) for f in antibody] == pytest.approx(expected, rel=1e-9)
    # ISO 13528:2015, E.3: s* = 0.0395 as published; u = 1.25 s* / sqrt(34) recomputed.
    pooled = pool(values("atrazine"), method="algorithm_a")
    _, sd = robust.algorithm_a(values("atrazine"))
    assert round(float(sd), 4) == 0.0395
    assert round(pooled.u, 5) == 0.00847


def test_q_n_equals_statsmodels() -> None:
    from statsmodels.robust.scale import qn_scale

    x = np.random.default_rng(1).standard_t(3, size=400)
    theirs = qn_scale(x)  # its constant is 2.2191
    assert robust.qn_scale(x, finite_sample=False) == pytest.approx(theirs, rel=3e-5)


def test_trimmed_mean_equals_the_trimmed_t_test_of_scipy() -> None:
    from scipy.stats import trim_mean, ttest_ind

    x = values("abbey")
    value, u, dof = robust.trimmed_mean(x, share=0.2)
    assert value == pytest.approx(trim_mean(x, 0.2), rel=1e-12)
    # Against its own copy moved by 7, Yuen's test is 7 / (u sqrt 2) on twice the freedom.
    theirs = ttest_ind(x + 7, x, trim=0.2, equal_var=False)
    assert 7 / (u * np.sqrt(2)) == pytest.approx(theirs.statistic, rel=1e-12)
    assert 2 * dof == pytest.approx(theirs.df) == pytest.approx(2 * (31 - 2 * 6 - 1))


def test_hodges_lehmann_is_the_median_of_all_pair_means() -> None:
    x = values("chem")
    i, j = np.triu_indices(x.size)
    assert robust.hodges_lehmann(x) == pytest.approx(np.median((x[i] + x[j]) / 2), rel=1e-14)


@given(
    hnp.arrays(float, st.integers(2, 25), elements=st.floats(-50, 50, width=16)),
    st.data(),
    st.sampled_from(["sum", "difference"]),
)
def test_bisection_finds_the_same_pair_as_making_all_pairs(
    x: np.ndarray, data: st.DataObject, kind: str
) -> None:
    pairs = x.size * (x.size + (1 if kind == "sum" else -1)) // 2
    rank = data.draw(st.integers(1, pairs))
    row = np.sort(x)
    by_all = _by_partition(row[None, :], rank, kind)[0]
    assert _by_bisection(row, rank, kind) == pytest.approx(by_all, abs=1e-9)


def test_many_values_take_the_bisection_and_agree() -> None:
    x = np.random.default_rng(0).normal(size=1601)
    half = x.size // 2 + 1
    rank = half * (half - 1) // 2
    found = pair_order_statistic(x, rank, "difference")
    direct = _by_partition(np.sort(x)[None, :], rank, "difference")[0]
    assert found == pytest.approx(direct, rel=1e-12)


@pytest.mark.parametrize("method", ["median", "algorithm_a", "huber", "hodges_lehmann", "trimmed"])
def test_one_wild_group_moves_a_robust_value_little(method: str) -> None:
    x = np.random.default_rng(5).normal(10, 1, size=25)
    wild = x.copy()
    wild[0] = 1e6
    before, after = pool(x, method=method), pool(wild, method=method)
    assert abs(after.value - before.value) < 0.5
    assert after.u < 2 * before.u
    assert pool(wild, method="mean").value > 1000


@pytest.mark.parametrize(
    "method", ["mean", "median", "algorithm_a", "huber", "hodges_lehmann", "trimmed"]
)
def test_rows_give_the_same_as_one_at_a_time(method: str) -> None:
    functions = {
        "mean": lambda x: robust.trimmed_mean(x, share=0.0)[0],
        "median": lambda x: np.median(x, axis=-1),
        "algorithm_a": lambda x: robust.algorithm_a(x)[0],
        "huber": lambda x: robust.huber(x, robust.qn_scale(x))[0],
        "hodges_lehmann": robust.hodges_lehmann,
        "trimmed": lambda x: robust.trimmed_mean(x)[0],
    }
    block = np.random.default_rng(2).standard_cauchy(size=(6, 11))
    together = functions[method](block)
    single = [pool(row, method=method).value for row in block]
    assert together == pytest.approx(single, rel=1e-9)


def test_more_than_half_equal_values_do_not_stop_algorithm_a() -> None:
    mean, sd = robust.algorithm_a(np.array([1.0, 1.0, 1.0, 1.0, 2.0]))
    assert 1.0 <= mean < 1.25
    assert sd >= 0
