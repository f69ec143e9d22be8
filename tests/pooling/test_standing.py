"""Groups that stand apart, and the class value without them."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from solubility_stats.covariance import SharedCovariance
from solubility_stats.errors import InputError
from solubility_stats.pooling.sensitivity import with_and_without
from solubility_stats.pooling.standing import deleted_residuals, stands_apart


@pytest.fixture
def classes() -> pd.DataFrame:
    rng = np.random.default_rng(4)
    return pd.DataFrame(
        {
            "section": np.repeat(["Mon", "Tue"], 8),
            "group": [*range(1, 9)] * 2,
            "v": 1.7 + rng.normal(0, 0.05, 16),
            "u": 0.02,
        }
    )


class FakeEstimates:
    """The two methods of estimates that this room calls."""

    def __init__(self, table: pd.DataFrame, covariance: SharedCovariance) -> None:
        self.table, self._covariance = table.assign(route="residue", used=True), covariance

    def used(self, route: str = "residue") -> pd.DataFrame:
        return self.table

    def covariance(self, route: str = "residue", apparent: bool = False) -> SharedCovariance:
        return self._covariance


def as_estimates(frame: pd.DataFrame) -> FakeEstimates:
    table = frame.rename(columns={"v": "value_g_per_100g", "u": "u_g_per_100g"})
    n = len(table)
    loads = np.column_stack([np.full(n, 0.1), (table["group"] == 3) * 0.05])
    cov = SharedCovariance(frame["u"].to_numpy() ** 2, loads, ("bottle [class]", "flask [group]"))
    return FakeEstimates(table, cov)


def test_clean_class(classes):
    found = stands_apart(classes, "v", "u")
    assert found.marked == ()
    assert "None of 16" in found.headline()
    assert any("Scatter" in n for n in found.notes)


def test_one_and_two_outliers(classes):
    classes.loc[3, "v"] = 2.4
    one = stands_apart(classes, "v", "u")
    assert one.marked == ("Mon / 4",)
    assert "% above" in one.table.loc[3, "reasons"]
    classes.loc[9, "v"] = 2.45
    two = stands_apart(classes.sample(frac=1, random_state=2), "v", "u")
    assert set(two.marked) == {"Mon / 4", "Tue / 2"}


def test_a_group_that_says_it_is_uncertain_is_left_alone(classes):
    classes.loc[3, ["v", "u"]] = 2.4, 0.5
    assert stands_apart(classes, "v", "u").marked == ()
    assert stands_apart(classes, "v").marked == ("Mon / 4",)


def test_overstated_uncertainties_do_not_hide_a_group(classes):
    classes["u"] = 0.2
    classes.loc[3, "v"] = 2.1
    found = stands_apart(classes, "v", "u")
    assert found.marked == ("Mon / 4",)
    assert any("agree better than" in n for n in found.notes)


def test_scatter_within_a_group():
    rng = np.random.default_rng(3)
    frame = pd.DataFrame({"group": np.repeat(np.arange(10), 3), "v": 5 + rng.normal(0, 0.05, 30)})
    frame.loc[6:8, "v"] = [4.4, 5.0, 5.6]
    found = stands_apart(frame, "v")
    assert found.marked == ("2",)
    assert "differ more among themselves" in found.table.loc[2, "reasons"]


def test_own_uncertainty_leaves_out_what_is_shared(classes):
    found = stands_apart(as_estimates(classes))
    own = found.table.set_index("label")["u"]
    assert own["Mon / 1"] == pytest.approx(0.02)
    # The flask used by groups 3 of both sections is shared between two groups: not their own.
    assert own["Mon / 3"] == pytest.approx(0.02)
    single = as_estimates(classes.iloc[:8].reset_index(drop=True))
    assert stands_apart(single).table["u"][2] == pytest.approx(np.hypot(0.02, 0.05))


def test_deleted_residual_without_u_is_the_externally_studentised_deviate():
    x = np.array([4.0, 4.2, 3.9, 4.1, 5.0, 4.05])
    centre, t, p = deleted_residuals(x, np.zeros(6))
    for i in range(6):
        rest = np.delete(x, i)
        assert centre[i] == pytest.approx(rest.mean(), rel=1e-9)
        expected = (x[i] - rest.mean()) / (rest.std(ddof=1) * np.sqrt(1 + 1 / 5))
        assert t[i] == pytest.approx(expected, rel=1e-6)
    assert p.min() == p[4]


def test_deleted_residual_with_homogeneous_others():
    x, u = np.array([10.0, 10.1, 9.9, 10.0, 11.0]), np.full(5, 0.3)
    _, t, _ = deleted_residuals(x, u)
    # The other four scatter less than their uncertainties: no variance between groups.
    assert t[4] == pytest.approx(1.0 / (0.3 * np.sqrt(1 + 1 / 4)), rel=1e-9)


@pytest.mark.parametrize("u", [False, True])
def test_clean_classes_are_marked_at_the_stated_rate(u):
    rng = np.random.default_rng(6)
    hits = 0
    for _ in range(250):
        own = rng.uniform(0.01, 0.05, 14) if u else np.zeros(14)
        spread = np.sqrt(0.03**2 + own**2)
        frame = pd.DataFrame({"group": np.arange(14), "v": rng.normal(2, spread), "u": own})
        hits += bool(stands_apart(frame, "v", "u" if u else None, "group").marked)
    assert hits / 250 < 0.05 + 3 * np.sqrt(0.05 * 0.95 / 250)
    assert hits > 0


def test_small_and_degenerate_classes():
    few = pd.DataFrame({"group": [1, 2, 3], "v": [1.0, 2, 9]})
    assert "With 3 groups" in stands_apart(few, "v").notes[0]
    equal = pd.DataFrame({"group": range(6), "v": [2] * 6})
    assert "same value" in stands_apart(equal, "v").notes[0]
    one_off = pd.DataFrame({"group": range(6), "v": [2, 2, 2, 2, 2, 3]})
    assert stands_apart(one_off, "v").marked == ("5",)
    with pytest.raises(InputError, match="names the group"):
        stands_apart(few.drop(columns="group"), "v")
    with pytest.raises(InputError, match="negative"):
        stands_apart(few.assign(u=-1.0), "v", "u")


def test_with_and_without_a_marked_group(classes):
    classes.loc[3, "v"] = 2.4
    found = with_and_without(classes, ["Mon / 4"], "v", "u")
    assert found.table["left_out"].tolist() == ["none", "Mon / 4"]
    assert found.table["n"].tolist() == [16, 15]
    assert found.table["shift"][1] < 0
    assert found.table["u"][1] < found.table["u"][0]
    assert "with all groups" in found.headline()
    nothing = with_and_without(classes, [], "v", "u")
    assert "no group is marked" in nothing.headline()


def test_with_and_without_takes_estimates_and_any_estimator(classes):
    class Mean:
        def __init__(self, part):
            y = part.used()["value_g_per_100g"]
            self.value, self.u = y.mean(), y.std() / np.sqrt(len(y))
            self.low, self.high = self.value - 2 * self.u, self.value + 2 * self.u

    est = as_estimates(classes)
    marked = ["Mon / 1", "Tue / 2"]
    found = with_and_without(est, marked, estimator=Mean)
    assert found.table["left_out"].tolist() == ["none", *marked, "Mon / 1, Tue / 2"]
    kept = classes.drop(index=[0, 9])["v"]
    assert found.table["value"].iloc[-1] == pytest.approx(kept.mean())
    pooled = with_and_without(est, marked)
    assert pooled.table["u"].min() > 0.09  # the shared bottle does not average out
    with pytest.raises(InputError, match="no such group"):
        with_and_without(classes, ["Wed / 1"], "v", "u")
    with pytest.raises(InputError, match="fewer than two"):
        with_and_without(classes.iloc[:2], ["1"], "v", "u")
