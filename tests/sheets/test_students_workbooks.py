"""Workbooks of one group and cards pasted below one another; all invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.quantities import quantity
from solubility_stats.sheets.model import CellContext, RawCell
from solubility_stats.sheets.word_cells import parse_words

Write = Callable[..., Path]
TRIALS = ["", "Trial 1", "Trial 2", "Trial 3"]
RAW: list[list[Any]] = [
    TRIALS, ["mass of Ca(OH)2 (g)", 2.396, 2.721, 2.634], ["water (mL)", 200, 199.5, 199],
    ["dry Ca(OH)2 recovered (g)", 2.049, 2.366, 2.272],
]  # fmt: skip


@pytest.mark.parametrize(
    "calculations",
    [
        [["mass dissolved (g)", 0.347, 0.355, 0.362], ["solubility (g/L)", 1.74, 1.78, 1.82]],
        [["total water (mL)", 200, 199.5, 199], ["mol HCl", 0.0011, 0.0012, 0.0011],
         ["solubility (g/L)", 1.74, 1.78, 1.82]],
    ],
)  # fmt: skip
@pytest.mark.parametrize("title", [[], [["Group 5, Section 2 (Thursday)"], []]])
def test_a_tab_of_calculations_is_of_the_same_trials(
    workbook: Write, calculations: list[list[Any]], title: list[list[Any]]
) -> None:
    tabs = {"Raw data": [*title, *RAW], "Calculations": [TRIALS, *calculations]}
    records = ss.read_class(workbook(tabs))
    assert records.runs["initial_mass_g"].to_list() == [2.396, 2.721, 2.634]
    assert records.runs["reported_solubility"].to_list() == [1.74, 1.78, 1.82]
    assert "mol HCl" not in str(records.account["text"]).replace("'mol HCl': worked out", "")


def test_mass_of_solid_is_what_paper_and_solid_leave(workbook: Write) -> None:
    card = [["Group", 7], ["Mass of calcium hydroxide", 2.482, "g"], ["Water, total", 249.5, "mL"],
            ["Mass of filter paper", 0.929, "g"], ["Mass of paper + solid, dry", 2.99, "g"],
            ["Mass of solid", 2.061, "g"]]  # fmt: skip
    run = ss.read_class(workbook({"p14": card})).runs.iloc[0]
    assert run["initial_mass_g"] == 2.482
    assert run["recovered_mass_g"] == 2.061


def test_two_masses_of_a_solid_that_nothing_tells_apart_stay_open(workbook: Write) -> None:
    card = [["Group", 7], ["Mass of calcium hydroxide", 2.482, "g"], ["Water, total", 249.5, "mL"],
            ["Mass of solid", 2.061, "g"], ["Water temperature", 20.4, "°C"]]  # fmt: skip
    runs = ss.read_class(workbook({"p14": card})).runs
    assert "initial_mass_g" not in runs or runs["initial_mass_g"].isna().all()


def test_members_beside_the_titles_of_cards_are_left_out(workbook: Write) -> None:
    rows: list[list[Any]] = [["Slaked Lime - 3rd Hour"]]
    people = ["Ana Bergfeld / Bo Fieldon", "Ida Holmqvist", "Eva Lundberg, Tom Okafor"]
    for team, who in enumerate(people, start=1):
        rows += [[f"Team {team}", None, "Names:", who], ["Lime we weighed", 2.5 + team / 100, "g"],
                 ["Water - cylinder 1", 50, "mL"], ["Water - cylinder 2", 99, "mL"],
                 ["Dry solid", 2.2 + team / 100, "g"], []]  # fmt: skip
    records = ss.read_class(workbook({"3rd hour": rows}))
    assert records.runs["group"].to_list() == ["1", "2", "3"]
    assert records.runs["initial_mass_g"].to_list() == [2.51, 2.52, 2.53]
    shown = records.ledger.to_string() + str(records.account["text"])
    for name in ("Bergfeld", "Holmqvist", "Okafor"):
        assert name not in shown


@pytest.mark.parametrize(
    ("text", "heading", "word"),
    [
        ("simple", "Filtration (simple / sous vide)", "gravity"),
        ("sous vide", "Filtration (simple / sous vide)", "vacuum"),
        ("plain", "Buchner or plain funnel", "gravity"),
    ],
)
def test_the_last_word_of_a_choice_belongs_to_the_second(
    text: str, heading: str, word: str
) -> None:
    context = CellContext("filtration", None, heading=heading)
    assert parse_words(RawCell(1, 1, text, text), quantity("filtration"), context).value == word
