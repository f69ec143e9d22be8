"""Sentences around a table: what holds for all runs, and what only sounds like it."""

from __future__ import annotations

import pytest

from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.sentences import said_in
from solubility_stats.sheets.units_said import units_said

TITRATED = {"titrant_ml"}


def said(text: str, known: set[str] | None = None) -> dict[str, str]:
    """Return what one sentence says by column."""
    found = said_in([RawCell(1, 1, text, text)], known or set())
    return {column: value for column, (_, value) in found.items()}


@pytest.mark.parametrize(
    ("text", "column", "value"),
    [
        ("Water was 71 °F for everybody (same carboy)", "temperature_c", "71 °F"),
        ("Solubility of slaked lime, 14 Nov  (lab thermometer 18 °C)", "temperature_c", "18 °C"),
        ("room 214, water out of the carboy, 22 °C all day", "temperature_c", "22 °C"),
        ("All groups: 200 mL water, hot plate on low, 21.5 °C", "temperature_c", "21.5 °C"),
        ("Everyone on the aspirator this time - no gravity filtering!", "filtration", "vacuum"),
        ("Lime practical, gravity filtration only, pump broken", "filtration", "gravity"),
        ("everything is gravity filtered, no vacuum left", "filtration", "gravity"),
        ("Sintered funnel on the water pump, then weighed", "filtration", "vacuum"),
        ("Lab at 19.8 °C, sintered glass on the vacuum line, no rinse", "filtration", "vacuum"),
        ("Stirred for 20 min, kept undisturbed 30 min", "stir_min", "20 min"),
        ("Stirred for 20 min, kept undisturbed 30 min", "settle_min", "30 min"),
        ("Section M1. Stirrer 15 min, rest 20 min, aspirator.", "stir_min", "15 min"),
        ("Section M1. Stirrer 15 min, rest 20 min, aspirator.", "settle_min", "20 min"),
        ("Stirring 15 min, settling: 20 min, fluted paper", "filtration", "gravity"),
        ("Solid dried 40 min on the hotplate at 60 degrees.", "dry_min", "40 min"),
        ("250 mL DI water for everyone", "water_volume_ml", "250 mL"),
        ("250 mL water every time (5 fills of the 50 mL cylinder)", "water_volume_ml", "5 x 50 mL"),
        ("Whole class 22 degrees. Gravity filtration.", "temperature_c", "22 degC"),
        ("Water: 250 mL (one 250 mL cylinder) for every trial", "water_volume_ml", "250 mL"),
        ("Everybody: 15 min on the plate, let sit 20 min, then on", "settle_min", "20 min"),
        ("same paper, water 100 mL + 50 mL every time", "water_volume_ml", "100 mL + 50 mL"),
        ("titration of the filtrate with HCl 0.0502 mol/L", "titrant_mol_per_l", "0.0502 mol/L"),
    ],
)
def test_what_a_sentence_says(text: str, column: str, value: str) -> None:
    assert said(text)[column] == value


@pytest.mark.parametrize(
    ("text", "known", "column", "value"),
    [
        (
            "Titration of the filtrate: 25.0 cm³ portions, methyl red",
            TITRATED,
            "aliquot_ml",
            "25.0 cm³",
        ),
        (
            "HCl 0.05 M · 25.0 cm³ of your limewater each time · room 20 °C",
            TITRATED,
            "aliquot_ml",
            "25.0 cm³",
        ),
        ("Pipette 25.0 cm3 of filtrate, phenolphthalein", TITRATED, "aliquot_ml", "25.0 cm3"),
        ("Titration: 25 mL filtrate with 0.100 M HCl", set(), "aliquot_ml", "25 mL"),
        (
            "All groups: 25.00 mL of filtrate pipetted into the dish",
            {"dish_mass_g"},
            "evaporation_aliquot_ml",
            "25.00 mL",
        ),
    ],
)
def test_filtrate_that_was_used(text: str, known: set[str], column: str, value: str) -> None:
    assert said(text, known)[column] == value


@pytest.mark.parametrize(
    ("text", "column"),
    [
        ("Literature value: 1.73 g/L in water at 20 °C", "temperature_c"),
        ("Result: the solubility of slaked lime at 29 °C is", "temperature_c"),
        ("Handbook, water at 25 °C", "temperature_c"),
        ("Residue dried at 110 °C in the oven", "temperature_c"),
        ("Water 19 °C at the window, water 22 °C by the door", "temperature_c"),
        ("Stir for 10 min", "stir_min"),
        ("Let it settle at least 15 min", "settle_min"),
        ("Add 50 mL of water", "water_volume_ml"),
        ("Half the class vacuum, half gravity filtration", "filtration"),
        ("The acid is in the fume hood, 2 L left", "titrant_mol_per_l"),
    ],
)
def test_what_a_sentence_does_not_say(text: str, column: str) -> None:
    assert column not in said(text)


def test_two_sentences_that_disagree() -> None:
    cells = [RawCell(1, 1, t, t) for t in ("Lab water 20 °C", "Lab water 21 °C")]
    assert said_in(cells, set()) == {}


def test_a_column_of_its_own_goes_before() -> None:
    assert said("Lab water 20 °C", {"temperature_c"}) == {}


def test_units_for_the_whole_sheet() -> None:
    assert units_said(["ALL WEIGHTS IN MILLIGRAMS. Volumes in mL."]) == {
        "mass": "mg",
        "volume": "mL",
    }
    assert units_said(["masses in g", "all masses in mg"]) == {}
    assert units_said(["Masses in the table, times in a hurry"]) == {}


@pytest.mark.parametrize(
    "text", ["Stir 15 min, rest 20 min, then filter.", "On the stirrer for 10 min, then rest 5 min",
             "Have a rest 20 min before the titration"]
)  # fmt: skip
def test_what_is_to_be_done_was_not_done_yet(text: str) -> None:
    assert not {"stir_min", "settle_min"} & set(said(text))
