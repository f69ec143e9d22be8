"""Tables with one filling of the cylinder on each line, below the group it belongs to.

"Group | Lime (g) | Pour | Volume (mL)" over 1, 2, 3 and a total per group becomes one line per run
with a column for each fill. Every cell keeps its address.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from solubility_stats.quantities import fill_column
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.pairs import copied
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.tables import Column, Table
from solubility_stats.sheets.units import dimension_of, unit_in_heading
from solubility_stats.sheets.view import looks_like_number

# What stands before the sum of the fills of a run.
TOTAL = re.compile(
    r"(?:in )?(?:total|sum|all|altogether|gesamt|summe|totale?|razem|totaal)\W*", re.IGNORECASE
)
_FEWEST_RUNS = 2


@dataclass
class _Run:
    """The lines of one run: its first line, its fills in order, and its total."""

    first: int
    fills: list[RawCell] = field(default_factory=list)
    total: RawCell | None = None
    rest: list[int] = field(default_factory=list)


def with_pours_folded(table: Table, book: Book) -> Table:
    """Return a table with the fills of a run on one line, any other table as it is.

    Parameters
    ----------
    table : Table
        A table as found.
    book : Book
        The ledger of its sheet, in which the numbers of the fills are entered.
    """
    for count, volume in zip(table.columns, table.columns[1:], strict=False):
        if _counts_fills(count) and _is_volume(volume):
            runs = _runs(table, count.place, volume.place)
            if len(runs) >= _FEWEST_RUNS and any(len(run.fills) > 1 for run in runs):
                return _folded(table, count, volume, runs, book)
    return table


def _counts_fills(column: Column) -> bool:
    rest, unit = unit_in_heading(column.heading)
    said = concepts_in(rest)
    return unit is None and "fill" in said and said <= {"fill", "count", "water"}


def _is_volume(column: Column) -> bool:
    rest, unit = unit_in_heading(column.heading)
    said = concepts_in(rest)
    volume = unit is not None and dimension_of(unit) == "volume"
    return (volume or "volume" in said) and not said & {"acid", "aliquot", "filtrate", "burette"}


def _runs(table: Table, count: int, volume: int) -> list[_Run]:
    """Return the runs of a table whose fills are counted from 1, empty if they are not."""
    runs: list[_Run] = []
    for line in table.lines:
        mark, read = table.view.get(line, count), table.view.get(line, volume)
        if mark is None:
            if read is None:
                continue  # a note or a blank line
            return []
        number = mark.text.strip().removesuffix(".0").rstrip(".")
        if TOTAL.fullmatch(number) and runs:
            runs[-1].total = read
        elif number == "1":
            runs.append(_Run(line, [read] if read is not None else []))
            continue
        elif runs and number == str(len(runs[-1].fills) + 1) and read is not None:
            runs[-1].fills.append(read)
        else:
            return []
        runs[-1].rest.append(line)
    if any(_says_more(table, run, (count, volume)) for run in runs):
        return []
    return runs


def _says_more(table: Table, run: _Run, known: tuple[int, int]) -> bool:
    """Tell whether a further line of a run holds anything that its first line does not."""
    for line in run.rest:
        for place in table.view.within(line, table.first, table.last):
            cell, above = table.view.cells[line, place], table.view.get(run.first, place)
            if place in known or (above is not None and above.text == cell.text):
                continue
            if looks_like_number(cell):
                return True
    return False


def _folded(table: Table, count: Column, volume: Column, runs: Sequence[_Run], book: Book) -> Table:
    unit = unit_in_heading(volume.heading)[1]
    most = max(len(run.fills) for run in runs)
    names = [fill_column(n) for n in range(1, most + 1)]
    names += ["water_volume_ml"] if any(run.total is not None for run in runs) else []
    places = {name: table.last + 1 + at for at, name in enumerate(names)}
    view = copied(table)
    for run in runs:
        cells = dict(zip(names, run.fills, strict=False))
        if run.total is not None:
            cells["water_volume_ml"] = run.total
        for line in (run.first, *run.rest):
            view.cells.pop((line, volume.place), None)
            mark = view.cells.pop((line, count.place), None)
            if mark is not None:
                book.enter(mark, Entry("context", note="counts the fills of a run"))
        for name, cell in cells.items():
            view.cells[run.first, places[name]] = cell
    dropped = {line for run in runs for line in run.rest}
    view.index()
    kept = [c for c in table.columns if c not in (count, volume)]
    added = [
        replace(volume, place=place, reading=Reading((name,), unit, "pattern"))
        for name, place in places.items()
    ]
    lines = tuple(line for line in table.lines if line not in dropped)
    return replace(table, view=view, lines=lines, columns=(*kept, *added))
