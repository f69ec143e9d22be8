"""What a remark says of a reading: wrong, unsure, not rid of its vessel, or well now.

The reading is called by its name, in the words of its heading or of anybody.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.remarks.vocabulary import said
from solubility_stats.sheets.sentence_parts import parts_of

MENDED = re.compile(said("mended"), re.IGNORECASE)
# What was wrong is right now, or was so in another submission.
ALL_WELL = re.compile(
    rf"{said('mended', 'earlier')}|\b(?:first(?! digit| figure| number)|use th(?:is|ese)|"
    r"(?:this|these|is|are|numbers) (?:is |are )?(?:the )?right|other (?:one|submission)|"
    r"second (?:time|submission))\b",
    re.IGNORECASE,
)


# "forgot to subtract", "tara non sottratta", "sin restar"
_NOT_TAKEN_OFF = re.compile(
    rf"{said('not', 'forgot', 'without')}[^.;]{{0,25}}{said('taken_off')}"
    rf"|{said('taken_off')}\s+{said('forgot')}"
    # Turkish and Finnish put it last.
    rf"|{said('taken_off')}[^.;]{{0,12}}\b(?:unut|unoht)\w*",
    re.IGNORECASE,
)


def not_taken_off(what: re.Pattern[str], remark: str) -> bool:
    """Tell whether a remark says that something was not subtracted or tared, nor was it later.

    Parameters
    ----------
    what : re.Pattern
        The words for what should have been.
    remark : str
        What is said of a run.
    """
    left_on = any(what.search(p) and _NOT_TAKEN_OFF.search(p) for p in parts_of(remark))
    return left_on and not MENDED.search(remark)


_CALLED_WRONG = re.compile(said("wrong", "error", "badly"), re.IGNORECASE)
_MIXED_UP = re.compile(
    rf"{said('swapped')}|\b(?:switched|backwards?|flipped|transposed|mistyped|hit the wrong key)\b",
    re.IGNORECASE,
)


def called_wrong(remark: str) -> bool:
    """Tell whether a remark says that what stands on the sheet is wrong."""
    return _CALLED_WRONG.search(remark) is not None or _MIXED_UP.search(remark) is not None


_SAID_BESIDES = re.compile(
    r"\b(?:we|i|our|my|the|its?|that|this|number|value|figure|maybe|perhaps|probably|think|sorry)\b",
    re.IGNORECASE,
)


def named_in(text: str, headed: Mapping[str, str]) -> list[str]:
    """Return the column of a measured quantity that some words name, in a list."""
    words = _SAID_BESIDES.sub(" ", text)
    column = headed.get(normal(text)) or understand((" ".join(words.split()),)).column
    return [column] if column and is_canonical(column) and quantity(column).unit else []


_BY_MISTAKE = re.compile(said("by_mistake"), re.IGNORECASE)
_BADLY_TAKEN_DOWN = re.compile(
    rf"(?=.*{said('badly')})(?=.*{said('taken_down')})", re.IGNORECASE | re.DOTALL
)
_STANDS_WRONG = re.compile(said("wrong", "error"), re.IGNORECASE)
_NO_NAME = re.compile(said("wrong", "error", "badly", "taken_down", "beside"), re.IGNORECASE)
_OF_SUMS = re.compile(r"\b(?:sums?|calc\w*|formula|equation|answer)\b", re.IGNORECASE)
# One thing is said on each side: "forgot the timer so stir time is a guess".
_BECAUSE = re.compile(
    r"\b(?:so|because|bc|but|since|weil|aber|car|parce que|mais|porque|pero|perché|ma|want|maar|"
    r"men|fordi|eftersom|bo|ale|protože)\b",
    re.IGNORECASE,
)


def _clauses_of(remark: str) -> list[str]:
    """Return the parts of a remark, parted at commas and where a reason begins."""
    parts = parts_of(_BY_MISTAKE.sub(" ", remark).replace(",", ";"))
    return [clause.strip() for part in parts for clause in _BECAUSE.split(part) if clause.strip()]


def wrong_by_name(remark: str, headed: Mapping[str, str]) -> Iterator[str]:
    """Yield the columns whose reading a remark calls wrong by name."""
    if not _CALLED_WRONG.search(remark):
        return
    for part in _clauses_of(remark):
        if _STANDS_WRONG.search(part) or _BADLY_TAKEN_DOWN.search(part):
            name = " ".join(_NO_NAME.sub(" ", part).split())
            if not _OF_SUMS.search(part):
                yield from named_in(name, headed)


_UNSURE = re.compile(said("unsure"), re.IGNORECASE)
_NO_NAME_OR_SURE = re.compile(said("unsure", "beside"), re.IGNORECASE)


def unsure_by_name(remark: str, headed: Mapping[str, str]) -> Iterator[str]:
    """Yield the columns a remark is not sure of: "Rückwaage unsicher", "Wasser: evtl. weniger"."""
    if not _UNSURE.search(remark):
        return
    label, _, rest = remark.partition(":")
    if rest and _UNSURE.search(rest) and "\n" not in label:
        yield from named_in(label, headed)
    for clause in _clauses_of(remark):
        if _UNSURE.search(clause):
            yield from named_in(" ".join(_NO_NAME_OR_SURE.sub(" ", clause).split()), headed)
