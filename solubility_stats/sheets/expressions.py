"""What people write around a number: units, "ca.", "±", ranges, sums, fractions, footnote marks.

:func:`read_text` takes the text of one cell apart and returns a :class:`Reading`: a number with
its unit as written, or the doubt that stops it. Limits and conversion come later.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from solubility_stats.sheets.amounts_in_parts import (
    THEN,
    listed_parts,
    sum_of_parts,
    times,
    total_with_parts,
)
from solubility_stats.sheets.durations import clock, halves, hours_minutes, in_words
from solubility_stats.sheets.model import Decimal as Mark
from solubility_stats.sheets.numbers import (
    LITERAL,
    SIMPLE,
    Doubt,
    Number,
    Reading,
    read_literal,
    tidy,
)
from solubility_stats.sheets.plain_number import UNIT, plain, two_numbers, unit_of
from solubility_stats.sheets.words_behind import with_words

_ABOUT = re.compile(
    r"^(?:~|≈|±(?=\s?\d)|≅|∼|aprox\b\.?|około|ok\.|unos|ongeveer|cca\b\.?|about|approximately|approx\b\.?|roughly|around|like|almost|nearly|circa|ca\b\.?|c\.(?=\s?\d)"
    r"|ungefähr|etwa|environ|env\.|asi|přibližně|noin|yaklaşık|cirka|omtrent|aproximadamente|rund|"
    r"mais ou menos|más o menos)\s*(?=[\d.,+-]|half\b|an? (?:hour|half|quarter)\b)",
    re.IGNORECASE,
)
_ABOUT_AFTER = re.compile(
    r"\s*(?:\(?\s*(?:approx\b\.?|approximately|about|roughly|ca\b\.?|aprox\b\.?|circa|environ|env\.|"
    r"ungefähr|etwa|ongeveer|około)\s*\)?|-?ish)$",
    re.IGNORECASE,
)
_BEYOND = re.compile(
    r"^(?:[<>≤≥⩽⩾]=?|less than|more than|at least|at most|over|under|below|above|up to"
    r"|max\.?|min\.?|kleiner|größer)\s*(?=[\d.,~])",
    re.IGNORECASE,
)
# "We got 1.94 g", and a picture behind the number.
_CHATTER = re.compile(
    r"^(?:we got|i got|got|it was|it's|was|we used|used|exactly|yes[,:;–-]?)\s+(?=[\d.,~≈])"
    r"|[\s!]*[\u2600-\u27bf\U0001f000-\U0001faff\ufe0f]+\s*$",
    re.IGNORECASE,
)
# "Overnight (16 h)", "room temp (21)": words and then the figure.
_IN_FIGURES = re.compile(
    r"^(?:(?:left\s+)?over\s?night|room\s?temp(?:erature)?|r\.?t\.?|ambient)\s*[(,:=–-]+\s*"
    r"([^()]+?)\)?$",
    re.IGNORECASE,
)
_NOT_THAT = re.compile(r"\s*\(\s*not\s[^()]*\)\s*$", re.IGNORECASE)  # "2.19 g (not 3.19)"
_FOOTNOTE = re.compile(r"(?<=[\w°)])\s*(?:[*†‡§]+|\([*†‡§a-e]\))$")
_LABEL = re.compile(r"^(?P<label>[^\W\d_][^\d=:]{0,23}?)\s*[=:]\s*(?=[\d.,+~<>-])")
_PLUS_MINUS = re.compile(
    rf"\(?\s*(?P<a>{LITERAL})\s*{UNIT.format(n=1)}\s*(?:±|\+/-|\+-|\+\s?/\s?-)\s*"
    rf"(?P<b>{SIMPLE})\s*\)?\s*{UNIT.format(n=2)}"
)
_RANGE = re.compile(
    rf"(?P<a>-?(?:{SIMPLE}))\s*{UNIT.format(n=1)}\s*(?:–|-|\bto\b|\bbis\b|\bà\b)\s*"
    rf"(?P<b>{SIMPLE})\s*{UNIT.format(n=2)}"
)
# "2.731 - 0.862 = 1.869 g": a result and how it was worked out.
_UNITS = r"(?:g|mg|gm|mL|ml|L|litres?|dm3|dm³|cm3|cm³)?"
_WORKING = rf"(?:{SIMPLE})\s*{_UNITS}(?:\s*[-–/÷:*×x]\s*(?:{SIMPLE})\s*{_UNITS}){{1,4}}"
_OPERATION = re.compile(rf"\s*(?P<sign>[-–/÷:*×x]?)\s*(?P<number>{SIMPLE})\s*{_UNITS}")
_WORKED = re.compile(rf"(?P<work>{_WORKING})\s*=\s*(?P<result>[^=]+)")
_POWER = re.compile(
    rf"(?P<a>[+-]?(?:{SIMPLE}))\s?(?:[xX×*·]\s?10\s?(?:\^\s?(?P<p>[+-]?\d\d?)|(?P<q>-\d\d?))"
    rf"|[eE](?P<e>[+-]\d\d?)|(?<=[.,]\d)[eE](?P<f>\d\d?)|(?<=[.,]\d\d)[eE](?P<g>\d\d?))"
    r"\s*(?P<unit1>(?![\d.,]).*)"
)
_FRACTION = re.compile(
    rf"(?:(?P<w>\d{{1,4}})\s(?:and\s)?)?(?P<n>\d{{1,2}})\s?(?P<bar>[/⁄])\s?(?P<d>\d{{1,2}})\s*{UNIT.format(n=1)}"
)


def read_text(
    text: str,
    mark: Mark | None,
    dimension: str | None,
    *,
    adds_up: bool = False,
    listed: bool = False,
) -> Reading:
    """Read the number in one cell's text.

    Parameters
    ----------
    text : str
        Text of the cell, as it is.
    mark : str or None
        Decimal mark decided for the column.
    dimension : str or None
        Dimension of the column; ``None`` for a plain number with any unit behind it.
    adds_up : bool
        Parts of this quantity may be written as a sum ("100+100+50") or, for a volume, as a
        product ("3 × 100"). Elsewhere "0.85+1.71" may be paper and solid, and is doubted.
    listed : bool
        The heading asks for one part after another, so that "50, 50, 49" are parts too.
    """
    body, notes, flags = _peel(tidy(text))
    if match := _BEYOND.match(body):
        inner = read_text(body[match.end() :], mark, dimension, adds_up=adds_up, listed=listed)
        likely = f"{match[0].strip()} {_shown(inner)}".strip()
        return Reading(doubt=f"a limit ('{likely}'), not a value", flags=("censored",))
    reading = _first_form(body, mark, dimension, adds_up, listed)
    if reading.value is None:
        return replace(reading, flags=reading.flags or flags)
    note = "; ".join([*notes, reading.note] if reading.note else notes)
    return replace(reading, flags=(*flags, *reading.flags), note=note)


def _shown(reading: Reading) -> str:
    if reading.value is None:
        return reading.likely
    return f"{reading.value} {reading.unit}".strip()


def _peel(body: str) -> tuple[str, list[str], tuple[str, ...]]:
    """Take off quotes, labels, footnote marks and words like "about"."""
    notes: list[str] = []
    flags: tuple[str, ...] = ()
    if quoted := re.fullmatch(r"=?\"([^\"]*)\"|'(.*)", body):
        body = (quoted[1] or quoted[2] or "").strip()
    if (label := _LABEL.match(body)) and _is_symbol(label["label"]):
        body = body[label.end() :]
        notes.append(f"written as '{label['label'].strip()} ='")
    body = _IN_FIGURES.sub(r"\1", _CHATTER.sub("", _NOT_THAT.sub("", body).rstrip("! ")))
    if mark := _FOOTNOTE.search(body):
        notes.append(f"marked {mark[0].strip()}")
        body = body[: mark.start()]
    for pattern in (_ABOUT, _ABOUT_AFTER):
        if found := pattern.search(body):
            body = (body[: found.start()] + body[found.end() :]).strip()
            notes.append("written as approximate")
            flags = ("approximate",)
    return body, list(dict.fromkeys(notes)), flags


def _is_symbol(label: str) -> bool:
    """Tell whether a label is a bare symbol (m, V, T); "m2" may contradict the heading."""
    return bool(re.fullmatch(r"[mvtcs]", label.strip(), re.IGNORECASE))


def _first_form(
    body: str, mark: Mark | None, dimension: str | None, adds_up: bool, listed: bool
) -> Reading:
    forms: tuple[Callable[[str, Mark | None, str | None], Reading | None], ...] = (
        clock,
        _power,  # before "x 10^-3 g/mL" may pass as a unit
        *((listed_parts,) if adds_up and (listed or THEN.search(body)) else ()),
        plain,
        _plus_minus,
        *((_corrected,) if dimension == "mass" else ()),
        *((times, sum_of_parts, total_with_parts) if adds_up else ()),
        halves,
        _fraction,
        _worked,
        _answered,
        hours_minutes,
        in_words,
        _range,
        with_words,
    )
    for form in forms:
        reading = form(body, mark, dimension)
        if reading is not None:
            return reading
    return _no_form(body, mark)


def _no_form(body: str, mark: Mark | None) -> Reading:
    doubt = read_literal(body, mark)
    if isinstance(doubt, Doubt) and doubt.likely:
        return Reading(doubt=doubt.reason, likely=doubt.likely)
    numbers = re.findall(SIMPLE, body)
    if not numbers:
        return Reading(doubt="no number in it")
    if len(numbers) == 1:
        return Reading(doubt="more than a number and a unit", likely=numbers[0])
    if re.fullmatch(rf"(?:{SIMPLE})\s*-\s*(?:{SIMPLE})\D*", body):
        return Reading(doubt="a subtraction, a range or a date")
    return Reading(doubt=f"several numbers ({', '.join(numbers[:4])})")


def _plus_minus(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    match = _PLUS_MINUS.fullmatch(body)
    if match is None:
        return None
    parts = two_numbers(match, mark, dimension)
    if isinstance(parts, Reading):
        return parts
    value, width, unit = parts
    return Reading(
        value.value,
        value.decimals,
        unit,
        half_width=width.value,
        note=f"± {width.value} as written",
        notation=True,
    )


_ARROW = re.compile(r"(?P<was>[^→>]+?)\s*(?:-+>|=+>|→)\s*(?P<now>[^→>-]+)")
# "2.266 (was 2.9, misread)"
_WAS = re.compile(
    r"(?P<now>[^(),;]+?)\s*[(,;]\s*(?:was|corrected from|changed from|originally|war|statt|era|"
    r"eerst|var)\s+(?P<was>[\d.,]*\d\s*m?g?)(?:[\s,;][^()\d]*)?\)?",
    re.IGNORECASE,
)


def _corrected(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read "0.19 -> 0.91" as the mass that somebody put right beside what stood there."""
    match = _ARROW.fullmatch(body) or _WAS.fullmatch(body)
    if match is None:
        return None
    was, now = (plain(match[side].strip(), mark, dimension) for side in ("was", "now"))
    if was is None or now is None or was.value is None or now.value is None:
        return None
    return replace(now, note=f"corrected in the cell; was {match['was'].strip()}", notation=True)


def _range(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    match = _RANGE.fullmatch(body)
    if match is None:
        return None
    parts = two_numbers(match, mark, dimension)
    if isinstance(parts, Reading):
        return parts
    low, high, unit = parts
    if not _is_range(low, high, unit, dimension):
        return Reading(doubt="a subtraction, a range or a date", likely="")
    middle, half = (low.value + high.value) / 2, (high.value - low.value) / 2
    return Reading(
        middle,
        min(low.decimals, high.decimals),
        unit,
        half_width=half,
        flags=("approximate",),
        note=f"middle of the range {low.value} to {high.value}",
        notation=True,
    )


def _is_range(low: Number, high: Number, unit: str, dimension: str | None) -> bool:
    """Tell a range from a subtraction (larger first) and from a date or "2-5" for 2.5."""
    if low.value >= high.value:
        return False
    dated = not (low.decimals or high.decimals) and high.value <= 31 and not unit
    if dimension == "temperature":
        return high.value - low.value <= 10 and not (dated and low.value <= 12)
    if dimension == "time":
        return not (dated and low.value <= 12)
    return low.value > 0 and high.value <= low.value * Decimal("1.1") and not dated


def _worked(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read the result of "2.731 - 0.862 = 1.869 g"; it has to be what the numbers make."""
    match = _WORKED.fullmatch(body)
    result = plain(match["result"].strip(), mark, dimension) if match else None
    if match is None or result is None or result.value is None:
        return None
    made: Decimal | None = None
    signs = set()
    for part in _OPERATION.finditer(match["work"]):
        number = read_literal(part["number"], mark)
        if isinstance(number, Doubt):
            return None
        signs.add("-" if part["sign"] in ("-", "–") else "*" if part["sign"] else "")
        made = number.value if made is None else _made(made, part["sign"], number.value)
    if len(signs - {""}) > 1:
        return None  # a difference and a quotient in one: not ours to work out
    step = Decimal(1).scaleb(-(result.decimals or 0))
    if made is None or abs(made - result.value) > step:
        return Reading(doubt=f"the result is not what '{match['work']}' makes")
    return replace(result, note=f"the result of {match['work']}", notation=True)


# "(2.274 g – 1.941 g) / 0.1985 L = 1.68 g/L": figures, signs and units, and then the answer.
_ANSWERED = re.compile(
    r"(?P<work>(?=.*[-–−+×x*/÷])[\d\s.,()\[\]+–−×x*/÷·-]*(?:(?:m?g|m?L|ml|l|cm3|dm3|cm³|dm³)\b"
    r"[\d\s.,()\[\]+–−×x*/÷·-]*)*)=\s*(?P<result>[^=]+)"
)


def _answered(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read the answer behind the working of a figure that is kept as the group wrote it."""
    match = _ANSWERED.fullmatch(body) if dimension is None else None
    result = plain(match["result"].strip(), mark, dimension) if match else None
    if match is None or result is None or result.value is None:
        return None
    return replace(result, note=f"the answer of {match['work'].strip()}", notation=True)


def _made(first: Decimal | None, sign: str, second: Decimal) -> Decimal | None:
    if first is None:
        return None
    if sign in "-–":
        return first - second
    if sign in "/÷:":
        return first / second if second else None
    return first * second


def _power(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    match = _POWER.fullmatch(body)
    if match is None:
        return None
    number = read_literal(match["a"], mark)
    unit = unit_of(match["unit1"], dimension)
    if isinstance(number, Doubt) or unit is None:
        return Reading(doubt="a power of ten of which one part is not clear")
    exponent = int(match["p"] or match["q"] or match["e"] or match["f"] or match["g"])
    value = number.value.scaleb(exponent)
    return Reading(value, number.decimals - exponent, unit, note=f"read as {value:f}")


def _fraction(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    match = _FRACTION.fullmatch(body)
    if match is None:
        return None
    unit = unit_of(match["unit1"], dimension)
    top, bottom = int(match["n"]), int(match["d"])
    if unit is None or bottom not in (2, 3, 4, 5, 8, 10) or top >= bottom:
        return Reading(doubt=f"two values, a fraction or a date ('{body}')")
    if not unit and match["w"] is None and match["bar"] == "/":
        return Reading(doubt=f"a fraction or a date ('{body}')", likely=f"{top / bottom:g}")
    exact = Fraction(top, bottom) + int(match["w"] or 0)
    value = Decimal(f"{float(exact):.6g}")
    return Reading(value, None, unit, note=f"fraction, {value}", notation=True)
