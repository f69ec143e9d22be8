"""Two tables with different readings of the same runs are one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import solubility_stats as ss

Write = Callable[..., Path]
IN = [["Group", "Initial mass (g)", "Water (mL)"],
      ["A", 2.04, 200.5], ["B", 1.98, 199.0], ["C", 2.11, 201.0], ["D", 2.02, 200.0]]  # fmt: skip
OUT = [["Group", "Recovered mass (g)", "Comments"],
       ["C", 1.78, None], ["A", 1.71, "slow"], ["D", 1.70, None], ["B", 1.67, None]]  # fmt: skip


def test_stacked(workbook: Write) -> None:
    rows = [["Day 1"], *IN, [], ["Day 2"], *OUT]
    records = ss.read_class(workbook({"Sheet1": rows}))
    runs = records.runs.set_index("group")
    assert runs.index.tolist() == ["A", "B", "C", "D"]
    assert runs["initial_mass_g"].tolist() == [2.04, 1.98, 2.11, 2.02]
    assert runs["recovered_mass_g"].tolist() == [1.71, 1.67, 1.78, 1.70]
    assert runs.at["A", "comment"] == "slow"
    assert not runs["set_aside"].any()
    assert len(records.ledger) == sum(c is not None for row in rows for c in row)


def test_side_by_side_and_on_two_sheets(workbook: Write) -> None:
    beside = [[*a, None, *b] for a, b in zip(IN, OUT, strict=True)]
    for sheets in ({"Sheet1": beside}, {"Weighing in": IN, "Weighing out": OUT}):
        runs = ss.read_class(workbook(sheets)).runs.set_index("group")
        assert runs["recovered_mass_g"].to_dict() == {"A": 1.71, "B": 1.67, "C": 1.78, "D": 1.7}
        assert runs["initial_mass_g"].notna().all()
        assert (runs["section"] == "").all()


def test_sections_stay_apart(workbook: Write) -> None:
    runs = ss.read_class(workbook({"Section A": IN, "Section B": OUT})).runs
    assert len(runs) == 8
    assert runs.groupby("section").size().to_dict() == {"A": 4, "B": 4}


def test_tables_with_the_same_reading_stay_apart(workbook: Write) -> None:
    other = [[row[0], row[1] if i == 0 else row[1] + 0.1, row[2]] for i, row in enumerate(IN)]
    runs = ss.read_class(workbook({"Sheet1": [*IN, [], ["another class"], *other]})).runs
    assert len(runs) == 8


def test_an_equal_reading_in_both_does_not_part_them(workbook: Write) -> None:
    warm = [["Group", "Temp (°C)", "Recovered mass (g)"]]
    warm += [[row[0], 22.0, row[1]] for row in OUT[1:]]
    start = [[*row, "Temp (°C)" if i == 0 else 22.0] for i, row in enumerate(IN)]
    runs = ss.read_class(workbook({"Sheet1": [*start, [], *warm]})).runs
    assert len(runs) == 4
    assert (runs["temperature_c"] == 22.0).all()


def test_other_groups_are_not_joined(workbook: Write) -> None:
    far = [[row[0] if i == 0 else f"{row[0]}2", *row[1:]] for i, row in enumerate(OUT)]
    runs = ss.read_class(workbook({"Sheet1": [*IN, [], *far]})).runs
    assert len(runs) == 8
