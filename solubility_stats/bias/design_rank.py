"""How many directions a plan of measurement can see, and which causes look exactly alike.

The readings are differentiated by every cause at no error; columns that are multiples of one
another cannot be told apart by any amount of data of that kind, whatever the scatter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from solubility_stats.bias.forward import Batch, Solid, sensitivities

Vector = npt.NDArray[np.float64]

# Singular values below this share of the largest count as zero, and columns whose cosine is
# closer to one than this are one column: the derivatives carry rounding of the order of 1e-9.
RANK_TOLERANCE = 1e-4
SAME_COLUMN = 1e-5


@dataclass(frozen=True)
class DesignRank:
    """What a plan of measurement can tell apart.

    Attributes
    ----------
    rank : int
        Number of independent directions in the readings.
    names : tuple of str
        Causes considered.
    silent : tuple of str
        Causes that move no reading at all.
    alike : tuple of tuple of str
        Sets of causes with the same pattern, up to size and sign; a cause alone in its set
        is distinct from each other single cause, though not always from sums of several.
    """

    rank: int
    names: tuple[str, ...]
    silent: tuple[str, ...]
    alike: tuple[tuple[str, ...], ...]

    def partners(self, name: str) -> tuple[str, ...]:
        """Return the causes whose pattern is the same as that of ``name``."""
        for members in self.alike:
            if name in members:
                return tuple(m for m in members if m != name)
        return ()


def design_rank(
    batch: Batch,
    names: Sequence[str],
    routes: Sequence[str] = ("residue",),
    *,
    solid: Solid | None = None,
    scale: float = RANK_TOLERANCE,
) -> DesignRank:
    """Return the rank of a plan of measurement and the causes it cannot tell apart.

    Parameters
    ----------
    batch : Batch
        Planned or real amounts, one entry per run.
    names : sequence of str
        Causes, by the names of :data:`solubility_stats.bias.forward.SIZES`.
    routes : sequence of str
        Which readings are taken of every run.
    scale : float
        Singular values below this share of the largest count as zero.
    """
    # The residue is read as a mass: its columns are then exactly those of m0, V and 1.
    keys = ["recovered_g" if r == "residue" else r for r in routes]
    blocks = [sensitivities(batch, names, key, solid=solid)[1] for key in keys]
    columns = np.vstack(blocks)
    size = np.sqrt(np.sum(columns**2, axis=0))
    floor = 1e-8 * float(size.max(initial=0.0))
    loud = size > floor
    unit = columns[:, loud] / size[loud]
    seen = [n for n, yes in zip(names, loud, strict=True) if yes]
    values = np.linalg.svd(unit, compute_uv=False) if seen else np.zeros(0)
    rank = int(np.sum(values > scale * values.max(initial=0.0)))
    cosine = np.abs(unit.T @ unit) if seen else np.zeros((0, 0))
    silent = tuple(n for n, yes in zip(names, loud, strict=True) if not yes)
    return DesignRank(rank, tuple(names), silent, _sets(seen, cosine > 1.0 - SAME_COLUMN))


def _sets(names: Sequence[str], same: npt.NDArray[np.bool_]) -> tuple[tuple[str, ...], ...]:
    found: list[tuple[str, ...]] = []
    placed: set[str] = set()
    for j, name in enumerate(names):
        if name in placed:
            continue
        members = tuple(n for n, yes in zip(names, same[j], strict=True) if yes)
        placed.update(members)
        found.append(members)
    return tuple(found)
