"""Tables with a line per group and its fills on lines of their own below it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]
Rows = list[list[Any]]
HEAD = [None, "started with (g)", "water (ml)", "got back dry (g)", "anything weird"]


def _read(workbook: Write, rows: Rows, **merge: Any) -> ss.ClassRecords:
    return ss.read_class(workbook({"data": rows}, **merge))


def _water(records: ss.ClassRecords, group: str) -> list[float | None]:
    run = records.runs.set_index("group").loc[group]
    names = [c for c in records.runs if c.startswith("fill_")] + ["water_volume_ml"]
    return [None if pd.isna(run[c]) else run[c] for c in names]


def test_named_fills_and_their_sum(workbook: Write) -> None:
    rows: Rows = [
        HEAD,
        ["Pair 1", 2.5, None, 1.99],
        ["   fill 1", None, 99],
        ["   fill 2", None, 100],
        ["   altogether", None, 199],
        ["Pair 2", 2.79, None, 2.28, "swapped beakers"],
        ["   fill 1", None, 100],
        ["   fill 2", None, 98],
        ["   fill 3", None, 100],
    ]
    records = _read(workbook, rows)
    assert records.runs["group"].tolist() == ["1", "2"]
    assert records.runs["initial_mass_g"].tolist() == [2.5, 2.79]
    assert _water(records, "1") == [99, 100, None, 199]
    assert _water(records, "2") == [100, 98, 100, 298]
    assert len(records.ledger) == sum(c is not None for row in rows for c in row)
    assert (records.ledger["outcome"] != "unclear").all()


def test_a_class_that_turns_its_head_for_the_fills(workbook: Write) -> None:
    """The names of the fills would make more headings than the table has."""
    rows: Rows = [["Group", "Lime (g)", "Water"], [None, None, "mL"]]
    for group in "ABC":
        rows += [[group, 2.5, None]]
        rows += [[f"{n}. Füllung", None, 50 + n] for n in (1, 2, 3, 4)] + [["Summe", None, 210]]
    records = _read(workbook, rows)
    assert records.runs["group"].tolist() == ["A", "B", "C"]
    assert _water(records, "B") == [51, 52, 53, 54, 210]


def test_first_fill_on_the_line_of_the_group(workbook: Write) -> None:
    rows: Rows = [
        HEAD,
        ["A", 2.5, 100, 1.9],
        ["2nd fill", None, 99],
        ["3rd fill", None, 98],
        ["B", 2.4, 100, 1.8],
        ["2nd fill", None, 97],
    ]
    records = _read(workbook, rows)
    assert _water(records, "A") == [100, 99, 98, 297]
    assert _water(records, "B") == [100, 97, None, 197]


@pytest.mark.parametrize("again", [False, True])
def test_fills_without_a_name(workbook: Write, again: bool) -> None:
    rows: Rows = [["Group", "Lime (g)", "Water (mL)", "Residue (g)"]]
    for group, mass, fills in (("1", 2.5, [100, 99, 98]), ("2", 2.4, [100, 97])):
        rows.append([group, mass, fills[0], mass - 0.5])
        rows += [[group if again else None, None, fill] for fill in fills[1:]]
    records = _read(workbook, rows)
    assert _water(records, "1") == [100, 99, 98, 297]
    assert _water(records, "2") == [100, 97, None, 197]


def test_fills_below_merged_cells_are_no_trials(workbook: Write) -> None:
    rows: Rows = [["Group", "Lime (g)", "Water (mL)", "Residue (g)"]]
    for group in ("1", "2"):
        rows += [[group, 2.5, 100, 1.9], [None, None, 99, None], [None, None, 98, None]]
    areas = [f"{c}{top}:{c}{top + 2}" for c in "ABD" for top in (2, 5)]
    records = _read(workbook, rows, merge={"data": areas})
    assert len(records.runs) == 2
    assert _water(records, "2") == [100, 99, 98, 297]


def test_a_total_on_the_line_of_the_group_is_no_fill(workbook: Write) -> None:
    rows: Rows = [["Group", "Lime (g)", "Water (mL)", "Residue (g)"]]
    for group, fills in (("1", [99, 98]), ("2", [97, 50, 50])):
        rows += [[group, 2.5, sum(fills), 1.9], *([None, None, fill] for fill in fills)]
    records = _read(workbook, rows)
    assert _water(records, "1") == [99, 98, None, 197]
    assert _water(records, "2") == [97, 50, 50, 197]


def test_a_sum_below_the_fills_is_no_fill(workbook: Write) -> None:
    rows: Rows = [["Group", "Lime (g)", "Water (mL)", "Residue (g)"]]
    for group, fills in (("1", [99, 98]), ("2", [97, 50, 50])):
        rows += [[group, 2.5, None, 1.9], *([None, None, f] for f in [*fills, sum(fills)])]
    records = _read(workbook, rows)
    assert _water(records, "1") == [99, 98, None, 197]
    assert _water(records, "2") == [97, 50, 50, 197]


def test_two_equal_numbers_may_be_a_total_or_two_fills(workbook: Write) -> None:
    rows: Rows = [["Group", "Lime (g)", "Water (mL)", "Residue (g)"]]
    for group in ("1", "2"):
        rows += [[group, 2.5, 100, 1.9], [None, None, 100]]
    assert _read(workbook, rows).runs["water_volume_ml"].isna().all()


@pytest.mark.parametrize(
    "lines",
    [
        [("fill 1", 99), ("fill 3", 98)],  # one was not written down
        [("fill 1", 99), ("fill 1", 98), ("fill 2", 100)],  # which counts?
        [("fill 1", "spilled"), ("fill 2", 100)],
    ],
)
def test_no_sum_of_what_is_left(workbook: Write, lines: list[tuple[str, Any]]) -> None:
    rows: Rows = [HEAD, ["Pair 1", 2.5, None, 1.99]]
    rows += [[name, None, volume] for name, volume in lines]
    rows += [["Pair 2", 2.4, None, 1.9], ["fill 1", None, 99], ["fill 2", None, 98]]
    records = _read(workbook, rows)
    assert records.runs["group"].tolist() == ["1", "2"]
    assert pd.isna(records.runs["water_volume_ml"][0])
    assert records.runs["water_volume_ml"][1] == 197
    assert (records.ledger["outcome"] == "unclear").any()


def test_what_else_stands_beside_a_fill_is_not_read(workbook: Write) -> None:
    rows: Rows = [
        HEAD,
        ["Pair 1", 2.5, None, 1.99],
        ["fill 1", None, 99, 1.5],
        ["fill 2", None, 98, None, "a bit over the mark"],
        ["Pair 2", 2.4, None, 1.9],
        ["fill 1", None, 99],
        ["fill 2", None, 98],
    ]
    records = _read(workbook, rows)
    assert records.runs["recovered_mass_g"].tolist() == [1.99, 1.9]
    assert records.runs["comment"][0] == "a bit over the mark"
    assert records.ledger.set_index("cell")["outcome"]["D3"] == "unclear"


def test_a_card_with_a_label_before_its_fills_stays_a_card(workbook: Write) -> None:
    rows: Rows = []
    for group in (1, 2):
        rows += [["Group", group], ["Lime weighed (g)", 2.4 + group / 10], ["Fill 1 (mL)", 99],
                 ["Fill 2 (mL)", 98], ["Dry residue (g)", 1.9], []]  # fmt: skip
    runs = _read(workbook, rows).runs
    assert runs["initial_mass_g"].tolist() == [2.5, 2.6]
    assert runs["water_volume_ml"].tolist() == [197, 197]


def test_trials_of_one_group_are_no_fills(workbook: Write) -> None:
    rows: Rows = [
        ["Group", "Trial", "Lime (g)", "Water (mL)", "Residue (g)"],
        ["1", 1, 2.5, 100, 1.9],
        [None, 2, 2.4, 99, 1.8],
        ["2", 1, 2.5, 100, 1.9],
        [None, 2, 2.4, 98, 1.8],
    ]
    runs = _read(workbook, rows).runs
    assert runs["water_volume_ml"].tolist() == [100, 99, 100, 98]


def test_two_trials_each_with_fills_of_their_own(workbook: Write) -> None:
    rows: Rows = [["Group", "Trial", "Lime (g)", "Water (mL)", "Residue (g)"]]
    for group in ("1", "2"):
        rows += [[group, 1, 2.5, None, 1.9], [None, "fill 1", None, 99], [None, "fill 2", None, 98]]
        rows += [[None, 2, 2.4, None, 1.8], [None, "fill 1", None, 97], [None, "fill 2", None, 96]]
    runs = _read(workbook, rows).runs
    assert runs["group"].tolist() == ["1", "1", "2", "2"]
    assert runs["run"].tolist() == ["1", "2", "1", "2"]
    assert runs["water_volume_ml"].tolist() == [197, 193, 197, 193]


def test_two_tables_below_one_another(workbook: Write) -> None:
    rows: Rows = []
    for section, most in (("A", 3), ("B", 2)):
        rows += [[f"Section {section}"], ["Group", "Lime (g)", "Water (mL)", "Residue (g)"]]
        for group in ("1", "2"):
            rows += [
                [group, 2.5, None, 1.9],
                *([f"fill {n}", None, 50] for n in range(1, most + 1)),
            ]
        rows += [[]]
    runs = _read(workbook, rows).runs
    assert runs["section"].tolist() == ["A", "A", "B", "B"]
    assert runs["water_volume_ml"].tolist() == [150, 150, 100, 100]


def test_fills_with_their_unit_below_no_heading(workbook: Write) -> None:
    rows: Rows = [["Pair", "lime", None, "residue"]]
    for group in ("1", "2"):
        rows += [[group, "2.50 g", None, "1.90 g"]]
        rows += [["cylinder 1", None, "99 mL"], ["cylinder 2", None, "98 mL"]]
    assert _read(workbook, rows).runs["water_volume_ml"].tolist() == [197, 197]
