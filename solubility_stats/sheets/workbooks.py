"""Workbooks: every non-empty cell with value, formula, format, comment and hidden state.

An ``.xlsx`` file is read in one pass by the sheet parser of openpyxl, extended to keep the value a
spreadsheet program stored *and* the formula beside it; loading the workbook twice would give the
same at twice the cost. Other kinds come through calamine, which gives values and merged ranges
but neither formats, comments, formulas nor which cells are errors.
"""

from __future__ import annotations

import datetime as dt
import warnings
import zipfile
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import ParseError

from solubility_stats.errors import UnreadableFileError
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.text_boxes import boxes_in, with_boxes

if TYPE_CHECKING:
    from openpyxl.reader.excel import ExcelReader

Merged = tuple[tuple[int, int, int, int], ...]
# calamine lays a sheet out as a full rectangle; a stray cell in the last corner of a sheet would
# cost gigabytes.
MAX_RECTANGLE = 30_000_000
ERROR_TEXTS = frozenset(
    {"#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#N/A", "#NUM!", "#NULL!", "#SPILL!", "#CALC!"}
)
DAMAGED = "Open it in a spreadsheet program, save it as a new .xlsx file and try again."


def as_text(value: object) -> str:
    """Return a raw value the way the ledger shows it."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, float):
        return f"{value:.15g}"
    if isinstance(value, dt.datetime):
        return value.isoformat(sep=" ")
    return str(value)


def read_workbook(source: Source) -> list[Sheet]:
    """Return all sheets of an ``.xlsx`` file, hidden ones included.

    Raises
    ------
    UnreadableFileError
        If the file is damaged, unsafe or holds no cell.
    """
    from defusedxml.common import DefusedXmlException
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        with warnings.catch_warnings():
            # openpyxl warns about extensions it will not save again; nothing is saved here.
            warnings.simplefilter("ignore")
            return list(_sheets(source))
    except DefusedXmlException as problem:
        raise UnreadableFileError(
            "the workbook uses XML entities, which real class files never do, and was not opened",
            where=source.label,
        ) from problem
    except (
        InvalidFileException,
        zipfile.BadZipFile,
        ParseError,
        KeyError,
        ValueError,
        TypeError,
        IndexError,
        AttributeError,
        OSError,
    ) as problem:
        raise UnreadableFileError(
            "the workbook is damaged", where=source.label, remedy=DAMAGED
        ) from problem


def _sheets(source: Source) -> Iterator[Sheet]:
    from openpyxl.packaging import relationship
    from openpyxl.reader.excel import ExcelReader
    from openpyxl.styles.stylesheet import apply_stylesheet

    with source.path.open("rb") as handle:
        reader = ExcelReader(handle, data_only=True, keep_links=False)
        reader.read_manifest()
        reader.read_strings()
        reader.read_workbook()
        apply_stylesheet(reader.archive, reader.wb)
        styles = _styles(reader)
        names: Any = relationship
        for sheet, relation in reader.parser.find_sheets():
            if relation.target not in reader.valid_files:
                continue
            if "chartsheet" in relation.Type:
                continue
            relations = relationship.RelationshipList()
            path = names.get_rels_path(relation.target)
            if path in reader.valid_files:
                relations = relationship.get_dependents(reader.archive, path)
            yield _sheet(reader, sheet, relation.target, relations, styles, source.label)
        reader.archive.close()


def _styles(reader: ExcelReader) -> list[tuple[str, bool]]:
    """Return number format and strike-out of every cell style."""
    from openpyxl.styles.numbers import BUILTIN_FORMATS, BUILTIN_FORMATS_MAX_SIZE

    book: Any = reader.wb
    found = []
    for style in book._cell_styles:
        number = style.numFmtId
        if number < BUILTIN_FORMATS_MAX_SIZE:
            code = BUILTIN_FORMATS.get(number, "General")
        else:
            code = book._number_formats[number - BUILTIN_FORMATS_MAX_SIZE]
        found.append((code, bool(book._fonts[style.fontId].strike)))
    return found


def _sheet(
    reader: ExcelReader,
    sheet: Any,
    target: str,
    relations: Any,
    styles: list[tuple[str, bool]],
    label: str,
) -> Sheet:
    from openpyxl.utils import get_column_letter
    from openpyxl.utils.datetime import MAC_EPOCH

    from solubility_stats.sheets.sheet_xml import SheetParser

    comments = _comments(reader, relations)
    hidden_sheet = sheet.state not in (None, "visible")
    book: Any = reader.wb
    with reader.archive.open(target) as stream:
        parser = SheetParser(
            stream,
            reader.shared_strings,
            True,
            book.epoch,
            book._date_formats,
            book._timedelta_formats,
        )
        cells = _cells(parser, styles, comments, hidden_sheet)
    notes = ["the sheet is hidden"] if hidden_sheet else []
    drawn = [r.target for r in relations if r.Type.endswith("/drawing")]
    drawings = [reader.archive.read(target) for target in drawn]
    boxes = [box for drawing in drawings for box in boxes_in(drawing)]
    if boxes:
        cells = with_boxes(cells, boxes)
        where = ", ".join(f"{get_column_letter(col)}{row}" for row, col, _ in boxes)
        notes.append(f"text boxes were read like cells ({where})")
    if any(b"graphicFrame" in drawing or b":pic>" in drawing for drawing in drawings):
        notes.append("charts and pictures on the sheet cannot be read")
    return Sheet(
        file=label,
        name=sheet.name,
        cells=cells,
        merged=tuple(parser.merged),
        hidden=hidden_sheet,
        date_1904=book.epoch == MAC_EPOCH,
        notes=tuple(notes),
    )


def _comments(reader: ExcelReader, relations: Any) -> dict[str, str]:
    from openpyxl.comments import comment_sheet
    from openpyxl.xml.constants import COMMENTS_NS
    from openpyxl.xml.functions import fromstring

    sheets: Any = comment_sheet

    found: dict[str, str] = {}
    for relation in relations.find(COMMENTS_NS):
        part = sheets.CommentSheet.from_tree(fromstring(reader.archive.read(relation.target)))
        found.update({ref: comment.text.strip() for ref, comment in part.comments})
    return found


def _cells(
    parser: Any,
    styles: list[tuple[str, bool]],
    comments: Mapping[str, str],
    hidden_sheet: bool,
) -> dict[tuple[int, int], RawCell]:
    notes = {_place(ref): text for ref, text in comments.items()}
    made: dict[tuple[int, int], RawCell] = {}
    shown: dict[float, str] = {}
    for hidden_row, cells in parser.parse():
        hidden_all = hidden_sheet or hidden_row
        for row, col, value, kind, style, formula in cells:
            code, struck = styles[style]
            # A formula without stored value shows itself; an error cell keeps its text.
            if kind == "s":
                text = value
            elif value.__class__ is float and value:
                text = shown.get(value) or shown.setdefault(value, as_text(value))
            else:
                text = formula if value is None else as_text(value)
            made[row, col] = RawCell(
                row,
                col,
                value,
                text or "",
                code,
                kind == "e",
                formula,
                notes.get((row, col)),
                hidden_all or col in parser.hidden_cols,
                struck,
            )
    return made


def _place(reference: str) -> tuple[int, int]:
    from openpyxl.utils.cell import coordinate_to_tuple

    row, col = coordinate_to_tuple(reference)
    return int(row), int(col)


def read_other(source: Source) -> list[Sheet]:
    """Return all sheets of an ``.xlsb`` file.

    Raises
    ------
    UnreadableFileError
        If the file is damaged or protected.
    """
    import python_calamine as calamine

    try:
        _check_extent(source)
        book = calamine.CalamineWorkbook.from_path(str(source.path))
        sheets = []
        for info in book.sheets_metadata:
            if info.typ != calamine.SheetTypeEnum.WorkSheet:
                continue
            sheets.append(_other_sheet(book.get_sheet_by_name(info.name), info, source))
    except calamine.PasswordError as problem:
        raise UnreadableFileError(
            "the workbook is protected by a password",
            where=source.label,
            remedy="Open it with the password and save a copy without one.",
        ) from problem
    except (calamine.CalamineError, OSError, ValueError) as problem:
        raise UnreadableFileError(
            "the workbook is damaged", where=source.label, remedy=DAMAGED
        ) from problem
    return sheets


def _check_extent(source: Source) -> None:
    """Refuse a sheet whose full rectangle would exhaust the memory, before it is laid out."""
    with zipfile.ZipFile(source.path) as archive:
        for name in archive.namelist():
            if name.startswith("xl/worksheets/") and name.endswith(".bin"):
                rows, cols = _extent(archive.read(name))
                if rows * cols > MAX_RECTANGLE:
                    raise UnreadableFileError(
                        "a sheet is too large to be a class table",
                        where=source.label,
                        found=f"{rows} rows × {cols} columns",
                        remedy="Delete what lies far below or to the right of the table.",
                    )


def _extent(content: bytes) -> tuple[int, int]:
    """Return rows and columns of a binary sheet part.

    Records are a type and a length of seven bits per byte, then data; a row (type 0) begins with
    its row number, a cell (types 1 to 11) with its column number (Microsoft [MS-XLSB] 2.1.4).
    """
    rows = cols = at = 0
    while at < len(content):
        kind, at = _seven_bits(content, at, 2)
        size, at = _seven_bits(content, at, 4)
        number = int.from_bytes(content[at : at + 4], "little")
        if kind == 0:
            rows = max(rows, number + 1)
        elif kind <= 11:
            cols = max(cols, number + 1)
        at += size
    return rows, cols


def _seven_bits(content: bytes, at: int, most: int) -> tuple[int, int]:
    value = 0
    for k in range(most):
        byte = content[at] if at < len(content) else 0
        value |= (byte & 0x7F) << 7 * k
        at += 1
        if not byte & 0x80:
            break
    return value, at


def _other_sheet(sheet: Any, info: Any, source: Source) -> Sheet:
    import python_calamine as calamine

    hidden = info.visible != calamine.SheetVisibleEnum.Visible
    cells: dict[tuple[int, int], RawCell] = {}
    for i, row in enumerate(sheet.to_python(skip_empty_area=False), start=1):
        for j, value in enumerate(row, start=1):
            if value is None or value == "":
                continue
            is_error = isinstance(value, str) and value in ERROR_TEXTS
            cells[i, j] = RawCell(i, j, value, as_text(value), is_error=is_error, hidden=hidden)
    ranges = sheet.merged_cell_ranges or []
    merged = tuple((a + 1, b + 1, c + 1, d + 1) for (a, b), (c, d) in ranges)
    notes = ["formats, comments, hidden rows and formulas of this kind of file cannot be seen"]
    if hidden:
        notes.append("the sheet is hidden")
    return Sheet(source.label, info.name, cells, merged, hidden, notes=tuple(notes))
