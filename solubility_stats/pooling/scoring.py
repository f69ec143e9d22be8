"""Scores of groups against an assigned value: z, z', zeta, E_n; Horwitz' expectation.

ISO 13528:2022, clause 9. A score says how far a result lies from the assigned value in some
yardstick; the yardsticks differ, so the scores answer different questions:

====  =========================================  ============================================
z     standard deviation for assessment          far, compared with what is fit for purpose?
z'    the same and u of the assigned value       as z, when the assigned value is uncertain
zeta  standard uncertainties of both             far, compared with the stated uncertainty?
E_n   expanded uncertainties (k = 2) of both     as zeta, limit 1
====  =========================================  ============================================
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.pooling.tidy import (
    ESTIMATE_U,
    Missing,
    Vector,
    as_columns,
    default_grouping,
    labels,
    observations,
)

Numbers = npt.ArrayLike
WARNING, ACTION = 2.0, 3.0
# Below this share of the yardstick the uncertainty of the assigned value may be neglected
# (ISO 13528:2022, 9.2.1).
NEGLIGIBLE = 0.3


def _array(values: Numbers, name: str, *, positive: bool = False, zero: bool = True) -> Vector:
    array = np.asarray(values, dtype=float)
    if not np.isfinite(array).all():
        raise InputError("holds something that is not a finite number", where=name)
    if positive and not (np.all(array >= 0) if zero else np.all(array > 0)):
        expected = "zero or more" if zero else "above zero"
        raise InputError("must not be negative or zero", where=name, expected=expected)
    return array


def _ratio(difference: Vector, yardstick: Vector) -> Vector:
    if np.any(yardstick <= 0):
        raise InputError("the yardstick of a score is zero", where="scores", expected="above zero")
    return np.asarray(difference / yardstick)


def z_score(x: Numbers, assigned: float, sigma: Numbers) -> Vector:
    """Return z = (x - assigned) / sigma.

    Parameters
    ----------
    x : array_like
        Results.
    assigned : float
        Assigned value, unit of ``x``.
    sigma : array_like
        Standard deviation for assessment, unit of ``x``, above zero.

    Examples
    --------
    >>> print(z_score([10.4, 9.2], 10.0, 0.4))
    [ 1. -2.]
    """
    scale = _array(sigma, "sigma", positive=True)
    return _ratio(_array(x, "x") - float(assigned), np.asarray(scale))


def z_prime(x: Numbers, assigned: float, sigma: Numbers, u_assigned: float) -> Vector:
    """Return z' = (x - assigned) / sqrt(sigma^2 + u_assigned^2); same unit throughout.

    Parameters
    ----------
    x : array_like
        Results.
    assigned : float
        Assigned value.
    sigma : array_like
        Standard deviation for the assessment.
    u_assigned : float
        Standard uncertainty of the assigned value.
    """
    scale = _array(sigma, "sigma", positive=True)
    spare = _array(u_assigned, "u_assigned", positive=True)
    return _ratio(_array(x, "x") - float(assigned), np.hypot(scale, spare))


def zeta_score(
    x: Numbers, assigned: float, u: Numbers, u_assigned: float, covariance: Numbers = 0.0
) -> Vector:
    """Return zeta = (x - assigned) / sqrt(u^2 + u_assigned^2 - 2 covariance).

    Parameters
    ----------
    x, u : array_like
        Results and their standard (not expanded) uncertainties.
    assigned, u_assigned : float
        Assigned value and its standard uncertainty.
    covariance : array_like
        Covariance of each result with the assigned value: not zero when the result took part in
        a consensus, or shares a standard solution with it.
    """
    own = _array(u, "u", positive=True)
    spare = _array(u_assigned, "u_assigned", positive=True)
    variance = own**2 + spare**2 - 2 * _array(covariance, "covariance")
    return _ratio(_array(x, "x") - float(assigned), np.sqrt(np.maximum(variance, 0.0)))


def e_n(x: Numbers, assigned: float, expanded: Numbers, expanded_assigned: float) -> Vector:
    """Return E_n = (x - assigned) / sqrt(U^2 + U_assigned^2), with expanded uncertainties.

    Parameters
    ----------
    x : array_like
        Results.
    assigned : float
        Assigned value, same unit as everything here.
    expanded : array_like
        Expanded uncertainty of each result.
    expanded_assigned : float
        Expanded uncertainty of the assigned value.

    Notes
    -----
    With coverage factor 2 on both sides this is half of zeta; the limit is 1.
    """
    return zeta_score(x, assigned, expanded, expanded_assigned)


def signal(score: Numbers) -> list[str]:
    """Return ISO 13528's word for z, z' or zeta: up to 2 acceptable, below 3 warning, else action.

    Examples
    --------
    >>> signal([1.9, -2.5, 3.0])
    ['acceptable', 'warning', 'action']
    """
    size = np.abs(_array(score, "score"))
    return [
        "acceptable" if s <= WARNING else "warning" if s < ACTION else "action"
        for s in np.atleast_1d(size)
    ]


def e_n_signal(score: Numbers) -> list[str]:
    """Return ISO 13528's word for E_n: acceptable strictly within -1 and 1, else action."""
    size = np.abs(_array(score, "score"))
    return ["acceptable" if s < 1 else "action" for s in np.atleast_1d(size)]


def horwitz_sd(mass_fraction: Numbers, *, thompson: bool = True) -> Vector:
    """Return the reproducibility standard deviation Horwitz' curve expects, as a mass fraction.

    Parameters
    ----------
    mass_fraction : array_like
        Grams per gram, above 0 and up to 1 (0.17 g per 100 g is 0.0017).
    thompson : bool
        Use Thompson's forms outside 1.2e-7 to 0.138, where Horwitz' curve does not hold.

    Notes
    -----
    0.02 c^0.8495: W. Horwitz, Anal. Chem. 54 (1982) 67A-76A. Outside: 0.22 c and 0.01 c^0.5,
    M. Thompson, Analyst 125 (2000) 385-386.
    """
    c = _array(mass_fraction, "mass_fraction")
    if np.any(c <= 0) or np.any(c > 1):
        raise InputError(
            "not a mass fraction", where="mass_fraction", expected="above 0 and up to 1"
        )
    middle = 0.02 * c**0.8495
    if not thompson:
        return np.asarray(middle)
    return np.asarray(
        np.where(c < 1.2e-7, 0.22 * c, np.where(c > 0.138, 0.01 * np.sqrt(c), middle))
    )


def horrat(sd_reproducibility: Numbers, mass_fraction: Numbers, *, thompson: bool = True) -> Vector:
    """Return the observed reproducibility over what Horwitz' curve expects; 0.5 to 2 is usual.

    Parameters
    ----------
    sd_reproducibility : array_like
        Reproducibility standard deviation as a mass fraction.
    mass_fraction, thompson
        See :func:`horwitz_sd`.

    Notes
    -----
    W. Horwitz and R. Albert, J. AOAC Int. 89 (2006) 1095-1109.
    """
    observed = _array(sd_reproducibility, "sd_reproducibility", positive=True)
    return np.asarray(observed / horwitz_sd(mass_fraction, thompson=thompson))


@dataclass(frozen=True, repr=False)
class Scores(Result):
    """Scores of all results against one assigned value.

    Attributes
    ----------
    table : DataFrame
        ``label, value, u, difference_percent, z, z_signal`` (or ``z_prime, z_prime_signal``),
        ``zeta, zeta_signal, e_n, e_n_signal``; a score without its yardstick is left out.
    assigned, u_assigned : float
        Assigned value and its standard uncertainty.
    sigma : float
        Standard deviation for assessment; not a number if none was given.
    n, omitted : int
        Results scored and left out.
    notes : tuple of str
        Which score was chosen and why.
    unit : str
        Unit of the values.
    """

    table: pd.DataFrame
    assigned: float
    u_assigned: float
    sigma: float
    n: int
    omitted: int
    notes: tuple[str, ...]
    unit: str = ""

    def headline(self) -> str:
        """Return how many results call for a look."""
        columns = [c for c in self.table.columns if c.endswith("_signal")]
        told = []
        for column in columns:
            act = int((self.table[column] == "action").sum())
            told.append(f"{column.removesuffix('_signal')}: {act} of {self.n} call for action")
        return "; ".join(told)

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the scores."""
        return {"Scores": self.table}


def scores(
    data: Any,
    assigned: float,
    u_assigned: float = 0.0,
    *,
    sigma: float | None = None,
    value: str | None = None,
    u: str | None = None,
    group: str | Sequence[str] | None = None,
    correlated: Literal["no", "consensus"] = "no",
    route: str = "residue",
    missing: Missing = "raise",
) -> Scores:
    """Score every result against an assigned value.

    Parameters
    ----------
    data : Estimates, DataFrame or array_like
        Results, one per row.
    assigned, u_assigned : float
        Assigned value and its standard uncertainty, unit of the results.
    sigma : float, optional
        Standard deviation for assessment. Given, z is computed, or z' where the uncertainty of
        the assigned value exceeds 0.3 sigma.
    value, u : str, optional
        Columns of the values and of their standard uncertainties; estimates bring both. With
        ``u``, zeta and E_n (coverage factor 2) are computed.
    group : str or sequence of str, optional
        Columns that name the results.
    correlated : {"no", "consensus"}
        ``"consensus"`` when the assigned value is the mean of these very results: each then
        contributed u^2/n of covariance (equal weights), which zeta accounts for.
    route, missing
        See :func:`solubility_stats.pooling.tidy.observations`.

    Returns
    -------
    Scores

    Raises
    ------
    InputError
        If neither ``sigma`` nor ``u`` gives a yardstick.
    """
    columns = as_columns(group)
    if hasattr(data, "used"):
        columns = columns or default_grouping(data, route)
        u = u or ESTIMATE_U
    obs = observations(data, value, [*columns, *([u] if u else [])], route=route, missing=missing)
    if sigma is None and u is None:
        raise InputError(
            "no yardstick for a score", where="scores", expected="sigma= or u= or both"
        )
    codes, names = labels(obs.frame, columns)
    own = _array(obs.frame[u], "u", positive=True) if u else None
    table = pd.DataFrame({"label": [names[c] for c in codes], "value": obs.values})
    table["u"] = np.nan if own is None else own
    away = obs.values - assigned
    table["difference_percent"] = 100 * away / abs(assigned) if assigned else np.nan
    notes: list[str] = []
    if sigma is not None:
        notes.append(_against_sigma(table, assigned, u_assigned, sigma))
    if own is not None:
        covariance = own**2 / obs.n if correlated == "consensus" else np.zeros(obs.n)
        notes.append(_against_u(table, assigned, own, u_assigned, covariance))
    return Scores(
        table=table,
        assigned=float(assigned),
        u_assigned=float(u_assigned),
        sigma=float("nan") if sigma is None else float(sigma),
        n=obs.n,
        omitted=obs.omitted,
        notes=tuple(notes),
        unit=obs.unit,
    )


def _against_sigma(table: pd.DataFrame, assigned: float, u_assigned: float, sigma: float) -> str:
    """Add z or z' and its signal to ``table``; return which and why."""
    x = table["value"].to_numpy()
    if u_assigned > NEGLIGIBLE * sigma:
        table["z_prime"] = z_prime(x, assigned, sigma, u_assigned)
        table["z_prime_signal"] = signal(table["z_prime"])
        return "z' because the uncertainty of the assigned value is not negligible."
    table["z"] = z_score(x, assigned, sigma)
    table["z_signal"] = signal(table["z"])
    return "z: the uncertainty of the assigned value is below 0.3 of the yardstick."


def _against_u(
    table: pd.DataFrame, assigned: float, own: Vector, u_assigned: float, covariance: Vector
) -> str:
    """Add zeta, E_n and their signals to ``table``; return a note."""
    table["zeta"] = zeta_score(table["value"], assigned, own, u_assigned, covariance)
    table["zeta_signal"] = signal(table["zeta"])
    table["e_n"] = table["zeta"] / 2
    table["e_n_signal"] = e_n_signal(table["e_n"])
    return "E_n uses expanded uncertainties with coverage factor 2 on both sides."
