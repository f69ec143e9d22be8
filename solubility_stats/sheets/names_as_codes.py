"""Names of people in a table: noted as personal, and codes in their place where they tell apart."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from solubility_stats.sheets import privacy
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.field import Field
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.mapping import canonical_unit
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import GROUP_WORDS
from solubility_stats.sheets.state import State
from solubility_stats.sheets.table import Table

# Enough cells to see whether most of a column are names or numbers of students.
_SAMPLE = 200


_WHO = re.compile(r"\W*who\W*", re.IGNORECASE)


def personal_places(
    table: Table, values: dict[int, list[RawCell | None]], state: State
) -> dict[int, str]:
    """Return the places that hold personal data, with its kind; remember the names."""
    found: dict[int, str] = {}
    listed = any(column.reading.column == "group" for column in table.columns)
    for column in table.columns:
        kind_of_column = column.reading.column
        numeric = kind_of_column is not None and canonical_unit(kind_of_column) != ""
        if numeric or kind_of_column in ("comment", "submitted", "filtration", "scatter", "solute"):
            continue
        cells = [c for c in values[column.place] if c is not None]
        sample = cells[:: max(1, len(cells) // _SAMPLE)]
        # "Who" beside the number of a bench; alone it may head the codes of the groups.
        heading = "names" if listed and _WHO.fullmatch(column.heading) else column.heading
        kind = privacy.personal_kind(heading, [c.value for c in sample])
        if kind:
            found[column.place] = kind
            if kind == "name":
                state.names |= privacy.names_in(c.value for c in cells)
    return found


def with_coded_group(
    fields: list[Field],
    values: dict[int, list[RawCell | None]],
    personal: dict[int, str],
    book: Book,
    state: State,
    named: bool = False,
) -> tuple[list[Field], bool]:
    """Note the personal cells; let names that alone tell groups apart stand as codes.

    A card with its group ``named`` above it needs none.

    Returns
    -------
    fields : list of Field
    coded : bool
        Whether the group column holds names, to be replaced by codes.
    """
    for f in fields:
        if f.place in personal:
            for cell in values[f.place]:
                if cell is not None:
                    where = cell.merged_from or (cell.row, cell.col)
                    state.personal.setdefault((id(book), where), personal[f.place])
    names = [
        f for f in fields
        if f.state == "personal" and personal[f.place] == "name"
        and f.source.reading.column != "instructor"
    ]  # fmt: skip
    if named or any(f.column == "group" for f in fields) or len(names) != 1:
        return fields, False
    note = "names tell the groups apart; replaced by codes"
    group = replace(names[0], column="group", state="understood", how="position", note=note)
    return [group if f is names[0] else f for f in fields], True


def replace_names(drafts: Sequence[Draft], book: Book, state: State) -> None:
    """Put a code in the place of each name in the group column, the same for the same name."""
    for draft in drafts:
        name = " ".join(str(draft.values.get("group") or "").casefold().split())
        if name:
            code = state.codes.setdefault(name, f"P{len(state.codes) + 1}")
            draft.values["group"] = code
    for place, entry in book.entries.items():
        if entry.column == "group" and (id(book), place) in state.personal and entry.value:
            name = " ".join(str(entry.value).casefold().split())
            book.entries[place] = replace(entry, value=state.codes.get(name, ""))


# "group 1: two first names", "Team B (three of them)": the code, and who they are.
_CODE_AND_NAMES = re.compile(
    rf"\s*(?:(?:{GROUP_WORDS})s?\b\s*(?:n[or°º]?\b\.?\s*|#\s*)?(?P<said>\w{{1,4}})|(?P<bare>\d{{1,3}}|[A-Z]\d?))"
    r"\s*(?:[:–—(]|\s-\s)\s*(?P<names>[^\d:]+?)\s*\)?\s*",
    re.IGNORECASE,
)
_BETWEEN_NAMES = re.compile(r"\s*(?:[&/;+,]|\band\b|\bund\b|\bet\b|\by\b|\balone\b|\(|\))\s*")


def without_names_behind(drafts: Sequence[Draft], book: Book, state: State) -> None:
    """Leave the names out that stand behind the code of a group; two of them, or one and others."""
    codes: dict[str, str] = {}
    several = 0
    for text in {str(d.values["group"]) for d in drafts if d.values.get("group")}:
        told = _CODE_AND_NAMES.fullmatch(text)
        names = [n for n in _BETWEEN_NAMES.split(told["names"]) if n] if told else []
        if told and names and all(map(privacy.may_be_name, names)):
            codes[text] = told["said"] or told["bare"]
            several += len(names) > 1
    if 2 * several < len(codes) or not codes:
        return  # "Group 1: Alpha", "Group 2: Beta"
    state.names |= privacy.names_in(text.partition(code)[2] for text, code in codes.items())
    for draft in drafts:
        if (group := str(draft.values.get("group") or "")) in codes:
            draft.values["group"] = codes[group]
    for place, entry in book.entries.items():
        if entry.column == "group" and str(entry.value) in codes:
            state.personal.setdefault((id(book), place), "name")
            book.entries[place] = replace(entry, value=codes[str(entry.value)])


_CODE = re.compile(r"[^\W_]{1,3}|[A-Z]{2,5}|\w*\d\w*|(?:[A-Z]\.?\s?){1,3}")


def code_instructors(drafts: Sequence[Draft], book: Book, state: State) -> None:
    """Put a code in the place of an instructor's name, the same for the same name."""
    said = {str(d.values["instructor"]) for d in drafts if d.values.get("instructor")}
    names = {name for name in said if not _CODE.fullmatch(name.strip())}
    if not names:
        return
    state.names |= privacy.names_in(names)
    for name in sorted(names):
        known = [c for c in state.codes.values() if c.startswith("T")]
        state.codes.setdefault(f"instructor {name.casefold()}", f"T{len(known) + 1}")
    for draft in drafts:
        name = str(draft.values.get("instructor") or "")
        if name in names:
            draft.values["instructor"] = state.codes[f"instructor {name.casefold()}"]
    for place, entry in book.entries.items():
        if entry.column == "instructor" and str(entry.value) in names:
            state.personal.setdefault((id(book), place), "name")
            code = state.codes[f"instructor {str(entry.value).casefold()}"]
            book.entries[place] = replace(entry, value=code)
