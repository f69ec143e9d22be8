"""One matrix per quantity, groups against classes or trials; and what is no such matrix."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from solubility_stats.records import ClassRecords
from solubility_stats.sheets import read_class

Write = Callable[..., Path]
Rows = list[list[Any]]
TITLES = ("Mass of lime (g)", "Water added (mL)", "Dry residue (g)")
LIME = [2.12, 2.23, 2.34, 2.41, 2.52, 2.63]
WATER = [200, 150, 198, 152, 201, 149]
LEFT = [1.81, 1.92, 1.97, 2.08, 2.13, 2.24]


def matrix(
    title: str | None, corner: Any, across: list[Any], down: list[Any], values: Rows
) -> Rows:
    head: Rows = [] if title is None else [[title]]
    lines = [[name, *line] for name, line in zip(down, values, strict=True)]
    return [*head, [corner, *across], *lines, []]


def three(
    corner: Any, across: list[Any], down: list[Any], titles: tuple[str, ...] = TITLES
) -> Rows:
    wide = len(across)
    rows: Rows = []
    for title, values in zip(titles, (LIME, WATER, LEFT), strict=True):
        body = [values[at : at + wide] for at in range(0, len(values), wide)]
        rows += matrix(title, corner, across, down, body)
    return rows


def read(records: ClassRecords, *keys: str) -> dict[tuple[str, ...], list[float]]:
    runs = records.runs
    columns = ["initial_mass_g", "water_volume_ml", "recovered_mass_g"]
    named = zip(*(runs[key] for key in keys), strict=True)
    return dict(zip(named, runs[columns].to_numpy().tolist(), strict=True))


BY_TWO = {
    ("1", "1"): [2.12, 200, 1.81], ("1", "2"): [2.23, 150, 1.92],
    ("2", "1"): [2.34, 198, 1.97], ("2", "2"): [2.41, 152, 2.08],
    ("3", "1"): [2.52, 201, 2.13], ("3", "2"): [2.63, 149, 2.24],
}  # fmt: skip


@pytest.mark.parametrize(
    ("corner", "across", "down"),
    [
        ("Group", ["Trial 1", "Trial 2"], [1, 2, 3]),
        ("", ["Trial 1", "Trial 2"], ["Group 1", "Group 2", "Group 3"]),
        ("Bench", ["1st go", "2nd go"], ["Bench 1", "Bench 2", "Bench 3"]),
        ("Group \\ Trial", [1, 2], [1, 2, 3]),
    ],
)
def test_groups_down_and_trials_across(
    corner: str, across: list[Any], down: list[Any], workbook: Write
) -> None:
    records = read_class(workbook({"Data": three(corner, across, down)}))
    assert read(records, "group", "run") == BY_TWO
    assert (records.ledger["outcome"] != "unclear").all()


@pytest.mark.parametrize(
    ("corner", "down"), [("Trial", [1, 2]), ("", ["Run 1", "Run 2"]), ("", [1, 2])]
)
def test_groups_across_and_trials_down(corner: str, down: list[Any], workbook: Write) -> None:
    across = ["Group 1", "Group 2", "Group 3"]
    records = read_class(workbook({"Data": three(corner, across, down)}))
    assert read(records, "run", "group") == {
        ("1", "1"): [2.12, 200, 1.81], ("1", "2"): [2.23, 150, 1.92],
        ("1", "3"): [2.34, 198, 1.97], ("2", "1"): [2.41, 152, 2.08],
        ("2", "2"): [2.52, 201, 2.13], ("2", "3"): [2.63, 149, 2.24],
    }  # fmt: skip


def test_four_in_a_square_with_averages_absent_groups_and_a_word(workbook: Write) -> None:
    def beside(left: Rows, right: Rows) -> Rows:
        wide = max(map(len, left))
        return [[*a, *[None] * (wide + 1 - len(a)), *b] for a, b in zip(left, right, strict=True)]

    def one(title: str, values: Rows, average: list[Any]) -> Rows:
        names = [1, 2, 3, "avg"]
        return matrix(title, "Lab table", ["Period 1", "Period 6"], names, [*values, average])

    rows = [
        ["LIME LAB", None, None, None, "All classes gravity filtered"],
        [],
        *beside(
            one("STARTING MASS, calcium hydroxide (g)", [[2.32, 2.48], [2.59, 2.33], [2.17, None]],
                [2.36, 2.405]),
            one("TOTAL WATER (mL)", [[200, 200], [198, 150], [250, None]], [216, 175]),
        ),
        *beside(
            one("MASS LEFT after drying (g)", [[1.94, 2.13], ["dropped it", 2.01], [1.79, None]],
                [1.865, 2.07]),
            one("WATER TEMPERATURE (°C)", [[20, 19], ["n/a", 21], [21, None]], [20.5, 20]),
        ),
    ]  # fmt: skip
    records = read_class(workbook({"all": rows}))
    runs = records.runs.set_index(["section", "group"])
    assert sorted(runs.index) == [("1", "1"), ("1", "2"), ("1", "3"), ("6", "1"), ("6", "2")]
    assert runs.loc[("6", "2"), "initial_mass_g"] == 2.33
    assert runs.loc[("6", "2"), "water_volume_ml"] == 150
    assert runs.loc[("6", "1"), "temperature_c"] == 19
    assert pd.isna(runs.loc[("1", "2"), "recovered_mass_g"])
    assert set(runs["filtration"]) == {"gravity"}
    averages = records.ledger[records.ledger["raw"].isin(["2.36", "216", "avg"])]
    assert set(averages["outcome"]) == {"ignored"}


def test_the_quantity_in_the_corner(workbook: Write) -> None:
    across, down = ["Trial 1", "Trial 2"], ["Group 1", "Group 2", "Group 3"]
    rows: Rows = [["Class results"], []]
    for title, values in zip(TITLES, (LIME, WATER, LEFT), strict=True):
        rows += matrix(None, title, across, down, [values[at : at + 2] for at in (0, 2, 4)])
    assert read(read_class(workbook({"Data": rows})), "group", "run") == BY_TWO


def test_one_matrix_on_each_tab(workbook: Write) -> None:
    sheets = {}
    for title, values in zip(TITLES, (LIME, WATER, LEFT), strict=True):
        body = [values[at : at + 2] for at in (0, 2, 4)]
        sheets[title.split(" ")[0]] = matrix(
            title, "Bench", ["Period 1", "Period 2"], [1, 2, 3], body
        )
    assert read(read_class(workbook(sheets)), "group", "section") == BY_TWO


def test_the_class_in_the_title_and_another_unit_for_it(workbook: Write) -> None:
    across, down = ["Trial 1", "Trial 2"], [1, 2]
    rows = [
        *matrix("Lime at the start (g), Period 1", "Group", across, down, [[2.5, 2.4], [2.6, 2.7]]),
        *matrix("Lime at the start (mg), Period 2", "Group", across, down,
                [[2510, 2410], [2610, 2710]]),
        *matrix("Dry residue (g), Period 1", "Group", across, down, [[2.2, 2.1], [2.3, 2.4]]),
    ]  # fmt: skip
    runs = read_class(workbook({"Data": rows})).runs.set_index(["section", "group", "run"])
    assert runs.loc[("2", "2", "1"), "initial_mass_g"] == pytest.approx(2.61)
    assert runs.loc[("1", "2", "1"), "recovered_mass_g"] == 2.3
    assert pd.isna(runs.loc[("2", "2", "1"), "recovered_mass_g"])


def test_two_matrices_of_the_same_reading_are_a_question(workbook: Write) -> None:
    titles = (TITLES[0], TITLES[0], TITLES[2])
    records = read_class(
        workbook({"Data": three("Group", ["Trial 1", "Trial 2"], [1, 2, 3], titles)})
    )
    assert records.runs.get("initial_mass_g", pd.Series(dtype=float)).isna().all()
    assert records.runs["recovered_mass_g"].tolist() == LEFT
    assert (records.ledger["outcome"] == "unclear").sum() == 12


def test_a_matrix_of_nobody_knows_what_is_left_out_and_said(workbook: Write) -> None:
    titles = (TITLES[0], "Quality of the qqq", TITLES[2])
    records = read_class(
        workbook({"Data": three("Group", ["Trial 1", "Trial 2"], [1, 2, 3], titles)})
    )
    assert records.runs.get("water_volume_ml", pd.Series(dtype=float)).isna().all()
    assert records.runs["initial_mass_g"].tolist() == LIME
    unclear = records.ledger[records.ledger["outcome"] == "unclear"]
    assert unclear["raw"].tolist() == [str(v) for v in WATER]


def test_numbers_on_both_sides_say_nothing_of_groups_and_trials(workbook: Write) -> None:
    records = read_class(workbook({"Data": three("", [1, 2], [1, 2, 3])}))
    assert not len(records.runs)


def test_fills_beside_matrices_of_trials_belong_to_no_trial(workbook: Write) -> None:
    across, down = ["Trial 1", "Trial 2"], [1, 2]
    rows = [
        *matrix(TITLES[0], "Group", across, down, [[2.5, 2.4], [2.6, 2.7]]),
        *matrix("Water (mL)", "Group", ["1st fill", "2nd fill"], down, [[100, 50], [100, 100]]),
        *matrix(TITLES[2], "Group", across, down, [[2.2, 2.1], [2.3, 2.4]]),
    ]
    runs = read_class(workbook({"Data": rows})).runs
    weighed = runs[runs["initial_mass_g"].notna()]
    assert weighed["water_volume_ml"].isna().all()
    assert len(weighed) == 4
