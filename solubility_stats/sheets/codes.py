"""Columns of codes: which of several headings names the groups, and what does if none does."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from solubility_stats.quantities import quantity
from solubility_stats.sheets import concepts
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.keywords import UNSURE
from solubility_stats.sheets.lines import is_telling
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import (
    GROUP_WORDS,
    READING_WORDS,
    RUN_NAMED,
    RUN_WORDS,
    groups_in,
    is_weekday,
    speaks_of_few,
    without_common_prefix,
)
from solubility_stats.sheets.words import flag

_CODE_WORD = re.compile(r"\b(?:no|nr|number|letter|code|id|name|n[uú]m[eé]ro|nummer|numer|číslo)\b")
_COUNTER = re.compile(r"(?:s|sl|sr|serial|lfd)? ?(?:no|nr|number)|line|row")
_MONTH = (
    "jan|feb|mar|apr|mai|may|jun|jul|aug|sep|okt|oct|nov|dez|dec|déc|ene|abr|ago|gen|mag|giu|lug|"
    "set|ott|dic"
)
_MOMENT = re.compile(
    r"\d{1,2}[:h]\d\d|\d{4}-\d\d-\d\d|\d{1,2}[./]\d{1,2}[./]\d{2,4}"
    rf"|\d{{1,2}}\.?[\s-](?:{_MONTH})\w*\.?(?:[\s-]\d{{2,4}})?|(?:{_MONTH})\w*\.?\s\d{{1,2}}(?:,?\s\d{{4}})?",
    re.IGNORECASE,
)
_LONGEST = 24
_CODES = ("semester", "section", "run", "submitted", "instructor")


# "2.14" is a reading, "Room 2.14" a code.
_DECIMAL = re.compile(r"[^\s]*\.[^\W_]")


def are_codes(codes: Sequence[str]) -> bool:
    """Tell whether texts may be codes: short, no decimals, and no answers to a question."""
    if _answers(codes):
        return False
    return len(codes) >= 2 and all(len(c) <= _LONGEST and not _DECIMAL.match(c) for c in codes)


def _answers(codes: Sequence[str]) -> bool:
    """Tell whether texts are yes and no ("Did your group clean up?")."""
    return bool(codes) and all(flag(c) is not None and not c.strip().isdigit() for c in codes)


def winner(rivals: Sequence[Field], values: Values) -> Field | None:
    """Return which of several headings names the groups, sections or the like.

    Answers to a question are no codes; "group number" goes before "group"; and the vocabulary
    lists the plainest word first, so that "group" goes before "bench".
    """
    left = [f for f in rivals if not _answers(_texts(f, values))] or list(rivals)
    left = [f for f in left if _CODE_WORD.search(normal(f.source.heading))] or left
    if len(left) == 1:
        return left[0]
    order = list(quantity(left[0].column).headings)
    ranked = sorted(left, key=lambda f: _rank(f, order))
    return ranked[0] if _rank(ranked[0], order) < _rank(ranked[1], order) else None


def _texts(field: Field, values: Values) -> list[str]:
    return [c.text for c in values.get(field.place, ()) if c is not None]


def _rank(field: Field, order: list[str]) -> int:
    heading = normal(field.source.heading)
    return order.index(heading) if heading in order else len(order)


_VALUE = concepts.listed("values")
_HEADS_VALUES = frozenset(
    (*_VALUE, *(f"{whose} {v}" for whose in ("our", "my", "your") for v in _VALUE))
)


# So many pairs or teams in each group make the group a class of several (judgement).
_CLASS_OF = 3


def wider_is_section(fields: list[Field], values: Values) -> list[Field]:
    """Take "Grupo" beside "Equipo" for the class of the teams where each holds several of them."""
    groups = [f for f in fields if f.column == "group"]
    few = [f for f in groups if speaks_of_few(f.source.heading)]
    if len(groups) != 2 or len(few) != 1 or any(f.column == "section" for f in fields):
        return fields
    wide = next(f for f in groups if f is not few[0])
    teams = _beside(wide, few[0], values)
    if not teams or min(map(len, teams.values())) < _CLASS_OF:
        return fields
    note = f"each holds several of '{few[0].source.heading}': read as section"
    return _as_section(wide, fields, note)


def _beside(one: Field, other: Field, values: Values) -> dict[str, set[str]]:
    """Return by each code of a column the codes that stand beside it in another."""
    found: dict[str, set[str]] = {}
    for a, b in zip(values.get(one.place, ()), values.get(other.place, ()), strict=False):
        if a is not None and b is not None:
            found.setdefault(a.text.strip(), set()).add(b.text.strip())
    return found


def _as_section(field: Field, fields: list[Field], note: str) -> list[Field]:
    taken = replace(field, column="section", state="understood", how="values", note=note)
    return [taken if f is field else f for f in fields]


def batch_is_section(fields: list[Field], values: Values) -> list[Field]:
    """Take "Batch" for the section of the groups where their codes begin anew in each batch."""
    batches = [
        f
        for f in fields
        if f.column == "bottle" and normal(f.source.heading).split()[:1] == ["batch"]
    ]
    group = next((f for f in fields if f.column == "group"), None)
    if len(batches) != 1 or group is None or any(f.column == "section" for f in fields):
        return fields
    where = _beside(group, batches[0], values)
    anew = [code for code, several in where.items() if len(several) > 1]
    if len(anew) < 2 or 2 * len(anew) <= len(where):
        return fields
    note = "the codes of the groups begin anew in each: read as section"
    return _as_section(batches[0], fields, note)


def days_are_section(fields: list[Field], values: Values) -> list[Field]:
    """Take a column of nothing but days of the week, each on several lines, for the section."""
    if any(f.column == "section" for f in fields):
        return fields
    found = []
    for f in fields:
        days = _texts(f, values) if f.state in ("unknown", "open") else []
        if days and all(map(is_weekday, days)) and 2 * len(set(days)) <= len(days):
            found.append(f)
    return _as_section(found[0], fields, "days of the week") if len(found) == 1 else fields


def counts_groups(heading: str) -> bool:
    """Tell whether a heading asks for a number of groups: "n groups" of a table of means."""
    return _COUNT_OF.search(normal(heading)) is not None


def nameless_group(fields: list[Field], values: Values) -> list[Field]:
    """Take the leftmost column as the group where no heading names one and its values are codes."""
    if any(f.column == "group" for f in fields) or not fields:
        return fields
    titles = {f.place for f in fields if not any(c is not None for c in values.get(f.place, ()))}
    left = [
        f for f in fields
        if f.column not in _CODES and f.state != "personal" and f.place not in titles
    ] or fields  # fmt: skip
    left = [f for f in left if not _repeats_group_word(_texts(f, values))] or left
    lead = left[0]
    if counts_groups(lead.source.heading):
        return fields
    batch = len(left) > 1 and normal(left[1].source.heading).startswith("batch")
    coded = len(left) > 1 and left[1].state in ("unknown", "open")
    coded = coded and _are_coded(values.get(left[1].place, ()))
    if (batch or coded) and _COUNTER.fullmatch(normal(lead.source.heading)):
        lead = left[1]  # "Sl. No." only counts the lines
    if lead.column == "bottle" and normal(lead.source.heading).startswith("batch"):
        # Where nothing else names the groups, a batch is one of students.
        lead = replace(lead, column="", state="unknown")
    if lead.column == "comment" and _are_numbered(values.get(lead.place, ())):
        lead = replace(lead, column="", state="unknown")  # "Observation" over the labels
    others = [f for f in fields if f.column in _CODES]
    cells = [c for c in values.get(lead.place, ()) if c is not None]
    if any(normal(c.text) in _HEADS_VALUES for c in cells):
        return fields  # one group's list of labels and values
    named_so = {"group", "section", "bottle", "comment", UNSURE} >= set(
        lead.source.reading.candidates
    )
    if cells and all(map(_is_trial, cells)):  # whatever "Titration of filtrate" over them says
        return _as_runs(lead, fields)
    if (
        lead.state not in ("unknown", "open")
        or not named_so
        or not _tell_apart(lead, others, values)
    ):
        return fields
    codes = [t for c in cells if not is_telling(t := c.text.strip()) and not _names_group(t)]
    if codes and (all(map(RUN_NAMED.match, codes)) or all(map(_NTH_READING.fullmatch, codes))):
        return _as_runs(lead, fields)
    named = lead.source.heading
    said = f"headed '{named}'" if named else "without heading"
    note = f"the first column, {said}, names the lines: read as group"
    found = replace(lead, column="group", state="understood", how="position", note=note)
    return [found if f.place == lead.place else f for f in fields]


def _repeats_group_word(texts: Sequence[str]) -> bool:
    """Tell whether "Group" was merged over all the codes below it."""
    return len({*texts}) == 1 < len(texts) and _GROUP_WORD.fullmatch(texts[0]) is not None


_COUNT_OF = re.compile(
    rf"\b(?:n|no|number|count)(?: of)? (?:(?:{GROUP_WORDS})s|runs|students|pairs)\b", re.IGNORECASE
)
_GROUP_WORD = re.compile(rf"\s*(?:{GROUP_WORDS})s?\s*", re.IGNORECASE)


def _as_runs(lead: Field, fields: list[Field]) -> list[Field]:
    note = "the first column numbers the trials"
    found = replace(lead, column="run", state="understood", how="values", note=note)
    return [found if f.place == lead.place else f for f in fields]


def _is_trial(cell: RawCell) -> bool:
    """Tell whether a cell holds "Trial 2", which no heading can make anything else."""
    return _TRIAL.fullmatch(cell.text) is not None or is_telling(cell.text.strip())


_TRIAL = re.compile(rf"\s*(?:{RUN_WORDS})\s*(?:no\.?\s*|#\s*)?\d{{1,2}}\s*", re.IGNORECASE)


def _names_group(text: str) -> bool:
    """Tell whether a text is the title of a group's lines: "Group 1: two names"."""
    return len(groups_in(text)) == 1 and not RUN_NAMED.match(text)


# "Reading I", "Measurement 2", "Messung 3" over the columns of one group's form.
_NTH_READING = re.compile(
    rf"(?:{READING_WORDS})s?\.?\s*(?:no\.?\s*|#)?(?:\d{{1,2}}|[ivx]{{1,4}})", re.IGNORECASE
)
_CODED = re.compile(r"[A-Z]{1,3}[\s-]?\d{1,3}|[A-Z]")


def _are_coded(cells: Sequence[RawCell | None]) -> bool:
    """Tell whether cells hold short codes with a letter: "S-1", "S-2"."""
    texts = [c.text.strip() for c in cells if c is not None]
    return len(texts) > 1 and all(map(_CODED.fullmatch, texts))


def _are_numbered(cells: Sequence[RawCell | None]) -> bool:
    """Tell whether texts are one word with a letter or number each: "Batch 1", "Batch 2"."""
    texts = [c.text for c in cells if c is not None]
    short = without_common_prefix(texts)
    return len(short) > 1 and all(len(code) <= 3 for code in short.values())


def nameless_pair(fields: list[Field], values: Values) -> list[Field]:
    """Take the second of two columns before the readings as the group, if both part all lines.

    "Room" of few codes before "Colour": the first is left for its section.
    """
    numbers = [f.place for f in fields if f.column and quantity(f.column).kind == "number"]
    before = [f for f in fields if f.place < min(numbers, default=0)]
    left = [f for f in before if f.state == "unknown"]
    known = {f.column for f in fields} & {"group", "section", "run"}
    if known or len(left) != 2 or left[1].place != left[0].place + 1:
        return fields
    codes = [c.text.strip() if c else "" for c in values.get(left[1].place, ())]
    wider = _texts(left[0], values)
    if any(map(_names_group, wider)) or any(map(RUN_NAMED.match, codes)):
        return fields  # "Group M1" over its trials
    if not are_codes(list(filter(None, codes))) or not _parts(values.get(left[0].place, ()), codes):
        return fields
    note = f"'{left[1].source.heading}' tells the lines of one '{left[0].source.heading}' apart"
    found = replace(left[1], column="group", state="understood", how="position", note=note)
    return [found if f is left[1] else f for f in fields]


def nameless_part(fields: list[Field], values: Values) -> list[Field]:
    """Take a column of codes that parts equal group codes: a section, or a run.

    Before the groups it names their section, and so do parts of the day; behind them, counting up
    in each, their runs.
    """
    group = next((f for f in fields if f.column == "group"), None)
    groups = [] if group is None else [c.text if c else "" for c in values.get(group.place, ())]
    filled = [g for g in groups if g]
    if group is None or len(set(filled)) == len(filled):
        return fields
    numbers = [f.place for f in fields if f.column and quantity(f.column).kind == "number"]
    found = [
        f
        for f in fields
        if f.state == "unknown" and f.place < min(numbers, default=0)
        if _parts(values.get(f.place, ()), groups)
    ]
    taken = {f.column for f in fields}
    if len(found) != 1:
        return fields
    part = found[0]
    told = [c.text.strip() for c in values.get(part.place, ()) if c is not None]
    before = part.place < group.place or all(map(_PART_OF_DAY.fullmatch, told))
    column = "section" if before else "run"
    counted = [c.text for c in values.get(part.place, ()) if c is not None][:1]
    if column in taken or (column == "run" and counted not in (["1"], ["a"], ["A"], ["I"])):
        return fields
    note = f"'{part.source.heading}' parts lines of the same group: read as {column}"
    new = replace(part, column=column, state="understood", how="position", note=note)
    return [new if f.place == new.place else f for f in fields]


_PART_OF_DAY = re.compile(
    r"[ap]\.?m\.?|(?:early|late|day|night)(?: shift)?|morning|afternoon|evening|vormittags?|"
    r"nachmittags?|matin|après-midi|soir|mañana|tarde|manhã|mattina|pomeriggio|ochtend|middag",
    re.IGNORECASE,
)


def _parts(cells: Sequence[RawCell | None], groups: Sequence[str]) -> bool:
    """Tell whether few codes, each on several lines, make every group code unique.

    A code may stand on the first line of its groups only.
    """
    cells = _filled_down(cells, groups)
    pairs = [(c.text.strip(), g) for c, g in zip(cells, groups, strict=False) if c and g]
    codes = [code for code, _ in pairs]
    few = 1 < len(set(codes)) <= len(codes) // 2
    whole = all(
        isinstance(c.value, (str, int)) or (isinstance(c.value, float) and c.value.is_integer())
        for c in cells
        if c
    )
    return few and whole and are_codes(codes) and len(set(pairs)) == len(pairs)


def _filled_down(
    cells: Sequence[RawCell | None], groups: Sequence[str]
) -> Sequence[RawCell | None]:
    """Return codes that each stand once, over blanks, on all lines of their groups."""
    told = [c.text.strip() for c in cells if c is not None]
    beside = [c for c, g in zip(cells, groups, strict=False) if g]
    if len(set(told)) < len(told) or not beside or beside[0] is None or 2 * len(told) > len(beside):
        return cells
    filled: list[RawCell | None] = []
    for cell in cells:
        filled.append(cell if cell is not None or not filled else filled[-1])
    return filled


def _tell_apart(lead: Field, others: Sequence[Field], values: Values) -> bool:
    """Tell whether the cells of a column are codes that, with section and run, part the lines."""
    column = values.get(lead.place, ())
    cells = [c for c in column if c is not None]
    codes = [c.text.strip() for c in cells]
    decimal = any(isinstance(c.value, float) and not c.value.is_integer() for c in cells)
    long = sum(len(code) > _LONGEST for code in codes)
    moments = sum(_MOMENT.match(code) is not None for code in codes)
    if len(codes) < 2 or decimal or 4 * long > len(codes) or 2 * moments > len(codes):
        return False
    known = [values.get(f.place, ()) for f in others]
    lines = {
        (c.text.strip(), *(b.text if i < len(v) and (b := v[i]) is not None else "" for v in known))
        for i, c in enumerate(column)
        if c is not None
    }
    # Under an ambiguous heading every line must have its own code.
    return len(lines) >= (len(codes) if lead.state == "open" else max(2, len(codes) // 2))
