"""Which column of a table is which: headings that compete, ambiguity, witnesses among the values.

A heading alone may claim a column that another heading claims as well, or may mean two columns.
What the other columns and the values can settle is settled here and said; the rest stays open.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.field import Field, State, Values
from solubility_stats.sheets.fills import (
    number_repeated_fills,
    open_incomplete_fills,
    open_volume_with_nameless_neighbours,
)
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.keywords import UNSURE
from solubility_stats.sheets.likely import take_likely
from solubility_stats.sheets.lines import is_telling
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.tables import Column, Table
from solubility_stats.sheets.view import looks_like_number
from solubility_stats.sheets.witness import arithmetic
from solubility_stats.sheets.words import flag

__all__ = ["Field", "is_number", "settle"]


def settle(table: Table, values: Values, personal: Mapping[int, str]) -> list[Field]:
    """Return what each place of a table holds.

    Parameters
    ----------
    table : Table
        The table as found.
    values : mapping of int to sequence of RawCell or None
        Cells below the headings by place, one entry per line.
    personal : mapping of int to str
        Places that hold personal data, with the reason.
    """
    fields = [_first(c, personal) for c in table.columns]
    fields = number_repeated_fills(fields)
    fields = open_volume_with_nameless_neighbours(fields, values)
    fields = _settle_trials(fields)
    fields = _residues_of_dishes(fields, values)
    fields = _settle_rivals(fields, values)
    fields = _settle_masses(fields, values)
    fields = _open_what_values_deny(fields, values)
    fields = _nameless_group(fields, values)
    if not all(f.column or f.state in ("personal", "told") for f in fields):
        # Only a place that is still open has anything for the arithmetic to settle.
        lines = _possible_runs(fields, values)
        fields = arithmetic(fields, values, lines)
        likely = take_likely(fields, values, lines)
        fields = arithmetic(likely, values, lines) if likely != fields else fields
    return open_incomplete_fills(_open_what_stands_alone(fields), values)


def _possible_runs(fields: Sequence[Field], values: Values) -> list[int]:
    """Return the positions of the lines that no word beside them calls a mean or an example."""
    codes = [values.get(f.place, ()) for f in fields if f.column in ("group", "section", "run")]
    codes += [values.get(f.place, ()) for f in fields[:1]]
    count = max(map(len, values.values()), default=0)
    telling = {
        i for cells in codes for i, c in enumerate(cells)
        if c is not None and isinstance(c.value, str) and is_telling(c.value)
    }  # fmt: skip
    return [i for i in range(count) if i not in telling]


def _first(column: Column, personal: Mapping[int, str]) -> Field:
    reading = column.reading
    state: State = "unknown"
    if column.place in personal:
        reason = personal[column.place]
        return Field(column.place, "", None, "", "personal", "", reason, column)
    if reading.how == "mapping" and not reading.candidates:
        state = "told"
    elif reading.derived:
        state = "derived"
    elif reading.column:
        state = "understood"
    elif reading.candidates:
        state = "open"
    name = reading.column or ""
    note = reading.note
    if state == "open" and not note:
        note = "may mean " + " or ".join(reading.candidates)
    return Field(column.place, name, reading.unit, reading.trial, state, reading.how, note, column)


def _settle_trials(fields: list[Field]) -> list[Field]:
    """Keep trial numbers where several quantities repeat per trial; else they stay open."""
    numbers: dict[str, set[str]] = defaultdict(set)
    for f in fields:
        if f.trial and f.state == "understood":
            numbers[f.column].add(f.trial)
    trials = set().union(*numbers.values()) if numbers else set()
    if len(trials) <= 1:
        plain = not numbers or any(
            f.column not in numbers and f.column in ("initial_mass_g", "recovered_mass_g")
            for f in fields
        )
        return [replace(f, trial="") for f in fields] if plain else fields
    repeating = [c for c, t in numbers.items() if len(t) > 1]
    if len(repeating) >= 2:
        return fields
    note = "numbered columns: several trials, or several readings of one?"
    return [
        replace(f, state="open", column="", trial="", note=note) if f.column in repeating else f
        for f in fields
    ]


def _residues_of_dishes(fields: list[Field], values: Values) -> list[Field]:
    """Mark what the class worked out as dish with residue less dish: it is no recovered mass."""
    by = {f.column: f for f in fields if f.column}
    dish, both = by.get("dish_mass_g"), by.get("dish_residue_mass_g")
    if dish is None or both is None:
        return fields
    done = []
    for f in fields:
        ours = f.column == "recovered_mass_g" and f.how != "vocabulary"
        pairs = _both(values.get(both.place, ()), values.get(dish.place, ())) if ours else []
        own = _both(values.get(f.place, ()), values.get(both.place, ())) if ours else []
        if len(own) == len(pairs) and len(own) > 2:
            equal = [abs(a - (b - c)) < 1e-3 for (a, _), (b, c) in zip(own, pairs, strict=True)]
            if sum(equal) >= _MOST * len(equal):
                f = replace(f, column="", state="derived", note="what the dish holds")
        done.append(f)
    return done


def _settle_rivals(fields: list[Field], values: Values) -> list[Field]:
    claims: dict[tuple[str, str], list[int]] = defaultdict(list)
    for at, f in enumerate(fields):
        if f.state == "understood" and f.column != "comment":
            claims[f.column, f.trial].append(at)
    done = list(fields)
    for (column, _), rivals in claims.items():
        if len(rivals) < 2:
            continue
        best = _winner([fields[a] for a in rivals], column, values)
        for at in rivals:
            if best is not None and fields[at].place == best.place:
                continue
            done[at] = _loser(fields[at], best, column, values)
    return done


def _winner(rivals: list[Field], column: str, values: Values) -> Field | None:
    """Return the rival that holds the column, ``None`` if that cannot be told."""
    strength = [f.source.reading.strength for f in rivals]
    top = [f for f, s in zip(rivals, strength, strict=True) if s == max(strength)]
    if len(top) == 1:
        return top[0]
    if quantity(column).kind == "identifier":
        top = [f for f in top if not _answers(values.get(f.place, ()))] or top
        top = [f for f in top if _CODE_WORD.search(normal(f.source.heading))] or top
        if len(top) == 1:
            return top[0]
    if quantity(column).kind != "number":
        # The vocabulary lists the plainest word first: "group" goes before "bench".
        order = list(quantity(column).headings)
        ranked = sorted(top, key=lambda f: _rank(f, order))
        return ranked[0] if _rank(ranked[0], order) < _rank(ranked[1], order) else None
    first = top[0]
    return first if all(_agree(first, f, values) for f in top[1:]) else None


_CODE_WORD = re.compile(r"\b(?:no|nr|number|letter|code|id|name)\b")


def _answers(cells: Sequence[RawCell | None]) -> bool:
    """Tell whether a column below a question holds yes and no ("Did your group clean up?")."""
    texts = [c.text for c in cells if c is not None]
    return bool(texts) and all(flag(t) is not None and not t.strip().isdigit() for t in texts)


def _rank(field: Field, order: list[str]) -> int:
    heading = normal(field.source.heading)
    return order.index(heading) if heading in order else len(order)


def _agree(one: Field, other: Field, values: Values) -> bool:
    pairs = zip(values.get(one.place, ()), values.get(other.place, ()), strict=False)
    both = [(a, b) for a, b in pairs if a is not None and b is not None]
    return bool(both) and all(a.text.strip() == b.text.strip() for a, b in both)


def _loser(field: Field, best: Field | None, column: str, values: Values) -> Field:
    if best is None:
        note = f"another heading claims {column} as well"
        return replace(field, column="", state="open", note=note)
    said = best.source.heading
    if _agree(best, field, values) or quantity(column).kind != "number":
        return replace(field, column="", state="same", note=f"'{said}' was taken as {column}")
    note = f"also looks like {column}, but '{said}' was taken"
    return replace(field, column="", state="open", note=note)


# A weighed-out mass aims at one target, so its values lie close together (judgement: 10 %).
_TARGET_SPREAD = 0.10


def _settle_masses(fields: list[Field], values: Values) -> list[Field]:
    """Let the values witness for a column headed only "mass" beside a recovered mass.

    It is the initial mass if no other heading claims that, every value is at least the recovered
    one, and the values lie as close together as masses weighed out to a target do.
    """
    taken = {(f.column, f.trial): f for f in fields if f.state == "understood"}
    done = list(fields)
    for at, f in enumerate(fields):
        candidates = f.source.reading.candidates
        if f.state != "open" or set(candidates) != {"initial_mass_g", "recovered_mass_g"}:
            continue
        recovered = taken.get(("recovered_mass_g", f.trial))
        rivals = [
            g for g in fields
            if g is not f and g.state == "open" and g.source.reading.candidates == candidates
        ]  # fmt: skip
        if rivals or recovered is None or ("initial_mass_g", f.trial) in taken:
            continue
        if _weighed_out(values.get(f.place, ()), values.get(recovered.place, ())):
            note = "headed only as a mass; never below the recovered mass and all close together"
            done[at] = replace(
                f, column="initial_mass_g", state="understood", how="values", note=note
            )
    return done


def _open_what_values_deny(fields: list[Field], values: Values) -> list[Field]:
    """Leave open what the rest of the table speaks against: numbers below "solid" are no names."""
    done = []
    impossible = _impossible(fields, values) | _not_the_difference(fields, values)
    for f in fields:
        note = impossible.get(f.place, "")
        cells = [c for c in values.get(f.place, ()) if c is not None]
        if f.column == "solute" and cells and all(map(looks_like_number, cells)):
            note = "may mean the name of the solid or its mass"
        done.append(replace(f, column="", state="open", note=note) if note else f)
    return done


def _open_what_stands_alone(fields: list[Field]) -> list[Field]:
    """Leave open what says nothing without its partner: it may be of anything."""
    taken = {f.column for f in fields}
    weighed = {"recovered_mass_g", "recovered_with_paper_mass_g", "wet_cake_mass_g"} & taken
    notes = {}
    if "dish_residue_mass_g" not in taken:
        notes["dish_mass_g"] = "no column is understood as the same with its residue"
    if not weighed:
        notes["second_dry_mass_g"] = "a second weighing, but no column is understood as the first"
    return [
        replace(f, column="", state="open", note=notes[f.column]) if f.column in notes else f
        for f in fields
    ]


# What lies below what, whatever the class did: a part is lighter than the whole.
_LIGHTER = (
    ("recovered_mass_g", "initial_mass_g"),
    ("recovered_mass_g", "recovered_with_paper_mass_g"),
    ("paper_mass_g", "recovered_with_paper_mass_g"),
    ("dish_mass_g", "dish_residue_mass_g"),
)
# A few lines may be slips of the pen; on most lines it is the heading (judgement).
_MOST = 0.8


def _impossible(fields: list[Field], values: Values) -> dict[int, str]:
    """Return remarks by place on pairs of masses whose values contradict their headings.

    Headings that stand in the vocabulary word for word are believed: then the class weighed a wet
    residue.
    """
    found = {}
    for part, whole in _LIGHTER:
        for f in (f for f in fields if f.column == part):
            for g in (g for g in fields if g.column == whole and g.trial == f.trial):
                if f.how == g.how == "vocabulary" or f.unit != g.unit:
                    continue
                pairs = _both(values.get(f.place, ()), values.get(g.place, ()))
                if len(pairs) > 2 and sum(a > b for a, b in pairs) >= _MOST * len(pairs):
                    for one, other in ((f, g), (g, f)):
                        said = other.source.heading
                        found[one.place] = f"its values and those of '{said}' contradict this"
    return found


# A residue written to the last digit may differ from its difference by rounding; one that differs by
# more than a twentieth is another mass (judgement).
_SAME = 0.05


def _not_the_difference(fields: list[Field], values: Values) -> dict[int, str]:
    """Return remarks on a recovered mass that is not paper with solid less paper."""
    by = {(f.column, f.trial): f for f in fields if f.column}
    found = {}
    for (column, trial), f in by.items():
        both = by.get(("recovered_with_paper_mass_g", trial))
        paper = by.get(("paper_mass_g", trial))
        if column != "recovered_mass_g" or f.how == "vocabulary" or both is None or paper is None:
            continue
        units = {g.unit for g in (f, both, paper)}
        pairs = _both(values.get(both.place, ()), values.get(paper.place, ()))
        own = _both(values.get(f.place, ()), values.get(both.place, ()))
        if len(units) > 1 or len(own) != len(pairs) or len(own) < 3:
            continue
        apart = [
            abs(a - (b - c)) > _SAME * max(a, 1e-9)
            for (a, _), (b, c) in zip(own, pairs, strict=True)
        ]
        if sum(apart) >= _MOST * len(apart):
            found[f.place] = "it is not the paper with its solid less the paper"
    return found


def _weighed_out(masses: Sequence[RawCell | None], recovered: Sequence[RawCell | None]) -> bool:
    pairs = _both(masses, recovered)
    if len(pairs) < 3 or any(a <= b for a, b in pairs):
        return False
    sizes = sorted(a for a, _ in pairs)
    middle = sizes[len(sizes) // 2]
    return middle > 0 and (sizes[-1] - sizes[0]) <= 2 * _TARGET_SPREAD * middle


def _both(
    one: Sequence[RawCell | None], other: Sequence[RawCell | None]
) -> list[tuple[float, float]]:
    """Return the numbers of the lines on which both columns hold one."""
    typed = [
        (float(a.value), float(b.value))
        for a, b in zip(one, other, strict=False)
        if a is not None and b is not None
        and isinstance(a.value, (int, float)) and isinstance(b.value, (int, float))
    ]  # fmt: skip
    return typed or _from_texts(one, other)


def _from_texts(
    masses: Sequence[RawCell | None], recovered: Sequence[RawCell | None]
) -> list[tuple[float, float]]:
    found = []
    for a, b in zip(masses, recovered, strict=False):
        try:
            if a is not None and b is not None:
                found.append((_plain(a.text), _plain(b.text)))
        except ValueError:
            continue
    return found


def _plain(text: str) -> float:
    return float(text.strip().removesuffix("g").strip().replace(",", "."))


_RUN_CODE = re.compile(r"(?:trial|run|rep|replicate|attempt|essai|versuch)\b", re.IGNORECASE)


def _nameless_group(fields: list[Field], values: Values) -> list[Field]:
    """Take the leftmost column as the group where no heading names one and its values are codes."""
    if any(f.column == "group" for f in fields) or not fields:
        return fields
    lead = fields[0]
    if lead.column == "bottle" and normal(lead.source.heading).startswith("batch"):
        # Where nothing else names the groups, a batch is one of students.
        lead = replace(lead, column="", state="unknown")
    cells = [c for c in values.get(lead.place, ()) if c is not None]
    named_so = {"group", "bottle", UNSURE} >= set(lead.source.reading.candidates)
    if lead.state not in ("unknown", "open") or not named_so or len(cells) < 2:
        return fields
    codes = [str(c.text).strip() for c in cells]
    decimal = any(isinstance(c.value, float) and not c.value.is_integer() for c in cells)
    short = all(len(code) <= 24 for code in codes)
    distinct = len(codes) if lead.state == "open" else max(2, len(codes) // 2)
    if decimal or not short or len(set(codes)) < distinct:
        return fields
    if all(map(_RUN_CODE.match, codes)):
        note = "the first column numbers the trials"
        return [
            replace(lead, column="run", state="understood", how="values", note=note),
            *fields[1:],
        ]
    named = lead.source.heading
    said = f"headed '{named}'" if named else "without heading"
    note = f"the first column, {said}, names the lines: read as group"
    found = replace(lead, column="group", state="understood", how="position", note=note)
    return [found, *fields[1:]]


def is_number(field: Field) -> bool:
    """Tell whether a field holds numbers of ours."""
    return bool(
        field.column and is_canonical(field.column) and quantity(field.column).kind == "number"
    )
