"""Lines whose cells slipped to the side: the value of one column stands in the next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from solubility_stats.sheets.column_numbers import numbers_of
from solubility_stats.sheets.model import RawCell

# A value belongs to a column if it lies within this factor of its median, and a column can tell if
# most of its values do (judgement: readings of one class differ by much less).
_WITHIN = 1.6
_TIGHT = 0.75
_FEWEST_LINES, _FEWEST_HITS = 7, 2


def shifted_lines(lines: Sequence[Mapping[int, RawCell]], places: Sequence[int]) -> set[int]:
    """Return the positions of lines whose values fit the columns beside them and not their own.

    Parameters
    ----------
    lines : sequence of mapping of int to RawCell
        The cells of the runs of a table by place.
    places : sequence of int
        Places of the columns of numbers.
    """
    if len(lines) < _FEWEST_LINES or len(places) < _FEWEST_HITS + 1:
        return set()
    first, last = min(places) - 1, max(places) + 1
    values = {p: _numbers(lines, p) for p in range(first, last + 1)}
    middle = {p: m for p in places if (m := _middle(values[p])) is not None}
    found = set()
    for step in (-1, 1):
        strange = np.zeros(len(lines), int)
        at_home_beside = np.zeros(len(lines), int)
        for p, m in middle.items():
            strange += np.isfinite(values[p]) & ~_near(values[p], m)
            beside = values.get(p + step)
            other = middle.get(p + step)
            usual = np.isfinite(beside).mean() > 0.5 if beside is not None else False
            if beside is not None and (other is not None or not usual):
                # A column of scattered numbers cannot tell that one of them is not its own.
                own = _near(beside, other) if other is not None else np.zeros(len(lines), bool)
                at_home_beside += _near(beside, m) & ~own
        slipped = (strange >= _FEWEST_HITS) & (at_home_beside >= _FEWEST_HITS)
        found |= {
            int(i) for i in np.flatnonzero(slipped) if not _stayed(values, middle, int(i), step)
        }
    return found


def _stayed(
    values: Mapping[int, NDArray[np.float64]], middle: Mapping[int, float], line: int, step: int
) -> bool:
    """Tell whether a value behind the first strange one is at home where it could not have slipped.

    What slips takes the rest of its line along.
    """
    places = sorted(middle)
    strange = [p for p in places if not _at_home(values[p][line], middle[p])]
    for p in places:
        source = middle.get(p - step)
        moved = source is not None and _at_home(source, middle[p])
        outside = not min(places) <= p - step <= max(places)
        kept = p > strange[0] and _at_home(values[p][line], middle[p]) and not moved
        if kept and (source is not None or outside):
            return True
    return False


def _at_home(value: float, middle: float) -> bool:
    return middle / _WITHIN <= value <= middle * _WITHIN


def _numbers(lines: Sequence[Mapping[int, RawCell]], place: int) -> NDArray[np.float64]:
    """Return the numbers of a column; typed ones as they are, which is nearly all of them."""
    cells = [line.get(place) for line in lines]
    try:
        return np.array([np.nan if c is None else c.value for c in cells], dtype=float)
    except (TypeError, ValueError):
        return numbers_of(cells, None, "").values


def _middle(values: NDArray[np.float64]) -> float | None:
    """Return the median of a column whose values lie close together."""
    known = values[np.isfinite(values) & (values > 0)]
    if known.size < _FEWEST_LINES:
        return None
    middle = float(np.median(known))
    return middle if _near(known, middle).mean() >= _TIGHT else None


def _near(values: NDArray[np.float64], middle: float) -> NDArray[np.bool_]:
    with np.errstate(invalid="ignore"):
        return (values <= middle * _WITHIN) & (values >= middle / _WITHIN)
