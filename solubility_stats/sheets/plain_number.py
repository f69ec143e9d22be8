"""A number with its unit, as most cells hold it; what all longer expressions are made of."""

from __future__ import annotations

import re

from solubility_stats.sheets.model import Decimal as Mark
from solubility_stats.sheets.numbers import (
    LITERAL,
    Doubt,
    Number,
    Reading,
    read_literal,
)
from solubility_stats.sheets.units import BARE_DEGREE, known_unit

# Words that may follow a value without changing its meaning.
_HARMLESS_TAIL = re.compile(
    r"[\s,]*(?:\bof\b|\bwater\b|\bh2o\b|\bwasser\b|\beau\b|\bdi\b|\bd\.?i\.?(?=\s)|\bdistilled\b"
    r"|\bdeionised\b|\bdeionized\b|\bca\(oh\)2|\bcalcium hydroxide\b|\bsolid\b|\bsalt\b|\bhcl\b|"
    r"\b(?:hydrochloric )?acid\b|\bexactly\b"
    r"|\(?re-?weighed\)?|\btotal\b|\bin total\b)\s*$",
    re.IGNORECASE,
)
UNIT = r"(?P<unit{n}>[cd]m\s?\^?[3³]|[^\W\d_%°][^\d+±–~<>=/*]*|°\s?[CFK]?|%)?"
# Of a solubility or another figure whose unit is kept as written.
_LIKE_UNIT = re.compile(
    r"(?:[mkµμ]?g|gm|gr|grams?\w*|gramm\w*|gramos?|gramas?|grammi|milligram\w*|m?mol\w*|m?M\b|%|ppm|"
    r"percent|per\b)|[^\s]*/",
    re.IGNORECASE,
)
# What goes on with the number: "1.6 x 10-3", "1.6E-3".
_TIMES_TEN = re.compile(r"[xX×*·]\s*(?:\d|ten\b)|[eE]\s?[-+–]?\d")
_PLAIN = re.compile(rf"(?P<a>{LITERAL}[.,]*)(?P<tail>.*)", re.DOTALL)


def unit_of(text: str | None, dimension: str | None) -> str | None:
    """Return a unit name, ``""`` for no unit, ``None`` if the text is no unit."""
    words = (text or "").strip().strip(",;").strip()
    words = re.sub(r"^\((.*)\)$", r"\1", words).strip()
    if dimension == "time" and words in ("'", "′", "’"):
        return "min"
    while words:
        if words.casefold() in BARE_DEGREE:
            return ""
        if dimension is None:
            return words if _is_free_unit(words) else None
        if unit := known_unit(words, dimension):
            return unit
        shorter = _HARMLESS_TAIL.sub("", words)
        if shorter == words:
            return None
        words = shorter.strip()
    return ""


def _is_free_unit(words: str) -> bool:
    """Tell whether words behind a number can be its unit: no second value among them."""
    numbers = re.findall(r"\d+(?:[.,]\d+)*", words)
    if _TIMES_TEN.match(words) or not _LIKE_UNIT.match(words):
        return False
    shaped = re.fullmatch(r"[A-Za-zμ%°][^=<>~±?!,;]{0,40}", words)
    return shaped is not None and all(n in ("1", "2", "3", "10", "100", "1000") for n in numbers)


def plain(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read a number and perhaps its unit, ``None`` if the text is more than that."""
    match = _PLAIN.fullmatch(body)
    if match is None:
        return None
    token, tail = match["a"], match["tail"]
    if tail and tail[0].isdigit():
        return None
    unit = unit_of(tail, dimension)
    if unit is None:
        return None
    if tail.strip() and token[-1] in ".,":
        token = token[:-1] if token[-1] == "," and tail.startswith(" ") else token
    number = read_literal(token, mark)
    if isinstance(number, Doubt):
        return Reading(
            doubt=number.reason, likely=number.likely, readings=number.readings, unit=unit
        )
    return Reading(number.value, number.decimals, unit, note=number.note)


def two_numbers(
    match: re.Match[str], mark: Mark | None, dimension: str | None
) -> tuple[Number, Number, str] | Reading:
    """Read the two numbers and the common unit of a two-number form."""
    first, second = read_literal(match["a"], mark), read_literal(match["b"], mark)
    units = {unit_of(match["unit1"], dimension), unit_of(match["unit2"], dimension)} - {""}
    no_unit = None in units or "%" in units or len(units) > 1
    if isinstance(first, Doubt) or isinstance(second, Doubt) or no_unit:
        return Reading(doubt="two numbers of which one is not clear")
    return first, second, next(iter(units), None) or ""
