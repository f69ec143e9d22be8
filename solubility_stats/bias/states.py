"""What may have happened to a single run, and what the run would then read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.catalogue import slips
from solubility_stats.bias.forward import Batch, Solid, sensitivities
from solubility_stats.bias.priors import Term

Vector = npt.NDArray[np.float64]
RIGHT = "none"
# Nothing happened, but the run is one of the few that scatter widely: most groups lose little and a
# few lose much, so differences between groups have longer tails than a normal distribution. One run
# in twenty at three times the spread (judgement) makes the kurtosis 7.7 instead of 3.
WIDE = "none, widely scattered"
WIDE_CHANCE, WIDE_FACTOR = 0.05, 3.0
# Standard deviation of a run to which something unnamed happened, relative to the solubility:
# anything between nothing dissolved and twice the solubility is then unsurprising (judgement).
UNNAMED_SPREAD = 1.0
# Mass of a filter paper that nobody weighed: 11 cm, 88 g/m2, and neighbouring sizes (judgement).
PAPER_G, U_PAPER_G = 0.84, 0.25
# Size of a fill where fills were not recorded one by one.
USUAL_FILL_ML = 100.0


@dataclass(frozen=True)
class States:
    """States of the residue readings; indices 0 and 1 are "nothing happened".

    Attributes
    ----------
    names : tuple of str, length K
        Keys of the slips, first :data:`RIGHT` and :data:`WIDE`.
    rows : ndarray of int, shape (R,)
        Positions of the residue readings among all readings.
    log_prior : ndarray, shape (K, R)
        Log of the prior chance; minus infinity where the state cannot be.
    offset : ndarray, shape (K, R)
        Reading with every size at zero on the line of the state.
    design : ndarray, shape (K, R, d)
        Change of the reading per prior standard deviation of each size.
    between, extra : ndarray, shape (K, R)
        Variance of causes between groups, and variance the state adds.
    """

    names: tuple[str, ...]
    rows: npt.NDArray[np.intp]
    log_prior: Vector
    offset: Vector
    design: Vector
    between: Vector
    extra: Vector


@dataclass(frozen=True)
class _Truth:
    """What really happened under a state: true amounts, and how the reading follows from them."""

    batch: Batch
    possible: npt.NDArray[np.bool_]
    read: Callable[[Vector], Vector]
    gain: Vector
    extra: Vector


def run_states(
    rows: pd.DataFrame,
    batch: Batch,
    terms: Sequence[Term],
    unit: Vector,
    centre: Vector,
    solid: Solid,
    design: Vector,
) -> States:
    """Return the states of the residue readings.

    Parameters
    ----------
    rows, batch
        All readings.
    terms, unit, centre
        Sizes of causes, their prior standard deviations, and all prior means in these units.
    solid : Solid
        Constants of the solid.
    design : ndarray, shape (N, d)
        Design of the readings when nothing happened; its instrument part serves every state.
    """
    at = np.flatnonzero((rows["route"] == "residue").to_numpy())
    sub, made = rows.iloc[at], batch.take(at)
    pattern = [replace_pattern(t, at) for t in terms]
    known = slips()
    usual = _as_recorded(made)
    truths = {RIGHT: usual, WIDE: usual, **_truths(sub, made)}
    names = (RIGHT, WIDE, *[n for n in known if n in truths])
    prior = {WIDE: WIDE_CHANCE} | {name: slip.probability for name, slip in known.items()}
    shape = (len(names), at.size)
    offset, between, extra = np.empty(shape), np.empty(shape), np.zeros(shape)
    full = np.empty((*shape, design.shape[1]))
    log_prior = np.full(shape, -np.inf)
    for k, name in enumerate(names):
        truth = truths[name]
        base, jacobian = _readings_under(truth, pattern, solid)
        full[k] = design[at]
        full[k][:, : len(terms)] = jacobian * unit[: len(terms)]
        offset[k] = base - full[k] @ centre
        spread = [jacobian[:, j] ** 2 * _between(t) ** 2 for j, t in enumerate(pattern)]
        between[k] = np.sum(spread, axis=0) if spread else 0.0
        extra[k] = truth.extra
        if k:
            log_prior[k, truth.possible] = np.log(prior[name])
    between[1] *= WIDE_FACTOR**2
    chance = np.exp(log_prior[1:]).sum(axis=0)
    log_prior[0] = np.log1p(-np.minimum(chance, 0.5))
    return States(names, at, log_prior, offset, full, between, extra)


def replace_pattern(term: Term, at: npt.NDArray[np.intp]) -> Term:
    """Return a term for some of its runs."""
    return replace(term, pattern=term.pattern[at], sd_between=term.sd_between[at])


def _between(term: Term) -> Vector:
    return np.asarray(term.sd_between / np.where(term.pattern != 0, term.pattern, 1.0))


def _readings_under(truth: _Truth, terms: Sequence[Term], solid: Solid) -> tuple[Vector, Vector]:
    names = list(dict.fromkeys(t.cause.name for t in terms))
    sizes = {n: np.zeros(truth.batch.n) for n in names}
    for term in terms:
        sizes[term.cause.name] = sizes[term.cause.name] + term.mean * term.pattern
    mass, by_cause = sensitivities(truth.batch, names, "recovered_g", at=sizes, solid=solid)
    columns = [by_cause[:, names.index(t.cause.name)] * t.pattern for t in terms]
    jacobian = np.stack(columns, axis=1) if columns else np.empty((truth.batch.n, 0))
    return truth.read(mass), truth.gain[:, None] * jacobian


def _as_recorded(batch: Batch) -> _Truth:
    return _made(batch, batch)


def _made(
    recorded: Batch,
    true: Batch,
    *,
    possible: npt.ArrayLike = True,
    factor: float = 1.0,
    added: npt.ArrayLike = 0.0,
    u_added: npt.ArrayLike = 0.0,
) -> _Truth:
    """Return a state in which ``factor * recovered + added`` was written down."""
    per_gram = 100.0 / (recorded.water_volume_ml * recorded.density)
    extra = np.broadcast_to((np.asarray(u_added) * per_gram) ** 2, per_gram.shape)

    def read(mass: Vector) -> Vector:
        return np.asarray((recorded.initial_mass_g - factor * mass - np.asarray(added)) * per_gram)

    can = np.broadcast_to(np.asarray(possible, dtype=bool), per_gram.shape)
    return _Truth(true, can, read, -factor * per_gram, np.array(extra))


def _truths(rows: pd.DataFrame, made: Batch) -> dict[str, _Truth]:
    fills = _fill_count(rows, made.water_volume_ml)
    paper, u_paper = _paper(rows)
    m0, volume = made.initial_mass_g, made.water_volume_ml
    recovered = m0 - _apparent(rows) * volume * made.density / 100.0

    def with_volume(factor: npt.ArrayLike) -> Batch:
        return replace(made, water_volume_ml=np.maximum(volume * np.asarray(factor), 1e-3))

    def with_mass(factor: float) -> Batch:
        return replace(made, initial_mass_g=m0 * factor)

    swapped = replace(made, initial_mass_g=np.maximum(recovered, 1e-6))
    per_gram = 100.0 / (volume * made.density)
    spread = (UNNAMED_SPREAD * made.solubility) ** 2
    return {
        "missed_fill": _made(made, with_volume((fills - 1) / fills), possible=fills > 1),
        "extra_fill": _made(made, with_volume((fills + 1) / fills)),
        "initial_tenfold_low": _made(made, with_mass(10.0)),
        "initial_tenfold_high": _made(made, with_mass(0.1)),
        "recovered_tenfold_low": _made(made, made, factor=0.1),
        "recovered_tenfold_high": _made(made, made, factor=10.0),
        "volume_tenfold_low": _made(made, with_volume(10.0)),
        "volume_tenfold_high": _made(made, with_volume(0.1)),
        "volume_unit": _made(made, with_volume(1000.0), possible=volume < 20.0),
        "mass_unit": _made(made, with_mass(1e-3), factor=1000.0, possible=m0 > 50.0),
        "paper_left_on": _made(made, made, added=paper, u_added=u_paper),
        "paper_twice": _made(made, made, added=-paper, u_added=u_paper),
        "swapped_readings": _Truth(
            swapped, recovered > 0, lambda mass: (mass - swapped.initial_mass_g) * per_gram,
            per_gram, np.zeros(made.n),
        ),
        "unnamed": replace(_as_recorded(made), extra=spread),
    }  # fmt: skip


def _apparent(rows: pd.DataFrame) -> Vector:
    return np.asarray(rows["apparent_g_per_100g"], dtype=float)


def _fill_count(rows: pd.DataFrame, volume: Vector) -> Vector:
    from solubility_stats.quantities import fill_columns

    columns = fill_columns(rows.columns)
    guess = np.maximum(1.0, np.round(volume / USUAL_FILL_ML))
    if not columns:
        return guess
    count = rows[columns].notna().sum(axis="columns").to_numpy(dtype=float)
    return np.where(count > 0, count, guess)


def _paper(rows: pd.DataFrame) -> tuple[Vector, Vector]:
    weighed = (
        pd.to_numeric(rows["paper_mass_g"], errors="coerce").to_numpy(dtype=float)
        if "paper_mass_g" in rows
        else np.full(len(rows), np.nan)
    )
    known = np.isfinite(weighed) & (weighed > 0)
    return np.where(known, weighed, PAPER_G), np.where(known, 0.01, U_PAPER_G)
