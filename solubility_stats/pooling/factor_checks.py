"""Whether the assumptions behind a factor's interval hold; what fails is said in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from solubility_stats.pooling.factor_model import (
    CannotTellError,
    Levels,
    Term,
    TermResult,
    fit_terms,
)
from solubility_stats.pooling.tidy import Codes, Vector

# Several checks for each factor: a check fails when its p-value is below this.
_ALPHA = 0.01
_FAR = 4.0


@dataclass(frozen=True)
class Check:
    """One check: ``factor, check, statistic, p_value, holds, words``."""

    factor: str
    check: str
    statistic: float
    p_value: float
    holds: bool
    words: str


def check(result: TermResult, y: Vector, levels: Levels) -> list[Check]:
    """Return the checks of one fitted term that the data allow.

    Parameters
    ----------
    result : TermResult
        Fit of the term alone.
    y : ndarray, shape (n,)
        Response.
    levels : Levels
        Nested units of the same rows.
    """
    rest, codes = _between(result, levels)
    found = [*_normal(result.term.name, rest), *_far(result.term.name, rest)]
    if result.term.numeric:
        found += _straight(result.term, y, levels)
    else:
        found += _equal_spread(result.term, rest, codes)
    return found


def _between(result: TermResult, levels: Levels) -> tuple[Vector, Codes]:
    """Return residuals averaged over repeated runs, free of section means, and their levels.

    Repeated runs of a group are not independent, so the group's mean stands for them; and a
    section's own deviation must not look like unequal spread of the groups.
    """
    rest, codes = result.residual, result.term.codes
    outer = [c for n, c in zip(levels.names, levels.codes, strict=True) if n != "group"]
    if "group" in levels.names:
        group = levels.codes[levels.names.index("group")]
        # A factor that changes within a group keeps its own mean there.
        cells = np.unique(np.stack([group, codes]), axis=1, return_inverse=True)[1].ravel()
        n = np.bincount(cells)
        rest = np.bincount(cells, rest) / n
        first = np.unique(cells, return_index=True)[1]
        codes = codes[first]
        outer = [c[first] for c in outer]
    if outer:
        n = np.bincount(outer[-1])
        rest = rest - (np.bincount(outer[-1], rest) / n)[outer[-1]]
    return np.asarray(rest), np.asarray(codes)


def _normal(name: str, rest: Vector) -> list[Check]:
    if not 8 <= rest.size <= 5000 or np.ptp(rest) == 0:
        return []
    from scipy.stats import shapiro

    found = shapiro(rest)
    p = float(found.pvalue)
    words = (
        ""
        if p >= _ALPHA
        else (
            "What is left is not normally distributed; the interval is approximate. Look at "
            "the groups that stand apart."
        )
    )
    return [Check(name, "normal residuals", float(found.statistic), p, p >= _ALPHA, words)]


def _far(name: str, rest: Vector) -> list[Check]:
    if rest.size < 5 or np.ptp(rest) == 0:
        return []
    scale = 1.4826 * float(np.median(np.abs(rest - np.median(rest))))
    if scale == 0:
        return []
    most = float(np.abs(rest - np.median(rest)).max() / scale)
    words = (
        ""
        if most <= _FAR
        else (
            "A single group lies far from the rest and may carry the effect; compare the "
            "effect with and without it."
        )
    )
    return [Check(name, "no far residual", most, float("nan"), most <= _FAR, words)]


def _equal_spread(term: Term, rest: Vector, codes: Codes) -> list[Check]:
    parts = [rest[codes == i] for i in range(len(term.levels))]
    parts = [p for p in parts if p.size >= 4]
    if len(parts) < 2 or all(np.ptp(p) == 0 for p in parts):
        return []
    from scipy.stats import levene

    found = levene(*parts, center="median")
    p = float(found.pvalue)
    words = (
        ""
        if p >= _ALPHA
        else (
            f"Spread differs between values of {term.name}; the interval uses a common one "
            "and is approximate."
        )
    )
    return [Check(term.name, "equal spread", float(found.statistic), p, p >= _ALPHA, words)]


def _straight(term: Term, y: Vector, levels: Levels) -> list[Check]:
    x = term.columns[:, 0]
    if np.unique(x).size < 4:
        return []
    square = x**2
    line = np.column_stack([np.ones(x.size), x])
    bend = square - line @ np.linalg.lstsq(line, square, rcond=None)[0]
    bent = Term(f"{term.name} squared", True, (), bend[:, None], term.rows)
    try:
        found = fit_terms(y, [term, bent], levels)[1]
    except CannotTellError:
        return []
    words = (
        ""
        if found.p_value >= _ALPHA
        else (
            f"The value does not change along a straight line with {term.name}; the slope is an "
            "average."
        )
    )
    holds = found.p_value >= _ALPHA
    return [Check(term.name, "straight line", found.f, found.p_value, holds, words)]


def table(checks: list[Check]) -> pd.DataFrame:
    """Return checks as a frame: ``factor, check, statistic, p_value, holds, words``."""
    columns = ["factor", "check", "statistic", "p_value", "holds", "words"]
    return pd.DataFrame([[getattr(c, k) for k in columns] for c in checks], columns=columns)
