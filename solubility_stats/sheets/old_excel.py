"""``.xls`` workbooks through xlrd, the reader that also tells formats, comments and errors."""

from __future__ import annotations

import io
import struct
from typing import Any

from solubility_stats.errors import UnreadableFileError
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.workbooks import DAMAGED, as_text


def read_xls(source: Source) -> list[Sheet]:
    """Return all sheets of an ``.xls`` file, hidden ones included.

    Raises
    ------
    UnreadableFileError
        If the file is damaged or protected.
    """
    import xlrd

    try:
        book = xlrd.open_workbook(
            str(source.path), formatting_info=True, ragged_rows=True, logfile=io.StringIO()
        )
        return [_sheet(book, sheet, source.label) for sheet in book.sheets()]
    except xlrd.XLRDError as problem:
        if "encrypt" in str(problem).lower():
            raise UnreadableFileError(
                "the workbook is protected by a password",
                where=source.label,
                remedy="Open it with the password and save a copy without one.",
            ) from problem
        raise UnreadableFileError(
            "the workbook is damaged", where=source.label, remedy=DAMAGED
        ) from problem
    except (
        xlrd.compdoc.CompDocError,
        struct.error,
        AssertionError,
        IndexError,
        KeyError,
        TypeError,
        UnicodeError,
        ValueError,
    ) as problem:
        raise UnreadableFileError(
            "the workbook is damaged", where=source.label, remedy=DAMAGED
        ) from problem


def _sheet(book: Any, sheet: Any, label: str) -> Sheet:
    hidden = sheet.visibility != 0
    hidden_rows = {r for r, info in sheet.rowinfo_map.items() if info.hidden}
    hidden_cols = {c for c, info in sheet.colinfo_map.items() if info.hidden}
    comments = {place: note.text.strip() for place, note in sheet.cell_note_map.items()}
    cells: dict[tuple[int, int], RawCell] = {}
    for r in range(sheet.nrows):
        for c, cell in enumerate(sheet.row(r)):
            value, is_error = _value(cell, book.datemode)
            if value is None or value == "":
                continue
            style = book.xf_list[cell.xf_index]
            cells[r + 1, c + 1] = RawCell(
                r + 1,
                c + 1,
                value,
                as_text(value),
                book.format_map[style.format_key].format_str or "General",
                is_error,
                comment=comments.get((r, c)),
                hidden=hidden or r in hidden_rows or c in hidden_cols,
                struck=bool(book.font_list[style.font_index].struck_out),
            )
    merged = tuple((a + 1, c + 1, b, d) for a, b, c, d in sheet.merged_cells)
    notes = ["formulas of this kind of file cannot be seen"]
    if hidden:
        notes.insert(0, "the sheet is hidden")
    return Sheet(label, sheet.name, cells, merged, hidden, book.datemode == 1, tuple(notes))


def _value(cell: Any, datemode: int) -> tuple[object, bool]:
    import xlrd

    if cell.ctype == xlrd.XL_CELL_ERROR:
        return xlrd.error_text_from_code.get(cell.value, "#ERROR!"), True
    if cell.ctype == xlrd.XL_CELL_BOOLEAN:
        return bool(cell.value), False
    if cell.ctype == xlrd.XL_CELL_DATE:
        try:
            return xlrd.xldate_as_datetime(cell.value, datemode), False
        except (xlrd.XLDateError, OverflowError, ValueError):
            return cell.value, False
    if cell.ctype in (xlrd.XL_CELL_EMPTY, xlrd.XL_CELL_BLANK):
        return None, False
    return cell.value, False
