"""Columns that hold two readings in one cell: "Burette start / end (mL)" over "0.37 / 11.92".

Both halves of the heading must name a reading of ours. Each cell is then read as two, the second
at a place of its own behind the table; in the ledger it stays one cell.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from copy import copy
from dataclasses import replace

from solubility_stats.sheets.header import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.tables import Column, Table
from solubility_stats.sheets.units import known_unit, unit_in_heading
from solubility_stats.sheets.view import View

# "A / B" over "1.2 / 1.3", and "A − B" over "3.29 − 0.97".
_BETWEEN = r"(?:\s*[/|→;]\s*|\s[−–-]\s)"
_HEADING = re.compile(rf"(?P<one>[^/|→;]*?[^\W\d_]{{2}}[^/|→;]*?){_BETWEEN}(?P<two>[^/|→;]{{2,}})")
_CELL = re.compile(rf"\s*(?P<one>\d[^/|→;]*?){_BETWEEN}(?P<two>\d[^/|→;−–=]*?)\s*")
# A few cells may hold one of the two only, or a word (judgement).
_MOST = 0.6


def with_pairs_split(table: Table, know: Know, legend: Mapping[str, str]) -> Table:
    """Return a table with each column of pairs read as two columns.

    What a symbol stands for may be a pair as well: "tmr = stirring time / settling time".
    """
    view = table.view
    paired = [(c, halves) for c in table.columns if (halves := _halves(c, know, legend))]
    for column, halves in paired:
        cells = {i: c for i in table.lines if (c := view.cells.get((i, column.place))) is not None}
        split = {i: m for i, c in cells.items() if (m := _CELL.fullmatch(c.text))}
        if split and len(split) >= _MOST * len(cells):
            table = _split(table, column, halves, split)
    return table


# "Dry residue: (paper + residue) - paper" over "2.77 - 1.02 = 1.75 g".
_WORKING_HEADING = re.compile(
    r"\s*(?P<result>[^:=]{3,60}?)\s*[:=]\s*\(?(?P<one>[^:=]+?)\)?\s+[-−–]\s+\(?(?P<two>[^:=]+?)\)?\s*"
)
_WORKING_CELL = re.compile(
    r"\s*(?P<one>\d[\d.,]*)\s*(?:g|mg|mL|ml)?\s*[-−–]\s*(?P<two>\d[\d.,]*)\s*(?:g|mg|mL|ml)?\s*="
    r"\s*(?P<result>\d[\d.,]*)\s*(?P<unit>[^\W\d_]*)\s*"
)


def with_working_split(table: Table, know: Know) -> Table:
    """Return a table with the numbers of a worked difference at places of their own."""
    for column in table.columns:
        said = _WORKING_HEADING.fullmatch(column.heading) if column.cells else None
        if said is None:
            continue
        cells = {i: c for i in table.lines if (c := table.view.cells.get((i, column.place)))}
        worked = {i: m for i, c in cells.items() if (m := _WORKING_CELL.fullmatch(c.text))}
        units = {m["unit"] for m in worked.values() if m["unit"]}
        if not worked or len(worked) < _MOST * len(cells) or len(units) > 1:
            continue
        tail = f" ({units.pop()})" if units else ""
        result = know((said["result"] + tail,))
        columns = tuple(replace(c, reading=result) if c is column else c for c in table.columns)
        table = replace(table, columns=columns)
        for part in ("one", "two"):
            reading = know((said[part].strip("() ") + tail,))
            if reading.column and all(c.reading.column != reading.column for c in table.columns):
                texts = {i: f"{m[part]} {m['unit']}".strip() for i, m in worked.items()}
                table = _with_column(table, column, reading, texts)
    return table


def _with_column(table: Table, column: Column, reading: Reading, texts: dict[int, str]) -> Table:
    """Return a table with a further column behind it, whose cells are parts of those of another."""
    place = table.last + 1
    view = copied(table)
    for i, text in texts.items():
        view.cells[i, place] = view.cells[i, column.place].saying(text)
        view.along[i].append(place)
    return replace(
        table, view=view, columns=(*table.columns, replace(column, place=place, reading=reading))
    )


def copied(table: Table) -> View:
    """Return the view of a table of its own, without what stands behind the table on its lines."""
    view: View = copy(table.view)
    last, lines = table.last, set(table.lines)
    view.cells = {(i, p): c for (i, p), c in view.cells.items() if p <= last or i not in lines}
    view.index()
    return view


def _halves(
    column: Column, know: Know, legend: Mapping[str, str]
) -> tuple[Reading, Reading] | None:
    if not column.cells or column.reading.column == "filtration":
        return None
    rest, unit = unit_in_heading(legend.get(column.heading, column.heading))
    rest = rest.split(",")[0] if column.heading in legend else rest  # "…, both in min"
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
    table = _with_column(table, column, halves[1], {i: m["two"] for i, m in split.items()})
    for i, match in split.items():
        whole = table.view.cells[i, column.place]
        table.view.cells[i, column.place] = whole.saying(match["one"])
    columns = (replace(c, reading=halves[0]) if c is column else c for c in table.columns)
    return replace(table, columns=tuple(columns))
