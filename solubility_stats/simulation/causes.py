"""The causes a simulated class can suffer from, their units and how they vary between groups."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from solubility_stats.errors import InputError

Vector = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Cause:
    """One cause on the bench.

    Attributes
    ----------
    unit : str
        Unit of its size.
    meaning : str
        What a size of one unit does.
    scope : str
        ``group``: groups differ, gamma-distributed around the class size; ``class``: the same
        for everyone; ``event``: happens to a run with this probability.
    spread : float
        Coefficient of variation between groups (judgement), for scope ``group``.
    signed : bool
        Whether the size may be negative.
    highest : float
        Cap of a single run's size, so that a fraction stays a fraction.
    """

    unit: str
    meaning: str
    scope: str = "group"
    spread: float = 0.6
    signed: bool = False
    highest: float = np.inf


CAUSES: dict[str, Cause] = {
    "retained_liquor": Cause("mL/g", "water held per gram of scraped cake", spread=0.4),
    "residual_moisture": Cause("fraction", "water left in the dried residue", spread=1.0),
    "residue_carbonation": Cause("fraction", "residue turned to carbonate", highest=1.0),
    "transfer_loss": Cause("fraction", "residue lost in proportion", spread=0.8, highest=0.95),
    "constant_loss": Cause("g", "residue lost whatever its amount", spread=0.75),
    "fines": Cause("g", "solid through the paper", spread=0.75),
    "fibres": Cause("g", "paper fibres scraped with the residue", spread=0.75),
    "undersaturation": Cause("fraction", "short of saturation at filtering", highest=0.95),
    "early_carbonation": Cause("mmol", "carbon dioxide taken up before filtering"),
    "early_evaporation": Cause("g", "water evaporated before filtering", spread=1.0),
    "wet_receiver": Cause("fraction", "filtrate diluted by water in the receiver", highest=0.5),
    "filtrate_carbonation": Cause("mmol/L", "carbon dioxide taken up by the filtrate"),
    "evaporation_carbonation": Cause(
        "fraction", "aliquot residue turned to carbonate", highest=1.0
    ),
    "evaporation_moisture": Cause("fraction", "water left in the aliquot's residue", spread=1.0),
    "spattering": Cause("fraction", "aliquot's residue lost by spattering", highest=0.9),
    "warm_weighing": Cause("g", "residue reads light because weighed warm", spread=1.5),
    "endpoint_overshoot": Cause("mL", "acid run in past the end point"),
    "reagent_moisture": Cause("fraction", "water in the bottle", "class", highest=0.5),
    "soluble_impurity": Cause("fraction", "soluble matter in the bottle", "class", highest=0.5),
    "insoluble_matter": Cause("fraction", "inert solid in the bottle", "class", highest=0.9),
    "reagent_oxide": Cause("fraction", "quicklime in the bottle", "class", highest=0.9),
    "cylinder_error": Cause("fraction", "true over read volume, minus one", "class", signed=True),
    "drainage_film": Cause("fraction", "fill left in the cylinder", "class", highest=0.2),
    "balance_offset": Cause("g", "added to the recovered reading only", "class", signed=True),
    "acid_error": Cause("fraction", "true over labelled acid, minus one", "class", signed=True),
    "temperature_error": Cause("K", "true minus recorded temperature", "class", signed=True),
    "missed_fill": Cause("probability", "a fill written down, never poured", "event"),
    "extra_fill": Cause("probability", "a fill poured, never written down", "event"),
    "paper_tare_missed": Cause("probability", "paper weighed with the residue", "event"),
    "decimal_slip": Cause("probability", "a mass written ten times off", "event"),
    "transposed_digits": Cause("probability", "two digits of a mass exchanged", "event"),
    "calculation_slip": Cause("probability", "the reported value miscalculated", "event"),
}


def check_causes(causes: Mapping[str, float]) -> dict[str, float]:
    """Return the causes as plain floats.

    Raises
    ------
    InputError
        For an unknown name, a negative size of an unsigned cause, or a probability over one.
    """
    for name, size in causes.items():
        if name not in CAUSES:
            raise InputError(
                "not a known cause",
                where="causes",
                found=name,
                expected=f"one of {', '.join(CAUSES)}",
            )
        cause = CAUSES[name]
        too_big = size > 1 and cause.unit in ("fraction", "probability")
        if not np.isfinite(size) or (size < 0 and not cause.signed) or too_big:
            raise InputError(
                "the size is impossible",
                where=f"cause {name}",
                found=size,
                expected=f"a size in {cause.unit}: {cause.meaning}",
            )
    return {name: float(size) for name, size in causes.items()}


def draw_sizes(
    class_sizes: Mapping[str, float],
    spreads: Mapping[str, float],
    group: npt.NDArray[np.intp],
    rng: np.random.Generator,
) -> dict[str, Vector]:
    """Draw the size of every continuous cause for every run.

    Parameters
    ----------
    class_sizes : mapping of str to float
        Mean size in the class; a cause not named has size zero.
    spreads : mapping of str to float
        Standard deviation between groups, in the unit of the cause; where not named, the
        coefficient of variation of :data:`CAUSES` applies.
    group : ndarray of int, shape (n,)
        Group of each run, 0 … k−1. Runs of one group share the group's habits.
    """
    groups = int(group.max()) + 1 if group.size else 0
    sizes: dict[str, Vector] = {}
    for name, cause in CAUSES.items():
        if cause.scope == "event":
            continue
        mean = class_sizes.get(name, 0.0)
        if mean == 0.0 or cause.scope == "class":
            sizes[name] = np.full(group.size, mean)
            continue
        sd = spreads.get(name, cause.spread * mean)
        drawn = gamma_with(mean, sd, groups, rng)
        sizes[name] = np.minimum(drawn, cause.highest)[group]
    return sizes


def gamma_with(mean: float, sd: float, n: int, rng: np.random.Generator) -> Vector:
    """Draw ``n`` non-negative sizes with the given mean and standard deviation."""
    if sd <= 0 or mean <= 0:
        return np.full(n, mean)
    shape = (mean / sd) ** 2
    return rng.gamma(shape, mean / shape, n)
