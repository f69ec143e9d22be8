"""Remarks beside the lines of a turned table: "Run 2: end is 24.35, I typed 42.35".

Where groups or trials stand side by side, a remark stands on the line of one reading. It speaks of
the run it names, or of the only one there is. A figure that holds is put in where the remark says
what was wrong, and left out where it only doubts.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import GROUP_WORDS, RUN_WORDS
from solubility_stats.sheets.remarks.put_right import NOW, doubt, figure_now, put_in, put_right
from solubility_stats.sheets.remarks.sayings import called_wrong
from solubility_stats.sheets.remarks.vocabulary import said
from solubility_stats.sheets.remarks.with_paper import paper_left_on, weigh_with_paper

_FEWEST_WORDS = 3
_MENTION = re.compile(
    rf"\b(?:(?:{RUN_WORDS})|(?:{GROUP_WORDS}))s?\.?\s*#?(?P<code>\d{{1,2}}|[A-Z])(?![\w.,]*\d)\s*:?",
    re.IGNORECASE,
)
# "is 2.483 in the notebook", behind the name of a run
_IS = re.compile(rf"\s*{said('is', 'should')}\s+{NOW}", re.IGNORECASE)
_DOUBTS = re.compile(
    rf"\?\?|{said('wrong', 'error')}|\bnot sure\b"
    r"|\b(?:could be (?:a )?(?:different|other|another|\d)|"
    r"can'?t read|cannot read|illegible|unreadable|smudged|made up)\b",
    re.IGNORECASE,
)
# How it went, and no doubt of the figure.
_HOW_IT_WENT = re.compile(
    rf"{said('dry', 'damp')}|\b(?:dry|dried|high|low|bigger|smaller|lost|spilled)\b", re.IGNORECASE
)


def heed_remarks_on_lines(book: Book, live: Sequence[Draft]) -> None:
    """Let the remarks on the lines of turned tables stand against the readings of those lines.

    Parameters
    ----------
    book : Book
        The ledger of a sheet.
    live : sequence of Draft
        Its runs; changed in place.
    """
    turned = [d for d in live if _is_turned(d)]
    if not turned:
        return
    own = {place for d in live for place in d.cells}
    for cell in book.sheet.texts:
        entry = book.entries.get((cell.row, cell.col))
        free = (cell.row, cell.col) not in own and (entry is None or entry.outcome != "used")
        if free and cell.text.count(" ") >= _FEWEST_WORDS - 1:
            for draft, column in _meant(cell, turned, book):
                if _heed(draft, column, cell.text, book):
                    note = "a remark on a reading of its line"
                    book.enter(cell, Entry("context", note=note), again=True)


def _is_turned(draft: Draft) -> bool:
    if draft.cells and draft.cells[0][1] != draft.cells[-1][1]:
        return False  # nearly every run
    rows, cols = ({place[at] for place in draft.cells} for at in (0, 1))
    return len(rows) > 2 and len(cols) == 1


def _meant(cell: RawCell, turned: Sequence[Draft], book: Book) -> Iterator[tuple[Draft, str]]:
    """Yield the run a remark speaks of, and the reading on its line."""
    beside = [d for d in turned if any(row == cell.row and col < cell.col for row, col in d.cells)]
    named = {m["code"].casefold() for m in _MENTION.finditer(cell.text)}
    for draft in beside:
        codes = {str(draft.values.get(c) or "").casefold() for c in ("run", "group")}
        if len(beside) == 1 or (len(named) == 1 and codes & named):
            for row, col in draft.cells:
                entry = book.entries.get((row, col))
                if row == cell.row and entry is not None and entry.column:
                    yield draft, entry.column


def _heed(draft: Draft, column: str, remark: str, book: Book) -> bool:
    """Let a remark stand against a reading of a run; tell whether it did."""
    if not is_reading(column) or column not in draft.values:
        return False
    plain = " ".join(_MENTION.sub(" ", remark).split())
    if column == "recovered_mass_g" and paper_left_on(plain):
        weigh_with_paper(draft, remark, book)
        return True
    if put_right(draft, plain, book, {}):
        return True
    told = _IS.match(plain)
    now = figure_now(told, column, draft) if told else None
    if now is not None and now.value not in (None, draft.values[column]):
        if called_wrong(plain):
            put_in(draft, column, now, remark, book)
        else:
            doubt(draft, column, remark)
        return True
    number = isinstance(draft.values[column], float)
    if number and _DOUBTS.search(plain) and not _HOW_IT_WENT.search(plain):
        doubt(draft, column, remark)
        return True
    return False
