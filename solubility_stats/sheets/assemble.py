"""From a table to runs: every cell below the headings is read, judged and entered in the ledger."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

from solubility_stats.quantities import fill_column, fill_columns, quantity
from solubility_stats.sheets import lines as line_kinds
from solubility_stats.sheets.cell_reader import CellReader, Habits, Line, Read
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import (
    ParsedCell,
    RawCell,
    column_letters,
)
from solubility_stats.sheets.places import section_in, without_common_prefix
from solubility_stats.sheets.resolve import Field, is_number
from solubility_stats.sheets.shifted import shifted_lines
from solubility_stats.sheets.tables import Table
from solubility_stats.sheets.titre import settle_titre
from solubility_stats.sheets.view import looks_like_number
from solubility_stats.sheets.water import settle_water

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
    shape = _shape(fields)
    listed = _classified(table, fields, shape)
    _enter_other_lines(table, listed, fields, book)
    reader = CellReader(fields, listed, habits, book)
    trials = sorted({f.trial for f in fields if f.trial and f.column})
    drafts: list[Draft] = []
    section = ""
    for line in listed:
        if line.kind in ("note", "listed"):
            section = _section_line(line, fields) or section
        if line.kind in ("run", "example", "blank"):
            made = _drafts(table, line, fields, trials, reader, book)
            for draft in made:
                if section:
                    draft.values.setdefault("section", section)
                if line.kind != "run":
                    draft.set_aside = _NO_RUN[line.kind]
            drafts += made
    _shorten_codes(drafts)
    _same_group_again(drafts)
    settle_water(drafts)
    settle_titre(drafts)
    return drafts, reader.decided


def _shape(fields: Sequence[Field]) -> line_kinds.Shape:
    kinds = {f.place: quantity(f.column).kind if f.column else "" for f in fields}
    unnamed = [f for f in fields if f.state in ("open", "unknown", "derived", "same")]
    group = next((f.place for f in fields if f.column == "group"), None)
    return line_kinds.Shape(
        [f.place for f in fields if f.column in (*_FIXED, "semester") or f.state == "personal"],
        [f.place for f in fields if is_number(f)]
        + [f.place for f in unnamed if f.state in ("open", "derived")],
        [p for p, kind in kinds.items() if kind in ("text", "choice", "flag", "moment")],
        group,
    )


def _classified(table: Table, fields: Sequence[Field], shape: line_kinds.Shape) -> list[Line]:
    headings = {f.place: f.source.cells[-1].text for f in fields if f.source.cells}
    found: list[Line] = []
    above: dict[int, list[float]] = {}
    seen = 0
    previous = table.header[-1]
    ended = apart = False
    cut = _all_cut(table, fields)
    places = {f.column: f.place for f in fields if f.column in ("group", "run")}
    parts = (places["group"], places["run"]) if len(places) == 2 else None
    for number in table.lines:
        cells = table.view.line_cells(number, table.first, table.last)
        cells = _with_dittos(cells, found)
        if ended:
            found.append(Line(number, "end", cells))
            continue
        kind = line_kinds.classify(
            cells,
            shape,
            headings,
            after_gap=number - previous > 1,
            after_summary=bool(found) and found[-1].kind == "summary",
        )
        apart = apart or number - previous > 1
        previous = number
        if kind == "run" and apart and shape.group is None and _is_label(cells, shape):
            kind = "end"  # the labels of a form begin where a table without groups stood
        apart = apart and kind != "run"
        if kind == "run" and (cut or _is_shifted(table, number)):
            kind = "shifted"
        if kind == "nameless":
            _extend(above, found[seen:], shape)
            seen = len(found)
            kind = _look_again(cells, shape, above, found)
            if kind == "nameless" and (named := _next_run(cells, fields, found)) is not None:
                cells, kind = named, "run"
        if kind == "run" and _is_unfilled(cells, shape):
            kind = "listed"
        if kind == "run" and shape.group is None and "run" in places and places["run"] not in cells:
            kind = "nameless"  # beside numbered trials
        if kind == "run" and parts and _is_mean_of_group(cells, parts, found, shape):
            kind = "summary"
        ended = kind == "end"
        found.append(Line(number, kind, cells))
    return _without_odd_names(_without_shifted(found, shape), shape)


_DITTO = frozenset({'"', "''", "”", "“", "″", "〃", '-"-', '—"—', "ditto", "do.", "dto."})


def _with_dittos(cells: dict[int, RawCell], found: Sequence[Line]) -> dict[int, RawCell]:
    """Return the cells of a line, a ditto mark as what stands above it in a run."""
    marks = [p for p, c in cells.items() if c.value.__class__ is str and c.text.strip() in _DITTO]
    above = next((line.cells for line in reversed(found) if line.kind == "run"), None)
    if not marks or above is None:
        return cells
    said = {
        p: replace(above[p], row=cells[p].row, col=cells[p].col, merged_from=None)
        for p in marks
        if p in above
    }
    return cells | said


def _is_label(cells: Mapping[int, RawCell], shape: line_kinds.Shape) -> bool:
    """Tell whether words stand where the first number of a line is expected."""
    first = min(shape.numbers, default=0)
    cell = cells.get(first)
    wordy = cell is not None and isinstance(cell.value, str) and not looks_like_number(cell)
    return cell is not None and wordy and len(cell.text.split()) > 1


def _is_unfilled(cells: Mapping[int, RawCell], shape: line_kinds.Shape) -> bool:
    """Tell whether a line holds only what formulas make of blanks: zeros and errors."""
    some = False
    for p, cell in cells.items():
        if p in shape.numbers:
            if not cell.formula or not (cell.is_error or cell.value in (0, None)):
                return False  # nearly every line ends here
            some = True
    return some


def _extend(above: dict[int, list[float]], lines: Sequence[Line], shape: line_kinds.Shape) -> None:
    """Add the numbers of runs to those above by place."""
    for line in lines:
        for p, cell in line.cells.items() if line.kind == "run" else ():
            if p in shape.numbers and isinstance(cell.value, (int, float)):
                above.setdefault(p, []).append(float(cell.value))


def _without_shifted(listed: list[Line], shape: line_kinds.Shape) -> list[Line]:
    """Take out the runs whose cells slipped to the side."""
    runs = [at for at, line in enumerate(listed) if line.kind == "run"]
    slipped = shifted_lines([listed[at].cells for at in runs], sorted(shape.numbers))
    for position in slipped:
        line = listed[runs[position]]
        listed[runs[position]] = Line(line.number, "slipped", line.cells)
    return listed


_WORDS_OF_NO_CODE = 3


def _without_odd_names(listed: list[Line], shape: line_kinds.Shape) -> list[Line]:
    """Take out lines with a sentence for a group where all others have a short code.

    "% error at 25 °C" in a column of 1, 2, 3 … is nobody's run.
    """
    named = [
        (at, cell.text.strip())
        for at, line in enumerate(listed)
        if line.kind == "run" and shape.group is not None and (cell := line.cells.get(shape.group))
    ]
    short = {code for _, code in named if " " not in code and len(code) <= 6}
    odd = [(at, t) for at, t in named if len(t.split()) >= _WORDS_OF_NO_CODE]
    if len(short) < _WORDS_OF_NO_CODE or len(short) < 3 * len(odd):
        return listed
    for at, text in odd:
        if text.split()[0].rstrip("(:,-") not in short:
            listed[at] = Line(listed[at].number, "nameless", listed[at].cells)
    return listed


def _is_mean_of_group(
    cells: Mapping[int, RawCell],
    places: tuple[int, int],
    found: Sequence[Line],
    shape: line_kinds.Shape,
) -> bool:
    """Tell whether a line without run number holds the means of the runs of its group above it."""
    of_group, of_run = places
    if of_run in cells:
        return False
    group = cells.get(of_group)
    above: dict[int, list[float]] = {}
    for line in reversed(found):
        theirs = line.cells.get(of_group)
        if line.kind != "run" or theirs is None or group is None or theirs.text != group.text:
            break
        _extend(above, [line], shape)
    numbers = {
        p: float(c.value)
        for p, c in cells.items()
        if p in shape.numbers and isinstance(c.value, (int, float)) and len(above.get(p, ())) > 1
    }
    return line_kinds.sums_up(numbers, above, [])


def _look_again(
    cells: Mapping[int, RawCell],
    shape: line_kinds.Shape,
    above: Mapping[int, Sequence[float]],
    found: Sequence[Line],
) -> line_kinds.Kind:
    """Look at a line with readings but no group: a summary, or nobody's readings."""
    numbers = {
        p: float(c.value)
        for p, c in cells.items()
        if p in shape.numbers and isinstance(c.value, (int, float))
    }
    formulas = [c.formula for p, c in cells.items() if c.formula and p in shape.numbers]
    summed = any(line.kind == "summary" for line in found[-1:])
    if line_kinds.sums_up(numbers, above, formulas) or summed:
        return "summary"
    return "nameless"


def _is_shifted(table: Table, number: int) -> bool:
    """Tell whether a line of a comma-separated text may be cut at its decimal commas.

    So if it has more fields than there are headings and no number on it has a decimal point.
    """
    view = table.view
    if view.sheet.delimiter != "," or view.turned:
        return False
    beyond = [p for p in view.along[number] if p > table.last]
    if not beyond:
        return False
    texts = [view.cells[number, p].text for p in view.along[number]]
    return not any(_POINT.search(t) for t in texts)


def _all_cut(table: Table, fields: Sequence[Field]) -> bool:
    """Tell whether decimal commas may have cut every number of a comma-separated text.

    So if no field at all shows a decimal and the masses would all be whole grams.
    """
    view = table.view
    grams = [f for f in fields if is_number(f) and quantity(f.column).unit == "g"]
    if view.sheet.delimiter != "," or not any(f.unit in (None, "g") for f in grams):
        return False
    texts = [view.cells[i, p].text for i in table.lines for p in view.along[i]]
    return sum(map(str.isdigit, texts)) > 0 and not any(_DECIMAL.search(t) for t in texts)


_POINT = re.compile(r"\d\.\d")
_DECIMAL = re.compile(r"\d[.,]\d|\d\s*m[gG]")
_CUT = "more fields than headings on this line: a decimal comma may have cut a number in two"


def _next_run(
    cells: Mapping[int, RawCell], fields: Sequence[Field], found: Sequence[Line]
) -> dict[int, RawCell] | None:
    """Return the line with the group of the line above, if its run number goes on from there.

    A blank alone is never filled; run 2 under run 1 of a group says whose it is.
    """
    places = {f.column: f.place for f in fields if f.column in ("group", "run")}
    if set(places) != {"group", "run"} or not found or found[-1].kind != "run":
        return None
    above, run = found[-1].cells.get(places["run"]), cells.get(places["run"])
    group = found[-1].cells.get(places["group"])
    if above is None or run is None or group is None:
        return None
    numbers = [re.sub(r"\D", "", c.text.removesuffix(".0")) for c in (above, run)]
    if not all(numbers) or int(numbers[1]) != int(numbers[0]) + 1:
        return None
    shadow = replace(group, merged_from=group.merged_from or (group.row, group.col))
    return {**cells, places["group"]: shadow}


_NO_RUN = {
    "example": "example row of the template",
    "blank": "a blank, control or demonstration, no run of a group",
}
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
        for place, cell in line.cells.items():
            if cell.merged_from is not None:
                continue
            if place in personal and line.kind in ("nameless", "listed"):
                book.enter(cell, Entry("ignored", note="personal data, left out"))
            elif line.kind == "nameless":
                book.enter(cell, Entry("unclear", note="the line names no group"))
            elif line.kind == "end" and looks_like_number(cell):
                book.enter(cell, replace(_OTHER["end"], outcome="unclear"))
            elif line.kind in _OTHER:
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
        found = reader.read(f, replace(at, struck=False) if withdrawn else at)
        if not trials:
            _fill_in(by_trial[""], f, at, found)
        for trial in trials:
            if f.trial in ("", trial):
                _fill_in(by_trial[trial], f, at, found)
        if trials and (not isinstance(at.value, str) or any(map(str.isdigit, at.value))):
            filled.add(f.trial)  # "not done" is no trial
        entry = found.entry
        if merged and (at.merged_from or table.view.range_of(line.number, f.place)):
            entry = replace(entry, note=_joined(entry.note, "one merged cell for several lines"))
        book.enter(at, entry)
    for trial, draft in by_trial.items():
        if trial:
            draft.values.setdefault(table.parts, trial)
    if not trials:
        return list(by_trial.values())
    return [d for t, d in by_trial.items() if t in filled] or list(by_trial.values())[:1]


def _is_struck_out(line: Line, fields: Sequence[Field]) -> bool:
    """Tell whether every reading of a line is struck out, so that it was withdrawn as a whole."""
    cells = [line.cells[f.place] for f in fields if f.column and f.place in line.cells]
    if not any(c.struck for c in cells):
        return False  # nearly every line
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
    if found.plain:
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
        if not {"unclear", "implausible"} & set(parsed.flags):
            draft.flag(f.column, "unclear", f"{cell.address}: {parsed.note}")
    elif parsed.outcome == "ignored" and not _says_none(cell):
        draft.unread.add(f.column)


def _says_none(cell: RawCell) -> bool:
    """Tell whether a cell says that there was nothing to read, not that a reading is lost."""
    text = cell.text.strip().casefold()
    return text in ("", "-", "–", "—", "--", "n/a", "na", "none", "nil", "n.a.", "/")


def _shorten_codes(drafts: Sequence[Draft]) -> None:
    """Take "Group" off "Group 3" where every group of the table is written so."""
    for column in _FIXED:
        codes = [str(d.values[column]) for d in drafts if d.values.get(column) and not d.set_aside]
        short = without_common_prefix(codes)
        for d in drafts:
            if column in d.values:
                d.values[column] = short.get(str(d.values[column]), d.values[column])


# "3 (redo)": what may stand behind the code of a group that did it twice.
_AGAIN = re.compile(
    r"(?P<group>\S.*?)[\s,(\[–-]+(?:re-?do(?:ne)?|redid|repeat(?:ed)?|re-?runs?|re-?test|retry|"
    r"again|resubmi(?:t|tted|ssion)|corrected|(?:2nd|second) (?:try|attempt|go)|take 2|bis)[)\].]*",
    re.IGNORECASE,
)


def _same_group_again(drafts: Sequence[Draft]) -> None:
    """Take "3 (redo)" for group 3 where group 3 stands in the table too."""
    groups = {str(d.values["group"]) for d in drafts if d.values.get("group")}
    for draft in drafts:
        again = _AGAIN.fullmatch(str(draft.values.get("group") or ""))
        if again and again["group"] in groups:
            draft.values["group"] = again["group"]
