"""Which section stands above a table: "Section B", "Batch B1 (Mon.)", "24S03", "Tuesday pm"."""

from __future__ import annotations

import re
from collections.abc import Sequence

from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import section_in, section_named, semester_in
from solubility_stats.sheets.stated import Preamble
from solubility_stats.sheets.view import looks_like_number

_WIDE = re.compile(r"\s{2,}|\s*[|;·]\s*|\.\s+")
# "Groupe A – filtration sous vide" over a table with a column of pairs.
_WIDER_GROUP = re.compile(
    r"\W*(?:(?:lab(?:oratory)?\s+)?group|groupe|grupo|gruppo|gruppe|grupp|groep|skupina|grupa)"
    r"(?:\s+(?:de\s+|di\s+)?labo?\w*)?\s*[:.]?\s*"
    r"(?<![^\W_])([A-Z]|\d{1,2}\s?[°ºª]?\s?[A-Z]?)\s*(?:[–:,(-].*)?\Z",
    re.IGNORECASE | re.DOTALL,
)


# "Batch B1 (Mon.)" over a table of groups
_BATCH_TITLE = re.compile(
    r"\W*batch\s*[:.-]?\s*([A-Z]-?\d{0,2}|[IVX]{1,4})\s*(?:\(.*)?", re.IGNORECASE
)
# "24S03", "10B" and nothing else
_CLASS_ALONE = re.compile(r"\s*(\d{1,2}[A-Z]{1,2}\d{0,2})\s*")


def _batch_named(text: str) -> str:
    found = _BATCH_TITLE.fullmatch(text)
    return found[1] if found else ""


def _bare_class(text: str) -> str:
    found = _CLASS_ALONE.fullmatch(text)
    return found[1] if found else ""


def name_section(found: Preamble, cells: Sequence[RawCell], taken: set[str]) -> None:
    """Name the section, the title and the semester of a table by what stands above it.

    Parameters
    ----------
    found : Preamble
        What is known so far; changed in place.
    cells : sequence of RawCell
        The cells above the table that are no labels with a value, from top to bottom.
    taken : set of str
        Columns of the table itself.
    """
    left = [
        c
        for c in cells
        if isinstance(c.value, str) and (not looks_like_number(c) or _bare_class(c.text))
    ]
    told: dict[int, set[str]] = {}
    for c in left:
        if code := section_named(c.text):
            told.setdefault(c.row, set()).add(code)
    # "Section A" and "Section B" on one line stand over parts of the table, not over all of it.
    texts = [str(c.value) for c in left if len(told.get(c.row, ())) < 2]
    for text in reversed(texts):
        found.title = found.title or " ".join(text.split())[:60]
    short = [t for t in reversed(texts) if len(t) <= 80]  # the line nearest to the table first
    short += [t for text in texts if len(text) > 80 for t in _WIDE.split(text) if len(t) <= 80]
    # What calls itself a section, or a batch of students, goes before a day of the week.
    looks = (
        (section_named, _batch_named, section_in, _bare_class)
        if "group" in taken
        else (section_named, section_in)
    )
    named = [code for look in looks for t in short if (code := look(t))]
    if not named and "group" in taken:
        named = [m[1] for t in short if (m := _WIDER_GROUP.match(t)) and m[1]]
    found.section = found.section or next(iter(named), "")
    if "semester" not in found.values and (semester := semester_in(texts)):
        found.values["semester"] = semester
