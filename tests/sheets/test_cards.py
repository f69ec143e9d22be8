"""Cards with labels above their values, forms with a row of portions, two labels on a line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]


def blocks(group: object, lime: object, pours: list[object], *more: object) -> list[list[Any]]:
    return [
        ["Solubility of slaked lime"],
        ["Group", group, "Section", "Tu-2"],
        [],
        ["Lime, weighed out", "Filter paper, dry", "Paper + lime, after drying"],
        [lime, *more[:2]],
        [],
        ["Water poured in, by measuring cylinder (mL)"],
        ["1st", "2nd", "3rd", "4th", "all together"],
        pours,
        [],
        ["Stirring", "Filtration (vacuum / gravity)", "Remarks"],
        more[2:] and [*more[2:]],
        [],
    ]


FILLED = ("0.895 g", "3.171 g", "15 min", "gravity", "none")


def test_labels_above_their_values_in_several_blocks(workbook: Write) -> None:
    one = blocks(1, "2.594 g", [100, 50, 50, None, 200], *FILLED)
    two = blocks(2, "2.947 g", [50, 50, 50, 50, 200], *FILLED)
    blank = blocks(None, None, [], *())
    records = ss.read_class(workbook({"bench 1": one, "bench 2": two, "blank card": blank}))
    runs = records.runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["section"].tolist() == ["Tu-2", "Tu-2"]
    assert runs["initial_mass_g"].tolist() == [2.594, 2.947]
    assert runs["paper_mass_g"].tolist() == [0.895, 0.895]
    assert runs["recovered_with_paper_mass_g"].tolist() == [3.171, 3.171]
    assert runs["water_volume_ml"].tolist() == [200.0, 200.0]
    assert runs["fill_2_ml"].tolist() == [50.0, 50.0]
    assert runs["stir_min"].tolist() == [15.0, 15.0]
    assert runs["filtration"].tolist() == ["gravity", "gravity"]
    ledger = records.ledger.set_index(["sheet", "cell"])
    assert ledger.loc[("bench 1", "A5"), "outcome"] == "used"
    assert len(records.ledger) == sum(
        cell is not None for rows in (one, two, blank) for row in rows for cell in row
    )


def test_a_total_that_says_a_fill_is_missing(workbook: Write) -> None:
    rows = blocks(1, "2.594 g", [100, 50, None, None, 250], *FILLED)
    records = ss.read_class(workbook({"bench 1": rows}))
    (run,) = records.runs.to_dict("records")
    assert (run["fill_1_ml"], run["fill_2_ml"]) == (100.0, 50.0)
    assert pd.isna(run["water_volume_ml"])
    assert "water_volume_ml" in records.flags["column"].tolist()


def test_what_a_book_says_is_of_no_run(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", 1],
        [],
        ["Lime, weighed out", "Water (mL)", "Dry residue"],
        ["2.594 g", 200, "2.27 g"],
        [],
        ["Literature value (g/L)", "Water temperature (°C)"],
        [1.73, 20],
    ]
    (run,) = ss.read_class(workbook({"bench 1": rows})).runs.to_dict("records")
    assert (run["initial_mass_g"], run["recovered_mass_g"]) == (2.594, 2.27)
    for column in ("temperature_c", "reported_solubility"):
        assert column not in run or pd.isna(run[column]), column


def test_two_units_of_one_value_are_not_settled(workbook: Write) -> None:
    rows = form(2.5749, "mg")
    rows[6][0] = "Mass of Ca(OH)2 weighed out (g)"
    (run,) = ss.read_class(workbook({"Grp 4": rows})).runs.to_dict("records")
    assert "initial_mass_g" not in run or pd.isna(run["initial_mass_g"])
    assert run["paper_mass_g"] == 1.0183


def test_such_cards_below_one_another(workbook: Write) -> None:
    rows: list[list[Any]] = []
    for group in (1, 2, 3, 4):
        rows += blocks(group, "2.594 g", [100, 50, 50 if group != 3 else None], *FILLED)
    records = ss.read_class(workbook({"cards": rows}))
    runs = records.runs
    assert runs["group"].tolist() == ["1", "2", "3", "4"]
    assert runs["initial_mass_g"].tolist() == [2.594] * 4
    assert runs["water_volume_ml"].tolist()[:2] == [200.0, 200.0]
    assert pd.isna(runs["water_volume_ml"][2])  # the others have a third fill


def test_units_on_a_line_of_their_own(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", 5],
        ["Lime weighed out", "Water", "Temperature"],
        ["mg", "mL", "°C"],
        [2594, 200, 21.5],
        ["Stirring", "Dry residue"],
        ["min", "g"],
        [12, 2.27],
    ]
    (run,) = ss.read_class(workbook({"card": rows})).runs.to_dict("records")
    assert run["group"] == "5"
    assert run["initial_mass_g"] == pytest.approx(2.594)
    assert (run["water_volume_ml"], run["temperature_c"]) == (200.0, 21.5)
    assert (run["stir_min"], run["recovered_mass_g"]) == (12.0, 2.27)


def form(mass: float, unit: str, remark: str | None = None) -> list[list[Any]]:
    return [
        ["Experiment 6: How soluble is slaked lime?"],
        [],
        ["Section", "L07", None, "Group", 4],
        ["Partners (initials)", "A.M. / K.T.", None, remark],
        [],
        ["A.  Saturating the water"],
        ["Mass of Ca(OH)2 weighed out", mass, unit],
        ["Portions of water, 100-mL cylinder", "1st", "2nd", "3rd", "total"],
        [None, 99.5, 100.5, None, 200, "mL"],
        ["Stirring time", 10, "min"],
        ["Filter paper alone", 1.0183, "g"],
        ["Filter paper + dried residue", 3.2084, "g"],
        ["Solubility we report", 0.155, "g / 100 mL"],
    ]


def test_a_form_with_a_row_of_portions(workbook: Write) -> None:
    sheets = {"Grp 4": form(2574.9, "mg"), "Grp 4 (2)": form(2.5293, "g", "second run, next week")}
    runs = ss.read_class(workbook(sheets)).runs
    assert runs["group"].tolist() == ["4", "4"]
    assert runs["section"].tolist() == ["L07", "L07"]
    assert runs["set_aside"].tolist() == ["", ""]
    assert runs["run"].fillna("").astype(str).tolist()[1] == "2"
    assert runs["initial_mass_g"].tolist() == pytest.approx([2.5749, 2.5293])
    assert runs["fill_1_ml"].tolist() == [99.5, 99.5]
    assert runs["water_volume_ml"].tolist() == [200.0, 200.0]
    assert runs["reported_unit"].tolist() == ["g / 100 mL", "g / 100 mL"]


def test_a_paper_weighed_twice_is_no_fill_and_not_read(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", 1],
        [],
        ["Lime, weighed out", "Water (mL)", "Dry residue"],
        ["2.594 g", 200, "2.27 g"],
        [],
        ["Filter paper (g)"],
        ["1st", "2nd", "3rd"],
        [0.91, 0.93, 0.92],
    ]
    records = ss.read_class(workbook({"bench 1": rows}))
    (run,) = records.runs.to_dict("records")
    assert (run["initial_mass_g"], run["water_volume_ml"]) == (2.594, 200.0)
    assert run["recovered_mass_g"] == 2.27
    assert "paper_mass_g" not in run or pd.isna(run["paper_mass_g"])
    assert "fill_1_ml" not in run or pd.isna(run["fill_1_ml"])
    ledger = records.ledger.set_index("cell")
    assert ledger.loc["A8", "outcome"] == "unclear"


def test_two_labels_on_each_line_of_cards_below_one_another(workbook: Write) -> None:
    rows: list[list[Any]] = [["One card per group, fill in the yellow bits."], []]
    for group, dish in zip("ABCG", (43.771, 48.192, 40.421, 50.543), strict=True):
        rows += [
            ["Group", group, "Class", "12CHE2"],
            ["Slaked lime (g)", 2.54, "Water (mL)", "2 x 100"],
            ["Water temp (°C)", 18, "Filtered with", "gravity"],
            ["Dried solid, no paper (g)", 2.22, "Stirred (min)", 5, "lovely powder this time"],
            ["Filtrate into basin (mL)", 20, "Laser", "visible"],
            ["Basin, empty (g)", dish, "Basin + white crust (g)", dish + 0.032],
            [],
        ]
    runs = ss.read_class(workbook({"Cards": rows})).runs
    assert runs["group"].tolist() == ["A", "B", "C", "G"]  # no units of anything
    assert runs["section"].tolist() == ["12CHE2"] * 4
    assert runs["dish_mass_g"].tolist() == [43.771, 48.192, 40.421, 50.543]
    assert runs["dish_residue_mass_g"].tolist() == pytest.approx([43.803, 48.224, 40.453, 50.575])
    assert runs["water_volume_ml"].tolist() == [200.0] * 4


def test_cards_beside_one_another_keep_apart(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group 1", None, None, "Group 2"],
        ["how much lime", "2.45 g", None, "lime weighed out", "2.48 g"],
        ["water", "199 mL", None, "water total", "200 mL"],
        ["dry residue", "2.14 g", None, "residue, dried", "2.16 g"],
        ["temp", "20 °C", None, "water temp", "21 °C"],
    ]
    runs = ss.read_class(workbook({"cards": rows})).runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["initial_mass_g"].tolist() == [2.45, 2.48]
    assert runs["water_volume_ml"].tolist() == [199.0, 200.0]


def test_tables_of_several_runs_stay_tables(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Lime (g)", "Water (mL)"],
        [1, 2.51, 200],
        [2, 2.62, 250],
        [],
        ["Group", "Stirred (min)", "Dry residue (g)"],
        [1, 10, 2.18],
        [2, 15, 2.21],
    ]
    runs = ss.read_class(workbook({"class": rows})).runs
    assert runs["initial_mass_g"].dropna().tolist() == [2.51, 2.62]
    assert runs["recovered_mass_g"].dropna().tolist() == [2.18, 2.21]
    assert set(runs["source_cells"]) == {"A2:C2", "A3:C3", "A6:C6", "A7:C7"}
