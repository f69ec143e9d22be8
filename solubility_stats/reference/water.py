"""Density of liquid water between 0 and 100 °C at ordinary pressure.

The equation is the volume part of IAPWS SR6-08(2011), "Revised Supplementary Release on
Properties of Liquid Water at 0.1 MPa" (Pátek, Hrubý, Klomfar, Součková, Harvey, J. Phys. Chem.
Ref. Data 38 (2009) 21), which reproduces IAPWS-95 within a few parts in ten million.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from solubility_stats.errors import InputError, OutOfRangeError

Vector = npt.NDArray[np.float64]

LOW_C, HIGH_C = 0.0, 100.0
# Laboratory water is neither degassed nor of ocean isotopic composition, and the barometer moves:
# air saturation lowers the density by up to 5e-6, 5 kPa of pressure change it by 2e-6, isotopic
# composition by about 5e-6 (Tanaka et al., Metrologia 38 (2001) 301). Together, rounded up.
RELATIVE_U = 1e-5

_GAS_CONSTANT = 461.51805  # J/(kg K), as fixed in the release
_REDUCING_T, _PRESSURE = 10.0, 1e5  # K, Pa
# (exponent, coefficient) of Tr/(593 K - T) and of Tr/(T - 232 K), from Table 1 of the release.
_CONSTANT = 1.93763157e-2
_ALPHA = (
    (4, 6.74458446e3),
    (5, -2.22521604e5),
    (7, 1.00231247e8),
    (8, -1.63552118e9),
    (9, 8.32299658e9),
)
_BETA = (
    (1, 5.78545292e-3),
    (2, -1.53195665e-2),
    (3, 3.11337859e-2),
    (4, -4.23546241e-2),
    (5, 3.38713507e-2),
    (6, -1.19946761e-2),
)


class Density(NamedTuple):
    """Density and its standard uncertainty, both in g/mL."""

    value: float | Vector
    u: float | Vector


def density(t_c: npt.ArrayLike, u_t: npt.ArrayLike = 0.0) -> Density:
    """Return the density of air-free water at 0.1 MPa.

    Parameters
    ----------
    t_c : array_like
        Temperature in °C, 0 to 100.
    u_t : array_like, optional
        Standard uncertainty of the temperature in K; carried through the expansion coefficient.

    Returns
    -------
    Density
        ``(value, u)`` in g/mL; floats for a scalar temperature, else arrays. ``u`` covers what
        distinguishes laboratory water from the pure standard (1e-5 relative).

    Raises
    ------
    OutOfRangeError
        If a temperature is outside 0 to 100 °C.
    InputError
        If a temperature is missing.

    Examples
    --------
    >>> round(density(25.0).value, 5)
    0.99705
    """
    t = _in_range(t_c, LOW_C, HIGH_C, what="density of water")
    rho, slope = _density_and_slope(t)
    u = np.hypot(RELATIVE_U * rho, slope * np.asarray(u_t, dtype=float))
    return Density(float(rho), float(u)) if u.ndim == 0 else Density(rho, u)


def expansion(t_c: npt.ArrayLike) -> float | Vector:
    """Return the volumetric expansion coefficient of water in 1/K at 0.1 MPa.

    Raises
    ------
    OutOfRangeError
        If a temperature is outside 0 to 100 °C.
    """
    t = _in_range(t_c, LOW_C, HIGH_C, what="expansion of water")
    rho, slope = _density_and_slope(t)
    alpha = -slope / rho
    return float(alpha) if alpha.ndim == 0 else alpha


def _in_range(t_c: npt.ArrayLike, low: float, high: float, *, what: str) -> Vector:
    """Return temperatures as floats after checking that all are there and in range."""
    t = np.asarray(t_c, dtype=float)
    require_temperatures(t, what)
    outside = (t < low) | (t > high)
    if np.any(outside):
        raise OutOfRangeError(
            "a temperature is outside the known range",
            where=what,
            found=np.unique(t[outside])[:8].tolist(),
            expected=f"{low:g} to {high:g} °C",
        )
    return t


def require_temperatures(t: Vector, what: str) -> None:
    """Raise an :class:`InputError` that names the positions of missing temperatures."""
    missing = np.flatnonzero(~np.isfinite(np.atleast_1d(t)))
    if missing.size:
        raise InputError(
            "a temperature is missing",
            where=what,
            found=f"positions {missing[:8].tolist()} of {t.size}",
            expected="a temperature in °C for each value",
            remedy="Leave those runs out, or give the room temperature with its uncertainty.",
        )


def _density_and_slope(t_c: Vector) -> tuple[Vector, Vector]:
    kelvin = t_c + 273.15
    alpha = _REDUCING_T / (593.0 - kelvin)
    beta = _REDUCING_T / (kelvin - 232.0)
    volume = _CONSTANT + sum(c * alpha**n for n, c in _ALPHA) + sum(c * beta**n for n, c in _BETA)
    # d(alpha)/dT = alpha^2/Tr and d(beta)/dT = -beta^2/Tr.
    rise = sum(n * c * alpha ** (n + 1) for n, c in _ALPHA) - sum(
        n * c * beta ** (n + 1) for n, c in _BETA
    )
    scale = _GAS_CONSTANT * _REDUCING_T / _PRESSURE  # m3/kg
    rho = 1e-3 / (scale * volume)
    return np.asarray(rho), np.asarray(-rho * rise / (_REDUCING_T * volume))
