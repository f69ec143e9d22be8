"""Masses whose headings name a solid and no more: weighed out, or what was left."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from solubility_stats.sheets import concepts
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.phrases import concepts_in, words_of
from solubility_stats.sheets.relations import (
    never_below,
    weighed_out,
)
from solubility_stats.sheets.units import unit_in_heading


def settle_masses(fields: list[Field], values: Values) -> list[Field]:
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


_OUT = re.compile(r"\bout\b")
_OUT_OF = frozenset({"solid", "mass", "reagent", "final", "unit", "amount"})


def taken_out(fields: list[Field], values: Values) -> list[Field]:
    """Settle "Ca(OH)2 out": out of the bottle at the start, or out of the filter in the end.

    Where nothing else is the initial mass, it is out of the bottle if another column is the
    recovered mass and never above it; without another it may be either.
    """
    known = [f for f in fields if f.column == "recovered_mass_g"]
    if any(f.column == "initial_mass_g" for f in fields):
        return fields
    for f in known:
        words = words_of(normal(unit_in_heading(f.source.heading)[0]))
        said = concepts.concepts_among(words)
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
