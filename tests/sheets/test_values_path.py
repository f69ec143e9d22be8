"""The values-only path gives the same runs as the full path where both can read a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from solubility_stats.sheets import proof, read_class

Write = Callable[..., Path]


def class_rows(n: int, seed: int = 5) -> list[list[object]]:
    rng = np.random.default_rng(seed)
    head = ["Section", "Group", "m0 (g)", "fill 1 (mL)", "fill 2 (mL)", "m dry (g)", "T (°F)",
            "Filter", "Comments"]  # fmt: skip
    body: list[list[object]] = [
        [f"S{k % 4}", f"G{k}", round(float(2.5 + 0.05 * rng.normal()), 3),
         round(float(100 + rng.normal()), 1), round(float(100 + rng.normal()), 1),
         round(float(2.1 + 0.05 * rng.normal()), 3), round(float(70 + rng.normal()), 1),
         "vac" if k % 2 else "gravity", "mail a@b.edu" if k == 3 else None]
        for k in range(n)
    ]  # fmt: skip
    return [["Results of the lab"], [], head, *body]


def both(path: Path) -> tuple[pd.DataFrame, pd.DataFrame]:
    full, values = read_class(path, path="full"), read_class(path, path="values")
    assert full.account["path"] == "full"
    assert values.account["path"] == "values"
    assert "number formats" in str(values.account["text"])
    assert len(full.ledger) == len(values.ledger)
    assert full.ledger["cell"].tolist() == values.ledger["cell"].tolist()
    assert full.ledger["outcome"].tolist() == values.ledger["outcome"].tolist()
    assert full.ledger["column"].tolist() == values.ledger["column"].tolist()
    assert full.ledger["note"].tolist() == values.ledger["note"].tolist()
    a, b = (r.flags.drop_duplicates(["run_id", "column", "flag"]) for r in (full, values))
    keys = ["run_id", "column", "flag"]
    assert sorted(map(tuple, a[keys].to_numpy())) == sorted(map(tuple, b[keys].to_numpy()))
    return full.runs, values.runs


def same(one: pd.DataFrame, other: pd.DataFrame) -> None:
    left, right = (f.drop(columns="source_cells") for f in (one, other))
    pd.testing.assert_frame_equal(left, right, check_dtype=False)


def test_a_clean_sheet(workbook: Write) -> None:
    same(*both(workbook({"Data": class_rows(60)})))


def test_odd_cells_in_a_clean_sheet(workbook: Write) -> None:
    rows = class_rows(40)
    rows[10][2], rows[11][3], rows[12][4] = "2.51 g", "lost", None
    rows[13][5], rows[14][2], rows[15][6] = "~2.1", 2510, "21.5 °C"
    one, other = both(workbook({"Data": rows}))
    same(one, other)
    assert other["water_volume_ml"].isna().sum() == 2


def test_groups_that_stand_twice(workbook: Write) -> None:
    rows = class_rows(30)
    rows.append([*rows[5]])
    rows.append([*rows[6][:5], 2.2, *rows[6][6:]])
    one, other = both(workbook({"Data": rows}))
    same(one, other)
    assert (other["set_aside"] != "").sum() == 2


def test_what_is_not_plain_goes_the_full_way(workbook: Write) -> None:
    rows = [*class_rows(30), ["", "Mean", 2.5, 100, 100, 2.1, 70]]
    records = read_class(workbook({"Data": rows}), path="values")
    assert records.n == 30
    assert (records.ledger["outcome"] == "ignored").sum() == 6


def test_auto_takes_the_values_path_only_if_nothing_is_missed(
    workbook: Write, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(proof, "LARGE_BYTES", 1000)
    clean = workbook({"Data": class_rows(40)})
    assert read_class(clean).account["path"] == "values"
    rows = class_rows(40)
    rows[8][3] = "=50+50"
    formulas = workbook({"Data": rows}, name="formulas.xlsx")
    assert read_class(formulas).account["path"] == "full"


def test_a_table_away_from_the_first_cell(workbook: Write) -> None:
    rows = [[], [], *([None, None, *row] for row in class_rows(40)[2:])]
    one, other = both(workbook({"Data": rows}))
    same(one, other)
    assert one["source_cells"].iloc[0].startswith("C4:")


def test_an_empty_sheet_beside(workbook: Write) -> None:
    same(*both(workbook({"Empty": [], "Data": class_rows(40)})))
