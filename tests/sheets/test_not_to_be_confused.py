"""What a hasty reader confuses: nominal and measured, room and mixture, plans, last year, benches.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.no_results import sheets_of_others
from solubility_stats.sheets.sentences import said_by

Write = Callable[..., Path]
HEAD = ["Group", "initial mass (g)", "water (mL)", "dry solid (g)"]


def lines(groups: tuple[object, ...] = (1, 2, 3)) -> list[list[Any]]:
    return [[g, round(2.4 + n / 100, 2), 200, 2.1] for n, g in enumerate(groups, start=1)]


def counted(records: Any) -> Any:
    return records.runs[records.runs["set_aside"] == ""]


def test_sheets_that_another_sheet_calls_a_plan_or_last_year(workbook: Write) -> None:
    about = ['Only the sheet "2026 data" holds this class.',
             '"2025 data" is last year, "Plan" is what I intended.']  # fmt: skip
    names = ["Plan", "2025 data", "2026 data"]
    assert sheets_of_others(about, names).keys() == {"Plan", "2025 data"}
    assert sheets_of_others(about[1:], names).keys() == {"Plan", "2025 data"}
    assert sheets_of_others(['See "Plan" and "2025 data" for more.'], names) == {}
    sheets: dict[str, list[list[Any]]] = {"Read me": [[t] for t in about]}
    sheets |= {name: [HEAD, *lines()] for name in names}
    runs = counted(ss.read_class(workbook(sheets)))
    assert set(runs["source_sheet"]) == {"2026 data"}


@pytest.mark.parametrize("code", ["Vorjahr Gr. 1", "last year team 2", "staff", "my practice run"])
def test_a_line_of_nobody_in_this_class(workbook: Write, code: str) -> None:
    runs = counted(ss.read_class(workbook({"s": [HEAD, *lines((1, 2, 3, code))]})))
    assert runs["group"].tolist() == ["1", "2", "3"]


def test_the_room_once_and_the_mixture_of_each_trial(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Groupe", "temp. salle", *["Essai 1", None, None] * 1, "Essai 2", None, None],
        [None, None, *["masse pesée", "masse sèche", "temp. du mélange"] * 2],
        [None, "°C", *["g", "g", "°C"] * 2],
        *([g, 24, 2.5, 2.1, 20.4, 2.51, 2.12, 20.9] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"s": rows}, merge={"s": ["C1:E1", "F1:H1"]})).runs
    assert set(runs["temperature_c"]) == {20.4, 20.9}


def test_the_beaker_at_filtering_and_not_the_air(workbook: Write) -> None:
    head = ["Group", "Air / °C", "Beaker at filtering / °C", *HEAD[1:]]
    rows = [[g, 24.6, 22.1, 2.5, 200, 2.1] for g in (1, 2, 3)]
    assert (
        ss.read_class(workbook({"s": [head, *rows]})).runs["temperature_c"].tolist() == [22.1] * 3
    )


def test_a_log_with_the_bench_beside_the_group(text_table: Callable[..., Path]) -> None:
    items = [("solid weighed out", 2.5, "g"), ("water fill 1", 100, "mL"),
             ("room temperature", 24.0, "°C"), ("mixture temperature", 20.5, "°C"),
             ("dry residue", 2.1, "g")]  # fmt: skip
    rows: list[list[Any]] = [[10 - g, g, what, value, unit, "ok"] for g in (1, 2, 3)
                             for what, value, unit in items]  # fmt: skip
    rows[4][3:] = [2.6, "g", "void - not dry yet"]
    rows.append([9, 1, "dry residue", 2.12, "g", "ok"])
    head = ["bench", "group", "quantity", "reading", "unit", "status"]
    runs = ss.read_class(text_table([head, *rows])).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["temperature_c"].tolist() == [20.5] * 3
    assert runs["recovered_mass_g"].tolist() == [2.12, 2.1, 2.1]


def test_the_standardised_acid_and_not_its_label(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["HCl: label says 0.05 mol/L; standardised against carbonate: 0.0487 mol/L."], [],
        ["Titration of 25.00 mL of the filtrate"],
        ["Group", "burette start (mL)", "burette end (mL)"], *([g, 0.5, 24.1] for g in (1, 2, 3)),
    ]  # fmt: skip
    runs = ss.read_class(workbook({"s": rows})).runs
    assert runs["titrant_mol_per_l"].tolist() == [0.0487] * 3


def test_handed_in_and_corrected_below_one_name(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Initial solid (g)", None, "Total water (mL)", None, "Dry solid (g)", None],
        [None, *["handed in", "corrected"] * 3],
        [1, 2.696, None, 200.2, None, 2.361, None],
        [2, 2.7, 2.672, 50, 198.8, 2.338, None],
        [3, 2.681, None, 199, None, 3.9, "cannot be recovered"],
    ]
    runs = ss.read_class(workbook({"s": rows}, merge={"s": ["B1:C1", "D1:E1", "F1:G1"]})).runs
    assert runs["initial_mass_g"].tolist() == [2.696, 2.672, 2.681]
    assert runs["water_volume_ml"].tolist() == [200.2, 198.8, 199]
    assert runs["recovered_mass_g"].tolist()[:2] == [2.361, 2.338]
    assert runs["recovered_mass_g"].isna()[2]


def test_paper_below_a_title_for_what_came_back(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Ca(OH)2", None, "Water", "Recovered", None, None],
        [None, "target", "weighed", "total", "paper", "paper + solid, dry", "solid"],
        [None, "g", "g", "mL", "g", "g", "g"],
        *([g, 2.5, 2.48, 199, 0.9, 3.05, 2.15] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"s": rows}, merge={"s": ["B1:C1", "E1:G1"]})).runs
    assert runs["initial_mass_g"].tolist() == [2.48] * 3
    assert runs["paper_mass_g"].tolist() == [0.9] * 3
    assert runs["recovered_with_paper_mass_g"].tolist() == [3.05] * 3


def test_solid_beside_residue_is_what_went_in(text_table: Callable[..., Path]) -> None:
    rows = [["group", "solid", "water", "residue"], *([g, 2.5, 200, 2.1] for g in (1, 2, 3))]
    runs = ss.read_class(text_table([["Masses in g"], [], *rows])).runs
    assert runs["initial_mass_g"].tolist() == [2.5] * 3


def test_a_written_total_beside_a_blank_fill(workbook: Write) -> None:
    head = ["Group", "initial mass (g)", "fill 1 (mL)", "fill 2 (mL)", "total water (mL)",
            "dry solid (g)"]  # fmt: skip
    rows: list[list[Any]] = [[g, 2.5, 100, 99, 199, 2.1] for g in (1, 2, 3, 4)]
    rows[1][2] = None
    rows[2][2:5] = [None, 99, 120]  # no total of two such fills
    records = ss.read_class(workbook({"s": [head, *rows]}))
    volumes = records.runs["water_volume_ml"]
    assert volumes[1] == 199
    assert volumes.isna()[2]
    assert "incomplete" in set(records.flags.query("run_id == '2'")["flag"])


def test_attempts_beside_a_status(text_table: Callable[..., Path]) -> None:
    head = ["Bench", "Attempt", "Status", "Mass of Ca(OH)2 taken", "Total volume of water",
            "Mass of dry residue"]  # fmt: skip
    rows = [[g, 1, "Finished", "2.5 g", "250 ml", "2.1 g"] for g in (1, 2, 3)]
    rows[2][2:4] = ["Superseded by attempt 2", "25.1 g"]
    rows.append([3, 2, "Finished", "2.51 g", "250 ml", "2.1 g"])
    runs = counted(ss.read_class(text_table([head, *rows])))
    assert runs["initial_mass_g"].tolist() == [2.5, 2.5, 2.51]


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [("Section 21 (Mon) - vacuum. Fills in mL, 50 mL cylinder", "filtration", "vacuum"),
     ("All sections: 45 min in the 110 C oven, then cool and weigh.", "dry_min", "45 min"),
     ("their own mixture read 26.0 C, near the window", "temperature_c", "26.0 C"),
     ("Almal het met die vakuumpomp gefiltreer", "filtration", "vacuum")],
)  # fmt: skip
def test_what_a_line_says_of_all(text: str, column: str, said: str) -> None:
    assert said_by(text, set())[column] == said


def test_what_everybody_pipetted_into_the_dish() -> None:
    text = "Mon class: filtrate evaporated in a dish, 50.00 mL pipetted by everyone"
    assert said_by(text, {"dish_mass_g"})["evaporation_aliquot_ml"] == "50.00 mL"


def test_weighed_by_difference() -> None:
    assert understand(("Ca(OH)2 taken (difference) (g)",)).column == "initial_mass_g"
