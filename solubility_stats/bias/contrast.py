"""Residue minus titration: a difference that needs no reference value.

Both routes see the same solution, so solubility, temperature and approach to saturation drop
out; what is left is the handling of the solid, or the technique of the titration.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.inputs import ClassEstimates, usable
from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result, with_uncertainty

if TYPE_CHECKING:
    from solubility_stats.pooling.consensus import Consensus

Vector = npt.NDArray[np.float64]


@dataclass(frozen=True, repr=False)
class RouteContrast(Result):
    """Residue minus titration over the runs that have both, percent of the titration.

    Attributes
    ----------
    apparent_percent, u_apparent_percent, apparent_low_percent, apparent_high_percent : float
        Plain results of both routes.
    percent, u_percent, low_percent, high_percent : float
        After the expected effects of both routes.
    n : int
        Runs with both routes.
    runs : DataFrame
        ``run_id, apparent_percent, percent``.
    says : str
        What it means, in one sentence.
    """

    apparent_percent: float
    u_apparent_percent: float
    apparent_low_percent: float
    apparent_high_percent: float
    percent: float
    u_percent: float
    low_percent: float
    high_percent: float
    n: int
    runs: pd.DataFrame
    says: str

    def headline(self) -> str:
        """Return the contrast before and after the expected effects."""
        plain = with_uncertainty(self.apparent_percent, self.u_apparent_percent, "%")
        left = with_uncertainty(self.percent, self.u_percent, "%")
        return (
            f"residue minus titration {plain} as computed, {left} after the expected effects "
            f"({self.n} runs): {self.says}"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the runs."""
        return {"Runs": self.runs}


def residue_minus_titration(
    est: ClassEstimates, *, level: float = 0.95, method: str = "reml"
) -> RouteContrast | None:
    """Return the contrast, or None where no run has both routes.

    Parameters
    ----------
    est : Estimates
        Estimates of a class.
    level, method
        As in :func:`solubility_stats.pool`.

    Notes
    -----
    Causes that act on both routes in one run (fines, saturation) cancel in truth but are counted
    as independent between the routes here, which can only widen the interval; causes shared by
    name between the routes do cancel.
    """
    residue, titration = usable(est, "residue"), usable(est, "titration")
    first = residue.reset_index(drop=True)["run_id"].astype("str")
    second = titration.reset_index(drop=True)["run_id"].astype("str")
    both = [r for r in first if r in set(second)]
    if not both:
        return None
    i = pd.Series(first.index, index=first.to_numpy()).loc[both].to_numpy()
    j = pd.Series(second.index, index=second.to_numpy()).loc[both].to_numpy()
    found = {}
    for apparent in (True, False):
        name = "apparent_g_per_100g" if apparent else "value_g_per_100g"
        r = np.asarray(residue[name], dtype=float)[i]
        t = np.asarray(titration[name], dtype=float)[j]
        covariance = joined(
            est.covariance("residue", apparent).take(i),
            est.covariance("titration", apparent).take(j),
        )
        found[apparent] = _pooled(r, t, covariance, level, method)
    (ra, pa), (rv, pv) = found[True], found[False]
    runs = pd.DataFrame({"run_id": both, "apparent_percent": ra, "percent": rv})
    return RouteContrast(
        *(pa.value, pa.u, pa.low, pa.high),
        *(pv.value, pv.u, pv.low, pv.high),
        n=len(both),
        runs=runs,
        says=_meaning(pv.low, pv.high, pv.value),
    )


def joined(first: SharedCovariance, second: SharedCovariance) -> SharedCovariance:
    """Return the covariance of ``first - second``; causes of equal name are the same cause."""
    names = list(dict.fromkeys([*first.factors, *second.factors]))
    place = {name: k for k, name in enumerate(names)}
    loadings = np.zeros((first.n, len(names)))
    loadings[:, [place[f] for f in first.factors]] += first.loadings
    loadings[:, [place[f] for f in second.factors]] -= second.loadings
    return SharedCovariance(first.variance + second.variance, loadings, tuple(names))


def _pooled(
    r: Vector, t: Vector, covariance: SharedCovariance, level: float, method: str
) -> tuple[Vector, Consensus]:
    from solubility_stats.pooling.consensus import pool

    level_of_titration = float(np.median(t))
    scale = 100.0 / level_of_titration
    percent = (r - t) * scale
    scaled = SharedCovariance(
        covariance.variance * scale**2, covariance.loadings * scale, covariance.factors
    )
    return percent, pool(percent, covariance=scaled, level=level, method=method)


def _meaning(low: float, high: float, value: float) -> str:
    if low <= 0 <= high:
        return "the expected effects can account for the difference between the routes"
    which = "above" if value > 0 else "below"
    what = (
        "solid lost, a moist or impure reagent, or a titration that reads low"
        if value > 0
        else "residue weighed too heavy (liquor, water, carbonate, fibres), less water than "
        "recorded, "
        "or a titration that reads high"
    )
    return (
        f"the residue route reads {which} the titration, and the reference cannot be the reason; "
        f"possible are {what}"
    )
