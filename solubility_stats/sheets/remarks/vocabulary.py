"""The words of remarks, in the languages that sheets come in, as parts of patterns.

They stand in ``words.toml`` by what they say: *not*, *instead*, *taken off*, *void*.
"""

from __future__ import annotations

import re
import tomllib
from functools import cache
from importlib.resources import files


def said(*ideas: str) -> str:
    """Return a pattern for the words of some ideas, in any language, whole words only.

    Parameters
    ----------
    *ideas : str
        Their names in ``words.toml``.

    Returns
    -------
    str
        A group without a name, to be put into a pattern that ignores case.
    """
    listed = _listed()
    words = {w.strip() for idea in ideas for w in re.split(r"[|\n]", listed[idea])} - {""}
    # The longest first: "watch glass" before "watch".
    patterns = map(_pattern, sorted(words, key=lambda word: (-len(word), word)))
    return rf"(?<![^\W_])(?:{'|'.join(patterns)})(?![^\W_])"


@cache
def _listed() -> dict[str, str]:
    at = files("solubility_stats.sheets.remarks") / "words.toml"
    return tomllib.loads(at.read_text(encoding="utf-8"))


_SYNTAX = {"*": r"[^\W_]*", "~": r"[^\W_]*", "(": "(?:", ")": ")?", " ": r"\s+"}


def _pattern(word: str) -> str:
    """Return the pattern of a word; one of a single letter is no ending ("somebody's")."""
    alone = "(?<!['’])" if len(word) == 1 else ""
    return alone + "".join(_SYNTAX.get(letter, re.escape(letter)) for letter in word)
