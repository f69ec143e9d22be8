"""What stands above a table and holds for all its runs: section, semester, temperature."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from solubility_stats.quantities import fill_column, fill_columns, quantity
from solubility_stats.sheets import concepts, keywords
from solubility_stats.sheets.cells import parse_cell, parse_said
from solubility_stats.sheets.head import ONCE_PER_TABLE, Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import ACID_STRENGTH, normal
from solubility_stats.sheets.layouts.side_by_side import group_in
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import CellContext, ParsedCell, RawCell
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.places import (
    RUN_WORDS,
    SECTION_WORDS,
    group_of_sheet,
    groups_in,
    is_weekday,
    names_few,
    one_group_in,
    section_in,
    section_named,
)
from solubility_stats.sheets.said_temperatures import (
    degrees_in,
    of_room,
    temperatures_by_section,
    temperatures_in,
)
from solubility_stats.sheets.section_above import name_section
from solubility_stats.sheets.sentence_parts import FOR_ALL
from solubility_stats.sheets.sentences import said_in
from solubility_stats.sheets.stated import Preamble
from solubility_stats.sheets.stated_in_headings import stated_in_headings
from solubility_stats.sheets.strange_words import names_other
from solubility_stats.sheets.table import Table
from solubility_stats.sheets.units import dimension_of, known_unit
from solubility_stats.sheets.view import looks_like_number

_LABELLED = re.compile(r"\s*([^:=]{1,40}?)\s*[:=]\s*(\S.*)\Z", re.DOTALL)

_LONGEST_LABEL = 60
_TRIAL_OF_TABLE = re.compile(
    rf"(?<!prise d')\b(?:{RUN_WORDS})\s*(?:n[or°º]?\b\.?\s*)?(\d{{1,2}})\b(?![.,]\d|\s*m[Ll]\b)",
    re.IGNORECASE,
)
_SECTION_WORD = re.compile(rf"(?:lab\s+)?(?:{SECTION_WORDS})\s+", re.IGNORECASE)


def read_preamble(
    table: Table, taken: set[str], book: Book, know: Know, titles: Sequence[RawCell] = ()
) -> Preamble:
    """Return what the cells above a table say; enter them in the ledger.

    Parameters
    ----------
    table : Table
        The table with its caption cells.
    taken : set of str
        Columns the table has itself; these are not overridden.
    book : Book
        Ledger of the sheet.
    know : callable
        Reads a stack of heading texts.
    titles : sequence of RawCell
        Cells that hold for all tables of the sheet; what stands nearer counts first.
    """
    found = Preamble()
    above = [part for cell in table.caption for part in _parts(cell)]
    cells = [*above, *notes_below(table)]
    used = _take_labels(found, cells, len(above), taken, book, know)
    for column, parsed in stated_in_headings(table, taken | set(found.values)):
        found.take(column, parsed)
    rest = [c for at, c in enumerate(cells) if at not in used]
    if any(c.text.lstrip().startswith("*") for c in rest) and any(
        c.text.rstrip().endswith("*") for c in table.view.cells.values()
    ):  # a note on the lines with a star is about some runs only
        rest = [part for c in rest for part in _said_of_all_besides(c)]
    _take_sentences(found, rest, taken, book)
    _take_fills_of_total(found, rest, table, taken)
    if titles:
        aside = Book(book.sheet)  # they are entered where they stand first
        beyond = [part for c in titles if c not in table.caption for part in _parts(c)]
        seen = _take_labels(found, beyond, len(beyond), taken, aside, know)
        left = [c for at, c in enumerate(beyond) if at not in seen]
        _take_sentences(found, left, taken, aside)
    left = [c for at, c in enumerate(above) if at not in used]
    name_section(found, left, taken)
    said = [c.text for c in titles if isinstance(c.value, str)]
    if not found.section or is_weekday(found.section):
        told = [code for text in said if (code := section_named(text))]
        found.section = told[-1] if told else found.section
    several = len(set().union(*(groups_in(c.text) for c in above if isinstance(c.value, str)))) > 1
    if "group" not in taken:
        own = group_named(table)
        if own and own != found.values.get("group", own) and _names_few_above(table):
            _make_room_for_few(found, taken)  # "Grupo: 4IM2" over "Equipo 1"
        code = own or ("" if several else one_group_in(said))
        if code and "group" not in found.values:
            found.values["group"] = code
    named = str(found.values.get("group") or "")
    if group_of_sheet(book.sheet.name) and _WORD.fullmatch(named):
        del found.values["group"]  # a word of a title does not stand against the tab "Group 3"
    unread = [] if not table.view.turned else [c for c in table.columns if not c.reading.column]
    over = [*above, *(cell for c in unread for cell in c.cells)]  # "TRIAL 1 | Tuesday" on a card
    trials = {
        m[1] for c in over if (m := _TRIAL_OF_TABLE.search(c.text)) and not _of_lab(c.text, m)
    }
    if len(trials) == 1 and "run" not in taken:
        found.values.setdefault("run", trials.pop())
    for cell in above:
        note = "above the table" if isinstance(cell.value, str) else "above the table, not used"
        book.enter(cell, Entry("context" if isinstance(cell.value, str) else "ignored", note=note))
    return found


def _said_of_all_besides(cell: RawCell) -> list[RawCell]:
    """Return a cell without its footnote: the sentences behind it that speak of all."""
    if not cell.text.lstrip().startswith("*"):
        return [cell]
    sentences = re.split(r"(?<=[.;!])\s+", cell.text)[1:]
    return [cell.saying(s) for s in sentences if FOR_ALL.search(s)]


_WORD = re.compile(r"\D{3,}")

# "Forsøg 12: Opløselighed af læsket kalk", "Versuch 4 – Löslichkeit" count the labs of a course.
_LAB_OR_TRIAL = re.compile(
    r"\W*(?:versuch|fors[øö][gk]|försök|essai|manip|prova|pr[óo]ba|ensa[iy]o|pokus|deneme|koe|proef|"
    r"determination)\b",
    re.IGNORECASE,
)


def _of_lab(text: str, found: re.Match[str]) -> bool:
    """Tell whether the number in a title counts the labs of a course, and not trials."""
    what = concepts_in(text[found.end() :]) & {"solubility", "solid"}
    return _LAB_OR_TRIAL.match(text) is not None and bool(what)


def _take_sentences(found: Preamble, cells: Sequence[RawCell], taken: set[str], book: Book) -> None:
    for column, (cell, text) in said_in(cells, taken | set(found.values)).items():
        _take(found, column, RawCell(cell.row, cell.col, text, cell.text), None, book)


def _take_fills_of_total(
    found: Preamble, cells: Sequence[RawCell], table: Table, taken: set[str]
) -> None:
    """Take the fills that a sentence says of all, where they add up to every total in the table.

    "Chaque binôme a versé 3 éprouvettes de 75 mL" above a column of 225 mL.
    """
    column = "water_volume_ml"
    totals = [c for c in table.columns if c.reading.column == column]
    if len(totals) != 1 or fill_columns(taken):
        return
    said = said_in(cells, {*taken, *found.values} - {column}).get(column)
    parts = parse_said(said[1], column).parts if said else ()
    if not parts:
        return
    context = CellContext(column, totals[0].reading.unit)
    below = [c for line in table.lines if (c := table.view.get(line, totals[0].place)) is not None]
    read = {parse_cell(c, quantity(column), context).value for c in below} - {None}
    if read == {float(sum(parts))}:
        for number, part in enumerate(parts, start=1):
            found.values[fill_column(number)] = part


def _take_labels(
    found: Preamble,
    cells: Sequence[RawCell],
    near: int,
    taken: set[str],
    book: Book,
    know: Know,
) -> set[int]:
    """Take what stands beside a label; return the positions of the cells used.

    Cells from ``near`` on say nothing of who the runs belong to.
    """
    used: set[int] = set()
    pairs = {at: _pair(cells, at) for at, c in enumerate(cells) if isinstance(c.value, str)}
    asked = {at: know((label,)) for at, (label, _) in pairs.items()}
    of_groups = {"group"} & {reading.column for reading in asked.values()}
    elsewhere = _of_room(pairs, asked)
    for at, cell in enumerate(cells):
        if at in used or at not in pairs or at in elsewhere:
            continue  # how warm the room was, where it is said of the water as well
        label, value = pairs[at]
        if value is None or (value.col != cell.col and _LABELLED.match(value.text)):
            continue  # nothing beside it, or a label with its own value
        reading = know((label,))
        beyond = cells[at + 2] if at + 2 < len(cells) and cells[at + 2].row == value.row else None
        unit = reading.unit or (known_unit(beyond.text.strip()) if beyond is not None else None)
        if not reading.candidates and (behind := _UNIT_BEHIND.match(value.text)):
            reading = know((label, behind[1]))  # "Left to settle | 20 minutes"
        column = reading.column or _only_meaning(reading) or _acid(label, unit, value)
        column = _column_asked(column, label, value, taken | of_groups)
        if column == "group" and _MEASURED.search(value.text):
            column = _acid(label, unit, value)  # "Acid of the bench: 0.040 mol/L"
        if column == "group" and names_few(label):
            _make_room_for_few(found, taken)
        below = at >= near and column in ("section", "group", "semester", "instructor")
        if below or column not in ONCE_PER_TABLE or column in taken or column in found.values:
            continue
        if value.col != cell.col:
            if value.text.count(" ") < _FEWEST_WORDS:  # a sentence may say more than this
                used.add(at + 1)
            book.enter(cell, Entry("context", note=f"label of {column}"))
        if not _take(found, column, value, unit, book):
            used.discard(at + 1)  # "Rührzeit 5 min | Absetzzeit 10 min": it speaks for itself
    return used


def _column_asked(column: str | None, label: str, value: RawCell, taken: set[str]) -> str | None:
    """Return the column a label asks for, seen what stands beside it."""
    if _OF_ONE_SECTION.match(value.text):
        return None  # "section 3: 19.5 °C; section 4: 22.0 °C"
    if degrees_in(value.text) and column != "temperature_c":
        return _degrees(label, value)  # whatever else "Water from the carboy" may mean
    if column == "temperature_c" and _CLASS_CODE.fullmatch(value.text.strip()):
        column = column if "temperature" in concepts_in(label) else None  # "Set: 12C"
    if column == "titrant_mol_per_l" and len({*ACID_STRENGTH.findall(value.text)}) > 1:
        return None  # "label says 0.05 mol/L; standardised: 0.0487 mol/L"
    if column == "titrant_ml" and ACID_STRENGTH.fullmatch(value.text.strip()):
        return "titrant_mol_per_l"  # "HCl used for all titrations: | 0.0500 mol/L"
    if column == "section" and (section_named(label) or value.text.count(" ") >= _FEWEST_WORDS):
        return None  # "Section A" beside "Monday" is no label, and "Lab: …" no section but a title
    if column == "water_volume_ml" and fill_columns(taken):
        return None
    if column == "bottle" and label.casefold().startswith("batch"):
        if "group" not in taken:
            return "group"  # of students, where nothing else names one
        if "section" not in taken and _BATCH_OF_STUDENTS.fullmatch(value.text.strip()):
            return "section"
    return column


def _of_room(
    pairs: Mapping[int, tuple[str, RawCell | None]], asked: Mapping[int, Reading]
) -> set[int]:
    """Return the labels of how warm the room was, where it is said of the water as well."""
    warm = {
        at
        for at, (label, value) in pairs.items()
        if not known_unit(label)
        if asked[at].column == "temperature_c"
        or (value is not None and not asked[at].column and degrees_in(value.text))
        or ((unit := asked[at].unit) is not None and dimension_of(unit) == "temperature")
    }  # fmt: skip
    room = {at for at in warm if of_room(pairs[at][0])}
    wet = {at for at in warm - room if asked[at].column == "temperature_c"}
    return room if wet else set()


_OF_ONE_SECTION = re.compile(rf"\s*(?:{SECTION_WORDS})\s*\w{{1,6}}\s*[:=]", re.IGNORECASE)
_MEASURED = re.compile(r"\d\s*(?:m?mol|g|mL|cm|°|M)\b")
_CLASS_CODE = re.compile(r"\d{1,2}[A-Z]")
# "Batch: B-2"; a bottle has a longer number, and one figure alone may count either.
_BATCH_OF_STUDENTS = re.compile(r"[A-Z](?:\s?-?\s?\d{1,2})?|[IVX]{1,4}")


def _names_few_above(table: Table) -> bool:
    """Tell whether what stands over a table is called a bench or a pair, and not a group."""
    over = [*table.caption, *(c for column in table.columns for c in column.cells)]
    return any(isinstance(c.value, str) and names_few(c.text) and groups_in(c.text) for c in over)


def _make_room_for_few(found: Preamble, taken: set[str]) -> None:
    """Take what was read as the group for the class: "Grupo | 1º B" above "Equipo | 2"."""
    wider = found.values.get("group")
    if wider and not found.section and "section" not in taken:
        found.section = str(wider)
        del found.values["group"]


def titles_of(tables: Sequence[Table]) -> list[RawCell]:
    """Return the cells at the top of a sheet that a blank line parts from its first table."""
    if len(tables) < 2:
        return []
    cells = tables[0].view.sheet.cells
    top = min(c.row for t in tables for column in t.columns for c in column.cells)
    filled = {cell.row for cell in cells.values() if cell.row < top}
    while top - 1 in filled:
        top -= 1
    shared = _shared_by_captions(tables)
    titles = [c for _, c in sorted(cells.items()) if c.row < top and c.row not in shared]
    own = {code for c in titles if (code := section_in(c.text))}
    named = {code for t in tables for c in t.caption if (code := section_named(c.text))}
    if named and not named & own:
        own = {code for code in own if not is_weekday(code)}  # "typed up Friday night"
    # Lines of other sections further down: what is said at the top is said of the first.
    others = {code for t in tables[1:] for c in t.caption if (code := section_in(c.text))}
    return [] if own and others - own else titles


def _shared_by_captions(tables: Sequence[Table]) -> set[int]:
    """Return the rows on which all tables side by side have a caption of their own."""
    beside: dict[int, list[Table]] = {}
    for table in tables:
        beside.setdefault(table.header[0], []).append(table)
    found: set[int] = set()
    for same in beside.values():
        over = [{(c.row, c.col) for c in t.caption} for t in same]
        for row in set.intersection(*({r for r, _ in o} for o in over)) if len(same) > 1 else ():
            own = [{p for p in o if p[0] == row} for o in over]
            if sum(map(len, own)) == len(set.union(*own)):
                found.add(row)
    return found


def _pair(cells: Sequence[RawCell], at: int) -> tuple[str, RawCell | None]:
    """Return a label and its value: "Section: Mon" in one cell, or in two neighbours."""
    cell = cells[at]
    whole = str(cell.value).rstrip().endswith(":")  # "Room temperature = water temperature:"
    inside = None if whole else _LABELLED.match(str(cell.value))
    if inside and inside[2].strip():
        text = inside[2].strip()
        return inside[1], RawCell(cell.row, cell.col, text, text, hidden=cell.hidden)
    nxt = cells[at + 1] if at + 1 < len(cells) else None
    label = str(cell.value).strip().rstrip(":=").strip()
    near = nxt is not None and (
        nxt.col - cell.col in (1, 2)
        or str(cell.value).rstrip().endswith((":", "="))
        or looks_like_number(nxt)
    )
    if nxt is not None and nxt.row == cell.row and near and len(label) < _LONGEST_LABEL:
        return label, nxt
    return label, None


def _parts(cell: RawCell) -> list[RawCell]:
    """Return the labels a caption puts in one cell ("TA: AB   Room: 214") one by one."""
    labels = max(cell.value.count(mark) for mark in ":=") if isinstance(cell.value, str) else 0
    if not isinstance(cell.value, str) or labels < 2 or temperatures_by_section(cell.text):
        return [cell]
    if len({*ACID_STRENGTH.findall(cell.text)}) > 1:
        return [cell]
    texts = [t for t in re.split(r"\s{2,}|\s*[|;·]\s*", cell.value) if t.strip()]
    return [cell.saying(t) for t in texts] if len(texts) > 1 else [cell]


def _only_meaning(reading: Reading) -> str | None:
    """Return the reading that is all a label can mean, whatever else it says."""
    known = [c for c in reading.candidates if c != keywords.UNSURE]
    if len(known) != 1 or known == [keywords.DERIVED] or quantity(known[0]).kind != "number":
        return None
    return None if names_other(known[0], reading.strange) else known[0]


_AND_WORDS = re.compile(r"\s*(\d+(?:[.,]\d+)?(?:\s*°?\s?[CF])?)\s*[,;(]\s*[^\W\d][^\d]*\Z")
_FOR_ALL = re.compile(r"\s*\((?:for )?(?:all|each|every\w*|both)[^()]*\)\s*\Z", re.IGNORECASE)
# An amount and no more: "water 21.5 C" beside "Th 8a" says itself what it is.
_UNIT_BEHIND = re.compile(
    r"\A\W*(?:(?:about|approx\.?|ca\.?)\s*)?[\d.,:–-]*\d\s*([^\W\d_]{1,8}|°\s?[CF])\.?"
    r"(?:\s*[,;(]?\s[^\d?]{1,60})?\s*\Z",  # "40 min sous la lampe"
    re.IGNORECASE,
)


def _degrees(label: str, value: RawCell) -> str | None:
    """Return the temperature for "Water from the big carboy: | 18 °C"."""
    return "temperature_c" if temperatures_in(f"{label} {value.text}") else None


def _acid(label: str, unit: str | None, value: RawCell) -> str | None:
    """Return the strength of the acid if a label speaks of one and the value has its unit."""
    said = concepts.concepts_among(normal(label).split())
    strength = unit == "mol/L" or ACID_STRENGTH.fullmatch(value.text.strip())
    return "titrant_mol_per_l" if strength and "acid" in said else None


def notes_below(table: Table) -> list[RawCell]:
    """Return the notes that end a sheet: lines with one cell, or a label and its value.

    Between two tables such a line belongs to the one below.
    """
    if table.lines[-1] != table.view.lines[-1]:
        return []
    found: list[RawCell] = []
    for line in reversed(table.lines):
        cells = list(table.view.line_cells(line, table.first, table.last).values())
        most = min(2, len(table.columns) - 1)  # the runs of a table of two columns are no notes
        if table.view.turned or len(cells) > most or not isinstance(cells[0].value, str):
            break
        found[:0] = cells
    return found


_FEWEST_WORDS = 4


def _take(found: Preamble, column: str, value: RawCell, unit: str | None, book: Book) -> bool:
    """Enter a value that holds for the whole table; tell whether it was understood."""
    if isinstance(value.value, str):
        value = value._replace(value=_FOR_ALL.sub("", value.value))
    parsed: ParsedCell = parse_cell(value, quantity(column), CellContext(column, unit))
    if (
        parsed.value is None
        and column == "temperature_c"
        and (bare := _AND_WORDS.match(value.text))
    ):
        value = value._replace(value=bare[1])  # "22.5, felt warmer"
        parsed = parse_cell(value, quantity(column), CellContext(column, unit))
    if parsed.value is None and column == "temperature_c" and (degrees := degrees_in(value.text)):
        value = value._replace(value=degrees)  # "68.5 °F for all three trials"
        parsed = parse_cell(value, quantity(column), CellContext(column, unit))
    note = "; ".join(n for n in ("stated once for the table", parsed.note) if n)
    known = book.entries.get((value.row, value.col))
    again = parsed.value is not None and known is not None and known.outcome == "unclear"
    book.enter(value, Entry(parsed.outcome, column, parsed.value, parsed.unit, note), again=again)
    if parsed.value is None:
        return False
    if column == "section":
        found.section = _SECTION_WORD.sub("", str(parsed.value)) or str(parsed.value)
        return True
    found.take(column, parsed)
    for number, part in enumerate(parsed.parts, start=1):
        found.values[fill_column(number)] = part
    found.flags += [(column, flag, parsed.note) for flag in parsed.flags if flag != "hidden"]
    return True


# So many lines above the headings a title may stand (judgement).
_NEAR_ENOUGH = 2


def group_named(table: Table) -> str:
    """Return the one group that the caption of a table of its own names, empty for none.

    Over cards side by side, each with its group above it, only what stands in the place of the
    labels counts.
    """
    texts = [c for c in table.caption if isinstance(c.value, str) and len(c.text) < _LONGEST_LABEL]
    if table.view.turned:
        own = {c.col for column in table.columns for c in column.cells}
        top = min((c.row for column in table.columns for c in column.cells), default=0)
        near = [c for c in texts if c.col in own and c.row < top and groups_in(c.text)]
        texts = near[-1:] or texts
    elif not one_group_in(c.text for c in texts):  # e-mails below one another: the last counts
        top = min((c.row for column in table.columns for c in column.cells), default=0)
        texts = [c for c in texts if 0 < top - c.row <= _NEAR_ENOUGH]
    if table.view.turned:  # "TABLE 1" over the labels of a card
        texts += [c for column in table.columns[:1] for c in column.cells]
        if one_group_in(c.text for c in texts):  # titles of several cards name none of them all
            texts += [c for column in table.columns if not column.reading.column
                      for c in column.cells if group_in(c)]  # fmt: skip
    return one_group_in(c.text for c in texts)


def names_group(table: Table, know: Know) -> bool:
    """Tell whether something above a card, or the name of its sheet, says whose it is."""
    labels = (c.text for c in table.caption if isinstance(c.value, str))
    asked = any(know((label,)).column == "group" for label in labels)
    return bool(asked or group_named(table) or group_of_sheet(table.view.sheet.name))
