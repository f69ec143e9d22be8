"""All estimators side by side, and how far groups differ beyond their uncertainties."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.pooling.consensus import pool, pool_sample
from solubility_stats.pooling.random_effects import TAU2_METHODS, typical_variance
from solubility_stats.pooling.result import METHODS, Consensus
from solubility_stats.pooling.sample import Sample, sample_from

# Two values that differ by half a standard uncertainty change a comparison noticeably: taken up
# as one more component they would raise the uncertainty by 12 % (sqrt(1 + 1/4)).
_NOTICEABLE = 0.5


@dataclass(frozen=True, repr=False)
class EstimatorTable(Result):
    """Every estimator on the same data.

    Attributes
    ----------
    table : DataFrame
        One row per method: ``method, description, value, u, low, high, u_shared, tau, dof,
        difference`` (from the reference, in its standard uncertainties).
    reference : str
        Method the others are compared with.
    largest_difference : float
        Largest absolute ``difference`` among methods that allow for disagreement.
    matters : bool
        Whether that exceeds half a standard uncertainty.
    sentence : str
        The same in words.
    not_applicable : tuple of str
        Methods that could not be used, with the reason.
    n : int
        Number of units.
    unit : str
        Unit of the values.
    """

    table: pd.DataFrame
    reference: str
    largest_difference: float
    matters: bool
    sentence: str
    not_applicable: tuple[str, ...]
    n: int
    unit: str

    def headline(self) -> str:
        """Return whether the choice of estimator matters."""
        return self.sentence

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the table of estimators."""
        return {"Estimators": self.table}


def compare_estimators(
    data: Any, *, reference: str = "reml", level: float = 0.95, **options: Any
) -> EstimatorTable:
    """Pool with every method and say whether the choice matters.

    Parameters
    ----------
    data : Estimates, DataFrame, Series or array
        As in :func:`~solubility_stats.pooling.pool`.
    reference : str
        Method to compare with; the mean without uncertainties.
    level : float
        Probability of the intervals.
    **options
        Further arguments of :func:`~solubility_stats.pooling.pool` that say what to pool
        (``value, u, covariance, route, apparent, missing, by``).

    Returns
    -------
    EstimatorTable
    """
    if reference not in METHODS:
        raise InputError(
            "unknown method", where="reference", found=reference, expected=", ".join(METHODS)
        )
    sample = sample_from(data, **options)
    results, skipped = _every_method(sample, level)
    if reference not in results:
        reference = "mean"
    chosen = results[reference]
    scale = chosen.u if chosen.u > 0 else float("nan")
    rows = [
        {
            "method": name,
            "description": METHODS[name],
            "value": c.value,
            "u": c.u,
            "low": c.low,
            "high": c.high,
            "u_shared": c.u_shared,
            "tau": c.tau if name in TAU2_METHODS else float("nan"),
            "dof": c.dof,
            "difference": (c.value - chosen.value) / scale,
        }
        for name, c in results.items()
    ]
    table = pd.DataFrame(rows)
    apart = table.loc[table["method"] != "fixed", "difference"].abs()
    largest = float(apart.max()) if apart.notna().any() else 0.0
    matters = largest > _NOTICEABLE
    return EstimatorTable(
        table=table,
        reference=reference,
        largest_difference=largest,
        matters=matters,
        sentence=_sentence(table, reference, largest, matters, results),
        not_applicable=skipped,
        n=sample.n,
        unit=sample.unit,
    )


def _every_method(sample: Sample, level: float) -> tuple[dict[str, Consensus], tuple[str, ...]]:
    results: dict[str, Consensus] = {}
    skipped = []
    for name in METHODS:
        try:
            results[name] = pool_sample(sample, method=name, level=level)
        except InputError as error:
            skipped.append(f"{name}: {error}")
    return results, tuple(skipped)


def _sentence(
    table: pd.DataFrame,
    reference: str,
    largest: float,
    matters: bool,
    results: dict[str, Consensus],
) -> str:
    named = METHODS[reference]
    if matters:
        apart = table["difference"].abs().where(table["method"] != "fixed").to_numpy()
        worst = table["description"].iloc[int(np.nanargmax(apart))]
        text = (
            f"The choice of estimator matters: {worst} differs from {named} by "
            f"{largest:.2g} standard uncertainties; look at the groups that stand apart"
        )
    else:
        text = (
            f"The choice of estimator does not matter: all lie within {largest:.2g} standard "
            f"uncertainties of {named}"
        )
    fixed, chosen = results.get("fixed"), results[reference]
    if fixed is not None and fixed.q_p_value < 0.05 and fixed.u < chosen.u:
        text += (
            f". The inverse-variance mean states {fixed.u / chosen.u:.0%} of the uncertainty, "
            "because it takes for granted that the groups agree, which they do not"
        )
    return text + "."


@dataclass(frozen=True, repr=False)
class Heterogeneity(Result):
    """How far the units differ beyond their stated uncertainties.

    Attributes
    ----------
    q, dof, p_value : float
        Cochran's statistic, its degrees of freedom, its p-value.
    tau, tau_low, tau_high : float
        Standard deviation between units beyond the stated uncertainties (dark uncertainty), with
        its exact Q-profile interval at ``level``.
    i_squared, i_squared_low, i_squared_high : float
        Share (0 to 1) of the spread that is not stated uncertainty, interval from that of tau.
    h_squared : float
        Ratio of total to stated variance.
    n : int
        Number of units.
    level : float
        Probability of the intervals.
    method : str
        Estimator of ``tau``.
    unit : str
        Unit of ``tau``.
    sentence : str
        The finding in words.
    """

    q: float
    dof: int
    p_value: float
    tau: float
    tau_low: float
    tau_high: float
    i_squared: float
    i_squared_low: float
    i_squared_high: float
    h_squared: float
    n: int
    level: float
    method: str
    unit: str
    sentence: str

    def headline(self) -> str:
        """Return the finding in one sentence."""
        return self.sentence

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the statistics with their intervals."""
        rows = [
            ("tau", self.tau, self.tau_low, self.tau_high),
            ("I²", self.i_squared, self.i_squared_low, self.i_squared_high),
            ("H²", self.h_squared, None, None),
            ("Q", self.q, None, None),
            ("p-value of Q", self.p_value, None, None),
        ]
        frame = pd.DataFrame(rows, columns=["statistic", "value", "low", "high"])
        return {"Heterogeneity": frame}


def heterogeneity(
    data: Any, *, method: str = "reml", level: float = 0.95, **options: Any
) -> Heterogeneity:
    """Return Q, I², H² and the dark uncertainty with their intervals.

    Parameters
    ----------
    data, method, level, **options
        As in :func:`~solubility_stats.pooling.pool`; ``method`` one of ``dl, pm, reml, ml``.

    Returns
    -------
    Heterogeneity
    """
    if method not in TAU2_METHODS or method == "fixed":
        raise InputError(
            "this method estimates no spread",
            where="method",
            found=method,
            expected="dl, pm, reml, ml",
        )
    c = pool(data, method=method, level=level, **options)
    own = (c.frame["u"] ** 2 - c.frame["u_shared"] ** 2).to_numpy(dtype=float)
    typical = typical_variance(np.maximum(own, 0.0))
    low, high = float(np.sqrt(c.tau2_low)), float(np.sqrt(c.tau2_high))
    return Heterogeneity(
        q=c.q,
        dof=c.n - 1,
        p_value=c.q_p_value,
        tau=c.tau,
        tau_low=low,
        tau_high=high,
        i_squared=c.i_squared,
        i_squared_low=_share(c.tau2_low, typical),
        i_squared_high=_share(c.tau2_high, typical),
        h_squared=c.h_squared,
        n=c.n,
        level=level,
        method=method,
        unit=c.unit,
        sentence=_finding(c, low, high),
    )


def _share(tau2: float, typical: float) -> float:
    total = tau2 + typical
    return tau2 / total if total > 0 else float("nan")


def _finding(c: Consensus, low: float, high: float) -> str:
    if c.n < 2 or not np.isfinite(c.tau):
        return "Spread between units cannot be estimated from these data."
    unit = f" {c.unit}" if c.unit else ""
    interval = f"{low:.2g} to {high:.2g}{unit}, {c.level:.0%} interval"
    if high == 0:
        return (
            f"The {c.n} {c.replicate}s agree better than their uncertainties let expect (Q = "
            f"{c.q:.3g} on {c.n - 1}): there is no further spread, and the uncertainties may be "
            "stated too large."
        )
    if c.q_p_value >= 0.05:
        return (
            f"The {c.n} {c.replicate}s agree within their uncertainties (Q test p = "
            f"{c.q_p_value:.2g}); a further spread of {c.tau:.2g} ({interval}) is possible."
        )
    return (
        f"The {c.n} {c.replicate}s differ by more than their uncertainties explain (Q test p = "
        f"{c.q_p_value:.2g}): a further spread of {c.tau:.2g} ({interval}), {c.i_squared:.0%} of "
        "the variance seen."
    )
