"""Quiz exports that repeat the question on every line."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest

import solubility_stats as ss

Write = Callable[..., Path]
ASKED = [
    "Your group number",
    "Mass of Ca(OH)2 at the start, in g",
    "Volume of water, first measuring cylinder, in mL",
    "Volume of water, second measuring cylinder, in mL",
    "Mass of dry solid, in g",
]
TOLD = {"1": ["2.31", "100", "50", "2.05"], "2": ["2.44", "100", "49", "2.19"],
        "3": ["2.27", "99", "50", "2.01"]}  # fmt: skip


@pytest.mark.parametrize("shuffled", [False, True])
def test_the_question_is_the_heading_of_its_answers(text_table: Write, shuffled: bool) -> None:
    order = random.Random(5)
    heads = [f"{word} {n}" for n in range(1, 6) for word in ("Question", "Response")]
    rows = [["Last name", "Status", *heads, "Remarks"]]
    for group, told in TOLD.items():
        pairs = list(zip(ASKED, [group, *told], strict=True))
        if shuffled:
            order.shuffle(pairs)
        rows.append(["Invented", "Finished", *(t for p in pairs for t in p), "fine"])
    records = ss.read_class(text_table(rows))
    runs = records.runs.set_index("group")
    columns = ["initial_mass_g", "fill_1_ml", "fill_2_ml", "recovered_mass_g"]
    for group, told in TOLD.items():
        assert runs.loc[group, columns].to_list() == [float(t) for t in told]
    assert runs["comment"].eq("fine").all()
    assert "Invented" not in records.ledger.to_string()
