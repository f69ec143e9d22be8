"""Readings that a remark takes back by name: "paper weighed after use; do not use it".

The verdict and the name may stand in different parts of the remark. A name is what stands before
the verb of its part: "dry mass is only what we could sweep up, please do not use it".
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.places import GROUP_WORDS
from solubility_stats.sheets.remarks.sayings import named_in
from solubility_stats.sheets.remarks.vocabulary import said

# "do not use it", but not "do not use the cracked beaker again"
_NOT_THIS = (
    rf"(?:{said('ignore')}|\b(?:do not|don'?t|please don'?t|cannot|can'?t|not to)\s+(?:be\s+)?"
    r"(?:use[d]?|trust(?:ed)?|count(?:ed)?))\s*(?:(?:it|this|that|these|those)\b"
    r"(?:\s+(?:number|value|reading|mass|weight|figure|one)s?)?)?\s*(?=[.;,!)]|\Z)"
)
_VERDICT = re.compile(
    rf"{_NOT_THIS}"
    r"|\b(?:number|value|reading|mass|weight|figure|result|weighing)s?\s+(?:is|are|was|were)?\s*"
    r"(?:no|not (?:any |a |very )?)\s?good\b"
    r"|\b(?:unusable|not usable|unreliable|worthless|not valid|invalid|useless)\b"
    r"|\bmust be wrong\b|\bwrong way (?:round|around)\b|\bmisread\b"
    r"|\breading\b[^.;]{0,25}\btoo (?:high|low)\b"
    r"|\bonly what (?:we|they|was|could)\b"
    r"|\b(?:before it was|while (?:it was )?(?:still )?|not yet) (?:dry|hot|wet|damp|warm)\b"
    r"|\b(?:incl(?:udes|uding|\.)?|with) (?:the )?(?:filter )?(?:paper|boat|dish|bottle)\b"
    r"[^.;]{0,25}\b(?:by mistake|under(?:neath)?(?: it)?)\b"
    r"|\bpaper (?:was )?not (?:taken|weighed) off\b|\bwrong order\b|\bwithdrawn\b"
    r"|\bshould be (?:about )?\d*[.,]?\d+\s*(?:m?g|m[lL]|cm3|cm³)? (?:lower|higher|more|less)\b"
    r"|\b(?:still )?contains? (?:the |its )?(?:filter )?paper\b"
    r"|\b(?:volume|value|number|mass|reading|weight|figure)s? (?:is |was )?"
    r"(?:not (?:sure|certain)|unsure|uncertain)\b"
    r"|\bincludes (?:the |a )?(?:weighing )?(?:boat|dish|paper|bottle|vial|beaker)\b",
    re.IGNORECASE,
)
_COPIED = re.compile(
    r"\bcopied (?:down )?the (?:issued|target|planned|given|supplied)"
    r" (?:mass|weight|amount|value)\b",
    re.IGNORECASE,
)
_BEFORE_AND_AFTER = re.compile(
    r"\bbefore and after\b[^.;]{0,25}\b(?:wrong|swapped|mixed)", re.IGNORECASE
)
_WELL_NOW = re.compile(
    r"\b(?:now|this (?:row|line|one)|here|is|are) (?:right|fine|correct|ok|good)\b"
    r"|\b(?:use|keep) th(?:is|ese)\b(?! number)|\bfixed\b|\brepeated\b"
    r"|\b(?:sent|submitted|entered|typed|weighed|done) (?:it )?again\b|\bre-?(?:sent|submi\w+)\b",
    re.IGNORECASE,
)
_PARTS = re.compile(r"[;:,!?]\s*|\.\s+|\n|\s[–—-]\s")
_LEADS_IN = re.compile(
    r"\A(?:(?:sorry|note|nb|please|and|but|so|also|because|careful)\W+)*"
    r"(?:(?:the|our|my|its?|this|first|1st)\s+)*",
    re.IGNORECASE,
)
_VERB = re.compile(
    r"\s+(?:was|were|is|are|be|has|had|must|should|may|weighed|measured|taken|read|misread|entered|"
    r"typed|written|incl\w*\.?|contains?|still|with|without|not|only|too|one|while|value)\b.*",
    re.IGNORECASE | re.DOTALL,
)
_AND = re.compile(r"\s+and\s+", re.IGNORECASE)


def taken_back(remark: str, headed: Mapping[str, str]) -> Iterator[str]:
    """Yield the columns of the readings that a remark says not to use.

    Parameters
    ----------
    remark : str
        What is said of a run.
    headed : mapping of str to str
        Columns by the plain words of their headings.
    """
    if _COPIED.search(remark):
        yield "initial_mass_g"
    if not _VERDICT.search(remark) or _WELL_NOW.search(remark):
        return
    if _BEFORE_AND_AFTER.search(remark):
        yield from ("initial_mass_g", "recovered_mass_g")
    for part in _PARTS.split(remark):
        subject = _VERB.sub("", " " + _LEADS_IN.sub("", part.strip())).strip()
        for name in _AND.split(subject) if subject else ():
            yield from _named(name, headed)


_BETWEEN = re.compile(
    rf"(?P<before>[^.;:]*?)(?:\b(?:of|between|for|von|de|van)\s+)?\b(?:(?:{GROUP_WORDS})(?:e?s)?\s*)?#?"
    r"(?P<a>\d{1,2}|[A-Z])\s+(?:and|&|und|et|y|e|en|och|og|i)\s+(?P<b>\d{1,2}|[A-Z])\b"
    r"(?P<behind>[^.;]*)",
    re.IGNORECASE,
)
_SWAPPED = re.compile(said("swapped"), re.IGNORECASE)


def swapped_between(remark: str, headed: Mapping[str, str]) -> tuple[set[str], set[str]]:
    """Return the groups and the columns of what changed places between two groups.

    "V of groups 2 and 3 were swapped", "4 and 5: masses before are swapped".
    """
    found = _BETWEEN.search(remark) if _SWAPPED.search(remark) else None
    if found is None:
        return set(), set()
    names = (found["before"], _VERB.sub("", " " + found["behind"].lstrip(" :,–-")))
    meant = set().union(*(_named(n.strip(), headed) for n in names if n.strip()))
    return {found["a"].casefold(), found["b"].casefold()}, meant


# Names without a unit: "dry solid", "end reading".
_UNITS = ("", "g", "mL")
_SMALL_WORDS = frozenset({"on", "of", "in", "the", "with", "a", "an"})


def _named(name: str, headed: Mapping[str, str]) -> set[str]:
    """Return the column of the table that a name means, by its words or those of a heading."""
    own = {*headed.values()}
    meant = {c for unit in _UNITS for c in named_in(f"{name} ({unit})" if unit else name, headed)}
    words = {*normal(name).split()} - _SMALL_WORDS
    alike = {c for heading, c in headed.items() if words and words <= {*heading.split()}}
    shared = {c for heading, c in headed.items() if c in meant and words & {*heading.split()}}
    return (shared if len(shared) == 1 else meant & own) or (alike if len(alike) == 1 else set())
