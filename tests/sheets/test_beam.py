"""Answers about the laser beam, with every word known or none believed."""

from __future__ import annotations

import pytest

from solubility_stats.quantities import quantity
from solubility_stats.sheets import word_cells
from solubility_stats.sheets.beam import beam_said
from solubility_stats.sheets.model import CellContext, RawCell


@pytest.mark.parametrize(
    "text",
    ["I can see the beam in the liquid", "se ve el haz", "yes, red line", "faisceau visible",
     "a faint line", "Observed", "hazy", "beam visible!! tiny bits went through?",
     "not clear, could see beam", "strålen kan ses", "se ve poco"],
)  # fmt: skip
def test_visible(text: str) -> None:
    assert beam_said(text) == "visible"


@pytest.mark.parametrize(
    "text",
    ["No beam, it goes straight through", "no se ve el haz", "nothing seen", "nicht sichtbar",
     "couldn't see anything", "invisible", "totally clear", "Not observed", "clear, no beam",
     "couldn't see the beam so its clear", "no beam, paper tore"],
)  # fmt: skip
def test_clear(text: str) -> None:
    assert beam_said(text) == "clear"


@pytest.mark.parametrize(
    "text",
    ["absent",
     "beam not tested", "laser battery dead", "not clear", "clear beam", "yes, clear", "yes", "",
     "saw Tom", "visible but clear", "cloudy? no, clear", "clear, refiltered", "yes - not clear",
     "clear at first, then beam", "not clear; no beam", "beam gone (visible in blank)"],
)  # fmt: skip
def test_nothing_that_can_be_believed(text: str) -> None:
    assert beam_said(text) is None


@pytest.mark.parametrize(
    ("heading", "column", "cell", "meant"),
    [
        ("laser? Y = beam visible, N = not", "scatter", "N", "clear"),
        ("Filtrate clear? (Y/N)", "scatter", "Y", "clear"),
        ("Filtrate clear? (Y/N)", "scatter", "N", "visible"),
        ("filtrate cloudy?", "scatter", "yes", "visible"),
        ("filtrate cloudy?", "scatter", "no", "clear"),
        ("laser? Y = beam visible, N = not", "scatter", "Y", "visible"),
        ("Laser C = no beam seen in filtrate, B = beam seen", "scatter", "B", "visible"),
        ("Büchner (B) or fluted paper (F)", "filtration", "F", "gravity"),
        ("Filter", "filtration", "[X] vacuum   [ ] gravity", "vacuum"),
        ("Filter", "filtration", "[ ] vacuum   [x] gravity", "gravity"),
    ],
)
def test_codes_their_heading_explains(heading: str, column: str, cell: str, meant: str) -> None:
    context = CellContext(column, heading=heading)
    parsed = word_cells.parse_words(RawCell(1, 1, cell, cell), quantity(column), context)
    assert parsed.value == meant


def test_who_or_what_is_absent() -> None:
    assert beam_said("absent", "Tyndall effect (laser)") == "clear"
    assert beam_said("absent", "Laser: see the beam?") is None


def test_paper_or_pump() -> None:
    context = CellContext("filtration", heading="paper filter or pump?")
    said = [
        word_cells.parse_words(RawCell(1, 1, t, t), quantity("filtration"), context).value
        for t in ("just paper", "pump", "paper")
    ]
    assert said == ["gravity", "vacuum", "gravity"]


@pytest.mark.parametrize("label", ["No.", "Unit", "readings"])
def test_a_label_is_no_group(label: str) -> None:
    cell = RawCell(1, 1, label, label)
    parsed = word_cells.parse_words(cell, quantity("group"), CellContext("group"))
    assert parsed.value is None
    assert "label" in parsed.note


def test_an_answer_taken_back_by_a_contraction() -> None:
    cell = RawCell(1, 1, "yes, well it didn't stay", "yes, well it didn't stay")
    asked = quantity("constant_mass")
    assert word_cells.parse_words(cell, asked, CellContext("constant_mass")).value is None
