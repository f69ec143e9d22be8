"""The class as a row of dots with one group marked: plain SVG that keeps its text size."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]

# Dots closer than this share of the width are stacked.
_APART = 0.021
# Pixels: radius of a dot, distance of stacked dots, room for words above, and below the axis for
# the labels, for the words under the interval and for each interval.
_DOT, _ROW, _TOP, _LABELS, _WORDS, _LINE = 4.5, 10.5, 30, 24, 24, 14


@dataclass(frozen=True)
class Dot:
    """One value: place along the width in percent, height in pixels, and whether it is ours."""

    x: str
    y: float
    own: bool


@dataclass(frozen=True)
class Interval:
    """One of the group's own values with its interval, places in percent."""

    low: str
    high: str
    x: str
    y: float


@dataclass(frozen=True)
class Strip:
    """Everything the drawing shows, ready for the template.

    Attributes
    ----------
    height, axis, dot : float
        Height of the drawing, of its axis, and radius of a dot, pixels.
    dots, own : tuple
        Every value of the class; the group's own with their intervals.
    ticks : tuple of (str, str)
        Place in percent and label.
    middle : str
        Place of the class median.
    band : tuple of (str, str, str) or None
        Left end, width and middle of the reference band.
    label : str
        What a screen reader says.
    """

    height: float
    axis: float
    dot: float
    dots: tuple[Dot, ...]
    own: tuple[Interval, ...]
    ticks: tuple[tuple[str, str], ...]
    middle: str
    band: tuple[str, str, str] | None
    label: str


def strip(
    values: Vector,
    own: Sequence[tuple[float, float, float]],
    reference: tuple[float, float] | None,
) -> Strip:
    """Lay out the dots.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Results of the whole class, g per 100 g water; the group's own are among them.
    own : sequence of (value, low, high)
        The group's own results with their intervals.
    reference : (value, u) or None
        Reference at the group's temperature; ``None`` leaves it out.
    """
    shown = [values.min(), values.max(), *(x for triple in own for x in triple)]
    if reference is not None:
        shown += [reference[0] - 2 * reference[1], reference[0] + 2 * reference[1]]
    low, high = min(shown), max(shown)
    margin = 0.06 * (high - low) or 0.05 * abs(high) or 1.0
    low, high = low - margin, high + margin

    def place(x: float) -> float:
        return float((x - low) / (high - low))

    mine = {value for value, _, _ in own}
    piles = stack([place(v) for v in np.sort(values)], _APART)
    tallest = max(level for _, level in piles)
    top = _TOP if reference is not None else _TOP / 2
    axis = top + _ROW * (tallest + 1) + 4
    dots = tuple(
        Dot(_percent(x), axis - 8 - _ROW * level, float(v) in mine)
        for v, (x, level) in zip(np.sort(values), piles, strict=True)
    )
    intervals = tuple(
        Interval(
            _percent(place(a)),
            _percent(place(b)),
            _percent(place(v)),
            axis + _LABELS + 6 + _LINE * k,
        )
        for k, (v, a, b) in enumerate(own)
    )
    band = None
    if reference is not None:
        left, right = (place(reference[0] + s * 2 * reference[1]) for s in (-1, 1))
        band = (_percent(left), _percent(right - left), _percent(place(reference[0])))
    return Strip(
        height=axis + _LABELS + (_WORDS + _LINE * len(own) if own else 0),
        axis=axis,
        dot=_DOT,
        dots=dots,
        own=intervals,
        ticks=tuple((_percent(place(t)), label) for t, label in ticks(low, high)),
        middle=_percent(place(float(np.median(values)))),
        band=band,
        label=f"{len(values)} results of the class along a line, your own marked",
    )


def stack(places: Sequence[float], apart: float) -> list[tuple[float, int]]:
    """Return place and level of each dot of a dot plot.

    Parameters
    ----------
    places : sequence of float
        Where the values lie, in increasing order.
    apart : float
        Width of a dot: values closer than this to the first of a pile join the pile, which
        stands at the middle of its values (L. Wilkinson, Am. Stat. 53 (1999) 276).
    """
    out: list[tuple[float, int]] = []
    pile: list[float] = []
    for x in [*places, math.inf]:
        if pile and x - pile[0] >= apart:
            middle = (pile[0] + pile[-1]) / 2
            out += [(middle, level) for level in range(len(pile))]
            pile = []
        pile.append(x)
    return out


def ticks(low: float, high: float, about: int = 5) -> list[tuple[float, str]]:
    """Return round numbers between two values with their labels."""
    raw = (high - low) / about
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= raw * 0.999)
    decimals = max(0, -math.floor(math.log10(step) + 1e-9))
    first = math.ceil(low / step)
    found = []
    while first * step <= high:
        found.append((first * step, f"{first * step:.{decimals}f}".replace("-", "−")))
        first += 1
    return found


def _percent(share: float) -> str:
    return f"{100 * share:.2f}%"
