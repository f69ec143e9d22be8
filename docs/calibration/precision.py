"""How often the intervals of precision and of factors hold the truth.

    python docs/calibration/precision.py > docs/calibration/precision.md

Normal classes with known components; nominal 95 %. About ten minutes.
"""

from __future__ import annotations

import numpy as np
import pandas as pd

from solubility_stats.pooling import factors, precision, two_sample

SEED = 20251127
CLASSES = 300


def share(hits: int, of: int = CLASSES) -> str:
    rate = hits / of
    return f"{100 * rate:.1f} ± {100 * np.sqrt(rate * (1 - rate) / of):.1f}"


def classes(rng: np.random.Generator, sections: int, groups: int, sds: tuple) -> pd.DataFrame:
    """Return runs of ``sections`` x ``groups`` with one to three runs each; sds outermost first."""
    rows = []
    for section in range(sections):
        a = rng.normal(0, sds[0])
        for group in range(groups):
            b = rng.normal(0, sds[1])
            rows += [
                (section, group, run, 10 + a + b + rng.normal(0, sds[2]))
                for run in range(rng.integers(1 if group else 2, 4))
            ]
    return pd.DataFrame(rows, columns=["section", "group", "run", "v"])


def precision_row(sections: int, groups: int, sds: tuple, rng: np.random.Generator) -> str:
    names = ("section", "group", "run")
    hits = dict.fromkeys((*names, "reproducibility"), 0)
    for _ in range(CLASSES):
        frame = classes(rng, sections, groups, sds)
        found = precision(frame, "v", ["section", "group"] if sections > 1 else ["group"])
        truth = dict(zip(names, sds, strict=True))
        for row in found.components.to_dict("records"):
            hits[row["source"]] += row["sd_low"] <= truth[row["source"]] <= row["sd_high"]
        total = found.conditions.iloc[-1]
        whole = float(np.sqrt(np.sum(np.square(sds))))
        hits["reproducibility"] += total["sd_low"] <= whole <= total["sd_high"]
    told = [share(h) if sections > 1 or n != "section" else "" for n, h in hits.items()]
    return f"| {sections} | {groups} | {' / '.join(map(str, sds))} | {' | '.join(told)} |"


def factor_row(sections: int, groups: int, section_sd: float, rng: np.random.Generator) -> str:
    hits = {"filtration": 0, "instructor": 0, "stir_min": 0}
    any_found = 0
    for _ in range(CLASSES):
        frame = classes(rng, sections, groups, (section_sd, 0.5, 0.3))
        frame["instructor"] = np.where(frame["section"] % 2, "A", "B")
        unit = frame.groupby(["section", "group"]).ngroup()
        frame["filtration"] = np.where(unit % 2, "vacuum", "gravity")
        frame["stir_min"] = rng.uniform(5, 30, unit.max() + 1)[unit]
        found = factors(frame, list(hits), value="v")
        for name in hits:
            effect = found.effects.loc[found.effects["factor"] == name].iloc[0]
            hits[name] += effect["low"] <= 0 <= effect["high"]
        any_found += bool((found.tests["verdict"] == "differs").any())
    told = [share(h) for h in (*hits.values(), any_found)]
    return f"| {sections} | {groups} | {section_sd} | {' | '.join(told)} |"


def two_row(groups: int, systematic: float, rng: np.random.Generator) -> str:
    hits = [0, 0]
    for _ in range(CLASSES):
        own = np.repeat(rng.normal(0, systematic, groups), 2)
        frame = pd.DataFrame(
            {
                "group": np.repeat(np.arange(groups), 2),
                "run": [1, 2] * groups,
                "v": 10 + own + rng.normal(0, 0.5, 2 * groups),
            }
        )
        found = two_sample(frame, "v")
        hits[0] += found.sd_systematic_low <= systematic <= found.sd_systematic_high
        hits[1] += found.sd_random_low <= 0.5 <= found.sd_random_high
    return f"| {groups} | {systematic} | {' | '.join(map(share, hits))} |"


def main() -> None:
    rng = np.random.default_rng(SEED)
    print("# Precision, factors, two runs: what the 95 % intervals hold\n")
    print(
        f"By `docs/calibration/precision.py`, seed {SEED}, {CLASSES} classes a row, groups of one "
        "to three runs; ± is one standard error. Where a component is zero or small, intervals "
        "begin at zero and hold more than 95 %.\n"
    )
    print("| sections | groups each | sd section / group / run | section | group | run | all |")
    print("|---|---|---|---|---|---|---|")
    for case in (
        (1, 6, (0.0, 0.5, 0.3)),
        (1, 24, (0.0, 0.5, 0.3)),
        (1, 12, (0.0, 0.0, 0.3)),
        (3, 8, (0.3, 0.5, 0.3)),
    ):
        print(precision_row(*case, rng), flush=True)
    print("\nFactors without effect: intervals that hold zero, and classes with any false finding")
    print("(Holm, nominal at most 5 %). Filtration and stirring change between groups, instructors")
    print("between sections.\n")
    print("| sections | groups each | sd section | filtration | instructor | stirring | false |")
    print("|---|---|---|---|---|---|---|")
    rng = np.random.default_rng(SEED + 1)
    for case in ((4, 6, 0.0), (4, 6, 0.5), (8, 4, 0.2)):
        print(factor_row(*case, rng), flush=True)
    print("\n| groups with two runs | sd systematic (random 0.5) | systematic | random |")
    print("|---|---|---|---|")
    rng = np.random.default_rng(SEED + 2)
    for case in ((6, 0.0), (6, 0.8), (20, 0.3)):
        print(two_row(*case, rng), flush=True)


if __name__ == "__main__":
    main()
