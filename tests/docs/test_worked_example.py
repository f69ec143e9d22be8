"""The worked example of the method page: its numbers follow by hand and from the library."""

from __future__ import annotations

import math
import re

import pytest

import solubility_stats as ss
from solubility_stats.measurement import Protocol


@pytest.fixture(scope="session")
def page(root):
    return (root / "docs" / "method.md").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def preparation():
    return ss.Preparation(
        2.00, 1.66, fills_ml=[50.0] * 4, solute="calcium hydroxide", temperature_c=22.0,
        filtration="vacuum",
    )  # fmt: skip


def _number(text: str) -> tuple[float, float]:
    """Return a number as written and half a unit of its last place."""
    plain = re.search(r"[−-]?\d+(?:\.(\d+))?", text)
    assert plain, text
    return float(plain[0].replace("−", "-")), 0.5 * 10.0 ** -len(plain[1] or "")


def _by_hand() -> dict[str, float]:
    m0, mr, v, rho = 2.00, 1.66, 4 * 50.0, 0.997773  # water at 22 °C, IAPWS SR6-08(2011)
    plain = 100 * (m0 - mr) / (v * rho)
    by_mass, by_volume = 100 / (v * rho), plain / v
    single = {
        "resolution": math.sqrt(2) * 0.01 / math.sqrt(12) * by_mass,
        "repeatability": math.sqrt(2) * 0.005 * by_mass,
        "linearity": 0.01 / math.sqrt(3) * by_mass,
    }
    drift = 0.006 * by_mass
    calibration = 4 * 0.5 / math.sqrt(3) * by_volume
    reading = 2 * 0.5 / math.sqrt(3) * by_volume
    square = 2 * sum(part**2 for part in single.values()) + drift**2
    square += calibration**2 + reading**2
    whole = mr + 0.032 + 0.0015 - 0.008
    before = whole / ((1 - 0.0244) * (1 + 0.019))
    cake = before / (1 + 0.3508 * 0.0476)
    entered = m0 * (1 - 0.005 - 0.005 + 0.3213 * 0.001) + 0.02599 * 0.04 - 0.0048
    water = v * (1 - 0.0025) - 1.0
    c = (entered - cake) / water
    for _ in range(50):  # the liquor the undissolved solid holds: fixed point, not the quadratic
        c = (entered - cake) / (water - 0.76 * (entered - water * c))
    return {
        "plain result": plain,
        "sensitivity to a mass": by_mass,
        "sensitivity to the volume": by_volume,
        "resolution of a mass": single["resolution"],
        "repeatability of a mass": single["repeatability"],
        "linearity of the balance": single["linearity"],
        "drift": drift,
        "cylinder, calibration": calibration,
        "cylinder, reading": reading,
        "plain result, standard uncertainty": math.sqrt(square),
        "leverage": mr / (m0 - mr),
        "cake before drying": before,
        "cake without carbonate": cake,
        "solid that entered": entered,
        "water at filtering": water,
        "dissolved per mL of water": c,
        "result": c * 100 / (rho * (1 - 0.024)),
    }


def test_numbers_on_the_page_follow_by_hand(page, tables_of):
    rows = {row["quantity"]: row["value"] for row in tables_of(page, "A worked example")}
    expected = _by_hand()
    assert set(expected) <= set(rows)
    for name, value in expected.items():
        written, half = _number(rows[name])
        assert abs(abs(written) - abs(value)) <= half * 1.001, f"{name}: {rows[name]}, {value}"


def test_numbers_on_the_page_are_those_of_the_library(page, tables_of, preparation):
    rows = {row["quantity"]: row["value"] for row in tables_of(page, "A worked example")}
    table = preparation.estimates.table.iloc[0]
    library = {
        "plain result": table["apparent_g_per_100g"],
        "plain result, standard uncertainty": table["u_apparent_g_per_100g"],
        "leverage": table["leverage"],
        "result": table["value_g_per_100g"],
        "result, standard uncertainty": table["u_g_per_100g"],
        "degrees of freedom": table["dof"],
        "result, lower end": table["low_g_per_100g"],
        "result, upper end": table["high_g_per_100g"],
    }
    for name, value in library.items():
        written, half = _number(rows[name])
        assert written == pytest.approx(value, abs=half * 1.001), name


def test_shares_on_the_page_are_those_of_the_budget(page, tables_of, preparation):
    cause = preparation.budget.by_cause()
    rows = tables_of(page, "Where the uncertainty comes from")
    assert [r["cause"] for r in rows] == list(cause.index[: len(rows)])
    for row in rows:
        for column, key in (("own, %", "own_percent"), ("shared, %", "shared_percent")):
            written, half = _number(row[column])
            assert written == pytest.approx(cause.loc[row["cause"], key], abs=half * 1.001)


def test_effect_sizes_on_the_page_are_those_of_the_default_protocol(page, tables_of):
    protocol = Protocol.default("calcium hydroxide")
    rows = tables_of(page, "Expected effects")
    listed = {re.findall(r"`(\w+)`", row["effect"])[0]: row for row in rows}
    expected = {e.name: e for e in protocol.effects if e.expected}
    assert set(listed) == set(expected)
    for name, effect in expected.items():
        row = listed[name]
        for column in ("mean", "u_shared", "sd_between"):
            assert float(row[column]) == pytest.approx(getattr(effect, column)), (name, column)
        assert row["unit"] == effect.unit.replace("1", "–"), name
        assert row["routes"] == ", ".join(r[0] for r in effect.routes), name
