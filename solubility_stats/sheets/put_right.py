"""Readings that a remark puts right: "dry mass is 1.72 not 1.92", "use 1.358 for lime".

Only where the figure that holds is said, and either the one on the sheet or the name of the
reading. Remarks that say that all is well now ("typed it wrong the first time") change nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from solubility_stats.quantities import fill_columns, is_canonical, quantity
from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.model import ParsedCell
from solubility_stats.sheets.remark_words import said

# How the note on a reading begins that a remark put right.
NOTE = "put right by the remark of the run"
# What was wrong is right now, or was so in another submission.
ALL_WELL = re.compile(
    rf"{said('mended', 'earlier')}|\b(?:first(?! digit| figure| number)|use th(?:is|ese)|"
    r"(?:this|these|is|are|numbers) (?:is |are )?(?:the )?right|other (?:one|submission)|"
    r"second (?:time|submission))\b",
    re.IGNORECASE,
)
_NUMBER = r"\d*[.,]?\d+"
_UNIT = r"(?:m?g|m[lL]|cm3|cm³|L|°?\s?[CF]|min)?"
_NOW = rf"(?<![\w.,])(?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})(?![\w]|[.,]\d)"
_WAS = rf"(?<![\w.,])(?P<was>{_NUMBER})\s*{_UNIT}(?![\w]|[.,]\d)"
_LINK = said("and", "is", "but")
# "1.72 not 1.92", "used 250 mL instead of 200", "1.92 should be 1.72", "not 1.92 but 1.72"
_PUT_RIGHT = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"{_NOW}\s*,?\s*(?:{_LINK}\s*,?\s*){{0,2}}{said('not', 'instead')}\s+{_WAS}",
        rf"{said('not')}\s+(?:{_LINK}\s+)?{_WAS}\s*,?\s*{said('but')}\s*(?:{_LINK}\s+)?{_NOW}",
        rf"{said('instead')}\s+{_WAS}[^\d.;!?]{{0,20}}{said('is')}\s+(?:es\s+)?{_NOW}",
        rf"{_WAS}\s*(?:{_LINK}\s*)?{said('wrong', 'error')}[^;!?\d]*?{said('is')}\s*:?\s*{_NOW}",
        rf"{_NOW}\s*[,;(–-]+\s*(?:I|we|they) (?:typed|wrote|put|entered) {_WAS}",
        rf"{_NOW}\s*[,;(–-]+\s*(?:ignore )?(?:the )?{_WAS}[^.;]*\b(?:ignore|wrong|above)\b",
        rf"\b(?:wrote|typed|put|says) {_WAS}\s*,?\s*but (?:it |that )?(?:was|is|should be) {_NOW}",
        rf"{_WAS}\s*{said('should')}\s+{_NOW}",
        # Turkish: "1,92 değil 1,72"
        rf"{_WAS}\s+değil\s*,?\s*{_NOW}",
    )
)
# "use 1.358 for lime", "papier is 0,87 g, hiernaast verkeerd overgenomen"
_USE = re.compile(
    rf"\b(?:please )?use (?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})\s+(?:for|as) (?:the |our )?"
    r"(?P<what>[^\d,.;:!?]+)",
    re.IGNORECASE,
)
_IS = re.compile(
    rf"(?<![^\W_])(?P<what>[^\W\d][^\d,.;:!?]*?)\s+{said('is')}\s+{_NOW}", re.IGNORECASE
)
_CALLED_WRONG = re.compile(said("wrong", "error", "badly"), re.IGNORECASE)
_DOUBTFUL = re.compile(said("unsure"), re.IGNORECASE)
# "water was really 250", "dry mass should be 1.72"
_REALLY = re.compile(
    rf"(?<![^\W_])(?P<what>[^\d,.;:!?]+?)\s+(?:{said('is')}\s+{said('really')}|"
    rf"{said('should')})\s+{_NOW}",
    re.IGNORECASE,
)


def put_right(draft: Draft, remark: str, book: Book, headed: Mapping[str, str]) -> bool:
    """Put readings right as a remark says; tell whether there was one.

    Parameters
    ----------
    draft : Draft
        The run; changed in place.
    remark : str
        What is said of it.
    book : Book
        The ledger of its sheet; the cell of a reading put right says so.
    headed : mapping of str to str
        Columns by the plain words of their headings.
    """
    done = False
    for column, now in (*_by_figures(draft, remark), *_by_name(draft, remark, headed)):
        poured = fill_columns([column]) or (column.endswith("_ml") and fill_columns(draft.values))
        if now.value is None or poured:
            doubt(draft, column, remark)
            continue
        note = f"{NOTE}: '{remark}'"
        draft.take(column, now)
        draft.flag(column, "unclear", note)
        for cell in book.cells_of(draft.cells, column):
            entry = book.entries[cell.row, cell.col]
            book.enter(cell, replace(entry, value=now.value, note=note), again=True)
        done = True
    return done


def doubt(draft: Draft, column: str, remark: str) -> None:
    """Leave out a reading that a remark doubts, and with a fill the water."""
    why = f"the remark of the run doubts it: '{remark}'"
    draft.leave_out(column, why)
    if fill_columns([column]) and "water_volume_ml" in draft.values:
        draft.leave_out("water_volume_ml", why)


def readings_of(draft: Draft) -> list[str]:
    """Return the columns of a run that hold numbers."""
    return [c for c, v in draft.values.items() if isinstance(v, float) and is_canonical(c)]


_SAID_BESIDES = re.compile(
    r"\b(?:we|i|our|my|the|its?|that|this|number|value|figure|maybe|perhaps|probably|think|sorry)\b",
    re.IGNORECASE,
)


def named_in(text: str, headed: Mapping[str, str]) -> list[str]:
    """Return the column of a measured quantity that some words name, in a list."""
    words = _SAID_BESIDES.sub(" ", text)
    column = headed.get(normal(text)) or understand((" ".join(words.split()),)).column
    return [column] if column and is_canonical(column) and quantity(column).unit else []


def said_really(remark: str, headed: Mapping[str, str]) -> Iterator[tuple[str, ParsedCell]]:
    """Yield what a remark says that a reading really was: "water was really 250"."""
    return _by_what(_REALLY.finditer(remark), headed)


def _by_what(
    found: Iterable[re.Match[str]], headed: Mapping[str, str]
) -> Iterator[tuple[str, ParsedCell]]:
    for match in found:
        yield from ((c, _figure(match, "now", c)) for c in named_in(match["what"], headed))


def _figure(found: re.Match[str], side: str, column: str) -> ParsedCell:
    return parse_said(f"{found[side]} {found['unit']}".strip(), column)


def _by_figures(draft: Draft, remark: str) -> Iterator[tuple[str, ParsedCell]]:
    """Yield what stands for a figure on the sheet: the reading that has it, and the figure."""
    for pattern in _PUT_RIGHT:
        for found in pattern.finditer(remark):
            plain = float(found["was"].replace(",", "."))
            meant = [
                c
                for c in readings_of(draft)
                if draft.values[c] in (plain, _figure(found, "was", c).value)
            ]
            if len(meant) == 1 and found["was"] != found["now"]:
                yield meant[0], _figure(found, "now", meant[0])


def _by_name(
    draft: Draft, remark: str, headed: Mapping[str, str]
) -> Iterator[tuple[str, ParsedCell]]:
    """Yield what stands for a reading called by its name, where the remark calls it wrong."""
    found = list(_USE.finditer(remark))
    if not ALL_WELL.search(remark):
        found += _IS.finditer(remark) if _CALLED_WRONG.search(remark) else ()
        found += () if _DOUBTFUL.search(remark) else _REALLY.finditer(remark)
    for column, now in _by_what(found, headed):
        if column in draft.values and now.value not in (None, draft.values[column]):
            yield column, now
