"""What is said once and holds for many runs: per section, above a table, in a survey's columns."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.said_filtrations import filtrations
from solubility_stats.sheets.said_temperatures import temperatures_in
from solubility_stats.sheets.sentences import said_in

Write = Callable[..., Path]
Rows = list[list[Any]]
HEADS = ["section", "group", "Ca(OH)2 start (g)", "water (mL)", "dry solid left (g)", "comments"]
DATA: Rows = [
    HEADS,
    [11, 1, 2.33, 150, 2.04, None], [11, 2, 2.30, 150, 2.08, None],
    [12, 1, 2.12, 200, 1.74, None],
    [12, 2, 2.41, 200, 2.09, "vacuum line down at our hood, gravity filtered"],
    [12, 3, 2.26, 200, 1.92, "water was warmer, 24.0 C by our thermometer"],
]  # fmt: skip
SECTIONS: Rows = [
    ["section", "TA", "water T / °C", "filtration", "settling, min"],
    [11, "KL", 21.4, "gravity", 10],
    [12, "BO", 22.0, "house vacuum", 15],
]


def test_a_list_of_sections_holds_for_their_runs_unless_a_remark_says_otherwise(
    workbook: Write,
) -> None:
    runs = ss.read_class(workbook({"data": DATA, "section info": SECTIONS})).runs
    assert len(runs) == 5
    assert runs["temperature_c"].tolist() == [21.4, 21.4, 22.0, 22.0, 24.0]
    assert runs["filtration"].tolist() == ["gravity", "gravity", "vacuum", "gravity", "vacuum"]
    assert runs["settle_min"].tolist() == [10, 10, 15, 15, 15]


def test_a_list_of_other_sections_holds_for_nobody(workbook: Write) -> None:
    other = [SECTIONS[0], *([n, *row[1:]] for n, row in zip((21, 22), SECTIONS[1:], strict=True))]
    runs = ss.read_class(workbook({"data": DATA, "section info": other})).runs
    own = runs[runs["source_sheet"] == "data"]
    assert own["temperature_c"].isna().all() if "temperature_c" in own else True


def test_each_section_has_its_own_acid_where_a_blank_line_parts_it_from_its_table(
    workbook: Write,
) -> None:
    heads = ["Group", "g Ca(OH)2 used", "mL water", "g left (dry)", "mL acid"]
    runs = [[1, 2.042, 150, 1.78, 22.1], [2, 2.442, 150, 2.186, 22.8]]
    rows: Rows = [
        ["Section Tue"], ["HCl 0.0487 M   water 20.5 °C"], [], heads, *runs, [], [],
        ["Section Thu"], ["HCl 0.0512 M   water 22 °C"], [], heads, *runs,
    ]  # fmt: skip
    records = ss.read_class(workbook({"Sheet1": rows}))
    assert records.runs["titrant_mol_per_l"].tolist() == [0.0487, 0.0487, 0.0512, 0.0512]
    assert records.runs["temperature_c"].tolist() == [20.5, 20.5, 22.0, 22.0]
    assert records.ledger.set_index("cell").at["A10", "outcome"] == "used"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("water temperature Monday 71 F, Wednesday 70 F", []),
        ("Water was 20 °C on Monday and 22 °C on Tuesday", []),
        ("water 21.5 C", ["21.5 C"]),
        ("lab was 70 °F (21.1 °C)", ["70 °F"]),
    ],
)
def test_temperatures_of_several_days_hold_for_nobody(text: str, said: list[str]) -> None:
    assert temperatures_in(text)[:1] == said


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Filter funnel and paper used by every group (no pump available)", ["gravity"]),
        ("gewone trechter (geen vacuüm)", ["gravity"]),
        ("Everything was filtered by vacuum and the filter cake was not washed.", ["vacuum"]),
        ("no vacuum at bench 4, funnel and paper there", []),
    ],
)
def test_how_everybody_filtered_in_other_words(text: str, said: list[str]) -> None:
    assert list(filtrations(text)) == said


@pytest.mark.parametrize(
    ("text", "stir", "settle"),
    [
        ("Each time we stirred 10 minutes and let it stand 15 minutes.", "10 minutes",
         "15 minutes"),
        ("Stirred 10 min, then let stand 5 min before filtering.", "10 min", "5 min"),
        ("Iedereen: 5 minuten roeren, 10 minuten laten bezinken", "5 minuten", "10 minuten"),
        ("Stir 10 min and let it stand 15 min", None, None),
    ],
)  # fmt: skip
def test_two_times_in_one_sentence(text: str, stir: str | None, settle: str | None) -> None:
    found = {c: words for c, (_, words) in said_in([RawCell(1, 1, text, text)], set()).items()}
    assert (found.get("stir_min"), found.get("settle_min")) == (stir, settle)


def test_how_the_water_was_poured_stands_above_the_table(workbook: Write) -> None:
    heads = ["team", "m start/g", "m end/g", "H2O/mL"]
    rows: Rows = [
        ["50 mL cylinder filled 5 times (5 x 50 mL), unless marked"], heads,
        ["A", 2.092, 1.676, 250], ["B", 1.953, 1.526, 250], ["C", 2.136, 1.787, 200],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"wk 6": rows})).runs
    assert runs["fill_5_ml"].iloc[:2].tolist() == [50.0, 50.0]
    assert pd.isna(runs["fill_5_ml"].iloc[2])
    assert runs["water_volume_ml"].tolist() == [250, 250, 200]


@pytest.mark.parametrize(
    ("remark", "column", "value"),
    [
        ("stirred 15 min, 23 °C", "stir_min", 15.0),
        ("stirred well, water was 73 F", "temperature_c", (73 - 32) / 1.8),
        ("dried 10 min more", "dry_min", None),
        ("run 2 dried 20 min only", "dry_min", None),
        ("reheated 10 min, weighed again: 1.738 g", "second_dry_mass_g", 1.738),
        ("dried again? 1.738 g", "second_dry_mass_g", None),
        ("weighed again with the paper: 1.738 g", "second_dry_mass_g", None),
    ],
)
def test_what_nothing_but_a_remark_tells(
    workbook: Write, remark: str, column: str, value: float | None
) -> None:
    rows = [row[1:] for row in DATA[:4]]
    rows[3] = [*rows[3][:-1], remark]
    read = ss.read_class(workbook({"data": rows})).runs
    found = read[column].iloc[2] if column in read else None
    assert (None if pd.isna(found) else found) == (pytest.approx(value) if value else None)


def test_water_added_in_a_remark_leaves_the_sum_open(workbook: Write) -> None:
    heads = [
        "group",
        "Ca(OH)2 start (g)",
        "fill 1 (mL)",
        "fill 2 (mL)",
        "dry solid left (g)",
        "notes",
    ]
    rows = [[g, 2.3, 100, 50, 2.0, None] for g in (1, 2, 3)]
    rows[1][-1] = "added another 50 mL cylinder"
    water = ss.read_class(workbook({"data": [heads, *rows]})).runs["water_volume_ml"]
    assert water.isna().tolist() == [False, True, False]


def test_a_survey_with_points_beside_its_questions(text_table: Write) -> None:
    heads = ["name", "section", "section_id", "4471203: Lab group number", "1.0",
             "4471204: Mass of Ca(OH)2 weighed out, in grams", "1.0",
             "4471206: Total volume of water, in mL", "1.0",
             "4471210: Mass of dried solid, in grams", "1.0"]  # fmt: skip
    rows = [[f"Student {g}", "L-03", 20417, g, "1.0", f"2.{g}", "1.0", 200, "1.0",
             f"1.{g}", "1.0"] for g in (1, 2, 3)]  # fmt: skip
    records = ss.read_class(text_table([heads, *rows]))
    assert records.runs["group"].tolist() == ["1", "2", "3"]
    assert {*records.runs["section"]} == {"L-03"}
    assert records.runs["initial_mass_g"].tolist() == [2.1, 2.2, 2.3]
    points = records.ledger[records.ledger["raw"] == "1.0"]
    assert {*points["note"]} == {"points for the answer beside it"}


def test_cards_pasted_a_column_further_right(workbook: Write) -> None:
    labels = ["Group", "Mass of Ca(OH)2 (g)", "Water (mL)", "Stirred for (min)",
              "Temperature (°C)", "Dry solid (g)"]  # fmt: skip
    rows: Rows = []
    for group in (3, 1, 6, 2):
        readings = [group, 2.1 + group / 10, 200, 10, 21.5, 1.8 + group / 10]
        lead = [None] if group == 6 else []
        rows += [
            [*lead, "LAB CARD"],
            *([*lead, *pair] for pair in zip(labels, readings, strict=True)),
            [],
        ]
    runs = ss.read_class(workbook({"pasted": rows})).runs
    assert runs["group"].tolist() == ["3", "1", "6", "2"]
    assert runs["recovered_mass_g"].tolist() == [2.1, 1.9, 2.4, 2.0]


def test_water_by_letters_in_the_formula(workbook: Write) -> None:
    heads = ["grp #", "wt lime", "H2O a", "H2O b", "H2O c", "tot H2O", "dry wt", "dry wt #2"]
    units = [None, "g", "ml", "ml", "ml", "ml", "g", "g"]
    rows = [[g, 2.3, 49.5, 49.5, 50.5, 149.5, 2.0, 1.99] for g in (1, 2, 3)]
    runs = ss.read_class(workbook({"sec 21": [heads, units, *rows]})).runs
    assert runs["water_volume_ml"].tolist() == [149.5] * 3
    assert runs["fill_2_ml"].tolist() == [49.5] * 3
    assert runs["second_dry_mass_g"].tolist() == [1.99] * 3


def test_a_parent_over_some_headings_is_none_of_their_neighbours(workbook: Write) -> None:
    rows: Rows = [
        [None, None, "---- water, mL ----", None, None, None, "grams", None, None, None],
        ["Bench", "Ca(OH)2 used, g", "pour 1", "pour 2", "all water", "paper", "paper+solid dry",
         "solid dry", "laser", "notes"],
        [1, 2.12, 100, 50, 150, 0.88, 2.53, 1.65, "no beam seen", None],
        [2, 2.29, 100, 49, 149, 0.85, 2.64, 1.79, "saw the beam", "slow"],
        [3, 2.45, 99, 50, 149, 0.89, 2.86, 1.97, "no beam seen", None],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Mon": rows})).runs
    assert runs["paper_mass_g"].tolist() == [0.88, 0.85, 0.89]
    assert runs["scatter"].tolist() == ["clear", "visible", "clear"]
    assert runs["comment"].iloc[1] == "slow"


def test_a_group_that_a_sentence_about_all_excepts(workbook: Write) -> None:
    heads = ["Group", "Ca(OH)2 start (g)", "dry solid left (g)", "Acid added (mL)"]
    rows = [[g, 2.3, 2.0, 9.0] for g in (1, 2, 5)]
    note = (
        "HCl in the big bottle = 0.0502 mol/L (group 5 used the leftover 0.0985 mol/L). "
        "10.0 mL of filtrate each."
    )
    runs = ss.read_class(workbook({"Day 3": [[note], heads, *rows]})).runs
    assert runs["titrant_mol_per_l"].tolist() == [0.0502, 0.0502, 0.0985]
    assert runs["aliquot_ml"].tolist() == [10.0] * 3


def test_water_for_every_table_except_one(workbook: Write) -> None:
    heads = ["Table", "Started with (g)", "Left after drying (g)"]
    rows = [[t, 2.14, 1.77] for t in (1, 2, 6)]
    note = (
        "Water: two fills of the 100 mL cylinder = 200 mL for every table, "
        "except table 6 who took less"
    )
    runs = ss.read_class(workbook({"P3": [heads, *rows, [], [note]]})).runs
    assert runs["water_volume_ml"].iloc[:2].tolist() == [200, 200]
    assert runs["fill_2_ml"].iloc[:2].tolist() == [100, 100]
    assert runs[["water_volume_ml", "fill_1_ml", "fill_2_ml"]].iloc[2].isna().all()


def test_a_sheet_that_says_what_was_the_same_for_everybody(workbook: Write) -> None:
    heads = ["Bench", "Ca(OH)2 used, g", "water, mL", "solid dry, g", "notes"]
    rows: Rows = [[b, 2.3, 150, 2.0, None] for b in (1, 2, 3)]
    rows[1][-1] = "no aspirator at this bench so plain gravity funnel"
    first: Rows = [
        ["Same for everybody unless it says so in the notes:"], ["let it settle 10 min"],
        ["filter on the aspirator (vacuum), do not rinse"], ["25 min on the hot plate, setting 2"],
        ["water temperature Monday 71 F, Wednesday 70 F"],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Mon": [heads, *rows], "read me first": first})).runs
    assert runs["settle_min"].tolist() == [10] * 3
    assert runs["dry_min"].tolist() == [25] * 3
    assert runs["filtration"].tolist() == ["vacuum", "gravity", "vacuum"]
    assert "temperature_c" not in runs or runs["temperature_c"].isna().all()


def test_the_filtrate_in_every_dish_behind_the_name_of_the_step() -> None:
    text = "Evaporation: 20.0 mL of filtrate in every dish"
    found = said_in([RawCell(1, 1, text, text)], {"dish_mass_g"})
    assert found["evaporation_aliquot_ml"][1] == "20.0 mL"
