"""Shared errors of instruments and reference, as columns of the joint model."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.catalogue import causes
from solubility_stats.bias.inputs import ClassEstimates, Curve, curve_loadings

Vector = npt.NDArray[np.float64]
OTHER = "other_instruments"
REFERENCE = "reference_value"
TEMPERATURE = "temperature_error"


@dataclass(frozen=True)
class Shared:
    """Columns of shared errors, one standard uncertainty each.

    Attributes
    ----------
    columns : ndarray, shape (N, s)
        Change of each reading per standard uncertainty of the error, g/100 g.
    names, owners, kinds : tuple of str, length s
        Each error, the cause of the catalogue it belongs to, ``instrument`` or ``reference``.
    """

    columns: Vector
    names: tuple[str, ...]
    owners: tuple[str, ...]
    kinds: tuple[str, ...]


def instrument_columns(
    est: ClassEstimates,
    curve: Curve,
    rows: pd.DataFrame,
    routes: Sequence[str],
    slope: Vector,
) -> Shared:
    """Return the shared errors of a class's readings.

    Readings outside the fit, which come last in ``rows``, get no instrument error: they are
    examined, not learned from. Errors of equal name in several routes are one error. Columns of
    one cause that are multiples of one another are added in quadrature: only their sum acts.
    """
    t = np.asarray(rows["temperature_c"], dtype=float)
    n = len(rows)
    joint: dict[tuple[str, str], Vector] = {}
    start = 0
    for route in routes:
        covariance = est.covariance(route, True)
        stop = start + covariance.n
        for name, column in zip(covariance.factors, covariance.loadings.T, strict=True):
            key = (owner_of(name), name)
            joint.setdefault(key, np.zeros(n))[start:stop] += column
        start = stop
    reference = curve_loadings(curve, t)
    for j, column in enumerate(reference.T):
        joint[(REFERENCE, f"reference curve {j + 1}")] = column
    u_t = np.nan_to_num(np.array(rows.get("u_temperature_k", pd.Series(0.0, rows.index)), float))
    if np.any(u_t > 0):
        joint[(TEMPERATURE, "temperature reading")] = slope * u_t
    return _merged(joint, n)


def owner_of(factor: str) -> str:
    """Return the instrument cause of the catalogue a shared factor belongs to."""
    text = factor.casefold()
    for cause in causes().values():
        if any(word in text for word in cause.instrument):
            return cause.name
    return OTHER


def _merged(joint: dict[tuple[str, str], Vector], n: int) -> Shared:
    names: list[str] = []
    owners: list[str] = []
    columns: list[Vector] = []
    directions: list[Vector] = []
    for (owner, name), column in joint.items():
        size = float(np.linalg.norm(column))
        if size == 0.0:
            continue
        direction = column / size
        for j, other in enumerate(directions):
            if owners[j] == owner and abs(float(direction @ other)) > 1 - 1e-6:
                columns[j] = other * np.hypot(float(np.linalg.norm(columns[j])), size)
                break
        else:
            names.append(name)
            owners.append(owner)
            columns.append(column)
            directions.append(direction)
    kinds = tuple("reference" if o == REFERENCE else "instrument" for o in owners)
    stacked = np.stack(columns, axis=1) if columns else np.empty((n, 0))
    return Shared(stacked, tuple(names), tuple(owners), kinds)


# Share of a route's class-level variance below which a shared error is not followed by itself.
NEGLIGIBLE = 1e-3


def fold_negligible(
    shared: Shared, own: Vector, others: Vector, route: npt.NDArray[np.str_]
) -> tuple[Shared, Vector]:
    """Move shared errors that cannot matter into the variance of each reading's own.

    Parameters
    ----------
    shared : Shared
        Shared errors.
    own : ndarray, shape (N,)
        Instrument variance of each reading.
    others : ndarray, shape (N,)
        Variance a class-level change of all causes makes in each reading.
    route : ndarray of str, shape (N,)
        Route of each reading.

    Returns
    -------
    Shared, ndarray
        What is left, and the own variance with the rest added.
    """
    squares = shared.columns**2
    matters = np.array([kind == "reference" for kind in shared.kinds], dtype=bool)
    for name in np.unique(route):
        at = route == name
        whole = float(np.mean(others[at] + squares[at].sum(axis=1) + own[at] / at.sum()))
        matters |= squares[at].mean(axis=0) > NEGLIGIBLE * whole
    keep = np.flatnonzero(matters)
    left = Shared(
        shared.columns[:, keep],
        tuple(shared.names[j] for j in keep),
        tuple(shared.owners[j] for j in keep),
        tuple(shared.kinds[j] for j in keep),
    )
    return left, np.asarray(own + squares[:, ~matters].sum(axis=1))
