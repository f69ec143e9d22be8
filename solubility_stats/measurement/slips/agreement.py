"""Whether a reported number is what its own readings give, on any fair basis and rounding.

Correct work must never be called a slip, so everything a careful person may do counts as right:
per volume of water or of solution, water at its density or at 1 g/mL, a rounded molar mass,
intermediate results rounded to the figures the readings carry, the last figure cut off instead of
rounded, and readings that were rounded when they were written down.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from solubility_stats.measurement.slips.digits import Vector, round_figures
from solubility_stats.measurement.slips.match import Asked
from solubility_stats.measurement.slips.route import (
    Cases,
    Route,
    bases,
    molar_rounding,
    plain_value,
)

Flags = npt.NDArray[np.bool_]

# Figures kept on the way beyond those of the rule: none, one or two guard figures.
GUARD_FIGURES = (0, 1, 2)


def fair_bases(route: Route, cases: Cases) -> list[tuple[str, Vector, Vector]]:
    """Return the bases on which a value counts as right and a slip is looked for."""
    fair = bases(route.name, route.right, cases)
    none = np.zeros(cases.n)
    return fair + [(words, ratio, none) for words, ratio in molar_rounding(route.name, cases)]


def agreement(cases: Cases, route: Route, asked: Asked, corrected: Vector) -> Flags:
    """Tell which reported numbers agree with their readings.

    Parameters
    ----------
    cases, route, asked
        What is checked.
    corrected : ndarray, shape (n,)
        The value after the expected effects of the protocol, g per 100 g of water, where known:
        a group that corrected its result is right as well.

    Returns
    -------
    ndarray of bool, shape (n,)
    """
    plain = plain_value(route.name, route.right, cases)
    fair = bases(route.name, route.right, cases)
    molar = [("", np.ones(cases.n)), *molar_rounding(route.name, cases)]
    reading = route.total_half()
    moles = np.where(cases.amount, cases.molar, 1.0)
    referred = plain / (cases.per * route.right / moles)
    agrees = np.zeros(cases.n, dtype=bool)
    for _, relative, wide in fair:
        for _, by_molar in molar:
            value = plain * relative * by_molar
            agrees |= _within(asked, value, np.abs(value) * (reading + wide))
            agrees |= _cut_off(asked, value)
            for ratio in _rounded_on_the_way(cases, route, relative * referred):
                agrees |= _within(asked, value * ratio, np.abs(value) * wide)
                agrees |= _cut_off(asked, value * ratio)
    with np.errstate(divide="ignore", invalid="ignore"):
        effect = corrected / (100 * route.right / cases.density)
    value = plain * effect
    return agrees | _within(asked, value, np.abs(value) * reading)


def _within(asked: Asked, value: Vector, spread: Vector) -> Flags:
    slack = asked.half * (1 + 1e-6) + spread + 1e-9 * np.abs(value)
    return np.asarray(np.abs(asked.value - value) <= slack)


def _cut_off(asked: Asked, value: Vector) -> Flags:
    beyond = np.abs(value) - np.abs(asked.value)
    same_side = np.sign(value) == np.sign(asked.value)
    return np.asarray(same_side & (beyond >= 0) & (beyond < 2 * asked.half * (1 + 1e-6)))


def _rounded_on_the_way(cases: Cases, route: Route, relative: Vector) -> Iterator[Vector]:
    exact = relative * route.right / np.where(cases.amount, cases.molar, 1.0)
    for guard in GUARD_FIGURES:
        figures = route.figures + guard
        for factors in route.steps:
            running = factors[0] * relative
            for factor in factors[1:]:
                running = round_figures(running * factor, figures)
                # Stopping here: the steps after it are done without rounding.
                yield _finished(running, factors, factor) / exact
    if route.name == "residue":
        water = cases.readings.value["water_volume_ml"] * cases.density
        for kept in (3, 4):
            yield water / round_figures(water, kept)


def _finished(running: Vector, factors: tuple[Vector, ...], last: Vector) -> Vector:
    done = next(k for k, factor in enumerate(factors) if factor is last)
    out = running
    for factor in factors[done + 1 :]:
        out = out * factor
    return out
