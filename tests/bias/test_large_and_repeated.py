"""Classes of many sections, groups with several runs, and odd runs that are no slips."""

import numpy as np
import pytest

from solubility_stats.bias import attribution, compare, diagnose
from solubility_stats.bias.class_difference import FEW_FACTORS, condensed
from solubility_stats.bias.differences import differences
from solubility_stats.bias.model import build_model
from solubility_stats.bias.sampler import sample
from solubility_stats.bias.wording import listed, signed, span
from solubility_stats.records import ClassRecords


@pytest.fixture(scope="module")
def many_sections(make_class):
    return make_class(groups=120, sections=30, seed=9)


def test_fewer_factors_same_covariance(many_sections, lime):
    full = differences(many_sections, lime, "residue", apparent=False).covariance
    short = condensed(full)
    assert len(short.factors) < 0.7 * len(full.factors)
    assert len(full.factors) > FEW_FACTORS
    scale = float(full.diagonal().max())
    assert short.dense() == pytest.approx(full.dense(), abs=1e-5 * scale)


def test_few_factors_stay_as_they_are(one_recipe, lime):
    full = differences(one_recipe, lime, "residue", apparent=True).covariance
    assert len(full.factors) <= FEW_FACTORS
    assert condensed(full) is full


def test_runs_of_one_group_weigh_as_one(make_class, lime, protocol):
    """A class whose every run was handed in twice under two run numbers knows no more."""
    import pandas as pd

    from solubility_stats.measurement import estimate
    from solubility_stats.simulation import simulate

    runs = simulate(protocol, groups=12, seed=2).records.runs
    kept = runs.drop(columns="run_id")
    twice = pd.concat([kept.assign(run="1"), kept.assign(run="2")], ignore_index=True)
    once, copied = (
        build_model(estimate(ClassRecords.from_frame(r), protocol), lime) for r in (kept, twice)
    )
    assert np.all(once.repeats == 1.0)
    assert np.all(copied.repeats == 2.0)
    u = []
    for model in (once, copied):
        draws = sample(model, np.random.default_rng(0), chains=(80,), sweeps=50, burn=15)[0]
        u.append(float(np.std(draws.sizes @ model.effect)))
    # Only the instruments' own part, a few percent of the whole, is halved.
    assert u[1] == pytest.approx(u[0], rel=0.12)


def test_an_odd_run_is_not_surely_a_slip(make_class, lime):
    """Four and a half times the usual scatter above, where no slip would put it."""
    est = make_class(groups=24, seed=6)
    model = build_model(est, lime)
    at = int(model.states.rows[5])
    draws = sample(model, np.random.default_rng(0), chains=(40,), sweeps=40, burn=15)[0]
    middle = model.offset[at] + model.design[at] @ draws.sizes.mean(axis=0)
    sd = np.sqrt(model.own[at] + model.between[at] * np.median(draws.scatter[:, 0]) ** 2)
    from dataclasses import replace

    moved = model.y.copy()
    moved[at] = middle + 4.5 * sd
    odd = replace(model, y=moved)
    found = attribution.slip_table(
        odd, sample(odd, np.random.default_rng(0), chains=(40,), sweeps=40, burn=15)[0]
    )
    mine = found[found["run_id"] == str(model.rows["run_id"].iloc[at])]
    assert 0.02 < mine["any_slip"].iloc[0] < 0.75


def test_ties_between_main_causes_hold_both_ways(diagnosis):
    from solubility_stats.bias.separability import MAIN

    ties, causes = diagnosis.separability.ties, diagnosis.separability.causes
    model = diagnosis.model
    loud = {c: float(np.linalg.norm(model.effect[model.owned_by(c)])) for c in causes}
    main = [c for c in causes if loud[c] > 1.01 * MAIN * max(loud.values())]
    assert len(main) > 4
    for a in main:
        for b in main:
            assert (b in ties[a]) == (a in ties[b])


def test_sentences_hold_no_jargon(diagnosis, plain_diagnosis, planned_diagnosis):
    for diag in (diagnosis, plain_diagnosis, planned_diagnosis):
        said = " ".join((*diag.notes, *diag.comparison.notes, diag.headline()))
        for word in ("direction", "posterior", "prior", "habits, part", "[class", " -", "nan"):
            assert word not in said


def test_numbers_in_sentences():
    assert (signed(-3.21, 1), signed(4.0)) == ("−3.2", "+4")
    assert span(-1.0, 2.0) == "−1 to +2"
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert listed(list("abcdef")) == "a, b, c, d and 2 others"
    assert listed(list("abcde")) == "a, b, c, d and 1 other"


@pytest.mark.slow
def test_three_thousand_runs_in_a_hundred_sections(make_class, lime):
    diag = diagnose(compare(make_class(groups=3000, sections=100, seed=3), lime))
    assert diag.comparison.unexplained.n == 3000
    assert len(diag.comparison.by_section) == 100
    assert np.isfinite(diag.mechanisms["effect_percent"]).all()
