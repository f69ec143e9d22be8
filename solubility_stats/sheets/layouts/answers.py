"""A question over lists of groups with their answers: "Is the beam seen?" over "G1 | no".

The lists may stand side by side, each below the name of its section. They become one table.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.cells import parse_cell
from solubility_stats.sheets.codes import are_codes
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.model import CellContext, RawCell, Sheet
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.view import View, looks_like_number

_FEWEST = 3
_Line = tuple[RawCell | None, RawCell, RawCell]


def answers_listed(sheet: Sheet, know: Know) -> Table | None:
    """Return the lists of answers of a sheet as a table, ``None`` for any other sheet.

    Parameters
    ----------
    sheet : Sheet
        A sheet in which no table was found.
    know : callable
        Reads a stack of heading texts.
    """
    asked = [(c, know((c.text,))) for c in sheet.texts if "?" in c.text or " " in c.text.strip()]
    asked = [(c, reading) for c, reading in asked if _wants_words(reading)]
    if len(asked) != 1:
        return None
    question, reading = asked[0]
    lines = list(_lines(sheet, question, str(reading.column)))
    codes = [(over.text if over else "", code.text.strip()) for over, code, _ in lines]
    several = {over for over, _ in codes}
    if len(lines) < _FEWEST or len(set(codes)) < len(codes) or ("" in several and len(several) > 1):
        return None
    if not are_codes([code for _, code in codes]):
        return None
    used = {(c.row, c.col) for line in lines for c in line if c is not None}
    below = [c for c in sheet.cells.values() if c.row > question.row and (c.row, c.col) not in used]
    if any(map(looks_like_number, below)) or len(below) > len(lines) // 2:
        return None
    return _table(sheet, lines, question, reading)


def _wants_words(reading: Reading) -> bool:
    column = reading.column
    return column is not None and is_canonical(column) and quantity(column).kind in _OF_WORDS


_OF_WORDS = ("choice", "flag")


def _lines(sheet: Sheet, question: RawCell, column: str) -> Iterator[_Line]:
    """Yield each group with what stands over its list and with its answer."""
    kind, context = quantity(column), CellContext(column, heading=question.text)
    over: dict[int, RawCell] = {}
    for (row, col), cell in sorted(sheet.cells.items()):
        if row <= question.row or (row, col - 1) in sheet.cells:
            continue
        answer = sheet.cells.get((row, col + 1))
        if answer is None:
            over[col] = cell
        elif parse_cell(answer, kind, context).value is not None:
            yield over.get(col), cell, answer


def _table(sheet: Sheet, lines: list[_Line], question: RawCell, reading: Reading) -> Table:
    cells: dict[tuple[int, int], RawCell] = {}
    seen: set[tuple[int, int]] = set()
    for row, (over, code, answer) in enumerate(lines, start=2):
        if over is not None:
            home = (over.row, over.col)
            cells[row, 1] = over._replace(merged_from=home) if home in seen else over
            seen.add(home)
        cells[row, 2], cells[row, 3] = code, answer
    view = View(replace(sheet, cells=cells, merged=()))
    columns = [Column(2, (), Reading(("group",))), Column(3, (question,), reading)]
    if seen:
        columns.insert(0, Column(1, (), Reading(("section",))))
    return Table(view, (1,), tuple(view.lines), tuple(columns), ())
