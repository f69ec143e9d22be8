"""The front door: every kind of input, every edge, nothing dropped in silence."""

from __future__ import annotations

import json
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from solubility_stats.covariance import SharedCovariance
from solubility_stats.errors import InputError
from solubility_stats.pooling import METHODS, Consensus, compare_estimators, pool
from solubility_stats.pooling import intervals as iv
from solubility_stats.pooling.random_effects import TAU2_METHODS
from solubility_stats.pooling.shared import split

Y = [1.60, 1.72, 1.55, 1.81, 1.66]
U = [0.05, 0.08, 0.05, 0.10, 0.06]


@pytest.fixture
def frame() -> pd.DataFrame:
    return pd.DataFrame({"group": list("abcde"), "value": Y, "u": U})


def numbers(c: Consensus) -> list[float]:
    return [c.value, c.u, c.low, c.high]


def estimates(table: pd.DataFrame, cov: SharedCovariance) -> SimpleNamespace:
    def used(route: str = "residue") -> pd.DataFrame:
        return table[(table["route"] == route) & table["used"]]

    return SimpleNamespace(table=table, used=used, covariance=lambda route, apparent: cov)


# --- inputs -------------------------------------------------------------------------------------


@pytest.mark.parametrize("method", METHODS)
def test_arrays_series_and_frames_give_the_same(frame: pd.DataFrame, method: str) -> None:
    expected = numbers(pool(Y, u=U, method=method))
    assert numbers(pool(frame, method=method)) == pytest.approx(expected)
    renamed = frame.rename(columns={"value": "x", "u": "ux"})
    assert numbers(pool(renamed, value="x", u="ux", method=method)) == pytest.approx(expected)
    assert numbers(pool(frame["value"], u=frame["u"], method=method)) == pytest.approx(expected)
    cov = SharedCovariance(np.square(U))
    assert numbers(pool(Y, covariance=cov, method=method)) == pytest.approx(expected)


@pytest.mark.parametrize("method", METHODS)
def test_shuffled_and_repeated_labels_change_nothing(frame: pd.DataFrame, method: str) -> None:
    expected = pool(frame, method=method)
    shuffled = frame.sample(frac=1, random_state=1)
    found = pool(shuffled, method=method)
    assert numbers(found) == pytest.approx(numbers(expected))
    assert found.frame["group"].tolist() == shuffled["group"].tolist()
    assert found.frame["value"].tolist() == shuffled["value"].tolist()
    repeated = frame.set_axis([0, 0, 1, 1, 1])
    assert numbers(pool(repeated, method=method)) == pytest.approx(numbers(expected))


def test_series_with_different_labels_are_refused_not_paired_by_position() -> None:
    y = pd.Series(Y, index=list("abcde"))
    u = pd.Series(U, index=list("edcba"))
    with pytest.raises(InputError, match="different labels"):
        pool(y, u=u)


def test_read_only_and_whole_numbers(frame: pd.DataFrame) -> None:
    y, u = np.array([1, 2, 4]), np.array([1, 1, 2])
    y.flags.writeable = u.flags.writeable = False
    for method in METHODS:
        assert np.isfinite(pool(y, u=u, method=method).value)
    before = frame.copy(deep=True)
    pool(frame)
    pd.testing.assert_frame_equal(frame, before)


def test_canonical_frame_uses_its_route_and_counts_what_is_set_aside() -> None:
    table = pd.DataFrame(
        {
            "run_id": ["A/1", "A/2", "A/3", "A/1"],
            "section": "A",
            "group": ["1", "2", "3", "1"],
            "route": ["residue", "residue", "residue", "titration"],
            "value_g_per_100g": [0.16, 0.18, 9.9, 0.5],
            "u_g_per_100g": 0.01,
            "used": [True, True, False, True],
            "reason": ["", "", "no recovered mass", ""],
        }
    )
    found = pool(table)
    assert (found.n, found.n_set_aside, found.replicate) == (2, 1, "group")
    assert found.set_aside["reason"].tolist() == ["no recovered mass"]
    assert found.value == pytest.approx(0.17)
    assert found.unit == "g/100 g water"
    assert pool(table, route="titration").value == pytest.approx(0.5)
    cov = SharedCovariance(np.full(2, 1e-4), np.full((2, 1), 0.02))
    from_estimates = pool(estimates(table, cov))
    assert from_estimates.u_shared == pytest.approx(0.02)
    assert from_estimates.n_set_aside == 1
    with pytest.raises(InputError, match="no value is left"):
        pool(table, route="evaporation")


def test_runs_of_a_group_are_combined_and_do_not_count_as_groups() -> None:
    table = pd.DataFrame(
        {
            "section": ["A", "A", "A", "B", "B"],
            "group": ["1", "1", "2", "1", ""],
            "value_g_per_100g": [1.0, 1.2, 2.0, 3.0, 4.0],
            "u_g_per_100g": 0.2,
        }
    )
    found = pool(table)
    assert found.n == 4  # A/1, A/2, B/1 and the nameless one
    assert found.frame["value"].tolist() == pytest.approx([1.1, 2.0, 3.0, 4.0])
    assert found.frame["rows"].tolist() == [2, 1, 1, 1]
    assert found.frame["u"].iloc[0] == pytest.approx(0.2 / np.sqrt(2))
    assert any("combined" in note for note in found.notes)
    gap = table.assign(group=["1", "1", "2", "1", None])
    assert pool(gap).frame["value"].tolist() == pytest.approx([1.1, 2.0, 3.0, 4.0])
    # Runs of one group that disagree far beyond u widen the group, they do not sharpen it.
    apart = table.assign(value_g_per_100g=[1.0, 5.0, 2.0, 3.0, 4.0])
    assert pool(apart).frame["u"].iloc[0] == pytest.approx(2.0, rel=0.01)


def test_a_plain_frame_counts_its_rows_and_warns_of_groups_that_repeat(frame: pd.DataFrame) -> None:
    twice = frame.assign(group=["a", "a", "b", "c", "d"])
    found = pool(twice)
    assert found.n == 5
    assert any("2 rows belong" in note for note in found.notes)
    combined = pool(twice, by="group")
    assert combined.n == 4
    assert not any("rows belong" in note for note in combined.notes)
    assert not any("rows belong" in note for note in pool(frame).notes)


def test_simulated_class_from_readings_to_value() -> None:
    import solubility_stats as ss

    protocol = ss.Protocol.default("calcium hydroxide")
    simulated = ss.simulate(protocol, groups=12, seed=4, runs_per_group=2)
    estimates = ss.estimate(simulated.records, protocol)
    found = pool(estimates)
    used = estimates.used("residue")
    assert found.n == used[["section", "group"]].drop_duplicates().shape[0]
    assert found.frame["rows"].sum() == len(used)
    assert used["value_g_per_100g"].min() < found.value < used["value_g_per_100g"].max()
    # What several groups share is a floor; what only the two runs of a group share is not.
    cov = estimates.covariance("residue", apparent=False)
    group = (used["section"] + "/" + used["group"]).to_numpy()
    touched = [len(set(group[column != 0])) for column in cov.loadings.T]
    shared = cov.loadings[:, np.array(touched) > 1]
    floor = np.sqrt(np.sum(shared.mean(axis=0) ** 2))
    assert found.u_shared == pytest.approx(floor, rel=0.1)
    assert found.u > found.u_shared > 0
    apparent = pool(estimates, apparent=True)
    assert apparent.unit == "g/100 g water"
    assert apparent.value != found.value


# --- missing values -----------------------------------------------------------------------------


@pytest.mark.parametrize("column", ["value", "u"])
@pytest.mark.parametrize("gap", [np.nan, np.inf])
def test_gaps_raise_or_are_counted(frame: pd.DataFrame, column: str, gap: float) -> None:
    holed = frame.copy()
    holed.loc[2, column] = gap
    with pytest.raises(InputError, match="1 of 5 rows") as error:
        pool(holed)
    assert "c" in str(error.value)
    found = pool(holed, missing="omit")
    assert (found.n, found.n_set_aside) == (4, 1)
    assert found.set_aside["group"].tolist() == ["c"]
    assert found.frame["group"].tolist() == ["a", "b", "d", "e"]
    rest = frame.drop(index=2)
    assert numbers(found) == pytest.approx(numbers(pool(rest)))


def test_gaps_with_shared_causes_take_the_right_rows() -> None:
    cov = SharedCovariance(np.square(U), np.arange(5.0)[:, None] / 100 + 0.01)
    y = np.array(Y)
    y[1] = np.nan
    found = pool(y, covariance=cov, missing="omit")
    keep = [0, 2, 3, 4]
    assert numbers(found) == pytest.approx(numbers(pool(y[keep], covariance=cov.take(keep))))


# --- edges --------------------------------------------------------------------------------------


@pytest.mark.parametrize("method", METHODS)
def test_one_unit_keeps_its_own_uncertainty_and_says_so(method: str) -> None:
    cov = SharedCovariance(np.array([0.09]), np.array([[0.4]]))
    found = pool([2.0], covariance=cov, method=method)
    assert found.value == 2.0
    assert found.u == pytest.approx(0.5)
    assert found.u_shared == pytest.approx(0.4)
    assert np.isnan(found.tau)
    assert any("One unit" in note for note in found.notes)
    json.dumps(found.to_dict(), allow_nan=False)
    assert "from 1 row " in str(found)


@pytest.mark.parametrize("method", METHODS)
def test_two_units(method: str) -> None:
    found = pool([1.0, 2.0], u=[0.1, 0.1], method=method)
    assert found.value == pytest.approx(1.5)
    assert 0 < found.u < 2
    assert found.low < found.value < found.high


@pytest.mark.parametrize("method", METHODS)
def test_equal_values_keep_the_stated_uncertainty(method: str) -> None:
    # Luck must not shrink an interval to nothing.
    found = pool(np.full(9, 3.0), u=0.3, method=method)
    assert found.value == pytest.approx(3.0, rel=1e-15)
    assert found.tau2 == 0
    assert 0.1 <= found.u <= 0.13
    if method != "fixed":
        assert any("agree better" in note for note in found.notes)


@pytest.mark.parametrize("method", METHODS)
def test_a_huge_uncertainty_takes_no_part(method: str) -> None:
    found = pool([*Y, 1.7], u=[*U, 1e9], method=method)
    assert np.isfinite(numbers(found)).all()
    if method in TAU2_METHODS:
        assert found.weights[-1] < 1e-12
    if method in ("fixed", "reml", "ml"):  # the moment methods still count it as a value
        assert found.value == pytest.approx(pool(Y, u=U, method=method).value, rel=1e-9)


def test_zero_uncertainty_among_others_is_refused_by_weights_only() -> None:
    for method in METHODS:
        if method in TAU2_METHODS:
            with pytest.raises(InputError, match="zero"):
                pool([1.0, 2.0, 3.0], u=[0.0, 0.1, 0.1], method=method)
        else:
            assert np.isfinite(pool([1.0, 2.0, 3.0], u=[0.0, 0.1, 0.1], method=method).u)


def test_all_uncertainties_zero_weighs_all_alike() -> None:
    x = np.array([1.0, 2.0, 4.0])
    found = pool(x, u=0.0, method="reml")
    assert found.value == pytest.approx(x.mean())
    assert found.tau2 == pytest.approx(x.var(ddof=1))
    assert found.u == pytest.approx(x.std(ddof=1) / np.sqrt(3))
    assert pool(x, u=0.0, method="ml").tau2 == pytest.approx(x.var())
    with pytest.raises(InputError, match="zero"):
        pool(x, u=0.0, method="fixed")


def test_without_uncertainties_only_unweighted_methods_work() -> None:
    for method in METHODS:
        if method in TAU2_METHODS:
            with pytest.raises(InputError, match="none were given"):
                pool(Y, method=method)
        else:
            found = pool(Y, method=method)
            assert found.u > 0
            assert np.isnan(found.tau)


def test_mean_is_the_students_t_interval() -> None:
    from scipy.stats import t

    x = np.array(Y)
    found = pool(Y, method="mean")
    low, high = t.interval(0.95, 4, x.mean(), x.std(ddof=1) / np.sqrt(5))
    assert (found.low, found.high) == pytest.approx((low, high))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"method": "best"}, "unknown method"),
        ({"interval": "narrow"}, "unknown interval"),
        ({"level": 95}, "probability"),
        ({"u": [-0.1, 0.1, 0.1, 0.1, 0.1]}, "negative"),
        ({"u": [0.1, 0.1]}, "as many"),
        ({"u": "u"}, "DataFrame"),
        ({"missing": "drop"}, "missing"),
        ({"covariance": SharedCovariance(np.ones(3))}, "fit"),
    ],
)
def test_wrong_arguments_are_named(arguments: dict[str, object], words: str) -> None:
    with pytest.raises(InputError, match=words):
        pool(Y, **{"u": U, **arguments})


def test_wrong_columns_and_text_are_named(frame: pd.DataFrame) -> None:
    with pytest.raises(InputError, match="no such column"):
        pool(frame, value="solubility")
    with pytest.raises(InputError, match="not a number"):
        pool(frame.assign(value=["1", "2", "x", "4", "5"]))
    with pytest.raises(InputError, match="no such column"):
        pool(frame, by="bench")


# --- intervals ----------------------------------------------------------------------------------


def test_intervals_are_ordered_and_the_prediction_is_wider() -> None:
    y, u = np.array([1.0, 1.2, 1.1, 1.3, 0.9]), np.full(5, 0.2)
    knapp = pool(y, u=u)
    modified = pool(y, u=u, interval="modified-knapp-hartung")
    plain = pool(y, u=u, interval="plain")
    assert knapp.tau2 == 0
    assert knapp.u < plain.u  # the groups agree a little better than stated, not by rare luck
    assert modified.u == pytest.approx(plain.u)
    assert modified.high - modified.low > plain.high - plain.low
    for c in (knapp, modified, plain):
        assert c.prediction_low <= c.low
        assert c.prediction_high >= c.high
        assert c.u_independent**2 + c.u_shared**2 == pytest.approx(c.u**2)


@pytest.mark.slow
def test_interval_of_the_median_allows_for_its_rough_scale() -> None:
    # With n - 1 degrees of freedom these would hold 91.6 %; simulation error 0.35 %.
    values = np.random.default_rng(8).normal(size=(4000, 7))
    bare, none = split(None, 7), iv.spread(values[0], split(None, 7), "median", 0.95)
    found = [iv.robust_location(row, bare, "median", "knapp-hartung", none) for row in values]
    held = np.mean([abs(e.value) <= e.quantile(0.95) * e.u for e in found])
    assert 0.93 <= held <= 0.965


def test_shared_part_has_no_lack_of_degrees_of_freedom() -> None:
    y = np.array([1.0, 1.1, 0.95])
    small = pool(y, u=0.05)
    assert small.dof == 2
    with_floor = pool(y, covariance=SharedCovariance(np.full(3, 0.0025), np.full((3, 1), 1.0)))
    assert with_floor.dof > 100
    assert with_floor.high - with_floor.value == pytest.approx(1.96 * with_floor.u, rel=0.01)


def test_compare_estimators_says_whether_the_choice_matters() -> None:
    rng = np.random.default_rng(1)
    calm = 10 + rng.normal(size=40)
    quiet = compare_estimators(calm, u=1.0)
    assert not quiet.matters
    assert "does not matter" in quiet.sentence
    assert quiet.table["method"].tolist() == list(METHODS)
    wild = calm.copy()
    wild[:6] += 15
    loud = compare_estimators(wild, u=1.0)
    assert loud.matters
    assert loud.sentence.startswith("The choice of estimator matters")
    assert "takes for granted" in loud.sentence
    row = loud.table.set_index("method").loc["median"]
    reml = pool(wild, u=1.0)
    assert row["difference"] == pytest.approx(
        (pool(wild, u=1.0, method="median").value - reml.value) / reml.u
    )
    # One group with a tiny stated uncertainty pulls the fixed mean alone: no choice to make.
    pulled = np.append(calm, 12.0)
    alone = compare_estimators(pulled, u=np.append(np.full(40, 1.0), 0.05))
    differences = alone.table.set_index("method")["difference"].abs()
    assert differences["fixed"] > 0.5
    assert alone.largest_difference == differences.drop("fixed").max()
    bare = compare_estimators(calm)
    assert bare.reference == "mean"
    assert len(bare.not_applicable) == len(TAU2_METHODS)


def test_results_print_and_serialise(frame: pd.DataFrame) -> None:
    found = pool(frame)
    assert "5 rows" in found.headline()
    assert "Summary" in str(found)
    assert "<table" in found._repr_html_()
    loaded = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert loaded["n"] == 5
    assert found.dark_uncertainty == found.tau


def test_a_full_matrix_pools_like_its_shared_form():
    """The floor a shared cause sets is the same however the covariance is given."""
    shared = SharedCovariance(np.full(4, 0.04), np.full((4, 1), 0.3))
    y = np.array([1.0, 1.4, 0.9, 1.2])
    dense, own = (pool(y, covariance=c) for c in (shared.dense(), shared))
    assert dense.value == pytest.approx(own.value, rel=1e-6)
    assert dense.u == pytest.approx(own.u, rel=1e-6)
    assert own.u > 0.3


def test_a_matrix_that_is_no_covariance_is_refused_in_words():
    with pytest.raises(InputError, match="eigenvalue"):
        pool(np.ones(2), covariance=[[1.0, 2.0], [2.0, 1.0]])
