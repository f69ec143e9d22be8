"""How often the outlier tests mark something in clean classes, and how often they find outliers.

    python docs/calibration/outliers.py > docs/calibration/outliers.md

Clean normal classes of 5 to 60 groups; nominal level 5 %. About five minutes.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from solubility_stats.pooling.consistency import cochran, mandel
from solubility_stats.pooling.critical import grubbs_critical, two_outlier_critical
from solubility_stats.pooling.outliers import generalized_esd
from solubility_stats.pooling.standing import stands_apart

SEED = 20251126
SIZES = (5, 8, 12, 20, 30, 60)


def percent(hits: int, of: int) -> str:
    rate = hits / of
    return f"{100 * rate:.1f} ± {100 * np.sqrt(rate * (1 - rate) / of):.1f}"


def grubbs_rates(n: int, rng: np.random.Generator, classes: int = 200_000) -> tuple[str, str]:
    x = rng.standard_normal((classes, n))
    z = np.sort((x - x.mean(axis=1, keepdims=True)) / x.std(axis=1, ddof=1, keepdims=True), axis=1)
    one = int((np.maximum(z[:, -1], -z[:, 0]) > grubbs_critical(n)).sum())
    if n > 40:
        return percent(one, classes), "none stored"
    ends = np.minimum(z[:, 2:].var(axis=1), z[:, :-2].var(axis=1)) * (n - 2) / (n - 1)
    return percent(one, classes), percent(int((ends < two_outlier_critical(n)).sum()), classes)


def marks(n: int, u: float, outliers: int, rng: np.random.Generator, classes: int) -> int:
    """Count classes in which the first groups, shifted by 5 spreads, (or any, if none) are marked.

    Spread between groups 1; standard uncertainties of ``u`` times 0.5 to 2.
    """
    hits = 0
    for _ in range(classes):
        own = u * rng.uniform(0.5, 2, n)
        v = rng.normal(0, np.sqrt(1 + own**2))
        v[:outliers] += 5 * np.sqrt(1 + own[:outliers] ** 2)
        frame = pd.DataFrame({"group": np.arange(n), "v": 20 + v, "u": own})
        found = stands_apart(frame, "v", "u" if u else None, "group").marked
        hits += set(map(str, range(outliers))) <= set(found) if outliers else bool(found)
    return hits


def repeated_rates(n: int, rng: np.random.Generator, classes: int) -> tuple[str, str, str]:
    c = h = k = 0
    sizes = rng.integers(2, 5, n)
    group = np.repeat(np.arange(n), sizes)
    for _ in range(classes):
        frame = pd.DataFrame({"group": group, "v": 20 + rng.standard_normal(group.size)})
        c += cochran(frame, "v", "group").p_value <= 0.05
        table = mandel(frame, "v", "group").table
        h += (table["h_p_value"] <= 0.05).sum()
        k += (table["k_p_value"] <= 0.05).sum()
    return percent(c, classes), percent(h, classes * n), percent(k, classes * n)


def main() -> None:
    rng = np.random.default_rng(SEED)
    print("# Outlier tests: rates in clean classes, and what they find\n")
    print(
        f"By `docs/calibration/outliers.py`, seed {SEED}; nominal 5 %; ± is one standard error.\n"
    )
    print("## Clean classes in which something is marked, %\n")
    print(
        "| groups | Grubbs, one | Grubbs, two | generalised ESD | stands apart, no u | "
        "u = spread/2 | u = spread |"
    )
    print("|---|---|---|---|---|---|---|")
    for n in SIZES:
        one, two = grubbs_rates(n, rng)
        esd = sum(bool(generalized_esd(rng.standard_normal(n)).marked) for _ in range(2000))
        apart = [percent(marks(n, u, 0, rng, 1000), 1000) for u in (0.0, 0.5, 1.0)]
        print(f"| {n} | {one} | {two} | {percent(esd, 2000)} | {' | '.join(apart)} |", flush=True)
    print("\n## Two to four values for each group: classes (C) or groups (h, k) marked, %\n")
    print("| groups | Cochran | h, each group | k, each group |\n|---|---|---|---|")
    for n in (5, 12, 30):
        print(f"| {n} | {' | '.join(repeated_rates(n, rng, 1000))} |", flush=True)
    print("\n## Classes in which all shifted groups (by 5 standard deviations) are marked, %\n")
    print("| groups | one, no u | one, u = spread/2 | two, no u | two, u = spread/2 |")
    print("|---|---|---|---|---|")
    for n in (8, 12):
        found = [percent(marks(n, u, k, rng, 400), 400) for k in (1, 2) for u in (0.0, 0.5)]
        print(f"| {n} | {' | '.join(found)} |", flush=True)


if __name__ == "__main__":
    main()
