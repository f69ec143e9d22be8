"""Matrices of one quantity each: groups down the side, classes or trials across, or turned.

"STARTING MASS (g)" over "Table | Period 1 | Period 3" over a line per lab table, and the same again
for the water and for what was left. Such matrices become one table with a line per run; every cell
keeps its address. One that names no reading we know stays aside.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import isclose
from statistics import mean

from solubility_stats.quantities import fill_columns, is_canonical
from solubility_stats.sheets.codes import are_codes
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.keywords import DERIVED
from solubility_stats.sheets.layouts.group_row import run_named
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.lines import is_telling
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import group_of_sheet, groups_in, section_in
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.view import View, looks_like_number

_FEWEST = 2
_LONGEST = 24
_LONGEST_CODE = 3
_KIND = {"counted": "run"}
_KEYS = ("section", "group", "run")
_Key = tuple[str, ...]


@dataclass(frozen=True)
class _Axis:
    """The names along one side: what they are, their cells by position, and the code of each."""

    kind: str
    names: dict[int, RawCell]
    codes: dict[int, str]


@dataclass(frozen=True)
class _Matrix:
    """One matrix: its title with what it means, its two sides, its body, and where it ends."""

    title: RawCell
    reading: Reading
    section: RawCell | None
    across: _Axis
    down: _Axis
    body: dict[tuple[int, int], RawCell]
    aside: tuple[RawCell, ...]

    def values(self) -> Iterator[tuple[dict[str, RawCell], RawCell]]:
        """Yield each filled cell of the body with the names it stands under."""
        for (row, col), cell in self.body.items():
            keys = {_KIND.get(axis.kind, axis.kind): axis.names[at].saying(axis.codes[at])
                    for axis, at in ((self.down, row), (self.across, col))}  # fmt: skip
            if self.section is not None:
                keys.setdefault("section", self.section)
            yield keys, cell


def matrices_of(sheet: Sheet, know: Know, book: Book) -> tuple[Table, Sheet] | None:
    """Return the matrices of a sheet as one table with a line per run, ``None`` if it has none.

    The rest of the sheet comes with it; the table has all of it for its caption.

    Parameters
    ----------
    sheet : Sheet
        Any sheet.
    know : callable
        Reads a stack of heading texts.
    book : Book
        The ledger of the sheet; names of rows and columns and averages are entered here.
    """
    if len(sheet.cells) < (_FEWEST + 1) ** 2:
        return None
    found: list[_Matrix] = []
    taken: set[tuple[int, int]] = set()
    for row, col in sorted(sheet.cells):
        if (row, col) not in taken and (matrix := _matrix(sheet, row, col, know)) is not None:
            found.append(matrix)
            taken |= _places(matrix)
    if not found or not _belong_together(sheet, found):
        return None
    return _joined(sheet, found, book)


def _belong_together(sheet: Sheet, found: Sequence[_Matrix]) -> bool:
    """Tell whether matrices have the same sides, and hold the readings of runs between them."""
    meant = {m.reading.column for m in found if m.reading.column}
    kinds = {frozenset((m.across.kind, m.down.kind)) for m in found}
    if len(kinds) > 1 or not meant:
        return False
    if _COUNTED in {kind for pair in kinds for kind in pair}:
        codes = {tuple(m.down.codes.values()) for m in found}
        if len(codes) > 1 or codes.pop() != tuple(map(str, range(1, len(found[0].down.codes) + 1))):
            return False
        return len(meant & _WEIGHED) == len(_WEIGHED)
    # One alone on its sheet is one of several tabs.
    numbers = sum(map(looks_like_number, sheet.cells.values()))
    inside = sum(looks_like_number(sheet.cells[at]) for m in found for at in _places(m))
    return len(meant) >= _FEWEST or (len(found) == 1 and numbers - inside <= 1)


_WEIGHED = {"initial_mass_g", "recovered_mass_g"}


def _places(matrix: _Matrix) -> set[tuple[int, int]]:
    cells = (*matrix.across.names.values(), *matrix.down.names.values(), *matrix.body.values())
    return {(c.row, c.col) for c in (*cells, *matrix.aside)}


def _matrix(sheet: Sheet, row: int, first: int, know: Know) -> _Matrix | None:
    """Return the matrix whose first name across stands in a cell, ``None`` if there is none."""
    cells = sheet.cells
    if (row, first - 1) in cells and (row, first - 2) in cells:
        return None
    last, side = first, first - 1
    while (row, last + 1) in cells:
        last += 1
    across = {c: cells[row, c] for c in range(first, last + 1)}
    if len(across) < _FEWEST or not all(map(_may_be_name, across.values())):
        return None
    corner = cells.get((row, side))
    above = _above(sheet, row, side, last)
    title = _title(corner, above, know)
    if title is None:
        return None
    end = row
    while (end + 1, side) in cells:
        end += 1
    down = {r: cells[r, side] for r in range(row + 1, end + 1)}
    body = {(r, c): cells[r, c] for r in down for c in across if (r, c) in cells}
    if len(down) < _FEWEST or 2 * sum(map(looks_like_number, body.values())) <= len(body):
        return None
    means = _averages(across, down, body)
    kept = {c: name for c, name in across.items() if name not in means}
    sides = _sides(kept, down, corner, above, know)
    if sides is None:
        return None
    cell, reading = title
    used = {(r, c): v for (r, c), v in body.items() if r in sides[1].codes and c in sides[0].codes}
    aside = [v for at, v in body.items() if at not in used]
    aside += [n for axis in sides for at, n in axis.names.items() if at not in axis.codes]
    aside += means
    named = section_in(cell.text) if "section" not in (sides[0].kind, sides[1].kind) else ""
    section = cell.saying(named) if named else None
    return _Matrix(cell, reading, section, *sides, used, tuple(aside))


def _averages(
    across: dict[int, RawCell], down: dict[int, RawCell], body: dict[tuple[int, int], RawCell]
) -> list[RawCell]:
    """Return the last name across where all below it are means of what stands before them."""
    *others, last = across
    told = 0
    for row in down:
        shown = body.get((row, last))
        cells = [body[row, c] for c in others if (row, c) in body]
        numbers = [float(c.value) for c in cells if isinstance(c.value, (int, float))]
        if shown is None:
            continue
        if not isinstance(shown.value, (int, float)) or not numbers:
            return []
        if not isclose(mean(numbers), shown.value, rel_tol=_ROUNDED):
            return []
        told += len(set(numbers)) > 1
    return [across[last]] if told >= _FEWEST and len(others) >= _FEWEST else []


# Means are shown with three digits at least; two that fit are no coincidence (judgement).
_ROUNDED = 1e-3


def _may_be_name(cell: RawCell) -> bool:
    return len(cell.text) <= _LONGEST and _DECIMALS.search(cell.text) is None


_DECIMALS = re.compile(r"\d[.,](?!0\Z)\d")


def _above(sheet: Sheet, row: int, first: int, last: int) -> list[RawCell]:
    """Return what stands above a matrix, nearest first: a title, a name of what goes across."""
    found: list[RawCell] = []
    for at in (row - 1, row - 2):
        cells = [c for col in range(first, last + 1) if (c := sheet.cells.get((at, col)))]
        if len(cells) > 1 or any(map(looks_like_number, cells)):
            break
        found += cells
    return found


def _title(
    corner: RawCell | None, above: Sequence[RawCell], know: Know
) -> tuple[RawCell, Reading] | None:
    """Return the cell that says what a matrix holds, with its meaning, if anybody knows."""
    places = [c for c in (corner, *above) if c is not None and isinstance(c.value, str)]
    for cell in places:
        reading = _meaning(cell.text, know)
        if reading.column and is_canonical(reading.column) and reading.column not in _KEYS:
            return cell, reading
    titles = [c for c in places if know((c.text,)).column not in _KEYS]
    if not titles:
        return None
    derived = any(DERIVED in know((c.text,)).candidates for c in titles)
    return titles[-1], Reading((), note=DERIVED) if derived else Reading()


def _meaning(text: str, know: Know) -> Reading:
    """Return what a title means, with the class it may name left out ("Water (mL), Period 3")."""
    parts = [p.strip() for p in re.split(r"\s*[,;:–—]\s+|\s+[-–—]\s+", text)]
    kept = [p for p in parts if p and not section_in(p)]
    reading = know((text,)) if len(kept) == len(parts) else know((", ".join(kept),))
    fill = reading.column is not None and fill_columns([reading.column])
    return Reading() if fill or reading.trial else reading


def _sides(
    across: dict[int, RawCell],
    down: dict[int, RawCell],
    corner: RawCell | None,
    above: Sequence[RawCell],
    know: Know,
) -> tuple[_Axis, _Axis] | None:
    """Return what goes across and down, ``None`` unless both are names of different kinds."""
    told = [kind for c in above if (kind := _asks(c.text, know))]
    asked = _CORNER.split(corner.text) if corner is not None else []
    kinds = [kind for part in asked if part and (kind := _asks(part, know))]
    side, top = _axis(down), _axis(across, told[0] if told else "")
    if len(kinds) > 1 and corner is not None and _FIRST_IS_DOWN.search(corner.text):
        side, top = _axis(down, kinds[0]), _axis(across, kinds[1])
    if not side.kind:
        other = [kind for kind in kinds if kind != top.kind]
        side = _axis(down, other[0] if len(other) == 1 else "")
    if not top.kind:
        other = [kind for kind in kinds if kind != side.kind]
        top = _axis(across, other[0] if len(other) == 1 and side.kind else "")
    if top.kind and not side.kind and _are_bare(side.codes.values()):
        side = replace(side, kind=_COUNTED if top.kind == "group" else "group")
    large = min(len(top.codes), len(side.codes)) >= _FEWEST
    apart = top.kind and side.kind and top.kind != side.kind
    return (top, side) if large and apart else None


# "1" and "2" below groups: trials if all that was measured has them, else perhaps fills.
_COUNTED = "counted"
# "Group \\ Trial", "Bench ↓ Period →"
_FIRST_IS_DOWN = re.compile(r"\\|↓.*→")
_CORNER = re.compile(r"\s*(?:[/\\|↓→\n]|\bvs\.?)\s*")


def _asks(text: str, know: Know) -> str:
    column = know((text,)).column
    return column if column in _KEYS else ""


def _are_bare(codes: Iterable[str]) -> bool:
    listed = list(codes)
    return are_codes(listed) and all(len(c) <= _LONGEST_CODE for c in listed)


def _axis(cells: dict[int, RawCell], asked: str = "") -> _Axis:
    """Return the names along one side, sums and averages without a code."""
    texts = {at: " ".join(c.text.split()).removesuffix(".0") for at, c in cells.items()}
    texts = {at: t for at, t in texts.items() if not is_telling(t)}
    listed = list(texts.values())
    if len(set(listed)) < len(listed) or any(len(t) > _LONGEST for t in listed):
        return _Axis("", cells, {})
    for kind, named in _NAMED.items():
        codes = {at: named(t) for at, t in texts.items()}
        if all(codes.values()) and len(set(codes.values())) == len(codes):
            return _Axis(kind, cells, codes)
    bare = asked == "group" or (asked != "" and _are_bare(listed))
    return _Axis(asked if bare else "", cells, texts)


def _group_named(text: str) -> str:
    named = groups_in(text)
    return group_of_sheet(text) or (named.pop() if len(named) == 1 else "")


_NAMED = {"group": _group_named, "run": run_named, "section": section_in}


def _joined(sheet: Sheet, found: Sequence[_Matrix], book: Book) -> tuple[Table, Sheet]:
    """Return all matrices as one table; a reading that stands in two of them is a question."""
    runs: dict[_Key, dict[str, RawCell]] = {}
    heads: dict[str, tuple[RawCell, Reading]] = {}
    for matrix in found:
        column = matrix.reading.column
        _enter(matrix, book)
        if column is None:
            continue
        heads.setdefault(column, (matrix.title, matrix.reading))
        for keys, cell in matrix.values():
            run = runs.setdefault(tuple(keys[k].text if k in keys else "" for k in _KEYS), keys)
            unit = matrix.reading.unit
            if heads[column][1].unit != unit and looks_like_number(cell):
                cell = cell._replace(value=f"{cell.text} {unit}" if unit else "?")
            if column in run:
                note = "two matrices of the same reading: which counts?"
                book.enter(cell, Entry("unclear", column, note=note))
                cell = run.get(column, cell).saying("?")
            run[column] = cell
    names = [k for k in _KEYS if any(k in run for run in runs.values())] + list(heads)
    cells: dict[tuple[int, int], RawCell] = {}
    seen: set[tuple[int, int]] = set()
    for line, run in enumerate(runs.values(), start=2):
        for place, name in enumerate(names, start=1):
            if name in run:
                cell = run[name]
                home = (cell.row, cell.col)
                cells[line, place] = cell._replace(merged_from=home) if home in seen else cell
                seen.add(home)
    view = View(replace(sheet, cells=cells, merged=()))
    columns = []
    for place, name in enumerate(names, start=1):
        title, reading = heads.get(name, (None, Reading((name,))))
        columns.append(Column(place, () if title is None else (title,), reading))
    used = set().union(*map(_places, found), {(m.title.row, m.title.col) for m in found})
    rest = {at: c for at, c in sorted(sheet.cells.items()) if at not in used | set(book.entries)}
    table = Table(view, (1,), tuple(view.lines), tuple(columns), tuple(rest.values()))
    return table, replace(sheet, cells=rest)


def _enter(matrix: _Matrix, book: Book) -> None:
    """Enter averages and, of a matrix that holds no reading, everything."""
    for cell in matrix.aside:
        book.enter(cell, Entry("ignored", note="average, total or its name"))
    if matrix.reading.column is not None:
        return
    derived = matrix.reading.note == DERIVED
    note = "worked out by the groups" if derived else "what this matrix holds is not understood"
    book.enter(matrix.title, Entry("context", note=f"heading; {note}"))
    for cell in matrix.body.values():
        numeric = looks_like_number(cell) and not derived
        book.enter(cell, Entry("unclear" if numeric else "ignored", note=note))
