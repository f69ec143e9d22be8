"""``.ods`` workbooks from their own XML: values, formulas, comments, errors, hidden state.

The document format (OASIS OpenDocument 1.3, part 3, chapter 9) repeats cells and rows by count;
only filled cells are kept, so a repeated blank costs nothing.
"""

from __future__ import annotations

import datetime as dt
import zipfile
from typing import Any
from xml.etree.ElementTree import ParseError

from solubility_stats.errors import UnreadableFileError
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.workbooks import DAMAGED, ERROR_TEXTS, as_text

_TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
_OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
_TEXT = "{urn:oasis:names:tc:opendocument:xmlns:text:1.0}"
_STYLE = "{urn:oasis:names:tc:opendocument:xmlns:style:1.0}"
_NUMBER = "{urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0}"
_CALC = "{urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0}"
# A filled cell repeated more often than this is no reading.
_MOST_REPEATS = 20_000
_MOST_BYTES = 150_000_000


def read_ods(source: Source) -> list[Sheet]:
    """Return all sheets of an ``.ods`` file, hidden ones included.

    Raises
    ------
    UnreadableFileError
        If the file is damaged, unsafe or repeats filled cells without measure.
    """
    from defusedxml.common import DefusedXmlException
    from defusedxml.ElementTree import fromstring

    try:
        with zipfile.ZipFile(source.path) as archive:
            if archive.getinfo("content.xml").file_size > _MOST_BYTES:
                raise UnreadableFileError(
                    "the workbook is too large to be a class table", where=source.label
                )
            root = fromstring(archive.read("content.xml"))
    except DefusedXmlException as problem:
        raise UnreadableFileError(
            "the workbook uses XML entities, which real class files never do, and was not opened",
            where=source.label,
        ) from problem
    except (KeyError, ParseError, zipfile.BadZipFile, OSError) as problem:
        raise UnreadableFileError(
            "the workbook is damaged", where=source.label, remedy=DAMAGED
        ) from problem
    hidden_styles = {
        style.get(f"{_STYLE}name")
        for style in root.iter(f"{_STYLE}style")
        for props in style.iter(f"{_STYLE}table-properties")
        if props.get(f"{_TABLE}display") == "false"
    }
    formats = _formats(root)
    tables = root.iter(f"{_TABLE}table")
    return [_sheet(t, hidden_styles, formats, source.label) for t in tables]


def _sheet(
    table: Any, hidden_styles: set[str | None], formats: dict[str, str], label: str
) -> Sheet:
    hidden = table.get(f"{_TABLE}style-name") in hidden_styles
    name = table.get(f"{_TABLE}name", "")
    hidden_cols = _hidden_columns(table)
    cells: dict[tuple[int, int], RawCell] = {}
    merged: list[tuple[int, int, int, int]] = []
    row = 1
    for line in table.iter(f"{_TABLE}table-row"):
        times = int(line.get(f"{_TABLE}number-rows-repeated", 1))
        hidden_row = line.get(f"{_TABLE}visibility") in ("collapse", "filter")
        found = _row(line, row, merged, formats)
        if found and times * len(found) > _MOST_REPEATS:
            raise UnreadableFileError(
                "a filled row is repeated without measure",
                where=f"{label}, sheet {name}",
                found=f"{times} times",
                remedy="Delete what lies below the table.",
            )
        for again in range(times if found else 0):
            for col, fields in found.items():
                shut = hidden or hidden_row or col in hidden_cols
                cells[row + again, col] = RawCell(row + again, col, **fields, hidden=shut)
        row += times
    notes = ("the sheet is hidden",) if hidden else ()
    return Sheet(label, name, cells, tuple(merged), hidden, notes=notes)


def _hidden_columns(table: Any) -> set[int]:
    found: set[int] = set()
    col = 1
    for column in table.iter(f"{_TABLE}table-column"):
        times = int(column.get(f"{_TABLE}number-columns-repeated", 1))
        if column.get(f"{_TABLE}visibility") in ("collapse", "filter"):
            found.update(range(col, min(col + times, 16_385)))
        col += times
    return found


def _row(
    line: Any, row: int, merged: list[tuple[int, int, int, int]], formats: dict[str, str]
) -> dict[int, dict[str, Any]]:
    found: dict[int, dict[str, Any]] = {}
    col = 1
    for cell in line:
        if cell.tag not in (f"{_TABLE}table-cell", f"{_TABLE}covered-table-cell"):
            continue
        times = int(cell.get(f"{_TABLE}number-columns-repeated", 1))
        wide = int(cell.get(f"{_TABLE}number-columns-spanned", 1))
        high = int(cell.get(f"{_TABLE}number-rows-spanned", 1))
        if wide > 1 or high > 1:
            merged.append((row, col, row + high - 1, col + wide - 1))
        fields = _fields(cell, formats)
        if fields is not None:
            for k in range(min(times, _MOST_REPEATS)):
                found[col + k] = fields
        col += times
    return found


def _fields(cell: Any, formats: dict[str, str]) -> dict[str, Any] | None:
    """Return what a filled cell holds, ``None`` for an empty one."""
    shown = "\n".join("".join(p.itertext()) for p in cell.findall(f"{_TEXT}p"))
    kind = cell.get(f"{_OFFICE}value-type")
    formula = cell.get(f"{_TABLE}formula")
    is_error = cell.get(f"{_CALC}value-type") == "error" or (
        formula is not None and shown.strip() in ERROR_TEXTS
    )
    value = shown if is_error else _value(cell, kind, shown)
    if (value is None or value == "") and formula is None:
        return None
    note = cell.find(f"{_OFFICE}annotation")
    comment = None
    if note is not None:
        comment = "\n".join("".join(p.itertext()) for p in note.findall(f"{_TEXT}p")).strip()
    usual = "0.00%" if kind == "percentage" else "General"
    text = as_text(value) if value is not None and value != "" else f"={formula}"
    return {
        "value": None if value == "" else value,
        "text": text,
        "number_format": formats.get(cell.get(f"{_TABLE}style-name", ""), usual),
        "is_error": is_error,
        "formula": None if formula is None else "=" + formula.partition("=")[2],
        "comment": comment or None,
    }


def _value(cell: Any, kind: str | None, shown: str) -> object:
    if kind in ("float", "currency", "percentage"):
        return float(cell.get(f"{_OFFICE}value"))
    if kind == "boolean":
        return cell.get(f"{_OFFICE}boolean-value") == "true"
    if kind == "date":
        text = cell.get(f"{_OFFICE}date-value", "")
        try:
            return dt.datetime.fromisoformat(text)
        except ValueError:
            return text
    return shown


def _formats(root: Any) -> dict[str, str]:
    """Return the number format of each cell style, as far as it fixes the decimals."""
    decimals: dict[str, str] = {}
    for style in root.iter():
        if style.tag in (f"{_NUMBER}number-style", f"{_NUMBER}percentage-style"):
            number = style.find(f"{_NUMBER}number")
            places = None if number is None else number.get(f"{_NUMBER}decimal-places")
            if places is not None:
                code = "0." + "0" * int(places) if int(places) else "0"
                sign = "%" if style.tag.endswith("percentage-style") else ""
                decimals[style.get(f"{_STYLE}name", "")] = code + sign
    return {
        style.get(f"{_STYLE}name", ""): decimals[data]
        for style in root.iter(f"{_STYLE}style")
        if (data := style.get(f"{_STYLE}data-style-name")) in decimals
    }
