"""What stands once for a whole workbook, and labs kept in steps, days and halves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]


def test_a_setup_sheet_speaks_of_all_runs_and_is_none(workbook: Write) -> None:
    sheets: dict[str, list[list[Any]]] = {
        "setup": [
            ["Section", "44"],
            ["Filtration, all groups", "gravity"],
            ["Water temperature, all groups", "21.5 °C"],
            ["Acid", "0.0500 mol/L HCl"],
        ],
        "log": [
            ["group", "lime weighed (g)", "water (mL)", "dry lime (g)", "acid used (mL)"],
            [1, 2.18, 150, 1.91, 8.9],
            [2, 2.25, 150, 1.99, 8.74],
            [3, 2.3, 150, 2.04, 9.1],
        ],
    }
    runs = ss.read_class(workbook(sheets)).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["section"].tolist() == ["44"] * 3
    assert runs["temperature_c"].tolist() == [21.5] * 3
    assert runs["filtration"].tolist() == ["gravity"] * 3
    assert runs["titrant_mol_per_l"].tolist() == [0.05] * 3


def test_two_days_of_one_lab_are_one_run_each(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["MONDAY (set up)", None, None, None, "TUESDAY (weigh)", None],
        ["Group", "Powder (g)", "Water (mL)", None, "Group", "Dry powder back (g)"],
        [1, 1.97, 149.5, None, 3, 2.37],
        [2, 2.12, 149.5, None, 1, 1.71],
        [3, 2.62, 150.5, None, 2, 1.86],
    ]
    runs = ss.read_class(workbook({"Sheet": rows})).runs.sort_values("group")
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["recovered_mass_g"].tolist() == [1.71, 1.86, 2.37]
    assert runs["initial_mass_g"].tolist() == [1.97, 2.12, 2.62]


def test_halves_of_a_form_that_share_a_reading(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Grupo n.º", 2, "Turma", "10.º A"],
        ["Massa de cal (g)", "2,83", "Temp. da água (ºC)", "21,7"],
        ["Água (proveta)", "4 x 50 mL", "Água no total (mL)", 200],
        ["Massa do papel de filtro (g)", "0,89", "Papel + resíduo seco (g)", "3,40"],
        ["Vê-se o feixe do laser?", "Não", "Filtração", "por gravidade"],
    ]
    (run,) = ss.read_class(workbook({"10A": rows})).runs.to_dict("records")
    assert (run["group"], run["section"]) == ("2", "10.º A")
    assert (run["initial_mass_g"], run["recovered_with_paper_mass_g"]) == (2.83, 3.4)
    assert (run["filtration"], run["scatter"]) == ("gravity", "clear")
    assert run["water_volume_ml"] == 200.0


def test_more_headings_right_below_the_readings_of_a_card(workbook: Write) -> None:
    rows: list[list[Any]] = []
    for team, mass, left in ((1, 2.87, 2.44), (2, 2.76, 2.36)):
        rows += [
            [f"TEAM {team}"],
            ["Lime in beaker (g)", "1st pour (mL)", "2nd pour (mL)"],
            [mass, 50, 79.5],
            ["Stirred (min)", "Settled (min)", "Scraped off dry (g)"],
            [10, 15, left],
            [],
            [],
        ]
    runs = ss.read_class(workbook({"cards": rows})).runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["recovered_mass_g"].tolist() == [2.44, 2.36]
    assert runs["settle_min"].tolist() == [15.0, 15.0]


def test_trials_under_the_title_of_their_group(workbook: Write) -> None:
    rows: list[list[Any]] = [
        [None, "Ca(OH)₂ (g)", "Water (mL)", "Dry residue (g)"],
        ["Group 1: two names"],
        ["trial 1", 2.524, 197.8, 2.155],
        ["trial 2", 2.437, 201.0, 2.089],
        ["mean", None, None, 2.122],
        [],
        ["Group 2: three names"],
        ["trial 1", 2.155, 200.4, 1.799],
        ["trial 2", 2.486, 198.9, 2.136],
    ]
    runs = ss.read_class(workbook({"Results": rows})).runs
    assert list(zip(runs["group"], runs["run"], strict=True)) == [
        ("1", "1"), ("1", "2"), ("2", "1"), ("2", "2"),
    ]  # fmt: skip
    assert runs["recovered_mass_g"].tolist() == [2.155, 2.089, 1.799, 2.136]


def test_trials_side_by_side_with_blank_columns_between(workbook: Write) -> None:
    once = ["mass before (g)", "water (mL)", "mass after (g)"]
    rows: list[list[Any]] = [
        ["Pair", None, "First go", None, None, None, "Second go", None, None],
        [None, None, *once, None, *once],
        [1, None, 2.81, 200.3, 2.44, None, 2.02, 202.0, 1.67],
        [2, None, 2.65, 199.1, 2.28, None, 2.83, 199.8, 2.53],
        [3, None, 1.99, 199.4, 1.67, None, 2.9, 202.0, 2.58],
    ]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert len(runs) == 6
    keyed = runs.set_index(["group", "run"])
    assert keyed.loc[("2", "2"), "recovered_mass_g"] == 2.53
    assert keyed.loc[("3", "1"), "initial_mass_g"] == 1.99


def test_questions_numbered_in_a_form_are_no_fills(workbook: Write) -> None:
    rows: list[list[Any]] = [
        [None, "Trial 1", "Trial 2"],
        ["1. mass of Ca(OH)2, g", 2.887, 2.699],
        ["2. volume of water added, mL", 151, 299.5],
        ["3. temperature, °C", 24.5, 18.5],
        ["4. mass of solid left, g (5 - 4)", 2.643, 2.169],
    ]
    runs = ss.read_class(workbook({"Group 1": rows})).runs
    assert runs["water_volume_ml"].tolist() == [151.0, 299.5]
    assert runs["temperature_c"].tolist() == [24.5, 18.5]


def test_a_note_anywhere_speaks_of_the_runs_but_a_key_does_not(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["group", "solid used g", "water mL", "solid left g", "how", None, None],
        [1, 2.84, 149.5, 2.55, "T", None, "Room temp was 21.5 °C for all groups."],
        [2, 2.28, 150.5, 1.98, "N", None, "N = Nutsche mit Wasserstrahlpumpe, T = Trichter"],
        [3, 2.04, 150.0, 1.74, "T", None, None],
    ]
    runs = ss.read_class(workbook({"data": rows})).runs
    assert runs["temperature_c"].tolist() == [21.5] * 3
    assert runs["filtration"].tolist() == ["gravity", "vacuum", "gravity"]


@pytest.mark.parametrize(
    ("heading", "values", "column", "expected"),
    [
        ("solid", ["2.45 g", "2.51 g"], "initial_mass_g", [2.45, 2.51]),
        ("Coffee filter", ["0.96g", "0.97g"], "paper_mass_g", [0.96, 0.97]),
        ("Lime we put in", ["2.8 g", "2800 mg"], "initial_mass_g", [2.8, 2.8]),
    ],
)
def test_the_unit_behind_the_values_tells_what_a_heading_means(
    workbook: Write, heading: str, values: list[str], column: str, expected: list[float]
) -> None:
    rows: list[list[Any]] = [["Group", "water (mL)", heading, "Paper + dry lime (g)"]]
    rows += [[at, 200, value, 3.1] for at, value in enumerate(values, start=1)]
    runs = ss.read_class(workbook({"Sheet": rows})).runs
    assert runs[column].tolist() == expected
