"""Estimates: values, budgets, scopes, covariance, and what happens to readings that cannot be."""

import json
import math
import pickle

import numpy as np
import pandas as pd
import pytest
import uncertainties as un
from hypothesis import given, settings
from hypothesis import strategies as st

import solubility_stats as ss
from solubility_stats.errors import InputError
from solubility_stats.measurement.propagation import differentiate
from solubility_stats.measurement.solids import NoSoluteWarning

LIME = "calcium hydroxide"


@settings(max_examples=40)
@given(
    st.floats(0.9, 20.0),
    st.floats(0.3, 0.97),
    st.lists(st.floats(50.0, 101.0), min_size=1, max_size=5),
    st.sampled_from(["vacuum", "gravity", ""]),
    st.booleans(),
    st.integers(0, 4),
)
def test_combined_uncertainty_is_that_of_the_uncertainties_package(
    oracle, initial, kept, fills, filtration, constant, places
):
    frame = pd.DataFrame(
        {
            "initial_mass_g": [initial],
            "recovered_mass_g": [kept * initial],
            "filtration": [filtration],
            "constant_mass": [constant],
            **{f"fill_{i + 1}_ml": [v] for i, v in enumerate(fills)},
        }
    )
    decimals = pd.DataFrame({"initial_mass_g": pd.array([places], dtype="Int64")})
    est = ss.estimate(ss.ClassRecords.from_frame(frame, decimals=decimals), solute=LIME)
    x = {}
    for row in est.budget.itertuples():
        x.setdefault(row.quantity, row.value)
        x[row.quantity] = x[row.quantity] + un.ufloat(0.0, max(row.u, 1e-300))
    found = oracle.residue(x)
    row = est.table.iloc[0]
    assert row["value_g_per_100g"] == pytest.approx(found.nominal_value, rel=1e-9)
    assert row["u_g_per_100g"] == pytest.approx(found.std_dev, rel=1e-9)


def test_plain_result_and_its_budget_by_hand(class_frame):
    est = ss.estimate(class_frame, solute=LIME)
    row = class_frame.iloc[0]
    density = 0.997774  # g/mL at 22 degC (IAPWS-95: 997.7735 kg/m3)
    dissolved = row["initial_mass_g"] - row["recovered_mass_g"]
    value = 100 * dissolved / (300 * density)
    # one mass: two readings of a 0.01 g step, repeatability 5 mg twice, linearity 10 mg
    mass = 2 * 0.01**2 / 12 + 2 * 0.005**2 + 0.01**2 / 3
    drift = 0.006**2
    # three fills of a class B 100 mL cylinder: 1 mL each, common; reading half a division each
    volume = (3 * 1.0) ** 2 / 3 + 3 * 0.5**2 / 3
    u = math.sqrt((2 * mass + drift) * (value / dissolved) ** 2 + volume * (value / 300) ** 2)
    found = est.table.iloc[0]
    assert found["apparent_g_per_100g"] == pytest.approx(value, rel=1e-5)
    assert found["u_apparent_g_per_100g"] == pytest.approx(u, rel=1e-3)
    assert found["leverage"] == pytest.approx(row["recovered_mass_g"] / dissolved)


def test_shares_sum_to_a_hundred_and_contributions_to_the_uncertainty(three_routes):
    est = ss.estimate(three_routes, solute=LIME)
    for apparent, column in ((False, "u_g_per_100g"), (True, "u_apparent_g_per_100g")):
        budget = est.budget_of(apparent=apparent)
        groups = budget.groupby(["run_id", "route"])
        assert groups["share_percent"].sum().to_numpy() == pytest.approx(100.0, rel=1e-12)
        u = groups["contribution_g_per_100g"].apply(lambda c: math.sqrt((c**2).sum()))
        expected = est.table.set_index(["run_id", "route"])[column].loc[u.index]
        assert u.to_numpy() == pytest.approx(expected.to_numpy(), rel=1e-12)
        product = budget["sensitivity"] * budget["u"]
        assert product.to_numpy() == pytest.approx(budget["contribution_g_per_100g"].to_numpy())


def test_scopes_tell_what_is_shared(class_frame):
    frame = class_frame.assign(cylinder=["A", "B"] * 5 + ["", ""])
    budget = ss.estimate(frame, solute=LIME).budget
    scope = budget.set_index(["run_id", "component"])[["scope", "scope_key"]]
    assert tuple(scope.loc[("Mon/1", "cylinder: calibration")]) == ("class", "cylinder A")
    assert tuple(scope.loc[("Tue/12", "cylinder: calibration")]) == ("section", "section Tue")
    assert tuple(scope.loc[("Mon/1", "cylinder: reading")]) == ("run", "Mon/1")
    assert tuple(scope.loc[("Mon/1", "proportional transfer loss: class mean")]) == (
        "class",
        "class",
    )
    assert scope.loc[("Mon/1", "proportional transfer loss: group to group"), "scope"] == "run"
    assert tuple(scope.loc[("Mon/2", "balance: drift between the weighings")]) == (
        "section",
        "section Mon",
    )


@pytest.mark.parametrize("apparent", [False, True])
@pytest.mark.parametrize("route", ["residue", "titration", "evaporation"])
def test_covariance_is_that_of_the_budget(three_routes, route, apparent):
    frame = three_routes.assign(cylinder=["A", "B", "C"] * 4)
    est = ss.estimate(frame, solute=LIME)
    rows = est.used(route)
    ids = list(rows["run_id"])
    budget = est.budget_of(route=route, apparent=apparent)
    expected = np.zeros((len(ids), len(ids)))
    for (_, scope_key), part in budget.groupby(["component", "scope_key"]):
        vector = part.set_index("run_id")["contribution_g_per_100g"].reindex(ids).fillna(0.0)
        assert scope_key
        expected += np.outer(vector, vector)
    found = est.covariance(route, apparent=apparent)
    assert found.dense() == pytest.approx(expected, rel=1e-9, abs=1e-18)
    column = "u_apparent_g_per_100g" if apparent else "u_g_per_100g"
    assert np.sqrt(found.diagonal()) == pytest.approx(rows[column].to_numpy())


def test_shared_causes_do_not_average_out():
    frame = pd.DataFrame({"initial_mass_g": [2.5] * 400, "recovered_mass_g": 2.02,
                          "water_volume_ml": 300.0})  # fmt: skip
    est = ss.estimate(frame, solute=LIME)
    covariance = est.covariance()
    mean_u = math.sqrt(covariance.variance_of(np.full(400, 1 / 400)))
    shared = est.budget_of([est.table["run_id"][0]])
    floor = shared[shared["scope"] != "run"]["contribution_g_per_100g"]
    assert mean_u > math.sqrt((floor**2).sum()) > 0.3 * est.table["u_g_per_100g"][0]


def test_effective_degrees_of_freedom_and_interval(class_frame):
    est = ss.estimate(class_frame, solute=LIME)
    row = est.table.iloc[0]
    budget = est.budget_of([row["run_id"]])
    parts = budget["contribution_g_per_100g"] ** 4 / budget["dof"]
    assert row["dof"] == pytest.approx(row["u_g_per_100g"] ** 4 / parts.sum())
    from scipy import stats

    half = stats.t.ppf(0.975, row["dof"]) * row["u_g_per_100g"]
    assert row["high_g_per_100g"] - row["value_g_per_100g"] == pytest.approx(half)
    assert row["value_g_per_100g"] - row["low_g_per_100g"] == pytest.approx(half)


def test_temperature_not_recorded_takes_the_protocols_with_two_kelvin(class_frame):
    frame = class_frame.assign(temperature_c=[math.nan, *[24.0] * 11])
    table = ss.estimate(frame, solute=LIME).table
    assert table.loc[0, "temperature_c"] == 22.0
    assert table.loc[0, "u_temperature_k"] == 2.0
    assert table.loc[1, "u_temperature_k"] == pytest.approx(math.hypot(1 / 3**0.5, 1 / 12**0.5))


def test_recorded_digits_bound_the_resolution(class_frame):
    frame = class_frame.assign(initial_mass_g=[2.5, *class_frame["initial_mass_g"][1:]])
    places = [1, *[2] * 11]
    decimals = pd.DataFrame({"initial_mass_g": pd.array(places, dtype="Int64")})
    frame.loc[3, "initial_mass_g"] = 2.50  # written with its zero, so zeros are not dropped
    est = ss.estimate(ss.ClassRecords.from_frame(frame, decimals=decimals), solute=LIME)
    u = est.budget[est.budget["component"] == "initial mass: resolution"].set_index("run_id")["u"]
    assert u["Mon/1"] == pytest.approx(0.1 * math.sqrt(2 / 12))
    assert u["Mon/4"] == pytest.approx(0.01 * math.sqrt(2 / 12))


def test_zeros_dropped_by_software_are_not_taken_for_a_coarse_balance():
    from solubility_stats.measurement.readings import recorded_places

    values = np.array([2.51, 2.5, 2.47, 2.43, 2.58, 2.52, 2.49, 2.41, 2.55, 2.56])
    places = pd.Series([2, 1, 2, 2, 2, 2, 2, 2, 2, 2], dtype="Int64")
    assert recorded_places(values, places) == pytest.approx(np.full(10, 2.0))
    values[0] = 2.60
    assert recorded_places(values, places)[1] == 1.0
    assert math.isnan(recorded_places(values, places.mask(places.index == 4))[4])


def test_default_balance_follows_the_decimals_a_given_one_does_not(class_frame):
    frame = class_frame.assign(initial_mass_g=class_frame["initial_mass_g"] + 0.001)
    columns = ["initial_mass_g", "recovered_mass_g"]
    decimals = pd.DataFrame({c: pd.array([3] * 12, dtype="Int64") for c in columns})
    records = ss.ClassRecords.from_frame(frame, decimals=decimals)
    est = ss.estimate(records, solute=LIME)
    assert est.protocol.balance.readability_g == pytest.approx(0.001)
    assert est.protocol.balance.repeatability_g == pytest.approx(0.0005)
    assert "decimals" in est.protocol.balance.basis
    given = ss.Protocol.default(LIME).with_settings({"balance.readability_g": 0.01})
    assert ss.estimate(records, given).protocol.balance.readability_g == 0.01


def _one(**readings):
    row = {"initial_mass_g": 2.5, "recovered_mass_g": 2.02, "water_volume_ml": 300.0} | readings
    return ss.estimate(pd.DataFrame([row]), solute=LIME).table.iloc[0]


def test_paper_weighed_with_the_residue():
    alone = _one()
    together = _one(recovered_mass_g=math.nan, recovered_with_paper_mass_g=2.86, paper_mass_g=0.84)
    assert together["recovered_mass_g"] == pytest.approx(2.02)
    assert together["apparent_g_per_100g"] == pytest.approx(alone["apparent_g_per_100g"])
    assert together["u_apparent_g_per_100g"] > alone["u_apparent_g_per_100g"]


def test_wet_cake_replaces_the_assumed_liquor():
    frame = pd.DataFrame(
        {
            "initial_mass_g": [5.0] * 2,
            "recovered_mass_g": 4.9,
            "water_volume_ml": 100.0,
            "wet_cake_mass_g": [12.0, math.nan],
            "temperature_c": 20.0,
        }
    )
    bare = ss.Protocol.default(LIME).with_settings(
        {f"effects.{e.name}.mean": 0.0 for e in ss.Protocol.default(LIME).effects}
    )
    est = ss.estimate(frame, bare)
    liquor = est.budget[est.budget["quantity"] == "retained_liquor"].set_index("run_id")
    water = (12.0 - 4.9) / 0.998207  # mL
    assert liquor.loc["run", "value"].iloc[0] == pytest.approx(water / 4.9, rel=1e-5)
    exact = 100 * 0.1 / (100 - water) / 0.998207
    assert est.table["value_g_per_100g"][0] == pytest.approx(exact, rel=2e-3)
    shared = liquor[liquor["component"].str.endswith("class mean")]
    assert shared.loc["run", "u"] == 0.0
    assert shared.loc["run#2", "u"] > 0.0


def test_routes_agree_on_what_they_measure(three_routes):
    est = ss.estimate(three_routes, ss.Protocol.default(LIME).without_effects())
    titration = est.used("titration")["apparent_g_per_100g"].iloc[1]
    # 11.0 mL of 0.1 mol/L on 25 mL: 0.022 mol/L, 1.630 g/L, 0.1634 g per 100 g at 22 degC
    assert titration == pytest.approx(100 * 0.022 * 0.074092 / 0.997774, rel=1e-3)
    assert list(est.table["route"].unique()) == ["residue", "titration", "evaporation"]
    without = est.table[["apparent_g_per_100g", "value_g_per_100g"]]
    assert without.iloc[:, 0].to_numpy() == pytest.approx(without.iloc[:, 1].to_numpy())
    evaporation = est.used("evaporation")["apparent_g_per_100g"].iloc[0]
    assert evaporation == pytest.approx(100 * 0.05 / 25 / 0.997774, rel=1e-3)


def test_units(three_routes):
    est = ss.estimate(three_routes, solute=LIME)
    moles = est.in_unit("mol/L", apparent=True)
    litres = est.in_unit("g/L", apparent=True)
    assert (litres["value"] / moles["value"]).to_numpy() == pytest.approx(74.092, rel=1e-6)
    assert (litres["u"] >= 0).all()
    with pytest.raises(InputError, match="unknown solubility unit"):
        est.in_unit("furlongs")


def test_input_is_not_changed_and_order_and_index_do_not_matter(three_routes):
    before = three_routes.copy(deep=True)
    est = ss.estimate(three_routes, solute=LIME)
    pd.testing.assert_frame_equal(three_routes, before)
    shuffled = three_routes.sample(frac=1.0, random_state=3)
    shuffled.index = [7] * len(shuffled)
    again = ss.estimate(shuffled, solute=LIME)
    key = ["run_id", "route"]
    left = est.table.sort_values(key).reset_index(drop=True)
    right = again.table.sort_values(key).reset_index(drop=True)
    columns = ["run_id", "route", "value_g_per_100g", "u_g_per_100g", "used"]
    pd.testing.assert_frame_equal(left[columns], right[columns])


def test_records_and_frame_give_the_same(class_frame):
    records = ss.ClassRecords.from_frame(class_frame)
    a, b = ss.estimate(records, solute=LIME), ss.estimate(class_frame, solute=LIME)
    pd.testing.assert_frame_equal(a.table, b.table)


def test_overrides_by_section(class_frame, tmp_path):
    path = tmp_path / "protocol.toml"
    path.write_text(
        '[solid]\nname = "lime"\n[[override]]\nwhen = { section = "Tue" }\n'
        "balance.repeatability_g = 0.1\neffects.fines.mean = 0.0\n"
    )
    est = ss.estimate(class_frame, ss.Protocol.from_toml(path))
    u = est.table.groupby("section")["u_apparent_g_per_100g"].mean()
    assert u["Tue"] > 3 * u["Mon"]
    fines = est.budget[est.budget["quantity"] == "fines"].groupby("scope")["value"].unique()
    assert sorted(fines["class"]) == [0.0, 0.0048]


def test_filtration_and_constant_mass_choose_the_effects(class_frame):
    frame = class_frame.assign(constant_mass=[True] * 6 + [False] * 6)
    budget = ss.estimate(frame, solute=LIME).budget.drop_duplicates(["run_id", "quantity"])
    value = budget.set_index(["run_id", "quantity"])["value"]
    assert value["Mon/1", "retained_liquor"] == 0.76
    assert value["Mon/2", "retained_liquor"] == 1.63
    assert value["Mon/1", "residual_moisture"] == 0.004
    assert value["Tue/7", "residual_moisture"] == 0.019


def test_unlisted_solid_works_with_wider_uncertainty_and_says_so(class_frame):
    est = ss.estimate(class_frame, solute="strontium sulfite")
    assert est.protocol.solid.name == "strontium sulfite"
    assert (est.table["used"]).all()
    assert len(est.defaults) > 50
    with pytest.warns(NoSoluteWarning, match="which solid"):
        ss.estimate(class_frame)


def test_titration_of_an_unlisted_solid_is_not_used_and_says_why(three_routes):
    est = ss.estimate(three_routes, solute="strontium sulfite")
    rows = est.table[est.table["route"] == "titration"]
    assert not rows["used"].any()
    assert rows["reason"].str.contains("equivalents").all()


def test_several_solids(class_frame):
    frame = class_frame.assign(solute=["Ca(OH)2", "slaked lime"] * 5 + ["KNO3", "KNO3"])
    with pytest.raises(InputError, match="several solids"):
        ss.estimate(frame)
    est = ss.estimate(frame, solute="lime")
    assert est.n_set_aside == 2
    assert set(est.table.loc[~est.table["used"], "reason"]) == {"another solid"}


def test_printing_and_json(three_routes):
    est = ss.estimate(three_routes, solute=LIME)
    assert "results by residue" in repr(est)
    assert "leverage" in str(est)
    assert "<table" in est._repr_html_()
    tree = json.loads(json.dumps(est.to_dict(), allow_nan=False))
    assert len(tree["table"]) == est.n
    assert set(tree) == {"table", "budget", "defaults", "protocol"}


def test_nothing_to_estimate():
    with pytest.raises(InputError, match="any route"):
        ss.estimate(pd.DataFrame({"group": ["1"]}), solute=LIME)
    with pytest.raises(InputError, match="no run has readings"):
        ss.estimate(pd.DataFrame({"initial_mass_g": [2.0], "recovered_mass_g": [1.0]}),
                    solute=LIME).used("titration")  # fmt: skip


def test_unknown_run_is_refused(class_frame):
    with pytest.raises(InputError, match="no such run"):
        ss.estimate(class_frame, solute=LIME).budget_of(["nobody"])


def test_read_only_input(class_frame):
    for name in class_frame.select_dtypes("number"):
        values = class_frame[name].to_numpy(copy=True)
        values.flags.writeable = False
        class_frame[name] = values
    assert ss.estimate(class_frame, solute=LIME).table["used"].all()


def test_one_set_of_runs_of_only_one_route():
    frame = pd.DataFrame({"titrant_ml": [11.0], "titrant_mol_per_l": 0.1, "aliquot_ml": 25.0})
    est = ss.estimate(frame, solute=LIME)
    assert list(est.arrays) == ["titration"]
    assert est.table["used"].all()


def test_intervals_hold_what_they_promise(oracle):
    """Classes are drawn from the protocol's own statements and weighed on its instruments."""
    rng = np.random.default_rng(11)
    classes, groups, truth = 300, 24, 0.165e-2  # g/mL
    protocol = ss.Protocol.default(LIME)

    def gamma(mean, sd):
        cv2 = np.asarray((sd / mean) ** 2)
        return np.where(sd > 0, rng.gamma(1 / np.maximum(cv2, 1e-12), mean * cv2), mean)

    x = dict.fromkeys(("paper_regain", "paper_liquor"), 0.0)
    for effect in protocol.expected_effects("residue"):
        if effect.name not in x:
            mean = gamma(np.full((classes, 1), effect.mean), effect.u_shared)
            x[effect.name] = gamma(np.repeat(mean, groups, axis=1), effect.sd_between)
    shape = (classes, groups)
    x["initial"] = rng.normal(2.5, 0.1, shape)
    cylinder = rng.uniform(-3, 3, (classes, 1)) + rng.uniform(-0.5, 0.5, (*shape, 3)).sum(axis=2)
    x["volume"] = 300.0 + cylinder
    shown = oracle.bench(x, truth)

    def weigh(mass):
        zero, load = rng.normal(0, 0.005, shape), rng.normal(0, 0.005, shape)
        linearity = rng.uniform(-0.01, 0.01, (classes, 1))
        return np.round(zero, 2) + np.round(mass + load + linearity, 2)

    frame = pd.DataFrame(
        {
            "section": np.repeat([f"S{i}" for i in range(classes)], groups),
            "initial_mass_g": weigh(x["initial"]).ravel(),
            "recovered_mass_g": weigh(shown + rng.normal(0, 0.006, (classes, 1))).ravel(),
            "fill_1_ml": 100.0,
            "fill_2_ml": 100.0,
            "fill_3_ml": 100.0,
            "temperature_c": 22.0,
        }
    )
    est = ss.estimate(frame, protocol)
    expected = 100 * truth / 0.997774
    error = est.table["value_g_per_100g"].to_numpy() - expected
    inside = est.table["low_g_per_100g"].le(expected) & est.table["high_g_per_100g"].ge(expected)
    # Neither more confident than the truth nor much less; 300 independent classes.
    assert 0.94 < inside.mean() < 0.98
    assert np.std(error / est.table["u_g_per_100g"]) == pytest.approx(1.0, abs=0.08)
    one = ss.estimate(frame[:groups], protocol).covariance()
    u_mean = math.sqrt(one.variance_of(np.full(groups, 1 / groups)))
    spread = error.reshape(shape).mean(axis=1)
    assert np.std(spread) == pytest.approx(u_mean, rel=0.12)
    assert spread.mean() == pytest.approx(0.0, abs=0.15 * u_mean)


def test_repeated_runs_of_a_group_share_its_habits(class_frame):
    frame = class_frame.assign(group=["1", "1", "2", "3", "4", "4"] * 2, run=list("ab") * 6)
    est = ss.estimate(frame, solute=LIME)
    budget = est.budget[est.budget["component"] == "proportional transfer loss: group to group"]
    keys = budget.set_index("run_id")[["scope", "scope_key"]]
    assert tuple(keys.loc["Mon/1/a"]) == ("group", "group Mon/1")
    assert tuple(keys.loc["Tue/1/b"]) == ("group", "group Tue/1")
    assert tuple(keys.loc["Mon/2/a"]) == ("run", "Mon/2/a")
    covariance = est.covariance()
    expected = np.zeros((12, 12))
    for _, part in est.budget.groupby(["component", "scope_key"]):
        vector = part.set_index("run_id")["contribution_g_per_100g"]
        vector = vector.reindex(est.table["run_id"]).fillna(0.0)
        expected += np.outer(vector, vector)
    assert covariance.dense() == pytest.approx(expected, rel=1e-9)
    alone = ss.estimate(class_frame, solute=LIME).covariance()
    together, apart = (c.variance_of(np.full(12, 1 / 12)) for c in (covariance, alone))
    assert together > 1.1 * apart
    assert est.propagate(run_ids=["Mon/1/a"], max_trials=20_000).table["u_g_per_100g"].gt(0).all()


def test_a_finer_balance_for_the_dish_is_seen(three_routes):
    frame = three_routes.iloc[:2]
    places = pd.array([4, 4], dtype="Int64")
    decimals = pd.DataFrame({"dish_mass_g": places, "dish_residue_mass_g": places})
    est = ss.estimate(ss.ClassRecords.from_frame(frame, decimals=decimals), solute=LIME)
    u = est.budget.drop_duplicates("component").set_index("component")["u"]
    assert u["dish residue mass: resolution"] == pytest.approx(1e-4 * math.sqrt(2 / 12))
    assert u["recovered mass: resolution"] == pytest.approx(0.01 * math.sqrt(2 / 12))


def test_only_defaults_of_routes_in_use_are_listed(class_frame, three_routes):
    alone = set(ss.estimate(class_frame, solute=LIME).defaults["setting"])
    every = set(ss.estimate(three_routes, solute=LIME).defaults["setting"])
    assert "effects.transfer_loss.mean" in alone
    assert not any(s.startswith(("burette.", "effects.endpoint_overshoot")) for s in alone)
    assert {"burette.grade", "effects.endpoint_overshoot.mean"} <= every - alone


def test_estimates_pickle(three_routes):
    est = ss.estimate(three_routes, solute=LIME)
    again = pickle.loads(pickle.dumps(est))
    pd.testing.assert_frame_equal(again.table, est.table)
    assert again.covariance().factors == est.covariance().factors


def test_coarse_salts_hold_less_liquor_than_lime_but_less_surely():
    def liquor(solid):
        effect = ss.Protocol.default(solid).effect("retained_liquor")
        return effect.mean, effect.u_shared / effect.mean

    assert liquor("KNO3")[0] < liquor("lime")[0]
    assert liquor("KNO3")[1] > liquor("lime")[1]


@pytest.mark.parametrize("apparent", [False, True])
def test_sensitivities_of_every_route_are_derivatives_of_its_equation(three_routes, apparent):
    frame = three_routes.assign(constant_mass=True)
    frame.loc[3:, "recovered_with_paper_mass_g"] = frame.loc[3:, "recovered_mass_g"] + 0.84
    frame.loc[3:, "recovered_mass_g"] = math.nan
    frame["paper_mass_g"] = 0.84
    est = ss.estimate(frame, solute=LIME)
    for route, arrays in est.arrays.items():
        inputs = arrays.inputs
        equation = inputs.plain if apparent else inputs.model
        used = sorted({c.quantity for c in arrays.components(apparent)})
        fixed = {k: v for k, v in inputs.values.items() if k in used or not apparent}
        fixed |= {k: inputs.values[k] for k in ("equivalents",) if k in inputs.values}

        def value(*x, equation=equation, fixed=fixed, used=used):
            return equation(fixed | dict(zip(used, x, strict=True)))[0]

        slopes = dict(zip(used, differentiate(value, [fixed[q] for q in used]), strict=True))
        for component in arrays.components(apparent):
            found = arrays.sensitivity(component, apparent)
            size = np.abs(found).max()
            assert found == pytest.approx(slopes[component.quantity], rel=1e-5, abs=1e-6 * size), (
                route,
                component.name,
            )


def test_a_budget_too_long_for_a_table_is_refused(class_frame, monkeypatch):
    est = ss.estimate(class_frame, solute=LIME)
    monkeypatch.setattr("solubility_stats.measurement.estimates.MOST_BUDGET_ROWS", 10)
    with pytest.raises(InputError, match="budget_of"):
        _ = est.budget
    assert len(est.budget_of(["Mon/1"])) > 20


def test_pieces_of_a_long_class_join_without_a_seam(class_frame, monkeypatch):
    whole = ss.estimate(class_frame, solute=LIME)
    monkeypatch.setattr("solubility_stats.measurement.routes.PIECE", 5)
    pieces = ss.estimate(class_frame, solute=LIME)
    pd.testing.assert_frame_equal(whole.table, pieces.table)
    pd.testing.assert_frame_equal(whole.budget, pieces.budget)
