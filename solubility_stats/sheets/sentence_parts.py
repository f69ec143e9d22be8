"""A sentence taken apart at commas, brackets and dashes: each part speaks of one thing."""

from __future__ import annotations

import re

_PARTS = re.compile(r"[;()|\n→•]|\s·\s|,\s|\.\s|\s[-–—]\s|[!?]|\s{2,}")
NUMBER = r"(?<![\w.,])\d{1,3}(?:[.,]\d+)?"
# Words for everybody and for each.
FOR_ALL = re.compile(
    r"\b(?:every\w*|each|all|always|throughout|"
    r"in total|au total|en total|in totale|insgesamt|in totaal|no total|"
    r"per (?:trial|run|group|pair|team)|"
    r"iedereen|elke?|allemaal|all[ea]|jede[rs]?|chaque|tou(?:s|tes|t le monde)|todo?s|todas|"
    r"tutt[ie]|ogni|cada|wszyscy|każd\w+|varje|hver\w*|samtlige|samtliga|všichni|každ\w+)\b",
    re.IGNORECASE,
)


def parts_of(text: str) -> list[str]:
    """Return the parts of a sentence, without the marks between them."""
    return [p.strip() for p in _PARTS.split(text) if p.strip()]
