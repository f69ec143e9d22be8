"""Fills of the cylinder side by side below the name of each group, steps down the side.

"Group 1 |  | Group 2 |" over "lime (g) | 2.51 |  | 2.44 |" and "water (mL) | 100 | 50 | 100 | 100":
only the water fills more than the first place of a group, so these are no trials. Each fill gets a
line of its own in the first place. Cells keep their addresses.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from solubility_stats.quantities import fill_column, fill_columns, is_canonical, quantity
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import counted, plain_ordinals
from solubility_stats.sheets.layouts.group_row import number_of_run, run_named
from solubility_stats.sheets.layouts.pours import TOTAL
from solubility_stats.sheets.layouts.side_by_side import with_unit
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.lines import is_telling
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import group_of_sheet, groups_in
from solubility_stats.sheets.units import unit_in_heading
from solubility_stats.sheets.view import looks_like_number
from solubility_stats.sheets.water import ends_in_sum

_FEWEST = 2
_LONGEST, _LONGEST_CODE = 24, 3
# So many groups whose last figure is the sum of the others wrote the total there (judgement).
_FEWEST_SUMS = 3
_Row = dict[int, RawCell]
_Place = tuple[int, int]
_Counts = tuple[int, int | None]


@dataclass(frozen=True)
class _Band:
    """The row of names, the row of the water, and the places of each group from its first on.

    The labels stand in the first of ``leads``; cards side by side have them once more each.

    Rows with ``several`` readings of anything else, as two temperatures, are left open.
    """

    row: int
    water: int
    counter: int | None
    leads: tuple[int, ...]
    spans: tuple[range, ...]
    last: int
    total: int | None
    several: tuple[int, ...]


def with_pours_across(sheet: Sheet, know: Know, book: Book) -> Sheet:
    """Return a sheet with the fills of each group below one another; any other as it is.

    Parameters
    ----------
    sheet : Sheet
        Any sheet.
    know : callable
        Reads a stack of heading texts.
    book : Book
        The ledger of the sheet, in which the numbers of the fills are entered.
    """
    rows = sheet.by_row()
    bands = [band for i in rows if (band := _band(rows, i, know)) is not None]
    for band in reversed(bands):
        sheet = _folded(sheet, rows, band, book)
    return sheet


def _band(rows: Mapping[int, _Row], i: int, know: Know) -> _Band | None:
    """Return the band whose names stand in a row, ``None`` for any other row."""
    if not all(map(_may_be_name, rows[i].values())):
        return None
    body = _body(rows, i)
    lead = min((j for at in body for j in rows[at]), default=0)
    leads = _leads(rows, i, lead, body)
    spans = _spans(rows, i, leads, body, know)
    if not spans:
        return None
    found = _Found()
    for at in body:
        label = rows[at].get(lead)
        reading = know((label.text,)) if label is not None else Reading()
        beyond = [c for span in spans for j in span[1:] if (c := rows[at].get(j)) is not None]
        if not found.take(at, reading, beyond, _counter(rows[at], spans, know)):
            return None
    if found.water is None or not found.is_card():
        return None
    return _Band(
        i, found.water, found.counter, leads, spans, body[-1], found.total, tuple(found.several)
    )


def _body(rows: Mapping[int, _Row], i: int) -> range:
    """Return the rows below the names, to the next blank row or the next card."""
    top = next((at for at in (i + 1, i + 2) if at in rows), 0)
    last = top
    while last + 1 in rows and not _same_label(rows[i], rows[last + 1]):
        last += 1
    return range(top, last + 1) if top else range(0)


@dataclass
class _Found:
    """What the rows below the names are: the water, what counts it, one reading per group."""

    water: int | None = None
    counter: int | None = None
    total: int | None = None
    single: set[str] = field(default_factory=set)
    remarks: list[int] = field(default_factory=list)
    several: list[int] = field(default_factory=list)

    def take(
        self, at: int, reading: Reading, beyond: Sequence[RawCell], counts: _Counts | None
    ) -> bool:
        """Take a row with what stands beyond the first places; ``False`` if these are trials."""
        numbers = [looks_like_number(c) for c in beyond]
        if self.counter is None and counts is not None:
            self.counter, self.total = at, counts[1]
            return reading.column != "run"
        if not any(numbers):
            self.single |= set(reading.candidates)
            self.remarks += [c.col for c in beyond]
            return True
        if self.water is None and reading.column in ("water_volume_ml", fill_column(1)):
            self.water = at
            return all(numbers)
        self.several.append(at)
        weighed = any(c.endswith("_g") for c in reading.candidates)
        return not weighed and reading.column != "reported_solubility"  # trials have their own

    def is_card(self) -> bool:
        """Tell whether each group has readings of its own, and no words of a trial that failed."""
        numbers = {c for c in self.single if is_canonical(c) and quantity(c).kind == "number"}
        weighed = any(c.endswith("_g") for c in numbers)
        return len(set(self.remarks)) == len(self.remarks) and len(numbers) >= _FEWEST and weighed


def _may_be_name(cell: RawCell) -> bool:
    return len(cell.text) <= _LONGEST and _DECIMALS.search(cell.text) is None


_DECIMALS = re.compile(r"\d[.,](?!0\Z)\d")


def _same_label(names: _Row, other: _Row) -> bool:
    """Tell whether a row begins like the one with the names: the next card."""
    first = [row[min(row)].text.split() for row in (names, other)]
    return first[0] == first[1]


def _leads(rows: Mapping[int, _Row], i: int, lead: int, body: Sequence[int]) -> tuple[int, ...]:
    """Return the places of the labels: again over each card where cards stand side by side."""

    def repeats(j: int) -> bool:
        pairs = [(rows[at].get(lead), rows[at].get(j)) for at in (i, *body)]
        return all(own is not None and c is not None and own.text == c.text for own, c in pairs)

    return (lead, *(j for j in rows[i] if j > lead and repeats(j)))


def _spans(
    rows: Mapping[int, _Row], i: int, leads: Sequence[int], body: Sequence[int], know: Know
) -> tuple[range, ...]:
    """Return the places below each name of a group, none if the row holds no such names."""
    lead = leads[0]
    names = {j: " ".join(c.text.split()) for j, c in rows[i].items() if j > lead and j not in leads}
    starts = [j for j in names if names.get(j - 1) != names[j]]
    aside = next((j for j in starts if is_telling(names[j])), 0)  # "mean" behind the groups
    starts = [j for j in starts if not aside or j < aside]
    label = rows[i].get(lead)
    asked = label is not None and know((label.text,)).column == "group"
    texts = [names[j] for j in starts]
    if not texts or len(set(texts)) < len(texts) or (len(texts) < _FEWEST and not asked):
        return ()
    if not all(_names_group(text, asked=asked) for text in texts):
        return ()
    end = max((j for at in body for j in rows[at] if not aside or j < aside), default=0)
    spans = tuple(
        range(a, min([b, *(j for j in leads if j > a)]))
        for a, b in zip(starts, [*starts[1:], end + 1], strict=True)
    )
    return spans if max(map(len, spans)) >= _FEWEST else ()


def _names_group(text: str, *, asked: bool) -> bool:
    short = asked and len(text.removesuffix(".0")) <= _LONGEST_CODE
    return short or bool(group_of_sheet(text)) or len(groups_in(text)) == 1


def _counter(row: _Row, spans: Sequence[range], know: Know) -> _Counts | None:
    """Return how many fills a row counts and which of them is the total, ``None`` if none."""
    said = []
    for span in spans:
        texts = [row[j].text.strip() if j in row else "" for j in span]
        total = next((n for n, t in enumerate(texts) if TOTAL.fullmatch(t)), None)
        numbers = [_number(t, know) for n, t in enumerate(texts) if t and n != total]
        if numbers != list(range(1, len(numbers) + 1)) or not numbers or total == 0:
            return None
        said.append((len(numbers), total))
    alike = len({total for _, total in said}) == 1
    return max(said) if alike and max(said)[0] >= _FEWEST else None


def _number(text: str, know: Know) -> int:
    if run_named(text):
        return 0
    plain = plain_ordinals(counted(text).casefold().strip(" .:")).removesuffix(".0")
    if plain.isdigit():
        return int(plain)
    fill = know((text,)).column
    if fill is not None and fill_columns([fill]):
        return int(fill.split("_")[1])
    return number_of_run(text)


def _folded(sheet: Sheet, rows: Mapping[int, _Row], band: _Band, book: Book) -> Sheet:
    """Return a sheet with the lines below the one of the water moved down to make room."""
    columns = _columns(rows[band.water], band)
    room = len(columns) - 1
    cells: dict[_Place, RawCell] = {}
    for (i, j), cell in sheet.cells.items():
        if i != band.water:
            cells[i + room if i > band.water else i, j] = cell
    for at in band.several:
        for span in band.spans:
            place = (at + room if at > band.water else at, span.start)
            if place in cells and any(j in rows[at] for j in span[1:]):
                cells[place] = cells[place].saying("?")
    cells |= _water_lines(rows[band.water], band, columns)
    places = [(band.row, j) for span in band.spans for j in span[1:]]
    if band.counter is not None:
        moved = band.counter + room if band.counter > band.water else band.counter
        places += [(moved, j) for span in band.spans for j in span]
    for place in places:
        if (counts := cells.pop(place, None)) is not None:
            book.enter(counts, Entry("context", note="counts the fills, or names their group"))
    merged = [m for m in sheet.merged if m[2] < band.row or m[0] > band.last]
    merged = [(a + room, b, c + room, d) if a > band.last else (a, b, c, d)
              for a, b, c, d in merged]  # fmt: skip
    return replace(sheet, cells=dict(sorted(cells.items())), merged=tuple(merged))


def _water_lines(water: _Row, band: _Band, columns: Mapping[str, int]) -> dict[_Place, RawCell]:
    """Return a line for each fill and one for the total, each with its label and unit."""
    cells: dict[_Place, RawCell] = {}
    label, first = water[band.leads[0]], band.spans[0].start
    unit = unit_in_heading(label.text)[1] or ""
    for row, (name, asked) in enumerate(columns.items(), start=band.water):
        cells |= {(row, j): c for j, c in water.items() if band.leads[0] < j < first}
        cells |= {(row, j): water.get(j, label).saying(with_unit(name, unit)) for j in band.leads}
        for span in band.spans:
            if span.start + asked in span and (cell := water.get(span.start + asked)) is not None:
                unsure = band.total is None and name in _unsure(water, span, columns)
                cells[row, span.start] = cell.saying("?") if unsure else cell
    return cells


def _columns(water: _Row, band: _Band) -> dict[str, int]:
    """Return the labels of the fills and of their total, with the place of each within a group."""
    width = max((n + 1 for span in band.spans for n, j in enumerate(span) if j in water), default=1)
    total = band.total
    if total is None and band.counter is None:
        sums = [ends_in_sum(_filled(water, span)) for span in band.spans]
        total = width - 1 if all(sums) and len(sums) >= _FEWEST_SUMS else None
    fills = [n for n in range(width) if n != total]
    columns = {f"fill {number}": n for number, n in enumerate(fills, start=1)}
    return columns | ({"total water": total} if total is not None and total < width else {})


def _filled(water: _Row, span: range) -> list[str]:
    return [water[j].text for j in span if j in water]


def _unsure(water: _Row, span: range, columns: Mapping[str, int]) -> Sequence[str]:
    """Return the label of a last figure that may be a fill or the sum of those before it."""
    asked = "total water" not in columns and ends_in_sum(_filled(water, span))
    return list(columns)[-1:] if asked else ()
