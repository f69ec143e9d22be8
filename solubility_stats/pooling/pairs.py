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
Pairs = Literal["sum", "difference"]

_MANY = 1500  # beyond this many values bisection is quicker than making all pairs
_CHUNK = 4_000_000  # pairs held at once


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
    """Halve the interval that holds the wanted pair until no double lies between its ends."""
    n = row.size
    position = np.arange(n)

    def at_most(threshold: float) -> int:
        if kind == "sum":  # partners j >= i with x_j <= threshold - x_i
            end = np.searchsorted(row, threshold - row, side="right")
            return int(np.maximum(end - position, 0).sum())
        end = np.searchsorted(row, row + threshold, side="right")
        return int((end - position - 1).sum())

    low, high = (2 * row[0], 2 * row[-1]) if kind == "sum" else (0.0, row[-1] - row[0])
    if at_most(low) >= rank:
        return float(low)
    while low < (middle := low + (high - low) / 2) < high:
        if at_most(middle) >= rank:
            high = middle
        else:
            low = middle
    return float(high)
