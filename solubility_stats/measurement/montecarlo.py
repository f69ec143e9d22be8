"""Propagation of distributions by a Monte Carlo method, adaptive and seeded (JCGM 101:2008)."""

from __future__ import annotations

import math
import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.measurement.components import Component
from solubility_stats.measurement.distributions import deviations, effect_sizes
from solubility_stats.measurement.propagation import coverage_factor
from solubility_stats.measurement.routes import RouteArrays
from solubility_stats.measurement.settings import Array

if TYPE_CHECKING:
    from solubility_stats.measurement.estimates import Estimates

Interval = Literal["symmetric", "shortest"]
Draw = Callable[[np.random.Generator, int], dict[str, "float | Array"]]
BATCH = 10_000


@dataclass(frozen=True)
class Simulated:
    """Outcome of the Monte Carlo propagation of one quantity.

    Attributes
    ----------
    value, u : float
        Mean and standard deviation of the output.
    low, high : float
        Limits of the coverage interval.
    trials : int
        Number of model evaluations behind them.
    tolerance : float
        Numerical tolerance the batches were required to reach.
    stable : bool
        Whether they reached it before the limit on trials.
    impossible : float
        Fraction of trials for which the model had no value; they are left out.
    """

    value: float
    u: float
    low: float
    high: float
    trials: int
    tolerance: float
    stable: bool
    impossible: float = 0.0


def numerical_tolerance(u: float, digits: int) -> float:
    """Return half a unit of the last of ``digits`` significant digits of ``u`` (JCGM 101, 7.9.2).

    Examples
    --------
    >>> numerical_tolerance(0.035, 2)
    0.0005
    """
    if not u > 0 or not math.isfinite(u):
        return 0.0
    exponent = math.floor(math.log10(u)) - (digits - 1)
    return 0.5 * 10.0**exponent


def monte_carlo(
    model: Callable[..., npt.ArrayLike],
    draw: Draw,
    *,
    seed: int | np.random.SeedSequence | None = 0,
    level: float = 0.95,
    digits: int = 2,
    strictness: float = 1.0,
    interval: Interval = "symmetric",
    max_trials: int = 1_000_000,
) -> Simulated:
    """Propagate distributions through a model until the result is numerically stable.

    Parameters
    ----------
    model : callable
        Takes the drawn inputs by keyword, broadcasts, returns the output.
    draw : callable
        ``draw(rng, n)`` returns the inputs by name, each a number or ``n`` values.
    seed : int, SeedSequence or None
        Seed.
    level : float
        Coverage probability.
    digits : int
        Significant digits of the standard uncertainty that are regarded as meaningful.
    strictness : float
        The tolerance of ``digits`` is divided by this (5 for validating another method, clause
        8.2).
    interval : {"symmetric", "shortest"}
        Equal probability in both tails, or the shortest interval.
    max_trials : int
        Limit; it bounds memory at 8 bytes a trial.

    Returns
    -------
    Simulated

    Notes
    -----
    The adaptive procedure of JCGM 101:2008, 7.9.4: batches of 10 000 trials (more where the level
    asks for it) until twice the standard deviation of the batch averages of value, standard
    uncertainty and both limits is below the tolerance; the result is then taken from all trials.
    """
    rng = np.random.default_rng(seed)
    batch = max(BATCH, math.ceil(100.0 / (1.0 - level)))
    most = max(2, max_trials // batch)
    drawn: list[Array] = []
    summaries: list[tuple[float, float, float, float]] = []
    tolerance, stable = 0.0, False
    while len(drawn) < most and not stable:
        y = np.asarray(model(**draw(rng, batch)), dtype=float)
        y = y[np.isfinite(y)]
        if y.size < batch // 2:
            nan = math.nan
            return Simulated(nan, nan, nan, nan, batch, 0.0, False, 1.0 - y.size / batch)
        drawn.append(y)
        summaries.append(_summary(y, level, interval))
        if len(drawn) >= 2:
            table = np.array(summaries)
            tolerance = numerical_tolerance(float(table[:, 1].mean()), digits) / strictness
            spread = table.std(axis=0, ddof=1) / math.sqrt(len(drawn))
            stable = bool(np.all(2.0 * spread <= tolerance))
    everything = np.concatenate(drawn)
    trials = batch * len(drawn)
    value, u, low, high = _summary(everything, level, interval)
    return Simulated(value, u, low, high, trials, tolerance, stable, 1 - everything.size / trials)


def _summary(y: Array, level: float, interval: Interval) -> tuple[float, float, float, float]:
    if interval == "shortest":
        low, high = _shortest(np.sort(y), level)
    else:
        tail = 0.5 * (1.0 - level)
        low, high = np.quantile(y, [tail, 1.0 - tail])
    return float(y.mean()), float(y.std(ddof=1)), float(low), float(high)


def _shortest(ordered: Array, level: float) -> tuple[float, float]:
    """Return the shortest interval holding ``level`` of the ordered values (clause 7.7.4)."""
    inside = round(level * ordered.size)
    widths = ordered[inside:] - ordered[: ordered.size - inside]
    start = int(np.argmin(widths))
    return float(ordered[start]), float(ordered[start + inside])


@dataclass(frozen=True, repr=False, eq=False)
class MonteCarlo(Result):
    """Monte Carlo results of many runs beside their first-order ones.

    Attributes
    ----------
    table : DataFrame
        One row per run and route: ``run_id, route, value_g_per_100g, u_g_per_100g,
        low_g_per_100g, high_g_per_100g`` by Monte Carlo; ``first_order_value_g_per_100g,
        first_order_u_g_per_100g, first_order_low_g_per_100g, first_order_high_g_per_100g``;
        ``d_low_g_per_100g, d_high_g_per_100g`` (differences of the limits),
        ``tolerance_g_per_100g``, ``first_order_enough`` (both differences within the tolerance),
        ``trials``, ``stable``, ``impossible`` (fraction of trials without a value).
    level : float
        Coverage probability.
    digits : int
        Significant digits of the uncertainty regarded as meaningful.
    seed : int or None
        Seed used.
    """

    table: pd.DataFrame
    level: float
    digits: int
    seed: int | None

    def headline(self) -> str:
        """Return for how many runs the simple budget is good enough."""
        enough, n = int(self.table["first_order_enough"].sum()), len(self.table)
        if enough == n:
            return f"The simple budget is good enough for all {n} results ({self._sense()})"
        return (
            f"The simple budget is good enough for {enough} of {n} results, the Monte Carlo "
            f"interval is to be preferred for the others ({self._sense()})"
        )

    def _sense(self) -> str:
        digit = "digit" if self.digits == 1 else "digits"
        return f"to {self.digits} {digit} of the uncertainty"

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the comparison."""
        return {"Monte Carlo and first order": self.table}


def propagate_estimates(
    estimates: Estimates,
    *,
    seed: int | None = 0,
    run_ids: Sequence[str] | None = None,
    routes: Sequence[str] | None = None,
    level: float = 0.95,
    digits: int = 1,
    interval: Interval = "symmetric",
    max_trials: int = 1_000_000,
) -> MonteCarlo:
    """Propagate the distributions behind each used result and judge first order by it.

    Parameters
    ----------
    estimates : Estimates
        The results.
    seed : int or None
        Seed. A run's random numbers depend on the seed and its id only, not on the other runs.
    run_ids, routes : sequence of str, optional
        Which runs and routes; all that are used if not given.
    level, interval, max_trials
        See :func:`monte_carlo`.
    digits : int
        Significant digits of the uncertainty that mean something. The default 1 fits budgets
        whose largest parts are judgement known to about a quarter of themselves.

    Returns
    -------
    MonteCarlo

    Raises
    ------
    InputError
        If no used run is left.

    Notes
    -----
    Validation after JCGM 101:2008, clause 8: the limits of first order are compared with those of
    a Monte Carlo stable to a fifth of the tolerance of ``digits``.
    """
    rows = []
    for route in routes or list(estimates.arrays):
        arrays = estimates.arrays[route]
        own = estimates.table[estimates.table["route"] == route].reset_index(drop=True)
        chosen = own[own["used"] & (own["run_id"].isin(run_ids) if run_ids is not None else True)]
        for position, run_id in zip(chosen.index, chosen["run_id"], strict=True):
            simulated = monte_carlo(
                _output(arrays),
                RunDraw(arrays, int(position)),
                seed=_seed_of(seed, f"{route} {run_id}"),
                level=level,
                digits=digits,
                strictness=5.0,
                interval=interval,
                max_trials=max_trials,
            )
            rows.append(_compare(arrays, int(position), str(run_id), simulated, level, digits))
    if not rows:
        raise InputError("there is no used result to propagate", where="propagate")
    return MonteCarlo(pd.DataFrame(rows), level, digits, seed)


def _seed_of(seed: int | None, name: str) -> np.random.SeedSequence:
    if seed is None:
        return np.random.SeedSequence()
    return np.random.SeedSequence([seed, zlib.crc32(name.encode())])


def _output(arrays: RouteArrays) -> Callable[..., Array]:
    model = arrays.inputs.model
    return lambda **inputs: model(inputs)[0]


def _compare(
    arrays: RouteArrays, row: int, run_id: str, mc: Simulated, level: float, digits: int
) -> dict[str, object]:
    value, u = float(arrays.value[row]), float(arrays.u[row])
    half = float(coverage_factor(arrays.dof[row], level)) * u
    tolerance = numerical_tolerance(u, digits)
    d_low, d_high = abs(value - half - mc.low), abs(value + half - mc.high)
    return {
        "run_id": run_id,
        "route": arrays.inputs.route,
        "value_g_per_100g": mc.value,
        "u_g_per_100g": mc.u,
        "low_g_per_100g": mc.low,
        "high_g_per_100g": mc.high,
        "first_order_value_g_per_100g": value,
        "first_order_u_g_per_100g": u,
        "first_order_low_g_per_100g": value - half,
        "first_order_high_g_per_100g": value + half,
        "d_low_g_per_100g": d_low,
        "d_high_g_per_100g": d_high,
        "tolerance_g_per_100g": tolerance,
        "first_order_enough": bool(mc.stable and d_low <= tolerance and d_high <= tolerance),
        "trials": mc.trials,
        "stable": mc.stable,
        "impossible": mc.impossible,
    }


class RunDraw:
    """Draws of all inputs of one run, prepared once.

    Parameters
    ----------
    arrays : RouteArrays
        The route.
    row : int
        Position of the run in it.
    """

    def __init__(self, arrays: RouteArrays, row: int) -> None:
        def at(x: float | Array) -> float:
            return float(x if np.ndim(x) == 0 else np.asarray(x)[row])

        self._values = {name: at(x) for name, x in arrays.inputs.values.items()}
        self._effects: list[tuple[str, float, float]] = []
        plain: dict[str, list[tuple[str, float, float]]] = {}
        skewed: dict[str, dict[bool, float]] = {}
        for component in arrays.inputs.components:
            u = at(component.u)
            if u <= 0:
                continue
            if component.distribution == "gamma" and self._values[component.quantity] > 0:
                skewed.setdefault(component.quantity, {})[component.own] = u
            else:
                entry = (_shape(component), u, component.dof if _repeated(component) else np.inf)
                plain.setdefault(component.quantity, []).append(entry)
        self._plain = {name: _merged(parts) for name, parts in plain.items()}
        self._effects = [(n, us.get(False, 0.0), us.get(True, 0.0)) for n, us in skewed.items()]

    def __call__(self, rng: np.random.Generator, n: int) -> dict[str, float | Array]:
        """Return ``n`` draws of every input by name."""
        drawn: dict[str, float | Array] = dict(self._values)
        for name, u_shared, between in self._effects:
            drawn[name] = effect_sizes(rng, n, self._values[name], u_shared, between)
        for name, parts in self._plain.items():
            for shape, u, dof in parts:
                drawn[name] = drawn[name] + deviations(rng, n, shape, u, dof)
        return drawn


def _repeated(component: Component) -> bool:
    return component.evaluation == "A"


def _shape(component: Component) -> str:
    return "normal" if component.distribution == "gamma" else component.distribution


def _merged(parts: list[tuple[str, float, float]]) -> list[tuple[str, float, float]]:
    """Return the parts with normal ones of infinite dof added up into one: same distribution."""
    normal = [p for p in parts if p[0] == "normal" and math.isinf(p[2])]
    rest = [p for p in parts if p not in normal]
    if not normal:
        return rest
    return [*rest, ("normal", math.sqrt(sum(u * u for _, u, _ in normal)), math.inf)]
