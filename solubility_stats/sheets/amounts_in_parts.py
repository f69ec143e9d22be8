"""Amounts written in their parts, "3 × 100", "100+100+50" or "50, 50, 49", and their total."""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal

from solubility_stats.sheets.durations import NUMBER_WORDS
from solubility_stats.sheets.model import Decimal as Mark
from solubility_stats.sheets.numbers import (
    SIMPLE,
    Doubt,
    Number,
    Reading,
    read_literal,
)
from solubility_stats.sheets.plain_number import UNIT, plain, unit_of

_TERM = re.compile(rf"\s*(?P<a>{SIMPLE})\s*{UNIT.format(n=1)}\s*")
_COUNT = "[1-9]|1\\d|20|one|two|three|four|five|six|seven|eight|nine|ten|twice|thrice"
_OFTEN = r"(?:\s?[x×*·]\s?|\s+times\s+|\s+(?:fills?|lots?|pours?|portions?)\s+(?:of\s+)?)"
_TIMES = re.compile(
    rf"(?P<n>{_COUNT}){_OFTEN}(?:(?:of|the)\s+)*(?P<a>{SIMPLE})\s*{UNIT.format(n=1)}"
    rf"|(?P<b>{SIMPLE})\s*{UNIT.format(n=2)}\s?[x×*·,]?\s?(?P<m>{_COUNT})(?:\s+times)?",
    re.IGNORECASE,
)
_PRODUCT = re.compile(
    rf"\s*(?P<n>[1-9]|1\d|20)\s?[x×*·]\s?(?P<a>{SIMPLE})\s*{UNIT.format(n=1)}\s*", re.IGNORECASE
)
_COUNTS = NUMBER_WORDS | {"twice": 2, "thrice": 3}
# "200 mL (4 x 50 mL)", "3 x 50 mL = 150 mL": the total and how it came about.
_TOTAL_AND_PARTS = re.compile(
    r"(?P<total>[^()=]+)\((?P<parts>[^()=]+)\)|(?P<parts2>[^()=]+)=(?P<total2>[^()=]+)"
)
_IN_ALL = re.compile(
    r"\s*(?:in total|total|in all|altogether)\s*$|^\s*(?:total|=)\s*", re.IGNORECASE
)
THEN = re.compile(
    r"\s*,?\s*\b(?:(?:and )?then|and|plus|followed by)(?: (?:another|an extra|a further))\s+"
    r"|\s*,?\s*\b(?:and )?then\s+",
    re.IGNORECASE,
)
_AND = r"(?:and|und|et|e|y|en|och|og|i|a|ja|ve)\b"
_LIST = re.compile(rf"\s*(?:,\s+(?:{_AND}\s+)?|;\s*|/|\b{_AND}|&)\s*")
# "50,50,50": three numbers of a cylinder each; two may be one with a decimal comma.
_COMMAS = re.compile(r"[1-9]\d{1,2}(?:,[1-9]\d{1,2}){2,}")
# "50 50 50 50", "100 100 50", but "1 000" may be a thousand.
_SPACED = re.compile(r"\d{2,3}(?:\s+\d{2,3})*\s+\d{2}")


def times(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read "3 × 100 mL", "100 mL twice" and the like: a volume poured several times."""
    match = _TIMES.fullmatch(body)
    if match is None or dimension != "volume":
        return None
    said = (match["n"] or match["m"]).casefold()
    if match["m"] and said.isdigit() and not re.search(r"[x×*·]|times", body, re.IGNORECASE):
        return None  # "50 2"
    number = read_literal(match["a"] or match["b"], mark)
    named = match["unit1"] or match["unit2"] or ""
    behind = re.sub(r"(?:\A|\s+)[x×*·]\s*\Z", "", named)  # "50ml x 4", "50 x 4"
    unit = unit_of(behind, dimension)
    if isinstance(number, Doubt) or unit is None:
        return Reading(doubt="a product of which one part is not clear")
    count = _COUNTS.get(said) or int(said)
    total = number.value * count
    note = f"{count} × {number.value} = {total}"
    parts = (number.value,) * count
    return Reading(total, number.decimals, unit, note=note, notation=True, parts=parts)


def sum_of_parts(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read "100+100+50": each part is one fill, or one portion of the solid."""
    terms = body.split("+")
    if len(terms) < 2 or dimension not in ("mass", "volume"):
        return None
    terms = [t for term in terms for t in _multiplied(term)]
    matches = [_TERM.fullmatch(term) for term in terms]
    found = [m for m in matches if m is not None]
    if len(found) != len(terms):
        return None
    numbers = [read_literal(m["a"], mark) for m in found]
    units = [unit_of(m["unit1"], dimension) for m in found]
    named = {u for u in units if u != ""}
    clear = [n for n in numbers if isinstance(n, Number)]
    if len(clear) != len(numbers) or None in named or len(named) > 1:
        return Reading(doubt="a sum of which one part is not clear")
    total = sum((n.value for n in clear), Decimal(0))
    shown = " + ".join(str(n.value) for n in clear)
    unit = next(iter(named), None) or ""
    decimals = min(n.decimals for n in clear)
    parts = tuple(n.value for n in clear)
    return Reading(total, decimals, unit, note=f"{shown} = {total}", notation=True, parts=parts)


def _multiplied(term: str) -> list[str]:
    """Return the terms of a product in a sum: "2x100" of "2x100 + 50" is 100 and 100."""
    match = _PRODUCT.fullmatch(term)
    return [f"{match['a']}{match['unit1'] or ''}"] * int(match["n"]) if match else [term]


def listed_parts(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read "100, 100, 50" under a volume whose heading asks for one fill after another.

    Elsewhere several numbers may be one volume read several times.
    """
    if _COMMAS.fullmatch(body):
        body = body.replace(",", ", ")
    if _SPACED.fullmatch(body):
        body = ", ".join(body.split())
    parts = _LIST.split(THEN.sub(", ", body))
    if dimension != "volume" or len(parts) < 2:
        return None
    if not all(_TERM.fullmatch(part) or _PRODUCT.fullmatch(part) for part in parts):
        return None
    if any("," in p or ("." in p and mark == ",") for p in parts):
        return None
    return sum_of_parts("+".join(parts), mark, dimension)


def total_with_parts(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read a total beside the sum or product it comes from; they have to agree."""
    match = _TOTAL_AND_PARTS.fullmatch(body)
    if match is None or dimension != "volume":
        return None
    written = (match["total"] or match["total2"]).strip()
    inside = (match["parts"] or match["parts2"]).strip()
    if plain(_IN_ALL.sub("", written), mark, dimension) is None:
        written, inside = inside, written  # "4 x 50 mL (200 mL total)"
    total = plain(_IN_ALL.sub("", written), mark, dimension)
    parts = (
        times(inside, mark, dimension)
        or sum_of_parts(inside, mark, dimension)
        or listed_parts(inside, mark, dimension)
    )
    if total is None or parts is None or total.value is None or parts.value is None:
        return None
    if total.value != parts.value or (parts.unit and total.unit and parts.unit != total.unit):
        return Reading(doubt=f"the total is not what '{inside}' makes")
    return replace(
        parts,
        unit=total.unit or parts.unit,
        note=f"{parts.note}, as the total beside it says",
    )
