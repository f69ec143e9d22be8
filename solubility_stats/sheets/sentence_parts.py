"""A sentence taken apart at commas, brackets and dashes: each part speaks of one thing."""

from __future__ import annotations

import re

_PARTS = re.compile(r"[;()|\n→•]|\s·\s|,\s|\.\s|\s[-–—]\s|[!?]|\s{2,}")
NUMBER = r"(?<![\w.,])\d{1,3}(?:[.,]\d+)?"


def parts_of(text: str) -> list[str]:
    """Return the parts of a sentence, without the marks between them."""
    return [p.strip() for p in _PARTS.split(text) if p.strip()]
