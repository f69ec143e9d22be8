"""Figures of a written number: how many there are, rounding to them, and how they get mistyped."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]
Counts = npt.NDArray[np.int64]

# A number computed by a program carries 15 figures; nobody copies more than this many.
MOST_FIGURES = 6
# Positions of a reading in which a slip of the finger is looked for.
MOST_DECIMALS = 4


def shortest_decimals(values: npt.ArrayLike) -> Counts:
    """Return the decimals of the shortest text of each number; 0 where it is missing."""
    flat = np.asarray(values, dtype=float)
    found = [
        len(np.format_float_positional(v, trim="-").partition(".")[2]) if np.isfinite(v) else 0
        for v in flat.ravel()
    ]
    return np.array(found, dtype=np.int64).reshape(flat.shape)


def half_unit(decimals: npt.ArrayLike) -> Vector:
    """Return half a unit of the last of the given decimals."""
    return np.asarray(0.5 * 10.0 ** -np.asarray(decimals, dtype=float))


def leading_place(values: npt.ArrayLike) -> Counts:
    """Return the power of ten of the first figure of each number; 0 for zero and missing."""
    size = np.abs(np.asarray(values, dtype=float))
    usable = np.isfinite(size) & (size > 0)
    place = np.floor(np.log10(np.where(usable, size, 1.0)) + 1e-12)
    return np.where(usable, place, 0).astype(np.int64)


def round_figures(values: npt.ArrayLike, figures: npt.ArrayLike) -> Vector:
    """Round to significant figures (half away from zero, as taught in school)."""
    x = np.asarray(values, dtype=float)
    step = 10.0 ** (leading_place(x) - np.asarray(figures) + 1)
    return np.asarray(np.copysign(np.floor(np.abs(x) / step + 0.5 + 1e-9), x) * step)


def significant_figures(values: npt.ArrayLike, decimals: npt.ArrayLike) -> Counts:
    """Return the significant figures of numbers written with the given decimals; 0 for zero."""
    x = np.asarray(values, dtype=float)
    figures = leading_place(x) + 1 + np.asarray(decimals)
    return np.where(x == 0, 0, np.maximum(figures, 1)).astype(np.int64)


def reported_resolution(value: float, decimals: int) -> tuple[int, float]:
    """Return the significant figures of a reported number and half a unit of its last figure.

    Zeros that end a whole number may only hold its place (1600 mg/L), so they are not counted as
    figures, except that two figures are always granted; program output is cut to
    :data:`MOST_FIGURES`.
    """
    if value == 0:
        return 0, 0.5 * 10.0**-decimals
    place = int(leading_place(value))
    figures = max(place + 1 + decimals, 1)
    if decimals == 0 and figures > 2:
        whole = f"{abs(value):.0f}"
        figures = max(2, len(whole.rstrip("0")))
    figures = min(figures, MOST_FIGURES)
    return figures, 0.5 * 10.0 ** (place - figures + 1)


def mistyped(value: float, decimals: int) -> Iterator[tuple[str, str, float]]:
    """Yield every number one slip of the finger away from a reading.

    Parameters
    ----------
    value : float
        The reading as recorded.
    decimals : int
        Its recorded decimals.

    Yields
    ------
    code, how, number : tuple of (str, str, float)
        ``D1`` two neighbouring digits exchanged; ``D2`` one digit wrong, dropped or repeated, or
        the decimal point moved by one place. Each differing number once for each code.
    """
    text = f"{abs(value):.{min(decimals, MOST_DECIMALS)}f}"
    places = [i for i, c in enumerate(text) if c.isdigit()]
    right = float(text)
    seen: set[tuple[str, float]] = set()
    for code, how, written in _one_slip(text, places):
        number = float(written)
        if number != right and number > 0 and (code, number) not in seen:
            seen.add((code, number))
            yield code, how, float(np.copysign(number, value))


def mistyped_columns(values: Vector, decimals: Counts) -> list[tuple[str, Vector]]:
    """Return the mistyped forms of many readings side by side.

    Parameters
    ----------
    values, decimals : ndarray, shape (n,)
        Readings and their recorded decimals.

    Returns
    -------
    list of (str, ndarray)
        Code and, for each reading, one mistyped form; not a number where a reading has fewer
        forms than the others.
    """
    forms: dict[str, list[list[float]]] = {"D1": [], "D2": []}
    for value, places in zip(values, decimals, strict=True):
        found: dict[str, list[float]] = {"D1": [], "D2": []}
        if np.isfinite(value):
            for code, _, number in mistyped(float(value), int(places)):
                found[code].append(number)
        for code, numbers in found.items():
            forms[code].append(numbers)
    out = []
    for code, rows in forms.items():
        for k in range(max(map(len, rows), default=0)):
            column = [row[k] if k < len(row) else np.nan for row in rows]
            out.append((code, np.array(column)))
    return out


def _one_slip(text: str, places: list[int]) -> Iterator[tuple[str, str, str]]:
    for i, j in pairwise(places):
        digits = list(text)
        digits[i], digits[j] = digits[j], digits[i]
        yield "D1", "two digits exchanged", "".join(digits)
    for power in (1, -1):
        yield "D2", "decimal point moved", f"{float(text) * 10.0**power:.8g}"
    for i in places:
        yield "D2", "one digit dropped", (text[:i] + text[i + 1 :]).strip(".") or "0"
        yield "D2", "one digit repeated", text[: i + 1] + text[i:]
        for digit in "0123456789":
            yield "D2", "one digit wrong", text[:i] + digit + text[i + 1 :]
