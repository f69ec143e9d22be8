"""A guard: a volume that stands in a table of its own is no run, and may be one of several.

Water kept apart from the weighings is joined with them (:mod:`join`) or folded (:mod:`pours`).
Where neither could be done nobody knows whether a line holds all the water of its run, so that no
line passes as a run with that volume as its water.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from solubility_stats.quantities import fill_columns
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.places import section_in

# So many groups of one table in another are the same groups (judgement; see join).
_SHARED = 0.6
_FEWEST = 3
# What a register of the water may hold besides, or a sheet says of all its runs.
_BESIDE = frozenset({"temperature_c", "filtration", "stir_min", "settle_min"})

_SEVERAL = "several lines of its group hold nothing but a volume: one fill of several, or a run?"
_APART = "its water stands in a table that could not be joined with the weighings of its group"
_MORE = "another table holds more water of its group, and could not be joined"


def doubt_lone_water(tables: Sequence[list[Draft]], books: Iterable[Book]) -> None:
    """Leave out the water of tables that hold nothing else and could not be joined.

    Parameters
    ----------
    tables : sequence of list of Draft
        The runs of a file's tables after all that belong together were joined; changed in place.
    books : iterable of Book
        The ledgers of the sheets of the file, in which the volumes become questions.
    """
    by_sheet = {book.sheet.name: book for book in books}
    for drafts in tables:
        live = [d for d in drafts if not d.set_aside and d.key[2]]
        if len(live) < _FEWEST or not _is_water_alone(live):
            continue
        lines = Counter(d.key for d in live)
        several = 2 * sum(n > 1 for n in lines.values()) > len(lines)
        partners = [t for t in tables if t is not drafts and _same_groups(live, t)]
        if not several and not partners:
            continue
        for draft in live:
            _leave_out(draft, _SEVERAL if several else _APART, by_sheet)
            draft.set_aside = _SEVERAL if several else _APART
        groups = {d.key[2] for d in live}
        for draft in (d for t in partners for d in t if d.key[2] in groups):
            if "water_volume_ml" in draft.values or fill_columns(draft.values):
                _leave_out(draft, _MORE, by_sheet)


def _is_water_alone(drafts: Sequence[Draft]) -> bool:
    """Tell whether runs hold a volume and nothing that was weighed, titrated or worked out."""
    found = {c for d in drafts for c in (*d.values, *d.unread) if is_reading(c)}
    water = {"water_volume_ml", *fill_columns(found)}
    return bool(found & water) and found <= water | _BESIDE


def _same_groups(drafts: Sequence[Draft], other: Sequence[Draft]) -> bool:
    """Tell whether another table names most of these groups and may be of the same section."""
    said = all(d.section_said or section_in(d.sheet) for d in (*drafts, *other))
    mine, theirs = ({d.key[1:3] if said else d.key[2] for d in t} for t in (drafts, other))
    shared = len(mine & theirs)
    return shared >= _FEWEST and shared >= _SHARED * min(len(mine), len(theirs))


def _leave_out(draft: Draft, why: str, books: Mapping[str, Book]) -> None:
    water = ("water_volume_ml", *fill_columns(draft.values))
    for column in water:
        if draft.values.pop(column, None) is not None:
            draft.unread.add(column)
        draft.decimals.pop(column, None)
    draft.flag("water_volume_ml", "unclear", why)
    if (book := books.get(draft.sheet)) is None:
        return
    for place in draft.cells:
        entry = book.entries.get(place)
        if entry is not None and entry.column in water and entry.outcome == "used":
            book.entries[place] = replace(entry, outcome="unclear", value=None, note=why)
