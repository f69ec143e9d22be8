"""What stands beside a reading and only resembles it: targets, rinsings, boats, last year.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]


def read(workbook: Write, rows: list[list[Any]], merge: list[str] | None = None) -> Any:
    return ss.read_class(workbook({"data": rows}, merge={"data": merge or []})).runs


def test_the_dish_that_lime_was_weighed_in_is_no_evaporating_dish(workbook: Write) -> None:
    rows: list[list[Any]] = [["Grp", "Dish (g)", "Dish + lime (g)", "Lime (g)", "Water, mL",
                              "Dry cake (g)"]]  # fmt: skip
    rows += [[g, 21.8, round(24.2 + g / 100, 2), round(2.4 + g / 100, 2), 300, 1.9]
             for g in (1, 2, 3, 4)]  # fmt: skip
    runs = read(workbook, rows)
    assert runs["initial_mass_g"].tolist() == [2.41, 2.42, 2.43, 2.44]
    assert not {"dish_mass_g", "dish_residue_mass_g"} & {*runs.columns}


def test_an_evaporating_dish_stays_one(workbook: Write) -> None:
    rows: list[list[Any]] = [["Team", "Ca(OH)2 put in (g)", "Water put in (mL)",
                              "Filtrate put in dish (mL)", "Empty dish (g)",
                              "Dish + white residue (g)", "White residue in dish (g)"]]  # fmt: skip
    rows += [[g, 1.13, 250, 40, 53.381, 53.449, 0.068] for g in (1, 2, 3)]
    runs = read(workbook, rows)
    assert (runs["dish_mass_g"] == 53.381).all()
    assert (runs["dish_residue_mass_g"] == 53.449).all()
    assert runs["recovered_mass_g"].isna().all()  # what the dish holds was dissolved


@pytest.mark.parametrize("offered", ["issued", "supplied", "planned", "target"])
def test_what_was_weighed_in_beside_what_was_handed_out(workbook: Write, offered: str) -> None:
    rows: list[list[Any]] = [
        [None, "Calcium hydroxide (g)", None, "Water (mL)", None, None],
        ["Group", offered, "weighed in", "supplied", "used", "Dry solid off the paper (g)"],
        *([g, 3, 2.4 + g / 100, 300, 200, 2.1] for g in (1, 2, 3)),
    ]
    runs = read(workbook, rows, ["B1:C1", "D1:E1"])
    assert runs["initial_mass_g"].tolist() == [2.41, 2.42, 2.43]
    assert (runs["water_volume_ml"] == 200).all()


@pytest.mark.parametrize("other", ["returned /cm3", "water left in the jug /cm3", "left, cm3"])
def test_water_that_was_not_added_is_no_missing_fill(workbook: Write, other: str) -> None:
    rows: list[list[Any]] = [["Gp", "weighed out /g", "cyl 1 /cm3", "cyl 2 /cm3", other,
                              "solid back /g"]]  # fmt: skip
    rows += [[g, 2.4 + g / 100, 60, 61, 10, 2.1] for g in (1, 2, 3)]
    runs = read(workbook, rows)
    assert (runs["water_volume_ml"] == 121).all()


def test_the_temperature_of_the_lab_is_no_section(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Solid (g)", None, "Water", "Temperature (°C)", None],
        [None, "start", "dry", "total (mL)", "lab", "solution"],
        *([g, 2.6 + g / 100, 2.3, 150, 23.0 + g / 10, 20.0 + g / 10] for g in (1, 2, 3)),
    ]
    runs = read(workbook, rows, ["B1:C1", "E1:F1"])
    assert runs["temperature_c"].tolist() == [20.1, 20.2, 20.3]
    assert not set(runs["section"].dropna()) - {""}


@pytest.mark.parametrize(
    "title",
    ["Last year (2024), whole class, only for comparison", "HL1 last year, only for comparing",
     "LAST YEAR - do not use", "Vorjahr zum Vergleich", "Vorig schooljaar (ter vergelijking)",
     "Année dernière", "Curso pasado"],
)  # fmt: skip
@pytest.mark.parametrize("where", ["below", "beside"])
def test_last_years_table_is_set_aside(workbook: Write, title: str, where: str) -> None:
    head = ["Group", "m before (g)", "V (mL)", "m after, dry (g)"]
    this = [[g, 2.4 + g / 100, 200, 2.1] for g in (1, 2, 3)]
    last = [[g, 2.5 + g / 100, 150, 2.2] for g in (1, 2, 3)]
    if where == "below":
        rows = [["This year"], head, *this, [], [], [title], head, *last]
    else:
        pairs = zip([["This year", None, None, None], head, *this],
                    [[title], head, *last], strict=True)  # fmt: skip
        rows = [[*a, None, *b] for a, b in pairs]
    runs = read(workbook, rows)
    live = runs[runs["set_aside"] == ""]
    assert live["initial_mass_g"].tolist() == [2.41, 2.42, 2.43]
    assert len(runs) == 6  # kept, and marked


def test_a_list_beside_the_table_begins_with_the_same_heading(workbook: Write) -> None:
    head = ["who", "solid g", "water ml", "residue g", None, "who", "% back", "place"]
    rows: list[list[Any]] = [["Class"], head]
    rows += [[f"Gp {g}", 2.5 + g / 100, 150, 2.29, None, f"Gp {6 - g}", 91.0, g]
             for g in (1, 2, 3, 4, 5)]  # fmt: skip
    runs = read(workbook, rows)
    assert runs["initial_mass_g"].tolist() == [2.51, 2.52, 2.53, 2.54, 2.55]


@pytest.mark.parametrize("words", [("lowest", "highest"), ("smallest", "largest")])
def test_extremes_are_no_groups(workbook: Write, words: tuple[str, str]) -> None:
    rows: list[list[Any]] = [["team", "start mass (g)", "water (mL)", "mass back, dry (g)"]]
    rows += [[t, 2.4 + t / 100, 200, 2.1] for t in (1, 2, 3)]
    rows += [[words[0], 2.09, 150, 1.77], [words[1], 2.86, 300, 2.44]]
    assert read(workbook, rows)["group"].tolist() == ["1", "2", "3"]


def test_a_fill_unlike_the_others_stands_against_the_written_total(workbook: Write) -> None:
    rows: list[list[Any]] = [["team", "start mass (g)", "fill 1 (mL)", "fill 2 (mL)", "fill 3 (mL)",
                              "water sum (mL)", "mass back, dry (g)"]]  # fmt: skip
    rows += [[t, 2.4 + t / 100, 50, 51, 49, 150, 2.1] for t in (1, 2, 3)]
    rows += [[4, 2.44, 50, 15, 49, 150, 2.1], [5, 2.45, 50, 51, 49, 130, 2.1]]
    records = ss.read_class(workbook({"data": rows}))
    runs = records.runs
    assert runs["water_volume_ml"].tolist()[:4] == [150, 150, 150, 150]
    assert runs["fill_2_ml"].isna().tolist() == [False, False, False, True, False]
    assert runs["water_volume_ml"].tolist()[4] == 150  # all alike: the sum was worked out wrong


def test_a_comment_that_asks_which_number_holds(tmp_path: Path) -> None:
    import openpyxl
    from openpyxl.comments import Comment

    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Grp", "Lime (g)", "Water, mL", "Temp of mix, °C", "Dry cake (g)"])
    for g in (1, 2, 3):
        sheet.append([g, 2.4 + g / 100, 200, 19.8, 2.1])
    sheet["D3"].comment = Comment("notebook has 12.4 here and 21.4 on the back, which?", "KM")
    path = tmp_path / "class.xlsx"
    book.save(path)
    assert ss.read_class(path).runs["temperature_c"].isna().tolist() == [False, True, False]


def test_a_title_over_another_table_says_nothing_of_this_one(workbook: Write) -> None:
    """It stands alone on its line, far to the right."""
    head = ["Group", "Mass used (g)", "Water (mL)", "Dry mass (g)"]
    rows: list[list[Any]] = [
        ["Year 1 practical, pooled results"],
        [*[None] * 6, "Last year (2023), section means only"],
        [*head, None, None, "Section", "Groups", "Mass used (g)", "Water (mL)", "Dry mass (g)"],
        [1, 2.41, 200, 2.08, None, None, "A", 6, 2.51, 201, 2.17],
        [2, 2.42, 201, 2.09, None, None, "B", 7, 2.49, 199, 2.14],
        [3, 2.43, 202, 2.10],
    ]
    runs = read(workbook, rows)
    live = runs[runs["set_aside"] == ""]
    assert live["initial_mass_g"].tolist() == [2.41, 2.42, 2.43]


def test_what_the_store_issued_in_a_sentence_sets_nothing_aside(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Issued by the store: 3 g lime in a vial for each group. Only what was USED counts."],
        [],
        ["Group", "Lime issued (g)", "Lime used (g)", "Water used (mL)", "Dry lime (g)"],
        *([g, 3, 2.4 + g / 100, 240, 2.1] for g in (1, 2, 3)),
    ]
    runs = read(workbook, rows)
    assert not runs["set_aside"].any()
    assert runs["initial_mass_g"].tolist() == [2.41, 2.42, 2.43]


@pytest.mark.parametrize(
    ("title", "head", "lines"),
    [("Section means (for the lecture)",
      ["Section", "n groups", "solid taken (g)", "water (mL)", "dry residue (g)"],
      [["001", 8, 2.668, 191.7, 2.337], ["002", 7, 2.492, 194.2, 2.161]]),
     ("Mean solubilities by section (g/L)",
      ["Section", "residue", "titration", "evaporation", "literature 20 °C"],
      [["P", 1.71, 1.69, 1.78, 1.73], ["Q", 1.68, 1.70, 1.81, 1.73]])],
)  # fmt: skip
def test_a_sheet_of_means_by_section_holds_no_runs(
    workbook: Write, title: str, head: list[str], lines: list[list[Any]]
) -> None:
    heads = ["Grp", "solid (g)", "water (mL)", "residue dry (g)"]
    groups = [heads, *([g, 2.4 + g / 100, 200, 2.1] for g in (1, 2, 3))]
    path = workbook({"Sec 001": groups, "Summary": [[title], [], head, *lines]})
    runs = ss.read_class(path).runs
    live = runs[runs["set_aside"] == ""]
    assert live["initial_mass_g"].tolist() == [2.41, 2.42, 2.43]


def test_the_mean_beside_two_titres_is_the_acid_used(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["HCl 0.0495 mol/L, every aliquot 20.00 mL"],
        [],
        [None, None, "Acid used (mL)", None, None, None],
        ["Sec", "Grp", "1st", "2nd", "mean", "Blank (mL)"],
        *(["P", g, 18.8 + g / 10, 18.6 + g / 10, 18.7 + g / 10, 0.05] for g in (1, 2, 3, 4)),
    ]
    runs = read(workbook, rows, ["C3:E3"])
    assert runs["titrant_ml"].tolist() == pytest.approx([18.8, 18.9, 19.0, 19.1])
    assert (runs["titrant_mol_per_l"] == 0.0495).all()
    assert (runs["aliquot_ml"] == 20).all()


def test_mass_in_and_out_of_two_trials(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Trial 1", None, None, "Trial 2", None, None],
        [None, "mass in", "water", "mass out, dry", "mass in", "water", "mass out, dry"],
        [None, "g", "mL", "g", "g", "mL", "g"],
        *([g, 2.4 + g / 100, 200, 2.1, 2.5 + g / 100, 201, 2.2] for g in (1, 2, 3)),
    ]
    runs = read(workbook, rows, ["A1:A3", "B1:D1", "E1:G1"])
    assert runs["initial_mass_g"].tolist() == [2.41, 2.51, 2.42, 2.52, 2.43, 2.53]


def test_the_paper_below_residue_is_the_paper(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Solid taken (g)", "Water (mL)", "Residue", None, None],
        [None, None, None, "Paper (mg)", "Residue, wet (g)", "Residue, dry (g)"],
        *([g, 2.4 + g / 100, 200, 882 + g, 3.4, 2.1] for g in (1, 2, 3)),
    ]
    runs = read(workbook, rows, ["A1:A2", "B1:B2", "C1:C2", "D1:F1"])
    assert runs["paper_mass_g"].tolist() == [0.883, 0.884, 0.885]
    assert (runs["recovered_mass_g"] == 2.1).all()


def test_uncertainties_beside_their_readings_and_the_oven(workbook: Write) -> None:
    rows: list[list[Any]] = [["Group", "Mass of solid taken / g", "± / g", "Water used / cm³",
                              "± / cm³", "Temp. of water / °C", "± / °C", "Temp. of oven / °C",
                              "Mass of dry solid off the paper / g", "Place in class"]]  # fmt: skip
    rows += [[g, 2.6 + g / 100, 0.001, 150, 1, 20 + g / 10, 0.5, 105, 2.4, 4 - g]
             for g in (1, 2, 3)]  # fmt: skip
    runs = read(workbook, rows)
    assert runs["temperature_c"].tolist() == [20.1, 20.2, 20.3]
    assert runs["initial_mass_g"].tolist() == [2.61, 2.62, 2.63]
    assert not set(runs["section"].dropna()) - {""}  # a place in class is no section
