"""Scores against published figures and definitions; Horwitz' curve."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from solubility_stats.errors import InputError
from solubility_stats.pooling.consistency import cochran
from solubility_stats.pooling.scoring import (
    e_n,
    e_n_signal,
    horrat,
    horwitz_sd,
    scores,
    signal,
    z_prime,
    z_score,
    zeta_score,
)

GEAR = json.loads((Path(__file__).parent / "data" / "gear.json").read_text(encoding="utf-8"))


@pytest.fixture
def gears() -> pd.DataFrame:
    return pd.DataFrame(
        [(b + 1, y) for b, cell in enumerate(GEAR["cells"]) for y in cell],
        columns=["batch", "diameter"],
    )


def test_gear_diameters(gears):
    # NIST Dataplot reference pages on zeta and E_n scores: reference 1, its uncertainty the
    # standard deviation of all readings, each reading's that of its batch. Printed zeta 0.785
    # -0.523 -0.261 0 -1.047 is low by up to 0.0008; E_n uses U = 2 u on both sides.
    y = gears["diameter"].to_numpy()
    u_ref = y.std(ddof=1)
    u = gears.groupby("batch")["diameter"].transform("std").to_numpy()
    zeta = zeta_score(y, 1.0, u, u_ref)
    assert list(zeta[:5]) == pytest.approx([0.785, -0.523, -0.261, 0.0, -1.047], abs=1e-3)
    found = e_n(y, 1.0, 2 * u, 2 * u_ref)
    assert list(found[:4]) == pytest.approx([0.393, -0.262, -0.131, 0.0], abs=5e-4)


def test_gear_cochran(gears):
    # Recomputed by another program: C = 0.2771 in batch 6; 5 % critical value 0.2439.
    found = cochran(gears, "diameter", "batch")
    assert (found.statistic, found.critical_5) == pytest.approx((0.2771, 0.2439), abs=5e-5)
    assert found.table["group"][0] == "6"


def test_definitions_and_limits():
    assert z_score(12.0, 10, 0.5) == 4.0
    assert z_prime(12.0, 10, 0.3, 0.4) == pytest.approx(4.0)
    assert zeta_score(12.0, 10, 3.0, 4.0) == pytest.approx(0.4)
    assert zeta_score(12.0, 10, 3.0, 4.0, covariance=4.5) == pytest.approx(0.5)
    # ISO 13528:2022, 9.4: up to 2 acceptable, between 2 and 3 warning, 3 and more action.
    assert signal([-2.0, 2.0001, 2.9999, -3.0]) == ["acceptable", "warning", "warning", "action"]
    assert e_n_signal([0.999, -1.0]) == ["acceptable", "action"]


def test_horwitz_curve():
    # AOAC: predicted relative sd in percent over mass fraction 1 to 1e-6; the form 0.02 c^0.8495
    # differs from the tabulated 2^(1 - 0.5 log10 c) by up to 0.01 %.
    c = np.array([1, 1e-2, 1e-4, 1e-6])
    assert list(100 * horwitz_sd(c, thompson=False) / c) == pytest.approx([2, 4, 8, 16], rel=5e-4)
    # Thompson 2000: 22 % below 1.2e-7; sqrt form above 0.138.
    assert 100 * horwitz_sd(1e-8) / 1e-8 == pytest.approx(22)
    assert horwitz_sd(0.25) == pytest.approx(0.005)
    for join in (1.2e-7, 0.138):
        assert horwitz_sd(join * 0.999999) == pytest.approx(horwitz_sd(join * 1.000001), rel=1.1e-3)
    assert horrat(0.04 * 0.01 * 1.5, 0.01) == pytest.approx(1.5, rel=1e-3)


def test_scores_of_a_class():
    frame = pd.DataFrame({"group": list("abcd"), "v": [1.7, 1.8, 1.5, 2.3], "u": 0.05})
    found = scores(frame, 1.7, 0.01, sigma=0.1, value="v", u="u", group="group")
    assert found.table["z"].tolist() == pytest.approx([0, 1, -2, 6])
    assert found.table["z_signal"].tolist() == ["acceptable"] * 3 + ["action"]
    assert found.table["e_n"].tolist() == pytest.approx((found.table["zeta"] / 2).tolist())
    assert "z: 1 of 4" in found.headline()
    unsure = scores(frame, 1.7, 0.05, sigma=0.1, value="v", group="group")
    assert "z_prime" in unsure.table
    assert "zeta" not in unsure.table


def test_results_that_made_the_consensus_are_correlated_with_it():
    frame = pd.DataFrame({"group": range(4), "v": [1.0, 2, 3, 4], "u": [0.5] * 4})
    mean, u_mean = 2.5, 0.5 / np.sqrt(4)
    found = scores(frame, mean, u_mean, value="v", u="u", group="group", correlated="consensus")
    # var(x_i - mean) = u^2 (1 - 1/n) exactly for equal weights.
    expected = (frame["v"] - mean) / np.sqrt(0.25 * 0.75)
    assert found.table["zeta"].tolist() == pytest.approx(expected.tolist())


@pytest.mark.parametrize(
    "call",
    [
        lambda: z_score([1.0], 1, 0),
        lambda: z_score([1.0], 1, -1),
        lambda: z_score([np.nan], 1, 1),
        lambda: zeta_score([1.0], 1, 0, 0),
        lambda: horwitz_sd(0.0),
        lambda: horwitz_sd(17.0),
        lambda: scores([1.0, 2], 1.0),
    ],
)
def test_wrong_input(call):
    with pytest.raises(InputError):
        call()
