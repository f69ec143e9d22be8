"""The joint posterior of class-level sizes, scatter and single-run states, by Gibbs sampling.

Given the states of the runs and the scatter, the sizes are normal cut off at zero and are drawn
by exact trajectories; given the sizes, states and scatter are drawn from their full conditionals.
Many short chains run side by side. Prior widths may differ between chains, so that sensitivity to
the priors costs no second fit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from solubility_stats.bias.model import ClassModel
from solubility_stats.bias.states import WIDE
from solubility_stats.bias.truncated_normal import half_line_parameters, quarter_period_step

Vector = npt.NDArray[np.float64]

# Scatter relative to what the protocol expects between groups: prior of its logarithm, and grid.
LOG_SCATTER_SD = 0.5
SCATTER_GRID = np.exp(np.linspace(np.log(0.2), np.log(5.0), 25))


@dataclass(frozen=True)
class Draws:
    """Draws from the joint posterior.

    Attributes
    ----------
    sizes : ndarray, shape (S, d)
        Class-level sizes, in prior standard deviations.
    scatter : ndarray, shape (S, routes)
        Scatter between groups relative to the protocol's expectation, by route.
    routes : tuple of str
        Routes of ``scatter``.
    chance : ndarray, shape (K, R)
        Posterior chance of each state of each residue reading.
    """

    sizes: Vector
    scatter: Vector
    routes: tuple[str, ...]
    chance: Vector


def sample(
    model: ClassModel,
    rng: np.random.Generator,
    *,
    widths: tuple[float, ...] = (1.0,),
    chains: tuple[int, ...] = (120,),
    sweeps: int = 60,
    burn: int = 20,
) -> list[Draws]:
    """Draw from the posterior of a class.

    Parameters
    ----------
    model : ClassModel
        The class.
    rng : numpy.random.Generator
        Source of randomness.
    widths : tuple of float
        Factors on the prior standard deviations of all causes whose size is a judgement.
    chains : tuple of int
        Number of chains for each of ``widths``.
    sweeps, burn : int
        Sweeps in all, and sweeps thrown away.

    Returns
    -------
    list of Draws
        One for each of ``widths``.
    """
    group = np.repeat(np.arange(len(widths)), chains)
    gibbs = _Gibbs(model, np.asarray(widths)[group], rng)
    kept: list[tuple[Vector, Vector, Vector]] = []
    for sweep in range(sweeps):
        gibbs.sweep()
        if sweep >= burn:
            kept.append((gibbs.sizes, gibbs.scatter, gibbs.chance))
    found = []
    for g in range(len(widths)):
        mine = group == g
        found.append(
            Draws(
                np.concatenate([k[0][mine] for k in kept]),
                np.concatenate([k[1][mine] for k in kept]),
                gibbs.routes,
                np.mean([k[2][:, mine].mean(axis=1) for k in kept], axis=0),
            )
        )
    return found


class _Gibbs:
    """State of all chains and the three conditional draws.

    The arrays change from sweep to sweep; each draw replaces an array and never edits one that
    was handed out.
    """

    def __init__(self, model: ClassModel, widths: Vector, rng: np.random.Generator) -> None:
        self.model, self.rng = model, rng
        self.chains = widths.size
        sizes = model.sizes
        self.location, self.scale = _priors(model, widths)
        self.positive = np.flatnonzero(sizes.positive)
        self.sizes = np.tile(sizes.centre, (self.chains, 1))
        self.routes = tuple(dict.fromkeys(model.route.tolist()))
        self.route_of = np.array([self.routes.index(r) for r in model.route])
        self.scatter = np.ones((self.chains, len(self.routes)))
        n_states, n_rows = model.states.log_prior.shape
        self.state = np.zeros((self.chains, n_rows), dtype=np.intp)
        self.chance = np.zeros((n_states, self.chains, n_rows))
        self.weight_on = model.fitted.astype(float)
        self.widest = model.states.names.index(WIDE)
        self.outer = np.einsum("ni,nj->nij", model.design, model.design).reshape(len(model.y), -1)
        self._start()

    def _start(self) -> None:
        """Begin where the middle of the class says, so that slips do not pass for scatter.

        Begun at the prior means, or with the scatter of all runs, chains could stay where a few
        slipped runs look like wide scatter of everybody.
        """
        model = self.model
        off = model.y - model.offset - model.design @ model.sizes.centre
        shift = np.zeros_like(off)
        for j in range(len(self.routes)):
            at = self.route_of == j
            fit = at & model.fitted
            shift[at] = np.median(off[fit])
            robust = (1.4826 * np.median(np.abs(off[fit] - np.median(off[fit])))) ** 2
            between = max(float(np.mean(model.between[fit])), 1e-300)
            excess = max(robust - float(np.mean(model.own[fit])), 0.0) / between
            self.scatter[:, j] = np.clip(np.sqrt(excess), SCATTER_GRID[0], SCATTER_GRID[-1])
        if model.states.rows.size:
            self._draw_states(shift[model.states.rows])
        self._draw_sizes()

    def sweep(self) -> None:
        """Draw states, scatter and sizes once."""
        self._draw_states()
        self._draw_scatter()
        self._draw_sizes()

    def _draw_states(self, shift: Vector | float = 0.0) -> None:
        states, model = self.model.states, self.model
        if not states.rows.size:
            return
        y = model.y[states.rows] - shift
        mean = states.offset[:, None] + np.einsum(
            "knd,cd->kcn", states.design, self.sizes, optimize=True
        )
        scatter = self.scatter[:, self.route_of[states.rows]] ** 2
        variance = (
            model.own[states.rows] + states.extra[:, None] + states.between[:, None] * scatter
        )
        log = states.log_prior[:, None] - 0.5 * (np.log(variance) + (y - mean) ** 2 / variance)
        log -= log.max(axis=0)
        chance = np.exp(log)
        chance /= chance.sum(axis=0)
        self.chance = chance
        pick = self.rng.random(chance.shape[1:])
        self.state = np.minimum((np.cumsum(chance, axis=0) < pick).sum(axis=0), len(chance) - 1)

    def _current(self) -> tuple[Vector, Vector, Vector]:
        """Return residual, own and between variance of each reading in each chain."""
        model, states = self.model, self.model.states
        residual = model.y - model.offset - self.sizes @ model.design.T
        own = np.broadcast_to(model.own, residual.shape).copy()
        between = np.broadcast_to(model.between, residual.shape).copy()
        c, r = np.nonzero(self.state)
        if c.size:
            k, at = self.state[c, r], states.rows[r]
            mean = states.offset[k, r] + np.einsum("ed,ed->e", states.design[k, r], self.sizes[c])
            residual[c, at] = model.y[at] - mean
            own[c, at] += states.extra[k, r]
            between[c, at] = states.between[k, r]
        return residual, own, between

    def _draw_scatter(self) -> None:
        residual, own, between = self._current()
        prior = -0.5 * (np.log(SCATTER_GRID) / LOG_SCATTER_SD) ** 2
        fresh = np.empty_like(self.scatter)
        for j in range(len(self.routes)):
            at = np.flatnonzero((self.route_of == j) & self.model.fitted)
            variance = own[:, at, None] + between[:, at, None] * SCATTER_GRID**2
            fit = -0.5 * (np.log(variance) + residual[:, at, None] ** 2 / variance)
            # Runs of one group tell of its habits once: each carries its share of one.
            log = prior + (fit / self.model.repeats[at, None]).sum(axis=1)
            fresh[:, j] = SCATTER_GRID[_gumbel(log, self.rng)]
        self.scatter = fresh

    def _draw_sizes(self) -> None:
        model, states = self.model, self.model.states
        _, own, between = self._current()
        habits = model.repeats * between * self.scatter[:, self.route_of] ** 2
        weight = self.weight_on / (own + habits)
        data = model.y - model.offset
        # A run that only scatters widely stays on the usual line: its weight says it all.
        c, r = np.nonzero(self.state > self.widest)
        at = states.rows[r]
        plain = weight.copy()
        plain[c, at] = 0.0
        d = model.sizes.d
        precision = (plain @ self.outer).reshape(self.chains, d, d)
        right = (plain * data) @ model.design
        if c.size:
            k = self.state[c, r]
            rows, w = states.design[k, r], weight[c, at]
            np.add.at(precision, c, w[:, None, None] * rows[:, :, None] * rows[:, None, :])
            shifted = model.y[at] - states.offset[k, r]
            np.add.at(right, c, (w * shifted)[:, None] * rows)
        precision[:, np.arange(d), np.arange(d)] += 1.0 / self.scale**2
        right += self.location / self.scale**2
        self.sizes = quarter_period_step(self.sizes, right, precision, self.positive, self.rng)


def _gumbel(log: Vector, rng: np.random.Generator) -> npt.NDArray[np.intp]:
    """Draw one index per row from unnormalised log chances."""
    return np.asarray(np.argmax(log + rng.gumbel(size=log.shape), axis=-1))


def _priors(model: ClassModel, widths: Vector) -> tuple[Vector, Vector]:
    """Return location and scale of the priors in every chain, shape (chains, d)."""
    sizes = model.sizes
    location = np.tile(sizes.location, (widths.size, 1))
    scale = np.tile(sizes.scale, (widths.size, 1))
    wide = np.flatnonzero(sizes.positive & sizes.judged)
    for factor in np.unique(widths):
        if factor != 1.0 and wide.size:
            here = np.flatnonzero(widths == factor)
            where = np.ix_(here, wide)
            location[where], scale[where] = half_line_parameters(
                sizes.centre[wide], np.full(wide.size, factor)
            )
    return location, scale
