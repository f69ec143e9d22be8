"""Order statistics of all pairs of values without making all pairs.

``n`` values have about ``n^2 / 2`` pairwise sums or differences. For small ``n`` they are made
and partially sorted; for large ``n`` the wanted one is found by bisection on its size, counting
pairs below a threshold in O(n log n) (the idea of Johnson & Mizoguchi, SIAM J. Comput. 7 (1978)
147, with bisection on values instead of ranks).
"""

from __future__ import annotations

from typing import Literal

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]
Whole = npt.NDArray[np.int64]
Pairs = Literal["sum", "difference"]

_MANY = 1500  # beyond this many values bisection is quicker than making all pairs
_CHUNK = 4_000_000  # pairs held at once
_FEW = 4  # pairs left per value at which bisection ends and the rest are sorted


def pair_order_statistic(x: Vector, rank: int, kind: Pairs) -> Vector:
    """Return the ``rank``-th smallest pairwise sum or absolute difference of each row.

    Parameters
    ----------
    x : ndarray, shape (..., n)
        Values.
    rank : int
        1 for the smallest.
    kind : {"sum", "difference"}
        ``sum``: ``x_i + x_j`` for ``i <= j``; ``difference``: ``|x_i - x_j|`` for ``i < j``.

    Returns
    -------
    ndarray, shape (...)
    """
    rows = np.sort(np.atleast_2d(x.reshape(-1, x.shape[-1])), axis=-1)
    n = rows.shape[1]
    if n > _MANY:
        found = np.array([_by_bisection(row, rank, kind) for row in rows])
    else:
        found = _by_partition(rows, rank, kind)
    return np.asarray(found.reshape(x.shape[:-1]))


def _by_partition(rows: Vector, rank: int, kind: Pairs) -> Vector:
    n = rows.shape[1]
    i, j = np.triu_indices(n, 0 if kind == "sum" else 1)
    step = max(1, _CHUNK // i.size)
    found = np.empty(rows.shape[0])
    for start in range(0, rows.shape[0], step):
        block = rows[start : start + step]
        pairs = block[:, i] + block[:, j] if kind == "sum" else block[:, j] - block[:, i]
        pairs.partition(rank - 1, axis=-1)
        found[start : start + step] = pairs[:, rank - 1]
    return found


def _by_bisection(row: Vector, rank: int, kind: Pairs) -> float:
    """Halve the interval of sizes that holds the wanted pair until few pairs are left in it."""
    low, high = (2 * row[0], 2 * row[-1]) if kind == "sum" else (0.0, row[-1] - row[0])
    below, up_to = _ends(row, low, kind), _ends(row, high, kind)
    if below.sum() >= rank:
        return float(low)
    while up_to.sum() - below.sum() > _FEW * row.size:
        middle = low + (high - low) / 2
        if not low < middle < high:  # more equal pairs than that: they are the answer
            return float(high)
        ends = _ends(row, middle, kind)
        if ends.sum() >= rank:
            high, up_to = middle, ends
        else:
            low, below = middle, ends
    left = _between(row, below, up_to, kind)
    return float(np.partition(left, rank - 1 - int(below.sum()))[rank - 1 - int(below.sum())])


def _first_partner(n: int, kind: Pairs) -> Whole:
    """Return the first partner counted for each value: itself in sums, the next in differences."""
    return np.arange(n, dtype=np.int64) + (0 if kind == "sum" else 1)


def _ends(row: Vector, threshold: float, kind: Pairs) -> Whole:
    """Return how many partners of each value make a pair at or below ``threshold``."""
    reach = threshold - row if kind == "sum" else row + threshold
    end = np.searchsorted(row, reach, side="right")
    return np.asarray(np.maximum(end - _first_partner(row.size, kind), 0), dtype=np.int64)


def _between(row: Vector, below: Whole, up_to: Whole, kind: Pairs) -> Vector:
    """Return the pairs counted in ``up_to`` and not in ``below``."""
    count = up_to - below
    value = np.repeat(np.arange(row.size), count)
    place = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
    partner = place + (below + _first_partner(row.size, kind))[value]
    pairs = row[value] + row[partner] if kind == "sum" else row[partner] - row[value]
    return np.asarray(pairs)
