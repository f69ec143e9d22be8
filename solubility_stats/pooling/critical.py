"""Critical values and p-values of the consistency statistics, from formulas where there are any.

ISO 5725-2:1994, clause 7.3; P.-T. Wilrich, AStA Adv. Stat. Anal. 97 (2013) 1-10.
Mandel's statistics are exact for equal group sizes; Cochran and Grubbs use the Bonferroni bound,
which never exceeds the nominal rate and misses it by little. All functions take arrays.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files

import numpy as np
import numpy.typing as npt

from solubility_stats.errors import InputError

Vector = npt.NDArray[np.float64]
Numbers = npt.ArrayLike


def h_critical(p: int, alpha: float = 0.01) -> float:
    """Return the two-sided critical value of Mandel's h for ``p`` groups."""
    from scipy.special import stdtrit

    t = float(stdtrit(p - 2, 1 - alpha / 2))
    return float((p - 1) * t / np.sqrt(p * (t**2 + p - 2)))


def h_p_value(h: Numbers, p: int) -> Vector:
    """Return the two-sided p-value of Mandel's h for ``p`` groups."""
    from scipy.special import stdtr

    size = np.abs(np.asarray(h, dtype=float))
    room = np.maximum((p - 1) ** 2 - p * size**2, 0.0)
    with np.errstate(divide="ignore"):
        t = size * np.sqrt(p * (p - 2.0) / room)
    return np.asarray(2 * stdtr(p - 2, -t))


def k_critical(p: int, n: float, alpha: float = 0.01) -> float:
    """Return the upper critical value of Mandel's k for ``p`` groups of ``n`` values."""
    from scipy.special import fdtri

    f = float(fdtri(n - 1, (p - 1) * (n - 1), 1 - alpha))
    return float(np.sqrt(p / (1 + (p - 1) / f)))


def cochran_critical(p: int, n: float, alpha: float = 0.05) -> float:
    """Return the upper critical value of Cochran's C for ``p`` groups of ``n`` values."""
    from scipy.special import fdtri

    f = float(fdtri(n - 1, (p - 1) * (n - 1), 1 - alpha / p))
    return float(1 / (1 + (p - 1) / f))


def variance_p_value(variance: Vector, dof: Vector) -> Vector:
    """Return the p-value of each group's variance against the pooled variance of the others.

    One-sided (larger than the others), for any group sizes: F with the group's own degrees of
    freedom. R. U. E. 't Lam, Anal. Chim. Acta 659 (2010) 68-84.
    """
    from scipy.special import fdtrc

    squares = variance * dof
    others, rest = squares.sum() - squares, dof.sum() - dof
    with np.errstate(divide="ignore", invalid="ignore"):
        f = variance / (others / rest)
    return np.asarray(np.where(variance > 0, fdtrc(dof, rest, f), 1.0))


def grubbs_critical(n: int, alpha: float = 0.05, *, two_sided: bool = True) -> float:
    """Return the critical value of Grubbs' statistic for one outlier among ``n`` values."""
    from scipy.special import stdtrit

    t = float(stdtrit(n - 2, 1 - alpha / (2 * n if two_sided else n)))
    return float((n - 1) / np.sqrt(n) * np.sqrt(t**2 / (n - 2 + t**2)))


def grubbs_p_value(g: Numbers, n: int, *, two_sided: bool = True) -> Vector:
    """Return the (Bonferroni) p-value of Grubbs' statistic for one outlier among ``n`` values."""
    one = h_p_value(g, n) / 2  # the deviation of one value, in the same standardisation as h
    return np.asarray(np.minimum(1.0, one * (2 * n if two_sided else n)))


def esd_critical(n: int, taken: int, alpha: float = 0.05) -> float:
    """Return the critical value of the generalised ESD test after ``taken`` values (Rosner)."""
    from scipy.special import stdtrit

    left = n - taken
    t = float(stdtrit(left - 2, 1 - alpha / (2 * left)))
    return float(t * (left - 1) / np.sqrt((left - 2 + t**2) * left))


@cache
def _two_outlier_table() -> tuple[Vector, Vector, Vector]:
    text = (files("solubility_stats.pooling") / "grubbs_two.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    levels = np.array(lines[0].split(",")[1:], dtype=float)
    body = np.array([line.split(",") for line in lines[1:]], dtype=float)
    return levels, body[:, 0], body[:, 1:]


def _two_outlier_row(n: int) -> tuple[Vector, Vector]:
    levels, sizes, quantiles = _two_outlier_table()
    found = np.flatnonzero(sizes == n)
    if found.size == 0:
        raise InputError(
            "no critical values for two outliers at this number of values",
            where="grubbs",
            found=n,
            expected=f"{int(sizes[0])} to {int(sizes[-1])} values",
            remedy="Use generalized_esd instead.",
        )
    return levels, quantiles[found[0]]


def two_outlier_critical(n: int, alpha: float = 0.05, *, two_sided: bool = True) -> float:
    """Return the lower critical value of Grubbs' ratio for the two highest (or lowest) values.

    Quantiles are stored (``grubbs_two.csv`` beside this module, simulated); between the stored
    levels the logarithm of the ratio is interpolated over the normal quantile of the level.
    """
    from scipy.special import ndtri

    levels, quantiles = _two_outlier_row(n)
    tail = alpha / 2 if two_sided else alpha
    return float(np.exp(np.interp(ndtri(tail), ndtri(levels), np.log(quantiles))))


def two_outlier_p_value(ratio: float, n: int, *, two_sided: bool = True) -> float:
    """Return the p-value of Grubbs' ratio; the smallest stored level bounds it from below."""
    from scipy.special import ndtr, ndtri

    levels, quantiles = _two_outlier_row(n)
    if ratio <= 0:
        tail = float(levels[0])
    else:
        tail = float(ndtr(np.interp(np.log(ratio), np.log(quantiles), ndtri(levels))))
    return float(min(1.0, 2 * tail if two_sided else tail))
