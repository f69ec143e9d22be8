"""One-way analysis of variance that keeps the digits of values which agree in many of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from solubility_stats.errors import InputError
from solubility_stats.pooling.tidy import Codes, Vector, cell_statistics


@dataclass(frozen=True)
class OneWay:
    """One-way analysis of variance.

    Attributes
    ----------
    ss_between, ss_within : float
        Sums of squares.
    dof_between, dof_within : int
        Degrees of freedom.
    ms_between, ms_within, f, p_value, r_squared, residual_sd : float
        The usual derived figures.
    mean : float
        Mean of all values.
    n_bar : float
        Effective group size, (N - sum n^2 / N) / (p - 1).
    """

    ss_between: float
    ss_within: float
    dof_between: int
    dof_within: int
    ms_between: float
    ms_within: float
    f: float
    p_value: float
    r_squared: float
    residual_sd: float
    mean: float
    n_bar: float


def one_way(values: Vector, codes: Codes) -> OneWay:
    """Return the one-way analysis of variance of values in groups.

    Parameters
    ----------
    values : ndarray, shape (n,)
        Values; deviations from the first are used, so agreement in leading digits costs nothing.
    codes : ndarray of int, shape (n,)
        Group of each value, 0 to p - 1.

    Raises
    ------
    InputError
        With fewer than two groups or no group with two values.
    """
    from scipy.special import fdtrc

    shift = np.asarray(values, dtype=float) - values[0]
    n, mean, sd = cell_statistics(shift, codes)
    p, total = n.size, int(n.sum())
    if p < 2 or total <= p:
        raise InputError(
            "an analysis of variance needs two groups and a repeated value",
            where="one_way",
            found=f"{p} groups, {total} values",
        )
    grand = float((n * mean).sum() / total)
    between = float((n * (mean - grand) ** 2).sum())
    within = float(np.nansum(sd**2 * (n - 1)))
    ms_b, ms_w = between / (p - 1), within / (total - p)
    f = ms_b / ms_w if ms_w > 0 else np.inf if ms_b > 0 else np.nan
    whole = between + within
    return OneWay(
        ss_between=between,
        ss_within=within,
        dof_between=p - 1,
        dof_within=total - p,
        ms_between=ms_b,
        ms_within=ms_w,
        f=f,
        p_value=float(fdtrc(p - 1, total - p, f)) if np.isfinite(f) else 0.0 if f > 0 else np.nan,
        r_squared=between / whole if whole > 0 else np.nan,
        residual_sd=float(np.sqrt(ms_w)),
        mean=grand + float(values[0]),
        n_bar=float((total - (n**2).sum() / total) / (p - 1)),
    )
