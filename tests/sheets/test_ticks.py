"""Answers ticked side by side below one question."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd

import solubility_stats as ss

Write = Callable[..., Path]


def test_a_tick_below_an_answer_is_that_answer(workbook: Write) -> None:
    rows: list[list[Any]] = [
        [None, None, None, "Filtered with", None, "Weight constant?", None, None],
        ["Group", "Weight before (g)", "Water (mL)", "vacuum", "gravity", "yes", "no",
         "Weight after, dry (g)"],
        [1, 2.48, 200.4, None, "✓", "✓", None, 2.15],
        [2, 2.36, 200.2, "✓", None, None, "✓", 2.03],
        [3, 2.35, 199.9, "✓", "✓", "✓", None, 2.01],
    ]  # fmt: skip
    path = workbook({"Checklist": rows}, merge={"Checklist": ["D1:E1", "F1:G1"]})
    runs = ss.read_class(path).runs
    assert runs["filtration"].tolist()[:2] == ["gravity", "vacuum"]
    assert pd.isna(runs["filtration"][2])  # two ticks say nothing
    assert runs["constant_mass"].tolist() == [True, False, True]
    assert runs["initial_mass_g"].tolist() == [2.48, 2.36, 2.35]
