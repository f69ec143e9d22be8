"""What is said around a table: temperature, acid, filtration, instructor; and codes and trials."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.quantities import quantity
from solubility_stats.sheets.cell_columns import parse_numeric_column
from solubility_stats.sheets.cells import parse_cell
from solubility_stats.sheets.model import CellContext, RawCell

Write = Callable[..., Path]
HEADS: list[Any] = ["Group", "Initial mass (g)", "Water (mL)", "Recovered mass (g)"]
ROWS: list[list[Any]] = [[1, 2.04, 200.5, 1.71], [2, 1.98, 199.0, 1.67], [3, 2.11, 201.0, 1.78]]


def read(workbook: Write, above: list[list[Any]], below: tuple[list[Any], ...] = ()) -> Any:
    return ss.read_class(workbook({"Sheet1": [*above, HEADS, *ROWS, *below]}))


@pytest.mark.parametrize(
    ("line", "temperature"),
    [
        (["Room temp 22.5 C today"], 22.5),
        (["All water came from the carboy at a temperature of 71.6 °F."], 22.0),
        (["Water temperature for all groups (carboy):", None, None, 23.5, "°C"], 23.5),
        (["TA: AB   Temp: 21.0 °C"], 21.0),
    ],
)
def test_temperature_said_once(line: list[Any], temperature: float, workbook: Write) -> None:
    runs = read(workbook, [line, []]).runs
    assert runs["temperature_c"].tolist() == pytest.approx([temperature] * 3)


def test_temperature_in_a_note_below(workbook: Write) -> None:
    runs = read(workbook, [], (["Lab temperature for all groups: 21.5 °C"],)).runs
    assert runs["temperature_c"].tolist() == [21.5] * 3
    assert len(runs) == 3


@pytest.mark.parametrize(
    "line",
    ["Dry it at a temperature of 60 °C", "Temp 21 °C on Monday, temp 24 °C on Tuesday"],
)
def test_another_temperature_or_two(line: str, workbook: Write) -> None:
    runs = read(workbook, [[line], []]).runs
    assert "temperature_c" not in runs or runs["temperature_c"].isna().all()


def test_filtration_said_in_the_title(workbook: Write) -> None:
    runs = read(workbook, [["Slaked lime (all teams: gravity filtration)"], []]).runs
    assert runs["filtration"].tolist() == ["gravity"] * 3
    said = [["Vacuum filtration on Monday, gravity filtration on Tuesday"], []]
    assert "filtration" not in read(workbook, said).runs


def test_strength_of_the_acid_in_a_heading(text_table: Write) -> None:
    heads = ["Group", "Filtrate titrated (mL)", "0.0500 M HCl used (mL)"]
    runs = ss.read_class(text_table([heads, [1, 20, 16.65], [2, 20, 18.72]])).runs
    assert runs["titrant_mol_per_l"].tolist() == [0.05, 0.05]
    assert runs["titrant_ml"].tolist() == [16.65, 18.72]


def test_the_name_of_an_instructor_becomes_a_code(workbook: Write) -> None:
    records = read(workbook, [["Section A", None, "TA: Marvolina"], []])
    assert records.runs["instructor"].tolist() == ["T1"] * 3
    assert records.runs["section"].tolist() == ["A"] * 3
    everything = records.ledger.to_csv() + records.runs.to_csv() + str(records.account)
    assert "Marvolina" not in everything


def test_initials_of_an_instructor_stay(workbook: Write) -> None:
    assert read(workbook, [["TA: AB"], []]).runs["instructor"].tolist() == ["AB"] * 3


def test_a_row_of_remarks_is_no_heading(text_table: Write) -> None:
    heads = ["Timestamp", "Section", "Group", "Mass at start", "Water", "Dry mass", "Remarks"]
    rows: list[list[Any]] = [
        ["2026-03-18 10:25", "Section 7", 1, "2.40", "300 mL", "1.95 g", ""],
        ["2026-03-18 10:31", "Section 7", 2, "2.38", "299 mL", "1.94 grams",
         "powder stuck to the glass"],
        ["2026-03-18 10:40", "Section 7", 3, "2.66", "300 mL", "lost it", "gravity filtration"],
        ["2026-03-18 10:44", "Section 8", 1, "2.51", "301 mL", "2.04 g", ""],
    ]  # fmt: skip
    runs = ss.read_class(text_table([heads, *rows])).runs
    assert runs["group"].tolist() == ["1", "2", "3", "1"]
    assert runs["initial_mass_g"].tolist() == [2.40, 2.38, 2.66, 2.51]


def test_letters_across_the_top_are_groups(workbook: Write) -> None:
    rows = [
        ["Pair", "P", "Q", "R", "S", "T", "U"],
        ["Solid put in (g)", 2.05, 2.13, 1.99, 2.02, 2.08, 2.11],
        ["Distilled water, total (mL)", 250, 251, 249, 250, 250.5, 250],
        ["Temperature (°C)", 21.4, 22.1, 21.0, 21.8, 22.0, 21.5],
        ["Dry solid left (g)", 1.66, 1.71, 1.60, 1.61, 1.66, 1.70],
    ]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["group"].tolist() == list("PQRSTU")
    assert runs["temperature_c"].tolist() == [21.4, 22.1, 21.0, 21.8, 22.0, 21.5]


def test_a_group_heading_merged_over_trial_headings(workbook: Write) -> None:
    part = ["Mass before (g)", "Water (mL)", "Mass after drying (g)"]
    rows = [
        ["Team", "Trial 1", None, None, "Trial 2", None, None,
         "Mean of both trials, not used for anything else"],
        [None, *part, *part, None],
        ["Ne", 2.04, 200, 1.71, 1.98, 199, 1.67, 0.3],
        ["Ar", 2.11, 201, 1.78, 2.02, 200, 1.70, 0.3],
    ]  # fmt: skip
    path = workbook({"Sheet1": rows}, merge={"Sheet1": ["A1:A2", "B1:D1", "E1:G1", "H1:H2"]})
    runs = ss.read_class(path).runs.set_index(["group", "run"])
    assert runs.loc[("Ar", "2"), "initial_mass_g"] == 2.02
    assert runs["recovered_mass_g"].tolist() == [1.71, 1.67, 1.78, 1.70]


def test_headings_of_an_unknown_table_end_the_runs(workbook: Write) -> None:
    rows = [HEADS, *ROWS, ["Group", "Zing", "Zang", "Zong"], [1, 25, 64.9, 64.95], [2, 25, 54, 55]]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]


def test_a_worked_example_is_no_run(workbook: Write) -> None:
    sheets = {"Data": [HEADS, *ROWS], "Worked example": [HEADS, ["X", 2.0, 200, 1.68]]}
    runs = ss.read_class(workbook(sheets)).runs
    assert runs.loc[runs["set_aside"] == "", "group"].tolist() == ["1", "2", "3"]


def test_a_written_sum_gives_the_fills(text_table: Write) -> None:
    heads = ["Group", "Initial mass (g)", "Water (mL)", "Dry mass (g)"]
    rows = [[1, 2.04, "99.5 + 100 + 50", 1.71], [2, 1.98, "2 x 125", 1.67], [3, 2.02, 250, 1.7]]
    runs = ss.read_class(text_table([heads, *rows])).runs
    assert runs["fill_1_ml"].tolist()[:2] == [99.5, 125.0]
    assert runs["water_volume_ml"].tolist() == [249.5, 250.0, 250.0]


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("half an hour", 30), ("an hour and a half", 90), ("quarter of an hour", 15),
     ("ten minutes", 10), ("1 and a half hours", 90), ("like 7 minutes", 7), ("2 hours!!", 120)],
)  # fmt: skip
def test_times_in_words(text: str, minutes: float, text_table: Write) -> None:
    heads = ["Group", "Initial mass (g)", "Drying time (min)"]
    runs = ss.read_class(text_table([heads, [1, 2.04, text], [2, 2.0, 20], [3, 2.1, 25]])).runs
    assert runs["dry_min"].iloc[0] == minutes


def test_hours_named_in_the_heading(text_table: Write) -> None:
    heads = ["Group", "Initial mass (g)", "Hours in the drying oven"]
    runs = ss.read_class(text_table([heads, [1, 2.04, 1.5], [2, 2.0, 2], [3, 2.1, 1]])).runs
    assert runs["dry_min"].tolist() == [90.0, 120.0, 60.0]


@pytest.mark.parametrize(
    ("text", "seen"),
    [("No, the filtrate was clear", "clear"), ("Yes, we could see it", "visible"),
     ("no beam, clear", "clear"), ("No, not at all", "clear"), ("yes", "visible")],
)  # fmt: skip
def test_answers_with_an_explanation(text: str, seen: str, text_table: Write) -> None:
    heads = ["Group", "Initial mass (g)", "Was the laser beam visible? (yes/no)"]
    runs = ss.read_class(text_table([heads, [1, 2.04, text], [2, 2.0, "no"], [3, 2, "no"]])).runs
    assert runs["scatter"].tolist() == [seen, "clear", "clear"]


@pytest.mark.parametrize("text", ["Yes, it was clear", "no, maybe a little", "yes?"])
def test_answers_that_contradict_themselves(text: str, text_table: Write) -> None:
    heads = ["Group", "Initial mass (g)", "Was the laser beam visible?"]
    runs = ss.read_class(text_table([heads, [1, 2.04, text], [2, 2.0, "no"], [3, 2, "no"]])).runs
    assert runs["scatter"].isna().tolist() == [True, False, False]


def test_a_caption_between_two_tables_is_of_the_lower_one(workbook: Write) -> None:
    again = [[row[0] + 3, *(round(x + 0.1, 2) for x in row[1:])] for row in ROWS]
    rows = [["Section: Mon"], ["Temperature: 21 °C"], HEADS, *ROWS, [],
            ["Section: Wed"], ["Temperature: 24 °C"], HEADS, *again]  # fmt: skip
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["section"].tolist() == ["Mon"] * 3 + ["Wed"] * 3
    assert runs["temperature_c"].tolist() == [21.0] * 3 + [24.0] * 3


def test_solid_without_its_paper(text_table: Write) -> None:
    heads = ["Group", "Initial mass (g)", "MASS OF DRY RESIDUE W/O PAPER (G)"]
    runs = ss.read_class(text_table([heads, [1, 2.04, 1.71], [2, 1.98, 1.67]])).runs
    assert runs["recovered_mass_g"].tolist() == [1.71, 1.67]
    assert "recovered_with_paper_mass_g" not in runs


@pytest.mark.parametrize(
    ("column", "written", "value"),
    [
        ("settle_min", "overnight (16 h)", 960), ("settle_min", "ten", 10),
        ("stir_min", "ok. 10 min", 10), ("stir_min", "forty-five", 45),
        ("temperature_c", "room temp (21)", 21), ("paper_mass_g", "0.19 -> 0.91", 0.91),
    ],
)  # fmt: skip
def test_figures_among_words(column: str, written: str, value: float) -> None:
    parsed = parse_cell(RawCell(1, 1, written, written), quantity(column), CellContext(column))
    assert parsed.value == pytest.approx(value)


@pytest.mark.parametrize(
    ("column", "written"),
    [
        ("settle_min", "overnight"), ("settle_min", "one"), ("temperature_c", "room temp"),
        ("titrant_ml", "0.19 -> 18.91"), ("initial_mass_g", "2.5 -> 2.4 -> 2.3"),
        ("initial_mass_g", "ten"),
    ],
)  # fmt: skip
def test_no_figure_among_words(column: str, written: str) -> None:
    parsed = parse_cell(RawCell(1, 1, written, written), quantity(column), CellContext(column))
    assert parsed.value is None


@pytest.mark.parametrize("value", [dt.time(1, 15), dt.timedelta(minutes=75), "1:15", "01:15:00"])
def test_a_heading_that_asks_for_hours_and_minutes(value: object, workbook: Write) -> None:
    rows = [["Team", "Lime in (g)", "Lime left (g)", "Drying time h:mm"],
            ["Red", 2.07, 1.62, value], ["Blue", 2.37, 2.01, value],
            ["Pink", 2.5, 2.1, 45]]  # fmt: skip
    records = ss.read_class(workbook({"data": rows}))
    assert records.runs["dry_min"].tolist()[:2] == [75, 75]
    assert pd.isna(records.runs["dry_min"][2])  # 45 of what?


def test_without_such_a_heading_a_time_stays_open(workbook: Write) -> None:
    rows = [["Team", "Lime in (g)", "Lime left (g)", "Drying time"], ["Red", 2.07, 1.62, "1:15"]]
    rows.append(["Blue", 2.37, 2.01, "0:45"])
    runs = ss.read_class(workbook({"data": rows})).runs
    assert "dry_min" not in runs or runs["dry_min"].isna().all()


@pytest.mark.parametrize("listed", ["50 / 50 / 50", "50 50 50", "50, 50, 50", "50; 50; 50"])
def test_fills_listed_as_the_heading_asks(listed: str) -> None:
    context = CellContext("water_volume_ml", "mL", heading="water - list every fill (mL)")
    cell = RawCell(1, 1, listed, listed)
    assert parse_cell(cell, quantity("water_volume_ml"), context).parts == (50.0, 50.0, 50.0)
    plain = CellContext("water_volume_ml", "mL", heading="water (mL)")
    assert parse_cell(cell, quantity("water_volume_ml"), plain).value is None


def test_o_for_oui_where_the_heading_says_so(workbook: Write) -> None:
    heads = ["Binôme", "m chaux (g)", "m solide restant (g)", "faisceau laser visible ? (O/N)"]
    rows = [heads, [1, 2.03, 1.59, "O"], [2, 2.08, 1.64, "N"], [3, 2.03, 1.62, "o"]]
    runs = ss.read_class(workbook({"Feuil1": rows})).runs
    assert runs["scatter"].tolist() == ["visible", "clear", "visible"]


def test_a_readme_says_how_every_run_was_filtered(workbook: Write) -> None:
    heads = ["group", "solid in (g)", "water (mL)", "dry solid (g)"]
    rows: list[list[Any]] = [heads, [1, 2.18, 150, 1.91], [2, 2.25, 150, 1.99], [3, 2.3, 150, 2.0]]
    said = [["One row per group."], ["Every run in both sections was filtered with the aspirator."]]
    told = [["One row per group."], ["Every run should be filtered with the aspirator."]]
    runs = ss.read_class(workbook({"readme": said, "sec 1": rows})).runs
    assert runs["filtration"].tolist() == ["vacuum"] * 3
    runs = ss.read_class(workbook({"readme": told, "sec 1": rows}, name="told.xlsx")).runs
    assert "filtration" not in runs or runs["filtration"].isna().all()


def test_lines_of_settings_are_no_headings(text_table: Write) -> None:
    rows: list[list[Any]] = [
        ["Praktikum: Löslichkeit von Calciumhydroxid"],
        ["Kurs Q1", "", "", "", "Raumtemperatur 21,5 °C"],
        ["Salzsäure c(HCl) = 0,1 mol/l", "", "Titriertes Filtrat: 25 ml"],
        ["Rührzeit 5 min", "", "Absetzzeit 10 min", "", "Filtration (Faltenfilter)"], [],
        ["Gruppe", "Einwaage Ca(OH)2 [g]", "Wasser [ml]", "Rückstand trocken [g]",
         "Verbrauch HCl [ml]"],
        ["A", "2,48", 200, "2,12", "11,4"], ["B", "2,58", 200, "2,20", "11,4"],
    ]  # fmt: skip
    records = ss.read_class(text_table(rows, delimiter=";"))
    run = records.runs.iloc[0]
    assert (run["temperature_c"], run["stir_min"], run["settle_min"]) == (21.5, 5, 10)
    assert (run["titrant_mol_per_l"], run["aliquot_ml"]) == (0.1, 25)
    assert run["filtration"] == "gravity"
    settling = records.ledger[records.ledger["cell"] == "C4"].iloc[0]
    assert (settling["outcome"], settling["column"]) == ("used", "settle_min")


def test_settings_above_groups_as_columns(workbook: Write) -> None:
    rows = [
        ["TP n°9 : solubilité du gypse"],
        ["Classe : 1re SPE 2", None, "Eau distillée à 20 °C", None, "Filtration sous vide"],
        [], ["Groupe", "rouge", "bleu", "vert", "jaune", "violet"],
        ["Masse de gypse pesée (g)", 2.46, 2.41, 3.09, 2.79, 2.59],
        ["Volume total d'eau (mL)", 200, 200, 200, 200, 200],
        ["Masse du filtre sec (g)", 0.54, 0.5, 0.54, 0.57, 0.6],
        ["Masse filtre + solide sec (g)", 2.53, 2.43, 3.17, 2.83, 2.65],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"résultats": rows})).runs
    assert runs["temperature_c"].tolist() == [20.0] * 5
    assert runs["filtration"].tolist() == ["vacuum"] * 5
    assert runs["paper_mass_g"].tolist() == [0.54, 0.5, 0.54, 0.57, 0.6]


def test_a_remark_that_doubts_a_reading(text_table: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "grams Ca(OH)2 start", "mL water", "grams dry leftover", "comments"],
        [1, 2.29, 200, 1.95, "cylinder 2.5 cm wide"], [2, 2.31, 150, 2.02, "very slow"],
        [3, 25.1, 150, 2.01, "balance said 25.1?? maybe 2.51"], [4, 2.35, 200, 2.02, ""],
    ]  # fmt: skip
    records = ss.read_class(text_table(rows))
    assert records.runs["initial_mass_g"].isna().tolist() == [False, False, True, False]
    flags = records.flags[records.flags["column"] == "initial_mass_g"]
    assert "doubts" in " ".join(flags["note"])


def test_a_remark_with_another_temperature_than_stated(text_table: Write) -> None:
    rows: list[list[Any]] = [
        ["bath T (C)", 24], [],
        ["Gp", "wt Ca(OH)2 (g)", "vol H2O (mL)", "wt dry res. (g)", "comments"],
        [1, 2.075, 200, 1.695, ""], [2, 2.044, 150, 1.836, "T was 25 in ours"],
        [3, 2.347, 150, 2.031, "bench 12"],
    ]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert runs["temperature_c"].isna().tolist() == [False, True, False]


def test_a_solubility_in_grams_per_millilitre_among_others(text_table: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "grams start", "mL water", "grams dry", "solubility (put your units)"]
    ]
    said = ["1.70 g/L", "1.93 g/L", "0.00185 g/mL", "1.75 g/L", "1.65 g/L", "1.6 g/L"]
    rows += [[n, 2.29, 200, 1.95, s] for n, s in enumerate(said, start=1)]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["reported_solubility"].tolist() == [1.7, 1.93, 0.00185, 1.75, 1.65, 1.6]
    assert runs["reported_unit"][2] == "g/mL"


def test_first_go_and_repeat_side_by_side(workbook: Write) -> None:
    heads = ["mass of Ca(OH)2 / g", "volume of water / cm³", "mass of residue / g"]
    rows: list[list[Any]] = [
        ["Pair", "First go", None, None, "Repeat", None, None], [None, *heads, *heads],
        ["A", 2.13, 150, 1.88, 2.15, 200, 1.78], ["B", 2.2, 150, 1.92, 2.27, 150, 1.98],
        ["G", 2.45, 200, 2.1, "absent", None, None],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"class": rows}, merge={"class": ["B1:D1", "E1:G1"]})).runs
    assert runs["run"].tolist() == ["1", "2", "1", "2", "1"]
    assert runs["initial_mass_g"].tolist() == [2.13, 2.15, 2.2, 2.27, 2.45]


def test_a_repeat_of_the_weighing_alone_is_no_trial(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Pair", "First go", None, "Repeat"], [None, "mass of Ca(OH)2 / g", "mass of residue / g",
         "mass of residue / g"], ["A", 2.13, 1.88, 1.87], ["B", 2.2, 1.92, 1.91],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"class": rows}, merge={"class": ["B1:C1"]})).runs
    assert set(runs["run"]) <= {"", "1"}


@pytest.mark.parametrize(
    ("written", "value", "unit"),
    [
        ("1.6 x 10^-3 g/mL", 0.0016, "g/mL"), ("1.6*10^-3 g/mL", 0.0016, "g/mL"),
        ("1.6 × 10⁻³ g/mL", 0.0016, "g/mL"), ("1.6E-3 g/mL", 0.0016, "g/mL"),
        ("1.7 g/100 mL", 1.7, "g/100 mL"), ("1.6 x ten to the -3", None, ""),
        ("1.6 x 10 g/L", None, ""), ("1.6 or so", None, ""),
    ],
)  # fmt: skip
def test_a_power_of_ten_is_no_unit(written: str, value: float | None, unit: str) -> None:
    asked = quantity("reported_solubility")
    parsed = parse_cell(RawCell(1, 1, written, written), asked, CellContext(asked.name))
    assert (parsed.value, parsed.unit) == (value, unit)


@pytest.mark.parametrize(("written", "value"), [("250 ml aprox", 250), ("±1,7", 1.7)])
def test_about(written: str, value: float) -> None:
    column = "water_volume_ml" if "ml" in written else "reported_solubility"
    context = CellContext(column, decimal=",")
    parsed = parse_cell(RawCell(1, 1, written, written), quantity(column), context)
    assert parsed.value == value
    assert "approximate" in parsed.flags


def test_a_log_of_one_group_in_its_trials(workbook: Write) -> None:
    rows: list[list[Any]] = [["Date", "Time", "Run", "What we did", "Reading", "Unit"]]
    for run, lime in ((1, 2.013), (2, 2.487)):
        rows += [
            [None, "08:40", run, "weighed Ca(OH)2 (boat tared)", lime, "g"],
            [None, "08:46", run, "water, 1st cylinder", 100, "ml"],
            [None, "08:49", run, "temp of the mixture", 19.5, "deg C"],
            [None, "09:05", run, "left to settle", 20, "min"],
            [None, "09:30", run, "filtered by vacuum, slow at the end", None, None],
            [None, "10:26", run, "paper + dry solid", lime - 0.3, "g"],
        ]
    runs = ss.read_class(workbook({"log": rows}, name="Grp 4 practical log.xlsx")).runs
    assert runs["group"].tolist() == ["4", "4"]
    assert runs["initial_mass_g"].tolist() == [2.013, 2.487]
    assert runs["settle_min"].tolist() == [20, 20]
    assert set(runs["filtration"]) == {"vacuum"}


def test_a_unit_on_the_other_cards_tells_a_bare_label(workbook: Write) -> None:
    def card(group: int, *values: object) -> list[list[Any]]:
        labels = ["Ca(OH)2", "water", "dry solid", "laser visible"]
        return [[f"Group {group}", None], *([a, b] for a, b in zip(labels, values, strict=True))]

    left = card(1, "2.24 g", "100 + 100 ml", "1.94 g", "no")
    right = card(2, 2.38, "100 + 50 ml", "1.97 g", "slightly")
    rows = [[*a, None, *b] for a, b in zip(left, right, strict=True)]
    rows += [[], *card(3, "2.65 g", "100 + 50 ml", "2.34 g", "no")]
    runs = ss.read_class(workbook({"board": rows})).runs.set_index("group")
    assert runs["initial_mass_g"].to_dict() == {"1": 2.24, "2": 2.38, "3": 2.65}
    assert runs["scatter"].to_dict() == {"1": "clear", "2": "visible", "3": "clear"}


def test_two_trials_are_enough_where_all_digits_agree(workbook: Write) -> None:
    rows = [
        ["Section L07", "Group 11", None], [], [None, "Trial 1", "Trial 2"],
        ["mass Ca(OH)2 (g)", 2.5207, 2.486], ["water total (mL)", 250, 250],
        ["filter paper (g)", 0.7741, 0.7803], ["filter paper + solid after drying (g)", 2.8864,
         2.8467], ["solid (g)", 2.1123, 2.0664],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"raw": rows})).runs
    assert runs["recovered_mass_g"].tolist() == [2.1123, 2.0664]
    rows[-1] = ["solid (g)", 2.1123, 2.0646]
    runs = ss.read_class(workbook({"raw": rows}, name="slip.xlsx")).runs
    assert "recovered_mass_g" not in runs or runs["recovered_mass_g"].isna().all()


def test_a_column_at_once_asks_for_hours_and_minutes_too() -> None:
    context = CellContext("dry_min", heading="Drying time h:mm")
    column = parse_numeric_column(np.array([45.0, 60.0]), quantity("dry_min"), context)
    assert np.isnan(column.values).all()
    assert set(column.outcomes) == {"unclear"}
