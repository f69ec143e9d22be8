"""Linear model with nested random effects, fitted by REML; arrays in, arrays out.

Classes are nested: runs in groups, groups in sections, sections in semesters, never balanced.
The covariance of such data is a sum of blocks within blocks, so the likelihood follows from a
recursion over the levels, innermost first: with ``a = 1' V^-1 1`` and ``b = 1' V^-1 W`` of the
children of a unit summed, adding the unit's own variance ratio ``g`` changes the sums of squares
by ``-g b b' / (1 + g a)`` and the log-determinant by ``log(1 + g a)`` (Sherman-Morrison). No
``n x n`` matrix is formed; the cost is O(n) for each level. Gradients are complex-step
derivatives, exact to rounding (W. Squire and G. Trapp, SIAM Rev. 40 (1998) 110-112).

A general mixed-model routine was not used because its intervals are normal ones and it fails at
the boundary, which is where classes of three sections live; the tests compare the two.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from solubility_stats.pooling.tidy import Codes, Vector

_STEP = 1e-30
_TOP = 25.0  # log1p of the largest variance ratio considered, about 7e10


@dataclass(frozen=True)
class NestedDesign:
    """Rows sorted so that every unit of every level is one run of rows.

    Attributes
    ----------
    response : ndarray, shape (n,)
        Shifted by its mean.
    fixed : ndarray, shape (n, q)
        Full-rank design of the fixed effects.
    starts : tuple of ndarray
        For each level, innermost first: where each unit starts among the units one level in.
    counts : tuple of int
        Units of each level, innermost first.
    """

    response: Vector
    fixed: Vector
    starts: tuple[Codes, ...]
    counts: tuple[int, ...]

    @property
    def n(self) -> int:
        """Number of rows."""
        return int(self.response.size)

    @property
    def dof(self) -> int:
        """Rows less fixed effects."""
        return self.n - int(self.fixed.shape[1])


@dataclass(frozen=True)
class NestedFit:
    """Estimates of a nested model.

    Attributes
    ----------
    variances : ndarray, shape (k + 1,)
        Residual variance first, then that of each level, innermost first. None is negative.
    beta : ndarray, shape (q,)
        Fixed effects, for the response as given.
    covariance : ndarray, shape (q, q)
        Their covariance.
    deviance : float
        -2 log restricted likelihood, up to a constant of the design.
    converged : bool
        Whether the optimiser said so.
    """

    variances: Vector
    beta: Vector
    covariance: Vector
    deviance: float
    converged: bool


def design(
    response: Vector, levels: Sequence[Codes], fixed: Vector | None = None
) -> tuple[NestedDesign, float]:
    """Return the sorted design and the shift taken off the response.

    Parameters
    ----------
    response : ndarray, shape (n,)
        Observed values.
    levels : sequence of ndarray of int, shape (n,)
        Unit of each row at each level, outermost first; each level is nested in the one before.
    fixed : ndarray, shape (n, q), optional
        Design of the fixed effects with full column rank and an intercept in its span; the
        intercept alone by default.
    """
    shift = float(response.mean())
    rows = np.ones((response.size, 1)) if fixed is None else np.asarray(fixed, dtype=float)
    order = np.lexsort(tuple(levels)[::-1]) if levels else np.arange(response.size)
    starts: list[Codes] = []
    inner = np.arange(response.size)  # first row of each unit one level in
    for codes in list(levels)[::-1]:
        level = codes[order][inner]
        begin = np.flatnonzero(np.r_[True, level[1:] != level[:-1]])
        starts.append(begin)
        inner = inner[begin]
    return (
        NestedDesign(
            response[order] - shift, rows[order], tuple(starts), tuple(s.size for s in starts)
        ),
        shift,
    )


def _sums(d: NestedDesign, ratios: npt.NDArray[Any]) -> tuple[Any, Any, Any]:
    """Return W'V^-1 W for W = [fixed, response] and log det V, both at residual variance one.

    ``ratios`` has shape (m, k): m points evaluated at once.
    """
    w = np.column_stack([d.fixed, d.response])
    m = ratios.shape[0]
    total = np.broadcast_to((w.T @ w).astype(ratios.dtype), (m, w.shape[1], w.shape[1])).copy()
    logdet = np.zeros(m, dtype=ratios.dtype)
    a = np.ones((1, d.n), dtype=ratios.dtype)
    b = w[None].astype(ratios.dtype)
    for k, begin in enumerate(d.starts):
        a = np.add.reduceat(a, begin, axis=1)
        b = np.add.reduceat(b, begin, axis=1)
        g = ratios[:, k, None]
        grown = 1 + g * a
        total -= np.einsum("mu,mui,muj->mij", g / grown, b, b, optimize=False)
        logdet += np.log(grown).sum(axis=1)
        a, b = a / grown, b / grown[:, :, None]
    return total, logdet, w.shape[1] - 1


def _reduce(total: Any, q: int) -> tuple[Any, Any, Any, Any]:
    """Return beta, residual sum of squares, log det X'V^-1X and X'V^-1X."""
    xx, xy = total[:, :q, :q], total[:, :q, q]
    beta = np.linalg.solve(xx, xy[:, :, None])[:, :, 0]
    rss = total[:, q, q] - np.einsum("mi,mi->m", xy, beta)
    sign, logabs = np.linalg.slogdet(xx)
    logdet = logabs + (1j * np.angle(sign) if np.iscomplexobj(total) else 0.0)
    return beta, rss, logdet, xx


def profiled(d: NestedDesign, ratios: npt.NDArray[Any]) -> Any:
    """Return -2 log restricted likelihood with the residual variance profiled out, shape (m,)."""
    total, logdet, q = _sums(d, ratios)
    _, rss, fixed_logdet, _ = _reduce(total, q)
    return d.dof * np.log(rss / d.dof) + logdet + fixed_logdet + d.dof


def deviance(d: NestedDesign, variances: npt.NDArray[Any]) -> Any:
    """Return -2 log restricted likelihood at given variances (residual first), shape (m,)."""
    residual = variances[:, 0]
    total, logdet, q = _sums(d, variances[:, 1:] / residual[:, None])
    _, rss, fixed_logdet, _ = _reduce(total, q)
    return d.dof * np.log(residual) + logdet + fixed_logdet + rss / residual


def with_gradient(
    function: Callable[[npt.NDArray[Any]], Any],
) -> Callable[[Vector], tuple[float, Vector]]:
    """Return a function of one point that gives value and complex-step gradient of ``function``."""

    def both(point: Vector) -> tuple[float, Vector]:
        steps = point[None, :] + 1j * _STEP * np.eye(point.size)
        found = function(steps)
        return float(found.real[0]), np.asarray(found.imag / _STEP)

    return both


def minimum(
    function: Callable[[npt.NDArray[Any]], Any],
    starts: Sequence[Vector],
    bounds: Sequence[tuple[float, float]],
) -> tuple[Vector, float, bool]:
    """Return where ``function`` is smallest within bounds, its value, and whether it settled."""
    from scipy.optimize import minimize

    best: tuple[Vector, float, bool] | None = None
    for start in starts:
        found = minimize(
            with_gradient(function),
            start,
            jac=True,
            method="L-BFGS-B",
            bounds=bounds,
            options={"ftol": 1e-13, "gtol": 1e-9, "maxiter": 500},
        )
        if best is None or found.fun < best[1] - 1e-10:
            best = (np.asarray(found.x), float(found.fun), bool(found.success))
    if best is None:
        raise ValueError("no start given")
    return best


def _exact_repeats(d: NestedDesign) -> NestedDesign | None:
    """Return the design of the innermost units if all rows of each are the same, else None.

    The likelihood has no maximum then: the residual variance is zero and each unit is one value.
    """
    if not d.starts or d.counts[0] == d.n:
        return None
    begin = d.starts[0]
    unit = np.repeat(np.arange(begin.size), np.diff(np.r_[begin, d.n]))
    rest = d.response - d.response[begin][unit]
    same = float(np.abs(rest).max()) <= 1e-12 * float(np.abs(d.response).max())
    if not same or np.any(d.fixed != d.fixed[begin][unit]):
        return None
    if begin.size <= d.fixed.shape[1]:
        return None
    return NestedDesign(d.response[begin], d.fixed[begin], d.starts[1:], d.counts[1:])


def fit(d: NestedDesign, shift: float = 0.0) -> NestedFit:
    """Fit by restricted maximum likelihood, every variance kept at zero or above.

    Parameters
    ----------
    d : NestedDesign
        From :func:`design`; at least one row more than fixed effects.
    shift : float
        Taken off the response beforehand; added back to the fitted intercept (the combination
        of fixed effects that is one in every row).

    Returns
    -------
    NestedFit
    """
    inner = _exact_repeats(d)
    if inner is not None:
        found = fit(inner, shift)
        return replace(found, variances=np.r_[0.0, found.variances])
    k = len(d.starts)
    ratios = np.zeros((1, k))
    settled = True
    total, _, q = _sums(d, ratios)
    spread = float(d.response @ d.response)
    if k and float(_reduce(total, q)[1][0]) > 1e-25 * max(spread, 1e-300):
        starts = [np.full(k, x) for x in (0.7, 0.05, 3.0)]
        point, _, settled = minimum(lambda t: profiled(d, np.expm1(t)), starts, [(0.0, _TOP)] * k)
        ratios = np.expm1(point)[None, :]
    total, _, q = _sums(d, ratios)
    beta, rss, _, xx = _reduce(total, q)
    residual = max(float(rss[0]), 0.0) / d.dof
    ones = np.linalg.lstsq(d.fixed, np.ones(d.n), rcond=None)[0]
    variances = residual * np.r_[1.0, ratios[0]]
    least = float(deviance(d, variances[None, :])[0]) if residual > 0 else -np.inf
    return NestedFit(
        variances=variances,
        beta=np.asarray(beta[0] + shift * ones),
        covariance=np.asarray(residual * np.linalg.inv(xx[0])),
        deviance=least,
        converged=settled,
    )


def bartlett(dof: float) -> float:
    """Return the mean of the likelihood-ratio statistic of one variance on ``dof`` degrees.

    It is 1 for many degrees of freedom and grows for few; the usual limit is multiplied by it
    (M. S. Bartlett, Proc. R. Soc. A 160 (1937) 268-282).
    """
    from scipy.special import digamma

    return float(dof * (np.log(dof / 2) - digamma(dof / 2)))


def profile_interval(
    d: NestedDesign,
    found: NestedFit,
    chosen: Sequence[int],
    dof: float,
    level: float = 0.95,
) -> tuple[float, float]:
    """Return the profile-likelihood interval of a sum of variances.

    Parameters
    ----------
    d, found
        Design and its fit.
    chosen : sequence of int
        Which variances are summed (0 is the residual).
    dof : float
        Degrees of freedom for the Bartlett factor, see :func:`bartlett`.
    level : float
        Confidence.

    Returns
    -------
    low, high : float
        Low is zero where zero cannot be excluded; high is infinite where nothing bounds it.
    """
    from scipy.optimize import brentq
    from scipy.special import chdtri

    inner = _exact_repeats(d)
    if inner is not None:
        outer = [i - 1 for i in chosen if i > 0]
        return profile_interval(inner, fit(inner), outer, dof, level) if outer else (0.0, 0.0)
    whole = float(found.variances.sum())
    if not whole > 0 or not np.isfinite(found.deviance):
        return 0.0, 0.0
    limit = float(chdtri(1, 1 - level)) * bartlett(max(dof, 1.0))
    estimate = float(found.variances[list(chosen)].sum())
    cache: dict[float, float] = {}
    memory: list[Vector] = []

    def beyond(log_target: float) -> float:
        if log_target not in cache:
            value, point = _constrained(d, found, list(chosen), float(np.exp(log_target)), memory)
            memory[:] = [point]
            cache[log_target] = value - found.deviance - limit
        return cache[log_target]

    start = float(np.log(max(estimate, 1e-4 * whole)))
    low = _search(beyond, start, -0.7, float(np.log(1e-7 * whole)), brentq)
    high = _search(beyond, start, 0.7, float(np.log(1e6 * whole)), brentq)
    return (
        0.0 if low is None else min(float(np.exp(low)), estimate),
        np.inf if high is None else float(np.exp(high)),
    )


def _search(
    beyond: Callable[[float], float], start: float, step: float, end: float, root: Any
) -> float | None:
    """Return where ``beyond`` turns positive, walking from ``start`` towards ``end``, or None."""
    inside = start
    if beyond(start) > 0:  # an estimate of zero lies below where the walk begins
        return start
    while abs(inside - start) < abs(end - start):
        outside = inside + step
        if beyond(outside) > 0:
            return float(root(beyond, inside, outside, xtol=2e-3))
        inside, step = outside, 1.5 * step
    return None


def _constrained(
    d: NestedDesign, found: NestedFit, chosen: list[int], target: float, memory: list[Vector]
) -> tuple[float, Vector]:
    """Return the smallest deviance with the chosen variances summing to ``target``, and where.

    The free variances are searched over log1p, where zero is an ordinary point; the chosen ones
    over the logits of their shares, where a share of zero is a dead end, so the search begins at
    the best of several ways to reach the target.
    """
    k, whole = found.variances.size, float(found.variances.sum())
    rest = [i for i in range(k) if i not in chosen]
    if not rest and len(chosen) == 1:
        return float(deviance(d, np.full((1, 1), target))[0]), np.empty(0)

    def variances(point: npt.NDArray[Any]) -> npt.NDArray[Any]:
        out = np.empty((point.shape[0], k), dtype=point.dtype)
        out[:, rest] = whole * np.expm1(point[:, : len(rest)])
        raw = np.exp(point[:, len(rest) :])
        sum_raw = 1 + raw.sum(axis=1)
        out[:, chosen[0]] = target / sum_raw
        out[:, chosen[1:]] = target * raw / sum_raw[:, None]
        return out

    low = [np.log1p(1e-9) if i == 0 else 0.0 for i in rest] + [-20.0] * (len(chosen) - 1)
    high = [np.log1p(1e5)] * len(rest) + [20.0] * (len(chosen) - 1)
    tries = [np.clip(p, low, high) for p in [*_ways(found.variances, chosen, target), *memory]]
    first = int(np.argmin(deviance(d, variances(np.array(tries)))))
    point, value, _ = minimum(
        lambda t: deviance(d, variances(t)), [tries[first]], list(zip(low, high, strict=True))
    )
    return value, point


def _ways(estimate: Vector, chosen: list[int], target: float) -> list[Vector]:
    """Return points at which the chosen variances sum to ``target``: all scaled, or one changed."""
    rest = [i for i in range(estimate.size) if i not in chosen]
    start = np.log1p(estimate[rest] / estimate.sum())
    least = 1e-6 * target
    parts = np.maximum(estimate[chosen], least)
    ways = [parts * target / parts.sum()]
    for j in range(len(chosen)):
        changed = parts.copy()
        changed[j] = max(changed[j] + target - parts.sum(), least)
        ways.append(changed * target / changed.sum())
    return [np.r_[start, np.log(way[1:] / way[0])] for way in ways]
