"""Resubmissions, copies and equal readings: kept, marked, never counted twice."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

from solubility_stats.sheets import read_class

Write = Callable[..., Path]
HEAD = ["Group", "m0 (g)", "Volume (mL)", "m dry (g)", "T (°C)"]
BODY = [[1, 2.5, 200, 2.1, 21], [2, 2.51, 199, 2.12, 21], [3, 2.49, 201, 2.2, 22]]


def test_the_later_submission_is_used(workbook: Write) -> None:
    records = read_class(workbook({"Data": [HEAD, *BODY, [2, 2.51, 199, 2.15, 21]]}))
    aside = records.runs["set_aside"].tolist()
    assert aside == ["", "replaced by a later submission (row 5)", "", ""]
    assert records.runs["recovered_mass_g"].tolist() == [2.1, 2.12, 2.2, 2.15]


def test_the_time_of_submission_decides_which_is_later(workbook: Write) -> None:
    head = ["Timestamp", *HEAD]
    rows = [["3/14/2026 9:00", *BODY[1]], ["3/2/2026 9:00", 2, 2.51, 199, 2.15, 21]]
    records = read_class(workbook({"Data": [head, *rows]}))
    assert records.runs["set_aside"].tolist() == ["", "replaced by a later submission (row 2)"]


def test_an_identical_line_is_set_aside(workbook: Write) -> None:
    records = read_class(workbook({"Data": [HEAD, *BODY, BODY[1]]}))
    assert records.runs["set_aside"].tolist() == ["", "", "", "the same line again (row 3)"]


def test_a_master_sheet_does_not_count_again(workbook: Write) -> None:
    master = [["Section", *HEAD], *[["Mon", *r] for r in BODY]]
    records = read_class(workbook({"Mon": [HEAD, *BODY], "All": master}))
    assert (records.runs["set_aside"] != "").tolist() == [False] * 3 + [True] * 3


def test_several_lines_of_every_group_are_runs(workbook: Write) -> None:
    rows = [r for g in BODY for r in (g, [g[0], g[1] + 0.01, *g[2:]])]
    records = read_class(workbook({"Data": [HEAD, *rows]}))
    assert (records.runs["set_aside"] == "").all()
    assert records.runs["run"].tolist() == ["1", "2"] * 3


def test_equal_readings_of_two_groups_are_worth_asking_about(workbook: Write) -> None:
    records = read_class(workbook({"Data": [HEAD, *BODY, [4, *BODY[0][1:]]]}))
    assert (records.runs["set_aside"] == "").all()
    flags = records.flags[records.flags["flag"] == "as_other_group"]
    assert flags["run_id"].tolist() == ["1", "4"]
    assert "worth asking about" in flags["note"].iloc[0]


def test_groups_become_codes_that_only_the_key_gives_again(workbook: Write) -> None:
    path = workbook({"Data": [HEAD, *BODY]})
    one, again, other = (
        read_class(path, pseudonym_key=k) for k in ("key-number-1",) * 2 + ("key-number-2",)
    )
    assert one.runs["group"].tolist() == again.runs["group"].tolist()
    assert not set(one.runs["group"]) & set(other.runs["group"])
    shown = one.ledger[one.ledger["column"] == "group"].iloc[1:]
    assert shown["raw"].tolist() == shown["value"].tolist() == one.runs["group"].tolist()


def test_names_that_tell_groups_apart_become_codes(workbook: Write) -> None:
    rows = [["Group members", *HEAD[1:]], ["Ada Example, Bo Sample", *BODY[0][1:]],
            ["Cleo Testcase & Di Invented", *BODY[1][1:]]]  # fmt: skip
    records = read_class(workbook({"Data": rows}))
    assert records.runs["group"].tolist() == ["P1", "P2"]
    everything = str(records.to_dict())
    assert not any(name in everything for name in ("Ada", "Sample", "Cleo", "Invented"))


def test_a_line_struck_out_as_a_whole_stays_and_counts_for_nothing(tmp_path: Path) -> None:
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    sheet = book.active
    for row in (["Group", "Initial mass (g)", "Water (mL)", "Recovered mass (g)", "Remarks"],
                [1, 2.02, 200, 1.71, None], [2, 2.98, 200, 3.05, "boat left on"],
                [2, 2.01, 200, 1.70, None], [3, 2.05, 200, 1.74, None]):  # fmt: skip
        sheet.append(row)
    for cell in sheet[3][:4]:
        cell.font = Font(strike=True)
    sheet["B5"].font = Font(strike=True)
    book.save(tmp_path / "class.xlsx")
    runs = read_class(tmp_path / "class.xlsx").runs
    assert runs["set_aside"].tolist() == ["", "struck out by whoever wrote it", "", ""]
    assert runs["initial_mass_g"].tolist()[:3] == [2.02, 2.98, 2.01]
    assert runs["initial_mass_g"].isna().tolist() == [False, False, False, True]


REGISTER: list[list[Any]] = [
    ["Date", "Batch", "Table No.", "Wt. of Ca(OH)2 taken (gm)", "Vol. of water (ml)",
     "Wt. of residue (gm)", "Remarks"],
    [dt.datetime(2023, 9, 4), "A", 1, 2.021, 200, 1.731, None],
    [dt.datetime(2023, 9, 4), "A", 2, 2.038, 200, None, "charred, to repeat"],
    [dt.datetime(2023, 9, 5), "B", 1, 2.091, 200, 1.731, None],
    [dt.datetime(2023, 9, 5), "B", 2, 2.079, 200, 1.774, None],
    [dt.datetime(2023, 9, 8), "C", 1, 2.019, 200, 1.655, None],
    [dt.datetime(2023, 9, 11), "A", 2, 2.072, 200, 1.712, "Repeat"],
]  # fmt: skip


def test_batches_whose_groups_begin_anew_are_sections(workbook: Write) -> None:
    runs = read_class(workbook({"Register": REGISTER})).runs
    live = runs[runs["set_aside"] == ""]
    assert set(zip(live["section"], live["group"], strict=True)) == {
        ("A", "1"), ("A", "2"), ("B", "1"), ("B", "2"), ("C", "1"),
    }  # fmt: skip


def test_a_day_is_no_time_of_submission(workbook: Write) -> None:
    rows = [[row[0], *row[2:6]] for row in REGISTER]
    runs = read_class(workbook({"Register": rows})).runs
    assert (runs["set_aside"] == "").all()  # most codes stand twice: nobody replaced anybody


def test_a_grade_in_the_name_of_a_file_is_no_group(workbook: Write) -> None:
    rows = [["Lime in (g)", "Water (mL)", "Lime left (g)"], [2.0, 200, 1.6]]
    named = read_class(workbook({"Sheet1": rows}, name="Grp 4 lab.xlsx")).runs
    grade = read_class(workbook({"Sheet1": rows}, name="Gr 11 lab.xlsx")).runs
    assert named["group"].tolist() == ["4"]
    assert grade["group"].tolist() == [""]
