"""Remarks that speak against the readings of their own line, and those that do not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]
HEADS = ["Group", "Ca(OH)2 start (g)", "Water (mL)", "Dry solid left (g)", "T (°C)", "Filter",
         "Remarks"]  # fmt: skip
ROWS: list[list[Any]] = [
    [1, 2.33, 150, 2.04, 21, "vac", None], [2, 2.30, 150, 2.08, 21, "vac", None],
    [3, 2.26, 200, 1.92, 21, "vac", None], [4, 2.41, 200, 2.09, 21, "vac", None],
]  # fmt: skip
PLAIN = {"initial_mass_g": 2.26, "water_volume_ml": 200.0, "recovered_mass_g": 1.92,
         "temperature_c": 21.0, "filtration": "vacuum"}  # fmt: skip
NEITHER = {"initial_mass_g": None, "recovered_mass_g": None}


def _read(workbook: Write, remark: str) -> tuple[pd.Series, pd.DataFrame]:
    rows = [list(row) for row in ROWS]
    rows[2][-1] = remark
    records = ss.read_class(workbook({"5C": [HEADS, *rows]}))
    run = records.runs.set_index("group").loc["3"]
    return run, records.flags[records.flags["run_id"] == run["run_id"]]


def _changed(run: pd.Series) -> dict[str, Any]:
    read = {c: None if pd.isna(run[c]) else run[c] for c in PLAIN}
    return {c: v for c, v in read.items() if v != PLAIN[c]}


@pytest.mark.parametrize(
    ("remark", "changed"),
    [
        ("used 250 mL not 200", {"water_volume_ml": 250.0}),
        ("dry mass is 1.72 not 1.92", {"recovered_mass_g": 1.72}),
        ("not 1.92 but 1.72 g", {"recovered_mass_g": 1.72}),
        ("1.92 should be 1.72", {"recovered_mass_g": 1.72}),
        ("wrote 1.92 but it was 1.72", {"recovered_mass_g": 1.72}),
        ("1.92 is a typo, the balance slip says 1.72", {"recovered_mass_g": 1.72}),
        ("dry solid is 1720 mg not 1920 mg", {"recovered_mass_g": 1.72}),
        ("el residuo pesaba 1.72 g y no 1.92 g", {"recovered_mass_g": 1.72}),
        ("droge stof moet 1.72 g zijn, niet 1.92 g", {"recovered_mass_g": 1.72}),
        ("use 2.16 for the start mass, forgot to tare the first time", {"initial_mass_g": 2.16}),
        ("starting mass is 2.16, I typed 2.26", {"initial_mass_g": 2.16}),
        (
            "dried = 1.72 g (the 1.92 above was before it cooled, ignore)",
            {"recovered_mass_g": 1.72},
        ),
        ("temp was 24 not 21", {"temperature_c": 24.0}),
        ("water was really 250", {"water_volume_ml": 250.0}),
        ("water was really 200", {}),
        ("dry mass should be 1.72", {"recovered_mass_g": 1.72}),
        ("maybe dry mass should be 1.72", {"recovered_mass_g": None}),
        ("typo in dry mass, will fix", {"recovered_mass_g": None}),
        ("think we wrote the dry mass down wrong", {"recovered_mass_g": None}),
        ("start mass includes the weigh boat (1.21 g)", {"initial_mass_g": None}),
        ("forgot to subtract the watch glass from the dry mass", {"recovered_mass_g": None}),
        ("boat not tared", {"initial_mass_g": None}),
        ("includes the watch glass", NEITHER),
        ("start and end swapped", NEITHER),
        ("not sure about the starting mass, balance drifted", {"initial_mass_g": None}),
        ("forgot the timer so the temp is a total guess", {"temperature_c": None}),
        ("water might be from group 5", {"water_volume_ml": None}),
        ("water is either 150 or 200", {"water_volume_ml": None}),
        ("ignore the temp, thermometer broken", {"temperature_c": None}),
        ("starting mass is in mg", {"initial_mass_g": None}),
        ("balance wasn't zeroed for the start mass", {"initial_mass_g": None}),
        ("dry mass should be 1,720", {"recovered_mass_g": 1.72}),
        ("dry mass typed wrong, it is 1.72 g", {"recovered_mass_g": 1.72}),
        ("dry mass is 1.72, they swapped two digits", {"recovered_mass_g": 1.72}),
        ("dry mass: can't tell if ours or theirs", {"recovered_mass_g": None}),
        ("not sure if the start mass is of the first or second go", {"initial_mass_g": None}),
    ],
)
def test_a_reading_its_remark_calls_wrong_is_put_right_or_left_out(
    workbook: Write, remark: str, changed: dict[str, Any]
) -> None:
    run, flags = _read(workbook, remark)
    assert _changed(run) == changed
    assert {*flags["column"]} == {*changed}


@pytest.mark.parametrize(
    "remark",
    [
        "typed the dry mass wrong the first time, use this one", "forgot to rinse the beaker",
        "sorry, entered the water wrong the first time", "used the wrong volume in the sum!!",
        "forgot the tare, but subtracted the boat afterwards so numbers are right",
        "resubmitting, typo in the dry mass", "forgot to tare, so weighed again",
        "we forgot to label our beaker, then found it", "spilled about 5 mL of water",
        "was group 3 before we swapped", "vac pump at our bench was loud", "cake not weighed damp",
        "they swapped beakers", "discarded the filtrate", "last fill was a bit short",
        "used 30 min instead of 20", "paper was still wet", "water was about 200",
        "used someone else's beaker, was wet",
        "not sure if we stirred enough", "mass might be low", "our answer is wrong I think",
    ],
)  # fmt: skip
def test_a_remark_on_how_it_went_changes_nothing(workbook: Write, remark: str) -> None:
    run, flags = _read(workbook, remark)
    assert _changed(run) == {}
    assert run["set_aside"] == ""
    assert flags.empty


@pytest.mark.parametrize(
    "remark", ["VOID", "do not use", "don't count, spilled most of it", "disregard this run",
               "wrong chemical, used CaCO3", "used Mg(OH)2 instead", "bitte nicht werten"],
)  # fmt: skip
def test_a_run_its_remark_takes_back_is_set_aside(workbook: Write, remark: str) -> None:
    run, _ = _read(workbook, remark)
    assert remark in run["set_aside"]
    assert _changed(run) == {}


@pytest.mark.parametrize(
    ("remark", "column"),
    [
        ("still damp when weighed", "recovered_mass_g"),
        ("this is the wet mass", "recovered_mass_g"),
        ("Rückstand noch feucht", "recovered_mass_g"),
        ("pump died, finished by gravity", "filtration"),
    ],
)
def test_a_remark_that_tells_how_far_to_trust_a_reading(
    workbook: Write, remark: str, column: str
) -> None:
    run, flags = _read(workbook, remark)
    assert _changed(run) == {}
    assert flags[["column", "flag"]].to_numpy().tolist() == [[column, "unclear"]]
    assert remark in flags["note"].iloc[0]


def test_the_ledger_tells_what_a_remark_put_right(workbook: Write) -> None:
    rows = [list(row) for row in ROWS]
    rows[2][-1] = "used 250 mL not 200"
    ledger = ss.read_class(workbook({"5C": [HEADS, *rows]})).ledger.set_index("cell")
    assert ledger.at["C4", "raw"] == "200"
    assert ledger.at["C4", "value"] == 250.0
    assert "put right" in ledger.at["C4", "note"]


@pytest.mark.parametrize(
    ("note", "changed"),
    [
        ("Grp 3: temp is 24, not 21.", {"temperature_c": 24.0}),
        ("Read the balance twice. Group 3: dry mass is 1.72 not 1.92", {"recovered_mass_g": 1.72}),
        ("Group 2: temp is 24, not 21.", {}),
        ("temp is 24, not 21", {}),
    ],
)
def test_a_note_below_the_table_puts_the_reading_of_a_group_right(
    workbook: Write, note: str, changed: dict[str, Any]
) -> None:
    records = ss.read_class(workbook({"5C": [HEADS, *ROWS, [], [note]]}))
    assert _changed(records.runs.set_index("group").loc["3"]) == changed


def test_what_a_remark_changed_is_told_without_the_names_in_it(workbook: Write) -> None:
    heads = ["Group", "Student", "Ca(OH)2 start (g)", "Water (mL)", "Dry solid left (g)", "Notes"]
    rows: list[list[Any]] = [
        [1, "Ada Bergfeld", 2.33, 150, 2.04, None],
        [2, "Tom Fieldon", 2.30, 150, 2.08, "Tom Fieldon says dry is 1.98 not 2.08"],
        [3, "Ida Holmqvist", 2.26, 200, 2.49, "Ida Holmqvist: weighed with paper, paper = 0.71"],
        [4, "Eva Lundberg", 2.41, 200, 2.09, "VOID, Eva Lundberg was away"],
    ]  # fmt: skip
    records = ss.read_class(workbook({"5C": [heads, *rows]}))
    text = str(records.account["text"])
    assert "E3 ('2.08'), recovered_mass_g: put right by the remark of the run" in text
    assert "E4 ('2.49'), recovered_with_paper_mass_g: weighed with its paper" in text
    written = " ".join(
        [text, records.runs.to_string(), records.flags.to_string(), records.ledger.to_string()]
    )
    for name in ("Fieldon", "Holmqvist", "Lundberg"):
        assert name not in written


def test_a_mass_its_remark_gives_in_milligrams(workbook: Write) -> None:
    rows = [list(row) for row in ROWS]
    rows[2][1], rows[2][-1] = 2260, "Starting mass is in milligrams, sorry"
    run = ss.read_class(workbook({"5C": [HEADS, *rows]})).runs.set_index("group").loc["3"]
    assert run["initial_mass_g"] == 2.26


@pytest.mark.parametrize(
    ("remark", "fills", "water"),
    [
        ("cylinder 2 was 48 not 84", [100, 48], 148.0),
        ("cylinder 2 is a typo", [100, None], None),
    ],
)
def test_a_fill_its_remark_puts_right_and_the_sum(
    workbook: Write, remark: str, fills: list[float | None], water: float | None
) -> None:
    heads = ["Group", "Ca(OH)2 start (g)", "cylinder 1 (mL)", "cylinder 2 (mL)",
             "Dry solid left (g)", "Remarks"]  # fmt: skip
    rows: list[list[Any]] = [[g, 2.3, 100, 50, 2.04, None] for g in range(1, 5)]
    rows[2][3], rows[2][-1] = 84, remark
    run = ss.read_class(workbook({"5C": [heads, *rows]})).runs.set_index("group").loc["3"]
    read = [None if pd.isna(run[f"fill_{n}_ml"]) else run[f"fill_{n}_ml"] for n in (1, 2)]
    assert read == fills
    assert (None if pd.isna(run["water_volume_ml"]) else run["water_volume_ml"]) == water


@pytest.mark.parametrize(
    ("note", "column", "read"),
    [
        ("settling time was 15 min, not 51 (oops)", "settle_min", 15.0),
        ("Not sure if the dry solid mass above is of the first paper.", "recovered_mass_g", None),
        ("Please write the settling time in min, not 51 s", "settle_min", 51.0),
        ("some still on the paper", "recovered_mass_g", 2.04),
    ],
)
def test_a_note_on_the_sheet_of_one_run_speaks_of_it(
    workbook: Write, note: str, column: str, read: float | None
) -> None:
    card = [["Group", "3"], ["Ca(OH)2 start (g)", 2.33], ["Water (mL)", 150],
            ["Settling time (min)", 51], ["Dry solid mass (g)", 2.04], [], [note]]  # fmt: skip
    runs = ss.read_class(workbook({"Group 3": card})).runs
    assert len(runs) == 1
    value = runs[column].iloc[0]
    assert (None if pd.isna(value) else value) == read
