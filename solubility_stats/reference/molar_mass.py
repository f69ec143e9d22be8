"""Molar masses from formulas, with the uncertainty of the standard atomic weights.

``data/atomic_weights.csv`` holds the abridged standard atomic weights 2021 of the IUPAC
Commission on Isotopic Abundances and Atomic Weights (Prohaska et al., Pure Appl. Chem. 94 (2022)
573), with unabridged values where these are single numbers.
"""

from __future__ import annotations

import math
import re
from functools import cache
from importlib.resources import files
from typing import NamedTuple

from solubility_stats.errors import InputError

_SUBSCRIPTS = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_COEFFICIENT = re.compile(r"\d+(?:\.\d+)?")
_TOKEN = re.compile(r"([A-Z][a-z]?)|([(\[])|([)\]])")
_COUNT = re.compile(r"\d+")
_DOTS = ".·•∙⋅*"


class MolarMass(NamedTuple):
    """Molar mass and its standard uncertainty, both in g/mol."""

    value: float
    u: float


def molar_mass(formula: str) -> MolarMass:
    """Return the molar mass of a formula such as ``"Ca(OH)2"`` or ``"CaSO4·2H2O"``.

    Parameters
    ----------
    formula : str
        Element symbols with counts, round or square brackets, hydrate parts after a dot
        (``.``, ``·``, ``•`` or ``*``) with an optional factor (``CaSO4·0.5H2O``). Subscript digits
        are understood; charges are not.

    Returns
    -------
    MolarMass
        ``(value, u)`` in g/mol. The published limits of each atomic weight are taken as a
        rectangular distribution (half-width/√3; Possolo, van der Veen, Meija, Hibbert, Pure Appl.
        Chem. 90 (2018) 395); atoms of one element share their error.

    Raises
    ------
    InputError
        If the formula cannot be read or an element is not known.

    Examples
    --------
    >>> round(molar_mass("Ca(OH)2").value, 3)
    74.092
    """
    weights = _atomic_weights()
    counts = composition(formula)
    unknown = sorted(set(counts) - set(weights))
    if unknown:
        raise InputError(
            "no standard atomic weight is known",
            where=f"formula {formula!r}",
            found=unknown,
            expected="symbols of stable elements, thorium or uranium",
        )
    value = sum(n * weights[e][0] for e, n in counts.items())
    variance = sum((n * weights[e][1]) ** 2 / 3 for e, n in counts.items())
    return MolarMass(value, math.sqrt(variance))


def composition(formula: str) -> dict[str, float]:
    """Return how many atoms of each element a formula holds.

    Raises
    ------
    InputError
        If the formula cannot be read.
    """
    text = str(formula).translate(_SUBSCRIPTS).replace("½", "0.5").replace(" ", "")
    total: dict[str, float] = {}
    position = 0
    while True:
        factor = 1.0
        if found := _COEFFICIENT.match(text, position):
            factor, position = float(found.group()), found.end()
        counts, position = _part(text, position, formula)
        for element, n in counts.items():
            total[element] = total.get(element, 0.0) + factor * n
        if position == len(text):
            return total
        position += 1  # the dot


def _part(text: str, position: int, formula: str) -> tuple[dict[str, float], int]:
    """Read up to a dot or the end; return the counts and where reading stopped."""
    stack: list[dict[str, float]] = [{}]
    start = position
    while position < len(text) and text[position] not in _DOTS:
        token = _TOKEN.match(text, position)
        if token is None:
            raise _unreadable(formula, text, position)
        position = token.end()
        element, opening, _ = token.groups()
        if opening:
            stack.append({})
            continue
        count = 1
        if number := _COUNT.match(text, position):
            count, position = int(number.group()), number.end()
        if element:
            group: dict[str, float] = {element: 1.0}
        elif len(stack) > 1:
            group = stack.pop()
        else:
            raise _unreadable(formula, text, token.start())
        for name, n in group.items():
            stack[-1][name] = stack[-1].get(name, 0.0) + count * n
    if len(stack) > 1 or position == start:
        raise _unreadable(formula, text, position)
    return stack[0], position


def _unreadable(formula: str, text: str, position: int) -> InputError:
    return InputError(
        "a formula cannot be read",
        where=f"formula {formula!r}",
        found=text[position : position + 6] or "the end",
        expected="element symbols, counts, closed brackets, e.g. 'Ca(OH)2' or 'CaSO4.2H2O'",
    )


@cache
def _atomic_weights() -> dict[str, tuple[float, float]]:
    path = files("solubility_stats.reference") / "data" / "atomic_weights.csv"
    lines = path.read_text(encoding="utf-8").split()[1:]
    rows = (line.split(",") for line in lines)
    return {element: (float(value), float(limit)) for element, value, limit in rows}
