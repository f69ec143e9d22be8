"""Which slips reproduce a reported number, and how often an unrelated number would be matched.

A reported number with ``d`` significant figures stands for the interval of half a unit of its
last figure on either side. A slip is a candidate if its formula falls into that interval. The
*chance match* is the probability that a number spread log-uniformly over the four decades centred
on the right answer, written to ``d`` figures, would have a candidate as well: the measure of the
union of the candidates' intervals.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from solubility_stats.measurement.slips.digits import Counts, Vector
from solubility_stats.measurement.slips.readings import Index
from solubility_stats.measurement.slips.route import Variant

# Order of the search, plainest first; the chance match of a tier counts all tiers before it.
TIERS = ("slip", "rounded", "digit", "row", "pair")
DECADES = 4.0
# Figures a report needs before combinations of two slips are offered.
PAIR_FIGURES = 3
_PAIRED = {
    "mass": 0, "titre": 0, "volume": 1, "volumes": 1, "aliquot": 1, "acid": 2,
    "stoichiometry": 3, "unit": 4, "formula": 5, "ion": 6,
}  # fmt: skip
_NOT_PAIRED = frozenset({"R1", "R2"})


@dataclass(frozen=True)
class Asked:
    """The reported number of each case.

    Attributes
    ----------
    value : ndarray, shape (n,)
    half : ndarray, shape (n,)
        Half a unit of the last figure.
    figures : ndarray of int, shape (n,)
        Significant figures; 0 for a reported zero.
    decimals : ndarray of int, shape (n,)
        Decimals written.
    """

    value: Vector
    half: Vector
    figures: Counts
    decimals: Counts


@dataclass(frozen=True)
class Match:
    """One formula that reproduces one reported number."""

    case: int
    tier: int
    variants: tuple[Variant, ...]
    basis: str
    predicted: float


@dataclass
class Search:
    """Collects matches and the intervals of every formula tried.

    Parameters
    ----------
    asked : Asked
    plain : ndarray, shape (n,)
        Right answer in the case's unit on the plain basis.
    bases : list of (str, ndarray, ndarray)
        Words, value relative to the plain basis and relative half width.
    """

    asked: Asked
    plain: Vector
    bases: list[tuple[str, Vector, Vector]]
    matches: list[Match] = field(default_factory=list)
    _cases: list[list[Index]] = field(default_factory=lambda: [[] for _ in TIERS])
    _low: list[list[Vector]] = field(default_factory=lambda: [[] for _ in TIERS])
    _high: list[list[Vector]] = field(default_factory=lambda: [[] for _ in TIERS])

    def singles(self, variants: list[Variant], reading_half: list[Vector]) -> None:
        """Try every slip by itself, first with the readings as recorded, then within rounding."""
        for variant, half in zip(variants, reading_half, strict=True):
            tier = TIERS.index(variant.tier)
            hit = self._try(tier, (variant,), variant.ratio, None)
            if variant.tier == "slip":
                self._try(1, (variant,), variant.ratio, half, unless=hit)

    def pairs(self, variants: list[Variant]) -> None:
        """Try every two slips of different stages; only where enough figures are reported."""
        enough = self.asked.figures >= PAIR_FIGURES
        if not enough.any():
            return
        alone = self._matched_alone()
        for first, second in _pairs(variants):
            ratio = np.where(enough, first.ratio * second.ratio, np.nan)
            known = [alone.get(id(v)) for v in (first, second)]
            skip = np.zeros(len(ratio), dtype=bool)
            for cases in known:
                if cases is not None:
                    skip[cases] = True
            self._try(4, (first, second), ratio, None, unless=skip)

    def _matched_alone(self) -> dict[int, list[int]]:
        out: dict[int, list[int]] = {}
        for match in self.matches:
            out.setdefault(id(match.variants[0]), []).append(match.case)
        return out

    def _try(
        self,
        tier: int,
        variants: tuple[Variant, ...],
        ratio: Vector,
        half: Vector | None,
        unless: npt.NDArray[np.bool_] | None = None,
    ) -> npt.NDArray[np.bool_]:
        """Match one formula on every basis; return the cases it matches."""
        hit = np.zeros(len(ratio), dtype=bool) if unless is None else unless.copy()
        if not np.isfinite(ratio).any():
            return hit
        fair = self.bases if variants[0].stage != "whole" else self.bases[:1]
        for words, relative, wide in fair:
            middle = self.plain * relative * ratio
            spread = np.abs(middle) * (wide if half is None else wide + half)
            slack = self.asked.half * (1 + 1e-6) + spread + 1e-9 * np.abs(middle)
            found = np.abs(self.asked.value - middle) <= slack
            for case in np.flatnonzero(found & ~hit):
                self.matches.append(Match(int(case), tier, variants, words, float(middle[case])))
            hit |= found
            self._keep(tier, middle, spread)
        return hit

    def _keep(self, tier: int, middle: Vector, spread: Vector) -> None:
        sign = np.where(self.asked.value < 0, -1.0, 1.0)
        cases = np.flatnonzero(np.isfinite(middle) & (middle * sign > 0))
        low, high = written_interval(
            np.abs(middle[cases]), np.nan_to_num(spread[cases]), self.asked.figures[cases]
        )
        self._cases[tier].append(cases)
        self._low[tier].append(low)
        self._high[tier].append(high)

    def intervals(self) -> Iterator[tuple[int, Index, Vector, Vector]]:
        """Yield tier, cases and the decimal logarithms of the interval ends."""
        for tier in range(len(TIERS)):
            if self._cases[tier]:
                yield (
                    tier,
                    np.concatenate(self._cases[tier]),
                    np.concatenate(self._low[tier]),
                    np.concatenate(self._high[tier]),
                )


def _pairs(variants: list[Variant]) -> Iterator[tuple[Variant, Variant]]:
    usable = [
        v for v in variants if v.tier == "slip" and v.stage in _PAIRED and v.code not in _NOT_PAIRED
    ]
    usable.sort(key=lambda v: _PAIRED[v.stage])
    for i, first in enumerate(usable):
        for second in usable[i + 1 :]:
            if _PAIRED[second.stage] > _PAIRED[first.stage]:
                yield first, second


def written_interval(
    middle: npt.ArrayLike, spread: npt.ArrayLike, figures: npt.ArrayLike
) -> tuple[Vector, Vector]:
    """Return which unrelated numbers, once written down, would be matched by a formula.

    Parameters
    ----------
    middle, spread : array_like, shape (n,)
        Positive value of the formula and the half width of its own interval.
    figures : array_like of int, shape (n,)
        Significant figures written; 0 is taken as 1.

    Returns
    -------
    low, high : ndarray, shape (n,)
        Decimal logarithms of the ends of the interval of numbers.
    """
    x, wide = np.asarray(middle, dtype=float), np.asarray(spread, dtype=float)
    step = 10.0 ** (np.floor(np.log10(x)) - np.maximum(np.asarray(figures), 1) + 1)
    first = np.ceil((x - wide) / step - 0.5 - 1e-6)
    last = np.floor((x + wide) / step + 0.5 + 1e-6)
    low = np.maximum((first - 0.5) * step, 1e-300)
    return np.log10(low), np.log10(np.maximum((last + 0.5) * step, low))


def chance_of_match(run: Index, low: Vector, high: Vector, centre: Vector, n_runs: int) -> Vector:
    """Return the share of four decades around ``centre`` that a union of intervals covers.

    Parameters
    ----------
    run : ndarray of int, shape (m,)
        Which run an interval belongs to.
    low, high : ndarray, shape (m,)
        Decimal logarithms of the ends.
    centre : ndarray, shape (n_runs,)
        Decimal logarithm of the middle of the decades.
    n_runs : int

    Returns
    -------
    ndarray, shape (n_runs,)
        Probability between 0 and 1.
    """
    if not len(run):
        return np.zeros(n_runs)
    # Each run gets a stretch of its own on one long axis, so that one sort serves all runs.
    away = run * (2 * DECADES)
    start = np.clip(low - centre[run], -DECADES / 2, DECADES / 2) + away
    stop = np.clip(high - centre[run], -DECADES / 2, DECADES / 2) + away
    order = np.argsort(start, kind="stable")
    start, stop, owner = start[order], stop[order], run[order]
    reached = np.maximum.accumulate(stop)
    covered_from = np.maximum(start[1:], reached[:-1])
    gain = np.concatenate([[stop[0] - start[0]], np.maximum(stop[1:] - covered_from, 0.0)])
    return np.asarray(np.bincount(owner, weights=gain, minlength=n_runs) / DECADES)
