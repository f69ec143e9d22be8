"""A table of a sheet: its columns, its lines, what stands around it."""

from __future__ import annotations

from dataclasses import dataclass

from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.view import View


@dataclass(frozen=True)
class Column:
    """A column of a table: its place along the line, heading cells and what they mean."""

    place: int
    cells: tuple[RawCell, ...]
    reading: Reading

    @property
    def heading(self) -> str:
        """Heading as written, levels joined."""
        return " / ".join(dict.fromkeys(" ".join(c.text.split()) for c in self.cells))


@dataclass(frozen=True)
class Table:
    """A table found in a view.

    Attributes
    ----------
    view : View
        The sheet, upright or turned.
    header : tuple of int
        Heading lines.
    lines : tuple of int
        Lines below that hold a cell within the table's width.
    columns : tuple of Column
        All places of the table from left to right, understood or not.
    caption : tuple of RawCell
        Cells on the lines directly above the headings.
    parts : str
        What tells several readings of one line apart: ``run`` for trials side by side, ``section``
        or ``group`` for blocks of the same headings.
    """

    view: View
    header: tuple[int, ...]
    lines: tuple[int, ...]
    columns: tuple[Column, ...]
    caption: tuple[RawCell, ...]
    parts: str = "run"

    @property
    def first(self) -> int:
        """First place of the table along a line."""
        return self.columns[0].place

    @property
    def last(self) -> int:
        """Last place of the table along a line."""
        return self.columns[-1].place

    @property
    def understood(self) -> int:
        """Number of different columns understood."""
        return len({c.reading.column for c in self.columns if c.reading.column})
