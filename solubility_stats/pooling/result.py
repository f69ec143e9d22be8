"""The pooled value of a class as a result: every figure that comes with it, and how it prints."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.display import Result, with_uncertainty

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
        Part of ``u`` from causes the groups share, ``u_section`` included: more groups of the
        same sections leave it.
    u_section : float
        Part of ``u`` from a difference between sections that the stated uncertainties do not
        explain, with the sections as its replicates; 0 where none is seen or looked for.
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
    u_section: float
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
            ("of it from shared causes", self.u_shared, unit),
            ("of it from sections that differ", self.u_section, unit),
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
