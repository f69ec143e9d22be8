"""Cells merged at random in sheets of others: the reader keeps every cell and never stops."""

from __future__ import annotations

from pathlib import Path

import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.worksheet.cell_range import CellRange

import solubility_stats as ss

OTHERS = Path(__file__).parent / "others"
# Small ones of every kind of layout; the seed of the choice is the order of their names.
FILES = [p for p in sorted(OTHERS.glob("*.xlsx")) if p.stat().st_size < 9_000][::9]

areas = st.tuples(*(st.integers(1, n) for n in (20, 8)), st.integers(0, 3), st.integers(0, 3))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("merged")


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.sampled_from(FILES), st.lists(areas, min_size=1, max_size=6))
def test_merged_cells_never_stop_the_reader(
    folder: Path, path: Path, merged: list[tuple[int, int, int, int]]
) -> None:
    book = openpyxl.load_workbook(path)
    for sheet in book.worksheets:
        taken = [CellRange(str(r)) for r in sheet.merged_cells.ranges]
        for row, col, down, right in merged:
            area = CellRange(min_row=row, max_row=row + down, min_col=col, max_col=col + right)
            if area.size["rows"] * area.size["columns"] > 1 and not any(
                area.intersection(other) if not area.isdisjoint(other) else False for other in taken
            ):
                sheet.merge_cells(str(area))  # what the others of its cells held is gone
                taken.append(area)
    book.save(changed := folder / "merged.xlsx")
    filled = sum(
        cell.value not in (None, "")
        for sheet in openpyxl.load_workbook(changed).worksheets
        for row in sheet.iter_rows()
        for cell in row
    )
    assert len(ss.read_class(changed).ledger) == filled
