"""One cell: from the raw value to a value of a quantity, or the reason why there is none.

Nothing is guessed: where two readings of a cell differ, or a slip of the pen or of a program is
likely, the cell becomes ``unclear`` and the note names the readings.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from datetime import date, time, timedelta
from decimal import Decimal

from solubility_stats.quantities import Quantity
from solubility_stats.quantities import quantity as quantity_of
from solubility_stats.sheets import formats, word_cells
from solubility_stats.sheets.durations import HOURS_AND_MINUTES, minutes_on_clock
from solubility_stats.sheets.expressions import read_text
from solubility_stats.sheets.model import CellContext, Outcome, ParsedCell, RawCell
from solubility_stats.sheets.moments import date_in_number_column, number_behind
from solubility_stats.sheets.numbers import Reading, decide_decimal, is_pour, tidy
from solubility_stats.sheets.plausible import (
    dimension,
    explain,
    judge,
    limits,
    scale_breaks,
)
from solubility_stats.sheets.units import (
    SHOWN_UNIT,
    convert,
    convert_decimals,
    convert_difference,
    dimension_of,
    known_unit,
)
from solubility_stats.sheets.word_cells import unclear
from solubility_stats.sheets.words import clean_text, says_missing, says_none

__all__ = [
    "decide_decimal",
    "parse_cell",
    "parse_said",
    "scale_breaks",
]

# No number needs more; patterns need not be tried on whole essays.
_LONGEST = 200
# Whoever wrote this wants it looked at, with or without another number.
_DOUBTS = re.compile(
    r"\b(?:typo|mistake|misread|mistyped|wrong|not sure|unsure|can(?:not|'t) be right)\b",
    re.IGNORECASE,
)
_CORRECTS = re.compile(
    r"\b(?:actually|should|instead|wrong|typo|correct\w*|mistake|error|really|not)\b", re.IGNORECASE
)


def parse_cell(cell: RawCell, quantity: Quantity, context: CellContext) -> ParsedCell:
    """Read one cell as a value of a quantity.

    Parameters
    ----------
    cell : RawCell
        The cell as the file holds it. Not changed.
    quantity : Quantity
        What the column holds.
    context : CellContext
        Heading unit, decimal mark and date order decided for the column.

    Returns
    -------
    ParsedCell
        Value in the unit of the quantity, or ``None`` with a note a teacher understands. Never
        raises for any content.
    """
    stop = _stopped(cell)
    if stop is not None:
        return _marked(stop, cell, quantity)
    if quantity.kind == "number":
        parsed = _number(cell, quantity, context)
    else:
        parsed = word_cells.parse_words(cell, quantity, context)
    return _marked(parsed, cell, quantity)


def parse_said(text: str, column: str) -> ParsedCell:
    """Read words out of a sentence, heading or remark as a value of a canonical column."""
    return parse_cell(RawCell(1, 1, text, text), quantity_of(column), CellContext(column))


def _stopped(cell: RawCell) -> ParsedCell | None:
    """Return the outcome of cells that hold no usable value whatever the column."""
    formula = f"; its formula is {cell.formula}" if cell.formula else ""
    if cell.is_error or (isinstance(cell.value, str) and cell.value in formats.ERRORS):
        return unclear(f"the spreadsheet shows the error {cell.value or cell.text}{formula}")
    if cell.value is None:
        if cell.formula:
            return unclear(f"a formula without a stored result: {cell.formula}")
        return ParsedCell(None, "ignored", note="empty")
    if isinstance(cell.value, str):
        if not cell.value.strip():
            return ParsedCell(None, "ignored", note="only spaces")
        if cell.value.lstrip().startswith("=") and not re.match(r'\s*="[^"]*"\s*\Z', cell.value):
            return unclear(f"a formula written as text: {cell.value.strip()}")
    if isinstance(cell.value, float) and not math.isfinite(cell.value):
        return unclear("not a number")
    return None


def _marked(parsed: ParsedCell, cell: RawCell, quantity: Quantity) -> ParsedCell:
    """Add what the look of the cell says: struck out, hidden, commented.

    A code that is struck out still tells whose the readings on its line are.
    """
    flags, note = parsed.flags, parsed.note
    if cell.hidden:
        flags = (*flags, "hidden")
    if cell.struck and quantity.kind != "identifier":
        flags = (*flags, "struck")
        if parsed.value is not None:
            shown = _join(note, f"struck out; was {cell.text} withdrawn?")
            return unclear(shown, *(f for f in flags if f != "unclear"))
    if cell.comment and parsed.value is not None and _DOUBTS.search(cell.comment):
        return unclear(_join(note, "a comment on the cell doubts it"), *flags)
    if cell.comment and parsed.value is not None and re.search(r"\d", cell.comment):
        if "?" in cell.comment and re.search(r"\d[.,]\d|\d\d", cell.comment):
            return unclear(_join(note, "a comment on the cell asks about it"), *flags)
        if _CORRECTS.search(cell.comment):
            return unclear(_join(note, "a comment on the cell corrects it"), *flags)
        note = _join(note, "a comment on the cell holds a number, not used")
    if flags == parsed.flags and note == parsed.note:
        return parsed
    return replace(parsed, flags=flags, note=note)


def _join(*notes: str) -> str:
    return "; ".join(n for n in notes if n)


# Columns of numbers ---------------------------------------------------------------------------


def _number(cell: RawCell, quantity: Quantity, context: CellContext) -> ParsedCell:
    value = cell.value
    if isinstance(value, bool):
        return unclear(f"{cell.text} where a number is expected")
    if asks_for_clock(quantity, context):
        if (minutes := minutes_on_clock(value)) is None:
            return unclear(f"'{cell.text.strip()}' where the heading asks for hours and minutes")
        reading = Reading(minutes, 0, "min", note="h:mm as headed", notation=True)
        return _finish(reading, quantity, context)
    if isinstance(value, (date, time, timedelta)):
        behind = number_behind(value)
        if isinstance(value, date):
            behind = f"a date ({value:%Y-%m-%d}); perhaps {behind} was typed"
        return unclear(behind)
    if isinstance(value, str):
        return _from_text(value, quantity, context)
    if isinstance(value, (int, float)):
        return _from_typed(value, cell, quantity, context)
    return unclear(f"{type(value).__name__} where a number is expected")


def asks_for_clock(quantity: Quantity, context: CellContext) -> bool:
    """Tell whether a heading asks for hours and minutes, so that 45 alone says nothing."""
    return dimension(quantity) == "time" and HOURS_AND_MINUTES.search(context.heading) is not None


def _from_typed(
    value: float, cell: RawCell, quantity: Quantity, context: CellContext
) -> ParsedCell:
    try:
        exact = Decimal(repr(value))
        float(value)
    except (ArithmeticError, ValueError):
        return unclear("not a number of ordinary size")
    if cell.number_format == "General":
        return _finish(Reading(exact), quantity, context)
    shape = formats.look(cell.number_format)
    if shape.doubt:
        return unclear(f"{shape.doubt} (format {cell.number_format})")
    if shape.percent:
        if quantity.unit:
            return unclear(f"shown as a percentage ({exact * 100:f} %)")
        decimals = None if shape.decimals is None else shape.decimals
        return ParsedCell(
            float(exact * 100), "converted", "%", decimals, note="a percentage as shown"
        )
    unit = (known_unit(shape.unit, dimension(quantity)) or "") if shape.unit else ""
    if shape.unit and not unit and re.search(r"[^\W\d_]", shape.unit) and quantity.unit:
        return unclear(f"shown with '{shape.unit}' (format {cell.number_format})")
    computed = cell.formula is not None
    decimals = formats.recorded_decimals(exact, shape, computed=computed)
    return _finish(Reading(exact, decimals, unit), quantity, context)


_LISTED = re.compile(
    r"\b(?:each|every|list|fills|pours|portions|additions|(?:one|number) per|"
    r"how many times|as (?:poured|added))\b",
    re.IGNORECASE,
)


_PART_OF_HOUR = re.compile(r"\s*(?:1/[2-4]|[23]/[34])\s*")


def _from_text(text: str, quantity: Quantity, context: CellContext) -> ParsedCell:
    if len(text) > _LONGEST:
        return unclear(f"{len(text)} characters where a number is expected")
    if says_missing(text) or (context.column.startswith("fill_") and says_none(text)):
        return ParsedCell(None, "ignored", note=f"'{text.strip()}': no value given")
    if behind := date_in_number_column(text):
        return unclear(f"'{text.strip()}' is a date; perhaps {behind} was typed")
    adds_up = quantity.name == "initial_mass_g" or is_pour(quantity)
    listed = adds_up and (context.in_parts or _LISTED.search(context.heading) is not None)
    kind = dimension(quantity)
    if _PART_OF_HOUR.fullmatch(text) and heading_unit(quantity, context) == "h":
        text = f"{text} h"  # no date below "hours drying"
    reading = read_text(text, context.decimal, kind, adds_up=adds_up, listed=listed)
    if reading.value is None and context.decimal is None and len(reading.readings) == 2:
        reading = _settled_by_limits(reading, quantity, context)
    if reading.value is not None and (other := _only_as_decimal(reading, text, quantity, context)):
        reading = other
    if reading.value is None:
        note = f"'{clean_text(text)}': {reading.doubt}"
        if reading.likely:
            note += f"; perhaps {reading.likely} was meant"
        return unclear(note, *reading.flags)
    if doubt := _two_readings(text, reading, quantity, context):
        return unclear(doubt)
    return _finish(reading, quantity, context)


def _settled_by_limits(reading: Reading, quantity: Quantity, context: CellContext) -> Reading:
    """Settle "2.498" where nothing else in the column tells which mark is decimal.

    Only for the point: a point that parts thousands occurs where commas are decimal, and such a
    column shows commas. The thousands must besides be impossible. "2,498" stays open.
    """
    decimal, thousands = reading.readings
    if "'.'" not in reading.doubt:
        return reading
    unit = reading.unit or heading_unit(quantity, context) or quantity.unit
    if dimension_of(unit) != dimension(quantity) or not quantity.unit:
        return reading
    if convert(float(thousands.value), unit, quantity.unit) <= quantity.high:
        return reading
    return Reading(decimal.value, decimal.decimals, reading.unit)


def _only_as_decimal(
    reading: Reading, text: str, quantity: Quantity, context: CellContext
) -> Reading | None:
    """Return "2,118" among points read as a decimal, where as thousands it is impossible.

    Among commas, "2.118" likewise. In whatever unit the thousands would be possible, the value is
    the same.
    """
    if context.decimal is None or "thousands" not in reading.note or quantity.typical is None:
        return None
    unit = reading.unit or heading_unit(quantity, context) or quantity.unit
    if dimension_of(unit) != dimension(quantity):
        return None
    other = read_text(text, "," if context.decimal == "." else ".", dimension(quantity))
    if (
        other.value is None
        or convert(float(reading.value or 0), unit, quantity.unit) <= quantity.high
    ):
        return None
    low, high = quantity.typical
    return other if low <= convert(float(other.value), unit, quantity.unit) <= high else None


def _two_readings(text: str, reading: Reading, quantity: Quantity, context: CellContext) -> str:
    """Return a doubt for "2l" (litre or digit one) and for "50,50" (one fill or two)."""
    body, value = tidy(text), float(reading.value or 0)
    listed = re.fullmatch(r"([1-9]\d+),([1-9]\d)(?:\s*\D*)?", body)
    if quantity.name == "titrant_ml" and "approximate" in reading.flags and reading.half_width:
        return f"'{body}': a range, or the two readings of a burette"
    if is_pour(quantity) and listed and context.decimal != ",":
        return f"'{body}': one number with a decimal comma, or {listed[1]} and {listed[2]}"
    if not re.fullmatch(r"[0-9.,]+l", body):
        return ""
    doubt = f"'{body}': the last sign may be a litre or the digit 1"
    if quantity.unit != "mL":
        return f"{doubt}; perhaps {body[:-1]}1 was meant"
    lim = limits(quantity)
    as_litres = lim.odd_low <= convert(value, "L", "mL") <= lim.odd_high
    as_digit = judge(float(body[:-1].replace(",", ".") + "1"), quantity, stated=False) == "fine"
    return "" if as_litres and not as_digit else doubt


def _usual(figure: Decimal, quantity: Quantity) -> bool:
    """Tell whether a bare figure would be a usual value in the unit of the quantity."""
    return quantity.typical is not None and (
        quantity.typical[0] <= float(figure) <= quantity.typical[1]
    )


def heading_unit(quantity: Quantity, context: CellContext) -> str | None:
    """Return the unit of the heading if it is one of the quantity's dimension."""
    if context.unit is None:
        return None
    return known_unit(context.unit, dimension(quantity))


def _finish(reading: Reading, quantity: Quantity, context: CellContext) -> ParsedCell:
    """Convert a reading to the unit of the quantity and judge it."""
    if reading.value is None:
        return unclear(reading.doubt)
    if not quantity.unit:
        return _without_dimension(reading, quantity)
    heading = heading_unit(quantity, context)
    if context.unit and heading is None:
        return unclear(f"the unit '{context.unit}' of the heading is not known")
    unit = reading.unit or heading or quantity.unit
    if dimension_of(unit) != dimension(quantity):
        shown = SHOWN_UNIT.get(unit, unit)
        return unclear(f"'{shown}' is no unit of this column, which is in {_unit(quantity)}")
    stated = bool(reading.unit or heading)
    value = convert(float(reading.value), unit, quantity.unit)
    if not math.isfinite(value):
        return unclear("not a number of ordinary size")
    verdict = judge(value, quantity, stated=stated, settled=context.unit_settled)
    if verdict == "implausible" and unit != quantity.unit and _usual(reading.value, quantity):
        verdict = "unclear"  # "2.05 mg": the figure fits, the unit does not
    written = (float(reading.value), unit)
    reason = explain(value, quantity, verdict, stated=stated, written=written)
    notes = [reading.note]
    if unit != quantity.unit:
        notes.append(f"converted from {SHOWN_UNIT.get(unit, unit)}")
    if reading.unit and heading and heading != unit:
        notes.append(
            f"the cell's unit goes before the heading's ({SHOWN_UNIT.get(heading, heading)})"
        )
    note = _join(*notes, reason)
    if verdict in ("rejected", "unclear"):
        outcome: Outcome = "rejected" if verdict == "rejected" else "unclear"
        flag = "implausible" if verdict == "rejected" else "unclear"
        return ParsedCell(None, outcome, flags=(flag, *reading.flags), note=note)
    width = reading.half_width
    return ParsedCell(
        value,
        "converted" if unit != quantity.unit or reading.notation else "used",
        quantity.unit,
        convert_decimals(reading.decimals, unit, quantity.unit),
        (*reading.flags, *(("implausible",) if verdict == "implausible" else ())),
        note,
        None if width is None else convert_difference(float(width), unit, quantity.unit),
        tuple(convert(float(p), unit, quantity.unit) for p in reading.parts),
    )


def _unit(quantity: Quantity) -> str:
    return SHOWN_UNIT.get(quantity.unit, quantity.unit)


def _without_dimension(reading: Reading, quantity: Quantity) -> ParsedCell:
    """Finish a number of a column without a unit of its own; the cell's unit is kept as written."""
    value = float(reading.value or 0)
    verdict = judge(value, quantity, stated=True)
    if verdict in ("rejected", "unclear"):
        return unclear(explain(value, quantity, verdict, stated=True))
    width = None if reading.half_width is None else float(reading.half_width)
    outcome: Outcome = "converted" if reading.notation else "used"
    unit, note = reading.unit, reading.note
    return ParsedCell(value, outcome, unit, reading.decimals, reading.flags, note, width)
