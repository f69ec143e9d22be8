"""Readings that a remark puts right: "dry mass is 1.72 not 1.92", "use 1.358 for lime".

Only where the figure that holds is said, and either the one on the sheet or the name of the
reading. Remarks that say that all is well now ("typed it wrong the first time") change nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from solubility_stats.quantities import fill_columns, is_canonical
from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.model import ParsedCell
from solubility_stats.sheets.remarks.sayings import ALL_WELL, called_wrong, named_in, wrong_by_name
from solubility_stats.sheets.remarks.vocabulary import said
from solubility_stats.sheets.titre import TITRATION, settle_titre
from solubility_stats.sheets.water import settle_water

# How the note on a reading begins that a remark put right.
NOTE = "put right by the remark of the run"
_NUMBER = r"\d*[.,]?\d+"
_UNIT = r"(?:m?g|m[lL]|cm3|cm³|L|°?\s?[CF]|min)?"
# "Should be 0.4 lower" is no figure that holds.
NOW = (
    rf"(?<![\w.,])(?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})(?![\w]|[.,]\d)"
    r"(?!\s*(?:too\s+)?(?:lower|higher|more|less|smaller|larger|bigger|lighter|heavier|off|too)\b)"
)
_WAS = rf"(?<![\w.,])(?P<was>{_NUMBER})\s*{_UNIT}(?![\w]|[.,]\d)"
_LINK = said("and", "is", "but")
# "1.72 not 1.92", "used 250 mL instead of 200", "1.92 should be 1.72", "not 1.92 but 1.72"
_PUT_RIGHT = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"{NOW}\s*,?\s*(?:{_LINK}\s*,?\s*){{0,2}}{said('not', 'instead')}\s+{_WAS}",
        rf"{said('not')}\s+(?:{_LINK}\s+)?{_WAS}\s*,?\s*{said('but')}\s*(?:{_LINK}\s+)?{NOW}",
        rf"{said('instead')}\s+{_WAS}[^\d.;!?]{{0,20}}{said('is')}\s+(?:es\s+)?{NOW}",
        rf"{_WAS}\s*(?:{_LINK}\s*)?{said('wrong', 'error')}[^;!?\d]*?{said('is')}\s*:?\s*{NOW}",
        rf"{NOW}\s*[,;(–-]+\s*(?:I|we|they) (?:typed|wrote|put|entered) {_WAS}",
        rf"{NOW}\s*[,;(–-]+\s*(?:ignore )?(?:the )?{_WAS}[^.;]*\b(?:ignore|wrong|above)\b",
        rf"\b(?:wrote|typed|put|says) {_WAS}\s*,?\s*but (?:it |that )?(?:was|is|should be) {NOW}",
        rf"{_WAS}\s*{said('should')}\s+{NOW}",
        # Turkish: "1,92 değil 1,72"
        rf"{_WAS}\s+değil\s*,?\s*{NOW}",
    )
)
# "use 1.358 for lime", "papier is 0,87 g, hiernaast verkeerd overgenomen"
_USE = re.compile(
    rf"\b(?:please )?use (?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})\s+(?:for|as) (?:the |our )?"
    r"(?P<what>[^\d,.;:!?]+)",
    re.IGNORECASE,
)
_IS = re.compile(
    rf"(?<![^\W_])(?P<what>[^\W\d][^\d,.;:!?]*?)\s+{said('is')}\s+{NOW}", re.IGNORECASE
)
_DOUBTFUL = re.compile(said("unsure", "hedge"), re.IGNORECASE)
# "water was really 250", "dry mass should be 1.72"
_REALLY = re.compile(
    rf"(?<![^\W_])(?P<what>[^\d,.;:!?]+?)\s+(?:{said('is')}\s+{said('really')}|"
    rf"{said('should')})\s+{NOW}",
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
    told = [*_in_another_unit(draft, remark, book, headed)]
    if any(map(str.isdigit, remark)):
        told += [*_by_figures(draft, remark), *_by_name(draft, remark, headed)]
    for column, now in told:
        done = put_in(draft, column, now, remark, book) or done
    return done


def put_in(draft: Draft, column: str, now: ParsedCell, remark: str, book: Book) -> bool:
    """Put a reading right, or leave it out where fills and water would not agree any more."""
    derived = _without_derived(draft, column, book)
    if not isinstance(now.value, float) or not _adds_up(draft, column, now.value):
        doubt(draft, column, remark)
        return False
    note = f"{NOTE}: '{remark}'"
    draft.take(column, now)
    draft.flag(column, "unclear", note)
    for cell in book.cells_of(draft.cells, column):
        entry = book.entries[cell.row, cell.col]
        book.enter(cell, replace(entry, value=now.value, note=note), again=True)
    if derived:
        settle_titre([draft])
        settle_water([draft])
    return True


def _without_derived(draft: Draft, column: str, book: Book) -> bool:
    """Take away what was worked out from a reading and is written nowhere: a titre, a sum."""
    worked_out = "titrant_ml" if column in TITRATION else "water_volume_ml"
    part = column in TITRATION or fill_columns([column])
    if not part or worked_out == column or any(book.cells_of(draft.cells, worked_out)):
        return False
    draft.decimals.pop(worked_out, None)
    return draft.values.pop(worked_out, None) is not None


def _adds_up(draft: Draft, column: str, now: float) -> bool:
    """Tell whether fills and total, if both are written, agree with a figure put in for one."""
    fills = {c: draft.values.get(c) for c in fill_columns({*draft.values, *draft.unread})}
    total = draft.values.get("water_volume_ml")
    if column in fills:
        fills[column] = now
    elif column == "water_volume_ml":
        total = now
    else:
        return True
    if not fills or (column in fills and total is None):
        return True
    known = [v for v in fills.values() if isinstance(v, float)]
    return len(known) == len(fills) and isinstance(total, float) and sum(known) == total


def doubt(draft: Draft, column: str, remark: str) -> None:
    """Leave out a reading that a remark doubts, and with a fill the water."""
    why = f"the remark of the run doubts it: '{remark}'"
    draft.leave_out(column, why)
    if fill_columns([column]) and "water_volume_ml" in draft.values:
        draft.leave_out("water_volume_ml", why)
    if column in TITRATION and "titrant_ml" in draft.values:
        draft.leave_out("titrant_ml", why)


def readings_of(draft: Draft) -> list[str]:
    """Return the columns of a run that hold numbers."""
    return [c for c, v in draft.values.items() if isinstance(v, float) and is_canonical(c)]


def said_really(
    draft: Draft, remark: str, headed: Mapping[str, str]
) -> Iterator[tuple[str, ParsedCell]]:
    """Yield what a remark says that a reading really was: "water was really 250"."""
    return _by_what(draft, _REALLY.finditer(remark), headed)


def _by_what(
    draft: Draft, found: Iterable[re.Match[str]], headed: Mapping[str, str]
) -> Iterator[tuple[str, ParsedCell]]:
    for match in found:
        yield from ((c, figure_now(match, c, draft)) for c in named_in(match["what"], headed))


# A reading and what it should have been differ by no more than this (judgement).
_NEAR = 5.0


def figure_now(found: re.Match[str], column: str, draft: Draft) -> ParsedCell:
    """Read the figure that holds; "2,317" is a decimal where that is near the reading itself.

    Parameters
    ----------
    found : re.Match
        Of a pattern with :data:`NOW` in it.
    column : str
        The reading it is for.
    draft : Draft
        The run.
    """
    words = f"{found['now']} {found['unit']}".strip()
    plain, old = parse_said(words, column), draft.values.get(column)
    if plain.value is None and "," in words and isinstance(old, float):
        now = parse_said(words.replace(",", "."), column)
        if isinstance(now.value, float) and old / _NEAR < now.value < old * _NEAR:
            return now
    return plain


def _by_figures(draft: Draft, remark: str) -> Iterator[tuple[str, ParsedCell]]:
    """Yield what stands for a figure on the sheet: the reading that has it, and the figure."""
    for pattern in _PUT_RIGHT:
        for found in pattern.finditer(remark):
            was = f"{found['was']} {found['unit']}".strip()
            plain = float(found["was"].replace(",", "."))
            meant = [
                c
                for c in readings_of(draft)
                if draft.values[c] in (plain, parse_said(was, c).value)
            ]
            if len(meant) == 1 and found["was"] != found["now"]:
                yield meant[0], figure_now(found, meant[0], draft)


def _by_name(
    draft: Draft, remark: str, headed: Mapping[str, str]
) -> Iterator[tuple[str, ParsedCell]]:
    """Yield what stands for a reading called by its name, where the remark calls it wrong."""
    yield from _right_is(draft, remark, headed)
    found = list(_USE.finditer(remark))
    if not ALL_WELL.search(remark):
        found += _IS.finditer(remark) if called_wrong(remark) else ()
        found += () if _DOUBTFUL.search(remark) else _REALLY.finditer(remark)
    for column, now in _by_what(draft, found, headed):
        if column in draft.values and now.value not in (None, draft.values[column]):
            yield column, now


_RIGHT_IS = re.compile(rf"{said('is', 'should')}\s*:?\s*{NOW}", re.IGNORECASE)


def _right_is(
    draft: Draft, remark: str, headed: Mapping[str, str]
) -> Iterator[tuple[str, ParsedCell]]:
    """Yield what "Einwaage falsch abgetippt, richtig ist 2,317 g" puts right."""
    wrong = {c for c in wrong_by_name(remark, headed) if c in {*draft.values, *draft.unread}}
    told = list(_RIGHT_IS.finditer(remark))
    if len(wrong) == 1 and len(told) == 1 and not ALL_WELL.search(remark):
        column = wrong.pop()
        now = figure_now(told[0], column, draft)
        if now.value not in (None, draft.values.get(column)):
            yield column, now


_WORDS_OF_UNITS = (
    r"milligrams?|mg|grams?|g|millilit(?:er|re)s?|mL|lit(?:er|re)s?|L|fahrenheit|celsius|"
    r"°?\s?[FC]|kelvin|K|seconds?|sec|s|hours?|h|Gramm|Milligramm|milligrammes|grammes|gramos|"
    r"miligramos|grammi|milligrammi|gram"
)
_IN_UNIT = re.compile(
    rf"(?<![^\W_])(?P<what>[^\d,.;:!?()]+?)\s+(?:{said('is')}\s+)?(?:in|en|em|i|w|v)\s+"
    rf"(?P<unit>{_WORDS_OF_UNITS})(?![^\W_])",
    re.IGNORECASE,
)


def _in_another_unit(
    draft: Draft, remark: str, book: Book, headed: Mapping[str, str]
) -> Iterator[tuple[str, ParsedCell]]:
    """Yield the readings that a remark says are in another unit: "mass_f is in mg, sorry"."""
    for found in _IN_UNIT.finditer(remark):
        for column in named_in(found["what"], headed):
            for cell in book.cells_of(draft.cells, column):
                if isinstance(cell.value, (int, float)) or _BARE_NUMBER.fullmatch(cell.text):
                    now = parse_said(f"{cell.text} {found['unit']}", column)
                    same = now.value == draft.values.get(column)
                    yield from () if same else [(column, now)]


_BARE_NUMBER = re.compile(r"\s*\d+(?:[.,]\d+)?\s*")
