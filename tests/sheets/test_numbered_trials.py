"""Trials numbered within or above the headings of one line, and fills that are numbered like them.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]
VALUES = [[1, 2.1, 200, 1.8, 2.2, 150, 1.9], [2, 2.3, 200, 2.0, 2.4, 150, 2.1],
          [3, 2.5, 250, 2.2, 2.6, 200, 2.3]]  # fmt: skip
STARTS = [2.1, 2.2, 2.3, 2.4, 2.5, 2.6]
WATERS = [200, 150, 200, 150, 250, 200]
ENDS = [1.8, 1.9, 2.0, 2.1, 2.2, 2.3]


def _fills(runs: Any) -> list[str]:
    return [c for c in runs if c.startswith("fill_") and runs[c].notna().any()]


@pytest.mark.parametrize(
    "headings",
    [
        ["Start wt 1 (g)", "Water 1 (ml)", "End wt 1 (g)",
         "Start wt 2 (g)", "Water 2 (ml)", "End wt 2 (g)"],
        ["Start A (g)", "Water A (ml)", "End A (g)", "Start B (g)", "Water B (ml)", "End B (g)"],
        ["1st lime (g)", "1st water (ml)", "1st residue (g)",
         "2nd lime (g)", "2nd water (ml)", "2nd residue (g)"],
        ["Einwaage 1 (g)", "Wasser 1 (ml)", "Rückstand 1 (g)",
         "Einwaage 2 (g)", "Wasser 2 (ml)", "Rückstand 2 (g)"],
        ["Initial mass #1 (g)", "Water #1 (ml)", "Final mass #1 (g)",
         "Initial mass #2 (g)", "Water #2 (ml)", "Final mass #2 (g)"],
        ["Start wt trial 1 (g)", "Water 1 (ml)", "End wt trial 1 (g)",
         "Start wt trial 2 (g)", "Water 2 (ml)", "End wt trial 2 (g)"],
        ["Start wt T1 (g)", "Water 1 (ml)", "End wt T1 (g)",
         "Start wt T2 (g)", "Water 2 (ml)", "End wt T2 (g)"],
    ],
)  # fmt: skip
def test_numbers_that_masses_share_with_the_water_count_trials(
    text_table: Write, headings: list[str]
) -> None:
    runs = ss.read_class(text_table([["Pair", *headings], *VALUES])).runs
    assert runs["initial_mass_g"].tolist() == STARTS
    assert runs["water_volume_ml"].tolist() == WATERS
    assert runs["recovered_mass_g"].tolist() == ENDS
    assert runs["run"].tolist() == ["1", "2"] * 3
    assert not _fills(runs)


def test_trials_in_series_of_one_quantity_after_another(text_table: Write) -> None:
    headings = ["Start 1 (g)", "Start 2 (g)", "Water 1 (ml)", "Water 2 (ml)", "End 1 (g)",
                "End 2 (g)"]  # fmt: skip
    rows = [[g, s1, s2, w1, w2, e1, e2] for g, s1, w1, e1, s2, w2, e2 in VALUES]
    runs = ss.read_class(text_table([["Pair", *headings], *rows])).runs
    assert runs["water_volume_ml"].tolist() == WATERS
    assert runs["initial_mass_g"].tolist() == STARTS


def test_a_trial_not_done_is_no_run(text_table: Write) -> None:
    rows = [
        ["Pair", "Start wt 1 (g)", "Water 1 (ml)", "End wt 1 (g)", "Start wt 2 (g)",
         "Water 2 (ml)", "End wt 2 (g)", "comments"],
        [*VALUES[0], ""],
        [*VALUES[1][:4], "", "", "", "ran out of time"],
        [*VALUES[2][:4], "-", "-", "-", "one of us only"],
    ]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["run_id"].tolist() == ["1/1", "1/2", "2/1", "3/1"]


def test_fills_of_one_weighing_are_still_summed(text_table: Write) -> None:
    rows = [["Pair", "Start wt (g)", "Water 1 (ml)", "Water 2 (ml)", "End wt 1 (g)",
             "End wt 2 (g)"], [1, 2.1, 100, 100, 1.81, 1.8],
            [2, 2.3, 100, 50, 2.01, 2.0]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["water_volume_ml"].tolist() == [200, 150]
    assert len(runs) == 2


def test_solid_and_water_in_portions_are_one_run(text_table: Write) -> None:
    rows = [["Pair", "Lime 1 (g)", "Water 1 (ml)", "Lime 2 (g)", "Water 2 (ml)", "Residue (g)"],
            [1, 1.1, 100, 1.0, 100, 1.8], [2, 1.3, 100, 1.2, 50, 2.2]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert len(runs) == 2
    assert "initial_mass_g" not in runs or runs["initial_mass_g"].isna().all()


def test_fills_counted_otherwise_than_the_trials_are_of_neither(text_table: Write) -> None:
    rows = [
        ["Pair", "Start wt 1 (g)", "End wt 1 (g)", "Start wt 2 (g)", "End wt 2 (g)",
         "Fill 1 (mL)", "Fill 2 (mL)", "Fill 3 (mL)"],
        *([g, s1, e1, s2, e2, 100, 100, 50] for g, s1, _, e1, s2, _, e2 in VALUES),
    ]  # fmt: skip
    records = ss.read_class(text_table(rows))
    assert "water_volume_ml" not in records.runs or records.runs["water_volume_ml"].isna().all()
    assert (records.ledger.query("raw == '50'").outcome == "unclear").all()


def test_water_numbered_like_weighings_nobody_understands_stays_open(text_table: Write) -> None:
    rows = [
        ["Pair", "T °C", "Glop 1 (g)", "Water 1 (ml)", "Filter 1 (g)", "Glop 2 (g)",
         "Water 2 (ml)", "Filter 2 (g)"],
        *([g, 21, s1, w1, 1.1, s2, w2, 1.2] for g, s1, w1, _, s2, w2, _ in VALUES),
    ]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert "water_volume_ml" not in runs or not {350, 450} & {*runs["water_volume_ml"]}


@pytest.mark.parametrize("names", [("1", "2"), ("First", "Second"), ("1st", "2nd")])
def test_numbers_above_the_same_headings_count_trials(
    text_table: Write, names: tuple[str, str]
) -> None:
    block = ["Start (g)", "water (mL)", "end (g)"]
    rows = [["", names[0], "", "", names[1], "", ""], ["Pair", *block, *block], *VALUES]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["run_id"].tolist() == ["1/1", "1/2", "2/1", "2/2", "3/1", "3/2"]
    assert runs["initial_mass_g"].tolist() == STARTS
    assert runs["water_volume_ml"].tolist() == WATERS


def test_numbers_above_other_headings_count_nothing(text_table: Write) -> None:
    rows = [["", "1", "", "2", ""], ["Pair", "Start (g)", "water (mL)", "end (g)", "T °C"],
            [1, 2.1, 200, 1.8, 21], [2, 2.3, 200, 2.0, 22]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["run_id"].tolist() == ["1", "2"]
    assert runs["recovered_mass_g"].tolist() == [1.8, 2.0]


def test_merged_headings_over_numbers(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Pair", "Start wt (g)", None, "Water (ml)", None, "End wt (g)", None],
        [None, 1, 2, 1, 2, 1, 2],
        *([g, s1, s2, w1, w2, e1, e2] for g, s1, w1, e1, s2, w2, e2 in VALUES),
    ]
    merge = {"a": ["A1:A2", "B1:C1", "D1:E1", "F1:G1"]}
    runs = ss.read_class(workbook({"a": rows}, merge=merge)).runs
    assert runs["water_volume_ml"].tolist() == WATERS
    assert runs["recovered_mass_g"].tolist() == ENDS
