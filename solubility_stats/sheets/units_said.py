"""Units stated for a whole sheet: all masses in mg, temperatures Fahrenheit."""

from __future__ import annotations

import re
from collections.abc import Sequence

from solubility_stats.sheets.units import dimension_of, known_unit

_UNITS = re.compile(
    r"\b(?P<of>mass(?:es)?|weigh(?:t|ts|ings)|volumes?|water|temperatures?|times)\b[^.;()]{0,45}?\s*[-–:,]?\s+"
    r"(?:(?:are|is|given|recorded|all|were|read)\s+)*in\s+(?:the\s+)?(?P<unit>°?\s?[^\W\d_]+|cm3|cm³)",
    re.IGNORECASE,
)


# "ALL WEIGHTS IN MILLIGRAMS - TEMPERATURES FAHRENHEIT", "Masses g, volumes mL"
_UNIT_NEXT = re.compile(
    r"\b(?P<of>masses|weights|volumes|temp(?:erature)?s|times)\.?\s*(?:[:=(–-]\s*)?"
    r"(?P<unit>°\s?[CF]|[^\W\d_]{1,12}|cm3|cm³)(?=\s*(?:\Z|[,;.)/|&–-]|and\b))",
    re.IGNORECASE,
)
_MEASURED = {"ma": "mass", "we": "mass", "vo": "volume", "te": "temperature", "ti": "time"}


_TITLE_WITH_UNIT = re.compile(
    r"\s*(?:all )?(?P<of>masses|weights|volumes|times)\s*\((?:all )?(?:in )?(?P<unit>\w+)\)\s*",
    re.I,
)


# "masses g, volumes mL, times min"
_UNIT_LIST = re.compile(
    r"\b(?P<of>masses|weights|volumes|times)\s+(?P<unit>mg|g|mL|L|cm3|cm³|min|h)\b(?=\s*(?:[,;.]|\Z))",
    re.I,
)


# "Everything in mg unless it says otherwise"
_EVERYTHING = re.compile(
    r"\b(?:everything|all (?:values|numbers|readings|data|figures)|alle (?:werte|angaben))"
    r"(?: (?:is|are|given|recorded|sind))* in (?P<unit>mg|milligrams?|g|grams?|kg)\b",
    re.IGNORECASE,
)


def units_said(texts: Sequence[str]) -> dict[str, str]:
    """Return the unit by dimension that texts state for the whole sheet ("All masses in mg").

    A dimension with two units is left out.
    """
    said: dict[str, set[str]] = {}
    for text in texts:
        if titled := _TITLE_WITH_UNIT.fullmatch(text):
            text = f"{titled['of']} in {titled['unit']}"
        if whole := _EVERYTHING.search(text):
            said.setdefault("mass", set()).add(known_unit(whole["unit"]) or whole["unit"])
        listed = list(_UNIT_LIST.finditer(text))
        for match in (*_UNITS.finditer(text), *(listed if len(listed) > 1 else ())):
            unit = known_unit(match["unit"])
            dimension = dimension_of(unit) if unit is not None else None
            if unit is not None and dimension is not None:
                said.setdefault(dimension, set()).add(unit)
        for match in _UNIT_NEXT.finditer(text):
            meant = _MEASURED[match["of"][:2].casefold()]
            unit = known_unit(match["unit"], meant)
            if unit is not None and dimension_of(unit) == meant:
                said.setdefault(meant, set()).add(unit)
    return {dimension: units.pop() for dimension, units in said.items() if len(units) == 1}
