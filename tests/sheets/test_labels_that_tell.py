"""Labels, headings and codes that tell more than the name of their column, and what must not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.sheets.beam import beams
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.said_temperatures import temperatures_in
from solubility_stats.sheets.sentences import said_by

Write = Callable[..., Path]
HEADS = ["Group", "Ca(OH)2 start (g)", "Water (mL)", "Dry solid left (g)"]
ROWS: list[list[Any]] = [
    [1, 2.33, 150, 2.04], [2, 2.30, 150, 2.08], [3, 2.12, 200, 1.74], [4, 2.41, 200, 2.09],
]  # fmt: skip


def _runs(workbook: Write, rows: list[list[Any]]) -> pd.DataFrame:
    return ss.read_class(workbook({"5C": rows})).runs


def test_the_aliquot_in_the_heading_of_a_dish(workbook: Write) -> None:
    dishes = [[42.455, 42.473], [40.114, 40.132], [42.588, 42.604], [41.025, 41.046]]
    heads = [*HEADS, "10.00 mL evap: dish (g)", "dish + residue (g)"]
    runs = _runs(workbook, [heads, *(row + dish for row, dish in zip(ROWS, dishes, strict=True))])
    assert runs["evaporation_aliquot_ml"].tolist() == [10.0] * 4
    assert runs["dish_mass_g"].tolist() == [dish[0] for dish in dishes]


@pytest.mark.parametrize(
    ("heading", "certain"),
    [
        ("S by mass loss (g/100 mL)", True),
        ("S from residue (g/L)", True),
        ("S, table (g/L)", False),
        ("S from the data book (g/L)", False),
        ("Solubility from table (g/L)", False),
        ("Solubility, table (g/L)", False),
    ],
)
def test_s_is_the_solubility_of_the_group_only_where_it_says_how(
    heading: str, certain: bool
) -> None:
    assert (understand((heading,)).column == "reported_solubility") is certain


def test_a_value_from_a_book_below_the_groups_is_no_group(workbook: Write) -> None:
    rows = [[*HEADS, "g/L"], *([*row, 1.7] for row in ROWS), ["accepted", None, None, None, 1.7]]
    assert _runs(workbook, rows)["group"].tolist() == ["1", "2", "3", "4"]


@pytest.mark.parametrize(
    ("code", "group"),
    [("5 (back table)", "5"), ("5 [window]", "5"), ("4 (front)", "4 (front)"), ("5 (no 2)", None)],
)
def test_where_a_group_sat_is_not_part_of_its_code(
    workbook: Write, code: str, group: str | None
) -> None:
    runs = _runs(workbook, [HEADS, *ROWS, [code, 2.50, 200, 2.16]])
    assert runs["group"].iloc[-1] == (group or code)


def test_codes_that_all_have_a_bracket_stay_as_they_are(workbook: Write) -> None:
    rows = [[f"{row[0]} (north)", *row[1:]] for row in ROWS]
    assert _runs(workbook, [HEADS, *rows])["group"].iloc[0] == "1 (north)"


@pytest.mark.parametrize(
    ("label", "answer", "way"),
    [
        ("filtered by gravity, took forever", None, "gravity"),
        ("filtered w/ vacuum this time", None, "vacuum"),
        ("filtered under vacuum?", None, None),
        ("Vacuum filtration", None, None),
        ("filtered by vacuum / gravity", None, None),
        ("filtered by", "vacuum", "vacuum"),
    ],
)
def test_a_line_of_a_log_says_how_it_was_filtered(
    workbook: Write, label: str, answer: str | None, way: str | None
) -> None:
    rows = [
        ["what", "reading", "unit"],
        ["Ca(OH)2, tared boat", 2.09, "g"],
        ["water cylinder #1", 100, "mL"],
        ["water cylinder #2", 100, "mL"],
        ["stirred", 10, "min"],
        [label, answer, None],
        ["scraped solid off paper after drying on low heat", 1.75, "g"],
    ]
    runs = _runs(workbook, rows)
    said = runs["filtration"].iloc[0] if "filtration" in runs else None
    assert (None if pd.isna(said) else said) == way
    assert runs["initial_mass_g"].tolist() == [2.09]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("water from the big jug, 21.5 C all day", ["21.5 C"]),
        ("tap water, 21 C throughout", ["21 C"]),
        ("oven: on, 30 C all day long for the calibration", []),
    ],
)
def test_a_temperature_that_held_all_day(text: str, said: list[str]) -> None:
    assert temperatures_in(text) == said


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("1.74 (was 2.04, misread)", 1.74),
        ("1.74 g, was 2.04 g", 1.74),
        ("1.74 (war 2.04)", 1.74),
        ("1.74 (corrected from 2.04)", 1.74),
        ("1.74 (was 2.04 and 2.03)", None),
        ("1.74 (scale was 0.01 off)", None),
    ],
)
def test_a_mass_put_right_in_its_cell(workbook: Write, written: str, value: float | None) -> None:
    rows = [list(row) for row in ROWS]
    rows[2][3] = written
    read = _runs(workbook, [HEADS, *rows])["recovered_mass_g"].iloc[2]
    assert (None if pd.isna(read) else read) == value


def test_a_lone_c_is_celsius_also_beside_fills_listed_in_one_column(workbook: Write) -> None:
    heads = ["grp", "lime_in_g", "water_fills_mL", "water_total_mL", "water_C", "lime_out_dry_g"]
    pours = [("100+50", 150, 21), ("100+50", 150, 21.5), ("100+100", 200, 20), ("100+100", 200, 22)]
    rows = [
        [g, start, *poured, left] for (g, start, _, left), poured in zip(ROWS, pours, strict=True)
    ]
    runs = _runs(workbook, [heads, *rows])
    assert runs["temperature_c"].tolist() == [21, 21.5, 20, 22]
    assert runs["water_volume_ml"].tolist() == [150, 150, 200, 200]
    assert "fill_3_ml" not in runs


def test_a_third_fill_by_its_letter_stays_a_fill(workbook: Write) -> None:
    heads = ["grp", "lime_in_g", "water_A", "water_B", "water_C", "lime_out_dry_g"]
    rows = [[g, start, 50, 49.5, 50, left] for g, start, _, left in ROWS]
    assert _runs(workbook, [heads, *rows])["water_volume_ml"].tolist() == [149.5] * 4


def test_fills_that_add_up_to_more_than_the_totals_of_most_runs_are_asked_about(
    workbook: Write,
) -> None:
    heads = ["grp", "lime (g)", "fill 1 (mL)", "fill 2 (mL)", "fill 3 (mL)", "total water (mL)",
             "dry solid left (g)"]  # fmt: skip
    rows = [[g, start, 100, 50, 21, 150, left] for g, start, _, left in ROWS]
    runs = _runs(workbook, [heads, *rows])
    assert "water_volume_ml" not in runs or runs["water_volume_ml"].isna().all()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("laser went straight through, no beam in any of them", ["clear"]),
        ("Laser test: beam visible in all of them", ["visible"]),
        ("laser: beam in none of the runs", ["clear"]),
        ("no beam for all but group 3", []),
        ("Beam visible in any of them? Y/N", []),
        ("if there is a beam in all trials, filter again", []),
        ("no beam seen", []),
    ],
)
def test_a_sentence_about_the_beam_in_all_filtrates(text: str, said: list[str]) -> None:
    assert list(beams(text)) == said


def test_a_table_with_commas_whose_cells_hold_semicolons(tmp_path: Path) -> None:
    path = tmp_path / "form.csv"
    heads = ["Group", "Ca(OH)2 start (g)",
             "List each graduated cylinder fill of water (mL), separated by semicolons",
             "Dry solid left (g)"]  # fmt: skip
    rows = [[str(g), str(start), "99.0; 51.0; 50.5", str(left)] for g, start, _, left in ROWS]
    lines = (",".join(f'"{field}"' for field in row) for row in [heads, *rows])
    path.write_text("\n".join(lines), encoding="utf-8")
    runs = ss.read_class(path).runs
    assert runs["water_volume_ml"].tolist() == [200.5] * 4
    assert runs["fill_2_ml"].tolist() == [51.0] * 4


def test_what_stands_beside_no_label_tells_its_own_temperature(workbook: Write) -> None:
    rows = [["sec 11", "Th 8a", None, "water 21.5 C"], HEADS, *ROWS]
    assert _runs(workbook, rows)["temperature_c"].tolist() == [21.5] * 4


@pytest.mark.parametrize("code", ["sand ctrl", "paper blank", "control"])
def test_a_control_is_no_group(workbook: Write, code: str) -> None:
    runs = _runs(workbook, [HEADS, *ROWS, [code, 2.5, 200, 2.49]])
    live = runs[runs["set_aside"] == ""]
    assert live["group"].tolist() == ["1", "2", "3", "4"]


def test_a_wider_group_over_pairs_is_their_section(workbook: Write) -> None:
    heads = ["Binôme", "m initiale (g)", "Eau (mL)", "m solide sec (g)"]
    rows = [["Groupe A – filtration sous vide"], heads, *ROWS]
    runs = _runs(workbook, rows)
    assert runs["section"].tolist() == ["A"] * 4
    assert runs["filtration"].tolist() == ["vacuum"] * 4


def test_acid_and_aliquot_in_the_heading_of_the_titre(workbook: Write) -> None:
    heads = [*HEADS, "Titre of 25.0 cm3 filtrate, 0.0500 mol/dm3 HCl /cm3"]
    runs = _runs(workbook, [heads, *([*row, 22.5] for row in ROWS)])
    assert runs["titrant_ml"].tolist() == [22.5] * 4
    assert runs["aliquot_ml"].tolist() == [25.0] * 4
    assert runs["titrant_mol_per_l"].tolist() == [0.05] * 4


def test_how_long_it_was_heated_in_the_heading_of_the_dry_mass(workbook: Write) -> None:
    heads = [*HEADS[:3], "Dry solid, after 30 min heating (g)"]
    assert _runs(workbook, [heads, *ROWS])["dry_min"].tolist() == [30.0] * 4


def test_a_question_asked_of_those_who_dried_again(workbook: Write) -> None:
    heads = [*HEADS, "Did you dry and weigh a second time? If yes, what was the mass?"]
    answers = ["No", "Yes, 2.071 g", "No", "yes 2.085 g"]
    runs = _runs(workbook, [heads, *([*row, a] for row, a in zip(ROWS, answers, strict=True))])
    assert runs["second_dry_mass_g"].dropna().tolist() == [2.071, 2.085]


def test_trials_over_headings_are_no_names_over_groups(workbook: Write) -> None:
    heads = ["mass at start / g", "dry mass at end / g", "solubility / g dm⁻³"]
    rows: list[list[Any]] = [
        [None, "Trial 1", None, None, "Trial 2", None, None, None],
        ["Group", *heads, *heads, "Comment"],
        ["A", 2.55, 2.05, 2.0, 2.52, 2.06, 1.84, None],
        ["B", 2.44, 2.02, 1.68, 2.56, 2.10, 1.84, None],
        ["C", 2.48, 1.99, 1.96, None, None, None, "ran out of time for second trial"],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"12C": rows}, merge={"12C": ["B1:D1", "E1:G1"]})).runs
    read = runs[["group", "run", "initial_mass_g", "recovered_mass_g"]].values.tolist()
    assert read == [["A", "1", 2.55, 2.05], ["A", "2", 2.52, 2.06], ["B", "1", 2.44, 2.02],
                    ["B", "2", 2.56, 2.10], ["C", "1", 2.48, 1.99]]  # fmt: skip


def test_the_route_over_some_headings_leaves_them_what_they_are(workbook: Write) -> None:
    rows: list[list[Any]] = [
        [None, "Mass loss", None, None, "Titration", None],
        ["Pair", "Ca(OH)₂ at start /g", "water /cm³", "dry residue /g", "burette initial /cm³",
         "burette final /cm³"],
        [1, 2.853, 250, 2.454, 0.65, 23.4], [2, 2.719, 200, 2.38, 1.2, 23.95],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Wed": rows}, merge={"Wed": ["B1:D1", "E1:F1"]})).runs
    assert runs["initial_mass_g"].tolist() == [2.853, 2.719]
    assert runs["titrant_ml"].tolist() == [22.75, 22.75]


@pytest.mark.parametrize(
    ("levels", "column"),
    [
        (("paper + cake, dry (45 min)",), "recovered_with_paper_mass_g"),
        (("Trocknen bei 80 °C", "min"), "dry_min"),
        (("Vol. filtrat dosé (mL)",), "aliquot_ml"),
        (("sample of filtrate (mL)",), "aliquot_ml"),
        (("Abdampfprobe", "ml"), "evaporation_aliquot_ml"),
        (("Titration 2: buret / mL", "final"), "burette_end_ml"),
        (("mass_i_g",), "initial_mass_g"),
        (("mass_f_g",), "recovered_mass_g"),
        (("dried_to_const_mass",), "constant_mass"),
        (("HCl sol. (mol/L)",), "titrant_mol_per_l"),
        (("group sol. (mol/L)",), "reported_solubility"),
        (("Part A  Missing mass", "Ca(OH)₂ start, g"), "initial_mass_g"),
        (("time in oven (60 degrees)",), "dry_min"),
        (("volume versé à l'équivalence (mL)",), "titrant_ml"),
        (("Found /g dm-3",), "reported_solubility"),
        (("m Ca(OH)₂ pesata / g",), "initial_mass_g"),
        (("HCl – biureta koniec [cm3]",), "burette_end_ml"),
    ],
)
def test_what_headings_of_others_mean(levels: tuple[str, ...], column: str) -> None:
    assert understand(levels).column == column


def test_one_heading_over_letters_counts_fills_and_titrations(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["", "Mass / g", "", "Water from 100-mL cylinder / mL", "", "", "Titration 1: buret / mL",
         "", "Titration 2: buret / mL", ""],
        ["Pair", "Ca(OH)2", "recovered (dry)", "a", "b", "c", "initial", "final", "initial",
         "final"],
        *([g, 2.7 + g / 100, 2.3 + g / 100, 100, 50, 49, 1.37, 10.31, 10.31, 19.1]
          for g in range(1, 6)),
    ]  # fmt: skip
    records = ss.read_class(workbook({"master": rows}))
    run = records.runs.iloc[0]
    assert run[["fill_1_ml", "fill_2_ml", "fill_3_ml"]].to_list() == [100, 50, 49]
    assert run[["burette_start_ml", "burette_end_ml", "titrant_ml"]].to_list() == [
        1.37,
        10.31,
        8.94,
    ]
    ledger = records.ledger.set_index("cell")
    assert ledger.at["I3", "outcome"] == "unclear"


def test_ml_alone_beside_both_masses_is_the_water(workbook: Write) -> None:
    rows: list[list[Any]] = [["who", "g start", "mL", "g left"]]
    rows += [["a", 2.4, 200, 2.0], ["b", 2.6, "200+50", 2.2], ["c", 2.7, 240, 2.3]]
    runs = ss.read_class(workbook({"Oct": rows})).runs
    assert runs["water_volume_ml"].to_list() == [200, 250, 240]


@pytest.mark.parametrize(
    ("typed", "read"), [("2,608", 2.608), ("2,999", 2.999), ("9,120", None), ("2.608 g", 2.608)]
)
def test_a_comma_is_decided_by_the_numbers_beside(
    workbook: Write, typed: str, read: float | None
) -> None:
    rows: list[list[Any]] = [["Group", "Ca(OH)2 start (g)", "Water (mL)", "Dry solid left (g)"]]
    rows += [[g, 2.3 + g / 100, 150, 2.03 + g / 100] for g in range(1, 6)]
    rows[3][1] = typed
    run = ss.read_class(workbook({"5C": rows})).runs.set_index("group").loc["3"]
    assert (None if pd.isna(run["initial_mass_g"]) else run["initial_mass_g"]) == read


@pytest.mark.parametrize(
    ("text", "aliquot"),
    [
        ("Titration: jeweils 10,0 mL Filtrat mit Salzsäure, c(HCl) = 0,050 mol/L", "10,0 mL"),
        ("Titration: 10 ml filtrate Vs 0.05 M HCl", "10 ml"),
        ("25 mL of filtrate titrated with hydrochloric acid", "25 mL"),
        ("25 mL of acid to the filtrate", None),
    ],
)
def test_how_much_filtrate_a_sentence_says_was_titrated(text: str, aliquot: str | None) -> None:
    assert said_by(text, {"titrant_ml"}).get("aliquot_ml") == aliquot
