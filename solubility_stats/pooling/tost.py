"""Two one-sided tests that a difference is small enough not to matter.

An interval that contains zero says only that nothing was found. That two values *agree* needs the
whole interval to lie inside a margin chosen beforehand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError


@dataclass(frozen=True, repr=False)
class Equivalence(Result):
    """Outcome of two one-sided tests (TOST).

    Attributes
    ----------
    difference, u : float
        Difference and its standard uncertainty, in ``unit``.
    dof : float
        Degrees of freedom of ``u``; infinite for a normal test.
    margin_low, margin_high : float
        Differences between these do not matter.
    low, high : float
        Interval of confidence ``1 - 2 alpha``: equivalence is shown when it lies in the margin.
    p_value : float
        The larger of the two one-sided p-values.
    p_not_below, p_not_above : float
        One-sided p-values against "difference <= margin_low" and "difference >= margin_high".
    p_difference : float
        Two-sided p-value against "no difference".
    alpha : float
        Level of each one-sided test.
    equivalent, different : bool
        Whether equivalence, and whether a difference from zero, is shown at ``alpha`` (the latter
        two-sided). Both may be true: a real difference too small to matter.
    unit : str
        Unit of all of these.
    """

    difference: float
    u: float
    dof: float
    margin_low: float
    margin_high: float
    low: float
    high: float
    p_value: float
    p_not_below: float
    p_not_above: float
    p_difference: float
    alpha: float
    equivalent: bool
    different: bool
    unit: str = ""

    def headline(self) -> str:
        """Return the verdict in one sentence."""
        what = with_uncertainty(self.difference, self.u, self.unit)
        margin = f"{self.margin_low:g} to {self.margin_high:g}"
        if self.equivalent:
            tail = ", and differs from zero" if self.different else ""
            return f"Difference {what}: inside the margin {margin}{tail} (p = {self.p_value:.2g})"
        if self.different:
            return (
                f"Difference {what}: not zero (p = {self.p_difference:.2g}), and not shown to "
                f"stay inside the margin {margin}"
            )
        return (
            f"Difference {what}: too uncertain to say whether it stays inside the margin {margin}"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the two one-sided tests."""
        frame = pd.DataFrame(
            {
                "against": ["difference below margin", "difference above margin", "no difference"],
                "p_value": [self.p_not_below, self.p_not_above, self.p_difference],
            }
        )
        return {"Tests": frame}


def equivalence(
    difference: float,
    u: float,
    margin: float | tuple[float, float],
    *,
    dof: float = math.inf,
    alpha: float = 0.05,
    unit: str = "",
) -> Equivalence:
    """Test by two one-sided t-tests whether a difference lies inside a margin.

    Parameters
    ----------
    difference, u : float
        Difference and its standard uncertainty, same unit as ``margin``.
    margin : float or (float, float)
        Largest difference that does not matter, or the two limits. Choose it beforehand, from
        what the value is used for.
    dof : float
        Degrees of freedom of ``u``.
    alpha : float
        Level of each one-sided test.
    unit : str
        For printing.

    Returns
    -------
    Equivalence

    Raises
    ------
    InputError
        If the margin is empty, ``u`` is negative or not finite, or ``alpha`` not in (0, 0.5).

    Notes
    -----
    D. J. Schuirmann, J. Pharmacokinet. Biopharm. 15 (1987) 657-680. With ``u = 0`` the
    comparison is exact and the p-values are 0 or 1.

    Examples
    --------
    >>> print(equivalence(0.8, 1.1, 5, dof=20, unit="%").headline())
    Difference 0.8 ± 1.1 %: inside the margin -5 to 5 (p = 0.00054)
    """
    from scipy.special import stdtr, stdtrit

    low, high = (-abs(margin), abs(margin)) if isinstance(margin, (int, float)) else margin
    _check(difference, u, low, high, dof, alpha)
    if u == 0:
        below, above = float(difference <= low), float(difference >= high)
        p_zero, half = float(difference == 0), 0.0
    else:
        below = float(stdtr(dof, -(difference - low) / u))
        above = float(stdtr(dof, (difference - high) / u))
        p_zero = float(2 * stdtr(dof, -abs(difference) / u))
        half = float(stdtrit(dof, 1 - alpha)) * u
    p_value = max(below, above)
    return Equivalence(
        difference=float(difference),
        u=float(u),
        dof=float(dof),
        margin_low=float(low),
        margin_high=float(high),
        low=float(difference - half),
        high=float(difference + half),
        p_value=p_value,
        p_not_below=below,
        p_not_above=above,
        p_difference=p_zero,
        alpha=alpha,
        equivalent=p_value < alpha,
        different=p_zero < alpha,
        unit=unit,
    )


def _check(difference: float, u: float, low: float, high: float, dof: float, alpha: float) -> None:
    if not low < high:
        raise InputError(
            "the margin is empty", where="margin", found=(low, high), expected="low below high"
        )
    if not (math.isfinite(difference) and math.isfinite(u) and u >= 0):
        raise InputError(
            "difference and uncertainty must be finite numbers",
            where="equivalence",
            found=(difference, u),
            expected="a number and a standard uncertainty of zero or more",
        )
    if not dof > 0:
        raise InputError("no degrees of freedom", where="dof", found=dof, expected="above zero")
    if not 0 < alpha < 0.5:
        raise InputError("not a test level", where="alpha", found=alpha, expected="0 < alpha < 0.5")


def welch(first: npt.ArrayLike, second: npt.ArrayLike) -> tuple[float, float, float]:
    """Return difference of means (second taken from first), its standard error and its dof.

    Parameters
    ----------
    first, second : array_like, shapes (n,) and (m,)
        Independent values, n and m at least 2; their variances need not be equal.

    Notes
    -----
    B. L. Welch, Biometrika 34 (1947) 28-35.
    """
    x, y = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    for name, values in (("first", x), ("second", y)):
        if values.ndim != 1 or values.size < 2 or not np.isfinite(values).all():
            raise InputError(
                "a standard deviation needs two or more finite values",
                where=name,
                found=f"{int(np.isfinite(values).sum())} finite of {values.size}",
            )
    a, b = x.var(ddof=1) / x.size, y.var(ddof=1) / y.size
    if a + b == 0:
        return float(x.mean() - y.mean()), 0.0, math.inf
    dof = (a + b) ** 2 / (a**2 / (x.size - 1) + b**2 / (y.size - 1))
    return float(x.mean() - y.mean()), math.sqrt(a + b), float(dof)
