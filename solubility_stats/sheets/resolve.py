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
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.codes import (
    batch_is_section,
    days_are_section,
    nameless_group,
    nameless_pair,
    nameless_part,
    wider_is_section,
)
from solubility_stats.sheets.field import Field, State, Values
from solubility_stats.sheets.fills import (
    go_on_counting,
    lone_letter_is_unit,
    number_repeated_fills,
    open_incomplete_fills,
    open_readings_of_no_volume,
    open_volume_with_nameless_neighbours,
    sums_are_totals,
    take_numbered_series,
)
from solubility_stats.sheets.filtrate import filtrate_of_dish, filtrate_titrated
from solubility_stats.sheets.goes import goes_asked, without_attempts
from solubility_stats.sheets.heading_forms import ONLY_RATIO
from solubility_stats.sheets.keywords import UNSURE
from solubility_stats.sheets.likely import take_likely
from solubility_stats.sheets.lines import is_telling
from solubility_stats.sheets.relations import (
    burette_used,
    contradicted,
    dish_residues,
    off_paper,
    per_litre,
    readings,
    weighed_in_vessels,
)
from solubility_stats.sheets.rivals import left_alone, settle_rivals
from solubility_stats.sheets.solid_masses import settle_masses, taken_out
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.titre import mean_of_titres, result_of_route
from solubility_stats.sheets.twice import (
    dried_again,
    dried_once_more,
    first_and_last,
    mean_of_weighings,
    never_two,
    second_taken_for_first,
)
from solubility_stats.sheets.view import like_weighings, looks_like_number
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
    fields = number_repeated_fills(lone_letter_is_unit(fields))
    fields = sums_are_totals(go_on_counting(fields), values)
    fields = open_readings_of_no_volume(fields, values)
    fields = open_volume_with_nameless_neighbours(fields, values)
    fields = _settle_trials(fields)
    fields = dried_again(filtrate_titrated(fields))
    fields = dried_once_more(fields, values, _possible_runs(fields, values))
    fields = taken_out(fields, values)
    note = "a vessel that the solid was weighed in"
    vessels = weighed_in_vessels(fields, values)
    fields = [
        replace(f, column="", state="same", note=note) if f.place in vessels else f for f in fields
    ]
    on_dishes = dish_residues(fields, values)
    fields = [replace(f, column="", state="derived") if f.place in on_dishes else f for f in fields]
    fields = first_and_last(mean_of_weighings(without_attempts(fields), values))
    fields = settle_rivals(wider_is_section(batch_is_section(fields, values), values), values)
    fields = _differences(settle_masses(fields, values), values)
    fields = _open_what_values_deny(fields, values)
    fields = second_taken_for_first(fields, values)
    fields = nameless_pair(goes_asked(days_are_section(fields, values), values), values)
    fields = nameless_group(fields, values)
    fields = nameless_part(fields, values)
    fields = _dried_by_answers(_filtered_by_values(fields, values), values)
    if not all(f.column or f.state in ("personal", "told") for f in fields):
        # Only a place that is still open has anything for the arithmetic to settle.
        lines = _possible_runs(fields, values)
        fields = arithmetic(fields, values, lines)
        likely = take_likely(take_numbered_series(fields, values), values, lines)
        fields = arithmetic(likely, values, lines) if likely != fields else fields
    fields = mean_of_titres(_own_result(left_alone(fields), values), values)
    fields = result_of_route(filtrate_of_dish(_open_what_stands_alone(fields)))
    return _remarks_below_any_word(never_two(open_incomplete_fills(fields, values)), values)


# A remark has so many words with a small letter; ticks, "ok" and names have fewer (judgement).
_WORDS_OF_REMARK = 3


def _remarks_below_any_word(fields: list[Field], values: Values) -> list[Field]:
    """Take the one column of texts with a remark among them for the remarks: "check", "Tick"."""
    if any(f.column == "comment" for f in fields):
        return fields
    found = []
    for f in [f for f in fields if f.state == "unknown"]:
        cells = [c for c in values.get(f.place, ()) if c is not None]
        texts = [c.text for c in cells if isinstance(c.value, str) and not looks_like_number(c)]
        told = any(sum(w[0].islower() for w in t.split()) >= _WORDS_OF_REMARK for t in texts)
        if told and len(texts) == len(cells):
            found.append(f)
    if len(found) != 1:
        return fields
    note = "texts with remarks among them"
    new = replace(found[0], column="comment", state="understood", how="values", note=note)
    return [new if f is found[0] else f for f in fields]


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


def _dried_by_answers(fields: list[Field], values: Values) -> list[Field]:
    """Take "dried to constant mass" over nothing but yes and no for the question, not the mass."""
    asked = [
        f for f in fields
        if f.state == "open" and {*f.source.reading.candidates} - {UNSURE} == _MASS_OR_QUESTION
    ]  # fmt: skip
    if len(asked) != 1 or any(f.column == "constant_mass" for f in fields):
        return fields
    texts = [c.text for c in values.get(asked[0].place, ()) if c is not None]
    if not texts or any(flag(t) is None or t.strip().isdigit() for t in texts):
        return fields
    new = replace(asked[0], column="constant_mass", state="understood", how="values",
                  note="every answer is yes or no")  # fmt: skip
    return [new if f is asked[0] else f for f in fields]


_MASS_OR_QUESTION = {"recovered_mass_g", "constant_mass"}


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
