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
    ],
)
def test_pours_in_words(written: str, fills: list[float], text_table: Write) -> None:
    rows = [["Group", "m0 (g)", "Water (mL)"], [1, 2.5, written], [2, 2.6, 200], [3, 2.4, 200]]
    run = ss.read_class(text_table(rows, delimiter=";")).runs.iloc[0]
    assert run[[f"fill_{n}_ml" for n in range(1, len(fills) + 1)]].tolist() == fills
    assert run["water_volume_ml"] == sum(fills)


@pytest.mark.parametrize("written", ["200 mL (3 x 50 mL)", "50, 50, 50", "100, 100, 50", "50 2"])
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


def test_trials_in_the_headings_as_t1_and_t2(text_table: Write) -> None:
    heads = ["Group", "Start mass T1", "Water T1", "End mass (dry) T1", "Start mass T2", "Water T2",
             "End mass (dry) T2"]  # fmt: skip
    rows = [heads, [1, "2.13 g", "200mL", "1.77 g", "2.11 g", "200 mL", "1.72g"],
            [2, "2.81 g", "0.25 L", "2.33 g", "not done", "", ""],
            [3, "2.03 g", "300mL", "1.48g", "2.03 g", "300mL", "1.51 g"]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["run"].tolist() == ["1", "2", "1", "1", "2"]
    assert runs["recovered_mass_g"].tolist() == [1.77, 1.72, 2.33, 1.48, 1.51]
    assert "second_dry_mass_g" not in runs


def test_experiments_side_by_side_under_merged_headings(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Experiment 1", None, None, "Experiment 2", None, None],
        [None, *["Mass of lime used (g)", "Volume of water (cm³)", "Mass of dry residue (g)"] * 2],
        *([g, 2.0 + g / 100, 100, 1.8, 2.1 + g / 100, 200, 1.7] for g in range(1, 5)),
    ]  # fmt: skip
    runs = ss.read_class(
        workbook({"4 East": rows}, merge={"4 East": ["A1:A2", "B1:D1", "E1:G1"]})
    ).runs
    assert runs["run"].tolist() == ["1", "2"] * 4
    assert runs["water_volume_ml"].tolist() == [100.0, 200.0] * 4


def test_ditto_marks_repeat_what_stands_above(text_table: Write) -> None:
    rows = [["Team", "try", "m0 (g)", "Water (mL)", "m dry (g)", "T (°C)"],
            ["red", 1, 2.63, 250, 2.18, 23.5], ["″", 2, 2.62, "ditto", 2.23, "″"],
            ["blue", 1, 2.41, 200, 2.05, 22.5], ["″", 2, 2.19, 250, 1.67, 23.0]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["group"].tolist() == ["red", "red", "blue", "blue"]
    assert runs["water_volume_ml"].tolist() == [250.0, 250.0, 200.0, 250.0]
    assert runs["temperature_c"].tolist() == [23.5, 23.5, 22.5, 23.0]


def test_a_sheet_that_explains_codes_and_symbols(workbook: Write) -> None:
    sheets: dict[str, list[list[Any]]] = {
        "data": [["grp", "m_in", "filt", "m_left", "beam"],
                 *([g, 2.0 + g / 100, "B" if g % 2 else "F", 1.7, "C"] for g in range(1, 5))],
        "key": [["m_in", "solid weighed out, g"], ["m_left", "dried solid without paper, g"],
                ["filt", "B = Büchner (vacuum), F = fluted paper (gravity)"],
                ["Beam: C = no beam seen in filtrate, B = beam seen"]],
    }  # fmt: skip
    records = ss.read_class(workbook(sheets))
    runs = records.runs
    assert runs["filtration"].tolist() == ["vacuum", "gravity"] * 2
    assert runs["scatter"].tolist() == ["clear"] * 4
    assert runs["initial_mass_g"].tolist() == [2.01, 2.02, 2.03, 2.04]
    assert len(records.ledger) == 25 + 7


def test_answers_behind_a_code_are_no_summary(text_table: Write) -> None:
    rows = [["Group", "m0 (g)", "m dry (g)", "strange question"],
            *([g, 2.0 + g / 100, 1.7, "n" if g % 2 else "y"] for g in range(1, 6))]  # fmt: skip
    assert len(ss.read_class(text_table(rows)).runs) == 5


def test_batches_side_by_side_in_another_order(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Batch", "Lime taken (g)", "Dry residue (g)", None, "Batch", "Burette initial (mL)",
         "Burette final (mL)"],
        ["B1", 2.25, 1.91, None, "B1", 0.0, 8.7], ["B2", 2.48, 2.07, None, "B2", 8.4, 17.3],
        ["B3", 2.75, 2.47, None, "B4", 8.1, 17.5], ["B4", 2.91, 2.48, None, "B3", 0.2, 9.1],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["group"].tolist() == ["B1", "B2", "B3", "B4"]
    assert runs["burette_end_ml"].tolist() == [8.7, 17.3, 9.1, 17.5]


def test_a_form_below_a_table_without_groups_is_no_run_of_it(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["lime g", "paper g", "paper+dry lime g", "water mL"], [2.15, 0.87, 2.69, 200],
        ["Sent from my phone"], [], ["From: group 3"], [None, "1st try", "2nd try"],
        ["Lime in (grams)", 2.39, 2.55], ["Lime back, dry (grams)", 2.0, 2.12],
    ]  # fmt: skip
    records = ss.read_class(workbook({"pasted": rows}))
    assert records.runs["paper_mass_g"].tolist() == [0.87]
    below = records.ledger.set_index("cell").loc[["B7", "C8"], "outcome"]
    assert (below == "unclear").all()


def test_titles_and_blanks_among_the_labels_of_groups_side_by_side(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Solubility of lime: bench results"],
        [],
        [None, "Bench 1", "Bench 2", "Bench 3", "Class av."],
        ["WEIGHING"],
        ["Ca(OH)2 taken (g)", 2.09, 2.92, 2.85, 2.62],
        ["Paper (g)", 1.02, 0.99, 1.03, 1.01],
        [],
        ["WATER"],
        ["Volume of water (mL)", 250, 200, 200, 216.7],
        ["Water temperature (°C)", 21, 22.6, 21.5, 21.7],
        [],
        ["AFTER FILTERING"],
        ["Paper + dried solid (g)", 2.65, 3.59, 3.57, 3.27],
        ["Laser through filtrate", "not visible", "visible", "not visible"],
    ]
    runs = ss.read_class(workbook({"Thursday": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["initial_mass_g"].tolist() == [2.09, 2.92, 2.85]
    assert runs["water_volume_ml"].tolist() == [250.0, 200.0, 200.0]
    assert runs["recovered_with_paper_mass_g"].tolist() == [2.65, 3.59, 3.57]
    assert runs["scatter"].tolist() == ["clear", "visible", "clear"]


def test_one_answer_explained_in_the_heading_explains_the_other(text_table: Write) -> None:
    heads = ["Group", "Lime (g)", "Residue (g)", "Suction filtration (yes/no, no = gravity)"]
    rows = [heads, ["B1", 2.8, 2.4, "yes"], ["B2", 2.7, 2.3, "no"], ["B3", 2.6, 2.2, "maybe"]]
    records = ss.read_class(text_table(rows))
    assert records.runs["filtration"].tolist()[:2] == ["vacuum", "gravity"]
    assert records.runs["filtration"].isna().tolist() == [False, False, True]


@pytest.mark.parametrize(("first", "last"), [("first reading", "last reading"), ("1st", "2nd")])
def test_burettes_read_first_and_last(first: str, last: str, text_table: Write) -> None:
    heads = ["Group", "Lime (g)", "Residue (g)", f"Burette {first} (mL)", f"Burette {last} (mL)"]
    runs = ss.read_class(text_table([heads, ["1", 2.8, 2.4, 0.95, 13.2]])).runs
    assert runs.loc[0, ["burette_start_ml", "burette_end_ml"]].tolist() == [0.95, 13.2]


def test_one_group_written_in_three_ways(text_table: Write) -> None:
    heads = ["Section", "Group", "Lime (g)", "Residue (g)", "Anything unusual?"]
    rows = [heads, ["011", "1", 2.8, 2.4, ""], ["011", "#2", 2.7, 2.3, ""],
            ["011", "Group 2", 2.6, 2.2, "resubmitting, typo in my first one"],
            ["012", "No. 2", 2.5, 2.1, ""]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["group"].tolist() == ["1", "2", "2", "2"]
    assert [bool(why) for why in runs["set_aside"].fillna("")] == [False, True, False, False]


def test_a_card_with_two_lists_of_labels_is_one_run(workbook: Write) -> None:
    rows: list[list[Any]] = [["RESULT CARDS"], []]
    for group, taken, left in (("1", 2.801, 2.441), ("2", 2.675, 2.352)):
        rows += [
            ["GROUP NO:", group, None, "Date:", "12/02", None],
            ["Mass of slaked lime weighed", taken, "g", "Temperature of water", 29.6, "°C"],
            ["Total water measured in", 200, "ml", "Stirring time", 15, "minutes"],
            ["Standing time before filtering", 20, "minutes", "Time on sand bath", 30, "minutes"],
            ["Filtration by:", "gravity", None, "Residue scraped, dry", left, "g"],
            [],
        ]
    runs = ss.read_class(workbook({"CARDS": rows})).runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["recovered_mass_g"].tolist() == [2.441, 2.352]
    assert runs["stir_min"].tolist() == [15.0, 15.0]
    assert runs["dry_min"].tolist() == [30.0, 30.0]


def test_titles_over_the_halves_of_a_table(workbook: Write) -> None:
    rows: list[list[Any]] = [
        [None, "before", None, None, "after", None],
        ["Lab group", "mass of lime (g)", "1st cylinder (mL)", "2nd", "dry filter paper (g)",
         "filter paper and dried lime (g)"],
        ["Red", 2.72, 99.2, 98.4, 0.85, 3.22], ["Blue", 2.48, 98.8, 99.2, 0.97, 3.09],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"P4": rows}, merge={"P4": ["B1:D1", "E1:F1"]})).runs
    assert runs["initial_mass_g"].tolist() == [2.72, 2.48]
    assert runs["fill_2_ml"].tolist() == [98.4, 99.2]
    assert runs["paper_mass_g"].tolist() == [0.85, 0.97]
    assert runs["recovered_with_paper_mass_g"].tolist() == [3.22, 3.09]


def test_pours_side_by_side_on_a_card_are_its_fills(workbook: Write) -> None:
    rows: list[list[Any]] = [["Bench cards, typed from the paper ones"], []]
    for group, pours in (("1", ["50.5 mL", "49.8 mL", "49.5 mL"]), ("2", ["50 mL", "49.5 mL"])):
        rows += [
            [f"Group {group}"],
            ["solid at start", "2.778 g"],
            ["water", *pours],
            ["thermometer", "20.7 °C"],
            ["left to settle", "20 min"],
            ["paper by itself", "0.828 g"],
            ["paper with dry solid", "3.229 g"],
            [],
        ]
    records = ss.read_class(workbook({"cards": rows}))
    runs = records.runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs.loc[0, ["fill_1_ml", "fill_2_ml", "fill_3_ml"]].tolist() == [50.5, 49.8, 49.5]
    assert runs.loc[1, ["fill_1_ml", "fill_2_ml"]].tolist() == [50.0, 49.5]
    assert runs["water_volume_ml"].tolist() == [149.8, 99.5]
    assert runs["settle_min"].tolist() == [20.0, 20.0]
    poured = records.ledger[records.ledger["column"].str.startswith("fill_")]
    assert poured["outcome"].eq("used").all()
    assert len(poured) == 5
