"""Fills side by side below each group; and what must not be taken for that."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from solubility_stats.sheets import read_class

Write = Callable[..., Path]
Rows = list[list[Any]]
GROUPS = ["Group", 1, None, 2, None, 3, None]
BY_NAME = ["", "Group 1", None, "Group 2", None, "Group 3", None]
AGAIN = ["Group", 1, 1, 2, 2, 3, 3]
POURS = [100, 50, 100, 99.5, 50, 49]


def table(names: list[Any], counts: list[Any] | None, water: list[Any], wide: int = 2) -> Rows:
    def first(label: str, *values: float) -> list[Any]:
        return [label, *(part for v in values for part in (v, *[None] * (wide - 1)))]

    return [
        ["Lime solubility"],
        [],
        names,
        *([counts] if counts is not None else []),
        first("lime (g)", 2.5, 2.4, 2.6),
        ["water (mL)", *water],
        first("T / °C", 21, 20, 22),
        first("dry solid left (g)", 2.1, 2.0, 2.4),
    ]


@pytest.mark.parametrize("names", [GROUPS, BY_NAME, AGAIN])
@pytest.mark.parametrize(
    "counts",
    [
        None,
        ["pour", 1, 2, 1, 2, 1, 2],
        ["", "1st", "2nd", "1st", "2nd", "1st", "2nd"],
        ["cylinder", "A", "B", "A", "B", "A", "B"],
    ],
)
def test_every_pour_becomes_a_fill(
    names: list[Any], counts: list[Any] | None, workbook: Write
) -> None:
    runs = read_class(workbook({"Data": table(names, counts, POURS)})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["fill_1_ml"].tolist() == [100, 100, 50]
    assert runs["fill_2_ml"].tolist() == [50, 99.5, 49]
    assert runs["water_volume_ml"].tolist() == [150, 199.5, 99]
    assert runs["recovered_mass_g"].tolist() == [2.1, 2.0, 2.4]


def test_merged_names(workbook: Write) -> None:
    rows = table(GROUPS, ["pour", 1, 2, 1, 2, 1, 2], POURS)
    path = workbook({"Data": rows}, merge={"Data": ["B3:C3", "D3:E3", "F3:G3"]})
    runs = read_class(path).runs
    assert runs["water_volume_ml"].tolist() == [150, 199.5, 99]
    assert runs["initial_mass_g"].tolist() == [2.5, 2.4, 2.6]


THREE = ["Group", 1, None, None, 2, None, None, 3, None, None]


@pytest.mark.parametrize("counts", [["pour", *[1, 2, "total"] * 3], None])
def test_a_total_behind_the_pours_is_no_pour(counts: list[Any] | None, workbook: Write) -> None:
    water = [100, 50, 150, 100, 99.5, 199.5, 50, 49, 99]
    runs = read_class(workbook({"Data": table(THREE, counts, water, wide=3)})).runs
    assert runs["water_volume_ml"].tolist() == [150, 199.5, 99]


def test_what_may_be_a_pour_or_the_total_leaves_the_water_open(workbook: Write) -> None:
    water = [100, 50, 50, 100, 100, 100, 50, 50, 100]
    records = read_class(workbook({"Data": table(THREE, None, water, wide=3)}))
    assert records.runs["water_volume_ml"].tolist()[:2] == [200, 300]
    assert pd.isna(records.runs["water_volume_ml"][2])
    unclear = records.ledger[records.ledger["outcome"] == "unclear"]
    assert unclear["cell"].tolist() == ["J5"]


def test_places_of_different_width_and_means_behind(workbook: Write) -> None:
    rows: Rows = [
        ["Group", 1, None, 2, 3, None, "mean"],
        ["lime (g)", 2.5, None, 2.4, 2.6, None, 2.5],
        ["water (mL)", 100, 50, 100, 50, 49, 116],
        ["dry solid left (g)", 2.1, None, 2.0, 2.4, None, 2.17],
    ]
    runs = read_class(workbook({"Data": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["water_volume_ml"].tolist() == [150, 100, 99]


def test_trials_have_more_than_water(workbook: Write) -> None:
    rows = table(GROUPS, None, POURS)
    rows[-1] = ["dry solid left (g)", 2.1, 2.2, 2.0, 2.1, 2.4, 2.3]
    runs = read_class(workbook({"Data": rows})).runs
    assert "fill_2_ml" not in runs or runs["fill_2_ml"].isna().all()


def test_two_temperatures_beside_the_pours_are_left_open(workbook: Write) -> None:
    rows = table(GROUPS, None, POURS)
    rows[-2] = ["T / °C", 21, 19, 20, None, 22, 20]
    records = read_class(workbook({"Data": rows}))
    assert records.runs["water_volume_ml"].tolist() == [150, 199.5, 99]
    assert records.runs["temperature_c"].isna().tolist() == [True, False, True]


def test_what_is_called_a_trial_is_no_pour(workbook: Write) -> None:
    runs = read_class(workbook({"Data": table(GROUPS, ["Trial", *[1, 2] * 3], POURS)})).runs
    assert "fill_2_ml" not in runs or runs["fill_2_ml"].isna().all()
    assert runs["run"].tolist() == ["1", "2"] * 3


def card(*water: Any) -> Rows:
    return [
        ["Group", 4],
        ["lime (g)", 2.5],
        ["water (mL)", *water],
        ["dry residue (g)", 2.1, "torn a bit"],
        ["Temperature (°C)", 20],
    ]


def test_a_card_with_its_pours_in_a_row(workbook: Write) -> None:
    runs = read_class(workbook({"Data": card(50, 70)})).runs
    assert runs["water_volume_ml"].tolist() == [120]
    assert runs["group"].tolist() == ["4"]


def test_a_unit_behind_the_water_is_no_pour(workbook: Write) -> None:
    assert read_class(workbook({"Data": card(50, "mL")})).runs["water_volume_ml"].tolist() == [50]


@pytest.mark.parametrize("with_group", [True, False])
def test_a_card_whose_last_figure_may_be_the_sum(*, with_group: bool, workbook: Write) -> None:
    rows = card(50, 50, 100)[0 if with_group else 1 :]
    records = read_class(workbook({"Data": rows}))
    water = records.runs.get("water_volume_ml", pd.Series([None]))
    assert water.isna().all()
    assert records.runs["initial_mass_g"].tolist() == [2.5]


def test_groups_called_by_letters_that_are_symbols_elsewhere(workbook: Write) -> None:
    letters = list("RSTUV")
    rows: Rows = [
        ["All on the Buchner with the water pump."],
        ["Group", None, *(part for x in letters for part in (x, None)), "set mean"],
        ["Run", None, *["1st", "2nd"] * 5],
        ["Weighing"],
        [
            "lime taken",
            "g",
            *[2.887, 2.381, 2.791, 2.235, 3.006, 2.752, 2.378, 2.649, 2.6, 2.976],
            2.6,
        ],
        ["filter paper", "mg", *[700, 703, 671, 673, 684, 689, 681, 678, 657, 651]],
        ["Filtering"],
        ["stood", "h", *[1, 0.5] * 5],
        ["water in beaker", "cm3", *[199.5, 201.5, 249, 250, 150, 150, 301, 302, 199.5, 199]],
        ["lime left", "g", *[2.518, 2.035, 2.325, 1.794, 2.721, 2.49, 1.862, 2.143, 2.249, 2.631]],
        ["Titration (25 cm3 pipetted)"],
        ["titre", "cm3", *[23.45, 23.65, 23.6, 23.25, 23.6, 23.15, 23.5, 23.6, 23.65, 23.4], 23.5],
    ]
    runs = read_class(workbook({"12C": rows})).runs
    assert list(dict.fromkeys(runs["group"])) == letters
    assert runs["run"].tolist() == ["1", "2"] * 5
    assert runs["initial_mass_g"].tolist()[:2] == [2.887, 2.381]
    assert runs["paper_mass_g"].tolist()[:2] == pytest.approx([0.7, 0.703])
    assert runs["settle_min"].tolist() == [60, 30] * 5
    assert set(runs["filtration"]) == {"vacuum"}
    assert set(runs["aliquot_ml"]) == {25}


def test_words_below_a_second_place_may_be_a_trial_that_failed(workbook: Write) -> None:
    rows = card(100, 100)
    rows[1] += ["spilled"]
    records = read_class(workbook({"Data": rows[1:]}))
    assert records.runs["initial_mass_g"].tolist() == [2.5]
    assert records.runs.get("water_volume_ml", pd.Series([None])).isna().all()
    assert "fill_2_ml" not in read_class(workbook({"Data": rows})).runs


def cards(label: str) -> Rows:
    def one(group: int, lime: float, *water: float) -> Rows:
        return [["GROUP", group, None, None], ["Lime at start", f"{lime} g", None, None],
                [label, *water], ["Paper before", "0.95 g", None, None],
                ["Paper + lime, dry", f"{lime + 0.7} g", None, None]]  # fmt: skip

    left, right = one(1, 2.04, 50, 50, 49), one(2, 2.11, 50, 50)
    return [[*a, None, *b] for a, b in zip(left, right, strict=True)]


def test_pours_on_cards_side_by_side(workbook: Write) -> None:
    runs = read_class(workbook({"cards": cards("Water each time (ml)")})).runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["water_volume_ml"].tolist() == [149, 100]


def test_the_first_of_several_volumes_on_a_card_is_not_all_its_water(workbook: Write) -> None:
    rows = cards("Water (ml)")
    rows = [row[:4] for row in rows]
    rows[0] = ["Card of group 1"]
    runs = read_class(workbook({"card": [*rows[:1], [], *rows[1:]]})).runs
    assert len(runs) == 1
    water = runs["water_volume_ml"].tolist() if "water_volume_ml" in runs else [None]
    assert water[0] is None or pd.isna(water[0]) or water == [149]
