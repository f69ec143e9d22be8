"""Prior sizes of the causes in this class: read from the protocol's effects, run by run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.catalogue import Cause, causes
from solubility_stats.bias.forward import Solid

Vector = npt.NDArray[np.float64]

# Beam in the filtrate: it shows when solid passes in quantity, and a little goes unseen. With a
# quarter of the prior following it, runs with a beam have two and a half times the prior, clear
# runs three quarters of it, and the class mean is the prior's where one run in seven shows a
# beam; runs without the test get the prior itself (judgement).
_BEAM = {"visible": 7.0, "clear": 0.0}


@dataclass(frozen=True)
class Term:
    """One size to be found: a cause, or the part of it that follows a recorded column.

    Attributes
    ----------
    cause : Cause
        Where it belongs.
    follows : str
        Column it goes with, or empty for the steady part.
    mean, sd : float
        Prior of its class mean, in the unit of the cause.
    pattern : ndarray, shape (n,)
        Size in each run per unit of class mean.
    sd_between : ndarray, shape (n,)
        Spread between groups, in the unit of the cause; given once, with the steady part.
    judged : bool
        Whether the prior is a judgement without published source.
    """

    cause: Cause
    follows: str
    mean: float
    sd: float
    pattern: Vector
    sd_between: Vector
    judged: bool

    @property
    def name(self) -> str:
        """Name of the size."""
        return f"{self.cause.name} with {self.follows}" if self.follows else self.cause.name


def solid_of(protocol: Any) -> Solid:
    """Return the constants of the protocol's solid; a solid without formula gets neutral ones."""
    from solubility_stats.reference.molar_mass import molar_mass

    solid = protocol.solid
    mass = float(molar_mass(solid.formula)[0]) if solid.formula else 100.0
    return Solid(mass, 1.0 + solid.carbonation_gain, 1.0 + solid.oxide_gain)


def terms_for(protocol: Any, rows: pd.DataFrame, routes: Sequence[str]) -> tuple[Term, ...]:
    """Return the sizes to be found for a class.

    Parameters
    ----------
    protocol : Protocol
        Expected effects with their overrides.
    rows : DataFrame, n rows
        Runs with the recorded factors.
    routes : sequence of str
        Routes the class has; causes that move none of them are left out.
    """
    from solubility_stats.measurement.settings import RunSettings

    settings = RunSettings(protocol, rows)
    effects = {e.name: e for e in protocol.effects}
    found: list[Term] = []
    for cause in causes().values():
        effect = effects.get(cause.name)
        moved = [r for r in routes if cause.direction(r) != "none"]
        if effect is None or not effect.expected or not moved:
            continue
        if cause.lime_only and protocol.solid.carbonation_gain == 0.0:
            continue
        mean, u, between = (
            np.broadcast_to(np.asarray(x, dtype=float), (len(rows),))
            for x in settings.effect(effect)
        )
        found.extend(_split(cause, mean, u, between, rows, "judgement" in effect.basis))
    return tuple(found)


def _split(
    cause: Cause, mean: Vector, u: Vector, between: Vector, rows: pd.DataFrame, judged: bool
) -> list[Term]:
    level = float(np.mean(mean))
    if level <= 0.0 and not np.any(u > 0):
        return []
    sd = max(float(np.mean(u)), 1e-3 * level)
    pattern = np.array(mean / level) if level > 0 else np.ones(len(rows))
    follow = _profile(rows, cause.follows) if cause.follows else None
    if follow is None:
        return [Term(cause, "", level, sd, pattern, between, judged)]
    share = cause.share
    # Variances of the two parts add up to that of the whole.
    steady = Term(cause, "", (1 - share) * level, np.sqrt(1 - share) * sd, pattern, between, judged)
    nothing = np.zeros(len(rows))
    going = Term(
        cause, cause.follows, share * level, np.sqrt(share) * sd, pattern * follow, nothing, judged
    )
    return [steady, going]


def _profile(rows: pd.DataFrame, column: str) -> Vector | None:
    """Return how the following part goes with a recorded column, about 1 on average."""
    if column not in rows:
        return None
    if column == "scatter":
        said = rows[column].astype("str").str.strip().str.casefold()
        if not said.isin(list(_BEAM)).any():
            return None
        return np.array([_BEAM.get(word, 1.0) for word in said])
    minutes = pd.to_numeric(rows[column], errors="coerce").to_numpy(dtype=float)
    known = np.isfinite(minutes) & (minutes > 0)
    if known.sum() < 3 or np.ptp(minutes[known]) <= 0:
        return None
    # What is left after a time t falls as exp(-t / tau), with tau the class's median time.
    middle = float(np.median(minutes[known]))
    return np.where(known, np.exp(1.0 - np.where(known, minutes, middle) / middle), 1.0)
