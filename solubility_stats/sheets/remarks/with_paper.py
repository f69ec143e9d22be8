"""A dry solid weighed with its paper still on, as a remark says: the mass goes where it belongs.

What stands below "dry solid" is then too heavy by the paper, about a gram, and would read as a
solubility far too small. The remark may stand in the line of the run, in the cell or its comment,
in a footnote, or be the answer to a question of the form.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import ParsedCell, RawCell
from solubility_stats.sheets.remarks.sayings import not_taken_off
from solubility_stats.sheets.remarks.vocabulary import said
from solubility_stats.sheets.words import flag

# How the note on a mass begins that was moved.
NOTE = "weighed with its paper"
_SOLID, _WITH, _PAPER = "recovered_mass_g", "recovered_with_paper_mass_g", "paper_mass_g"
_OWN = r"(?:the |its |filter |that |dry |dem |des |le |son |el |la |o |het |den )*"
_LEFT_ON = re.compile(
    r"(?:\A\W*|\b(?:value|number|reading|dry|it|that|this|is|was|were)\b[^.;,]{0,20}?"
    r"(?<![^\W_])|"
    rf"{said('weighed', 'taken_down', 'solid', 'readings')}[^.;,]{{0,20}}?(?<![^\W_]))"
    rf"(?:{said('with')}\s+{_OWN}{said('paper')}|{said('with_paper')})(?! towel)"
    rf"|(?:{said('with')}\s+{_OWN}{said('paper')}|{said('with_paper')})\s+{said('weighed')}"
    r"|\bpaper (?:is |was |isn'?t |wasn'?t |being )?(?:still )?(?:included|on)\b(?! the| top| a\b)"
    r"|(?:\A\W*|[.;,]\s*|\b(?:it|solid|residue|powder|weighed)(?: was| is|'s)? )"
    r"still on (?:the |its )?(?:filter )?paper\b",
    re.IGNORECASE,
)
_PAPER_NAMED = re.compile(said("paper", "paper_of"), re.IGNORECASE)
# The paper was dealt with, or something else was meant.
_DEALT_WITH = re.compile(
    rf"{said('mended', 'earlier', 'taken_off')}|\b(?:taring|first|net)\b"
    rf"|{said('not', 'without')}[^.;,]{{0,15}}{said('with')}"
    rf"|{said('without')}\s+{_OWN}{said('paper')}",
    re.IGNORECASE,
)
_UNSURE = re.compile(rf"\?|{said('unsure')}|\bmight\b", re.IGNORECASE)
_FIGURE = r"(?P<mass>\d*[.,]\d+|\d{3,4}(?=\s*mg))\s*(?P<unit>m?g)?(?![\w.,]*\d)"
# "paper = 0.71", "paper by itself was 0.83", "Papier allein 0,92 g"
_ALONE = re.compile(
    rf"{said('paper', 'paper_of')}[\s:=(]*"
    r"(?:(?:alone|by itself|itself|only|mass|was|is|weigh(?:s|ed)|of|allein|leer|wiegt|wog|seul|"
    rf"pèse|solo|pesa|alleen|ensam)[\s:=(]*){{0,3}}{_FIGURE}",
    re.IGNORECASE,
)
# "3.02 (with the paper on!! paper by itself was 0.83)"
_IN_CELL = re.compile(
    r"\s*(?P<mass>\d*[.,]?\d+)\s*(?P<unit>m?g)?\s*[(,;:–-]+\s*(?P<said>[^\W\d].*)", re.DOTALL
)


# The wet cake may have been weighed on its paper, and the dry solid without; and what was weighed
# in lay on a paper of its own.
_WET = re.compile(
    r"\bwet\s+(?:solid|cake|residue|mass|lime)\b|\bweigh(?:ing)?\s?paper\b", re.IGNORECASE
)


def paper_left_on(text: str) -> bool:
    """Tell whether a remark says that the solid was weighed with its paper, and leaves no doubt."""
    if _UNSURE.search(text) or _WET.search(text):
        return False
    if not_taken_off(_PAPER_NAMED, text):
        return True
    return bool(_LEFT_ON.search(text)) and not _DEALT_WITH.search(text)


def take_solid_off(
    drafts: Sequence[Draft], book: Book, unit: str | None, answers: Sequence[RawCell] = ()
) -> None:
    """Move what was weighed with the paper to the mass with paper, and take the paper's own mass.

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of a table, changed in place.
    book : Book
        The ledger of their sheet.
    unit : str or None
        Unit of the column of the dry solid.
    answers : sequence of RawCell
        Cells on the lines of the runs that say yes, the paper was still on.
    """
    commented = any(cell.comment for cell in book.sheet.cells.values())
    for draft in drafts:
        look = commented or _SOLID in draft.unread
        for cell in book.cells_of(draft.cells, _SOLID) if look else ():
            if cell.comment and paper_left_on(cell.comment):
                _move(draft, cell.comment, book, cell)
            elif (
                _SOLID in draft.unread
                and (inside := _IN_CELL.fullmatch(cell.text))
                and paper_left_on(inside["said"])
            ):
                mass = f"{inside['mass']} {inside['unit'] or unit or 'g'}"
                _put(draft, _SOLID, parse_said(mass, _SOLID))
                _move(draft, inside["said"], book, cell)
        remark = str(draft.values.get("comment") or "")
        if remark and paper_left_on(remark):
            weigh_with_paper(draft, remark, book)
        elif (
            remark and _LEFT_ON.search(remark) and _UNSURE.search(remark) and _SOLID in draft.values
        ):
            draft.leave_out(_SOLID, f"weighed with its paper? '{remark}'")
        elif any(_same_line(answer, draft.cells) for answer in answers):
            weigh_with_paper(draft, "as answered to the question of the form", book)


def _same_line(answer: RawCell, cells: Sequence[tuple[int, int]]) -> bool:
    rows, cols = zip(*cells, strict=True) if cells else ((), ())
    return {*rows} == {answer.row} or {*cols} == {answer.col}


def paper_answers(fields: Sequence[Field], values: Values) -> list[RawCell]:
    """Return the cells that say yes, the paper was still on, where a form asks for it."""
    return [
        cell
        for f in fields
        if not f.column and _ASKS.search(f.source.heading)
        for cell in values.get(f.place, ())
        if cell is not None and flag(cell.value)
    ]


_ASKS = re.compile(
    r"\A\W*(?:was|is|did|were)\b.*\bpaper\b.*\b(?:still )?on\b.*\?"
    r"|\A\W*(?:was|is|did|were)\b.*\bwith (?:the |its )?(?:filter )?paper\b.*\?",
    re.IGNORECASE | re.DOTALL,
)


def weigh_with_paper(draft: Draft, said: str, book: Book) -> None:
    """Move the solid of a run to the mass with paper because of what somebody said."""
    for cell in book.cells_of(draft.cells, _SOLID):
        _move(draft, said, book, cell)
        remark = next(book.cells_of(draft.cells, "comment"), None)
        if remark is not None and _PAPER in draft.values and remark.text.strip() in said:
            entry = Entry("used", _PAPER, draft.values[_PAPER], "g", "from a remark")
            book.enter(remark, entry)


def _move(draft: Draft, said: str, book: Book, cell: RawCell) -> None:
    whole = draft.values.get(_SOLID)
    if not isinstance(whole, float) or _WITH in draft.values:
        return
    alone = _ALONE.search(said)
    if alone is not None and _PAPER not in draft.values:
        paper = parse_said(f"{alone['mass']} {alone['unit'] or 'g'}", _PAPER)
        if isinstance(paper.value, float) and 0 < paper.value < whole:
            draft.take(_PAPER, paper)
            draft.flag(_PAPER, "unclear", f"from the remark '{said}'")
    draft.values[_WITH] = draft.values.pop(_SOLID)
    if _SOLID in draft.decimals:
        draft.decimals[_WITH] = draft.decimals.pop(_SOLID)
    draft.unread.discard(_SOLID)
    note = f"{NOTE}: '{said}'"
    draft.flag(_WITH, "unclear", f"{cell.address}: {note}")
    entry = book.entries[cell.row, cell.col]
    moved = replace(entry, outcome="used", column=_WITH, value=whole, unit="g", note=note)
    book.enter(cell, moved, again=True)


def _put(draft: Draft, column: str, parsed: ParsedCell) -> None:
    if parsed.value is not None:
        draft.take(column, parsed)
        draft.flags = [f for f in draft.flags if f[0] != column]
