"""Results told in a line of words per group, as they are pasted out of letters.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import solubility_stats as ss

Write = Callable[..., Path]
LINES = [
    "copied out of the letters they sent me, week 4",
    "Section 3",
    "Team 1: started with 2.46 g, water 4 x 50 mL, got back 2.15 g dry at 20 °C",
    "Team 2: weighed 2.40 g; water 150 mL; dry 2.11 g; vacuum (sorry for being late)",
    "Section 4",
    "Team 1: 2.51 g of lime and 200 mL of water, stirred 10 min, recovered 2.17 g, "
    "laser not visible",
]


def test_each_line_is_a_run(workbook: Write) -> None:
    runs = ss.read_class(workbook({"Sheet1": [[line] for line in LINES]})).runs
    assert runs["section"].tolist() == ["3", "3", "4"]
    assert runs["group"].tolist() == ["1", "2", "1"]
    assert runs["initial_mass_g"].tolist() == [2.46, 2.40, 2.51]
    assert runs["recovered_mass_g"].tolist() == [2.15, 2.11, 2.17]
    assert runs["water_volume_ml"].tolist() == [200, 150, 200]
    assert runs.loc[0, "fill_4_ml"] == 50
    assert runs["temperature_c"].fillna(0).tolist() == [20, 0, 0]
    assert runs["filtration"].fillna("").tolist() == ["", "vacuum", ""]
    assert runs["scatter"].fillna("").tolist() == ["", "", "clear"]


def test_a_figure_without_words_is_asked_about(workbook: Write) -> None:
    lines = [
        "Group 1: 2.46 g of lime, 200 mL of water, 2.15 g",
        "Group 2: 2.40 g of lime, 150 mL of water",
    ]
    records = ss.read_class(workbook({"Sheet1": [[line] for line in lines]}))
    assert "recovered_mass_g" not in records.runs or records.runs["recovered_mass_g"].isna().all()
    assert "does not explain" in records.account["text"]


@pytest.mark.parametrize(
    "lines",
    [["Group 1: arrived late, see me", "Group 2: finished early, all well done"],
     ["Team 1: see page 3 of the notes", "Team 2: see page 4 of the notes"]],
)  # fmt: skip
def test_remarks_about_groups_are_no_runs(workbook: Write, lines: list[str]) -> None:
    assert ss.read_class(workbook({"Sheet1": [[line] for line in lines]})).runs.empty


def test_notes_with_the_group_over_its_lines(workbook: Write) -> None:
    lines = [
        "lime lab P5",
        "water temp 24 C",
        "grp 1",
        "start 2.41g",
        "water 50+50+50ml",
        "dry 2.16g",
        "grp2",
        "Start abt 2.55 g",
        "Water 200 ml total",
        "Dry 2.27 g",
        "stirred 6min waited 15min",
        "grp 3",
        "start 2..6g",
        "water 200ml",
        "dry 2.30g",
    ]
    records = ss.read_class(workbook({"P5": [[line] for line in lines]}))
    runs = records.runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["initial_mass_g"].fillna(0).tolist() == [2.41, 2.55, 0]  # "2..6" is asked about
    assert runs["water_volume_ml"].tolist() == [150, 200, 200]
    assert runs["stir_min"].fillna(0).tolist() == [0, 6, 0]
    assert runs["settle_min"].fillna(0).tolist() == [0, 15, 0]
    unclear = records.ledger[records.ledger["outcome"] == "unclear"]
    assert unclear["raw"].tolist() == ["start 2..6g"]
