"""From what is written to one number, or to the reason why not.

Nothing here knows about quantities or limits. ``float`` is never let loose on text: it accepts
``2_5``, ``nan`` and ``inf``. A text that allows two readings gives a :class:`Doubt` that names
them.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from solubility_stats.quantities import Quantity
from solubility_stats.sheets.model import Decimal as Mark


@dataclass(frozen=True, slots=True)
class Number:
    """A number as written: exact decimal value, decimals recorded, how it was read."""

    value: Decimal
    decimals: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Why a text gives no certain number, with the readings that come to mind."""

    reason: str
    likely: str = ""
    readings: tuple[Number, ...] = ()


_SUPER = "⁰¹²³⁴⁵⁶⁷⁸⁹"
_SUB = "₀₁₂₃₄₅₆₇₈₉"
_PLAIN = str.maketrans(_SUPER + _SUB + "⁻⁺", "0123456789" * 2 + "-+")
_DEGREE = re.compile(r"[º˚∘]|⁰(?=\s*[CFKcfk]\b)")
_RAISED_AFTER_LETTER = re.compile(rf"(?<=[^\W\d_])[⁻⁺]?[{_SUPER}{_SUB}]+|(?<=\))[{_SUB}]+")
_POWER_OF_TEN = re.compile(rf"(?<=[x×*·⋅])(\s*10)([⁻⁺]?[{_SUPER}]+)")
_INVISIBLE = re.compile("[\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2064\ufeff]")
_DASHES = re.compile("[\u2013\u2014\u2015\u2012]")
_LOST = "\ufffd"


@lru_cache(maxsize=4096)
def tidy(text: str) -> str:
    """Return ``text`` with look-alike characters made plain, without changing any number.

    Full-width digits, typographic spaces, minus signs and degree signs become plain; raised
    and circled digits do not become ordinary ones, because "2.51¹" is not 2.511. A fraction
    written as one sign keeps its fraction bar, which no date has.
    """
    if text.isascii():
        return " ".join(text.split())
    text = _DEGREE.sub("°", text)
    text = _RAISED_AFTER_LETTER.sub(lambda m: m[0].translate(_PLAIN), text)
    text = _POWER_OF_TEN.sub(lambda m: m[1] + "^" + m[2].translate(_PLAIN), text)
    text = "".join(map(_plain_character, text))
    text = unicodedata.normalize("NFKC", text)
    text = _INVISIBLE.sub("", text).replace("−", "-").replace("‐", "-").replace("’", "'")
    text = _DASHES.sub("–", " ".join(text.split()))
    return re.sub(r"^–\s?(?=[\d.,])", "-", text)


def _plain_character(char: str) -> str:
    if char.isascii():
        return char
    kind = unicodedata.decomposition(char).partition(" ")[0]
    if kind == "<fraction>":
        return f" {unicodedata.normalize('NFKC', char)} "
    figure = unicodedata.decimal(char, None)
    if figure is not None:
        return str(figure)
    plain = unicodedata.normalize("NFKC", char)
    if any(c.isdigit() for c in plain):
        return _LOST  # circled, raised, lowered or squared digits: never glue them on
    return char


@dataclass(frozen=True, slots=True)
class Reading:
    """One number read from a text.

    Attributes
    ----------
    value : Decimal or None
        ``None`` if the text gives no certain number; ``doubt`` then says why.
    decimals : int or None
        Recorded decimals in the unit written.
    unit : str
        Unit name, or for a column without dimension the unit as written; empty for none.
    half_width : Decimal or None
        Half-width the text states (after ``±``, or of a range), in the unit written.
    flags : tuple of str
        ``approximate`` or ``censored``.
    note : str
        How it was read.
    notation : bool
        The value had to be worked out (sum, range, fraction, …).
    doubt, likely : str
        Why there is no value, and the number it was probably meant to be.
    readings : tuple of Number
        The readings between which the text leaves the choice.
    parts : tuple of Decimal
        What a sum or product adds up ("100+100+50"), in the unit written.
    """

    value: Decimal | None = None
    decimals: int | None = None
    unit: str = ""
    half_width: Decimal | None = None
    flags: tuple[str, ...] = ()
    note: str = ""
    notation: bool = False
    doubt: str = ""
    likely: str = ""
    readings: tuple[Number, ...] = ()
    parts: tuple[Decimal, ...] = ()


LITERAL = r"[+-]?\s?(?:[0-9][0-9.,' ]*[0-9]|[0-9]|[.,][0-9]+)"
SIMPLE = r"[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+"
_SHAPE = re.compile(rf"{LITERAL}[.,]*", re.ASCII)
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:([.,' ])[0-9]{3})(?:\1[0-9]{3})*")


def read_literal(token: str, mark: Mark | None) -> Number | Doubt:
    """Read one number written with digits, separators and a sign.

    Parameters
    ----------
    token : str
        Tidied text, e.g. ``"1.234,5"``.
    mark : str or None
        Decimal mark decided for the column.
    """
    if not _SHAPE.fullmatch(token):
        return _unreadable(token)
    sign = "-" if token.startswith("-") else ""
    body = token.lstrip("+-").strip()
    marks = [c for c in body if not c.isdigit()]
    if not marks:
        return _whole(sign, body)
    if re.search(r"[.,' ]{2}", body):
        return _two_marks(sign, body)
    if {" ", "'"} & set(marks):
        return _spaced(sign, body, mark)
    if len(set(marks)) == 2:
        return _both_marks(sign, body)
    if len(marks) > 1:
        return _repeated_mark(sign, body, marks[0])
    return _one_mark(sign, body, marks[0], mark)


def _number(sign: str, whole: str, part: str = "", note: str = "") -> Number:
    text = f"{sign}{whole or '0'}.{part}" if part else f"{sign}{whole or '0'}"
    return Number(Decimal(text), len(part), note)


def _whole(sign: str, body: str) -> Number | Doubt:
    number = _number(sign, body)
    if len(body) > 1 and body[0] == "0":
        likely = f"{body[0]}.{body[1:]}"
        return Doubt("starts with 0 and has no decimal mark", likely, (number,))
    return number


def _two_marks(sign: str, body: str) -> Doubt:
    if re.search(r"[0-9], [0-9]", body):
        return Doubt("several numbers")
    likely = re.sub(r"[.,' ]*([.,])[.,' ]*", r"\1", body, count=1)
    return Doubt("two marks side by side", f"{sign}{likely}")


def _spaced(sign: str, body: str, mark: Mark | None) -> Number | Doubt:
    whole, point, part = _split_last(body)
    separators = set(re.findall(r"[' ]", whole))
    if " " in part or "'" in part or len(separators) != 1 or not _GROUPED.fullmatch(whole):
        return Doubt("several numbers, or one with a gap")
    digits = re.sub(r"[' ]", "", whole)
    if point and len(part) == 3 and mark is not None and point != mark:
        return Doubt("thousands and decimals cannot be told apart", f"{sign}{digits}{point}{part}")
    return _number(sign, digits, part, "read with a thousands separator")


def _split_last(body: str) -> tuple[str, str, str]:
    position = max(body.rfind("."), body.rfind(","))
    if position < 0:
        return body, "", ""
    return body[:position], body[position], body[position + 1 :]


def _both_marks(sign: str, body: str) -> Number | Doubt:
    whole, point, part = _split_last(body)
    if point in whole or not part or not _GROUPED.fullmatch(whole):
        return Doubt("point and comma do not make one number")
    digits = re.sub(r"[.,]", "", whole)
    return _number(sign, digits, part, f"'{point}' read as the decimal mark")


def _repeated_mark(sign: str, body: str, mark: str) -> Number | Doubt:
    if _GROUPED.fullmatch(body) and body[0] != "0":
        return _number(sign, body.replace(mark, ""), note=f"'{mark}' read as thousands separator")
    return Doubt(f"several '{mark}' in one number, or several numbers")


def _one_mark(sign: str, body: str, found: str, mark: Mark | None) -> Number | Doubt:
    whole, _, part = body.partition(found)
    note = "" if found == (mark or ".") else f"'{found}' read as the decimal mark"
    as_decimal = _number(sign, whole, part, note)
    if not part:
        if found == ".":
            return as_decimal
        return Doubt("ends with a comma; a digit may be missing", f"{sign}{whole}", (as_decimal,))
    if len(whole) > 1 and whole[0] == "0":
        return Doubt("starts with more zeros than one", f"{sign}{body}", (as_decimal,))
    if len(part) != 3 or not 1 <= len(whole) <= 3 or whole == "0":
        return as_decimal  # thousands come in groups of three, so this is a decimal mark
    if found == mark:
        return as_decimal
    as_thousands = _number(sign, whole + part, note=f"'{found}' read as thousands separator")
    if mark is not None:
        return as_thousands
    return Doubt(
        f"'{found}' may be a decimal mark ({as_decimal.value}) or separate thousands "
        f"({as_thousands.value})",
        f"{as_decimal.value}",
        (as_decimal, as_thousands),
    )


_LOOKALIKE = str.maketrans("OoQDIl|SBZ", "0000111582")


def _unreadable(token: str) -> Doubt:
    """Name the number a slip of the pen may have meant; never use it."""
    plain = token.translate(_LOOKALIKE)
    if plain != token and any(c.isdigit() for c in token):
        number = read_literal(plain, None)
        if isinstance(number, Number):
            return Doubt("letters among the digits", f"{number.value}")
    return Doubt("not a number")


# Not the beginning of "1,8O2", with a letter for a digit.
_TOKEN = re.compile(r"(?<![0-9.,'])[0-9.,][0-9.,']*+(?![OoIlSBZ]\d)")


def is_pour(quantity: Quantity) -> bool:
    """Tell whether a quantity is a fill of water or the sum of them."""
    return quantity.name == "water_volume_ml" or quantity.name.startswith("fill")


def decide_decimal(
    texts: Sequence[str],
    *,
    quantity: Quantity | None = None,
    unit: str | None = None,
    elsewhere: Mark | None = None,
    beside: Sequence[float] = (),
) -> tuple[Mark | None, str]:
    """Decide which mark a column uses for decimals, from what its cells prove.

    Parameters
    ----------
    texts : sequence of str
        What was typed, as text. Numbers a workbook stores as numbers show no mark and do not
        belong here.
    quantity : Quantity, optional
        The column, if known. Where three or more cells could all be thousands or decimals, and
        all the thousands lie outside its limits, decimals are what is left.
    unit : str, optional
        Unit of the column as a unit name; the canonical one if not given.
    elsewhere : str, optional
        The mark the rest of the table was found to use; taken when the column is silent.
    beside : sequence of float
        The numbers of the column that are stored as numbers. By their size they tell "2,608"
        among 2.71 and 2.238 from "2,608" among 2710 and 2238.

    Returns
    -------
    mark : {".", ","} or None
        ``None`` if the cells do not tell or contradict one another.
    reason : str
        The evidence, in words.
    """
    proof: dict[str, str] = {}
    open_cases: dict[str, list[Number]] = {".": [], ",": []}
    united: dict[str, list[Number]] = {".": [], ",": []}  # "2.112 g" among milligrams
    counted = quantity is not None and not is_pour(quantity)
    for text in texts:
        if _IN_DOUBT.search(text):
            continue
        cases = united if _UNITED.search(text) else open_cases
        for token in _TOKEN.findall(tidy(str(text))):
            if ",," in token or ".." in token:
                continue  # a slip, which tells nothing of the others
            if token.count(",") > 1 and not _GROUPED.fullmatch(token):
                if counted:
                    continue  # "2,3,1" of a mass is a slip as well
                return None, f"'{token}' may list several numbers"
            proven = _proves(token, cases)
            if proven:
                proof.setdefault(proven, token)
    if len(proof) == 2:
        return None, f"both marks occur: '{proof['.']}' and '{proof[',']}'"
    if proof:
        (mark, example), *_ = proof.items()
        return ("." if mark == "." else ","), f"as in '{example}'"
    if not any(open_cases.values()):
        open_cases = united
    if (found := _by_size(open_cases, beside)) is not None:
        return found
    return _from_limits(open_cases, quantity, unit, elsewhere)


# How the reason begins where the size of a column's numbers decides.
BY_SIZE = "the numbers beside it lie between"
_UNITED = re.compile(r"\d\s*[^\W\d_]")
# "2,9 or 3,1 g?" was not written down like the rest.
_IN_DOUBT = re.compile(r"\?\s*\Z|\d\s*\w*\s+(?:or|oder|ou|of|eller|lub)\s+\d", re.IGNORECASE)
# Readings of a column lie within such a factor of one another, and thousands do not (judgement).
_NEAR, _FEWEST_BESIDE = 3.0, 3


def _by_size(
    open_cases: dict[str, list[Number]], beside: Sequence[float]
) -> tuple[Mark, str] | None:
    """Decide by the size of the numbers beside, where only one of the marks comes near them."""
    marks: list[Mark] = [m for m in (".", ",") if open_cases[m]]
    if len(marks) != 1 or len(beside) < _FEWEST_BESIDE or min(beside) <= 0.0:
        return None
    low, high = min(beside) / _NEAR, max(beside) * _NEAR
    thousands = [float(n.value) for n in open_cases[marks[0]]]
    said = f"{BY_SIZE} {min(beside):g} and {max(beside):g}"
    if high < min(thousands) and all(low <= n / 1000 <= high for n in thousands):
        return marks[0], said
    if max(thousands) / 1000 < low and all(low <= n <= high for n in thousands):
        return ("," if marks[0] == "." else "."), said
    return None


def _proves(token: str, open_cases: dict[str, list[Number]]) -> str:
    """Return the mark a token proves to be decimal, else note an open case."""
    if {".", ","} <= set(token):
        read = _both_marks("", token)
        return _split_last(token)[1] if isinstance(read, Number) else ""
    for mark, other in ((".", ","), (",", ".")):
        if token.count(mark) > 1:
            return other if _GROUPED.fullmatch(token) else ""
        if token.count(mark) == 1:
            read = read_literal(token, None)
            if isinstance(read, Number):
                return mark if read.decimals else ""
            if len(read.readings) == 2:
                open_cases[mark].append(read.readings[1])
    return ""


# So many open cases are no slip; readings lie far above such a part of the usual (judgement).
_FEWEST_OPEN, _FAR_BELOW = 3, 10.0


def _from_limits(
    open_cases: dict[str, list[Number]],
    quantity: Quantity | None,
    unit: str | None,
    elsewhere: Mark | None,
) -> tuple[Mark | None, str]:
    if elsewhere is not None:
        return elsewhere, "as in the rest of the table"
    marks: list[Mark] = [m for m in (".", ",") if open_cases[m]]
    if not marks:
        return None, "no decimal mark occurs"
    if len(marks) == 1 and quantity is not None and len(open_cases[marks[0]]) >= _FEWEST_OPEN:
        from solubility_stats.sheets.units import convert

        written = unit or quantity.unit
        numbers = [float(n.value) for n in open_cases[marks[0]]]
        as_thousands = [convert(n, written, quantity.unit) for n in numbers]
        as_decimals = [convert(n / 1000, written, quantity.unit) for n in numbers]
        if min(as_thousands) > quantity.high:
            return marks[0], f"read as thousands all values would be above {quantity.high:g}"
        low, high = quantity.typical or (0.0, 0.0)
        usual = all(low <= n <= high for n in as_thousands)
        if usual and max(as_decimals) < low / _FAR_BELOW:
            # "2,596" below "mg": in grams with a decimal comma it would be the same mass.
            return ("," if marks[0] == "." else "."), "read as decimals all would be too small"
    return None, "decimals and thousands cannot be told apart"
