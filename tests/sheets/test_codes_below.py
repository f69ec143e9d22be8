"""Codes explained below a table, results headed by their owner, and what a footnote says of all.

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
HEADS = ["Group", "Lime used (g)", "Water (mL)", "Lime left, dry (g)"]
ROWS = [(1, 2.41, 200, 2.07), (2, 2.20, 200, 1.87), (3, 2.37, 150, 2.11), (4, 2.55, 150, 2.30)]


def _rows(more: dict[str, Sequence[Any]]) -> list[list[Any]]:
    lines = zip(ROWS, *more.values(), strict=True)
    return [[*HEADS, *more], *([*row, *cells] for row, *cells in lines)]


def _runs(write: Write, below: Sequence[str] = (), **more: Sequence[Any]) -> pd.DataFrame:
    notes = [[], *([text] for text in below)]
    return ss.read_class(write({"5C": [*_rows(more), *notes]})).runs


def _said(runs: pd.DataFrame, column: str) -> list[str | None]:
    if column not in runs:
        return [None] * len(runs)
    return [None if pd.isna(v) else str(v) for v in runs[column]]


@pytest.mark.parametrize(
    ("codes", "below"),
    [
        (["w.p.", "gr.", "gr.", "w.p."], "w.p. = water pump (Büchner);  gr. = gravity"),
        (["v", "g", "g", "v"], "filter: v = vacuum, g = gravity. Tyndall: pos = beam visible"),
        (["wp", "g.", "g.", "wp"], "Filter: w.p. = water pump, g = gravity"),
    ],
)
def test_shortened_ways_of_filtering(workbook: Write, codes: list[str], below: str) -> None:
    runs = _runs(workbook, [below], Filter=codes)
    assert _said(runs, "filtration") == ["vacuum", "gravity", "gravity", "vacuum"]


@pytest.mark.parametrize(
    ("codes", "below"),
    [
        (["n. s.", "visible", "n. s.", "n.s."], "Laser: beam visible / not seen (n. s.)"),
        (["neg", "pos", "neg", "neg"], "Tyndall: pos = beam visible in filtrate."),
        (["neg", "pos", "neg", "neg"], ""),
    ],
)
def test_shortened_answers_on_the_beam(workbook: Write, codes: list[str], below: str) -> None:
    runs = _runs(workbook, [below], Laser=codes)
    assert _said(runs, "scatter") == ["clear", "visible", "clear", "clear"]


def test_a_code_for_not_tested_is_no_answer(workbook: Write) -> None:
    """Of two codes the second is usually the other answer; not where it says that none is given."""
    key = "Laser: pos = beam visible. n.d. = not determined"
    runs = _runs(workbook, [key], Laser=["n.d.", "pos", "pos", "n.d."])
    assert _said(runs, "scatter") == [None, "visible", "visible", None]
    key = "Laser: Y = beam visible, N = not tested"
    runs = _runs(workbook, [key], Laser=["N", "Y", "Y", "N"])
    assert _said(runs, "scatter") == [None, "visible", "visible", None]


def test_a_code_used_upside_down_speaks_for_no_other(workbook: Write) -> None:
    runs = _runs(workbook, ["Laser: pos = no beam"], Laser=["pos", "neg", "neg", "pos"])
    assert _said(runs, "scatter") == ["clear", None, None, "clear"]


@pytest.mark.parametrize(
    "note",
    [
        "Everyone used gravity (fluted). Y = you see the red line.",
        "Y = you see the red line. All groups: gravity filtration.",
    ],
)
def test_a_footnote_with_a_key_says_how_all_filtered(workbook: Write, note: str) -> None:
    runs = _runs(workbook, [note], Laser=["N", "Y", "N", "N"])
    assert _said(runs, "filtration") == ["gravity"] * 4


@pytest.mark.parametrize("note", ["All groups: V - vacuum. G - gravity.", "G = gravity for all.",
                                  "N = Nutsche, T = Trichter, all groups"])  # fmt: skip
def test_a_key_alone_says_how_nobody_filtered(workbook: Write, note: str) -> None:
    runs = _runs(workbook, [note], Laser=["N", "Y", "N", "N"])
    assert _said(runs, "filtration") == [None] * 4


def test_a_result_headed_by_its_owner_is_no_group_and_no_class(workbook: Write) -> None:
    results = [1.70, 1.65, 1.73, 1.67]
    for heading in ("S_group [g/L]", "class got (g/L)"):
        runs = _runs(workbook, **{heading: results})
        assert runs["group"].tolist() == ["1", "2", "3", "4"]
        assert not any(filter(None, _said(runs, "section")))
        assert runs["reported_solubility"].tolist() == results
    assert understand(("class average (g/L)",)).column is None
    assert understand(("S, table (g/L)",)).column != "reported_solubility"
    assert understand(("S_group",)).column == "group"


def test_a_unit_of_the_result_in_a_list_of_units(workbook: Write) -> None:
    rows = [["masses g, volumes mL, times min, sol g/L"], [], *_rows({"sol": [1.7, 1.6, 1.7, 1.6]})]
    runs = ss.read_class(workbook({"5C": rows})).runs
    assert runs["reported_solubility"].tolist() == [1.7, 1.6, 1.7, 1.6]
    runs = _runs(workbook, **{"sol": [20.0, 25.0, 20.0, 25.0]})
    assert _said(runs, "reported_solubility") == [None] * 4


@pytest.mark.parametrize(("first", "second"), [("m(dry) / g", "m(dry, 2nd) / g"), ("dry1", "dry2")])
def test_a_second_dry_mass_by_its_number(workbook: Write, first: str, second: str) -> None:
    heads = ["grp", "m(taken) / g", "V(water) / mL", first, second]
    rows = [heads, *([*row, row[3] - 0.01] for row in ROWS)]
    runs = ss.read_class(workbook({"5C": rows})).runs
    assert runs["recovered_mass_g"].tolist() == [row[3] for row in ROWS]
    assert runs["second_dry_mass_g"].tolist() == [row[3] - 0.01 for row in ROWS]


def test_a_second_dry_mass_that_is_heavier_is_a_question(workbook: Write) -> None:
    heads = ["grp", "m(taken) / g", "V(water) / mL", "m(dry) / g", "m(dry, 2nd) / g"]
    rows = [heads, *([*row, row[3] + (0.05 if row[0] == 2 else -0.03)] for row in ROWS)]
    runs = ss.read_class(workbook({"5C": rows})).runs
    assert _said(runs, "second_dry_mass_g") == [None] * 4


def test_sets_named_once_tell_equal_benches_apart(workbook: Write) -> None:
    """Else the first bench of each set would be one bench with three runs."""
    heads = ["set", "bench", *HEADS[1:]]
    rows: list[list[Any]] = [heads]
    for code in "PQR":
        for bench, lime, water, left in ROWS:
            rows.append([code if bench == 1 else None, bench, lime, water, left])
        rows.append([])
    runs = ss.read_class(workbook({"all": rows})).runs
    assert runs["section"].tolist() == [code for code in "PQR" for _ in ROWS]
    assert runs["group"].tolist() == ["1", "2", "3", "4"] * 3


@pytest.mark.parametrize(
    "said",
    [
        "Titulação de 20,00 mL do filtrado com HCl 0,0500 mol/L (todos os grupos)",
        "20.00 mL of filtrate titrated with HCl 0.0500 mol/L",
    ],
)
def test_an_acid_named_before_its_strength(workbook: Write, said: str) -> None:
    table = _rows({"HCl used (mL)": [18.03, 18.24, 17.77, 18.09]})
    runs = ss.read_class(workbook({"A": [[said], [], *table]})).runs
    assert runs["aliquot_ml"].tolist() == [20.0] * 4
    assert runs["titrant_mol_per_l"].tolist() == [0.05] * 4


def test_lime_on_the_scale_was_weighed() -> None:
    assert understand(("pickling lime on the little scale",)).column == "initial_mass_g"
    assert understand(("dried lime on the scale",)).column == "recovered_mass_g"
    assert understand(("balance for lime",)).column != "initial_mass_g"
    text = "Solubility from the mass that is missing, in g per 100 mL"
    assert understand((text,)).column == "reported_solubility"
    assert understand(("mass that is missing (g)",)).column is None
