"""The arithmetic check as a caller meets it: units, figures, odd inputs, what comes back."""

from __future__ import annotations

import json
import math
from decimal import ROUND_HALF_UP, Decimal

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.measurement.slips import Slips, find_slips
from solubility_stats.measurement.slips.digits import (
    mistyped,
    reported_resolution,
    round_figures,
    shortest_decimals,
)
from solubility_stats.measurement.slips.match import chance_of_match, written_interval
from solubility_stats.measurement.slips.substances import SUBSTANCES, substance
from solubility_stats.measurement.slips.terms import TERMS, term
from solubility_stats.measurement.slips.units import FORMS, read_unit
from solubility_stats.records import ClassRecords


def frame(n: int = 3, **columns: object) -> pd.DataFrame:
    base = {
        "section": ["Mon"] * n,
        "group": [str(k + 1) for k in range(n)],
        "initial_mass_g": [2.003, 2.203, 2.403][:n],
        "recovered_mass_g": [1.610, 1.810, 2.010][:n],
        "fill_1_ml": [80.0] * n,
        "fill_2_ml": [79.0] * n,
        "fill_3_ml": [80.5] * n,
        "temperature_c": [21.0] * n,
        "reported_solubility": [4.97, 1.64, 0.164][:n],
        "reported_unit": ["g/L"] * n,
    }
    return pd.DataFrame(base | columns)


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("g/100 mL", ["g/100 mL"]),
        ("g/100mL H2O", ["g/100 mL"]),
        ("g per 100 ml of water", ["g/100 mL"]),
        ("grams/100 millilitres", ["g/100 mL"]),
        ("g/100 cm3", ["g/100 mL"]),
        ("g/dL", ["g/100 mL"]),
        ("g/L", ["g/L"]),
        ("g/l", ["g/L"]),
        ("g L-1", ["g/L"]),
        ("g·L⁻¹", ["g/L"]),
        ("g/dm3", ["g/L"]),
        ("grams per liter", ["g/L"]),
        ("(g/L)", ["g/L"]),
        ("mg/mL", ["mg/mL"]),
        ("ppm", ["mg/L"]),
        ("g/100 g water", ["g/100 g water"]),
        ("g Ca(OH)2 per 100 g H2O", ["g/100 g water"]),
        ("g/100g", ["g/100 g water", "g/100 g solution"]),
        ("mol/L", ["mol/L"]),
        ("mol L-1", ["mol/L"]),
        ("mol dm-3", ["mol/L"]),
        ("M", ["mol/L"]),
        ("m", ["mol/kg"]),
        ("mM", ["mmol/L"]),
        ("molar", ["mol/L"]),
        ("molal", ["mol/kg"]),
        ("mol/kg", ["mol/kg"]),
        ("%", ["g/100 mL", "g/100 g water", "g/100 g solution"]),
        ("% w/v", ["g/100 mL"]),
        ("wt %", ["g/100 g solution", "g/100 g water"]),
    ],
)
def test_units_as_people_write_them(text: str, names: list[str]) -> None:
    forms, written = read_unit(text)
    assert written
    assert [form.name for form in forms] == names


@pytest.mark.parametrize("text", ["", "  ", "?", "bananas", "g", "see above"])
def test_unreadable_unit_is_assumed_and_said(text: str) -> None:
    forms, written = read_unit(text)
    assert not written
    assert len(forms) > 1
    table = find_slips(frame(reported_unit=[text] * 3)).table
    assert table["unit_assumed"].all()
    assert table["unit_read"].isin(FORMS).all()


@given(st.decimals("0.0001", "9999", places=4), st.integers(1, 5))
def test_rounding_to_figures_is_that_of_decimal_arithmetic(value: Decimal, n: int) -> None:
    step = Decimal(1).scaleb(value.adjusted() - n + 1)
    expected = float(value.quantize(step, rounding=ROUND_HALF_UP))
    assert round_figures(float(value), n) == pytest.approx(expected, rel=1e-12)


@given(st.integers(1, 9_999_999), st.integers(0, 4))
def test_shortest_decimals_is_that_of_the_printed_number(digits: int, places: int) -> None:
    value = digits / 10**places
    assert int(shortest_decimals(value)) == len(f"{value!r}".removesuffix(".0").partition(".")[2])


@given(st.integers(1000, 9999))
def test_exchanged_digits_change_a_mass_by_a_multiple_of_nine(milligrams: int) -> None:
    """A transposition changes the number by 9 · 10^k · (a - b) units of the last place."""
    value = milligrams / 1000
    for code, _, number in mistyped(value, 3):
        if code == "D1":
            assert round((number - value) * 1000) % 9 == 0


def test_named_examples_of_exchanged_digits() -> None:
    # 2.504 g: the three numbers of the catalogue with neighbouring digits exchanged.
    exchanged = {number for code, _, number in mistyped(2.504, 3) if code == "D1"}
    assert exchanged == {5.204, 2.054, 2.540}


@pytest.mark.parametrize(
    ("value", "decimals", "expected"),
    [
        (1.64, 2, (3, 0.005)),
        (1.60, 2, (3, 0.005)),
        (0.0221, 4, (3, 0.00005)),
        (1637.0, 0, (4, 0.5)),
        (1600.0, 0, (2, 50.0)),
        (10.0, 0, (2, 0.5)),
        (2.0, 0, (1, 0.5)),
        (0.0, 2, (0, 0.005)),
        (1.6374999999, 10, (6, 0.000005)),
    ],
)
def test_figures_of_a_reported_number(value: float, decimals: int, expected: tuple) -> None:
    figures, half = reported_resolution(value, decimals)
    assert figures == expected[0]
    assert half == pytest.approx(expected[1])


def test_a_formula_without_width_is_hit_by_one_written_number() -> None:
    """Mean width in natural logarithms at 2, 3 and 4 figures: (1 - 0.1) / ln 10 / 10^(d - 1)."""
    x = 10 ** np.linspace(0, 1, 20001)[:-1]
    for figures, width in ((2, 0.0391), (3, 0.0039), (4, 0.0004)):
        low, high = written_interval(x, np.zeros_like(x), np.full(x.size, figures))
        assert float(np.mean(high - low)) * math.log(10) == pytest.approx(width, rel=0.03)


def test_union_of_intervals_counts_overlap_once_and_keeps_runs_apart() -> None:
    run = np.array([0, 0, 1, 0])
    low, high = np.array([0.0, 0.5, 0.2, 1.9]), np.array([1.0, 1.2, 0.4, 9.0])
    chance = chance_of_match(run, low, high, np.zeros(3), 3)
    assert chance == pytest.approx([(1.2 + 0.1) / 4, 0.2 / 4, 0.0])


def test_result_columns_and_exports() -> None:
    result = find_slips(frame())
    assert isinstance(result, Slips)
    needed = (
        "run_id semester section group run reported reported_unit reported_digits "
        "recomputed_in_unit agrees verdict candidates"
    )
    assert set(needed.split()) <= set(result.table.columns)
    assert list(result.table["agrees"]) == [False, True, False]
    assert result.table["agrees"].dtype == bool
    needed = "run_id slip slip_code pair predicted formula chance_match"
    assert set(needed.split()) <= set(result.candidates.columns)
    export = result.export()
    assert list(export.columns[:3]) == ["group", "section", "slip"]
    assert "one fill used" in export["slip"][0]
    assert "value per 100 mL" in export["slip"][1]
    json.dumps(result.to_dict(), allow_nan=False)
    assert "1 of 3" in result.headline()
    assert "one fill used" in str(result)


def test_inputs_are_not_changed_and_order_and_labels_do_not_matter() -> None:
    plain = frame()
    before = plain.copy(deep=True)
    first = find_slips(plain).table
    pd.testing.assert_frame_equal(plain, before)
    shuffled = frame().iloc[[2, 0, 1]]
    shuffled.index = pd.Index([7, 7, 7])
    second = find_slips(shuffled).table.sort_values("run_id", ignore_index=True)
    # Which rows are next to one another changes, and with it the chance of a match a little.
    first, second = (t.drop(columns="chance_match") for t in (first, second))
    pd.testing.assert_frame_equal(first, second)


def test_two_slips_at_once_are_found_but_not_at_two_figures() -> None:
    # (2.003 - 1.610) g over one fill of 79.0 mL, stated per 100 mL under g/L: 0.4975.
    result = find_slips(frame(1, reported_solubility=[0.4975]))
    pairs = result.candidates[result.candidates["pair"].astype(bool)]
    assert pairs["slip_code"].str.contains(r"V1\+U2").any()
    few = find_slips(frame(1, reported_solubility=[0.50]))
    assert not few.candidates["pair"].any()


def test_a_run_without_its_readings_is_listed_as_unchecked() -> None:
    result = find_slips(frame(recovered_mass_g=[1.61, np.nan, 2.010]))
    assert list(result.unchecked["run_id"]) == ["Mon/2"]
    assert result.table["verdict"][1] == "not checked"
    assert "Mon/2" not in set(result.disagreeing["run_id"])


@pytest.mark.parametrize(
    "gap",
    ["section", "group", "temperature_c", "fill_2_ml", "reported_unit", "initial_mass_g"],
)
def test_a_column_of_missing_values_is_survived(gap: str) -> None:
    result = find_slips(
        frame().assign(**{gap: None if gap in ("section", "group", "reported_unit") else np.nan})
    )
    assert len(result.table) == 3


def test_nothing_reported_gives_an_empty_result() -> None:
    result = find_slips(frame(reported_solubility=[np.nan] * 3))
    assert result.n == 0
    assert result.export().empty
    assert "0 of 0" in result.headline()


def test_zero_and_negative_reports_and_zero_dissolved() -> None:
    rows = frame(
        reported_solubility=[0.0, -1.64, 0.0],
        recovered_mass_g=[1.610, 1.810, 2.403],
    )
    places = pd.DataFrame({"reported_solubility": pd.array([2, 2, 2], dtype="Int64")})
    result = find_slips(ClassRecords.from_frame(rows, decimals=places))
    codes = result.candidates.groupby("run_id")["slip_code"].agg("/".join)
    assert "R2" in codes["Mon/1"]  # the quotient in g/mL rounds to nothing
    assert "S3" in codes["Mon/2"]
    assert result.table["agrees"].tolist() == [False, False, True]


def test_set_aside_runs_are_checked_too() -> None:
    result = find_slips(frame(set_aside=["spilled", "", ""]))
    assert len(result.table) == 3


def test_unknown_solute_is_checked_by_mass_and_not_by_amount() -> None:
    rows = frame(solute=["kryptonite"] * 3, reported_unit=["g/L", "g/L", "mol/L"])
    result = find_slips(rows)
    assert result.table["agrees"].tolist() == [False, True, False]
    assert "molar mass" in result.unchecked["reason"].item()


def test_paper_behind_the_residue_is_taken_off() -> None:
    rows = frame(1, recovered_with_paper_mass_g=[2.210], paper_mass_g=[0.600])
    rows["reported_solubility"] = 1.64
    assert find_slips(rows.drop(columns="recovered_mass_g")).table["agrees"].all()


def test_readings_of_the_next_row_are_named() -> None:
    rows = frame(3, recovered_mass_g=[1.610, 1.700, 2.010])
    rows["reported_solubility"] = [round(1000 * (2.203 - 1.700) / 239.5, 3), 2.10, 1.678]
    result = find_slips(rows)
    of_first = result.candidates[result.candidates["run_id"] == "Mon/1"]
    assert of_first["slip_code"].str.contains("D3").any()
    assert of_first["formula"].str.contains("Mon/2").any()


def test_value_after_expected_effects_counts_as_right() -> None:
    from types import SimpleNamespace

    table = pd.DataFrame({"run_id": ["Mon/1"], "route": ["residue"], "value_g_per_100g": [0.1502]})
    est = SimpleNamespace(table=table, protocol=SimpleNamespace(solute="calcium hydroxide"))
    rows = frame(1, reported_solubility=[0.1502], reported_unit=["g/100 g water"])
    assert not find_slips(rows).table["agrees"].any()
    assert find_slips(rows, est).table["agrees"].all()  # type: ignore[arg-type]


@pytest.mark.parametrize("name", SUBSTANCES)
def test_every_listed_substance_has_a_molar_mass(name: str) -> None:
    assert SUBSTANCES[name].molar_mass > 20
    assert substance(name) is substance(SUBSTANCES[name].formula)


def test_names_and_formulas_of_solutes() -> None:
    assert substance("Ca(OH)₂") is SUBSTANCES["calcium hydroxide"]
    assert substance("Slaked  lime") is SUBSTANCES["calcium hydroxide"]
    assert substance("") is SUBSTANCES["calcium hydroxide"]
    assert substance("unobtainium") is None
    known = substance("Na2SO4")
    # From memory: 142.04 g/mol.
    assert known is not None
    assert known.molar_mass == pytest.approx(142.04, abs=0.02)


def test_every_code_has_words() -> None:
    assert all(len(words) > 4 for words in TERMS.values())
    assert term("T1/T3") == f"{TERMS['T1']} = {TERMS['T3']}"
