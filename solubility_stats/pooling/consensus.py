"""The class's value: one estimate out of many groups, with an interval that means what it says."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import ndtri, stdtrit

from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError
from solubility_stats.pooling import intervals
from solubility_stats.pooling.intervals import Interval, IntervalKind
from solubility_stats.pooling.random_effects import TAU2_METHODS
from solubility_stats.pooling.sample import Missing, Sample, sample_from
from solubility_stats.pooling.shared import Shared, split

Vector = npt.NDArray[np.float64]

METHODS = {
    "fixed": "inverse-variance mean, groups taken to agree",
    "dl": "random effects, DerSimonian–Laird",
    "pm": "random effects, Paule–Mandel",
    "reml": "random effects, restricted maximum likelihood",
    "ml": "random effects, maximum likelihood",
    "mean": "arithmetic mean",
    "median": "median with MADe",
    "algorithm_a": "Algorithm A of ISO 13528",
    "huber": "Huber's estimate with scale Q_n",
    "hodges_lehmann": "Hodges–Lehmann estimate",
    "trimmed": "mean without the outer fifth at each end",
}


@dataclass(frozen=True, repr=False)
class Consensus(Result):
    """Pooled value of a class.

    Attributes
    ----------
    value : float
        Pooled value, in ``unit``.
    u : float
        Standard uncertainty, shared causes included, in ``unit``.
    low, high : float
        Interval of the pooled value at ``level``.
    tau2 : float
        Variance between groups beyond their stated uncertainties, in ``unit`` squared; 0 when
        they agree, not-a-number when it cannot be estimated (one group, or no uncertainties).
    tau2_low, tau2_high : float
        Exact interval of ``tau2`` at ``level`` (Q-profile).
    q : float
        Cochran's statistic of heterogeneity, chi-squared on ``n - 1`` under agreement.
    q_p_value : float
        Its p-value.
    i_squared : float
        Share (0 to 1) of the observed spread that is not stated uncertainty.
    h_squared : float
        Ratio of total to stated variance, 1 or more.
    n : int
        Number of units pooled.
    n_set_aside : int
        Rows left out; ``set_aside`` lists them with their reasons.
    method : str
        Key of :data:`METHODS`.
    level : float
        Probability of the intervals.
    u_shared : float
        Part of ``u`` from causes the groups share: more groups of the same class leave it.
    prediction_low, prediction_high : float
        Interval for the true value of one more group.
    dof : float
        Effective degrees of freedom of ``u``; infinite where the stated uncertainties were used.
    interval : str
        How the interval was made; see :func:`pool`.
    weights : ndarray, shape (n,)
        Weights of the units, summing to 1; for robust methods equal by convention.
    frame : DataFrame
        One row per unit: its labels, ``value, u, u_shared, low, high, weight_percent, residual,
        standardised`` (residual over its standard uncertainty including ``tau``).
    set_aside : DataFrame
        Rows left out, with ``reason``.
    unit : str
        Unit of the value.
    replicate : str
        What one unit is: the unit of replication.
    notes : tuple of str
        What a reader must know beside the number.
    """

    value: float
    u: float
    low: float
    high: float
    tau2: float
    tau2_low: float
    tau2_high: float
    q: float
    q_p_value: float
    i_squared: float
    h_squared: float
    n: int
    n_set_aside: int
    method: str
    level: float
    u_shared: float
    prediction_low: float
    prediction_high: float
    dof: float
    interval: str
    weights: Vector
    frame: pd.DataFrame
    set_aside: pd.DataFrame = field(default_factory=pd.DataFrame)
    unit: str = ""
    replicate: str = "row"
    notes: tuple[str, ...] = ()

    @property
    def tau(self) -> float:
        """Standard deviation between groups beyond their stated uncertainties."""
        return float(np.sqrt(self.tau2))

    @property
    def dark_uncertainty(self) -> float:
        """Another name of ``tau`` (Thompson & Ellison, Accred. Qual. Assur. 16 (2011) 483)."""
        return self.tau

    @property
    def u_independent(self) -> float:
        """Part of ``u`` that more groups would lower."""
        return float(np.sqrt(max(self.u**2 - self.u_shared**2, 0.0)))

    def headline(self) -> str:
        """Return the pooled value with its interval and what it rests on."""
        text = (
            f"{with_uncertainty(self.value, self.u, self.unit)} from {self.n} "
            f"{self.replicate}{'s' if self.n != 1 else ''} ({METHODS[self.method]}), "
            f"{self.level:.0%} interval {self.low:.4g} to {self.high:.4g}"
        )
        return f"{text}; {self.n_set_aside} rows set aside" if self.n_set_aside else text

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the summary, the units and what was set aside."""
        tables = {"Summary": self.summary(), "Units": self.frame}
        if len(self.set_aside):
            tables["Set aside"] = self.set_aside
        if self.notes:
            tables["Notes"] = pd.DataFrame({"note": list(self.notes)})
        return tables

    def summary(self) -> pd.DataFrame:
        """Return the statistics one per row: ``quantity, value, unit``."""
        unit, square = self.unit, f"({self.unit})²" if self.unit else ""
        rows = [
            ("value", self.value, unit),
            ("standard uncertainty", self.u, unit),
            ("of it shared by all", self.u_shared, unit),
            ("between-group standard deviation tau", self.tau, unit),
            ("tau² low", self.tau2_low, square),
            ("tau² high", self.tau2_high, square),
            ("Q", self.q, ""),
            ("p-value of Q", self.q_p_value, ""),
            ("I²", self.i_squared, ""),
            ("H²", self.h_squared, ""),
            ("next group, low", self.prediction_low, unit),
            ("next group, high", self.prediction_high, unit),
        ]
        return pd.DataFrame(rows, columns=["quantity", "value", "unit"])


def pool(
    data: Any,
    *,
    value: str | None = None,
    u: str | npt.ArrayLike | None = None,
    method: str = "reml",
    covariance: SharedCovariance | None = None,
    level: float = 0.95,
    interval: IntervalKind | None = None,
    route: str = "residue",
    apparent: bool = False,
    missing: Missing = "raise",
    by: str | Sequence[str] | None = None,
) -> Consensus:
    """Pool groups into one value.

    Parameters
    ----------
    data : Estimates, DataFrame, Series or array
        Estimates of a class; or a frame (columns ``value`` and ``u``, or named by the next two
        arguments, or the columns of an Estimates table); or values.
    value : str, optional
        Column of the values.
    u : str or array of shape (n,), optional
        Column or values of standard uncertainties. Robust methods work without.
    method : str
        Key of :data:`METHODS`.
    covariance : SharedCovariance, optional
        Covariance of the rows; replaces ``u``. Taken from Estimates by default.
    level : float
        Probability of the intervals.
    interval : {"knapp-hartung", "modified-knapp-hartung", "plain"}, optional
        ``knapp-hartung`` (default): Student's t on ``n - 1`` with the residual-based variance of
        Hartung & Knapp (Stat. Med. 20 (2001) 3875). Where the groups agree better than 1 in 40
        classes would by chance, their stated uncertainties are used instead, so that luck does
        not shrink the interval to nothing. ``modified-knapp-hartung``: never narrower than the
        variance from the stated uncertainties (Röver, Knapp & Friede, BMC Med. Res. Methodol.
        15 (2015) 99); wider than its level when groups agree. ``plain``: normal quantiles with
        ``tau2`` taken as known; too narrow for few groups. Default for ``fixed`` is ``plain``.
    route, apparent : str, bool
        Which route of Estimates, and whether the plain difference over volume is pooled.
    missing : {"raise", "omit"}
        What to do with rows lacking a value or uncertainty; omitted rows are counted and listed.
    by : str or sequence of str, optional
        Columns naming the unit of replication; rows of one unit are combined first. Estimates
        use the group; a plain frame uses its rows. Causes shared within a section make the
        section the unit: see :func:`~solubility_stats.pooling.replication`.

    Returns
    -------
    Consensus

    Raises
    ------
    InputError
        On missing values (unless omitted), unknown names, or uncertainties the method cannot use.

    Notes
    -----
    Weights come from the independent part of the uncertainty and ``tau2``. Causes that several
    units share never average out: with weights ``a`` and loadings ``L`` the variance of the mean
    is ``sum a^2 (v + tau2) + |a'L|^2``, and its second part is a floor under any number of units.
    """
    _check(method, level, interval)
    sample = sample_from(
        data,
        value=value,
        u=u,
        covariance=covariance,
        route=route,
        apparent=apparent,
        missing=missing,
        by=by,
    )
    return pool_sample(sample, method=method, level=level, interval=interval)


def _check(method: str, level: float, interval: str | None) -> None:
    if method not in METHODS:
        raise InputError(
            "unknown method", where="method", found=method, expected=", ".join(METHODS)
        )
    if not 0 < level < 1:
        raise InputError("a probability is needed", where="level", found=level, expected="0 to 1")
    if interval is not None and interval not in intervals.KINDS:
        raise InputError(
            "unknown interval",
            where="interval",
            found=interval,
            expected=", ".join(intervals.KINDS),
        )


def pool_sample(
    sample: Sample, *, method: str, level: float = 0.95, interval: IntervalKind | None = None
) -> Consensus:
    """Pool a prepared :class:`Sample`; the driver behind :func:`pool`."""
    parts = split(sample.covariance, sample.n)
    weighted = method in TAU2_METHODS
    if weighted:
        _check_uncertainties(sample, parts, method)
    kind = interval or ("plain" if method == "fixed" else "knapp-hartung")
    spread = intervals.spread(sample.y, parts, method, level)
    if weighted:
        estimate = intervals.weighted_mean(sample.y, parts, spread, kind)
    else:
        estimate = intervals.robust_location(sample.y, parts, method, kind, spread)
    half = estimate.quantile(level) * estimate.u
    reach = _prediction_reach(estimate.u, spread.tau2, sample.n, level)
    return Consensus(
        value=estimate.value,
        u=estimate.u,
        low=estimate.value - half,
        high=estimate.value + half,
        tau2=spread.tau2,
        tau2_low=spread.tau2_low,
        tau2_high=spread.tau2_high,
        q=spread.q,
        q_p_value=spread.p_value,
        i_squared=spread.i_squared,
        h_squared=spread.h_squared,
        n=sample.n,
        n_set_aside=len(sample.set_aside),
        method=method,
        level=level,
        u_shared=estimate.u_shared,
        prediction_low=estimate.value - reach,
        prediction_high=estimate.value + reach,
        dof=estimate.dof,
        interval=kind,
        weights=estimate.weights,
        frame=_frame(sample, parts, estimate, spread.tau2, level),
        set_aside=sample.set_aside,
        unit=sample.unit,
        replicate=sample.replicate,
        notes=_notes(sample, parts, estimate, spread, method),
    )


def _check_uncertainties(sample: Sample, parts: Shared, method: str) -> None:
    if not parts.known:
        raise InputError(
            f"method {method!r} weighs by uncertainties and none were given",
            where="u",
            remedy="Give u or covariance, or use a robust method such as 'median'.",
        )
    zero = parts.variance == 0
    if zero.any() and (not zero.all() or method == "fixed" or parts.local.shape[1]):
        raise InputError(
            "an uncertainty of zero would take all the weight",
            where="u",
            found=sample.labels[zero].iloc[:8, -1].tolist(),
            expected="positive uncertainties, or all zero to weigh all alike",
            remedy="Give these rows their true uncertainty, or use a robust method.",
        )


def _prediction_reach(u: float, tau2: float, n: int, level: float) -> float:
    """Return the half-width for the true value of one more unit, Student's t on ``n - 1``."""
    if n < 2:
        return float("nan")
    return float(stdtrit(n - 1, 0.5 + level / 2) * np.sqrt(u**2 + tau2))


def _frame(
    sample: Sample, parts: Shared, estimate: Interval, tau2: float, level: float
) -> pd.DataFrame:
    own, shared = parts.variance, parts.shared_variance
    u = np.sqrt(own + shared) if parts.known else np.full(sample.n, np.nan)
    k = float(ndtri(0.5 + level / 2))
    residual = sample.y - estimate.value
    scale = np.sqrt(own + parts.local_variance + max(tau2, 0.0) if np.isfinite(tau2) else own)
    standardised = np.divide(residual, scale, out=np.full(sample.n, np.nan), where=scale > 0)
    return sample.labels.assign(
        value=sample.y,
        u=u,
        u_shared=np.sqrt(shared),
        low=sample.y - k * u,
        high=sample.y + k * u,
        weight_percent=100 * estimate.weights,
        residual=residual,
        standardised=standardised,
    )


def _notes(
    sample: Sample, parts: Shared, estimate: Interval, spread: intervals.Spread, method: str
) -> tuple[str, ...]:
    notes = list(estimate.notes)
    if sample.n == 1:
        notes.append("One unit only: the spread between units cannot be seen.")
    if sample.rows > sample.n:
        units = f"{sample.n} {sample.replicate}s"
        notes.append(f"{sample.rows} rows were combined into {units} first.")
    if method == "fixed" and spread.p_value < 0.05:
        notes.append(
            "The groups differ by more than their uncertainties explain "
            f"(p = {spread.p_value:.2g}): this interval is too narrow; use a random-effects method."
        )
    if parts.known and estimate.u_shared**2 > 0.5 * estimate.u**2:
        notes.append(
            "Most of the uncertainty comes from causes the groups share; more groups of the same "
            "class would not lower it."
        )
    if sample.replicate in ("row", "group") and "section" in sample.labels.columns:
        sections = sample.labels["section"].astype("str").nunique()
        if sections > 1:
            notes.append(
                f"Unit of replication: the {sample.replicate}. A bottle, balance or instructor "
                f"serves a whole section, so for such causes the {sections} sections are the "
                "replicates; see replication()."
            )
    return tuple(notes)
