"""Exports of a quiz that repeat the question on every line: "Question 3 | Response 3".

Each question becomes the heading of its answers, also where every student got them in another
order.
"""

from __future__ import annotations

import re
from dataclasses import replace

from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell, Sheet

_QUESTION = re.compile(
    r"(?:question|frage|pregunta|domanda|pergunta|vraag|fråga|spørgsmål|spørsmål|pytanie|otázka)"
    r"\s*(?:no\.?\s*)?(\d{1,2})",
    re.IGNORECASE,
)
_RESPONSE = re.compile(
    r"(?:response|answer|antwort|réponse|respuesta|risposta|resposta|antwoord|svar|odpowiedź|"
    r"odpověď)\s*(?:no\.?\s*)?(\d{1,2})",
    re.IGNORECASE,
)
_FEWEST = 3
_ASKED = Entry("context", note="the question of the answer beside it")


def with_questions_above(sheet: Sheet, book: Book) -> Sheet:
    """Return a sheet with the questions of its lines as headings; cells keep their addresses.

    Parameters
    ----------
    sheet : Sheet
        Any sheet; returned as it is where it is no such export.
    book : Book
        Its ledger, in which the questions are entered.
    """
    top = min((row for row, _ in sheet.cells), default=0)
    heads = {col: cell for (row, col), cell in sheet.cells.items() if row == top}
    pairs = [col for col in sorted(heads) if _is_pair(heads[col], heads.get(col + 1))]
    if len(pairs) < _FEWEST:
        return sheet
    first = pairs[0]
    moved: dict[str, int] = {}
    cells = {(row, col): c for (row, col), c in sheet.cells.items() if col < first}
    for row in sorted({row for row, _ in sheet.cells} - {top}):
        for col in pairs:
            asked, told = sheet.cells.get((row, col)), sheet.cells.get((row, col + 1))
            if asked is None:
                continue
            question = " ".join(asked.text.split())
            place = moved.setdefault(question, first + len(moved))
            cells.setdefault((top, place), heads[col + 1].saying(question))
            book.enter(asked, _ASKED)
            if told is not None:
                cells[row, place] = told
    used = {*pairs, *(col + 1 for col in pairs)}
    rest = [col for col in sorted(heads) if col > first and col not in used]
    for at, col in enumerate(rest):
        column = {(row, c): cell for (row, c), cell in sheet.cells.items() if c == col}
        cells |= {(row, first + len(moved) + at): cell for (row, _), cell in column.items()}
    for col in pairs:
        book.enter(heads[col], _ASKED)
    return replace(sheet, cells=cells)


def _is_pair(one: RawCell, beside: RawCell | None) -> bool:
    asked = _QUESTION.fullmatch(one.text.strip())
    told = _RESPONSE.fullmatch(beside.text.strip()) if beside is not None else None
    return asked is not None and told is not None and asked[1] == told[1]
