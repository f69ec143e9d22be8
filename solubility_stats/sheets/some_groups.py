"""How a sentence names some of the groups: by a list of codes, or as those it has not named."""

from __future__ import annotations

import re

from solubility_stats.sheets.places import GROUP_WORDS

CODE = r"(?:[A-Za-z]?\d{1,3}[A-Za-z]?|(?-i:[A-Z]))(?![^\W_])(?!\s*(?:°|%|mL|min|[gCF]\b)|[.,]\d)"
BETWEEN = (
    r"\s*(?:,\s*(?:and|und|et|y|e|en|og|och)\b|,|&|\+|/|-|–|"
    r"\b(?:and|und|et|y|e|to|bis|à|a|en|og|och|i)\b)\s*"
)
LIST = rf"{CODE}(?:{BETWEEN}{CODE})*"
GROUPS = rf"\b(?:{GROUP_WORDS})(?:s|es|n)?\s*(?:no\.?s?\s*)?"
OTHERS = (
    r"\b(?:all (?:the )?other(?:s| \w+)|(?:the )?others|every(?:one|body) else|(?:all )?the rest|"
    r"(?:die|alle) anderen|(?:tous )?les autres|(?:todos )?los demás|gli altri|os outros|"
    r"de anderen|de andra|de andre|pozostałe)\b"
)
# "Group 4 stirred for 20 min.", and not "Group A – vacuum filtration" over the pairs of a class.
ONE_GROUP = re.compile(rf"\A\W*{GROUPS}{CODE}(?:['’]s\b|\s+(?-i:[a-zà-ÿ]))", re.IGNORECASE)
# "Groups 1-3 used vacuum", "Everyone else stirred": no statement about all of them.
SOME_GROUPS = re.compile(
    rf"{GROUPS}{CODE}{BETWEEN}{CODE}|(?:\A|[.;,:–-]\s*|\b(?:and|but)\s+){OTHERS}", re.IGNORECASE
)
