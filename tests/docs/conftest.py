"""Pages of the documentation as the tests see them, and one analysis of the demo semester."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pandas as pd
import pytest

ROOT = Path(__file__).resolve().parents[2]


def _code_blocks(text: str) -> list[tuple[str, str, int]]:
    """Return language, content and first line of each fenced block."""
    found = []
    for match in re.finditer(r"^```(\w*)\n(.*?)^```$", text, flags=re.M | re.S):
        found.append((match[1], match[2], text.count("\n", 0, match.start()) + 2))
    return found


@pytest.fixture(scope="session")
def root() -> Path:
    return ROOT


@pytest.fixture(scope="session")
def code_blocks():
    return _code_blocks


@pytest.fixture(scope="session")
def tables_of():
    """Return a function: heading of a section -> rows (dicts) of the first table below it."""

    def rows(text: str, heading: str) -> list[dict[str, str]]:
        start = text.index(f"## {heading}")
        body = text[start:].split("\n## ", 1)[0]
        lines = [line for line in body.splitlines() if line.startswith("|")]
        cells = [[c.strip() for c in line.strip("|").split("|")] for line in lines]
        return [dict(zip(cells[0], row, strict=True)) for row in cells[2:]]

    return rows


@pytest.fixture(scope="session")
def written(tmp_path_factory):
    """Return what an analysis of the demo semester writes: tables by name, and the summary."""
    import solubility_stats as ss

    demo = ss.datasets.demo_semester()
    out = tmp_path_factory.mktemp("demo")
    done = ss.analyse(demo.files, demo.protocol)
    from solubility_stats.report.exports import write_tables

    paths = write_tables(done, out)
    tables = {p.stem: pd.read_csv(p) for p in paths if p.suffix == ".csv"}
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    return tables, summary
