"""Class against curve."""

import json

import numpy as np
import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.bias import compare
from solubility_stats.bias.class_difference import judge
from solubility_stats.bias.inputs import curve_loadings
from solubility_stats.covariance import SharedCovariance
from solubility_stats.errors import InputError


def frame(values, u=0.004, t=20.0, **columns):
    n = len(values)
    return pd.DataFrame(
        {
            "group": [str(i) for i in range(n)],
            "temperature_c": t,
            "value_g_per_100g": values,
            "u_g_per_100g": u,
            **columns,
        }
    )


def scattered(centre, n=20, sd=0.004, seed=1):
    x = np.random.default_rng(seed).normal(size=n)
    return centre + sd * (x - x.mean()) / x.std(ddof=1)


# Mean 2 % above, scatter 2.5 % over 20 groups: u = 2.5 / sqrt(20) = 0.559 %; t(19) at 97.5 % is
# 2.093 (from the printed tables of Student's t).
def test_the_difference_of_a_plain_frame_is_that_of_the_means(flat_curve):
    comp = compare(frame(scattered(0.1632)), flat_curve())
    b = comp.unexplained
    assert b.percent == pytest.approx(2.0, abs=1e-6)
    assert b.u_percent == pytest.approx(0.559, rel=0.01)
    assert b.high_percent - b.percent == pytest.approx(2.093 * 0.559, rel=0.01)
    assert b.p_value == pytest.approx(0.00189, rel=0.1)  # t = 3.58 on 19 degrees of freedom
    # t(0.975, 19) + t(0.9, 19) = 2.093 + 1.328
    assert b.smallest_detectable_percent == pytest.approx((2.093 + 1.328) * 0.559, rel=0.01)


@pytest.mark.parametrize(
    ("centre", "sd", "margin", "verdict", "inside"),
    [
        (0.1632, 0.004, 5.0, "high", True),  # real, and too small to matter
        (0.1632, 0.004, 1.0, "high", False),
        (0.1500, 0.004, 5.0, "low", False),
        (0.1602, 0.004, 5.0, "agrees", True),
        (0.1602, 0.040, 5.0, "undecided", False),
        (0.1602, 0.004, 0.5, "undecided", False),
    ],
)
def test_verdicts(flat_curve, centre, sd, margin, verdict, inside):
    u = sd
    comp = compare(frame(scattered(centre, sd=sd), u=u), flat_curve(), margin_percent=margin)
    assert (comp.verdict, comp.unexplained.inside_margin) == (verdict, inside)
    sentence = comp.unexplained.sentence()
    if verdict == "high" and inside:
        assert "real, but within" in sentence


def test_an_interval_that_touches_zero_decides_nothing():
    assert judge(0.0, 2.0, False) == "undecided"
    assert judge(-1.0, 0.0, True) == "agrees"


def test_the_uncertainty_of_the_curve_does_not_average_out(flat_curve):
    few = compare(frame(scattered(0.16, n=10)), flat_curve(u=0.016)).unexplained
    many = compare(frame(scattered(0.16, n=1000)), flat_curve(u=0.016)).unexplained
    assert many.u_percent == pytest.approx(10.0, rel=0.01)
    assert few.u_percent >= many.u_percent
    assert many.limited_by == "reference curve"
    assert many.components["share_percent"].sum() == pytest.approx(100.0)


def test_an_uncertain_temperature_is_shared_by_the_class(flat_curve):
    sharp = frame(scattered(0.16))
    vague = sharp.assign(u_temperature_k=2.0)
    curve = flat_curve(slope=-0.0016)
    a, b = (compare(f, curve).unexplained for f in (sharp, vague))
    # 2 K at 1 % per K is 2 %
    assert np.hypot(a.u_percent, 2.0) == pytest.approx(b.u_percent, rel=0.01)
    assert b.limited_by == "temperature reading"


def test_each_run_is_compared_at_its_own_temperature(flat_curve):
    t = np.linspace(15, 30, 12)
    curve = flat_curve(slope=-0.0011)
    on_curve = np.asarray(curve.at(t)[0]) * (1 + 0.01 * np.random.default_rng(0).normal(size=12))
    comp = compare(frame(on_curve, u=0.002, t=t), curve)
    assert comp.verdict == "agrees"
    assert comp.trend["says"].startswith("The class follows")
    flat = compare(frame(np.full(12, 0.16) + 1e-5 * t, u=0.002, t=t), curve)
    assert "does not follow" in flat.trend["says"]
    assert flat.trend["slope_percent_per_k"] == pytest.approx(0.72, abs=0.06)


def test_temperatures_all_alike_say_nothing_of_a_slope(flat_curve):
    trend = compare(frame(scattered(0.16)), flat_curve()).trend
    assert "slope_percent_per_k" not in trend
    assert "do not differ enough" in trend["says"]


def test_the_verdict_may_depend_on_the_source(flat_curve):
    curve = flat_curve(sources={"old": (0.16, 0.001), "new": (0.17, 0.001)})
    comp = compare(frame(scattered(0.16)), curve)
    verdicts = dict(zip(comp.by_source["source"], comp.by_source["verdict"], strict=True))
    assert verdicts == {"old": "agrees", "new": "low"}
    assert comp.depends_on_source
    assert any("depends on which published curve" in note for note in comp.notes)
    assert comp.bias_dict()["by_source"] == verdicts


def test_parts_are_compared_with_the_rest_of_the_class(flat_curve):
    # The curve is very uncertain, but the sections differ by 10 % beyond doubt.
    values = np.concatenate([scattered(0.16, 12, seed=1), scattered(0.176, 12, seed=2)])
    data = frame(values, section=["Mon"] * 12 + ["Tue"] * 12)
    comp = compare(data, flat_curve(u=0.05))
    part = comp.by_section.set_index("section")
    assert set(part["verdict"]) == {"undecided"}
    assert part.loc["Tue", "from_rest_percent"] == pytest.approx(10.0, abs=0.01)
    assert part.loc["Tue", "p_from_rest"] < 1e-6
    assert part.loc["Mon", "from_rest_percent"] == pytest.approx(-10.0, abs=0.01)


def test_groups_with_two_runs_count_once(flat_curve):
    values = np.repeat(scattered(0.1632, 10), 2)
    data = frame(values)
    data["group"] = np.repeat([str(i) for i in range(10)], 2)
    once = compare(frame(scattered(0.1632, 10)), flat_curve()).unexplained
    twice = compare(data, flat_curve()).unexplained
    assert twice.n == 10
    assert twice.percent == pytest.approx(once.percent)
    assert twice.u_percent > 0.7 * once.u_percent


def test_a_class_of_one(flat_curve):
    b = compare(frame([0.17]), flat_curve()).unexplained
    assert b.n == 1
    assert b.u_percent == pytest.approx(2.5, rel=0.05)
    assert b.verdict in ("high", "undecided")


def test_row_order_and_labels_do_not_matter(flat_curve):
    data = frame(scattered(0.163), section=["A", "B"] * 10)
    shuffled = data.sample(frac=1, random_state=3)
    shuffled.index = [7] * 20
    before = shuffled.copy()
    a, b = compare(data, flat_curve()), compare(shuffled, flat_curve())
    assert a.unexplained.percent == pytest.approx(b.unexplained.percent)
    assert a.by_section["percent"].tolist() == pytest.approx(b.by_section["percent"].tolist())
    pd.testing.assert_frame_equal(shuffled, before)


def test_what_cannot_be_compared_is_refused_in_words(flat_curve, two_routes, lime):
    with pytest.raises(InputError, match="columns are missing"):
        compare(pd.DataFrame({"x": [1.0]}), flat_curve())
    with pytest.raises(InputError, match="no estimates"):
        compare([1, 2], flat_curve())
    with pytest.raises(InputError, match="margin"):
        compare(two_routes, lime, margin_percent=0)
    with pytest.raises(InputError, match="evaporation"):
        compare(two_routes, lime, route="evaporation")
    with pytest.raises(InputError, match="finite"):
        compare(frame([np.nan, 0.16]), flat_curve())


def test_apparent_and_unexplained_are_kept_apart(make_class, lime):
    # Much of the residue lost, far more than the protocol expects.
    est = make_class(groups=24, seed=2, usual=False, causes={"transfer_loss": 0.3})
    comp = compare(est, lime)
    assert comp.apparent.verdict == "high"
    assert comp.apparent.u_percent < comp.unexplained.u_percent
    assert comp.apparent.percent > 100
    block = comp.bias_dict()
    assert set(block) >= {
        "apparent_percent", "apparent_interval95_percent", "percent", "interval95_percent",
        "p_value", "smallest_detectable_percent", "limited_by", "verdict", "by_source",
    }  # fmt: skip
    json.dumps(comp.to_dict(), allow_nan=False)


def test_blocks_of_the_summary(two_routes, lime):
    comp = ss.compare(two_routes, lime)
    reference = comp.reference_dict()
    assert reference["value_g_per_100g"] == pytest.approx(
        float(lime.at(reference["temperature_c"])[0]), rel=1e-3
    )
    assert set(comp.by_route_dict()) == {"residue", "titration"}
    assert "unexplained" in repr(comp)
    assert len(comp.runs) == comp.unexplained.n + 0


def test_residue_minus_titration_needs_no_reference(two_routes, lime, flat_curve):
    a = compare(two_routes, lime).contrast
    b = compare(two_routes, flat_curve(0.3, 0.1)).contrast
    assert a.n == len(a.runs)
    assert (a.percent, a.u_percent) == (b.percent, b.u_percent)
    assert a.u_percent > a.u_apparent_percent  # expected effects are uncertain themselves


def test_solid_lost_shows_in_the_contrast_and_a_wrong_reference_does_not(make_class, lime):
    lost = make_class(
        groups=24, seed=3, usual=False, causes={"transfer_loss": 0.15},
        routes=("residue", "titration"),
    )  # fmt: skip
    comp = compare(lost, lime)
    assert comp.contrast.apparent_low_percent > 0
    assert comp.contrast.low_percent > 0
    assert "above the titration" in comp.contrast.says
    plain = make_class(
        groups=24, seed=3, usual=False, solubility_offset=0.3, routes=("residue", "titration")
    )
    contrast = compare(plain, lime).contrast
    assert contrast.apparent_low_percent < 0 < contrast.apparent_high_percent


def test_curve_loadings_reproduce_the_covariance(lime):
    t = np.array([18.0, 25.0, 18.0, 31.5])
    found = curve_loadings(lime, t)
    there = lime.covariance(t)
    dense = there.dense() if isinstance(there, SharedCovariance) else np.asarray(there)
    assert found @ found.T == pytest.approx(dense, rel=1e-3)
    fine = np.linspace(5.0, 40.0, 200)
    assert np.sum(curve_loadings(lime, fine) ** 2, axis=1) == pytest.approx(
        np.asarray(lime.at(fine)[1]) ** 2, rel=0.02
    )


def test_another_reference_is_the_same_as_pooling_again(flat_curve):
    from solubility_stats.bias.class_difference import against_reference

    # Symmetric values: median and mean agree, so both ways scale the curve's part alike.
    data = frame(0.163 + 0.01 * np.linspace(-1, 1, 12))
    here = compare(data, flat_curve(0.16, 0.004)).unexplained
    there = compare(data, flat_curve(0.17, 0.008)).unexplained
    moved = against_reference(here, 0.17 / 0.16, 0.008 / 0.17)
    for name in ("percent", "u_percent", "low_percent", "high_percent", "dof"):
        assert getattr(moved, name) == pytest.approx(getattr(there, name), rel=1e-6)
    assert moved.limited_by == there.limited_by


def test_a_temperature_outside_the_curve_is_set_aside_and_listed(two_routes, lime, flat_curve):
    from dataclasses import replace

    from solubility_stats.bias import diagnose
    from solubility_stats.errors import OutOfRangeError

    table = two_routes.table.copy()
    first = table["run_id"].iloc[0]
    table.loc[table["run_id"] == first, "temperature_c"] = 150.0
    comp = compare(replace(two_routes, table=table), lime)
    whole = compare(two_routes, lime)
    assert comp.unexplained.n == whole.unexplained.n - 1
    assert comp.n_set_aside == whole.n_set_aside + 1
    assert comp.contrast.n == whole.contrast.n - 1
    reasons = diagnose(comp).groups_to_look_at.set_index("run_id")["reasons"]
    assert "outside the reference" in reasons[first][0]
    with pytest.raises(OutOfRangeError):
        compare(replace(two_routes, table=table.assign(temperature_c=150.0)), lime)
