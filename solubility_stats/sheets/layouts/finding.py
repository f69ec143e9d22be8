"""The tables of a sheet, whatever layout it is in.

Unusual layouts are turned into labels beside values or headings above columns first; cells keep
their addresses. Each way leaves a sheet alone that it is not made for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.layouts.answers import answers_listed
from solubility_stats.sheets.layouts.asked_in_cells import with_questions_above
from solubility_stats.sheets.layouts.blanks import blanks_filled
from solubility_stats.sheets.layouts.card_titles import with_groups_labelled
from solubility_stats.sheets.layouts.cards import labels_above
from solubility_stats.sheets.layouts.cards_apart import cards_apart
from solubility_stats.sheets.layouts.group_row import with_group_rows
from solubility_stats.sheets.layouts.indented import with_fills_beside
from solubility_stats.sheets.layouts.long import find_long
from solubility_stats.sheets.layouts.matrices import matrices_of
from solubility_stats.sheets.layouts.page import filled_in, laid_out
from solubility_stats.sheets.layouts.pasted import below_one_another, with_gaps
from solubility_stats.sheets.layouts.points import without_points
from solubility_stats.sheets.layouts.pours_across import with_pours_across
from solubility_stats.sheets.layouts.readings_below import with_readings_beside
from solubility_stats.sheets.layouts.steps import steps_as_one
from solubility_stats.sheets.layouts.told_in_lines import told_in_lines
from solubility_stats.sheets.layouts.trials_below import trials_below
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.table import Table
from solubility_stats.sheets.tables import find_tables
from solubility_stats.sheets.view import MOST_BY_HAND, View


def tables_of(sheet: Sheet, know: Know, book: Book) -> list[Table]:
    """Return the tables of a sheet; what is used up on the way is entered in its book."""
    if len(sheet.cells) > MOST_BY_HAND:
        view = View(sheet)
        long = find_long(view, know, book)
        return find_tables(view, know) if long is None else [long]
    sheet = with_gaps(below_one_another(without_points(with_questions_above(sheet, book), book)))
    if (apart := cards_apart(sheet, know)) is not None:
        return [
            replace(table, caption=(*apart.above, *title, *table.caption))
            for title, card in apart.cards
            for table in tables_of(card, know, book)
        ]
    if told := told_in_lines(sheet, know):
        return [
            replace(table, caption=(*title, *table.caption))
            for title, line in told
            for table in tables_of(line, know, book)
        ]
    if trials := trials_below(sheet, know):
        return [table for trial in trials for table in tables_of(trial, know, book)]
    if (matrices := matrices_of(sheet, know, book)) is not None:
        table, rest = matrices
        others = find_tables(View(rest), know)
        return [replace(table, caption=_above(table, rest)) if others else table, *others]
    if (steps := steps_as_one(sheet, know, book)) is not None:
        whole, left = steps
        return [*find_tables(View(whole), know), *tables_of(left, know, book)]
    view = View(_as_labelled(with_groups_labelled(sheet, know), know, book))
    if (long := find_long(view, know, book)) is not None:
        return [long]
    tables = find_tables(view, know)
    if len(_readings(tables)) < _FEWEST and (page := laid_out(sheet, know)) is not None:
        paged = find_tables(View(page), know)
        if len(_readings(paged)) > len(_readings(tables)):
            return paged
    if tables:
        return tables
    answers = answers_listed(sheet, know)
    return [] if answers is None else [answers]


# A page with so many readings was meant as one (judgement).
_FEWEST = 3


def _readings(tables: Sequence[Table]) -> set[str]:
    """Return what the headings of tables name that was measured, and not only whose it is."""
    known = {str(c.reading.column) for table in tables for c in table.columns if c.reading.column}
    return {c for c in known if is_canonical(c) and quantity(c).kind not in ("identifier", "text")}


def _above(table: Table, rest: Sheet) -> tuple[RawCell, ...]:
    """Return what stands above the first matrix: the rest belongs to other tables."""
    top = min(c.row for column in table.columns for c in column.cells)
    return tuple(c for c in rest.cells.values() if c.row < top)


def _as_labelled(sheet: Sheet, know: Know, book: Book) -> Sheet:
    """Return blanks, cards with labels on top, rows of names and of fills as labelled values."""
    labelled = blanks_filled(sheet, know) or filled_in(sheet, know) or labels_above(sheet, know)
    if labelled is not None:
        return labelled
    sheet = with_readings_beside(with_pours_across(sheet, know, book), know, book)
    return with_fills_beside(with_group_rows(sheet), know, book)
