"""Which column of a table is which: headings that compete, ambiguity, witnesses among the values.

A heading alone may claim a column that another heading claims as well, or may mean two columns.
What the other columns and the values can settle is settled here and said; the rest stays open.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets import keywords
from solubility_stats.sheets.choices import answer, choice
from solubility_stats.sheets.codes import (
    batch_is_section,
    nameless_group,
    nameless_part,
    wider_is_section,
    winner,
)
from solubility_stats.sheets.field import Field, State, Values
from solubility_stats.sheets.fills import (
    go_on_counting,
    letter_c_is_celsius,
    mostly_sums,
    number_repeated_fills,
    open_incomplete_fills,
    open_volume_with_nameless_neighbours,
    sums_are_totals,
    take_numbered_series,
)
from solubility_stats.sheets.goes import goes_asked
from solubility_stats.sheets.heading_forms import ONLY_RATIO
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.likely import take_likely
from solubility_stats.sheets.lines import is_telling
from solubility_stats.sheets.phrases import concepts_in, words_of
from solubility_stats.sheets.relations import (
    agree,
    burette_used,
    contradicted,
    dish_residues,
    never_below,
    off_paper,
    per_litre,
    readings,
    weighed_out,
)
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.titre import TITRATION, result_of_route
from solubility_stats.sheets.twice import (
    dried_again,
    dried_once_more,
    never_two,
    second_taken_for_first,
)
from solubility_stats.sheets.units import dimension_of, unit_in_heading
from solubility_stats.sheets.view import like_weighings, looks_like_number
from solubility_stats.sheets.witness import arithmetic

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
    fields = sums_are_totals(go_on_counting(fields), values)
    fields = open_volume_with_nameless_neighbours(fields, values)
    fields = _settle_trials(fields)
    fields = dried_once_more(dried_again(_filtrate_titrated(fields)), values)
    fields = _taken_out(fields, values)
    on_dishes = dish_residues(fields, values)
    fields = [replace(f, column="", state="derived") if f.place in on_dishes else f for f in fields]
    fields = _settle_rivals(wider_is_section(batch_is_section(fields, values), values), values)
    fields = _differences(_settle_masses(fields, values), values)
    fields = _open_what_values_deny(fields, values)
    fields = second_taken_for_first(fields, values)
    fields = nameless_part(nameless_group(goes_asked(fields, values), values), values)
    fields = _filtered_by_values(fields, values)
    if not all(f.column or f.state in ("personal", "told") for f in fields):
        # Only a place that is still open has anything for the arithmetic to settle.
        lines = _possible_runs(fields, values)
        fields = arithmetic(fields, values, lines)
        likely = take_likely(take_numbered_series(fields, values), values, lines)
        fields = arithmetic(likely, values, lines) if likely != fields else fields
    fields = _own_result(_left_alone(fields), values)
    fields = result_of_route(_filtrate_of_dish(_open_what_stands_alone(fields)))
    return never_two(open_incomplete_fills(letter_c_is_celsius(fields), values))


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
    said = any(f.trial and f.how != "pattern" for f in fields)  # "trial 1", not only a number
    if len(repeating) >= 2 or said:
        return fields
    note = "numbered columns: several trials, or several readings of one?"
    return [
        replace(f, state="open", column="", trial="", note=note) if f.column in repeating else f
        for f in fields
    ]


def _settle_rivals(fields: list[Field], values: Values) -> list[Field]:
    claims: dict[tuple[str, str], list[int]] = defaultdict(list)
    for at, f in enumerate(fields):
        if f.state == "understood" and f.column != "comment":
            claims[f.column, f.trial].append(at)
    done = list(fields)
    for (column, _), rivals in claims.items():
        # A title over further headings claims a column and has nothing below it.
        filled = [a for a in rivals if any(c is not None for c in values.get(fields[a].place, ()))]
        if quantity(column).kind == "number":  # "Used which mass?" holds no numbers
            numeric = [a for a in filled if _holds_numbers(fields[a], values)]
            filled = numeric or filled
        if filled and len(filled) < len(rivals):
            for at in set(rivals) - set(filled):
                done[at] = replace(fields[at], column="", state="same", note="no readings below it")
            rivals = filled
        if len(rivals) < 2 or (
            column == "water_volume_ml" and _sum_and_total(fields, rivals, values)
        ):
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


def _left_alone(fields: list[Field]) -> list[Field]:
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
    if column == "temperature_c":  # "T" beside "t": the small letter is a time
        capital = [f for f in rivals if f.source.heading.strip() != "t"]
        rivals = capital or rivals
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
        return winner(top, values)
    first = top[0]
    return first if all(_agree(first, f, values) for f in top[1:]) else None


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


def _settle_masses(fields: list[Field], values: Values) -> list[Field]:
    """Let the values witness for a column headed only "mass" beside a recovered mass.

    It is the initial mass if no other heading claims that, every value is at least the recovered
    one, and the values lie as close together as masses weighed out to a target do.
    """
    taken = {(f.column, f.trial): f for f in fields if f.state == "understood"}
    done = [_without_vessel(f, taken) for f in fields]
    fields = done[:]
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
        if weighed_out(replace(f, column="initial_mass_g"), recovered, values):
            note = "headed only as a mass; never below the recovered mass and all close together"
            done[at] = replace(
                f, column="initial_mass_g", state="understood", how="values", note=note
            )
    return done


_ONLY = re.compile(r"\b(?:solid|powder|lime|residue) only\b", re.IGNORECASE)


def _without_vessel(field: Field, taken: Mapping[tuple[str, str], Field]) -> Field:
    """Take "solid alone" beside "paper and solid" for the solid off the paper."""
    pair = {"initial_mass_g", "recovered_mass_g"}
    said = field.source.heading
    alone = "alone" in concepts_in(said) or _ONLY.search(said) is not None
    if field.state != "open" or set(field.source.reading.candidates) != pair or not alone:
        return field
    known = {c for c, trial in taken if trial == field.trial}
    left = pair - known
    if len(left) == 2 and "recovered_with_paper_mass_g" in known:
        left = {"recovered_mass_g"}
    if len(left) != 1:
        return field
    note = "the solid without a vessel or paper, beside the columns it goes with"
    return replace(field, column=left.pop(), state="understood", how="values", note=note)


def _open_what_values_deny(fields: list[Field], values: Values) -> list[Field]:
    """Leave open what the rest of the table speaks against: numbers below "solid" are no names."""
    done = []
    impossible = contradicted(fields, values)
    for f in fields:
        note = impossible.get(f.place, "")
        cells = [c for c in values.get(f.place, ()) if c is not None]
        if f.column.endswith("_min") and f.unit is None and like_weighings(cells):
            note = f"may mean {f.column}, but the numbers look weighed"
        if f.column == "filtration" and like_weighings(cells):
            note = "may mean the filtration, but the numbers look weighed"
        if f.column == "solute" and cells and all(map(looks_like_number, cells)):
            note = "may mean the name of the solid or its mass"
        done.append(replace(f, column="", state="open", note=note) if note else f)
    return done


_TITRATED = TITRATION | {"titrant_mol_per_l"}


def _filtrate_of_dish(fields: list[Field]) -> list[Field]:
    """Take an aliquot beside dishes, where nothing was titrated, for the one evaporated."""
    known = {f.column for f in fields}
    if "dish_mass_g" not in known or known & (_TITRATED | {"evaporation_aliquot_ml"}):
        return fields
    column = "evaporation_aliquot_ml"
    return [replace(f, column=column) if f.column == "aliquot_ml" else f for f in fields]


_OUT = re.compile(r"\bout\b")
_OUT_OF = frozenset({"solid", "mass", "reagent", "final", "unit", "amount"})


def _taken_out(fields: list[Field], values: Values) -> list[Field]:
    """Settle "Ca(OH)2 out": out of the bottle at the start, or out of the filter in the end.

    Where nothing else is the initial mass, it is out of the bottle if another column is the
    recovered mass and never above it; without another it may be either.
    """
    known = [f for f in fields if f.column == "recovered_mass_g"]
    if any(f.column == "initial_mass_g" for f in fields):
        return fields
    for f in known:
        words = words_of(normal(unit_in_heading(f.source.heading)[0]))
        said = keywords.concepts_among(words)
        if not _OUT.search(normal(f.source.heading)) or not said <= _OUT_OF:
            continue
        others = [g for g in known if g is not f]
        start = replace(f, column="initial_mass_g", how="values", note="never below what was left")
        if len(others) == 1 and never_below(start, others[0], values):
            new = start
        else:
            new = replace(f, column="", state="open", note="out of the bottle, or of the filter?")
        return [new if g is f else g for g in fields]
    return fields


def _filtrate_titrated(fields: list[Field]) -> list[Field]:
    """Take a volume of filtrate beside the acid, or beside a dish, for what was used of it."""
    known = {f.column for f in fields}
    titrated = bool(known & (_TITRATED - {"titrant_mol_per_l"}))
    column = "aliquot_ml" if titrated else "evaporation_aliquot_ml"
    if column in known or not (titrated or "dish_mass_g" in known):
        return fields
    found = [f for f in fields if f.state in ("open", "unknown") and _is_filtrate(f)]
    if len(found) != 1:
        return fields
    f = found[0]
    note = "filtrate beside what was titrated or evaporated"
    new = replace(f, column=column, unit=unit_in_heading(f.source.heading)[1], state="understood",
                  how="values", note=note)  # fmt: skip
    return [new if g is f else g for g in fields]


def _differences(fields: list[Field], values: Values) -> list[Field]:
    """Take the acid used and the solid off the paper from columns that only say "difference"."""
    place = burette_used(fields, values)
    acid = next((replace(f, column="titrant_ml") for f in fields if f.place == place), None)
    found = {
        f.place: replace(f, state="understood", how="arithmetic", note=note)
        for f, note in (
            (acid, "the burette's end less its start"),
            (off_paper(fields, values), "the paper with the solid less the paper"),
        )
        if f is not None
    }
    return [found.get(f.place, f) for f in fields]


# A group rounds, and works with the digits it has (judgement).
_ROUNDED = 0.06
_HUNDREDTH = re.compile(r"100\s*(?:ml|g|cm)", re.IGNORECASE)


def _own_result(fields: list[Field], values: Values) -> list[Field]:
    """Take "g per L" on a group's own card for its result, where its readings give just that."""
    found = [
        f for f in fields if f.state == "open" and ONLY_RATIO.fullmatch(f.source.heading.strip())
    ]
    if len(found) != 1 or any(f.column == "reported_solubility" for f in fields):
        return fields
    made = per_litre(fields, values)
    if made is None:
        return fields
    f = found[0]
    share = 0.1 if _HUNDREDTH.search(f.source.heading) else 1.0
    own = readings(replace(f, column="reported_solubility"), values) / share
    both = np.isfinite(own) & np.isfinite(made)
    if not both.any() or (np.abs(own - made)[both] > _ROUNDED * np.abs(made[both])).any():
        return fields
    new = replace(f, column="reported_solubility", state="understood", how="arithmetic",
                  note="the mass dissolved, divided by the water, gives it")  # fmt: skip
    return [new if g is f else g for g in fields]


# So many answers that name the same choice are no coincidence (judgement).
_ANSWERS = 0.8


def _filtered_by_values(fields: list[Field], values: Values) -> list[Field]:
    """Take a column whose words all say vacuum or gravity for the filtration."""
    asked = quantity("filtration")
    if any(f.column == "filtration" for f in fields):
        return fields
    found = []
    for f in fields:
        texts = [c.text.strip() for c in values.get(f.place, ()) if c is not None]
        words = [t for t in texts if len(t) > 2 and choice(t, asked)[0] is not None]
        if f.state == "unknown" and len(words) > 1 and len(words) >= _ANSWERS * len(texts):
            found.append(f)
    if len(found) != 1:
        return fields
    new = replace(found[0], column="filtration", state="understood", how="values",
                  note="every answer says vacuum or gravity")  # fmt: skip
    return [new if f is found[0] else f for f in fields]


def _is_filtrate(field: Field) -> bool:
    rest, unit = unit_in_heading(field.source.heading)
    said = concepts_in(rest)
    volume = unit is not None and dimension_of(unit) == "volume"
    return volume and "filtrate" in said and said <= {"filtrate", "volume", "amount", "unit"}


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


def is_number(field: Field) -> bool:
    """Tell whether a field holds numbers of ours."""
    return bool(
        field.column and is_canonical(field.column) and quantity(field.column).kind == "number"
    )
