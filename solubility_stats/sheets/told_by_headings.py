"""What the headings of a table tell of its runs: whose card, unit of the result, all trials."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.field import Field
from solubility_stats.sheets.head import ONCE_PER_TABLE
from solubility_stats.sheets.heading_text import with_ratio_joined
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import RUN_NAMED, group_of_sheet
from solubility_stats.sheets.units import known_unit
from solubility_stats.sheets.water import pour_as_headed


def whose_card(
    drafts: Sequence[Draft],
    fields: Sequence[Field],
    values: Mapping[int, Sequence[RawCell | None]],
) -> None:
    """Give a card the group that stands beside its title: "CARD | Bench 1"."""
    if len(drafts) != 1 or any(f.column == "group" for f in fields):
        return
    texts = [
        c.text for f in fields if not f.column for c in values.get(f.place, ()) if c is not None
    ]
    named = [code for text in texts[:2] if (code := group_of_sheet(text))]
    if len(named) == 1:
        drafts[0].values.setdefault("group", named[0])


def as_headed(drafts: Sequence[Draft], fields: Sequence[Field], around: Sequence[str]) -> None:
    """Give the runs what headings say of all: the unit of a result, how the water was poured.

    How it was poured may stand above the table as well.
    """
    unit = reported_unit(fields)
    for draft in drafts:
        if unit and "reported_solubility" in draft.values:
            draft.values.setdefault("reported_unit", unit)
    for f in fields:
        if f.column == "water_volume_ml":
            for text in (f.source.heading, *around):
                pour_as_headed(drafts, text)


_MADE_FROM = re.compile(r"\s+(?:from|by|via|using)\b.*", re.IGNORECASE | re.DOTALL)


def reported_unit(fields: Sequence[Field]) -> str:
    """Return the unit written in the heading of the reported solubility."""
    if any(f.column == "reported_unit" for f in fields):
        return ""
    for f in fields:
        if f.column == "reported_solubility":
            text = with_ratio_joined(f.source.heading)
            found = re.search(r"[(\[]\s*([^()\[\]]*(?:/|per|mol|M|%)[^()\[\]]*)[)\]]", text)
            found = found or re.search(r"\b(m?g\s*(?:/|per)\s*.+|mol\s*/\s*\w+)\Z", text)
            if found:
                return " ".join(_MADE_FROM.sub("", found[1]).split())
    return ""


_ALL_TRIALS = re.compile(
    r"\b(?:(?:for |in )?(?:all|both|each|every)(?: (?:\d|two|three|four))? (?:trials?|runs?|"
    r"times?|goes|"
    r"tries)|every time|each time|always|throughout)\b",
    re.IGNORECASE,
)


def for_all_trials(
    drafts: Sequence[Draft],
    fields: Sequence[Field],
    values: Mapping[int, Sequence[RawCell | None]],
) -> None:
    """Give all trials side by side what the first of them says of all: "vacuum, all 3 trials".

    So does what stands above the line that names the trials.
    """
    trials: list[int] = []
    several: list[int] = []
    for f in fields:
        cells = [c for c in values.get(f.place, ()) if c is not None]
        if len(cells) > 1:
            named = all(RUN_NAMED.match(c.text.strip()) for c in cells)
            (trials if named else several).append(cells[0].row)
    for f in fields:
        cells = [c for c in values.get(f.place, ()) if c and not known_unit(c.text.strip())]
        if not f.column or len(cells) != 1:
            continue
        row = cells[0].row
        names = min((t for t in trials if t > row), default=0)
        above = f.column in ONCE_PER_TABLE and names and not any(row < r < names for r in several)
        of_all = isinstance(cells[0].value, str) and _ALL_TRIALS.search(cells[0].text)
        if not above and not of_all:
            continue
        told = [d.values[f.column] for d in drafts if f.column in d.values]
        for draft in drafts if len(told) == 1 else ():
            draft.values.setdefault(f.column, told[0])
