"""Cards that name their group in a title, trials below one another, and pages of questions."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from solubility_stats.sheets import read_class

Write = Callable[..., Path]
Rows = list[list[Any]]


def card(title: list[Any], mass: float, left: float) -> Rows:
    return [title, ["Lime, start (g)", mass], ["Pour 1 (mL)", 50], ["Pour 2 (mL)", 49.5],
            ["Filter", "gravity"], ["Lime, dry (g)", left]]  # fmt: skip


def side_by_side(*cards: Rows) -> Rows:
    return [[x for c in lines for x in (*c, None)] for lines in zip(*cards, strict=True)]


@pytest.mark.parametrize("word", ["LAB CARD", "Index card"])
@pytest.mark.parametrize("group", ["Table", "Bench"])
def test_a_title_beside_a_word_names_the_group(word: str, group: str, workbook: Write) -> None:
    rows = side_by_side(
        card([word, f"{group} 1"], 2.13, 1.86), card([word, f"{group} 2"], 2.37, 2.10)
    )
    rows += [[], [], *card([word, f"{group} 3"], 2.28, 1.95)]
    runs = read_class(workbook({"Per 4": rows})).runs.set_index("group")
    assert runs["initial_mass_g"].to_dict() == {"1": 2.13, "2": 2.37, "3": 2.28}
    assert runs["recovered_mass_g"].to_dict() == {"1": 1.86, "2": 2.10, "3": 1.95}


def test_a_code_beside_the_group_of_a_table_is_no_title(workbook: Write) -> None:
    rows = [["Section", "Group", "Lime (g)", "Water (mL)", "Dry lime (g)"]]
    rows += [["L01", f"Group {n}", 2 + n / 10, 150, 1.7 + n / 10] for n in range(1, 4)]
    runs = read_class(workbook({"Data": rows})).runs
    assert runs["section"].tolist() == ["L01"] * 3
    assert runs["group"].tolist() == ["1", "2", "3"]


@pytest.mark.parametrize("word", ["Table", "Team"])
def test_each_card_of_labels_above_keeps_its_own_title(word: str, workbook: Write) -> None:
    rows: Rows = [["I changed the card"], []]
    for n in (1, 2, 3):
        rows += [
            [f"{word} {n}", "Lime at start (g)", "1st pour (mL)", "2nd pour (mL)"],
            [None, 2 + n / 10, 60, 59],
            [None, "Plain paper (g)", "Filter kind", "Paper + dry lime (g)"],
            [None, 1.08, "gravity", 2.8 + n / 10],
            [],
        ]
    runs = read_class(workbook({"Per 6": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["initial_mass_g"].tolist() == [2.1, 2.2, 2.3]
    assert runs["recovered_with_paper_mass_g"].tolist() == [2.9, 3.0, 3.1]
    assert runs["set_aside"].tolist() == [""] * 3


def test_cards_side_by_side_that_state_their_readings(workbook: Write) -> None:
    left = ["Period 4, Table 5", "Lime, start: 2.44 g", "Pour 1: 50 mL", "Pour 2: 49.5 mL",
            "Hot plate: 35 min", "Lime, dry: 2.18 g"]  # fmt: skip
    right = ["Period 6, Table 7", "Lime, start: 2.18 g", "Pour 1: 51 mL", "Pour 2: 50 mL",
             "Filter: vacuum", "Lime, dry: 1.81 g"]  # fmt: skip
    rows = [["Make-up day"], []] + [[a, None, None, b] for a, b in zip(left, right, strict=True)]
    runs = read_class(workbook({"Make-ups": rows})).runs
    assert runs["section"].tolist() == ["4", "6"]
    assert runs["group"].tolist() == ["5", "7"]
    assert runs["initial_mass_g"].tolist() == [2.44, 2.18]
    assert runs["recovered_mass_g"].tolist() == [2.18, 1.81]
    assert runs["water_volume_ml"].tolist() == [99.5, 101]
    assert runs["dry_min"].tolist()[0] == 35


def trial(number: int, mass: float, word: str = "Trial") -> Rows:
    return [[f"{word} {number}"], ["Ca(OH)2 used", mass, "g"], ["water fill 1", 50, "mL"],
            ["water fill 2", 49, "mL"], ["dry solid", mass - 0.2, "g"], []]  # fmt: skip


@pytest.mark.parametrize("word", ["Trial", "Run", "Versuch"])
def test_what_stands_above_the_first_trial_is_of_all(word: str, workbook: Write) -> None:
    rows: Rows = [["Section", 7], ["Group", 4], ["Water temp", "22 °C (same for all trials)"], []]
    rows += trial(1, 2.15, word) + trial(2, 2.16, word) + trial(3, 2.41, word)
    runs = read_class(workbook({"our data": rows})).runs
    assert runs["section"].tolist() == ["7"] * 3
    assert runs["group"].tolist() == ["4"] * 3
    assert runs["run"].astype(str).tolist() == ["1", "2", "3"]
    assert runs["temperature_c"].tolist() == [22] * 3
    assert runs["initial_mass_g"].tolist() == [2.15, 2.16, 2.41]


def test_trials_of_two_groups_are_not_one_group_s(workbook: Write) -> None:
    rows: Rows = [["Group", 4], [], *trial(1, 2.15), *trial(2, 2.16)]
    rows += [["Group", 5], [], *trial(3, 2.41)]
    runs = read_class(workbook({"data": rows})).runs
    assert "4" not in runs.loc[runs["initial_mass_g"] == 2.41, "group"].tolist()


def test_a_reading_above_the_first_trial_is_not_given_to_the_others(workbook: Write) -> None:
    rows: Rows = [["Group", 4], ["filter paper", 1.02, "g"], [], *trial(1, 2.15), *trial(2, 2.16)]
    runs = read_class(workbook({"data": rows})).runs
    if "paper_mass_g" in runs:
        assert pd.isna(runs.loc[runs["initial_mass_g"] == 2.16, "paper_mass_g"]).all()


def question_page(team: int, mass: float, ticks: tuple[Any, Any], fills: list[Any]) -> Rows:
    return [
        ["STUDENT PAGE: How much lime will dissolve?"],
        [f"Team: {team}", None, "Hour: 2"],
        ["1. Zero the boat, then scoop lime. How much lime did you scoop?", mass, "g"],
        *([f"     cylinder {n}", f, "mL"] for n, f in enumerate(fills, start=1)),
        ["3. We stirred for __6__ minutes and then let it sit for __10__ minutes."],
        ["4. How warm is the water?", 22, "°C"],
        ["5. How did you filter? (put an X)", ticks[0], "just a funnel (gravity)"],
        [None, ticks[1], "with the vacuum pump"],
        ["6. Can you see the laser beam in it?  __no__"],
        ["8. Weight of the filter paper with the lime, when all dry", 3.24, "g"],
        ["9. Subtract! Lime that did NOT dissolve", 2.18, "g"],
        ["10. So __0.19__ g of lime dissolves in 100 mL of water."],
    ]


@pytest.mark.parametrize(
    ("ticks", "way"), [(("X", None), "gravity"), ((None, "x"), "vacuum"), (("X", "X"), None)]
)
def test_questions_with_answers_beside_them(
    ticks: tuple[Any, Any], way: str | None, workbook: Write
) -> None:
    rows = question_page(3, 2.46, ticks, [50, 51, 50, 49])
    (run,) = read_class(workbook({"Hr 2 team 3": rows})).runs.to_dict("records")
    assert (run["section"], run["group"]) == ("2", "3")
    assert run["initial_mass_g"] == 2.46
    assert run["water_volume_ml"] == 200
    assert run["temperature_c"] == 22
    assert (run["stir_min"], run["settle_min"]) == (6, 10)
    assert run["recovered_with_paper_mass_g"] == 3.24
    assert run["recovered_mass_g"] == 2.18
    assert run["reported_solubility"] == 0.19
    if way is None:
        assert pd.isna(run.get("filtration"))
    else:
        assert run["filtration"] == way


def test_a_blank_cylinder_on_such_a_page_leaves_the_water_open(workbook: Write) -> None:
    rows = question_page(3, 2.46, ("X", None), [50, 51, None])
    (run,) = read_class(workbook({"Hr 2 team 3": rows})).runs.to_dict("records")
    assert (run["fill_1_ml"], run["fill_2_ml"]) == (50, 51)
    assert pd.isna(run["water_volume_ml"])


def below_pairs(unit: str) -> Rows:
    rows: Rows = [["Pair", None, "Lime to begin with, g", "Lime left when dry, g"]]
    for pair, mass in (("A", 2.63), ("B", 2.2)):
        rows += [
            [pair, None, mass, mass - 0.3],
            [None, "first cylinder", f"50{unit}" if unit else 50],
            [None, "second cylinder", f"49.5{unit}" if unit else 49.5],
            [None, "water altogether", f"99.5{unit}" if unit else 99.5],
        ]
    return rows


@pytest.mark.parametrize("unit", [" mL", "ml", " cm3"])
def test_fills_below_a_pair_under_the_heading_of_a_mass(unit: str, workbook: Write) -> None:
    runs = read_class(workbook({"Data": below_pairs(unit)})).runs
    assert runs["group"].tolist() == ["A", "B"]
    assert runs["initial_mass_g"].tolist() == [2.63, 2.2]
    assert runs["fill_1_ml"].tolist() == [50, 50]
    assert runs["water_volume_ml"].tolist() == [99.5, 99.5]


def test_such_fills_without_a_unit_are_no_masses(workbook: Write) -> None:
    runs = read_class(workbook({"Data": below_pairs("")})).runs
    assert runs["initial_mass_g"].dropna().tolist() == [2.63, 2.2]


def test_a_colour_before_bench_names_the_group(workbook: Write) -> None:
    rows = side_by_side(
        card(["RED BENCH", None], 2.13, 1.86), card(["WHITE BENCH", None], 2.37, 2.10)
    )
    rows += [[], [], *card(["YELLOW BENCH", None], 2.28, 1.95)]
    runs = read_class(workbook({"Per 3": rows}, merge={"Per 3": ["A1:B1", "D1:E1", "A9:B9"]})).runs
    left = runs.set_index("group")["recovered_mass_g"].to_dict()
    assert left == {"RED": 1.86, "WHITE": 2.10, "YELLOW": 1.95}


def test_labels_with_their_values_above_a_form(workbook: Write) -> None:
    rows: Rows = [
        [None, "EXPERIMENT NO. 7"], [None, "Batch : B2", "Group No. : 5"],
        [None, "Temperature of water : 27.5 °C"], [],
        ["Sr. No.", "Particulars", "Trial I", "Trial II"],
        [1, "Wt. of calcium hydroxide taken (gm)", 2.5014, 2.5102],
        [2, "Volume of distilled water added (ml)", 150, 150],
        [3, "Wt. of residue (gm)", 2.2375, 2.2506],
    ]  # fmt: skip
    runs = read_class(workbook({"Sheet": rows})).runs
    assert runs["group"].tolist() == ["5", "5"]
    assert runs["section"].tolist() == ["B2", "B2"]
    assert runs["temperature_c"].tolist() == [27.5, 27.5]


def test_two_labels_on_the_line_above_a_form(workbook: Write) -> None:
    def form(table: int, lime: float) -> Rows:
        return [
            ["EXPERIMENT No. 9"], [], ["Batch", "B2", "Table No.", table], [],
            ["S. No.", "Observation", "Reading", "Unit"],
            [1, "Weight of slaked lime taken", lime, "gm"],
            [2, "Total water", 300, "ml"], [3, "Time of stirring", 10, "min"],
            [4, "Weight of residue after 1st drying", lime - 0.5, "gm"],
        ]  # fmt: skip

    runs = read_class(workbook({"Table 1": form(1, 2.974), "Table 2": form(2, 2.862)})).runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["section"].tolist() == ["B2", "B2"]
    assert runs["initial_mass_g"].tolist() == [2.974, 2.862]
