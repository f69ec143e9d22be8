"""A number with words behind it that leave it as it is: "2.10 g (some spilled)", "15 min, by hand".

The words are kept in the note and the value is marked, because they may say how far to trust it.
Words that could change the number ("not", "with paper", "each", "or", "wet") leave it unread.
"""

from __future__ import annotations

import re

from solubility_stats.sheets.model import Decimal as Mark
from solubility_stats.sheets.numbers import LITERAL, Doubt, Reading, read_literal
from solubility_stats.sheets.plain_number import unit_of
from solubility_stats.sheets.remarks.vocabulary import said

_BEHIND = re.compile(
    rf"(?P<number>{LITERAL})(?:\s*(?P<unit>[^\W\d_]{{1,7}}\b\.?|°\s?[CF]\b))?"
    r"\s*(?P<sep>[,;:(–—]|\s-)?\s*(?P<words>[^\W\d_][^\d?()=+×*<>±]{2,59})\)?[.!]*"
)
_MOST_WORDS = 8
# What happened to the solid leaves what was weighed: "left on the paper", "stuck to the beaker".
_WHERE_IT_WENT = re.compile(
    r"\b(?:left|lost|stuck|spilled|spilt|stayed|remain\w*|went)\s+(?:\w+\s+){0,2}"
    r"(?:on|onto|to|in|into|through|over|behind|at)\s+(?:the\s+|our\s+)?(?:filter\s+)?\w+"
    r"|\b(?:the )?(?:filter )?paper (?:tore|ripped|torn|broke|split)\b"
    r"|\bno (?:heat|heating|lid|stirring|stirrer|rinsing|washing|vacuum|pump)\b",
    re.IGNORECASE,
)
_CHANGES = re.compile(
    said("not", "but", "instead", "should", "really", "wrong", "error", "by_mistake", "without",
         "with", "vessel", "paper", "taken_off", "swapped", "void", "wrong_solid", "unsure",
         "ignore", "hedge", "earlier", "with_paper", "paper_of", "forgot")
    + r"|\b(?:and|und|oder|or|ou|eller|lub|albo|nebo|tai|vai|veya|redo\w*|repeat\w*|kilo\w*|"
    r"milli\w*|pounds?|ounces?|oz|each|per|both|twice|half|quarter|double|one|two|three|four|five|six|seven|eight|nine|"
    r"ten|twelve|a ?few|couple|dozen|then|plus|more|less|extra|another|others?|again|before|wet|"
    r"nass|mouill\w+|mojad\w+|bagnat\w+|nat|våt|mokr\w+|group|grp|table|team|trial|run|section|old|"
    r"new|target|goal|expected|ago|than|avg|average|mean|max\w*|min(?:imum)?|up|least|over|under|"
    r"above|below|nearly|almost|just|tot(?:al)?|sum|range|days?|hours?|hrs?|weeks?|overnight|"
    r"previous\w*|last|first|second|third|half-?way|x|times|fills?|pours?|empty|full|lid|"
    r"jeweils?|je|pro|chaque|chacun\w*|cada|ogni|elk\w*|per|varje|hver\w*|każd\w+)\b",
    re.IGNORECASE,
)  # fmt: skip


# "0.35 g lost" is what is missing, and "150 mL left" not what was added.
_OTHER_AMOUNT = re.compile(
    r"(?:was |were )?(?:lost|missing|dissolved|gone|spilled|spilt|verloren|gelöst|perdu|dissous|"
    r"perdido|disuelto|perso|disciolto)",
    re.IGNORECASE,
)
_LEFT = re.compile(r"\b(?:left|remaining|übrig|reste|resto|rimast\w|over)\b", re.IGNORECASE)


def with_words(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read a number and its unit before words that do not change it, ``None`` for all else.

    Parameters
    ----------
    body : str
        Text of the cell.
    mark : str or None
        Decimal mark decided for the column.
    dimension : str or None
        Dimension of the column; a plain number keeps the words as its unit elsewhere.
    """
    found = _BEHIND.fullmatch(body) if dimension is not None else None
    if found is None:
        return None
    unit, words = found["unit"] or "", found["words"].strip(" .,;-–")
    known = unit_of(unit, dimension)
    if known is None:  # "2.12 still damp": no unit, and the words begin at once
        if found["sep"]:
            return None
        words, known = f"{unit} {words}", ""
    if not (known or found["sep"] or len(words.split()) > 1 or _HOW_IT_WAS.fullmatch(words)):
        return None  # "2.51 furlongs" is in a unit that nobody knows
    telling = _WHERE_IT_WENT.sub(" ", words)
    if _OTHER_AMOUNT.fullmatch(words) or (dimension == "volume" and _LEFT.search(words)):
        return None
    bracketed = found["sep"] == "(" and len(words.split()) > 1  # no unit: "49.5 (air bubble)"
    if not bracketed and _begins_with_unit(words):
        return None
    if _CHANGES.search(telling) or len(words.split()) > _MOST_WORDS:
        return None
    number = read_literal(found["number"], mark)
    if isinstance(number, Doubt):
        return None
    note = f"with the words '{words}'"
    return Reading(number.value, number.decimals, known, note=note, flags=("unclear",))


def _begins_with_unit(words: str) -> bool:
    """Tell whether the words begin with what may be a unit of anything: "2.1 lbs spilled"."""
    return len(words.split()[0].strip(".,")) < _SHORTEST_WORD and not _SMALL.match(words)


# "1.60 greyish" tells how it was.
_HOW_IT_WAS = re.compile(r"[a-z]+(?:ish|y|ed|lt)|damp|moist|feucht|low|high|ok|fine", re.IGNORECASE)
_SHORTEST_WORD = 4
_SMALL = re.compile(
    r"(?:by|in|on|at|a|the|is|was|bit|dry|hot|off|at|no|im|am|von|der|die|das|en|de|le|la|el|al|"
    r"di|il|på|i|w|z|na|het|van|per|raw|lab|our)\b",
    re.IGNORECASE,
)
