"""Forms, cards and report sheets: a label on the left, its reading on the right."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import solubility_stats as ss

Write = Callable[..., Path]


def test_trials_beside_labels_under_what_holds_for_all(workbook: Write) -> None:
    rows: list[list[Any]] = [
        ["Lab 4: Solubility of calcium hydroxide"],
        ["Section", "4B"],
        ["Lab group", 7],
        ["Thermometer", "68 °F for all three trials"],
        ["Filter type", "vacuum (Büchner)"],
        [],
        [None, "Trial 1", "Trial 2", "Trial 3", "Average"],
        ["Ca(OH)2 used (g)", 2.739, 2.779, 2.395, None],
        ["Total water (mL)", 149.7, 149.1, 149.5, None],
        ["Ca(OH)2 left over (g)", 2.488, 2.519, 2.137, None],
    ]
    runs = ss.read_class(workbook({"Data": rows})).runs
    assert runs["group"].tolist() == ["7"] * 3
    assert runs["section"].tolist() == ["4B"] * 3
    assert runs["run"].tolist() == ["1", "2", "3"]
    assert runs["temperature_c"].tolist() == [20.0] * 3
    assert runs["filtration"].tolist() == ["vacuum"] * 3
    assert runs["initial_mass_g"].tolist() == [2.739, 2.779, 2.395]
    assert runs["recovered_mass_g"].tolist() == [2.488, 2.519, 2.137]


def card(group: str, initial: float, left: float) -> list[list[Any]]:
    return [
        [group, None, None],
        ["Mass Ca(OH)2 weighed", initial, "g"],
        ["Water - fill 1", 100, "mL"],
        ["Water - fill 2", 100, "mL"],
        ["Dry paper", 0.97, "g"],
        ["Paper + dry solid", left, "g"],
    ]


def test_cards_side_by_side_and_below_each_other(workbook: Write) -> None:
    pairs = [
        ("Group 1", 2.06, 2.70, "Group 2", 2.29, 2.93),
        ("Group 3", 2.18, 2.80, "Group 4", 2.2, 2.83),
    ]
    rows: list[list[Any]] = [["Typed from the cards. Everybody gravity filtered."], []]
    for a, a0, a1, b, b0, b1 in pairs:
        left, right = card(a, a0, a1), card(b, b0, b1)
        rows += [[*x, None, *y] for x, y in zip(left, right, strict=True)] + [[], []]
    runs = ss.read_class(workbook({"cards": rows})).runs.sort_values("group")
    assert runs["group"].tolist() == ["1", "2", "3", "4"]
    assert runs["initial_mass_g"].tolist() == [2.06, 2.29, 2.18, 2.2]
    assert runs["recovered_with_paper_mass_g"].tolist() == [2.70, 2.93, 2.80, 2.83]
    assert runs["paper_mass_g"].tolist() == [0.97] * 4
    assert runs["fill_2_ml"].tolist() == [100.0] * 4
    assert runs["filtration"].tolist() == ["gravity"] * 4


def test_an_overview_and_a_sheet_per_group_are_the_same_runs(workbook: Write) -> None:
    made = {1: (2.21, 1.86), 2: (2.02, 1.58), 3: (2.18, 1.71)}
    overview = [["Group", "Start g", "Recovered g"], *([g, a, b] for g, (a, b) in made.items())]
    sheets: dict[str, list[list[Any]]] = {"Summary": overview}
    for group, (initial, left) in made.items():
        sheets[f"Gp {group}"] = [
            ["Lab 8"], ["Group", group], [],
            ["Mass of calcium hydroxide", initial, "g"], ["Water, fill 1", 100, "mL"],
            ["Water, fill 2", 99, "mL"], ["Temperature of mixture", 21.5, "°C"],
            ["Mass of solid recovered", left, "g"],
        ]  # fmt: skip
    runs = ss.read_class(workbook(sheets)).runs
    assert len(runs) == 3
    assert runs["group"].tolist() == ["1", "2", "3"]
    assert runs["temperature_c"].tolist() == [21.5] * 3
    assert runs["fill_2_ml"].tolist() == [99.0] * 3


def test_an_overview_that_disagrees_stays_apart(workbook: Write) -> None:
    overview = [["Section", "Group", "start g", "left g"], ["AA", 1, 2.2, 1.8], ["AA", 2, 2.3, 1.9],
                ["AA", 3, 2.4, 2.0]]  # fmt: skip
    detail = [["Section AA: vacuum filtration, tap water 20 °C"], [],
              ["Group", "Start mass, g", "Water, mL", "Dry mass left, g"],
              [1, 2.2, 200, 1.8], [2, 2.3, 200, 1.9], [3, 2.5, 200, 2.0]]  # fmt: skip
    assert len(ss.read_class(workbook({"ALL": overview, "AA": detail})).runs) == 6
    detail[-1][1] = 2.4
    runs = ss.read_class(workbook({"ALL": overview, "AA": detail}, name="same.xlsx")).runs
    assert len(runs) == 3
    assert runs["temperature_c"].tolist() == [20.0] * 3
    assert runs["filtration"].tolist() == ["vacuum"] * 3


def test_a_list_of_sections_replaces_no_run(workbook: Write) -> None:
    sheets = {
        "S1": [["Group", "Initial mass (g)", "Water (mL)", "Recovered mass (g)"],
               *([g, 2.0 + g / 100, 200, 1.7] for g in range(1, 9))],
        "overview": [["Section", "TA", "# groups"], ["S1", "PX", 8], ["S2", "QR", 7]],
    }  # fmt: skip
    runs = ss.read_class(workbook(sheets)).runs
    assert (runs["set_aside"] == "").all()
    assert len(runs) == 8


def test_a_class_on_a_sheet_named_like_a_group(workbook: Write) -> None:
    rows = [["Équipe", "Masse initiale (g)", "Volume d'eau (mL)", "Masse récupérée (g)"],
            *([g, 2.0 + g / 100, 200, 1.7] for g in range(1, 5))]  # fmt: skip
    other = [rows[0], *([g, 2.2 + g / 100, 199, 1.9] for g in range(1, 5))]
    runs = ss.read_class(workbook({"Groupe 01": rows, "Groupe 02": other})).runs
    assert (runs["set_aside"] == "").all()
    assert sorted(set(runs["section"])) == ["01", "02"]
