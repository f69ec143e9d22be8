"""From readings to causes."""

import json

import numpy as np
import pandas as pd
import pytest

from solubility_stats.bias import compare, diagnose, reasons_for_group
from solubility_stats.bias.model import build_model
from solubility_stats.bias.sampler import sample
from solubility_stats.errors import InputError
from solubility_stats.measurement import Protocol


def row(diag, name):
    return diag.mechanisms.set_index("name").loc[name]


def test_equal_seed_equal_result_other_seed_nearly(two_routes, lime, diagnosis):
    comp = compare(two_routes, lime)
    again, other = diagnose(comp, seed=1), diagnose(comp, seed=2)
    pd.testing.assert_frame_equal(again.mechanisms, diagnosis.mechanisms)
    a = diagnosis.mechanisms.set_index("name")["effect_percent"]
    b = other.mechanisms.set_index("name")["effect_percent"].reindex(a.index)
    assert np.max(np.abs(a - b)) < 1.0


def test_effects_have_the_signs_of_their_causes(diagnosis):
    from solubility_stats.bias.catalogue import causes

    for m in diagnosis.causes.to_dict("records"):
        said = causes()[m["name"]].direction("residue")
        if said == "up":
            assert 0 <= m["low_percent"] <= m["effect_percent"] <= m["high_percent"]
        if said == "down":
            assert m["low_percent"] <= m["effect_percent"] <= m["high_percent"] <= 0


def test_the_data_narrow_what_they_see(diagnosis):
    prior = diagnosis.mechanisms["prior_high_percent"] - diagnosis.mechanisms["prior_low_percent"]
    post = diagnosis.mechanisms["high_percent"] - diagnosis.mechanisms["low_percent"]
    # Sampling noise of a few thousand draws aside, no interval grows by much.
    assert np.all(post < 1.35 * prior + 0.3)
    assert row(diagnosis, "reference_value")["learned"] > 0.5  # the titration saw the solution


def test_a_prior_of_no_width_stays_where_it_is(make_class, lime, one_recipe):
    known = Protocol.default("calcium hydroxide").with_settings(
        {"effects.transfer_loss.mean": 0.02, "effects.transfer_loss.u_shared": 0.0}
    )
    from solubility_stats.measurement import estimate
    from solubility_stats.simulation import simulate

    est = estimate(simulate(known, groups=12, seed=1).records, known)
    found = row(diagnose(compare(est, lime)), "transfer_loss")
    assert found["size"] == pytest.approx(0.02, rel=0.01)
    assert found["size_high"] - found["size_low"] < 0.001


def test_a_large_cause_is_named_or_tied(make_class, lime):
    est = make_class(groups=24, seed=8, causes={"transfer_loss": 0.10})
    diag = diagnose(compare(est, lime))
    top = diag.causes.iloc[0]
    assert "transfer_loss" in (top["name"], *top["not_separable_from"])
    assert row(diag, "transfer_loss")["excess_percent"] > 3


def test_one_recipe_settles_nothing(plain_diagnosis):
    assert plain_diagnosis.separability.directions <= 1
    assert "do settle" not in plain_diagnosis.separability.sentence
    main = plain_diagnosis.causes.head(4)
    assert all(len(t) >= 3 for t in main["not_separable_from"])


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("residual_moisture", "residue_carbonation"),
        ("transfer_loss", "residual_moisture"),
        ("constant_loss", "fibres"),
        ("reagent_moisture", "soluble_impurity"),
        ("undersaturation", "reference_value"),
    ],
)
def test_what_no_design_separates_is_never_claimed(diagnosis, planned_diagnosis, one, other):
    for diag in (diagnosis, planned_diagnosis):
        ties = diag.separability.ties
        assert other in ties[one] or one in ties[other]


def test_titration_moves_the_solution_out_of_the_tie(diagnosis, plain_diagnosis):
    assert "reference_value" in row(plain_diagnosis, "transfer_loss")["not_separable_from"]
    strong = diagnosis.separability.contrast.loc["transfer_loss", "reference_value"]
    weak = plain_diagnosis.separability.contrast.loc["transfer_loss", "reference_value"]
    assert strong > weak


def test_a_tenfold_slip_is_marked_and_does_not_speak_for_the_class(make_class, lime):
    est = make_class(groups=24, seed=11)
    table = est.table.copy()
    clean = diagnose(compare(est, lime))
    from solubility_stats.records import ClassRecords

    kept = [c for c in table if not c.startswith(("u_", "value_", "low_", "high_", "apparent_"))]
    runs = table[kept].drop(columns=["used", "reason", "route", "leverage", "dof", "run_id"])
    runs.loc[3, "recovered_mass_g"] = runs.loc[3, "recovered_mass_g"] / 10
    from solubility_stats.measurement import estimate

    spoilt = estimate(ClassRecords.from_frame(runs), Protocol.default("calcium hydroxide"))
    diag = diagnose(compare(spoilt, lime))
    marked = diag.discrete[diag.discrete["marked"]]
    assert marked["slip"].tolist()[0] == "recovered_tenfold_low"
    assert marked["run_id"].nunique() == 1
    assert diag.without_marked is not None
    assert diag.without_marked.n == 23
    assert diag.groups_to_look_at["reasons"].iloc[0][0].startswith("Recovered mass written")
    # What the other 23 say is what they said before.
    a = clean.mechanisms.set_index("name")["effect_percent"]
    b = diag.mechanisms.set_index("name")["effect_percent"].reindex(a.index)
    assert np.max(np.abs(a - b)) < 2.5


def test_runs_that_cannot_be_used_are_listed_with_their_reason(make_class, lime, protocol):
    from solubility_stats.measurement import estimate
    from solubility_stats.simulation import simulate

    runs = simulate(protocol, groups=12, seed=3).records.runs.copy()
    runs.loc[2, "recovered_mass_g"] = np.nan
    diag = diagnose(compare(estimate(runs, protocol), lime))
    listed = diag.groups_to_look_at.set_index("run_id")["reasons"]
    assert any(r.startswith("Not used:") for r in listed[runs.loc[2, "run_id"]])


def test_everything_is_plain_python_in_the_end(diagnosis):
    block = json.loads(json.dumps(diagnosis.to_dict(), allow_nan=False))
    assert {"name", "effect_percent", "interval90_percent", "not_separable_from"} <= set(
        block["mechanisms"][0]
    )
    assert "Causes" in str(diagnosis)
    assert "90 %" in " ".join(diagnosis.notes)


def test_the_compensation_warning_has_this_class_s_numbers(diagnosis):
    warning = diagnosis.compensation
    causes = diagnosis.causes["effect_percent"]
    assert warning.up_percent == pytest.approx(causes[causes > 0].sum())
    assert f"{warning.up_percent:+.0f} %" in warning.text


def test_wider_priors_widen_effects(diagnosis):
    s = diagnosis.sensitivity.set_index("name")
    for name in ("transfer_loss", "residual_moisture", "residue_carbonation"):
        assert s.loc[name, "u_percent_x0.5"] < s.loc[name, "u_percent_x1"]
        assert s.loc[name, "u_percent_x1"] < s.loc[name, "u_percent_x2"]


def test_measurements_are_ranked_and_keep_their_promise(diagnosis):
    table = diagnosis.next_measurement
    assert (table["u_after_percent"] < table["u_now_percent"]).all()
    assert "titrate_filtrate" not in set(table["measurement"])  # they did that
    assert table["reduction_percent"].iloc[0] >= 8.0


def test_a_frame_of_values_alone_cannot_be_diagnosed(flat_curve):
    frame = pd.DataFrame(
        {"group": list("abc"), "temperature_c": 20.0, "value_g_per_100g": [0.16, 0.17, 0.15],
         "u_g_per_100g": 0.01}
    )  # fmt: skip
    with pytest.raises(InputError, match="masses and volumes"):
        diagnose(compare(frame, flat_curve()))


def test_another_solid_without_carbonate(lime):
    from solubility_stats.measurement import estimate
    from solubility_stats.reference import curve
    from solubility_stats.simulation import Recipe, simulate

    salt = Protocol.default("potassium nitrate")
    recipe = Recipe(initial_mass_g=60.0, fills=2, fill_ml=50.0)
    est = estimate(simulate(salt, groups=10, seed=1, recipe=recipe).records, salt)
    diag = diagnose(compare(est, curve("potassium nitrate")))
    assert "residue_carbonation" not in set(diag.mechanisms["name"])
    assert "transfer_loss" in set(diag.mechanisms["name"])


def test_sampler_agrees_with_the_exact_answer_where_there_is_one(two_routes, lime):
    """With far-off walls and fixed scatter the posterior is the plain normal one."""
    from dataclasses import replace

    model = build_model(two_routes, lime)
    sizes = replace(
        model.sizes,
        positive=np.zeros(model.sizes.d, dtype=bool),
        location=model.sizes.centre,
        scale=np.ones(model.sizes.d),
    )
    off = np.full_like(model.states.log_prior, -np.inf)
    off[0] = 0.0
    quiet = replace(
        model,
        sizes=sizes,
        states=replace(model.states, log_prior=off),
        between=np.zeros_like(model.between),
        own=model.own + model.between,
    )
    quiet = replace(quiet, states=replace(quiet.states, between=np.zeros_like(off)))
    draws = sample(quiet, np.random.default_rng(0), chains=(200,))[0]
    w = 1.0 / quiet.own
    precision = np.eye(sizes.d) + quiet.design.T @ (w[:, None] * quiet.design)
    right = sizes.centre + quiet.design.T @ (w * (quiet.y - quiet.offset))
    mean = np.linalg.solve(precision, right)
    sd = np.sqrt(np.diag(np.linalg.inv(precision)))
    assert draws.sizes.mean(axis=0) == pytest.approx(mean, abs=0.06)
    assert draws.sizes.std(axis=0) == pytest.approx(sd, rel=0.06)


class TestReasons:
    def test_a_page_for_every_run(self, diagnosis):
        rows = diagnosis.comparison.runs
        for section, group in rows[["section", "group"]].drop_duplicates().to_numpy():
            (page,) = reasons_for_group(diagnosis, group, section)
            assert page.direction in ("higher", "lower", "like")
            assert len(page.could) + len(page.could_not) > 10
            assert not set(page.could["cause"]) & set(page.could_not["cause"])
            assert "insoluble_matter" in set(page.could_not["cause"])

    def test_what_all_share_sets_no_group_apart(self, diagnosis):
        rows = diagnosis.comparison.runs.iloc[0]
        (page,) = reasons_for_group(diagnosis, rows["group"], rows["section"])
        why = page.could_not.set_index("cause")["why"]
        assert "whole class shares it" in why["reagent_moisture"]

    def test_directions_of_the_causes_fit_the_deviation(self, diagnosis):
        rows = diagnosis.comparison.runs.sort_values("apparent_percent")
        low, high = rows.iloc[0], rows.iloc[-1]
        for run, sign in ((low, -1), (high, 1)):
            (page,) = reasons_for_group(diagnosis, run["group"], run["section"])
            change = page.could["needed"] * page.could["change_percent_per_unit"]
            assert np.all(np.sign(change) == sign)
            assert change.to_numpy() == pytest.approx(page.deviation_percent, rel=1e-6)

    def test_a_clear_filtrate_speaks_against_fines(self, diagnosis):
        rows = diagnosis.comparison.runs
        clear = rows[(rows["scatter"] == "clear") & (rows["apparent_percent"] > 10)].iloc[0]
        (page,) = reasons_for_group(diagnosis, clear["group"], clear["section"])
        assert "fines" in set(page.could_not["cause"])

    def test_unknown_or_ambiguous_groups_are_refused(self, diagnosis):
        with pytest.raises(InputError, match="no run of this group"):
            reasons_for_group(diagnosis, "nobody")
        group = diagnosis.comparison.runs["group"].iloc[0]
        with pytest.raises(InputError, match="several sections"):
            reasons_for_group(diagnosis, group)


def test_shortest_interval():
    from solubility_stats.bias.attribution import shortest_interval

    x = np.random.default_rng(0).exponential(size=200_000)
    low, high = shortest_interval(x)
    assert low == 0.0
    assert high == pytest.approx(np.log(10), rel=0.02)  # 90 % of an exponential from zero
    low, high = shortest_interval(-x)
    assert high == 0.0
    z = np.random.default_rng(1).normal(size=200_000)
    assert shortest_interval(z) == pytest.approx((-1.645, 1.645), abs=0.06)


@pytest.mark.parametrize("groups", [1, 2, 3])
def test_tiny_classes(make_class, lime, groups):
    est = make_class(groups=groups, seed=groups, sections=1)
    diag = diagnose(compare(est, lime))
    assert diag.comparison.unexplained.n == groups
    assert np.isfinite(diag.mechanisms["effect_percent"]).all()
    assert not diag.discrete["marked"].any()


@pytest.mark.parametrize("route", ["titration", "evaporation"])
def test_a_class_without_residues(protocol, lime, route):
    from solubility_stats.measurement import estimate
    from solubility_stats.simulation import simulate

    runs = simulate(protocol, groups=10, seed=2, routes=("residue", route)).records.runs
    est = estimate(runs.drop(columns=["recovered_mass_g"]), protocol)
    diag = diagnose(compare(est, lime))
    assert diag.comparison.route == route
    assert diag.discrete.empty
    names = set(diag.mechanisms["name"])
    assert "undersaturation" in names
    assert "transfer_loss" not in names
    (page,) = reasons_for_group(diag, diag.comparison.runs["group"].iloc[0],
                                diag.comparison.runs["section"].iloc[0])  # fmt: skip
    assert page.value_g_per_100g > 0
