"""Calibration of the search for bias, by simulated semesters with known truth.

Run ``python docs/calibration/bias.py [replicates] [first seed] [part ...]``; prints markdown. The
simulator follows masses on the bench and knows nothing of the estimator's formulas. Rules were
tuned on classes from seed 1000; give another seed to judge them.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pandas as pd

from solubility_stats.bias import attribution
from solubility_stats.bias.class_difference import class_difference
from solubility_stats.bias.differences import differences
from solubility_stats.bias.model import build_model
from solubility_stats.bias.sampler import sample
from solubility_stats.bias.separability import separability
from solubility_stats.measurement import Protocol, estimate
from solubility_stats.reference import curve
from solubility_stats.simulation import Instruments, Recipe, simulate

SOLUTE = "calcium hydroxide"
ONE, PLANNED = Recipe(), Recipe(initial_mass_g=(1.0, 2.0, 3.0), fills=(3, 6))


def careful(scale: float = 0.1) -> Protocol:
    """Return a lab whose unwanted effects are a tenth of the default ones, on better balances."""
    base = Protocol.default(SOLUTE)
    effects = tuple(
        replace(
            e, mean=scale * e.mean, u_shared=scale * e.u_shared, sd_between=scale * e.sd_between
        )
        for e in base.effects
    )
    balance = replace(base.balance, readability_g=0.001, linearity_g=0.002,
                      repeatability_g=0.001, drift_g=0.001)  # fmt: skip
    return replace(base, effects=effects, balance=balance, overrides=())


# Labs between the two: how much scatter lets a missed fill still be seen.
BETWEEN = (0.06, 0.1, 0.15, 0.2, 0.3, 0.5)
SCATTER_BINS = (0.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 12.0, 100.0)
PROTOCOLS = {"usual lab": Protocol.default(SOLUTE), "careful lab": careful()}
CURVES = {"combined curve": curve(SOLUTE), "one source": curve(SOLUTE, sources=["THEREDA 2020"])}


def classes(
    protocol: Protocol,
    replicates: int,
    *,
    offset_u: float = 0.0,
    first_seed: int,
    **options: object,
) -> Iterator[tuple[object, object]]:
    """Yield simulated semesters and their estimates; the reference itself is off as stated."""
    rng = np.random.default_rng(first_seed)
    for k in range(replicates):
        offset = float(rng.normal(0.0, offset_u)) if offset_u else 0.0
        settings = {"solubility_offset": offset, **options}
        sim = simulate(
            protocol,
            seed=first_seed + k,
            instruments=Instruments.of(protocol, 50.0),
            **settings,  # type: ignore[arg-type]
        )
        yield sim, estimate(sim.records, protocol)


def relative_u(reference: object) -> float:
    value, u = reference.at(22.0)  # type: ignore[attr-defined]
    return float(u / value)


def verdicts(replicates: int, first_seed: int) -> pd.DataFrame:
    """False verdicts where nothing is wrong, and power at 3.3 u and at the stated smallest bias."""
    rows = []
    for lab, protocol in PROTOCOLS.items():
        for name, reference in CURVES.items():
            for groups in (8, 24):
                counts = dict.fromkeys(("false", "covered", "at_3.3u", "at_smallest"), 0)
                us = []
                common = {"groups": groups, "offset_u": relative_u(reference),
                          "first_seed": first_seed + 1000 * len(rows)}  # fmt: skip
                for _, est in classes(protocol, replicates, **common):
                    # All causes vary as the protocol states, and so does the reference.
                    diff = differences(est, reference, "residue", apparent=False)
                    found = class_difference(diff)
                    us.append(found.u_percent)
                    counts["false"] += found.verdict in ("high", "low")
                    counts["covered"] += found.low_percent <= 0 <= found.high_percent
                    counts["at_3.3u"] += found.low_percent + 3.3 * found.u_percent > 0
                    shifted = found.low_percent + found.smallest_detectable_percent
                    counts["at_smallest"] += shifted > 0
                rows.append(
                    {"lab": lab, "reference": name, "groups": groups, "n": replicates,
                     "u %": np.mean(us),
                     "false high/low %": 100 * counts["false"] / replicates,
                     "coverage %": 100 * counts["covered"] / replicates,
                     "power at 3.3 u %": 100 * counts["at_3.3u"] / replicates,
                     "power at smallest %": 100 * counts["at_smallest"] / replicates}
                )  # fmt: skip
    return pd.DataFrame(rows)


def cause_intervals(replicates: int, first_seed: int) -> pd.DataFrame:
    """Coverage of the 90 % intervals of cause sizes, and how often the dominant one is named."""
    rows = []
    plans = {
        "residue, one recipe": {"recipe": ONE},
        "residue, planned amounts": {"recipe": PLANNED},
        "residue and titration": {"recipe": ONE, "routes": ("residue", "titration")},
        "planned and titration": {"recipe": PLANNED, "routes": ("residue", "titration")},
        "residue, two runs per group": {"recipe": ONE, "runs_per_group": 2},
    }
    reference = CURVES["combined curve"]
    protocol = PROTOCOLS["usual lab"]
    for name, plan in plans.items():
        inside: dict[str, list[bool]] = {}
        named, claims = 0, 0
        for k, (sim, est) in enumerate(
            classes(
                protocol,
                replicates,
                offset_u=relative_u(reference),
                groups=24,
                first_seed=first_seed + 1000 * len(rows),
                **plan,
            )
        ):
            model = build_model(est, reference)
            draws = sample(model, np.random.default_rng(k), chains=(80,))[0]
            words = {o: attribution.term_of(o) for o in model.sizes.owners}
            found = separability(model, draws, words)
            table = attribution.mechanism_table(model, draws, found).set_index("name")
            truth = dict(zip(sim.causes["cause"], sim.causes["size"], strict=True))
            causes = table[table["kind"] == "cause"]
            for cause, row in causes.iterrows():
                if cause in truth and cause != "retained_liquor":
                    hit = row["size_low"] <= truth[cause] <= row["size_high"]
                    inside.setdefault(str(cause), []).append(bool(hit))
            per_unit = causes["effect_percent"] / causes["size"]
            true_effect = {c: abs(per_unit[c] * truth[c]) for c in causes.index if c in truth}
            dominant = max(true_effect, key=lambda c: true_effect[c])
            named += is_named(dominant, table.reset_index())
            claims += wrong_claims(table)
        hits = {c: float(np.mean(v)) for c, v in inside.items()}
        print(name, {c: round(h, 2) for c, h in hits.items()}, file=sys.stderr)
        rows.append(
            {"plan": name, "n": replicates,
             "coverage, all causes %": 100 * np.mean(np.concatenate([*inside.values()])),
             "lowest %": 100 * min(hits.values()), "highest %": 100 * max(hits.values()),
             "dominant named or tied %": 100 * named / replicates,
             "false separations": claims}
        )  # fmt: skip
    return pd.DataFrame(rows)


# Causes that no residue or titration reading can tell apart, whatever the amounts.
NEVER = [{"residual_moisture", "residue_carbonation"}, {"constant_loss", "fibres"},
         {"transfer_loss", "residual_moisture"}, {"reagent_moisture", "soluble_impurity"},
         {"undersaturation", "reference_value"}]  # fmt: skip


def wrong_claims(table: pd.DataFrame) -> int:
    """Count pairs that cannot be told apart and are not said to be tied, either way round."""
    return sum(
        b not in table.loc[a, "not_separable_from"] and a not in table.loc[b, "not_separable_from"]
        for a, b in map(sorted, NEVER)
    )


def is_named(cause: str, table: pd.DataFrame) -> bool:
    """Tell whether a cause is what the headline names, largest or beyond expectation, or tied."""
    rows = [row for row in attribution.leading(table) if row is not None]
    return any(cause in (row["name"], *row["not_separable_from"]) for row in rows)


def boosted_causes(replicates: int, first_seed: int) -> pd.DataFrame:
    """How often a cause made large on purpose is named, or one it is tied to."""
    rows = []
    reference, protocol = CURVES["combined curve"], PROTOCOLS["usual lab"]
    large = {"transfer_loss": 0.08, "residual_moisture": 0.08, "residue_carbonation": 0.15,
             "constant_loss": 0.12, "undersaturation": 0.3, "fines": 0.08}  # fmt: skip
    for routes in (("residue",), ("residue", "titration")):
        for cause, size in large.items():
            named = 0
            batch = classes(protocol, replicates, groups=24, routes=routes, causes={cause: size},
                            first_seed=first_seed + 1000 * len(rows),
                            offset_u=relative_u(reference))  # fmt: skip
            for k, (_, est) in enumerate(batch):
                model = build_model(est, reference)
                draws = sample(model, np.random.default_rng(k), chains=(80,))[0]
                words = {o: attribution.term_of(o) for o in model.sizes.owners}
                found = separability(model, draws, words)
                table = attribution.mechanism_table(model, draws, found)
                named += is_named(cause, table)
            rows.append({"routes": " + ".join(routes), "cause": cause, "size": f"{size:g}",
                         "n": replicates, "named or tied %": 100 * named / replicates})  # fmt: skip
    return pd.DataFrame(rows)


def slips(replicates: int, first_seed: int) -> pd.DataFrame:
    """Recall and false marks of slips of single runs, by the scatter of the class's sound runs."""
    reference = CURVES["combined curve"]
    kinds = ("missed_fill", "extra_fill", "decimal_slip")
    found = [
        row
        for i, share in enumerate(BETWEEN)
        for j, slip in enumerate(kinds)
        for row in _marks(
            classes(careful(share), replicates, groups=24, causes={slip: 0.06},
                    first_seed=first_seed + 1000 * (len(kinds) * i + j)),
            reference,
        )
    ]  # fmt: skip
    runs = pd.DataFrame(found, columns=["scatter", "mishap", "marked", "aside", "chance"])
    runs["caught"] = runs["marked"] | runs["aside"]
    rows = []
    for part, here in runs.groupby(pd.cut(runs["scatter"], list(SCATTER_BINS)), observed=True):
        row: dict[str, object] = {"scatter %": f"{part.left:g} to {part.right:g}"}
        for slip in kinds:
            caught = here.loc[here["mishap"] == slip, "caught"]
            row[f"{slip}, recall % (n)"] = f"{100 * caught.mean():.0f} ({len(caught)})"
        sound = here[(here["mishap"] == "") & ~here["aside"]]
        row["false marks % (n)"] = f"{100 * sound['marked'].mean():.1f} ({len(sound)})"
        rows.append(row)
    return pd.DataFrame(rows)


def _marks(
    batch: Iterator[tuple[object, object]], reference: object
) -> Iterator[tuple[float, str, bool, bool, float]]:
    """Yield scatter of the class, true slip, mark, whether not used, and chance, for each run."""
    for k, (sim, est) in enumerate(batch):
        model = build_model(est, reference)
        draws = sample(model, np.random.default_rng(k), chains=(60,), sweeps=45)[0]
        table = attribution.slip_table(model, draws)
        marked = set(table.loc[table["marked"], "run_id"])
        chance = dict(zip(table["run_id"], table["any_slip"], strict=True))
        results = est.table.set_index("run_id")
        truth = sim.truth.set_index("run_id")["mishap"]
        sound = results.loc[truth.index[truth == ""]]
        values = sound.loc[sound["used"], "apparent_g_per_100g"]
        # Of the middle of the class, so that one odd sound run does not make a class scatter.
        middle = float(values.median())
        scatter = 148.26 * float((values - middle).abs().median()) / middle
        for run_id, mishap in truth.items():
            aside = not results.loc[run_id, "used"]
            yield scatter, mishap, run_id in marked, aside, chance.get(run_id, 0.0)


PARTS = {"verdicts": verdicts, "intervals": cause_intervals, "boosted": boosted_causes,
         "slips": slips}  # fmt: skip


def main() -> None:
    """Print the tables asked for."""
    replicates = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    first_seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1000
    for part in sys.argv[3:] or PARTS:
        start = time.perf_counter()
        table = PARTS[part](replicates, first_seed)
        print(f"\n### {part} ({replicates} classes per row, seeds from {first_seed})\n")
        print("| " + " | ".join(table.columns) + " |\n|" + " --- |" * table.shape[1])
        for row in table.itertuples(index=False):
            cells = [f"{c:.1f}" if isinstance(c, float) else str(c) for c in row]
            print("| " + " | ".join(cells) + " |")
        print(f"({time.perf_counter() - start:.0f} s)", file=sys.stderr)


if __name__ == "__main__":
    main()
