"""The border of the room: frames, estimates and arrays become one tidy frame."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

import solubility_stats.pooling as pooling
from solubility_stats.errors import InputError
from solubility_stats.pooling.tidy import (
    cell_statistics,
    default_grouping,
    labels,
    observations,
    recorded,
)


@pytest.fixture
def ugly() -> pd.DataFrame:
    """Duplicate index, text and category labels, an unused category, integers, blanks."""
    rng = np.random.default_rng(0)
    frame = pd.DataFrame(
        {
            "semester": [""] * 12,
            "section": pd.Categorical(list("ab") * 6, categories=list("abz")),
            "group": pd.Series(["01", "02", "03", "04", "05", "06"] * 2, dtype="str"),
            "filtration": ["vacuum", "gravity", " ", "vacuum"] * 3,
            "v": rng.integers(10, 40, 12),
            "u": 1,
        }
    )
    frame.index = [5] * 12
    return frame


def test_rows_go_by_position(ugly):
    obs = observations(ugly, "v", ["section", "group"])
    assert obs.values.dtype == float
    assert obs.frame["group"].tolist() == ugly["group"].tolist()
    assert obs.frame.index.tolist() == list(range(12))


def test_blank_text_is_missing(ugly):
    assert default_grouping(ugly) == ["section", "group"]
    assert recorded(ugly, ["semester", "filtration", "nothing"]) == ["filtration"]
    with pytest.raises(InputError, match="3 of 12 rows"):
        observations(ugly, "v", ["filtration"])
    obs = observations(ugly, "v", ["filtration"], missing="omit")
    assert (obs.n, obs.omitted) == (9, 3)
    assert 2 not in obs.rows
    assert observations(ugly, "v", ["filtration"], may_be_missing=["filtration"]).n == 12


def test_labels_name_only_what_differs(ugly):
    one = ugly.iloc[::2].reset_index(drop=True)
    codes, names = labels(one, ["section", "group"])
    assert names == ["01", "03", "05"]
    assert codes.tolist() == [0, 1, 2, 0, 1, 2]
    assert labels(one, [])[1] == ["1", "2", "3", "4", "5", "6"]


def test_cell_statistics_keep_digits():
    values = np.array([1e9 + 0.25, 1e9 + 0.75, 1e9 + 0.5, 7.0])
    n, mean, sd = cell_statistics(values, np.array([0, 0, 0, 1]))
    assert n.tolist() == [3, 1]
    assert mean.tolist() == [1e9 + 0.5, 7.0]
    assert sd[0] == pytest.approx(0.25, rel=1e-12)
    assert np.isnan(sd[1])


@pytest.mark.parametrize(
    "call",
    [
        lambda f: pooling.mandel(f, "v", ["section", "group"]),
        lambda f: pooling.cochran(f, "v", "group"),
        lambda f: pooling.grubbs(f, "v", "group"),
        lambda f: pooling.generalized_esd(f, "v", "group"),
        lambda f: pooling.stands_apart(f, "v", "u", "group"),
        lambda f: pooling.precision(f, "v"),
        lambda f: pooling.trueness(f, 20, value="v"),
        lambda f: pooling.scores(f, 20, sigma=3, value="v", group="group"),
        lambda f: pooling.two_sample(f, "v", "group"),
        lambda f: pooling.factors(f, ["filtration", "section"], value="v"),
    ],
)
def test_every_statistic_takes_an_ugly_frame_and_leaves_it_alone(ugly, call):
    before = ugly.copy(deep=True)
    found = call(ugly)
    pd.testing.assert_frame_equal(ugly, before)
    assert found.headline() in str(found)
    assert found.headline() in repr(found)
    assert found._repr_html_()
    assert found.to_dict()


def test_public_names_survive_imports_of_their_modules():
    import solubility_stats.pooling.factor_effects
    import solubility_stats.pooling.tost
    import solubility_stats.pooling.variance_components  # noqa: F401

    for name in pooling.__all__:
        assert callable(getattr(pooling, name)) or name == "METHODS", name
