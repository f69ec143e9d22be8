"""Plain clues."""

import numpy as np
import pandas as pd
import pytest

from solubility_stats.bias import compare
from solubility_stats.bias.evidence import evidence_table


def frame(n=24, seed=0, **columns):
    x = np.random.default_rng(seed).normal(size=n)
    data = pd.DataFrame(
        {
            "group": [str(i) for i in range(n)],
            "temperature_c": 20.0,
            "value_g_per_100g": 0.16 * (1 + 0.02 * x),
            "u_g_per_100g": 0.003,
        }
    )
    return data.assign(**columns)


def clues(data, flat_curve):
    table = evidence_table(compare(data, flat_curve()))
    return table.set_index(["cause", "clue"])


def test_longer_drying_with_more_found_speaks_for_water_and_against_carbonate(flat_curve):
    minutes = np.linspace(10, 60, 24)
    data = frame(dry_min=minutes)
    data["value_g_per_100g"] *= 1 + 0.01 * (minutes - 35) / 10
    table = clues(data, flat_curve)
    water = table.loc[("residual_moisture", "longer drying (per 10 min)")]
    assert water["says"] == "for"
    assert water["slope"] == pytest.approx(1.0, abs=0.4)  # one percent per ten minutes
    assert table.loc[("residue_carbonation", "longer drying (per 10 min)"), "says"] == "against"


def test_a_single_slip_is_no_trend(flat_curve):
    data = frame(dry_min=np.linspace(10, 60, 24))
    data.loc[23, "value_g_per_100g"] *= 10
    assert set(clues(data, flat_curve)["says"]) == {"nothing"}


def test_a_clue_not_recorded_or_not_varying_is_absent(flat_curve):
    assert clues(frame(), flat_curve).empty
    assert clues(frame(dry_min=30.0), flat_curve).empty
    assert clues(frame(n=4, dry_min=[1.0, 2, 3, 4]), flat_curve).empty


def test_a_beam_with_more_found_speaks_for_fines(flat_curve):
    beam = np.array(["visible", "clear"] * 12)
    data = frame(scatter=beam)
    data.loc[beam == "visible", "value_g_per_100g"] *= 1.10
    assert clues(data, flat_curve).loc[("fines", "beam in the filtrate"), "says"] == "for"


def test_no_trend_is_found_in_noise_more_often_than_stated(flat_curve):
    found = [
        (
            clues(frame(seed=s, dry_min=np.linspace(10, 60, 24)), flat_curve)["says"] != "nothing"
        ).any()
        for s in range(60)
    ]
    assert np.sum(found) <= 8  # 3 expected of 60; 9 or more has a chance under 1 in 250


def test_the_contrast_speaks_only_of_causes_outside_the_solution(diagnosis):
    rows = diagnosis.evidence[diagnosis.evidence["clue"] == "residue minus titration"]
    assert "undersaturation" not in set(rows["cause"])
    assert "transfer_loss" in set(rows["cause"])


def test_the_excess_is_the_planned_one_and_not_the_reading(one_recipe, planned, lime):
    # With one recipe the leverage still varies, by the error of the result itself.
    assert not evidence_table(compare(one_recipe, lime))["clue"].str.contains("excess").any()
    found = evidence_table(compare(planned, lime))
    assert found["clue"].str.contains("planned excess").sum() == 4
