"""What counts as a repeat: sections, not groups, where a cause is shared by a whole section."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd
from scipy.special import fdtrc

from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError
from solubility_stats.pooling.consensus import pool_sample
from solubility_stats.pooling.intervals import IntervalKind
from solubility_stats.pooling.result import METHODS, Consensus
from solubility_stats.pooling.sample import Missing, combine, key_columns, sample_from
from solubility_stats.pooling.shared import split


@dataclass(frozen=True, repr=False)
class Replication(Result):
    """A pooled value with the section (or another unit) as the replicate, beside the groups.

    Attributes
    ----------
    value, u, low, high : float
        Result with ``by`` as the replicate; with one unit only, that of the groups.
    by : str
        The unit of replication.
    n_units, n_groups : int
        Units and groups (rows where groups are not known).
    by_unit : Consensus or None
        Full result with ``by`` as the replicate; ``None`` with one unit only.
    by_group : Consensus
        Full result with the group as the only replicate, no section effect looked for.
    tau_between, tau_within : float
        Standard deviation between units, and between groups of one unit, beyond the stated
        uncertainties.
    f, p_value : float
        Test of no difference between units, F on ``n_units - 1`` and ``n_groups - n_units``.
    ratio : float
        Width of the interval by units over that by groups.
    text : str
        Which unit was used and why, in words.
    level : float
        Probability of the intervals.
    unit : str
        Unit of the value.
    """

    value: float
    u: float
    low: float
    high: float
    by: str
    n_units: int
    n_groups: int
    by_unit: Consensus | None
    by_group: Consensus
    tau_between: float
    tau_within: float
    f: float
    p_value: float
    ratio: float
    text: str
    level: float
    unit: str

    def headline(self) -> str:
        """Return the value and the unit of replication it rests on."""
        number = with_uncertainty(self.value, self.u, self.unit)
        return f"{number}, {self.level:.0%} interval {self.low:.4g} to {self.high:.4g}. {self.text}"

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return both results side by side, and the units."""
        rows = [_row(c) for c in (self.by_unit, self.by_group) if c is not None]
        tables = {"By unit of replication": pd.DataFrame(rows)}
        if self.by_unit is not None:
            tables[f"By {self.by}"] = self.by_unit.frame
        return tables


def _row(c: Consensus) -> dict[str, object]:
    return {
        "replicate": c.replicate,
        "n": c.n,
        "value": c.value,
        "u": c.u,
        "low": c.low,
        "high": c.high,
        "tau": c.tau,
        "dof": c.dof,
    }


def replication(
    data: Any,
    by: str = "section",
    *,
    method: str = "reml",
    level: float = 0.95,
    interval: IntervalKind | None = None,
    value: str | None = None,
    u: str | npt.ArrayLike | None = None,
    covariance: SharedCovariance | None = None,
    route: str = "residue",
    apparent: bool = False,
    missing: Missing = "raise",
) -> Replication:
    """Pool with the unit that shares its causes as the replicate.

    The groups of one section use one bottle of solute, one balance, one instructor. What such a
    cause does to them it does to all, so for it a class of three sections has three repeats
    however many groups it has. Groups are pooled within each section with their common
    between-group variance, and the section values are pooled as in
    :func:`~solubility_stats.pooling.pool` with Student's t on ``sections - 1``.

    Parameters
    ----------
    data, value, u, covariance, route, apparent, missing, method, level, interval
        As in :func:`~solubility_stats.pooling.pool`.
    by : str
        Column that names the unit of replication.

    Returns
    -------
    Replication

    Raises
    ------
    InputError
        If the column is missing, or the method weighs by uncertainties and none were given.
    """
    sample = sample_from(
        data,
        value=value,
        u=u,
        covariance=covariance,
        route=route,
        apparent=apparent,
        missing=missing,
    )
    if sample.covariance is None:
        raise InputError(
            "the variance within units cannot be weighed without uncertainties",
            where="u",
            remedy="Give u or covariance.",
        )
    groups = pool_sample(
        sample, method=method, level=level, interval=interval, section_effect=False
    )
    joined = combine(sample, key_columns(by, sample.labels))
    within = float(np.sqrt(joined.tau2_within))
    if joined.n == 1:
        return _one_unit(groups, by, within)
    units = pool_sample(joined, method=method, level=level, interval=interval)
    parts = split(joined.covariance, joined.n)
    f, p = _between_test(units, int(sample.n), parts.known)
    ratio = (units.high - units.low) / (groups.high - groups.low) if groups.u > 0 else float("nan")
    return Replication(
        value=units.value,
        u=units.u,
        low=units.low,
        high=units.high,
        by=by,
        n_units=joined.n,
        n_groups=sample.n,
        by_unit=units,
        by_group=groups,
        tau_between=units.tau,
        tau_within=within,
        f=f,
        p_value=p,
        ratio=ratio,
        text=_text(by, joined.n, sample.n, sample.replicate, ratio, p),
        level=level,
        unit=sample.unit,
    )


def _between_test(units: Consensus, groups: int, known: bool) -> tuple[float, float]:
    if not known or units.n < 2 or not np.isfinite(units.q):
        return float("nan"), float("nan")
    f = units.q / (units.n - 1)
    rest = groups - units.n
    return f, units.q_p_value if rest < 1 else float(fdtrc(units.n - 1, rest, f))


def _text(by: str, units: int, groups: int, what: str, ratio: float, p: float) -> str:
    text = (
        f"Unit of replication: the {by} ({units}); the {groups} {what}s of a class are not repeats "
        f"for a cause that a whole {by} shares"
    )
    if np.isfinite(ratio):
        text += f". This interval is {ratio:.2g} times that with {what}s as repeats"
    if np.isfinite(p):
        seen = "differ" if p < 0.05 else "show no difference"
        text += f"; the {by}s {seen} beyond their groups' scatter (p = {p:.2g})"
    return text + "."


def _one_unit(groups: Consensus, by: str, within: float) -> Replication:
    return Replication(
        value=groups.value,
        u=groups.u,
        low=groups.low,
        high=groups.high,
        by=by,
        n_units=1,
        n_groups=groups.n,
        by_unit=None,
        by_group=groups,
        tau_between=float("nan"),
        tau_within=within,
        f=float("nan"),
        p_value=float("nan"),
        ratio=float("nan"),
        text=(
            f"One {by} only: what its groups share beyond the stated shared uncertainties cannot "
            f"be seen, and no number of groups makes up for a second {by}. The interval takes the "
            f"{groups.replicate}s as repeats ({METHODS[groups.method]})."
        ),
        level=groups.level,
        unit=groups.unit,
    )
