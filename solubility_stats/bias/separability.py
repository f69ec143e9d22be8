"""What these data cannot tell apart, and how sure one may be of that.

A cause is told apart from another only if moving the class from the one to the other, by one
prior standard deviation of the first, would shift the readings by more than their scatter can
hide. This is asked of the noise-whitened design, so it depends on the plan, the instruments and
the number of groups, and not on the luck of the readings; the posterior can only add ties to it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.design_rank import DesignRank, design_rank
from solubility_stats.bias.model import ClassModel
from solubility_stats.bias.sampler import Draws
from solubility_stats.bias.wording import listed
from solubility_stats.display import Result

Vector = npt.NDArray[np.float64]

# A change of one prior standard deviation must stand out of the scatter by this many standard
# deviations before two causes are said to be told apart.
TOLD_APART = 3.0
# The other cause is said to make up for a change when this share of it, or less, is left over.
MAKES_UP = 0.8
# Patterns with a larger cosine are one pattern: amounts meant to be equal vary by a percent or two.
PARALLEL = 0.99
# Absolute posterior correlation of two effects from which they are called tied.
TIED = 0.4
# A cause must have lost this share of its prior variance before it is told apart from anything.
LEARNED = 0.5
# Causes whose prior effect is below this share of the largest are not worth naming as ties.
WORTH_NAMING = 0.02
# Above this share they are among the main causes.
MAIN = 0.15


@dataclass(frozen=True, repr=False)
class Separability(Result):
    """What a class's data can tell apart.

    Attributes
    ----------
    directions : int
        Independent directions in which these data know more than the prior did.
    rank : int
        Independent directions a noise-free class with the same amounts would show.
    causes : tuple of str
        Causes considered, in the order of ``contrast``.
    contrast : DataFrame
        Square: by how many standard deviations of the readings a prior-sized change of the row
        cause stands out when the column cause makes up for it as far as its prior allows.
    correlation : DataFrame
        Posterior correlation of the effects.
    learned : mapping of str to float
        Share of the prior variance of each effect that the data took away.
    ties : mapping of str to tuple of str
        Causes each cause cannot be told from.
    sentence : str
        The same in words.
    """

    directions: int
    rank: int
    causes: tuple[str, ...]
    contrast: pd.DataFrame
    correlation: pd.DataFrame
    learned: dict[str, float]
    ties: dict[str, tuple[str, ...]]
    sentence: str

    def headline(self) -> str:
        """Return the sentence."""
        return self.sentence

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the ties."""
        rows = [
            {"cause": c, "learned": self.learned[c], "not_separable_from": ", ".join(self.ties[c])}
            for c in self.causes
        ]
        return {"Ties": pd.DataFrame(rows)}


def separability(model: ClassModel, draws: Draws, terms: dict[str, str]) -> Separability:
    """Return what the data of a class can tell apart.

    Parameters
    ----------
    model : ClassModel
        The class.
    draws : Draws
        Its posterior.
    terms : mapping of str to str
        Words for each cause, for the sentence.
    """
    owners = tuple(dict.fromkeys(model.sizes.owners))
    white = _whitened(model, draws)
    patterns = _patterns(model, white, owners)
    effect = np.stack([_effect(model, draws, o) for o in owners], axis=1)
    correlation = _correlation(effect)
    learned = {o: _learned(model, draws, o) for o in owners}
    loud = {o: _prior_effect(model, o) for o in owners}
    seen = {o: _ties(o, owners, patterns, correlation, learned, loud) for o in owners}
    ties = {o: _both_ways(o, seen, loud) for o in owners}
    values = np.linalg.svd(white, compute_uv=False)
    directions = int(np.sum(values > TOLD_APART))
    rank = _noise_free(model, owners).rank
    sentence = _sentence(owners, ties, loud, terms, directions)
    index = pd.Index(owners, name="cause")
    return Separability(
        directions, rank, owners,
        pd.DataFrame(patterns.contrast, index=index, columns=list(owners)),
        pd.DataFrame(correlation, index=index, columns=list(owners)),
        learned, ties, sentence,
    )  # fmt: skip


def _whitened(model: ClassModel, draws: Draws) -> Vector:
    """Return the design of the fitted readings in units of their scatter."""
    typical = dict(zip(draws.routes, np.median(draws.scatter, axis=0), strict=True))
    scatter = np.array([typical[r] for r in model.route])
    sd = np.sqrt(model.own + model.repeats * model.between * scatter**2)
    return np.asarray((model.design / sd[:, None])[model.fitted])


@dataclass(frozen=True)
class _Patterns:
    """How each cause moves the readings, in standard deviations of the readings.

    Attributes
    ----------
    strength : ndarray, shape (k,)
        Norm of the shift by one prior standard deviation of each cause (its hardest part).
    contrast : ndarray, shape (k, k)
        What is left of the row cause's shift when the column cause makes up for it as far as its
        own prior allows: the square root of ``min_t |a - A t|^2 + |t|^2``.
    parallel : ndarray of bool, shape (k, k)
        Whether the two patterns are one and the same up to size and sign.
    """

    strength: Vector
    contrast: Vector
    parallel: npt.NDArray[np.bool_]


def _patterns(model: ClassModel, white: Vector, owners: Sequence[str]) -> _Patterns:
    """Compare every pair of causes.

    A cause in several parts counts by its hardest part: a part that follows a recorded column may
    stand out on the strength of an assumption, the steady part must stand out by itself.
    """
    parts = [_loud_columns(white[:, model.owned_by(o)]) for o in owners]
    size = len(owners)
    contrast, parallel = np.zeros((size, size)), np.zeros((size, size), dtype=bool)
    for k, other in enumerate(parts):
        gram = np.eye(other.shape[1]) + other.T @ other
        basis, _ = np.linalg.qr(other)
        for j, columns in enumerate(parts):
            if j == k:
                continue
            cross = other.T @ columns
            left = np.sum(columns**2, axis=0) - np.sum(cross * np.linalg.solve(gram, cross), axis=0)
            contrast[j, k] = float(np.sqrt(max(left.min(), 0.0)))
            inside = np.linalg.norm(basis.T @ columns, axis=0)
            norm = np.maximum(np.linalg.norm(columns, axis=0), 1e-300)
            parallel[j, k] = bool(np.max(inside / norm) > PARALLEL)
    strength = np.array([float(np.linalg.norm(c, axis=0).min()) for c in parts])
    return _Patterns(strength, contrast, parallel)


def _loud_columns(columns: Vector) -> Vector:
    """Return the parts of a cause that carry it; a part under a third of the largest does not."""
    size = np.linalg.norm(columns, axis=0)
    return np.asarray(columns[:, size >= size.max() / 3.0])


def _effect(model: ClassModel, draws: Draws, owner: str) -> Vector:
    at = model.owned_by(owner)
    route = model.main_route if np.any(model.effect[at]) else _loudest_route(model, at)
    return np.asarray(draws.sizes[:, at] @ model.effects[route][at])


def _loudest_route(model: ClassModel, at: npt.NDArray[np.intp]) -> str:
    return max(model.routes, key=lambda r: float(np.abs(model.effects[r][at]).sum()))


def _prior_effect(model: ClassModel, owner: str) -> float:
    """Return the prior standard deviation of a cause's effect, percent."""
    at = model.owned_by(owner)
    return float(np.sqrt(np.max([np.sum(e[at] ** 2) for e in model.effects.values()])))


def _learned(model: ClassModel, draws: Draws, owner: str) -> float:
    before = _prior_effect(model, owner)
    after = float(np.std(_effect(model, draws, owner)))
    return float(np.clip(1.0 - (after / before) ** 2, 0.0, 1.0)) if before > 0 else 0.0


def _correlation(effect: Vector) -> Vector:
    centred = effect - effect.mean(axis=0)
    sd = np.maximum(np.sqrt(np.mean(centred**2, axis=0)), 1e-300)
    return np.asarray((centred.T @ centred) / len(effect) / np.outer(sd, sd))


def _ties(
    owner: str,
    owners: Sequence[str],
    patterns: _Patterns,
    correlation: Vector,
    learned: dict[str, float],
    loud: dict[str, float],
) -> tuple[str, ...]:
    """Return the causes one cause cannot be told from, the loudest first."""
    j = owners.index(owner)
    floor = WORTH_NAMING * max(loud.values())
    strength = patterns.strength[j]

    def tied(k: int) -> bool:
        left = patterns.contrast[j, k]
        hidden = left < TOLD_APART and left < MAKES_UP * strength
        return hidden or bool(patterns.parallel[j, k]) or abs(float(correlation[j, k])) > TIED

    names = {o for k, o in enumerate(owners) if k != j and loud[o] > floor and tied(k)}
    if learned[owner] < LEARNED and not names:
        # Not tied to any single one, but the data did not settle it: sums of others can mimic it.
        names = {o for o in owners if o != owner and loud[o] > floor and learned[o] < LEARNED}
    return tuple(sorted(names, key=lambda o: (-loud[o], o)))


def _both_ways(
    owner: str, seen: dict[str, tuple[str, ...]], loud: dict[str, float]
) -> tuple[str, ...]:
    """Return a cause's ties with those of the main causes that are tied to it.

    A main cause that cannot be told from this one may be what truly moved the class, though its
    prior would not let it make up for all of this one. A small cause never could.
    """
    floor = MAIN * max(loud.values())
    others = {o for o, names in seen.items() if owner in names and loud[o] > floor}
    return tuple(sorted({*seen[owner], *others}, key=lambda o: (-loud[o], o)))


def _noise_free(model: ClassModel, owners: Sequence[str]) -> DesignRank:
    from solubility_stats.bias.forward import SIZES

    names = [o for o in owners if o in SIZES]
    one = model.fitted & (model.route == model.main_route)
    return design_rank(model.batch.take(one), names, model.routes)


def _sentence(
    owners: Sequence[str],
    ties: dict[str, tuple[str, ...]],
    loud: dict[str, float],
    terms: dict[str, str],
    directions: int,
) -> str:
    main = sorted(
        (o for o in owners if loud[o] > MAIN * max(loud.values())), key=lambda o: (-loud[o], o)
    )
    alone = [o for o in main if not ties[o]]
    if not main:
        return "No cause of a size that matters was considered."
    bound = [o for o in main if ties[o]]
    if directions:
        some = "one combination" if directions == 1 else f"{directions} combinations"
        text = (
            f"{len(owners)} causes can move this class's value; its results say something about "
            f"{some} of them."
        )
    else:
        text = "These results say nothing about the causes beyond what was expected beforehand."
    if bound:
        text += f" They cannot tell apart, above all: {_said(bound, terms)}."
    if alone:
        text += f" They do settle: {_said(alone, terms)}."
    return text


def _said(names: Sequence[str], terms: dict[str, str]) -> str:
    return listed([terms.get(n, n) for n in names])
