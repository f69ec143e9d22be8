"""Symbols a sheet explains itself, volumes counted from 1, lines that slipped to the side."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.headings import understand

Write = Callable[..., Path]


def test_a_legend_below_the_table(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["gp", "w_i", "Q", "t_s", "t_r", "w_f"],
        [None, "g", "mL", "min", "min", "g"],
        ["B1", 2.04, 200, 5, 15, 1.71],
        ["B2", 1.98, 199, 8, 10, 1.67],
        ["B3", 2.11, 201, 5, 15, 1.78],
        [],
        ["Legend"],
        ["w_i = Ca(OH)2 weighed out; Q = water added"],
        ["t_s = stirring time, t_r = time left to settle"],
        ["w_f = dry undissolved solid, without paper"],
    ]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["initial_mass_g"].tolist() == [2.04, 1.98, 2.11]
    assert runs["water_volume_ml"].tolist() == [200.0, 199.0, 201.0]
    assert runs["stir_min"].tolist() == [5.0, 8.0, 5.0]
    assert runs["settle_min"].tolist() == [15.0, 10.0, 15.0]
    assert runs["recovered_mass_g"].tolist() == [1.71, 1.67, 1.78]


def test_a_legend_that_gives_a_symbol_another_meaning(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["T = trial number, V = volume of filtrate titrated (mL)"],
        [],
        ["Group", "T", "V", "Initial mass (g)"],
        *([i, 1, 10.0, 2.0 + i / 100] for i in range(1, 5)),
    ]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert "temperature_c" not in runs
    assert runs["water_volume_ml"].isna().all()
    assert runs["run"].tolist() == ["1"] * 4
    assert runs["aliquot_ml"].tolist() == [10.0] * 4


def test_labels_of_a_caption_are_no_legend(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Section: Mon"], ["Solid: calcium hydroxide"], [],
        ["Group", "Section", "Solid (g)", "Residue (g)"],
        [1, "Mon", 2.04, 1.71], [2, "Mon", 1.98, 1.67], [3, "Mon", 2.11, 1.78],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["section"].tolist() == ["Mon"] * 3


@pytest.mark.parametrize("word", ["Splash {} (mL)", "{} glass, mL", "Bottle fill {} /mL"])
def test_volumes_counted_from_one_are_fills(word: str, workbook: Write) -> None:
    counts = ["1st", "2nd", "3rd"] if word.startswith("{}") else ["one", "two", "three"]
    counts = ["1", "2", "3"] if word.startswith("Splash") else counts
    heads = ["Group", "Initial mass (g)", *map(word.format, counts), "Residue (g)"]
    rows = [heads, [1, 2.04, 99, 100, 51, 1.71], [2, 1.98, 100, 100, 50, 1.67]]
    runs = ss.read_class(workbook({"Sheet1": [*rows, [3, 2.1, 98, 99, 50, 1.78]]})).runs
    assert runs["fill_3_ml"].tolist() == [51.0, 50.0, 50.0]
    assert runs["water_volume_ml"].tolist() == [250.0, 250.0, 247.0]


@pytest.mark.parametrize("word", ["Rinse {} (mL)", "Acid {} (mL)", "Aliquot {} (mL)"])
def test_volumes_of_something_else_are_none(word: str, workbook: Write) -> None:
    heads = ["Group", "Initial mass (g)", word.format(1), word.format(2), "Residue (g)"]
    rows = [heads, [1, 2.04, 99, 100, 1.71], [2, 1.98, 100, 100, 1.67], [3, 2.1, 98, 99, 1.78]]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert "fill_1_ml" not in runs
    assert runs["water_volume_ml"].isna().all()


def test_a_line_that_slipped_to_the_side_is_not_read(text_table: Write) -> None:
    heads: list[Any] = ["Group", "Temp (°C)", "Initial mass (g)", "Water (mL)", "Residue (g)"]
    rows: list[list[Any]] = [
        [i, 21.5 + i / 10, round(5 + i / 100, 2), 990 + i, round(3.3 + i / 100, 2)]
        for i in range(1, 9)
    ]
    rows[3] = [4, 5.04, 994, 3.34, ""]
    records = ss.read_class(text_table([heads, *rows]))
    assert records.runs["group"].tolist() == ["1", "2", "3", "5", "6", "7", "8"]
    ledger = records.ledger.set_index("cell")
    assert (ledger.loc[["A5", "B5", "C5", "D5"], "outcome"] == "unclear").all()


def test_honest_slips_are_no_slipped_line(text_table: Write) -> None:
    heads: list[Any] = ["Group", "Temp (°C)", "Initial mass (g)", "Water (mL)", "Residue (g)"]
    rows: list[list[Any]] = [
        [i, 21.5, round(5 + i / 100, 2), 990 + i, round(3.3 + i / 100, 2)] for i in range(1, 9)
    ]
    rows[2][3], rows[5][4] = 99.3, 33.6  # decimal points, for the slip finder
    assert len(ss.read_class(text_table([heads, *rows])).runs) == 8


def test_blanks_and_controls_are_set_aside(text_table: Write) -> None:
    heads = ["Group", "Initial mass (g)", "Water (mL)", "Residue (g)"]
    rows = [[1, 2.04, 200, 1.71], [2, 1.98, 199, 1.67], ["blank", 0.01, 200, 0.01],
            ["Control (sand)", 2.0, 200, 2.0]]  # fmt: skip
    runs = ss.read_class(text_table([heads, *rows])).runs
    assert (runs["set_aside"] != "").tolist() == [False, False, True, True]


def test_two_units_for_one_column_are_a_question() -> None:
    assert understand(("Stirring (s)", "min")).column is None
    assert understand(("Stirring (min)", "min")).column == "stir_min"


def test_a_year_makes_a_column_another() -> None:
    assert understand(("dry solid recovered by the 2024 class (g)",)).column is None


def test_symbols_that_differ_in_case_only(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["m = solid weighed out (g), M = dry undissolved solid without paper (g)"],
        ["t = stirring time (min), T = temperature of the mixture (°C), V = water added (mL)"],
        [],
        ["Group", "m", "V", "t", "T", "M"],
        *([i, 2.0 + i / 100, 200, 5 + i, 20.5, 1.6 + i / 100] for i in range(1, 5)),
    ]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["initial_mass_g"].tolist() == [2.01, 2.02, 2.03, 2.04]
    assert runs["recovered_mass_g"].tolist() == [1.61, 1.62, 1.63, 1.64]
    assert runs["stir_min"].tolist() == [6.0, 7.0, 8.0, 9.0]
    assert runs["temperature_c"].tolist() == [20.5] * 4


def test_a_code_of_the_legend_is_no_unit_in_brackets(workbook: Write) -> None:
    """G = gravity, and "(g)" in the second line of headings is grams."""
    rows: list[list[Any]] = [
        [
            "Grp",
            "Ca(OH)2 weighed out",
            "Water total",
            "Dry solid",
            "Filtration",
            "Solubility found",
        ],
        [None, "(g)", "(mL)", "(g)", "V / G", "(g/L)"],
        *([g, 2.4 + g / 100, 200, 2.06, "G", 1.7] for g in (1, 2, 3)),
        [],
        ["G = gravity, fluted paper"],
        ["V = vacuum"],
    ]
    runs = ss.read_class(workbook({"Data": rows})).runs
    assert runs["initial_mass_g"].tolist() == [2.41, 2.42, 2.43]
    assert (runs["reported_solubility"] == 1.7).all()
    assert (runs["filtration"] == "gravity").all()
