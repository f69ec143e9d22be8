"""Weighted means and between-group variance against published and independent results."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import chi2

from solubility_stats.covariance import SharedCovariance
from solubility_stats.pooling import heterogeneity, pool
from solubility_stats.pooling import random_effects as re
from solubility_stats.pooling.shared import split

DATA = json.loads((Path(__file__).parent / "data" / "random_effects.json").read_text("utf-8"))
SETS = [name for name in DATA if name not in ("_about", "kacker2004")]
METHODS = ("dl", "pm", "reml", "ml")


def values(name: str) -> tuple[np.ndarray, np.ndarray]:
    return np.array(DATA[name]["y"]), np.sqrt(DATA[name]["v"])


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("method", METHODS)
def test_random_effects_equal_an_independent_implementation(name: str, method: str) -> None:
    y, u = values(name)
    expected = DATA[name][method.upper()]
    knapp = pool(y, u=u, method=method)
    plain = pool(y, u=u, method=method, interval="plain")
    # metafor iterates REML and ML to about 1e-8.
    close = {"rel": 1e-7 if method in ("reml", "ml") else 1e-10}
    assert knapp.tau2 == pytest.approx(expected["tau2"], **close)
    assert knapp.value == pytest.approx(expected["mu"], **close)
    assert plain.u == pytest.approx(expected["se"], **close)
    assert knapp.u == pytest.approx(expected["hk_se"], **close)
    assert [plain.low, plain.high] == pytest.approx(expected["ci"], **close)
    assert [knapp.low, knapp.high] == pytest.approx(expected["hk_ci"], **close)
    assert 100 * knapp.i_squared == pytest.approx(expected["I2"], **close)
    assert knapp.h_squared == pytest.approx(expected["H2"], **close)
    # Its search for the ends of the Q-profile interval stops at about 1e-4 absolute.
    ends = DATA[name]["tau2_q_profile"]
    assert [knapp.tau2_low, knapp.tau2_high] == pytest.approx(ends, rel=1e-5, abs=2e-4)


@pytest.mark.parametrize("name", SETS)
def test_fixed_effect_equals_an_independent_implementation(name: str) -> None:
    y, u = values(name)
    expected = DATA[name]["FE"]
    pooled = pool(y, u=u, method="fixed")
    assert pooled.value == pytest.approx(expected["mu"], rel=1e-12)
    assert pooled.u == pytest.approx(expected["se"], rel=1e-12)
    assert pooled.q == pytest.approx(expected["Q"], rel=1e-12)
    assert [pooled.low, pooled.high] == pytest.approx(expected["ci"], rel=1e-12)
    assert any("too narrow" in note for note in pooled.notes) == (pooled.q_p_value < 0.05)


def test_published_figures_of_the_vaccine_trials() -> None:
    # Printed REML result for the BCG log risk ratios (course notes of Viechtbauer).
    pooled = pool(*values("bcg_logRR")[:1], u=values("bcg_logRR")[1], interval="plain")
    printed = [round(x, 4) for x in (pooled.tau2, pooled.value, pooled.u, pooled.low, pooled.high)]
    assert printed == [0.3132, -0.7145, 0.1798, -1.0669, -0.3622]
    assert round(100 * pooled.i_squared, 2) == 92.22
    assert round(pooled.h_squared, 2) == 12.86
    assert round(pooled.q, 4) == 152.2330
    # van Houwelingen, Arends & Stijnen (2002) data: printed Q-profile interval 0.1302 to 1.1812,
    # whose ends were searched to 1e-4 only; ours solve the defining equation.
    y, u = values("bcg_logOR")
    odds = pool(y, u=u)
    assert [odds.tau2_low, odds.tau2_high] == pytest.approx([0.1302, 1.1812], abs=1e-4)
    for end, tail in ((odds.tau2_low, 0.975), (odds.tau2_high, 0.025)):
        w = 1 / (u**2 + end)
        q = w @ (y - w @ y / w.sum()) ** 2
        assert chi2.cdf(q, y.size - 1) == pytest.approx(tail, rel=1e-9)


def test_published_figures_of_viechtbauer_2007_table_2() -> None:
    y, u = values("collins1985b_logOR")
    tau2 = {m: round(pool(y, u=u, method=m).tau2, 4) for m in METHODS}
    assert (tau2["dl"], tau2["ml"], tau2["reml"]) == (0.2297, 0.2386, 0.3008)
    pooled = pool(y, u=u)
    assert (round(pooled.tau2_low, 4), round(pooled.tau2_high, 4)) == (0.0723, 2.2027)


def test_published_figures_of_normand_1999() -> None:
    y, u = values("normand1999")
    fixed = pool(y, u=u, method="fixed")
    assert [round(x, 4) for x in (fixed.value, fixed.low, fixed.high)] == [
        -3.4939,
        -5.0265,
        -1.9613,
    ]
    dl = pool(y, u=u, method="dl", interval="plain")
    printed = [round(x, 4) for x in (dl.tau2, dl.value, dl.low, dl.high)]
    assert printed == [218.7216, -14.0972, -24.4454, -3.7490]
    reml = pool(y, u=u, method="reml", interval="plain")
    printed = [round(x, 4) for x in (reml.tau2, reml.value, reml.low, reml.high)]
    assert printed == [685.1965, -15.1217, -32.6716, 2.4282]


def test_published_figures_of_kacker_2004() -> None:
    y, u = values("kacker2004")
    pm = pool(y, u=u, method="pm", interval="plain")
    assert round(pm.tau, 4) == 0.8399
    assert pm.tau2 == pytest.approx(0.705395309224248, rel=1e-10)  # metafor
    assert pm.value == pytest.approx(62.4076199113286, rel=1e-12)
    assert pm.u == pytest.approx(0.338030602684471, rel=1e-10)
    assert pm.q == pytest.approx(24.801897741748338, rel=1e-13)  # exact rational arithmetic
    # Published .5359 for DerSimonian-Laird; the exact value from the printed data is .5367.
    assert pool(y, u=u, method="dl").tau == pytest.approx(0.53670, abs=5e-6)
    assert pool(y, u=u, method="reml").tau2 == pytest.approx(0.294343, abs=5e-7)


def test_statsmodels_agrees_where_it_can_be_trusted() -> None:
    from statsmodels.stats.meta_analysis import combine_effects

    # Fresh data without the cases it gets wrong: Q below its degrees of freedom, zeros, gaps.
    y, u = values("duewer2008")
    theirs = combine_effects(y, u**2, method_re="chi2")
    ours = pool(y, u=u, method="dl", interval="plain")
    assert ours.value == pytest.approx(theirs.mean_effect_re, rel=1e-12)
    assert ours.u == pytest.approx(theirs.sd_eff_w_re, rel=1e-12)
    assert pool(y, u=u, method="dl").u == pytest.approx(theirs.sd_eff_w_re_hksj, rel=1e-10)
    assert ours.q == pytest.approx(theirs.q, rel=1e-12)


def test_agreement_gives_exactly_zero_where_a_moment_estimate_would_be_negative() -> None:
    y, u = np.array([1.0, 1.1, 0.9, 1.0, 1.05]), 0.5
    for method in METHODS:
        pooled = pool(y, u=u, method=method)
        assert pooled.tau2 == 0.0
        assert pooled.i_squared == 0.0
        assert pooled.h_squared == 1.0
        assert np.isfinite(pooled.u)


def test_paule_mandel_makes_knapp_hartung_and_plain_uncertainty_equal() -> None:
    y, u = values("bcg_logRR")
    assert pool(y, u=u, method="pm").u == pytest.approx(
        pool(y, u=u, method="pm", interval="plain").u, rel=1e-12
    )


def test_likelihood_with_two_humps_takes_the_higher_one() -> None:
    y = np.array([0.0, 0.02, 5.0, -5.0, 6.0, -6.5, 0.01])
    v = np.array([1e-4, 1e-4, 9.0, 9.0, 9.0, 9.0, 1e-4])
    none = np.empty((7, 0))

    def minus_twice(t: float) -> float:
        f = re.fit(y, v, none, t)
        return f.log_det + f.q + np.log(f.precision)

    found = re.between_variance(y, v, none, "reml")
    scan = np.geomspace(1e-8, 100, 4000)
    assert minus_twice(found) <= min(minus_twice(float(t)) for t in scan) + 1e-9


# --- shared causes ------------------------------------------------------------------------------


def shared(rng: np.random.Generator, n: int, k: int) -> SharedCovariance:
    section = np.arange(n) % k
    loadings = np.column_stack([np.full(n, 0.8), *[0.5 * (section == j) for j in range(k)]])
    return SharedCovariance(rng.uniform(0.5, 2.0, n), loadings)


@pytest.mark.parametrize("method", METHODS)
def test_shared_causes_equal_the_dense_matrix(method: str) -> None:
    rng = np.random.default_rng(3)
    n = 12
    cov = shared(rng, n, 3)
    y = 10 + rng.normal(size=n) * 2 + np.repeat([1.0, -1.0, 0.0], 4)
    parts = split(cov, n)
    tau2 = re.between_variance(y, parts.variance, parts.local, method)
    dense = np.diag(parts.variance) + parts.local @ parts.local.T

    def pieces(t: float) -> tuple[float, np.ndarray, float]:
        inverse = np.linalg.inv(dense + t * np.eye(n))
        one = np.ones(n)
        p = inverse - np.outer(inverse @ one, one @ inverse) / (one @ inverse @ one)
        return float(y @ p @ y), p, float(one @ inverse @ one)

    q, p, _ = pieces(tau2)
    if method == "pm":
        assert q == pytest.approx(n - 1, rel=1e-9)
    elif method == "dl":
        q0, p0, _ = pieces(0.0)
        assert tau2 == pytest.approx((q0 - (n - 1)) / np.trace(p0), rel=1e-10)
    else:
        trace = (
            np.trace(p) if method == "reml" else np.trace(np.linalg.inv(dense + tau2 * np.eye(n)))
        )
        assert y @ p @ p @ y == pytest.approx(trace, rel=1e-9)
    assert tau2 > 0
    fitted = re.fit(y, parts.variance, parts.local, tau2)
    assert fitted.q == pytest.approx(q, rel=1e-10)
    assert fitted.log_det == pytest.approx(
        np.linalg.slogdet(dense + tau2 * np.eye(n))[1], rel=1e-10
    )


def sections_of_four(y: np.ndarray, size: float) -> SharedCovariance:
    section = np.arange(y.size) % 4
    loadings = np.column_stack([size * (section == k) for k in range(4)])
    return SharedCovariance(np.full(y.size, 0.04), loadings)


def test_q_takes_causes_of_sections_as_covariance() -> None:
    y = np.random.default_rng(2).normal(size=12)
    cov = sections_of_four(y, 0.5)
    inverse = np.linalg.inv(cov.dense())
    one = np.ones(12)
    mean = one @ inverse @ y / (one @ inverse @ one)
    assert pool(y, covariance=cov).q == pytest.approx((y - mean) @ inverse @ (y - mean), rel=1e-10)


@pytest.mark.parametrize(
    ("spread", "method", "larger"), [(0.35, "dl", False), (1.0, "fixed", True)]
)
def test_causes_of_sections_are_never_counted_below_their_stated_size(
    spread: float, method: str, larger: bool
) -> None:
    y = spread * np.random.default_rng(2).normal(size=12)
    cov = sections_of_four(y, 0.5)
    found = pool(y, covariance=cov, method=method, interval="knapp-hartung")
    stated = np.sqrt(np.sum((found.weights @ cov.loadings) ** 2))
    total = cov.plus(found.tau2)
    inverse = np.linalg.inv(total.dense())
    one = np.ones(12)
    mean = one @ inverse @ y / (one @ inverse @ one)
    factor = (y - mean) @ inverse @ (y - mean) / 11
    own = np.sum(found.weights**2 * total.variance)
    assert (factor > 1) == larger
    assert np.isfinite(found.dof)
    assert found.u_shared == pytest.approx(np.sqrt(max(factor, 1)) * stated, rel=1e-9)
    assert found.u_independent == pytest.approx(np.sqrt(factor * own), rel=1e-9)


def test_a_cause_of_the_whole_class_is_a_floor() -> None:
    rng = np.random.default_rng(0)
    floor = 0.3
    for n in (5, 50, 5000):
        y = 10 + rng.normal(size=n)
        cov = SharedCovariance(np.ones(n), np.full((n, 1), floor))
        pooled = pool(y, covariance=cov, interval="plain")
        alone = pool(y, u=1.0, interval="plain")
        assert pooled.u_shared == pytest.approx(floor)
        assert pooled.u == pytest.approx(np.hypot(alone.u, floor))
        # What moves all alike shows neither in the spread nor in the value.
        assert pooled.q == pytest.approx(alone.q)
        assert pooled.tau2 == pytest.approx(alone.tau2)
        assert pooled.value == pytest.approx(alone.value)


def test_loadings_proportional_to_the_values_do_not_pull_the_mean_below_the_data() -> None:
    # Peelle's puzzle: 1.5 and 1.0, each 10 % independent, 20 % shared of the measured value.
    y = np.array([1.5, 1.0])
    cov = SharedCovariance((0.1 * y) ** 2, 0.2 * y[:, None])
    naive = np.linalg.solve(cov.dense(), np.ones(2))
    assert naive @ y / naive.sum() < 1.0  # below both: the puzzle
    pooled = pool(y, covariance=cov, method="fixed")
    assert 1.0 < pooled.value < 1.5
    assert pooled.u_shared == pytest.approx(0.2 * pooled.value)


def test_a_cause_touching_one_unit_is_independent_variance() -> None:
    y = np.array([1.0, 2.0, 4.0])
    loadings = np.diag([0.3, 0.4, 0.5])
    a = pool(y, covariance=SharedCovariance(np.full(3, 0.04), loadings))
    b = pool(y, u=np.sqrt(0.04 + np.diag(loadings) ** 2))
    assert (a.value, a.u, a.tau2, a.u_shared) == pytest.approx((b.value, b.u, b.tau2, 0.0))


# --- properties ---------------------------------------------------------------------------------

samples = st.lists(
    st.tuples(
        st.floats(-100, 100, allow_subnormal=False), st.floats(0.01, 100, allow_subnormal=False)
    ),
    min_size=1,
    max_size=30,
)


@given(samples, st.sampled_from(("fixed", *METHODS)))
def test_pooled_value_lies_among_the_values_and_order_does_not_matter(
    pairs: list[tuple[float, float]], method: str
) -> None:
    y, u = np.array(pairs).T
    pooled = pool(y, u=u, method=method)
    slack = 1e-9 * max(1.0, float(np.abs(y).max()))
    assert y.min() - slack <= pooled.value <= y.max() + slack
    assert pooled.low <= pooled.value <= pooled.high
    assert pooled.u > 0 or y.size > 1
    assert pooled.weights.sum() == pytest.approx(1.0)
    if y.size > 1:
        assert pooled.tau2 >= 0
        assert 0 <= pooled.tau2_low <= pooled.tau2_high
    turned = pool(y[::-1], u=u[::-1], method=method)
    assert turned.value == pytest.approx(pooled.value, rel=1e-6, abs=1e-6)


@given(samples, st.floats(-1e4, 1e4), st.floats(0.01, 1000))
def test_shift_and_scale_carry_through(
    pairs: list[tuple[float, float]], shift: float, scale: float
) -> None:
    y, u = np.array(pairs).T
    a = pool(y, u=u, method="pm")
    b = pool(shift + scale * y, u=scale * u, method="pm")
    size = max(abs(shift), scale * float(np.abs(y).max()), scale)
    assert b.value == pytest.approx(shift + scale * a.value, abs=1e-6 * size)
    assert b.high - b.low == pytest.approx(scale * (a.high - a.low), rel=1e-3, abs=1e-5 * size)


def test_heterogeneity_states_the_same_figures_with_intervals() -> None:
    y, u = values("bcg_logRR")
    found = heterogeneity(y, u=u)
    pooled = pool(y, u=u)
    assert (found.q, found.tau, found.i_squared) == (pooled.q, pooled.tau, pooled.i_squared)
    assert found.tau_low == pytest.approx(np.sqrt(DATA["bcg_logRR"]["tau2_q_profile"][0]), rel=1e-4)
    typical = pooled.tau2 * (1 - pooled.i_squared) / pooled.i_squared
    low = pooled.tau2_low / (pooled.tau2_low + typical)
    assert found.i_squared_low == pytest.approx(low, rel=1e-9)
    assert "differ by more" in found.sentence
    calm = heterogeneity([1.0, 2.0, 3.0], u=1.0)
    assert "agree within" in calm.sentence
    assert "agree better" in heterogeneity([1.0, 1.0, 1.01], u=5.0).sentence
