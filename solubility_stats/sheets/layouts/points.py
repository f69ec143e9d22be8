"""Exports of a test or survey: behind each question the points it gives, "1.0" down the column."""

from __future__ import annotations

from dataclasses import replace

from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.view import looks_like_number

_FEWEST_QUESTIONS = 3
_POINTS = Entry("ignored", note="points for the answer beside it")


def without_points(sheet: Sheet, book: Book) -> Sheet:
    """Return a sheet without the columns of points; the other cells keep their addresses.

    Such a column is headed by the number of points and holds that number or nothing but zeros.
    """
    top = min((row for row, _ in sheet.cells), default=0)
    heads = {col: cell for (row, col), cell in sheet.cells.items() if row == top}
    numbers = {col: c.text.strip() for col, c in heads.items() if looks_like_number(c)}
    if len(numbers) < _FEWEST_QUESTIONS:
        return sheet
    below: dict[int, set[str]] = {}
    for (row, col), cell in sheet.cells.items():
        if row > top and col in numbers:
            below.setdefault(col, set()).add(cell.text.strip())
    points = sorted(
        col
        for col, number in numbers.items()
        if _is_question(heads.get(col - 1)) and below.get(col, set()) <= {number, "0", "0.0"}
    )
    if len(points) < _FEWEST_QUESTIONS:
        return sheet
    cells = {}
    for (row, col), cell in sheet.cells.items():
        if col in points:
            book.enter(cell, _POINTS)
        else:
            cells[row, col - sum(p < col for p in points)] = cell
    return replace(sheet, cells=cells)


def _is_question(cell: RawCell | None) -> bool:
    return cell is not None and isinstance(cell.value, str) and not looks_like_number(cell)
