"""Reading a class's files: the one public way in."""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Literal

import pandas as pd

from solubility_stats.records import HEADING_COLUMNS, ClassRecords
from solubility_stats.sheets import privacy
from solubility_stats.sheets.account import account_of
from solubility_stats.sheets.alike import with_units_alike
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.duplicates import mark_duplicates
from solubility_stats.sheets.files_in import PathLike, Source, find_sources
from solubility_stats.sheets.frames import decimals_frame, flags_frame, run_columns, runs_frame
from solubility_stats.sheets.grids import read_sheets
from solubility_stats.sheets.join import join_tables
from solubility_stats.sheets.layouts.asides import without_asides
from solubility_stats.sheets.layouts.corrections import with_corrections
from solubility_stats.sheets.layouts.finding import tables_of
from solubility_stats.sheets.layouts.pairs import (
    with_pairs_split,
    with_second_weighing_split,
    with_working_split,
)
from solubility_stats.sheets.layouts.pours import with_pours_folded
from solubility_stats.sheets.layouts.ticks import with_ticks_read
from solubility_stats.sheets.ledger import Book, Entry, to_frame
from solubility_stats.sheets.legend import codes_explained, explains, legend_of, with_legend
from solubility_stats.sheets.lone_water import doubt_lone_water
from solubility_stats.sheets.mapping import Mapping
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.no_results import sheets_of_others
from solubility_stats.sheets.places import group_of_file
from solubility_stats.sheets.preamble import titles_of
from solubility_stats.sheets.proof import is_bounded, is_large_and_clean
from solubility_stats.sheets.pseudonyms import without_codes
from solubility_stats.sheets.quick import read_plain
from solubility_stats.sheets.reading import read_table
from solubility_stats.sheets.remarks.beside import say_for_all, say_for_tables_beside
from solubility_stats.sheets.setup_sheet import (
    give_to_all,
    particulars,
    said_to_everybody,
    with_setup_above,
    with_setup_of_sections,
    without_setup,
)
from solubility_stats.sheets.state import State

Path = Literal["auto", "full", "values"]


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
    with _collector_paused():
        if len(sources) == 1 and _values_only(sources[0], path):
            plain = read_plain(sources[0], State(mapping, keep_personal, False), semester)
            if plain is not None and pseudonym_key is None:
                return plain
        return _read_all(
            sources, State(mapping, keep_personal, len(sources) > 1), semester, pseudonym_key
        )


def _read_all(
    sources: Sequence[Source], state: State, semester: str | None, key: str | bytes | None
) -> ClassRecords:
    """Read all files into one class; what it took is gone before the collector is back."""
    for source in sources:
        _read_file(source, state)
    if semester is not None:
        for draft in state.drafts:
            draft.values.setdefault("semester", semester)
    _set_empty_aside(state.drafts)
    mark_duplicates(state.drafts)
    return _records(state, key)


def _set_empty_aside(drafts: Sequence[Draft]) -> None:
    """Set aside whoever is listed with a word ("absent", "no time") and no reading at all."""
    for draft in drafts:
        if draft.set_aside or any(map(is_reading, draft.values)):
            continue
        if not draft.doubtful:
            draft.set_aside = "listed without any reading"
        elif not {"group", "section"} & {*draft.values}:
            draft.set_aside = "no reading could be read, and nothing says whose they are"


def _values_only(source: Source, path: Path) -> bool:
    if path == "values":
        return source.kind == "xlsx" and is_bounded(source)
    return path == "auto" and is_large_and_clean(source)


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


def _read_file(source: Source, state: State) -> None:
    sheets = read_sheets(source)
    filled = [s for s in sheets if s.cells]
    found = []
    shared: dict[str, str] = {}
    before = len(state.books)
    for sheet in filled:
        if explains(sheet):
            shared |= legend_of(sheet)
    state.explained = codes_explained(filled, state.mapping.know(source.label, ""))
    for sheet in filled:
        book = Book(sheet)
        state.books.append(book)
        if sheet.name in state.mapping.leave_out_sheets:
            for cell in sheet.cells.values():
                book.enter(cell, Entry("ignored", note="sheet left out by the mapping"))
            continue
        if explains(sheet):
            for cell in sheet.cells.values():
                book.enter(cell, Entry("context", note="explains the other sheets"))
            continue
        legend = legend_of(sheet)
        know = with_legend(state.mapping.know(sheet.file, sheet.name), legend)
        know = with_legend(know, shared, own_sheet=False)
        plain = _without_asides(book, state)
        tables = tables_of(plain, know, book)
        legend = shared | legend
        tables = [with_pairs_split(with_working_split(t, know), know, legend) for t in tables]
        tables = [with_corrections(with_second_weighing_split(t), know, book) for t in tables]
        tables = [with_ticks_read(with_pours_folded(t, book), know, book) for t in tables]
        tables = with_units_alike(tables, know)
        titles = titles_of(tables)
        found += [(book, table, titles) for table in tables]
    several = len({id(book) for book, *_ in found}) > 1
    read = [read_table(b, t, several, state, above) for b, t, above in found]
    for book in {id(b): b for b, *_ in found}.values():
        own = [t for (b, *_), t in zip(found, read, strict=True) if b is book]
        say_for_all(book, [draft for drafts in own for draft in drafts])
        say_for_tables_beside(book, own)
    with_runs = {id(b) for (b, *_), drafts in zip(found, read, strict=True) if drafts}
    _set_sheets_aside(read, [(b.sheet, id(b) in with_runs) for b in state.books[before:]])
    read += [_particulars(b, state) for b in state.books[before:] if id(b) not in with_runs]
    _take_runs(read, state, state.books[before:])


def _set_sheets_aside(read: Sequence[list[Draft]], sheets: Sequence[tuple[Sheet, bool]]) -> None:
    """Set the runs of a sheet aside that a sheet without runs calls last year's, or a plan."""
    names = [sheet.name for sheet, has_runs in sheets if has_runs]
    told = [c.text for sheet, has_runs in sheets if not has_runs for c in sheet.texts]
    said = sheets_of_others(told, names) if len(names) > 1 else {}
    for draft in (d for drafts in read for d in drafts if d.sheet in said):
        why = f"a sheet of which is said: '{said[draft.sheet]}'"
        draft.set_aside = draft.set_aside or why


def _without_asides(book: Book, state: State) -> Sheet:
    """Return a sheet without what stands beside its titles, which is entered in its book."""
    parted = without_asides(book.sheet)
    for cell in parted.people:
        state.personal[id(book), (cell.row, cell.col)] = "name"
        book.enter(cell, Entry("ignored", note="personal data (name), left out"))
    state.names |= privacy.names_in(cell.value for cell in parted.people[1::2])
    for cell in parted.asides:
        book.enter(cell, Entry("context", note="when or with what, beside a title"))
    return parted.sheet


def _particulars(book: Book, state: State) -> list[Draft]:
    """Return what a sheet without runs says of those on the other sheets."""
    sheet = book.sheet
    if sheet.name in state.mapping.leave_out_sheets:
        return []
    know = state.mapping.know(sheet.file, sheet.name)
    return particulars(book, know, explains=explains(sheet))


def _take_runs(read: Sequence[list[Draft]], state: State, books: Sequence[Book]) -> None:
    """Join the tables of a file, and tell those apart that could not be joined."""
    tables, setup = without_setup(with_setup_of_sections(with_setup_above(read)))
    parts = join_tables(tables)
    doubt_lone_water(parts, books)
    give_to_all(setup, parts)
    for book in books:
        if own := [t for t in parts if t and t[0].sheet == book.sheet.name]:
            know = state.mapping.know(book.sheet.file, book.sheet.name)
            give_to_all(said_to_everybody(book, know), own)
    _name_by_file([d for drafts in parts for d in drafts])
    by_sheet: dict[str, list[list[Draft]]] = {}
    for drafts in parts:
        state.drafts += drafts
        by_sheet.setdefault(drafts[0].sheet if drafts else "", []).append(drafts)
    for stacked in by_sheet.values():
        _tell_stacked_apart(stacked)


def _name_by_file(drafts: Sequence[Draft]) -> None:
    """Give the runs of a file the group it is named after, where they are those of one group."""
    live = [d for d in drafts if not d.set_aside]
    runs = [d.values.get("run") for d in live]
    one_each = len(live) == 1 or (all(runs) and len(set(runs)) == len(runs))
    if one_each and not any(d.key[2] or "group" in d.unread for d in drafts):
        for draft in live:
            if group := group_of_file(draft.file):
                draft.values["group"] = group


def _tell_stacked_apart(parts: list[list[Draft]]) -> None:
    """Name the tables of one sheet that share a section and its group codes but not their runs."""
    keys = [
        {(*d.key[:3], d.values.get("run")) for d in drafts if d.key[2] and not d.set_aside}
        for drafts in parts
    ]  # trials that are numbered tell themselves apart
    for number, (drafts, mine) in enumerate(zip(parts, keys, strict=True)):
        shared = mine & set().union(*(k for at, k in enumerate(keys) if at != number), set())
        if mine and 2 * len(shared) > len(mine) and not any(d.section_said for d in drafts):
            for d in drafts:
                base = d.values.get("section")
                name = f"table {number + 1}"
                d.values["section"] = f"{base}, {name}" if base else name


def _records(state: State, key: str | bytes | None) -> ClassRecords:
    drafts = state.drafts
    if not state.keep_personal:
        for draft in drafts:
            if "comment" in draft.values:
                draft.values["comment"] = privacy.scrub(str(draft.values["comment"]), state.names)
            draft.set_aside = privacy.scrub_quoted(draft.set_aside, state.names)
            draft.flags = [
                (c, f, privacy.scrub_quoted(note, state.names)) for c, f, note in draft.flags
            ]
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
    if not state.keep_personal:
        remarks = ledger["column"] == "comment"
        ledger.loc[remarks, "value"] = ledger.loc[remarks, "value"].map(
            lambda v: privacy.scrub(str(v), state.names), na_action="ignore"
        )
        quoting = [note for note in ledger["note"].unique() if "'" in note]
        told = {note: privacy.scrub_quoted(note, state.names) for note in quoting}
        changed = ledger["note"].isin(quoting)
        ledger.loc[changed, "note"] = ledger.loc[changed, "note"].map(told)
    if codes:
        groups = ledger["column"] == "group"
        ledger.loc[groups, "value"] = ledger.loc[groups, "value"].map(
            lambda v: codes.get(str(v), v)
        )
    headings = pd.DataFrame(state.headings, columns=list(HEADING_COLUMNS)).astype("str")
    records = ClassRecords(
        runs=runs,
        ledger=ledger,
        headings=headings,
        flags=flags_frame(drafts, runs["run_id"].tolist()),
        decimals=decimals_frame(drafts, columns),
        account=account_of(state.books, runs, ledger, headings, state.tables, state.decided),
    )
    return without_codes(records, codes) if codes else records


def _shown(state: State, codes: dict[str, str]) -> Callable[[Book, RawCell, Entry], str]:
    """Return the function that shows a raw cell with personal data left out."""
    known: dict[str, str] = {}
    personal = state.personal
    as_it_is = state.keep_personal

    def show(book: Book, cell: RawCell, entry: Entry) -> str:
        text = cell.text
        if codes and entry.column == "group" and entry.outcome == "used":
            return codes.get(str(entry.value), "[group]")
        if as_it_is:
            return text
        if personal and (kind := personal.get((id(book), (cell.row, cell.col)))) is not None:
            return privacy.REDACTED[kind]
        if entry.column and entry.column != "comment":
            return text
        if not isinstance(cell.value, str) or len(text) < 3:
            return text
        if text not in known:
            known[text] = privacy.scrub(text, state.names)
        return known[text]

    return show
