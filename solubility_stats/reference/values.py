"""What a curve is asked for and what it answers."""

from __future__ import annotations

import warnings
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from solubility_stats.covariance import SharedCovariance
from solubility_stats.errors import InputError, OutOfRangeError, SolubilityStatsWarning
from solubility_stats.reference.water import require_temperatures

Vector = npt.NDArray[np.float64]


class ExtrapolationWarning(SolubilityStatsWarning):
    """A curve was asked for outside the range of its data."""


class CurveValue(NamedTuple):
    """Solubility and its standard uncertainty.

    Attributes
    ----------
    value : float or ndarray
        Solubility, g per 100 g water unless another unit was asked for.
    u : float or ndarray
        Its standard uncertainty, same unit and shape.
    """

    value: Any
    u: Any


def checked_temperatures(
    t: npt.ArrayLike, low_c: float, high_c: float, where: str, *, extrapolate: bool
) -> Vector:
    """Return temperatures as a vector after checking that all are there and in range.

    Parameters
    ----------
    t : array_like
        Temperature in °C, scalar or one-dimensional.
    low_c, high_c : float
        Range in °C.
    where : str
        For messages.
    extrapolate : bool
        Warn instead of refusing outside the range.

    Raises
    ------
    InputError
        If a temperature is missing or the array has more than one dimension.
    OutOfRangeError
        If a temperature is outside the range and ``extrapolate`` is false.
    """
    try:
        grid = np.atleast_1d(np.asarray(t, dtype=float))
    except (TypeError, ValueError) as problem:
        raise InputError(
            "a temperature is not a number", where=where, found=t, expected="numbers in °C"
        ) from problem
    if grid.ndim > 1:
        raise InputError("temperatures must be a scalar or one-dimensional", found=grid.shape)
    require_temperatures(grid, where)
    outside = np.unique(grid[(grid < low_c) | (grid > high_c)])
    told = f"{low_c:g} to {high_c:g} °C"
    if outside.size and not extrapolate:
        raise OutOfRangeError(
            "a temperature is outside the range of the curve",
            where=where,
            found=outside[:8].tolist(),
            expected=told,
            remedy="Use a curve that covers it, or pass extrapolate=True for a guess with a "
            "growing uncertainty.",
        )
    if outside.size:
        warnings.warn(
            f"{where} extrapolated to {outside[:8].tolist()} °C; its data cover {told}",
            ExtrapolationWarning,
            stacklevel=4,  # this function, the curve's own check, the method, its caller
        )
    return grid


def variance_from_temperature(slope: Vector, u_t: npt.ArrayLike, where: str) -> Vector:
    """Return the variance that uncertain temperatures cause, (slope × u_t)².

    Raises
    ------
    InputError
        If a temperature uncertainty is missing or negative.
    """
    u = np.asarray(u_t, dtype=float)
    if not np.all(np.isfinite(u)) or np.any(u < 0):
        raise InputError(
            "a temperature uncertainty is missing or negative",
            where=where,
            found=np.unique(u[~(u >= 0) | ~np.isfinite(u)])[:8].tolist(),
            expected="kelvin, zero or more",
        )
    return np.asarray((slope * u) ** 2)


def correlated_ufloats(value: Vector, covariance: SharedCovariance, *, scalar: bool) -> Any:
    """Return values as correlated ufloats: one variable per shared cause, one per own part."""
    from uncertainties import ufloat

    causes = [ufloat(0.0, 1.0, tag=name) for name in covariance.factors]
    out = np.empty(value.size, dtype=object)
    for i, own in enumerate(np.sqrt(covariance.variance)):
        shared = sum(float(x) * c for x, c in zip(covariance.loadings[i], causes, strict=True))
        out[i] = float(value[i]) + shared
        if own > 0:
            out[i] += ufloat(0.0, float(own), tag="temperature")
    return out[0] if scalar else out
