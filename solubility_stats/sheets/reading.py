"""Reading one table: personal data, headings, preamble, runs, and what holds for all of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from solubility_stats.sheets.assemble import runs_of
from solubility_stats.sheets.cell_reader import Habits
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.for_the_table import hold_for_all
from solubility_stats.sheets.goes import say_which_go
from solubility_stats.sheets.keywords import UNSURE
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.names_as_codes import (
    code_instructors,
    personal_places,
    replace_names,
    with_coded_group,
    without_names_behind,
)
from solubility_stats.sheets.no_results import set_results_of_others_aside
from solubility_stats.sheets.places import groups_in, section_in
from solubility_stats.sheets.preamble import names_group, notes_below, read_preamble
from solubility_stats.sheets.remarks.exceptions import heed_exceptions, heed_remarks
from solubility_stats.sheets.remarks.own import heed_own_remarks
from solubility_stats.sheets.remarks.told_only import conditions_in_remarks, see_beam_in_remarks
from solubility_stats.sheets.remarks.with_paper import paper_answers, take_solid_off
from solubility_stats.sheets.reread import reread
from solubility_stats.sheets.resolve import Field, settle
from solubility_stats.sheets.said_of_groups import heed_groups
from solubility_stats.sheets.state import State
from solubility_stats.sheets.table import Table
from solubility_stats.sheets.titles_over import without_headings_as_groups, without_titles_over
from solubility_stats.sheets.told_by_headings import as_headed, for_all_trials, whose_card
from solubility_stats.sheets.units_said import units_said


def read_table(
    book: Book, table: Table, several: bool, state: State, titles: Sequence[RawCell] = ()
) -> list[Draft]:
    """Read one table into runs; enter its cells in the ledger and its headings in the list."""
    sheet, mapping = book.sheet, state.mapping
    table = replace(table, columns=mapping.tell(table.columns, sheet.file, sheet.name))
    around = (*titles, *table.caption, *notes_below(table))
    texts = [c.text for c in around if isinstance(c.value, str)]
    values = {c.place: table.view.column(c.place, table.lines) for c in table.columns}
    table = reread(table, values, units_said(texts), state.explained)
    personal = personal_places(table, values, state)
    know = mapping.know(sheet.file, sheet.name)
    fields = without_titles_over(settle(table, values, personal), values, know)
    turned = table.view.turned
    if turned:
        fields = [_as_title(f) for f in fields]
    named = turned and names_group(table, know)
    fields, coded = with_coded_group(fields, values, personal, book, state, named=named)
    enter_headings(fields, book, state)
    taken = {f.column for f in fields if f.column}
    if turned:  # "Filtering" over its steps is no answer
        taken = {f.column for f in fields if f.column and any(values[f.place])}
    preamble = read_preamble(table, taken, book, know, titles)
    corner = next((f.source.heading for f in fields if f.column == "group"), "")
    preamble.section = preamble.section or section_in(corner)
    habits = Habits(
        mapping.decimal,
        mapping.date_order,
        mapping.settled_units(sheet.file, sheet.name),
        mapping.settled_cells(sheet.file, sheet.name),
        state.explained,
    )
    drafts, decided = runs_of(table, fields, book, habits)
    say_which_go(drafts, corner)
    if not any(is_reading(f.column) for f in fields):
        drafts = []  # a list of sections or groups, with nothing that was measured
    if coded:
        replace_names(drafts, book, state)
    elif not state.keep_personal:
        without_names_behind(drafts, book, state)
    state.decided |= {(sheet.file, sheet.name, c): why for c, why in decided.items()}
    state.tables += 1
    state.columns += [f.column for f in fields if f.column]
    whose_card(drafts, fields, values)
    as_headed(drafts, fields, texts)
    if turned:
        without_headings_as_groups(drafts, know)
        for_all_trials(drafts, fields, values)
    hold_for_all(drafts, preamble, sheet, several, state, texts, taken)
    heed_groups(drafts, around, taken, book)
    near = _right_above(table)
    set_results_of_others_aside(drafts, sheet.name, preamble.title, near, alone=not several)
    of_solid = next((f.unit for f in fields if f.column == "recovered_mass_g"), None)
    take_solid_off(drafts, book, of_solid, paper_answers(fields, values))
    heed_own_remarks(drafts, book, fields)
    heed_exceptions(drafts, preamble.values, texts)
    heed_remarks(drafts, preamble.values, texts)
    conditions_in_remarks(drafts, {*taken, *preamble.values})
    if "scatter" not in {*taken, *preamble.values}:
        see_beam_in_remarks(drafts)
    if not state.keep_personal:
        code_instructors(drafts, book, state)
    return drafts


# So many lines above the headings of a table its own title may stand (judgement).
_NEAR = 2


def _right_above(table: Table) -> list[str]:
    """Return the texts of the caption that stand right above a table, within its columns."""
    heads = [c for column in table.columns for c in column.cells]
    top = min((c.row for c in heads), default=0)
    first = min((c.col for c in heads), default=0)
    last = max((c.col for c in heads), default=0) if not table.view.turned else math.inf
    near = (c for c in table.caption if 0 < top - c.row <= _NEAR and first - 1 <= c.col <= last)
    return [c.text for c in near if isinstance(c.value, str)]


def _as_title(f: Field) -> Field:
    """Return "BENCH 1" over the labels of a card as its title, which leaves nothing open."""
    asks = (
        f.state == "open" and not f.column and set(f.source.reading.candidates) <= {"group", UNSURE}
    )
    titled = asks and groups_in(f.source.heading)
    return replace(f, state="same", note="names the group of a card") if titled else f


def enter_headings(fields: Sequence[Field], book: Book, state: State) -> None:
    """Enter the heading cells in the ledger and in the table of headings."""
    sheet = book.sheet
    for f in fields:
        cells = f.source.cells
        if not cells:
            if f.column:
                first = (sheet.file, sheet.name, "", "", f.column, f.unit or "", f.how, f.note)
                state.headings.append(first)
            continue
        note = f.note if f.state != "unknown" else "not understood; a mapping can settle it"
        if f.state == "derived":
            note = "worked out by the group; not needed"
        if f.state == "personal":
            note = f"personal data ({f.note}), left out"
        row = (
            sheet.file, sheet.name, cells[-1].address, f.source.heading, f.column, f.unit or "",
            f.how if f.column else "", note,
        )  # fmt: skip
        state.headings.append(row)
        if f.state == "open":
            said = f"heading is ambiguous: {f.note}"
            book.enter(cells[-1], Entry("unclear", note=said))
        for cell in cells:
            said = f"heading of {f.column}" if f.column else f"heading; {note}"
            book.enter(cell, Entry("context", f.column, unit=f.unit or "", note=said))
