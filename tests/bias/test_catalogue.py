"""The catalogue must say of each cause what the bookkeeping of masses does."""

import numpy as np
import pytest

from solubility_stats.bias.catalogue import ROUTES, catalogue_table, causes, slips
from solubility_stats.bias.forward import Batch, sensitivities
from solubility_stats.measurement import Protocol

BATCH = Batch(np.array([3.0]), np.array([300.0]), np.array([0.165]), np.array([-1e-3]), np.ones(1))


@pytest.mark.parametrize("name", list(causes()))
@pytest.mark.parametrize("route", ROUTES)
def test_signs_follow_from_the_bookkeeping(name, route):
    cause = causes()[name]
    slope = sensitivities(BATCH, [name], route)[1][0, 0]
    said = cause.direction(route)
    if cause.signed:
        assert (abs(slope) > 1e-9) == (said == "either")
    else:
        assert said == ("none" if abs(slope) < 1e-9 else "up" if slope > 0 else "down")


@pytest.mark.parametrize("cause", causes().values(), ids=lambda c: c.name)
def test_every_cause_is_a_question_with_evidence(cause):
    assert cause.question.endswith("?")
    assert cause.term
    assert cause.meaning
    assert cause.opposes


def test_every_expected_effect_of_the_default_protocol_is_a_cause():
    # Paper weighed with the residue is an effect only of classes that do so.
    expected = {e.name for e in Protocol.default("calcium hydroxide").effects if e.expected}
    assert expected - set(causes()) == {"paper_regain", "paper_liquor"}
    own = {name for name, c in causes().items() if not c.instrument}
    assert own - expected == {"insoluble_matter"}


def test_slips_are_rare_and_ask():
    assert sum(s.probability for s in slips().values()) < 0.1
    assert all(s.question.endswith("?") for s in slips().values())
    assert list(slips())[-1] == "unnamed"


def test_table_has_one_row_per_cause():
    table = catalogue_table()
    assert table["cause"].tolist() == list(causes())
