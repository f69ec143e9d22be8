"""One class-level difference from the curve: size, interval, verdict, and what limits it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.differences import HABITS, REFERENCE, Differences, component_of
from solubility_stats.bias.wording import signed, span
from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result, with_uncertainty

Vector = npt.NDArray[np.float64]
Verdict = Literal["agrees", "high", "low", "undecided"]
SCATTER = "scatter between groups"
# What more groups of the same kind reduce.
NOT_SHARED = (SCATTER, HABITS)
GROUP_KEYS = ("semester", "section", "group")


@dataclass(frozen=True, repr=False)
class ClassDifference(Result):
    """Difference of a class, or a part of one, from the reference curve.

    Attributes
    ----------
    percent, u_percent : float
        Difference and standard uncertainty, percent of the reference.
    low_percent, high_percent : float
        Interval at ``level``.
    dof : float
        Degrees of freedom of the uncertainty.
    p_value : float
        Two-sided, against no difference.
    equivalence_p_value : float
        Of the two one-sided tests against a difference beyond the margin.
    margin_percent : float
        Largest difference that does not matter, set by the user.
    verdict : {"agrees", "high", "low", "undecided"}
        See :func:`judge`.
    inside_margin : bool
        Whether the difference is shown to lie inside the margin, whatever its sign.
    smallest_detectable_percent : float
        Bias this class would have found with probability ``power``.
    power, level : float
        See above.
    limited_by : str
        Component with the largest part of the variance.
    components : DataFrame
        ``component, u_percent, share_percent, shared`` of the variance of ``percent``. Shared
        components are not reduced by more groups of the same kind.
    tau_percent : float
        Spread between groups beyond their stated uncertainties.
    n : int
        Number of groups (units pooled).
    n_set_aside : int
        Rows left out; the estimates list the reasons.
    reference_g_per_100g, u_reference_g_per_100g, temperature_c : float
        Curve at the mean temperature of the class.
    """

    percent: float
    u_percent: float
    low_percent: float
    high_percent: float
    dof: float
    p_value: float
    equivalence_p_value: float
    margin_percent: float
    verdict: Verdict
    inside_margin: bool
    smallest_detectable_percent: float
    power: float
    level: float
    limited_by: str
    components: pd.DataFrame
    tau_percent: float
    n: int
    n_set_aside: int
    reference_g_per_100g: float
    u_reference_g_per_100g: float
    temperature_c: float

    def headline(self) -> str:
        """Return size, verdict and limit in one sentence."""
        return (
            f"{with_uncertainty(self.percent, self.u_percent, '%')} from the reference at "
            f"{self.temperature_c:.1f} °C: {self.verdict}; limited by {self.limited_by}"
        )

    def sentence(self) -> str:
        """Return the verdict in words, with the real-but-small case said."""
        ends = f"{signed(self.low_percent, 1)} and {signed(self.high_percent, 1)} %"
        if self.verdict == "undecided":
            return (
                f"Not decided: the difference lies between {ends}, and a bias smaller than "
                f"{self.smallest_detectable_percent:.0f} % would often go unseen in this class."
            )
        if self.verdict == "agrees":
            return (
                f"The class agrees with the reference: the difference "
                f"({span(self.low_percent, self.high_percent, 1)} %) is shown to stay within "
                f"{self.margin_percent:g} %."
            )
        text = f"The class is {self.verdict}: the difference lies between {ends}."
        if self.inside_margin:
            text += f" It is real, but within the {self.margin_percent:g} % that do not matter."
        return text

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the components of the uncertainty."""
        return {"What limits it": self.components}


def judge(low: float, high: float, inside_margin: bool) -> Verdict:
    """Return the verdict on a difference.

    ``high`` or ``low`` where the interval excludes zero, even if the difference is shown to lie
    inside the margin: a real effect is said to be real, and ``inside_margin`` tells that it does
    not matter. ``agrees`` only where equivalence is shown; everything else is ``undecided``.
    """
    if low > 0:
        return "high"
    if high < 0:
        return "low"
    return "agrees" if inside_margin else "undecided"


def class_difference(
    diff: Differences,
    *,
    margin_percent: float = 5.0,
    level: float = 0.95,
    power: float = 0.9,
    method: str = "reml",
    n_set_aside: int = 0,
) -> ClassDifference:
    """Pool the differences of a class and judge the result.

    Parameters
    ----------
    diff : Differences
        Runs of the class, at least one.
    margin_percent, level, power, method
        See :func:`solubility_stats.bias.compare`.
    n_set_aside : int
        For the record.

    Notes
    -----
    The smallest detectable bias is ``(t(1 - alpha/2) + t(power)) u``; with many degrees of
    freedom and power 0.9 that is 3.24 combined standard uncertainties.
    """
    from solubility_stats.pooling.consensus import pool

    covariance = _with_floor(diff.covariance)
    keys = [k for k in GROUP_KEYS if k in diff.rows]
    repeated = "group" in keys and bool(diff.rows.duplicated(keys).any())
    frame = diff.rows[keys].assign(percent=diff.percent)
    pooled = pool(
        frame,
        value="percent",
        covariance=condensed(covariance),
        method=method,
        level=level,
        by="group" if repeated else None,
    )
    weights = row_weights(diff, pooled.weights, pooled.frame if repeated else None, keys)
    return _judged(
        pooled.value,
        pooled.u,
        float(pooled.dof),
        decompose(covariance, weights, pooled.u),
        margin_percent=margin_percent,
        level=level,
        power=power,
        tau_percent=pooled.tau,
        n=pooled.n,
        n_set_aside=n_set_aside,
        reference_g_per_100g=float(weights @ diff.reference),
        u_reference_g_per_100g=float(weights @ diff.u_reference),
        temperature_c=float(weights @ np.asarray(diff.rows["temperature_c"], dtype=float)),
    )


def _judged(
    percent: float,
    u: float,
    dof: float,
    components: pd.DataFrame,
    *,
    margin_percent: float,
    level: float,
    power: float,
    **rest: Any,
) -> ClassDifference:
    """Put interval, tests and verdict to a difference."""
    from scipy.special import stdtr, stdtrit

    from solubility_stats.pooling.tost import equivalence

    quantile = float(stdtrit(dof, 0.5 + level / 2))
    low, high = percent - quantile * u, percent + quantile * u
    test = equivalence(percent, u, margin_percent, dof=dof, alpha=1 - level)
    return ClassDifference(
        percent=percent,
        u_percent=u,
        low_percent=low,
        high_percent=high,
        dof=dof,
        p_value=float(2 * stdtr(dof, -abs(percent) / u)) if u > 0 else math.nan,
        equivalence_p_value=test.p_value,
        margin_percent=margin_percent,
        verdict=judge(low, high, test.equivalent),
        inside_margin=test.equivalent,
        smallest_detectable_percent=(quantile + float(stdtrit(dof, power))) * u,
        power=power,
        level=level,
        limited_by=str(components["component"].iloc[0]),
        components=components,
        **rest,
    )


def against_reference(found: ClassDifference, ratio: float, relative_u: float) -> ClassDifference:
    """Return the same class against another reference, without pooling again.

    Parameters
    ----------
    found : ClassDifference
        Against the present reference.
    ratio : float
        The other reference over the present one, taken as equal at all temperatures.
    relative_u : float
        Relative standard uncertainty of the other reference.

    Notes
    -----
    ``100 + percent`` is divided by ``ratio`` in every run, and so are all uncertainties but that
    of the reference; pooling follows such a change of scale exactly. Degrees of freedom by Welch
    and Satterthwaite from those of the scatter.
    """
    percent = (100.0 + found.percent) / ratio - 100.0
    parts = found.components
    kept = parts[parts["component"] != REFERENCE]
    variances = {str(c): float(u / ratio) ** 2 for c, u in zip(kept["component"], kept["u_percent"],
                                                               strict=True)}  # fmt: skip
    own = variances.get(SCATTER, 0.0)
    variances[REFERENCE] = ((100.0 + percent) * relative_u) ** 2
    u = math.sqrt(sum(variances.values()))
    before = own * ratio**2
    dof = found.dof
    if math.isfinite(dof) and own > 0:
        dof = dof * (before / found.u_percent**2) ** 2 * (u**2 / own) ** 2
    return _judged(
        percent,
        u,
        dof,
        _component_table(variances, u),
        margin_percent=found.margin_percent,
        level=found.level,
        power=found.power,
        tau_percent=found.tau_percent / ratio,
        n=found.n,
        n_set_aside=found.n_set_aside,
        reference_g_per_100g=found.reference_g_per_100g * ratio,
        u_reference_g_per_100g=found.reference_g_per_100g * ratio * relative_u,
        temperature_c=found.temperature_c,
    )


def _with_floor(covariance: SharedCovariance) -> SharedCovariance:
    """Give runs without any variance of their own a negligible one, so that pooling can weigh."""
    if np.all(covariance.variance > 0):
        return covariance
    floor = 1e-9 * max(float(covariance.diagonal().max(initial=0.0)), 1e-6)
    return SharedCovariance(
        np.maximum(covariance.variance, floor), covariance.loadings, covariance.factors
    )


# Share of the variance of causes with the same members that may be dropped: beyond rounding.
DROPPED = 1e-6
FEW_FACTORS = 40


def condensed(covariance: SharedCovariance) -> SharedCovariance:
    """Return the same covariance with fewer factors, where many sections share several causes.

    Causes shared by the same runs (balance, cylinder and so on of one section) move them in
    nearly the same way; their block is replaced by its principal directions. Pooling time grows
    with the square of the number of factors.
    """
    loadings = covariance.loadings
    if loadings.shape[1] <= FEW_FACTORS:
        return covariance
    members: dict[bytes, list[int]] = {}
    for j, column in enumerate(loadings.T):
        members.setdefault((column != 0.0).tobytes(), []).append(j)
    kept: list[Vector] = []
    for columns in members.values():
        block = loadings[:, columns]
        rows = np.flatnonzero(block[:, 0])
        if not rows.size:
            continue
        u, s, _ = np.linalg.svd(block[rows], full_matrices=False)
        tail = np.cumsum(s[::-1] ** 2)[::-1]
        rank = max(1, int(np.sum(tail > DROPPED * tail[0])))
        principal = np.zeros((len(loadings), rank))
        principal[rows] = u[:, :rank] * s[:rank]
        kept.append(principal)
    return SharedCovariance(covariance.variance, np.hstack(kept))


def row_weights(
    diff: Differences, unit_weights: Vector, units: pd.DataFrame | None, keys: list[str]
) -> Vector:
    """Return one weight per run, summing to 1: a unit's weight is split evenly over its runs."""
    if units is None:
        return np.array(unit_weights, dtype=float)
    have = [k for k in keys if k in units.columns]
    table = units[have].astype("str").assign(weight=np.asarray(unit_weights))
    rows = diff.rows[have].astype("str")
    count = rows.groupby(have, dropna=False)[have[0]].transform("size")
    merged = rows.merge(table.drop_duplicates(have), on=have, how="left")
    w = np.asarray(merged["weight"], dtype=float) / np.asarray(count, dtype=float)
    w = np.nan_to_num(w)
    return np.asarray(w / w.sum()) if w.sum() > 0 else np.full(len(rows), 1.0 / len(rows))


def decompose(covariance: SharedCovariance, weights: Vector, u: float) -> pd.DataFrame:
    """Return the parts of the variance of a weighted mean, largest first.

    Shared parts are ``weights @ loadings`` of each cause, summed in variance by component; what
    is left of ``u**2`` is the scatter between groups, which more groups do reduce, as they do the
    habits of single groups with several runs.
    """
    parts: dict[str, float] = {}
    for name, part in zip(covariance.factors, weights @ covariance.loadings, strict=True):
        key = component_of(name)
        parts[key] = parts.get(key, 0.0) + float(part**2)
    shared = sum(parts.values())
    return _component_table({SCATTER: max(u**2 - shared, 0.0), **parts}, u)


def _component_table(variances: Mapping[str, float], u: float) -> pd.DataFrame:
    rows = [(name, math.sqrt(v), name not in NOT_SHARED) for name, v in variances.items()]
    table = pd.DataFrame(rows, columns=["component", "u_percent", "shared"])
    whole = max(u**2, sum(variances.values()), 1e-300)
    table["share_percent"] = 100.0 * table["u_percent"] ** 2 / whole
    table = table.sort_values("u_percent", ascending=False, kind="stable", ignore_index=True)
    return table[["component", "u_percent", "share_percent", "shared"]]
