"""Bootstrap of a pooled value: resample the units, keep what resampling cannot see."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import ndtr, ndtri, stdtrit

from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError
from solubility_stats.pooling.consensus import pool_sample
from solubility_stats.pooling.intervals import LUCK
from solubility_stats.pooling.resample_rows import Kernel, kernel
from solubility_stats.pooling.result import METHODS, Consensus
from solubility_stats.pooling.sample import Missing, Sample, sample_from
from solubility_stats.pooling.shared import split

Vector = npt.NDArray[np.float64]
BootstrapKind = Literal["bca", "percentile"]

_BLOCK = 1 << 16  # drawn values handled at once: they fit the cache
_JACKKNIFE = 1000  # more units than this are left out in blocks, not singly
_FEW, _FEWISH = 3, 10  # fewer cannot be resampled; fewer make poor intervals


@dataclass(frozen=True, repr=False)
class Bootstrap(Result):
    """Bootstrap distribution of a pooled value.

    Attributes
    ----------
    value : float
        The estimate from the data.
    u : float
        Standard uncertainty: spread of the resampled estimates, shared causes added.
    low, high : float
        Interval at ``level``.
    u_shared : float
        Part of ``u`` that resampling cannot see: causes the units share.
    bias : float
        Mean of the resampled estimates less ``value``.
    estimator, method : str
        What was estimated and how the interval was made.
    replicates, n : int
        Resamples and units.
    level : float
        Probability of the interval.
    bias_correction, acceleration : float
        The two constants of the BCa interval; 0 for ``percentile``.
    seed : str
        What the random generator was started from; ``"given generator"`` if one was passed.
    unit, replicate : str
        Unit of the value; what was resampled.
    draws : ndarray, shape (replicates,)
        The resampled estimates, without shared causes.
    notes : tuple of str
        What a reader must know beside the number.
    """

    value: float
    u: float
    low: float
    high: float
    u_shared: float
    bias: float
    estimator: str
    method: str
    replicates: int
    n: int
    level: float
    bias_correction: float
    acceleration: float
    seed: str
    unit: str
    replicate: str
    draws: Vector
    notes: tuple[str, ...] = ()

    def headline(self) -> str:
        """Return the value with its bootstrap interval."""
        return (
            f"{with_uncertainty(self.value, self.u, self.unit)} ({METHODS[self.estimator]}), "
            f"{self.level:.0%} bootstrap interval {self.low:.4g} to {self.high:.4g}; "
            f"{self.replicates} resamples of {self.n} {self.replicate}s"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the constants of the interval."""
        rows = [
            ("standard uncertainty", self.u),
            ("of it shared, added after resampling", self.u_shared),
            ("bias", self.bias),
            ("bias correction", self.bias_correction),
            ("acceleration", self.acceleration),
        ]
        return {"Bootstrap": pd.DataFrame(rows, columns=["quantity", "value"])}

    def to_dict(self) -> dict[str, Any]:
        """Return every field but the draws as JSON-safe plain Python."""
        return {k: v for k, v in super().to_dict().items() if k != "draws"}


def bootstrap(
    data: Any,
    estimator: str = "reml",
    *,
    replicates: int = 10_000,
    rng: np.random.Generator | int | None = None,
    level: float = 0.95,
    method: BootstrapKind = "bca",
    value: str | None = None,
    u: str | npt.ArrayLike | None = None,
    covariance: SharedCovariance | None = None,
    route: str = "residue",
    apparent: bool = False,
    missing: Missing = "raise",
    by: str | Sequence[str] | None = None,
) -> Bootstrap:
    """Bootstrap a pooled value by resampling the units of replication.

    Parameters
    ----------
    data, value, u, covariance, route, apparent, missing, by
        As in :func:`~solubility_stats.pooling.pool`. Name the section in ``by`` to resample
        sections, as causes shared within a section demand.
    estimator : str
        Any method of :func:`~solubility_stats.pooling.pool`.
    replicates : int
        Number of resamples, at least 100.
    rng : Generator or int, optional
        Source of randomness or its seed; fresh and recorded if not given.
    level : float
        Probability of the interval.
    method : {"bca", "percentile"}
        Bias-corrected and accelerated, or plain percentiles.

    Returns
    -------
    Bootstrap

    Notes
    -----
    BCa: Efron, J. Am. Stat. Assoc. 82 (1987) 171. Intervals of few units are too short by the
    factor that separates the population from the sample variance and the normal from Student's
    t; the probabilities read off are widened by it (Hesterberg, Am. Stat. 69 (2015) 371,
    section 4.3). Causes the units share look the same in every resample: their variance is
    added to ``u``, and their half-width in quadrature to each side of the interval.
    """
    _check(estimator, replicates, method)
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
    if sample.n < _FEW:
        raise InputError(
            "too few units to resample",
            where="data",
            found=sample.n,
            expected=f"{_FEW} or more",
            remedy="Use pool(), which takes the stated uncertainties into account.",
        )
    return _bootstrap(sample, estimator, replicates, rng, level, method)


def _check(estimator: str, replicates: int, method: str) -> None:
    if estimator not in METHODS:
        raise InputError(
            "unknown estimator", where="estimator", found=estimator, expected=", ".join(METHODS)
        )
    if replicates < 100:
        raise InputError("too few resamples", where="replicates", found=replicates, expected="100+")
    if method not in ("bca", "percentile"):
        raise InputError(
            "unknown interval", where="method", found=method, expected="bca, percentile"
        )


def _bootstrap(
    sample: Sample,
    estimator: str,
    replicates: int,
    rng: np.random.Generator | int | None,
    level: float,
    method: BootstrapKind,
) -> Bootstrap:
    n = sample.n
    whole = pool_sample(sample, method=estimator, level=level)
    run = kernel(sample.y, split(sample.covariance, n).variance, estimator)
    generator, seed = _generator(rng)
    draws = _draw(run, n, replicates, generator)
    centre = float(run(np.arange(n)[None, :])[0])
    z0, a = _constants(run, draws, centre, n) if method == "bca" else (0.0, 0.0)
    ends = np.quantile(draws, _probabilities(z0, a, n, level))
    own, below, above, notes = _with_stated(
        whole,
        float(draws.std(ddof=1)) * float(np.sqrt(n / (n - 1))),
        max(centre - float(ends[0]), 0.0),
        max(float(ends[1]) - centre, 0.0),
    )
    reach = float(ndtri(0.5 + level / 2)) * whole.u_shared
    return Bootstrap(
        value=whole.value,
        u=float(np.hypot(own, whole.u_shared)),
        low=whole.value - float(np.hypot(below, reach)),
        high=whole.value + float(np.hypot(above, reach)),
        u_shared=whole.u_shared,
        bias=float(draws.mean()) - centre,
        estimator=estimator,
        method=method,
        replicates=replicates,
        n=n,
        level=level,
        bias_correction=z0,
        acceleration=a,
        seed=seed,
        unit=sample.unit,
        replicate=sample.replicate,
        draws=draws,
        notes=notes,
    )


def _with_stated(
    whole: Consensus, own: float, below: float, above: float
) -> tuple[float, float, float, tuple[str, ...]]:
    """Return uncertainty and half-widths, bounded by the stated ones where luck made them small.

    Units that agree by luck resample to almost nothing; see :data:`.intervals.LUCK`.
    """
    notes = []
    if whole.n < _FEWISH:
        notes.append(f"{whole.n} units are few for a bootstrap: prefer the interval of pool().")
    if whole.tau2 == 0 and whole.q_p_value > 1 - LUCK:
        notes.append("The units agree better than stated; the stated uncertainties bound u below.")
        least = float(ndtri(0.5 + whole.level / 2)) * whole.u_independent
        own, below, above = max(own, whole.u_independent), max(below, least), max(above, least)
    return own, below, above, tuple(notes)


def _generator(rng: np.random.Generator | int | None) -> tuple[np.random.Generator, str]:
    if isinstance(rng, np.random.Generator):
        return rng, "given generator"
    seed = np.random.SeedSequence(rng)
    return np.random.default_rng(seed), str(seed.entropy)


def _draw(run: Kernel, n: int, replicates: int, rng: np.random.Generator) -> Vector:
    step = max(1, _BLOCK // n)
    draws = np.empty(replicates)
    for start in range(0, replicates, step):
        rows = min(step, replicates - start)
        draws[start : start + rows] = run(rng.integers(0, n, size=(rows, n)))
    return draws


def _constants(run: Kernel, draws: Vector, centre: float, n: int) -> tuple[float, float]:
    """Return bias correction and acceleration of the BCa interval."""
    below = np.count_nonzero(draws < centre) + 0.5 * np.count_nonzero(draws == centre)
    share = np.clip(below / draws.size, 1 / draws.size, 1 - 1 / draws.size)
    left_out = _jackknife(run, n)
    pull = left_out.mean() - left_out
    square = float(np.sum(pull**2))
    scale = 1e-12 * max(abs(centre), float(np.ptp(draws)))
    a = 0.0 if square <= scale**2 else float(np.sum(pull**3)) / (6 * square**1.5)
    return float(ndtri(share)), a


def _jackknife(run: Kernel, n: int) -> Vector:
    """Return the estimates without each unit, or without each of 200 blocks of many units."""
    if n <= _JACKKNIFE:
        everyone = np.arange(n)
        step = max(1, _BLOCK // n)
        parts = []
        for start in range(0, n, step):
            out = np.arange(start, min(start + step, n))
            keep = everyone[:-1] + (everyone[:-1] >= out[:, None])
            parts.append(run(keep))
        return np.concatenate(parts)
    blocks = np.arange(n) % 200
    return np.array([run(np.flatnonzero(blocks != b)[None, :])[0] for b in range(200)])


def _probabilities(z0: float, a: float, n: int, level: float) -> Vector:
    # Student's t and n/(n-1) in place of the normal quantile: see Notes of bootstrap().
    z = float(np.sqrt(n / (n - 1)) * stdtrit(n - 1, 0.5 + level / 2))
    ends = z0 + np.array([-z, z])
    return np.asarray(ndtr(z0 + ends / np.maximum(1 - a * ends, 0.05)))
