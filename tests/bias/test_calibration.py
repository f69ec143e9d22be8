"""Light versions of the calibration in docs/calibration/bias.py, on classes with known truth."""

from dataclasses import replace

import numpy as np
import pytest

from solubility_stats.bias import attribution
from solubility_stats.bias.class_difference import class_difference
from solubility_stats.bias.differences import differences
from solubility_stats.bias.model import build_model
from solubility_stats.bias.sampler import sample
from solubility_stats.bias.separability import separability
from solubility_stats.measurement import Protocol, estimate
from solubility_stats.simulation import Instruments, simulate


def tenth():
    base = Protocol.default("calcium hydroxide")
    effects = tuple(
        replace(e, mean=0.1 * e.mean, u_shared=0.1 * e.u_shared, sd_between=0.1 * e.sd_between)
        for e in base.effects
    )
    balance = replace(base.balance, readability_g=0.001, linearity_g=0.002,
                      repeatability_g=0.001, drift_g=0.001)  # fmt: skip
    return replace(base, effects=effects, balance=balance, overrides=())


def simulated(protocol, seed, **options):
    tools = Instruments.of(protocol, 50.0)
    sim = simulate(protocol, seed=seed, groups=options.pop("groups", 16), instruments=tools,
                   **options)  # fmt: skip
    return sim, estimate(sim.records, protocol)


@pytest.mark.slow
def test_nothing_wrong_is_rarely_called_wrong_and_a_large_bias_is_found(lime, protocol):
    rng = np.random.default_rng(5)
    value, u = lime.at(22.0)
    false = found = 0
    for seed in range(60):
        offset = float(rng.normal(0.0, u / value))
        _, est = simulated(protocol, seed, solubility_offset=offset)
        b = class_difference(differences(est, lime, "residue", apparent=False))
        false += b.verdict in ("high", "low")
        found += b.low_percent + 3.3 * b.u_percent > 0
    assert false <= 7  # 3 expected; 8 or more has a chance of 1 in 80
    assert found >= 50  # 54 to 55 expected


def test_slips_of_single_runs_in_a_careful_class(lime):
    protocol = tenth()
    hit = made = false = right = 0
    for seed in range(5):
        sim, est = simulated(
            protocol, seed, groups=24,
            causes={"missed_fill": 0.04, "extra_fill": 0.02, "decimal_slip": 0.04},
        )  # fmt: skip
        draws = sample(build_model(est, lime), np.random.default_rng(0), chains=(40,), sweeps=30,
                       burn=10)[0]  # fmt: skip
        table = attribution.slip_table(build_model(est, lime), draws)
        marked = set(table.loc[table["marked"].astype(bool), "run_id"])
        aside = set(est.table.loc[~est.table["used"], "run_id"])
        slipped = set(sim.truth.loc[sim.truth["mishap"] != "", "run_id"])
        hit += len(slipped & (marked | aside))
        made += len(slipped)
        fine = set(sim.truth["run_id"]) - slipped
        false += len(fine & marked)
        right += len(fine)
    assert made >= 8
    assert hit >= 0.95 * made
    assert false <= 0.02 * right  # 1 % stated, with room for a sample of this size


@pytest.mark.slow
def test_intervals_of_causes_cover(lime, protocol):
    rng = np.random.default_rng(6)
    value, u = lime.at(22.0)
    inside: list[bool] = []
    named = 0
    classes = 12
    for seed in range(classes):
        sim, est = simulated(
            protocol, seed, groups=20, routes=("residue", "titration"),
            solubility_offset=float(rng.normal(0.0, u / value)),
        )  # fmt: skip
        model = build_model(est, lime)
        draws = sample(model, np.random.default_rng(seed), chains=(60,), sweeps=45, burn=15)[0]
        words = {o: attribution.term_of(o) for o in model.sizes.owners}
        table = attribution.mechanism_table(model, draws, separability(model, draws, words))
        headline = [row for row in attribution.leading(table) if row is not None]
        table = table.set_index("name")
        truth = dict(zip(sim.causes["cause"], sim.causes["size"], strict=True))
        causes = table[table["kind"] == "cause"].drop("retained_liquor")
        inside += [r["size_low"] <= truth[c] <= r["size_high"] for c, r in causes.iterrows()]
        per_unit = (causes["effect_percent"] / causes["size"]).abs()
        dominant = max(causes.index, key=lambda c: per_unit[c] * truth[c])
        named += any(dominant in (r["name"], *r["not_separable_from"]) for r in headline)
    assert 0.82 <= np.mean(inside) <= 0.97
    assert named >= classes - 2
