"""What the parts of the reader pass to one another: raw cells, sheets and parsed cells.

A raw cell is what a file says, typed and addressed, before anybody interprets it. Interpretation
never changes a raw cell; it adds a :class:`ParsedCell` beside it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, NamedTuple

Outcome = Literal["used", "converted", "context", "ignored", "unclear", "rejected"]
Decimal = Literal[".", ","]
DateOrder = Literal["dmy", "mdy", "ymd"]


def column_letters(col: int) -> str:
    """Return the spreadsheet letters of a 1-based column number (28 gives ``AB``)."""
    letters = ""
    while col > 0:
        col, rest = divmod(col - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def column_number(letters: str) -> int:
    """Return the 1-based number of a column from its letters (``AB`` gives 28)."""
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number


def address(row: int, col: int) -> str:
    """Return the spreadsheet address of a 1-based row and column (7, 2 gives ``B7``)."""
    return f"{column_letters(col)}{row}"


class RawCell(NamedTuple):
    """One non-empty cell as the file holds it.

    A named tuple, because a sheet has tens of thousands and a frozen dataclass takes five times as
    long to make.

    Attributes
    ----------
    row, col : int
        Position, counted from 1.
    value : object
        Typed value: ``str``, ``int``, ``float``, ``bool``, ``datetime``, ``date``, ``time`` or
        ``timedelta``. For a formula the value the spreadsheet program stored last, ``None`` if
        none is stored. For an error cell the error text, e.g. ``#DIV/0!``.
    text : str
        What the ledger shows.
    number_format : str
        Number format code of a workbook cell; ``General`` where the file kind has none.
    is_error : bool
        The cell holds a spreadsheet error.
    formula : str or None
        Formula text with its leading ``=``.
    comment : str or None
        Text of the cell's comment.
    hidden : bool
        The row, column or sheet is hidden.
    struck : bool
        The whole cell is struck out.
    merged_from : tuple of int or None
        Row and column of the top-left cell, for a cell filled from a merged range. Such a cell
        is a shadow: it is not a cell of the file and has no ledger row.
    """

    row: int
    col: int
    value: object
    text: str
    number_format: str = "General"
    is_error: bool = False
    formula: str | None = None
    comment: str | None = None
    hidden: bool = False
    struck: bool = False
    merged_from: tuple[int, int] | None = None

    @property
    def address(self) -> str:
        """Spreadsheet address, e.g. ``B7``."""
        return address(self.row, self.col)

    def saying(self, text: str) -> RawCell:
        """Return the cell with another text as its value: a part of what it holds."""
        return self._replace(value=text, text=text)


@dataclass(frozen=True, slots=True)
class CellContext:
    """What the surroundings of a cell say about how to read it.

    Attributes
    ----------
    column : str
        Canonical column name, e.g. ``fill_2_ml``.
    unit : str or None
        Unit named in the heading or in a unit row, as written; ``None`` if none is named.
    decimal : str or None
        Decimal mark decided for the column; ``None`` if the column does not tell.
    date_order : str or None
        Order of day and month decided for the file; ``None`` if the file does not tell.
    date_1904 : bool
        Serial numbers count from 1904.
    heading : str
        Heading as written, for messages.
    unit_settled : bool
        The unit was given by a mapping, so a value's size is not held against it.
    in_parts : bool
        Most cells of the column are sums of fills, so that "100, 99.5 and 100" lists fills.
    """

    column: str
    unit: str | None = None
    decimal: Decimal | None = None
    date_order: DateOrder | None = None
    date_1904: bool = False
    heading: str = ""
    unit_settled: bool = False
    in_parts: bool = False


@dataclass(frozen=True, slots=True)
class ParsedCell:
    """What one cell was read as.

    Attributes
    ----------
    value : object or None
        Value in the canonical unit of the column; ``None`` unless the outcome is ``used`` or
        ``converted``.
    outcome : str
        ``used`` as it stands; ``converted`` from another unit or notation; ``context`` for
        headings, captions and units; ``ignored`` with a reason; ``unclear`` where a person has
        to decide; ``rejected`` where the reading cannot be right.
    unit : str
        Canonical unit of ``value``, empty for none.
    decimals : int or None
        Recorded decimals of ``value`` in the canonical unit; ``None`` if the file does not tell.
    flags : tuple of str
        Any of the flags of :class:`solubility_stats.records.ClassRecords`.
    note : str
        What was done or why not, in words a teacher understands; empty for a plain reading.
    uncertainty : float or None
        Half-width written by the group after ``±``, in the canonical unit.
    parts : tuple of float
        What a written sum adds up, in the canonical unit.
    """

    value: object | None
    outcome: Outcome
    unit: str = ""
    decimals: int | None = None
    flags: tuple[str, ...] = ()
    note: str = ""
    uncertainty: float | None = None
    parts: tuple[float, ...] = ()


@dataclass(frozen=True)
class Sheet:
    """One sheet of one file: its non-empty cells by position.

    Attributes
    ----------
    file, name : str
        File name as shown and sheet name (empty for a text file).
    cells : mapping of (int, int) to RawCell
        Non-empty cells only, by row and column counted from 1.
    merged : tuple of (int, int, int, int)
        Merged ranges: first row, first column, last row, last column.
    hidden : bool
        The whole sheet is hidden.
    date_1904 : bool
        Serial numbers count from 1904.
    notes : tuple of str
        Remarks on the reading of this sheet for the account.
    delimiter : str
        Field separator of a text table, empty for a workbook.
    """

    file: str
    name: str
    cells: Mapping[tuple[int, int], RawCell] = field(default_factory=dict)
    merged: tuple[tuple[int, int, int, int], ...] = ()
    hidden: bool = False
    date_1904: bool = False
    notes: tuple[str, ...] = ()
    delimiter: str = ""

    @cached_property
    def texts(self) -> list[RawCell]:
        """The cells that hold text, in the order of the file."""
        return [cell for cell in self.cells.values() if isinstance(cell.value, str)]

    def by_row(self) -> dict[int, dict[int, RawCell]]:
        """Return the cells by row and column, from top to bottom and left to right."""
        rows: dict[int, dict[int, RawCell]] = {}
        for (row, col), cell in sorted(self.cells.items()):
            rows.setdefault(row, {})[col] = cell
        return rows

    def lines(self) -> dict[int, list[RawCell]]:
        """Return the cells of each row from left to right."""
        return {row: list(cells.values()) for row, cells in self.by_row().items()}
