"""One factor, or several at once, in a nested mixed model, and what replicates each.

The *unit of replication* of a factor is the outermost unit within which it does not change: if
all groups of a section have the same instructor, sections replicate the instructor, however many
groups there are. Degrees of freedom follow from that by the containment rule (the rank that the
random effect of the unit adds to the fixed effects), so three sections give an interval as wide
as three sections deserve.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.pooling import nested
from solubility_stats.pooling.tidy import Codes, Vector


@dataclass(frozen=True)
class Term:
    """A factor as columns of a design.

    Attributes
    ----------
    name : str
        Column it comes from.
    numeric : bool
        A slope per unit, or levels.
    levels : tuple of str
        Levels, the reference first (empty for a slope).
    columns : ndarray, shape (n, k)
        Indicators of the levels after the first, or the values less their mean.
    rows : ndarray of bool, shape (m,)
        Which of the rows given have an entry; n of them.
    """

    name: str
    numeric: bool
    levels: tuple[str, ...]
    columns: Vector
    rows: Any

    @property
    def codes(self) -> Codes:
        """Level of each row as an integer, shape (n,); for a slope, distinct values."""
        if self.numeric:
            return np.asarray(np.unique(self.columns[:, 0], return_inverse=True)[1])
        return np.asarray(self.columns @ np.arange(1, len(self.levels)), dtype=np.intp)


class CannotTellError(Exception):
    """Why the data cannot tell the effect of a factor, in words for the reader."""


def make_term(series: pd.Series[Any], numeric: bool) -> Term:
    """Return the design columns of one factor.

    Raises
    ------
    CannotTellError
        If the factor is missing everywhere or the same everywhere.
    """
    name = str(series.name)
    rows = series.notna().to_numpy(dtype=bool)
    if not rows.any():
        raise CannotTellError(f"{name} was not recorded.")
    if numeric:
        values = series[rows].to_numpy(dtype=float)
        if np.ptp(values) <= 1e-12 * np.abs(values).max():
            raise CannotTellError(f"{name} was {values[0]:g} for all runs.")
        return Term(name, True, (), (values - values.mean())[:, None], rows)
    text = series[rows].astype(str).to_numpy()
    names, counts = np.unique(text, return_counts=True)
    if names.size < 2:
        raise CannotTellError(f"{name} was {names[0]!r} for all runs.")
    order = sorted(range(names.size), key=lambda i: (-counts[i], names[i]))
    levels = tuple(str(names[i]) for i in order)
    columns = (text[:, None] == np.array(levels[1:])[None, :]).astype(float)
    return Term(name, False, levels, columns, rows)


@dataclass(frozen=True)
class Levels:
    """Nested units of the rows at hand, outermost first, and what a single row is called."""

    names: tuple[str, ...]
    codes: tuple[Codes, ...]
    row: str

    def take(self, rows: Any) -> Levels:
        """Return the levels of a subset of rows, without those that no longer split it."""
        names, codes = [], []
        last = 1
        n = int(np.count_nonzero(rows))
        row = self.row
        for name, code in zip(self.names, self.codes, strict=True):
            short = np.unique(code[rows], return_inverse=True)[1].astype(np.intp)
            units = int(short.max()) + 1
            if units == n:
                row = name
                break
            if units > last:
                names.append(name)
                codes.append(short)
                last = units
        return Levels(tuple(names), tuple(codes), row)


@dataclass(frozen=True)
class TermResult:
    """Test and contrasts of one term.

    Attributes
    ----------
    unit : str
        What replicates the factor.
    units : int
        How many of these there are.
    f, dof1, dof2, p_value
        Test that the factor does nothing.
    contrasts : list of tuple
        ``(level, against, n rows, effect, u)``.
    residual : ndarray, shape (n,)
        Response less fixed effects.
    fitted : ndarray, shape (n,)
        Fixed effects.
    """

    term: Term
    unit: str
    units: int
    f: float
    dof1: int
    dof2: float
    p_value: float
    contrasts: list[tuple[str, str, int, float, float]]
    residual: Vector
    fitted: Vector


def determines(finer: Codes, coarser: Codes) -> bool:
    """Tell whether each unit of ``finer`` lies in one unit of ``coarser``."""
    pairs = np.unique(np.stack([finer, coarser]), axis=1).shape[1]
    return bool(pairs == np.unique(finer).size)


def _centred_rank(columns: Vector, codes: Codes) -> int:
    """Return the rank that columns keep once the means of units are taken out."""
    n = np.bincount(codes)
    means = np.stack([np.bincount(codes, c) for c in columns.T], axis=1) / n[:, None]
    rest = columns - means[codes]
    size = np.linalg.norm(columns - columns.mean(axis=0), axis=0)
    return int(np.linalg.matrix_rank(rest / np.where(size > 0, size, 1.0), tol=1e-9))


def replication(term: Term, levels: Levels) -> int:
    """Return the position of the outermost level within whose units the term is constant.

    ``len(levels.codes)`` stands for the single row.
    """
    for i, codes in enumerate(levels.codes):
        if determines(codes, term.codes):
            return i
    return len(levels.codes)


def _absorbed(term: Term, codes: Codes) -> bool:
    return not term.numeric and determines(term.codes, codes)


def fit_terms(y: Vector, terms: Sequence[Term], levels: Levels) -> list[TermResult]:
    """Fit all terms together and test each.

    Parameters
    ----------
    y : ndarray, shape (n,)
        Response.
    terms : sequence of Term
        Their columns must have n rows each and be of full rank together with an intercept.
    levels : Levels
        Nested units of the same rows. A level that is itself one of the terms is left to that
        term; one that a term absorbs (each level of the term in one unit) likewise.

    Raises
    ------
    CannotTellError
        If a term has no degree of freedom left, or there is no spread at all.
    """
    from scipy.special import fdtrc

    own = {t.name for t in terms}
    x = np.column_stack([np.ones(y.size), *(t.columns for t in terms)])
    if np.ptp(y) <= 1e-14 * np.abs(y).max():
        raise CannotTellError("All values are equal.")
    places = [replication(t, levels) for t in terms]
    random: list[int] = []
    for i, (name, codes) in enumerate(zip(levels.names, levels.codes, strict=True)):
        needed = i in places and name not in own
        if needed or not any(_absorbed(t, codes) for t in terms):
            random.append(i)
    dofs = [_dof(t, place, x, random, levels) for t, place in zip(terms, places, strict=True)]
    if y.size - x.shape[1] < 1:
        raise CannotTellError("There are no more runs than levels.")
    if np.linalg.matrix_rank(x / np.linalg.norm(x, axis=0), tol=1e-9) < x.shape[1]:
        raise CannotTellError("Together these factors cannot be told apart.")
    d, shift = nested.design(y, [levels.codes[i] for i in random], x)
    found = nested.fit(d, shift)
    if not found.variances[0] > 0:
        raise CannotTellError("Nothing is left to judge the differences by: no spread in levels.")
    fitted = x @ found.beta
    results = []
    at = 1
    for term, (unit, units, dof) in zip(terms, dofs, strict=True):
        k = term.columns.shape[1]
        beta, cov = found.beta[at : at + k], found.covariance[at : at + k, at : at + k]
        at += k
        f = float(beta @ np.linalg.solve(cov, beta)) / k
        results.append(
            TermResult(
                term=term,
                unit=unit,
                units=units,
                f=f,
                dof1=k,
                dof2=dof,
                p_value=float(fdtrc(k, dof, f)),
                contrasts=_contrasts(term, beta, cov),
                residual=y - fitted,
                fitted=fitted,
            )
        )
    return results


def _dof(
    term: Term, place: int, x: Vector, random: Sequence[int], levels: Levels
) -> tuple[str, int, float]:
    """Return the unit of replication, its number, and the degrees of freedom it leaves."""
    if place < len(levels.codes) and term.name == levels.names[place]:
        place += 1  # a level tested as a factor is replicated by what lies inside it
    inside = [i for i in random if i >= place]
    outside = [i for i in random if i < place]
    n = x.shape[0]
    everything = np.zeros(n, dtype=np.intp)
    if inside and place < len(levels.codes):
        unit, codes = levels.names[inside[0]], levels.codes[inside[0]]
    else:
        unit, codes = levels.row, np.arange(n)
    outer = levels.codes[outside[-1]] if outside else everything
    units = int(codes.max()) + 1
    added = units + _centred_rank(x, codes)
    before = int(outer.max()) + 1 + _centred_rank(x, outer)
    dof = float(added - before)
    if dof < 1:
        raise CannotTellError(_no_replicates(term, unit, units))
    return unit, units, dof


def _no_replicates(term: Term, unit: str, units: int) -> str:
    if term.numeric:
        return (
            f"{term.name} changed only between {unit}s, and {units} of them are too few to tell "
            f"a trend from other differences between {unit}s."
        )
    return (
        f"Each {term.name} had only one {unit}, so differences between {term.name}s cannot be "
        f"told from other differences between {unit}s."
    )


def _contrasts(term: Term, beta: Vector, cov: Vector) -> list[tuple[str, str, int, float, float]]:
    if term.numeric:
        u = float(np.sqrt(cov[0, 0]))
        return [("per unit", "", int(term.columns.shape[0]), float(beta[0]), u)]
    counts = np.bincount(term.codes, minlength=len(term.levels))
    if len(term.levels) == 2:
        u = float(np.sqrt(cov[0, 0]))
        return [(term.levels[1], term.levels[0], int(counts.sum()), float(beta[0]), u)]
    k = len(term.levels)
    full = np.vstack([np.zeros(k - 1), np.eye(k - 1)])  # level effects from treatment columns
    away = full - full.mean(axis=0)
    effect = away @ beta
    u_all = np.sqrt(np.einsum("ij,jk,ik->i", away, cov, away))
    return [
        (level, "mean of all", int(counts[i]), float(effect[i]), float(u_all[i]))
        for i, level in sorted(enumerate(term.levels), key=lambda pair: pair[1])
    ]
