"""Sheets written like a page: sentences, questions over answers, blanks filled in."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import solubility_stats as ss

Write = Callable[..., Path]


def test_sentences_that_state_a_reading_with_its_working(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["CHEMISTRY WORKSHEET    Group 3"],
        [],
        ["Step 1", "Mass of calcium hydroxide weighed into the beaker = 2.99 g"],
        ["Step 2", "Water added: 100.5 + 100 + 100.5 = 301 cm3"],
        [None, "Temperature of the water = 18.5 °C"],
        ["Step 3", "Filter paper + dry residue = 3.46 g; filter paper alone = 0.99 g"],
        [None, "Mass of dry residue = 3.46 - 0.99 = 2.47 g"],
        ["Step 4", "Mass dissolved = 2.99 - 2.47 = 0.52 g"],
    ]
    records = ss.read_class(workbook({"Worksheet": rows}))
    (run,) = records.runs.to_dict("records")
    assert run["group"] == "3"
    assert run["initial_mass_g"] == 2.99
    assert [run[f"fill_{n}_ml"] for n in (1, 2, 3)] == [100.5, 100.0, 100.5]
    assert run["water_volume_ml"] == 301.0
    assert (run["recovered_with_paper_mass_g"], run["paper_mass_g"]) == (3.46, 0.99)
    assert run["recovered_mass_g"] == 2.47
    ledger = records.ledger.set_index("cell")
    assert ledger.loc["B3", "outcome"] == "used"  # label and value share the cell


def test_questions_with_their_answers_below(workbook: Write) -> None:
    def card(group: int, solid: str, saw: str) -> list[list[Any]]:
        return [
            [],
            [f"CARD - Group {group}"],
            ["How much solid did you weigh out at the start?"],
            [solid],
            ["How much water went in altogether?"],
            ["200.5 cm3"],
            ["How long did you stir for?"],
            ["10 minutes"],
            ["Did you see the laser beam in the filtrate?"],
            [saw],
        ]

    rows = [["Class 10B - typed up from the cards"]]
    rows += card(1, "2.046 g", "No, could not see the beam") + card(2, "2.984 g", "Yes, a line")
    runs = ss.read_class(workbook({"cards": rows})).runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["section"].tolist() == ["10B", "10B"]
    assert runs["initial_mass_g"].tolist() == [2.046, 2.984]
    assert runs["stir_min"].tolist() == [10.0, 10.0]
    assert runs["scatter"].tolist()[0] == "clear"


def test_sentences_with_blanks_filled_in(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Solubility worksheet"],
        ["Group", 4],
        ["We weighed out", 2.71, "g of calcium hydroxide."],
        ["The water was at", 22.1, "°C."],
        ["We filled the cylinder the first time to", 50, "mL,"],
        ["and the second time to", 49.5, "mL."],
        ["We stirred for", 12, "minutes and then let it settle for", 30, "minutes."],
        ["So the dry solid weighed", 2.4, "g."],
    ]
    (run,) = ss.read_class(workbook({"Group 4": rows})).runs.to_dict("records")
    assert run["initial_mass_g"] == 2.71
    assert run["temperature_c"] == 22.1
    assert (run["fill_1_ml"], run["fill_2_ml"]) == (50.0, 49.5)
    assert (run["stir_min"], run["settle_min"]) == (12.0, 30.0)
    assert run["recovered_mass_g"] == 2.4


def test_a_page_of_text_is_no_form(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Bring goggles"], ["When: Monday"], ["Where: room 12"], ["Who: everybody"],
    ]  # fmt: skip
    assert ss.read_class(workbook({"notice": rows})).runs.empty
