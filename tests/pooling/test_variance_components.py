"""Precision of nested classes: structure, intervals, what cannot be told."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from solubility_stats.errors import InputError
from solubility_stats.pooling import nested
from solubility_stats.pooling.variance_components import precision


def simulate(rng, semesters=2, sections=3, groups=6, runs=2, sd=(0.2, 0.3, 0.5, 0.4)):
    rows = []
    for s in range(semesters):
        a = rng.normal(0, sd[0])
        for c in range(sections):
            b = rng.normal(0, sd[1])
            for g in range(groups):
                d = rng.normal(0, sd[2])
                rows += [(s, c, g, 10 + a + b + d + rng.normal(0, sd[3])) for _ in range(runs)]
    return pd.DataFrame(rows, columns=["semester", "section", "group", "v"])


def dense_deviance(frame, levels, variances):
    """-2 log restricted likelihood from the full covariance matrix, an independent way."""
    n = len(frame)
    v = variances[0] * np.eye(n)
    for k, columns in enumerate(levels[::-1], start=1):
        code = frame.groupby(columns).ngroup().to_numpy()
        v += variances[k] * (code[:, None] == code[None, :])
    x, y = np.ones((n, 1)), frame["v"].to_numpy()
    vi = np.linalg.inv(v)
    xx = x.T @ vi @ x
    r = y - (x @ np.linalg.solve(xx, x.T @ vi @ y))
    return np.linalg.slogdet(v)[1] + np.linalg.slogdet(xx)[1] + r @ vi @ r


def test_recursion_agrees_with_the_full_matrix():
    rng = np.random.default_rng(3)
    frame = simulate(rng).sample(frac=0.7, random_state=3)  # unbalanced, and out of order
    nests = [["semester"], ["semester", "section"], ["semester", "section", "group"]]
    codes = [frame.groupby(n).ngroup().to_numpy() for n in nests]
    d, _ = nested.design(frame["v"].to_numpy(), codes)
    points = rng.uniform(0.05, 1, (4, 4))
    found = nested.deviance(d, points)
    expected = [dense_deviance(frame, nests, p) for p in points]
    assert np.diff(found) == pytest.approx(np.diff(expected), abs=1e-9)
    fitted = nested.fit(d)
    best = dense_deviance(frame, nests, fitted.variances + 1e-300)
    for step in rng.normal(0, 0.02, (40, 4)):
        assert dense_deviance(frame, nests, np.abs(fitted.variances + step)) >= best - 1e-8


def test_complex_step_gradient():
    frame = simulate(np.random.default_rng(1))
    code = frame.groupby(["semester", "section", "group"]).ngroup().to_numpy()
    d, _ = nested.design(frame["v"].to_numpy(), [code])
    point = np.array([0.2, 0.3])
    _, slope = nested.with_gradient(lambda v: nested.deviance(d, v))(point)
    for i in range(2):
        h = np.zeros(2)
        h[i] = 1e-5
        up, down = (
            nested.deviance(d, (point + h)[None])[0],
            nested.deviance(d, (point - h)[None])[0],
        )
        assert slope[i] == pytest.approx((up - down) / 2e-5, rel=1e-6)


def test_agrees_with_a_general_mixed_model():
    from statsmodels.regression.mixed_linear_model import MixedLM

    frame = simulate(np.random.default_rng(0), semesters=1, sections=6)
    frame = frame.drop(index=[0, 5, 9])
    found = precision(frame, "v", ["section", "group"])
    model = MixedLM.from_formula(
        "v ~ 1", groups="section", re_formula="1", vc_formula={"g": "0 + C(group)"}, data=frame
    ).fit(reml=True)
    variances = dict(zip(found.components["source"], found.components["variance"], strict=True))
    assert variances["section"] == pytest.approx(float(model.cov_re.iloc[0, 0]), rel=5e-3)
    assert variances["group"] == pytest.approx(float(model.vcomp[0]), rel=5e-3)
    assert variances["run"] == pytest.approx(model.scale, rel=5e-3)
    assert found.mean == pytest.approx(model.fe_params.iloc[0], rel=1e-6)
    assert found.u == pytest.approx(model.bse_fe.iloc[0], rel=5e-3)


def test_conditions_add_up_and_intervals_hold_the_estimate():
    found = precision(simulate(np.random.default_rng(7)), "v")
    assert found.conditions["condition"].tolist() == [
        "repeatability", "within section", "within semester", "reproducibility"
    ]  # fmt: skip
    total = found.components["variance"].cumsum().iloc[-1]
    assert found.sd("reproducibility") == pytest.approx(np.sqrt(total))
    assert found.components["share_percent"].sum() == pytest.approx(100)
    for frame in (found.components, found.conditions):
        assert (frame["sd_low"] <= frame["sd"]).all()
        assert (frame["sd"] <= frame["sd_high"]).all()
    assert found.conditions["limit"].iloc[0] == pytest.approx(2.8 * found.sd("repeatability"))
    # Two semesters say little about semesters, and the total cannot be surer than they are.
    assert found.components["sd_high"][0] > 1
    assert found.conditions["sd_high"].iloc[-1] > 1


def test_balanced_reml_is_the_analysis_of_variance():
    frame = simulate(np.random.default_rng(2), semesters=1, sections=1, groups=8, runs=3)
    a = precision(frame, "v", ["group"], method="anova")
    b = precision(frame, "v", ["group"])
    assert list(a.components["variance"]) == pytest.approx(list(b.components["variance"]), rel=1e-5)
    assert a.u == pytest.approx(b.u, rel=1e-5)


def test_one_run_for_each_group_is_said():
    frame = simulate(np.random.default_rng(2), runs=1)
    found = precision(frame, "v")
    assert found.components["source"].tolist() == ["semester", "section", "group and run"]
    assert "repeatability" not in found.conditions["condition"].tolist()
    assert any("cannot be told apart" in n for n in found.notes)
    with pytest.raises(InputError, match="cannot tell this precision"):
        found.sd("repeatability")


def test_levels_that_add_nothing_are_left_out():
    frame = simulate(np.random.default_rng(2), semesters=1, sections=4)
    frame["day"] = frame["section"]
    found = precision(frame, "v", ["semester", "section", "day", "group"])
    assert found.components["source"].tolist() == ["section", "group", "run"]
    assert any("Only one semester" in n for n in found.notes)
    assert any("One day in each section" in n for n in found.notes)


def test_no_differences_between_groups_is_zero_not_negative():
    frame = pd.DataFrame({"group": [1, 1, 2, 2, 3, 3], "v": [1.0, 2, 2, 1, 1.2, 1.9]})
    found = precision(frame, "v", ["group"])
    assert found.components["variance"][0] == 0
    assert found.sd("reproducibility") == pytest.approx(found.sd("repeatability"))
    assert found.conditions["sd_low"].iloc[0] > 0


def test_equal_values():
    found = precision(pd.DataFrame({"group": [1, 1, 2, 2], "v": [3, 3, 3, 3]}), "v", ["group"])
    assert (found.components["variance"] == 0).all()
    repeated = pd.DataFrame({"group": [1, 1, 2, 2, 3, 3], "v": [1.0, 1, 2, 2, 4, 4]})
    found = precision(repeated, "v", ["group"])
    assert found.sd("repeatability") < 1e-4
    assert found.sd("reproducibility") == pytest.approx(np.std([1, 2, 4], ddof=1), rel=1e-4)


def test_order_index_and_input_do_not_matter():
    frame = simulate(np.random.default_rng(9))
    shuffled = frame.sample(frac=1, random_state=0)
    shuffled.index = [7] * len(shuffled)
    before = shuffled.copy()
    a, b = precision(frame, "v"), precision(shuffled, "v")
    assert list(a.components["variance"]) == pytest.approx(list(b.components["variance"]), rel=1e-4)
    pd.testing.assert_frame_equal(shuffled, before)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda f: precision(f.head(2), "v"), "too few runs"),
        (lambda f: precision(f, "v", []), "no factor"),
        (lambda f: precision(f, "v", ["section", "group"], method="anova"), "takes one factor"),
        (lambda f: precision(f, "v", ["bench"]), "column not found"),
    ],
)
def test_wrong_input(call, message):
    with pytest.raises(InputError, match=message):
        call(simulate(np.random.default_rng(0)))


@pytest.mark.slow
def test_intervals_cover():
    # 300 classes of 8 groups of 2 runs: 95 % intervals cover in 91 to 99 % (binomial 99.9 %).
    rng = np.random.default_rng(12)
    truth = {"group": 0.5, "run": 0.3}
    hits = {"group": 0, "run": 0, "total": 0}
    for _ in range(300):
        frame = simulate(rng, 1, 1, 8, 2, (0, 0, truth["group"], truth["run"]))
        found = precision(frame, "v", ["group"])
        for row in found.components.to_dict("records"):
            hits[row["source"]] += row["sd_low"] <= truth[row["source"]] <= row["sd_high"]
        total = found.conditions.iloc[-1]
        hits["total"] += total["sd_low"] <= np.hypot(0.5, 0.3) <= total["sd_high"]
    for count in hits.values():
        assert 0.91 <= count / 300 <= 0.99
