"""Which columns and captions name the groups, their sections and their runs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.places import section_in

Write = Callable[..., Path]
HEADS: list[Any] = ["Initial mass (g)", "Water (mL)", "Residue (g)"]


def reading(i: int) -> list[Any]:
    return [round(2 + i / 100, 2), 200 + i, round(1.68 + i / 100, 2)]


def test_group_beside_bench(workbook: Write) -> None:
    rows = [["Grp", "bench", *HEADS], *([i, f"N{i}", *reading(i)] for i in range(1, 5))]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3", "4"]


def test_a_question_answered_yes_names_no_group(text_table: Write) -> None:
    heads = ["Pick your station number", *HEADS, "Did you clean your station?"]
    rows = [[i, *reading(i), "Yes" if i % 2 else "No"] for i in range(1, 5)]
    assert ss.read_class(text_table([heads, *rows])).runs["group"].tolist() == list("1234")


def test_an_unknown_column_before_equal_codes_is_the_section(workbook: Write) -> None:
    rows = [["Zug", "Group", *HEADS]]
    rows += [[zug, i, *reading(i)] for zug in ("P", "Q") for i in (1, 2, 3)]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["section"].tolist() == ["P"] * 3 + ["Q"] * 3
    assert not runs["set_aside"].any()


def test_an_unknown_column_that_counts_up_is_the_run(workbook: Write) -> None:
    rows = [["Group", "Zug", *HEADS]]
    rows += [[i, zug, *reading(i)] for i in (1, 2, 3) for zug in (1, 2)]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["run"].tolist() == ["1", "2"] * 3


def test_groups_beside_their_sections_without_a_heading_that_says_so(workbook: Write) -> None:
    rows = [["Section", "Zug", "Trial", *HEADS]]
    rows += [[s, i, t, *reading(i)] for s in ("A", "B") for i in (1, 2, 3) for t in (1, 2)]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["group"].tolist() == ["1", "1", "2", "2", "3", "3"] * 2


def test_the_mean_of_a_groups_runs_is_no_run(workbook: Write) -> None:
    rows: list[list[Any]] = [["Group", "Trial", *HEADS]]
    for i in (1, 2, 3):
        one, two = reading(i), reading(i + 4)
        mean = [round((a + b) / 2, 3) for a, b in zip(one, two, strict=True)]
        rows += [[i, 1, *one], [None, 2, *two], [None, None, *mean]]
    areas = {"Sheet1": ["A2:A4", "A5:A7", "A8:A10"]}
    runs = ss.read_class(workbook({"Sheet1": rows}, merge=areas)).runs
    assert runs["run"].tolist() == ["1", "2"] * 3


def test_the_trial_of_a_caption(workbook: Write) -> None:
    table = [["Group", *HEADS], *([i, *reading(i)] for i in range(1, 5))]
    again = [["Group", *HEADS], *([i, *reading(i + 5)] for i in range(1, 5))]
    sheets = {"4 March": [["Trial 1, Monday 4 March"], *table],
              "11 March": [["Trial 2, Monday 11 March"], *again]}  # fmt: skip
    runs = ss.read_class(workbook(sheets)).runs
    assert runs["run"].tolist() == ["1"] * 4 + ["2"] * 4
    assert not runs["set_aside"].any()


def test_units_beside_groups_across_the_top(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["From the whiteboard"],
        [None, "Unit", "Group 1", "Group 2", "Group 3"],
    ]
    rows += [[head.split(" (")[0], head.split("(")[1][:-1], *column] for head, column in
             zip(HEADS, zip(*map(reading, (1, 2, 3)), strict=True), strict=True)]  # fmt: skip
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["recovered_mass_g"].tolist() == [1.69, 1.70, 1.71]


@pytest.mark.parametrize(
    ("text", "section"),
    [("Class 10P", "10P"), ("Set 2", "2"), ("Klasse 10b: Ergebnisse", "10b"), ("Sección 1", "1"),
     ("Class XI, Section A", "A"), ("Monday 4 March", "Monday"), ("Mon 2 pm", "Mon 2 pm"),
     ("Class results", ""), ("Set up the balance", ""), ("The form is due Friday", ""),
     ("Return to the office by Friday", ""), ("Thurs 10-1", "Thurs 10-1"), ("Thu-2", "Thu-2"),
     ("Mon_pm", "Mon pm"), ("Section F21-3", "F21-3"),
     ("Balance no. 7, cylinder 100 mL class B", ""), ("Class B", "B"),
     ("TA note: this section used the mg balance", ""), ("Section BCH 105L-02", "BCH 105L-02")],
)  # fmt: skip
def test_sections_in_a_text(text: str, section: str) -> None:
    assert section_in(text) == section


def test_a_name_of_a_single_sheet_is_no_section(workbook: Write) -> None:
    table = [["Group", *HEADS], *([i, *reading(i)] for i in range(1, 5))]
    runs = ss.read_class(workbook({"copied from the board": table})).runs
    assert (runs["section"] == "").all()
    runs = ss.read_class(workbook({"Section B": table})).runs
    assert (runs["section"] == "B").all()


def test_a_column_of_days_is_the_section_and_colours_name_the_teams(text_table: Write) -> None:
    heads = ["Timestamp", "Evening", "Your team colour", *HEADS]
    rows: list[list[Any]] = [heads]
    for day, colours in (("Tue", ("Red", "Blue", "Green")), ("Thu", ("Red", "Blue", "Purple"))):
        rows += [
            [f"2025-03-18 20:1{i}", day, c, *reading(i)] for i, c in enumerate(colours, start=1)
        ]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["section"].tolist() == ["Tue"] * 3 + ["Thu"] * 3
    assert runs["group"].tolist() == ["Red", "Blue", "Green", "Red", "Blue", "Purple"]
    assert not runs["set_aside"].any()


def test_a_day_for_each_line_is_no_section(workbook: Write) -> None:
    rows = [["Day", *HEADS], *([d, *reading(i)] for i, d in enumerate(("Mon", "Tue", "Wed")))]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert len(runs) == 3
    assert set(runs["section"]) != {"Mon"}


def test_rooms_before_colours_are_sections_before_groups(text_table: Write) -> None:
    rows: list[list[Any]] = [["Room", "Colour", *HEADS]]
    for room in ("Room 2.14", "Room 2.16"):
        rows += [[room, c, *reading(i)] for i, c in enumerate(("blue", "red", "green"), start=1)]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["group"].tolist() == ["blue", "red", "green"] * 2
    assert runs["section"].tolist() == ["Room 2.14"] * 3 + ["Room 2.16"] * 3
    assert not runs["set_aside"].any()


def test_tabs_with_the_number_of_the_lab_before_the_section(workbook: Write) -> None:
    sheets = {f"Lab 9 {s}": [["Group", *HEADS], *([i, *reading(i)] for i in (1, 2, 3))]
              for s in ("P2", "P4")}  # fmt: skip
    runs = ss.read_class(workbook(sheets)).runs
    assert sorted(set(runs["section"])) == ["P2", "P4"]
