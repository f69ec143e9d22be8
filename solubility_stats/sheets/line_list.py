"""The lines of a table and what each is: run, summary, note, example, slipped, cut, withdrawn.

One line is judged in :mod:`lines`; here the lines above and below it have a say.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import pairwise

from solubility_stats.quantities import quantity
from solubility_stats.sheets import lines as line_kinds
from solubility_stats.sheets.again import is_group_and_more
from solubility_stats.sheets.cell_reader import Line
from solubility_stats.sheets.field import Field
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.no_results import of_another_time
from solubility_stats.sheets.places import groups_in
from solubility_stats.sheets.resolve import is_number
from solubility_stats.sheets.shifted import shifted_lines
from solubility_stats.sheets.table import Table
from solubility_stats.sheets.view import looks_like_number

_CODES = ("group", "section", "run", "semester")


def shape_of(fields: Sequence[Field]) -> line_kinds.Shape:
    """Return which places of a table hold codes, numbers and words."""
    kinds = {f.place: quantity(f.column).kind if f.column else "" for f in fields}
    unnamed = [f for f in fields if f.state in ("open", "unknown", "derived", "same")]
    group = next((f.place for f in fields if f.column == "group"), None)
    return line_kinds.Shape(
        [f.place for f in fields if f.column in _CODES or f.state == "personal"],
        [f.place for f in fields if is_number(f)]
        + [f.place for f in unnamed if f.state in ("open", "derived")],
        [p for p, kind in kinds.items() if kind in ("text", "choice", "flag", "moment")],
        group,
        [f.place for f in fields if f.state == "personal"],
    )


def classified(table: Table, fields: Sequence[Field], shape: line_kinds.Shape) -> list[Line]:
    """Return the lines below the headings of a table, each with its kind."""
    headings = {f.place: f.source.cells[-1].text for f in fields if f.source.cells}
    found: list[Line] = []
    above = _Above(shape)
    previous = table.header[-1]
    ended = apart = titled = False
    cut = _all_cut(table, fields)
    places = {f.column: f.place for f in fields if f.column in ("group", "run")}
    parts = (places["group"], places["run"]) if len(places) == 2 else None
    section_once = _written_once(table, fields)
    for number in table.lines:
        cells = table.view.line_cells(number, table.first, table.last)
        cells = _with_dittos(cells, found)
        if ended:
            found.append(Line(number, "end", cells))
            continue
        own = [c for c in cells.values() if c.merged_from is None]
        told = own[0].text if found and len(own) == 1 else ""
        if _KEY_TITLE.fullmatch(told) or (number - previous > 1 and of_another_time(told)):
            ended = True  # what follows explains the symbols, or is of last year
            found.append(Line(number, "note", cells))
            continue
        kind = line_kinds.classify(
            cells,
            shape,
            headings,
            after_gap=number - previous > 1 or titled,
            after_summary=bool(found) and found[-1].kind == "summary",
        )
        titled = number - previous > 1 and kind in ("note", "summary", "listed") and len(own) == 1
        apart = apart or number - previous > 1
        previous = number
        if kind == "run" and apart and shape.group is None and _is_label(cells, shape):
            kind = "end"  # the labels of a form begin where a table without groups stood
        apart = apart and kind != "run"
        if kind == "run" and (cut or _is_shifted(table, number)):
            kind = "shifted"
        if kind == "nameless":
            kind = _look_again(cells, shape, above.upto(found), found)
            if kind == "nameless" and (named := _next_run(cells, fields, found)) is not None:
                cells, kind = named, "run"
        if kind == "run" and section_once is not None and section_once not in cells:
            cells = _same_section(cells, fields, found, section_once) or cells
        if kind == "run" and _is_unfilled(cells, shape):
            kind = "listed"
        if kind == "run" and shape.group is None and "run" in places and places["run"] not in cells:
            kind = "nameless"  # beside numbered trials
        if kind == "run" and _sums_up(cells, parts, above, found, shape):
            kind = "summary"
        ended = kind == "end"
        found.append(Line(number, kind, cells))
    return _without_odd_names(_without_shifted(found, shape), shape)


_KEY_TITLE = re.compile(
    r"\W*(?:key|legend[ae]?|légende|leyenda|zeichen|symbole?s?|abkürzungen|erklärung|oznaczenia|"
    r"objaśnienia|forklaring|förklaring|codes?|where)\W*",
    re.IGNORECASE,
)
_DITTO = frozenset({'"', "''", "”", "“", "″", "〃", '-"-', '—"—', "ditto", "do.", "dto.", "idem"})


def _with_dittos(cells: dict[int, RawCell], found: Sequence[Line]) -> dict[int, RawCell]:
    """Return the cells of a line, a ditto mark as what stands above it in a run."""
    marks = [p for p, c in cells.items() if c.value.__class__ is str and c.text.strip() in _DITTO]
    if not marks:
        return cells  # nearly every line
    above = next((line.cells for line in reversed(found) if line.kind == "run"), None)
    if above is None:
        return cells
    said = {
        p: above[p]._replace(row=cells[p].row, col=cells[p].col, merged_from=None)
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


class _Above:
    """Numbers of the runs above a line by place, gathered when they are asked for."""

    def __init__(self, shape: line_kinds.Shape) -> None:
        self._shape, self._seen = shape, 0
        self._numbers: dict[int, list[float]] = {}

    def upto(self, found: Sequence[Line]) -> dict[int, list[float]]:
        """Return the numbers of all runs found so far."""
        _extend(self._numbers, found[self._seen :], self._shape)
        self._seen = len(found)
        return self._numbers


def _sums_up(
    cells: Mapping[int, RawCell],
    parts: tuple[int, int] | None,
    above: _Above,
    found: Sequence[Line],
    shape: line_kinds.Shape,
) -> bool:
    """Tell whether a line with a group is the mean of one, or of all under an unknown word."""
    if parts and _is_mean_of_group(cells, parts, found, shape):
        return True
    if not _has_name_among_numbers(cells, shape, found):
        return False
    return _look_again(cells, shape, above.upto(found), found) == "summary"


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
        if text.split()[0].rstrip("(:,-") not in short and not is_group_and_more(text):
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


def _has_name_among_numbers(
    cells: Mapping[int, RawCell], shape: line_kinds.Shape, found: Sequence[Line]
) -> bool:
    """Tell whether a line has a word for a group where all lines above it have numbers.

    "Std.abw.", in whatever language, below 1, 2, 3 …
    """
    lead = None if shape.group is None else cells.get(shape.group)
    if lead is None or lead.value.__class__ is not str or any(map(str.isdigit, lead.text)):
        return False  # nearly every line
    if sum(map(str.isalpha, lead.text)) < _SHORTEST_NAME:
        return False
    runs = 0
    for line in found:
        cell = line.cells.get(shape.group or 0) if line.kind == "run" else None
        if cell is not None and not any(map(str.isdigit, cell.text)):
            return False
        runs += cell is not None
    return runs > _WORDS_OF_NO_CODE


_SHORTEST_NAME = 3


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


def _written_once(table: Table, fields: Sequence[Field]) -> int | None:
    """Return the place of the sections if each stands on the first of its lines only."""
    places = {f.column: f.place for f in fields if f.column in ("section", "group")}
    if len(places) < 2:
        return None
    cells = table.view.cells
    said = [(i, places["section"]) in cells for i in table.lines if (i, places["group"]) in cells]
    once = bool(said) and said[0] and not all(said)
    return places["section"] if once and not any(a and b for a, b in pairwise(said)) else None


def _same_section(
    cells: Mapping[int, RawCell], fields: Sequence[Field], found: Sequence[Line], place: int
) -> dict[int, RawCell] | None:
    """Return the line with the section of the line above, if its group number goes on from there.

    "A" beside group 1 and nothing beside 2 and 3, "B" beside 1 again.
    """
    group = next(f.place for f in fields if f.column == "group")
    if not found or found[-1].kind not in ("run", "listed") or group not in cells:
        return None
    above, section = found[-1].cells.get(group), found[-1].cells.get(place)
    if above is None or section is None or _steps(above, cells[group]) < 1:
        return None
    shadow = section._replace(merged_from=section.merged_from or (section.row, section.col))
    return {**cells, place: shadow}


def _steps(one: RawCell, other: RawCell) -> int:
    """Return by how much the number or letter in one cell is beyond that in another, else 0."""
    texts = [c.text.strip().rstrip("*†‡ ").removesuffix(".0") for c in (one, other)]
    if all(len(t) == 1 and t.isalpha() for t in texts):
        return ord(texts[1].upper()) - ord(texts[0].upper())
    numbers = [re.sub(r"\D", "", t) for t in texts]
    return int(numbers[1]) - int(numbers[0]) if all(numbers) else 0


def _next_run(
    cells: Mapping[int, RawCell], fields: Sequence[Field], found: Sequence[Line]
) -> dict[int, RawCell] | None:
    """Return the line with the group of the line above, if that says whose it is.

    A blank alone is never filled: run 2 under run 1 of a group says whose it is, and so does a
    line above with nothing but a group on it, for all lines up to the next.
    """
    places = {f.column: f.place for f in fields if f.column in ("group", "run")}
    if "group" not in places or not found:
        return None
    above = found[-1]
    group = above.cells.get(places["group"])
    if group is None:
        return None
    title = above if above.kind == "listed" else _title_of(group, found)
    if above.kind not in ("run", "listed"):
        return None
    run, last = (line.get(places.get("run", 0)) for line in (cells, above.cells))
    if title is not None:
        if len(title.cells) > 1 or not (groups_in(group.text) or run is not None):
            return None
    elif above.kind != "run" or run is None or last is None or _steps(last, run) != 1:
        return None
    shadow = group._replace(merged_from=group.merged_from or (group.row, group.col))
    return {**cells, places["group"]: shadow}


def _title_of(group: RawCell, found: Sequence[Line]) -> Line | None:
    """Return the line with nothing but a group on it that a run above took its group from."""
    for line in found:
        own = line.cells.values()
        if line.kind == "listed" and any((c.row, c.col) == group.merged_from for c in own):
            return line
    return None
