"""Molar masses against a general chemistry package, and the formula reader."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.errors import InputError
from solubility_stats.reference.molar_mass import composition, molar_mass

FORMULAS = [
    "Ca(OH)2",
    "KNO3",
    "NaCl",
    "NH4Cl",
    "KHC4H4O6",
    "CaSO4",
    "Na2B4O7",
    "Ce2(SO4)3",
    "Ca(IO3)2",
    "C12H22O11",
    "PbI2",
    "AgCl",
    "CaCO3",
]


@pytest.mark.parametrize("formula", FORMULAS)
def test_agrees_with_periodictable(formula):
    # `periodictable` 2.1: standard atomic weights 2021.
    periodictable = pytest.importorskip("periodictable")
    assert molar_mass(formula).value == pytest.approx(periodictable.formula(formula).mass, rel=1e-9)


@pytest.mark.parametrize("formula", FORMULAS)
def test_agrees_with_older_atomic_weights(formula):
    # `chemicals` 1.5 holds an older evaluation; the two differ by at most 5e-5.
    elements = pytest.importorskip("chemicals.elements")
    other = elements.molecular_weight(elements.nested_formula_parser(formula))
    assert molar_mass(formula).value == pytest.approx(other, rel=6e-5)


def test_hydrates_add_water():
    water = molar_mass("H2O").value
    assert molar_mass("CaSO4·2H2O").value == pytest.approx(molar_mass("CaSO4").value + 2 * water)
    assert molar_mass("CaSO4.0.5H2O").value == pytest.approx(
        molar_mass("CaSO4").value + 0.5 * water
    )
    assert composition("Na2B4O7*10H2O") == composition("Na₂B₄O₇•10H₂O")


def test_uncertainty_follows_the_published_limits():
    # Ca ±0.004, O ±0.001, H ±0.0002 (CIAAW 2021), rectangular, atoms of one element together.
    expected = (0.004**2 + (2 * 0.001) ** 2 + (2 * 0.0002) ** 2) ** 0.5 / 3**0.5
    assert molar_mass("Ca(OH)2").u == pytest.approx(expected)
    # Natural lead varies widely, so its salts must say so.
    assert molar_mass("PbI2").u > 0.5


@given(st.sampled_from(FORMULAS), st.integers(1, 12))
def test_a_bracket_multiplies(formula, times):
    one, many = composition(formula), composition(f"({formula}){times}")
    assert many == {element: times * n for element, n in one.items()}


@pytest.mark.parametrize(
    "bad", ["", "Ca(OH", "Ca)2", "2", "ca(oh)2", "CaSO4.", "Na+", "Ca(OH)2..H2O"]
)
def test_unreadable_formulas_are_refused(bad):
    with pytest.raises(InputError, match="cannot be read"):
        molar_mass(bad)


def test_unknown_elements_are_named():
    with pytest.raises(InputError, match="Xx"):
        molar_mass("Xx2O")
