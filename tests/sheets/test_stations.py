"""One experiment in several tables: a table per station side by side, or part by part."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]
Rows = list[list[Any]]

SCALE: Rows = [["group", "calcium hydroxide g", "plain filter g"],
               [3, 2.49, 0.793], [1, 2.115, 0.72], [2, 2.01, 0.775], [8, 2.024, 0.74],
               ["8 again", 2.07, 0.729], [4, 2.618, 0.73]]  # fmt: skip
WATER: Rows = [["group", "pour 1 (mL)", "pour 2", "stir min"],
               [1, 50.5, 50, 10], [3, 50, 50.5, 5], [2, 49, 50, 5], [4, 50, 50, 5],
               ["8 again", 51, 50.5, 10], [8, 100, 100, 5]]  # fmt: skip
PLATE: Rows = [["group", "min on plate", "filter + solid (g)", "solid only (mg)"],
               [1, 30, 2.561, 1841], [2, 20, 2.424, 1649], [3, 20, 3.019, None],
               [8, None, "dropped on floor", None], ["8 again", 25, 2.533, 1804],
               [4, 30, 3.09, 2360]]  # fmt: skip


def _side_by_side(workbook: Write, plate: Rows = PLATE) -> ss.ClassRecords:
    titles = ["SCALE STATION", None, None, None, "WATER STATION", *[None] * 4, "HOT PLATE STATION"]
    rows: Rows = [["Honors Chem, lime lab, station sheet"], [], titles]
    for at in range(7):
        row: list[Any] = []
        for table in (SCALE, WATER, plate):
            row += [*(table[at] if at < len(table) else [None] * len(table[0])), None]
        rows.append(row)
    return ss.read_class(workbook({"stations": rows}))


def test_stations_side_by_side_are_joined_by_group(workbook: Write) -> None:
    runs = _side_by_side(workbook).runs
    assert len(runs) == 6
    assert (runs["section"] == "").all()
    live = runs[runs["set_aside"] == ""].set_index("group")
    assert live["water_volume_ml"].to_dict() == {
        "1": 100.5, "2": 99, "3": 100.5, "4": 100, "8": 101.5,
    }  # fmt: skip
    assert live.at["8", "initial_mass_g"] == 2.07
    assert live.at["8", "recovered_mass_g"] == pytest.approx(1.804)
    assert live["dry_min"].to_dict() == {"1": 30, "2": 20, "3": 20, "4": 30, "8": 25}
    first = runs[runs["set_aside"] != ""].iloc[0]
    assert (first["initial_mass_g"], first["water_volume_ml"]) == (2.024, 200)
    assert str(first["recovered_mass_g"]) == "nan"


def test_only_the_second_start_may_reach_the_last_station(workbook: Write) -> None:
    plate = [row for row in PLATE if row[0] != 8]
    runs = _side_by_side(workbook, plate).runs
    live = runs[runs["set_aside"] == ""].set_index("group")
    assert live.at["8", "initial_mass_g"] == 2.07
    assert live.at["8", "recovered_with_paper_mass_g"] == 2.533


@pytest.mark.parametrize("code", ["8 again", "8 (2nd try)", "8 - second attempt"])
def test_the_second_start_in_other_words(workbook: Write, code: str) -> None:
    tables = [[[code if c == "8 again" else c for c in row] for row in t]
              for t in (SCALE, WATER, [row for row in PLATE if row[0] != 8])]  # fmt: skip
    sheets = dict(zip(("scale", "water", "hot plate"), tables, strict=True))
    runs = ss.read_class(workbook(sheets)).runs
    second = runs[runs["recovered_with_paper_mass_g"] == 2.533]
    assert second[["group", "initial_mass_g", "water_volume_ml"]].values.tolist() == [
        ["8", 2.07, 101.5]
    ]
    assert second["set_aside"].tolist() == [""]


def test_which_start_it_was_is_not_guessed(workbook: Write) -> None:
    plate = [[8, *row[1:]] if row[0] == "8 again" else row for row in PLATE if row[0] != 8]
    runs = _side_by_side(workbook, plate).runs
    weighed = runs[runs["recovered_with_paper_mass_g"] == 2.533]
    assert len(weighed) == 1
    assert weighed["set_aside"].tolist() == ["one of several runs of its group, and not said which"]
    assert weighed["initial_mass_g"].isna().all()


def test_a_plate_nobody_calls_hot_is_no_drying(workbook: Write) -> None:
    rows = [["STIRRER STATION"], *[row[:3] for row in PLATE]]
    runs = ss.read_class(workbook({"x": rows})).runs
    assert "dry_min" not in runs or runs["dry_min"].isna().all()


PARTS: Rows = [
    ["Thursday evening class, everybody keep your colour all night please"],
    [],
    ["Part A: weighing the lime"],
    ["Group", "who is at the scale", "lime, g"],
    ["Red", "both", 2.51],
    ["Blue", "me", 2.71],
    ["Green", "partner", 2.4],
    ["Yellow", "me", 2.24],
    [],
    ["Part B: putting the water in"],
    ["Group", "thermometer, C", "cyl. full 1, mL", "cyl. full 2, mL", "cyl. full 3, mL"],
    ["Blue", 20.5, 100.5, 100, None],
    ["Red", 20.5, 99, 100.5, None],
    ["Yellow", 21, 101, 49, 25],
    ["Green", 20.5, 100, 49, None],
    [],
    ["Part C: stirring and waiting"],
    ["all 4 groups together:"],
    ["stir", "12 min"],
    ["let stand", "25 min"],
    [],
    ["Part D: filtering and drying"],
    ["Group", "vac / grav", "dry lime scraped off, g", "back on plate 10 more min, then, g",
     "no change?"],
    ["Red", "grav", 2.15, 2.14, "no change"],
    ["Blue", "vac", 2.36, 2.31, "changed"],
    ["Green", "grav", 2.14, None, None],
    ["Yellow", "grav", "knocked over", None, None],
    [],
    ["Part E: laser pointer in what came through"],
    ["Group", "Red", "Blue", "Green", "Yellow"],
    ["beam visible?", "yes", "yes", "no", "no"],
    [],
    ["Part F: boiling some of it dry (only who had time)"],
    ["Group", "filtrate taken, mL", "empty dish, g", "dish with crust, g"],
    ["Green", 20, 31.247, 31.282],
    [],
    ["Good work. Bring goggles next week."],
]  # fmt: skip


def test_part_by_part(workbook: Write) -> None:
    runs = ss.read_class(workbook({"Thurs": PARTS})).runs.set_index("group")
    assert runs.index.tolist() == ["Red", "Blue", "Green", "Yellow"]
    assert runs["initial_mass_g"].tolist() == [2.51, 2.71, 2.4, 2.24]
    assert runs["water_volume_ml"].tolist() == [199.5, 200.5, 149, 175]
    assert runs["temperature_c"].tolist() == [20.5, 20.5, 20.5, 21]
    assert runs["stir_min"].tolist() == [12] * 4
    assert runs["settle_min"].tolist() == [25] * 4
    assert runs["scatter"].tolist() == ["visible", "visible", "clear", "clear"]
    assert runs.loc[["Red", "Blue"], "second_dry_mass_g"].tolist() == [2.14, 2.31]
    assert runs.loc[["Red", "Blue"], "constant_mass"].tolist() == [True, False]
    assert runs["constant_mass"].isna().tolist() == [False, False, True, True]
    assert runs.at["Green", "dish_residue_mass_g"] == 31.282


def test_labels_that_speak_of_nobody_in_particular_are_left(workbook: Write) -> None:
    rows = [row for row in PARTS if row != ["all 4 groups together:"]]
    runs = ss.read_class(workbook({"Thurs": rows})).runs.set_index("group")
    assert runs.index.tolist() == ["Red", "Blue", "Green", "Yellow"]
    assert "stir_min" not in runs or runs["stir_min"].isna().all()


def test_a_table_that_goes_on_below_the_title_of_a_part_is_one(workbook: Write) -> None:
    head = ["Group", "Initial mass (g)", "Water (mL)", "Recovered mass (g)"]
    rows = [head, ["A", 2.04, 200, 1.7], ["B", 2.0, 199, 1.68], [], ["Part 2"],
            ["C", 2.1, 201, 1.77], ["D", 2.2, 200, 1.86]]  # fmt: skip
    runs = ss.read_class(workbook({"x": rows})).runs
    assert runs["group"].tolist() == ["A", "B", "C", "D"]
    two = ss.read_class(workbook({"x": [row[:2] for row in rows]})).runs
    assert two["group"].tolist() == ["A", "B", "C", "D"]


def test_waiting_over_a_stirrer_is_stirring(workbook: Write) -> None:
    rows = [["Grp", "In", None, "Waiting", None], [None, "Ca(OH)2", "Water", "stirrer on",
            "settling"], [None, "g", "mL", "min", "min"],
            [1, 2.03, 200, 10, 30], [2, 2.04, 199, 15, 20], [3, 2.2, 201, 12, 25]]  # fmt: skip
    runs = ss.read_class(workbook({"x": rows})).runs
    assert runs["stir_min"].tolist() == [10, 15, 12]
    assert runs["settle_min"].tolist() == [30, 20, 25]
