"""Runs that are not compared: which are looked at, which are listed, and where."""

import numpy as np
import pandas as pd
import pytest

from solubility_stats.analysis import analyse
from solubility_stats.bias import compare, diagnose
from solubility_stats.measurement import estimate
from solubility_stats.simulation import simulate

REPLACED = "replaced by a later submission (row 12)"


@pytest.fixture
def runs(protocol):
    return simulate(protocol, groups=12, seed=3).records.runs.copy()


@pytest.fixture
def with_replaced(runs):
    """The first group's sheet came twice; the first time with a volume ten times too large."""
    old = runs.iloc[[0]].copy()
    fills = [c for c in runs if c.startswith("fill_")]
    old[[*fills, "water_volume_ml"]] *= 10.0
    old["set_aside"], old["run_id"] = REPLACED, "old"
    return pd.concat([old, runs], ignore_index=True)


def test_a_replaced_submission_is_no_reason_to_look_at_a_group(with_replaced, protocol, lime):
    diag = diagnose(compare(estimate(with_replaced, protocol), lime))
    assert "old" not in set(diag.groups_to_look_at["run_id"])
    assert "old" not in set(diag.discrete["run_id"])
    assert "old" not in set(diag.model.rows["run_id"])
    assert diag.comparison.n_set_aside == 1


def test_the_same_readings_not_set_aside_are_looked_at(with_replaced, protocol, lime):
    taken = with_replaced.assign(set_aside="")
    diag = diagnose(compare(estimate(taken, protocol), lime))
    assert "old" in set(diag.discrete.loc[diag.discrete["marked"], "run_id"])
    assert "old" in set(diag.groups_to_look_at["run_id"])


def test_runs_refused_for_what_they_read_are_still_examined(runs, protocol, lime):
    runs.loc[1, "recovered_mass_g"] = 10.0 * runs.loc[1, "recovered_mass_g"]
    est = estimate(runs, protocol)
    run_id = runs.loc[1, "run_id"]
    assert not est.table.set_index("run_id").loc[run_id, "used"]
    diag = diagnose(compare(est, lime))
    (found,) = diag.groups_to_look_at.loc[diag.groups_to_look_at["run_id"] == run_id, "reasons"]
    assert found[0].startswith("Not used:")
    assert any("Recovered mass written ten times too large" in reason for reason in found)


class TestOutsideTheCurve:
    def test_reasons_reach_the_comparison(self, runs, protocol, flat_curve):
        curve = flat_curve(value=0.16, u=0.002)
        curve.low_c, curve.high_c = 10.0, 40.0
        runs.loc[[2, 5], "temperature_c"] = 55.0, 60.0
        comp = compare(estimate(runs, protocol), curve)
        ids = runs.loc[[2, 5], "run_id"].tolist()
        listed = comp.estimates.table.set_index("run_id").loc[ids]
        assert not listed["used"].any()
        assert (
            listed["reason"].str.contains("outside the reference (10 to 40 °C)", regex=False).all()
        )
        assert comp.n_set_aside == 2
        assert len(comp.runs) == 10
        (said,) = [n for n in comp.notes if "not compared" in n]
        assert all(i in said for i in ids)
        looked = diagnose(comp).groups_to_look_at
        assert set(ids) <= set(looked["run_id"])

    def test_they_reach_the_summary_and_the_page(self, runs, protocol, flat_curve, tmp_path):
        from solubility_stats.report import write_report
        from solubility_stats.report.summary import summary

        curve = flat_curve(value=0.16, u=0.002)
        curve.low_c, curve.high_c = 10.0, 40.0
        runs.loc[2, "temperature_c"] = 55.0
        done = analyse(runs, protocol, curve=curve)
        block = summary(done)
        (aside,) = block["runs_set_aside"]
        assert aside["run"] == runs.loc[2, "run_id"]
        assert "outside the reference" in aside["reason"]
        assert block["runs_used"] + len(block["runs_set_aside"]) == 12
        write_report(done, tmp_path)
        assert "outside the reference" in (tmp_path / "report.html").read_text("utf-8")


def test_habits_of_groups_are_one_component_that_more_groups_reduce(make_class, lime):
    from solubility_stats.planning import groups_needed, step_to_improve

    comp = compare(make_class(groups=24, runs_per_group=2, seed=3), lime)
    parts = comp.unexplained.components.set_index("component")
    assert "habits of single groups" in parts.index
    assert not any("part 1" in name or "[" in name for name in parts.index)
    assert not parts.loc["habits of single groups", "shared"]
    assert parts["u_percent"].pow(2).sum() == pytest.approx(comp.unexplained.u_percent**2)
    spread = parts.loc[["habits of single groups", "scatter between groups"], "u_percent"]
    plan = groups_needed(comp, 60.0)
    assert plan.spread_percent == pytest.approx(np.sqrt(24 * spread.pow(2).sum()))
    step = step_to_improve(comp).table.set_index("step")
    assert not step.loc["habits of single groups", "shared"]
