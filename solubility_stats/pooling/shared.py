"""Sort the shared causes by how many units they touch, which decides what they do to a mean."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from solubility_stats.covariance import SharedCovariance

Vector = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Shared:
    """Covariance of ``n`` units, its shared causes sorted.

    Attributes
    ----------
    variance : ndarray, shape (n,)
        Independent variance, including causes that touch one unit only.
    common : ndarray, shape (n, p)
        Loadings of causes that touch every unit; the spread cannot show them.
    local : ndarray, shape (n, k)
        Loadings of causes that touch some units, evened out to one size per cause with the
        sign kept (see :mod:`.random_effects`); used for weights, ``tau2`` and Q.
    local_raw : ndarray, shape (n, k)
        The same as given; used for the variance of the mean.
    known : bool
        Whether uncertainties were given at all.
    """

    variance: Vector
    common: Vector
    local: Vector
    local_raw: Vector
    known: bool

    @property
    def local_variance(self) -> Vector:
        """Variance of each unit from causes that touch some units."""
        return np.asarray(np.einsum("ij,ij->i", self.local_raw, self.local_raw))

    @property
    def shared_variance(self) -> Vector:
        """Variance of each unit from causes it shares with any other."""
        return np.asarray(np.einsum("ij,ij->i", self.common, self.common)) + self.local_variance


def split(covariance: SharedCovariance | None, n: int) -> Shared:
    """Sort the loadings of ``covariance``; without one, everything is zero and not known."""
    none = np.empty((n, 0))
    if covariance is None:
        return Shared(np.zeros(n), none, none, none, known=False)
    loadings = covariance.loadings
    if not loadings.shape[1]:
        return Shared(covariance.variance, none, none, none, known=True)
    touched = np.count_nonzero(loadings, axis=0)
    single, common = touched == 1, touched == n
    if n == 1:
        common, single = touched > 0, np.zeros_like(single)
    local = (touched > 1) & (touched < n)
    own = loadings[:, single]
    raw = loadings[:, local]
    size = np.abs(raw).sum(axis=0) / np.maximum(touched[local], 1)
    return Shared(
        variance=covariance.variance + np.einsum("ij,ij->i", own, own),
        common=loadings[:, common],
        local=np.sign(raw) * size,
        local_raw=raw,
        known=True,
    )
