"""Codes of classes with words in them, "the second time" as a trial, and headings that count.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.places import section_in, section_named
from solubility_stats.sheets.sentences import said_by

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


def _counted(below: list[str]) -> list[list[Any]]:
    return [
        ["Gr.", "Einwaage\nCa(OH)2 [g]", "Wasser [mL]", None, None, "Rühren [min]",
         "Filterpapier [g]", None, "Rückstand trocken [g]"],
        [None, None, *below, None, "leer", "mit Rückstand (trocken)", None],
        [1, 2.27, 49, 50, 50, 5, 1.00, 3.04, 2.04],
        [2, 2.18, 50, 50, 50, 5, 0.88, 2.81, 1.93],
        [3, 2.40, 50, 51, 50, 10, 0.96, 3.10, 2.14],
        ["Mittelwert", None, None, None, None, None, None, None, 2.04],
        ["Handbuchwert", None, None, None, None, None, None, None, 1.70],
    ]  # fmt: skip


@pytest.mark.parametrize(
    "below", [["1. Zyl.", "2. Zyl.", "3. Zyl."], ["1.", "2.", "3."], ["1st cyl", "2nd cyl", "3rd"]]
)
def test_a_second_line_of_headings_that_counts(workbook: Write, below: list[str]) -> None:
    merge = ["A1:A2", "B1:B2", "C1:E1", "F1:F2", "G1:H1", "I1:I2"]
    runs = ss.read_class(workbook({"10b": _counted(below)}, merge={"10b": merge})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]  # and no value of a book below the mean
    assert runs["fill_2_ml"].tolist() == [50, 50, 51]
    assert runs["recovered_with_paper_mass_g"].tolist() == [3.04, 2.81, 3.10]


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [("watertemperatuur 21 °C, 5 min roeren, filtreren", "stir_min", "5 min"),
     ("watertemperatuur 21 °C, 5 min roeren, filtreren", "temperature_c", "21 °C"),
     ("Eau distillée à 21 °C, agitation 15 min puis filtration, étuve 45 min", "dry_min", "45 min"),
     ("Titration of filtrate (10.00 mL) with 0.0500 M HCl", "aliquot_ml", "10.00 mL")],
)  # fmt: skip
def test_what_one_line_says_of_all(text: str, column: str, said: str) -> None:
    assert said_by(text, {"titrant_ml"}).get(column) == said


@pytest.mark.parametrize("text", ["Droogtemperatuur 110 °C", "Ofentemperatur 60 °C"])
def test_the_oven_is_not_the_lab(text: str) -> None:
    assert "temperature_c" not in said_by(text, set())


def test_an_instruction_without_a_reading_says_nothing_of_the_run() -> None:
    assert said_by("Stir 10 min, let stand 20 min, then filter.", set()) == {}


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


@pytest.mark.parametrize(("total", "fills"), [(225, 75.0), (250, None)])
def test_fills_that_a_sentence_says_of_all(
    workbook: Write, total: int, fills: float | None
) -> None:
    rows: list[list[Any]] = [
        ["Chaque binôme a versé 3 éprouvettes de 75 mL."],
        ["Binôme", "m chaux (g)", "V eau total (mL)", "m résidu sec (g)"],
        *([g, 2.4 + g / 100, total, 2.1] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"TP": rows})).runs
    assert (runs["water_volume_ml"] == total).all()
    assert ("fill_1_ml" in runs and runs["fill_1_ml"].eq(75).all()) == (fills is not None)


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


@pytest.mark.parametrize("heading", ["Yksikkö", "Enhed", "wording nobody knows"])
def test_units_in_a_column_of_a_long_list(workbook: Write, heading: str) -> None:
    rows: list[list[Any]] = [["Ryhmä", "Mitä mitattiin", "Lukema", heading]]
    for group in (1, 2):
        rows += [
            [group, "kalsiumhydroksidi punnittuna", 2320 + group, "mg"],
            [group, "vesi, 1. mittalasi", 51, "ml"],
            [group, "laskeutumisaika", 1, "h"],
            [group, "suodatinpaperi", 0.87, "g"],
        ]
    runs = ss.read_class(workbook({"KE4": rows})).runs
    assert runs["settle_min"].tolist() == [60, 60]  # and never one minute
    assert runs["initial_mass_g"].tolist() == [2.321, 2.322]


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


def test_every_bench_pasted_in_its_own_layout(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Slaked lime solubility - shared sheet"],
        [],
        ["Bench 1"],
        ["initial mass (g)", "vol 1 (mL)", "vol 2 (mL)", "temp (C)", "final dry mass (g)"],
        [2.886, 50.5, 49.5, 19.1, 2.578],
        [],
        ["Bench 2"],
        ["lime weighed out", "2.684 g"],
        ["water", "80.5 + 79.0 = 159.5 mL"],
        ["temperature of the water", "22.9 °C"],
        ["dry solid recovered", "2.320 g"],
        [],
        ["Bench 3  (sorry we did it sideways)"],
        [None, "our value", "unit"],
        ["m(start)", 2290, "mg"],
        ["V fill 1", 49.5, "mL"],
        ["T", 21.6, "°C"],
        ["m(dry, no paper)", 1899, "mg"],
        [],
        ["Bench 4 - both absent today"],
    ]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["initial_mass_g"].tolist() == [2.886, 2.684, 2.29]
    assert runs["recovered_mass_g"].tolist() == [2.578, 2.32, 1.899]


@pytest.mark.parametrize(
    ("text", "column", "said"),
    [("Vandet var 22 °C. Alle rørte i 10 minutter og lod det stå i 25 minutter", "stir_min",
      "10 minutter"),
     ("Vandet var 22 °C. Alle rørte i 10 minutter og lod det stå i 25 minutter", "settle_min",
      "25 minutter"),
     ("Elk groepje heeft 200 mL water gebruikt (4 × 50 mL met de maatcilinder)",
      "water_volume_ml", "4 x 50 mL"),
     ("Titratie: 10,00 mL filtraat met 0,050 M zoutzuur.", "aliquot_ml", "10,00 mL")],
)  # fmt: skip
def test_what_sentences_say_of_all_abroad(text: str, column: str, said: str) -> None:
    assert said_by(text, {"titrant_ml"}).get(column) == said


def test_one_word_written_in_two_ways_before_a_code(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Número de equipo", "Masa inicial (g)", "Agua (mL)", "Masa seca (g)"],
        *([code, 2.4 + n / 100, 150, 2.1] for n, code in enumerate([2, "Equipo 1", "eq. 3", 4])),
    ]
    runs = ss.read_class(workbook({"502": rows})).runs
    assert runs["group"].tolist() == ["2", "1", "3", "4"]


def test_one_value_with_a_unit_does_not_unsay_that_of_the_sheet(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Masses in mg unless noted"],
        ["Station", "Hydrated lime", "Water (L)", "Dry lime recovered"],
        *([n, 2249 + n, 0.25, 1823 + n] for n in (1, 2, 3)),
        [4, "2.440 g", 0.2, 2093],
    ]
    runs = ss.read_class(workbook({"W2": rows})).runs
    assert runs["initial_mass_g"].tolist() == [2.25, 2.251, 2.252, 2.44]
    assert runs["recovered_mass_g"].tolist() == [1.824, 1.825, 1.826, 2.093]


def test_a_total_behind_its_fills(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "pour 1", "pour 2", "pour 3", "pour 4", "total"],
        [1, 49.7, 50.3, 49.5, None, 149.5],
        [2, 50.2, 50.1, 50, None, 150.3],
        [3, 50.2, 50, 49.7, 50, 199.9],
    ]
    runs = ss.read_class(workbook({"A": rows})).runs
    assert runs["water_volume_ml"].tolist() == [149.5, 150.3, 199.9]


@pytest.mark.parametrize("name", ["filtre sec", "Filter trocken", "filtro asciutto", "dry filter"])
def test_a_dry_filter_is_the_paper_and_not_what_was_on_it(workbook: Write, name: str) -> None:
    rows: list[list[Any]] = [
        ["Binôme", "Pesées (g)", None, None, "Eau (mL)"],
        [None, "chaux", name, f"{name} + chaux", "total"],
        *([g, 2.3 + g / 100, 0.9 + g / 100, 2.9 + g / 100, 200] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"A1": rows}, merge={"A1": ["B1:D1"]})).runs
    assert runs["paper_mass_g"].tolist() == [0.91, 0.92, 0.93]
    assert "recovered_mass_g" not in runs or runs["recovered_mass_g"].isna().all()


def test_what_is_stated_once_above_the_names_of_groups(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Wassertemperatur", 20.5, "°C"],
        ["Team", "A", "B", "C"],
        ["Einwaage Ca(OH)2 [mg]", 2644, 2497, 2821],
        ["Wasser total [ml]", 101, 200, 199],
        ["Rückstand, trocken [g]", 2.4, 2.126, 2.389],
    ]
    runs = ss.read_class(workbook({"2aG": rows})).runs
    assert runs["temperature_c"].tolist() == [20.5] * 3


def test_labels_with_a_colon_are_no_headings(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Turma:", "T03"],
        ["HCl padronizado (mol/L):", 0.0982],
        ["Temperatura da água (°C):", 24],
        [],
        [
            "Bancada",
            "m Ca(OH)2 inicial (g)",
            "Água total (mL)",
            "Resíduo seco (g)",
            "HCl gasto (mL)",
        ],
        *([n, 2.5 + n / 100, 200, 2.2, 8.75] for n in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"dados": rows})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["temperature_c"].tolist() == [24] * 3
    assert runs["titrant_mol_per_l"].tolist() == [0.0982] * 3


def test_the_paper_below_a_word_for_the_solid(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Équipe", "Solide (g)", None, None, "Eau (mL)"],
        [None, "masse pesée au départ", "papier filtre", "papier + résidu séché", "total"],
        *([n, 2.5 + n / 100, 1.2 + n / 100, 3.4 + n / 100, 200] for n in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"gr": rows}, merge={"gr": ["B1:D1"]})).runs
    assert runs["paper_mass_g"].tolist() == [1.21, 1.22, 1.23]
    assert runs["recovered_with_paper_mass_g"].tolist() == [3.41, 3.42, 3.43]


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


def test_the_only_numbers_of_a_table_are_what_its_title_says(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Initial Ca(OH)2 (g)", "Water (mL)", "Dry residue (g)"],
        *([n, 2.5 + n / 100, 200, 2.2] for n in (1, 2, 3)),
        [],
        ["Table 4. Solubility found by the group (g per liter)"],
        ["Group", "By residue", "Remarks"],
        [1, 1.75, None],
        [2, 1.73, None],
        [3, 1.96, "filtered twice"],
    ]
    runs = ss.read_class(workbook({"Expt 7": rows})).runs
    assert runs["reported_solubility"].tolist() == [1.75, 1.73, 1.96]


def test_a_list_of_equations_below_a_group(workbook: Write) -> None:
    lines = ["lime used = 2.81g", "H2O = 250mL (5 × 50 mL)", "T = 21°C", "residue (dry) = 2.42g",
             "residue dried again = 2.41g", "filter = vacuum"]  # fmt: skip
    rows: list[list[Any]] = [["Year 12 Chem", "Block C"], ["Group D"], *([line] for line in lines)]
    runs = ss.read_class(workbook({"Gp D": rows})).runs
    assert runs["group"].tolist() == ["D"]
    assert runs["section"].tolist() == ["C"]
    assert runs["water_volume_ml"].tolist() == [250]
    assert runs["temperature_c"].tolist() == [21]
    assert runs["second_dry_mass_g"].tolist() == [2.41]


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


def test_many_labels_with_values_above_a_table(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Section:", "014", "Date:", "Oct 9", "Lab temp:", "22.5 °C", "HCl:", "0.0500 M"],
        ["Group", "Solid (g)", "Water (mL)", "Dry solid (g)", "Filtrate (mL)", "Buret start (mL)",
         "Buret end (mL)"],
        *([n, 2.5 + n / 100, 200, 2.2, 25, 0.1, 21.5] for n in (1, 2, 3)),
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Class data": rows})).runs
    assert runs["temperature_c"].tolist() == [22.5] * 3
    assert runs["titrant_mol_per_l"].tolist() == [0.05] * 3
    assert runs["section"].tolist() == ["014"] * 3


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


def test_the_dish_below_a_word_for_evaporation(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Binôme", "Masse pesée (g)", "Eau (mL)", "Évaporation du filtrat"],
        [None, None, None, "volume (mL)", "coupelle vide (g)", "coupelle + solide sec (g)"],
        *([n, 2.5 + n / 100, 200, 25, 35.1 + n, 35.14 + n] for n in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"TP7": rows}, merge={"TP7": ["D1:F1"]})).runs
    assert runs["dish_mass_g"].round(3).tolist() == [36.1, 37.1, 38.1]
    assert runs["dish_residue_mass_g"].round(3).tolist() == [36.14, 37.14, 38.14]
    assert runs["evaporation_aliquot_ml"].tolist() == [25] * 3


def test_a_label_with_an_equals_sign_and_a_colon(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Raumtemperatur = Wassertemperatur:", None, None, "21 °C"],
        [],
        ["Gr.", "Einwaage Löschkalk in g", "Wasser gesamt (mL)", "Rückstand (g)"],
        *([n, 2.5 + n / 100, 200, 2.2] for n in (1, 2, 3)),
    ]
    assert ss.read_class(workbook({"Ch-GK 1": rows})).runs["temperature_c"].tolist() == [21] * 3


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


def test_the_mean_titre_where_it_is_all_there_is(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Pair", 1, 2, 3],
        ["Mass of Ca(OH)2 used /g", 2.48, 2.29, 2.44],
        ["Total water /cm³", 196, 200, 200],
        ["Mass of dry residue /g", 2.2, 1.84, 2.04],
        ["Mean titre /cm³", 10.95, 11.2, 11.2],
    ]
    assert ss.read_class(workbook({"12B": rows})).runs["titrant_ml"].tolist() == [10.95, 11.2, 11.2]


def test_letters_of_a_form_are_no_fills(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Lab section", 22],
        ["Group no.", 1],
        [None, "Run 1"],
        ["1. Mass of Ca(OH)2 (g)", 2.363],
        ["2a. Water, cylinder fill 1 (mL)", 100],
        ["2b. Water, cylinder fill 2 (mL)", 100],
        ["2c. Water, cylinder fill 3 (mL)", "none"],
        ["2d. Total water (mL)", 200],
        ["3. Dry solid (g)", 2.01],
    ]
    runs = ss.read_class(workbook({"Grp 1": rows})).runs
    assert runs["water_volume_ml"].tolist() == [200]
    assert runs["fill_1_ml"].tolist() == [100]


def test_fills_without_the_first_are_never_added_up(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Lime (g)", "fill 2 (mL)", "fill 3 (mL)", "Total water (mL)", "Dry solid (g)"],
        [1, 2.4, 100, 50, 250, 2.0],
    ]
    runs = ss.read_class(workbook({"A": rows})).runs
    assert "water_volume_ml" not in runs or 150 not in runs["water_volume_ml"].tolist()


def test_titles_of_cards_that_touch_those_above(workbook: Write) -> None:
    rows: list[list[Any]] = []
    for left, right in ((1, 2), (3, 4), (5, 6)):
        rows.append([f"GRUPO {left}", None, None, None, f"GRUPO {right}", None])
        for label, a, b in (
            ("Masa de Ca(OH)2", f"2,{left}9 g", f"2,{right}4 g"),
            ("Agua en total", "201,5 mL", "203 mL"),
            ("Tª del agua", "19 ºC", "18 ºC"),
            ("Residuo seco, rascado", "1,75 g", "1,83 g"),
        ):
            rows.append([label, a, None, None, label, b])
    runs = ss.read_class(workbook({"Hoja1": rows})).runs.sort_values("group")
    assert runs["group"].tolist() == ["1", "2", "3", "4", "5", "6"]
    assert runs["initial_mass_g"].tolist() == [2.19, 2.24, 2.39, 2.44, 2.59, 2.64]


def test_a_column_where_every_cell_tells_of_the_laser(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Grupo", "Masa inicial (g)", "Agua (mL)", "Masa seca (g)", "Filtrado"],
        [1, 2.36, 225, 1.99, "no se ve el láser"],
        [2, 2.33, 225, 1.97, "se ve el láser"],
        [3, 2.25, 225, 1.89, "no se ve el láser"],
    ]
    runs = ss.read_class(workbook({"P1": rows})).runs
    assert runs["scatter"].tolist() == ["clear", "visible", "clear"]


def test_the_strength_beside_the_name_of_the_acid(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Maßlösung: Salzsäure", "c = 0,1 mol/l"],
        ["Arbeitsplatz", "Einwaage [g]", "Wasser [ml]", "Rückstand [g]", "Verbrauch HCl [ml]"],
        *([f"AP{n}", 2.5 + n / 100, 200, 2.2, 11.4] for n in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"3AHCH": rows})).runs
    assert runs["titrant_mol_per_l"].tolist() == [0.1] * 3


def test_two_cells_of_words_above_the_names_of_groups(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Groupe TP lundi", None, "Température de la salle : 20,5 °C"],
        ["Binôme", "B1", "B2", "B3"],
        ["Masse de Ca(OH)2 pesée (g)", 2.99, 2.14, 2.73],
        ["Eau totale (mL)", 200, 199, 201],
        ["Masse du solide sec (g)", 2.6, 1.8, 2.4],
    ]
    runs = ss.read_class(workbook({"TP4": rows})).runs
    assert runs["temperature_c"].tolist() == [20.5] * 3
