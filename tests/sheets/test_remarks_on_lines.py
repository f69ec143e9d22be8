"""Remarks beside the lines of tables that stand on their side."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

Write = Callable[..., Path]
LINES: list[list[Any]] = [
    ["", "Trial 1", "Trial 2", "Notes"], ["Ca(OH)2 (g)", 2.82, 2.843, None],
    ["Water, first cylinder (mL)", 100, 100, None], ["Water, second cylinder (mL)", 100, 89, None],
    ["Dry solid (g)", 2.41, 2.14, None], ["HCl start (mL)", 0.4, 1.1, None],
    ["HCl end (mL)", 22.1, 42.35, None],
]  # fmt: skip


def _second(workbook: Write, line: int, remark: str) -> pd.Series:
    lines = [list(row) for row in LINES]
    lines[line][-1] = remark
    runs = ss.read_class(workbook({"Group 4": lines})).runs
    assert len(runs) == 2
    return runs.set_index("run").loc["2"]


@pytest.mark.parametrize(
    ("line", "remark", "column", "read"),
    [
        (1, "trial 2 is 2.483 in the notebook, I switched the numbers", "initial_mass_g", 2.483),
        (1, "trial 2 is 2.483 in the notebook", "initial_mass_g", None),
        (1, "trial 2 is 2,483 in the notebook, I switched them", "initial_mass_g", 2.483),
        (1, "trial 1 was weighed twice", "initial_mass_g", 2.843),
        (3, "Trial 2: says 89 but it was 98", "fill_2_ml", 98.0),
        (3, "Trial 2: says 89 but it was 98", "water_volume_ml", 198.0),
        (4, "trial 2 not sure it was all the way dry", "recovered_mass_g", 2.14),
        (4, "trial 2 could be a different last number, coffee", "recovered_mass_g", None),
        (4, "both a bit sticky to scrape off", "recovered_mass_g", 2.14),
        (6, "Trial 2: end is 24.35, I typed 42.35", "burette_end_ml", 24.35),
        (6, "Trial 2: end is 24.35, I typed 42.35", "titrant_ml", 23.25),
        (6, "trial 2 is smudged, cannot read it", "titrant_ml", None),
    ],
)
def test_a_remark_beside_a_line_speaks_of_the_run_it_names(
    workbook: Write, line: int, remark: str, column: str, read: float | None
) -> None:
    value = _second(workbook, line, remark)[column]
    assert (None if pd.isna(value) else value) == read
