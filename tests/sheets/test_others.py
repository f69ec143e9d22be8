"""Sheets by hands that never saw the reader: all their values, nothing wrong, none invented.

The files in ``others/`` were each written in the voice of an invented instructor, assistant or
student, with the truth beside them, and read for the first time after they were finished. All
persons, schools and quantities are invented.
"""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss

OTHERS = Path(__file__).parent / "others"
FILES = sorted(p.with_suffix("") for p in OTHERS.glob("*.json"))
# A run that holds none of these is a group that was listed and handed nothing in.
WEIGHED = ("initial_mass_g", "recovered_mass_g", "recovered_with_paper_mass_g", "titrant_ml",
           "dish_residue_mass_g", "wet_cake_mass_g")  # fmt: skip


def same(found: object, expected: object) -> bool:
    """Tell whether a value was read as it is."""
    if isinstance(expected, (bool, str)):
        return str(found).casefold() == str(expected).casefold()
    if not isinstance(found, (int, float)) or not isinstance(expected, (int, float)):
        return False
    return math.isclose(found, expected, rel_tol=1e-6, abs_tol=1e-9)


def is_missing(found: object) -> bool:
    """Tell whether there is no value."""
    return found is None or found is pd.NA or found is pd.NaT or found != found


def code(text: object) -> str:
    """Return a group code as two people would compare it: no word before it, no leading zero."""
    words = "" if is_missing(text) else str(text).casefold().strip()
    for word in ("group", "team", "bench", "grp", "table", "pair", "station"):
        words = words.removeprefix(word).strip(" .:#-_")
    return words.lstrip("0") or words


def differences(path: Path) -> list[str]:
    """Return what is lost, wrong or invented in one file."""
    truth = json.loads(path.with_name(f"{path.name}.json").read_text(encoding="utf-8"))
    rows: list[dict[str, Any]] = ss.read_class(path).runs.to_dict("records")
    wrong: list[str] = []
    for run in truth["runs"]:
        mine = [r for r in rows if run["group"] is None or code(r["group"]) == code(run["group"])]
        mine.sort(key=lambda r: -sum(same(r.get(c), v) for c, v in run["values"].items()))
        if not mine:
            wrong.append(f"group {run['group']} is missing")
            continue
        rows.remove(mine[0])
        for column, value in run["values"].items():
            if not same(found := mine[0].get(column), value):
                wrong.append(f"group {run['group']} {column}: {found!r} for {value!r}")
        for column in run["unclear"]:
            if not is_missing(mine[0].get(column)):
                wrong.append(f"group {run['group']} {column}: {mine[0][column]!r} is not clear")
    for row in rows:
        if row["set_aside"] == "" and any(not is_missing(row.get(c)) for c in WEIGHED):
            wrong.append(f"invented: {row['run_id']}")
    return wrong


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.name)
def test_a_sheet_of_somebody_else(path: Path) -> None:
    assert differences(path) == []


def test_there_are_many() -> None:
    assert len(FILES) > 100
