"""Reading one table: personal data, headings, preamble, runs, and what holds for all of them."""

from __future__ import annotations

import re
from collections.abc import Mapping as Readings
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from solubility_stats.sheets import privacy
from solubility_stats.sheets.assemble import runs_of
from solubility_stats.sheets.cell_reader import Habits
from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.goes import say_which_go
from solubility_stats.sheets.header import ONCE_PER_TABLE
from solubility_stats.sheets.keywords import UNSURE
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.mapping import Mapping, canonical_unit
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.numbered_trials import with_numbered_trials
from solubility_stats.sheets.places import (
    RUN_NAMED,
    group_of_sheet,
    groups_in,
    is_weekday,
    section_in,
    section_named,
    section_of_file,
    section_of_sheet,
)
from solubility_stats.sheets.preamble import Preamble, names_group, notes_below, read_preamble
from solubility_stats.sheets.remarks.exceptions import (
    heed_exceptions,
    heed_remarks,
)
from solubility_stats.sheets.remarks.own import heed_own_remarks
from solubility_stats.sheets.remarks.told_only import conditions_in_remarks, see_beam_in_remarks
from solubility_stats.sheets.remarks.with_paper import paper_answers, take_solid_off
from solubility_stats.sheets.reread import (
    as_beam,
    as_result,
    below_titles,
    by_codes,
    by_title,
    lone_mean_titre,
    on_hot_plate,
    titles_that_say,
    with_unit,
    without_numbers,
)
from solubility_stats.sheets.resolve import Field, settle
from solubility_stats.sheets.said_temperatures import temperatures_by_section
from solubility_stats.sheets.table import Table
from solubility_stats.sheets.titles_over import without_headings_as_groups, without_titles_over
from solubility_stats.sheets.titre import TITRATION
from solubility_stats.sheets.units import known_unit
from solubility_stats.sheets.units_said import units_said
from solubility_stats.sheets.water import pour_as_headed


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
    columns = with_numbered_trials(without_numbers(table.columns))
    known = {c.reading.column for c in columns}
    columns = tuple(by_codes(c, state.explained, values[c.place], known) for c in columns)
    if table.view.turned:
        columns = below_titles(columns, values)
        table = replace(table, caption=(*table.caption, *titles_that_say(columns, values)))
    columns = lone_mean_titre(on_hot_plate(columns, table.caption))
    columns = by_title(columns, table.caption, values)
    columns = tuple(as_beam(as_result(c, values[c.place]), values[c.place]) for c in columns)
    table = replace(table, columns=tuple(with_unit(c, said, values[c.place]) for c in columns))
    personal = personal_places(table, values, state)
    know = mapping.know(sheet.file, sheet.name)
    fields = without_titles_over(settle(table, values, personal), values, know)
    if table.view.turned:
        fields = [_as_title(f) for f in fields]
    named = table.view.turned and names_group(table, know)
    fields, coded = with_coded_group(fields, values, personal, book, state, named=named)
    enter_headings(fields, book, state)
    taken = {f.column for f in fields if f.column}
    if table.view.turned:  # "Filtering" over its steps is no answer
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
        _replace_names(drafts, book, state)
    state.decided |= {(sheet.file, sheet.name, c): why for c, why in decided.items()}
    state.tables += 1
    state.columns += [f.column for f in fields if f.column]
    _say_whose(drafts, fields, values)
    _say_as_headed(drafts, fields, [c.text for c in around if isinstance(c.value, str)])
    if table.view.turned:
        without_headings_as_groups(drafts, know)
        _say_for_trials(drafts, fields, values)
    texts = [c.text for c in around if isinstance(c.value, str)]
    said_by_section = {k: v for t in texts for k, v in temperatures_by_section(t).items()}
    for draft in drafts:
        place_run(draft, preamble, sheet, several, state)
        _leave_acid_out(draft, preamble, taken)
        _warm_as_section(draft, said_by_section)
    of_solid = next((f.unit for f in fields if f.column == "recovered_mass_g"), None)
    take_solid_off(drafts, book, of_solid, paper_answers(fields, values))
    heed_own_remarks(drafts, book, fields)
    said_around = [c.text for c in around if isinstance(c.value, str)]
    heed_exceptions(drafts, preamble.values, said_around)
    heed_remarks(drafts, preamble.values, said_around)
    conditions_in_remarks(drafts, {*taken, *preamble.values})
    if "scatter" not in {*taken, *preamble.values}:
        see_beam_in_remarks(drafts)
    if _EXAMPLE_SHEET.search(sheet.name):
        for draft in drafts:
            draft.set_aside = draft.set_aside or f"on the sheet '{sheet.name}'"
    if not state.keep_personal:
        _code_instructors(drafts, book, state)
    return drafts


def _as_title(f: Field) -> Field:
    """Return "BENCH 1" over the labels of a card as its title, which leaves nothing open."""
    asks = (
        f.state == "open" and not f.column and set(f.source.reading.candidates) <= {"group", UNSURE}
    )
    titled = asks and groups_in(f.source.heading)
    return replace(f, state="same", note="names the group of a card") if titled else f


def _say_whose(
    drafts: Sequence[Draft],
    fields: Sequence[Field],
    values: Readings[int, Sequence[RawCell | None]],
) -> None:
    """Give a card the group that stands beside its title: "CARD | Bench 1"."""
    if len(drafts) != 1 or any(f.column == "group" for f in fields):
        return
    texts = [
        c.text for f in fields if not f.column for c in values.get(f.place, ()) if c is not None
    ]
    named = [code for text in texts[:2] if (code := group_of_sheet(text))]
    if len(named) == 1:
        drafts[0].values.setdefault("group", named[0])


def _say_as_headed(drafts: Sequence[Draft], fields: Sequence[Field], around: Sequence[str]) -> None:
    """Give the runs what headings say of all: the unit of a result, how the water was poured.

    How it was poured may stand above the table as well.
    """
    unit = reported_unit(fields)
    for draft in drafts:
        if unit and "reported_solubility" in draft.values:
            draft.values.setdefault("reported_unit", unit)
    for f in fields:
        if f.column == "water_volume_ml":
            for text in (f.source.heading, *around):
                pour_as_headed(drafts, text)


_ALL_TRIALS = re.compile(
    r"\b(?:(?:for |in )?(?:all|both|each|every)(?: (?:\d|two|three|four))? (?:trials?|runs?|"
    r"times?|goes|"
    r"tries)|every time|each time|always|throughout)\b",
    re.IGNORECASE,
)


def _say_for_trials(
    drafts: Sequence[Draft],
    fields: Sequence[Field],
    values: Readings[int, Sequence[RawCell | None]],
) -> None:
    """Give all trials side by side what the first of them says of all: "vacuum, all 3 trials".

    So does what stands above the line that names the trials.
    """
    trials: list[int] = []
    several: list[int] = []
    for f in fields:
        cells = [c for c in values.get(f.place, ()) if c is not None]
        if len(cells) > 1:
            named = all(RUN_NAMED.match(c.text.strip()) for c in cells)
            (trials if named else several).append(cells[0].row)
    for f in fields:
        cells = [c for c in values.get(f.place, ()) if c and not known_unit(c.text.strip())]
        if not f.column or len(cells) != 1:
            continue
        row = cells[0].row
        names = min((t for t in trials if t > row), default=0)
        above = f.column in ONCE_PER_TABLE and names and not any(row < r < names for r in several)
        of_all = isinstance(cells[0].value, str) and _ALL_TRIALS.search(cells[0].text)
        if not above and not of_all:
            continue
        told = [d.values[f.column] for d in drafts if f.column in d.values]
        for draft in drafts if len(told) == 1 else ():
            draft.values.setdefault(f.column, told[0])


def _leave_acid_out(draft: Draft, preamble: Preamble, taken: set[str]) -> None:
    """Take back what was stated for those who titrated from a run that was not."""
    titrated = taken & TITRATION
    lost = {c for c, _, note in draft.flags if c in titrated and not _NOT_TITRATED.search(note)}
    took_part = (titrated | ({"aliquot_ml"} & taken)) & {*draft.values}
    if titrated and not lost and not took_part:
        for column in {"titrant_mol_per_l", "aliquot_ml"} & {*preamble.values} - taken:
            draft.values.pop(column, None)


_NOT_TITRATED = re.compile(
    r"\b(?:ran )?out of time\b|\bno time\b|\bskipped\b|"
    r"\b(?:not?|never|nie|nicht|niet|non|pas|ikke|inte|ej|ei|não|sin|ne)\b.{0,9}(?:titr|miareczk|done|time)",
    re.IGNORECASE,
)
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
    names = [
        f for f in fields
        if f.state == "personal" and personal[f.place] == "name"
        and f.source.reading.column != "instructor"
    ]  # fmt: skip
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


_MADE_FROM = re.compile(r"\s+(?:from|by|via|using)\b.*", re.IGNORECASE | re.DOTALL)


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
                return " ".join(_MADE_FROM.sub("", found[1]).split())
    return ""


def _own_name(own: object, sheet: Sheet) -> str:
    """Return what the name of a sheet calls its section, empty where it names one group.

    "Groupe 02" over a table with groups of its own is the name of a class.
    """
    group = group_of_sheet(sheet.name)
    if not group:
        return sheet.name
    return group if own not in (None, "", group) else ""


def _warm_as_section(draft: Draft, said: Readings[str, str]) -> None:
    """Give a run the temperature that a line above the table states for its section."""
    column = "temperature_c"
    section = str(draft.values.get("section") or "").casefold()
    if not said or not section or column in draft.values or column in draft.unread:
        return
    day = section[:_DAY] if is_weekday(section) else ""
    told = {
        v for k, v in said.items() if k == section or (day and is_weekday(k) and k[:_DAY] == day)
    }
    parsed = parse_said(told.pop(), column) if len(told) == 1 else None
    if parsed is not None and parsed.value is not None:
        draft.values[column] = parsed.value


_DAY = 3  # letters that tell the days of the week apart


def place_run(draft: Draft, preamble: Preamble, sheet: Sheet, several: bool, state: State) -> None:
    """Give a run the section and whatever else holds for its whole table."""
    draft.section_said = bool(draft.values.get("section") or preamble.section)
    own = draft.values.get("group") or preamble.values.get("group")
    if (
        own
        and group_of_sheet(sheet.name)
        and not any(map(str.isdigit, str(own)))
        and len(str(own)) > 2
    ):
        own = draft.values.get("group")  # a word of a title does not stand against the tab
    told = state.mapping.sections.get(sheet.name) or state.mapping.sections.get(sheet.file)
    section = (
        draft.values.get("section")
        or told
        or (is_weekday(preamble.section) and section_named(sheet.name))
        or preamble.section
        or (
            section_of_sheet(sheet.name)
            if several or state.several_files
            else section_in(sheet.name)
        )
        or section_of_file(sheet.file, state.several_files)
        or (_own_name(own, sheet) if several or preamble.values.get("group") else "")
    )
    if section:
        draft.values["section"] = section
    if not own and "group" not in draft.unread:  # a card in a tab "Group 3" may be of team 5
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
