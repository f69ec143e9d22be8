"""P-values adjusted for how many were looked at.

Two short formulas of our own: the general routine for Holm's method at hand clears the garbage of
the whole process on every call, which costs more than a mixed model.
"""

from __future__ import annotations

from typing import Literal

import numpy as np

from solubility_stats.pooling.tidy import Vector

Adjustment = Literal["holm", "bh"]


def holm(p_value: Vector) -> Vector:
    """Return p-values adjusted for their number by Holm's step-down method.

    S. Holm, Scand. J. Stat. 6 (1979) 65-70. Missing p-values stay missing and do not count.
    """
    p = np.asarray(p_value, dtype=float)
    out = np.full(p.size, np.nan)
    known = np.flatnonzero(np.isfinite(p))
    order = known[np.argsort(p[known], kind="stable")]
    factor = np.arange(known.size, 0, -1)
    out[order] = np.minimum(1.0, np.maximum.accumulate(p[order] * factor))
    return out


def adjust_p(p_value: Vector, method: Adjustment) -> Vector:
    """Return p-values adjusted for their number; missing ones stay missing and do not count.

    ``"holm"`` bounds the probability of any false finding, ``"bh"`` their expected share
    (Y. Benjamini and Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289-300).
    """
    if method == "holm":
        return holm(p_value)
    from scipy.stats import false_discovery_control

    p = np.asarray(p_value, dtype=float)
    out = np.full(p.size, np.nan)
    known = np.isfinite(p)
    if known.any():
        out[known] = false_discovery_control(p[known], method="bh")
    return out
