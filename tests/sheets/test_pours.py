"""Tables with one filling of the cylinder on each line."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]
HEAD = ["Group", "Lime (g)", "Pour", "Volume poured (mL)", "Dry lime back (g)"]


def test_the_fills_of_a_group_become_one_run(workbook: Write) -> None:
    rows: list[list[Any]] = [
        HEAD,
        [1, 2.888, 1, 50.0, 2.585],
        [None, None, 2, 50.9, None],
        [None, None, "total", 100.9, None],
        [2, 1.999, 1, 50.3, 1.754],
        [None, None, 2, 49.9, None],
        [None, None, 3, 50.2, None],
        [None, None, "total", 150.4, None],
    ]
    records = ss.read_class(workbook({"pours": rows}))
    runs = records.runs
    assert runs["group"].tolist() == ["1", "2"]
    assert runs["fill_1_ml"].tolist() == [50.0, 50.3]
    assert runs["water_volume_ml"].tolist() == pytest.approx([100.9, 150.4])
    assert pd.isna(runs["fill_3_ml"][0])
    assert runs["fill_3_ml"][1] == 50.2
    assert (records.ledger["outcome"] != "unclear").all()


def test_a_line_that_says_more_is_not_folded_away(workbook: Write) -> None:
    rows: list[list[Any]] = [
        HEAD,
        [1, 2.888, 1, 50.0, 2.585],
        [None, None, 2, 50.9, 2.577],
        [2, 1.999, 1, 50.3, 1.754],
        [None, None, 2, 49.9, 1.741],
    ]
    records = ss.read_class(workbook({"pours": rows}))
    assert "fill_2_ml" not in records.runs or records.runs["fill_2_ml"].isna().all()
    assert not records.ledger.query("cell == 'E3'")["outcome"].eq("").any()
