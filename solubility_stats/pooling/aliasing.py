"""Which factors cannot be told apart in these data, or hardly."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from solubility_stats.pooling.factor_model import Term
from solubility_stats.pooling.tidy import Vector

# Above this share of its variation explained by another factor, a factor's own effect is known
# at best with three times the uncertainty (variance inflation 10).
_NEARLY = 0.9


def _explained(target: Vector, by: Vector) -> float:
    """Return the smallest share of any direction of ``target`` that ``by`` explains."""
    a, b = target - target.mean(axis=0), by - by.mean(axis=0)
    basis, size, _ = np.linalg.svd(a, full_matrices=False)
    basis = basis[:, size > 1e-9 * size.max(initial=0.0)]
    other, size_b, _ = np.linalg.svd(b, full_matrices=False)
    other = other[:, size_b > 1e-9 * size_b.max(initial=0.0)]
    if basis.shape[1] == 0 or other.shape[1] == 0:
        return 0.0
    cosines = np.linalg.svd(other.T @ basis, compute_uv=False)
    if cosines.size < basis.shape[1]:
        return 0.0
    return float(cosines.min() ** 2)


def aliases(terms: Sequence[Term], grouping: Sequence[str]) -> pd.DataFrame:
    """Return the pairs of factors that these data cannot tell apart.

    Parameters
    ----------
    terms : sequence of Term
        Factors; compared over the rows in which both are recorded.
    grouping : sequence of str
        Names that only group runs (``semester, section, group``): that they decide a factor is
        how classes are run, and is told by the unit of replication instead.

    Returns
    -------
    DataFrame
        ``factor, other, relation, explained_percent, words``, with ``relation`` one of ``same``
        (each decides the other), ``decided by`` (the factor is fixed once the other is known)
        and ``nearly``; ``explained_percent`` is the share of the factor that the other explains.
    """
    rows = []
    for i, a in enumerate(terms):
        for b in terms[i + 1 :]:
            both = a.rows & b.rows
            if both.sum() < 3:
                continue
            xa, xb = a.columns[both[a.rows]], b.columns[both[b.rows]]
            ab, ba = _explained(xa, xb), _explained(xb, xa)
            found = _relation(a.name, b.name, ab, ba, grouping)
            if found:
                rows.append(found)
    columns = ["factor", "other", "relation", "explained_percent", "words"]
    return pd.DataFrame(rows, columns=columns)


def _relation(
    a: str, b: str, ab: float, ba: float, grouping: Sequence[str]
) -> tuple[str, str, str, float, str] | None:
    sure = 1 - 1e-9
    if ab > sure and ba > sure:
        words = f"{a} and {b} cannot be told apart: each value of one goes with one of the other."
        return a, b, "same", 100.0, words
    for one, two, share in ((a, b, ab), (b, a, ba)):
        if two in grouping:
            continue
        if share > sure:
            words = (
                f"{one} is decided by {two}: what {one} does cannot be told from differences "
                f"between values of {two}."
            )
            return one, two, "decided by", 100.0, words
        if share > _NEARLY:
            words = f"{one} and {two} nearly always change together; their effects mix."
            return one, two, "nearly", 100 * share, words
    return None
