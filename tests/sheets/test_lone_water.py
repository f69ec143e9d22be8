"""Water in a table of its own passes for the water of a run only if it is known to be all of it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]
Rows = list[list[Any]]

IN: Rows = [["Pair", "Lime taken (g)", "Paper (g)"],
            ["A", 2.2, 0.61], ["B", 2.3, 0.62], ["C", 2.4, 0.63], ["D", 2.1, 0.6]]  # fmt: skip
OUT: Rows = [["Pair", "Paper with residue dry (g)"],
             ["A", 2.5], ["B", 2.6], ["C", 2.7], ["D", 2.4]]  # fmt: skip
POURED: Rows = [["Pair", "Water (mL)"], ["A", 50], ["B", 50], ["A", 49], ["C", 100],
                ["B", 50], ["C", 50], ["D", 100], ["A", 50], ["D", 50]]  # fmt: skip
WHOLE: Rows = [["Pair", "Water (mL)"], ["B", 200], ["A", 150], ["D", 100], ["C", 101]]


def _live(records: ss.ClassRecords) -> Any:
    return records.runs[records.runs["set_aside"] == ""].set_index("group")


def _is_without_water(records: ss.ClassRecords) -> bool:
    runs = records.runs
    return "water_volume_ml" not in runs or bool(runs["water_volume_ml"].isna().all())


def test_one_line_of_water_per_group_is_its_water(workbook: Write) -> None:
    runs = _live(ss.read_class(workbook({"in": IN, "water": WHOLE, "out": OUT})))
    assert runs["water_volume_ml"].to_dict() == {"A": 150, "B": 200, "C": 101, "D": 100}


def test_several_lines_are_fills_where_the_title_says_so(workbook: Write) -> None:
    water = [["One line for every pour"], *POURED]
    runs = _live(ss.read_class(workbook({"in": IN, "water": water, "out": OUT})))
    assert runs["water_volume_ml"].to_dict() == {"A": 149, "B": 100, "C": 150, "D": 150}
    assert runs.at["A", "fill_2_ml"] == 49


@pytest.mark.parametrize("numbered", [False, True])
def test_several_lines_of_nothing_but_water_are_no_runs(workbook: Write, numbered: bool) -> None:
    water = POURED
    if numbered:  # what the numbers count is not said
        seen: list[str] = []
        water = [["Pair", "Sample", "Volume (mL)"]]
        for group, volume in POURED[1:]:
            seen.append(group)
            water.append([group, seen.count(group), volume])
    records = ss.read_class(workbook({"in": IN, "water": water, "out": OUT}))
    assert _live(records).index.tolist() == ["A", "B", "C", "D"]
    assert _is_without_water(records)
    cells = records.ledger[(records.ledger["sheet"] == "water") & (records.ledger["raw"] == "49")]
    assert cells["outcome"].tolist() == ["unclear"]


@pytest.mark.parametrize("stacked", [False, True])
def test_a_second_table_of_water_makes_the_first_one_doubtful(
    workbook: Write, stacked: bool
) -> None:
    more = [WHOLE[0], ["A", 50], ["B", 49], ["C", 50], ["D", 50]]
    sheets = {"in": IN, "first": [["First pour"], *WHOLE], "second": [["Then"], *more], "out": OUT}
    if stacked:
        sheets = {"all": [row for rows in sheets.values() for row in [*rows, []]]}
    records = ss.read_class(workbook(sheets))
    runs = _live(records)
    assert runs.index.tolist() == ["A", "B", "C", "D"]
    assert runs["recovered_with_paper_mass_g"].notna().all()
    assert (runs["section"] == "").all()
    assert _is_without_water(records)
    assert "another table holds more water" in records.flags["note"].str.cat()


def test_the_water_of_another_section_says_nothing(workbook: Write) -> None:
    one = [["Pair", "Lime taken (g)", "Water (mL)"], ["A", 2.2, 150], ["B", 2.3, 200],
           ["C", 2.4, 150]]  # fmt: skip
    records = ss.read_class(workbook({"Section 1": one, "Section 2": WHOLE}))
    runs = records.runs[records.runs["section"] == "1"].set_index("group")
    assert runs["water_volume_ml"].to_dict() == {"A": 150, "B": 200, "C": 150}
