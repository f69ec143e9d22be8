"""Differences from a reference in percent, with everything their members share.

The array part of the comparison: no verdicts here, and nothing is pooled.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.inputs import ClassEstimates, Curve, curve_loadings
from solubility_stats.covariance import SharedCovariance

Vector = npt.NDArray[np.float64]
REFERENCE = "reference curve"
TEMPERATURE = "temperature reading"
HABITS = "habits of single groups"


@dataclass(frozen=True)
class Differences:
    """Percent differences of ``n`` runs from the curve at their own temperatures.

    Attributes
    ----------
    rows : DataFrame
        The runs: identity, temperature, factors.
    percent : ndarray, shape (n,)
        ``100 (value / reference - 1)``.
    covariance : SharedCovariance
        In percent squared; the curve and the temperature are shared causes.
    reference, u_reference : ndarray, shape (n,)
        Curve at each run's temperature, g per 100 g water.
    """

    rows: pd.DataFrame
    percent: Vector
    covariance: SharedCovariance
    reference: Vector
    u_reference: Vector

    def take(self, mask: npt.ArrayLike) -> Differences:
        """Return the differences of a subset."""
        at = np.asarray(mask)
        return Differences(
            self.rows[at].reset_index(drop=True),
            self.percent[at],
            self.covariance.take(at),
            self.reference[at],
            self.u_reference[at],
        )


def differences(est: ClassEstimates, curve: Curve, route: str, *, apparent: bool) -> Differences:
    """Return the percent differences of the used runs of a route from the curve.

    Temperatures enter at first order: an error of ``u_temperature_k`` moves the reference by the
    curve's slope. It is taken as common to the class, because one lab has one thermometer habit
    and one room; where readings are in truth independent this only widens the interval.
    """
    rows = est.used(route).reset_index(drop=True)
    name = "apparent_g_per_100g" if apparent else "value_g_per_100g"
    value = np.array(rows[name], dtype=float)
    temperature = np.array(rows["temperature_c"], dtype=float)
    reference, u_reference = _at(curve, temperature)
    own = est.covariance(route, apparent)
    slope = np.asarray(curve.slope(temperature), dtype=float) * np.ones_like(temperature)
    u_temperature = np.nan_to_num(np.array(rows["u_temperature_k"], dtype=float))
    # The ratio of the class as a whole multiplies errors of the reference: 1 for small bias.
    ratio = float(np.median(value / reference)) if value.size else 1.0
    curve_part = curve_loadings(curve, temperature) if value.size else np.empty((0, 0))
    blocks = [own.loadings, -abs(ratio) * curve_part]
    factors = [*own.factors, *[f"{REFERENCE} {j + 1}" for j in range(curve_part.shape[1])]]
    if np.any(u_temperature > 0):
        blocks.append((-abs(ratio) * slope * u_temperature)[:, None])
        factors.append(TEMPERATURE)
    scale = 100.0 / reference
    covariance = SharedCovariance(
        own.variance * scale**2, np.hstack(blocks) * scale[:, None], tuple(factors)
    )
    percent = 100.0 * (value / reference - 1.0)
    return Differences(rows, percent, covariance, reference, u_reference)


def _at(curve: Curve, temperature: Vector) -> tuple[Vector, Vector]:
    if not temperature.size:
        return np.empty(0), np.empty(0)
    value, u = curve.at(temperature)
    return np.asarray(value, dtype=float), np.asarray(u, dtype=float)


def component_of(factor: str) -> str:
    """Return the component a shared factor belongs to: its name without scope, part or number.

    What the runs of one group have in common is one component, whatever its parts: no reader
    gains by the directions into which a group's few effects happen to be split.
    """
    base, _, scope = factor.partition(" [")
    if scope.startswith("group "):
        return HABITS
    return REFERENCE if base.startswith(REFERENCE) else base.removesuffix(": class mean")
