"""Plans, against what can be worked out by hand."""

import numpy as np
import pytest

from solubility_stats.bias import compare, diagnose
from solubility_stats.errors import InputError
from solubility_stats.measurement import Protocol, estimate
from solubility_stats.planning import (
    compare_recipes,
    groups_needed,
    measurement_to_separate,
    recipe,
    step_to_improve,
)
from solubility_stats.reference import curve
from solubility_stats.simulation import simulate


@pytest.fixture(scope="module")
def lime():
    return curve("calcium hydroxide")


@pytest.fixture(scope="module")
def protocol():
    return Protocol.default("calcium hydroxide")


@pytest.fixture(scope="module")
def comp(protocol, lime):
    return compare(estimate(simulate(protocol, groups=20, seed=2).records, protocol), lime)


@pytest.fixture(scope="module")
def diag(comp):
    return diagnose(comp)


def test_leverage_is_residue_over_dissolved(protocol, lime):
    found = recipe(2.5, 300.0, protocol, lime)
    dissolved = found.dissolved_g
    assert found.leverage == pytest.approx((2.5 - dissolved) / dissolved)
    assert dissolved == pytest.approx(0.46, rel=0.03)  # about 1.53 g/L at 22 degC


def test_more_solid_more_scatter(protocol, lime):
    table = compare_recipes([1.0, 2.5, 5.0], [300.0], protocol, lime)
    assert table["spread_percent"].is_monotonic_increasing
    assert table["shared_percent"].is_monotonic_increasing


def test_the_predicted_scatter_is_that_of_simulated_classes(protocol, lime):
    from solubility_stats.simulation import Instruments, Recipe

    found = recipe(2.0, 200.0, protocol, lime, fills=4)
    spreads = []
    for seed in range(12):
        sim = simulate(protocol, groups=30, seed=seed, recipe=Recipe(),
                       instruments=Instruments.of(protocol, 50.0))  # fmt: skip
        used = estimate(sim.records, protocol).used("residue")["value_g_per_100g"]
        spreads.append(used.std() / float(lime.at(22.0)[0]) * 100.0)
    assert np.sqrt(np.mean(np.square(spreads))) == pytest.approx(found.spread_percent, rel=0.15)


def test_too_little_solid_is_said(protocol, lime):
    found = recipe(0.4, 300.0, protocol, lime)
    assert not found.enough_solid
    assert "Too little solid" in found.notes[0]
    assert np.isnan(found.spread_percent)
    with pytest.raises(InputError, match="excess"):
        groups_needed(found, 5.0, u_reference_percent=1.0)


def test_impossible_amounts(protocol, lime):
    with pytest.raises(InputError, match="positive"):
        recipe(-1.0, 300.0, protocol, lime)


def test_no_number_of_groups_beats_the_floor(comp):
    found = groups_needed(comp, 1.0)
    assert found.groups is None
    assert "No number of groups" in found.text
    assert found.smallest_possible_percent > 1.0
    enough = groups_needed(comp, 1.2 * found.smallest_possible_percent)
    assert enough.groups is not None


def test_groups_needed_by_hand(protocol, lime):
    # With a negligible floor: n = ((1.96 + 1.28) * spread / bias)^2 = 10.5 (spread/bias)^2.
    tight = protocol.without_effects()
    plan = recipe(2.5, 300.0, tight, lime)
    found = groups_needed(plan, plan.spread_percent / 4.0, u_reference_percent=0.0)
    floor = plan.shared_percent / plan.spread_percent
    n = 10.5 / (1 / 16 - 10.5 * floor**2) if 10.5 * floor**2 < 1 / 16 else None
    if n is None:
        assert found.groups is None
    else:
        assert found.groups == pytest.approx(n, rel=0.1)


def test_the_count_found_is_the_smallest(comp):
    found = groups_needed(comp, 60.0)
    from solubility_stats.planning.groups import _detectable

    at = lambda n: _detectable(found.spread_percent, found.floor_percent, n, 0.95, 0.9)[1]  # noqa: E731
    assert at(found.groups) <= 60.0
    assert found.groups == 2 or at(found.groups - 1) > 60.0


def test_detectable_bias_of_the_class_itself_is_reproduced(comp):
    found = groups_needed(comp, 50.0)
    b = comp.unexplained
    assert np.hypot(found.floor_percent, found.spread_percent / np.sqrt(b.n)) == pytest.approx(
        b.u_percent, rel=1e-6
    )


def test_a_reference_is_needed_with_a_recipe(protocol, lime):
    with pytest.raises(InputError, match="reference is needed"):
        groups_needed(recipe(2.5, 300.0, protocol, lime), 5.0)
    with pytest.raises(InputError, match="positive bias"):
        groups_needed(recipe(2.5, 300.0, protocol, lime), 0.0, u_reference_percent=1.0)


def test_steps_are_ranked_by_what_halving_brings(comp, protocol, lime):
    for source in (comp, recipe(2.5, 300.0, protocol, lime)):
        found = step_to_improve(source)
        assert found.table["gain_percent"].is_monotonic_decreasing
        assert found.table["share_percent"].sum() == pytest.approx(100.0)
        first = found.table.iloc[0]
        by_hand = np.sqrt(found.u_percent**2 - 0.75 * first["u_percent"] ** 2)
        assert first["u_class_halved_percent"] == pytest.approx(by_hand)
    assert step_to_improve(comp).within_scatter["share_percent"].sum() == pytest.approx(100.0)


def test_measurement_to_separate(diag):
    plan = measurement_to_separate(diag, ["reagent_moisture", "soluble_impurity"])
    assert plan.table["measurement"].iloc[0] == "loss_on_drying"
    whole = measurement_to_separate(diag)
    assert whole.causes[0] == diag.causes["name"].iloc[0]
    with pytest.raises(InputError, match="not in the model"):
        measurement_to_separate(diag, ["gremlins"])
