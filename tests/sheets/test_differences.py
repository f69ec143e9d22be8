"""Columns and lines that only the rest of their table explains.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.sheets.headings import understand

Write = Callable[..., Path]
LABELS = [
    "mass of solid at start (g)",
    "cylinder 1 (mL)",
    "cylinder 2 (mL)",
    "mass of dry solid (g)",
]


def test_a_difference_in_mg_is_the_solid_off_the_filter(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["All weighings in mg. Gravity funnels."],
        [],
        ["pair", "Ca(OH)2 taken", "bare filter", "filter w/ cake after heating", "difference",
         "same filter, 2nd heating", "water, cm³"],
        ["P1", 2994.9, 921.5, 3533.6, 2612.1, 3533.3, 250],
        ["P2", 2648.0, 1078.7, 3354.0, 2275.3, 3353.8, 250],
        ["P3", 2419.9, 1048.1, 3022.8, 1974.7, 3022.5, 300],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"balance": rows})).runs
    assert runs["paper_mass_g"].tolist() == pytest.approx([0.9215, 1.0787, 1.0481])
    assert runs["recovered_mass_g"].tolist() == pytest.approx([2.6121, 2.2753, 1.9747])
    assert runs["filtration"].tolist() == ["gravity"] * 3


def test_a_difference_of_something_else_is_not_taken(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["pair", "lime taken (g)", "paper (g)", "paper with dry lime (g)", "difference (g)", "mL"],
        ["P1", 2.995, 0.921, 3.533, 0.383, 250],
        ["P2", 2.648, 1.079, 3.354, 0.373, 250],
        ["P3", 2.420, 1.048, 3.023, 0.445, 300],
    ]
    runs = ss.read_class(workbook({"balance": rows})).runs
    assert "recovered_mass_g" not in runs or runs["recovered_mass_g"].isna().all()


def test_solid_alone_beside_paper_and_solid_was_recovered(workbook: Write) -> None:
    before: list[list[Any]] = [
        ["Group no.", "Solid used (g)", "First 70 (mL)", "Second 70 (mL)", "Clean paper (g)"],
        [1, 3.01, 70.2, 69.8, 1.10],
        [2, 2.68, 69.3, 70.7, 0.88],
        [3, 2.44, 70.4, 70.6, 0.80],
    ]
    after: list[list[Any]] = [
        ["Group no.", "Paper and solid (g)", "Solid alone (g)"],
        [1, 3.69, 2.59],
        [3, 2.85, 2.05],
        [2, 3.20, 2.32],
    ]
    runs = ss.read_class(workbook({"data": [*before, [], [], *after]})).runs
    assert runs["initial_mass_g"].tolist() == [3.01, 2.68, 2.44]
    assert runs["recovered_mass_g"].tolist() == [2.59, 2.32, 2.05]
    assert runs["fill_2_ml"].tolist() == [69.8, 70.7, 70.6]


def test_water_c_without_a_and_b_is_a_temperature(text_table: Write) -> None:
    head = ["team", "lime_before_g", "lime_after_g", "water_ml", "water_C"]
    rows = [head, [1, 2.48, 2.10, 250, 22], [2, 2.02, 1.80, 150, 23]]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["temperature_c"].tolist() == [22, 23]
    assert "fill_3_ml" not in runs or runs["fill_3_ml"].isna().all()


def test_water_c_behind_a_and_b_is_the_third_fill(text_table: Write) -> None:
    head = ["team", "lime_before_g", "lime_after_g", "water_A", "water_B", "water_C"]
    rows = [head, [1, 2.48, 2.10, 50, 51, 50], [2, 2.02, 1.80, 49, 50, 50]]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["fill_3_ml"].tolist() == [50, 50]


def test_signs_between_labels_and_values_are_no_run(workbook: Write) -> None:
    values: list[Any] = [2.517, 50.7, 50.1, 2.176]
    rows: list[list[Any]] = [[label, "=", v] for label, v in zip(LABELS, values, strict=True)]
    rows[3][1] = "= 3.160 - 0.984 ="
    records = ss.read_class(workbook({"Calculation": [["Group 5"], [], *rows]}))
    assert records.runs["recovered_mass_g"].tolist() == [2.176]
    assert records.runs["group"].tolist() == ["5"]


def test_remarks_beside_the_groups_of_a_turned_table_are_no_group(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Table", 1, 2, 3, "Class mean", "Notes"],
        ["Lime we started with (g)", 2.52, 2.95, 3.07, 2.847, None],
        ["Water altogether (mL)", 180.3, 178.9, 178.2, 179.1, "table 3 spilled a drop"],
        ["Lime that was left (g)", 2.21, 2.64, 2.70, 2.517, "table 2 tore the paper"],
        ["Grams dissolved per litre", 1.72, 1.73, 2.08, 1.84, None],
    ]
    runs = ss.read_class(workbook({"P4": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Dissolved per litre in g", "reported_solubility"),
        ("Dissolved, g per 100 mL", "reported_solubility"),
        ("Minutes of drying before 1st weighing", "dry_min"),
        ("same within 0.01?", "constant_mass"),
        ("Card – team", "group"),
        ("Was the mass the same after drying a second time?", "constant_mass"),
        ("bare filter", "paper_mass_g"),
        ("When you dried it again, did the mass stay constant?", "constant_mass"),
        ("Our solubility from Part 1 / g/L", "reported_solubility"),
        ("temp probe in beaker (C)", "temperature_c"),
    ],
)
def test_headings_in_everyday_words(heading: str, column: str, text_table: Write) -> None:
    said = {"reported_solubility": 1.6, "constant_mass": "Y", "group": 1, "paper_mass_g": 0.92}
    said |= {"temperature_c": 20.6, "dry_min": 20}
    rows = [
        ["lime in (g)", "water (mL)", "lime back (g)", heading],
        [2.5, 200, 2.18, said[column]],
        [2.6, 200, 2.27, said[column]],
    ]
    value = ss.read_class(text_table(rows)).runs[column][0]
    assert not pd.isna(value)


def test_a_key_that_lists_the_answers(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["M0 = mass of Ca(OH)2 at the start in mg"],
        ["C = dried to constant mass: y / n"],
        [],
        ["Grp", "M0", "C"],
        [1, 2223, "n"],
        [2, 2888, "y"],
    ]
    runs = ss.read_class(workbook({"club": rows})).runs
    assert runs["constant_mass"].tolist() == [False, True]


def test_the_code_of_a_class_is_no_temperature(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Year 12, solubility of calcium hydroxide"],
        ["Set: 12C"],
        ["Water at 19 °C throughout"],
        [],
        ["Pair", "Ca(OH)2 used / g", "Distilled water / cm³", "Dry solid recovered / g"],
        ["a", 2.55, 200, 2.19],
        ["b", 2.67, 250, 2.25],
    ]
    assert ss.read_class(workbook({"12C": rows})).runs["temperature_c"].tolist() == [19, 19]


def test_labels_then_a_title_right_above_the_trials(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Solubility of calcium hydroxide"],
        ["Section", 11],
        ["Group", 5],
        [],
        ["Table 1. Weighings"],
        ["Measurement", "Unit", "Trial 1", "Trial 2", "Trial 3", "Mean"],
        ["Mass of Ca(OH)2 before mixing", "g", 2.543, 2.479, 2.567, None],
        ["Volume of water", "mL", 200, 200, 200, None],
        ["Mass of dry Ca(OH)2 recovered", "g", 2.201, 2.156, 2.224, None],
        [],
        ["Table 2. Titration of the filtrate from each trial with 0.100 M HCl"],
        ["Measurement", "Unit", "Trial 1", "Trial 2", "Trial 3", "Mean"],
        ["Volume of filtrate titrated", "mL", 20, 20, 20, None],
        ["Volume of HCl used", "mL", 9.09, 9.03, 8.99, 9.04],
    ]
    runs = ss.read_class(workbook({"Tables": rows})).runs
    assert runs["group"].tolist() == ["5"] * 3
    assert runs["recovered_mass_g"].tolist() == [2.201, 2.156, 2.224]
    assert runs["titrant_ml"].tolist() == [9.09, 9.03, 8.99]
    assert runs["titrant_mol_per_l"].tolist() == [0.1] * 3


def test_a_column_of_uncertainties_is_no_run(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Results table, Group K"],
        ["What we measured", "Value", "Unit", "Uncertainty"],
        ["Mass of calcium hydroxide we used", 2.592, "g", "±0.001"],
        ["Total water", 250, "cm3", "±2"],
        ["Temperature of the water", 19.5, "°C", "±0.5"],
        ["Mass of dry solid, scraped off the paper", 2.207, "g", "±0.001"],
    ]
    records = ss.read_class(workbook({"Sheet1": rows}))
    assert records.runs["initial_mass_g"].tolist() == [2.592]
    assert len(records.runs) == 1


def test_the_filtrate_everybody_took_in_spanish(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Ácido: HCl 0.050 mol/L. Todos los equipos tomaron 25 mL de filtrado."],
        [],
        ["Equipo", "Masa inicial de cal (g)", "Agua (mL)", "HCl gastado (mL)"],
        [1, 2.83, 200, 23.0],
        [2, 2.44, 200, 22.5],
    ]
    runs = ss.read_class(workbook({"Datos": rows})).runs
    assert runs["aliquot_ml"].tolist() == [25, 25]
    assert runs["titrant_mol_per_l"].tolist() == [0.05, 0.05]


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Cake straight from the funnel (g)", "wet_cake_mass_g"),
        ("dry cake (g)", "recovered_mass_g"),
        ("Cake (g)", None),  # wet or dry: a person has to say
        ("dry paper and contents (g)", "recovered_with_paper_mass_g"),
        ("mass after another 10 min (g)", "second_dry_mass_g"),
        ("Sol. from residue [g/L]", "reported_solubility"),
        ("Mean dissolved, g per 100 mL", None),
    ],
)
def test_headings_that_only_their_last_words_settle(heading: str, column: str | None) -> None:
    assert understand([heading]).column == column


def test_second_below_a_volume_is_no_unit() -> None:
    assert understand(["Water added, mL", "second"]).column == "fill_2_ml"


def test_a_reason_given_for_the_filtration(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["we used gravity filtration because the pump was broken"],
        [],
        ["Group", "lime (g)", "water (mL)", "dry lime left (g)"],
        [1, 2.03, 200, 1.66],
        [2, 2.08, 200, 1.75],
    ]
    assert ss.read_class(workbook({"lab": rows})).runs["filtration"].tolist() == ["gravity"] * 2


def test_fills_written_as_products_and_sums_of_cubic_centimetres(workbook: Write) -> None:
    rows: list[list[Any]] = [
        [
            "Pair",
            "Solid taken / mg",
            "Distilled water (4 fills of the cylinder)",
            "Dried solid / mg",
        ],
        [1, 2452, "4 x 50 cm³", 2126],
        [2, 2618, "49 + 49 + 50 + 50 cm³", 2265],
    ]
    runs = ss.read_class(workbook({"Set 2": rows})).runs
    assert runs["water_volume_ml"].tolist() == pytest.approx([200, 198])
    assert runs["fill_3_ml"].tolist() == [50, 50]


def test_how_it_was_dried_with_an_aside(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Residue NOT rinsed. Dried on the hot plate (low) for 20 min."],
        [],
        [
            "Group",
            "lime (g)",
            "water (mL)",
            "dry lime left (g)",
            "dry solid after 2nd time in oven",
        ],
        [1, 2.03, 200, 1.66, 1.65],
        [2, 2.08, 200, 1.75, 1.74],
    ]
    runs = ss.read_class(workbook({"lab": rows})).runs
    assert runs["dry_min"].tolist() == [20, 20]
    assert runs["second_dry_mass_g"].tolist() == [1.65, 1.74]


def test_a_rival_that_arithmetic_moves_away_leaves_the_other(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["all masses in grams, all volumes in mL"],
        [],
        ["Grp #", "m solid", "pour 1", "pour 2", "clean filter paper", "paper + dry solid",
         "solid only"],
        [1, 2.625, 99.5, 100.5, 0.883, 3.172, 2.289],
        [2, 2.901, 100.5, 100.0, 0.882, 3.415, 2.533],
        [3, 2.554, 99.5, 99.5, 0.867, 3.122, 2.255],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"pooled": rows})).runs
    assert runs["initial_mass_g"].tolist() == [2.625, 2.901, 2.554]
    assert runs["recovered_mass_g"].tolist() == [2.289, 2.533, 2.255]


def test_the_strength_far_beside_its_label(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["HCl used for all titrations:", None, None, "0.0500 mol/L"],
        ["Filtrate pipetted for titration:", None, None, "25.00 mL"],
        [],
        ["Station", "Lime taken (g)", "Distilled water (mL)", "HCl delivered (mL)"],
        [1, 2.651, 225, 22.52],
        [2, 2.551, 225, 22.40],
    ]
    runs = ss.read_class(workbook({"Unit 2": rows})).runs
    assert runs["titrant_mol_per_l"].tolist() == [0.05, 0.05]
    assert runs["titrant_ml"].tolist() == [22.52, 22.40]


def test_questions_numbered_with_letters() -> None:
    assert understand(["2b. Second cylinder of water, mL"]).column == "fill_2_ml"
    assert understand(["5a. Mass of filter paper before use, g"]).column == "paper_mass_g"


def test_a_numbered_fill_in_german() -> None:
    assert understand(["Wasser 2. Zylinderfüllung"]).column == "fill_2_ml"
