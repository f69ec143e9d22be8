"""What is said once above or beside tables, in lines, labels and sentences of ten languages.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.sentences import said_by

Write = Callable[..., Path]


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


def test_a_label_with_an_equals_sign_and_a_colon(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Raumtemperatur = Wassertemperatur:", None, None, "21 °C"],
        [],
        ["Gr.", "Einwaage Löschkalk in g", "Wasser gesamt (mL)", "Rückstand (g)"],
        *([n, 2.5 + n / 100, 200, 2.2] for n in (1, 2, 3)),
    ]
    assert ss.read_class(workbook({"Ch-GK 1": rows})).runs["temperature_c"].tolist() == [21] * 3


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


def test_a_line_of_labels_is_no_heading_of_the_table_below(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Kurs:", "Mi-2", "Betreuer:", "R. Brand"],
        ["Maßlösung: HCl c = 0,100 mol/L; je 20,0 mL Filtrat titriert"],
        [],
        ["Gruppe", "Einwaage [g]", "Wasser ges. [mL]", "Rückstand [g]", "Verbrauch HCl [mL]"],
        *([n, 2.25 + n / 100, 150, 2.0, 9.44] for n in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"WS25": rows})).runs
    assert runs["titrant_mol_per_l"].tolist() == [0.1] * 3
    assert runs["aliquot_ml"].tolist() == [20] * 3


def _half(title: str, groups: range) -> list[list[Any]]:
    head: list[Any] = ["Group", "Ca(OH)2 (g)", "Water (mL)", "Dried solid (g)"]
    return [[title, None, None, None], head, *([g, 2.4 + g / 100, 150, 2.1] for g in groups)]


def test_captions_of_tables_side_by_side_go_before_the_title_of_the_sheet(workbook: Write) -> None:
    rows: list[list[Any]] = [["Does suction filtration change the answer?"], []]
    for section in ("Section 7", "Section 8"):
        left, right = _half("Vacuum (Büchner)", range(1, 5)), _half("Gravity", range(5, 9))
        rows += [[section], *([*a, None, *b] for a, b in zip(left, right, strict=True)), [], []]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    told = runs.groupby("section")["filtration"].apply(list).to_dict()
    assert told == {s: ["vacuum"] * 4 + ["gravity"] * 4 for s in ("7", "8")}


@pytest.mark.parametrize(
    ("text", "said"),
    [("Does suction filtration change the answer?", {}),
     ("Was the water at 21.5 °C?", {}),
     ("Is it soluble? All groups used vacuum.", {"filtration": "All groups used vacuum"}),
     ("Water at 21.5 °C (room the same?)", {"temperature_c": "21.5 °C"})],
)  # fmt: skip
def test_a_question_states_nothing(text: str, said: dict[str, str]) -> None:
    found = said_by(text, set())
    assert set(found) == set(said)
    assert found.get("temperature_c") == said.get("temperature_c")


def test_a_day_until_which_something_is_due_is_no_section(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Return to the office by Friday"],
        [],
        ["Grp", "mass taken (g)", "water (mL)", "dry mass (g)"],
        *([g, 2.4 + g / 100, 150, 2.1] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"Tue PM": rows, "Thu PM": rows})).runs
    assert sorted(set(runs["section"])) == ["Thu PM", "Tue PM"]


def test_the_class_of_the_teams_by_a_label(text_table: Write) -> None:
    rows: list[list[Any]] = [
        ["Grupa laboratoryjna: 2"],
        [],
        ["Zespół", "Masa naważki [g]", "Woda [ml]", "Masa suchego osadu [g]"],
        *([g, 2.4 + g / 100, 150, 2.1] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(text_table(rows, delimiter=";")).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert (runs["section"] == "2").all()


@pytest.mark.parametrize(
    ("text", "dried"),
    [("Dried again = another 10 min on the hot plate, low.", None),
     ("Everyone dried for a further 10 min.", None), ("Everyone dried for 40 min.", "40 min")],
)  # fmt: skip
def test_how_long_the_second_drying_took_is_not_the_first(text: str, dried: str | None) -> None:
    assert said_by(text, set()).get("dry_min") == dried


def test_the_strength_above_the_second_part_of_a_sheet(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["PART 1  weighing"],
        ["Grp", "Ca(OH)2 taken (g)", "Water (mL)", "Dry residue (g)"],
        *([g, 2.4 + g / 100, 200, 2.06] for g in (1, 2, 3)),
        [],
        [],
        ["PART 2  titration of the filtrate"],
        ["HCl concentration (mol/L)", None, None, 0.1012],
        [],
        ["Grp", "aliquot (mL)", "HCl used (mL)"],
        *([g, 25, 11 + g / 100] for g in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"Sec 01": rows})).runs
    assert len(runs) == 3
    assert (runs["titrant_mol_per_l"] == 0.1012).all()


ROOM_AND_WATER = [
    ("Room temperature (°C)", "Water temperature (°C)"), ("Raumtemperatur", "Wassertemperatur"),
    ("Temp of room", "Temp of water"), ("T salle (°C)", "T eau (°C)"), ("Lab temp", "Temp of mix"),
]  # fmt: skip


@pytest.mark.parametrize(("room", "water"), ROOM_AND_WATER)
def test_of_two_temperatures_above_the_table_that_of_the_water(
    text_table: Write, room: str, water: str
) -> None:
    rows: list[list[Any]] = [
        [room, 23.5], [water, 20.0], ["Oven temperature (°C)", 65], [],
        ["Group", "Initial mass (g)", "Water (mL)", "Dry solid (g)"],
        *([g, 2.4 + g / 100, 180, 2.1] for g in (1, 2, 3)),
    ]  # fmt: skip
    runs = ss.read_class(text_table(rows)).runs
    assert (runs["temperature_c"] == 20.0).all()


@pytest.mark.parametrize(("room", "water"), ROOM_AND_WATER[1:4])
def test_of_two_columns_of_temperatures_that_of_the_water(
    workbook: Write, room: str, water: str
) -> None:
    head = ["Group", "Initial mass (g)", "Water (mL)", f"{room} (°C)", f"{water} (°C)", "Dry (g)"]
    rows = [head, *([g, 2.4 + g / 100, 180, 23.5, 20.0 + g / 10, 2.1] for g in (1, 2, 3))]
    records = ss.read_class(workbook({"data": rows}))
    assert records.runs["temperature_c"].tolist() == [20.1, 20.2, 20.3]


def test_the_room_alone_is_all_there_is(workbook: Write) -> None:
    rows = [["Group", "Initial mass (g)", "Water (mL)", "Room temp (°C)", "Dry solid (g)"],
            *([g, 2.4 + g / 100, 180, 22.5, 2.1] for g in (1, 2, 3))]  # fmt: skip
    runs = ss.read_class(workbook({"data": rows})).runs
    assert (runs["temperature_c"] == 22.5).all()


@pytest.mark.parametrize("title", ["Batch B1 (Mon.)", "24S03", "10B"])
def test_batches_and_bare_codes_over_a_table_of_groups(workbook: Write, title: str) -> None:
    rows: list[list[Any]] = [["Expt. No. 5"], [], [title],
            ["Gp. No.", "Wt. of Ca(OH)2 taken (gm)", "Water (ml)", "Wt. of residue (gm)"],
            *([g, 2.4 + g / 100, 180, 2.1] for g in (1, 2, 3))]  # fmt: skip
    runs = ss.read_class(workbook({"Expt 5": rows})).runs
    assert set(runs["section"]) == {title.replace("Batch ", "").replace(" (Mon.)", "")}


@pytest.mark.parametrize(
    "text", ["ask Dr T about the pump", "Check the vacuum line.", "Remember: order Büchner funnels"]
)
def test_what_is_to_be_done_tells_nothing_of_the_run(workbook: Write, text: str) -> None:
    rows: list[list[Any]] = [
        ["bench", "mass in (g)", "water (mL)", "mass out (g)"],
        *([b, 2.4 + b / 100, 200, 2.1] for b in (1, 2, 3)),
        [],
        [*[None] * 6, text],
    ]
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert "filtration" not in runs or runs["filtration"].isna().all()


def test_a_yes_or_no_question_with_its_key_below_the_table(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Bench no.", "mass before (g)", "Water (mL)", "dried (g)", "Pump used?"],
        *([b, 2.4 + b / 100, 200, 2.1, "yes" if b % 2 else "no"] for b in (1, 2, 3, 4)),
        [],
        ["pump used = Buchner; no pump = gravity funnel"],
    ]
    runs = ss.read_class(workbook({"M 2pm": rows})).runs
    assert runs["filtration"].tolist() == ["vacuum", "gravity"] * 2
