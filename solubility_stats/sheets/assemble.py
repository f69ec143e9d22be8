"""From a table to runs: every cell below the headings is read, judged and entered in the ledger."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from solubility_stats.quantities import fill_column, fill_columns
from solubility_stats.sheets.again import same_group_again, without_remarks
from solubility_stats.sheets.cell_reader import CellReader, Habits, Line, Read
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.goes import number_goes
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.line_list import classified, shape_of
from solubility_stats.sheets.model import (
    ParsedCell,
    RawCell,
    column_letters,
)
from solubility_stats.sheets.places import (
    RUN_NAMED,
    groups_in,
    one_group_in,
    section_in,
    without_common_prefix,
)
from solubility_stats.sheets.resolve import Field
from solubility_stats.sheets.table import Table
from solubility_stats.sheets.titre import settle_titre
from solubility_stats.sheets.view import looks_like_number
from solubility_stats.sheets.water import (
    doubt_water_beside,
    join_pours,
    second_volume,
    settle_water,
)
from solubility_stats.sheets.words import says_none

_FIXED = ("group", "section", "run")


def runs_of(
    table: Table, fields: Sequence[Field], book: Book, habits: Habits
) -> tuple[list[Draft], dict[str, str]]:
    """Return the runs of a table; enter all its cells below the headings in the ledger.

    Returns
    -------
    drafts : list of Draft
        One per run, sections not yet filled in from outside the table.
    decided : dict of str to str
        Decimal mark and evidence per column, for the account.
    """
    shape = shape_of(fields)
    listed = classified(table, fields, shape)
    _enter_other_lines(table, listed, fields, book)
    reader = CellReader(fields, listed, habits, book)
    trials = sorted({f.trial for f in fields if f.trial and f.column})
    drafts: list[Draft] = []
    section = group = ""
    parts = _parts_by_word(listed, fields)
    for line in listed:
        if line.kind in ("note", "listed"):
            section = _section_line(line, fields) or parts.get(line.number, "") or section
            group = _group_line(line, fields) or group
        if line.kind == "nameless" and table.view.turned and drafts:
            held = {f.column for f in fields if f.place in line.cells}
            doubt_water_beside(drafts[-1], held)
        if line.kind in ("run", "example", "blank"):
            made = _drafts(table, line, fields, trials, reader, book)
            for draft in made:
                if section:
                    draft.values.setdefault("section", section)
                if group:
                    draft.values.setdefault("group", group)
                if line.kind != "run":
                    draft.set_aside = _NO_RUN[line.kind]
            drafts += made
    same_group_again(drafts)
    number_goes(drafts)
    _shorten_codes(drafts)
    without_remarks(drafts)
    if table.view.turned:
        drafts = join_pours(drafts, book)
    settle_water(drafts)
    settle_titre(drafts)
    return drafts, reader.decided


_NO_RUN = {
    "example": "example row of the template",
    "blank": "a blank, control or demonstration, no run of a group",
}
_CUT = "more fields than headings on this line: a decimal comma may have cut a number in two"
_SLIPPED = "the values of this line fit the columns beside theirs: it may have slipped to the side"
_OTHER = {
    "slipped": Entry("unclear", note=_SLIPPED),
    "shifted": Entry("unclear", note=_CUT),
    "summary": Entry("ignored", note="a summary line (mean, total, spread), not a run"),
    "note": Entry("ignored", note="a note under the table"),
    "units": Entry("context", note="units of the columns"),
    "heading": Entry("context", note="headings repeated"),
    "listed": Entry("context", note="a group listed without readings"),
    "end": Entry("ignored", note="below the table, under no heading that was understood"),
}


def _enter_other_lines(
    table: Table, listed: Sequence[Line], fields: Sequence[Field], book: Book
) -> None:
    personal = {f.place for f in fields if f.state == "personal"}
    for line in listed:
        if line.kind not in _OTHER and line.kind != "nameless":
            continue  # a run, entered as it is read
        for place, cell in line.cells.items():
            if cell.merged_from is not None:
                continue
            if place in personal and line.kind in ("nameless", "listed"):
                book.enter(cell, Entry("ignored", note="personal data, left out"))
            elif line.kind == "nameless":
                book.enter(cell, Entry("unclear", note="the line names no group"))
            elif line.kind == "end" and looks_like_number(cell):
                book.enter(cell, replace(_OTHER["end"], outcome="unclear"))
            else:
                book.enter(cell, _OTHER[line.kind])
        if line.kind in ("shifted", "slipped"):
            for place in table.view.along[line.number]:
                book.enter(table.view.cells[line.number, place], _OTHER[line.kind])


def _section_line(line: Line, fields: Sequence[Field]) -> str:
    """Return the section that a line of its own announces for the lines below it."""
    own = [c for c in line.cells.values() if c.merged_from is None]
    named = any(f.column == "section" for f in fields)
    if named or len(own) != 1 or not isinstance(own[0].value, str) or len(own[0].value) > 40:
        return ""
    return section_in(own[0].value)


_PART = re.compile(
    r"(?P<word>[^\W\d_]{3,12})\.?\s*[:–-]?\s*(?P<code>[A-Z]{0,3}-?\d{1,3}[A-Za-z]?|[A-Z])"
)


def _parts_by_word(listed: Sequence[Line], fields: Sequence[Field]) -> dict[int, str]:
    """Return the codes of the parts of a table by line: "Batch B1" and, further down, "Batch B2".

    The same word, whatever it is, with another code each time, on lines of their own.
    """
    if any(f.column == "section" for f in fields):
        return {}
    found: dict[int, re.Match[str]] = {}
    for line in listed:
        if line.kind not in ("note", "listed"):
            continue
        own = [c for c in line.cells.values() if c.merged_from is None]
        if len(own) == 1 and isinstance(own[0].value, str):
            match = _PART.fullmatch(own[0].value.strip())
            if match and not groups_in(match[0]) and not RUN_NAMED.match(match[0]):
                found[line.number] = match
    words = {m["word"].casefold() for m in found.values()}
    codes = {m["code"] for m in found.values()}
    if len(words) != 1 or len(codes) < 2 or len(codes) < len(found):
        return {}
    return {number: m["code"] for number, m in found.items()}


def _group_line(line: Line, fields: Sequence[Field]) -> str:
    """Return the group that a line of its own announces for the trials below it."""
    own = [c for c in line.cells.values() if c.merged_from is None]
    named = any(f.column == "group" for f in fields)
    if named or len(own) != 1 or not isinstance(own[0].value, str):
        return ""
    return one_group_in([own[0].value])


def _drafts(
    table: Table,
    line: Line,
    fields: Sequence[Field],
    trials: Sequence[str],
    reader: CellReader,
    book: Book,
) -> list[Draft]:
    """Return the runs of one line: one, or one per trial where trials stand side by side."""
    sheet = book.sheet
    cell = next(iter(line.cells.values()))
    where = f"column {column_letters(cell.col)}" if table.view.turned else f"row {cell.row}"
    by_trial: dict[str, Draft] = {t: Draft(sheet.file, sheet.name, where) for t in (trials or [""])}
    filled: set[str] = set()
    merged = bool(table.view.merged)
    withdrawn = _is_struck_out(line, fields)
    for draft in by_trial.values() if withdrawn else ():
        draft.set_aside = "struck out by whoever wrote it"
        draft.flag("", "struck", draft.set_aside)
    for f in fields:
        at = line.cells.get(f.place)
        if at is None:
            continue
        if not f.column:
            book.enter(at, unused(f, at))
            continue
        found = reader.read(f, at._replace(struck=False) if withdrawn else at)
        if not trials:
            _fill_in(by_trial[""], f, at, found)
        elif _fill_trials(by_trial, f, at, found):
            filled.add(f.trial)
        entry = found.entry
        if merged and (at.merged_from or table.view.range_of(line.number, f.place)):
            entry = replace(entry, note=_joined(entry.note, "one merged cell for several lines"))
        book.enter(at, entry)
    if not trials:
        return list(by_trial.values())
    for trial, draft in by_trial.items():
        draft.values.setdefault(table.parts, trial)
    return [d for t, d in by_trial.items() if t in filled] or list(by_trial.values())[:1]


def _fill_trials(by_trial: Mapping[str, Draft], f: Field, at: RawCell, found: Read) -> bool:
    """Put a reading into its trial, or into all; tell whether it holds more than words."""
    for trial, draft in by_trial.items():
        if f.trial in ("", trial):
            _fill_in(draft, f, at, found)
    # "not done" is no trial.
    return not isinstance(at.value, str) or any(map(str.isdigit, at.value))


def _is_struck_out(line: Line, fields: Sequence[Field]) -> bool:
    """Tell whether every reading of a line is struck out, so that it was withdrawn as a whole."""
    if not any([c.struck for c in line.cells.values()]):
        return False  # nearly every line
    cells = [line.cells[f.place] for f in fields if f.column and f.place in line.cells]
    numbers = [c for c in cells if looks_like_number(c)]
    return len(numbers) > 1 and all(c.struck for c in numbers)


def _joined(*notes: str) -> str:
    return "; ".join(n for n in notes if n)


_UNUSED = {
    "derived": Entry("ignored", note="worked out by the group, not a reading"),
    "personal": Entry("ignored", note="personal data, left out"),
    "told": Entry("ignored", note="left out by the mapping"),
}


def unused(f: Field, cell: RawCell) -> Entry:
    """Return what becomes of a cell whose column fills none of ours."""
    if f.state in _UNUSED:
        return _UNUSED[f.state]
    if f.state == "same":
        return Entry("ignored", note=f.note)
    heading = f.source.heading
    if f.state == "open":
        return Entry("unclear", note=f"heading '{heading}' is ambiguous: {f.note}")
    said = f"heading '{heading}' is not understood" if heading else "no heading above"
    outcome = "unclear" if looks_like_number(cell) else "ignored"
    return Entry("unclear" if outcome == "unclear" else "ignored", note=said)


def _fill_in(draft: Draft, f: Field, cell: RawCell, found: Read) -> None:
    parsed = found.parsed
    if cell.merged_from is None:
        draft.cells.append((cell.row, cell.col))
    if found.plain and f.column not in draft.values:
        draft.values[f.column] = parsed.value
        if parsed.decimals is not None:
            draft.decimals[f.column] = parsed.decimals
        return
    for flag in parsed.flags:
        if flag == "hidden":
            draft.hidden = True
        else:
            note = f"{cell.address}: {parsed.note}" if parsed.note else cell.address
            draft.flag(f.column, flag, note)
    if parsed.value is None:
        _note_unread(draft, f, cell, parsed)
        return
    if f.column == "comment" and "comment" in draft.values:
        draft.values["comment"] = f"{draft.values['comment']}; {parsed.value}"
    elif f.column == "water_volume_ml" and f.column in draft.values:
        second_volume(draft, parsed, cell.address)
    else:
        draft.values[f.column] = parsed.value
        if parsed.decimals is not None:
            draft.decimals[f.column] = parsed.decimals
    if f.column == "water_volume_ml" and not fill_columns(draft.values):
        _fill_parts(draft, parsed)
    if f.column == "reported_solubility" and parsed.unit:
        draft.values.setdefault("reported_unit", parsed.unit)


def _fill_parts(draft: Draft, parsed: ParsedCell) -> None:
    """Put the parts of a written sum ("100+100+50") into the fills of a run."""
    for number, part in enumerate(parsed.parts, start=1):
        draft.values[fill_column(number)] = part
        if parsed.decimals is not None:
            draft.decimals[fill_column(number)] = parsed.decimals


def _note_unread(draft: Draft, f: Field, cell: RawCell, parsed: ParsedCell) -> None:
    if parsed.outcome in ("unclear", "rejected"):
        draft.unread.add(f.column)
        draft.doubtful |= any(map(str.isdigit, cell.text))
        if not {"unclear", "implausible"} & set(parsed.flags):
            draft.flag(f.column, "unclear", f"{cell.address}: {parsed.note}")
    elif parsed.outcome == "ignored" and not says_none(cell.text):
        draft.unread.add(f.column)


def _shorten_codes(drafts: Sequence[Draft]) -> None:
    """Take "Group" off "Group 3" where every group of the table is written so."""
    for column in _FIXED:
        codes = [str(d.values[column]) for d in drafts if d.values.get(column) and not d.set_aside]
        short = without_common_prefix(codes)
        for d in drafts:
            if column in d.values:
                d.values[column] = short.get(str(d.values[column]), d.values[column])
