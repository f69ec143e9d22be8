"""Cost of a reference curve at many temperatures, as a ratio to a named baseline.

Baseline: the bare exponential of a cubic in t, evaluated by numpy, without any uncertainty.
"""

from __future__ import annotations

from timeit import repeat

import numpy as np

from solubility_stats.reference import curve

ROWS = 100_000


def main() -> None:
    """Print seconds and ratios."""
    lime = curve("calcium hydroxide")
    t_c = np.random.default_rng(1).uniform(5.0, 95.0, ROWS)
    cubic = np.polynomial.Polynomial([-1.7635, -3.60121e-3, -7.17943e-5, 2.18741e-7])
    jobs = {
        "baseline: exp of a cubic": lambda: np.exp(cubic(t_c)),
        "value and u": lambda: lime.at(t_c),
        "covariance by shared causes": lambda: lime.covariance(t_c),
        "what each source says": lambda: lime.by_source(t_c),
    }
    base = None
    for name, job in jobs.items():
        seconds = min(repeat(job, number=1, repeat=5))
        base = base or seconds
        print(f"{name:30s} {ROWS} rows {seconds:8.4f} s  ratio {seconds / base:8.1f}")


if __name__ == "__main__":
    main()
