from __future__ import annotations

import pytest

from solubility_stats.sheets import units


@pytest.mark.parametrize(
    ("written", "unit"),
    [
        ("g", "g"), ("G", "g"), ("gr.", "g"), ("grams", "g"), ("gm", "g"), ("mgs", "mg"), ("MG",
        "mg"),
        ("µg", "ug"), ("μg", "ug"), ("kg", "kg"), ("㎎", "mg"),
        ("mL", "mL"), ("ML", "mL"), ("mls", "mL"), ("cc", "mL"), ("c.c.", "mL"), ("cm³", "mL"),
        ("cm^3", "mL"), ("㎖", "mL"), ("litres", "L"), ("dm3", "L"), ("ℓ", "L"), ("cl", "cL"),
        ("°C", "degC"), ("º C", "degC"), ("℃", "degC"), ("deg C", "degC"), ("C", "degC"),
        ("oC", "degC"), ("° F", "degF"), ("Fahrenheit", "degF"), ("K", "K"), ("Kelvin", "K"),
        ("min.", "min"), ("mins", "min"), ("hrs", "h"), ("Std.", "h"), ("sec", "s"), ("days",
        "day"),
        ("M", "mol/L"), ("mM", "mmol/L"), ("mol L⁻¹", "mol/L"), ("mol/dm³", "mol/L"),
    ],
)  # fmt: skip
def test_what_people_write_is_known(written: str, unit: str) -> None:
    assert units.known_unit(written) == unit


def test_two_meanings_are_settled_by_the_dimension() -> None:
    assert units.known_unit("m", "time") == "min"
    assert units.known_unit("M", "time") == "min"
    assert units.known_unit("M") == "mol/L"
    assert units.known_unit("m", "concentration") != "mol/L"  # molal is not molar


@pytest.mark.parametrize("word", ["", "fills", "furlong", "group", "g/L", "%", "x"])
def test_other_words_are_no_units(word: str) -> None:
    assert units.known_unit(word) is None


@pytest.mark.parametrize(
    ("value", "unit", "target", "expected"),
    [
        (2498.0, "mg", "g", 2.498),
        (0.25, "L", "mL", 250.0),
        (68.0, "degF", "degC", 20.0),  # 68 °F is 20 °C by the definition of the scales
        (293.15, "K", "degC", 20.0),
        (1.5, "h", "min", 90.0),
        (1.0, "oz", "g", 28.349523125),  # international avoirdupois ounce, exact by definition
    ],
)
def test_conversion(value: float, unit: str, target: str, expected: float) -> None:
    assert units.convert(value, unit, target) == pytest.approx(expected, rel=1e-11)


def test_differences_do_not_know_offsets() -> None:
    assert units.convert_difference(0.9, "degF", "degC") == pytest.approx(0.5)
    assert units.convert_difference(0.5, "K", "degC") == 0.5
    assert units.convert_difference(10, "mg", "g") == pytest.approx(0.01)


def test_decimals_are_never_finer_than_recorded() -> None:
    assert units.convert_decimals(0, "mg", "g") == 3
    assert units.convert_decimals(3, "g", "g") == 3
    assert units.convert_decimals(0, "degF", "degC") == 0  # steps of 0.56 °C
    assert units.convert_decimals(1, "K", "degC") == 1
    assert units.convert_decimals(4, "L", "mL") == 1
    assert units.convert_decimals(2, "L", "mL") is None
    assert units.convert_decimals(None, "mg", "g") is None


@pytest.mark.parametrize(
    ("heading", "rest", "unit"),
    [
        ("Mass (mg)", "Mass", "mg"),
        ("T/°C", "T", "degC"),
        ("Vol 2, mL", "Vol 2", "mL"),
        ("mass_g", "mass", "g"),
        ("Mass of Ca(OH)2 (g)", "Mass of Ca(OH)2", "g"),
        ("What mass did you start with? (in grams)", "What mass did you start with?", "g"),
        ("Temp deg C", "Temp", "degC"),
        ("Mass / g", "Mass", "g"),
        ("Volume [cm³]", "Volume", "mL"),
        ("Stirring time in minutes", "Stirring time", "min"),
        ("What mass did you start with? (include units)", None, None),
        ("HCl mol/L", "HCl", "mol/L"),
        ("Solubility g/L", None, None),
        ("Solubility, g/100 mL", None, None),
        ("Mass (mg or g)", None, None),
        ("Time (hh:mm)", None, None),
        ("T in K", "T", "K"),
        ("Group", "Group", None),
        ("m", "m", None),
        ("Fill 2", "Fill 2", None),
        ("Ca(OH)2", "Ca(OH)2", None),
    ],
)
def test_unit_in_heading(heading: str, rest: str | None, unit: str | None) -> None:
    assert units.unit_in_heading(heading) == (rest or heading, unit)


def test_a_lone_letter_counts_only_where_the_dimension_is_known() -> None:
    assert units.unit_in_heading("Temp C") == ("Temp C", None)
    assert units.unit_in_heading("Temp C", "temperature") == ("Temp", "degC")
    assert units.unit_in_heading("Mass (mL)", "mass") == ("Mass (mL)", None)
