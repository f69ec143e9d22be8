"""Order statistics of all pairs within each resample, without making the pairs of each.

All resamples draw from the same ``n`` values, so their pairs come from one sorted list of
candidates. How many pairs of a resample lie at or below a candidate follows from how often each
value was drawn; narrowing the list finds the wanted candidate for a block of resamples at once.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from solubility_stats.pooling.pairs import Pairs, pair_order_statistic

Vector = npt.NDArray[np.float64]
Positions = npt.NDArray[np.integer]
Whole = npt.NDArray[np.int64]

_TABLE = 20_000_000  # entries of candidates by values kept ready; 340 values
_CANDIDATES = 3000  # beyond this many values each resample is searched by itself


class PairStatistic:
    """Finds pairwise order statistics of resamples of the values ``y``.

    Parameters
    ----------
    y : ndarray, shape (n,)
        Values the resamples draw from.
    kind : {"sum", "difference"}
        As in :func:`.pairs.pair_order_statistic`.
    """

    def __init__(self, y: Vector, kind: Pairs) -> None:
        self._y, self._kind, self._n = y, kind, y.size
        self._order = np.argsort(y, kind="stable")
        self._sorted = y[self._order]
        self._direct = y.size > _CANDIDATES
        if self._direct:
            return
        i, j = np.triu_indices(y.size)
        ys = self._sorted
        made = ys[i] + ys[j] if kind == "sum" else ys[j] - ys[i]
        self._candidates = np.unique(made)
        self._partners = self._partner_counts()

    def _row(self, i: int) -> Vector:
        """Return what value ``i`` makes with every value, rising; as the candidates were made."""
        if self._kind == "sum":
            return np.asarray(self._sorted[i] + self._sorted)
        return np.asarray(self._sorted - self._sorted[i])

    def _partner_counts(self) -> Callable[[Whole], Whole]:
        """Return the function from candidates, shape (b,), to partners at or below, (b, n)."""
        if self._candidates.size * self._n <= _TABLE:
            table = np.empty((self._candidates.size, self._n), dtype=np.int16)
            for i in range(self._n):
                table[:, i] = np.searchsorted(self._row(i), self._candidates, side="right")
            return lambda chosen: table[chosen].astype(np.int64)
        sign = -1.0 if self._kind == "sum" else 1.0

        def look_up(chosen: Whole) -> Whole:
            threshold = self._candidates[chosen][:, None] + sign * self._sorted
            return np.asarray(np.searchsorted(self._sorted, threshold, side="right"))

        return look_up

    def __call__(self, positions: Positions, rank: int) -> Vector:
        """Return the ``rank``-th smallest pair of each resample, shape (b,)."""
        if self._direct:
            return pair_order_statistic(self._y[positions], rank, self._kind)
        drawn, total = self._tally(positions)
        rows, m = positions.shape
        low, high = np.full(rows, -1), np.full(rows, self._candidates.size - 1)
        # Excess of pairs over the rank at both ends; no pair lies below the first candidate.
        under = np.full(rows, -float(rank))
        over = np.full(rows, float(self._all_pairs(m) - rank))
        last = np.zeros(rows, dtype=np.int8)  # which end moved last
        active = np.flatnonzero(high - low > 1)
        while active.size:
            middle = _propose(low[active], high[active], under[active], over[active])
            excess = self._count(drawn[active], total[active], middle, m) - float(rank)
            enough = excess >= 0
            up, down = active[enough], active[~enough]
            high[up], over[up] = middle[enough], excess[enough]
            low[down], under[down] = middle[~enough], excess[~enough]
            # Illinois rule: an end that stays twice in a row counts half, so both ends close in.
            under[up[last[up] == 1]] /= 2
            over[down[last[down] == -1]] /= 2
            last[up], last[down] = 1, -1
            active = active[high[active] - low[active] > 1]
        return np.asarray(self._candidates[high])

    def _all_pairs(self, m: int) -> int:
        return m * (m + 1) // 2 if self._kind == "sum" else m * (m - 1) // 2

    def _tally(self, positions: Positions) -> tuple[Whole, Whole]:
        """Return draws of each value, ordered by size, and their running total from 0."""
        rows = positions.shape[0]
        place = np.empty(self._n, dtype=np.int64)
        place[self._order] = np.arange(self._n)
        flat = place[positions] + (np.arange(rows) * self._n)[:, None]
        drawn = np.bincount(flat.ravel(), minlength=rows * self._n).reshape(rows, self._n)
        total = np.zeros((rows, self._n + 1), dtype=np.int64)
        np.cumsum(drawn, axis=1, out=total[:, 1:])
        return drawn, total

    def _count(self, drawn: Whole, total: Whole, chosen: Whole, m: int) -> Whole:
        """Return how many pairs of each resample are at or below its chosen candidate."""
        partners = self._partners(chosen)
        flat = partners + (np.arange(chosen.size) * (self._n + 1))[:, None]
        ordered = np.einsum("ij,ij->i", drawn, total.ravel()[flat])
        if self._kind == "sum":
            threshold = self._candidates[chosen]
            doubled = np.searchsorted(2 * self._sorted, threshold, side="right")
            itself = total[np.arange(chosen.size), doubled]
            return np.asarray((ordered + itself) // 2)
        # Pairs further apart than the candidate are the ordered pairs left over.
        return np.asarray(m * (m - 1) // 2 - (m * m - ordered))


def _propose(low: Whole, high: Whole, under: Vector, over: Vector) -> Whole:
    """Return a candidate strictly between both ends, where a straight line meets the rank."""
    share = (0.5 - under) / (over - under + 1)
    guess = low + (share * (high - low)).astype(np.int64)
    return np.clip(guess, low + 1, high - 1)
