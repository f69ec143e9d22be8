"""Unit conversions: worked values, round trips, refusals."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.errors import InputError
from solubility_stats.reference.convert import (
    UNITS,
    Solution,
    convert,
    convert_u,
    to_anhydrous,
    to_hydrate,
    unit_name,
)

LIME = Solution("Ca(OH)2", 25.0, phi_ml_per_g=-0.05, u_phi_ml_per_g=0.3)


def test_primary_value_for_limewater():
    # Bates, Bower, Smith (1956): 0.0203 mol/L at 25 °C. By hand: 0.0203 × 74.092 = 1.5041 g in one
    # litre of 998.6 g, so 1.5041 g per 997.1 g water.
    grams = convert(0.0203, "mol/L", solution=replace(LIME, density_g_per_ml=0.9986))
    assert grams == pytest.approx(100 * 1.50407 / (998.6 - 1.50407), rel=1e-5)
    assert convert(0.0203, "mol/L", solution=LIME) == pytest.approx(grams, rel=1e-4)


def test_mass_percent_is_not_per_water():
    # CRC 98th ed., KNO3 at 0 °C: 12.0 mass percent is 13.64 g/100 g water.
    assert convert(12.0, "mass %") == pytest.approx(1200 / 88)


def test_molality():
    # Saturated NaCl at 25 °C, 6.153 mol/kg, is 35.96 g/100 g water.
    assert convert(6.153, "mol/kg", solution=Solution("NaCl")) == pytest.approx(35.96, abs=0.005)


def test_volume_of_water_and_of_solution_differ():
    strong = Solution("NaCl", 25.0, density_g_per_ml=1.1978)  # saturated brine, from memory
    per_water = convert(35.96, "g/100 g water", "g_per_100ml_water", solution=strong)
    per_solution = convert(35.96, "g/100 g water", "g/100 mL", solution=strong)
    assert per_water == pytest.approx(35.96 * 0.99705, rel=1e-4)
    assert per_solution == pytest.approx(1.1978 * 35.96 / 1.3596, rel=1e-9)


@given(
    st.sampled_from(UNITS),
    st.sampled_from(UNITS),
    st.floats(1e-6, 0.9),
    st.floats(0.0, 90.0),
    st.booleans(),
)
def test_round_trips(unit, other, grams, t_c, measured):
    about = Solution("Ca(OH)2", t_c, phi_ml_per_g=0.3)
    if measured:
        about = replace(about, density_g_per_ml=1.01)
    there = convert(grams, "g/100 g water", unit, solution=about)
    across = convert(there, unit, other, solution=about)
    back = convert(across, other, "g/100 g water", solution=about)
    assert back == pytest.approx(grams, rel=1e-9)


@given(st.floats(1e-3, 80.0))
def test_hydrate_round_trip(grams):
    back = to_anhydrous(to_hydrate(grams, "Na2B4O7.10H2O", "Na2B4O7"), "Na2B4O7.10H2O", "Na2B4O7")
    assert back == pytest.approx(grams, rel=1e-12)


def test_hydrate_by_hand():
    # 18.82 g of borax in 100 g of added water: 9.93 g anhydrous in 100 + 8.89 g water.
    q = 381.363 / 201.213
    anhydrous = 18.82 / q
    total = 100 + 18.82 - anhydrous
    assert to_hydrate(100 * anhydrous / total, "Na2B4O7.10H2O", "Na2B4O7") == pytest.approx(
        18.82, rel=1e-5
    )


def test_uncertainty_is_carried_and_grows_with_density():
    value, u = convert_u(0.0203, 0.0001, "mol/L", solution=LIME)
    assert u / value == pytest.approx(0.0001 / 0.0203, rel=0.02)
    sharp = convert_u(1.5, 0.0, "g/L", solution=replace(LIME, u_phi_ml_per_g=0.0))
    blunt = convert_u(1.5, 0.0, "g/L", solution=LIME)
    # φ enters as φ times concentration: 0.3 mL/g × 0.0015 g/mL.
    assert sharp.u / sharp.value == pytest.approx(1e-5, rel=0.01)  # the water alone
    assert blunt.u / blunt.value == pytest.approx(0.3 * 0.0015, rel=0.01)


def test_molar_mass_uncertainty_counts():
    value, u = convert_u(1.0, 0.0, "mol/kg", solution=Solution("PbI2"))
    assert u / value == pytest.approx(1.1 / 3**0.5 / 461.0, rel=0.01)


def test_dilute_solutions_need_no_density_and_strong_ones_do():
    value, u = convert_u(1.5, 0.0, "g/L", solution=Solution("Ca(OH)2"))
    assert abs(value - 0.1504) < 3 * u + 1e-4
    with pytest.raises(InputError, match="strong solution needs its density"):
        convert(300.0, "g/L", solution=Solution("NaCl"))


def test_arrays_and_inputs_unchanged():
    given_values = np.array([1.0, 2.0])
    given_values.flags.writeable = False
    out = convert(given_values, "g/L", solution=replace(LIME, temperature_c=np.array([10.0, 30.0])))
    assert out.shape == (2,)
    np.testing.assert_array_equal(given_values, [1.0, 2.0])


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("g/100 g", "g_per_100g_water"),
        ("G/L", "g_per_l"),
        ("mol/L", "mol_per_l"),
        ("wt%", "mass_percent"),
        ("g per 100 mL water", "g_per_100ml_water"),
        ("mM", "mmol_per_l"),
        ("M", "mol_per_l"),
    ],
)
def test_units_as_people_write_them(said, meant):
    assert unit_name(said) == meant


def test_refusals_say_what_to_do():
    with pytest.raises(InputError, match="unknown solubility unit"):
        convert(1.0, "furlongs")
    with pytest.raises(InputError, match="needs the formula"):
        convert(1.0, "mol/L")
    with pytest.raises(InputError, match="leaves no water"):
        convert(100.0, "mass_percent")
    with pytest.raises(InputError, match="finite number"):
        convert([1.0, np.nan], "g/100 g")
    with pytest.raises(InputError, match="crystal water alone"):
        to_hydrate(150.0, "Na2B4O7.10H2O", "Na2B4O7")
