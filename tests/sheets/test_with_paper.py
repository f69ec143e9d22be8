"""Solids weighed with their paper still on, as a remark, a footnote or an answer says."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest
from openpyxl.comments import Comment

import solubility_stats as ss
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.remarks.with_paper import paper_left_on

Write = Callable[..., Path]
HEADS = ["Group", "Ca(OH)2 start (g)", "Water (mL)", "Dry solid left (g)", "Remarks"]
ROWS: list[list[Any]] = [
    [1, 2.33, 150, 2.04, None], [2, 2.30, 150, 2.08, None], [3, 2.26, 200, 2.49, None],
    [4, 2.41, 200, 2.09, None],
]  # fmt: skip


def _third(path: Path) -> dict[str, Any]:
    runs = ss.read_class(path).runs.set_index("group")
    read = {c: runs[c]["3"] for c in runs if c.endswith("_mass_g")}
    return {c: v for c, v in read.items() if c != "initial_mass_g" and not pd.isna(v)}


@pytest.mark.parametrize(
    ("remark", "said"),
    [
        ("dry # is WITH paper, paper = 0.71", True),
        ("weighed with the filter paper", True),
        ("Rückstand mit Filterpapier gewogen, Papier allein 0,92 g", True),
        ("pesado con el papel", True),
        ("oops, forgot to subtract the paper", True),
        ("paper was still on", True),
        ("weighed with paper?", False),
        ("weighed with paper, paper subtracted", False),
        ("not weighed with paper", False),
        ("tared with the paper on", False),
        ("some solid stuck on paper", False),
        ("some still on the paper", False),
        ("still on the paper", True),
        ("mass was taken with the paper on, never weighed paper", True),
        ("not sure the paper isn't still included", False),
        ("dried with paper towel", False),
        ("scraped it off the paper", False),
        ("residue grey, bits of paper in it", False),
    ],
)
def test_what_says_that_the_paper_was_on(remark: str, said: bool) -> None:
    assert paper_left_on(remark) is said


@pytest.mark.parametrize(
    ("remark", "read"),
    [
        ("with paper, paper = 0.71", {"recovered_with_paper_mass_g": 2.49, "paper_mass_g": 0.71}),
        ("with paper (alone: 710 mg)", {"recovered_with_paper_mass_g": 2.49, "paper_mass_g": 0.71}),
        ("weighed with paper, 2.49 in all", {"recovered_with_paper_mass_g": 2.49}),
        ("weighed with paper? not sure", {}),
        ("paper subtracted already", {"recovered_mass_g": 2.49}),
    ],
)
def test_a_remark_moves_the_mass(workbook: Write, remark: str, read: dict[str, float]) -> None:
    rows = [list(row) for row in ROWS]
    rows[2][4] = remark
    assert _third(workbook({"5C": [HEADS, *rows]})) == read


def test_the_ledger_says_where_the_mass_went(workbook: Write) -> None:
    rows = [list(row) for row in ROWS]
    rows[2][4] = "with paper, paper = 0.71"
    ledger = ss.read_class(workbook({"5C": [HEADS, *rows]})).ledger.set_index("cell")
    assert ledger.at["D4", "column"] == "recovered_with_paper_mass_g"
    assert "weighed with its paper" in ledger.at["D4", "note"]
    assert "0.71" in ledger.at["E4", "note"]


def test_words_in_the_cell_itself(workbook: Write) -> None:
    rows = [list(row) for row in ROWS]
    rows[2][3] = "2.49 (with the paper on!! paper by itself was 0.83)"
    read = _third(workbook({"5C": [HEADS, *rows]}))
    assert read == {"recovered_with_paper_mass_g": 2.49, "paper_mass_g": 0.83}


def test_words_in_the_cell_below_a_heading_in_milligrams(workbook: Write) -> None:
    heads = [*HEADS[:3], "Dry solid left (mg)", "Remarks"]
    rows = [[*row[:3], round(row[3] * 1000), None] for row in ROWS]
    rows[2][3] = "2490 (with paper on)"
    read = _third(workbook({"5C": [heads, *rows]}))
    assert read == {"recovered_with_paper_mass_g": 2.49}


def test_a_footnote_and_a_comment_on_the_cell(workbook: Write, tmp_path: Path) -> None:
    rows = [list(row) for row in ROWS]
    rows[2][3] = "2.49*"
    noted = workbook({"5C": [HEADS, *rows, [], ["* with the paper; that paper was 0.66 g"]]})
    assert _third(noted) == {"recovered_with_paper_mass_g": 2.49, "paper_mass_g": 0.66}
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in [HEADS, *ROWS]:
        sheet.append(row)
    sheet["D4"].comment = Comment("weighed with paper still on, paper 0.781", "x")
    book.save(tmp_path / "commented.xlsx")
    read = _third(tmp_path / "commented.xlsx")
    assert read == {"recovered_with_paper_mass_g": 2.49, "paper_mass_g": 0.781}


def test_a_form_that_asks_whether_the_paper_was_on(text_table: Write) -> None:
    heads = [*HEADS[:4], "Was the filter paper still on when you weighed?",
             "If yes: mass of the filter paper (g)"]  # fmt: skip
    rows = [[*row[:4], "No", ""] for row in ROWS]
    rows[2][4:] = ["Yes", 0.71]
    read = _third(text_table([heads, *rows]))
    assert read == {"recovered_with_paper_mass_g": 2.49, "paper_mass_g": 0.71}


@pytest.mark.parametrize(
    "heading",
    ["Was the filter paper still on when you weighed?", "Did the temperature change?",
     "Did you see the dry mass change?"],
)  # fmt: skip
def test_a_question_of_yes_or_no_asks_for_no_number(heading: str) -> None:
    column = understand((heading,)).column
    assert column is None or not column.endswith(("_g", "_c", "_ml"))
