from __future__ import annotations

import csv
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

import openpyxl
import pytest

Rows = Sequence[Sequence[object]]


@pytest.fixture
def workbook(tmp_path: Path) -> Callable[..., Path]:
    """Write sheets given as rows to an .xlsx file; returns its path."""

    def write(
        sheets: Mapping[str, Rows], name: str = "class.xlsx", merge: Mapping[str, list[str]] = {}
    ) -> Path:
        book = openpyxl.Workbook()
        book.remove(book.active)
        for title, rows in sheets.items():
            sheet = book.create_sheet(title)
            for row in rows:
                sheet.append(list(row))
            for area in merge.get(title, []):
                sheet.merge_cells(area)
        path = tmp_path / name
        book.save(path)
        return path

    return write


@pytest.fixture
def text_table(tmp_path: Path) -> Callable[..., Path]:
    """Write rows as a text table; returns its path."""

    def write(
        rows: Rows, name: str = "class.csv", delimiter: str = ",", encoding: str = "utf-8"
    ) -> Path:
        path = tmp_path / name
        with path.open("w", encoding=encoding, newline="") as handle:
            csv.writer(handle, delimiter=delimiter).writerows(rows)
        return path

    return write


@pytest.fixture
def filled_cells() -> Callable[[Path], int]:
    """Count the non-empty cells of a workbook or text table without our reader."""

    def count(path: Path) -> int:
        if path.suffix == ".xlsx":
            book = openpyxl.load_workbook(path)
            return sum(
                cell.value not in (None, "")
                for sheet in book.worksheets
                for row in sheet.iter_rows()
                for cell in row
            )
        raise ValueError(path.suffix)

    return count
