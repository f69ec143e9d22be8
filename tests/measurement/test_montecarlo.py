"""Monte Carlo propagation against the worked examples of JCGM 101:2008 and exact results."""

import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

import solubility_stats as ss
from solubility_stats.errors import InputError
from solubility_stats.measurement.distributions import deviations, effect_sizes
from solubility_stats.measurement.montecarlo import monte_carlo, numerical_tolerance

LIME = "calcium hydroxide"


def four(shapes, sds):
    def draw(rng, n):
        pairs = zip(shapes, sds, strict=True)
        return {f"x{i}": deviations(rng, n, s, u) for i, (s, u) in enumerate(pairs)}

    return draw


def total(**x):
    return sum(x.values())


@pytest.mark.parametrize(
    ("shapes", "sds", "u", "half"),
    [
        # JCGM 101:2008, 9.2.2 (u 2.0, ±3.92), 9.2.3 (u 2.0, ±3.88; exactly 3.8794), 9.2.4
        # (u 10.1, ±17.0)
        (["normal"] * 4, [1, 1, 1, 1], 2.0, 3.92),
        (["rectangular"] * 4, [1, 1, 1, 1], 2.0, 2 * math.sqrt(3) * (2 - 0.6**0.25)),
        (["rectangular"] * 4, [1, 1, 1, 10], math.sqrt(103), 17.0),
    ],
    ids=["9.2.2", "9.2.3", "9.2.4"],
)
@pytest.mark.parametrize("interval", ["symmetric", "shortest"])
def test_additive_model(shapes, sds, u, half, interval):
    draw = four(shapes, sds)
    found = monte_carlo(total, draw, digits=3, seed=4, interval=interval, max_trials=2_000_000)
    scale = u / 2
    assert found.u == pytest.approx(u, abs=0.01 * scale)
    assert found.value == pytest.approx(0.0, abs=0.01 * scale)
    assert found.high - found.low == pytest.approx(2 * half, abs=0.06 * scale)


def test_mass_calibration():
    # JCGM 101:2008, 9.3: 1.234 mg, u 0.0754, shortest 95 % [1.0834, 1.3825] (from memory; exact
    # variance by moments gives u = 0.07548). First order gives only 0.0539.
    def model(mass, extra, air, weight, reference):
        return (mass + extra) * (1 + (air - 1.2) * (1 / weight - 1 / reference)) - 100_000

    def draw(rng, n):
        return {
            "mass": 100_000 + deviations(rng, n, "normal", 0.050),
            "extra": 1.234 + deviations(rng, n, "normal", 0.020),
            "air": 1.20 + deviations(rng, n, "rectangular", 0.10 / math.sqrt(3)),
            "weight": 8000 + deviations(rng, n, "rectangular", 1000 / math.sqrt(3)),
            "reference": 8000 + deviations(rng, n, "rectangular", 50 / math.sqrt(3)),
        }

    found = monte_carlo(model, draw, digits=2, seed=1, interval="shortest")
    assert found.value == pytest.approx(1.234, abs=0.001)
    assert found.u == pytest.approx(0.0755, abs=0.0003)
    # The place of a shortest interval of a nearly symmetric output is noisy, its width is not.
    assert found.high - found.low == pytest.approx(1.3825 - 1.0834, abs=0.001)
    assert (found.low, found.high) == pytest.approx((1.0834, 1.3825), abs=0.005)
    central = monte_carlo(model, draw, digits=2, seed=1)
    assert central.stable
    assert (central.low, central.high) == pytest.approx((1.0843, 1.3835), abs=0.001)


@pytest.mark.parametrize(
    ("x1", "rho", "mean", "u", "low", "high", "noise"),
    [
        # JCGM 101:2008, 9.4, tables 6 and 7, in 1e-6 (from memory, means and u exact by moments)
        (0.0, 0.0, 50, 50, 0, 150, 1),
        (0.010, 0.0, 150, 112, 0, 367, 3),
        (0.050, 0.0, 2550, 502, 1590, 3543, 12),
        (0.0, 0.9, 50, 67, 0, 185, 1),
        (0.010, 0.9, 150, 121, 13, 398, 3),
        (0.050, 0.9, 2550, 505, 1628, 3555, 12),
    ],
)
def test_comparison_loss(x1, rho, mean, u, low, high, noise):
    def draw(rng, n):
        a, b = deviations(rng, n, "normal", 0.005), deviations(rng, n, "normal", 0.005)
        return {"a": x1 + a, "b": rho * a + math.sqrt(1 - rho**2) * b}

    found = monte_carlo(
        lambda a, b: 1e6 * (a**2 + b**2), draw, digits=3, strictness=2, seed=2,
        interval="shortest",
    )  # fmt: skip
    assert found.value == pytest.approx(mean, rel=0.004)
    assert found.u == pytest.approx(u, rel=0.008)
    assert found.low == pytest.approx(low, abs=noise)
    assert found.high == pytest.approx(high, abs=noise)


def test_logarithm_of_a_rectangular_input():
    # y = ln x, x uniform on (0.1, 1.1): mean −0.66490, shortest 95 % [ln 0.15, ln 1.1] exactly
    def draw(rng, n):
        return {"x": 0.6 + deviations(rng, n, "rectangular", 0.5 / math.sqrt(3))}

    found = monte_carlo(lambda x: np.log(x), draw, interval="shortest", strictness=2)
    assert found.value == pytest.approx(-0.66490, abs=0.004)
    assert found.low == pytest.approx(math.log(0.15), abs=0.02)
    assert found.high == pytest.approx(math.log(1.1), abs=0.002)


@pytest.mark.parametrize(
    ("name", "shape"),
    [
        ("normal", stats.norm()),
        ("rectangular", stats.uniform(-math.sqrt(3), 2 * math.sqrt(3))),
        ("triangular", stats.triang(0.5, -math.sqrt(6), 2 * math.sqrt(6))),
        ("arcsine", stats.arcsine(-math.sqrt(2), 2 * math.sqrt(2))),
    ],
)
def test_distributions_have_their_shape_and_unit_deviation(name, shape):
    x = deviations(np.random.default_rng(8), 20_000, name, 2.0) / 2.0
    assert stats.kstest(x, shape.cdf).pvalue > 1e-3
    assert shape.std() == pytest.approx(1.0)


def test_repeated_readings_are_drawn_from_student():
    x = deviations(np.random.default_rng(8), 20_000, "normal", 2.0, dof=4) / 2.0
    assert stats.kstest(x, stats.t(4).cdf).pvalue > 1e-3
    with pytest.raises(ValueError, match="unknown distribution"):
        deviations(np.random.default_rng(0), 3, "lumpy", 1.0)


def test_effect_sizes_are_never_negative_and_have_the_stated_moments():
    x = effect_sizes(np.random.default_rng(9), 400_000, 0.03, 0.015, 0.024)
    assert x.min() >= 0
    assert x.mean() == pytest.approx(0.03, rel=0.01)
    assert x.std() == pytest.approx(math.hypot(0.015, 0.024), rel=0.02)
    assert effect_sizes(np.random.default_rng(9), 3, 0.03, 0.0, 0.0) == pytest.approx([0.03] * 3)


@pytest.mark.parametrize(
    ("u", "digits", "tolerance"),
    [(0.035, 2, 0.0005), (0.035, 1, 0.005), (123.0, 2, 5.0), (0.1, 1, 0.05), (0.0, 2, 0.0)],
)  # the first three follow JCGM 101:2008, 7.9.2, examples
def test_numerical_tolerance(u, digits, tolerance):
    assert numerical_tolerance(u, digits) == pytest.approx(tolerance)


def test_first_order_is_found_enough_for_a_linear_budget_and_not_for_a_skewed_one(class_frame):
    # Many weighings behind the repeatability: Student's t then adds nothing to its variance.
    bare = ss.Protocol.default(LIME).without_effects()
    bare = bare.with_settings({"balance.repeatability_dof": 1e6})
    simple = ss.estimate(class_frame, bare).propagate(seed=1, digits=1)
    assert simple.table["first_order_enough"].all()
    assert "all 12 results" in simple.headline()
    skewed = ss.Protocol.default(LIME).with_settings(
        {"effects.transfer_loss.sd_between": 0.12, "effects.residual_moisture.sd_between": 0.0}
    )
    found = ss.estimate(class_frame, skewed).propagate(seed=1, digits=2, run_ids=["Mon/1"])
    assert not found.table["first_order_enough"].any()
    assert "to be preferred" in found.headline()


def test_monte_carlo_agrees_with_first_order_moments(three_routes):
    est = ss.estimate(three_routes, solute=LIME)
    table = est.propagate(seed=2).table
    assert len(table) == 12 + 6 + 2
    ratio = table["u_g_per_100g"] / table["first_order_u_g_per_100g"]
    assert ratio.between(0.9, 1.12).all()
    shift = table["value_g_per_100g"] - table["first_order_value_g_per_100g"]
    assert (shift.abs() < 0.2 * table["u_g_per_100g"]).all()
    assert table["stable"].all()
    assert (table["impossible"] == 0).all()


def test_same_seed_same_result_whatever_other_runs_there_are(class_frame):
    est = ss.estimate(class_frame, solute=LIME)
    all_runs = est.propagate(seed=7, max_trials=40_000).table.set_index("run_id")
    one = est.propagate(seed=7, run_ids=["Tue/9"], max_trials=40_000).table.set_index("run_id")
    pd.testing.assert_series_equal(all_runs.loc["Tue/9"], one.loc["Tue/9"])
    other = est.propagate(seed=8, run_ids=["Tue/9"], max_trials=40_000).table
    assert other["value_g_per_100g"].iloc[0] != one["value_g_per_100g"].iloc[0]


def test_trials_are_bounded_and_lack_of_stability_is_said():
    found = monte_carlo(total, four(["normal"], [1.0]), digits=4, max_trials=30_000)
    assert found.trials == 30_000
    assert not found.stable


def test_a_model_without_values_gives_none_and_does_not_crash():
    found = monte_carlo(lambda x0: np.where(x0 > 5, x0, np.nan), four(["normal"], [1.0]))
    assert math.isnan(found.value)
    assert not found.stable
    assert found.impossible > 0.99


def test_wrong_requests_are_refused(class_frame):
    est = ss.estimate(class_frame, solute=LIME)
    with pytest.raises(InputError, match="unknown method"):
        est.propagate("guess")
    with pytest.raises(InputError, match="no used result"):
        est.propagate(run_ids=["nobody"])
