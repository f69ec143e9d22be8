"""A remark of one run against what is stated once for all runs."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]


def _read(workbook: Write, remark: str | None, statement: str, more: str = "") -> ss.ClassRecords:
    rows: list[list[Any]] = [[f"0.0502 M HCl{more}"], [statement], []]
    rows += [["gp", "buret start", "buret end", "mL acid", "note"]]
    rows += [[group, 0.1 * group, 21.5 + 0.1 * group, 21.5, None] for group in (1, 2, 3, 4)]
    rows[5][4] = remark
    return ss.read_class(workbook({"acid": rows}))


def _aliquots(records: ss.ClassRecords) -> list[float | None]:
    return [None if pd.isna(v) else v for v in records.runs["aliquot_ml"]]


@pytest.mark.parametrize(
    ("remark", "statement", "second"),
    [
        ("10.00 mL filtrate only, ran out", "25.00 mL filtrate unless the note says otherwise", 10),
        ("10.00 mL of filtrate", "25.00 mL filtrate unless the note says otherwise", 10),
        ("took a 20 mL aliquot", "25.00 mL filtrate each", 20),
        ("overshot a bit", "25.00 mL filtrate unless the note says otherwise", 25),
        ("the 25.00 mL aliquot was cloudy", "25.00 mL filtrate each", 25),
        (None, "25.00 mL filtrate each", 25),
        # It says something, but not what was pipetted.
        ("spilled 5 mL of filtrate", "25.00 mL filtrate each", None),
        ("10 mL only", "25.00 mL filtrate each", None),
        ("filtrate 10 mL, first time", "25.00 mL filtrate each", None),
        # Of the acid, not of the filtrate.
        ("only 21 mL of acid left in the burette", "25.00 mL filtrate each", 25),
    ],
)
def test_a_smaller_aliquot(
    workbook: Write, remark: str | None, statement: str, second: float | None
) -> None:
    records = _read(workbook, remark, statement)
    assert _aliquots(records) == [25, second, 25, 25]
    flagged = records.flags[records.flags["column"] == "aliquot_ml"]
    assert flagged["run_id"].tolist() == ([] if second == 25 else ["2"])


def test_another_temperature_and_filtration(workbook: Write) -> None:
    rows: list[list[Any]] = [["Water at 21.0 °C and vacuum filtration for all groups"], []]
    rows += [["Group", "Lime (g)", "Water (mL)", "Residue (g)", "Remarks"]]
    rows += [[g, 2.5, 200, 2.1 + g / 100, None] for g in (1, 2, 3, 4)]
    rows[3][4] = "water was 24.5 °C instead"
    rows[4][4] = "gravity filtration instead"
    rows[5][4] = "dried at 105 °C only"
    rows[6][4] = "gravity, not the pump"
    runs = ss.read_class(workbook({"class": rows})).runs
    assert runs["temperature_c"].tolist() == [24.5, 21.0, 21.0, 21.0]
    assert runs["filtration"].tolist()[:3] == ["vacuum", "gravity", "vacuum"]
    assert pd.isna(runs["filtration"][3])


def test_the_runs_of_a_table_of_two_columns_are_no_notes(workbook: Write) -> None:
    """Group "T1" beside its water is no label with a temperature."""
    rows = [["Team", "Water (mL)"], ["T1", 20], ["T2", 21], ["T3", 22]]
    more = [["Team", "Lime (g)"], ["T1", 2.0], ["T2", 2.1], ["T3", 2.2]]
    records = ss.read_class(workbook({"water": rows, "lime": more}))
    assert "temperature_c" not in records.runs or records.runs["temperature_c"].isna().all()
    assert records.runs["water_volume_ml"].tolist() == [20, 21, 22]


def test_a_footnote_speaks_of_the_runs_with_its_mark(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Grp", "g Ca(OH)2", "mL H2O", "g residue"], [1, 2.14, 200, 1.78], [2, 2.07, 199, 1.73],
        ["6 *", 2.06, 200, 1.66], [7, 2.02, 200, 1.63], [],
        ["* gravity filtered, aspirator broken. one trial"],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Sheet1": rows})).runs.set_index("group")
    assert runs["filtration"]["6"] == "gravity"
    assert runs["filtration"].isna().sum() == 3


@pytest.mark.parametrize(
    ("remark", "kept"),
    [
        ("oops weighed it with the paper on", False), ("forgot to subtract the paper", False),
        ("paper is still included", False), ("zeroed balance with paper on", True),
        ("fixed our dry mass, first answer was with the paper on", True),
        ("residue grey, bits of paper in it", True), ("paper tore", True),
    ],
)  # fmt: skip
def test_a_solid_weighed_with_its_paper(remark: str, kept: bool, workbook: Write) -> None:
    rows: list[list[Any]] = [["Group", "lime in (g)", "water (mL)", "dry lime (g)", "notes"]]
    rows += [[n, 2.0 + n / 10, 200, 1.6 + n / 10, None] for n in (1, 2, 3)]
    rows[2][4] = remark
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["recovered_mass_g"].notna().tolist() == [True, kept, True]
