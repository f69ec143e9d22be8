"""What of the filtrate was used: the aliquot that was titrated, or evaporated in a dish."""

from __future__ import annotations

import re
from dataclasses import replace

from solubility_stats.sheets.field import Field
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.titre import TITRATION
from solubility_stats.sheets.units import dimension_of, unit_in_heading

_TITRATED = TITRATION | {"titrant_mol_per_l"}


def filtrate_of_dish(fields: list[Field]) -> list[Field]:
    """Take an aliquot beside dishes, where nothing was titrated, for the one evaporated."""
    known = {f.column for f in fields}
    if "dish_mass_g" not in known or known & (_TITRATED | {"evaporation_aliquot_ml"}):
        return fields
    column = "evaporation_aliquot_ml"
    return [replace(f, column=column) if f.column == "aliquot_ml" else f for f in fields]


def filtrate_titrated(fields: list[Field]) -> list[Field]:
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


# "Portion taken (mL)" beside the empty dish
_PORTION = re.compile(
    r"(?:volume of )?(?:portion|sample)s?"
    r"(?: (?:taken|used|evaporated|titrated|pipetted))?(?: volume)?",
    re.IGNORECASE,
)


def _is_filtrate(field: Field) -> bool:
    rest, unit = unit_in_heading(field.source.heading)
    said = concepts_in(rest)
    volume = unit is not None and dimension_of(unit) == "volume"
    if volume and _PORTION.fullmatch(rest.strip()):
        return True
    return volume and "filtrate" in said and said <= {"filtrate", "volume", "amount", "unit"}
