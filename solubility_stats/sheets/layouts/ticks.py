"""Answers ticked side by side: "Filtered with" over "vacuum" and "gravity", with a ✓ below one.

The columns of one question become one, whose cells say what was ticked; two ticks on a line are
unclear.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from solubility_stats.quantities import quantity
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.layouts.pairs import copied
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.words import flag

TICKS = frozenset({"✓", "✔", "√", "☑", "✅", "x", "X", "×", "*", "•", "●", "1", "1.0"})
_ASKED = ("filtration", "scatter", "constant_mass")


def with_ticks_read(table: Table, know: Know, book: Book) -> Table:
    """Return a table with the columns of each ticked question made one.

    Parameters
    ----------
    table : Table
        A table as found.
    know : callable
        Reads a stack of heading texts.
    book : Book
        The ledger of its sheet, in which the blank halves of an answer are entered.
    """
    at = 0
    while at < len(table.columns) - 1:
        pair = table.columns[at : at + 2]
        name = _question(pair, know)
        if name and all(_is_ticked(table, c) for c in pair):
            table = _joined(table, pair, name, book)
        at += 1
    return table


def _question(pair: Sequence[Column], know: Know) -> str:
    """Return what two columns under one title ask, if their headings are its two answers."""
    one, other = pair
    if len(one.cells) < 2 or len(other.cells) < 2 or one.cells[0].text != other.cells[0].text:
        return ""
    answers = [c.cells[-1].text for c in pair]
    title = know((one.cells[0].text,)).column
    for name in [title] if title in _ASKED else ("filtration", "scatter"):
        said = {_said(answer, name) for answer in answers}
        if len(said) == 2 and None not in said:
            return str(name)
    return ""


def _said(answer: str, name: str) -> object:
    return flag(answer) if name == "constant_mass" else choice(answer, quantity(name))[0]


def _is_ticked(table: Table, column: Column) -> bool:
    cells = [c for i in table.lines if (c := table.view.cells.get((i, column.place))) is not None]
    return all(c.text.strip() in TICKS for c in cells)


def _joined(table: Table, pair: Sequence[Column], name: str, book: Book) -> Table:
    first, second = pair
    view = copied(table)
    for line in table.lines:
        ticked = [c for c in pair if (line, c.place) in view.cells]
        if not ticked:
            continue
        tick = view.cells.pop((line, ticked[0].place))
        # Two answers ticked are none: a person has to look.
        answer = " + ".join(c.cells[-1].text for c in ticked)
        view.cells[line, first.place] = tick.saying(answer)
    view.index()
    for cell in second.cells[1:]:
        book.enter(cell, Entry("context", name, note="one of the answers to tick"))
    asked = replace(first, reading=Reading((name,), None, "pattern"))
    kept = [asked if c is first else c for c in table.columns if c is not second]
    return replace(table, view=view, columns=tuple(kept))
