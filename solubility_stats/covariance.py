"""Covariance of runs that share causes, kept as independent variances plus shared loadings.

Runs of one class share a bottle, a balance, a cylinder and the mean size of their losses.
With ``k`` shared causes over ``n`` runs the covariance is ``diag(v) + L @ L.T`` with ``L`` of
shape ``(n, k)``: ``k`` is small, so nothing here ever needs an ``n x n`` matrix.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt
from scipy import linalg

Vector = npt.NDArray[np.float64]


@dataclass(frozen=True)
class SharedCovariance:
    """Covariance ``diag(variance) + loadings @ loadings.T`` of ``n`` values.

    Attributes
    ----------
    variance : ndarray, shape (n,)
        Variance of each value from causes it shares with no other value.
    loadings : ndarray, shape (n, k)
        Signed contribution of each of ``k`` shared causes (one standard uncertainty of the
        cause) to each value, in the unit of the values.
    factors : tuple of str, length k
        Name of each shared cause, e.g. ``"transfer loss [class]"``.
    """

    variance: Vector
    loadings: Vector = field(default_factory=lambda: np.empty((0, 0)))
    factors: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        variance = np.array(self.variance, dtype=float, ndmin=1)
        loadings = np.array(self.loadings, dtype=float)
        if loadings.size == 0:
            loadings = np.empty((variance.size, 0))
        if variance.ndim != 1 or loadings.shape[0] != variance.size:
            raise ValueError(
                f"variance of shape {variance.shape} does not fit loadings of shape "
                f"{loadings.shape}; expected (n,) and (n, k)"
            )
        if np.any(variance < 0):
            raise ValueError("a variance is negative; expected variances of zero or more")
        factors = tuple(self.factors) or tuple(f"shared {j + 1}" for j in range(loadings.shape[1]))
        if len(factors) != loadings.shape[1]:
            raise ValueError(f"{len(factors)} factor names for {loadings.shape[1]} shared causes")
        variance.flags.writeable = loadings.flags.writeable = False
        object.__setattr__(self, "variance", variance)
        object.__setattr__(self, "loadings", loadings)
        object.__setattr__(self, "factors", factors)

    @classmethod
    def from_dense(cls, matrix: npt.ArrayLike) -> SharedCovariance:
        """Return the same covariance from a full matrix.

        A matrix does not say which part of a variance is independent. Here that part is as large
        as can be in proportion to each value's variance given all others (the reciprocal
        diagonal of the inverse, L. Guttman, Psychometrika 21 (1956) 273); the rest is shared.
        ``dense()`` gives the matrix back exactly.

        Parameters
        ----------
        matrix : array_like, shape (n, n)
            Symmetric, without negative eigenvalues.

        Raises
        ------
        ValueError
            If the matrix is not square, not symmetric or not a covariance.
        """
        full = np.asarray(matrix, dtype=float)
        if full.ndim != 2 or full.shape[0] != full.shape[1]:
            raise ValueError(f"a covariance of shape {full.shape}; expected (n, n)")
        if not np.allclose(full, full.T, rtol=1e-9, atol=0.0):
            raise ValueError("the covariance is not symmetric")
        full = (full + full.T) / 2.0
        values = linalg.eigvalsh(full)
        dust = 1e-12 * max(float(values[-1]), 0.0) * len(full)
        if values[0] < -dust:
            raise ValueError(f"the covariance has the negative eigenvalue {values[0]:.3g}")
        own = np.zeros(len(full))
        if values[0] > dust:
            alone = 1.0 / np.diag(linalg.inv(full))
            scaled = full / np.sqrt(np.outer(alone, alone))
            own = alone * float(linalg.eigvalsh(scaled)[0]) * (1.0 - 1e-9)
        spare, vectors = linalg.eigh(full - np.diag(own))
        kept = spare > dust
        return cls(own, vectors[:, kept] * np.sqrt(spare[kept]))

    @property
    def n(self) -> int:
        """Number of values."""
        return int(self.variance.size)

    def diagonal(self) -> Vector:
        """Return the total variance of each value, shape (n,)."""
        return np.asarray(self.variance + np.einsum("ij,ij->i", self.loadings, self.loadings))

    def dense(self) -> Vector:
        """Return the full matrix, shape (n, n); meant for small n and for tests."""
        return np.asarray(np.diag(self.variance) + self.loadings @ self.loadings.T)

    def take(self, index: npt.ArrayLike | Sequence[int]) -> SharedCovariance:
        """Return the covariance of a subset, given by positions or by a boolean mask."""
        chosen = np.asarray(index)
        return SharedCovariance(self.variance[chosen], self.loadings[chosen], self.factors)

    def plus(self, extra: npt.ArrayLike) -> SharedCovariance:
        """Return a copy with independent variance added to each value (scalar or shape (n,))."""
        return SharedCovariance(self.variance + np.asarray(extra), self.loadings, self.factors)

    def solve(self, right: npt.ArrayLike) -> Vector:
        """Return the inverse covariance times ``right`` by the Woodbury identity.

        Costs O(n k^2). Every independent variance must be positive; see ``plus``.
        """
        b = np.asarray(right, dtype=float)
        if np.any(self.variance <= 0):
            raise np.linalg.LinAlgError(
                "a value without independent variance makes the covariance singular"
            )
        column = self.variance if b.ndim == 1 else self.variance[:, None]
        plain = b / column
        if not self.factors:
            return np.asarray(plain)
        weighted = self.loadings / self.variance[:, None]
        core = np.eye(len(self.factors)) + self.loadings.T @ weighted
        return np.asarray(
            plain - weighted @ linalg.solve(core, self.loadings.T @ plain, assume_a="pos")
        )

    def variance_of(self, weights: npt.ArrayLike) -> float:
        """Return the variance of the weighted sum ``weights @ values``."""
        w = np.asarray(weights, dtype=float)
        return float(np.sum(w**2 * self.variance) + np.sum((w @ self.loadings) ** 2))
