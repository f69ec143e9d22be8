"""A residue dried and weighed twice, and two columns that claim one reading.

The sheets are invented; the words are those in which teachers commonly write, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.sheets.headings import understand

Write = Callable[..., Path]
HEADS = ["Group", "Lime used (g)", "Fill 1 (mL)", "Fill 2 (mL)"]
TAKEN = [(2.41, 100, 100), (2.20, 100, 100), (2.37, 100, 50), (2.55, 100, 50), (2.18, 100, 100)]
FIRST = [2.09, 1.88, 2.13, 2.31, 1.85]
SECOND = [2.07, 1.87, 2.11, 2.30, 1.84]
RESULT = [1.70, 1.65, 1.73, 1.67, 1.70]  # g/L, of the second weighing


def _read(write: Write, **columns: Sequence[Any]) -> ss.ClassRecords:
    rows = [[n, *taken, *more] for n, (taken, *more) in enumerate(
        zip(TAKEN, *columns.values(), strict=True), start=1)]  # fmt: skip
    return ss.read_class(write({"5C": [[*HEADS, *columns], *rows]}))


def _no(runs: pd.DataFrame, column: str) -> bool:
    return column not in runs or bool(runs[column].isna().all())


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ("Lime left, dry (g)", "Back on the heat 5 mins, lime left (g)"),
        ("Lime left (g)", "Returned to hotplate, lime left (g)"),
        ("Lime left (g)", "Lime left after a further 5 min (g)"),
        ("Dry mass (g)", "5 more minutes in the oven: mass (g)"),
        ("Dry mass (g)", "Dried a bit longer, mass (g)"),
        ("Dry mass (g)", "Mass after extra drying (g)"),
        ("Residue, I heating (g)", "Residue, II heating (g)"),
        ("Wt. of residue after heating I (g)", "Wt. of residue after heating II (g)"),
    ],
)
def test_longer_on_the_heat_is_the_second_weighing(workbook: Write, one: str, two: str) -> None:
    runs = _read(workbook, **{one: FIRST, two: SECOND, "Solubility g/L": RESULT}).runs
    assert runs["recovered_mass_g"].tolist() == FIRST
    assert runs["second_dry_mass_g"].tolist() == SECOND


def test_the_order_of_the_columns_does_not_matter(workbook: Write) -> None:
    one, two = "Lime left after first heating (g)", "Lime left after second heating (g)"
    runs = _read(workbook, **{two: SECOND, one: FIRST}).runs
    assert runs["recovered_mass_g"].tolist() == FIRST
    assert runs["second_dry_mass_g"].tolist() == SECOND


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ("Dry lime (g)", "Dry lime  (g)"),
        ("Dry lime Monday (g)", "Dry lime Tuesday (g)"),
        ("Lime scraped up, dry (g)", "Dry lime left (g)"),
    ],
)
def test_the_result_does_not_tell_which_weighing_is_the_first(
    workbook: Write, one: str, two: str
) -> None:
    """A class calculates with its last weighing, which would pass for the first."""
    records = _read(workbook, **{one: FIRST, two: SECOND, "Solubility g/L": RESULT})
    read = records.runs
    assert _no(read, "recovered_mass_g") or read["recovered_mass_g"].tolist() == FIRST
    assert _no(read, "second_dry_mass_g")
    assert "unclear" in set(records.ledger["outcome"])


def test_a_dry_mass_behind_one_that_is_not_understood_is_a_question(workbook: Write) -> None:
    runs = _read(workbook, **{"Residue, zonked (g)": FIRST, "Residue, dry (g)": SECOND}).runs
    assert _no(runs, "recovered_mass_g") or runs["recovered_mass_g"].tolist() == FIRST


def test_a_boat_before_the_dry_mass_is_no_first_weighing(workbook: Write) -> None:
    boats = [2.01, 1.93, 2.12, 2.22, 1.93]
    runs = _read(workbook, **{"weigh boat (g)": boats, "lime left (g)": FIRST}).runs
    assert runs["recovered_mass_g"].tolist() == FIRST


def test_paper_weighed_again_is_left_out(workbook: Write) -> None:
    paper = [0.81, 0.80, 0.79, 0.83, 0.82]
    both = [round(m + p, 2) for m, p in zip(FIRST, paper, strict=True)]
    later = [round(m + p, 2) for m, p in zip(SECOND, paper, strict=True)]
    heads = ("Paper (g)", "Paper + dry lime (g)", "Paper + dry lime, back on the heat (g)")
    runs = _read(workbook, **dict(zip(heads, (paper, both, later), strict=True))).runs
    assert runs["recovered_with_paper_mass_g"].tolist() == both
    assert _no(runs, "second_dry_mass_g")


def test_more_time_is_no_second_weighing() -> None:
    for heading in ("Further drying time (min)", "How long back on the hot plate (min)"):
        assert understand((heading,)).column != "second_dry_mass_g"


@pytest.mark.parametrize(
    ("cell", "first", "second"),
    [
        ("2.09 g, then 2.07 g after drying again", 2.09, 2.07),
        ("2.09 (2.07 redried)", 2.09, 2.07),
        ("2.09 g; 2.07 g after another 10 min", 2.09, 2.07),
        ("2.07 g after drying again (was 2.09 g)", None, None),
        ("2.09 g, then 1.50 g after drying again", None, None),
        ("2.09 g, then 2.07 g", None, None),
    ],
)
def test_two_weighings_in_one_cell(
    workbook: Write, cell: str, first: float | None, second: float | None
) -> None:
    runs = _read(workbook, **{"Dry lime (g)": [cell, *FIRST[1:]]}).runs
    assert runs["recovered_mass_g"].tolist()[1:] == FIRST[1:]
    if first is None:
        assert _no(runs, "second_dry_mass_g")
        assert pd.isna(runs["recovered_mass_g"][0])
    else:
        assert runs["recovered_mass_g"][0] == first
        assert runs["second_dry_mass_g"][0] == second
        assert runs["second_dry_mass_g"][1:].isna().all()


def test_two_volumes_that_differ_are_a_question(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Lime used (g)", "Water (mL)", "Water in total (mL)", "Dry lime (g)"],
        ["1", 2.4, "200", 100, 2.1],
        ["2", 2.4, "100+100", 200, 2.1],
        ["3", 2.4, "100+50", 150, 2.1],
        ["4", 2.4, "100+50", 150, 2.1],
    ]
    for order in ((0, 1, 2, 3, 4), (0, 1, 3, 2, 4)):
        records = ss.read_class(workbook({"data": [[row[i] for i in order] for row in rows]}))
        water = records.runs["water_volume_ml"]
        assert pd.isna(water[0])
        assert water[1:].tolist() == [200.0, 150.0, 150.0]
        assert "two volumes of water that differ" in records.flags["note"].str.cat()
