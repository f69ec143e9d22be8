"""The sheet parser of openpyxl, extended to keep the stored value and the formula of a cell.

Imported only when a workbook is read, because openpyxl loads slowly.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from typing import Any
from xml.etree import ElementTree

from openpyxl.utils.cell import column_index_from_string, range_boundaries
from openpyxl.worksheet import _reader, merge
from openpyxl.xml.functions import iterparse as guarded_iterparse

# openpyxl comes without types for these parts.
_parts: Any = _reader
_merge: Any = merge
_ROW, _COL, _MERGE = _parts.ROW_TAG, _parts.COL_TAG, _parts.MERGE_TAG
_VALUE, _FORMULA, _INLINE = _parts.VALUE_TAG, _parts.FORMULA_TAG, _parts.INLINE_STRING

_TEXT = _INLINE.removesuffix("is") + "t"

_DATA, _COLS = _parts.DATA_TAG, _ROW.removesuffix("row") + "cols"
# A sheet up to this size is taken in at once; its tree needs about ten times as much memory.
_WHOLE_BYTES = 30_000_000

# row, column, value, type letter, style number, formula
Found = tuple[int, int, Any, str, int, str | None]


class SheetParser(_parts.WorkSheetParser):  # type: ignore[misc]
    """Parses one sheet; skips what cannot hold data.

    Attributes
    ----------
    hidden_cols : set of int
        Hidden columns.
    merged : list of tuple of int
        Merged ranges: first row, first column, last row, last column.
    """

    row_counter: int
    col_counter: int

    def parse(self) -> Iterator[tuple[bool, list[Found]]]:
        """Yield for each row whether it is hidden, and its non-empty cells."""
        self.hidden_cols: set[int] = set()
        self.merged: list[tuple[int, int, int, int]] = []
        self._columns: dict[str, int] = {}
        self._numbers: dict[str, int | float] = {}  # readings repeat: few are distinct
        for element in _elements(self.source):
            tag = element.tag
            if tag == _ROW:
                yield element.get("hidden") in ("1", "true"), self.row_cells(element)
                element.clear()
            elif tag == _COL:
                if element.get("hidden") in ("1", "true"):
                    last = min(int(element.get("max", 0)), 16384)
                    self.hidden_cols.update(range(int(element.get("min", 1)), last + 1))
            elif tag == _MERGE:
                for one in _merge.MergeCells.from_tree(element).mergeCell:
                    left, top, right, bottom = (int(x or 1) for x in range_boundaries(one.ref))
                    self.merged.append((top, left, bottom, right))

    def row_cells(self, row: Any) -> list[Found]:
        """Return the non-empty cells of one row element."""
        number = row.get("r")
        self.row_counter = int(float(number)) if number else self.row_counter + 1
        self.col_counter = 0
        cells: list[Found] = []
        numbers = self._numbers
        for element in row:
            stored = inline = formula = None
            for child in element:
                if child.tag == _VALUE:
                    stored = child.text
                elif child.tag == _FORMULA:
                    formula = _formula_text(self.parse_formula(element))
                elif child.tag == _INLINE:
                    inline = child
            kind, style = element.get("t", "n"), int(element.get("s", 0))
            value: Any = None
            if kind == "n" and stored and style not in self.date_formats:
                value = numbers.get(stored)
                if value is None:
                    value = numbers[stored] = _parts._cast_number(stored)
            elif kind == "s" and stored:
                value = self.shared_strings[int(stored)]
            elif inline is not None and len(inline) == 1 and inline[0].tag == _TEXT:
                value, kind = inline[0].text, "s"
            elif stored or inline is not None:
                cell = self.parse_cell(element)
                value, kind = cell["value"], cell["data_type"]
            col = self.col_counter = self._column_of(element.get("r"))
            if formula is not None or not (value is None or value == ""):
                cells.append((self.row_counter, col, value, kind, style, formula))
        return cells

    def _column_of(self, reference: str | None) -> int:
        """Return the column of a reference; a cell without one follows on from the last."""
        if not reference:
            return int(self.col_counter) + 1
        letters = reference.rstrip("0123456789")
        if letters not in self._columns:
            self._columns[letters] = column_index_from_string(letters)
        return self._columns[letters]


def _elements(stream: Any) -> Iterator[Any]:
    """Yield rows, column settings and merged ranges of a sheet, safely and fast.

    Entities can only be declared in a document type declaration, which a sheet never has. Without
    one the compiled parser is safe; with one, or in an encoding that could hide one, the guarded
    parser reads and refuses entities. It is the slower because it cannot use compiled code.
    """
    content = stream.read()
    plain = content.startswith((b"<", b"\xef\xbb\xbf<")) and b"\x00" not in content[:64]
    declared = re.search(rb"encoding\s*=\s*[\"']([^\"']*)", content[:200])
    usual = declared is None or declared[1].lower() in (b"utf-8", b"us-ascii", b"iso-8859-1")
    if not (plain and usual) or b"<!DOCTYPE" in content or b"<!ENTITY" in content:
        yield from (element for _, element in guarded_iterparse(io.BytesIO(content)))
    elif len(content) > _WHOLE_BYTES:
        yield from (element for _, element in ElementTree.iterparse(io.BytesIO(content)))
    else:
        for part in ElementTree.fromstring(content):
            if part.tag in (_DATA, _COLS):
                yield from part
            else:
                yield part


def _formula_text(formula: Any) -> str:
    text = formula if isinstance(formula, str) else (getattr(formula, "text", None) or "=")
    return text if text.startswith("=") else f"={text}"
