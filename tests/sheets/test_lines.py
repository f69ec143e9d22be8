"""What a line is: a run, a summary or nothing of it; answers that come with a reason.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.headings import understand

Write = Callable[..., Path]
HEADS = ["group", "initials", "m of Ca(OH)2 at start (g)", "how much water (mL)", "dry solid (g)"]
ROWS: list[list[Any]] = [
    [1, "KB LT", 2.482, 250, 2.061],
    [2, "IV, SD", 2.530, 250, 2.100],
    [3, "MEJ", 2.507, 300, 2.001],
]


def read(workbook: Write, rows: list[list[Any]], heads: list[str] | None = None) -> Any:
    return ss.read_class(workbook({"data": [heads or HEADS, *rows]}))


def test_initials_behind_a_code_are_no_standard_deviation(workbook: Write) -> None:
    runs = read(workbook, ROWS).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["recovered_mass_g"].tolist() == [2.061, 2.1, 2.001]


def test_a_standard_deviation_beside_no_code_is_one(workbook: Write) -> None:
    runs = read(workbook, [*ROWS, [None, "SD", 0.024, 28.9, 0.05]]).runs
    assert runs["group"].tolist() == ["1", "2", "3"]


def test_a_line_from_the_data_book_is_no_run(workbook: Write) -> None:
    heads = ["pair", "lime (g)", "water (mL)", "dry (g)", "solubility (g/L)"]
    rows = [[k, 2.0 + k / 10, 200, 1.6 + k / 10, 1.9] for k in range(1, 5)]
    runs = read(workbook, [*rows, ["Data book", None, None, None, 1.73]], heads).runs
    assert runs["group"].tolist() == ["1", "2", "3", "4"]


def test_whoever_is_only_listed_is_set_aside(workbook: Write) -> None:
    runs = read(workbook, [*ROWS, [4, "ZK", "absent"]]).runs
    assert runs["set_aside"].tolist() == ["", "", "", "listed without any reading"]


def test_a_number_that_cannot_be_read_keeps_its_run(workbook: Write) -> None:
    runs = read(workbook, [*ROWS, [4, "ZK", "2..48"]]).runs
    assert runs["set_aside"].tolist() == [""] * 4


def test_a_line_to_try_the_form_is_no_run(workbook: Write) -> None:
    heads = ["Group number", "Names of everyone present", "lime (g)", "water (mL)", "dry (g)"]
    test = [0, "TEST (instructor) please ignore", 1, 1, 1]
    rows = [[1, "Ada, Tom", 2.5, 200, 2.1], [2, "Wei / Abby", 2.6, 200, 2.2]]
    runs = read(workbook, [test, *rows], heads).runs
    assert runs.loc[runs["set_aside"] == "", "group"].tolist() == ["1", "2"]


def test_two_capitals_below_a_section_are_no_name(workbook: Write) -> None:
    heads = ["Your lab section", "Group number", "lime (g)", "water (mL)", "dry (g)"]
    rows = [["Tue AM", 1, 2.5, 200, 2.1], ["Tue PM", 1, 2.6, 200, 2.2], ["Wed AM", 2, 2.6, 200, 2]]
    runs = read(workbook, rows, heads).runs
    assert runs["section"].tolist() == ["Tue AM", "Tue PM", "Wed AM"]
    assert (runs["set_aside"] == "").all()


@pytest.mark.parametrize(
    ("heading", "written", "column", "value"),
    [
        ("filter: V or G", "V", "filtration", "vacuum"),
        ("Filtered (G or V)?", "g", "filtration", "gravity"),
        ("Constant?", "no, ran out of time", "constant_mass", False),
        ("Constant?", "yes (after the second go)", "constant_mass", True),
        ("Filtration", "gravity – water aspirators were off", "filtration", "gravity"),
        ("Stirred how long?", "4 and a half min", "stir_min", 4.5),
    ],
)
def test_answers_with_a_reason(
    heading: str, written: str, column: str, value: object, workbook: Write
) -> None:
    rows = [[*row, written] for row in ROWS]
    runs = read(workbook, rows, [*HEADS, heading]).runs
    assert runs[column].tolist() == [value] * 3


@pytest.mark.parametrize(
    ("heading", "written", "column"),
    [
        ("Constant?", "yes, but not the last time", "constant_mass"),
        ("Constant?", "no? we think", "constant_mass"),
        ("Filtration", "gravity – vacuum was slow", "filtration"),
    ],
)
def test_answers_that_take_themselves_back(
    heading: str, written: str, column: str, workbook: Write
) -> None:
    runs = read(workbook, [[*row, written] for row in ROWS], [*HEADS, heading]).runs
    assert column not in runs or runs[column].isna().all()


@pytest.mark.parametrize(
    ("written", "total", "fills"),
    [
        ("250 ml (100, 100, 50)", 250.0, [100.0, 100.0, 50.0]),
        ("200 (100, 100)", 200.0, [100.0, 100.0]),
    ],
)
def test_a_total_with_its_fills(
    written: str, total: float, fills: list[float], workbook: Write
) -> None:
    runs = read(workbook, [*ROWS, [4, "GO", 2.6, written, 2.2]]).runs
    last = runs.iloc[-1]
    assert last["water_volume_ml"] == total
    assert [last[f"fill_{k}_ml"] for k in range(1, len(fills) + 1)] == fills


def test_a_total_that_is_not_its_fills_is_asked_about(workbook: Write) -> None:
    runs = read(workbook, [*ROWS, [4, "GO", 2.6, "250 ml (100, 100)", 2.2]]).runs
    assert runs.iloc[-1].isna()["water_volume_ml"]


def test_a_word_that_the_sheet_explains(workbook: Write) -> None:
    heads = ["gp", "m0", "V1", "V2", "wet", "md1", "md2", "const?"]
    rows = [[k, 2.4 + k / 50, 99.5, 100, 3.9, 2.0 + k / 50, 1.99 + k / 50, "y"] for k in (1, 2, 3)]
    below = [
        [],
        ["gp = group, m0 = Ca(OH)2 weighed in g"],
        ["V1-V2 = the two cylinder fills, mL"],
        ["wet = filter cake before the hot plate, g"],
        ["md1 = dry solid off the hot plate, g   md2 = put back on, weighed again, g"],
        ["const? = md1 and md2 within 0.01 g"],
    ]
    runs = ss.read_class(workbook({"data": [heads, *rows, *below]})).runs
    assert runs["wet_cake_mass_g"].tolist() == [3.9] * 3
    assert runs["constant_mass"].tolist() == [True] * 3


def test_cards_titled_with_a_word(workbook: Write) -> None:
    rows: list[list[Any]] = []
    for name, solid in (("Alder", 2.41), ("Birch", 2.52), ("Rowan", 2.63)):
        rows += [
            [f"Group {name}"],
            ["lime in (g)", solid],
            ["water (mL)", 200],
            ["dry solid back (g)", round(solid - 0.35, 2)],
            [],
        ]
    runs = ss.read_class(workbook({"data": rows})).runs
    assert runs["group"].tolist() == ["Alder", "Birch", "Rowan"]


@pytest.mark.parametrize("title", ["Group Results", "Team Data", "Group Mass", "Bench Notes"])
def test_a_title_that_names_no_group(title: str, workbook: Write) -> None:
    rows = [[title], ["lime in (g)", 2.41], ["water (mL)", 200], ["dry solid back (g)", 2.06]]
    runs = ss.read_class(workbook({"data": rows})).runs
    assert runs["group"].tolist() == [""]


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("cake as it came off the paper (mg)", "wet_cake_mass_g"),
        ("dry solid as it came off the paper (g)", None),
    ],
)
def test_what_came_off_the_paper_is_wet_unless_it_was_dried(
    heading: str, column: str | None
) -> None:
    assert understand((heading,)).column == column


@pytest.mark.parametrize(
    ("levels", "column"),
    [
        (("Filtrate titration", "Start / cm³"), "burette_start_ml"),
        (("Filtrate titration", "End / cm³"), "burette_end_ml"),
        (("Filtrate titration", "Titre / cm³"), "titrant_ml"),
        (("filtrate titrated (mL)",), "aliquot_ml"),
        (("Filtrate at start (mL)",), None),
        (("jug pour two",), "fill_2_ml"),
        (("Same both times?",), "constant_mass"),
    ],
)
def test_headings_over_a_titration_and_about_pours(
    levels: tuple[str, ...], column: str | None
) -> None:
    assert understand(levels).column == column


def test_the_first_letter_of_two_ways_in_the_heading(workbook: Write) -> None:
    rows = [[*row, letter] for row, letter in zip(ROWS, "SGS", strict=True)]
    runs = read(workbook, rows, [*HEADS, "Suction/gravity"]).runs
    assert runs["filtration"].tolist() == ["vacuum", "gravity", "vacuum"]


def test_a_key_without_signs_between_some_with(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["# m0 lime taken; w1..w2 cylinder fills; cake = wet solid off the paper"],
        ["grp", "m0", "w1", "w2", "cake"],
        [1, 2.37, 69.5, 74.5, 3.14],
        [2, 2.05, 75.0, 79.5, 2.89],
        [3, 2.07, 70.0, 69.5, 3.20],
    ]
    runs = ss.read_class(workbook({"data": rows})).runs
    assert runs["fill_2_ml"].tolist() == [74.5, 79.5, 69.5]
    assert runs["initial_mass_g"].tolist() == [2.37, 2.05, 2.07]


def test_a_unit_of_another_kind_is_no_mass_and_no_end_of_reading(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["masses g, volumes mL, times min"],
        ["grp", "m0", "V1", "dry1", "dry2"],
        [1, 2.37, 169.5, 2.018, 2.015],
        [2, 2.05, 175.0, 1.679, 1.679],
        [3, 2.07, 170.0, 1.702, 1.701],
    ]
    runs = ss.read_class(workbook({"data": rows})).runs
    assert runs["initial_mass_g"].tolist() == [2.37, 2.05, 2.07]
    assert "dry_min" not in runs or runs["dry_min"].isna().all()


@pytest.mark.parametrize(
    "written", ["can't see beam", "can’t see the beam", "cant see beam", "cannot see beam"]
)
def test_whoever_cannot_see_the_beam_has_a_clear_filtrate(written: str, workbook: Write) -> None:
    runs = read(workbook, [[*row, written] for row in ROWS], [*HEADS, "Laser pointer"]).runs
    assert runs["scatter"].tolist() == ["clear"] * 3


def test_the_mean_without_one_group_is_no_run(workbook: Write) -> None:
    runs = read(workbook, [*ROWS, ["w/o 3", None, None, None, 2.08]]).runs
    assert runs["group"].tolist() == ["1", "2", "3"]


def test_a_short_way_to_filter_is_no_heading_of_groups(workbook: Write) -> None:
    rows = [[*row, way] for row, way in zip(ROWS, ["w.p.", "gr.", "gr."], strict=True)]
    key = [[], ["w.p. = water pump (Büchner);  gr. = gravity"]]
    runs = read(workbook, [*rows, *key], [*HEADS, "Filter"]).runs
    assert runs["filtration"].tolist() == ["vacuum", "gravity", "gravity"]


def test_fills_with_their_unit_in_a_sum(workbook: Write) -> None:
    heads = ["Lab table", "Ca(OH)2 massed out", "Water (grad. cylinder fills)", "Dry solid"]
    rows = [[k, f"2.5{k} g", "100 mL + 50 mL", f"2.2{k} g"] for k in (1, 2, 3)]
    runs = read(workbook, rows, heads).runs
    assert runs["fill_1_ml"].tolist() == [100.0] * 3
    assert runs["water_volume_ml"].tolist() == [150.0] * 3


@pytest.mark.parametrize("word", ["Std.abw.", "Streuung", "szórás", "odchylka (s)"])
@pytest.mark.parametrize("below", ["mean", "runs"])
def test_a_word_nobody_knows_below_numbered_groups(workbook: Write, word: str, below: str) -> None:
    """Below the mean whatever stands there, else where it is the mean or spread of all above."""
    rows = [*ROWS, [4, "x", 2.510, 250, 2.100]]
    mean: list[list[Any]] = [["Mittelwert", None, 2.507, None, 2.066]] if below == "mean" else []
    line = [word, None, 0.020, None, 0.047]
    assert read(workbook, [*rows, *mean, line]).runs["group"].tolist() == ["1", "2", "3", "4"]


def test_a_group_with_a_name_among_numbers_stays(workbook: Write) -> None:
    runs = read(workbook, [*ROWS, [4, "x", 2.51, 250, 2.1], ["Robin", "RK", 2.44, 250, 2.02]]).runs
    assert len(runs) == 5


def test_statistics_with_headings_of_their_own_below_are_no_runs(workbook: Write) -> None:
    """Their sections and numbers of groups would fill the columns of the table above."""
    rows: list[list[Any]] = [
        ["SECTION 08"],
        ["Bench", "Solid in (g)", "Water 1 (mL)", "Water 2 (mL)", "Dry, 1st weighing (g)"],
        *([b, 2.4 + b / 100, 90.1, 89.8, 2.1] for b in (1, 2, 3, 4)),
        [],
        [],
        ["Class statistics"],
        ["Section", "n", "mean solid in (g)", "SD (g)", "mean dry (g)"],
        ["07", 6, 2.49, 0.236, 2.182],
        ["08", 4, 2.425, 0.013, 2.1],
    ]
    runs = ss.read_class(workbook({"checked": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3", "4"]


def test_what_the_stores_issued_is_nobodys_run(workbook: Write) -> None:
    stores: list[list[Any]] = [
        ["Issued from stores for the lime practical"],
        [],
        ["Item", "Per team", "Teams", "Total"],
        ["Calcium hydroxide, g", 3, 8, 24],
        ["Deionised water, L", 0.5, 8, 4],
        ["Filter papers 110 mm", 2, 8, 16],
    ]
    head = ["Team", "Lime weighed in (g)", "Water used (L)", "Dry lime, paper deducted (g)"]
    results = [head, *([f"T{t}", 2.4 + t / 100, 0.25, 2.1] for t in (1, 2, 3))]
    runs = ss.read_class(workbook({"Issued by stores": stores, "Results": results})).runs
    live = runs[runs["set_aside"] == ""]
    assert live["group"].tolist() == ["T1", "T2", "T3"]
    assert live["recovered_mass_g"].eq(2.1).all()


@pytest.mark.parametrize(("total", "kept"), [(150, True), (76, False), (330, False)])
def test_a_written_total_beside_a_fill_that_cannot_be_read(
    workbook: Write, total: float, kept: bool
) -> None:
    """It stands unless it leaves too little or too much for that fill, as a formula's sum would."""
    heads = ["group", "Ca(OH)2 (g)", "fill 1 (mL)", "fill 2 (mL)", "water total (mL)", "dry (g)"]
    rows: list[list[Any]] = [[g, 2.4 + g / 100, 75, 76, 151, 2.1] for g in (1, 2, 3)]
    rows.append([4, 2.5, 75, "7O", total, 2.1])
    records = read(workbook, rows, heads)
    water = records.runs["water_volume_ml"].tolist()
    assert water[:3] == [151, 151, 151]
    assert (water[3] == 150) if kept else water[3] != water[3]
