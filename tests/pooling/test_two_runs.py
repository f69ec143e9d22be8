"""Two runs by each group: split of variance, circle, shift."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from solubility_stats.errors import InputError
from solubility_stats.pooling.anova import one_way
from solubility_stats.pooling.two_runs import two_sample


def pairs(rng, groups, systematic, random, shift=0.0) -> pd.DataFrame:
    own = rng.normal(0, systematic, groups)
    v = np.repeat(own, 2) + rng.normal(0, random, 2 * groups) + np.tile([0, shift], groups)
    return pd.DataFrame(
        {"group": np.repeat(np.arange(groups), 2), "run": [1, 2] * groups, "v": 10 + v}
    )


def test_is_the_analysis_of_variance_when_runs_do_not_shift():
    frame = pairs(np.random.default_rng(0), 12, 1.0, 0.4)
    second = frame["run"] == 2
    frame.loc[second, "v"] -= frame.loc[second, "v"].mean() - frame.loc[~second, "v"].mean()
    found = two_sample(frame, "v")
    table = one_way(frame["v"].to_numpy(), frame["group"].to_numpy())
    # The same sums of squares; the run effect costs one degree of freedom.
    assert found.sd_random**2 * 11 == pytest.approx(table.ss_within, rel=1e-9)
    assert found.f * found.sd_random**2 == pytest.approx(table.ms_between, rel=1e-9)


def test_shift_between_runs_is_found_and_does_not_count_as_chance():
    rng = np.random.default_rng(1)
    found = two_sample(pairs(rng, 14, 0.5, 0.1, shift=1.0), "v")
    assert found.shift_low < 1.0 < found.shift_high
    assert found.shift_p_value < 1e-6
    assert found.sd_random < 0.2
    assert found.p_value < 0.01
    assert "repeat their own deviation" in found.headline()


def test_geometry():
    frame = pairs(np.random.default_rng(2), 9, 0.6, 0.6)
    found = two_sample(frame, "v")
    f = found.frame
    assert np.hypot(f["along"], f["across"]).to_numpy() == pytest.approx(f["distance"].to_numpy())
    assert found.radius == pytest.approx(2.4477 * found.sd_random, rel=1e-4)
    assert f["across"].var(ddof=1) == pytest.approx(found.sd_random**2)


def test_intervals_cover_and_false_alarms_are_rare():
    rng = np.random.default_rng(4)
    n = 600
    systematic = random = alarms = outside = 0
    for _ in range(n):
        found = two_sample(pairs(rng, 10, 0.8, 0.5), "v")
        systematic += found.sd_systematic_low <= 0.8 <= found.sd_systematic_high
        random += found.sd_random_low <= 0.5 <= found.sd_random_high
        clean = two_sample(pairs(rng, 10, 0.0, 0.5), "v")
        alarms += clean.p_value < 0.05
        outside += int(clean.frame["outside"].sum())
    # 99.9 % bands of binomial counts around 95 % and 5 %.
    assert 0.92 <= systematic / n <= 0.985
    assert 0.92 <= random / n <= 0.98
    assert 0.02 <= alarms / n <= 0.08
    assert 0.03 <= outside / (10 * n) <= 0.09


def test_incomplete_groups_and_further_runs_are_counted():
    frame = pairs(np.random.default_rng(3), 6, 1, 0.2)
    third = pd.DataFrame({"group": [0], "run": [3], "v": [99.0]})
    single = pd.DataFrame({"group": [77], "run": [1], "v": [10.0]})
    mixed = pd.concat([third, frame, single]).sample(frac=1, random_state=1)
    found = two_sample(mixed, "v")
    assert (found.groups, found.without_pair, found.further_runs) == (6, 1, 1)
    assert 99.0 not in found.frame["second"].tolist()
    assert found.f == pytest.approx(two_sample(frame, "v").f)


def test_runs_that_repeat_exactly():
    frame = pd.DataFrame({"group": [1, 1, 2, 2, 3, 3], "v": [1.0, 1, 2, 2, 4, 4]})
    found = two_sample(frame, "v")
    assert (found.sd_random, found.p_value, found.shift_p_value) == (0, 0, 1)
    assert found.correlation == pytest.approx(1)


@pytest.mark.parametrize(
    ("frame", "message"),
    [
        (pd.DataFrame({"group": [1, 1, 2, 2], "v": [1.0, 2, 3, 4]}), "too few groups"),
        (pd.DataFrame({"group": range(5), "v": [1.0, 2, 3, 4, 5]}), "too few groups"),
        (pd.DataFrame({"group": [1, 1, 2, 2, 3, 3], "v": [1.0] * 6}), "same two values"),
        (pd.DataFrame({"v": [1.0] * 6}), "names the group"),
    ],
)
def test_what_cannot_be_told(frame, message):
    with pytest.raises(InputError, match=message):
        two_sample(frame, "v")
