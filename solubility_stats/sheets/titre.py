"""The titre of a run from the two readings of its burette, or checked against them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from solubility_stats.sheets import concepts
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.relations import readings

# The readings of a titration itself, by which one knows that a group titrated.
TITRATION = frozenset({"titrant_ml", "burette_start_ml", "burette_end_ml"})
# A titre worked out by hand may be rounded to the step of the burette (0.1 mL, ISO 385).
_ROUNDING_ML = 0.101


def settle_titre(drafts: Sequence[Draft]) -> None:
    """Set ``titrant_ml`` to burette end minus burette start where no titre is written.

    A written titre stands; one that the readings contradict is marked.
    """
    for draft in drafts:
        start, end = (draft.values.get(c) for c in ("burette_start_ml", "burette_end_ml"))
        if isinstance(start, float) and isinstance(end, float):
            _settle(draft, start, end)


def _settle(draft: Draft, start: float, end: float) -> None:
    written, used = draft.values.get("titrant_ml"), end - start
    said = f"the burette went from {start:g} to {end:g} mL"
    if isinstance(written, float):
        if abs(written - used) > _ROUNDING_ML:
            draft.flag("titrant_ml", "implausible", f"{said}, the written titre is {written:g} mL")
    elif "titrant_ml" in draft.unread:
        return
    elif used <= 0.0:
        draft.unread.add("titrant_ml")
        draft.flag("titrant_ml", "unclear", f"{said}, so the acid used is not known")
    else:
        draft.values["titrant_ml"] = round(used, 6)  # takes off the dust of binary subtraction
        decimals = [draft.decimals.get(c) for c in ("burette_start_ml", "burette_end_ml")]
        known = [d for d in decimals if d is not None]
        if len(known) == 2:
            draft.decimals["titrant_ml"] = min(known)


_MEAN = re.compile(r"\b(?:mean|average|avg|concordant)\b", re.IGNORECASE)


def mean_of_titres(fields: list[Field], values: Values) -> list[Field]:
    """Take the mean beside two or more titres of one run for the acid used.

    "1st | 2nd | mean" below "Acid used (mL)": which titre counts is then no question.
    """
    rough = [f for f in fields if f.state == "open" and "titrant_ml" in f.source.reading.candidates]
    means = [
        f for f in fields
        if f.state == "derived" and f.unit == "mL" and _MEAN.search(f.source.heading)
    ]  # fmt: skip
    if len(rough) < 2 or len(means) != 1 or any(f.column in TITRATION for f in fields):
        return fields
    mean = replace(means[0], column="titrant_ml")
    titres = np.vstack([readings(replace(f, column="titrant_ml"), values) for f in rough])
    written, worked_out = readings(mean, values), titres.mean(axis=0)
    both = np.isfinite(written) & np.isfinite(worked_out)
    if both.sum() < 2 or (np.abs(written - worked_out)[both] > _ROUNDING_ML).any():
        return fields
    note = "the mean of the titres beside it"
    new = replace(mean, state="understood", how="arithmetic", note=note)
    return [new if f is means[0] else f for f in fields]


_EVAPORATED = {"dish_residue_mass_g"}
_ROUTE_WORDS = {
    "titrated": TITRATION,
    "titre": TITRATION,
    "evaporation": _EVAPORATED,
    "dish": _EVAPORATED,
}


# "g dm-3"
_OF_UNIT = frozenset({"dm", "cm", "l", "ml", "1", "3", "g", "mg"})


def result_of_route(fields: list[Field]) -> list[Field]:
    """Take "solubility by titration" for the result of who titrated, if it is the only one.

    It enters last, so that nothing is worked out of it for the route by the residue.
    """
    known = {f.column for f in fields}
    meant = [f for f in fields if "reported_solubility" in f.source.reading.candidates]
    if len(meant) != 1 or meant[0].state != "open" or "reported_solubility" in known:
        return fields
    strange = [w for w in meant[0].source.reading.strange if w not in _OF_UNIT]
    said = [concepts.concepts_of(word) for word in strange]
    routes = {r for r in _ROUTE_WORDS if said and all(r in c for c in said)}
    if not any(known & _ROUTE_WORDS[r] for r in routes):
        return fields
    new = replace(
        meant[0], column="reported_solubility", state="understood", how="values",
        note="the result of the only route it can be of",
    )  # fmt: skip
    return [new if f is meant[0] else f for f in fields]
