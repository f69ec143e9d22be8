"""Spread between groups, and the interval of a pooled value, on arrays.

Sources: Hartung & Knapp, Stat. Med. 20 (2001) 3875; Knapp & Hartung, Stat. Med. 22 (2003) 2693;
Röver, Knapp & Friede, BMC Med. Res. Methodol. 15 (2015) 99 (modified); Satterthwaite, Biometrics
Bull. 2 (1946) 110 (degrees of freedom of a sum); Higgins, Thompson & Spiegelhalter, J. R. Stat.
Soc. A 172 (2009) 137 (prediction interval).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import numpy.typing as npt
from scipy.special import chdtr, chdtrc, ndtri, stdtrit

from solubility_stats.pooling import random_effects as re
from solubility_stats.pooling import robust
from solubility_stats.pooling.shared import Shared

Vector = npt.NDArray[np.float64]
IntervalKind = Literal["knapp-hartung", "modified-knapp-hartung", "plain"]
KINDS: tuple[IntervalKind, ...] = ("knapp-hartung", "modified-knapp-hartung", "plain")

# Below this probability an agreement between groups counts as luck (or as uncertainties stated
# too large), and the stated uncertainties replace the observed spread.
LUCK = 0.025
NAN = float("nan")


@dataclass(frozen=True)
class Spread:
    """Heterogeneity of the units; see the fields of the same name in Consensus."""

    tau2: float
    tau2_low: float
    tau2_high: float
    q: float
    p_value: float
    p_luck: float
    i_squared: float
    h_squared: float


@dataclass(frozen=True)
class Interval:
    """A pooled value, its standard uncertainty and the degrees of freedom of that."""

    value: float
    u: float
    u_shared: float
    dof: float
    weights: Vector
    notes: tuple[str, ...] = ()

    def plus(self, variance: float, dof: int) -> Interval:
        """Return the same value with one more shared variance, known on ``dof`` degrees."""
        if variance <= 0:
            return self
        u2 = self.u**2 + variance
        spent = variance**2 / dof + (0.0 if np.isinf(self.dof) else self.u**4 / self.dof)
        return replace(
            self,
            u=float(np.sqrt(u2)),
            u_shared=float(np.hypot(self.u_shared, np.sqrt(variance))),
            dof=u2**2 / spent,
        )

    def quantile(self, level: float) -> float:
        """Return the two-sided quantile that turns ``u`` into a half-width."""
        if np.isinf(self.dof) or np.isnan(self.dof):
            return float(ndtri(0.5 + level / 2))
        return float(stdtrit(self.dof, 0.5 + level / 2))


def spread(y: Vector, parts: Shared, method: str, level: float) -> Spread:
    """Return between-group variance and the statistics of heterogeneity.

    Robust methods have no between-group variance of their own; the Paule–Mandel one is given.
    """
    n, v, local = y.size, parts.variance, parts.local
    if not parts.known or n < 2 or (np.any(v == 0) and not np.all(v == 0)):
        return Spread(NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN)
    own = method if method in re.TAU2_METHODS else "pm"
    tau2 = re.between_variance(y, v, local, own)
    low, high = re.q_profile(y, v, local, level)
    if np.all(v == 0):
        some = float(np.ptp(y)) > 0
        q = float("inf") if some else 0.0
        return Spread(tau2, low, high, q, 0.0 if some else 1.0, 1.0, float(some), NAN)
    q = re.fit(y, v, local, 0.0).q
    typical = re.typical_variance(v)
    return Spread(
        tau2=tau2,
        tau2_low=low,
        tau2_high=high,
        q=q,
        p_value=float(chdtrc(n - 1, q)),
        p_luck=float(chdtr(n - 1, q)),
        i_squared=tau2 / (tau2 + typical),
        h_squared=(tau2 + typical) / typical,
    )


def weighted_mean(y: Vector, parts: Shared, found: Spread, kind: IntervalKind) -> Interval:
    """Return the weighted mean at the estimated ``tau2`` with its uncertainty.

    With weights ``a`` the variance is ``q sum a^2 (v + tau2)`` from independent causes, plus
    ``max(q, 1) |a'A|^2`` from causes shared by some units, plus ``|a'L|^2`` from causes shared
    by all, where ``q`` is the generalised Q over ``n - 1`` (1 for the plain interval).
    """
    n, v = y.size, parts.variance
    tau2 = found.tau2 if np.isfinite(found.tau2) else 0.0
    total = v + tau2
    if np.all(total == 0):
        total = np.ones(n)
    a = 1 / total
    a = a / a.sum()
    q, dof, notes = _scale(re.fit(y, total, parts.local, 0.0).q, n, kind, found)
    independent = q * float(np.sum(a**2 * (v + tau2)))
    local = max(q, 1.0) * float(np.sum((a @ parts.local_raw) ** 2))
    common = float(np.sum((a @ parts.common) ** 2))
    scaled = independent + (local if q > 1 else 0.0)
    u2 = independent + local + common
    return Interval(
        value=float(y[0] + a @ (y - y[0])),
        u=float(np.sqrt(u2)),
        u_shared=float(np.sqrt(local + common)),
        dof=_satterthwaite(u2, scaled, dof),
        weights=a,
        notes=notes,
    )


def _scale(
    q: float, n: int, kind: IntervalKind, found: Spread
) -> tuple[float, float, tuple[str, ...]]:
    """Return the factor on the variance, its degrees of freedom, and what to say about it."""
    if kind == "plain" or n < 2:
        return 1.0, float("inf"), ()
    factor = q / (n - 1)
    if kind == "modified-knapp-hartung":
        return max(factor, 1.0), float(n - 1), ()
    if found.tau2 == 0 and found.p_luck < LUCK:
        return 1.0, float("inf"), (_luck_note(found.p_luck),)
    return factor, float(n - 1), ()


def _luck_note(p: float) -> str:
    return (
        "The units agree better than their stated uncertainties let expect "
        f"(probability {p:.2g}): the stated uncertainties give the interval. They may be too large."
    )


def _satterthwaite(u2: float, scaled: float, dof: float) -> float:
    """Return the degrees of freedom of ``u2`` when only its part ``scaled`` is estimated."""
    if scaled <= 0 or np.isinf(dof):
        return float("inf")
    return float(dof * (u2 / scaled) ** 2)


def robust_location(
    y: Vector, parts: Shared, method: str, kind: IntervalKind, found: Spread
) -> Interval:
    """Return a robust estimate with its uncertainty from the spread of the values.

    The values count alike, so the shared causes enter through equal weights.
    """
    n = y.size
    equal = np.full(n, 1 / n)
    shared = float(np.sum((equal @ parts.common) ** 2))
    local = float(np.sum((equal @ parts.local_raw) ** 2))
    if n == 1:
        u2 = float(parts.variance[0]) + shared + local if parts.known else NAN
        return Interval(
            float(y[0]), float(np.sqrt(u2)), float(np.sqrt(shared + local)), float("inf"), equal
        )
    value, u, dof, inefficiency = _robust(y, method)
    stated = inefficiency * float(np.sqrt(np.sum(parts.variance)) / n)
    notes: tuple[str, ...] = ()
    if kind == "modified-knapp-hartung":
        u = max(u, stated)
    elif kind == "plain":
        dof = float("inf")
    elif parts.known and u < stated and (found.p_luck < LUCK or u == 0):
        u, dof, notes = stated, float("inf"), (_luck_note(found.p_luck),)
    u2 = u**2 + shared + local
    return Interval(
        value, float(np.sqrt(u2)), float(np.sqrt(shared + local)),
        _satterthwaite(u2, u**2, dof), equal, notes,
    )  # fmt: skip


def _robust(y: Vector, method: str) -> tuple[float, float, float, float]:
    """Return value, standard uncertainty, its degrees of freedom, and sd relative to the mean's.

    The degrees of freedom of the median's uncertainty (0.6 (n - 1)) come from simulation with
    normal values, n = 5 to 100; the MADe is a less precise scale than the standard deviation.
    """
    n = y.size
    root = np.sqrt(n)
    if method == "median":
        scale = float(robust.made(y)) * robust.small_sample_mad_factor(n)
        return float(np.median(y)), np.sqrt(np.pi / 2) * scale / root, 0.6 * (n - 1), 1.2533
    if method == "algorithm_a":
        mean, sd = robust.algorithm_a(y)
        return float(mean), robust.ISO_MEDIAN_FACTOR * float(sd) / root, n - 1.0, 1.02
    if method == "huber":
        location, u = robust.huber(y, robust.qn_scale(y))
        return float(location), float(u), n - 1.0, 1.02
    if method == "hodges_lehmann":
        scale = float(robust.qn_scale(y))
        u = np.sqrt(np.pi / 3) * scale / root
        return float(robust.hodges_lehmann(y)), u, 0.8 * (n - 1), 1.0233
    share = robust.TRIM if method == "trimmed" else 0.0
    value, u_trimmed, dof = robust.trimmed_mean(y, share=share)
    return float(value), float(u_trimmed), float(dof), 1.0 if share == 0 else 1.07
