"""Sections as replicates: the interval must widen when a section shares a cause."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from solubility_stats.errors import InputError
from solubility_stats.pooling import pool, replication
from solubility_stats.pooling.sample import within_variance


def class_of(
    seed: int, sections: int = 4, groups: int = 6, tau_section: float = 0.0, tau: float = 0.5
) -> pd.DataFrame:
    rng = np.random.default_rng(seed)
    section = np.repeat(np.arange(sections), groups)
    u = rng.uniform(0.5, 1.5, section.size)
    value = 10 + tau_section * rng.normal(size=sections)[section]
    value = value + np.hypot(u, tau) * rng.normal(size=section.size)
    return pd.DataFrame(
        {
            "section": [f"S{s}" for s in section],
            "group": [str(g + 1) for g in np.tile(np.arange(groups), sections)],
            "value": value,
            "u": u,
        }
    )


def test_sections_that_differ_widen_the_interval_and_are_named_as_replicates() -> None:
    found = replication(class_of(1, tau_section=4.0))
    assert (found.n_units, found.n_groups) == (4, 24)
    assert found.by_unit is not None
    assert found.by_unit.dof == 3
    assert found.ratio > 1.5
    assert found.p_value < 0.01
    assert "Unit of replication: the section (4)" in found.text
    assert "differ" in found.text
    assert (found.low, found.high) == (found.by_unit.low, found.by_unit.high)
    assert "By unit of replication" in found.tables()


def test_equal_sections_show_no_difference() -> None:
    found = replication(class_of(3))
    assert found.p_value > 0.05
    assert found.p_value == pytest.approx(stats.f.sf(found.f, 3, 20), rel=1e-9)
    assert "no difference" in found.text
    assert found.tau_between < 0.5


def test_one_section_cannot_show_what_it_shares() -> None:
    found = replication(class_of(1, sections=1, groups=8))
    assert found.by_unit is None
    assert np.isnan(found.tau_between)
    assert (found.low, found.high) == (found.by_group.low, found.by_group.high)
    assert "second section" in found.text


def test_pool_by_section_is_the_same_and_groups_repeat_their_numbers() -> None:
    frame = class_of(2, tau_section=1.0)
    by = pool(frame, by="section")
    found = replication(frame)
    assert (by.value, by.u, by.n) == pytest.approx((found.value, found.u, 4))
    # Group "1" of every section is another group.
    assert pool(frame, by="group").n == 24
    two_years = pd.concat([frame.assign(semester="a"), frame.assign(semester="b")])
    assert pool(two_years, by="section").n == 8


def test_order_of_rows_does_not_matter() -> None:
    frame = class_of(5, tau_section=1.0)
    a, b = replication(frame), replication(frame.sample(frac=1, random_state=0))
    assert (a.value, a.u, a.tau_within) == pytest.approx((b.value, b.u, b.tau_within))


def test_balanced_classes_reduce_to_the_classical_analysis_of_section_means() -> None:
    # Equal u, equal sizes: the value is the grand mean and the interval Student's t of the
    # section means (as in any hierarchical design; e.g. ISO 5725-2, 7.4).
    frame = class_of(7, tau_section=5.0).assign(u=1.0)
    found = replication(frame)
    means = frame.groupby("section")["value"].mean()
    assert found.value == pytest.approx(means.mean())
    assert found.u == pytest.approx(means.std(ddof=1) / 2, rel=1e-6)
    # Variance between groups of a section: pooled within-section variance less u squared.
    pooled = frame.groupby("section")["value"].var(ddof=1).mean()
    assert found.tau_within == pytest.approx(np.sqrt(max(pooled - 1.0, 0.0)), abs=1e-9)


def test_within_variance_solves_its_equation_or_is_zero() -> None:
    rng = np.random.default_rng(0)
    unit = np.repeat(np.arange(6), 5)
    v = rng.uniform(0.5, 2.0, 30)
    y = rng.normal(size=30) * np.sqrt(v + 3.0)
    t2 = within_variance(y, v, unit)
    w = 1 / (v + t2)
    mean = np.bincount(unit, w * y) / np.bincount(unit, w)
    assert np.sum(w * (y - mean[unit]) ** 2) == pytest.approx(24, rel=1e-9)
    assert within_variance(np.zeros(30), v, unit) == 0.0
    assert within_variance(0.01 * y, v, unit) == 0.0
    only_scatter = within_variance(y, np.zeros(30), unit)
    assert only_scatter == pytest.approx(np.mean([np.var(y[unit == k], ddof=1) for k in range(6)]))


def test_needs_uncertainties_and_the_column() -> None:
    with pytest.raises(InputError, match="uncertainties"):
        replication(class_of(1).drop(columns="u"))
    with pytest.raises(InputError, match="no such column"):
        replication(class_of(1), by="instructor")


def test_pool_takes_in_a_difference_between_sections_and_keeps_its_groups() -> None:
    frame = class_of(4, sections=6, tau_section=3.0)
    with_it, without = pool(frame), pool(frame, section_effect=False)
    assert with_it.n == without.n == 36
    assert with_it.weights == pytest.approx(without.weights)
    assert with_it.value == without.value
    assert with_it.u == pytest.approx(np.hypot(without.u, with_it.u_section))
    assert with_it.u_shared >= with_it.u_section > 0
    between = replication(frame).tau_between
    held = pd.Series(with_it.weights).groupby(frame["section"].to_numpy()).sum()
    assert with_it.u_section == pytest.approx(between * np.sqrt((held**2).sum()), rel=1e-9)
    assert 5 < with_it.dof < 35
    assert any("The sections differ" in note for note in with_it.notes)


def test_pool_adds_nothing_where_sections_agree_but_says_how_far_it_could_see() -> None:
    frame = class_of(3, sections=3)
    found = pool(frame)
    assert found.u_section == 0
    assert found.u == pool(frame, section_effect=False).u
    note = next(n for n in found.notes if "Unit of replication" in n)
    assert "No difference between sections" in note
    assert "So few sections" in note
    assert not any("Unit of replication" in n for n in pool(frame.drop(columns="section")).notes)


@pytest.mark.slow
def test_interval_by_sections_covers_the_truth_where_that_by_groups_does_not() -> None:
    by_section = by_group = pooled = 0
    runs = 400
    for seed in range(runs):
        frame = class_of(10_000 + seed, sections=6, groups=4, tau_section=1.0)
        found = replication(frame)
        by_section += found.low <= 10 <= found.high
        by_group += found.by_group.low <= 10 <= found.by_group.high
        default = pool(frame)
        pooled += default.low <= 10 <= default.high
    # Binomial bounds of about three standard deviations around 95 %.
    assert 0.92 <= by_section / runs <= 0.975
    assert 0.90 <= pooled / runs <= 0.98
    assert by_group / runs < 0.85
