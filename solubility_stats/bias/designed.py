"""Classes that used planned, different amounts: recovered mass on initial mass and water.

Over groups ``mr = a m0 - b W + k``. What acts in proportion to the residue scales a and b alike,
what is constant lands in k, so ``b / a`` is the solubility free of both. It needs a planned
spread of both amounts; one recipe cannot be used.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.inputs import ClassEstimates, Curve, as_estimates, usable
from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError

Vector = npt.NDArray[np.float64]

# Least relative spread of an amount that counts as planned; one recipe, weighed and poured by
# hand, varies by one or two percent.
PLANNED_SPREAD = 0.1
REGRESSORS = ("initial_mass_g", "water_volume_ml")


@dataclass(frozen=True, repr=False)
class DesignedFit(Result):
    """Fit of a class with planned amounts.

    Attributes
    ----------
    solubility_g_per_100g, u_g_per_100g, low_g_per_100g, high_g_per_100g : float
        ``b / a`` at ``temperature_c``; interval at 95 % by Fieller's theorem with the shared
        uncertainty of the volumes added.
    percent, low_percent, high_percent : float
        Its difference from the curve, the curve's uncertainty included.
    coefficients : DataFrame
        ``coefficient, value, u, unit`` of a, b and k.
    n : int
        Runs in the fit.
    temperature_c : float
        Mean temperature; the curve's slope brings each run to it.
    notes : tuple of str
        What the fit is free of and what it is not.
    """

    solubility_g_per_100g: float
    u_g_per_100g: float
    low_g_per_100g: float
    high_g_per_100g: float
    percent: float
    low_percent: float
    high_percent: float
    coefficients: pd.DataFrame
    n: int
    temperature_c: float
    notes: tuple[str, ...]

    def headline(self) -> str:
        """Return the solubility from the slopes."""
        value = with_uncertainty(self.solubility_g_per_100g, self.u_g_per_100g, "g/100 g water")
        return (
            f"{value} from planned amounts ({self.n} runs), {self.percent:+.1f} % from the curve "
            f"({self.low_percent:+.1f} to {self.high_percent:+.1f})"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the coefficients."""
        return {"Coefficients": self.coefficients}


def designed_fit_if_planned(est: ClassEstimates, curve: Curve) -> DesignedFit | None:
    """Return the fit where the class used planned amounts, else None."""
    rows = usable(est, "residue")
    if len(rows) < 6 or any(c not in rows for c in REGRESSORS):
        return None
    spread = [float(rows[c].std() / rows[c].mean()) for c in REGRESSORS]
    return designed_fit(est, curve) if min(spread) >= PLANNED_SPREAD else None


def designed_fit(
    est: Any, curve: Curve, *, regressors: Sequence[str] = REGRESSORS, level: float = 0.95
) -> DesignedFit:
    """Fit recovered mass on initial mass and water over the groups of a class.

    Parameters
    ----------
    est : Estimates
        Estimates with masses and volumes.
    curve : ReferenceCurve
        Brings runs to one temperature, and is compared with.
    regressors : sequence of str
        Only ``initial_mass_g`` and ``water_volume_ml`` make sense; see below.
    level : float
        Confidence of the intervals.

    Raises
    ------
    InputError
        If a regressor carries the error of the response (recovered or dissolved mass): the
        slope of ``m0 - mr`` on ``mr`` is -1 at fixed ``m0`` whatever is true. Also if the
        amounts were not varied, or too few runs are left.

    Notes
    -----
    Weights are ``1 / (c0 + c1 R^2)``: causes in proportion to the residue R vary between groups,
    so scatter grows with it. ``c0`` and ``c1`` are taken from the instruments and from the
    squared residuals in turn. Fieller 1954, J. R. Stat. Soc. B 16, 175, for the ratio.
    """
    _refuse_trap(regressors)
    source = as_estimates(est)
    rows = _complete(usable(source, "residue"))
    m0, mr, water, t = _amounts(rows, curve)
    _require_plan(m0, water)
    middle = float(np.mean(t))
    x = np.column_stack([m0, -water / 100.0, np.ones_like(m0)])
    own = np.asarray(rows["u_apparent_g_per_100g"], dtype=float) * water / 100.0
    beta, covariance, dof = _weighted(x, mr, own**2)
    a, b = float(beta[0]), float(beta[1])
    ratio = b / a
    from scipy.special import stdtrit

    q = float(stdtrit(dof, 0.5 + level / 2))
    low, high = _fieller(a, b, covariance, q)
    u_ratio = float(
        np.sqrt(
            max(covariance[1, 1] - 2 * ratio * covariance[0, 1] + ratio**2 * covariance[0, 0], 0)
        )
        / abs(a)
    )
    u_volume = ratio * _volume_uncertainty(source, rows)
    shared = (1.96 * u_volume) ** 2
    low = ratio - np.sqrt((ratio - low) ** 2 + shared)
    high = ratio + np.sqrt((high - ratio) ** 2 + shared)
    reference, u_reference = (float(np.asarray(v)) for v in curve.at(middle))
    off = 100.0 * (ratio / reference - 1.0)
    of_curve = (1.96 * 100.0 * u_reference * ratio / reference**2) ** 2
    below = 100.0 * (ratio - low) / reference
    above = 100.0 * (high - ratio) / reference
    u = np.sqrt(np.diag(covariance))
    return DesignedFit(
        solubility_g_per_100g=ratio,
        u_g_per_100g=float(np.hypot(u_ratio, u_volume)),
        low_g_per_100g=float(low),
        high_g_per_100g=float(high),
        percent=off,
        low_percent=off - float(np.sqrt(below**2 + of_curve)),
        high_percent=off + float(np.sqrt(above**2 + of_curve)),
        coefficients=pd.DataFrame(
            {
                "coefficient": ["a", "b", "k"],
                "value": beta,
                "u": u,
                "unit": ["g/g", "g/100 g water", "g"],
            }
        ),
        n=len(rows),
        temperature_c=middle,
        notes=(
            "Free of retained liquor, residual water, carbonation and loss in proportion to the "
            "residue, and of every constant gain or loss.",
            "Not free of saturation not reached, volume error, reagent moisture or soluble "
            "impurity: these act like a change of the solubility itself.",
        ),
    )


def _refuse_trap(regressors: Sequence[str]) -> None:
    bad = [r for r in regressors if r not in REGRESSORS]
    if bad:
        raise InputError(
            "this regressor carries the error of the response on both axes",
            where="regressors",
            found=bad,
            expected=", ".join(REGRESSORS),
            remedy="With a fixed initial mass the slope of dissolved on recovered mass is -1 "
            "whatever the solubility. Use the amounts taken, which were chosen beforehand.",
        )


def _complete(rows: pd.DataFrame) -> pd.DataFrame:
    needed = ["initial_mass_g", "water_volume_ml", "apparent_g_per_100g", "temperature_c"]
    absent = [c for c in needed if c not in rows]
    kept = rows.dropna(subset=needed) if not absent else rows.iloc[:0]
    if len(kept) < 5:
        raise InputError(
            "too few runs with masses and volumes for three coefficients",
            where="est",
            found=f"{len(kept)} runs" + (f", no column {', '.join(absent)}" if absent else ""),
            expected="at least 5",
        )
    return kept.reset_index(drop=True)


def _amounts(rows: pd.DataFrame, curve: Curve) -> tuple[Vector, Vector, Vector, Vector]:
    """Return initial mass, recovered mass, water brought to one temperature, temperature."""
    from solubility_stats.reference.water import density

    t = np.asarray(rows["temperature_c"], dtype=float)
    m0 = np.asarray(rows["initial_mass_g"], dtype=float)
    water = np.asarray(rows["water_volume_ml"], dtype=float) * np.asarray(density(t)[0])
    mr = m0 - np.asarray(rows["apparent_g_per_100g"], dtype=float) * water / 100.0
    # Colder water that dissolves more counts as more water at the mean temperature.
    relative = np.asarray(curve.at(t)[0]) / float(np.asarray(curve.at(float(np.mean(t)))[0]))
    return m0, mr, water * relative, t


def _require_plan(m0: Vector, water: Vector) -> None:
    spread = {"initial mass": np.std(m0) / np.mean(m0), "water": np.std(water) / np.mean(water)}
    flat = [name for name, s in spread.items() if s < PLANNED_SPREAD]
    tied = abs(float(np.corrcoef(m0, water)[0, 1])) > 0.98 if not flat else False
    if flat or tied:
        raise InputError(
            "the amounts were not varied independently, so their slopes cannot be found",
            where="design",
            found=f"relative spread { ({n: round(float(s), 3) for n, s in spread.items()}) }",
            expected=f"a planned spread of at least {PLANNED_SPREAD:.0%} in both",
            remedy="Give groups different planned amounts of solid and of water.",
        )


def _weighted(x: Vector, y: Vector, own: Vector) -> tuple[Vector, Vector, float]:
    """Fit by weights ``1 / (own + c0 + c1 R^2)``, scale left to the residuals."""
    dof = float(len(y) - x.shape[1])
    size = np.maximum(np.abs(y), 0.1 * np.mean(np.abs(y)))
    own = np.maximum(own, 1e-12)
    variance = own + (0.03 * size) ** 2
    for _ in range(20):
        root = 1.0 / np.sqrt(variance)
        beta, *_ = np.linalg.lstsq(x * root[:, None], y * root, rcond=None)
        # The size of the residue is taken from the fit, not from the reading with its error.
        size = np.maximum(x @ beta, 0.1 * np.mean(np.abs(y)))
        # Moments, summed before they are cut at zero: cutting each would invent scatter.
        excess = float(np.sum(size**2 * ((y - x @ beta) ** 2 - own)) / np.sum(size**4))
        fresh = own + max(excess, 0.0) * size**2
        if np.allclose(fresh, variance, rtol=1e-6):
            break
        variance = fresh
    root = 1.0 / np.sqrt(variance)
    rest = (y - x @ beta) * root
    scale = max(1.0, float(rest @ rest) / dof)
    gram = (x * root[:, None]).T @ (x * root[:, None])
    return np.asarray(beta), np.asarray(scale * np.linalg.inv(gram)), dof


def _fieller(a: float, b: float, covariance: Vector, q: float) -> tuple[float, float]:
    """Return the interval of b / a; unbounded where a is not shown to differ from zero."""
    vaa, vbb, vab = covariance[0, 0], covariance[1, 1], covariance[0, 1]
    f0, f1, f2 = b**2 - q**2 * vbb, a * b - q**2 * vab, a**2 - q**2 * vaa
    inside = f1**2 - f0 * f2
    if f2 <= 0 or inside < 0:
        return -np.inf, np.inf
    half = float(np.sqrt(inside))
    return (f1 - half) / f2, (f1 + half) / f2


def _volume_uncertainty(est: ClassEstimates, rows: pd.DataFrame) -> float:
    """Return the relative uncertainty of the volumes that the whole class shares."""
    from solubility_stats.bias.instruments import owner_of

    covariance = est.covariance("residue", True)
    if covariance.n != len(rows):
        return 0.0
    value = np.asarray(rows["apparent_g_per_100g"], dtype=float)
    kept = [j for j, f in enumerate(covariance.factors) if owner_of(f) == "cylinder_error"]
    shared = np.mean(covariance.loadings[:, kept], axis=0) / abs(float(np.mean(value)))
    return float(np.sqrt(np.sum(shared**2)))
