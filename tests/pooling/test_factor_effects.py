"""Factors: estimates against other programs, units of replication, aliasing, tiny classes."""

from __future__ import annotations

import json
import warnings

import numpy as np
import pandas as pd
import pytest

from solubility_stats.errors import InputError
from solubility_stats.pooling.factor_effects import drift, factors
from solubility_stats.pooling.factor_words import semester_order


def simulate(
    rng, *, semesters=1, sections=4, groups=6, runs=1, section_sd=0.03, group_sd=0.05, run_sd=0.02
) -> pd.DataFrame:
    rows = []
    for s in range(semesters):
        for c in range(sections):
            a = rng.normal(0, section_sd)
            for g in range(groups):
                b = rng.normal(0, group_sd)
                for r in range(runs):
                    v = 1.7 + a + b + rng.normal(0, run_sd)
                    rows.append((f"{2020 + s} spring", f"S{c}", g, r, v))
    frame = pd.DataFrame(rows, columns=["semester", "section", "group", "run", "v"])
    frame["instructor"] = np.where(frame["section"].isin(["S0", "S2"]), "A", "B")
    order = frame.groupby(["semester", "section", "group"]).ngroup()
    frame["filtration"] = np.where(order % 2, "gravity", "vacuum")
    frame["stir_min"] = rng.uniform(5, 30, order.max() + 1)[order]
    return frame


def row(found, factor, table="tests"):
    frame = getattr(found, table)
    return frame.loc[frame["factor"] == factor].iloc[0]


def test_independent_groups_are_ordinary_regression():
    import statsmodels.formula.api as smf

    frame = simulate(np.random.default_rng(1), sections=1, groups=20)
    found = factors(frame, ["filtration", "stir_min"], value="v")
    for name, term in (("filtration", "C(filtration)"), ("stir_min", "stir_min")):
        ols = smf.ols(f"v ~ {term}", frame).fit()
        effect = row(found, name, "effects")
        sign = -1 if name == "filtration" and effect["level"] == "gravity" else 1
        assert effect["effect"] * sign == pytest.approx(ols.params.iloc[1], rel=1e-7)
        assert effect["u"] == pytest.approx(ols.bse.iloc[1], rel=1e-7)
        assert effect["p_value"] == pytest.approx(ols.pvalues.iloc[1], rel=1e-6)
        assert effect["dof"] == 18
    joint = smf.ols("v ~ C(filtration) + stir_min", frame).fit()
    both = row(found, "stir_min", "joint")
    assert both["effect"] == pytest.approx(joint.params["stir_min"], rel=1e-7)
    assert both["u"] == pytest.approx(joint.bse["stir_min"], rel=1e-7)


def test_more_levels_are_the_analysis_of_variance():
    from scipy.stats import f_oneway

    frame = simulate(np.random.default_rng(2), sections=4)
    found = factors(frame, ["section"], value="v")
    parts = [p.to_numpy() for _, p in frame.groupby("section")["v"]]
    expected = f_oneway(*parts)
    test = row(found, "section")
    assert (test["f"], test["p_value"]) == pytest.approx(tuple(expected), rel=1e-7)
    assert test["unit_of_replication"] == "group"
    effects = found.effects.set_index("level")["effect"]
    means = np.array([p.mean() for p in parts])
    assert effects.to_numpy() == pytest.approx(means - means.mean(), abs=1e-12)
    assert effects.sum() == pytest.approx(0, abs=1e-12)


def test_agrees_with_a_general_mixed_model():
    from statsmodels.regression.mixed_linear_model import MixedLM

    frame = simulate(np.random.default_rng(4), sections=8, section_sd=0.08)
    frame = frame.drop(index=[0, 1, 2, 13])
    found = factors(frame, ["filtration", "stir_min"], value="v")
    fits = {
        "filtration": MixedLM.from_formula("v ~ C(filtration)", groups="section", data=frame),
        "stir_min": MixedLM.from_formula("v ~ stir_min", groups="section", data=frame),
    }
    for name, model in fits.items():
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it warns whenever the variance is small
            fit = model.fit(reml=True)
        effect = row(found, name, "effects")
        assert abs(effect["effect"]) == pytest.approx(abs(fit.fe_params.iloc[1]), rel=1e-4)
        # Its standard error comes from a joint Hessian and is 0.5 % off; generalised least
        # squares with its variances, in full matrices, is what ours must be.
        x, same = model.exog, model.groups[:, None] == model.groups[None, :]
        v = fit.scale * np.eye(len(frame)) + float(fit.cov_re.iloc[0, 0]) * same
        u = np.sqrt(np.linalg.inv(x.T @ np.linalg.solve(v, x))[1, 1])
        assert effect["u"] == pytest.approx(u, rel=1e-4)


def test_sections_replicate_instructors():
    rng = np.random.default_rng(5)
    frame = simulate(rng, semesters=2, sections=4, runs=2)
    found = factors(frame, ["filtration", "instructor", "semester", "section"], value="v")
    units = found.tests.set_index("factor")["unit_of_replication"].to_dict()
    assert units == {
        "filtration": "group",
        "instructor": "section",
        "semester": "section",
        "section": "group",
    }
    tests = found.tests.set_index("factor")
    # 8 sections, 2 semesters, one contrast: 8 - 2 - 1; semesters: 8 - 2.
    assert tests.loc["instructor", "dof2"] == 5
    assert tests.loc["semester", "dof2"] == 6
    # 48 groups: 8 sections and one contrast between groups of a section.
    assert tests.loc["filtration", "dof2"] == 39
    assert tests.loc["section", ["dof1", "dof2"]].tolist() == [7, 40]


def test_balanced_instructor_effect_is_the_t_test_on_section_means():
    from scipy.stats import ttest_ind

    frame = simulate(np.random.default_rng(7), sections=8, section_sd=0.1)
    frame["instructor"] = np.where(frame["section"] < "S4", "A", "B")
    found = factors(frame, ["instructor"], value="v")
    means = frame.groupby(["instructor", "section"])["v"].mean()
    expected = ttest_ind(means["A"], means["B"])
    assert row(found, "instructor")["p_value"] == pytest.approx(expected.pvalue, rel=1e-5)


def test_one_section_for_each_instructor_cannot_be_told():
    frame = simulate(np.random.default_rng(5), sections=2)
    frame["balance"] = frame["section"].map({"S0": 1, "S1": 2})
    found = factors(frame, ["section", "instructor", "balance"], value="v", categorical=["balance"])
    for name in ("instructor", "balance"):
        assert row(found, name)["verdict"] == "cannot tell"
        assert "only one section" in row(found, name)["words"]
        assert name not in found.effects["factor"].tolist()
    assert set(found.aliases["relation"]) == {"same"}
    assert "cannot tell: instructor, balance" in found.headline()


def test_decided_by_another_factor():
    frame = simulate(np.random.default_rng(6), sections=6)
    frame["instructor"] = frame["section"].map(
        dict(zip(["S0", "S1", "S2", "S3", "S4", "S5"], "AABBCC", strict=True))
    )
    frame["filtration"] = np.where(frame["instructor"] == "A", "vacuum", "gravity")
    found = factors(frame, ["filtration", "instructor", "stir_min"], value="v")
    assert found.aliases["relation"].tolist() == ["decided by"]
    assert found.aliases["factor"].tolist() == ["filtration"]
    assert found.aliases["other"].tolist() == ["instructor"]
    frame["stir2"] = frame["stir_min"] + np.random.default_rng(0).normal(0, 0.5, len(frame))
    near = factors(frame, ["stir_min", "stir2"], value="v")
    assert near.aliases["relation"].tolist() == ["nearly"]
    assert 90 < near.aliases["explained_percent"][0] < 100


def test_effects_in_percent_and_words():
    frame = simulate(np.random.default_rng(8))
    frame.loc[frame["filtration"] == "vacuum", "v"] += 0.3
    found = factors(frame, ["filtration", "stir_min"], value="v")
    effect = row(found, "filtration", "effects")
    assert effect["effect_percent"] == pytest.approx(100 * effect["effect"] / frame["v"].mean())
    assert effect["low"] < effect["effect"] < effect["high"]
    assert row(found, "filtration")["verdict"] == "differs"
    assert "24 groups as replicates" in effect["words"]
    assert "for each min; seen from" in row(found, "stir_min", "effects")["words"]
    assert row(found, "stir_min", "effects")["unit"] == "per min"
    json.dumps(found.to_dict(), allow_nan=False)
    assert "filtration" in str(found)
    assert found._repr_html_().startswith("<p>")


def test_estimates_are_recognised():
    frame = simulate(np.random.default_rng(8)).rename(columns={"v": "value_g_per_100g"})

    class Fake:
        def used(self, route="residue"):
            return frame

    found = factors(Fake())
    assert found.unit == "g/100 g water"
    assert found.tests["factor"].tolist() == [
        "filtration", "section", "instructor", "stir_min", "semester"
    ]  # fmt: skip
    assert row(found, "semester")["words"] == "semester was '2020 spring' for all runs."


def test_missing_entries_leave_the_run_out_of_that_factor_only():
    frame = simulate(np.random.default_rng(9))
    frame.loc[[0, 1, 2], "filtration"] = None
    found = factors(frame, ["filtration", "stir_min"], value="v")
    assert row(found, "filtration")[["n", "missing"]].tolist() == [21, 3]
    assert row(found, "stir_min")[["n", "missing"]].tolist() == [24, 0]
    frame.loc[3, "v"] = np.nan
    with pytest.raises(InputError, match="1 of 24"):
        factors(frame, ["filtration"], value="v")
    assert factors(frame, ["filtration"], value="v", missing="omit").omitted == 1


def test_trend_over_semesters():
    rng = np.random.default_rng(10)
    frame = simulate(rng, semesters=6, sections=2, section_sd=0.01, group_sd=0.02)
    frame["v"] += 0.1 * (frame["semester"].str[:4].astype(int) - 2020)
    found = drift(frame.sample(frac=1, random_state=1), value="v")
    trend = row(found, "semester trend", "effects")
    assert row(found, "semester trend")["unit_of_replication"] == "semester"
    assert trend["dof"] == 4
    assert trend["low"] < 0.1 < trend["high"]
    two = drift(simulate(rng, semesters=2), value="v")
    assert two.tests["factor"].tolist() == ["semester"]


def test_semester_order():
    names = ["fall 2024", "spring 2024", "Summer 2023", "2025-1"]
    assert semester_order(names) == ["Summer 2023", "spring 2024", "fall 2024", "2025-1"]
    assert semester_order(["SS24", "WS23", "SS23"]) == ["SS23", "WS23", "SS24"]
    assert semester_order(["b", "a"], ["b", "a"]) == ["b", "a"]
    with pytest.raises(InputError, match="without a place"):
        semester_order(["a", "c"], ["a", "b"])


def test_failed_assumptions_are_said_in_words():
    rng = np.random.default_rng(11)
    frame = simulate(rng, sections=1, groups=40)
    x = frame["stir_min"]
    frame["v"] = 1.7 + 0.01 * (x - 17) ** 2 / 17 + rng.normal(0, 0.005, 40)
    vacuum = frame["filtration"] == "vacuum"
    frame["w"] = 1.7 + rng.normal(0, np.where(vacuum, 0.2, 0.01))
    bent = factors(frame, ["stir_min"], value="v").checks.set_index("check")
    assert not bent.loc["straight line", "holds"]
    assert "straight line" in bent.loc["straight line", "words"]
    uneven = factors(frame, ["filtration"], value="w").checks.set_index("check")
    assert not uneven.loc["equal spread", "holds"]
    frame.loc[7, "v"] = 3.0
    far = factors(frame, ["filtration"], value="v").checks.set_index("check")
    assert not far.loc["no far residual", "holds"]


@pytest.mark.parametrize("n", [3, 4, 5])
def test_tiny_classes_are_answered(n):
    rng = np.random.default_rng(n)
    frame = simulate(rng, sections=2, groups=4).sample(n, random_state=n)
    found = factors(frame, ["filtration", "section", "instructor", "stir_min"], value="v")
    assert len(found.tests) == 4
    for test in found.tests.to_dict("records"):
        assert (test["verdict"] == "cannot tell") == bool(test["words"])
    assert np.isfinite(found.effects[["effect", "low", "high"]].to_numpy(dtype=float)).all()


def test_equal_values_cannot_tell():
    frame = simulate(np.random.default_rng(0))
    frame["v"] = 1.7
    found = factors(frame, ["filtration"], value="v")
    assert row(found, "filtration")["words"] == "All values are equal."
    assert "cannot tell: filtration" in str(found)


def test_order_index_and_input_do_not_matter():
    frame = simulate(np.random.default_rng(12), runs=2)
    shuffled = frame.sample(frac=1, random_state=3)
    shuffled.index = [0] * len(shuffled)
    before = shuffled.copy()
    a, b = (factors(f, ["filtration", "instructor"], value="v") for f in (frame, shuffled))
    columns = ["effect", "u", "dof", "p_value"]
    assert b.effects[columns].to_numpy() == pytest.approx(a.effects[columns].to_numpy(), rel=1e-4)
    pd.testing.assert_frame_equal(shuffled, before)
    one = b.residuals.iloc[5]
    position = int(one["row"])
    assert one["fitted"] + one["residual"] == pytest.approx(shuffled["v"].iloc[position])


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda f: factors(f, ["bench"], value="v"), "column not found"),
        (lambda f: factors(f, [], value="v"), "no factor"),
        (lambda f: factors(f.head(2), ["filtration"], value="v"), "too few runs"),
        (lambda f: factors(f, ["filtration"], value="v", adjust="none"), "unknown adjustment"),
    ],
)
def test_wrong_input(call, message):
    with pytest.raises(InputError, match=message):
        call(simulate(np.random.default_rng(0)))


@pytest.mark.slow
def test_intervals_cover_with_few_sections():
    # 300 classes of 4 sections; binomial 99.9 % band around 95 % is 4.1 points.
    rng = np.random.default_rng(13)
    hits = {"filtration": 0, "instructor": 0}
    for _ in range(300):
        frame = simulate(rng, sections=4, groups=5, section_sd=0.05)
        found = factors(frame, list(hits), value="v")
        for name in hits:
            effect = row(found, name, "effects")
            hits[name] += effect["low"] <= 0 <= effect["high"]
    assert 0.909 <= hits["filtration"] / 300 <= 0.991
    assert hits["instructor"] / 300 >= 0.909  # wider where the section variance is put to zero
