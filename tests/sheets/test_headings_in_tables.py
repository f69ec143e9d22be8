"""Headings that only the rest of their table explains: parts, totals, titles, units, the laser.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss

Write = Callable[..., Path]


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


def test_the_paper_below_a_word_for_the_solid(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Équipe", "Solide (g)", None, None, "Eau (mL)"],
        [None, "masse pesée au départ", "papier filtre", "papier + résidu séché", "total"],
        *([n, 2.5 + n / 100, 1.2 + n / 100, 3.4 + n / 100, 200] for n in (1, 2, 3)),
    ]
    runs = ss.read_class(workbook({"gr": rows}, merge={"gr": ["B1:D1"]})).runs
    assert runs["paper_mass_g"].tolist() == [1.21, 1.22, 1.23]
    assert runs["recovered_with_paper_mass_g"].tolist() == [3.41, 3.42, 3.43]


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


def test_a_column_where_every_cell_tells_of_the_laser(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Grupo", "Masa inicial (g)", "Agua (mL)", "Masa seca (g)", "Filtrado"],
        [1, 2.36, 225, 1.99, "no se ve el láser"],
        [2, 2.33, 225, 1.97, "se ve el láser"],
        [3, 2.25, 225, 1.89, "no se ve el láser"],
    ]
    runs = ss.read_class(workbook({"P1": rows})).runs
    assert runs["scatter"].tolist() == ["clear", "visible", "clear"]


def test_the_name_of_a_route_over_headings_changes_none(workbook: Write) -> None:
    rows: list[list[Any]] = [
        [None, "Way 1: what did not dissolve", None, None, None, "Way 2: boil down some filtrate"],
        ["Team", "Ca(OH)2 in (g)", "Water in (mL)", "Filtered by", "Ca(OH)2 back, dry (g)",
         "Filtrate into dish (mL)", "Empty dish (g)", "Dish + white solid (g)"],
        ["Argon", 2.701, 200, "suction", 2.364, 40, 54.348, 54.414],
        ["Boron", 2.179, 300, "gravity", 1.674, 40, 56.316, 56.383],
        ["Cesium", 2.240, 200, "suction", 1.887, 40, 52.370, 52.439],
    ]  # fmt: skip
    runs = ss.read_class(workbook({"Block D": rows})).runs
    assert runs["water_volume_ml"].tolist() == [200, 300, 200]
    assert runs["filtration"].tolist() == ["vacuum", "gravity", "vacuum"]
    assert runs["dish_mass_g"].tolist() == [54.348, 56.316, 52.370]


@pytest.mark.parametrize("letters", [("b. ", "c. "), ("x) ", "y) "), ("First: ", "Second: ")])
def test_one_of_two_fills_is_never_all_the_water(workbook: Write, letters: tuple[str, str]) -> None:
    rows: list[list[Any]] = [
        ["Group:", 1],
        [],
        [None, "Trial 1", "Trial 2"],
        ["a. Mass of Ca(OH)2 (g)", 2.462, 2.901],
        [f"{letters[0]}First cylinder of water (mL)", 74.5, 74.5],
        [f"{letters[1]}Second cylinder of water (mL)", 75, 75],
        ["h. Mass of dry solid (g)", 2.209, 2.676],
    ]
    runs = ss.read_class(workbook({"Group 1": rows})).runs
    water = runs["water_volume_ml"] if "water_volume_ml" in runs else runs["fill_2_ml"] * 0
    assert set(water.fillna(0)) <= {0, 149.5}


def test_paper_and_solid_apart_below_both(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Bench", "Ca(OH)2 (g)", "Water (mL)", "Filter + residue (g)"],
        [None, None, None, "paper", "paper + solid, dry", "solid"],
        *([n, 2.3 + n / 100, 200, 0.85, 2.85 + n / 100, 2.0 + n / 100] for n in (1, 2, 3)),
    ]
    merge = ["A1:A2", "B1:B2", "C1:C2", "D1:F1"]
    runs = ss.read_class(workbook({"Mon": rows}, merge={"Mon": merge})).runs
    assert runs["paper_mass_g"].tolist() == [0.85] * 3
    assert runs["recovered_with_paper_mass_g"].tolist() == [2.86, 2.87, 2.88]
    assert runs["recovered_mass_g"].tolist() == [2.01, 2.02, 2.03]


def test_headings_of_their_own_beside_the_parent_of_all_others(workbook: Write) -> None:
    """ "Mass / g" is merged over all headings of the second line; the others reach down."""
    one: list[list[Any]] = [
        ["Set 12A"],
        ["Pair", "Volume of water / cm³", "Mass / g", None, None, None, "Filtered"],
        [None, None, "solid at start", "filter paper", "paper + residue", "residue", None],
        *([p, 200, 2.2 + p / 100, 1.07, 2.96 + p / 100, 1.89 + p / 100, "Büchner"]
          for p in (1, 2, 3)),
    ]  # fmt: skip
    merge = ["A2:A3", "B2:B3", "C2:F2", "G2:G3"]
    runs = ss.read_class(workbook({"Results": one}, merge={"Results": merge})).runs
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert (runs["section"] == "12A").all()
    assert runs["water_volume_ml"].tolist() == [200, 200, 200]
    assert (runs["filtration"] == "vacuum").all()
    assert runs["recovered_with_paper_mass_g"].tolist() == [2.97, 2.98, 2.99]


def test_a_heading_merged_down_over_three_lines(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Bench", "Ca(OH)2", "Water, cylinder fills", None, "Filtration", "Solid left"],
        [None, "taken", 1, 2, "V or G", "dried"],
        [None, "(g)", "(mL)", "(mL)", None, "(g)"],
        *([b, 2.4 + i / 100, 49, 50, "V", 2.1] for i, b in enumerate("ABCD")),
    ]
    runs = ss.read_class(workbook({"data": rows}, merge={"data": ["A1:A3", "C1:D1"]})).runs
    assert runs["group"].tolist() == ["A", "B", "C", "D"]  # and no run "Bench"
    assert runs["fill_2_ml"].eq(50).all()


@pytest.mark.parametrize("names", [("Section T1", "Section T2"), ("Group T1", "Group T2")])
def test_sections_called_t_are_no_trials(workbook: Write, names: tuple[str, str]) -> None:
    head = ["bench", "mass in (g)", "vol 1 (cm³)", "vol 2 (cm³)", "mass out (g)", "V/G"]
    rows: list[list[Any]] = [
        ["Tuesday benches"],
        [],
        [names[0], *[None] * 6, names[1]],
        [*head, None, *head],
        *([b, 2.4 + b / 100, 99, 100, 2.1, "V", None, b, 2.5 + b / 100, 99, 100, 2.2, "G"]
          for b in (1, 2, 3, 4)),
    ]  # fmt: skip
    path = workbook({"benches": rows}, merge={"benches": ["A3:F3", "H3:M3"]})
    runs = ss.read_class(path).runs
    assert len(runs) == 8
    assert sorted(runs["fill_1_ml"]) == [99] * 8
    if names[0].startswith("Section"):
        assert runs["section"].tolist() == ["T1"] * 4 + ["T2"] * 4


def test_the_paper_alone_below_a_title_of_the_residue(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Group", "Solid", None, "Water", "Residue after the oven", None, None],
        [None, "target", "taken", "total", "with paper", "paper alone", "1st weighing, no paper"],
        [None, "g", "g", "mL", "g", "g", "g"],
        *([g, 2.5, 2.7 + g / 100, 150, 3.6 + g / 100, 1.1, 2.5 + g / 100] for g in (1, 2, 3)),
    ]
    merge = ["B1:C1", "E1:G1"]
    runs = ss.read_class(workbook({"Sec 01": rows}, merge={"Sec 01": merge})).runs
    assert runs["initial_mass_g"].tolist() == [2.71, 2.72, 2.73]
    assert (runs["paper_mass_g"] == 1.1).all()
    assert runs["recovered_with_paper_mass_g"].tolist() == [3.61, 3.62, 3.63]
    assert runs["recovered_mass_g"].tolist() == [2.51, 2.52, 2.53]


def test_group_merged_over_their_numbers(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Solubility of calcium hydroxide, one column per group"],
        [],
        [None, "Group"],
        ["What", "Unit", 1, 2, 3, 4, None, "Mean", "SD"],
        ["Ca(OH)2 asked for", "g", 2.5, 2.5, 2.5, 2.5],
        ["Ca(OH)2 weighed out", "g", 2.439, 2.717, 2.793, 2.627, None, 2.644, 0.152],
        ["Water, first cylinder", "mL", 90.1, 89.4, 90.5, 90.1, None, 90.0, 0.46],
        ["Water, second cylinder", "mL", 90.2, 89.9, 90.4, 90.2, None, 90.2, 0.2],
        ["Dry solid, paper taken off", "g", 2.1, 2.4, 2.5, 2.3, None, 2.33, 0.17],
    ]
    rows[2] = [None, None, "Group"]
    runs = ss.read_class(workbook({"4B": rows}, merge={"4B": ["C3:F3"]})).runs
    assert runs["group"].tolist() == ["1", "2", "3", "4"]
    assert runs["initial_mass_g"].tolist() == [2.439, 2.717, 2.793, 2.627]
