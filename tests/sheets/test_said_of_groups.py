"""What a sentence says of some groups by their codes is theirs alone.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.said_of_groups import said_of_groups

Write = Callable[..., Path]
GROUPS = frozenset("123456")
V, G = "vacuum", "gravity"


@pytest.mark.parametrize(
    ("text", "ways"),
    [("Groups 1-3 used vacuum, groups 4-6 gravity.", [V, V, V, G, G, G]),
     ("Groups 1, 2 and 5 filtered by gravity, the others by vacuum.", [G, G, V, V, G, V]),
     ("All vacuum except groups 4 and 6 (gravity).", [V, V, V, G, V, G]),
     ("Gravity: 1, 3, 5. Vacuum: 2, 4, 6.", [G, V, G, V, G, V]),
     ("Group 4 used gravity because the pump was broken. Everyone else vacuum.",
      [V, V, V, G, V, V]),
     ("Gruppen 1 bis 3 abgesaugt, Gruppen 4 bis 6 Schwerkraft", [V, V, V, G, G, G])],
)  # fmt: skip
def test_how_they_filtered(text: str, ways: list[str]) -> None:
    told = said_of_groups(text, "filtration", GROUPS)
    assert [told[code] for code in sorted(GROUPS)] == ways


@pytest.mark.parametrize(
    "text",
    ["Groups 7-9 used vacuum, groups 4-6 gravity.", "Group 3 spilled a little.",
     "Groups 1 and 2 used vacuum, groups 2 and 3 gravity.", "Everyone else stirred 10 min."],
)  # fmt: skip
def test_of_whom_it_cannot_be_told(text: str) -> None:
    assert said_of_groups(text, "filtration", GROUPS) == {}


def test_groups_by_their_names() -> None:
    groups = frozenset({"dahlia", "lotus", "melati", "teratai"})
    text = ("Laser beam can be seen in the filtrate of: Dahlia, Teratai. The filtrate of all other "
            "groups is clear (no beam).")  # fmt: skip
    told = said_of_groups(text, "scatter", groups)
    assert told == {
        "dahlia": "visible", "teratai": "visible", "lotus": "clear", "melati": "clear",
    }  # fmt: skip


def test_temperatures_of_groups_are_no_codes() -> None:
    told = said_of_groups("21 °C for groups 1-3 and 22 °C for groups 4-6.", "temperature_c", GROUPS)
    assert [told[code].split()[0] for code in sorted(GROUPS)] == ["21"] * 3 + ["22"] * 3


@pytest.mark.parametrize("above", [True, False])
def test_in_a_sheet(workbook: Write, above: bool) -> None:
    head = ["Group", "initial mass (g)", "water (mL)", "dry solid (g)"]
    rows: list[list[Any]] = [[g, 2.4 + g / 100, 200, 2.1] for g in range(1, 7)]
    note = [["Vacuum filtration, but group 3 used gravity."]]
    table = [*note, [], head, *rows] if above else [head, *rows, [], *note]
    runs = ss.read_class(workbook({"s": table})).runs
    assert runs["filtration"].tolist() == [V, V, G, V, V, V]


def test_everyone_else_is_not_everybody(workbook: Write) -> None:
    head = ["Group", "initial mass (g)", "water (mL)", "dry solid (g)"]
    rows: list[list[Any]] = [[g, 2.4 + g / 100, 200, 2.1] for g in range(1, 7)]
    note = [["Group 4 forgot to stir. Everyone else stirred 10 min."]]
    runs = ss.read_class(workbook({"s": [head, *rows, [], *note]})).runs
    assert "stir_min" not in runs or runs["stir_min"].isna()[3]
