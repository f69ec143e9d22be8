"""One experiment kept in registers: particulars on one sheet, then a table for each step."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]
Rows = list[list[Any]]

PARTICULARS: Rows = [
    ["Practical No. 6: solubility by residue"],
    ["II year, Batch K"],
    [],
    ["Acid in burette", "hydrochloric acid 0.0986 mol/L"],
    ["Filtrate pipetted", "10 mL in every titration"],
    ["Washing of residue", "NOT permitted"],
    ["Stirring", "20 minutes for all pairs, magnetic stirrer"],
    ["Settling", "not recorded"],
]
WEIGHING: Rows = [
    ["WEIGHING REGISTER"],
    [],
    ["Sl. No.", "Pair no.", "Calcium hydroxide taken (g)", "Filter paper, before (g)"],
    [1, "K-09", 2.2412, 0.6585],
    [2, "K-08", 2.3403, 0.6241],
    [3, "K-12", 2.4342, 0.6544],
    [4, "K-03", 2.3957, 0.6245],
]
WATER: Rows = [
    ["WATER REGISTER (one line for every measure poured)"],
    ["Pair no.", "Measure", "Volume (mL)", "Temperature of water (°C), first measure only"],
    ["K-09", "first", 50, 27.5],
    ["K-12", "first", 50, 27.0],
    ["K-09", "second", 50, None],
    ["K-12", "second", 49, None],
    ["K-09", "third", 50, None],
    ["K-03", "first", 100, 28.0],
    ["K-08", "first", 100, 27.5],
    ["K-08", "second", 50, None],
    ["K-03", "second", 50, None],
]
OVEN: Rows = [
    ["Pair no.", "Mode", "Time in oven (min)", "Paper with residue, after oven (g)"],
    ["K-12", "Gravity", 45, 2.8303],
    ["K-09", "Gravity", 60, 2.6293],
    ["K-03", "Suction", 60, 2.7809],
    ["K-08", "Gravity", 60, 2.7101],
]
TITRATION: Rows = [
    ["Pair no.", "Burette reading, initial (mL)", "Burette reading, final (mL)"],
    ["K-03", 10.2, 14.8],
    ["K-09", 0.0, 4.5],
    ["K-12", 10.2, 14.7],
]


def _read(workbook: Write, water: Rows = WATER, **more: Rows) -> ss.ClassRecords:
    sheets = {"Particulars": PARTICULARS, "1 Weighing": WEIGHING, "2 Water": water}
    return ss.read_class(workbook(sheets | {"3 Oven": OVEN, "4 Titration": TITRATION} | more))


def test_registers_of_one_practical_are_one_run_per_pair(workbook: Write) -> None:
    runs = _read(workbook).runs.set_index("group")
    assert sorted(runs.index) == ["K-03", "K-08", "K-09", "K-12"]
    assert runs["section"].tolist() == ["K"] * 4
    assert runs["water_volume_ml"].to_dict() == {"K-09": 150, "K-12": 99, "K-03": 150, "K-08": 150}
    assert runs.at["K-12", "fill_2_ml"] == 49
    assert runs.at["K-03", "temperature_c"] == 28.0
    assert runs["stir_min"].tolist() == [20.0] * 4
    assert runs["settle_min"].isna().all()
    assert runs["initial_mass_g"].notna().all()
    assert runs["recovered_with_paper_mass_g"].notna().all()


def test_what_is_said_of_the_titration_is_of_those_who_titrated(workbook: Write) -> None:
    runs = _read(workbook).runs.set_index("group")
    assert runs.at["K-03", "titrant_mol_per_l"] == 0.0986
    assert runs.at["K-03", "aliquot_ml"] == 10
    assert runs.loc["K-08", ["titrant_mol_per_l", "aliquot_ml", "titrant_ml"]].isna().all()


@pytest.mark.parametrize(
    ("heading", "names"),
    [
        ("Measure", ("1st", "2nd", "3rd")),
        ("Which", ("first", "second", "third")),
        ("Pour no.", (1, 2, 3)),
        ("Fill", ("fill 1", "fill 2", "fill 3")),
    ],
)
def test_the_fills_may_be_counted_in_other_words(
    workbook: Write, heading: str, names: tuple[object, ...]
) -> None:
    said = dict(zip(("first", "second", "third"), names, strict=True))
    rows = [[r[0], said.get(r[1], r[1]), *r[2:]] for r in WATER[2:]]
    water = [WATER[0], [WATER[1][0], heading, *WATER[1][2:]], *rows]
    runs = _read(workbook, water).runs.set_index("group")
    assert runs["water_volume_ml"].to_dict() == {"K-09": 150, "K-12": 99, "K-03": 150, "K-08": 150}


def test_a_clock_and_a_number_on_every_line_do_not_part_the_fills(workbook: Write) -> None:
    lines = enumerate(WATER[2:], start=1)
    water = [["Sl. No.", "Clock", *WATER[1]], *([n, f"14:{n:02}", *r] for n, r in lines)]
    runs = _read(workbook, water).runs.set_index("group")
    assert runs["water_volume_ml"].to_dict() == {"K-09": 150, "K-12": 99, "K-03": 150, "K-08": 150}


def test_a_fill_passed_over_leaves_the_water_open(workbook: Write) -> None:
    water = [r for r in WATER if r[:2] != ["K-09", "second"]]
    runs = _read(workbook, water).runs.set_index("group")
    assert runs["water_volume_ml"].isna().to_dict() == {
        "K-09": True, "K-12": False, "K-03": False, "K-08": False,
    }  # fmt: skip


def test_a_sheet_of_advice_says_nothing_of_the_runs(workbook: Write) -> None:
    advice = [["Suggested stirring", "20 minutes"], ["Step 3", "stir for 20 minutes"]]
    runs = _read(workbook, Particulars=advice).runs
    assert len(runs) == 4
    assert "stir_min" not in runs or runs["stir_min"].isna().all()
