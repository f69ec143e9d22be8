"""Plain words of everyday sheets that were nobody's column before, with what must not follow.

The sheets are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.quantities import quantity
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.model import CellContext, RawCell
from solubility_stats.sheets.moments import read_moment
from solubility_stats.sheets.sentences import said_in
from solubility_stats.sheets.word_cells import parse_words

Write = Callable[..., Path]
HEADS = ["Group", "Lime used (g)", "Water (mL)", "Dry lime left (g)"]
ROWS: list[list[Any]] = [[1, 2.41, 200, 2.09], [2, 2.20, 200, 1.88], [3, 2.37, 150, 2.13]]


def _said(text: str, column: str) -> str | None:
    found = said_in([RawCell(1, 1, text, text)], set())
    return found[column][1] if column in found else None


@pytest.mark.parametrize(
    ("text", "way"),
    [
        ("Buchners in use by Yr 12, so gravity", "gravity"),
        ("Pump broken, so gravity for everybody", "gravity"),
        ("Fluted papers ran out, so we all used vacuum", "vacuum"),
        ("hot plate on 2, 25 min drying for all, vacuum for all", "vacuum"),
        ("Kaikki suodattivat imusuodatuksella.", "vacuum"),
        ("Gravity was slow, so vacuum for benches 3 and 4", None),
        ("Gravity is slow, so vacuum might be better", None),
        ("Dried under vacuum, 20 min for all", None),
    ],
)
def test_how_everybody_filtered(text: str, way: str | None) -> None:
    assert _said(text, "filtration") == way


def test_a_mixture_that_stood_in_danish() -> None:
    text = "Alle hold: omrøring i 10 min, derefter stod blandingen i 20 min."
    assert _said(text, "settle_min") == "20 min"
    assert _said(text, "stir_min") == "10 min"


@pytest.mark.parametrize(
    ("text", "heading", "word"),
    [
        ("brak", "Efekt Tyndalla (laser)", "clear"),
        ("brak", "Wygląd przesączu", None),
        ("svag stråle ses", "Laser gennem filtratet", "visible"),
        ("n.t.", "Laser: beam seen?", None),
        ("no, nothing", "Laser: beam seen?", "clear"),
        ("Yes, could not see the beam", "Was the filtrate clear with the laser?", "clear"),
        ("No, beam was visible", "Was the filtrate clear with the laser?", "visible"),
        ("Yes, I could see it", "Was the filtrate clear with the laser?", None),
        ("No, beam was visible", "Laser beam visible?", None),
        ("No - cloudy", "Laser beam visible?", None),
        ("Yes, clearly visible", "Laser beam visible?", "visible"),
        ("y a bit", "Laser beam seen?", "visible"),
        ("não se vê o feixe", "Laser no filtrado", "clear"),
        ("you could see the line", "laser", "visible"),
    ],
)
def test_what_was_seen_of_the_beam(text: str, heading: str, word: str | None) -> None:
    context = CellContext("scatter", None, heading=heading)
    assert parse_words(RawCell(1, 1, text, text), quantity("scatter"), context).value == word


def test_a_remark_tells_of_the_beam_where_no_column_asks(workbook: Write) -> None:
    remarks = ["beam visible with the laser", "laser: no beam, clear", "laser battery was flat"]
    rows = [[*row, remark] for row, remark in zip(ROWS, remarks, strict=True)]
    records = ss.read_class(workbook({"notes": [[*HEADS, "Remarks"], *rows]}))
    assert records.runs["scatter"].tolist()[:2] == ["visible", "clear"]
    assert records.runs["scatter"].isna().tolist() == [False, False, True]
    assert (records.flags["column"] == "scatter").sum() == 2


TITRATED: list[list[Any]] = [
    ["Group", "Lime used (g)", "HCl used (mL)", "Solubility by titration (g/L)"],
    [1, 2.41, 17.1, 1.58],
    [2, 2.20, 17.3, 1.60],
    [3, 2.37, 16.9, 1.56],
]


def test_the_result_of_the_only_route_is_taken(workbook: Write) -> None:
    runs = ss.read_class(workbook({"data": TITRATED})).runs
    assert runs["reported_solubility"].tolist() == [1.58, 1.60, 1.56]
    assert set(runs["reported_unit"]) == {"g/L"}


def test_beside_another_result_it_stays_out(workbook: Write) -> None:
    heads, *rows = TITRATED
    both = [[*heads, "Solubility (g/L)"], *([*row, 1.7] for row in rows)]
    runs = ss.read_class(workbook({"data": both})).runs
    assert runs["reported_solubility"].tolist() == [1.7, 1.7, 1.7]


def test_without_titration_it_stays_out(workbook: Write) -> None:
    rows = [[c for n, c in enumerate(row) if n != 2] for row in TITRATED]
    runs = ss.read_class(workbook({"data": rows})).runs
    assert "reported_solubility" not in runs or runs["reported_solubility"].isna().all()


@pytest.mark.parametrize(
    "heading", ["S by evaporation (g/100 mL)", "acid result g/100mL", "water g/100 mL"]
)
def test_a_ratio_is_no_volume(heading: str) -> None:
    assert understand((heading,)).column in (None, "reported_solubility")


def test_goes_of_a_titration_are_no_fills(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Team", "Lime used (g)", "Water on top (cm3)", "Rough (cm3)", "1st go (cm3)",
         "2nd go (cm3)", "Average (cm3)"],
        ["1", 2.5, 250, 23.5, 22.7, 22.8, 22.75],
        ["2", 2.5, 250, 24.0, 22.9, 22.9, 22.9],
        ["3", 2.6, 250, 22.9, 22.4, 22.5, 22.45],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Tues": rows})).runs
    assert runs["water_volume_ml"].tolist() == [250.0] * 3
    assert not [c for c in runs if c.startswith("fill_") and runs[c].notna().any()]


def test_out_of_a_pot_is_not_out_of_the_filter(workbook: Write) -> None:
    for vessel, column in (("pot", "initial_mass_g"), ("doodah", "")):
        heads = ["Group", f"Calcium hydroxide out of the {vessel} (g)", "Paper (g)",
                 "Paper and dry lime (g)"]  # fmt: skip
        rows = [[1, 2.3, 0.81, 2.79], [2, 2.51, 0.8, 2.97], [3, 2.12, 0.79, 2.66]]
        runs = ss.read_class(workbook({"data": [heads, *rows]})).runs
        assert "recovered_mass_g" not in runs or runs["recovered_mass_g"].isna().all()
        if column:
            assert runs[column].tolist() == [2.3, 2.51, 2.12]


def test_another_fill_after_the_first(workbook: Write) -> None:
    rows = [[1, 2.41, "100 then another 100", 2.09], [2, 2.2, "100 + 100", 1.88],
            [3, 2.37, "100 and another 50", 2.13]]  # fmt: skip
    runs = ss.read_class(workbook({"data": [HEADS, *rows]})).runs
    assert runs["water_volume_ml"].tolist() == [200.0, 200.0, 150.0]
    assert runs["fill_2_ml"].tolist() == [100.0, 100.0, 50.0]


def test_a_year_in_front_leaves_no_doubt() -> None:
    moment, _ = read_moment("2026-02-03 10:10:00", None)
    assert moment == datetime(2026, 2, 3, 10, 10)


def test_a_tab_of_a_section_goes_before_a_weekday_in_the_title(workbook: Write) -> None:
    sheets = {
        f"Sec {n}": [[f"{n} / {day} a.m., water 22.0 °C"], [], HEADS, *ROWS]
        for n, day in (("03", "Thu"), ("04", "Fri"))
    }
    assert set(ss.read_class(workbook(sheets)).runs["section"]) == {"03", "04"}


def test_a_batch_of_students_is_no_bottle(workbook: Write) -> None:
    for code, column in (("B-2", "section"), ("240117-A", "bottle")):
        runs = ss.read_class(workbook({"data": [[f"Batch : {code}"], [], HEADS, *ROWS]})).runs
        assert set(runs[column]) == {code}


def test_who_did_not_titrate_used_no_acid(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["HCl: 0.0400 mol/dm3. 20 cm3 of filtrate was pipetted."],
        [],
        [*HEADS, "HCl used (cm3)"],
        [*ROWS[0], 22.1],
        [*ROWS[1], "not titrated"],
        [*ROWS[2], "overshot at 25"],
    ]
    strength = ss.read_class(workbook({"data": rows})).runs["titrant_mol_per_l"]
    assert strength.isna().tolist() == [False, True, False]
