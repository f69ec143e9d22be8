"""Headings that claim the same column of a table: which holds it, what becomes of the others."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import replace

from solubility_stats.quantities import quantity
from solubility_stats.sheets import keywords
from solubility_stats.sheets.choices import answer, choice
from solubility_stats.sheets.codes import winner
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.fills import mostly_sums
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.relations import agree
from solubility_stats.sheets.said_temperatures import of_room
from solubility_stats.sheets.titre import TITRATION
from solubility_stats.sheets.units import unit_in_heading


def settle_rivals(fields: list[Field], values: Values) -> list[Field]:
    """Leave a column to one of the headings that claim it for the same trial, or to none.

    The others say which heading was taken, or stay open where that cannot be told.
    """
    fields = _others_give_way(fields)
    claims: dict[tuple[str, str], list[int]] = defaultdict(list)
    for at, f in enumerate(fields):
        if f.state == "understood" and f.column != "comment":
            claims[f.column, f.trial].append(at)
    done = list(fields)
    for (column, _), rivals in claims.items():
        filled = _filled(column, rivals, fields, values)
        if filled and len(filled) < len(rivals):
            for at in set(rivals) - set(filled):
                done[at] = replace(fields[at], column="", state="same", note="no readings below it")
            rivals = filled
        if len(rivals) < 2 or (
            column == "water_volume_ml" and _sum_and_total(fields, rivals, values)
        ):
            continue
        rivals = _without_other_things(column, rivals, fields, done)
        if len(rivals) < 2:
            continue
        if parted := _without_title([fields[a] for a in rivals], claims):
            for at in rivals:
                done[at] = parted.get(fields[at].place, fields[at])
            continue
        best = _winner([fields[a] for a in rivals], column, values)
        for at in rivals:
            if best is not None and fields[at].place == best.place:
                continue
            done[at] = _loser(fields[at], best, column, values)
    return done


def _others_give_way(fields: list[Field]) -> list[Field]:
    """Leave out what a heading says is no reading of the mixture, where that was read besides.

    How warm the room was, beside the mixtures of several trials; what was planned, beside the
    amounts that were taken.
    """
    done = list(fields)
    for column, (is_other, note) in _OTHER_THINGS.items():
        asked = [f for f in fields if column in f.source.reading.candidates]
        other = [f for f in asked if not f.trial and is_other(f.source.heading)]
        if any(f.column == column and f not in other for f in fields):
            for f in other:
                done[fields.index(f)] = replace(f, column="", state="same", note=note)
    return done


_ISSUED = re.compile(
    r"\b(?:issued|supplied|provided|handed out|given|allotted|allowed|planned|target|requested|"
    r"asked for|ausgegeben|ausgeteilt|fourni\w*|entregad\w*|fornit\w*|uitgedeeld|wydan\w*|"
    r"utdelad\w*)\b",
    re.IGNORECASE,
)
_OVEN = re.compile(
    r"\b(?:oven|hot ?plate|cabinet|incubator|trockenschrank|étuve|stoof|estufa)\b", re.I
)
_PLANNED: tuple[Callable[[str], bool], str] = (
    lambda heading: _ISSUED.search(heading) is not None,
    "what was planned or handed out; what was taken stands beside it",
)
# By column: what a heading is about if it only resembles the reading, and how that is said.
_OTHER_THINGS: dict[str, tuple[Callable[[str], bool], str]] = {
    "temperature_c": (
        lambda heading: of_room(heading) or _OVEN.search(heading) is not None,
        "how warm the room or an oven was; the water was measured as well",
    ),
    "initial_mass_g": _PLANNED,
    "water_volume_ml": _PLANNED,
}


def _filled(column: str, rivals: list[int], fields: list[Field], values: Values) -> list[int]:
    """Return the rivals with readings: a title over further headings has nothing below it."""
    filled = [a for a in rivals if any(c is not None for c in values.get(fields[a].place, ()))]
    if len(filled) > 1 and quantity(column).kind == "number":  # "Used which mass?" holds none
        return [a for a in filled if _holds_numbers(fields[a], values)] or filled
    return filled


def _without_other_things(
    column: str, rivals: list[int], fields: list[Field], done: list[Field]
) -> list[int]:
    """Return the rivals without those that say they are something else; mark these as done."""
    if column not in _OTHER_THINGS:
        return rivals
    is_other, note = _OTHER_THINGS[column]
    other = [at for at in rivals if is_other(fields[at].source.heading)]
    if len(other) == len(rivals):
        return rivals
    for at in other:
        done[at] = replace(fields[at], column="", state="same", note=note)
    return [at for at in rivals if at not in other]


def left_alone(fields: list[Field]) -> list[Field]:
    """Take an open column for what its heading claims if the arithmetic took its rivals away."""
    known = {(f.column, f.trial) for f in fields}
    moved = {
        f.source.reading.column
        for f in fields
        if f.state == "understood" and f.how == "arithmetic" and f.column != f.source.reading.column
    }
    claims: dict[tuple[str, str], list[Field]] = defaultdict(list)
    for f in fields:
        own = f.source.reading.column
        if f.state == "open" and own and own in moved:
            claims[own, f.trial].append(f)
    done = {
        rivals[0].place: replace(
            rivals[0], column=key[0], state="understood", how="values",
            note="the other heading of this kind holds something else",
        )
        for key, rivals in claims.items()
        if len(rivals) == 1 and key not in known and rivals[0].note.startswith("another heading")
    }  # fmt: skip
    return [done.get(f.place, f) for f in fields]


def _without_title(
    rivals: list[Field], claims: Mapping[tuple[str, str], list[int]]
) -> dict[int, Field]:
    """Return the rivals that mean another column without the title over them, if one is left.

    Below "after", "dry filter paper" stands for the paper if "paper and dried lime" is beside it.
    """
    parted: dict[int, Field] = {}
    for field in rivals:
        own = understand((field.source.cells[-1].text,)) if len(field.source.cells) > 1 else None
        others = set(own.candidates) - {field.column, keywords.UNSURE} if own else set()
        others = {c for c in others if quantity(c).kind == quantity(field.column).kind}
        if len(others) == 1 and (column := others.pop(), "") not in claims:
            note = f"not as '{field.source.heading}': another heading claims {field.column}"
            parted[field.place] = replace(field, column=column, note=note)
    return parted if len(parted) == len(rivals) - 1 else {}


def _holds_numbers(field: Field, values: Values) -> bool:
    cells = [c for c in values.get(field.place, ()) if c is not None]
    return 4 * sum(_AMOUNT.match(c.text) is not None for c in cells) > len(cells)


# No moments: "Started" over "2024-10-07 13:12" is no mass.
_AMOUNT = re.compile(
    r"(?!\d{4}-\d\d|\d{1,2}[:h]\d\d|\d{1,2}[./]\d{1,2}[./]\d{2})\W*\d+(?!\d|\s*(?:st|nd|rd|th)\b)"
)


def _sum_and_total(fields: list[Field], rivals: list[int], values: Values) -> bool:
    """Tell whether of two columns of water one holds sums of fills, so that the other is the total.

    They are compared run by run.
    """
    texts = [[c.text for c in values.get(fields[at].place, ()) if c is not None] for at in rivals]
    return len(rivals) == 2 and sum(map(mostly_sums, texts)) == 1


def _winner(rivals: list[Field], column: str, values: Values) -> Field | None:
    """Return the rival that holds the column, ``None`` if that cannot be told."""
    if column == "temperature_c":
        # "T" beside "t": the small letter is a time.
        rivals = [f for f in rivals if f.source.heading.strip() != "t"] or rivals
        mixed = [f for f in rivals if _OF_MIXTURE.search(f.source.heading.replace("_", " "))]
        rivals = mixed or [f for f in rivals if not _SET_POINT.search(f.source.heading)] or rivals
    if column == "initial_mass_g" and not any(map(_says_start, rivals)):
        return rivals[0] if all(_agree(rivals[0], f, values) for f in rivals[1:]) else None
    strength = [f.source.reading.strength for f in rivals]
    top = [f for f, s in zip(rivals, strength, strict=True) if s == max(strength)]
    if len(top) == 1:
        return top[0]
    if quantity(column).kind == "choice":
        share = [(_answered(f, column, values), f) for f in top]
        best = max(s for s, _ in share)
        chosen = [f for s, f in share if s == best]
        return chosen[0] if len(chosen) == 1 else None
    if quantity(column).kind != "number":
        named = [f for f in top if not _ID.search(f.source.heading)]
        return named[0] if len(named) == 1 else winner(top, values)
    if column in TITRATION and (counted := _first_of_series(rivals)):
        return counted
    first = top[0]
    return first if all(_agree(first, f, values) for f in top[1:]) else None


# What was in the beaker counts, and not what the bath was set to.
_OF_MIXTURE = re.compile(
    r"\b(?:mix(?:ture)?|suspension|slurry|solution|beaker|mezcla|mélange|mischung|mistura|miscela|"
    r"blandning\w*|mieszanin\w*|at (?:the )?filt\w+|when filt\w+)\b",
    re.IGNORECASE,
)
_SET_POINT = re.compile(
    r"\bset(?:[ -]?point)?\b|\bnominal\b|\btarget\b|\bthermostat\b|\bsoll\w*\b|\bconsigna?\w*\b",
    re.I,
)


def _says_start(field: Field) -> bool:
    """Tell whether a heading says that a mass was weighed in, and does not only name a solid."""
    said = concepts_in(unit_in_heading(field.source.heading)[0])
    return bool(said & {"start", "begin", "used", "before"})


def _first_of_series(rivals: list[Field]) -> Field | None:
    """Return the first of several titrations counted in the headings; a run holds one.

    The others stay questions.
    """
    numbers = {n: f for f in rivals if len(n := "".join(_NUMBER.findall(f.source.heading))) == 1}
    counts = [str(n) for n in range(1, len(rivals) + 1)]
    return numbers["1"] if sorted(numbers) == counts else None


_NUMBER = re.compile(r"(?<![\d.,\w])[1-4](?![\d.,\w])")
_ID = re.compile(r"[\s_]id\s*\Z", re.IGNORECASE)  # "section_id" beside "section"


def _answered(field: Field, column: str, values: Values) -> int:
    """Return how many cells of a column name one of the choices asked for."""
    asked, heading = quantity(column), field.source.heading
    texts = [c.text for c in values.get(field.place, ()) if c is not None]
    return sum((answer(t, asked, heading) or choice(t, asked))[0] is not None for t in texts)


def _agree(one: Field, other: Field, values: Values) -> bool:
    pairs = zip(values.get(one.place, ()), values.get(other.place, ()), strict=False)
    both = [(a, b) for a, b in pairs if a is not None and b is not None]
    if not both:
        return False
    return all(a.text.strip() == b.text.strip() for a, b in both) or agree(one, other, values)


def _loser(field: Field, best: Field | None, column: str, values: Values) -> Field:
    if best is None:
        note = f"another heading claims {column} as well"
        return replace(field, column="", state="open", note=note)
    said = best.source.heading
    if _agree(best, field, values) or quantity(column).kind != "number":
        return replace(field, column="", state="same", note=f"'{said}' was taken as {column}")
    note = f"also looks like {column}, but '{said}' was taken"
    return replace(field, column="", state="open", note=note)
