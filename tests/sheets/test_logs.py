"""Logs with one reading per line: pours in order, lines taken back, readings that come again."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]
HEAD = ["time", "bench", "what", "reading", "unit", "remark"]


def _log(text_table: Write, *more: list[Any]) -> ss.ClassRecords:
    rows: list[list[Any]] = [["HCl in all burettes: 0,0512 mol/L (made by prep room)"], [], HEAD]
    for bench in ("1", "2", "3"):
        rows += [
            ["14:03", bench, "Ca(OH)2 into beaker", "2,579", "g", ""],
            ["14:04", bench, "water in, full cylinder", "100", "mL", ""],
            ["14:05", bench, "water in, full cylinder", "98,5", "mL", ""],
            ["14:07", bench, "temperature of slurry", "19,0", "°C", ""],
            ["15:45", bench, "paper + dry cake", "2,873", "g", ""],
        ]
    return ss.read_class(text_table([*rows, *more], delimiter=";"))


def _bench(records: ss.ClassRecords, bench: str) -> pd.Series:
    runs = records.runs[(records.runs["group"] == bench) & (records.runs["set_aside"] == "")]
    assert len(runs) == 1
    return runs.iloc[0]


def test_pours_of_one_name_are_fills_in_order(text_table: Write) -> None:
    records = _log(text_table)
    assert records.runs["fill_1_ml"].tolist() == [100.0] * 3
    assert records.runs["fill_2_ml"].tolist() == [98.5] * 3
    assert records.runs["water_volume_ml"].tolist() == [198.5] * 3


def test_a_total_is_no_further_pour(text_table: Write) -> None:
    records = _log(text_table, ["14:06", "1", "total water", "198,5", "mL", ""])
    assert _bench(records, "1")["water_volume_ml"] == 198.5
    assert "fill_3_ml" not in records.runs


def test_a_line_taken_back_gives_way_to_the_next(text_table: Write) -> None:
    records = _log(
        text_table,
        ["14:17", "6", "Ca(OH)2 into beaker", "2,464", "g", "VOID - not tared, next line is right"],
        ["14:19", "6", "Ca(OH)2 into beaker", "2,254", "g", "re-weighed"],
        ["14:20", "6", "water in, full cylinder", "100", "mL", "wrong, see below"],
        ["14:21", "6", "water in, full cylinder", "99", "mL", ""],
        ["15:45", "6", "paper + dry cake", "2,111", "g", ""],
        ["15:46", "6", "paper + dry cake", "2,744", "g", "corrected, the first was wrong"],
    )
    assert len(records.runs) == 4
    run = _bench(records, "6")
    assert run["initial_mass_g"] == 2.254
    assert run["water_volume_ml"] == 99
    assert run["recovered_with_paper_mass_g"] == 2.744
    ledger = records.ledger.set_index("cell")["outcome"]
    assert ledger["D19"] == ledger["D21"] == ledger["D23"] == "ignored"


def test_a_line_taken_back_for_nothing_is_a_question(text_table: Write) -> None:
    records = _log(
        text_table,
        ["14:17", "6", "Ca(OH)2 into beaker", "2,464", "g", "VOID"],
        ["14:20", "6", "water in, full cylinder", "100", "mL", ""],
        ["14:21", "6", "water in, full cylinder", "99", "mL", "void"],
        ["15:45", "6", "paper + dry cake", "2,744", "g", ""],
    )
    run = _bench(records, "6")
    assert pd.isna(run["initial_mass_g"])
    assert pd.isna(run["water_volume_ml"])
    assert run["recovered_with_paper_mass_g"] == 2.744
    ledger = records.ledger.set_index("cell")["outcome"]
    assert ledger["D19"] == ledger["D21"] == "unclear"


def test_one_reading_twice_is_a_question_and_no_run(text_table: Write) -> None:
    records = _log(text_table, ["15:50", "2", "paper + dry cake", "2,801", "g", ""])
    assert len(records.runs) == 3
    run = _bench(records, "2")
    assert pd.isna(run["recovered_with_paper_mass_g"])
    assert run["initial_mass_g"] == 2.579


@pytest.mark.parametrize("remark", ["their balance shows mg", "still a bit grey", ""])
def test_other_remarks_take_nothing_back(text_table: Write, remark: str) -> None:
    line = ["14:17", "6", "Ca(OH)2 into beaker", "2215", "mg", remark]
    records = _log(text_table, line, ["15:45", "6", "paper + dry cake", "2,744", "g", ""])
    assert _bench(records, "6")["initial_mass_g"] == pytest.approx(2.215)


def test_what_holds_for_all_holds_for_the_runs_below_it(text_table: Write) -> None:
    rows: list[list[Any]] = [["day", "time", "bench", "what", "reading", "unit", "remark"]]
    for day, warm, benches in (("Tue", 20.2, "12"), ("Thu", 21.0, "34")):
        rows.append(
            [day, "13:00", "all", "water temp, tap drum, all benches today", warm, "degC", ""]
        )
        for bench in benches:
            rows += [
                [day, "13:05", bench, "solid into beaker", 2.114, "g", ""],
                [day, "13:07", bench, "water in, cylinder", 100, "mL", ""],
                [day, "13:27", bench, "filtering started", "", "", "gravity, fluted paper"],
                [day, "15:07", bench, "paper + dry cake", 2.873, "g", ""],
            ]
    runs = ss.read_class(text_table(rows)).runs.set_index("group")
    assert runs["temperature_c"].to_dict() == {"1": 20.2, "2": 20.2, "3": 21.0, "4": 21.0}
    assert set(runs["filtration"]) == {"gravity"}


def test_a_reading_of_its_own_goes_before_what_was_said_to_all(text_table: Write) -> None:
    rows: list[list[Any]] = [HEAD, ["13:00", "all", "water temperature", 20.2, "degC", ""]]
    for bench in ("1", "2"):
        rows += [
            ["13:05", bench, "solid into beaker", 2.114, "g", ""],
            ["13:07", bench, "water in, cylinder", 100, "mL", ""],
            ["15:07", bench, "paper + dry cake", 2.873, "g", ""],
        ]
    rows.append(["15:10", "2", "water temperature", 23.5, "degC", ""])
    runs = ss.read_class(text_table(rows)).runs.set_index("group")
    assert runs["temperature_c"].to_dict() == {"1": 20.2, "2": 23.5}


def test_water_again_is_one_more_pour(text_table: Write) -> None:
    rows: list[list[Any]] = [["time", "trial", "what we did", "reading", "unit", "comments"]]
    for trial in ("1", "2"):
        rows += [
            ["11:05", trial, "weighed Ca(OH)2 into beaker", 2.03, "g", ""],
            ["11:09", trial, "water from 100 mL measuring cylinder", 100, "mL", ""],
            ["11:10", trial, "water again", 99, "mL", ""],
            ["11:41", trial, "paper + solid, dry", 2.66, "g", ""],
        ]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["water_volume_ml"].tolist() == [199, 199]
