"""Time of the pooling room as a ratio to bare numpy doing the least that could be done.

Run ``python docs/benchmarks/pooling.py``. Ratios hold on any machine; seconds do not. Goals:
10 000 resamples of 200 groups within 3 times the bare resample-and-average for estimators in
closed form and within 30 times for iterative ones; 100 000 groups pooled in time proportional
to a few dozen passes over the data; shared causes at a cost linear in the number of groups.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from solubility_stats.covariance import SharedCovariance
from solubility_stats.pooling import METHODS, bootstrap, pool

CLOSED = ("fixed", "dl", "mean", "median", "trimmed")


def best(job: Callable[[], object], repeats: int = 5) -> float:
    """Return the shortest of a few runs: the one least disturbed by other work."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


def bootstraps(groups: int = 200, replicates: int = 10_000) -> None:
    rng = np.random.default_rng(0)
    u = rng.uniform(0.5, 1.5, groups)
    y = 10 + u * rng.normal(size=groups) + 0.5 * rng.normal(size=groups)

    def bare() -> object:
        draw = np.random.default_rng(1)
        return y[draw.integers(0, groups, (replicates, groups))].mean(axis=1)

    print(f"bare resample-and-average, {replicates} x {groups}: {1000 * best(bare):.0f} ms")
    for method in METHODS:
        base = best(bare)  # anew each time, so that other work on the machine touches both
        took = best(lambda m=method: bootstrap(y, m, u=u, replicates=replicates, rng=1), 3)
        goal = 3 if method in CLOSED else 30
        print(f"  bootstrap {method:15s} {took / base:6.1f} times (goal {goal})")


def many_groups(groups: int = 100_000) -> None:
    rng = np.random.default_rng(0)
    u = rng.uniform(0.5, 1.5, groups)
    y = 10 + u * rng.normal(size=groups) + 0.5 * rng.normal(size=groups)
    base = best(lambda: np.sum(y / (u**2 + 0.25)) / np.sum(1 / (u**2 + 0.25)))
    print(f"one weighted mean of {groups}: {1000 * base:.2f} ms")
    for method in METHODS:
        took = best(lambda m=method: pool(y, u=u, method=m), 3)
        print(f"  pool {method:20s} {took / base:6.0f} times, {took:.3f} s (goal 1 s)")


def shared_causes() -> None:
    print("pool with 8 causes shared by sections and one by the class, per group")
    base = 0.0
    for groups in (1000, 10_000, 100_000):
        rng = np.random.default_rng(0)
        section = np.arange(groups) % 8
        load = np.column_stack([np.ones(groups), *(0.5 * (section == k) for k in range(8))])
        cov = SharedCovariance(rng.uniform(0.5, 1.5, groups), load)
        y = 10 + rng.normal(size=groups)
        per_group = best(lambda y=y, cov=cov: pool(y, covariance=cov), 3) / groups
        base = base or per_group
        print(f"  {groups:7d} groups: {per_group / base:5.2f} times that of 1000 groups")


if __name__ == "__main__":
    bootstraps()
    many_groups()
    shared_causes()
