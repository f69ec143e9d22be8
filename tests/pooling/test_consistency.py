"""Mandel's h and k and Cochran's test beyond the published examples."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from solubility_stats.errors import InputError
from solubility_stats.pooling.consistency import cochran, mandel


@pytest.fixture
def classes() -> pd.DataFrame:
    rng = np.random.default_rng(5)
    return pd.DataFrame({"group": np.repeat(np.arange(1, 11), 3), "v": 5 + rng.normal(0, 0.1, 30)})


def test_order_index_and_input_do_not_matter(classes):
    before = classes.copy(deep=True)
    shuffled = classes.sample(frac=1, random_state=1)
    shuffled.index = [0] * len(shuffled)
    one, two = mandel(classes, "v", "group"), mandel(shuffled, "v", "group")
    a = one.table.set_index("group").sort_index()
    b = two.table.set_index("group").sort_index()
    pd.testing.assert_frame_equal(a, b, rtol=1e-9)
    pd.testing.assert_frame_equal(classes, before)
    values = classes["v"].to_numpy()
    values.flags.writeable = False
    frame = pd.DataFrame({"group": classes["group"], "v": values}, copy=False)
    assert cochran(frame, "v", "group").p_value == cochran(shuffled, "v", "group").p_value


def test_definitions(classes):
    found = mandel(classes, "v", "group")
    means = classes.groupby("group")["v"].mean().to_numpy()
    sds = classes.groupby("group")["v"].std().to_numpy()
    h = (means - means.mean()) / means.std(ddof=1)
    assert list(found.table["h"]) == pytest.approx(list(h), rel=1e-9)
    assert list(found.table["k"]) == pytest.approx(list(sds / np.sqrt((sds**2).mean())), rel=1e-9)
    c = cochran(classes, "v", "group")
    assert c.statistic == pytest.approx((sds**2).max() / (sds**2).sum(), rel=1e-9)


def test_one_value_for_each_group_gives_h_only():
    frame = pd.DataFrame({"group": list("abcde"), "v": [1.0, 2, 3, 4, 9]})
    found = mandel(frame, "v", "group")
    assert found.table["k"].isna().all()
    assert found.critical["k"].isna().all()
    assert "scatter within groups unknown" in found.notes[0]
    with pytest.raises(InputError, match="repeated values"):
        cochran(frame, "v", "group")


def test_unequal_sizes_use_each_groups_own_degrees_of_freedom():
    frame = pd.DataFrame(
        {"group": [1] * 2 + [2] * 6 + [3] * 4, "v": [1, 2, 1, 2, 3, 1, 2, 3, 1.0, 1.1, 1.2, 1.0]}
    )
    found = cochran(frame, "v", "group")
    assert found.notes
    assert found.table["n"].tolist() == [6, 2, 4]
    assert found.table["statistic"].sum() == pytest.approx(1)


def test_p_values_are_uniform_in_clean_classes():
    # Kolmogorov-Smirnov at 0.1 %: P(D > 1.95 / sqrt(n)).
    rng = np.random.default_rng(8)
    sizes = np.array([2, 3, 3, 4, 5, 2])
    group = np.repeat(np.arange(6), sizes)
    h, k = [], []
    for _ in range(400):
        frame = pd.DataFrame({"group": group, "v": rng.standard_normal(group.size)})
        table = mandel(frame, "v", "group").table
        k.append(table["k_p_value"][3])
        equal = pd.DataFrame({"group": np.repeat(np.arange(5), 2), "v": rng.standard_normal(10)})
        h.append(mandel(equal, "v", "group").table["h_p_value"][2])
    for p in (np.sort(h), np.sort(k)):
        distance = np.abs(p - (np.arange(400) + 0.5) / 400).max()
        assert distance < 1.95 / 20


@pytest.mark.parametrize(
    ("frame", "message"),
    [
        (pd.DataFrame({"group": ["a", "b"], "v": [1.0, 2]}), "too few groups"),
        (pd.DataFrame({"group": list("abc"), "v": [1.0, 1, 1]}), "equal"),
        (pd.DataFrame({"group": ["a", None, "c"], "v": [1.0, 2, 1]}), "1 of 3"),
    ],
)
def test_what_cannot_be_told_is_said(frame, message):
    with pytest.raises(InputError, match=message):
        mandel(frame, "v", "group")


def test_no_scatter_at_all():
    frame = pd.DataFrame({"group": [1, 1, 2, 2, 3, 3], "v": [1.0, 1, 2, 2, 3, 3]})
    with pytest.raises(InputError, match="no group shows any scatter"):
        cochran(frame, "v", "group")
    assert mandel(frame, "v", "group").table["k"].isna().all()


def test_results_print_and_serialise(classes):
    import json

    for found in (mandel(classes, "v", "group"), cochran(classes, "v", "group")):
        assert found.headline() in str(found)
        json.dumps(found.to_dict(), allow_nan=False)
