"""Blocks of the same headings side by side; two readings in one cell; pours in several ways."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]


def test_semesters_side_by_side_over_one_list_of_benches(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["CaOH2 by difference, 250 mL water every time (5 fills of the 50 mL cylinder)"],
        [],
        [None, "F21", None, None, "S22", None, None],
        ["bench", "start g", "left g", "°C", "start g", "left g", "°C"],
        *([b, 2.4 + b / 100, 2.0, 19.5, 2.6 + b / 100, 2.2, 20.5] for b in range(1, 5)),
    ]
    runs = ss.read_class(workbook({"all": rows}, merge={"all": ["B3:D3", "E3:G3"]})).runs
    assert len(runs) == 8
    assert sorted(set(runs["section"])) == ["F21", "S22"]
    later = runs[runs["section"] == "S22"].sort_values("group")
    assert later["initial_mass_g"].tolist() == [2.61, 2.62, 2.63, 2.64]
    assert later["temperature_c"].tolist() == [20.5] * 4
    assert later["fill_5_ml"].tolist() == [50.0] * 4
    assert later["water_volume_ml"].tolist() == [250.0] * 4


def test_two_readings_in_one_cell(text_table: Write) -> None:
    heads = ["Group", "Lime (g)", "dry / re-dry (g)", "Burette start / end (mL)"]
    rows = [heads, [1, 2.84, "2.46/2.45", "0.37 / 11.92"], [2, 2.81, "2.46 / 2.46", "2.88 / 14.33"],
            [3, 2.52, "lost", "3.81 / 14.81"], [4, 2.6, "2.2/2.19", "-"]]  # fmt: skip
    records = ss.read_class(text_table(rows))
    runs = records.runs
    assert runs["recovered_mass_g"].tolist()[:2] == [2.46, 2.46]
    assert runs["second_dry_mass_g"].tolist()[:2] == [2.45, 2.46]
    assert runs["burette_start_ml"].tolist()[:3] == [0.37, 2.88, 3.81]
    assert runs["burette_end_ml"].tolist()[:3] == [11.92, 14.33, 14.81]
    ledger = records.ledger
    assert len(ledger) == len(ledger.drop_duplicates("cell")) == 20
    assert ledger.set_index("cell").loc["D2", "raw"] == "0.37 / 11.92"


def test_a_quotient_is_no_pair(text_table: Write) -> None:
    rows = [["Group", "Initial mass (g)", "Solubility g/L"], [1, 2.5, "1.7/1.8"], [2, 2.6, "1/2"]]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["reported_solubility"].isna().all()


@pytest.mark.parametrize(
    ("written", "fills"),
    [
        ("4 fills of 50 mL", [50.0] * 4),
        ("3 times 50", [50.0] * 3),
        ("50 four times", [50.0] * 4),
        ("200 mL (4 x 50 mL)", [50.0] * 4),
        ("3 x 50 mL = 150 mL", [50.0] * 3),
        ("4 x 50.0 mL (200.0 mL total)", [50.0] * 4),
        ("100, 100, 50", [100.0, 100.0, 50.0]),
        ("100 and 50", [100.0, 50.0]),
    ],
)
def test_pours_in_words(written: str, fills: list[float], text_table: Write) -> None:
    rows = [["Group", "m0 (g)", "Water (mL)"], [1, 2.5, written], [2, 2.6, 200], [3, 2.4, 200]]
    run = ss.read_class(text_table(rows, delimiter=";")).runs.iloc[0]
    assert run[[f"fill_{n}_ml" for n in range(1, len(fills) + 1)]].tolist() == fills
    assert run["water_volume_ml"] == sum(fills)


@pytest.mark.parametrize("written", ["200 mL (3 x 50 mL)", "50, 50, 50", "100, 50", "50 2"])
def test_pours_that_are_doubted(written: str, text_table: Write) -> None:
    rows = [["Group", "m0 (g)", "Water (mL)"], [1, 2.5, written], [2, 2.6, 200], [3, 2.4, 200]]
    assert ss.read_class(text_table(rows, delimiter=";")).runs["water_volume_ml"].isna().iloc[0]


def test_every_fill_asked_for(text_table: Write) -> None:
    heading = "How much water in each cylinder fill? List every fill in mL"
    rows = [["Group", "m0 (g)", heading, "m dry (g)"], [1, 2.5, "50, 50, 49", 2.2],
            [2, 2.6, "50, 49, 50", 2.3], [3, 2.4, "50, 50", 2.2]]  # fmt: skip
    runs = ss.read_class(text_table(rows, delimiter=";")).runs
    assert runs["fill_3_ml"].tolist()[:2] == [49.0, 50.0]
    assert runs["water_volume_ml"].tolist() == [149.0, 149.0, 100.0]
    rows = [["Group", "m0 (g)", "Volume of each fill (mL)", "m dry (g)"],
            *([g, 2.5, 50, 2.2] for g in range(1, 4))]  # fmt: skip
    runs = ss.read_class(text_table(rows, name="one.csv")).runs
    assert "fill_1_ml" not in runs
    assert runs["water_volume_ml"].isna().all()


def test_fills_in_a_table_of_their_own(workbook: Write) -> None:
    sheets: dict[str, list[list[Any]]] = {
        "weighings": [["Table", "Slaked lime (g)", "Residue (g)"], ["1A", 2.588, 2.311],
                      ["1B", 2.272, 1.886], ["2A", 2.582, 2.202]],
        "water": [["Table", "fill", "mL"], ["1A", 1, 55.1], [None, 2, 54.7], ["1B", 1, 55.0],
                  [None, 2, 54.9], [None, 3, 55.2], ["2A", 1, 54.7], [None, 2, 54.9]],
    }  # fmt: skip
    runs = ss.read_class(workbook(sheets)).runs
    assert runs["group"].tolist() == ["1A", "1B", "2A"]
    assert runs["fill_1_ml"].tolist() == [55.1, 55.0, 54.7]
    assert runs["fill_3_ml"].fillna(0).tolist() == [0.0, 55.2, 0.0]
    assert runs["recovered_mass_g"].tolist() == [2.311, 1.886, 2.202]
