"""Lines of a log that whoever kept it took back: "VOID, boat not tared, next line is right".

A remark may as well stand on the line that replaces another ("corrected, first was wrong"), so the
lines before and after it have a say.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Sequence
from typing import NamedTuple

_VOID = re.compile(
    r"\b(?:void(?:ed)?|wrong|ignore|disregard|discard(?:ed)?|cancel\w*|scrap(?:ped)?|invalid|"
    r"mistake|(?:do not|don't|not) (?:use|count)\w*|deleted?|typo|error|struck|"
    r"ungültig|falsch|annul\w*|faux|fausse|nulo|anulad\w*|errad[oa]|sbagliat[oa]|ongeldig|fout)\b",
    re.IGNORECASE,
)
# The line that counts is another than this one.
_ELSEWHERE = re.compile(
    r"\b(?:next|below|following|see|later|then|nächste\w*|unten|suivante?|siguiente|seguinte|"
    r"successiv[oa]|volgende)\b",
    re.IGNORECASE,
)
# The line that does not count is another than this one.
_COUNTS = re.compile(
    r"\b(?:repeat(?:ed)?|re-?(?:weighed|measured|done|read|entered)|correct(?:ed|ion)?|good|right|"
    r"previous|earlier|above|first|last)\b",
    re.IGNORECASE,
)
_CORRECTED = re.compile(
    r"\b(?:correct(?:ed|ion)|korrigiert|corrig\w+|corrett[oa])\b", re.IGNORECASE
)


# "lime weighed CORRECTION, line above was with the boat": a name, and what it says of the lines.
_NAMED = re.compile(
    rf"(?P<name>\S.*?)[\s,;:.(\[–-]+(?P<said>(?:{_VOID.pattern}|{_CORRECTED.pattern}).*)",
    re.IGNORECASE | re.DOTALL,
)
_SAID_FIRST = re.compile(
    rf"(?P<said>(?:{_CORRECTED.pattern}))[\s:,;(–-]+(?P<name>\S.*?)(?:\s*\((?:misread|mistyped|sorry)\))?",
    re.IGNORECASE | re.DOTALL,
)


def without_remark(name: str) -> tuple[str, str]:
    """Return what a line of a log is about, and what it says of itself or of the line above.

    Parameters
    ----------
    name : str
        The text that names the reading of a line.
    """
    found = _SAID_FIRST.fullmatch(name) or _NAMED.fullmatch(name)
    return (found["name"].strip(), found["said"].strip()) if found else (name, "")


def takes_back(text: str) -> str:
    """Return which line a text without a value takes back: ``above``, ``below`` or none of them."""
    if _VOID.search(text) is None:
        return ""
    return "below" if _ELSEWHERE.search(text) and not _COUNTS.search(text) else "above"


class Logged(NamedTuple):
    """One line of a log: what was read of whom, and the remark beside it."""

    line: int
    what: Hashable
    remark: str


def withdrawn(logged: Sequence[Logged]) -> dict[int, bool]:
    """Return the lines taken back, each with whether another line stands in its place.

    Parameters
    ----------
    logged : sequence of Logged
        The lines of a log in order.
    """
    found: dict[int, bool] = {}
    before: dict[Hashable, int] = {}
    after = {one.what: one.line for one in logged}
    for line, what, remark in logged:
        void = _VOID.search(remark)
        earlier = before.get(what)
        counts = _COUNTS.search(remark) and not _ELSEWHERE.search(remark)
        if earlier is not None and ((void and counts) or _CORRECTED.search(remark)):
            found[earlier] = True
        elif void:
            found[line] = after[what] > line
        before[what] = line
    return found
