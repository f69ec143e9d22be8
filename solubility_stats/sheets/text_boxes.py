"""Text boxes on the sheets of a workbook: what they say stands in no cell.

A box counts like a text in the cell below its upper left corner; one that lies on the table, like a
text below everything.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from solubility_stats.sheets.model import RawCell

_DRAWING = "{http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing}"
_TEXT = "{http://schemas.openxmlformats.org/drawingml/2006/main}"
# A box longer than this is an instruction sheet (judgement).
_LONGEST = 2000


def boxes_in(drawing: bytes) -> Iterator[tuple[int, int, str]]:
    """Yield row and column of the upper left corner, from 1, and the text of every box.

    Parameters
    ----------
    drawing : bytes
        A drawing part (ECMA-376, part 1, 20.5); without entities, or the parser refuses it.
    """
    from openpyxl.xml.functions import fromstring

    tree: Any = fromstring(drawing)
    for anchor in tree:
        corner = anchor.find(f"{_DRAWING}from")
        for shape in anchor.iter(f"{_DRAWING}sp"):
            lines = [
                "".join(run.text or "" for run in paragraph.iter(f"{_TEXT}t"))
                for paragraph in shape.iter(f"{_TEXT}p")
            ]
            text = "\n".join(line.strip() for line in lines if line.strip())
            if corner is not None and text and len(text) <= _LONGEST:
                row, col = (int(corner.find(f"{_DRAWING}{side}").text) + 1 for side in _CORNER)
                yield row, col, text


_CORNER = ("row", "col")


def with_boxes(
    cells: Mapping[tuple[int, int], RawCell], boxes: list[tuple[int, int, str]]
) -> dict[tuple[int, int], RawCell]:
    """Return the cells of a sheet with a text cell for each line of its boxes.

    Parameters
    ----------
    cells : mapping of (int, int) to RawCell
        By row and column.
    boxes : list of (int, int, str)
        As from :func:`boxes_in`.
    """
    done = dict(cells)
    last_row = max((row for row, _ in cells), default=0)
    last_col = max((col for _, col in cells), default=0)
    first_row = min((row for row, _ in cells), default=1)
    for row, col, text in boxes:
        if first_row <= row <= last_row and col <= last_col + 1:
            row, col = max(r for r, _ in done) + 2, 1
        for line in text.split("\n"):
            while (row, col) in done:
                row += 1
            done[row, col] = RawCell(row, col, line, line)
    return done
