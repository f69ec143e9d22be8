"""Cards side by side, each in its own words; and cards of labels above with unknown ones."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from solubility_stats.sheets import read_class

Write = Callable[..., Path]
Rows = list[list[Any]]
ONE = [
    ["powder we started with", "2.41 g"],
    ["1st pour", "100 mL"],
    ["2nd pour", "49.5 mL"],
    ["filter", "just dripping, no pump"],
    ["dry powder at the end", "2.13 g"],
]
TWO = [
    ["Ca(OH)2 in", "2.46g"],
    ["water in all", "199.5 mL"],
    ["settling", "20 minutes"],
    ["filtered with", "vacuum pump"],
    ["solid left, dry", "2.10g"],
]


def page(left: Rows, right: Rows, word: str = "BENCH") -> Rows:
    return [
        ["Cards from Period 3", None, None, None, "water was 21 C for everybody"],
        [],
        [f"{word} 1", None, None, f"{word} 2"],
        *([*a, None, *b] for a, b in zip(left, right, strict=True)),
    ]


@pytest.mark.parametrize("word", ["BENCH", "Table", "Group"])
def test_each_card_is_read_by_itself(word: str, workbook: Write) -> None:
    runs = read_class(workbook({"Per 3 - typed": page(ONE, TWO, word)})).runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["section"].tolist() == ["3", "3"]
    assert runs["temperature_c"].tolist() == [21, 21]
    assert runs["initial_mass_g"].tolist() == [2.41, 2.46]
    assert runs["recovered_mass_g"].tolist() == [2.13, 2.1]
    assert runs["water_volume_ml"].tolist() == [149.5, 199.5]
    assert runs["filtration"].tolist() == ["gravity", "vacuum"]


def test_a_blank_pour_on_such_a_card_leaves_the_water_open(workbook: Write) -> None:
    left = [*ONE[:3], ["3rd pour", None], ONE[4]]
    runs = read_class(workbook({"Cards": page(left, TWO)})).runs
    assert runs["fill_2_ml"].tolist()[0] == 49.5
    assert pd.isna(runs["water_volume_ml"][0])
    assert runs["water_volume_ml"][1] == 199.5


def test_labels_above_with_initials_among_them(workbook: Write) -> None:
    def card(group: int, mass: float, left: float, initials: str) -> Rows:
        return [
            [f"Bench {group}"],
            ["Solid to start (g)", "Pours (mL)", "Water all together (mL)", "Water temp (C)"],
            [mass, "75 + 75 + 50", 200, 20.5],
            ["Solid left, dry (g)", "See the laser beam?", "Solubility (g/100 mL)", "Initials"],
            [left, "no", 0.175, initials],
            [],
        ]

    rows = [["PERIOD 5"], [], *card(1, 2.48, 2.13, "LB"), *card(2, 2.82, 2.47, "TT")]
    records = read_class(workbook({"Per 5": rows}))
    assert records.runs["group"].tolist() == ["1", "2"]
    assert records.runs["recovered_mass_g"].tolist() == [2.13, 2.47]
    assert records.runs["fill_3_ml"].tolist() == [50, 50]
    assert not records.ledger["raw"].isin(["LB", "TT"]).any()


def test_cards_below_one_another_each_in_its_own_words(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["CHEM 120 Lab 2 - Section L07"], ["Everybody: vacuum filtration, 21.5 °C water"], [],
        ["Group 1", "Ada Example"], ["mass of Ca(OH)2", 2.504, "g"], ["volume of water", 250, "mL"],
        ["mass of filter paper", 1.132, "g"], ["filter paper + solid after drying", 3.243, "g"], [],
        ["Group 2", "AP, LN"], ["Ca(OH)2 weighed out (g)", 2.018], ["water 1 (mL)", 50],
        ["water 2 (mL)", 49.5], ["dry solid (g)", 1.742], [],
        ["Group 3", "RS"], ["initial mass", "2.75 g"], ["water", "3 x 100 mL"],
        ["time stirring", "15 min"], ["dried solid", "2.31 g"],
    ]  # fmt: skip
    records = read_class(workbook({"Wed PM": rows}))
    assert not records.ledger["raw"].str.contains("Ada").any()
    runs = records.runs.set_index("group")
    assert runs["initial_mass_g"].to_dict() == {"1": 2.504, "2": 2.018, "3": 2.75}
    assert runs["water_volume_ml"].to_dict() == {"1": 250, "2": 99.5, "3": 300}
    assert set(runs["filtration"]) == {"vacuum"}
