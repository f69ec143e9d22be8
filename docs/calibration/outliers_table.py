"""Simulate the quantiles of Grubbs' two-outlier ratio and write the table the library reads.

    python docs/calibration/outliers_table.py solubility_stats/pooling/grubbs_two.csv

The ratio is the sum of squares without the two highest of n normal values, divided by the sum of
squares of all n. 4 million samples for each n; the standard error of a stored level q is
sqrt(q (1 - q) / 4e6), below 0.6 % of q at q = 0.0125 and 1.6 % at q = 0.001.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

LEVELS = (0.0002, 0.0005, 0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.2, 0.35, 0.5, 0.75, 0.999)
SAMPLES, CHUNK, SEED = 4_000_000, 50_000, 20251125


def ratios(n: int, rng: np.random.Generator) -> np.ndarray:
    parts = []
    for _ in range(SAMPLES // CHUNK):
        x = rng.standard_normal((CHUNK, n))
        x.partition(n - 2, axis=1)
        total = x.var(axis=1) * n
        parts.append(x[:, : n - 2].var(axis=1) * (n - 2) / total)
    return np.concatenate(parts)


def main(target: str) -> None:
    rng = np.random.default_rng(SEED)
    lines = [
        "# Quantiles of Grubbs' ratio for the two highest of n normal values, by simulation:",
        f"# docs/calibration/outliers_table.py, {SAMPLES} samples for each n, seed {SEED}.",
        "n," + ",".join(map(str, LEVELS)),
    ]
    for n in range(4, 41):
        found = np.quantile(ratios(n, rng), LEVELS)
        lines.append(f"{n}," + ",".join(f"{q:.4g}" for q in found))
        Path(target).write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1])
