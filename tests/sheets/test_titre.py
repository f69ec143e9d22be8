"""The acid used, from the two readings of the burette."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]


def read(path: Path, *lines: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    path.write_text("\n".join(lines), encoding="utf-8")
    records = ss.read_class(path)
    return records.runs, records.flags


def test_the_difference_is_the_titre_with_the_decimals_of_its_readings(tmp_path: Path) -> None:
    table = tmp_path / "class.csv"
    heads = "Group,Aliquot (mL),Burette start (mL),Burette end (mL)"
    runs, flags = read(table, heads, "1,25.0,0.10,11.30", "2,25.0,11.30,22.65", "3,25.0,0.05,11.10")
    assert runs["titrant_ml"].tolist() == [11.2, 11.35, 11.05]
    assert ss.read_class(table).decimals["titrant_ml"].tolist() == [2, 2, 2]
    assert flags.empty


def test_a_burette_that_filled_itself_gives_no_titre(tmp_path: Path) -> None:
    heads = "Group,Aliquot (mL),Burette start (mL),Burette end (mL)"
    runs, flags = read(tmp_path / "a.csv", heads, "1,25,0.1,11.3", "2,25,22.6,11.3", "3,25,0,11.1")
    assert runs["titrant_ml"].isna().tolist() == [False, True, False]
    said = flags.loc[flags["column"] == "titrant_ml", "note"].tolist()
    assert said == ["the burette went from 22.6 to 11.3 mL, so the acid used is not known"]


def test_a_written_titre_stands_and_is_checked(tmp_path: Path) -> None:
    heads = "Group,Burette start (mL),Burette end (mL),HCl used (mL)"
    runs, flags = read(tmp_path / "a.csv", heads, "1,0.10,11.30,11.2", "2,0.00,11.30,13.1")
    assert runs["titrant_ml"].tolist() == [11.2, 13.1]
    marked = flags[flags["column"] == "titrant_ml"]
    assert marked["flag"].tolist() == ["implausible"]
    assert "the written titre is 13.1 mL" in marked["note"].iloc[0]


def test_a_title_over_the_burette_says_what_was_titrated(workbook: Callable[..., Path]) -> None:
    rows: list[list[Any]] = [
        ["Pair", "Masses, g", None, "Titration of the filtrate, mL", None, None, None],
        [None, "lime taken", "dry residue", "pipet", "buret start", "buret end", "HCl used"],
        *([pair, 2.5, 2.1, 25, 0.1 * pair, 22 + 0.1 * pair, 22.0] for pair in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"Exp 9": rows})).runs
    assert runs["aliquot_ml"].tolist() == [25.0] * 3
    assert runs["burette_start_ml"].tolist() == pytest.approx([0.1, 0.2, 0.3])
    assert runs["titrant_ml"].tolist() == [22.0] * 3


def test_a_question_that_states_acid_and_aliquot(text_table: Write) -> None:
    asked = "Volume of 0.0500 M HCl needed to titrate your 25.00 mL aliquot of filtrate (mL)"
    rows = [["Group", "Lime (g)", "Water (mL)", "Dry lime (g)", asked]]
    rows += [[n, 2.0 + n / 10, 200, 1.6 + n / 10, 22.1 + n / 10] for n in (1, 2, 3)]
    runs = ss.read_class(text_table(rows)).runs
    assert runs["titrant_ml"].round(3).tolist() == [22.2, 22.3, 22.4]
    assert set(runs["titrant_mol_per_l"]) == {0.05}
    assert set(runs["aliquot_ml"]) == {25.0}


def test_part_b_of_one_group_belongs_to_the_trials_of_part_a(workbook: Write) -> None:
    rows = [
        ["Part A", "Trial 1", "Trial 2"], ["mass of Ca(OH)2 (g)", 3.03, 3.05],
        ["total water (mL)", 250, 249], ["Ca(OH)2 left over (g)", 2.61, 2.67], [],
        ["Part B titration (filtrate from each trial)", "Trial 1", "Trial 2"],
        ["M of HCl", 0.0512, 0.0512], ["mL of filtrate", 10, 10], ["mL of HCl used", 8.67, 8.79],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Sheet1": rows})).runs
    assert runs["run"].tolist() == ["1", "2"]
    assert runs["titrant_ml"].tolist() == [8.67, 8.79]
    assert runs["initial_mass_g"].tolist() == [3.03, 3.05]


def test_dishes_below_evaporated_filtrate(workbook: Write) -> None:
    rows = [
        ["Group", "Ca(OH)2", None, "Water (mL)", "Evaporated filtrate", None, None],
        [None, "taken (g)", "recovered (g)", None, "aliquot (mL)", "empty dish (g)",
         "dish + residue (g)"],
        ["A", 2.2842, 2.0061, 150, 25, 45.1773, 45.2187],
        ["B", 2.2604, 2.0503, 149.7, 25, 47.2861, 47.328],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"TTh": rows}, merge={"TTh": ["B1:C1", "E1:G1"]})).runs
    assert runs["evaporation_aliquot_ml"].tolist() == [25, 25]
    assert runs["dish_mass_g"].tolist() == [45.1773, 47.2861]
    assert runs["dish_residue_mass_g"].tolist() == [45.2187, 47.328]
