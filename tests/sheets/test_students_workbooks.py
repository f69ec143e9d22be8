"""Workbooks of one group and cards pasted below one another; all invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.quantities import quantity
from solubility_stats.sheets.model import CellContext, RawCell
from solubility_stats.sheets.places import group_of_sheet
from solubility_stats.sheets.word_cells import parse_words

Write = Callable[..., Path]
TRIALS = ["", "Trial 1", "Trial 2", "Trial 3"]
RAW: list[list[Any]] = [
    TRIALS, ["mass of Ca(OH)2 (g)", 2.396, 2.721, 2.634], ["water (mL)", 200, 199.5, 199],
    ["dry Ca(OH)2 recovered (g)", 2.049, 2.366, 2.272],
]  # fmt: skip


@pytest.mark.parametrize(
    "calculations",
    [
        [["mass dissolved (g)", 0.347, 0.355, 0.362], ["solubility (g/L)", 1.74, 1.78, 1.82]],
        [["total water (mL)", 200, 199.5, 199], ["mol HCl", 0.0011, 0.0012, 0.0011],
         ["solubility (g/L)", 1.74, 1.78, 1.82]],
    ],
)  # fmt: skip
@pytest.mark.parametrize("title", [[], [["Group 5, Section 2 (Thursday)"], []]])
def test_a_tab_of_calculations_is_of_the_same_trials(
    workbook: Write, calculations: list[list[Any]], title: list[list[Any]]
) -> None:
    tabs = {"Raw data": [*title, *RAW], "Calculations": [TRIALS, *calculations]}
    records = ss.read_class(workbook(tabs))
    assert records.runs["initial_mass_g"].to_list() == [2.396, 2.721, 2.634]
    assert records.runs["reported_solubility"].to_list() == [1.74, 1.78, 1.82]
    assert "mol HCl" not in str(records.account["text"]).replace("'mol HCl': worked out", "")


def test_mass_of_solid_is_what_paper_and_solid_leave(workbook: Write) -> None:
    card = [["Group", 7], ["Mass of calcium hydroxide", 2.482, "g"], ["Water, total", 249.5, "mL"],
            ["Mass of filter paper", 0.929, "g"], ["Mass of paper + solid, dry", 2.99, "g"],
            ["Mass of solid", 2.061, "g"]]  # fmt: skip
    run = ss.read_class(workbook({"p14": card})).runs.iloc[0]
    assert run["initial_mass_g"] == 2.482
    assert run["recovered_mass_g"] == 2.061


def test_two_masses_of_a_solid_that_nothing_tells_apart_stay_open(workbook: Write) -> None:
    card = [["Group", 7], ["Mass of calcium hydroxide", 2.482, "g"], ["Water, total", 249.5, "mL"],
            ["Mass of solid", 2.061, "g"], ["Water temperature", 20.4, "°C"]]  # fmt: skip
    runs = ss.read_class(workbook({"p14": card})).runs
    assert "initial_mass_g" not in runs or runs["initial_mass_g"].isna().all()


def test_members_beside_the_titles_of_cards_are_left_out(workbook: Write) -> None:
    rows: list[list[Any]] = [["Slaked Lime - 3rd Hour"]]
    people = ["Ana Bergfeld / Bo Fieldon", "Ida Holmqvist", "Eva Lundberg, Tom Okafor"]
    for team, who in enumerate(people, start=1):
        rows += [[f"Team {team}", None, "Names:", who], ["Lime we weighed", 2.5 + team / 100, "g"],
                 ["Water - cylinder 1", 50, "mL"], ["Water - cylinder 2", 99, "mL"],
                 ["Dry solid", 2.2 + team / 100, "g"], []]  # fmt: skip
    records = ss.read_class(workbook({"3rd hour": rows}))
    assert records.runs["group"].to_list() == ["1", "2", "3"]
    assert records.runs["initial_mass_g"].to_list() == [2.51, 2.52, 2.53]
    shown = records.ledger.to_string() + str(records.account["text"])
    for name in ("Bergfeld", "Holmqvist", "Okafor"):
        assert name not in shown


@pytest.mark.parametrize(
    ("text", "heading", "word"),
    [
        ("simple", "Filtration (simple / sous vide)", "gravity"),
        ("sous vide", "Filtration (simple / sous vide)", "vacuum"),
        ("plain", "Buchner or plain funnel", "gravity"),
    ],
)
def test_the_last_word_of_a_choice_belongs_to_the_second(
    text: str, heading: str, word: str
) -> None:
    context = CellContext("filtration", None, heading=heading)
    assert parse_words(RawCell(1, 1, text, text), quantity("filtration"), context).value == word


def test_a_tab_named_green_is_no_group_een(workbook: Write) -> None:
    card = [["Bench", 3], ["Lime (g)", 2.07], ["Water (mL)", 199], ["Dry solid (g)", 1.8]]
    tabs = {name: card for name in ("Red", "Green", "Grey", "Benchmark")}
    runs = ss.read_class(workbook(tabs)).runs
    assert not {"een", "ey", "mark"} & {*runs["group"], *runs["section"]}


@pytest.mark.parametrize(
    ("name", "code"),
    [("GroupA", "A"), ("Gr3", "3"), ("gr. b", "b"), ("Team_4", "4"), ("Green", ""), ("Holden", "")],
)
def test_the_group_of_a_tab(name: str, code: str) -> None:
    assert group_of_sheet(name) == code


def test_a_later_trial_of_a_notebook_is_of_the_same_group(workbook: Write) -> None:
    def block(title: str, lime: float) -> list[list[Any]]:
        return [[title], ["Ca(OH)2 weighed", lime, "g", "tared boat"], ["Total water", 200, "mL"],
                ["Filter paper alone", 0.885, "g"], ["Dry solid scraped off (no paper)",
                 round(lime - 0.32, 3), "g"], ["Solubility", 1.6, "g/L"], []]  # fmt: skip

    rows = [["Lab notebook"], ["Section 3, group 12"], []]
    rows += block("Tuesday Feb 11  -  Trial 1", 2.48) + block("Thursday Feb 13  -  Trial 2", 2.195)
    runs = ss.read_class(workbook({"Notebook": rows})).runs
    assert runs[["section", "group", "run"]].to_numpy().tolist() == [
        ["3", "12", "1"],
        ["3", "12", "2"],
    ]
    assert runs["initial_mass_g"].to_list() == [2.48, 2.195]


def test_paper_below_residue_on_paper_is_the_paper(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Start", "", "Residue on paper", "", ""],
        ["", "solid, g", "water, mL", "paper, g", "paper + wet solid, g", "paper + dry solid, g"],
        *([f"G{n}", 2.4 + n / 100, 300, 0.55 + n / 1000, 4.7, 2.49 + n / 100] for n in range(1, 5)),
    ]  # fmt: skip
    runs = ss.read_class(workbook({"B12": rows})).runs
    assert runs["paper_mass_g"].to_list() == [0.551, 0.552, 0.553, 0.554]
    assert runs["recovered_with_paper_mass_g"].iloc[0] == 2.5


@pytest.mark.parametrize("said", ["5 (2ª vez)", "5 (2nd time)", "5 (2e fois)", "5 (redo)"])
def test_a_group_that_did_it_a_second_time(workbook: Write, said: str) -> None:
    rows: list[list[Any]] = [["Equipo", "Cal inicial (g)", "Agua (ml)", "Cal recuperada (g)"]]
    rows += [[str(n), 2.4 + n / 100, 250, 2.1] for n in range(1, 7)] + [[said, 2.71, 200, 2.33]]
    runs = ss.read_class(workbook({"Resultados": rows})).runs
    assert runs["group"].to_list()[-1] == "5"
    assert runs["group"].to_list()[:6] == ["1", "2", "3", "4", "5", "6"]


def test_the_evaporation_below_is_of_the_same_trials_and_its_residue_no_solid(
    workbook: Write,
) -> None:
    rows: list[list[Any]] = [
        ["Station #", 6], [], ["Table 1. Measurements"], ["", "Trial 1", "Trial 2"],
        ["Mass of Ca(OH)2 (g)", 2.125, 2.057], ["Total water (mL)", 149.7, 150.2],
        ["Mass of dry solid (g)", 1.884, 1.774], [],
        ["Table 2. Evaporation of filtrate", "Trial 1", "Trial 2"],
        ["Volume of filtrate evaporated (mL)", 20, 20],
        ["Mass of empty evaporating dish (g)", 41.376, 38.902],
        ["Mass of dish + residue (g)", 41.41, 38.938], ["Mass of residue (g)", 0.034, 0.036],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Data": rows})).runs
    assert runs["recovered_mass_g"].to_list() == [1.884, 1.774]
    assert runs["dish_residue_mass_g"].to_list() == [41.41, 38.938]
    assert runs["set_aside"].eq("").all()


@pytest.mark.parametrize("aside", ["Nov 12", "12.11.2025", "Balance #4 (0.1 mg)"])
def test_the_day_beside_the_group_is_no_other_group(workbook: Write, aside: str) -> None:
    rows = [["Experiment 5"], ["Group 7", aside], [], ["WEIGHING", *TRIALS[1:]], *RAW[1:2],
            ["WATER", *TRIALS[1:]], *RAW[2:3], ["RESULT", *TRIALS[1:]], *RAW[3:],
            ["solubility, g/L", 1.53, 1.87, 1.71]]  # fmt: skip
    runs = ss.read_class(workbook({"exp 5": rows})).runs
    assert runs["group"].to_list() == ["7", "7", "7"]
    assert runs["run"].to_list() == ["1", "2", "3"]
    assert runs["initial_mass_g"].to_list() == [2.396, 2.721, 2.634]


def test_the_route_by_the_residue_over_its_readings_says_nothing(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Bench", "Residue", "", "", "Titration", "", "", "Evaporation", "", ""],
        ["", "Ca(OH)2 / g", "water / mL", "dry residue / g", "filtrate / mL", "start / mL",
         "end / mL", "filtrate / mL", "empty dish / g", "dish + dry solid / g"],
        *([n, 2.4 + n / 10, 250, 2.0 + n / 10, 25, 0.98, 23.66, 50, 42.487, 42.568]
          for n in range(1, 6)),
    ]  # fmt: skip
    runs = ss.read_class(workbook({"3 methods": rows})).runs
    assert runs["water_volume_ml"].eq(250).all()
    assert runs["recovered_mass_g"].iloc[0] == 2.1
    assert runs["aliquot_ml"].eq(25).all()
    assert runs["evaporation_aliquot_ml"].eq(50).all()


def test_what_stands_above_the_names_of_trials_holds_for_all(workbook: Write) -> None:
    rows = [["Equipo 1"], ["Temperatura del agua", 22.6, "°C"],
            ["Tipo de filtración", "por gravedad"], ["", "Ensayo 1", "Ensayo 2"],
            ["Masa inicial de Ca(OH)2 (g)", 2.04, 2.44], ["Agua total (mL)", 198.5, 199.9],
            ["Masa de sólido seco (g)", 1.74, 2.11]]  # fmt: skip
    runs = ss.read_class(workbook({"Equipo 1": rows})).runs
    assert runs["temperature_c"].to_list() == [22.6, 22.6]
    assert runs["filtration"].to_list() == ["gravity", "gravity"]


@pytest.mark.parametrize(("water", "read"), [("240 mL", 240.0), ("50 mL", None)])
def test_water_of_three_cylinders(workbook: Write, water: str, read: float | None) -> None:
    rows: list[list[Any]] = [["Label", "Solid issued (g)", "Water (3 cylinders)", "Dry solid (g)"]]
    rows += [[f"L{n}", 2.4 + n / 100, water, 2.0 + n / 100] for n in range(1, 5)]
    runs = ss.read_class(workbook({"log": rows})).runs
    assert runs["initial_mass_g"].notna().all()
    found = runs.get("water_volume_ml")
    assert (None if found is None or found.isna().all() else found.iloc[0]) == read


def test_a_table_below_an_email_is_of_the_group_right_above_it(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Evening section N1, whatever they e-mailed me"], [], ["From: Carla (group 1)"],
        ["Hi Prof, here you go"], ["starting lime", "2.79 g"], ["lime after drying", "2.44 g"], [],
        ["From: Mike"], ["group 2 table"], ["lime g", "paper g", "paper+dry lime g", "water mL"],
        [2.15, 0.87, 2.69, 200],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"pasted": rows})).runs.set_index("initial_mass_g")
    assert runs.at[2.15, "group"] == "2"


@pytest.mark.parametrize(
    ("poured", "fills"),
    [("50,50,50", [50, 50, 50]), ("50 x 3", [50, 50, 50]), ("3 x 50", [50, 50, 50]),
     ("100, 50", [100, 50]), ("50,50", [])],
)  # fmt: skip
def test_fills_separated_by_commas(text_table: Write, poured: str, fills: list[int]) -> None:
    heads = ["Group", "Ca(OH)2 start (g)", "Volume of each cylinder fill, in mL, separated by"
             " commas", "Dry solid left (g)"]  # fmt: skip
    rows = [["1", "2.31", "100, 100", "2.02"], ["2", "2.44", poured, "2.19"],
            ["3", "2.27", "100, 49", "2.01"]]  # fmt: skip
    run = ss.read_class(text_table([heads, *rows])).runs.set_index("group").loc["2"]
    read = [run[c] for c in run.index if c.startswith("fill_") and run[c] == run[c]]
    assert read == fills


def test_a_note_on_both_tables_side_by_side(workbook: Write) -> None:
    heads = ["Equipo", "Masa inicial (g)", "Agua (mL)", "Masa recuperada (g)"]
    rows: list[list[Any]] = [["Turno mañana", *[""] * 4, "Turno tarde"], [*heads, "", *heads]]
    rows += [[n, 2.4 + n / 10, 200, 2.1, "", n, 2.5 + n / 10, 250, 2.2] for n in range(1, 5)]
    rows += [["Filtración por gravedad en los dos turnos."]]
    runs = ss.read_class(workbook({"Datos": rows})).runs
    assert len(runs) == 8
    assert runs["filtration"].eq("gravity").all()
