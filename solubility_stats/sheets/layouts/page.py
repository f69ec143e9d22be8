"""Sheets written like a page: a reading per sentence, or an answer below its question.

"Mass of dry residue = 3.46 - 0.99 = 2.47 g" in one cell, and "How long did you stir for?" over
"10 minutes", are laid out as a label with its value beside it, which is then read like any form.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from solubility_stats.quantities import is_canonical
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_forms import ONLY_RATIO
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.layouts.side_by_side import with_unit
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.units import known_unit
from solubility_stats.sheets.view import looks_like_number

# "Water added: 100.5 + 100 = 200.5 cm3": the first colon or equals sign parts label and value.
_STATED = re.compile(
    r"\s*(?P<label>[^\W\d_][^:=]{0,80}?)\s*[:=]\s*(?P<value>[^\s:=].*?)\s*\Z", re.S
)
_UNIT_BEHIND = re.compile(r"\d\s*([^\W\d_]{1,7}|°\s?[CF])\.?\Z")
_BETWEEN = re.compile(r";\s*|\n|\.\s+(?=[A-Z])")
# So many different readings make a page of readings out of a page of text (judgement).
_FEWEST = 3
_LONGEST_ANSWER = 60

_Line = tuple[RawCell, RawCell | None]


def laid_out(sheet: Sheet, know: Know) -> Sheet | None:
    """Return a sheet with a label and its value on each line, ``None`` for no page of readings.

    The cells keep their addresses.
    """
    return _as_form(sheet, list(_lines(sheet, know)), know)


def filled_in(sheet: Sheet, know: Know) -> Sheet | None:
    """Return a sheet of sentences with blanks as labels and values, ``None`` for any other sheet.

    "We stirred for | 12 | minutes and then let it settle for | 30 | minutes."
    """
    rows = _rows(sheet)
    broken = [
        cell
        for cells in rows.values()
        for label, value, cell in zip(cells, cells[1:], cells[2:], strict=False)
        if _begins_sentence(label)
        and looks_like_number(value)
        and cell.col == value.col + 1
        and _goes_on(cell)
    ]
    if len(broken) < _FEWEST - 1:
        return None
    return _as_form(sheet, [line for cells in rows.values() for line in _filled(cells)], know)


_WORD = re.compile(r"\s*(?P<unit>[^\W\d_]+|°\s?[CF]|º\s?[CF])\.?(?P<rest>.*)", re.DOTALL)


def _begins_sentence(cell: RawCell) -> bool:
    """Tell whether a text is more than a word of a table ("gravity | 20 | second drying was …")."""
    return isinstance(cell.value, str) and " " in cell.text.strip()


def _goes_on(cell: RawCell) -> bool:
    """Tell whether a text begins with a unit and goes on with the sentence."""
    found = _WORD.fullmatch(cell.text) if isinstance(cell.value, str) else None
    unit = known_unit(found["unit"]) if found else None
    return bool(found and unit and re.match(r"[\s,.;]+[^\W\d_]{2}", found["rest"]))


def _filled(cells: list[RawCell]) -> Iterator[_Line]:
    """Yield the labels and values of a sentence with blanks."""
    if len(cells) < 2 or looks_like_number(cells[0]) or not isinstance(cells[0].value, str):
        yield from ((cell, None) for cell in cells if isinstance(cell.value, str))
        return
    label = cells[0].text
    for at in range(1, len(cells), 2):
        tail = cells[at + 1] if at + 1 < len(cells) else None
        found = _WORD.fullmatch(tail.text) if tail is not None else None
        unit = known_unit(found["unit"]) if found else None
        rest = found["rest"].strip(" ,.;") if found and unit else ""
        more = at + 2 < len(cells)
        said = label if more or not rest else f"{label} {rest}"
        if unit and not more and ONLY_RATIO.match(tail.text if tail else ""):
            said = label
        yield cells[at - 1].saying(f"{said} ({unit})" if unit else said), cells[at]
        label = rest


def _as_form(sheet: Sheet, lines: list[_Line], know: Know) -> Sheet | None:
    columns = {
        column
        for label, value in lines
        if value is not None and (column := know((label.text,)).column) is not None
    }
    if len(columns) < _FEWEST:
        return None
    cells: dict[tuple[int, int], RawCell] = {}
    row = 0
    seen: set[str] = set()
    for at, (label, value) in enumerate(lines):
        above = lines[at - 1] if at else None
        begins = value is None and above is not None and above[1] is not None
        apart = value is None and above is not None and label.row - above[0].row > 1
        if begins or apart or label.text in seen:
            row, seen = row + 1, set()  # the next card
        row += 1
        cells[row, 1] = label
        if value is not None:
            cells[row, 2] = value
            seen.add(label.text)
    return replace(sheet, cells=cells, merged=())


def _lines(sheet: Sheet, know: Know) -> Iterator[_Line]:
    """Yield labels with their values, and the other texts without one."""
    rows = _rows(sheet)
    answers: set[int] = set()
    for row, cells in rows.items():
        if row in answers:
            continue
        stated = [pair for cell in cells for pair in _stated(cell, know)]
        if stated:
            yield from stated
            continue
        if (answer := _answer(cells, rows.get(row + 1, []), know)) is not None:
            answers.add(row + 1)
            yield cells[0], answer
            continue
        yield from ((cell, None) for cell in cells if isinstance(cell.value, str))


def _rows(sheet: Sheet) -> dict[int, list[RawCell]]:
    rows = sheet.lines()
    return rows


def _stated(cell: RawCell, know: Know) -> list[tuple[RawCell, RawCell]]:
    if not isinstance(cell.value, str):
        return []
    found = []
    for part in _BETWEEN.split(cell.value):
        said = _STATED.fullmatch(part)
        if said is None:
            continue
        behind = _UNIT_BEHIND.search(said["value"])
        full = with_unit(said["label"], behind[1]) if behind else ""  # "Hot plate: 35 min"
        for label in (said["label"], full):
            if label and _is_reading(know((label,))):
                found.append((cell.saying(label), cell.saying(said["value"])))
                break
    return found


def _answer(question: list[RawCell], below: list[RawCell], know: Know) -> RawCell | None:
    """Return the cell below a question, if it can be its answer."""
    if len(question) != 1 or len(below) != 1 or not isinstance(question[0].value, str):
        return None
    answer = below[0]
    if isinstance(answer.value, str) and _STATED.fullmatch(answer.value):
        return None  # it says all itself
    asked = know((question[0].text,))
    asks = question[0].text.rstrip().endswith("?") or _is_reading(asked)
    if not asks or looks_like_number(question[0]) or len(answer.text) > _LONGEST_ANSWER:
        return None
    is_label = isinstance(answer.value, str) and (
        answer.text.rstrip().endswith(("?", ":"))
        or (not looks_like_number(answer) and _is_other_reading(know((answer.text,)), asked))
    )
    return None if is_label else answer


def _is_other_reading(reading: Reading, asked: Reading) -> bool:
    """Tell whether a text heads another reading; "no, could not see the beam" answers."""
    return _is_reading(reading) and reading.candidates != asked.candidates


def _is_reading(reading: Reading) -> bool:
    return reading.derived or any(map(is_canonical, reading.candidates))
