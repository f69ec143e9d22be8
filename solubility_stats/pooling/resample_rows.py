"""Every estimator applied to many resamples at once, on arrays.

A resample of ``n`` units is a row of ``n`` positions. Weighted means need only how often each
unit was drawn; robust estimates need the drawn values. Either way one pass serves a whole block
of resamples, and a block is small enough to stay in the processor's cache.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt

from solubility_stats.pooling import robust
from solubility_stats.pooling.random_effects import TAU2_METHODS
from solubility_stats.pooling.resample_pairs import PairStatistic

Vector = npt.NDArray[np.float64]
Positions = npt.NDArray[np.integer]
Kernel = Callable[[Positions], Vector]

_TOLERANCE = 1e-7  # relative to the scale iterated on: far below the noise of resampling
_STEPS = 200


def kernel(y: Vector, v: Vector, method: str) -> Kernel:
    """Return the function from positions, shape (b, m), to the ``b`` estimates.

    Parameters
    ----------
    y, v : ndarray, shape (n,)
        Values and independent variances of the units.
    method : str
        Any method of :data:`~solubility_stats.pooling.METHODS`.
    """
    if method in TAU2_METHODS:
        centre = float(np.median(y))
        return _weighted(y - centre, v, method, centre)
    if method in ("hodges_lehmann", "huber"):
        return _by_pairs(y, method)
    plain: dict[str, Callable[[Vector], Vector]] = {
        "mean": lambda x: np.asarray(x.mean(axis=-1)),
        "median": _median,
        "algorithm_a": lambda x: robust.algorithm_a(x, tolerance=_TOLERANCE)[0],
        "trimmed": lambda x: robust.trimmed_mean(x)[0],
    }
    estimate = plain[method]
    return lambda positions: estimate(y[positions])


def counts(positions: Positions, n: int) -> Vector:
    """Return how often each of ``n`` units occurs in each row, shape (b, n)."""
    rows = positions.shape[0]
    flat = positions + (np.arange(rows) * n)[:, None]
    return np.bincount(flat.ravel(), minlength=rows * n).reshape(rows, n).astype(float)


def _median(x: Vector) -> Vector:
    x.sort(axis=-1)  # a block of its own; sorting short rows is quicker than selecting
    m = x.shape[-1]
    return np.asarray((x[:, (m - 1) // 2] + x[:, m // 2]) / 2)


def _weighted(y: Vector, v: Vector, method: str, centre: float) -> Kernel:
    if np.all(v == 0):  # tau2 is all there is, and the weights are equal
        return lambda positions: centre + y[positions].mean(axis=-1)
    w = 1 / v
    moments = np.column_stack([w, w * y, w * y**2, w**2])

    def run(positions: Positions) -> Vector:
        drawn = counts(positions, y.size)
        dof = positions.shape[1] - 1.0
        s1, sy, syy, s2 = (drawn @ moments).T
        fixed = sy / s1
        if method == "fixed":
            return np.asarray(centre + fixed)
        q = syy - sy * fixed
        tau2 = np.maximum(0.0, (q - dof) / np.maximum(s1 - s2 / s1, np.finfo(float).tiny))
        if method != "dl":
            tau2 = _iterate(drawn, y, v, dof, method, tau2)
        weight = drawn / (v + tau2[:, None])
        return np.asarray(centre + (weight @ y) / weight.sum(axis=1))

    return run


def _iterate(drawn: Vector, y: Vector, v: Vector, dof: float, method: str, start: Vector) -> Vector:
    """Solve the estimating equation of ``tau2`` in every row.

    Paule–Mandel: Newton from 0, which cannot overshoot because Q is convex and falling. Maximum
    likelihood: Fisher scoring from the DerSimonian–Laird value, held at 0 or above.
    """
    tau2 = np.zeros_like(start) if method == "pm" else start.copy()
    limit = _TOLERANCE * float(np.median(v))
    active = np.arange(tau2.size)
    for _ in range(_STEPS):
        step = _step(drawn[active], y, v, dof, method, tau2[active])
        fresh = np.maximum(tau2[active] + step, 0.0)
        moved = np.abs(fresh - tau2[active]) > limit + _TOLERANCE * fresh
        tau2[active] = fresh
        active = active[moved]
        if not active.size:
            break
    return tau2


def _step(drawn: Vector, y: Vector, v: Vector, dof: float, method: str, tau2: Vector) -> Vector:
    w = 1 / (v + tau2[:, None])
    first = drawn * w
    s1 = first.sum(axis=1)
    mean = (first @ y) / s1
    residual = y - mean[:, None]
    if method == "pm":
        first *= residual
        first *= residual
        q = first.sum(axis=1)
        slope = np.einsum("ij,ij->i", first, w)
        return np.asarray(np.divide(q - dof, slope, out=np.zeros_like(q), where=slope > 0))
    second = first * w
    s2 = second.sum(axis=1)
    information = s2
    trace = s1
    if method == "reml":
        s3 = np.einsum("ij,ij->i", second, w)
        trace = s1 - s2 / s1
        information = s2 - 2 * s3 / s1 + (s2 / s1) ** 2
    residual *= residual
    score = np.einsum("ij,ij->i", second, residual) - trace
    # A resample of one single unit drawn n times has no information.
    return np.asarray(
        np.divide(score, information, out=np.zeros_like(score), where=information > 1e-12 * s2)
    )


def _by_pairs(y: Vector, method: str) -> Kernel:
    find = PairStatistic(y, "sum" if method == "hodges_lehmann" else "difference")

    def middle(positions: Positions) -> Vector:
        m = positions.shape[1]
        pairs = m * (m + 1) // 2
        low = find(positions, (pairs + 1) // 2)
        return low / 2 if pairs % 2 else (low + find(positions, pairs // 2 + 1)) / 4

    def location(positions: Positions) -> Vector:
        m = positions.shape[1]
        half = m // 2 + 1
        scale = find(positions, half * (half - 1) // 2) * robust.qn_factor(m)
        return robust.huber(y[positions], scale, tolerance=_TOLERANCE)[0]

    return middle if method == "hodges_lehmann" else location
