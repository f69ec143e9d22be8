"""How long the reading of cells takes, against named baselines.

Prints one line per path: time per cell and the ratio to the baseline. Run it alone on a quiet
machine; the best of several rounds counts.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from solubility_stats.quantities import quantity
from solubility_stats.sheets.cells import parse_cell, parse_numeric_column
from solubility_stats.sheets.model import CellContext, RawCell


def best(task: Callable[[], object], rounds: int = 5) -> float:
    """Return the shortest of several times, in seconds."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        task()
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    mass, context = quantity("recovered_mass_g"), CellContext("recovered_mass_g", "g")
    numbers = np.random.default_rng(1).normal(1.7, 0.1, 100_000)
    few = numbers[:5_000].tolist()
    floats = [RawCell(i, 1, v, f"{v}") for i, v in enumerate(few)]
    texts = [RawCell(i, 1, f"{v:.4f} g", f"{v:.4f} g") for i, v in enumerate(few)]
    plain = [f"{v:.4f}" for v in few]
    rows = (
        (
            "column of numbers / numpy copy and range check",
            lambda: parse_numeric_column(numbers, mass, context),
            lambda: ((numbers >= 0) & (numbers <= 500), numbers.copy()),
            numbers.size,
        ),
        (
            "single number / float()",
            lambda: [parse_cell(c, mass, context) for c in floats],
            lambda: [float(v) for v in plain],
            len(few),
        ),
        (
            "text with unit / float()",
            lambda: [parse_cell(c, mass, context) for c in texts],
            lambda: [float(v) for v in plain],
            len(few),
        ),
    )
    for name, task, baseline, count in rows:
        mine, theirs = best(task), best(baseline)
        print(f"{name}: {mine / count * 1e6:.3f} µs a cell, {mine / theirs:.1f} × the baseline")


if __name__ == "__main__":
    main()
