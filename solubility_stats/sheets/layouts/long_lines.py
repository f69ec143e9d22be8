"""The lines of a table in long form: which reading each names, whose it is, what takes it back."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from solubility_stats.quantities import fill_column, quantity
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import lone_number, normal, plain_ordinals
from solubility_stats.sheets.layouts.said_to_all import holds_for_all, meant_for_all
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.sentence_parts import FOR_ALL
from solubility_stats.sheets.view import View, looks_like_number
from solubility_stats.sheets.withdrawn import takes_back, without_remark

# What tells whose a reading is.
KEYS = ("semester", "section", "group", "run")
# One pour after another under the same name; numbered when all are known.
POUR = "pour"


@dataclass
class Layout:
    """Where a table in long form has its headings, its keys, quantities, values and lines."""

    header: int
    keys: dict[int, str]
    quantity: int
    value: int
    unit: int | None
    remark: int | None = None
    lines: list[int] = field(default_factory=list)
    counted: str = ""  # what the numbers in the column of quantities count ("fill")


@dataclass
class Said:
    """One line: the cells that name the reading, hold it and give its unit, and whose it is."""

    line: int
    name: RawCell
    value: RawCell
    unit: RawCell | None
    reading: Reading
    column: str
    keys: dict[str, RawCell]
    remark: str
    for_all: bool = False

    @property
    def whose(self) -> tuple[str, ...]:
        """Semester, section, group and run as written."""
        return tuple(self.keys[c].text.strip() if c in self.keys else "" for c in KEYS)

    @property
    def value_with_unit(self) -> RawCell:
        """The value with the unit that stands beside it in a cell of its own."""
        if self.unit is None:
            return self.value
        return self.value._replace(value=f"{self.value.text} {self.unit.text}")


def lines_said(view: View, layout: Layout, know: Know, book: Book) -> Iterator[Said]:
    """Yield the lines with a reading that is understood; enter the others in the ledger."""
    above: dict[str, RawCell] = {}
    named: dict[tuple[str, ...], _Named] = {}
    last: dict[str, Said] = {}
    following: set[str] = set()  # whose next line does not count
    for i in layout.lines:
        line = _line(view, layout, i)
        if line.levels not in named:
            named[line.levels] = _named(line.levels, know, counted=bool(layout.counted))
        meant = named[line.levels]
        keys = {c: key for p, c in layout.keys.items() if (key := view.get(i, p)) is not None}
        if layout.counted and meant.column != fill_column(1):  # 2 below 1 is of the same group
            keys = {c: k._replace(merged_from=(k.row, k.col)) for c, k in above.items()} | keys
        above = keys
        if holds_for_all(keys):
            if (shared := _shared(i, line, keys, know)) is not None:
                yield shared
            else:
                _leave(view, layout, i, book, known=False)
            continue
        value, whose = line.value_of(meant), _group(keys)
        if meant.column is None or value is None or not {"group", "run"} & keys.keys():
            if value is None and (back := takes_back(line.name.text)):
                if back == "above" and whose in last:
                    yield replace(last[whose], remark="void")
                following |= {whose} if back == "below" else set()
            _leave(view, layout, i, book, known=bool(meant.column))
            continue
        remarks = [line.remark.text if line.remark is not None else "", meant.remark]
        if following & {"", whose}:
            following -= {"", whose}
            remarks.append("void")
        remark = "; ".join(filter(None, remarks))
        said = Said(i, line.name, value, line.unit, meant.reading, meant.column, keys, remark)
        last[whose] = last[""] = said
        yield said


@dataclass(frozen=True)
class _Line:
    """The cells of a line, and the levels of the heading they stand for."""

    name: RawCell
    value: RawCell | None
    unit: RawCell | None
    remark: RawCell | None
    levels: tuple[str, ...]

    def value_of(self, meant: _Named) -> RawCell | None:
        """Return the cell with the reading, which the remark or the name may give as well."""
        if self.value is not None:
            return self.value
        if meant.answer and self.remark is not None and _answers(self.remark.text, meant.column):
            return self.remark  # "filtering started" with the remark "gravity, fluted paper"
        if meant.answer or meant.column == POUR:
            return self.name.saying(meant.answer or "?")  # poured, but how much?
        return None


def _line(view: View, layout: Layout, i: int) -> _Line:
    name = view.cells[i, layout.quantity]
    unit = view.cells.get((i, layout.unit)) if layout.unit is not None else None
    remark = view.cells.get((i, layout.remark)) if layout.remark is not None else None
    levels = (name.text, unit.text) if unit is not None else (name.text,)
    if layout.counted:
        number = name.text.removesuffix(".0")
        levels = (f"{layout.counted} {number}", view.cells[layout.header, layout.value].text)
    return _Line(name, view.cells.get((i, layout.value)), unit, remark, levels)


def _shared(i: int, line: _Line, keys: dict[str, RawCell], know: Know) -> Said | None:
    """Return what a line says of all groups, ``None`` if it is not understood."""
    unit = line.unit.text if line.unit is not None else None
    meant = meant_for_all(line.name.text, unit, know)
    if meant is None or line.value is None:
        return None
    column, reading = meant
    return Said(i, line.name, line.value, line.unit, reading, column, keys, "", for_all=True)


def _answers(text: str, column: str | None) -> bool:
    """Tell whether a text names one of the choices of a column."""
    if column is None or quantity(column).kind != "choice":
        return False
    return choice(text, quantity(column))[0] is not None


def _group(keys: Mapping[str, RawCell]) -> str:
    return keys["group"].text.strip() if "group" in keys else ""


@dataclass(frozen=True)
class _Named:
    """What the text that names a reading says: the reading, a remark, or the answer as well."""

    reading: Reading
    column: str | None
    remark: str = ""
    answer: str = ""


# "laser: clear", "filtered, pump"
_ANSWERED = re.compile(r"(?P<name>[^:,;=]+?)\s*[:,;=]\s*(?P<answer>\S.*)", re.DOTALL)


def _named(levels: tuple[str, ...], know: Know, *, counted: bool) -> _Named:
    """Return what the name of a reading and its unit say."""
    if counted:
        reading = know(levels)
        return _Named(reading, reading.column)
    name, remark = without_remark(levels[0])
    reading = know((name, *levels[1:]))
    column = POUR if _is_pour(name, reading) else reading.column
    if remark and column is None:
        return _Named(know(levels), know(levels).column)
    found = _ANSWERED.fullmatch(name)
    asked = know((found["name"],)) if found else reading
    if asked.column and quantity(asked.column).kind in ("choice", "flag"):
        # "filtered by vacuum, slow at the end" answers before its comma.
        texts = [found["answer"], name, found["name"]] if found else [name]
        answer = next((t for t in texts if _answers(t, asked.column)), texts[0])
        return _Named(asked, asked.column, remark, answer)
    return _Named(reading, column, remark)


_OF_A_POUR = frozenset({"fill", "water", "again", "volume", "amount", "unit"})


def _is_pour(name: str, reading: Reading) -> bool:
    """Tell whether a name stands for one pour of perhaps several: "water in, full cylinder"."""
    said = concepts_in(name)
    if "total" in said or lone_number(plain_ordinals(normal(name))):
        return False
    poured = reading.column is None and "water" in said and said <= _OF_A_POUR
    return poured or reading.column in ("water_volume_ml", fill_column(1))


def _leave(view: View, layout: Layout, line: int, book: Book, *, known: bool) -> None:
    note = "a reading without value" if known else "the named quantity is not understood"
    for p in view.along[line]:
        cell = view.cells[line, p]
        if is_note(view, layout, line, p):
            continue  # read with what stands above the table
        numeric = looks_like_number(cell) and p == layout.value
        book.enter(cell, Entry("unclear" if numeric else "ignored", note=note))


def is_note(view: View, layout: Layout, line: int, place: int) -> bool:
    """Tell whether a cell speaks of everybody, in a line without group and reading."""
    cell = view.cells[line, place]
    if not isinstance(cell.value, str) or not FOR_ALL.search(cell.text):
        return False
    whose = (p for p, column in layout.keys.items() if column in ("group", "run"))
    return not any((line, p) in view.cells for p in (*whose, layout.value))
