"""Cells of a column of words: codes, answers, choices, moments, remarks."""

from __future__ import annotations

import re
from datetime import date, time, timedelta

from solubility_stats.quantities import Quantity
from solubility_stats.sheets.beam import beam_said, plain_beam
from solubility_stats.sheets.choices import (
    YES_OR_NO,
    answer,
    answer_first,
    beam_after_answer,
    choice,
    coded,
    one_of_two,
    reason_behind,
    says_no_effect,
    sees_beam,
)
from solubility_stats.sheets.model import CellContext, ParsedCell, RawCell
from solubility_stats.sheets.moments import number_behind, read_moment
from solubility_stats.sheets.words import (
    HEDGES,
    YES,
    clean_text,
    denials,
    flag,
    identifier,
    letters,
    says_missing,
)


def _flag_first(text: str) -> bool | None:
    """Read "no, ran out of time": an answer, and words that do not take it back."""
    found = YES_OR_NO.fullmatch(text)
    word = flag(found[1]) if found else None
    if found is None or word is None or not found[1].isalpha() or "?" in text:
        return None
    said = letters(found[2])
    rest = set(said.split())
    back = rest & (HEDGES | _BUT) or (denials(said) if word else rest & YES)
    return None if back else word


_BUT = frozenset({"but", "except", "although", "aber", "mais", "pero", "ma", "maar", "mas", "ale"})


def unclear(note: str, *flags: str) -> ParsedCell:
    """Return the outcome of a cell that a person has to look at."""
    return ParsedCell(None, "unclear", flags=("unclear", *flags), note=note)


def parse_words(cell: RawCell, quantity: Quantity, context: CellContext) -> ParsedCell:
    """Read a cell of a column of words; see :func:`solubility_stats.sheets.cells.parse_cell`."""
    if quantity.kind == "identifier":
        return _identifier(cell, quantity.name)
    if quantity.kind == "moment":
        order = context.date_order
        moment, note = read_moment(cell.value, order, date_1904=context.date_1904)
        return unclear(note) if moment is None else ParsedCell(moment, "used", note=note)
    if quantity.kind == "text":
        return ParsedCell(clean_text(str(cell.value)), "used")
    if isinstance(cell.value, str) and says_missing(cell.value):
        # "−" may be a code that the heading explains.
        code = coded(cell.value, quantity, context.heading) if quantity.choices else None
        if (code is None or code[0] is None) and not says_no_effect(
            cell.value, quantity, context.heading
        ):
            return ParsedCell(None, "ignored", note=f"'{cell.value.strip()}': no value given")
    if quantity.kind == "flag":
        answer = flag(cell.value)
        if answer is None and isinstance(cell.value, str):
            answer = _flag_first(cell.value)
        if quantity.name == "constant_mass" and (said := _STAYED.fullmatch(str(cell.value))):
            answer = said["changed"] is None  # "no change" is no "no"
        if answer is None:
            return unclear(f"'{cell.text}' is neither yes nor no")
        return ParsedCell(answer, "used")
    return _choice(cell, quantity, context.heading)


_STAYED = re.compile(
    r"\W*(?:no (?:more |further )?change|not? changed|unchanged|(?:stayed )?(?:the )?same|constant|"
    r"(?P<changed>changed|(?:not|not yet) (?:constant|the same)|still (?:changing|losing)|"
    r"different|lighter))\W*",
    re.IGNORECASE,
)


def _identifier(cell: RawCell, name: str) -> ParsedCell:
    if isinstance(cell.value, (date, time, timedelta)):
        behind = number_behind(cell.value).replace(".", "-")
        return unclear(f"a date ({cell.text}) in a column of codes; perhaps {behind} was typed")
    code = identifier(cell.value, cell.number_format)
    if isinstance(cell.value, str) and not code.isalnum() and says_missing(code):
        return ParsedCell(None, "ignored", note=f"'{code}': no value given")
    if name == "group" and code.casefold() in _NO_CODES:
        return unclear(f"'{code}' is a label, and no group's code")
    return ParsedCell(code, "used")


# What stands over or beside codes and values, and is never one.
_NO_CODES = frozenset(
    {"no.", "nr.", "n°", "nº", "number", "reading", "readings", "unit", "units", "value", "values",
     "result", "results", "measurement", "observation", "group", "groups", "name", "names"}
)  # fmt: skip


def _choice(cell: RawCell, quantity: Quantity, heading: str) -> ParsedCell:
    if not isinstance(cell.value, (str, bool, int, float)):
        return unclear(f"a date ({cell.text}) where a word is expected")
    value: object = cell.value
    if quantity.name == "scatter" and isinstance(value, str):
        value = plain_beam(value)
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    after = None
    word, note = (
        coded(str(value), quantity, heading)
        or sees_beam(value, quantity, heading)
        or answer(str(value), quantity, heading)
        or (after := beam_after_answer(str(value), quantity, heading))
        or answer_first(str(value), quantity, heading)
        or reason_behind(str(value), quantity)
        or choice(str(value), quantity)
    )
    if after is not None and word is None:
        return unclear(note)
    if word is None and (either := one_of_two(str(value), quantity, heading)):
        word, note = either
    if word is None and quantity.name == "scatter" and (said := beam_said(str(value), heading)):
        word, note = said, f"'{value}' read as {said}"
    return unclear(note) if word is None else ParsedCell(word, "used", note=note)
