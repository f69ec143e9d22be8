"""Readings corrected in a column beside them, weighed several times, or replaced as a whole.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.sentences import said_by

Write = Callable[..., Path]
HEAD = ["Group", "initial mass (g)", "water (mL)", "dry solid (g)"]


def test_a_corrected_reading_counts_where_there_is_one(workbook: Write) -> None:
    head = [*HEAD, "dry solid, corrected (g)", "reason"]
    rows: list[list[Any]] = [[g, 2.5, 200, 2.1 + g / 100, None, None] for g in (1, 2, 3)]
    rows[1][3:] = [1.22, 2.12, "first digit misread"]
    records = ss.read_class(workbook({"s": [head, *rows]}))
    assert records.runs["recovered_mass_g"].tolist() == [2.11, 2.12, 2.13]
    cells = records.ledger.set_index("cell")
    assert cells.loc["D3", "outcome"] == "ignored"
    assert cells.loc["D3", "note"] == "corrected in E3"
    assert cells.loc["E3", "column"] == "recovered_mass_g"


def test_a_correction_of_a_reading_that_is_not_there_is_a_reading(workbook: Write) -> None:
    head = ["Group", "initial mass (g)", "water (mL)", "dry solid, corrected (g)"]
    runs = ss.read_class(workbook({"s": [head, *([g, 2.5, 200, 2.1] for g in (1, 2, 3))]})).runs
    assert runs["recovered_mass_g"].tolist() == [2.1] * 3


def test_the_mean_of_repeated_weighings(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Ca(OH)2 weighed (g)", None, None, None, "water (mL)", "dry solid (g)"],
        [None, "w1", "w2", "w3", "mean (= mass used)", None, None],
        *([g, 3.001, 3.002, 3.003, 3.002, 250, 2.58] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"s": rows}, merge={"s": ["B1:E1"]})).runs
    assert runs["initial_mass_g"].tolist() == [3.002] * 3


def test_a_mean_that_is_not_theirs_is_not_taken(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Ca(OH)2 weighed (g)", None, None, "water (mL)", "dry solid (g)"],
        [None, "w1", "w2", "mean", None, None],
        *([g, 3.001, 3.002, 2.9, 250, 2.58] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"s": rows}, merge={"s": ["B1:D1"]})).runs
    assert "initial_mass_g" not in runs or runs["initial_mass_g"].isna().all()


def test_first_and_last_weight(workbook: Write) -> None:
    head = ["Team", "First weight of lime / g", "Water / mL", "Last weight of lime (dry) / g"]
    runs = ss.read_class(workbook({"s": [head, *([g, 2.03, 150, 1.77] for g in (1, 2, 3))]})).runs
    assert runs["initial_mass_g"].tolist() == [2.03] * 3
    assert runs["recovered_mass_g"].tolist() == [1.77] * 3


def test_the_mixture_counts_and_not_what_the_bath_was_set_to(workbook: Write) -> None:
    head = ["Group", "Set point of bath (°C)", "Probe 1: room air (°C)", "Probe 2: water bath (°C)",
            "Probe 3: mixture at filtering (°C)", *HEAD[1:]]  # fmt: skip
    rows = [[g, 20, 21.2, 20.1, t, 2.5, 200, 2.1] for g, t in
            zip((1, 2, 3), (19.7, 20.4, "fell out"), strict=True)]  # fmt: skip
    runs = ss.read_class(workbook({"s": [head, *rows]})).runs
    assert runs["temperature_c"].tolist()[:2] == [19.7, 20.4]
    assert runs["temperature_c"].isna()[2]


def test_the_temperature_of_each_section_in_one_line(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Beaker thermometer at filtering: section 3: 19.5 °C for all; section 4: 22.0 °C."], [],
        ["Section", *HEAD], *([s, g, 2.5, 200, 2.1 + s / 100] for s in (3, 4) for g in (1, 2)),
    ]  # fmt: skip
    runs = ss.read_class(workbook({"s": rows})).runs
    assert runs["temperature_c"].tolist() == [19.5, 19.5, 22.0, 22.0]


def test_trials_behind_the_code_of_a_group(workbook: Write) -> None:
    rows = [[code, 2.5 + n / 100, 200, 2.1] for n, code in
            enumerate((1, 2, "3 essai 1", "3 essai 2", 4))]  # fmt: skip
    runs = ss.read_class(workbook({"s": [HEAD, *rows]})).runs
    assert runs["group"].tolist() == ["1", "2", "3", "3", "4"]
    assert runs["run"].tolist()[2:4] == ["1", "2"]
    assert (runs["set_aside"] == "").all()


def test_a_fifth_water_in_roman_numbers(workbook: Write) -> None:
    head = ["Group", "Solid (g)", *(f"Water {n} (mL)" for n in ("I", "II", "III", "IV", "V")),
            "Dry solid (g)"]  # fmt: skip
    runs = ss.read_class(
        workbook({"s": [head, *([g, 3, 51, 50, 49, 50, 52, 2.6] for g in (1, 2, 3))]})
    ).runs
    assert runs["fill_5_ml"].tolist() == [52] * 3
    assert runs["water_volume_ml"].tolist() == [252] * 3


def test_a_correction_that_calls_the_earlier_answer_void(workbook: Write) -> None:
    head = ["Timestamp", *HEAD, "Comments"]
    rows: list[list[Any]] = [[f"2025-03-11 10:5{g}:00", g, 2.5, 200, 2.1, None] for g in (1, 2, 3)]
    rows += [["2025-03-11 11:30:00", 3, 2.5, 200, 2.13,
              "CORRECTION - our previous answer is invalid, we misread the balance"]]  # fmt: skip
    runs = ss.read_class(workbook({"s": [head, *rows]})).runs
    kept = runs[(runs["group"] == "3") & (runs["set_aside"] == "")]
    assert kept["recovered_mass_g"].tolist() == [2.13]


def test_superseded_sheets_and_lists_of_changes_hold_no_runs(workbook: Write) -> None:
    rows = [["Section", *HEAD], *(["D", g, 2.5, 200, 2.1 + g / 100] for g in (1, 2, 3))]
    old = [["Values as handed in - SUPERSEDED"], [], *[[*r] for r in rows]]
    old[3][2] = 2.23
    log = [["No.", "Section", "Group", "Column", "Old value", "New value"],
           [1, "D", 1, "initial mass (g)", 2.23, 2.5]]  # fmt: skip
    book = {"Checked": rows, "Original (superseded)": old, "Change log": log}
    runs = ss.read_class(workbook(book)).runs
    kept = runs[runs["set_aside"] == ""]
    assert kept["group"].tolist() == ["1", "2", "3"]
    assert kept["initial_mass_g"].tolist() == [2.5] * 3


@pytest.mark.parametrize(
    ("text", "said"),
    [("Distilled water taken: 200 ml (each group).", "200 ml"),
     ("Everybody: 4 x 50 mL water", "4 x 50 mL"),
     ("Water 3 x 50 ml, mixture 23 °C in all groups.", "3 x 50 ml"),
     ("All groups: 200 mL of water (4 x 50 mL)", "4 x 50 mL")],
)  # fmt: skip
def test_one_of_several_fills_is_not_all_the_water(text: str, said: str) -> None:
    assert said_by(text, set())["water_volume_ml"] == said


@pytest.mark.parametrize(
    ("heading", "column"),
    [("HCl / mol per L", "titrant_mol_per_l"), ("We found, g in 100 ml", "reported_solubility"),
     ("Heat degree of mixture (°C)", "temperature_c")],
)  # fmt: skip
def test_headings(heading: str, column: str) -> None:
    assert understand((heading,)).column == column
