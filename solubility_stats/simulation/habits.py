"""What groups write down: instruments, rounding, habits and the sums they do."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from solubility_stats.measurement import Protocol

Vector = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Instruments:
    """Instruments of a simulated class.

    Attributes
    ----------
    balance_step_g, balance_sd_g : float
        Smallest displayed step and repeatability of a balance.
    balance_linearity_g : float
        Half width of each balance's own, constant deviation.
    balance_drift_g : float
        Standard deviation of the drift between a section's two weighings.
    cylinder_step_ml, cylinder_sd_ml : float
        To what people read the cylinder, and how well they set the meniscus.
    cylinder_tolerance_ml : float
        Half width of each cylinder's calibration error, at one fill.
    thermometer_step_k, thermometer_tolerance_k : float
        Step of a thermometer and half width of its error.
    burette_step_ml, burette_sd_ml : float
        Step and error of one burette reading.
    pipette_tolerance_ml : float
        Half width of the error of the pipetted aliquot.
    acid_u_relative : float
        Relative standard deviation of the true over the labelled acid.
    """

    balance_step_g: float = 0.01
    balance_sd_g: float = 0.005
    balance_linearity_g: float = 0.01
    balance_drift_g: float = 0.006
    cylinder_step_ml: float = 0.5
    cylinder_sd_ml: float = 0.25
    cylinder_tolerance_ml: float = 0.5
    thermometer_step_k: float = 1.0
    thermometer_tolerance_k: float = 1.0
    burette_step_ml: float = 0.05
    burette_sd_ml: float = 0.022
    pipette_tolerance_ml: float = 0.06
    acid_u_relative: float = 0.01

    @classmethod
    def of(cls, protocol: Protocol, fill_ml: float) -> Instruments:
        """Return the instruments a protocol says were used."""
        from solubility_stats.reference.glassware import cylinder_tolerance

        cylinder = protocol.cylinder
        capacity = cylinder.capacity_ml or fill_ml
        tolerance = cylinder.tolerance_ml or float(
            np.asarray(cylinder_tolerance(capacity, cylinder.grade))
        )
        return cls(
            balance_step_g=protocol.balance.readability_g,
            balance_sd_g=protocol.balance.repeatability_g,
            balance_linearity_g=protocol.balance.linearity_g,
            balance_drift_g=protocol.balance.drift_g,
            cylinder_tolerance_ml=tolerance,
            thermometer_step_k=protocol.thermometer.readability_k,
            thermometer_tolerance_k=protocol.thermometer.tolerance_k,
            burette_sd_ml=protocol.burette.reading_ml,
            acid_u_relative=protocol.titrant.u_relative,
        )


def to_step(values: Vector, step: float) -> Vector:
    """Round to the nearest step of an instrument, free of binary dust."""
    digits = decimals_of(step)
    return np.asarray(np.round(np.round(values / step) * step, digits))


def decimals_of(step: float) -> int:
    """Return the decimals one writes for a reading to the given step (0.5 → 1, 0.001 → 3)."""
    return len(f"{step:.6f}".rstrip("0").split(".")[1])


def weigh(true_g: Vector, offset_g: Vector, tools: Instruments, rng: np.random.Generator) -> Vector:
    """Return balance readings, never below zero."""
    reading = true_g + offset_g + rng.normal(0.0, tools.balance_sd_g, true_g.shape)
    return np.maximum(to_step(reading, tools.balance_step_g), 0.0)


def exchange_digits(reading: float, decimals: int, rng: np.random.Generator) -> float:
    """Exchange two neighbouring, different digits of a written number; unchanged if none differ."""
    digits = list(f"{reading:.{decimals}f}")
    places = [i for i, d in enumerate(digits) if d.isdigit()]
    pairs = [(a, b) for a, b in pairwise(places) if digits[a] != digits[b]]
    if not pairs:
        return reading
    a, b = pairs[int(rng.integers(len(pairs)))]
    digits[a], digits[b] = digits[b], digits[a]
    return float("".join(digits))


def significant(value: float, digits: int) -> float:
    """Round to significant digits, as a person reports."""
    return float(f"{value:.{digits}g}")


# The slips a group can make in its own sum: from dissolved mass y, masses m0 and mr, fills v (mL)
# to the number it writes under "g per 100 mL".
SLIPS = ("one_fill", "mean_fill", "fill_dropped", "recovered_used", "initial_used", "per_ml")


def reported_value(m0: float, mr: float, fills: Vector, slip: str | None, digits: int) -> float:
    """Return what a group reports, g per 100 mL of water, with at most one slip."""
    mass = {"recovered_used": mr, "initial_used": m0}.get(slip or "", m0 - mr)
    volume = float(np.sum(fills))
    if slip == "one_fill":
        volume = float(fills[0])
    elif slip == "mean_fill":
        volume = float(np.mean(fills))
    elif slip == "fill_dropped" and fills.size > 1:
        volume -= float(fills[-1])
    scale = 1.0 if slip == "per_ml" else 100.0
    return significant(scale * mass / volume, digits) if volume > 0 else float("nan")
