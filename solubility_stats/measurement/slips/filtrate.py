"""Slips of the routes that work on the filtrate: titration with acid and evaporation."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from solubility_stats.measurement.slips.digits import (
    Vector,
    leading_place,
    mistyped_columns,
    round_figures,
    significant_figures,
)
from solubility_stats.measurement.slips.readings import Readings
from solubility_stats.measurement.slips.residue import NOTHING_G
from solubility_stats.measurement.slips.route import Cases, Route, Variant, Words, constant

# Molar mass of the hydroxide ion, g/mol (sum of the conventional atomic weights of O and H).
HYDROXIDE = 17.007


def titration(cases: Cases) -> Route:
    """Return the titration route: acid times volume over equivalents and aliquot."""
    r = cases.readings
    acid, titre, aliquot = (
        _positive(r, name) for name in ("titrant_mol_per_l", "titrant_ml", "aliquot_ml")
    )
    per_mole = np.array([0 if s is None else s.equivalents for s in cases.substances], dtype=float)
    per_mole[per_mole == 0] = np.nan
    molar = cases.molar
    moles = acid * titre / 1e3 / per_mole
    grams = np.where(cases.amount, 1.0, molar)
    words: dict[str, Words] = {
        "titre": lambda i: f"{r.text('titrant_ml', i)} mL",
        "acid": lambda i: f"× {r.text('titrant_mol_per_l', i)} mol/L",
        "stoichiometry": lambda i: f"÷ {per_mole[i]:g}",
        "aliquot": lambda i: f"÷ {r.text('aliquot_ml', i)} mL",
        "formula": lambda i: "" if cases.forms[i].amount else f"× {molar[i]:.2f} g/mol",
    }
    figures = np.min(
        [
            significant_figures(np.nan_to_num(v, nan=1.0), r.told[name])
            for v, name in (
                (acid, "titrant_mol_per_l"),
                (titre, "titrant_ml"),
                (aliquot, "aliquot_ml"),
            )
        ],
        axis=0,
    )
    route = Route(
        name="titration",
        right=moles * molar / aliquot,
        half={
            "titre": r.half["titrant_ml"] / titre,
            "acid": r.half["titrant_mol_per_l"] / acid,
            "aliquot": r.half["aliquot_ml"] / aliquot,
        },
        words=words,
        steps=(
            (acid * titre / 1e3, 1 / per_mole, 1 / aliquot, grams),
            (acid * titre / 1e3, 1 / per_mole, grams, 1 / aliquot),
            (acid * titre / 1e3, 1 / aliquot, 1 / per_mole, grams),
        ),
        figures=np.maximum(figures, 2),
    )
    return replace(route, variants=tuple(_titration_slips(cases, titre, aliquot, acid, per_mole)))


def _titration_slips(
    cases: Cases, titre: Vector, aliquot: Vector, acid: Vector, per_mole: Vector
) -> list[Variant]:
    r, none = cases.readings, np.zeros(cases.n)
    two = np.where(per_mole == 2, 1.0, np.nan)
    water, half_water = r.value["water_volume_ml"], r.half["water_volume_ml"]
    swapped = (aliquot / titre) ** 2
    out = [
        Variant("T1/T3", "stoichiometry", 2 * two, none, constant("(not divided by 2)")),
        Variant("T2", "stoichiometry", 4 * two, none, constant("× 2")),
        Variant("T6", "volumes", swapped, none, _swapped_words(r)),
        Variant(
            "T7", "aliquot", aliquot / water, half_water / water, lambda i: f"÷ {water[i]:g} mL"
        ),
    ]
    for nominal in (round_figures(acid, 1), _nearest_usual(acid)):
        ratio = np.where(np.abs(nominal / acid - 1) < 1e-9, np.nan, nominal / acid)
        out.append(Variant("T9", "acid", ratio, none, _strength(nominal)))
    half_ion = 2 * HYDROXIDE / cases.molar * two
    by_mass = np.where(cases.amount, np.nan, 1.0)
    out.append(Variant("T5", "formula", half_ion * by_mass, none, constant("× 2 × 17.007 g/mol")))
    out += wrong_formulas(cases, "T4", by_mass, power=1)
    for code, number in mistyped_columns(titre, r.decimals["titrant_ml"]):
        out.append(_plain_digit(code, "titre", number, titre, "mL"))
    return out


def _nearest_usual(acid: Vector) -> Vector:
    """Return the nearest concentration of the series 1, 2, 2.5, 5, mol/L."""
    place = leading_place(acid)
    steps = np.array([1.0, 2.0, 2.5, 5.0, 10.0])
    scaled = acid / 10.0**place
    nearest = np.argmin(np.abs(scaled[:, None] - steps), axis=1)
    return np.asarray(steps[nearest] * 10.0**place)


def _strength(nominal: Vector) -> Words:
    return lambda i: f"× {nominal[i]:g} mol/L"


def _swapped_words(r: Readings) -> Words:
    return lambda i: f"{r.text('aliquot_ml', i)} mL ÷ {r.text('titrant_ml', i)} mL"


def wrong_formulas(cases: Cases, code: str, where: Vector, power: int) -> list[Variant]:
    """Return the slips of a wrong molar mass.

    Parameters
    ----------
    cases : Cases
    code : str
        Code of the slip; empty for the code kept with the substance.
    where : ndarray, shape (n,)
        1 where the slip can happen, not a number elsewhere.
    power : int
        1 where the molar mass multiplies, -1 where it divides.
    """
    from solubility_stats.measurement.slips.substances import Substance

    known = sorted({pair for s in cases.substances if s is not None for pair in s.mistaken})
    out = []
    for own_code, formula in known:
        has = np.array(
            [s is not None and (own_code, formula) in s.mistaken for s in cases.substances]
        )
        mass = Substance(formula).molar_mass
        ratio = np.where(has, (mass / cases.molar) ** power, np.nan) * where
        sign = "×" if power == 1 else "÷"
        words = constant(f"{sign} {mass:.3f} g/mol ({formula})")
        out.append(Variant(code or own_code, "formula", ratio, np.zeros(cases.n), words))
    return out


def evaporation(cases: Cases) -> Route:
    """Return the evaporation route: residue in the dish over the aliquot."""
    r = cases.readings
    full, dish = r.value["dish_residue_mass_g"], r.value["dish_mass_g"]
    aliquot, half_aliquot = _positive(r, "evaporation_aliquot_ml"), r.half["evaporation_aliquot_ml"]
    solid = np.where(full == dish, NOTHING_G, full - dish)
    half_full, half_dish = r.half["dish_residue_mass_g"], r.half["dish_mass_g"]
    decimals = np.maximum(r.told["dish_residue_mass_g"], r.told["dish_mass_g"])
    figures = np.minimum(
        significant_figures(solid, decimals),
        significant_figures(np.nan_to_num(aliquot, nan=1.0), r.told["evaporation_aliquot_ml"]),
    )
    water, half_water = r.value["water_volume_ml"], r.half["water_volume_ml"]
    moles = np.where(cases.amount, 1 / cases.molar, 1.0)
    variants = [
        Variant("E1", "mass", full / solid, half_full / full, lambda i: f"{full[i]:g} g"),
        Variant(
            "S3",
            "mass",
            -np.ones(cases.n),
            (half_full + half_dish) / np.abs(solid),
            constant("(dish − dish with residue)"),
        ),
        Variant(
            "E3", "aliquot", aliquot / water, half_water / water, lambda i: f"÷ {water[i]:g} mL"
        ),
    ]
    for code, number in mistyped_columns(full, r.decimals["dish_residue_mass_g"]):
        variants.append(_difference_digit(code, number, number - dish, solid))
    for code, number in mistyped_columns(dish, r.decimals["dish_mass_g"]):
        variants.append(_difference_digit(code, number, full - number, solid))
    return Route(
        name="evaporation",
        right=solid / aliquot,
        half={"mass": (half_full + half_dish) / np.abs(solid), "aliquot": half_aliquot / aliquot},
        words={
            "mass": lambda i: (
                f"({r.text('dish_residue_mass_g', i)} − {r.text('dish_mass_g', i)}) g"
            ),
            "aliquot": lambda i: f"÷ {aliquot[i]:g} mL",
        },
        steps=((solid, 1 / aliquot, moles), (solid, moles, 1 / aliquot)),
        figures=np.maximum(figures, 1),
        variants=tuple(variants),
    )


def _positive(r: Readings, name: str) -> Vector:
    return np.where(r.value[name] > 0, r.value[name], np.nan)


def _plain_digit(code: str, stage: str, number: Vector, right: Vector, unit: str) -> Variant:
    none = np.zeros_like(right)
    return Variant(code, stage, number / right, none, lambda i: f"{number[i]:g} {unit}", "digit")


def _difference_digit(code: str, number: Vector, mass: Vector, right: Vector) -> Variant:
    words: Callable[[int], str] = lambda i: f"{mass[i]:g} g (with {number[i]:g} g)"  # noqa: E731
    return Variant(code, "mass", mass / right, np.zeros_like(right), words, "digit")
