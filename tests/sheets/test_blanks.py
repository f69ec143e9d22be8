"""Pages of sentences with blanks filled in, one below another."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]


def page(group: int, fills: tuple[str, str, str], stood: str, residue: str) -> list[list[Any]]:
    return [
        ["Science 9  -  Does lime dissolve?"],
        [f"Class: ___9B___      Group no. ___{group}___      Team name: ___ions {group}___"],
        [],
        ["1.  We weighed ___2.07___ g of calcium hydroxide into the big beaker."],
        [
            f"2.  We measured the water three times: first {fills[0]} mL, then {fills[1]} mL, "
            f"then {fills[2]} mL. The water was ___21___ °C."
        ],
        [f"3.  We stirred it for ___10___ minutes and let it stand for {stood} minutes."],
        ["4.  Our kind of filtering (gravity or vacuum): ___gravity___"],
        ["5.  The filter paper weighed ___1.11___ g when it was empty."],
        [
            "6.  After drying, the paper with the powder on it weighed ___2.70___ g, so the powder "
            f"alone is {residue} g."
        ],
        ["7.  So the solubility is ___1.6___ grams in one litre."],
        [],
    ]


def test_pages_of_blanks_below_one_another(workbook: Write) -> None:
    full = ("___100___", "___100___", "___98___")
    rows = page(1, full, "___10___", "___1.59___") + page(2, full, "__________", "___1.60___")
    rows += page(3, full, "___20___", "___1.58___")
    runs = ss.read_class(workbook({"9B": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["section"].tolist() == ["9B"] * 3
    assert runs["initial_mass_g"].tolist() == [2.07] * 3
    assert runs["water_volume_ml"].tolist() == [298.0] * 3
    assert runs["fill_3_ml"].tolist() == [98.0] * 3
    assert runs["temperature_c"].tolist() == [21.0] * 3
    assert runs["stir_min"].tolist() == [10.0] * 3
    assert runs["settle_min"].tolist()[::2] == [10.0, 20.0]
    assert pd.isna(runs["settle_min"][1])
    assert runs["filtration"].tolist() == ["gravity"] * 3
    assert runs["paper_mass_g"].tolist() == [1.11] * 3
    assert runs["recovered_with_paper_mass_g"].tolist() == [2.7] * 3
    assert runs["recovered_mass_g"].tolist() == [1.59, 1.60, 1.58]  # not the powder of the start
    assert runs["reported_solubility"].tolist() == [1.6] * 3
    assert runs["reported_unit"].tolist() == ["grams/litre"] * 3


def test_a_fill_asked_for_and_left_blank_leaves_the_volume_out(workbook: Write) -> None:
    rows = page(1, ("___100___", "___100___", "______"), "___10___", "___1.59___")
    records = ss.read_class(workbook({"9B": rows}))
    (run,) = records.runs.to_dict("records")
    assert (run["fill_1_ml"], run["fill_2_ml"]) == (100.0, 100.0)
    assert pd.isna(run["water_volume_ml"])
    assert "water_volume_ml" in records.flags["column"].tolist()


def test_other_ways_to_fill_in_a_blank(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Lab 6 - Group 4"],
        ["a) We weighed out ___ 2.51 ___ g of calcium hydroxide."],
        ["b) The total volume of water was 200____ mL at a temperature of ____21.5 °C."],
        ["c) The mixture was stirred for ________ minutes."],
        ["d) The dry residue weighed __2.19 g__."],
    ]
    (run,) = ss.read_class(workbook({"sheet": rows})).runs.to_dict("records")
    assert run["group"] == "4"
    assert run["initial_mass_g"] == 2.51
    assert run["water_volume_ml"] == 200.0
    assert run["temperature_c"] == 21.5
    assert run["recovered_mass_g"] == 2.19
    assert "stir_min" not in run or pd.isna(run["stir_min"])


def test_what_is_known_of_water_settles_a_blank_fill(workbook: Write) -> None:
    def steps(total: str) -> list[list[Any]]:
        return [
            ["Period 4      Group 2"],
            ["Names: ___Xenia, Quirin and Ottoline___"],
            ["STEP 1.  Our pile of calcium hydroxide weighs ___2.10___ grams."],
            [
                "STEP 2.  We filled the cylinder up and poured it in.  1st time: ___100___ mL   "
                "2nd time: ___50___ mL   3rd time: ______ mL"
            ],
            [f"That is {total} mL of water in all."],
            ["STEP 3.  We stirred for ___5___ minutes and did not touch it for ___15___ minutes."],
            ["So ___1.82___ grams of powder did not dissolve."],
        ]

    sheets = {f"gr {at}": steps(said) for at, said in enumerate(("__150__", "______", "__250__"))}
    records = ss.read_class(workbook(sheets))
    runs = records.runs
    assert runs["fill_2_ml"].tolist() == [50.0] * 3
    assert runs["water_volume_ml"].isna().tolist() == [False, True, True]
    assert runs["settle_min"].tolist() == [15.0] * 3
    assert runs["recovered_mass_g"].tolist() == [1.82] * 3
    assert not records.ledger["raw"].str.contains("Quirin").any()


def test_one_thing_read_twice_is_not_read(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group no. ___1___"],
        ["We weighed out ___2.51___ g of calcium hydroxide."],
        ["The empty filter paper weighed first ___1.11___ g, then ___1.14___ g."],
        ["We rinsed the beaker with first ___10___ mL, then ___15___ mL of water."],
        ["We stirred it for ___10___ minutes."],
        ["The dry residue weighed ___2.19___ g."],
    ]
    records = ss.read_class(workbook({"sheet": rows}))
    (run,) = records.runs.to_dict("records")
    assert run["recovered_mass_g"] == 2.19
    for column in ("paper_mass_g", "water_volume_ml", "fill_1_ml"):
        assert column not in run or pd.isna(run[column]), column
    ledger = records.ledger.set_index("cell")
    assert ledger.loc["A3", "outcome"] not in ("used", "converted")


def test_sections_named_between_the_pages(workbook: Write) -> None:
    def short(section: str, group: int) -> list[list[Any]]:
        return [
            [f"Section {section}"],
            [f"Worksheet - Group {group}"],
            ["We weighed out ___2.51___ g of calcium hydroxide."],
            ["The total volume of water was ___200___ mL."],
            ["The dry residue weighed ___2.19___ g."],
            ["Group 9 broke our beaker"],
            [],
        ]

    rows = short("A", 1) + short("A", 2) + short("B", 1)
    runs = ss.read_class(workbook({"all": rows})).runs
    assert list(zip(runs["section"], runs["group"], strict=True)) == [
        ("A", "1"), ("A", "2"), ("B", "1"),
    ]  # fmt: skip
    assert runs["recovered_mass_g"].tolist() == [2.19] * 3


def test_a_list_with_lines_to_fill_in_is_no_worksheet(workbook: Write) -> None:
    rows = [["Name: ________"], ["Date: ________"], ["Room: ________"], ["a", "b"]]
    assert ss.read_class(workbook({"list": rows})).runs.empty


@pytest.mark.parametrize(
    ("sentence", "unit"),
    [
        ("7.  One liter of water can dissolve ___1.7___ grams.", "g/liter"),
        ("7.  So 1 L of water dissolves ___1.7___ g of it.", "g/L"),
        ("7.  ___1.7___ grams can be dissolved in one litre of water.", "g/litre"),
        ("7.  100 mL of water can dissolve ___0.17___ g", "g/100 mL"),
    ],
)
def test_what_a_litre_dissolves_is_the_solubility(
    sentence: str, unit: str, workbook: Write
) -> None:
    full = ("___100___", "___100___", "___98___")
    rows = page(1, full, "___10___", "___1.59___")
    rows = [[sentence] if row and "7." in row[0] else row for row in rows]
    runs = ss.read_class(workbook({"pages": rows})).runs
    assert runs["reported_solubility"].tolist() == [0.17 if "0.17" in sentence else 1.7]
    assert runs["reported_unit"].tolist() == [unit]


def test_nope_is_an_answer_about_the_beam(workbook: Write) -> None:
    rows = page(1, ("___100___", "___100___", "___98___"), "___10___", "___1.59___")
    rows.append(["8.  Shine the laser through. Can you see a red line in the water? ___nope___"])
    assert ss.read_class(workbook({"pages": rows})).runs["scatter"].tolist() == ["clear"]


def test_what_our_water_dissolved_is_no_solubility(workbook: Write) -> None:
    full = ("___100___", "___100___", "___98___")
    rows = page(1, full, "___10___", "___1.59___")
    told = "7.  Our water dissolved ___0.5___ grams."
    rows = [[told] if row and "7." in row[0] else row for row in rows]
    runs = ss.read_class(workbook({"pages": rows})).runs
    assert "reported_solubility" not in runs or runs["reported_solubility"].isna().all()
