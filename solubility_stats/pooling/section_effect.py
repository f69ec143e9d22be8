"""A difference between sections that nothing stated explains: a shared cause found in the data."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from solubility_stats.pooling import random_effects as re
from solubility_stats.pooling.sample import Sample, combine, key_columns, unit_codes
from solubility_stats.pooling.shared import split

Vector = npt.NDArray[np.float64]

_ENOUGH = 6  # sections from which the interval keeps its level by itself; docs/calibration


@dataclass(frozen=True)
class SectionEffect:
    """Variance between sections and what it does to the pooled value.

    Attributes
    ----------
    sections : int
        Number of sections; 0 where none are known.
    tau2, tau2_high : float
        Variance between sections beyond everything stated and seen within them, and the upper
        end of its exact interval.
    variance_of_mean : float
        What it adds to the variance of the pooled value.
    """

    sections: int = 0
    tau2: float = 0.0
    tau2_high: float = 0.0
    variance_of_mean: float = 0.0

    def notes(self, sample: Sample, level: float) -> tuple[str, ...]:
        """Return what to say about the unit of replication."""
        if not self.sections:
            return ()
        unit = f" {sample.unit}" if sample.unit else ""
        rows, sections = f"{sample.n} {sample.replicate}s", f"{self.sections} sections"
        text = f"Unit of replication: for what each {sample.replicate} does alone, the {rows}; "
        text += f"for a bottle, balance or instructor serving a section, the {sections}. "
        high = float(np.sqrt(self.tau2_high))
        if self.tau2 > 0:
            text += (
                f"The sections differ beyond what is stated, by a standard deviation of "
                f"{np.sqrt(self.tau2):.2g}{unit}; the uncertainty takes this in."
            )
        else:
            text += "No difference between sections is seen beyond what is stated"
            text += f" (up to {high:.2g}{unit} at {level:.0%})." if high > 0 else "."
        if self.sections < _ENOUGH:
            text += (
                f" So few sections show it badly: see replication() for an interval on {sections}."
            )
        return (text,)


NO_SECTIONS = SectionEffect()


def between_sections(sample: Sample, weights: Vector, level: float) -> SectionEffect:
    """Return the effect of sections on a weighted mean of groups.

    Groups are pooled within each section, and the variance between the section values is
    estimated by restricted maximum likelihood from their own uncertainties.

    Parameters
    ----------
    sample : Sample
        Groups or rows with a ``section`` among their labels; otherwise there is no effect.
    weights : ndarray, shape (n,)
        Weights of the mean.
    level : float
        Probability of the interval of ``tau2``.
    """
    if "section" not in sample.labels.columns or sample.replicate == "section":
        return NO_SECTIONS
    if sample.covariance is None:
        return NO_SECTIONS
    keys = key_columns("section", sample.labels)
    code = unit_codes(sample.labels, keys)
    count = int(code.max()) + 1
    if not 2 <= count < sample.n:
        return NO_SECTIONS
    joined = combine(sample, keys)
    parts = split(joined.covariance, count)
    v = parts.variance
    if np.any(v <= 0):
        return SectionEffect(count)
    tau2 = re.between_variance(joined.y, v, parts.local, "reml")
    _, high = re.q_profile(joined.y, v, parts.local, level)
    held = np.bincount(code, weights)
    return SectionEffect(count, tau2, high, tau2 * float(held @ held))
