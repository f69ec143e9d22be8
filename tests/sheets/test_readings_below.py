"""Readings named on lines of their own below the line of their group.

The sheets are invented; the words are those in which teachers commonly write, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]
HEADS = ["group", "lime (g)", "dry lime left over (g)", "filter"]
Lines = list[list[Any]]


def _group(code: int, lime: float, left: float, *below: list[Any], lead: int = 1) -> Lines:
    return [[code, lime, left, "vacuum"], *([None] * lead + line for line in below), []]


def _list(lead: int = 1) -> Lines:
    return [
        ["Slaked lime in water"],
        [],
        HEADS,
        *_group(1, 2.24, 1.97, ["first fill", "100 ml"], ["second fill", "50 ml"],
                ["water was", "22.0 °C"], ["stirred", "10 minutes"], lead=lead),
        *_group(2, 2.79, 2.44, ["first fill", "100 ml"], ["second fill", "100 ml"],
                ["stirred", "7 minutes"], ["water was", "23.0 °C"], lead=lead),
        *_group(3, 2.36, 1.92, ["first fill", "100 ml"], ["second fill", "100 ml"],
                ["third fill", "50 ml"], ["stirred", "5 minutes"], lead=lead),
    ]  # fmt: skip


@pytest.mark.parametrize("lead", [0, 1, 2])
def test_each_name_is_a_column_beside_its_group(workbook: Write, lead: int) -> None:
    runs = ss.read_class(workbook({"list": _list(lead)})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["initial_mass_g"].tolist() == [2.24, 2.79, 2.36]
    assert runs["recovered_mass_g"].tolist() == [1.97, 2.44, 1.92]
    assert runs["stir_min"].tolist() == [10, 7, 5]
    assert runs["fill_2_ml"].tolist() == [50, 100, 100]
    assert runs["temperature_c"].tolist()[:2] == [22, 23]
    assert runs["temperature_c"].isna().tolist() == [False, False, True]
    assert runs["water_volume_ml"].tolist() == [150, 200, 250]


def test_the_unit_may_stand_behind_its_value(workbook: Write) -> None:
    rows = [
        HEADS,
        *_group(1, 2.24, 1.97, ["water", 200, "mL"], ["stirring", 10, "min"]),
        *_group(2, 2.79, 2.44, ["water", 0.25, "L"], ["stirring", 7, "min"]),
    ]
    runs = ss.read_class(workbook({"list": rows})).runs
    assert runs["water_volume_ml"].tolist() == [200, 250]
    assert runs["stir_min"].tolist() == [10, 7]


def test_every_cell_is_accounted_for_at_its_own_address(workbook: Write) -> None:
    records = ss.read_class(workbook({"list": _list()}))
    entered = records.ledger.set_index("cell")
    assert entered.loc["C5", "value"] == 100
    assert entered.loc["C13", "value"] == 7
    assert not records.ledger["note"].str.startswith("not part of").any()


def test_a_name_without_a_value_leaves_the_water_open(workbook: Write) -> None:
    rows = _list()
    rows[5] = [None, "second fill"]
    runs = ss.read_class(workbook({"list": rows})).runs.set_index("group")
    assert ss.read_class(workbook({"list": _list()})).runs["water_volume_ml"].notna().all()
    assert "1" in runs.index
    assert runs["water_volume_ml"].isna()["1"]
    assert runs.loc["2", "water_volume_ml"] == 200


def test_what_stands_below_each_class_is_of_no_group(workbook: Write) -> None:
    """Two lines below several groups are about all of them."""
    rows: Lines = [
        ["class", *HEADS],
        ["A", 1, 2.24, 1.97, "vacuum"],
        ["A", 2, 2.79, 2.44, "vacuum"],
        ["A", 3, 2.36, 1.92, "gravity"],
        [None, "temperature", 22.0],
        ["B", 1, 2.30, 2.04, "vacuum"],
        ["B", 2, 2.60, 2.32, "gravity"],
        ["B", 3, 2.11, 1.78, "gravity"],
        [None, "temperature", 24.0],
    ]
    runs = ss.read_class(workbook({"list": rows})).runs
    told = runs.set_index(["section", "group"]).get("temperature_c")
    assert told is None or told.isna().all() or told.notna().all()


def test_names_without_any_group_beside_them_end_no_reading(tmp_path: Path) -> None:
    """Below a gap the lines look like one reading each, and none says whose it is."""
    lines = ["group\tlime (g)\tdry lime left over (g)"]
    for code, lime in ((1, "2.24"), (2, "2.79"), (3, "2.36")):
        lines += [f"{code}\t{lime}\t1.92", "", "\tfill\t100 ml", "\tstirred\t10 min"]
    path = tmp_path / "list.txt"
    path.write_text("\n".join(lines), encoding="utf-8")
    records = ss.read_class(path)
    assert records.runs["group"].tolist() == ["1", "2", "3"]
    assert records.runs["initial_mass_g"].tolist() == [2.24, 2.79, 2.36]
