"""Headings as people write them: understood, left open, or unknown; never guessed."""

from __future__ import annotations

import pytest

from solubility_stats.sheets.headings import understand


@pytest.mark.parametrize(
    ("levels", "column", "unit"),
    [
        (["Grp"], "group", None),
        (["What is your group number?"], "group", None),
        (["m₀ (g)"], "initial_mass_g", "g"),
        (["What mass did you start with? (include units)"], "initial_mass_g", None),
        (["Weight Ca(OH)2 taken (gm)"], "initial_mass_g", "g"),
        (["m dry"], "recovered_mass_g", None),
        (["Mass of Ca(OH)2 recovered after drying (g)"], "recovered_mass_g", "g"),
        (["What mass didn't dissolve?"], "recovered_mass_g", None),
        (["Recoverd mass [mg]"], "recovered_mass_g", "mg"),
        (["Dry (g)"], "recovered_mass_g", "g"),
        (["Dry (min)"], "dry_min", "min"),
        (["Vol 2 (mL)"], "fill_2_ml", "mL"),
        (["third pour"], "fill_3_ml", None),
        (["Water vol #1"], "fill_1_ml", None),
        (["Total volume of water used (L)"], "water_volume_ml", "L"),
        (["T/°C"], "temperature_c", "degC"),
        (["Temp F"], "temperature_c", "degF"),
        (["Temprature"], "temperature_c", None),
        (["Buchner or gravity?"], "filtration", None),
        (["paper + dried solid (g)"], "recovered_with_paper_mass_g", "g"),
        (["[HCl]"], "titrant_mol_per_l", None),
        (["Volume of HCl used (mL)"], "titrant_ml", "mL"),
        (["Mass (g)", "initial"], "initial_mass_g", "g"),
        (["Volume (mL)", "2"], "fill_2_ml", "mL"),
        (["Time", "dry", "min"], "dry_min", "min"),
        (["Water", "V1 (mL)"], "fill_1_ml", "mL"),
    ],
)
def test_understood(levels: list[str], column: str, unit: str | None) -> None:
    reading = understand(levels)
    assert (reading.column, reading.unit) == (column, unit)


@pytest.mark.parametrize(
    "heading",
    ["mass", "Mass (g)", "Wash water (mL)", "Beaker + solid before (g)", "Hot plate temp (°C)",
     "Theoretical solubility (g/L)", "Watch glass + residue (g)", "Mass after drying 2 (g)",
     "Mass of vial (g)", "Volume of solution (mL)", "Mass of water (g)", "Locker"],
)  # fmt: skip
def test_left_open_or_unknown(heading: str) -> None:
    assert understand([heading]).column is None


@pytest.mark.parametrize(
    "heading", ["Mass dissolved (g)", "% error", "difference (g)", "Class avg", "moles dissolved"]
)
def test_worked_out_by_the_group(heading: str) -> None:
    assert understand([heading]).derived


def test_trials_are_told_from_fills() -> None:
    assert understand(["m0 (trial 2)"]).trial == "2"
    assert understand(["Trial 1", "m0", "g"]).trial == "1"
    assert understand(["V 2"]).trial == ""


def test_a_unit_of_another_dimension_is_no_match() -> None:
    assert understand(["Filter (g)"]).column != "filtration"
    assert understand(["initial mass (mL)"]).column is None
