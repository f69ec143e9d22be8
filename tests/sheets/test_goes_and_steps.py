"""Goes told in words on several tabs, steps under the same names, titles over a matrix."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.titles_over import without_headings_as_groups

Write = Callable[..., Path]
Rows = list[list[Any]]

WEIGHED: Rows = [
    ["Team", "Go", "Slaked lime in beaker / g"],
    ["Red", "first go", 2.48], ["Blue", "first go", 2.33], ["Green", "first go", 2.13],
    ["Red", "second go", 2.39], ["Blue", "second go", 2.78],
]  # fmt: skip
WATER: Rows = [
    ["colour", "1st or 2nd go", "cylinderful 1 (ml)", "cylinderful 2 (ml)"],
    ["blue", "2nd", 50.5, 50], ["red", "1st", 50, 49.5], ["green", "1st", 49.5, 50],
    ["red", "2nd", 51, 50], ["blue", "1st", 50, 50],
]  # fmt: skip
OVEN: Rows = [
    ["First go", "Green", "Red", "Blue"],
    ["Filter paper before (g)", 1.21, 1.22, 1.25],
    ["Paper and lime after oven (g)", 3.0, 3.43, 3.25],
    [],
    ["Second go", "Blue", "Red", None],
    ["Filter paper before (g)", 1.3, 1.27, None],
    ["Paper and lime after oven (g)", 3.72, 3.41, None],
]


def by_go(records: ss.ClassRecords, column: str) -> dict[tuple[str, str], float]:
    runs = records.runs[records.runs["set_aside"] == ""]
    return dict(zip(zip(runs["group"], runs["run"], strict=True), runs[column], strict=True))


def test_tabs_with_goes_in_different_words_are_one(workbook: Write) -> None:
    records = ss.read_class(workbook({"Weighing": WEIGHED, "Water": WATER, "Oven": OVEN}))
    assert by_go(records, "initial_mass_g") == {
        ("Red", "1"): 2.48, ("Blue", "1"): 2.33, ("Green", "1"): 2.13,
        ("Red", "2"): 2.39, ("Blue", "2"): 2.78,
    }  # fmt: skip
    assert by_go(records, "water_volume_ml") == {
        ("Red", "1"): 99.5, ("Blue", "1"): 100, ("Green", "1"): 99.5,
        ("Red", "2"): 101, ("Blue", "2"): 100.5,
    }  # fmt: skip
    assert by_go(records, "paper_mass_g") == {
        ("Red", "1"): 1.22, ("Blue", "1"): 1.25, ("Green", "1"): 1.21,
        ("Red", "2"): 1.27, ("Blue", "2"): 1.3,
    }  # fmt: skip


def test_a_large_and_a_small_letter_may_be_two_groups(workbook: Write) -> None:
    both: Rows = [["Group", "Mass of lime (g)"], ["A", 2.1], ["a", 2.2], ["B", 2.3], ["C", 2.4]]
    water: Rows = [["Group", "Water added (ml)"], ["a", 150], ["b", 151], ["c", 152]]
    records = ss.read_class(workbook({"Weighing": both, "Water": water}))
    runs = records.runs[records.runs["initial_mass_g"].notna()]
    assert sorted(runs["group"]) == ["A", "B", "C", "a"]
    assert not (runs["group"].eq("A") & runs["water_volume_ml"].notna()).any()


def test_a_column_of_amounts_is_no_go(workbook: Write) -> None:
    rows: Rows = [["Team", "Go", "Mass of lime (g)", "Water added (ml)"]]
    rows += [["Red", 12.5, 2.1, 150], ["Blue", 13, 2.2, 151], ["Green", 14, 2.3, 152]]
    records = ss.read_class(workbook({"Class": rows}))
    assert "run" not in records.headings["column"].tolist()


NAMES: list[Any] = [None, "Group 1", "Group 2", "Group 3"]
STEPS: Rows = [
    ["STEP 1  Weigh"], NAMES, ["Ca(OH)2 in the beaker (g)", 2.32, 2.55, 2.81], [],
    ["STEP 2  Add water"], [None, "Group 3", "Group 1", "Group 2"],
    ["Measuring cylinder 1 (ml)", 100, 49, 50], ["Measuring cylinder 2 (ml)", 99, 50, 51], [],
    ["STEP 3  Filter (in order of finishing)"], ["Group", "Method"],
    [3, "gravity"], [1, "vacuum"], [2, "gravity"], [],
    ["STEP 4  Weigh again"], NAMES, ["Dry solid, without paper (g)", 2.07, 2.28, 2.47],
]  # fmt: skip


@pytest.mark.parametrize("names", ["worded", "bare"])
def test_steps_under_the_same_names_are_one_table(workbook: Write, names: str) -> None:
    rows = STEPS
    if names == "bare":
        rows = [
            ["Group", *(int(str(c)[-1]) for c in r[1:])] if r and r[0] is None else r for r in STEPS
        ]
    runs = ss.read_class(workbook({"Board": rows})).runs.set_index("group")
    assert runs["initial_mass_g"].to_dict() == {"1": 2.32, "2": 2.55, "3": 2.81}
    assert runs["water_volume_ml"].to_dict() == {"1": 99, "2": 101, "3": 199}
    assert runs["recovered_mass_g"].to_dict() == {"1": 2.07, "2": 2.28, "3": 2.47}
    assert runs["filtration"].to_dict() == {"1": "vacuum", "2": "gravity", "3": "gravity"}


def test_blocks_with_the_same_label_are_not_run_together(workbook: Write) -> None:
    rows: Rows = []
    for trial, shift in (("Trial 1", 0.0), ("Trial 2", 0.1)):
        rows += [[trial], NAMES, ["Lime (g)", *(m + shift for m in (2.1, 2.2, 2.3))],
                 ["Water (ml)", 150, 151, 152], ["Dry residue (g)", 1.8, 1.9, 2.0], []]  # fmt: skip
    runs = ss.read_class(workbook({"Board": rows})).runs
    assert len(runs) == 6
    assert sorted(runs["initial_mass_g"].round(3)) == [2.1, 2.2, 2.2, 2.3, 2.3, 2.4]


def matrix(title: str, mean: str, values: Rows) -> Rows:
    lines = [[g, *v, sum(v) / len(v)] for g, v in enumerate(values, start=1)]
    return [[title], ["group", "run 1", "run 2", mean], *lines, []]


MATRICES = (
    ("m.start [g]", [[2.69, 2.64], [2.74, 2.45], [2.65, 2.76]]),
    ("V.water [mL]", [[250, 150], [250, 200], [200, 150]]),
    ("m.dry [g]", [[2.09, 2.26], [2.12, 1.85], [2.15, 2.39]]),
    ("t.mix [min]", [[20, 30], [20, 25], [15, 30]]),
)
README: Rows = [
    ["m.start = solid weighed in;  V.water = all the water together"],
    ["t.mix / t.rest = magnetic stirrer / sitting time"],
    ["m.dry = solid from the oven, without paper"],
]


@pytest.mark.parametrize("mean", ["xbar", "Mw", "middle"])
def test_a_column_of_means_is_no_run(workbook: Write, mean: str) -> None:
    rows = [line for title, values in MATRICES for line in matrix(title, mean, values)]
    records = ss.read_class(workbook({"readme": README, "section 501": rows}))
    assert by_go(records, "initial_mass_g") == {
        ("1", "1"): 2.69, ("1", "2"): 2.64, ("2", "1"): 2.74, ("2", "2"): 2.45,
        ("3", "1"): 2.65, ("3", "2"): 2.76,
    }  # fmt: skip
    assert by_go(records, "stir_min")["3", "2"] == 30
    assert by_go(records, "recovered_mass_g")["2", "2"] == 1.85
    means = records.ledger[records.ledger["cell"].isin(["D3", "D4", "D5"])]
    assert (means["outcome"] != "used").all()


def test_codes_below_a_title_are_not_what_was_weighed(workbook: Write) -> None:
    rows: Rows = [["m start (g)", None, None, "V water (mL)", None, None],
                  ["group", "now", "later", "group", "now", "later"]]  # fmt: skip
    rows += [[g, 2.6 + g / 10, 2.5 + g / 10, g, 150, 200] for g in (1, 2, 3, 4)]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    for column in ("initial_mass_g", "water_volume_ml"):
        read = runs[column] if column in runs else pd.Series(dtype=float)
        assert not read.isin([1, 2, 3, 4]).any()


SIDE: Rows = [
    ["Quantity", "Unit", "Group 1", "Group 2", "Group 3"],
    ["Calcium hydroxide taken", "g", 2.872, 2.637, 2.5],
    ["Total water", "ml", 200.1, 199.7, 150.2],
    ["Residue", "g", 2.507, 2.304, 2.21],
]


def test_labels_above_the_groups_hold_for_all_of_them(workbook: Write) -> None:
    def tab(title: str, degrees: str) -> Rows:
        above: Rows = [[title], ["Water temperature (all groups)", degrees]]
        return [*above, ["Balance", "±0.001 g, room 2.14"], [], *SIDE]

    book = {"Mon PM": tab("Week 6", "21.5 °C"), "Wed AM": tab("Week 6", "20.5 °C")}
    runs = ss.read_class(workbook(book)).runs
    assert len(runs) == 6
    assert runs.groupby("section")["temperature_c"].unique().map(list).to_dict() == {
        "Mon PM": [21.5],
        "Wed AM": [20.5],
    }


def test_the_end_of_a_word_is_no_group(workbook: Write) -> None:
    rows: Rows = [["Stirring time (all groups)", "20 min"], ["Oven (all groups)", "60 min"]]
    rows += [[], ["Lime (g)", 2.1], ["Water (ml)", 150], ["Dry residue (g)", 1.9]]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert "s" not in runs["group"].tolist()


def test_no_group_has_the_name_of_a_heading() -> None:
    def made(*groups: str) -> list[Draft]:
        return [Draft("f", "s", "column B", {"group": g, "initial_mass_g": 2.1}) for g in groups]

    ran_on = made("Filtrate in dish (ml)", "Dish empty (g)")
    without_headings_as_groups(ran_on, understand)
    assert all(d.set_aside for d in ran_on)
    named = made("Red", "Blue", "3")
    without_headings_as_groups(named, understand)
    assert not any(d.set_aside for d in named)


def test_trials_side_by_side_need_no_other_group(workbook: Write) -> None:
    rows: Rows = [["Bench no.", 7], [None, "Trial 1", "Trial 2"], ["Boat tared?", "y", "y"],
                  ["Lime weighed, g", 2.3, 2.8], ["Total water, mL", 150, 200],
                  ["Dry lime, g", 2.0, 2.4]]  # fmt: skip
    runs = ss.read_class(workbook({"card": rows})).runs
    assert runs[["group", "run"]].to_numpy().tolist() == [["7", "1"], ["7", "2"]]
