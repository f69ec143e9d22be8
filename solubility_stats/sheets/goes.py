"""Which go of a group a line is: a column that asks for it, or the corner over groups side by side.

"Go" over "first go", "1st or 2nd go" over "2nd", and "Second go | Purple | Red" above labels that
stand below the same names for the first go.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.heading_text import ORDINALS, normal
from solubility_stats.sheets.layouts.group_row import number_of_run, run_named
from solubility_stats.sheets.places import RUN_WORDS

# "Go", "1st or 2nd go?", "which attempt", "Try no."
_ASKS = re.compile(
    rf"(?:(?:which|what|{'|'.join(ORDINALS)}|\d\w{{0,2}}|or|and|/)\s+|/)*(?:{RUN_WORDS})s?"
    r"\s*(?:no|nr|number|#)?\W*",
    re.IGNORECASE,
)
_NTH = re.compile(
    rf"(?P<said>{'|'.join(ORDINALS)})|(?P<nth>\d)\s?(?:st|nd|rd|th|\.)", re.IGNORECASE
)
# No group does it more often in a term (judgement).
_MOST = 9


def number_of_go(text: str) -> str:
    """Return the number of a go by its name ("second", "2nd", "2nd go"), empty for other texts."""
    text = " ".join(text.split())
    if found := _NTH.fullmatch(text):
        return found["nth"] or str(ORDINALS[found["said"].casefold()])
    return run_named(text)


def goes_asked(fields: list[Field], values: Values) -> list[Field]:
    """Take the one column that asks which go it was, and says so on every line, for the run."""
    if any(f.column == "run" for f in fields):
        return fields
    found = [f for f in fields if f.state == "unknown" and _tells_go(f, values)]
    if len(found) != 1:
        return fields
    new = replace(
        found[0], column="run", state="understood", how="values",
        note="the cells below say which go of a group it was",
    )  # fmt: skip
    return [new if f is found[0] else f for f in fields]


# Beside what was handed in: how far it got, and what it earned.
_OF_FORM = re.compile(
    r"\b(?:status|state|finished|submitted|score|grade|points|marks?)\b", re.IGNORECASE
)


def without_attempts(fields: list[Field]) -> list[Field]:
    """Leave "attempt" beside the time of submission out: it counts what was handed in."""
    if not any(f.column == "submitted" or _OF_FORM.search(f.source.heading) for f in fields):
        return fields
    note = "counts what was handed in, and no preparations"
    return [
        replace(f, column="", state="same", note=note)
        if f.column == "run" and normal(f.source.heading) in ("attempt", "attempts", "attempt no")
        else f
        for f in fields
    ]


def _tells_go(field: Field, values: Values) -> bool:
    texts = [c.text.strip() for c in values.get(field.place, ()) if c is not None]
    if not texts:
        return False
    if not _ASKS.fullmatch(field.source.heading.strip()):
        return False
    codes = [number_of_go(t) or str(number_of_run(t.removesuffix(".0"))) for t in texts]
    return all(0 < int(c) <= _MOST for c in codes)


def number_goes(drafts: Sequence[Draft]) -> None:
    """Put numbers for goes that are told in words ("1st", "second go") in all lines of a table."""
    told = [d for d in drafts if d.values.get("run")]
    codes = [number_of_go(str(d.values["run"])) for d in told]
    if all(codes):
        for draft, code in zip(told, codes, strict=True):
            draft.values["run"] = code


def say_which_go(drafts: Sequence[Draft], corner: str) -> None:
    """Give all runs of a table the go that is named in the corner over their groups."""
    if (go := number_of_go(corner)) and not any(d.values.get("run") for d in drafts):
        for draft in drafts:
            draft.values["run"] = go
