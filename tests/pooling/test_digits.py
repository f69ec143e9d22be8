"""Terminal digits and identical rows."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from solubility_stats.errors import InputError
from solubility_stats.pooling.digits import identical_rows, reading_digits, terminal_digits
from solubility_stats.records import ClassRecords

DATA = Path(__file__).parent / "data"


def test_digits_of_pi():
    # Counts of the first 10 000 decimals, widely tabulated; X2 9.318, p 0.40845.
    counts = [968, 1026, 1021, 974, 1012, 1046, 1021, 970, 948, 1014]
    readings = [f"{i % 7}.{d}" for d, k in enumerate(counts) for i in range(k)]
    found = terminal_digits(readings)
    assert found.table["count"].tolist() == counts
    assert (found.statistic, found.p_value) == pytest.approx((9.318, 0.40845), abs=5e-6)
    assert not found.exact


def test_lottery_and_coop():
    # Lottery (NIST StRD): X2 12.4587, p 0.18867, recomputed by another program.
    lottery = json.loads((DATA / "strd.json").read_text())["univariate"]["Lottery"]["data"]
    found = terminal_digits(lottery)
    assert (found.statistic, found.p_value) == pytest.approx((12.4587, 0.18867), abs=5e-5)
    # Analyst 112 (1987) 679: second decimals; many results were recorded to one decimal only.
    cells = json.loads((DATA / "interlaboratory.json").read_text())["coop"]["cells"]
    values = [y for spec in cells.values() for lab in spec for batch in lab for y in batch]
    found = terminal_digits(values, 2, name="concentration")
    assert found.table["count"].tolist() == [127, 9, 18, 17, 18, 15, 18, 9, 11, 10]
    assert found.statistic == pytest.approx(462.206, abs=5e-4)
    assert "more often than chance" in found.headline()


def test_recorded_zeros_count():
    readings = [f"{x / 10:.2f}" for x in range(30)]  # every last digit is 0
    found = terminal_digits(readings)
    assert found.table["count"][0] == 30
    assert found.exact
    assert found.p_value < 1e-3
    assert found.round_share_percent == 100
    numbers = terminal_digits([float(r) for r in readings], 2)
    assert numbers.table["count"].tolist() == found.table["count"].tolist()


def test_mixed_decimals_missing_entries_and_seed():
    values = pd.Series([*np.linspace(0.1, 9.7, 25).round(1), np.nan, 3.25])
    places = pd.Series([1] * 26 + [2], dtype="Int64")
    places[3] = pd.NA
    found = terminal_digits(values, places)
    assert (found.n, found.omitted) == (25, 2)
    assert found.p_value == terminal_digits(values, places).p_value
    assert terminal_digits([*map(str, range(40)), "", None, "nan"]).omitted == 3


def test_every_column_of_a_class():
    rng = np.random.default_rng(1)
    runs = pd.DataFrame(
        {
            "group": range(60),
            "initial_mass_g": rng.uniform(1, 3, 60).round(2),
            "water_volume_ml": 100 + rng.integers(-12, 12, 60) * 5,
            "paper_mass_g": 0.9,
        }
    )
    places = {"initial_mass_g": 2, "water_volume_ml": 0, "paper_mass_g": 1}
    decimals = pd.DataFrame({c: pd.Series([k] * 60, dtype="Int64") for c, k in places.items()})
    found = reading_digits(ClassRecords.from_frame(runs, decimals=decimals))
    table = found.table.set_index("column")
    assert table["preferred"].tolist() == [False, True, False]
    assert table.loc["water_volume_ml", "round_share_percent"] == 100
    assert "too close together" in table.loc["paper_mass_g", "words"]
    assert found.headline().startswith("Some final digits are preferred in water_volume_ml")
    assert "no preference" in reading_digits(ClassRecords.from_frame(runs)).headline()


def test_simulated_p_value_is_uniform_enough():
    rng = np.random.default_rng(3)
    p = [terminal_digits(rng.integers(0, 1000, 30), 0, rng=1).p_value for _ in range(120)]
    assert np.mean(np.array(p) < 0.05) <= 0.12
    assert 0.3 <= np.median(p) <= 0.7


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: terminal_digits([1.23] * 20), "do not tell how many decimals"),
        (lambda: terminal_digits(["1.2"] * 20), "too close together"),
        (lambda: terminal_digits(["1.2", "3.4"]), "too few readings"),
        (lambda: terminal_digits(["1,2"] * 20), "not a plain decimal"),
        (lambda: identical_rows(pd.DataFrame({"a": [1.0, 2]}), ["a"]), "too few columns"),
        (lambda: identical_rows(pd.DataFrame({"a": [1.0, 2]}), ["b", "c", "d"]), "not found"),
    ],
)
def test_what_cannot_be_told(call, message):
    with pytest.raises(InputError, match=message):
        call()


@pytest.fixture
def sheet() -> pd.DataFrame:
    rng = np.random.default_rng(0)
    frame = pd.DataFrame(
        {
            "section": np.repeat(["Mon", "Tue"], 6),
            "group": [*range(1, 7)] * 2,
            "water_volume_ml": 100.0,
            "initial_mass_g": rng.normal(2, 0.1, 12).round(3),
            "paper_mass_g": rng.normal(0.9, 0.02, 12).round(3),
            "recovered_mass_g": rng.normal(1.8, 0.1, 12).round(3),
        }
    )
    return frame


def test_identical_rows(sheet):
    assert identical_rows(sheet).table.empty
    readings = ["initial_mass_g", "paper_mass_g", "recovered_mass_g"]
    sheet.loc[8, readings] = sheet.loc[2, readings]
    found = identical_rows(sheet)
    assert found.columns == tuple(readings)  # the prescribed volume says nothing
    assert found.table["labels"].tolist() == ["Mon / 3, Tue / 3"]
    assert found.table["rows"].tolist() == ["2, 8"]
    assert "hardly chance" in found.table["note"][0]
    assert "ask" in found.headline()
    for word in ("copi", "cheat", "fraud", "fabricat"):
        assert word not in found.table["note"][0]


def test_rows_with_gaps_are_counted_not_matched(sheet):
    sheet.loc[[1, 4], ["paper_mass_g", "recovered_mass_g"]] = np.nan
    found = identical_rows(sheet)
    assert (found.n, found.omitted) == (10, 2)
    assert found.table.empty


def test_coarse_readings_may_agree_by_chance():
    frame = pd.DataFrame({"group": range(40), **{c: np.tile([1.0, 2, 3], 14)[:40] for c in "abc"}})
    found = identical_rows(frame, list("abc"))
    assert (found.table["expected_by_chance"] > 1).all()
    assert found.table["note"].str.contains("may well be chance").all()
