"""Fills on lines of their own below the line of their group: "Pair 1", then "fill 1", "fill 2".

The lines hold nothing but water, perhaps with a sum as the last; they may be named or not, or name
the group again. Each fill gets a column of its own beside the line of its group, which is the
layout the reader has. Cells keep their addresses.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from operator import attrgetter, itemgetter

from solubility_stats.quantities import fill_column, fill_columns
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_text import lone_number, normal, plain_ordinals
from solubility_stats.sheets.layouts.indented_fills import Fill, Poured, in_order
from solubility_stats.sheets.layouts.pours import TOTAL
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.units import dimension_of, known_unit
from solubility_stats.sheets.view import looks_like_number

_FEWEST_RUNS = 2
_MOST_HEADING_LINES = 2
_Row = Mapping[int, RawCell]
_Cells = dict[tuple[int, int], RawCell]


@dataclass
class _Run:
    """The line of a group and the lines of fills below it, each with the cell that names it."""

    row: int
    below: list[tuple[str, _Row]] = field(default_factory=list)


def with_fills_beside(sheet: Sheet, know: Know, book: Book) -> Sheet:
    """Return a sheet with the fills listed below a group on its line, any other as it is.

    Parameters
    ----------
    sheet : Sheet
        A sheet as read from the file.
    know : callable
        Reads a stack of heading texts.
    book : Book
        The ledger of the sheet, in which the names of the fills are entered.
    """
    marks = _marks(sheet, know)
    if marks is None and not _has_short_rows(sheet):
        return sheet
    rows = sheet.by_row()
    lead, names = marks or (0, {})
    runs = _named(rows, lead, names, know) if marks else _unnamed(rows)
    volume = _place_of_water(runs)
    if len(runs) < _FEWEST_RUNS or volume is None or volume <= lead:
        return sheet
    if marks and not any(lead in rows[run.row] for run in runs):
        volume = _moved_aside(runs, rows, volume, know)
    tables = _by_heading(runs, rows, volume)
    for heads, below in tables.items():
        named = _is_volume(heads, know, strictly=not marks)
        if not named or not _are_groups(below, rows, volume):
            return sheet
    cells = {(row, col): cell for row, line in rows.items() for col, cell in line.items()}
    gone: set[int] = set()
    for heads, below in tables.items():
        poured = [_poured(run, rows[run.row].get(volume), (lead, volume), names) for run in below]
        _put_beside(cells, poured, heads, volume, book)
        gone |= {mark.row for run in poured for mark in run.marks}
    return without_rows(sheet, cells, gone)


def _marks(sheet: Sheet, know: Know) -> tuple[int, dict[str, int]] | None:
    """Return the column in which names of fills come again and again, and what they number."""
    times = Counter(map(attrgetter("col", "text"), sheet.texts))
    again = {col for (col, text), n in times.items() if n > 1 and _fill(text, know) is not None}
    if not again:
        return None
    lead = min(again)
    numbers = {text: _fill(text, know) for col, text in times if col == lead}
    return lead, {text: n for text, n in numbers.items() if n is not None}


def _fill(text: str, know: Know) -> int | None:
    """Return the number of the fill a text names, 0 for a fill without, ``None`` for no fill."""
    said = concepts_in(text)
    if "fill" not in said or said - {"fill", "water", "count", "again"}:
        return None
    column = know((text,)).column
    if column is None or not fill_columns([column]):
        return None
    return int(column.split("_")[1]) if lone_number(plain_ordinals(normal(text))) else 0


def _has_short_rows(sheet: Sheet) -> bool:
    """Tell whether a number alone, or with one cell before it, stands right below a full row."""
    filled = Counter(map(itemgetter(0), sheet.cells))
    return sum(n < _FULL <= filled.get(row - 1, 0) for row, n in filled.items()) >= _FEWEST_RUNS


_FULL = 3


def _named(rows: Mapping[int, _Row], lead: int, names: Mapping[str, int], know: Know) -> list[_Run]:
    """Return the lines with named fills below them."""
    runs: list[_Run] = []
    open_run: _Run | None = None
    above = 0
    for row, cells in rows.items():
        mark = cells.get(lead)
        text = mark.text if mark is not None else ""
        if open_run is not None and row == above + 1 and _is_total(text, know):
            open_run.below.append((_TOTAL, cells))
        elif text in names and min(cells) == lead and above:
            if open_run is None:
                open_run = _Run(above)
                runs.append(open_run)
            open_run.below.append((text, cells))
        else:
            open_run = None
        above = row
    return runs


_TOTAL = "total"


def _is_total(text: str, know: Know) -> bool:
    text = text.strip()
    return bool(text) and (
        TOTAL.fullmatch(text) is not None or know((text,)).column == "water_volume_ml"
    )


def _unnamed(rows: Mapping[int, _Row]) -> list[_Run]:
    """Return the lines with a lone number right below them, or with their group and a number."""
    runs: list[_Run] = []
    head, above = 0, 0
    for row, cells in rows.items():
        *before, last = cells.values()
        own = rows.get(head, {})
        again = [c for c in before if c.col in own and c.text == own[c.col].text]
        alone = len(before) == len(again) <= 1 and looks_like_number(last)
        if alone and row == above + 1 and len(own) >= _FULL:
            if not runs or runs[-1].row != head:
                runs.append(_Run(head))
            runs[-1].below.append(("", cells))
        else:
            head = row
        above = row
    return runs


def _place_of_water(runs: Sequence[_Run]) -> int | None:
    """Return the one column with a number on nearly all lines of fills."""
    lines = [
        {c.col for c in list(cells.values())[len(cells) > 1 and not name :] if looks_like_number(c)}
        for run in runs
        for name, cells in run.below
    ]
    times = Counter(col for places in lines for col in places)
    most = times.most_common(2)
    if not most or (len(most) > 1 and 2 * most[1][1] >= most[0][1]):
        return None
    return most[0][0]


def _moved_aside(
    runs: Sequence[_Run], rows: Mapping[int, dict[int, RawCell]], volume: int, know: Know
) -> int:
    """Return the column of the fills, one of their own if another reading heads theirs.

    "first cylinder | 50 mL" below "Pair | | Lime, g": the unit in each cell tells them apart.
    """
    below = {cell.row for run in runs for _, cells in run.below for cell in cells.values()}
    lines = below.union(run.row for run in runs)
    heads = [c[volume] for row, c in rows.items() if row not in lines and volume in c]
    heads = [c for c in heads if not looks_like_number(c) and c.row < runs[-1].row]
    poured = [rows[row][volume] for row in below if volume in rows[row]]
    if not heads or not poured or not all(map(_is_in_ml, poured)):
        return volume
    meant = {know((head.text,)).column for head in heads} - {None}
    if not meant or any(c in ("water_volume_ml", fill_column(1)) for c in meant):
        return volume
    aside = 1 + max(max(cells) for cells in rows.values())
    for row in below:
        if volume in rows[row]:
            rows[row][aside] = rows[row].pop(volume)
    for head in heads:
        rows[head.row][aside] = head.saying("water (mL)")
    return aside


_IN_ML = re.compile(r"\s*\d+(?:[.,]\d+)?\s*(\S{1,8})\s*")


def _is_in_ml(cell: RawCell) -> bool:
    """Tell whether a cell holds a number with a unit of volume."""
    found = _IN_ML.fullmatch(cell.text) if isinstance(cell.value, str) else None
    unit = known_unit(found[1]) if found else None
    return unit is not None and dimension_of(unit) == "volume"


def _by_heading(
    runs: Sequence[_Run], rows: Mapping[int, _Row], volume: int
) -> dict[tuple[RawCell, ...], list[_Run]]:
    """Return the runs of each table of the sheet by the heading cells over their water."""
    below = {cell.row for run in runs for _, cells in run.below for cell in cells.values()}
    lines = below.union(run.row for run in runs)
    over = [rows[i][volume] for i in sorted(rows) if i not in lines and volume in rows[i]]
    over = [cell for cell in over if not looks_like_number(cell)]
    tables: dict[tuple[RawCell, ...], list[_Run]] = {}
    for run in runs:
        heads = [cell for cell in over if cell.row < run.row][-_MOST_HEADING_LINES:]
        if len(heads) > 1 and heads[1].row - heads[0].row > 1:
            heads = heads[1:]
        tables.setdefault(tuple(heads), []).append(run)
    return tables


def _is_volume(heads: Sequence[RawCell], know: Know, *, strictly: bool) -> bool:
    """Tell whether the heading over the fills may head a volume of water."""
    if not heads:
        return not strictly
    reading = know(tuple(c.text for c in heads))
    if reading.column in ("water_volume_ml", fill_column(1)):
        return True
    said = set().union(*(concepts_in(c.text) for c in heads))
    volume = reading.unit is not None and dimension_of(reading.unit) == "volume"
    return not strictly and (volume or "water" in said) and not said & _NO_WATER


_NO_WATER = frozenset({"acid", "aliquot", "filtrate", "burette", "mass", "temperature"})


def _are_groups(runs: Sequence[_Run], rows: Mapping[int, _Row], volume: int) -> bool:
    """Tell whether the lines above the fills are groups with readings, each another.

    The label of the reading before the water on a card is none.
    """
    names = {tuple(c.text for p, c in rows[run.row].items() if p != volume) for run in runs}
    measured = [
        run
        for run in runs
        if any(c.col != volume and looks_like_number(c) for c in list(rows[run.row].values())[1:])
    ]
    return 2 * len(names) > len(runs) and 2 * len(measured) > len(runs)


def _poured(
    run: _Run, own: RawCell | None, places: tuple[int, int], names: Mapping[str, int]
) -> Poured:
    """Return what was poured in a run, and what else stands beside it."""
    lead, volume = places
    poured = Poured(run.row, own)
    for name, cells in run.below:
        mark = cells.get(lead) or cells[min(cells)]
        fill = Fill(names.get(name, 0), mark, cells.get(volume))
        if name == _TOTAL and name not in names:
            poured.total = fill
        else:
            poured.fills.append(fill)
        poured.rest += [c for col, c in cells.items() if c is not mark and col != volume]
    poured.named = bool(names)
    return poured


def _put_beside(
    cells: _Cells, runs: Sequence[Poured], heads: Sequence[RawCell], volume: int, book: Book
) -> None:
    """Put the fills of a table beside their groups, each under a heading of its own."""
    slots = in_order(runs, book)
    top = min((c.row for c in heads), default=1)
    last = max(col for row, col in cells if top <= row <= max(run.row for run in runs))
    for n in range(1, max(map(max, slots)) + 1):
        if not heads:
            named = runs[0].fills[0].mark
            cells[runs[0].row - 1, last + n] = named.saying(f"fill {n}")
        for head in heads:
            said = f"fill {n} {head.text}" if head is heads[0] else head.text
            cells[head.row, last + n] = head.saying(said)
    for run, fills in zip(runs, slots, strict=True):
        cells.pop((run.row, volume), None)
        if run.own is not None:
            cells[run.row, volume] = run.own
        for n, cell in fills.items():
            cells[run.row, last + n] = cell
        for extra in run.rest:
            if looks_like_number(extra):
                book.enter(extra, Entry("unclear", note="stands beside a fill of the group above"))
            elif (run.row, extra.col) in cells:
                book.enter(extra, Entry("ignored", note="a remark on a fill"))
            else:
                cells[run.row, extra.col] = extra


def without_rows(sheet: Sheet, cells: Mapping[tuple[int, int], RawCell], gone: set[int]) -> Sheet:
    """Return the sheet with other cells, some rows taken out and those below them moved up."""
    dropped = sorted(gone)

    def moved(row: int) -> int:
        return row - bisect_right(dropped, row)

    kept = {(moved(row), col): cell for (row, col), cell in cells.items() if row not in gone}
    merged = tuple((moved(a), b, moved(c), d) for a, b, c, d in sheet.merged)
    return replace(sheet, cells=dict(sorted(kept.items())), merged=merged)
