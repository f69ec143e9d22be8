"""Readings on lines of their own below the line of their group, each with its name before it.

"1 | 2.24 | 1.97 | vacuum" over "first fill | 100.5 ml", "water was | 22 °C", "stirred | 10 min".
Each name becomes a column beside the line of the group, which is the layout the reader has. Cells
keep their addresses. Fills alone are left to :mod:`indented`, which knows
of sums and of lines without a name.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

from solubility_stats.quantities import fill_columns
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.layouts.indented import without_rows
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.units import known_unit
from solubility_stats.sheets.view import looks_like_number

_FEWEST_RUNS = 2
_FULL = 3
# Nearly every group has such lines; a mean below each class is nobody's reading (judgement).
_MOST_GROUPS = 0.8
# So many of the names are headings that are understood (judgement).
_KNOWN = 0.6
_Row = dict[int, RawCell]


@dataclass
class _Run:
    """The line of a group, and the lines below it: name, value if any, unit if any."""

    row: int
    below: list[list[RawCell]] = field(default_factory=list)


def with_readings_beside(sheet: Sheet, know: Know, book: Book) -> Sheet:
    """Return a sheet with the readings named below a group on its line, any other as it is.

    Parameters
    ----------
    sheet : Sheet
        A sheet as read from the file.
    know : callable
        Reads a stack of heading texts.
    book : Book
        The ledger of the sheet, in which the names that come again are entered.
    """
    rows = sheet.by_row()
    runs = _runs(rows)
    if len(runs) < _FEWEST_RUNS or not _are_readings(runs, know):
        return sheet
    if not (head := _heading(rows, runs[0].row)):
        return sheet
    lines = [r for r, cells in rows.items() if r > head and _holds_group(cells, rows[head])]
    taken = {line[0].row for run in runs for line in run.below}
    if len(runs) < _MOST_GROUPS * len([r for r in lines if r not in taken]):
        return sheet
    cells = dict(sheet.cells)
    last = max(col for row, col in cells if row >= head)
    for at, (name, nth) in enumerate(_names(runs), start=1):
        first: RawCell | None = None
        for run in runs:
            line = next(iter(_lines_of(run, name)[nth : nth + 1]), None)
            if line is None:
                continue
            mark, value = line[0], line[1] if len(line) > 1 else line[0].saying("?")
            if len(line) > 2:
                value = value.saying(f"{value.text} {line[2].text.strip()}")
                book.enter(line[2], Entry("context", note="unit of the reading"))
            if first is None:
                first = mark
                cells[head, last + at] = mark
            else:
                book.enter(mark, Entry("context", note="names a reading of the group above"))
            cells[run.row, last + at] = value
    return without_rows(sheet, cells, taken)


def _runs(rows: dict[int, _Row]) -> list[_Run]:
    """Return the full lines with lines of a name and its value right below them."""
    found: list[_Run] = []
    for above, row in pairwise(rows):
        line = list(rows[row].values())
        open_run = found[-1] if found and found[-1].below[-1][0].row == above else None
        if row != above + 1 or not _is_named(line):
            continue
        if open_run is not None and open_run.below[-1][0].col == line[0].col:
            open_run.below.append(line)
        elif _holds_group(rows[above], rows[above]) and line[0].col in rows[above]:
            found.append(_Run(above, [line]))
    places = Counter(run.below[0][0].col for run in found)
    usual = max(places, key=places.__getitem__, default=0)
    return [run for run in found if run.below[0][0].col == usual]


def _is_named(line: Sequence[RawCell]) -> bool:
    """Tell whether a line holds a name, with its value next to it and perhaps a unit behind."""
    if len(line) > _FULL or looks_like_number(line[0]) or not isinstance(line[0].value, str):
        return False
    beside = all(b.col == a.col + 1 for a, b in pairwise(line))
    third = len(line) < _FULL or known_unit(line[2].text.strip()) is not None
    return beside and third


def _holds_group(cells: _Row, heading: _Row) -> bool:
    """Tell whether a line has a cell in the first place of the headings, and readings behind."""
    numbers = sum(looks_like_number(c) for c in list(cells.values())[1:])
    return len(cells) >= _FULL and min(heading) in cells and numbers > 0


def _are_readings(runs: Sequence[_Run], know: Know) -> bool:
    """Tell whether the names come again from group to group and most are headings of ours.

    Fills alone, with or without their sum, are another layout.
    """
    names = Counter(line[0].text.strip() for run in runs for line in run.below)
    again = [name for name, times in names.items() if times > 1]
    meant = {name: column for name in again if (column := know((name,)).column)}
    other = set(meant.values()) - {*fill_columns(meant.values()), "water_volume_ml"}
    lines = sum(names.values())
    known = sum(names[name] for name in meant)
    spoken = any(not name.replace(" ", "").isdigit() for name in meant)
    return bool(other) and spoken and known >= _KNOWN * lines


def _heading(rows: dict[int, _Row], first: int) -> int:
    """Return the line of headings above the first group, 0 for none."""
    above = [row for row in rows if row < first]
    full = [row for row in above if len(rows[row]) >= _FULL]
    named = [row for row in full if not any(map(looks_like_number, rows[row].values()))]
    return named[-1] if named else 0


def _names(runs: Sequence[_Run]) -> list[tuple[str, int]]:
    """Return the names in their order, one that a group has twice with a place for each time."""
    found: dict[str, int] = {}
    for run in runs:
        for name, times in Counter(line[0].text.strip() for line in run.below).items():
            found[name] = max(found.get(name, 0), times)
    return [(name, nth) for name, times in found.items() for nth in range(times)]


def _lines_of(run: _Run, name: str) -> list[list[RawCell]]:
    return [line for line in run.below if line[0].text.strip() == name]
