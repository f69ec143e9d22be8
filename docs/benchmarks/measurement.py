"""Speed and memory of the measurement room, each as a ratio to a named baseline.

Run with ``python docs/benchmarks/measurement.py [runs]``; prints one line per figure.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable

import numpy as np
import pandas as pd
from uncertainties import ufloat, umath

import solubility_stats as ss
from solubility_stats.measurement import estimates as est_module
from solubility_stats.measurement.montecarlo import RunDraw, monte_carlo
from solubility_stats.measurement.readings import Readings
from solubility_stats.measurement.route_inputs import residue_inputs
from solubility_stats.measurement.routes import RouteArrays, evaluate
from solubility_stats.measurement.settings import RunSettings

LIME = "calcium hydroxide"


def class_of(n: int) -> pd.DataFrame:
    rng = np.random.default_rng(0)
    initial = rng.normal(2.5, 0.05, n)
    return pd.DataFrame(
        {
            "section": rng.choice(list("ABCDEFGH"), n),
            "initial_mass_g": initial,
            "recovered_mass_g": initial - 0.48 + rng.normal(0, 0.03, n),
            "water_volume_ml": 300.0,
            "filtration": rng.choice(["vacuum", "gravity"], n),
            "temperature_c": 22.0,
            "run_id": np.arange(n).astype(str),
        }
    )


def seconds(call: Callable[[], object], repeats: int = 3) -> float:
    best = float("inf")
    for _ in range(repeats):
        start = time.perf_counter()
        call()
        best = min(best, time.perf_counter() - start)
    return best


def by_uncertainties(arrays: RouteArrays, rows: int) -> float:
    """Seconds per run of the same two budgets in a loop over objects of the uncertainties package.

    Both do the same for a run: plain result and result after expected effects, each with its
    standard uncertainty, its components and its effective degrees of freedom.
    """
    inputs = arrays.inputs
    solid = ss.Protocol.default(LIME).solid

    def at(x: object, i: int) -> float:
        return float(np.broadcast_to(np.asarray(x, dtype=float), (arrays.n,))[i])

    numbers = [
        (
            {k: at(v, i) for k, v in inputs.values.items()},
            [(c.quantity, at(c.u, i), c.dof, c.instrument) for c in inputs.components],
        )
        for i in range(rows)
    ]
    start = time.perf_counter()
    worst = 0.0
    for i, (values, parts) in enumerate(numbers):
        for plain in (False, True):
            x = dict(values)
            dof = {}
            for quantity, u, nu, instrument in parts:
                if instrument or not plain:
                    cause = ufloat(0.0, u)
                    x[quantity] = x[quantity] + cause
                    dof[cause] = nu
            result = _plain(x) if plain else _residue(x, solid)
            budget = result.error_components()
            u = result.std_dev
            nu = u**4 / sum(e**4 / dof[cause] for cause, e in budget.items())
            expected = (arrays.u_apparent, arrays.dof_apparent) if plain else (arrays.u, arrays.dof)
            worst = max(worst, abs(u / expected[0][i] - 1), abs(nu / expected[1][i] - 1))
    elapsed = (time.perf_counter() - start) / rows
    print(f"  largest relative difference of u and dof from the uncertainties package: {worst:.1e}")
    return elapsed


def _plain(x: dict):
    return 100 * (x["initial"] - x["recovered"]) / (x["volume"] * x["density"])


def _residue(x: dict, solid: object):
    whole = x["recovered"] + x["constant_loss"] + x["warm_weighing"] - x["fibres"]
    cake = whole / (1 - x["transfer_loss"]) / (1 + x["residual_moisture"])
    cake = cake / (1 + solid.carbonation_gain * x["residue_carbonation"])
    entered = x["initial"] * (
        1 - x["reagent_moisture"] - x["soluble_impurity"] + solid.oxide_gain * x["reagent_oxide"]
    )
    entered = entered + solid.slurry_gain_g_per_mmol * x["early_carbonation"] - x["fines"]
    water = x["volume"] * (1 - x["drainage_film"]) - x["early_evaporation"]
    b = water - entered * x["retained_liquor"]
    root = umath.sqrt(b * b + 4 * water * x["retained_liquor"] * (entered - cake))
    return 200 * (entered - cake) / (b + root) / x["density"] / (1 - x["undersaturation"])


def first_order(n: int) -> None:
    protocol = ss.Protocol.default(LIME)
    records = ss.ClassRecords.from_frame(class_of(n))
    readings = Readings(records.runs, records.decimals, RunSettings(protocol, records.runs))

    def propagate() -> RouteArrays:
        fresh = Readings(records.runs, records.decimals, RunSettings(protocol, records.runs))
        return evaluate(residue_inputs(fresh))

    inputs = residue_inputs(readings)
    arrays = evaluate(inputs)
    loop = by_uncertainties(arrays, 500)
    bare = seconds(lambda: evaluate(inputs)) / n
    core = seconds(propagate) / n
    whole = seconds(lambda: est_module.estimate(records, protocol), 1) / n
    print(f"  loop over the uncertainties package: {1e6 * loop:.0f} us per run")
    print(f"  {n} runs, inputs at hand: {1e6 * bare:.2f} us per run, {loop / bare:.0f} x the loop")
    print(f"  inputs from a frame included: {1e6 * core:.2f} us per run, {loop / core:.0f} x")
    print(f"  estimate() with its table: {1e6 * whole:.2f} us per run, {loop / whole:.0f} x")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
    print(f"  peak memory: {peak:.2f} GiB")


def monte_carlo_time() -> None:
    est = ss.estimate(class_of(1), solute=LIME)
    arrays = est.arrays["residue"]
    draw = RunDraw(arrays, 0)
    options = {"digits": 4, "max_trials": 500_000, "seed": 1}  # never stable: a fixed 500 000

    def bare() -> None:
        rng = np.random.default_rng(1)
        for _ in range(50):
            draw(rng, 10_000)

    model = arrays.inputs.model
    full = seconds(lambda: monte_carlo(lambda **x: model(x)[0], draw, **options))
    alone = seconds(bare)
    print(f"  500 000 trials: {full:.2f} s, {full / alone:.2f} x drawing the random numbers alone")


if __name__ == "__main__":
    print("First order")
    first_order(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
    print("Monte Carlo")
    monte_carlo_time()
