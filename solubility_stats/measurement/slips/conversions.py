"""Slips of units, molar mass and reference, and wrong formulas as a whole, for every route."""

from __future__ import annotations

import numpy as np

from solubility_stats.measurement.slips.digits import Vector, mistyped_columns
from solubility_stats.measurement.slips.filtrate import wrong_formulas
from solubility_stats.measurement.slips.match import Asked
from solubility_stats.measurement.slips.route import (
    ROOM,
    Cases,
    Route,
    Variant,
    Words,
    constant,
    plain_value,
)

# Numbers stated per gram and millilitre: what the value may have been meant in.
_MEANT: tuple[tuple[str, float, str], ...] = (
    ("U1", 1.0, "per mL"),
    ("U2", 1e2, "per 100 mL"),
    ("U3", 1e3, "per litre"),
    ("U7", 1e3, "in thousandths per mL"),
    ("U4", 1e6, "in thousandths per litre"),
    ("U10", 1e5, "in thousandths per 100 mL"),
)
# Wrong powers of ten on the way, whatever the unit.
_POWERS: tuple[tuple[str, float, str], ...] = (
    ("U5", 0.1, "litres from mL by 100"),
    ("U5", 1e3, "litres from mL by a million"),
    ("U6", 1e-3, "kilograms for grams"),
)
_GALLON, _OUNCE = 3.785, 0.0296  # litres


def unit_slips(cases: Cases) -> list[Variant]:
    """Return unit slips, mixed-up references and molar-mass slips of the cases."""
    none, per, molar = np.zeros(cases.n), cases.per, cases.molar
    out = [
        Variant(code, "unit", _differs(factor / per), none, _times(factor / per, f"({words})"))
        for code, factor, words in _MEANT
    ]
    for code, factor, words in _POWERS:
        out.append(Variant(code, "unit", none + factor, none, constant(f"× {factor:g} ({words})")))
    for litres in (_GALLON, _OUNCE):
        out.append(
            Variant("U8", "unit", none + litres, none, constant(f"× {litres:g} (US measure)"))
        )
    out += _amounts(cases, per, molar)
    return out


def _amounts(cases: Cases, per: Vector, molar: Vector) -> list[Variant]:
    none = np.zeros(cases.n)
    is_amount = np.where(cases.amount, 1.0, np.nan)
    is_mass = np.where(cases.amount, np.nan, 1.0)
    out = []
    for factor, words in ((1e3, "g/L"), (1e2, "g/100 mL")):
        ratio = factor / per * molar * is_amount
        out.append(Variant("U9", "unit", ratio, none, constant(f"({words}, not divided by M)")))
    for factor, words in ((1e3, "mol/L"), (1e6, "mmol/L")):
        ratio = factor / per / molar * is_mass
        out.append(Variant("U9", "unit", ratio, none, _over_molar(molar, words)))
    out.append(
        Variant("M4", "formula", molar**2 * is_amount, none, lambda i: f"× {molar[i]:.2f} g/mol")
    )
    two = np.array([s is not None and s.equivalents == 2 for s in cases.substances])
    for factor in (2.0, 0.5):
        ratio = np.where(two, factor, np.nan)
        out.append(Variant("M6", "ion", ratio * is_amount, none, constant(f"× {factor:g} (ion)")))
    return out + wrong_formulas(cases, "", is_amount, power=-1)


def reference_slips(cases: Cases, x: Vector) -> list[Variant]:
    """Return the mix-up of mass of water and mass of solution; invisible for a sparing solute."""
    rho = cases.density
    to_solution = rho / (rho + x)
    ratio = np.select(
        [cases.kind("water"), cases.kind("solution")],
        [to_solution, 1 / to_solution],
        default=np.nan,
    )
    words = constant("(water and solution mixed up)")
    return [Variant("W1", "reference", ratio, ROOM[1] * np.abs(x), words)]


def whole_slips(cases: Cases, route: Route) -> list[Variant]:
    """Return the slips that replace the whole formula by another one."""
    r = cases.readings
    stated, none = plain_value(route.name, route.right, cases), np.zeros(cases.n)
    out: list[Variant] = []

    def add(code: str, value: Vector, half: Vector, words: Words) -> None:
        out.append(Variant(code, "whole", value / stated, half, words))

    if route.name == "residue":
        m0, mr, volume = (
            r.value[n] for n in ("initial_mass_g", "recovered_mass_g", "water_volume_ml")
        )
        y = route.right * volume
        half_y, half_v = route.half["mass"], route.half["volume"]
        h0, hr = r.half["initial_mass_g"] / m0, r.half["recovered_mass_g"] / np.abs(mr)
        moles = y / np.where(cases.amount, cases.molar, 1.0)
        add("S8", 100 * y / m0, half_y + h0, lambda i: f"100 × {y[i]:.6g} g ÷ {m0[i]:g} g")
        add("S9", 100 * mr / m0, hr + h0, lambda i: f"100 × {mr[i]:g} g ÷ {m0[i]:g} g")
        add("S10", volume / y, half_y + half_v, lambda i: f"{volume[i]:g} mL ÷ {y[i]:.6g} g")
        for factor in (1.0, 1e-3):
            add("S11", y * volume * factor, half_y + half_v, _product(y, volume, factor))
        for factor in (1.0, 1e2, 1e3):
            words = _over_both(y, m0, volume, factor)
            add("S11", factor * y / m0 / volume, half_y + h0 + half_v, words)
        add("S12", np.where(cases.amount, np.nan, y), half_y, lambda i: f"{y[i]:.6g} g")
        add("M5", np.where(cases.amount, moles, np.nan), half_y, lambda i: f"{moles[i]:.6g} mol")
    else:
        small = "aliquot_ml" if route.name == "titration" else "evaporation_aliquot_ml"
        aliquot = r.value[small]
        solid = route.right * aliquot / np.where(cases.amount, cases.molar, 1.0)
        half = route.total_half(without="aliquot")
        code = "M5" if route.name == "titration" else "E2"
        unit = "mol or g" if route.name == "titration" else "g"
        add(code, solid, half, lambda i: f"{solid[i]:.6g} {unit} in the aliquot")
        if route.name == "titration":
            for factor in (1e-3, 1e3):
                words = constant(f"× {factor:g} (mL not converted)")
                out.append(Variant("T11", "unit", np.full(cases.n, factor), none, words))
    return out


def result_digits(cases: Cases, plain: Vector, asked: Asked) -> list[Variant]:
    """Return the right answer, written to the reported decimals, with two digits exchanged."""
    written = np.round(plain, 12)
    exchanged = mistyped_columns(written, asked.decimals)
    return [
        Variant(
            code,
            "whole",
            number / plain,
            np.zeros(cases.n),
            _exchanged(number),
            "digit",
        )
        for code, number in exchanged
        if code == "D1"
    ]


def _exchanged(number: Vector) -> Words:
    return lambda i: f"{number[i]:g}, digits of the result exchanged,"


def _differs(ratio: Vector) -> Vector:
    return np.where(np.abs(ratio - 1) < 1e-9, np.nan, ratio)


def _times(ratio: Vector, tail: str) -> Words:
    return lambda i: f"× {ratio[i]:g} {tail}"


def _over_molar(molar: Vector, unit: str) -> Words:
    return lambda i: f"÷ {molar[i]:.2f} g/mol ({unit})"


def _product(y: Vector, volume: Vector, factor: float) -> Words:
    tail = "" if factor == 1 else f" × {factor:g}"
    return lambda i: f"{y[i]:.6g} g × {volume[i]:g} mL{tail}"


def _over_both(y: Vector, m0: Vector, volume: Vector, factor: float) -> Words:
    head = "" if factor == 1 else f"{factor:g} × "
    return lambda i: f"{head}{y[i]:.6g} g ÷ {m0[i]:g} g ÷ {volume[i]:g} mL"
