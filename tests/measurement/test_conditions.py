"""Readings that cannot be: refused with the reason, or kept and remarked on."""

import dataclasses
import math

import numpy as np
import pandas as pd
import pytest

import solubility_stats as ss

LIME = "calcium hydroxide"


def _one(**readings):
    row = {"initial_mass_g": 2.5, "recovered_mass_g": 2.02, "water_volume_ml": 300.0} | readings
    return ss.estimate(pd.DataFrame([row]), solute=LIME).table.iloc[0]


@pytest.mark.parametrize(
    ("readings", "reason"),
    [
        ({"recovered_mass_g": math.nan}, "missing: recovered mass"),
        ({"initial_mass_g": math.nan}, "missing: initial mass"),
        ({"water_volume_ml": math.nan}, "missing: water volume"),
        ({"water_volume_ml": 0.0}, "water volume is not above zero"),
        ({"initial_mass_g": 0.0}, "initial mass is not above zero"),
        ({"recovered_mass_g": 3.4}, "far below zero"),
        ({"recovered_mass_g": 0.0}, "lower limit"),
        ({"recovered_mass_g": -1.0}, "below zero"),
        ({"recovered_mass_g": math.nan, "recovered_with_paper_mass_g": 2.9}, "mass of the paper"),
        ({"set_aside": "resubmitted later"}, "resubmitted later"),
    ],
)
def test_results_that_cannot_be_used_say_why(readings, reason):
    row = _one(**readings)
    assert not row["used"]
    assert reason in row["reason"]


def test_a_negative_result_from_noise_is_kept_and_said():
    row = _one(recovered_mass_g=2.53)
    assert row["value_g_per_100g"] < 0
    assert row["used"]
    assert row["reason"] == ""
    assert "kept" in row["note"]


def test_keeping_negative_results_keeps_the_mean_right():
    rng = np.random.default_rng(5)
    n = 4000
    frame = pd.DataFrame({"initial_mass_g": 2.5, "water_volume_ml": 100.0,
                          "recovered_mass_g": 2.49 + rng.normal(0, 0.02, n)})  # fmt: skip
    bare = ss.Protocol.default(LIME).without_effects()
    used = ss.estimate(frame, bare).used()
    value = used["value_g_per_100g"]
    assert (value < 0).mean() > 0.2
    assert len(used) >= n - 2
    assert value.mean() == pytest.approx(0.01, abs=4 * value.std() / math.sqrt(n))


def test_scarce_solid_is_remarked_on():
    assert "excess" in _one(initial_mass_g=0.55, recovered_mass_g=0.06)["note"]
    assert _one()["note"] == ""


@pytest.mark.parametrize(
    ("readings", "reason"),
    [
        ({"fill_1_ml": -100.0, "fill_2_ml": 400.0}, "a fill is below zero"),
        (
            {"titrant_ml": 11.0, "titrant_mol_per_l": 0.1, "aliquot_ml": 400.0},
            "more than the water",
        ),
    ],
)
def test_volumes_that_cannot_be(readings, reason):
    row = {"initial_mass_g": 2.5, "recovered_mass_g": 2.02, "water_volume_ml": 300.0} | readings
    table = ss.estimate(pd.DataFrame([row]), solute=LIME).table
    assert reason in table.iloc[-1]["reason"]


def test_a_fill_beyond_the_cylinder_is_remarked_on():
    protocol = ss.Protocol.default(LIME).with_settings({"cylinder.capacity_ml": 100.0})
    row = {"initial_mass_g": 2.5, "recovered_mass_g": 2.02, "fill_1_ml": 250.0, "fill_2_ml": 50.0}
    table = ss.estimate(pd.DataFrame([row]), protocol).table
    assert table["used"].all()
    assert "more than the cylinder holds" in table["note"][0]


def test_doubts_of_the_reader_are_carried_along():
    frame = pd.DataFrame({"run_id": ["a", "b"], "initial_mass_g": 2.5, "recovered_mass_g": 2.0,
                          "water_volume_ml": 300.0})  # fmt: skip
    records = ss.ClassRecords.from_frame(frame)
    flags = pd.DataFrame(
        [("b", "recovered_mass_g", "approximate", "~2.0"), ("b", "stir_min", "unclear", "?"),
         ("b", "titrant_ml", "unclear", "?"), ("a", "comment", "hidden", "")],
        columns=["run_id", "column", "flag", "note"],
    )  # fmt: skip
    table = ss.estimate(dataclasses.replace(records, flags=flags), solute=LIME).table
    assert list(table["note"]) == ["", "recovered_mass_g approximate"]
    assert table["used"].all()


def test_only_a_given_protocol_stands_in_for_a_missing_reading():
    frame = pd.DataFrame({"initial_mass_g": [2.5], "recovered_mass_g": 2.02, "titrant_ml": 11.0})
    default = ss.estimate(frame, solute=LIME).table
    assert list(default["reason"]) == ["missing: water volume", "missing: titrant concentration"]
    given = ss.Protocol.default(LIME).with_settings(
        {"lab.water_volume_ml": 300.0, "lab.aliquot_ml": 25.0, "titrant.mol_per_l": 0.1}
    )
    table = ss.estimate(frame, given).table
    assert table["used"].all()
    assert table["note"].str.endswith("taken from the protocol").all()
    assert table["water_volume_ml"][0] == 300.0
    direct = ss.estimate(
        frame.assign(water_volume_ml=300.0, aliquot_ml=25.0, titrant_mol_per_l=0.1), given
    ).table
    columns = ["value_g_per_100g", "u_g_per_100g"]
    pd.testing.assert_frame_equal(table[columns], direct[columns])
