"""Where the tables of a sheet are: heading lines first, then what lies below them.

From its heading line a table reaches down to the next heading line over the same places. The same
search on the turned sheet finds tables whose groups stand side by side.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from solubility_stats.sheets.blocks import find_blocks
from solubility_stats.sheets.head import Head, Know, width
from solubility_stats.sheets.header import heads_of
from solubility_stats.sheets.header_lines import header_lines, heading_cells, is_unit_line
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.headings import routes_named
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.parts import end_of_part
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.places import group_of_sheet, is_word_for_group
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.table_extent import (
    caption_of,
    heads_remarks,
    holds_signs,
    is_ticked_off,
    labels_beside,
    section_apart,
    tells_in_sentences,
    units_beside,
    with_group_beyond_gap,
    with_nameless_lead,
)
from solubility_stats.sheets.view import View, looks_like_number


def find_tables(view: View, know: Know) -> list[Table]:
    """Return the tables of a sheet from top to bottom.

    Parameters
    ----------
    view : View
        The sheet, upright.
    know : callable
        Gives the :class:`Reading` of a stack of heading texts.
    """
    sheet = view.sheet
    upright = [t for t in _tables(view, know) if not _heads_groups(t)]
    best_upright = max((t.understood for t in upright), default=0)
    clear = best_upright >= _CLEARLY and 2 * sum(map(_size, upright)) > len(sheet.cells)
    if clear and not _names_stand_in_a_row(view, upright, know):
        return with_next_page(upright)
    turned = _tables(View(sheet, turned=True), know)
    best_turned = max((t.understood for t in turned), default=0)
    chosen, other = (turned, upright) if best_turned > best_upright else (upright, turned)
    claimed = set().union(*(_claims(t) for t in chosen)) if chosen else set()
    rest = [t for t in other if not claimed & _claims(t)]
    chosen = with_next_page(chosen)
    rest = [
        _with_own_title(t) if _is_one_answer_each(t) else t
        for t in rest
        if t.understood >= _FEWEST or _is_one_answer_each(t)
    ]
    return [*chosen, *rest]


_FEWEST = 3


def with_next_page(tables: list[Table]) -> list[Table]:
    """Put the lines under headings that repeat those of the table right above into that table."""
    done: list[Table] = []
    for table in tables:
        at = next(
            (
                k
                for k, t in enumerate(done)
                if (t.first, t.last) == (table.first, table.last)
                and t.lines
                and t.lines[-1] + 1 == table.header[0]
            ),
            None,
        )
        if at is None or table.caption or _headings(done[at]) != _headings(table):
            done.append(table)
        else:
            lines = (*done[at].lines, *table.header, *table.lines)
            done[at] = replace(done[at], lines=lines)
    return done


def _headings(table: Table) -> list[str]:
    return [c.heading for c in table.columns]


def _is_one_answer_each(table: Table) -> bool:
    """Tell whether a turned table holds one reading of each group: "Group | 1 | 2 | 3"."""
    read = [c.reading.column for c in table.columns]
    return table.view.turned and read[0] == "group" and all(read) and len(table.lines) >= _FEWEST


def _with_own_title(table: Table) -> Table:
    """Return a table of two rows with what stands right above it, not all that is on the left."""
    near = tuple(c for c in table.caption if table.first - 1 <= c.row <= table.last)
    return replace(table, caption=near)


def _names_stand_in_a_row(view: View, upright: list[Table], know: Know) -> bool:
    """Tell whether the names of groups stand side by side on a line that no table claims."""
    taken = {i for t in upright for i in (*t.header, *t.lines)}
    rows = [i for i in view.lines if i not in taken and len(view.along[i]) > _FEWEST]
    return any(know((view.cells[i, view.along[i][0]].text,)).column == "group" for i in rows)


# With so many headings in a row over most of the sheet, turning it cannot show more.
_CLEARLY = 4


def _heads_groups(table: Table) -> bool:
    """Tell whether headings are codes one after another: groups R, S, T, U and no symbols."""
    codes = "".join(dict.fromkeys(t for c in table.columns if len(t := c.heading.strip()[:2]) == 1))
    return len(codes) >= _FEWEST_CODES and codes.upper() in _ALPHABET


_ALPHABET = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


_FEWEST_CODES = 3


def _size(table: Table) -> int:
    return len(table.columns) * (len(table.lines) + 1)


def _claims(table: Table) -> set[tuple[int, int]]:
    found = set()
    for line in (*table.header, *table.lines):
        for place in table.view.within(line, table.first, table.last):
            cell = table.view.cells[line, place]
            found.add((cell.row, cell.col))
    return found


def _tables(view: View, know: Know) -> list[Table]:
    heads: list[Head] = []
    used: set[tuple[int, int]] = set()
    for line in view.lines:
        for head in heads_of(view, line, know):
            seen = any((line, p) in used for p in head.places)
            if not (seen or _among_runs(view, head, heads) or _is_title(view, head, know)):
                heads.append(head)
                for below in header_lines(view, head, know):
                    used.update((below, p) for p in view.within(below, *width(head)))
    blocks = [(h, header_lines(view, h, know)) for h in heads]
    tables = []
    for head, header in blocks:
        first, last = width(head)
        floor = min(
            (
                min(lines)
                for h, lines in blocks
                if min(lines) > header[-1] and width(h)[0] <= last and width(h)[1] >= first
            ),
            default=view.lines[-1] + 1,
        )
        floor = _without_caption_below(view, header[-1], floor, first, last)
        floor = end_of_part(view, header, floor, (first, last))
        ceiling = max(
            (
                max(lines)
                for h, lines in blocks
                if max(lines) < header[0] and width(h)[0] <= last and width(h)[1] >= first
            ),
            default=0,
        )
        left = max((width(h)[1] for h in heads if width(h)[1] < first), default=0)
        tables.append(_table(view, head, header, (ceiling, floor, left), know))
    return _each_once([t for t in tables if t.lines])


def _each_once(tables: list[Table]) -> list[Table]:
    """Return the tables without those whose headings another one takes for parents of its own.

    Else the lowest line of three would be a run of the upper two.
    """

    def says_more(one: Table, other: Table) -> bool:
        shared = set(one.header) & set(other.header)
        beside = one.first > other.last or one.last < other.first
        if one is other or not shared or beside:
            return False
        return (one.understood, one.header[-1]) > (other.understood, other.header[-1])

    return [t for t in tables if not any(says_more(other, t) for other in tables)]


def _without_caption_below(view: View, top: int, floor: int, first: int, last: int) -> int:
    """Return where a table ends if the lines right above the next headings are their caption.

    They are if a blank line parts them from the runs above, and hold no readings to speak of. A
    blank line may part them from the headings if they name a section.
    """
    line = floor
    before = max((i for i in view.lines if i < floor), default=0)
    if before > top and 1 < floor - before <= 2 and (start := section_apart(view, before, top)):
        return start
    while line - 1 > top and (places := view.within(line - 1, first, last)):
        if sum(looks_like_number(view.cells[line - 1, p]) for p in places) > 2:
            return floor
        line -= 1
    return line if line - 1 > top and floor <= view.lines[-1] else floor


def _among_runs(view: View, head: Head, heads: list[Head]) -> bool:
    """Tell whether a line directly below runs of a table is one of them, for all its words."""
    above = [h for h in heads if set(h.places) & set(head.places)]
    lead = view.cells.get((head.line, above[-1].places[0])) if above else None
    if lead is not None and looks_like_number(lead):
        return True  # "1 | gravity | beam seen" below "table | filtered by | laser"
    if not above or 2 * len(view.within(head.line - 1, *width(above[-1]))) < len(above[-1].places):
        return False
    return 2 * len(head.certain) < len(above[-1].certain)


def _is_title(view: View, head: Head, know: Know) -> bool:
    """Tell whether a line stands over the headings of its table: more of them are right below."""
    if head.line + 1 not in view.along:
        return False
    below = [h for h in heads_of(view, head.line + 1, know) if set(_span(h)) & set(_span(head))]
    return len(set().union(*(h.certain for h in below), set())) > len(head.certain)


def _span(head: Head) -> range:
    first, last = width(head)
    return range(first, last + 1)


# What says itself what it is, whatever stands above its neighbours.
_DISH = frozenset({"dish_mass_g", "dish_residue_mass_g", "evaporation_aliquot_ml"})
_BY_ITSELF = frozenset(
    {"comment", "scatter", "filtration", "stir_min", "settle_min", "dry_min", "temperature_c",
     "paper_mass_g", "recovered_with_paper_mass_g", "submitted", "reported_solubility"}
)  # fmt: skip


def _lettered(heads: Sequence[tuple[int, tuple[RawCell, ...]]]) -> dict[int, str]:
    """Return the numbers of places that letters count below one heading: "Water" over "a | b | c".

    Below several headings letters may be trials.
    """
    below: dict[tuple[str, ...], list[tuple[int, str]]] = {}
    for place, own in heads:
        if len(own) > 1 and len(letter := own[-1].text.strip(" .)")) == 1:
            below.setdefault(tuple(c.text for c in own[:-1]), []).append((place, letter))
    rows = [r for r in below.values() if "".join(t for _, t in r).casefold() in _LETTERS]
    if len(rows) != 1 or len(rows[0]) < 2:
        return {}
    return {place: str(number) for number, (place, _) in enumerate(rows[0], start=1)}


_LETTERS = frozenset({"ab", "abc", "abcd", "abcde", "abcdef"})


def _paper_below(column: Column, columns: Sequence[Column], know: Know) -> Column:
    """Read "paper, g" below "Residue on paper" by itself, like "paper + dry solid" beside it."""
    if column.reading.column or len(column.cells) < 2:
        return column
    pair = {"paper_mass_g", "recovered_with_paper_mass_g"}
    over = column.cells[0].text  # over the first of several columns, or over all of them
    beside = [c for c in columns if c.cells and (len(c.cells) == 1 or c.cells[0].text == over)]
    alone = {c.place: know((c.cells[-1].text,)) for c in beside}
    own = alone[column.place]
    if own.column not in pair or not pair <= {r.column for r in alone.values()}:
        return column
    return Column(column.place, column.cells[-1:], own)


def _parents_beside(view: View, header: tuple[int, ...], head: Head, place: int) -> list[RawCell]:
    """Return the parents that stand over the neighbours of a place only.

    "grams" over "paper" and "solid dry" seems to reach over "laser" and "notes" as well.
    """
    standing = [view.get(line, place) for line in header]
    return [c for c in heading_cells(view, header, head, place) if c not in standing]


def _own_meaning(reading: Reading, own: Sequence[RawCell], know: Know) -> Reading:
    """Return what a heading means by itself where the word over it only misleads."""
    if len(own) < _WITH_PARENT:
        return reading
    if reading.column == "recovered_with_paper_mass_g":
        alone = know((own[-1].text, "g"))  # "Solid (g)" over "filter paper"
        if alone.column == "paper_mass_g":
            return replace(alone, unit=alone.unit or reading.unit)
        below, over = (concepts_in(cell.text) for cell in (own[-1], own[0]))
        alone_too = _SOLID & below and not ("paper" in below or _JOINED.search(own[-1].text))
        if alone_too and _SOLID & over:  # "Filter + residue (g)" over "solid"
            return replace(know(("dry solid", "g")), unit=reading.unit)
    if not reading.column and len(reading.candidates) > 1:
        alone = know((own[-1].text,))  # "Evaporation of the filtrate" over "empty dish (g)"
        told = alone.column in _DISH or _ROUTE.match(own[0].text)
        if told and alone.column in reading.candidates:
            return alone
    return reading


_WITH_PARENT = 2
_SOLID = frozenset({"solid", "residue"})
_JOINED = re.compile(
    r"[+&]|\b(?:with|and|plus|mit|und|avec|et|con|com|met|en|med|och|og|z)\b", re.I
)
# "Way 1: what did not dissolve" says by which route, and nothing of one column.
_ROUTE = re.compile(
    r"\s*(?:way|method|part|route|step|teil|weg|methode|méthode|método|metodo|parte|partie|del)\s*"
    r"(?:no\.?\s*)?\w{1,2}\s*[:.)–-]",
    re.IGNORECASE,
)


def _table(
    view: View, head: Head, header: tuple[int, ...], between: tuple[int, int, int], know: Know
) -> Table:
    first, last = width(head)
    ceiling, floor, left = between
    lines = tuple(i for i in view.lines if header[-1] < i < floor and view.within(i, first, last))
    named = view.get(header[-1], first)
    bare = not lines or view.get(lines[0], first) is None
    whose = named is not None and (group_of_sheet(named.text) or is_word_for_group(named.text))
    if view.turned and bare and first < last and whose:
        first += 1  # "Group 3" over its card is the caption of the labels below it
    units, lines = units_beside(view, lines, first, last)
    lead = with_nameless_lead(view, header, lines, first)
    lead = with_group_beyond_gap(view, header, lines, lead, know)
    if lead < first:  # titles above the lines of one group stand in the lead
        between_lines = (i for i in view.lines if header[-1] < i < lines[-1])
        lines = tuple(sorted({*lines, *(i for i in between_lines if view.within(i, lead, last))}))
        first = lead
    heads = []
    for place in range(first, last + 1):
        cells = heading_cells(view, header, head, place)
        if place < head.places[0]:
            cells = ()  # "Unit" over the units of a turned table heads no groups
        beside = [c for i in units if cells and (c := view.get(i, place)) is not None]
        own = (*cells, *(c for c in beside if is_unit_line([c])))
        heads.append((place, own))
    blocks = find_blocks(heads, know)
    counts = {} if blocks else _lettered(heads)
    routes = routes_named([own[0].text for _, own in heads if len(own) > 1])
    columns = []
    for place, own in heads:
        reading = blocks.readings.get(place) if blocks else None
        said = own[1:] if len(own) > 1 and own[0].text in routes else own
        texts = (*(c.text for c in said[:-1]), counts.get(place, said[-1].text)) if said else ()
        reading = reading or _own_meaning(know(texts) if texts else Reading(), own, know)
        if not reading.column and not blocks:
            beside = _parents_beside(view, header, head, place)
            under = tuple(c for c in own if c not in beside)
            alone = know(tuple(c.text for c in under)) if beside and under else Reading()
            if alone.column in _BY_ITSELF:
                own, reading = under, alone
        columns.append(Column(place, own, reading))
    columns = [_paper_below(c, columns, know) for c in columns]
    labels: tuple[int, ...] = ()
    if view.turned:  # remarks beside the values are nobody's run, nor are a few more labels
        lines = tuple(
            i
            for i in lines
            if not heads_remarks(view, i, columns[0])
            and not (
                lines[0] < i == lines[-1]
                and tells_in_sentences(view, i, view.within(i, first, last))
            )
            and not is_ticked_off(view, i, first, last)
            and not holds_signs(view, i, first, last)
        )
        labels = labels_beside(view, lines, (first, last), know)
        lines = tuple(i for i in lines if i not in labels)
    caption = caption_of(view, header[0], ceiling, first, last)
    if view.turned:
        above = [c for (_, p), c in view.cells.items() if left < p < first]
        above += [view.cells[i, p] for i in labels for p in view.within(i, first, last)]
        caption = (*sorted(above, key=lambda c: (c.row, c.col)), *caption)
    parts = blocks.column if blocks else "run"
    return Table(view, header, lines, tuple(columns), caption, parts)
