"""A lab kept step by step: small blocks below one another, each under the names of all groups.

"STEP 1" over "| Group 1 | Group 2 | Group 3" over what was weighed in, "STEP 2" over the same names
over the water. Such blocks become one table under the first line of names, by name and not by
column; the titles of the steps stay over their labels. What else is on the sheet is read apart.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from solubility_stats.sheets.head import Know
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import groups_in
from solubility_stats.sheets.view import looks_like_number

_FEWEST_GROUPS = 3
_LONGEST_CODE = 4
_Rows = Mapping[int, Mapping[int, RawCell]]


@dataclass(frozen=True)
class _Step:
    """One block: its title, the line of names, and its lines of a label with values."""

    title: RawCell | None
    head: int
    names: dict[str, RawCell]
    lines: tuple[int, ...]

    @property
    def rows(self) -> set[int]:
        """All rows of the sheet that the block fills."""
        return {self.head, *self.lines, *([] if self.title is None else [self.title.row])}


def steps_as_one(sheet: Sheet, know: Know, book: Book) -> tuple[Sheet, Sheet] | None:
    """Return the blocks of a sheet under the same groups as one, and the rest of the sheet.

    ``None`` where there are no such blocks; the cells keep their addresses.

    Blocks of which two have the same label are left alone: they may be trials.

    Parameters
    ----------
    sheet : Sheet
        Any sheet.
    know : callable
        Reads a stack of heading texts.
    book : Book
        The ledger of the sheet, in which the repeated names are entered.
    """
    if sheet.merged:
        return None
    rows = sheet.by_row()
    heads = [row for row in rows if _names(rows[row], know)]
    if len(heads) < 2:
        return None
    steps = [s for row in heads if (s := _step(rows, row, know)) is not None]
    if len(steps) < 2 or len(steps) < len(heads) or not _go_together(steps, rows):
        return None
    for step in steps[1:]:
        for cell in rows[step.head].values():
            book.enter(cell, Entry("context", "group", note="the groups, named again for a step"))
    used = set().union(*(step.rows for step in steps))
    rest = {at: cell for at, cell in sheet.cells.items() if at[0] > steps[0].head}
    rest = {at: cell for at, cell in rest.items() if at[0] not in used}
    whole = replace(sheet, cells=_one_below_another(steps, rows))
    return whole, replace(sheet, cells=rest)


def _names(line: Mapping[int, RawCell], know: Know) -> dict[str, RawCell]:
    """Return the groups named on a line, by name; nothing if anything else stands on it."""
    cells = list(line.values())
    if cells and know((cells[0].text,)).column == "group" and not groups_in(cells[0].text):
        cells, bare = cells[1:], True
    else:
        bare = False
    names = {_name(c, bare): c for c in cells}
    whole = len(names) == len(cells) >= _FEWEST_GROUPS and "" not in names
    return names if whole and min(line) + len(line) - 1 == max(line) else {}


def _name(cell: RawCell, bare: bool) -> str:
    named = groups_in(cell.text)
    if len(named) == 1:
        return named.pop()
    code = cell.text.strip().removesuffix(".0")
    return code if bare and code.isalnum() and len(code) <= _LONGEST_CODE else ""


def _step(rows: _Rows, head: int, know: Know) -> _Step | None:
    """Return the block below a line of names, ``None`` if that is no such block."""
    names = _names(rows[head], know)
    first = min(c.col for c in names.values())
    columns = {first - 1, *(c.col for c in names.values())}
    lines: list[int] = []
    row = head + 1
    while row in rows and first - 1 in rows[row] and len(rows[row]) > 1:
        label = rows[row][first - 1]
        if not isinstance(label.value, str) or looks_like_number(label):
            return None
        if not rows[row].keys() <= columns:
            return None
        lines.append(row)
        row += 1
    above = rows.get(head - 1, {})
    lone = next(iter(above.values())) if len(above) == 1 else None
    title = lone if lone is not None and isinstance(lone.value, str) else None
    return _Step(title, head, names, tuple(lines)) if lines else None


def _labels(step: _Step, rows: _Rows) -> list[str]:
    at = min(c.col for c in step.names.values()) - 1
    return [" ".join(rows[row][at].text.casefold().split()) for row in step.lines]


def _go_together(steps: Sequence[_Step], rows: _Rows) -> bool:
    """Tell whether blocks name groups of the first one, and ask for different things."""
    first = steps[0]
    beside = {min(c.col for c in step.names.values()) for step in steps}
    known = all(step.names.keys() <= first.names.keys() for step in steps)
    asked = [label for step in steps for label in _labels(step, rows)]
    return known and len(beside) == 1 and len(set(asked)) == len(asked)


def _one_below_another(steps: Sequence[_Step], rows: _Rows) -> dict[tuple[int, int], RawCell]:
    """Return the cells with the lines of all blocks under the names of the first one."""
    first = steps[0]
    at = min(c.col for c in first.names.values()) - 1
    place = {name: cell.col for name, cell in first.names.items()}
    cells = {(r, c): v for r, line in rows.items() if r <= first.head for c, v in line.items()}
    to = first.head
    for step in steps:
        if step is not first and step.title is not None:
            to += 1
            cells[to, at] = step.title
        for row in step.lines:
            to += 1
            cells[to, at] = rows[row][at]
            for name, head in step.names.items():
                if head.col in rows[row]:
                    cells[to, place[name]] = rows[row][head.col]
    return dict(sorted(cells.items()))
