"""Random draws of the distributions a budget names, each set by its standard deviation."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from solubility_stats.measurement.propagation import SQRT3
from solubility_stats.measurement.settings import Array

_SQRT6 = float(np.sqrt(6.0))


def deviations(
    rng: np.random.Generator, n: int, distribution: str, u: float, dof: float = np.inf
) -> Array:
    """Return ``n`` draws around zero.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of random numbers.
    n : int
        How many.
    distribution : {"normal", "rectangular", "triangular", "arcsine"}
        Which shape.
    u : float
        Standard uncertainty. A normal one with finite degrees of freedom is drawn from Student's
        t scaled by ``u``, as JCGM 101:2008, 6.4.9 prescribes for repeated readings.
    dof : float
        Degrees of freedom.

    Raises
    ------
    ValueError
        For an unknown distribution.
    """
    if distribution not in _SHAPES:
        raise ValueError(f"unknown distribution {distribution!r}; expected one of {list(_SHAPES)}")
    if distribution == "normal" and np.isfinite(dof):
        return np.asarray(u * rng.standard_t(dof, n))
    return _SHAPES[distribution](rng, n, u)


def _arcsine(rng: np.random.Generator, n: int, u: float) -> Array:
    return np.asarray(np.sqrt(2.0) * u * np.sin(2.0 * np.pi * rng.random(n)))


_SHAPES: dict[str, Callable[[np.random.Generator, int, float], Array]] = {
    "normal": lambda rng, n, u: u * rng.standard_normal(n),
    "rectangular": lambda rng, n, u: (2.0 * SQRT3 * u) * (rng.random(n) - 0.5),
    "triangular": lambda rng, n, u: (_SQRT6 * u) * (rng.random(n) - rng.random(n)),
    "arcsine": _arcsine,
}


def effect_sizes(
    rng: np.random.Generator, n: int, mean: float, u_shared: float, sd_between: float
) -> Array:
    """Return ``n`` sizes of an effect that cannot be negative.

    The size is ``mean * A * B`` with gamma variates of mean one: A for how badly the class mean is
    known, B for the spread between groups. Mean and variance are exactly ``mean`` and
    ``u_shared**2 + sd_between**2``.

    Parameters
    ----------
    rng : numpy.random.Generator
        Source of random numbers.
    n : int
        How many.
    mean : float
        Expected size, above zero.
    u_shared, sd_between : float
        As in :class:`~solubility_stats.measurement.effects.Effect`.
    """
    size = np.full(n, mean)
    within = sd_between**2 / (mean**2 + u_shared**2)
    for squared_cv in (u_shared**2 / mean**2, within):
        if squared_cv > 0:
            size *= rng.standard_gamma(1.0 / squared_cv, n) * squared_cv
    return size
