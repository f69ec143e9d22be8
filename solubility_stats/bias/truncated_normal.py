"""Draws from normal distributions cut off at zero: many chains at once, exact, seeded.

Sizes of causes cannot be negative, so their joint posterior is a normal distribution restricted
to an orthant. Each step follows the exact Hamiltonian trajectory of a quarter period, an ellipse,
and reflects it at the walls (Pakman and Paninski 2014, Journal of Computational and Graphical
Statistics 23, 518-542, doi 10.1080/10618600.2013.788448). Strongly correlated sizes, which defeat
one-coordinate-at-a-time sampling, cost it nothing. SciPy offers only the univariate case.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from scipy import special

Vector = npt.NDArray[np.float64]

QUARTER_PERIOD = np.pi / 2.0
# A trajectory with more reflections than this is given up and the chain stays where it is; the
# reversed trajectory has the same number, so the distribution is untouched.
MOST_REFLECTIONS = 60


def quarter_period_step(
    start: Vector,
    information: Vector,
    precision: Vector,
    positive: npt.NDArray[np.intp],
    rng: np.random.Generator,
) -> Vector:
    """Advance every chain by one exact trajectory.

    Parameters
    ----------
    start : ndarray, shape (chains, d)
        Current points; the ``positive`` coordinates are zero or more.
    information : ndarray, shape (chains, d)
        Precision times mean of each chain's normal before it is cut off.
    precision : ndarray, shape (chains, d, d)
        Inverse covariance of each chain's normal.
    positive : ndarray of int, shape (p,)
        Coordinates that must not be negative.
    rng : numpy.random.Generator
        Source of the momenta.

    Returns
    -------
    ndarray, shape (chains, d)
        New points with the truncated normals as invariant distributions.
    """
    chains, d = start.shape
    lower = np.linalg.cholesky(precision)
    unwhiten = np.swapaxes(np.linalg.inv(lower), 1, 2)
    whitened = np.einsum("cji,cj->ci", unwhiten, information)
    mean = np.einsum("cij,cj->ci", unwhiten, whitened)
    at = np.einsum("cji,cj->ci", lower, start) - whitened
    if not positive.size:
        drawn = rng.standard_normal((chains, d))
        return np.asarray(mean + np.einsum("cij,cj->ci", unwhiten, drawn))
    walls = unwhiten[:, positive, :]
    heights = mean[:, positive]
    end, done = _bounce(at, rng.standard_normal((chains, d)), walls, heights)
    moved = mean + np.einsum("cij,cj->ci", unwhiten, end)
    moved[:, positive] = np.maximum(moved[:, positive], 0.0)  # rounding at a wall
    return np.where(done[:, None], moved, start)


def _bounce(
    at: Vector, velocity: Vector, walls: Vector, heights: Vector
) -> tuple[Vector, npt.NDArray[np.bool_]]:
    """Follow ``velocity sin t + at cos t`` for a quarter period with ``walls x + heights >= 0``."""
    chains = at.shape[0]
    end = at.copy()
    done = np.zeros(chains, dtype=bool)
    live = np.arange(chains)
    left = np.full(chains, QUARTER_PERIOD)
    norms = np.einsum("cpd,cpd->cp", walls, walls)
    for _ in range(MOST_REFLECTIONS):
        f = walls[live]
        speed = np.einsum("cpd,cd->cp", f, velocity)
        place = np.einsum("cpd,cd->cp", f, at)
        reach = np.hypot(speed, place)
        ratio = -heights[live] / np.maximum(reach, 1e-300)
        # Leaving happens where the cosine falls through the wall: the branch with sine above 0.
        phase = np.arctan2(-speed, place)
        with np.errstate(invalid="ignore"):
            when = np.arccos(np.where(np.abs(ratio) < 1.0, ratio, np.nan)) - phase
        when = np.where(when < 1e-10, when + 2.0 * np.pi, when)
        when = np.where(np.isnan(when), np.inf, when)
        first = np.argmin(when, axis=1)
        rows = np.arange(live.size)
        step = np.minimum(when[rows, first], left)
        sine, cosine = np.sin(step)[:, None], np.cos(step)[:, None]
        at, velocity = velocity * sine + at * cosine, velocity * cosine - at * sine
        arrived = step >= left
        end[live[arrived]] = at[arrived]
        done[live[arrived]] = True
        go = ~arrived
        live, at, velocity, left = live[go], at[go], velocity[go], (left - step)[go]
        if not live.size:
            break
        hit = walls[live, first[go]]
        gain = np.einsum("cd,cd->c", hit, velocity) / norms[live, first[go]]
        velocity = velocity - 2.0 * gain[:, None] * hit
    return end, done


def half_line_moments(location: npt.ArrayLike, scale: npt.ArrayLike) -> tuple[Vector, Vector]:
    """Return mean and standard deviation of normals cut off below zero.

    Johnson, Kotz and Balakrishnan 1994, Continuous Univariate Distributions 1, section 13.10.1.
    """
    mu, sigma = np.asarray(location, dtype=float), np.asarray(scale, dtype=float)
    alpha = -mu / sigma
    # Inverse Mills ratio by logarithms: exact far into the tail.
    mills = np.exp(-0.5 * alpha**2 - 0.5 * np.log(2.0 * np.pi) - special.log_ndtr(-alpha))
    mean = mu + sigma * mills
    variance = sigma**2 * (1.0 + alpha * mills - mills**2)
    return mean, np.sqrt(np.maximum(variance, 0.0))


# A normal cut off at zero has a coefficient of variation below 1 (the exponential limit).
LARGEST_CV = 0.95
_ALPHA = np.linspace(-8.0, 12.0, 4001)


def half_line_parameters(mean: npt.ArrayLike, sd: npt.ArrayLike) -> tuple[Vector, Vector]:
    """Return location and scale of the normal whose part above zero has this mean and sd.

    Where ``sd / mean`` exceeds :data:`LARGEST_CV` the mean is raised so that the sd is kept:
    an uncertainty is never made smaller than stated.
    """
    m, s = np.asarray(mean, dtype=float), np.asarray(sd, dtype=float)
    m = np.maximum(m, s / LARGEST_CV)
    unit_mean, unit_sd = half_line_moments(-_ALPHA, np.ones_like(_ALPHA))
    cv = unit_sd / unit_mean
    # Nearly symmetric priors (cv below the table) are the plain normal to rounding.
    table = np.interp(s / m, cv, _ALPHA)
    plain = s / m < cv[0]
    scale = np.where(plain, s, m / np.interp(table, _ALPHA, unit_mean))
    location = np.where(plain, m, -table * scale)
    return np.asarray(location), np.asarray(scale)
