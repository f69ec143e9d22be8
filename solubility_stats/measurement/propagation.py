"""Propagation of uncertainty to first order (the GUM, JCGM 100:2008), on arrays.

Everything broadcasts: an input is a number or an array over runs, and so is every result. The
routes use these functions with the analytic sensitivities of :mod:`.models`; a model without
such sensitivities gets them from :func:`differentiate`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]
ArrayLike = npt.ArrayLike
SQRT2, SQRT3, SQRT12 = float(np.sqrt(2.0)), float(np.sqrt(3.0)), float(np.sqrt(12.0))


class FirstOrder(NamedTuple):
    """What first-order propagation gives.

    Attributes
    ----------
    u : ndarray
        Combined standard uncertainty.
    dof : ndarray
        Effective degrees of freedom; infinite where every input has infinite ones.
    contributions : tuple of ndarray
        Sensitivity times standard uncertainty of each input, with its sign.
    """

    u: Array
    dof: Array
    contributions: tuple[Array, ...]


def first_order(
    sensitivities: Sequence[ArrayLike],
    uncertainties: Sequence[ArrayLike],
    dof: Sequence[ArrayLike] | None = None,
    correlation: ArrayLike | None = None,
) -> FirstOrder:
    """Combine standard uncertainties to first order.

    Parameters
    ----------
    sensitivities, uncertainties : sequence of float or ndarray
        One entry per input, broadcast against each other.
    dof : sequence of float or ndarray, optional
        Degrees of freedom of each uncertainty; infinite if not given.
    correlation : array_like, shape (k, k), optional
        Correlation coefficients of the inputs.

    Returns
    -------
    FirstOrder

    Notes
    -----
    JCGM 100:2008 eq. (10), with correlation eq. (16), and the Welch-Satterthwaite formula
    eq. (G.2b). That formula is for independent inputs; with ``correlation`` the effective degrees
    of freedom are computed as if they were independent, a lower bound of no exact standing.
    """
    if not sensitivities:
        raise ValueError("there is no input to propagate")
    slopes = [np.asarray(c, dtype=float) for c in sensitivities]
    sizes = [np.asarray(u, dtype=float) for u in uncertainties]
    parts = tuple(c * u for c, u in zip(slopes, sizes, strict=True))
    variances = [u * u for u in sizes]
    knowledge = [
        v * v / np.asarray(nu, dtype=float)
        for v, nu in zip(variances, dof or [np.inf] * len(parts), strict=True)
    ]
    u, effective = combine(slopes, variances, knowledge)
    if correlation is None:
        return FirstOrder(u, effective, parts)
    correlated = _correlated(parts, np.asarray(correlation, dtype=float))
    with np.errstate(divide="ignore", invalid="ignore"):
        effective = np.where(u > 0, effective * (correlated / (u * u)) ** 2, np.inf)
    return FirstOrder(np.sqrt(correlated), effective, parts)


def combine(
    sensitivities: Sequence[ArrayLike],
    variances: Sequence[ArrayLike],
    knowledge: Sequence[ArrayLike],
) -> tuple[Array, Array]:
    """Return combined standard uncertainty and effective degrees of freedom.

    The inner step of :func:`first_order` for independent inputs. An input with several causes of
    uncertainty enters once, with the sums over its causes: much less work on long arrays.

    Parameters
    ----------
    sensitivities : sequence of float or ndarray
        One per input.
    variances : sequence of float or ndarray
        Sum over its causes of ``u**2``.
    knowledge : sequence of float or ndarray
        Sum over its causes of ``u**4 / dof``.
    """
    variance: Array = np.zeros(())
    inverse: Array = np.zeros(())
    for c, v, k in zip(sensitivities, variances, knowledge, strict=True):
        square = np.multiply(c, c)
        variance = variance + square * v
        if np.ndim(k) or k != 0:
            inverse = inverse + square * square * k
    with np.errstate(divide="ignore", invalid="ignore"):
        effective = np.where(inverse > 0, variance * variance / inverse, np.inf)
    return np.sqrt(variance), np.asarray(effective)


def _correlated(parts: Sequence[Array], r: Array) -> Array:
    k = len(parts)
    if r.shape != (k, k) or not np.allclose(r, r.T) or not np.allclose(np.diag(r), 1.0):
        raise ValueError(
            f"a correlation matrix of shape {r.shape} does not fit {k} inputs; expected a "
            "symmetric matrix with ones on its diagonal"
        )
    variance = np.asarray(sum(r[i, j] * parts[i] * parts[j] for i in range(k) for j in range(k)))
    return np.asarray(np.maximum(variance, 0.0))  # rounding may leave -1e-20 at full correlation


def coverage_factor(dof: ArrayLike, level: float = 0.95) -> Array:
    """Return the two-sided coverage factor of Student's t (JCGM 100:2008, table G.2).

    Parameters
    ----------
    dof : float or ndarray
        Effective degrees of freedom; not truncated to an integer.
    level : float
        Coverage probability.
    """
    from scipy.special import ndtri, stdtrit

    nu = np.asarray(dof, dtype=float)
    p = 0.5 * (1.0 + level)
    # stdtrit knows no infinite dof, and beyond 1e7 it differs from the normal by under 1e-7.
    large = ~(nu < 1e7)
    t = stdtrit(np.where(large, 1e7, nu), p)
    return np.asarray(np.where(large, ndtri(p), t))


def differentiate(
    model: Callable[..., ArrayLike],
    values: Sequence[ArrayLike],
    uncertainties: Sequence[ArrayLike] | None = None,
) -> list[Array]:
    """Return the sensitivity of ``model(*values)`` to each value by central differences.

    Parameters
    ----------
    model : callable
        Takes the inputs in order, broadcasts.
    values : sequence of float or ndarray
        Inputs.
    uncertainties : sequence, optional
        Where given, steps are a thousandth of them, as the standard suggests for numerical work
        (JCGM 100:2008, 5.1.3 note 2); else a ten-thousandth of the value, and 1e-6 at zero.

    Notes
    -----
    Two step sizes are combined (Richardson), so the error is of fourth order in the step.
    """
    arrays = [np.asarray(v, dtype=float) for v in values]
    result = []
    for i, value in enumerate(arrays):
        scale = np.where(value == 0, 1e-6, np.abs(value) * 1e-4)
        if uncertainties is not None:
            u = np.asarray(uncertainties[i], dtype=float)
            scale = np.where(u > 0, np.maximum(u * 1e-3, np.abs(value) * 1e-7), scale)
        result.append(_richardson(model, arrays, i, scale))
    return result


def _richardson(model: Callable[..., ArrayLike], values: list[Array], i: int, step: Array) -> Array:
    def slope(h: Array) -> Array:
        up, down = list(values), list(values)
        up[i], down[i] = values[i] + h, values[i] - h
        return np.asarray((np.asarray(model(*up)) - np.asarray(model(*down))) / (up[i] - down[i]))

    return np.asarray((4.0 * slope(step) - slope(2.0 * step)) / 3.0)


def combine_mean(repeats: ArrayLike) -> tuple[float, float, float]:
    """Return mean, standard uncertainty and degrees of freedom of repeated readings (type A).

    JCGM 100:2008, 4.2.3.
    """
    x = np.asarray(repeats, dtype=float)
    if x.ndim != 1 or x.size < 2 or not np.all(np.isfinite(x)):
        raise ValueError("a type A evaluation needs at least two finite readings in one dimension")
    return float(x.mean()), float(x.std(ddof=1) / np.sqrt(x.size)), float(x.size - 1)
