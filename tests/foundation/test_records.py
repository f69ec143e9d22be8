"""Records from clean frames: nothing changed, nothing lost, nothing guessed."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from solubility_stats import ClassRecords, InputError
from solubility_stats.quantities import (
    QUANTITIES,
    fill_columns,
    is_canonical,
    numeric_columns,
    quantity,
)


@pytest.fixture
def frame() -> pd.DataFrame:
    return pd.DataFrame(
        {
            "section": ["Mon", "Mon", "Tue"],
            "group": ["01", "2", "2"],
            "initial_mass_g": [2.0, 2.1, 1.9],
            "fill_1_ml": [50.0, 50.0, np.nan],
            "fill_2_ml": [50.0, np.nan, np.nan],
            "water_volume_ml": [np.nan, np.nan, 200.0],
            "recovered_mass_g": [1.7, 1.8, 1.6],
        },
        index=[7, 7, 3],
    )


def test_the_frame_given_is_not_changed(frame):
    before = frame.copy(deep=True)
    ClassRecords.from_frame(frame)
    pd.testing.assert_frame_equal(frame, before)


def test_volume_is_the_sum_of_fills_where_fills_are_recorded(frame):
    runs = ClassRecords.from_frame(frame).runs
    assert runs["water_volume_ml"].tolist() == [100.0, 50.0, 200.0]


def test_codes_stay_text_and_ids_are_unique(frame):
    runs = ClassRecords.from_frame(frame).runs
    assert runs["group"].tolist() == ["01", "2", "2"]
    assert runs["run_id"].tolist() == ["Mon/01", "Mon/2", "Tue/2"]
    twice = ClassRecords.from_frame(pd.concat([frame, frame])).runs
    assert twice["run_id"].is_unique
    assert "Mon/01#2" in set(twice["run_id"])


def test_every_bad_cell_is_named_at_once(frame):
    messy = frame.astype({"initial_mass_g": object})
    messy.iloc[0, 2] = "2,0"
    messy.iloc[2, 2] = "spilled"
    with pytest.raises(InputError) as caught:
        ClassRecords.from_frame(messy)
    assert "2,0" in str(caught.value)
    assert "spilled" in str(caught.value)
    assert "read_class" in caught.value.remedy


@pytest.mark.parametrize(
    "columns", [["a", "b"], ["group", "group"]], ids=["no known column", "name twice"]
)
def test_unusable_columns_are_refused(columns):
    with pytest.raises(InputError):
        ClassRecords.from_frame(pd.DataFrame([[1, 2]], columns=columns))


def test_an_empty_frame_with_columns_is_an_empty_class():
    records = ClassRecords.from_frame(pd.DataFrame({"group": [], "initial_mass_g": []}))
    assert records.n == 0


def test_records_print_and_travel_as_json(frame):
    records = ClassRecords.from_frame(frame)
    assert "3 runs of 3 groups" in repr(records)
    assert "<table" in records._repr_html_()
    back = json.loads(json.dumps(records.to_dict(), allow_nan=False))
    assert back["runs"][1]["fill_2_ml"] is None


def test_every_number_of_the_vocabulary_has_a_unit_pint_knows():
    import pint

    registry = pint.UnitRegistry()
    for q in QUANTITIES:
        if q.kind == "number" and q.name != "reported_solubility":
            assert registry.Unit(q.unit) is not None
            assert q.low < q.high


def test_headings_are_lower_case_and_belong_to_one_column():
    seen: dict[str, str] = {}
    for q in QUANTITIES:
        assert q.headings, q.name
        for heading in q.headings:
            assert heading == heading.lower()
            assert seen.setdefault(heading, q.name) == q.name, heading


def test_fill_columns_come_in_order_and_numbers_are_found():
    names = ["fill_10_ml", "fill_2_ml", "group", "fill_1_ml", "fill_x_ml", "temperature_c"]
    assert fill_columns(names) == ["fill_1_ml", "fill_2_ml", "fill_10_ml"]
    assert numeric_columns(names) == ["fill_10_ml", "fill_2_ml", "fill_1_ml", "temperature_c"]
    assert quantity("fill_3_ml").unit == "mL"
    assert not is_canonical("fill_0_ml")
