"""A running log of all groups: remarks and answers stand in the text that names the reading."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]
HEAD = ["time", "group", "what", "reading", "unit"]


def _log(workbook: Write, *more: list[Any], head: list[str] = HEAD) -> pd.DataFrame:
    rows: list[list[Any]] = [["Acid for everybody: 0.05 mol/L HCl"], [], head]
    for group in ("G1", "G2", "G3"):
        rows += [
            ["14:04", group, "lime weighed", 2.44, "g"],
            ["14:06", group, "water in", 100, "mL"],
            ["14:07", group, "water in", 99, "mL"],
            ["14:15", group, "water temp", 20, "C"],
            ["14:22", group, "stirred", 10, "min"],
            ["15:05", group, "paper + solid, dry", 2.89, "g"],
        ]
    records = ss.read_class(workbook({"log": [*rows, *more]}))
    assert not records.runs["group"].duplicated().any()
    return records.runs.set_index("group")


@pytest.mark.parametrize(
    "name",
    [
        "lime weighed CORRECTION, line above was with the boat",
        "lime weighed (corrected)",
        "CORRECTION: lime weighed",
        "lime weighed - wrong boat before, first line does not count",
    ],
)
def test_a_correction_may_stand_in_the_name(workbook: Write, name: str) -> None:
    runs = _log(workbook, ["14:30", "G3", name, 2.17, "g"])
    assert runs["initial_mass_g"].to_dict() == {"G1": 2.44, "G2": 2.44, "G3": 2.17}


def test_two_readings_and_no_word_of_which_counts_are_a_question(workbook: Write) -> None:
    runs = _log(workbook, ["14:30", "G3", "lime weighed", 2.17, "g"])
    assert runs["initial_mass_g"].isna().to_dict() == {"G1": False, "G2": False, "G3": True}


@pytest.mark.parametrize(
    ("said", "whose"), [("scrap that, wrong beaker", "G3"), ("line above is void", None)]
)
def test_a_line_taken_back_by_the_next_is_lost(
    workbook: Write, said: str, whose: str | None
) -> None:
    runs = _log(workbook, ["15:06", whose, said, None, None])
    name = "recovered_with_paper_mass_g"
    assert runs[name].isna().to_dict() == {"G1": False, "G2": False, "G3": True}


def test_the_next_line_may_be_taken_back(workbook: Write) -> None:
    more = [["15:06", "G3", "ignore the next line", None, None],
            ["15:07", "G3", "empty filter paper", 0.91, "g"],
            ["15:08", "G2", "empty filter paper", 0.57, "g"]]  # fmt: skip
    runs = _log(workbook, *more)
    assert pd.isna(runs.at["G3", "paper_mass_g"])
    assert runs.at["G2", "paper_mass_g"] == 0.57


def test_a_pour_without_its_volume_leaves_the_water_open(workbook: Write) -> None:
    runs = _log(workbook, ["14:09", "G2", "water in", None, "mL"])
    assert runs["water_volume_ml"].isna().to_dict() == {"G1": False, "G2": True, "G3": False}


def test_a_pour_corrected_is_no_third_pour(workbook: Write) -> None:
    runs = _log(workbook, ["14:09", "G2", "water in CORRECTION, line above misread", 98, "mL"])
    assert runs["water_volume_ml"].to_dict() == {"G1": 199, "G2": 198, "G3": 199}


def test_answers_may_stand_behind_the_name(workbook: Write) -> None:
    more = [
        ["14:45", "G1", "filtered, pump", None, None],
        ["14:46", "G1", "laser: clear", None, None],
        ["14:54", "G2", "filtered, no pump (gravity)", None, None],
        ["14:55", "G2", "laser: beam visible", None, None],
        ["14:56", None, "fire door alarm, 3 min break", None, None],
        ["14:57", "G3", "overshot endpoint, no titration result", None, None],
    ]
    runs = _log(workbook, *more)
    assert runs.loc[["G1", "G2"], "filtration"].tolist() == ["vacuum", "gravity"]
    assert runs.loc[["G1", "G2"], "scatter"].tolist() == ["clear", "visible"]
    assert runs.loc["G3", ["filtration", "scatter"]].isna().all()


def test_other_words_at_the_top(workbook: Write) -> None:
    head = ["clock", "team", "item", "value", "units"]
    runs = _log(workbook, ["14:30", "G3", "lime weighed corrected", 2.17, "g"], head=head)
    assert runs.at["G3", "initial_mass_g"] == 2.17
    assert runs["water_volume_ml"].tolist() == [199] * 3
