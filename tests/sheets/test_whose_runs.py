"""Whose a run is: codes of classes, trials counted by "times", groups over their lines.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.places import section_in, section_named

Write = Callable[..., Path]


@pytest.mark.parametrize(
    ("text", "code"),
    [("Set: 12B/Ch2", "12B/Ch2"), ("Curso: 4º ESO B", "4º ESO B"), ("Class: 10 Blue", "10 Blue"),
     ("Klasse: 9c/2", "9c/2"), ("Classe: 2nde B", "2nde B"), ("Section L02-B", "L02-B"),
     ("Klasa: IIc", "IIc"), ("Klass: NA22b", "NA22b"), ("Form 3 East", "3 East"),
     ("Klas 5V2", "5V2"), ("Class 10 B (Ms Tan)", "10B"), ("Class: CHEM 101", ""),
     ("Class: Chemistry 1", ""), ("Period 4 results", "4"), ("Form 2 weighings", "2")],
)  # fmt: skip
def test_a_class_keeps_all_of_its_code(text: str, code: str) -> None:
    assert section_named(text) == code


@pytest.mark.parametrize("day", ["lunes", "venerdì", "donderdag", "środa", "torsdag"])
def test_days_in_other_languages(day: str) -> None:
    assert section_in(day) == day


def test_tabs_of_classes_that_differ_by_a_colour_stay_apart(workbook: Write) -> None:
    head = ["Group", "Lime taken (g)", "Water (mL)", "Dry solid (g)"]
    sheets = {
        f"Class 10 {colour}": [head, *([g, more + g / 100, 200, 2.1] for g in (1, 2, 3))]
        for colour, more in (("Blue", 2.4), ("Green", 2.6))
    }
    runs = ss.read_class(workbook(sheets)).runs
    assert sorted(set(runs["section"])) == ["10 Blue", "10 Green"]
    assert (runs["set_aside"] == "").all()


@pytest.mark.parametrize(
    "times",
    [("1ª vez", "2ª vez"), ("1. Mal", "2. Mal"), ("1re fois", "2e fois"), ("1e keer", "2e keer"),
     ("1a volta", "2a volta"), ("1st time", "2nd time"), ("first time", "second time")],
)  # fmt: skip
def test_cards_with_a_column_for_each_time(workbook: Write, times: tuple[str, str]) -> None:
    rows: list[list[Any]] = []
    for group, values in (("1", (2.457, 2.055)), ("2", (2.261, 2.424)), ("3", (2.421, 2.422))):
        rows += [
            [f"Grupo {group}", *times],
            ["Massa de Ca(OH)2 (g)", *values],
            ["Volume de água (mL)", 200, 150],
            ["Sólido seco (g)", *(round(v - 0.32, 3) for v in values)],
            [],
        ]
    runs = ss.read_class(workbook({"QG": rows})).runs
    assert runs["group"].tolist() == ["1", "1", "2", "2", "3", "3"]
    assert runs["run"].tolist() == ["1", "2"] * 3
    assert runs["initial_mass_g"].tolist() == [2.457, 2.055, 2.261, 2.424, 2.421, 2.422]


def test_a_second_weighing_is_no_second_trial(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Groupe", "masse de chaux (g)", "eau (mL)", "résidu sec, 1re fois (g)", "2e fois (g)"],
        *([g, 2.4 + g / 100, 200, 2.1 + g / 100, 2.09 + g / 100] for g in range(1, 6)),
    ]
    runs = ss.read_class(workbook({"TP": rows})).runs
    assert len(runs) == 5


LABELS = ["Innveid Ca(OH)2 (g)", "Vann (mL)", "Tørt stoff (g)"]


@pytest.mark.parametrize("lead", ["", "Gruppe"])
def test_groups_on_lines_of_their_own_over_their_trials(workbook: Write, lead: str) -> None:
    rows: list[list[Any]] = [[lead or None, "Parallell", *LABELS]]
    for group, masses in (("Gruppe 1", (2.38, 2.78)), ("Gruppe 2", (2.57, 2.73, 2.89))):
        rows.append([group])
        rows += [[None, n, m, 150, round(m - 0.25, 2)] for n, m in enumerate(masses, start=1)]
    runs = ss.read_class(workbook({"2STA": rows})).runs
    assert runs["group"].str.removeprefix("Gruppe ").tolist() == ["1", "1", "2", "2", "2"]
    assert runs["run"].tolist() == ["1", "2", "1", "2", "3"]


def test_a_group_without_readings_gives_its_name_to_nobody(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", *LABELS],
        [1, 2.38, 150, 2.13],
        [2, None, None, None],
        [None, 2.57, 150, 2.32],
        [4, 2.73, 150, 2.48],
    ]
    runs = ss.read_class(workbook({"A": rows})).runs
    assert 2.57 not in runs.loc[runs["group"] == "2", "initial_mass_g"].tolist()


def test_the_number_of_a_lab_is_no_trial(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Forsøg 12: Opløselighed af læsket kalk"],
        ["Gruppe", *LABELS],
        *([g, 2.4 + g / 100, 150, 2.1] for g in (1, 2, 3)),
    ]
    assert (ss.read_class(workbook({"2x": rows})).runs["run"] == "").all()


def test_who_did_it_above_the_trials_of_a_form(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Lab 7: Does lime dissolve?"],
        ["Group # 4", "Period 5", "Oct 14 + 15"],
        [],
        ["What we measured", "Try 1", "Try 2"],
        ["lime we started with (g)", 2.51, 2.46],
        ["all the water (mL)", 248, 249.5],
        ["lime that was left, dry (g)", 2.14, 2.11],
    ]
    runs = ss.read_class(workbook({"Data Sheet": rows})).runs
    assert runs["group"].tolist() == ["4", "4"]
    assert runs["section"].tolist() == ["5", "5"]


@pytest.mark.parametrize("word", ["Batch", "Reeks", "Turno"])
def test_parts_of_a_table_under_any_word(workbook: Write, word: str) -> None:
    rows: list[list[Any]] = [
        ["Sl. No.", "Set", "Lime taken (gm)", "Water (ml)", "Dry residue (gm)"]
    ]
    for part, first in (("B1", 1), ("B2", 4)):
        rows.append([f"{word} {part}"])
        rows += [[first + n, f"S-{n + 1}", 2.4 + n / 9, 150, 2.1 + n / 9] for n in range(3)]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["section"].tolist() == ["B1"] * 3 + ["B2"] * 3
    assert runs["group"].tolist() == ["S-1", "S-2", "S-3"] * 2  # the serial number only counts


def test_readings_of_one_group_are_its_trials(workbook: Write) -> None:
    rows: list[list[Any]] = [
        [None, "Batch", "B3"],
        [None, "Sub-group", 6],
        [],
        ["S. No.", "Particulars", "Reading I", "Reading II", "Reading III"],
        [1, "Mass of Ca(OH)2 taken (g)", 2.661, 2.52, 2.5],
        [2, "Volume of water, 1st measure (ml)", 99.8, 98.5, 100.8],
        [3, "Volume of water, 2nd measure (ml)", 100, 100, 100],
        [4, "Total volume of water (ml)", 199.8, 198.5, 200.8],
        [5, "Temperature of the solution (°C)", 26.5, 26.5, 27],
        [6, "Mass of dry residue (g)", 2.287, 2.206, 2.127],
    ]
    runs = ss.read_class(workbook({"Observation": rows})).runs
    assert runs["group"].tolist() == ["6"] * 3
    assert runs["run"].tolist() == ["1", "2", "3"]


def test_one_word_written_in_two_ways_before_a_code(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Número de equipo", "Masa inicial (g)", "Agua (mL)", "Masa seca (g)"],
        *([code, 2.4 + n / 100, 150, 2.1] for n, code in enumerate([2, "Equipo 1", "eq. 3", 4])),
    ]
    runs = ss.read_class(workbook({"502": rows})).runs
    assert runs["group"].tolist() == ["2", "1", "3", "4"]


def test_a_strength_is_no_group_of_the_bench(workbook: Write) -> None:
    rows: list[list[Any]] = [["Acide chlorhydrique de la paillasse : 0,040 mol/L"]]
    for group in (1, 2):
        rows += [
            [],
            [f"Binôme n° {group}"],
            ["Masse de chaux pesée", f"2,{80 + group} g"],
            ["Eau versée (éprouvette), 1re fois", "101 mL"],
            ["Eau versée (éprouvette), 2e fois", "51 mL"],
            ["Papier filtre sec, seul", "1,02 g"],
            ["Papier + résidu sec", "3,60 g"],
            ["Volume d'acide à l'équivalence", "11,7 mL"],
        ]
    runs = ss.read_class(workbook({"1G3": rows})).runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["water_volume_ml"].tolist() == [152, 152]  # both pours, and never the first alone
    assert runs["titrant_mol_per_l"].tolist() == [0.04, 0.04]


def test_class_course_and_table_on_one_line_over_trials(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["CHM 1046L", "Section 017", "Table 6"],
        [],
        [None, None, "Trial 1", "Trial 2", "Trial 3"],
        ["m(lime) taken", "g", 2.2665, 2.66, 2.3052],
        ["H2O sum", "mL", 248, 249.5, 249],
        ["m(lime) left, dry, off the paper", "g", 1.8432, 2.2217, 1.884],
    ]
    runs = ss.read_class(workbook({"raw data": rows})).runs
    assert runs["group"].tolist() == ["6"] * 3
    assert runs["section"].tolist() == ["017"] * 3


def test_the_class_above_cards_of_teams(workbook: Write) -> None:
    rows: list[list[Any]] = [["Grupo:", "4IM2", "Temperatura del agua:", "23 °C"], []]
    for team in (1, 2, 3):
        rows += [
            [f"Equipo {team}", "Ensayo 1", "Ensayo 2"],
            ["Masa de Ca(OH)2 (g)", 2.07 + team / 100, 2.12 + team / 100],
            ["Agua total (mL)", 150, 200],
            ["Sólido seco (g)", 1.85, 1.80],
            [],
        ]
    runs = ss.read_class(workbook({"Hoja1": rows})).runs
    assert runs["section"].tolist() == ["4IM2"] * 6
    assert runs["group"].tolist() == ["1", "1", "2", "2", "3", "3"]
    assert runs["temperature_c"].tolist() == [23] * 6


@pytest.mark.parametrize(
    "line",
    ["HCl was 0.0987 M both days. Water was 21.0 C (014) and 22.5 C (017).",
     "Section 014: 21.0 °C, section 017: 22.5 °C"],
)  # fmt: skip
def test_temperatures_by_section(workbook: Write, line: str) -> None:
    rows: list[list[Any]] = [
        [line],
        [],
        ["sec", "bench", "g Ca(OH)2 in", "mL H2O (total)", "g solid back (dry)"],
        *([sec, n, 2.5 + n / 100, 200, 2.2 + n / 90] for sec in ("014", "017") for n in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"wk 7": rows})).runs
    assert runs["temperature_c"].tolist() == [21] * 3 + [22.5] * 3


def test_a_table_beside_a_card_is_of_the_same_group(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Acid: HCl, 0.0512 mol dm-3. Pipette: 25.00 cm3 of filtrate each time."],
        [],
    ]
    for bench in (1, 2, 3):
        rows += [
            [f"Bench {bench}", "Run 1", "Run 2", None, "Titration of filtrate", "Run 1", "Run 2"],
            [
                "Solid weighed out / g",
                2.264 + bench,
                2.658,
                None,
                "Burette start / cm3",
                0.31,
                23.8,
            ],
            ["Water / cm3", 240, 200, None, "Burette finish / cm3", 22.81, 45.38],
            ["Residue, dry / g", 1.866 + bench, 2.332, None, "Titre / cm3", 22.5, 21.58],
            [],
        ]
    runs = ss.read_class(workbook({"Stream 2": rows})).runs
    assert runs["group"].tolist() == ["1", "1", "2", "2", "3", "3"]
    assert runs["burette_end_ml"].tolist() == [22.81, 45.38] * 3


def test_cards_of_teams_in_a_tab_named_after_the_class(workbook: Write) -> None:
    rows: list[list[Any]] = [["Grupa laboratoryjna: 3"], []]
    for left, right in ((1, 2), (3, 4)):
        rows += [
            [f"Zespół {left}", None, None, f"Zespół {right}", None],
            ["naważka Ca(OH)2, g", 2.84 + left, None, "naważka Ca(OH)2, g", 2.159 + right],
            ["woda razem, cm3", 150, None, "woda razem, cm3", 151],
            ["temperatura, °C", 20.3, None, "temperatura, °C", 23.3],
            ["masa suchego osadu, g", 2.575 + left, None, "masa suchego osadu, g", 1.955 + right],
            [],
        ]
    runs = ss.read_class(workbook({"gr. 3": rows})).runs.sort_values("group")
    assert runs["group"].tolist() == ["1", "2", "3", "4"]
    assert (runs["set_aside"] == "").all()


def test_names_behind_the_trials_of_cards(workbook: Write) -> None:
    rows: list[list[Any]] = [["Section 5021"], []]
    for team, who in ((1, "Amara / Jonas"), (2, "Priya / Wei"), (3, "Leo / Kim")):
        rows += [
            [f"TEAM {team}", "Trial 1", "Trial 2", who],
            ["Ca(OH)2 taken (g)", 1.92 + team, 2.01, None],
            ["Deionized water (mL)", 150, 200, None],
            ["Dry undissolved solid (g)", 1.72, 1.69, None],
            [],
        ]
    records = ss.read_class(workbook({"Ksp data": rows}))
    assert records.runs["group"].tolist() == ["1", "1", "2", "2", "3", "3"]
    assert records.runs["run"].tolist() == ["1", "2"] * 3
    assert "Amara" not in records.ledger.to_string() + records.account["text"]


def test_a_word_of_a_title_does_not_stand_against_the_tab(workbook: Write) -> None:
    card: list[list[Any]] = [
        ["BENCH RECORD"],
        ["Ca(OH)2 taken", 2.7764, "g"],
        ["Water, total", 240, "mL"],
        ["Dry solid", 2.4, "g"],
    ]
    runs = ss.read_class(workbook({f"Bench {n}": card for n in (1, 2, 3)})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
