"""What is said once: over tables side by side, of all sections but one, of last year.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

import solubility_stats as ss
from solubility_stats.sheets.no_results import of_another_time
from solubility_stats.sheets.places import section_in
from solubility_stats.sheets.sentences import said_by

Write = Callable[..., Path]
HEAD = ["Group", "initial mass (g)", "water (mL)", "dry solid (g)"]


def lines(first: float = 2.4, groups: tuple[object, ...] = (1, 2, 3)) -> list[list[Any]]:
    return [[g, round(first + n / 100, 2), 200, round(first - 0.33, 2)] for n, g in
            enumerate(groups, start=1)]  # fmt: skip


def test_tables_side_by_side_each_have_their_own_caption(workbook: Write) -> None:
    left, right = lines(), lines(2.6)
    rows: list[list[Any]] = [
        ["Solubility of lime, both days"],
        [],
        ["Tuesday: Büchner/vacuum, 20.5 °C", *[None] * 4, "Thursday: gravity, 22.0 °C"],
        [],
        [*HEAD, None, *HEAD],
        *([*a, None, *b] for a, b in zip(left, right, strict=True)),
    ]
    runs = ss.read_class(workbook({"both": rows})).runs
    by_section = runs.groupby("section")[["filtration", "temperature_c"]].agg(set)
    assert by_section.loc["Tuesday"].tolist() == [{"vacuum"}, {20.5}]
    assert by_section.loc["Thursday"].tolist() == [{"gravity"}, {22.0}]


def test_all_sections_but_one(workbook: Write) -> None:
    sheets: dict[str, list[list[Any]]] = {
        "read me": [["Every section filtered by vacuum except 003, where the pump was down."]],
        "Sec 001": [HEAD, *lines()],
        "Sec 002": [HEAD, *lines(2.5)],
        "Sec 003": [["All filtered by gravity."], HEAD, *lines(2.6)],
    }
    runs = ss.read_class(workbook(sheets)).runs
    assert runs.groupby("section")["filtration"].agg(set).to_dict() == {
        "001": {"vacuum"}, "002": {"vacuum"}, "003": {"gravity"}}  # fmt: skip


def test_an_excepted_section_that_says_nothing_stays_open(workbook: Write) -> None:
    sheets: dict[str, list[list[Any]]] = {
        "read me": [["Every section filtered by vacuum except 003."]],
        "Sec 001": [HEAD, *lines()],
        "Sec 003": [HEAD, *lines(2.6)],
    }
    runs = ss.read_class(workbook(sheets)).runs
    assert runs.loc[runs["section"] == "003", "filtration"].isna().all()


def test_headings_repeated_on_the_next_page_go_on_with_the_table(workbook: Write) -> None:
    over = ["", "Trial 1", None, None, "Trial 2", None, None]
    head = ["Group", *["lime before (g)", "water (mL)", "lime dry (g)"] * 2]
    rows: list[list[Any]] = [["Section A: weighings"], [], over, head]
    for page in ((1, 2, 3), (4, 5)):
        rows += [] if page[0] == 1 else [over, head]
        rows += [[g, 2.0 + g / 100, 150, 1.7, 2.2 + g / 100, 152, 1.9] for g in page]
    runs = ss.read_class(workbook({"week 5": rows})).runs
    assert sorted(runs["group"]) == sorted("1122334455")
    assert set(runs["section"]) == {"A"}
    assert (runs["set_aside"] == "").all()


def test_lines_of_last_year_below_a_table_replace_nothing(workbook: Write) -> None:
    rows = [HEAD, *lines(), [], ["Last year (2023), kept for reference only"], *lines(2.6)]
    runs = ss.read_class(workbook({"data": rows})).runs
    assert runs.loc[runs["set_aside"] == "", "initial_mass_g"].tolist() == [2.41, 2.42, 2.43]


@pytest.mark.parametrize(
    ("title", "other"),
    [("Last year (2024), only for comparison", True), ("Vorjahr", True),
     ("Grey rows are last year's, kept for comparison.", False),
     ("Thursday teams. Shaded lines: previous year, do not use", False)],
)  # fmt: skip
def test_a_title_of_another_time_and_one_of_some_rows(title: str, other: bool) -> None:
    assert of_another_time(title) is other


def test_a_template_that_was_filled_in_counts(workbook: Write) -> None:
    rows = [HEAD, ["e.g.", 2.5, 200, 2.1], ["planned", 2.5, 200, None], *lines()]
    runs = ss.read_class(workbook({"Template v3": rows})).runs
    assert runs.loc[runs["set_aside"] == "", "group"].tolist() == ["1", "2", "3"]
    beside = ss.read_class(workbook({"Template v3": rows[:4], "Mon": [HEAD, *lines()]})).runs
    assert (beside.loc[beside["section"] != "Mon", "set_aside"] != "").all()


@pytest.mark.parametrize(
    ("text", "section"),
    [("PM section - gravity filtration, pump out of order", "PM"), ("AM section (vacuum)", "AM"),
     ("morning class, 21 °C", "morning"), ("Section - gravity", "")],
)  # fmt: skip
def test_a_section_called_before_the_word(text: str, section: str) -> None:
    assert section_in(text) == section


@pytest.mark.parametrize(
    ("text", "column", "value"),
    [("Mine: vacuum, 200 mL each", "filtration", "vacuum"),
     ("Mine: vacuum, 200 mL each", "water_volume_ml", "200 mL"),
     ("1A - gravity, mixtures at 21 °C", "filtration", "gravity"),
     ("2B - gravity (one bench late), temperature not recorded", "filtration", "gravity"),
     ("Bring: balance, vacuum, 250 mL beaker", "filtration", None),
     ("all of mine used gravity, mixtures were at 21 C", "temperature_c", "21 C"),
     ("mixtures kept at 40 °C on the hot plate", "temperature_c", "40 °C"),
     ("Filtered at 24 °C, whole section.", "temperature_c", "24 °C"),
     ("Everybody used 4 pours of 50 mL", "water_volume_ml", "4 x 50 mL"),
     ("Les deux groupes : 200 mL d'eau au total", "water_volume_ml", "200 mL"),
     ("Everybody: residue in the 110 °C oven for 45 min.", "dry_min", "45 min"),
     ("Residue dried to constant mass in all cases.", "constant_mass", "yes"),
     ("All residues should be dried to constant mass.", "constant_mass", None)],
)  # fmt: skip
def test_what_a_line_says_of_all(text: str, column: str, value: str | None) -> None:
    assert said_by(text, set()).get(column) == value


@pytest.mark.parametrize(
    ("text", "volume"),
    [("Table 2. Evaporating dish (10.00 mL of filtrate each)", "10.00 mL"),
     ("Evaporating dish (cleaned with 10 mL of water)", None)],
)  # fmt: skip
def test_the_title_over_the_dishes_states_the_aliquot(text: str, volume: str | None) -> None:
    assert said_by(text, {"dish_mass_g"}).get("evaporation_aliquot_ml") == volume


def test_prises_of_filtrate_are_aliquots_and_no_trials(text_table: Callable[..., Path]) -> None:
    rows = [["dosage du filtrat (prise d'essai 20,0 mL, HCl à 0,050 mol/L)"],
            ["Binôme", "Burette, début (mL)", "Burette, fin (mL)", "Volume versé (mL)"],
            *([g, "0,4", "18,8", "18,4"] for g in (1, 2, 3))]  # fmt: skip
    runs = ss.read_class(text_table(rows, delimiter=";")).runs
    assert (runs["aliquot_ml"] == 20).all()
    assert "run" not in runs or not runs["run"].astype(bool).any()


def test_merged_cells_in_a_long_list_do_not_stop_the_reader(workbook: Write) -> None:
    rows: list[list[Any]] = [["Table", "fill", "mL"]]
    rows += [[g, n, 50] for g in (1, 2, 3) for n in (1, 2, 3, 4)]
    path = workbook({"fills": rows}, merge={"fills": ["A2:A5", "B6:B7", "A10:B10"]})
    assert len(ss.read_class(path).ledger) > 0


def test_a_heading_merged_over_two_is_read_with_those_below(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Titration of 25.00 mL of filtrate with 0.0480 M HCl"],
        ["Group", "Buret reading (mL)", None],
        [None, "initial", "final"],
        *([g, 1.0 + g / 10, 24.5 + g / 10] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"t": rows}, merge={"t": ["B2:C2"]})).runs
    assert runs["burette_start_ml"].tolist() == [1.1, 1.2, 1.3]
    assert runs["burette_end_ml"].tolist() == [24.6, 24.7, 24.8]


def test_what_the_dish_holds_by_formula_is_no_residue(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Group", "Portion taken (mL)", "Empty dish (g)", "Dish + residue (g)",
                  "Residue (g)"])  # fmt: skip
    for row in (2, 3, 4):
        sheet.append([row - 1, 50, 45.1, 45.19, f"=D{row}-C{row}"])
    book.save(path := tmp_path / "dish.xlsx")
    runs = ss.read_class(path).runs
    assert (runs["evaporation_aliquot_ml"] == 50).all()
    assert "recovered_mass_g" not in runs or runs["recovered_mass_g"].isna().all()
