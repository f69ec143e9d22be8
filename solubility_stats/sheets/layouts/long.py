"""Tables in long form, one reading per line: group, quantity, value, perhaps unit.

Such a table is turned into the usual form, one line per run, with every cell under its own
address, and then read like any other.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from solubility_stats.quantities import fill_column, quantity
from solubility_stats.sheets import concepts
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.layouts.long_lines import KEYS, POUR, Layout, Said, is_note, lines_said
from solubility_stats.sheets.layouts.said_to_all import SaidToAll
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.likely import is_on_paper
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.said_temperatures import of_room
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.units import dimension_of, known_unit, unit_in_heading
from solubility_stats.sheets.view import View, looks_like_number
from solubility_stats.sheets.withdrawn import Logged, withdrawn

_VALUE_WORDS = concepts.listed("values") | {"number", "recorded"}
_UNIT_WORDS = concepts.listed("units")
# Judgement: a column of quantities is one if most of its texts are headings we know.
_SHARE = 0.6
_SAMPLE = 60
_FEWEST = 4


def find_long(view: View, know: Know, book: Book) -> Table | None:
    """Return a table in long form as one in the usual form, or ``None``.

    The cells that only name quantities and units are entered in the ledger here.
    """
    for line in view.lines[:40]:
        layout = _layout(view, line, know)
        if layout is not None:
            before = dict(book.entries)
            table = _turned_wide(view, layout, _with_paper(view, layout, know), book)
            if table.lines:
                return table
            book.entries = before  # the lines that name a reading name no group: another layout
    return None


def _layout(view: View, line: int, know: Know) -> Layout | None:
    places = view.along[line]
    texts = {p: view.cells[line, p].text for p in places}
    if len(places) < 3 or any(looks_like_number(view.cells[line, p]) for p in places):
        return None
    keys = {p: c for p, t in texts.items() if (c := know((t,)).column) in KEYS}
    places = _without_benches(places, keys, texts)
    whose = {"group", "run"} & {*keys.values()}
    if not whose or len(set(keys.values())) < len(keys):
        return None  # no groups, or groups side by side
    below = [i for i in view.lines if i > line]
    rest = [p for p in places if p not in keys]
    if len(rest) == 2 and (counted := _counted_fills(view, line, rest, below, know)):
        lines = [i for i in below if (i, rest[0]) in view.cells and (i, rest[1]) in view.cells]
        return Layout(line, keys, rest[0], rest[1], None, None, lines, counted)
    units = [p for p in rest if normal(texts[p]) in _UNIT_WORDS or _holds_units(view, below, p)]
    if "group" not in whose and not units:
        return None  # the trials of one group, each on its line
    for p in (q for q in rest if q not in units):
        sample = {i: view.cells[i, p] for i in below[:_SAMPLE] if (i, p) in view.cells}
        cells = list(sample.values())
        words = {i: c for i, c in sample.items() if _is_name(c)}
        if 2 * len(words) < len(cells):
            continue
        behind = {i: u for i in words if units and (u := view.cells.get((i, units[0]))) is not None}
        found = [
            know((c.text, behind[i].text) if i in behind else (c.text,)).column
            for i, c in words.items()
        ]
        named = [c for c in found if c is not None and quantity(c).kind == "number"]
        again = len(cells) >= 2 * len({c.text for c in cells})  # the same quantities per group
        known = len(named) >= _SHARE * len(cells) or again
        if len(set(named)) in (0, 1, len(named)) or len(cells) < 4 or not known:
            continue
        values = [v for v in rest if v != p and v not in units]
        values.sort(key=lambda v: (normal(texts[v]) not in _VALUE_WORDS, v < p, v))
        if values:
            lines = [i for i in below if (i, p) in view.cells]
            remarks = [
                q for q in values[1:]
                if know((texts[q],)).column == "comment" or normal(texts[q]) in _STATUS_WORDS
            ]  # fmt: skip
            unit, remark = (q[0] if q else None for q in (units, remarks))
            return Layout(line, keys, p, values[0], unit, remark, lines)
    return None


def _without_benches(
    places: list[int], keys: dict[int, str], texts: Mapping[int, str]
) -> list[int]:
    """Leave the number of a bench out of the keys where the group stands beside it."""
    groups = [p for p, c in keys.items() if c == "group"]
    named = [p for p in groups if re.search(r"\bgr(?:ou)?p", normal(texts[p]))]
    if len(groups) < 2 or len(named) != 1:
        return places
    for place in {*groups} - {*named}:
        del keys[place]
    return [p for p in places if p not in groups or p in named]


def _holds_units(view: View, below: Sequence[int], place: int) -> bool:
    """Tell whether a column holds nothing but units, whatever is written over it."""
    cells = [c for i in below if (c := view.cells.get((i, place))) is not None]
    return len(cells) >= _FEWEST and all(
        isinstance(c.value, str) and known_unit(c.text.strip()) for c in cells
    )


def _with_paper(view: View, layout: Layout, know: Know) -> Know:
    """Return how names are read: "dry solid on paper" is both, beside the paper alone."""
    names = {view.cells[i, layout.quantity].text for i in layout.lines}
    meant = {know((name,)).column for name in names}
    mixed = any(know((n,)).column == "temperature_c" and not of_room(n) for n in names)

    def told(levels: Sequence[str]) -> Reading:
        if of_room(levels[0]) and mixed:
            return Reading()  # the mixture was measured as well
        if is_on_paper(levels[0], meant):
            return know(("dry solid with paper", *levels[1:]))
        reading = know(levels)
        alone = set(reading.candidates) == _PAPER_OR_BOTH and "recovered_with_paper_mass_g" in meant
        return know(("filter paper", *levels[1:])) if alone and not reading.column else reading

    return told


_STATUS_WORDS = frozenset({"status", "state", "valid", "validity", "check"})
_PAPER_OR_BOTH = {"paper_mass_g", "recovered_with_paper_mass_g"}


def _is_name(cell: RawCell) -> bool:
    return isinstance(cell.value, str) and cell.text.strip()[:1].isalpha()


def _counted_fills(
    view: View, line: int, rest: Sequence[int], below: Sequence[int], know: Know
) -> str:
    """Return what "Table | fill | mL" counts, empty if the columns hold something else."""
    heading, volume = (view.cells[line, p].text for p in rest)
    counts = [c.text.removesuffix(".0") for i in below if (c := view.get(i, rest[0])) is not None]
    numbers = [int(c) for c in counts if c.isdigit()]
    steps = pairwise(numbers)
    if len(numbers) < _FEWEST or len(numbers) < len(counts) or numbers[0] != 1:
        return ""
    in_turn = all(b in (1, a + 1) for a, b in steps) and numbers.count(1) > 1
    unit = known_unit(volume.strip()) or unit_in_heading(volume)[1]
    if not in_turn or unit is None or dimension_of(unit) != "volume":
        return ""
    return heading if know((f"{heading} 1",)).column == fill_column(1) else ""


def _turned_wide(view: View, layout: Layout, know: Know, book: Book) -> Table:
    listed = list(lines_said(view, layout, know, book))
    logged = [Logged(s.line, (s.whose, s.column), s.remark) for s in listed]
    back = withdrawn(logged) if any(s.remark for s in listed) else {}
    runs: dict[tuple[str, ...], list[dict[str, RawCell]]] = {}
    heads: dict[str, tuple[RawCell, Reading]] = {}
    lost: list[Said] = []
    to_all = SaidToAll()
    begun: dict[int, dict[str, RawCell]] = {}
    for said in listed:
        if said.for_all:
            to_all.say(said.column, said.keys, said.value_with_unit)
            heads.setdefault(said.column, (said.name, said.reading))
            _enter(said, book)
            continue
        if said.whose not in runs:
            runs[said.whose] = [dict(said.keys)]
        made = runs[said.whose]
        if said.line in back:
            _take_back(said, back[said.line], book)
            lost += [said] if not back[said.line] else []
            if back[said.line] or said.column != POUR:
                continue
            said.value = said.value.saying("?")  # poured or not: the sum is not known
        column = _into(made, said)
        begun.setdefault(id(made[-1]), to_all.at_start(said.keys))
        heads.setdefault(said.column, (said.name, said.reading))
        _enter(said, book)
        if said.unit is not None and heads[said.column][1].unit != said.reading.unit:
            made[-1][column] = said.value_with_unit
    for said in lost:
        run = runs[said.whose][-1]
        if said.column != POUR and said.column not in run:
            run[said.column] = said.value.saying("?")
            heads.setdefault(said.column, (said.name, said.reading))
    every = [run for made in runs.values() for run in _without_lone(made, book)]
    for run in every:
        run.update({c: v for c, v in begun.get(id(run), {}).items() if c not in run})
        _name_pours(run, known="water_volume_ml" in heads)
    return _table(view, layout, every, heads)


def _into(made: list[dict[str, RawCell]], said: Said) -> str:
    """Put a reading into the open run of a group; a pour is one more fill, else a new run."""
    run, column = made[-1], said.column
    if column == POUR:
        column = next(c for n in range(1, 100) if (c := f"{POUR} {n}") not in run)
    elif column in run:
        made.append(dict(said.keys))
        run = made[-1]
    run[column] = said.value
    return column


def _without_lone(made: Sequence[dict[str, RawCell]], book: Book) -> list[dict[str, RawCell]]:
    """Take a single reading that comes again for a question, not for one more run of a group."""
    kept = list(made[:1])
    for run in made[1:]:
        again = [c for c in run if c not in KEYS]
        first = kept[-1].get(again[0]) if len(again) == 1 else None
        if first is None:
            kept.append(run)
            continue
        second = run[again[0]]
        same = first.text == second.text
        note = "the same reading again" if same else f"two values of {again[0]}: which counts?"
        for cell in (second,) if same else (first, second):
            book.enter(cell, Entry("ignored" if same else "unclear", note=note))
        kept[-1][again[0]] = first if same else first.saying("?")
    return kept


def _name_pours(run: dict[str, RawCell], *, known: bool) -> None:
    """Give the pours of a run numbers; a lone one is all its water, if no total is ``known``."""
    poured = [c for c in run if c.startswith(f"{POUR} ")]
    alone = len(poured) == 1 and not known and fill_column(1) not in run
    for pour in poured:
        free = next(c for n in range(1, 100) if (c := fill_column(n)) not in run)
        run["water_volume_ml" if alone else free] = run.pop(pour)


def _enter(said: Said, book: Book) -> None:
    column = "water_volume_ml" if said.column == POUR else said.column
    book.enter(said.name, Entry("context", column, note=f"names the reading: {column}"))
    if said.unit is not None:
        book.enter(said.unit, Entry("context", column, note="unit of the reading"))


def _take_back(said: Said, replaced: bool, book: Book) -> None:
    """Enter a line that was withdrawn; one that nothing replaces leaves a question."""
    note = "withdrawn, as the remarks of the log say"
    book.enter(said.value, Entry("ignored" if replaced else "unclear", note=note))
    for cell in (said.name, said.unit):
        if cell is not None:
            book.enter(cell, Entry("ignored", note=note))


def _table(
    view: View,
    layout: Layout,
    runs: Sequence[dict[str, RawCell]],
    heads: dict[str, tuple[RawCell, Reading]],
) -> Table:
    names = list(dict.fromkeys(c for run in runs for c in run))
    wide = View(Sheet(view.sheet.file, view.sheet.name, date_1904=view.sheet.date_1904))
    seen: set[tuple[int, int]] = set()
    for i, run in enumerate(runs, start=2):
        for j, name in enumerate(names, start=1):
            if name not in run:
                continue
            cell = run[name]
            if (cell.row, cell.col) in seen:
                cell = cell._replace(merged_from=(cell.row, cell.col))
            seen.add((cell.row, cell.col))
            wide.cells[i, j] = cell
            wide.along[i].append(j)
    wide.lines = sorted(wide.along)
    columns = []
    by_key = {c: view.cells[layout.header, p] for p, c in layout.keys.items()}
    for j, name in enumerate(names, start=1):
        if name in by_key:
            cell, reading = by_key[name], Reading((name,), None, "vocabulary")
        else:
            cell, reading = heads.get(name) or heads[POUR]
            reading = replace(reading, candidates=(name,))
        columns.append(Column(j, (cell,), reading))
    return Table(wide, (1,), tuple(wide.lines), tuple(columns), _above(view, layout))


def _above(view: View, layout: Layout) -> tuple[RawCell, ...]:
    """Return the cells around the table: those above, and headings that name no column of ours.

    A note in the log without group or reading counts among them if it speaks of everybody.
    """
    lines = [i for i in view.lines if i < layout.header]
    caption = [view.cells[i, p] for i in lines for p in view.along[i]]
    named = [view.cells[layout.header, p] for p in view.along[layout.header]]
    notes = [
        view.cells[i, p] for i in layout.lines for p in view.along[i] if is_note(view, layout, i, p)
    ]
    return (*caption, *(c for p, c in zip(view.along[layout.header], named, strict=True)
                        if p not in layout.keys), *notes)  # fmt: skip
