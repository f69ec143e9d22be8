"""From anything with values and uncertainties to a :class:`Consensus`."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import ndtri, stdtrit

from solubility_stats.covariance import SharedCovariance
from solubility_stats.errors import InputError
from solubility_stats.pooling import intervals
from solubility_stats.pooling.intervals import Interval, IntervalKind
from solubility_stats.pooling.random_effects import TAU2_METHODS
from solubility_stats.pooling.result import METHODS, Consensus
from solubility_stats.pooling.sample import (
    Missing,
    Sample,
    key_columns,
    sample_from,
    unit_codes,
)
from solubility_stats.pooling.section_effect import NO_SECTIONS, between_sections
from solubility_stats.pooling.shared import Shared, split

__all__ = ["METHODS", "Consensus", "pool", "pool_sample"]


def pool(
    data: Any,
    *,
    value: str | None = None,
    u: str | npt.ArrayLike | None = None,
    method: str = "reml",
    covariance: SharedCovariance | npt.ArrayLike | None = None,
    level: float = 0.95,
    interval: IntervalKind | None = None,
    route: str = "residue",
    apparent: bool = False,
    missing: Missing = "raise",
    by: str | Sequence[str] | None = None,
    section_effect: bool = True,
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
    covariance : SharedCovariance or array of shape (n, n), optional
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
        use the group; a plain frame uses its rows. To pool with whole sections as the units,
        see :func:`~solubility_stats.pooling.replication`.
    section_effect : bool
        Where rows carry a ``section``, look for a difference between sections that nothing
        stated explains, and count it as a cause each section shares.

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

    Sections that differ add ``t2 sum A^2``, with ``t2`` the variance between sections and ``A``
    the weight each holds, on ``sections - 1`` degrees of freedom. Simulation (see
    ``docs/calibration``): with 6 sections or more the interval then keeps its level; with two or
    three a real difference is often not seen, and the interval of ``replication`` is safer.
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
    return pool_sample(
        sample, method=method, level=level, interval=interval, section_effect=section_effect
    )


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
    sample: Sample,
    *,
    method: str,
    level: float = 0.95,
    interval: IntervalKind | None = None,
    section_effect: bool = True,
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
    effect = between_sections(sample, estimate.weights, level) if section_effect else NO_SECTIONS
    estimate = estimate.plus(effect.variance_of_mean, effect.sections - 1)
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
        u_section=float(np.sqrt(effect.variance_of_mean)),
        prediction_low=estimate.value - reach,
        prediction_high=estimate.value + reach,
        dof=estimate.dof,
        interval=kind,
        weights=estimate.weights,
        frame=_frame(sample, parts, estimate, spread.tau2, level),
        set_aside=sample.set_aside,
        unit=sample.unit,
        replicate=sample.replicate,
        notes=_notes(sample, parts, estimate, spread, method) + effect.notes(sample, level),
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
    if repeats := _rows_of_repeated_groups(sample):
        notes.append(
            f"{repeats} rows belong to groups with more than one row and count as if they were "
            "groups; pass by='group' to combine them first."
        )
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
    return tuple(notes)


def _rows_of_repeated_groups(sample: Sample) -> int:
    if sample.replicate != "row" or "group" not in sample.labels.columns:
        return 0
    code = unit_codes(sample.labels, key_columns("group", sample.labels))
    size = np.bincount(code)
    return int(size[size > 1].sum())
