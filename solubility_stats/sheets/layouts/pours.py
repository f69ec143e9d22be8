"""Tables with one filling of the cylinder on each line, below the group it belongs to.

"Group | Lime (g) | Pour | Volume (mL)" over 1, 2, 3 and a total per group becomes one line per run
with a column for each fill. In a register the lines of the groups may alternate, and the fills be
called first, second, third. Every cell keeps its address.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from solubility_stats.quantities import fill_column
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import normal, plain_ordinals
from solubility_stats.sheets.layouts.pairs import copied
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.table import Column, Table
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
    for count, volume in _pairs(table):
        runs = _runs(table, count.place if count else None, volume.place)
        if len(runs) >= _FEWEST_RUNS and any(len(run.fills) > 1 for run in runs):
            return _folded(table, count, volume, runs, book)
    return table


# "One line for every measure poured", "each row is one pour"
_ONE_PER_LINE = re.compile(
    r"\b(?:one|a|new|each|every|1)\s+(?:line|row|entry)\b.*\b(?:every|each|per|for|is|one|a)\b",
    re.I,
)


def _one_per_line(table: Table) -> bool:
    """Tell whether the title of a table says that each of its lines is one fill."""
    titles = [c.text for c in table.caption if isinstance(c.value, str)]
    return any(_ONE_PER_LINE.search(t) and "fill" in concepts_in(t) for t in titles)


def _pairs(table: Table) -> list[tuple[Column | None, Column]]:
    """Return what may count the fills with what may hold them: neighbours, or the only two.

    Nothing needs to count them where the title of the table says that each line is one.
    """
    beside: list[tuple[Column | None, Column]] = [
        (count, volume)
        for count, volume in zip(table.columns, table.columns[1:], strict=False)
        if _counts_fills(count) and _is_volume(volume)
    ]
    counts = [c for c in table.columns if _counts_fills(c) or _says_order(table, c)]
    volumes = [c for c in table.columns if c not in counts and _is_volume(c)]
    if not beside and len(volumes) == 1 and len(counts) <= 1:
        count = counts[0] if counts else None
        return [(count, volumes[0])] if count is not None or _one_per_line(table) else []
    return beside


def _counts_fills(column: Column) -> bool:
    rest, unit = unit_in_heading(column.heading)
    said = concepts_in(rest)
    return unit is None and "fill" in said and said <= {"fill", "count", "water"}


def _says_order(table: Table, column: Column) -> bool:
    """Tell whether a column that nobody understands says first, second, third on its lines."""
    if column.reading.candidates:
        return False  # "Trial" over first, second, third tells runs apart
    texts = {c.text.strip() for c in table.view.column(column.place, table.lines) if c is not None}
    words = {t for t in texts if not TOTAL.fullmatch(t)}
    return len(words) > 1 and all(not t[:1].isdigit() and _number(t) for t in words)


def _number(mark: str) -> int:
    """Return the number of a fill: 2 for "2", "2nd", "second" or "second measure", else 0."""
    text = mark.strip().removesuffix(".0").rstrip(".")
    if text.isdigit():
        return int(text)
    words = plain_ordinals(normal(text)).split()
    counted = bool(words) and words[0].isdigit()
    return int(words[0]) if counted and concepts_in(" ".join(words[1:])) <= {"fill"} else 0


def _is_volume(column: Column) -> bool:
    rest, unit = unit_in_heading(column.heading)
    said = concepts_in(rest)
    volume = unit is not None and dimension_of(unit) == "volume"
    return (volume or "volume" in said) and not said & {"acid", "aliquot", "filtrate", "burette"}


def _runs(table: Table, count: int | None, volume: int) -> list[_Run]:
    """Return the runs of a table whose fills are counted from 1, empty if they are not.

    A fill that was passed over is a question. Where nothing counts them all are of one run.
    """
    whose = [c.place for c in table.columns if c.reading.column in ("section", "group", "run")]
    runs: list[_Run] = []
    last: dict[tuple[str, ...], _Run] = {}
    key: tuple[str, ...] = ()
    for line in table.lines:
        read = table.view.get(line, volume)
        mark = read if count is None else table.view.get(line, count)
        if mark is None:
            if read is None:
                continue  # a note or a blank line
            return []
        named = tuple(c.text.strip() if (c := table.view.get(line, p)) else "" for p in whose)
        key = named if any(named) else key
        run = last.get(key)
        number = _number(mark.text) if count is not None else 1 + len(run.fills if run else ())
        if number == 1:
            runs.append(_Run(line, [read] if read is not None else []))
            last[key] = runs[-1]
            continue
        if run is None:
            return []
        if TOTAL.fullmatch(mark.text.strip()):
            run.total = read
        elif number > len(run.fills) and read is not None:
            run.fills += [mark.saying("?")] * (number - len(run.fills) - 1)
            run.fills.append(read)
        else:
            return []
        run.rest.append(line)
    passed = {volume, *_beside_the_point(table)} | ({count} if count is not None else set())
    if any(_says_more(table, run, passed) for run in runs):
        return []
    return runs


def _beside_the_point(table: Table) -> list[int]:
    """Return the places that differ on every line and say nothing of a run: clock, line number."""
    found = []
    for column in table.columns:
        texts = [c.text for c in table.view.column(column.place, table.lines) if c is not None]
        numbers = [int(t) for x in texts if (t := x.removesuffix(".0")).isdigit()]
        counted = len(numbers) == len(texts) > 2 and numbers == list(range(1, len(texts) + 1))
        if not column.reading.column and (counted or all(map(_CLOCK.match, texts))):
            found.append(column.place)
    return found


_CLOCK = re.compile(
    r"(?:\d{4}-\d\d-\d\d )?\d{1,2}[:.h]\d\d(?::\d\d)?(?:\s*[ap]\.?m\.?)?\s*\Z", re.I
)


def _says_more(table: Table, run: _Run, known: set[int]) -> bool:
    """Tell whether a further line of a run holds anything that its first line does not."""
    for line in run.rest:
        for place in table.view.within(line, table.first, table.last):
            cell, above = table.view.cells[line, place], table.view.get(run.first, place)
            if place in known or (above is not None and above.text == cell.text):
                continue
            if looks_like_number(cell):
                return True
    return False


def _folded(
    table: Table, count: Column | None, volume: Column, runs: Sequence[_Run], book: Book
) -> Table:
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
            mark = view.cells.pop((line, count.place), None) if count is not None else None
            if mark is not None:
                book.enter(mark, Entry("context", note="counts the fills of a run"))
        for line in run.rest:
            for place in range(table.first, table.last + 1):
                if (cell := view.cells.get((line, place))) is not None:
                    book.enter(cell, Entry("context", note="beside one more fill of the run"))
        for name, cell in cells.items():
            view.cells[run.first, places[name]] = cell
    dropped = {line for run in runs for line in run.rest}
    view.index()
    kept = [c for c in table.columns if c is not count and c is not volume]
    added = [
        replace(volume, place=place, reading=Reading((name,), unit, "pattern"))
        for name, place in places.items()
    ]
    lines = tuple(line for line in table.lines if line not in dropped)
    return replace(table, view=view, lines=lines, columns=(*kept, *added))
