"""First-order propagation against published examples and an independent program."""

import math

import numpy as np
import pytest
import uncertainties as un
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import umath

from solubility_stats.measurement.propagation import (
    combine_mean,
    coverage_factor,
    differentiate,
    first_order,
)


def test_gum_h1_end_gauge():
    # JCGM 100:2008, H.1: inputs of table H.1 (nm, K); published u_c = 32 nm, nu_eff = 16 (16.7),
    # t99 = 2.92, U99 = 93 nm; components 25, 9.7, 2.9, 16.6 nm.
    length, theta, alpha = 50_000_623.0, -0.1, 11.5e-6
    u_d, _, parts_d = first_order([1, 1, 1], [5.8, 3.9, 6.7])
    dof_d = float(first_order([1, 1, 1], [5.8, 3.9, 6.7], [24, 5, 8]).dof)
    assert u_d == pytest.approx(9.7, abs=0.05)
    assert dof_d == pytest.approx(25.6, abs=0.3)  # 25.6 comes from the rounded 9.7
    assert [float(p) for p in parts_d] == [5.8, 3.9, 6.7]

    def gauge(ls, d, d_alpha, d_theta, alpha_s, theta_bar):
        return ls + d - ls * (d_alpha * theta_bar + alpha_s * d_theta)

    values = [length, 215.0, 0.0, 0.0, alpha, theta]
    u_alpha_s = 2e-6 / math.sqrt(3)
    u_theta = math.hypot(0.2, 0.5 / math.sqrt(2))  # mean of the bed, and its arcsine cycle
    u = [25.0, float(u_d), 1e-6 / math.sqrt(3), 0.05 / math.sqrt(3), u_alpha_s, u_theta]
    result = first_order(differentiate(gauge, values, u), u, [18, dof_d, 50, 2, math.inf, math.inf])
    assert gauge(*values) == pytest.approx(50_000_838, abs=0.5)
    assert round(float(result.u)) == 32
    assert abs(result.contributions[0]) == pytest.approx(25, abs=0.05)
    assert abs(result.contributions[2]) == pytest.approx(2.9, abs=0.05)
    assert abs(result.contributions[3]) == pytest.approx(16.6, abs=0.05)
    assert math.floor(result.dof) == 16
    k = float(coverage_factor(16, 0.99))
    assert round(k, 2) == 2.92
    assert round(k * round(float(result.u))) == 93


GUM_H2 = {  # JCGM 100:2008, table H.2: five simultaneous sets
    "V": [5.007, 4.994, 5.005, 4.990, 4.999],
    "I": [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
    "phi": [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
}


@pytest.mark.parametrize(
    ("model", "value", "u"),
    [  # table H.3; the published 0.295 follows from rounded inputs, unrounded ones give 0.2956
        (lambda v, i, p: v / i * np.cos(p), 127.732, 0.071),
        (lambda v, i, p: v / i * np.sin(p), 219.847, 0.295),
        (lambda v, i, p: v / i, 254.260, 0.236),
    ],
    ids=["resistance", "reactance", "impedance"],
)
def test_gum_h2_correlated_inputs(model, value, u):
    means, spreads, _ = zip(*(combine_mean(x) for x in GUM_H2.values()), strict=True)
    correlation = np.corrcoef(list(GUM_H2.values()))
    assert correlation[0] == pytest.approx([1.0, -0.36, 0.86], abs=0.005)
    result = first_order(differentiate(model, means, spreads), spreads, correlation=correlation)
    assert model(*means) == pytest.approx(value, abs=0.0005)
    assert float(result.u) == pytest.approx(u, abs=0.001)
    alone = first_order(differentiate(model, means, spreads), spreads)
    assert abs(float(alone.u) - u) > 0.02  # leaving the correlation out would be seen


def test_eurachem_a1_calibration_standard():
    # EURACHEM/CITAC QUAM (2012), A1: 1002.7 mg/L, u 0.835 unrounded (printed 0.9 with rounded
    # intermediates: u(V) 0.07 mL).
    u_v = float(
        first_order([1, 1, 1], [0.1 / math.sqrt(6), 0.02, 100 * 4 * 2.1e-4 / math.sqrt(3)]).u
    )
    assert u_v == pytest.approx(0.0664730521840743, rel=1e-9)

    def standard(mass, purity, volume):
        return 1000 * mass * purity / volume

    values = [100.28, 0.9999, 100.0]
    result = first_order(differentiate(standard, values), [0.05, 0.0001 / math.sqrt(3), u_v])
    assert standard(*values) == pytest.approx(1002.7, abs=0.05)
    assert float(result.u) == pytest.approx(0.835199, abs=5e-4)
    rounded = first_order(differentiate(standard, values), [0.05, 0.000058, 0.07])
    assert round(float(rounded.u), 1) == 0.9


def test_eurachem_a2_sodium_hydroxide():
    # EURACHEM/CITAC QUAM (2012), A2: 0.10214 mol/L, u 0.00010, relative 0.00097.
    def strength(rep, mass, purity, molar, volume):
        return rep * 1000 * mass * purity / (molar * volume)

    values = [1.0, 0.3888, 1.0, 204.2212, 18.64]
    u = [0.0005, 0.00013, 0.00029, 0.0038, 0.013]
    result = first_order(differentiate(strength, values), u)
    assert strength(*values) == pytest.approx(0.10214, abs=5e-6)
    assert round(float(result.u), 5) == 0.00010
    assert float(result.u) / 0.1021361597 == pytest.approx(0.00097, abs=2e-5)
    assert [abs(float(p)) for p in result.contributions] == pytest.approx(
        [5.107e-5, 3.417e-5, 2.962e-5, 1.9e-6, 7.123e-5], rel=0.02
    )


def test_coverage_factors_of_table_g2():
    # JCGM 100:2008, table G.2, 95 % and 99 %
    assert coverage_factor([1, 2, 5, 10, 20, 50, math.inf], 0.95) == pytest.approx(
        [12.71, 4.30, 2.57, 2.23, 2.09, 2.01, 1.960], abs=0.0051
    )
    assert coverage_factor([1, 10, math.inf], 0.99) == pytest.approx(
        [63.66, 3.17, 2.576], abs=0.005
    )


finite = st.floats(0.1, 10)
spread = st.floats(1e-4, 0.5)


@given(st.lists(st.tuples(finite, spread), min_size=4, max_size=4))
def test_first_order_agrees_with_the_uncertainties_package(pairs):
    a, b, c, d = (un.ufloat(v, u) for v, u in pairs)
    oracle = umath.exp(a / 10) * b - umath.sqrt(c) / d
    values, u = zip(*pairs, strict=True)
    va, vb, vc, vd = values
    gradient = [
        math.exp(va / 10) * vb / 10,
        math.exp(va / 10),
        -0.5 / math.sqrt(vc) / vd,
        math.sqrt(vc) / vd**2,
    ]
    assert float(first_order(gradient, u).u) == pytest.approx(oracle.std_dev, rel=1e-9)
    numeric = differentiate(lambda a, b, c, d: np.exp(a / 10) * b - np.sqrt(c) / d, values)
    assert [float(x) for x in numeric] == pytest.approx(gradient, rel=1e-7)


@given(
    st.lists(st.floats(-1, 1), min_size=9, max_size=9),
    st.lists(st.tuples(finite, spread), min_size=3, max_size=3),
)
def test_correlated_propagation_agrees_with_the_uncertainties_package(entries, pairs):
    root = np.array(entries).reshape(3, 3) + 2 * np.eye(3)
    covariance = root @ root.T
    sd = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(sd, sd)
    u = np.array([p[1] for p in pairs])
    values = [p[0] for p in pairs]
    x = un.correlated_values(values, correlation * np.outer(u, u))
    oracle = x[0] * x[1] / x[2]
    slopes = [values[1] / values[2], values[0] / values[2], -values[0] * values[1] / values[2] ** 2]
    result = first_order(slopes, u, correlation=correlation)
    assert float(result.u) == pytest.approx(oracle.std_dev, rel=1e-6)


def test_welch_satterthwaite_and_broadcasting():
    result = first_order([1.0, 2.0], [np.array([3.0, 0.0]), 1.0], [4.0, 9.0])
    assert result.u == pytest.approx([math.sqrt(13), 2.0])
    assert result.dof == pytest.approx([13**2 / (81 / 4 + 16 / 9), 9.0])
    assert math.isinf(first_order([1.0], [1.0]).dof)
    assert math.isinf(first_order([1.0], [0.0], [5.0]).dof)


def test_wrong_input_is_refused():
    with pytest.raises(ValueError, match="no input"):
        first_order([], [])
    with pytest.raises(ValueError, match="does not fit"):
        first_order([1, 1], [1, 1], correlation=[[1, 0.5], [0.4, 1]])
    with pytest.raises(ValueError, match="at least two"):
        combine_mean([1.0])
    with pytest.raises(ValueError, match="finite"):
        combine_mean([1.0, math.nan])
