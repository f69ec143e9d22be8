"""A sheet seen upright or turned, so that one way of finding tables serves both layouts."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence

from solubility_stats.sheets.model import RawCell, Sheet

Place = tuple[int, int]
Range = tuple[int, int, int, int]

# A sheet with more cells was filled in by many hands or a program: a list of runs, or a log, and
# nothing laid out for one page (judgement; it also bounds the work).
MOST_BY_HAND = 3000

_NUMBER_LIKE = re.compile(
    r"[\s~≈<>≤≥±+\-−–(]*(?:ca\.?|about|approx\.?)?\s*[\d٠-٩０-９][\d.,'   ]*"
    r"(?!\s*(?:st|nd|rd|th|er|ème)\b)\s*\S{0,5}\s*\Z"
)


def looks_like_number(cell: RawCell) -> bool:
    """Tell whether a cell holds a number, typed or written."""
    if isinstance(cell.value, str):
        return bool(_NUMBER_LIKE.match(cell.value))
    return cell.value is not None or cell.formula is not None


def like_weighings(cells: Sequence[RawCell | None]) -> bool:
    """Tell whether most numbers show more digits than any time in minutes does."""
    numbers = [c.text for c in cells if c is not None and looks_like_number(c)]
    fine = sum(map(bool, map(_FINE.search, numbers)))
    none_whole = all(re.search(r"\d[.,]\d", number) for number in numbers)
    return len(numbers) > 1 and (
        2 * fine > len(numbers) or (none_whole and 2 * fine == len(numbers))
    )


_FINE = re.compile(r"\d[.,]\d\d|\d{3}[.,]\d")


class View:
    """The cells of a sheet by line and position along the line.

    Upright, a line is a row. Turned, a line is a column: groups side by side become lines below
    one another. Cells keep their addresses.

    Parameters
    ----------
    sheet : Sheet
        The sheet.
    turned : bool
        Whether lines are columns.
    """

    def __init__(self, sheet: Sheet, turned: bool = False) -> None:
        self.sheet, self.turned = sheet, turned
        cells = sheet.cells
        self.cells: dict[Place, RawCell] = (
            {(j, i): cell for (i, j), cell in cells.items()} if turned else dict(cells)
        )
        self.index()
        self.lines = sorted(self.along)
        self.merged = [self._turn(m) for m in sheet.merged]
        self._shadows = self._cast_shadows()

    def index(self) -> None:
        """List the filled places of each line anew, as after cells were put in or taken out."""
        self.along: dict[int, list[int]] = defaultdict(list)
        for i, j in sorted(self.cells):
            self.along[i].append(j)

    def _turn(self, m: Range) -> Range:
        return (m[1], m[0], m[3], m[2]) if self.turned else m

    def _cast_shadows(self) -> dict[Place, RawCell]:
        if not self.lines or not self.merged:
            return {}
        last_line = self.lines[-1]
        last_place = max(places[-1] for places in self.along.values())
        shadows: dict[Place, RawCell] = {}
        for top, left, bottom, right in self.merged:
            origin = self.cells.get((top, left))
            if origin is None:
                continue
            for i in range(top, min(bottom, last_line) + 1):
                for j in range(left, min(right, last_place) + 1):
                    if (i, j) not in self.cells:
                        row, col = (j, i) if self.turned else (i, j)
                        home = (origin.row, origin.col)
                        shadows[i, j] = origin._replace(row=row, col=col, merged_from=home)
        return shadows

    def get(self, line: int, place: int) -> RawCell | None:
        """Return the cell, or the shadow of the merged cell that covers the place."""
        return self.cells.get((line, place)) or self._shadows.get((line, place))

    def column(self, place: int, lines: Sequence[int]) -> list[RawCell | None]:
        """Return the cells of a place on several lines, shadows included."""
        cells = self.cells
        if not self._shadows:
            return [cells.get((i, place)) for i in lines]
        return [self.get(i, place) for i in lines]

    def line_cells(self, line: int, first: int, last: int) -> dict[int, RawCell]:
        """Return the cells of a line between two places by place, shadows included."""
        cells = self.cells
        found = {p: cells[line, p] for p in self.along.get(line, ()) if first <= p <= last}
        if self._shadows:
            for p in range(first, last + 1):
                if p not in found and (line, p) in self._shadows:
                    found[p] = self._shadows[line, p]
            return dict(sorted(found.items()))
        return found

    def range_of(self, line: int, place: int) -> Range | None:
        """Return the merged range that begins at a place."""
        for found in self.merged:
            if found[:2] == (line, place):
                return found
        return None

    def within(self, line: int, first: int, last: int) -> list[int]:
        """Return the places with a cell on a line between two places, both included."""
        places = self.along.get(line, [])
        return places[bisect_left(places, first) : bisect_right(places, last)]

    def pieces(self, line: int) -> list[list[int]]:
        """Return the runs of neighbouring filled places on a line (merged cells fill theirs)."""
        found: list[list[int]] = []
        reach = -1
        for j in self.along.get(line, []):
            if found and j <= reach + 1:
                found[-1].append(j)
            else:
                found.append([j])
            wide = self.range_of(line, j) if self.merged else None
            reach = max(reach, j, wide[3] if wide else j)
        return found
