"""Two one-sided tests against published and library figures."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.errors import InputError
from solubility_stats.pooling.tost import equivalence, welch


def test_agrees_with_a_published_example():
    # R package equivalence on its clinic data, as kept in the tests of statsmodels: variable 1,
    # Welch, margin 0.6.
    found = equivalence(0.1646667, 0.2531626, 0.6, dof=26.7484787582315)
    assert found.p_value == pytest.approx(0.04853083976236974, rel=2e-6)
    assert found.equivalent
    assert not found.different


def test_agrees_with_statsmodels():
    from statsmodels.stats.weightstats import ttost_ind

    rng = np.random.default_rng(2)
    x, y = rng.normal(0, 1, 12), rng.normal(0.2, 2, 9)
    difference, u, dof = welch(x, y)
    found = equivalence(difference, u, (-1.0, 1.5), dof=dof)
    p, low, high = ttost_ind(x, y, -1.0, 1.5, usevar="unequal")
    assert found.p_value == pytest.approx(p, rel=1e-10)
    assert found.p_not_below == pytest.approx(low[1], rel=1e-10)
    assert found.p_not_above == pytest.approx(high[1], rel=1e-10)
    assert dof == pytest.approx(low[2], rel=1e-10)


@given(st.floats(-10, 10), st.floats(1e-3, 10), st.floats(0.01, 20), st.floats(1, 200))
def test_equivalence_is_the_interval_inside_the_margin(difference, u, margin, dof):
    found = equivalence(difference, u, margin, dof=dof)
    edge = min(found.low + margin, margin - found.high)
    if abs(edge) > 1e-9:
        assert found.equivalent == (edge > 0)
    assert 0 <= found.p_value <= 1


def test_a_real_difference_may_be_too_small_to_matter():
    found = equivalence(1.0, 0.1, 5, unit="%")
    assert found.equivalent
    assert found.different
    assert "differs from zero" in found.headline()
    assert "too uncertain" in equivalence(1.0, 6, 5).headline()
    assert "not shown to" in equivalence(9.0, 2, 5).headline()


def test_exact_comparison():
    assert equivalence(1.0, 0.0, 2).p_value == 0
    assert equivalence(3.0, 0.0, 2).p_value == 1
    assert equivalence(2.0, 0.0, 2).p_value == 1
    assert welch([1.0, 1], [2.0, 2])[1] == 0


@pytest.mark.parametrize(
    "call",
    [
        lambda: equivalence(0, 1, 0),
        lambda: equivalence(0, 1, (2, 1)),
        lambda: equivalence(0, -1, 1),
        lambda: equivalence(float("nan"), 1, 1),
        lambda: equivalence(0, 1, 1, dof=0),
        lambda: equivalence(0, 1, 1, alpha=0.6),
        lambda: welch([1.0], [1.0, 2]),
        lambda: welch([1.0, np.nan], [1.0, 2]),
    ],
)
def test_wrong_input(call):
    with pytest.raises(InputError):
        call()
