"""Curves against figures that were made elsewhere."""

from __future__ import annotations

import numpy as np
import pytest

from solubility_stats.errors import InputError
from solubility_stats.reference import curve, ksp


@pytest.fixture(scope="module")
def pitzer():
    phreeqpython = pytest.importorskip("phreeqpython")
    return phreeqpython.PhreeqPython(database="pitzer.dat")


def saturated(engine, phase, element):
    """Return mol of ``element`` per kg water in equilibrium with ``phase`` at 25 °C."""
    solution = engine.add_solution({"temp": 25})
    solution.equalize(phase, 0)
    return solution.total(element, units="mol")


@pytest.mark.parametrize(
    ("solute", "phase", "element", "formula", "stored"),
    # `stored`: PHREEQC 3.7.3 with pitzer.dat, the figures the solute files carry.
    [
        ("calcium hydroxide", "Portlandite", "Ca", None, 0.020116),
        ("gypsum", "Gypsum", "Ca", "CaSO4", 0.015054),
        ("sodium chloride", "Halite", "Cl", None, 6.1292),
        ("potassium chloride", "Sylvite", "Cl", None, 4.7913),
    ],
)
def test_thermodynamic_equilibrium_at_25(pitzer, solute, phase, element, formula, stored):
    live = saturated(pitzer, phase, element)
    assert live == pytest.approx(stored, rel=1e-3)
    value, u = curve(solute).in_unit(25.0, "mol/kg", formula=formula)
    assert abs(live - value) < u


def test_primary_value_of_limewater():
    # Bates, Bower, Smith (1956): about 0.0203 mol/L at 25 °C.
    value, u = curve("calcium hydroxide").in_unit(25.0, "mol/L")
    assert value == pytest.approx(0.0203, rel=0.01)
    assert 0.05 < u / value < 0.07


@pytest.mark.parametrize(
    ("source", "t_c", "g_per_100g"),
    # Litre and molal figures brought to g/100 g water independently of this code, with IAPWS-95
    # water and 1.05 g/mL of density per g/mL dissolved; both sides are rounded to four decimals.
    [
        ("NBS 1956", 25, 0.1508),
        ("Wikipedia infobox", 0, 0.1890),
        ("Wikipedia infobox", 20, 0.1733),
        ("Wikipedia infobox", 100, 0.0689),
        ("THEREDA 2020", 0, 0.1713),
        ("THEREDA 2020", 60, 0.1118),
        ("Thermoddem 1.10", 30, 0.1447),
        ("Cemdata18", 90, 0.0879),
        ("ThermoChimie SIT", 20, 0.1565),
        ("MINTEQ v4", 100, 0.1022),
    ],
)
def test_published_limewater_values_on_one_basis(source, t_c, g_per_100g):
    points = curve("calcium hydroxide").points
    row = points[(points["source"] == source) & (points["temperature_c"] == t_c)]
    assert row["g_per_100g"].iloc[0] == pytest.approx(g_per_100g, abs=8e-5)


@pytest.mark.parametrize(
    ("source", "percent_per_kelvin"),
    # Slopes at 22 °C of cubic fits in t made independently of this code.
    [
        ("Seidell/Perry", -0.72),
        ("Thermoddem", -0.55),
        ("Cemdata18", -0.53),
        ("THEREDA", -0.64),
    ],
)
def test_slope_of_limewater(source, percent_per_kelvin):
    one = curve("calcium hydroxide", sources=source)
    assert 100 * one.slope(22.0) / one.at(22.0).value == pytest.approx(
        percent_per_kelvin, abs=0.025
    )
    default = curve("calcium hydroxide")
    combined = 100 * default.slope(22.0) / default.at(22.0).value
    assert -0.72 < combined < -0.53


@pytest.mark.parametrize(
    ("t_c", "low", "high"),
    # Standard deviation of the credible published curves, percent: 5.5 to 7.4 at 0 to 30 °C,
    # 2.4 to 4.0 at 40 to 80 °C, 5.6 to 7.3 at 90 to 100 °C. The stated u may not be below the
    # published disagreement, nor far above it.
    [(0, 7.4, 9), (20, 6.5, 7.5), (25, 5.5, 6.6), (40, 3.5, 5), (60, 3.2, 5), (100, 6, 8)],
)
def test_stated_uncertainty_of_limewater(t_c, low, high):
    value, u = curve("calcium hydroxide").at(t_c)
    assert low < 100 * u / value < high


@pytest.mark.parametrize(
    ("solute", "t_c", "g_per_100g"),
    [
        # CRC Handbook, 98th ed., mass percent converted by hand: 100 w/(100 − w).
        ("sodium chloride", 25, 35.96),
        ("potassium chloride", 20, 34.03),
        ("potassium nitrate", 20, 31.93),
        ("potassium nitrate", 100, 242.5),
        ("ammonium chloride", 20, 37.49),
        ("potassium chlorate", 20, 7.23),
        ("lithium carbonate", 20, 1.348),
        ("lead(II) iodide", 25, 0.0761),
        # Sciences textbooks: sugar 204 g at 20 °C, benzoic acid 0.34 g at 25 °C (from memory).
        ("sucrose", 20, 204),
        ("benzoic acid", 25, 0.34),
        # Cream of tartar, saturated pH standard, 0.034 mol/kg (from memory).
        ("potassium hydrogen tartrate", 25, 0.640),
        # Borax producer's table: 4.71 mass percent of decahydrate at 20 °C.
        ("borax", 20, 100 * 4.71 / 95.29),
    ],
)
def test_handbook_points_lie_within_the_uncertainty(solute, t_c, g_per_100g):
    value, u = curve(solute).at(t_c)
    assert abs(value - g_per_100g) < 1.2 * u


def test_retrograde_solutes_fall_and_others_rise():
    for name in ("calcium hydroxide", "lithium carbonate", "cerium(III) sulfate"):
        found = curve(name)
        grid = np.linspace(found.low_c + 1, found.high_c - 1, 40)
        assert np.all(found.slope(grid) < 0)
    for name in ("potassium nitrate", "potassium chloride", "sucrose", "benzoic acid", "borax"):
        found = curve(name)
        grid = np.linspace(found.low_c + 1, found.high_c - 1, 40)
        assert np.all(found.slope(grid) > 0)
    # Gypsum has its maximum near 40 °C.
    gypsum = curve("gypsum")
    grid = np.linspace(0, 100, 201)
    assert 33 < grid[np.argmax(gypsum.at(grid).value)] < 45


def test_bare_solubility_product_is_refused_with_numbers():
    # Ksp 5.02e-6 gives 0.01079 mol/L; measured 0.0203 mol/L.
    assert ksp.naive_solubility(5.02e-6) == pytest.approx(0.01079, abs=5e-6)
    assert ksp.naive_solubility(1.8e-10, 1, 1) == pytest.approx(1.34e-5, rel=2e-3)
    with pytest.raises(InputError, match=r"0\.01079 mol/L.*-47 %"):
        ksp.curve_from_ksp(5.02e-6)
    with pytest.raises(InputError, match="positive"):
        ksp.naive_solubility(-1.0)
