"""Reading a class's files: the one public way in."""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from typing import Literal

import pandas as pd

from solubility_stats.records import HEADING_COLUMNS, ClassRecords
from solubility_stats.sheets import privacy
from solubility_stats.sheets.account import account_of
from solubility_stats.sheets.assemble import Habits, runs_of
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.duplicates import mark_duplicates
from solubility_stats.sheets.files_in import PathLike, Source, find_sources
from solubility_stats.sheets.frames import decimals_frame, flags_frame, run_columns, runs_frame
from solubility_stats.sheets.grids import read_sheets
from solubility_stats.sheets.ledger import Book, Entry, to_frame
from solubility_stats.sheets.long import find_long
from solubility_stats.sheets.mapping import Mapping, canonical_unit
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import group_of_sheet, section_of_file, section_of_sheet
from solubility_stats.sheets.preamble import Preamble, read_preamble
from solubility_stats.sheets.resolve import Field, settle
from solubility_stats.sheets.tables import Table, find_tables
from solubility_stats.sheets.view import View

Path = Literal["auto", "full", "values"]


@dataclass
class _Reading:
    """What has been read so far: grows sheet by sheet within one call."""

    mapping: Mapping
    keep_personal: bool
    several_files: bool
    books: list[Book] = field(default_factory=list)
    drafts: list[Draft] = field(default_factory=list)
    headings: list[tuple[str, ...]] = field(default_factory=list)
    columns: list[str] = field(default_factory=list)
    names: set[str] = field(default_factory=set)
    personal: dict[tuple[int, tuple[int, int]], str] = field(default_factory=dict)
    codes: dict[str, str] = field(default_factory=dict)
    tables: int = 0
    decided: dict[str, str] = field(default_factory=dict)


def read_class(
    paths: PathLike | Iterable[PathLike],
    *,
    mapping: Mapping | PathLike | None = None,
    keep_personal: bool = False,
    pseudonym_key: str | bytes | None = None,
    semester: str | None = None,
    path: Path = "auto",
) -> ClassRecords:
    """Read the files of a class, however messy, without losing or inventing a value.

    Parameters
    ----------
    paths : path-like or iterable of path-like
        Workbooks (``.xlsx``, ``.xls``, ``.xlsb``, ``.ods``) and text tables; folders and patterns
        such as ``"week3/*.xlsx"`` are expanded.
    mapping : Mapping or path-like, optional
        Answers to what the reader could not settle; see :class:`Mapping`.
    keep_personal : bool
        Keep names, e-mail addresses and student numbers in the ledger. They never enter the runs.
    pseudonym_key : str or bytes, optional
        Replace group codes by a keyed hash; see :func:`solubility_stats.sheets.privacy.pseudonym`.
    semester : str, optional
        Term of all files, where the files do not say it.
    path : {"auto", "full", "values"}
        ``full`` reads formats, comments, formulas and hidden state of ``.xlsx`` files; ``values``
        reads values only, for large clean files; ``auto`` takes ``values`` for a large ``.xlsx``
        or text file in which nothing would be missed.

    Returns
    -------
    ClassRecords
        ``account["text"]`` says in a few lines what was read.

    Raises
    ------
    UnreadableFileError
        If a file is missing, empty, encrypted, damaged, unsafe or no table.
    InputError
        If nothing is given or the mapping cannot be used.
    """
    if mapping is None:
        mapping = Mapping()
    elif isinstance(mapping, (str, os.PathLike)):
        mapping = Mapping.from_toml(mapping)
    sources = find_sources(paths)
    state = _Reading(mapping, keep_personal, len(sources) > 1)
    with _collector_paused():
        for source in sources:
            _read_file(source, state)
        if semester is not None:
            for draft in state.drafts:
                draft.values.setdefault("semester", semester)
        mark_duplicates(state.drafts)
        return _records(state, pseudonym_key)


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Pause the cyclic garbage collector: a sheet is a hundred thousand small objects, none cyclic.

    Without this the collector walks all of them again and again, a quarter of the whole time.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _read_file(source: Source, state: _Reading) -> None:
    sheets = read_sheets(source)
    filled = [s for s in sheets if s.cells]
    found = []
    for sheet in filled:
        book = Book(sheet)
        state.books.append(book)
        if sheet.name in state.mapping.leave_out_sheets:
            for cell in sheet.cells.values():
                book.enter(cell, Entry("ignored", note="sheet left out by the mapping"))
            continue
        know = state.mapping.know(sheet.file, sheet.name)
        view = View(sheet)
        long = find_long(view, know, book)
        tables = [long] if long is not None else find_tables(view, know)
        found += [(book, table) for table in tables]
    several = len({id(book) for book, _ in found}) > 1
    by_sheet: dict[int, list[list[Draft]]] = {}
    for book, table in found:
        drafts = _read_table(book, table, several, state)
        by_sheet.setdefault(id(book), []).append(drafts)
    for parts in by_sheet.values():
        _tell_stacked_apart(parts)


def _read_table(book: Book, table: Table, several: bool, state: _Reading) -> list[Draft]:
    sheet, mapping = book.sheet, state.mapping
    table = replace(table, columns=mapping.tell(table.columns, sheet.file, sheet.name))
    values = {c.place: [table.view.get(i, c.place) for i in table.lines] for c in table.columns}
    personal = _personal_places(table, values, state)
    fields = settle(table, values, personal)
    fields, coded = _with_coded_group(fields, values, personal, book, state)
    _enter_headings(fields, book, state)
    taken = {f.column for f in fields if f.column}
    know = mapping.know(sheet.file, sheet.name)
    preamble = read_preamble(table, taken, book, know)
    habits = Habits(
        mapping.decimal,
        mapping.date_order,
        mapping.settled_units(sheet.file, sheet.name),
        mapping.settled_cells(sheet.file, sheet.name),
    )
    drafts, decided = runs_of(table, fields, book, habits)
    if coded:
        _replace_names(drafts, book, state)
    state.decided |= decided
    state.tables += 1
    state.columns += [f.column for f in fields if f.column]
    unit = _reported_unit(fields)
    for draft in drafts:
        if unit and "reported_solubility" in draft.values:
            draft.values.setdefault("reported_unit", unit)
        _place(draft, preamble, sheet, several, state)
    state.drafts += drafts
    return drafts


# Enough cells to see whether most of a column are names or numbers of students.
_SAMPLE = 200


def _personal_places(
    table: Table, values: dict[int, list[RawCell | None]], state: _Reading
) -> dict[int, str]:
    found: dict[int, str] = {}
    for column in table.columns:
        kind_of_column = column.reading.column
        numeric = kind_of_column is not None and canonical_unit(kind_of_column) != ""
        if numeric or kind_of_column in ("comment", "submitted", "filtration", "scatter", "solute"):
            continue
        cells = [c for c in values[column.place] if c is not None]
        sample = cells[:: max(1, len(cells) // _SAMPLE)]
        kind = privacy.personal_kind(column.heading, [c.value for c in sample])
        if kind:
            found[column.place] = kind
            if kind == "name":
                state.names |= privacy.names_in(c.value for c in cells)
    return found


def _with_coded_group(
    fields: list[Field],
    values: dict[int, list[RawCell | None]],
    personal: dict[int, str],
    book: Book,
    state: _Reading,
) -> tuple[list[Field], bool]:
    """Note the personal cells; let names that alone tell groups apart stand as codes.

    Returns
    -------
    fields : list of Field
    coded : bool
        Whether the group column holds names, to be replaced by codes.
    """
    for f in fields:
        if f.place in personal:
            for cell in values[f.place]:
                if cell is not None:
                    where = cell.merged_from or (cell.row, cell.col)
                    state.personal.setdefault((id(book), where), personal[f.place])
    names = [f for f in fields if f.state == "personal" and personal[f.place] == "name"]
    if any(f.column == "group" for f in fields) or len(names) != 1:
        return fields, False
    note = "names tell the groups apart; replaced by codes"
    group = replace(names[0], column="group", state="understood", how="position", note=note)
    return [group if f is names[0] else f for f in fields], True


def _replace_names(drafts: Sequence[Draft], book: Book, state: _Reading) -> None:
    """Put a code in the place of each name in the group column, the same for the same name."""
    for draft in drafts:
        name = " ".join(str(draft.values.get("group") or "").casefold().split())
        if name:
            code = state.codes.setdefault(name, f"P{len(state.codes) + 1}")
            draft.values["group"] = code
    for place, entry in book.entries.items():
        if entry.column == "group" and (id(book), place) in state.personal and entry.value:
            name = " ".join(str(entry.value).casefold().split())
            book.entries[place] = replace(entry, value=state.codes.get(name, ""))


def _enter_headings(fields: Sequence[Field], book: Book, state: _Reading) -> None:
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


def _reported_unit(fields: Sequence[Field]) -> str:
    """Return the unit written in the heading of the reported solubility."""
    import re

    if any(f.column == "reported_unit" for f in fields):
        return ""
    for f in fields:
        if f.column == "reported_solubility":
            text = f.source.heading
            found = re.search(r"[(\[]\s*([^()\[\]]*(?:/|per|mol|M|%)[^()\[\]]*)[)\]]", text)
            found = found or re.search(r"\b(m?g\s*(?:/|per)\s*.+|mol\s*/\s*\w+)\Z", text)
            if found:
                return " ".join(found[1].split())
    return ""


def _place(draft: Draft, preamble: Preamble, sheet: Sheet, several: bool, state: _Reading) -> None:
    """Give a run the section and whatever else holds for its whole table."""
    draft.section_said = bool(draft.values.get("section") or preamble.section)
    told = state.mapping.sections.get(sheet.name) or state.mapping.sections.get(sheet.file)
    section = (
        draft.values.get("section")
        or told
        or preamble.section
        or section_of_sheet(sheet.name)
        or section_of_file(sheet.file, state.several_files)
        or (sheet.name if several and not group_of_sheet(sheet.name) else "")
    )
    if section:
        draft.values["section"] = section
    if not draft.values.get("group") and "group" not in draft.unread:
        group = group_of_sheet(sheet.name)
        if group:
            draft.values["group"] = group
    for column, value in preamble.values.items():
        if column not in draft.values and column not in draft.unread:
            draft.values[column] = value
            if column in preamble.decimals:
                draft.decimals[column] = preamble.decimals[column]
    for flag in preamble.flags:
        draft.flag(*flag)


def _tell_stacked_apart(parts: list[list[Draft]]) -> None:
    """Name the tables of one sheet that share a section and its group codes but not their runs."""
    keys = [{d.key[:3] for d in drafts if d.key[2]} for drafts in parts]
    for number, (drafts, mine) in enumerate(zip(parts, keys, strict=True)):
        shared = mine & set().union(*(k for at, k in enumerate(keys) if at != number), set())
        if mine and 2 * len(shared) > len(mine) and not any(d.section_said for d in drafts):
            for d in drafts:
                base = d.values.get("section")
                name = f"table {number + 1}"
                d.values["section"] = f"{base}, {name}" if base else name


def _records(state: _Reading, key: str | bytes | None) -> ClassRecords:
    drafts = state.drafts
    if not state.keep_personal:
        for draft in drafts:
            if "comment" in draft.values:
                draft.values["comment"] = privacy.scrub(str(draft.values["comment"]), state.names)
    codes: dict[str, str] = {}
    if key is not None:
        for draft in drafts:
            group = str(draft.values.get("group") or "")
            if group:
                codes.setdefault(group, privacy.pseudonym(group, key))
                draft.values["group"] = codes[group]
    columns = run_columns(drafts, state.columns)
    runs = runs_frame(drafts, columns)
    ledger = to_frame(state.books, _shown(state, codes))
    if codes:
        groups = ledger["column"] == "group"
        ledger.loc[groups, "value"] = ledger.loc[groups, "value"].map(
            lambda v: codes.get(str(v), v)
        )
    headings = pd.DataFrame(state.headings, columns=list(HEADING_COLUMNS)).astype("str")
    return ClassRecords(
        runs=runs,
        ledger=ledger,
        headings=headings,
        flags=flags_frame(drafts, runs["run_id"].tolist()),
        decimals=decimals_frame(drafts, columns),
        account=account_of(state.books, runs, ledger, headings, state.tables, state.decided),
    )


def _shown(state: _Reading, codes: dict[str, str]) -> Callable[[Book, RawCell, Entry], str]:
    """Return the function that shows a raw cell with personal data left out."""
    known: dict[str, str] = {}

    def show(book: Book, cell: RawCell, entry: Entry) -> str:
        text = cell.text
        if codes and entry.column == "group" and entry.outcome == "used":
            return codes.get(str(entry.value), "[group]")
        if state.keep_personal:
            return text
        kind = state.personal.get((id(book), (cell.row, cell.col)))
        if kind is not None:
            return privacy.REDACTED[kind]
        if entry.column and entry.column != "comment":
            return text
        if not isinstance(cell.value, str) or len(text) < 3:
            return text
        if text not in known:
            known[text] = privacy.scrub(text, state.names)
        return known[text]

    return show
