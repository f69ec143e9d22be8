"""What a workbook's number format tells: decimals shown, a unit in it, percent, dates."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

ERRORS = frozenset(
    {
        *("#DIV/0!", "#VALUE!", "#REF!", "#N/A", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!"),
        *("#GETTING_DATA", "#FIELD!", "#BLOCKED!", "#CONNECT!", "#UNKNOWN!"),
        *("#WERT!", "#BEZUG!", "#ZAHL!", "#NV", "#VALEUR!", "#NOM?"),
        *("Err:502", "Err:504", "Err:508", "Err:522"),
    }
)
_FREE = re.compile(r'"([^"]*)"|\\(.)|_.|\*.|\[[^\]]*\]')
_PATTERN = re.compile(r"[#0?]*[.,#0? ]*[#0?](?P<scale>,*)")


@dataclass(frozen=True, slots=True)
class Shape:
    """What a number format says.

    Attributes
    ----------
    decimals : int or None
        Decimals shown; ``None`` if the format leaves them open.
    exponent : bool
        Shown with a power of ten; the decimals belong to its mantissa.
    percent : bool
        Shown times one hundred.
    unit : str
        Text the format puts behind the number.
    doubt : str
        Why the number shown is not the number stored, empty if it is.
    """

    decimals: int | None = None
    exponent: bool = False
    percent: bool = False
    unit: str = ""
    doubt: str = ""


@lru_cache(maxsize=512)
def look(code: str) -> Shape:
    """Return what the number format ``code`` of a workbook says."""
    section = _first_section(code)
    words = " ".join((m[1] or m[2] or "").strip() for m in _FREE.finditer(section)).strip()
    bare = _FREE.sub("", section)
    if bare.strip() in ("General", "Standard", "@", ""):
        return Shape(unit=words)
    if re.search(r"[ymdhs]", bare, re.IGNORECASE):
        return Shape(doubt="a number shown as a date or time")
    if "?/" in bare or "/" in bare:
        return Shape(unit=words)
    match = re.search(r"[#0?][#0?,. ]*", bare)
    digits = match[0].strip() if match else ""
    if digits.rstrip(" ").endswith(",") or re.search(r",\.", digits):
        return Shape(doubt="shown divided by a thousand")
    decimals = len(re.findall(r"0", digits.partition(".")[2]))
    return Shape(
        decimals if digits else None,
        exponent=bool(re.search(r"[eE][+-]", bare)),
        percent="%" in bare,
        unit=words,
    )


def _first_section(code: str) -> str:
    """Return the part of a format before the first ``;`` that is not inside quotes."""
    match = re.match(r'(?:"[^"]*"|\\.|\[[^\]]*\]|[^;])*', code)
    return match[0] if match else code


def recorded_decimals(value: Decimal, shape: Shape, *, computed: bool) -> int | None:
    """Return the decimals on record for a stored number.

    Parameters
    ----------
    value : Decimal
        Stored number.
    shape : Shape
        Its format.
    computed : bool
        The number is the result of a formula, so its stored digits record nothing.
    """
    if shape.decimals is None:
        return None
    shown = shape.decimals
    if shape.exponent:
        shown -= value.adjusted() if value else 0
    stored = max(0, -int(value.normalize().as_tuple().exponent)) if value else 0
    # Typed 2.51 under a format without decimals was recorded to 0.01 all the same.
    return shown if computed or stored > 6 else max(shown, stored)
