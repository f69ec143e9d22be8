"""Columns that hold two readings in one cell: "Burette start / end (mL)" over "0.37 / 11.92".

Both halves of the heading must name a reading of ours. Each cell is then read as two, the second
at a place of its own behind the table; in the ledger it stays one cell.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from copy import copy
from dataclasses import replace

from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.table import Column, Table
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


_WEIGHED = re.compile(r"\d+[.,](?P<decimals>\d+)\s*(?:g\b|grams?\b)?", re.IGNORECASE)
_MINUTES = re.compile(r"\d+\s*(?:more\s*)?(?:min\w*|h|hrs?|hours?)\b", re.IGNORECASE)
# "2.24 g after drying again (was 2.25 g)" names the first weighing last.
_TURNED = re.compile(
    r"\b(?:was|were|before|first|originally|previously|instead|not|wrong|from)\b", re.I
)
# A residue dried on loses little (judgement).
_LOST = 0.10


def with_second_weighing_split(table: Table) -> Table:
    """Return a table with the second weighing of cells like "2.25 g, then 2.24 g dried again"."""
    if any(c.reading.column == "second_dry_mass_g" for c in table.columns):
        return table
    dry = [c for c in table.columns if c.reading.column == "recovered_mass_g"]
    if len({c.reading.trial for c in dry}) < len(dry):
        return table
    for column in dry:
        cells = {i: c for i in table.lines if (c := table.view.cells.get((i, column.place)))}
        both = {i: two for i, c in cells.items() if (two := _weighed_twice(c.value))}
        if not both:
            continue
        reading = replace(column.reading, candidates=("second_dry_mass_g",))
        table = _with_column(table, column, reading, {i: two for i, (_, two) in both.items()})
        for i, (one, _) in both.items():
            table.view.cells[i, column.place] = cells[i].saying(one)
    return table


def _weighed_twice(value: object) -> tuple[str, str] | None:
    """Return both weighings of a cell that says what the second is, ``None`` for anything else."""
    if not isinstance(value, str) or len(value) < _SHORTEST or _TURNED.search(value):
        return None
    weighed = list(_WEIGHED.finditer(value))
    rest = _MINUTES.sub(" ", _WEIGHED.sub(" ", value))
    if len(weighed) != 2 or any(map(str.isdigit, rest)) or "again" not in concepts_in(value):
        return None
    if value[: weighed[0].start()].strip() or len({len(m["decimals"]) for m in weighed}) > 1:
        return None
    one, two = (float(m[0].split()[0].rstrip("gG").replace(",", ".")) for m in weighed)
    return (weighed[0][0], weighed[1][0]) if one * (1 - _LOST) <= two <= one else None


_SHORTEST = 12


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
    # "residue after 1st / 2nd drying"
    yield " ".join([one, *two.split()[1:]]), " ".join([*one.split()[:-1], two])


def _split(
    table: Table, column: Column, halves: tuple[Reading, Reading], split: dict[int, re.Match[str]]
) -> Table:
    table = _with_column(table, column, halves[1], {i: m["two"] for i, m in split.items()})
    for i, match in split.items():
        whole = table.view.cells[i, column.place]
        table.view.cells[i, column.place] = whole.saying(match["one"])
    columns = (replace(c, reading=halves[0]) if c is column else c for c in table.columns)
    return replace(table, columns=tuple(columns))
