"""Columns that hold two readings in one cell: "Burette start / end (mL)" over "0.37 / 11.92".

Both halves of the heading must name a reading of ours. Each cell is then read as two, the second
at a place of its own behind the table; in the ledger it stays one cell.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from copy import copy
from dataclasses import replace

from solubility_stats.sheets.header import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.tables import Column, Table
from solubility_stats.sheets.units import known_unit, unit_in_heading
from solubility_stats.sheets.view import View

# "A / B" over "1.2 / 1.3", and "A − B" over "3.29 − 0.97".
_BETWEEN = r"(?:\s*[/|→;]\s*|\s[−–-]\s)"
_HEADING = re.compile(rf"(?P<one>[^/|→;]*?[^\W\d_]{{2}}[^/|→;]*?){_BETWEEN}(?P<two>[^/|→;]{{2,}})")
_CELL = re.compile(rf"\s*(?P<one>\d[^/|→;]*?){_BETWEEN}(?P<two>\d[^/|→;−–]*?)\s*")
# A few cells may hold one of the two only, or a word (judgement).
_MOST = 0.6


def with_pairs_split(table: Table, know: Know) -> Table:
    """Return a table with each column of pairs read as two columns."""
    view = table.view
    paired = [(c, halves) for c in table.columns if (halves := _halves(c, know))]
    if not paired or any(p > table.last for i in table.lines for p in view.along[i]):
        return table  # no pairs, or another table stands where the second halves would go
    for column, halves in paired:
        cells = {i: c for i in table.lines if (c := view.cells.get((i, column.place))) is not None}
        split = {i: m for i, c in cells.items() if (m := _CELL.fullmatch(c.text))}
        if split and len(split) >= _MOST * len(cells):
            table = _split(table, column, halves, split)
    return table


def _halves(column: Column, know: Know) -> tuple[Reading, Reading] | None:
    if not column.cells or column.reading.column == "filtration":
        return None
    rest, unit = unit_in_heading(column.heading)
    said = _HEADING.fullmatch(rest.strip())
    if said is None or known_unit(said["two"].strip()):
        return None
    tail = f" ({unit})" if unit else ""
    for one, two in _wordings(said["one"], said["two"]):
        first, second = know((one + tail,)), know((two + tail,))
        if first.column and second.column and first.column != second.column:
            return first, second
    return None


def _wordings(one: str, two: str) -> Iterator[tuple[str, str]]:
    """Yield what two halves may mean in full: "burette start", "end" shares the burette."""
    yield one, two
    yield one, " ".join([*one.split()[:-1], two])
    yield " ".join([one, *two.split()[1:]]), two


def _split(
    table: Table, column: Column, halves: tuple[Reading, Reading], split: dict[int, re.Match[str]]
) -> Table:
    place = table.last + 1
    view: View = copy(table.view)
    view.cells = dict(table.view.cells)
    view.along = defaultdict(list, {i: list(places) for i, places in table.view.along.items()})
    for i, match in split.items():
        cell = view.cells[i, column.place]
        view.cells[i, column.place] = _part(cell, match["one"])
        view.cells[i, place] = _part(cell, match["two"])
        view.along[i].append(place)
    columns = tuple(replace(c, reading=halves[0]) if c is column else c for c in table.columns)
    return replace(
        table, view=view, columns=(*columns, replace(column, place=place, reading=halves[1]))
    )


def _part(cell: RawCell, text: str) -> RawCell:
    return replace(cell, value=text, text=text)
