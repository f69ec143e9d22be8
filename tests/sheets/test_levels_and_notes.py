"""Headings on three lines, headings that go on from the column before, notes for all tables.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.sentences import said_in
from solubility_stats.sheets.units_said import units_said

Write = Callable[..., Path]
Row = list[Any]

THREE: list[Row] = [
    ["Sec.", "Grp", "Solid", None, None, "Water (100 mL grad. cyl.)", None, None, None,
     "Conditions", None, None, "S, g/L (group's own)"],
    [None, None, "charged", "recovered", None, "pour", None, None, "sum, mL", "T", "time", None,
     None],
    [None, None, "g", "moist cake, g", "dry, g", "1, mL", "2, mL", "3, mL", None, "°C",
     "stir, min", "settle, min", None],
]  # fmt: skip
RUNS: list[Row] = [
    ["A", 1, 2.283, 2.828, 1.885, 100, 100, 50, 250, 20.6, 10, 20, 1.59],
    ["A", 2, 2.506, 3.706, 2.131, 100, 100, 49.5, 249.5, 20.6, 20, 15, 1.50],
    ["B", 1, 2.127, 3.135, 1.802, 99.5, 100, None, 199.5, 21.4, 15, 15, 1.63],
    ["B", 2, 2.535, 3.353, 2.129, 100, 100, 49.5, 249.5, 21.4, 20, 20, 1.63],
]


def _check_three(runs: Any) -> None:
    assert runs["run_id"].tolist() == ["A/1", "A/2", "B/1", "B/2"]
    assert runs["initial_mass_g"].tolist() == [2.283, 2.506, 2.127, 2.535]
    assert runs["wet_cake_mass_g"].tolist() == [2.828, 3.706, 3.135, 3.353]
    assert runs["recovered_mass_g"].tolist() == [1.885, 2.131, 1.802, 2.129]
    assert runs["fill_2_ml"].tolist() == [100] * 4
    assert runs["water_volume_ml"].tolist() == [250, 249.5, 199.5, 249.5]
    assert runs["temperature_c"].tolist() == [20.6, 20.6, 21.4, 21.4]
    assert runs["settle_min"].tolist() == [20, 15, 15, 20]
    assert runs["reported_solubility"].tolist() == [1.59, 1.50, 1.63, 1.63]


def test_three_lines_of_merged_headings_beside_a_summary(workbook: Write) -> None:
    rows = [row + [None] * 4 for row in THREE] + [row + [None] * 4 for row in RUNS]
    rows[3][0:1], rows[4][0] = ["A"], None
    rows[6][0] = None
    for at, summary in enumerate((["Summary", "n", "mean S"], ["Section A", 2, 1.55],
                                  ["Section B", 2, 1.63])):  # fmt: skip
        rows[at + 1][14:] = summary
    merge = {"a": ["A1:A3", "B1:B3", "C1:E1", "D2:E2", "F1:I1", "F2:H2", "I2:I3", "J1:L1", "K2:L2",
                   "M1:M3", "A4:A5", "A6:A7"]}  # fmt: skip
    records = ss.read_class(workbook({"a": rows}, merge=merge))
    _check_three(records.runs)
    assert (records.ledger.query("cell.str.startswith('Q')").outcome == "ignored").all()


def test_three_lines_without_merged_cells(text_table: Write) -> None:
    rows = [["" if c is None else c for c in row] for row in (*THREE, *RUNS)]
    _check_three(ss.read_class(text_table(rows)).runs)


def test_a_title_merged_across_the_headings_is_no_third_line(workbook: Write) -> None:
    rows: list[Row] = [
        ["A", None, "Data by the class", None, None],
        ["Group", "Solid", None, "Water, mL", None],
        [None, "start, g", "end, g", "1", "2"],
        [1, 2.1, 1.8, 100, 100],
        [2, 2.2, 1.9, 100, 50],
    ]
    merge = {"a": ["C1:E1", "A2:A3", "B2:C2", "D2:E2"]}
    runs = ss.read_class(workbook({"a": rows}, merge=merge)).runs
    assert runs["water_volume_ml"].tolist() == [200, 150]
    assert runs["recovered_mass_g"].tolist() == [1.8, 1.9]


def test_a_section_written_beside_its_first_group(text_table: Write) -> None:
    head = ["Section", "Group", "Start (g)", "Water (mL)", "End (g)"]
    rows = [head, ["A", 1, 2.1, 200, 1.8], ["", 2, 2.2, 200, 1.9], ["", 4, 2.3, 200, 2.0],
            ["B", 1, 2.4, 200, 2.1], ["", 2, 2.5, 200, 2.2]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["run_id"].tolist() == ["A/1", "A/2", "A/4", "B/1", "B/2"]
    assert (runs["set_aside"] == "").all()


def test_a_section_written_beside_its_first_letter(text_table: Write) -> None:
    head = ["Class", "Bench", "Start (g)", "Water (mL)", "End (g)"]
    rows = [head, ["11A", "A", 2.1, 200, 1.8], ["", "B*", 2.2, 200, 1.9], ["", "D", 2.3, 200, 2.0],
            ["11C", "A", 2.4, 200, 2.1], ["", "B", 2.5, 200, 2.2]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["run_id"].tolist() == ["11A/A", "11A/B", "11A/D", "11C/A", "11C/B"]


def test_a_section_forgotten_once_is_not_filled_in(text_table: Write) -> None:
    head = ["Section", "Group", "Start (g)", "Water (mL)", "End (g)"]
    rows = [head, ["A", 1, 2.1, 200, 1.8], ["A", 2, 2.2, 200, 1.9], ["", 3, 2.3, 200, 2.0],
            ["B", 4, 2.4, 200, 2.1], ["B", 5, 2.5, 200, 2.2]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["run_id"].tolist() == ["A/1", "A/2", "3", "B/4", "B/5"]


@pytest.mark.parametrize(
    "headings",
    [
        ["measuring cyl. 1st", "2nd", "3rd"],
        ["water: 1st cyl / cm³", "2nd", "3rd"],
        ["probeta 1ª", "2ª", "3ª"],
        ["éprouvette 1re", "2e", "3e"],
        ["Zylinder 1.", "2.", "3."],
    ],
)
def test_a_bare_number_goes_on_from_the_fill_before(text_table: Write, headings: list[str]) -> None:
    rows = [["Team", "lime / g", *headings, "residue / g"], ["Red", 2.9, 100, 100, 50, 2.5],
            ["Blue", 2.8, 100, 99, 50, 2.4]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["fill_3_ml"].tolist() == [50, 50]
    assert runs["water_volume_ml"].tolist() == [250, 249]


def test_a_second_of_something_else_is_no_fill(text_table: Write) -> None:
    rows = [["Team", "lime / g", "1st weighing", "2nd", "water / mL", "residue / g"],
            ["Red", 2.9, 20.1, 20.2, 200, 2.5], ["Blue", 2.8, 20.1, 20.3, 180, 2.4]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["water_volume_ml"].tolist() == [200, 180]
    assert "fill_2_ml" not in runs or runs["fill_2_ml"].isna().all()


def test_a_fill_that_may_go_on_is_not_the_water(text_table: Write) -> None:
    rows = [["Team", "lime / g", "T °C", "fill 1 (mL)", "2xx", "residue / g", "stir (min)"],
            ["Red", 2.9, 21, 100, 99, 2.5, 10], ["Blue", 2.8, 21, 100, 98, 2.4, 10]]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert "water_volume_ml" not in runs or runs["water_volume_ml"].isna().all()


def test_two_tables_beside_one_another_in_different_order(text_table: Write) -> None:
    rows = [
        ["Cold room: suspension at 18 °C in every tray."],
        ["All on the Büchner (vacuum)."],
        [],
        ["WEIGHING", "", "", "", "WATER (cm³)", "", "", ""],
        ["Team", "lime out / g", "residue, dry / g", "", "Team", "measuring cyl. 1st", "2nd",
         "3rd"],
        ["Red", 2.9, 2.5, "", "Blue", 99.5, 99, 49],
        ["Blue", 2.5, 2.0, "", "Green", 99, 100, 50],
        ["Green", 2.3, 1.9, "", "Red", 100, 100, ""],
    ]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs.set_index("group")
    assert runs["water_volume_ml"].to_dict() == {"Red": 200, "Blue": 247.5, "Green": 249}
    assert runs["initial_mass_g"].to_dict() == {"Red": 2.9, "Blue": 2.5, "Green": 2.3}
    assert runs["filtration"].tolist() == ["vacuum"] * 3
    assert runs["temperature_c"].tolist() == [18] * 3


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("S, g/L (group's own)", "reported_solubility"),
        ("group's own S, g/L", "reported_solubility"),
        ("V or G", "filtration"),
        ("g in", "initial_mass_g"),
        ("g in (dry)", "initial_mass_g"),
        ("charged (g)", "initial_mass_g"),
        ("Group", "group"),
    ],
)
def test_short_headings(heading: str, column: str) -> None:
    assert understand((heading,)).column == column


def test_in_g_is_a_unit_and_no_mass(text_table: Write) -> None:
    assert understand(("in g",)).column is None


def test_dry_over_weighings_is_no_time(text_table: Write) -> None:
    rows = [["Bench", "lime wt", "H2O (mL)", "V or G", "wet cake", "dry #1", "dry #2"],
            [1, "2.77", 200, "G", "4.28", "2.40", "2.38"],
            [2, "2.95", 200, "V", "4.03", "2.62", "2.58"]]  # fmt: skip
    runs = ss.read_class(text_table([["weights in grams, times in minutes"], *rows])).runs
    assert runs["recovered_mass_g"].tolist() == [2.40, 2.62]
    assert runs["second_dry_mass_g"].tolist() == [2.38, 2.58]
    assert "dry_min" not in runs or runs["dry_min"].isna().all()


def test_dry_over_minutes_is_still_a_time(text_table: Write) -> None:
    rows = [["Bench", "lime wt (g)", "H2O (mL)", "dry", "residue (g)"], [1, 2.77, 200, 30, 2.4],
            [2, 2.95, 200, 25, 2.6]]  # fmt: skip
    assert ss.read_class(text_table(rows)).runs["dry_min"].tolist() == [30, 25]


BESIDE: list[Row] = [
    ["PERIOD 3", "", "", "", "", "", "PERIOD 5", "", "", "", ""],
    ["table", "g in", "g out (dry)", "water mL", "g per 100 mL", "",
     "table", "g in", "g out (dry)", "water mL", "g per 100 mL"],
    [1, 2.17, 1.92, "3 x 50", 0.167, "", 1, 2.15, 1.8, "200 (4x50)", 0.175],
    [2, 2.19, 1.84, "200 (4x50)", 0.175, "", 2, 2.05, 1.81, "3 x 50", 0.16],
    [3, 2.75, 2.41, 200, 0.17, "", 3, 2.82, 2.52, "4 x 50 mL", 0.15],
    [4, 2.51, 2.2, "4 x 50 mL", 0.155, "", 4, 2.65, 2.33, "4 x 50 mL", 0.16],
    [],
]  # fmt: skip


def test_a_note_about_everybody_below_two_tables(text_table: Write) -> None:
    note = "everybody used coffee-filter gravity set-up, no pumps this year"
    runs = ss.read_class(text_table([*BESIDE, [note]])).runs
    assert runs["filtration"].tolist() == ["gravity"] * 8
    assert runs["initial_mass_g"].tolist() == [2.17, 2.19, 2.75, 2.51, 2.15, 2.05, 2.82, 2.65]
    assert runs["reported_solubility"].tolist()[:2] == [0.167, 0.175]
    assert runs["water_volume_ml"].tolist() == [150, 200, 200, 200, 200, 150, 200, 200]


@pytest.mark.parametrize(
    "note", ["period 3: everybody used gravity filters", "gravity filters here, no pumps"]
)
def test_a_note_below_one_of_two_tables(text_table: Write, note: str) -> None:
    runs = ss.read_class(text_table([*BESIDE, [note]])).runs
    assert runs.query("section == '5'")["filtration"].isna().all()


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("ALL WEIGHTS IN MILLIGRAMS - TEMPERATURES FAHRENHEIT",
         {"mass": "mg", "temperature": "degF"}),
        ("masses g, volumes mL, temps °C", {"mass": "g", "volume": "mL", "temperature": "degC"}),
        ("weights: mg; temps: F", {"mass": "mg", "temperature": "degF"}),
        ("Mass (mg)", {}),
        ("Temperature 21 C", {}),
        ("temperature F or C?", {}),
        ("weights g or mg", {}),
    ],
)  # fmt: skip
def test_units_said_without_in(text: str, units: dict[str, str]) -> None:
    assert units_said([text]) == units


def test_temperatures_in_fahrenheit_by_a_title(text_table: Write) -> None:
    title = ["ALL WEIGHTS IN MILLIGRAMS - TEMPERATURES FAHRENHEIT"]
    head = ["TEAM", "WT. TAKEN", "ML WATER", "WATER TEMP.", "WT. DRY SOLID"]
    rows = [title, head, ["A", 2070, 200, 68, 1800], ["B", 2170, 200, 77, 1900]]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["temperature_c"].tolist() == pytest.approx([20.0, 25.0])
    assert runs["initial_mass_g"].tolist() == [2.07, 2.17]
    head[3] = "WATER TEMP. (°C)"  # what a heading says of its own column counts
    runs = ss.read_class(text_table([title, head, ["A", 2070, 200, 21, 1800]])).runs
    assert runs["temperature_c"].tolist() == [21]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("All on the Büchner (vacuum).", {"filtration": "vacuum"}),
        ("19 °C this time, Büchner again.", {"temperature_c": "19 °C", "filtration": "vacuum"}),
        ("All by gravity", {"filtration": "gravity"}),
        ("distilled water, carboy read 21.5 °C", {"temperature_c": "21.5 °C"}),
        ("carboy was cold, each bench took its own temperature", {}),
        ("All Büchner flasks back on the trolley", {}),
        ("All vacuum pumps must be switched off", {}),
        ("everything dried in the vacuum oven", {}),
        ("all dried in vacuum", {}),
        ("Some groups used vacuum", {}),
        ("Bench 3 was on the Büchner again", {}),
        ("Everyone: vacuum for B, gravity for A", {}),
        ("Use vacuum again next year", {}),
        ("jug of acid at 25 °C", {}),
    ],
)
def test_what_a_note_says_of_all(text: str, said: dict[str, str]) -> None:
    found = said_in([RawCell(1, 1, text, text)], set())
    assert {column: words for column, (_, words) in found.items()} == said
