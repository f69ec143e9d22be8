"""Lists of answers under one question, parts of the day and repeats: joined by their codes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]
Rows = list[list[Any]]
SHIFTS = ("AM", "PM")


def _weighed(shift: str = "Shift") -> Rows:
    rows: Rows = [[shift, "Group", "Lime taken (g)", "Dry residue (g)"]]
    for at, part in enumerate(SHIFTS):
        rows += [[part, f"G{i}", 2 + i / 10 + at / 100, 1.5 + i / 10] for i in (1, 2, 3)]
        rows += [[part, "G3 repeat", 2.5 + at / 100, 2.1]]
    return rows


def _poured(shift: str = "Shift") -> Rows:
    rows: Rows = [["Group", shift, "Water (mL)"]]
    for i in (3, 1, 2):
        rows += [[f"G{i}", part, 200 + i + 10 * (part == "PM")] for part in reversed(SHIFTS)]
    return [*rows, ["G3 repeat", "PM", 250], ["G3 repeat", "AM", 240]]


def _beam() -> Rows:
    rows: Rows = [[], [None, "Is the red laser seen in the filtrate?"], []]
    rows += [[None, "AM", None, None, "PM"]]
    for i in (1, 2, 3):
        seen = "visible line" if i == 2 else "not visible"
        rows += [[None, f"G{i}", seen, None, f"G{i}", "not visible"]]
    return [*rows, [None, "G3 repeat", "visible line", None, "G3 repeat", "not visible"]]


@pytest.mark.parametrize("shift", ["Shift", "Slot"])
def test_tabs_of_the_same_runs_in_another_order(workbook: Write, shift: str) -> None:
    sheets = {"Balance book": _weighed(shift), "Water": _poured(shift), "Laser": _beam()}
    records = ss.read_class(workbook(sheets))
    runs = records.runs.set_index(["section", "group", "run"])
    assert len(runs) == 8
    assert not runs["set_aside"].any()
    assert runs["water_volume_ml"].to_dict() == {
        (part, group, run): volume + 10 * (part == "PM")
        for part in SHIFTS
        for group, run, volume in (("G1", "", 201), ("G2", "", 202), ("G3", "1", 203))
    } | {("AM", "G3", "2"): 240, ("PM", "G3", "2"): 250}
    assert runs["scatter"].to_dict() == {
        key: "visible" if key in {("AM", "G2", ""), ("AM", "G3", "2")} else "clear"
        for key in runs.index
    }
    assert runs.at[("PM", "G3", "2"), "initial_mass_g"] == 2.51
    cells = sum(c is not None for rows in sheets.values() for row in rows for c in row)
    assert len(records.ledger) == cells


def test_a_redo_still_replaces(workbook: Write) -> None:
    rows: Rows = [["Group", "Lime (g)", "Residue (g)"], ["1", 2.0, 1.6], ["2", 2.1, 1.7]]
    rows += [["2 (redo)", 2.2, 1.8], ["3", 2.3, 1.9]]
    runs = ss.read_class(workbook({"class": rows})).runs
    assert runs["set_aside"].ne("").tolist() == [False, True, False, False]


def test_one_list_without_sections(workbook: Write) -> None:
    weighed = [["Group", "Lime (g)", "Residue (g)"], *([f"G{i}", 2.0, 1.5] for i in range(1, 5))]
    asked = [
        ["How did you filter?"],
        *([f"G{i}", "vacuum" if i > 2 else "gravity"] for i in range(1, 5)),
    ]
    runs = ss.read_class(workbook({"masses": weighed, "filter": asked})).runs
    assert runs["filtration"].tolist() == ["gravity", "gravity", "vacuum", "vacuum"]


@pytest.mark.parametrize(
    "rows",
    [
        [["Is the beam seen?"], ["G1", "yes"], ["G1", "no"], ["G2", "no"]],  # whose is it?
        [["Is the beam seen?"], ["G1", "yes"], ["G2", "no"], ["G3", "no"], ["G4", 2.5]],
        [["Is the beam seen?"], ["yes", "no"], ["no", "yes"], ["no", "no"]],
    ],
)
def test_no_lists_of_answers(workbook: Write, rows: Rows) -> None:
    runs = ss.read_class(workbook({"Laser": rows})).runs
    assert runs.empty or "scatter" not in runs or runs["scatter"].isna().all()
