"""Estimates of location that a few odd groups cannot move, row-wise on arrays.

Every function takes values of shape ``(..., n)`` and works along the last axis, so one class and
ten thousand resamples of it use the same code. They look at the spread of the values only; the
stated uncertainties do not weigh.

Sources: ISO 13528:2015, annex C (MADe, Algorithm A, Q_n); Huber, Ann. Math. Statist. 35 (1964)
73; Hodges & Lehmann, Ann. Math. Statist. 34 (1963) 598; Rousseeuw & Croux, J. Am. Stat. Assoc.
88 (1993) 1273; Tukey & McLaughlin, Sankhya A 25 (1963) 331, and Yuen, Biometrika 61
(1974) 165 (trimmed mean and its variance).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy.special import ndtri

from solubility_stats.pooling.pairs import pair_order_statistic

Vector = npt.NDArray[np.float64]

MAD_FACTOR = 1.483  # ISO 13528:2015, C.2.2, to the digits printed there; exact 1.4826022
ALGORITHM_A_FACTOR = 1.134  # ISO 13528:2015, C.3.1; exact 1.1333927
ISO_MEDIAN_FACTOR = 1.25  # ISO 13528:2015, 7.7.3: sqrt(pi/2) rounded
HUBER_K = 1.5
TRIM = 0.2  # share cut from each end (Wilcox, Introduction to Robust Estimation, 2012, ch. 3)

# Finite-sample factors that make 1.4826 MAD unbiased for a normal sample of n = 2 ... 9
# (Croux & Rousseeuw, Computational Statistics 1 (1992) 411, table 1); n / (n - 0.8) beyond.
_MAD_SMALL = (1.196, 1.495, 1.363, 1.206, 1.200, 1.140, 1.129, 1.107)
# The same for Q_n, n = 2 ... 12, and the fits beyond (values of the package robustbase 0.95).
_QN_SMALL = (
    0.399356, 0.99365, 0.51321, 0.84401, 0.61220, 0.85877, 0.66993, 0.87344, 0.72014, 0.88906,
    0.75743,
)  # fmt: skip


def made(x: Vector) -> Vector:
    """Return the scaled median absolute deviation, 1.483 times the MAD (ISO 13528, C.2.2)."""
    middle = np.median(x, axis=-1, keepdims=True)
    return np.asarray(MAD_FACTOR * np.median(np.abs(x - middle), axis=-1))


def small_sample_mad_factor(n: int) -> float:
    """Return the factor that removes the bias of the MAD in a normal sample of size ``n``."""
    return _MAD_SMALL[n - 2] if 2 <= n <= 9 else n / (n - 0.8)


def qn_scale(x: Vector, *, finite_sample: bool = True) -> Vector:
    """Return the scale Q_n, consistent for the normal distribution.

    Parameters
    ----------
    x : ndarray, shape (..., n)
        Values.
    finite_sample : bool
        Apply the small-sample factor; it moves the result by 5 to 16 % for 10 to 30 values.
    """
    n = x.shape[-1]
    if n < 2:
        return np.zeros(x.shape[:-1])
    half = n // 2 + 1
    raw = pair_order_statistic(x, half * (half - 1) // 2, "difference")
    return np.asarray(raw * qn_factor(n, finite_sample=finite_sample))


def qn_factor(n: int, *, finite_sample: bool = True) -> float:
    """Return what turns the raw order statistic of Q_n into a standard deviation."""
    normal = float(1 / (np.sqrt(2) * ndtri(5 / 8)))
    return normal * _qn_small_sample(n) if finite_sample else normal


def _qn_small_sample(n: int) -> float:
    if n <= 12:
        return _QN_SMALL[n - 2]
    if n % 2:
        bias = 1.60188 + (-2.1284 - 5.172 / n) / n
    else:
        bias = 3.67561 + (1.9654 + (6.987 - 77 / n) / n) / n
    return 1 / (bias / n + 1)


def algorithm_a(
    x: Vector, *, iterations: int = 1000, tolerance: float = 1e-12
) -> tuple[Vector, Vector]:
    """Return robust mean and robust standard deviation by Algorithm A (ISO 13528:2015, C.3).

    Iterated to convergence, not to the third figure as the standard permits: its printed
    examples stop a few steps earlier, with a slightly smaller standard deviation.

    Parameters
    ----------
    x : ndarray, shape (..., n)
        Values.
    iterations : int
        Largest number of steps; 0 returns median and MADe.
    tolerance : float
        Change, in starting standard deviations, at which to stop.

    Returns
    -------
    mean, sd : ndarray, shape (...)
    """
    n = x.shape[-1]
    middle = np.median(x, axis=-1)
    centred = (x - middle[..., None]).reshape(-1, n)
    sd = MAD_FACTOR * np.median(np.abs(centred), axis=-1)
    mean = np.zeros_like(sd)
    if n > 1:
        # More than half of the values equal: the standard lets another scale start.
        sd = np.where(sd > 0, sd, np.std(centred, axis=-1, ddof=1))
        mean, sd = _winsorise(centred, mean, sd, iterations, tolerance)
    return np.asarray(middle + mean.reshape(middle.shape)), np.asarray(sd.reshape(middle.shape))


def _winsorise(
    centred: Vector, mean: Vector, sd: Vector, iterations: int, tolerance: float
) -> tuple[Vector, Vector]:
    """Iterate the rows of ``centred``, shape (b, n), each until it stands still."""
    n = centred.shape[1]
    limit = tolerance * np.maximum(sd, np.finfo(float).tiny)
    one = np.ones(n)
    active = np.arange(mean.size)
    rows, clipped = centred, np.empty_like(centred)
    for _ in range(iterations):
        m, s = mean[active], sd[active]
        part = clipped[: active.size]
        np.clip(rows, (m - 1.5 * s)[:, None], (m + 1.5 * s)[:, None], out=part)
        mean[active] = (part @ one) / n
        square = np.einsum("ij,ij->i", part, part) - n * mean[active] ** 2
        sd[active] = ALGORITHM_A_FACTOR * np.sqrt(np.maximum(square, 0.0) / (n - 1))
        moving = np.abs(sd[active] - s) + np.abs(mean[active] - m) > limit[active]
        if not moving.all():
            active, rows = active[moving], rows[moving]
        if not active.size:
            break
    return mean, sd


def huber(
    x: Vector, scale: Vector, *, k: float = HUBER_K, tolerance: float = 1e-12
) -> tuple[Vector, Vector]:
    """Return Huber's M-estimate of location with a fixed scale, and its standard error.

    Parameters
    ----------
    x : ndarray, shape (..., n)
        Values.
    scale : ndarray, shape (...)
        Scale, for instance :func:`qn_scale`.
    k : float
        Deviations beyond ``k`` scales are pulled in to ``k`` scales.
    tolerance : float
        Change, in scales, at which to stop.

    Returns
    -------
    location, u : ndarray, shape (...)
        ``u`` from the influence function, ``scale^2 mean(psi^2) / mean(psi')^2 / (n - 1)``.
    """
    n = x.shape[-1]
    middle = np.median(x, axis=-1)
    centred, reach = x - middle[..., None], k * np.asarray(scale)
    shift, one = np.zeros_like(middle), np.ones(n) / n
    limit = tolerance * np.maximum(scale, np.finfo(float).tiny)
    for _ in range(1000):
        low, high = (shift - reach)[..., None], (shift + reach)[..., None]
        fresh = np.clip(centred, low, high) @ one
        done = np.all(np.abs(fresh - shift) <= limit)
        shift = fresh
        if done:
            break
    location = middle + shift
    residual = x - location[..., None]
    pulled = np.clip(residual, -reach[..., None], reach[..., None])
    inside = np.mean(np.abs(residual) <= reach[..., None], axis=-1)
    variance = np.mean(pulled**2, axis=-1) / np.maximum(inside, 1 / n) ** 2 / max(n - 1, 1)
    return np.asarray(location), np.asarray(np.sqrt(variance))


def hodges_lehmann(x: Vector) -> Vector:
    """Return the median of the means of all pairs, each value also paired with itself."""
    n = x.shape[-1]
    pairs = n * (n + 1) // 2
    low = pair_order_statistic(x, (pairs + 1) // 2, "sum")
    high = low if pairs % 2 else pair_order_statistic(x, pairs // 2 + 1, "sum")
    return np.asarray((low + high) / 4)


def trimmed_mean(x: Vector, *, share: float = TRIM) -> tuple[Vector, Vector, int]:
    """Return the trimmed mean, its standard error and degrees of freedom.

    Parameters
    ----------
    x : ndarray, shape (..., n)
        Values.
    share : float
        Share of values cut from each end, 0 (arithmetic mean) to below 0.5.
    """
    n = x.shape[-1]
    cut = int(share * n)
    ordered = np.sort(x, axis=-1) if cut else x
    kept = ordered[..., cut : n - cut]
    value = kept.mean(axis=-1)
    if n < 2:
        return value, np.full(np.shape(value), np.nan), 0
    # Winsorised sum of squares: the values cut count as the nearest kept ones.
    winsorised = kept.sum(axis=-1) + cut * (kept[..., 0] + kept[..., -1])
    centre = (winsorised / n)[..., None]
    square = np.sum((kept - centre) ** 2, axis=-1)
    square = square + cut * ((kept[..., 0] - centre[..., 0]) ** 2)
    square = square + cut * ((kept[..., -1] - centre[..., 0]) ** 2)
    h = n - 2 * cut
    return np.asarray(value), np.asarray(np.sqrt(square / (h * (h - 1)))), h - 1
