"""Smooth curve through the points of one source (arrays only).

The form is ln s = A + B/T + C ln T + D T with T in kelvin: two terms are the van 't Hoff line,
three the equation of Apelblat and Manzurola (J. Chem. Thermodyn. 31 (1999) 85), four the form of
the IUPAC Solubility Data Series. How many terms the points bear is decided by the Bayesian
information criterion with the known scatter of tabulated points (Schwarz, Ann. Stat. 6 (1978)
461), and one point more than terms is always asked for. The corrected Akaike criterion was tried
first: it forbids a third term for six points even where the van 't Hoff line misses them by 40 %.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Vector = npt.NDArray[np.float64]

MAX_TERMS = 4
KELVIN = 273.15
_T0 = 298.15  # terms vanish here, so the first coefficient is ln s at 25 °C
# Points of handbook tables scatter beyond their rounding. Judgement: the residuals of the smooth
# twelve-point tables in ``data/`` lie between 0.02 and 0.4 %.
_FLOOR = 3e-3


@dataclass(frozen=True, eq=False)
class SourceFit:
    """Fitted curve of one source.

    Attributes
    ----------
    coefficients : ndarray, shape (p,)
        Of the terms 1, T0/T − 1, ln(T/T0), T/T0 − 1 with T0 = 298.15 K; value is ln(g/100 g water).
    factor : ndarray, shape (p, p)
        Matrix whose product with its transpose is the covariance of the coefficients.
    low_c, high_c : float
        Lowest and highest temperature of the points in °C.
    n : int
        Number of points.
    scatter : float
        Root mean square residual, relative (0.01 is one percent).
    inflation : float
        Birge ratio squared: reduced chi-square, at least 1, by which the covariance was widened.
    """

    coefficients: Vector
    factor: Vector
    low_c: float
    high_c: float
    n: int
    scatter: float
    inflation: float

    @property
    def terms(self) -> int:
        """Number of terms."""
        return int(self.coefficients.size)

    def log_value(self, t_c: Vector) -> Vector:
        """Return ln of the solubility in g/100 g water, shape of ``t_c``."""
        return np.asarray(basis(t_c, self.terms) @ self.coefficients)

    def log_slope(self, t_c: Vector) -> Vector:
        """Return the relative change per kelvin, d ln s/dT in 1/K."""
        return np.asarray(basis_slope(t_c, self.terms) @ self.coefficients)

    def loadings(self, t_c: Vector) -> Vector:
        """Return the effect of each independent coefficient error on ln s, shape (n, p)."""
        return np.asarray(basis(t_c, self.terms) @ self.factor)

    def published(self) -> dict[str, float]:
        """Return the coefficients of ln s = A + B/T + C ln T + D T, T in kelvin."""
        a, b, c, d = np.concatenate([self.coefficients, np.zeros(MAX_TERMS - self.terms)])
        return {"A": a - b - c * np.log(_T0) - d, "B": b * _T0, "C": c, "D": d / _T0}


def basis(t_c: Vector, terms: int) -> Vector:
    """Return the terms at the given temperatures, shape (n, terms)."""
    theta = (np.asarray(t_c, dtype=float) + KELVIN) / _T0
    columns = [np.ones_like(theta), 1 / theta - 1, np.log(theta), theta - 1]
    return np.stack(columns[:terms], axis=-1)


def basis_slope(t_c: Vector, terms: int) -> Vector:
    """Return the derivatives of the terms by temperature in 1/K, shape (n, terms)."""
    theta = (np.asarray(t_c, dtype=float) + KELVIN) / _T0
    columns = [np.zeros_like(theta), -1 / theta**2, 1 / theta, np.ones_like(theta)]
    return np.stack(columns[:terms], axis=-1) / _T0


def fit_source(t_c: Vector, s: Vector, u_relative: Vector) -> SourceFit:
    """Fit the points of one source.

    Parameters
    ----------
    t_c : ndarray, shape (n,)
        Temperatures in °C.
    s : ndarray, shape (n,)
        Solubilities in g/100 g water, positive.
    u_relative : ndarray, shape (n,)
        Relative standard uncertainty of each point from its rounding.

    Returns
    -------
    SourceFit
        One point gives a constant, two the line through them, more the number of terms (two to
        four) that the information criterion prefers.

    Notes
    -----
    Where the points scatter more than their rounding explains, the covariance is widened by the
    reduced chi-square; it is never narrowed.
    """
    log_s = np.log(s)
    sigma = np.hypot(u_relative, _FLOOR)
    distinct = np.unique(t_c).size
    candidates = [_least_squares(t_c, log_s, sigma, p) for p in _allowed(distinct)]
    # Schwarz criterion with known scatter: chi-square plus ln n per term.
    coefficients, factor, chi2 = min(candidates, key=lambda c: c[2] + c[0].size * np.log(t_c.size))
    freedom = t_c.size - coefficients.size
    inflation = max(1.0, chi2 / freedom) if freedom > 0 else 1.0
    residual = log_s - basis(t_c, coefficients.size) @ coefficients
    return SourceFit(
        coefficients=coefficients,
        factor=factor * np.sqrt(inflation),
        low_c=float(t_c.min()),
        high_c=float(t_c.max()),
        n=int(t_c.size),
        scatter=float(np.sqrt(np.mean(residual**2))),
        inflation=float(inflation),
    )


def _allowed(distinct: int) -> list[int]:
    if distinct <= 2:
        return [distinct]
    return list(range(2, min(MAX_TERMS, distinct - 1) + 1))


def _least_squares(
    t_c: Vector, log_s: Vector, sigma: Vector, terms: int
) -> tuple[Vector, Vector, float]:
    design = basis(t_c, terms) / sigma[:, None]
    u, singular, vt = np.linalg.svd(design, full_matrices=False)
    coefficients = vt.T @ ((u.T @ (log_s / sigma)) / singular)
    residual = log_s / sigma - design @ coefficients
    return coefficients, vt.T / singular, float(residual @ residual)
