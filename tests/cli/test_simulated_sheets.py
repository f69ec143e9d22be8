"""Simulated sheets, written as people write them, are read back value for value."""

from __future__ import annotations

import pandas as pd
import pytest

from solubility_stats.quantities import numeric_columns
from solubility_stats.sheets import read_class

# What the three styles of sheet ask for besides masses, fills, temperature and the own result.
ASKED = {"Mon": set(), "Tue": {"stir_min", "dry_min"}, "Wed": set()}


@pytest.mark.parametrize(("seed", "groups"), [(1, 9), (2, 24), (3, 3)])
def test_messy_sheets_hold_the_recorded_values(here, run, seed, groups):
    result = run("simulate", "--groups", groups, "--messy", "--seed", seed, "--out", "made")
    assert result.status == 0
    truth = pd.read_csv(here / "made" / "runs.csv", dtype={"group": str, "run": str})
    records = read_class(here / "made" / "sheets")
    assert not records.ledger["outcome"].isin(["unclear", "rejected"]).any()
    found = records.runs.set_index(["section", "group"])
    truth = truth.set_index(["section", "group"])
    assert sorted(found.index) == sorted(truth.index)
    found = found.loc[truth.index]
    for section, extra in ASKED.items():
        absent = {"stir_min", "settle_min", "dry_min"} - extra
        for column in set(numeric_columns(truth.columns)) - absent:
            expected = truth.loc[[section], column]
            got = found.loc[[section], column]
            if column == "stir_min" and len(expected) > 2:
                expected, got = expected.drop(expected.index[2]), got.drop(got.index[2])  # "n/a"
            assert got.tolist() == pytest.approx(expected.tolist(), rel=1e-12), (section, column)
