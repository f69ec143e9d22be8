"""Exports of forms, merged data with a code book, and logs: their own headings and codes.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.sheets.beam import beam_said
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.places import group_of_sheet

Write = Callable[..., Path]


def test_attempts_of_a_form_are_no_preparations(text_table: Write) -> None:
    head = ["section", "submitted", "attempt", "Group number", "Mass weighed out (g)",
            "Water (mL)", "Dry solid (g)"]  # fmt: skip
    rows = [["L3", f"2025-02-04 16:3{g}:00", 1, g, 2.5, 200, 2.1 + g / 100] for g in (1, 2, 3)]
    rows += [["L3", "2025-02-04 17:00:00", 2, 3, 2.6, 200, 2.2]]
    runs = ss.read_class(text_table([head, *rows])).runs
    counted = runs[runs["set_aside"] == ""]
    assert counted["group"].tolist() == ["1", "2", "3"]
    assert counted["initial_mass_g"].tolist() == [2.5, 2.5, 2.6]


def test_numbers_of_a_survey_program_are_no_headings(text_table: Write) -> None:
    questions = ["Section", "Team number", "Mass of calcium hydroxide taken, in grams",
                 *(f"Water: enter each cylinder fill in mL - {n} fill" for n in ("1st", "2nd")),
                 "Mass of the dry solid, in grams"]  # fmt: skip
    codes = [f'{{"question":"Q{n}"}}' for n in range(len(questions))]
    rows = [["A", g, 2.5, 100, 99, 2.1] for g in (1, 2, 3)]
    runs = ss.read_class(text_table([questions, codes, *rows])).runs
    assert runs["fill_1_ml"].tolist() == [100] * 3
    assert runs["fill_2_ml"].tolist() == [99] * 3


def test_a_code_book_with_codes_in_its_third_column(workbook: Write) -> None:
    book = [["variable", "meaning", "unit / codes"], ["m0", "mass of solid weighed out", "mg"],
            ["m_pap_res", "mass of filter paper with dry residue", "mg"],
            ["m_pap", "mass of empty filter paper", "mg"], ["v_tot", "total volume of water", "mL"],
            ["t_mix", "temperature of mixture at filtration", "°C"],
            ["t_room", "temperature of the room", "°C"],
            ["cm", "dried to constant mass", "1 = yes, 0 = no"],
            ["tyn", "laser beam in filtrate", "0 = clear, 1 = faint, 2 = visible"],
            ["s_rep", "solubility reported by the group", "g/100 mL"]]  # fmt: skip
    head = ["sect", "grp", "m0", "v_tot", "m_pap", "m_pap_res", "t_mix", "t_room", "cm", "tyn",
            "s_rep"]  # fmt: skip
    rows: list[list[Any]] = [
        ["A", g, 2500 + g, 200, 700, 2850, 21.5, 24, g % 2, g % 3, -99 if g == 4 else 0.17]
        for g in range(1, 7)
    ]
    runs = ss.read_class(workbook({"codebook": book, "data": [head, *rows]})).runs
    assert (runs["temperature_c"] == 21.5).all()
    assert (runs["recovered_with_paper_mass_g"] == 2.85).all()
    assert runs["constant_mass"].tolist() == [True, False] * 3
    assert runs["scatter"].tolist() == ["visible", "visible", "clear"] * 2
    assert pd.isna(runs["reported_solubility"][3])  # a code for a missing value


@pytest.mark.parametrize(
    ("name", "group"),
    [("Group 3 (final)", "3"), ("Grp 4 v2", "4"), ("Team B late", "B"), ("Group work", "")],
)
def test_what_is_said_behind_the_group_of_a_tab(name: str, group: str) -> None:
    assert group_of_sheet(name) in (group, "work")


def test_names_behind_the_code_of_a_group_are_left_out(text_table: Write) -> None:
    names = ["Lakisa & Tomo", "Anders & Mina", "Jo (alone)", "Pria & Wendel"]
    head = ["who", "mass before, g", "water mL", "mass after, g"]
    rows = [[f"group {n}: {who}", 2.4 + n / 100, 200, 2.1] for n, who in enumerate(names, 1)]
    records = ss.read_class(text_table([head, *rows]))
    assert records.runs["group"].tolist() == ["1", "2", "3", "4"]
    everything = records.ledger.to_csv() + records.runs.to_csv() + str(records.account["text"])
    assert not any(name in everything for who in names for name in who.split() if name.isalpha())


def test_groups_with_a_name_of_their_own_keep_it(text_table: Write) -> None:
    head = ["group", "mass before, g", "water mL", "mass after, g"]
    rows = [[f"{n} ({word})", 2.4 + n / 100, 200, 2.1] for n, word in
            enumerate(("Nord", "West", "Ost"), 1)]  # fmt: skip
    assert (
        ss.read_class(text_table([head, *rows])).runs["group"].str.contains("(", regex=False).all()
    )


def test_numbers_under_group_are_no_names(workbook: Write) -> None:
    head = ["GROUP", "START WT g", "WATER ml", "DRY WT g"]
    rows = [[float(g), 3.0 + g / 100, 250, 2.6] for g in range(1, 8)]
    rows += [["AVG", 3.04, 250, 2.6], ["ST DEV", 0.02, 0, 0]]
    runs = ss.read_class(workbook({"s": [head, *rows]})).runs
    assert runs["group"].tolist() == [str(g) for g in range(1, 8)]


@pytest.mark.parametrize(
    ("heading", "column"),
    [("L of water", "water_volume_ml"), ("Water (2 fills) 1st", "fill_1_ml"),
     ("Water (2 fills) 2nd", "fill_2_ml"), ("water, cylinder after cylinder", "fill_1_ml"),
     ("Dry solid after another hour (g)", "second_dry_mass_g")],
)  # fmt: skip
def test_headings(heading: str, column: str) -> None:
    assert understand((heading,)).column == column


@pytest.mark.parametrize(
    ("title", "below", "column"),
    [("Valoración con HCl 0,0500 mol/L", "Lectura inicial (cm³)", "burette_start_ml"),
     ("Disolución", "Residuo seco (g)", "recovered_mass_g"),
     ("Eindampfen", "leere Schale (g)", "dish_mass_g")],
)  # fmt: skip
def test_steps_over_headings_in_other_languages(title: str, below: str, column: str) -> None:
    assert understand((title, below)).column == column


def test_paper_in_a_log_beside_paper_with_solid(text_table: Write) -> None:
    items = [("mass Ca(OH)2 taken", 2.5, "g"), ("filter paper, dry", 0.9, "g"),
             ("water addition 1", 100, "mL"), ("paper + dry solid", 3.0, "g")]  # fmt: skip
    rows = [[g, what, value, unit] for what, value, unit in items for g in (1, 2, 3)]
    runs = ss.read_class(text_table([["group", "what", "reading", "unit"], *rows])).runs
    assert (runs["paper_mass_g"] == 0.9).all()
    assert (runs["recovered_with_paper_mass_g"] == 3.0).all()


@pytest.mark.parametrize("name", ["KHT weighed (mg)", "Actual mass weighed (mg)"])
def test_a_mass_weighed_beside_the_dry_one(workbook: Write, name: str) -> None:
    head = ["Group", name, "Water (mL)", "After oven, dry solid (mg)"]
    rows = [[g, 1490 + g, 100, 920] for g in (1, 2, 3)]
    runs = ss.read_class(workbook({"s": [head, *rows]})).runs
    assert runs["initial_mass_g"].tolist() == [1.491, 1.492, 1.493]


@pytest.mark.parametrize(
    ("remark", "way"),
    [("filtered by gravity", "gravity"), ("gravity filtration, took forever", "gravity"),
     ("started with vacuum, then gravity filtration", None), ("vacuum grease on the joint", None)],
)  # fmt: skip
def test_how_it_was_filtered_in_a_remark(workbook: Write, remark: str, way: str | None) -> None:
    head = ["Group", "initial mass (g)", "water (mL)", "dry solid (g)", "remarks"]
    rows = [[g, 2.4 + g / 100, 200, 2.1, remark if g == 2 else None] for g in (1, 2, 3)]
    runs = ss.read_class(workbook({"s": [head, *rows]})).runs
    told = runs.get("filtration", pd.Series([None] * 3))[1]
    assert told == way if way else pd.isna(told)


@pytest.mark.parametrize(
    ("answer", "said"),
    [("A bright line all the way through", "visible"), ("could just make it out", "visible"),
     ("couldn't make it out", "clear"), ("a little", "visible"), ("se ve apenas", "visible"),
     ("deutlich", "visible"), ("clearly", None)],
)  # fmt: skip
def test_answers_about_the_beam(answer: str, said: str | None) -> None:
    assert beam_said(answer, "What did the laser show?") == said


def test_a_comma_among_numbers_of_the_same_size(workbook: Write) -> None:
    head = ["Group", "initial mass (g)", "water (mL)", "dry solid (g)"]
    rows: list[list[Any]] = [[g, 2.4 + g / 100, 200, 2.1] for g in range(1, 7)]
    rows[2][1] = "2,535 g"
    records = ss.read_class(workbook({"s": [head, *rows]}))
    assert records.runs["initial_mass_g"][2] == 2.535
    assert "unclear" in set(records.flags["flag"])  # and says by what it was told
