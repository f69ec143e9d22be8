"""Between-group variance and weighted mean when every value has its own uncertainty.

Array core. Model for ``n`` values: ``y = mu + delta + e + s`` with ``delta ~ N(0, tau2)`` and
``e ~ N(0, v)`` independent, and ``s`` from causes that several values share.

How shared causes enter
-----------------------
A cause with a loading on *every* value moves all of them: the spread says nothing about it, so
it stays out of this module and is added to the variance of the mean afterwards. A cause shared
by *some* values (a section's balance) makes them differ in groups; the spread does show it, so
it is part of the covariance ``V(tau2) = diag(v + tau2) + A A'`` behind Q and ``tau2``. ``A``
carries one size per cause, the mean of its absolute loadings: a loading evaluated at a measured
value is larger where the value is larger, and with such loadings the residuals would be taken
for the cause itself (Peelle's pertinent puzzle; Frühwirth, Neudecker & Leeb, EPJ Web Conf. 27
(2012) 00008). For the same reason the weights of the mean come from ``v + tau2`` alone: they
stay positive, no unit counts for more than its own precision warrants, and the variance of the
mean, which holds for any weights, takes all shared causes in full.
Everything costs O(n k^2) for ``k`` such causes; no n x n matrix is formed.

Sources: DerSimonian & Laird, Control. Clin. Trials 7 (1986) 177; Paule & Mandel, J. Res. NBS
87 (1982) 377; Viechtbauer, J. Educ. Behav. Stat. 30 (2005) 261 (ML, REML) and Stat. Med. 26
(2007) 37 (Q-profile interval); Higgins & Thompson, Stat. Med. 21 (2002) 1539 (I2, H2).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy import linalg
from scipy.special import chdtri

Vector = npt.NDArray[np.float64]
Tau2Method = Literal["fixed", "dl", "pm", "reml", "ml"]
TAU2_METHODS: tuple[Tau2Method, ...] = ("fixed", "dl", "pm", "reml", "ml")


@dataclass(frozen=True)
class Fit:
    """Generalised least squares mean and quadratic forms at one ``tau2``.

    Attributes
    ----------
    mean : float
        ``1'V^-1 y / 1'V^-1 1``.
    precision : float
        ``1'V^-1 1``.
    weighted : ndarray, shape (n,)
        ``V^-1 1``.
    q : float
        ``(y - mean)' V^-1 (y - mean)``.
    score_square : float
        Squared length of ``V^-1 (y - mean)``.
    trace : float
        Trace of ``V^-1``.
    log_det : float
        Logarithm of the determinant of ``V``.
    """

    mean: float
    precision: float
    weighted: Vector
    q: float
    score_square: float
    trace: float
    log_det: float

    @property
    def trace_projected(self) -> float:
        """Trace of ``P = V^-1 - V^-1 1 1' V^-1 / 1'V^-1 1``."""
        return self.trace - float(self.weighted @ self.weighted) / self.precision


def fit(y: Vector, v: Vector, local: Vector, tau2: float) -> Fit:
    """Return the generalised least squares mean at a given between-group variance.

    Parameters
    ----------
    y, v : ndarray, shape (n,)
        Values and independent variances; ``v + tau2`` must be positive.
    local : ndarray, shape (n, k)
        Loadings of causes shared by some of the values; ``k`` may be 0.
    tau2 : float
        Between-group variance, zero or more.
    """
    inverse = 1 / (v + tau2)
    centre = float(inverse @ y / inverse.sum())
    z = y - centre  # centred first: the sums of squares below must not cancel
    one, wz = inverse, inverse * z
    trace, log_det = float(inverse.sum()), float(-np.log(inverse).sum())
    if local.shape[1]:
        scaled = local * inverse[:, None]
        core = linalg.cho_factor(np.eye(local.shape[1]) + local.T @ scaled)
        one = one - scaled @ linalg.cho_solve(core, local.T @ one)
        wz = wz - scaled @ linalg.cho_solve(core, local.T @ wz)
        trace -= float(np.trace(linalg.cho_solve(core, scaled.T @ scaled)))
        log_det += 2 * float(np.log(np.diag(core[0])).sum())
    precision = float(one.sum())
    shift = float(wz.sum()) / precision
    residual = wz - shift * one
    return Fit(
        mean=centre + shift,
        precision=precision,
        weighted=one,
        q=max(float(residual @ z), 0.0),
        score_square=float(residual @ residual),
        trace=trace,
        log_det=log_det,
    )


def between_variance(y: Vector, v: Vector, local: Vector, method: Tau2Method) -> float:
    """Return the between-group variance, never below 0.

    Parameters
    ----------
    y, v : ndarray, shape (n,)
        Values and independent variances, all positive or all zero.
    local : ndarray, shape (n, k)
        Loadings of causes shared by some values.
    method : str
        ``fixed`` (0 by assumption), ``dl`` (DerSimonian–Laird), ``pm`` (Paule–Mandel),
        ``reml`` or ``ml`` (restricted and full maximum likelihood).
    """
    n = y.size
    if method == "fixed" or n < 2:
        return 0.0
    square = float(np.sum((y - y.mean()) ** 2))
    if square == 0:
        return 0.0
    if np.all(v == 0) and not local.shape[1]:
        return square / (n if method == "ml" else n - 1)
    if method == "dl":
        plain = fit(y, v, local, 0.0)
        return max(0.0, (plain.q - (n - 1)) / plain.trace_projected)
    if method == "pm":
        return solve_q(y, v, local, float(n - 1))
    return _likelihood_maximum(y, v, local, restricted=method == "reml")


def solve_q(y: Vector, v: Vector, local: Vector, target: float) -> float:
    """Return the ``tau2`` at which the generalised Q statistic equals ``target``; 0 if below.

    Q falls steadily with ``tau2`` and is at most ``sum (y - mean)^2 / tau2``, which brackets
    the only root.
    """
    high = float(np.sum((y - y.mean()) ** 2)) / target
    low = 0.0 if np.all(v > 0) else high * 1e-15
    if high <= low:
        return 0.0
    return _root(lambda t: fit(y, v, local, t).q - target, low, high)


def _likelihood_maximum(y: Vector, v: Vector, local: Vector, *, restricted: bool) -> float:
    """Return the ``tau2`` of the highest (restricted) likelihood.

    With very unequal ``v`` the likelihood can have two humps, so a grid finds the hump before
    the score equation is solved on it.
    """

    def score(t: float) -> float:
        f = fit(y, v, local, t)
        return f.score_square - (f.trace_projected if restricted else f.trace)

    top = 10.0 * float(np.ptp(y)) ** 2
    if top == 0.0:  # equal values: no spread beyond the stated variances can be likelier than none
        return 0.0
    start = min(float(np.median(v)), top) * 1e-4
    grid = np.concatenate([[0.0], np.geomspace(max(start, top * 1e-9), top, 33)])
    best = int(np.argmin(_deviance(y, v, local, grid, restricted=restricted)))
    if best == 0 and score(0.0) <= 0:
        return 0.0
    low, high = float(grid[max(best - 1, 0)]), float(grid[min(best + 1, grid.size - 1)])
    return _root(score, low, high)


def _deviance(y: Vector, v: Vector, local: Vector, grid: Vector, *, restricted: bool) -> Vector:
    """Return minus twice the (restricted) log-likelihood at each ``tau2`` of ``grid``."""
    if local.shape[1]:
        fits = [fit(y, v, local, float(t)) for t in grid]
        log_det = np.array([f.log_det for f in fits])
        q, precision = np.array([f.q for f in fits]), np.array([f.precision for f in fits])
    else:
        z = y - y.mean()
        w = 1 / (v + grid[:, None])
        precision = w.sum(axis=1)
        mean = (w @ z) / precision
        q = np.einsum("ij,ij->i", w, (z - mean[:, None]) ** 2)
        log_det = -np.log(w).sum(axis=1)
    return np.asarray(log_det + q + (np.log(precision) if restricted else 0.0))


def _root(function: Callable[[float], float], low: float, high: float) -> float:
    from scipy.optimize import brentq

    if function(low) <= 0:
        return low
    if function(high) >= 0:
        return high
    return float(brentq(function, low, high, xtol=1e-15 * high, rtol=1e-14))


def q_profile(y: Vector, v: Vector, local: Vector, level: float) -> tuple[float, float]:
    """Return the exact interval of the between-group variance by inverting the Q statistic.

    Both ends are 0 when the values agree better than chance allows at ``level``.
    """
    n = y.size
    if n < 2:
        return (float("nan"), float("nan"))
    tail = (1 - level) / 2
    low = solve_q(y, v, local, float(chdtri(n - 1, tail)))
    return low, solve_q(y, v, local, float(chdtri(n - 1, 1 - tail)))


def typical_variance(v: Vector) -> float:
    """Return the typical within-group variance of Higgins & Thompson (2002), their eq. 9."""
    if np.any(v <= 0) or v.size < 2:
        return float(np.mean(v))
    w = 1 / v
    return float((v.size - 1) * w.sum() / (w.sum() ** 2 - (w**2).sum()))
