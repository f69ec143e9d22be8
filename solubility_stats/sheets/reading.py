"""Reading one table: personal data, headings, preamble, runs, and what holds for all of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets import privacy
from solubility_stats.sheets.assemble import runs_of
from solubility_stats.sheets.cell_reader import Habits
from solubility_stats.sheets.cells import parse_cell
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.mapping import Mapping, canonical_unit
from solubility_stats.sheets.model import CellContext, RawCell, Sheet
from solubility_stats.sheets.places import (
    group_of_sheet,
    section_in,
    section_of_file,
    section_of_sheet,
)
from solubility_stats.sheets.preamble import Preamble, group_named, notes_below, read_preamble
from solubility_stats.sheets.resolve import Field, settle
from solubility_stats.sheets.sentences import said_in, units_said
from solubility_stats.sheets.tables import Column, Table
from solubility_stats.sheets.units import dimension_of, known_unit
from solubility_stats.sheets.water import pour_as_headed


_NUMBERED = re.compile(r"\s*\(?(\d{1,2})\s*[.):]\s*(?=[^\W\d])")


def without_numbers(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Return columns without the numbers of a list of questions before their headings.

    "2. volume of water added" of questions 1 to 8 is no second fill; "1. fill", "2. fill" count.
    """
    found = {c.place: m for c in columns if c.cells and (m := _NUMBERED.match(c.cells[-1].text))}
    numbers = [int(m[1]) for m in found.values()]
    rest = {m.string[m.end() :].casefold().strip() for m in found.values()}
    counts = len(rest) == len(numbers) >= _FEWEST_NUMBERED
    if not counts or any(b <= a for a, b in pairwise(numbers)):
        return tuple(columns)
    return tuple(_without_number(c, found.get(c.place)) for c in columns)


# So many questions with different words are a numbered list (judgement).
_FEWEST_NUMBERED = 4


def _without_number(column: Column, number: re.Match[str] | None) -> Column:
    if number is None or column.reading.how == "mapping":
        return column
    texts = [c.text for c in column.cells]
    again = understand((*texts[:-1], number.string[number.end() :]))
    return replace(column, reading=again) if again.column else column


def with_unit(column: Column, said: dict[str, str], cells: Sequence[RawCell | None]) -> Column:
    """Return a column with the unit the sheet states for all its masses or volumes.

    A heading that is not understood is asked again with the unit behind its values ("Ca(OH)2
    tipped in | 2.204 g").
    """
    reading = column.reading
    named = reading.column not in (None, "solute")  # "solid" over "2.45 g" is no name
    if reading.unit is None and not named and not reading.derived:
        behind = _unit_behind(cells)
        if behind and (again := _with(column, behind)).column:
            return replace(column, reading=replace(again, unit=None))
    meant = [c for c in reading.candidates if is_canonical(c) and quantity(c).unit]
    if not said or reading.unit is not None:
        return column
    if not reading.candidates:  # "Residue after 2nd drying" of a sheet with "all masses in mg"
        found = [r for unit in said.values() if (r := _with(column, unit)).column]
        return replace(column, reading=found[0]) if len(found) == 1 else column
    if not meant:
        return column
    mine = known_unit(quantity(meant[0]).unit)
    unit = said.get(dimension_of(mine) or "") if mine is not None else None
    return replace(column, reading=replace(reading, unit=unit)) if unit else column


def _with(column: Column, unit: str) -> Reading:
    return understand((*(c.text for c in column.cells), unit))


_BEHIND = re.compile(r"[\s~≈]*\d[\d.,]*\s*(?P<unit>[^\W\d_]{1,8}|°\s?[CFK])\.?\s*")


def _unit_behind(cells: Sequence[RawCell | None]) -> str | None:
    """Return the unit behind all numbers of a column, if there is one and the same."""
    texts = [c.text for c in cells if c is not None and isinstance(c.value, str)]
    units = {m["unit"] for text in texts if (m := _BEHIND.fullmatch(text))}
    return known_unit(units.pop()) if len(units) == 1 else None


@dataclass
class State:
    """What has been read so far; grows sheet by sheet within one call."""

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
    explained: dict[str, str] = field(default_factory=dict)
    tables: int = 0
    decided: dict[tuple[str, str, str], str] = field(default_factory=dict)


def read_table(
    book: Book, table: Table, several: bool, state: State, titles: Sequence[RawCell] = ()
) -> list[Draft]:
    """Read one table into runs; enter its cells in the ledger and its headings in the list."""
    sheet, mapping = book.sheet, state.mapping
    table = replace(table, columns=mapping.tell(table.columns, sheet.file, sheet.name))
    around = (*titles, *table.caption, *notes_below(table))
    said = units_said([c.value for c in around if isinstance(c.value, str)])
    values = {c.place: table.view.column(c.place, table.lines) for c in table.columns}
    columns = without_numbers(table.columns)
    columns = tuple(with_unit(c, said, values[c.place]) for c in columns)
    table = replace(table, columns=columns)
    personal = personal_places(table, values, state)
    fields = settle(table, values, personal)
    named = table.view.turned and bool(group_named(table))
    fields, coded = with_coded_group(fields, values, personal, book, state, named=named)
    enter_headings(fields, book, state)
    taken = {f.column for f in fields if f.column}
    know = mapping.know(sheet.file, sheet.name)
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
    if not any(is_reading(f.column) for f in fields):
        drafts = []  # a list of sections or groups, with nothing that was measured
    if coded:
        _replace_names(drafts, book, state)
    state.decided |= {(sheet.file, sheet.name, c): why for c, why in decided.items()}
    state.tables += 1
    state.columns += [f.column for f in fields if f.column]
    unit = reported_unit(fields)
    for f in fields:
        if f.column == "water_volume_ml":
            pour_as_headed(drafts, f.source.heading)
    titrated = taken & _TITRATED
    for draft in drafts:
        if unit and "reported_solubility" in draft.values:
            draft.values.setdefault("reported_unit", unit)
        place_run(draft, preamble, sheet, several, state)
        if titrated and not titrated & {*draft.values, *draft.unread}:
            for column in ("titrant_mol_per_l", "aliquot_ml"):  # stated for those who titrated
                if column in preamble.values and column not in taken:
                    draft.values.pop(column, None)
    if _EXAMPLE_SHEET.search(sheet.name):
        for draft in drafts:
            draft.set_aside = draft.set_aside or f"on the sheet '{sheet.name}'"
    if not state.keep_personal:
        _code_instructors(drafts, book, state)
    return drafts


_TITRATED = frozenset({"titrant_ml", "burette_start_ml", "burette_end_ml"})
_EXAMPLE_SHEET = re.compile(
    r"\b(?:worked (?:example|solution|answer)|example|sample (?:calc|data)|demo\b|template|"
    r"answer key|model answer|dummy|(?:last|previous) (?:year|semester|term)|archiv|backup|"
    r"old (?:data|values|results|sheet))",
    re.IGNORECASE,
)
_CODE = re.compile(r"[^\W_]{1,3}|[A-Z]{2,5}|\w*\d\w*|(?:[A-Z]\.?\s?){1,3}")


def _code_instructors(drafts: Sequence[Draft], book: Book, state: State) -> None:
    """Put a code in the place of an instructor's name, the same for the same name."""
    said = {str(d.values["instructor"]) for d in drafts if d.values.get("instructor")}
    names = {name for name in said if not _CODE.fullmatch(name.strip())}
    if not names:
        return
    state.names |= privacy.names_in(names)
    for name in sorted(names):
        known = [c for c in state.codes.values() if c.startswith("T")]
        state.codes.setdefault(f"instructor {name.casefold()}", f"T{len(known) + 1}")
    for draft in drafts:
        name = str(draft.values.get("instructor") or "")
        if name in names:
            draft.values["instructor"] = state.codes[f"instructor {name.casefold()}"]
    for place, entry in book.entries.items():
        if entry.column == "instructor" and str(entry.value) in names:
            state.personal.setdefault((id(book), place), "name")
            code = state.codes[f"instructor {str(entry.value).casefold()}"]
            book.entries[place] = replace(entry, value=code)


# Enough cells to see whether most of a column are names or numbers of students.
_SAMPLE = 200


_ANYWHERE = frozenset({"titrant_mol_per_l", "aliquot_ml", "temperature_c", "filtration"})
_FEWEST_WORDS = 4


def say_for_all(book: Book, drafts: Sequence[Draft]) -> None:
    """Give the runs of a sheet what a sentence somewhere beside its tables says of all of them.

    Only what no run of the sheet has, and only if nothing else on the sheet says otherwise.
    """
    live = [d for d in drafts if not d.set_aside and any(map(is_reading, d.values))]
    known = set().union(*({*d.values, *d.unread} for d in live), set())
    beside = [
        cell
        for place, cell in sorted(book.sheet.cells.items())
        if isinstance(cell.value, str) and len(cell.text.split()) >= _FEWEST_WORDS
        and ((entry := book.entries.get(place)) is None or not entry.column)
    ]  # fmt: skip
    if not live or not beside:
        return
    for column, (cell, text) in said_in(beside, known).items():
        if column not in _ANYWHERE:
            continue
        said = RawCell(cell.row, cell.col, text, text)
        parsed = parse_cell(said, quantity(column), CellContext(column))
        if parsed.value is None:
            continue
        note = "; ".join(n for n in ("stated once on the sheet", parsed.note) if n)
        entry = Entry(parsed.outcome, column, parsed.value, parsed.unit, note)
        book.enter(cell, entry, again=True)
        for draft in live:
            draft.values[column] = parsed.value
            if parsed.decimals is not None:
                draft.decimals[column] = parsed.decimals


def personal_places(
    table: Table, values: dict[int, list[RawCell | None]], state: State
) -> dict[int, str]:
    """Return the places that hold personal data, with its kind; remember the names."""
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


def with_coded_group(
    fields: list[Field],
    values: dict[int, list[RawCell | None]],
    personal: dict[int, str],
    book: Book,
    state: State,
    named: bool = False,
) -> tuple[list[Field], bool]:
    """Note the personal cells; let names that alone tell groups apart stand as codes.

    A card with its group ``named`` above it needs none.

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
    if named or any(f.column == "group" for f in fields) or len(names) != 1:
        return fields, False
    note = "names tell the groups apart; replaced by codes"
    group = replace(names[0], column="group", state="understood", how="position", note=note)
    return [group if f is names[0] else f for f in fields], True


def _replace_names(drafts: Sequence[Draft], book: Book, state: State) -> None:
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


def reported_unit(fields: Sequence[Field]) -> str:
    """Return the unit written in the heading of the reported solubility."""
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


def _own_name(draft: Draft, sheet: Sheet) -> str:
    """Return what the name of a sheet calls its section, empty where it names one group.

    "Groupe 02" over a table with groups of its own is the name of a class.
    """
    group = group_of_sheet(sheet.name)
    if not group:
        return sheet.name
    return group if draft.values.get("group") not in (None, "", group) else ""


def place_run(draft: Draft, preamble: Preamble, sheet: Sheet, several: bool, state: State) -> None:
    """Give a run the section and whatever else holds for its whole table."""
    draft.section_said = bool(draft.values.get("section") or preamble.section)
    told = state.mapping.sections.get(sheet.name) or state.mapping.sections.get(sheet.file)
    section = (
        draft.values.get("section")
        or told
        or preamble.section
        or (
            section_of_sheet(sheet.name)
            if several or state.several_files
            else section_in(sheet.name)
        )
        or section_of_file(sheet.file, state.several_files)
        or (_own_name(draft, sheet) if several else "")
    )
    if section:
        draft.values["section"] = section
    if not draft.values.get("group") and "group" not in draft.unread:
        group = group_of_sheet(sheet.name)
        if group:
            draft.values["group"] = group
    # A group that handed nothing in was not there for what holds for the others.
    present = not preamble.values or draft.set_aside or any(map(is_reading, draft.values))
    for column, value in preamble.values.items():
        if not present and is_reading(column):
            continue
        if column not in draft.values and column not in draft.unread:
            draft.values[column] = value
            if column in preamble.decimals:
                draft.decimals[column] = preamble.decimals[column]
    for flag in preamble.flags:
        draft.flag(*flag)
