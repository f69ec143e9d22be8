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
from solubility_stats.sheets.units import BARE_DEGREE, known_unit

# Words that may follow a value without changing its meaning.
_HARMLESS_TAIL = re.compile(
    r"[\s,]*(?:\bof\b|\bwater\b|\bh2o\b|\bwasser\b|\beau\b|\bdi\b|\bd\.?i\.?(?=\s)|\bdistilled\b"
    r"|\bdeionised\b|\bdeionized\b|\bca\(oh\)2|\bcalcium hydroxide\b|\bsolid\b|\bsalt\b|\bhcl\b|"
    r"\b(?:hydrochloric )?acid\b|\bexactly\b"
    r"|\(?re-?weighed\)?|\btotal\b|\bin total\b)\s*$",
    re.IGNORECASE,
)
_ABOUT = re.compile(
    r"^(?:~|≈|±(?=\s?\d)|≅|∼|aprox\b\.?|około|ok\.|unos|ongeveer|cca\b\.?|about|approximately|approx\b\.?|roughly|around|like|almost|nearly|circa|ca\b\.?|c\.(?=\s?\d)"
    r"|ungefähr|etwa|environ|env\.)\s*(?=[\d.,+-])",
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
    r"^(?:we got|i got|got|it was|it's|was|we used|used|exactly)\s+(?=[\d.,~≈])"
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
_UNIT = r"(?P<unit{n}>[cd]m\s?\^?[3³]|[^\W\d_%°][^\d+±–~<>=/*]*|°\s?[CFK]?|%)?"
_PLUS_MINUS = re.compile(
    rf"\(?\s*(?P<a>{LITERAL})\s*{_UNIT.format(n=1)}\s*(?:±|\+/-|\+-|\+\s?/\s?-)\s*"
    rf"(?P<b>{SIMPLE})\s*\)?\s*{_UNIT.format(n=2)}"
)
_RANGE = re.compile(
    rf"(?P<a>-?(?:{SIMPLE}))\s*{_UNIT.format(n=1)}\s*(?:–|-|\bto\b|\bbis\b|\bà\b)\s*"
    rf"(?P<b>{SIMPLE})\s*{_UNIT.format(n=2)}"
)
_TERM = re.compile(rf"\s*(?P<a>{SIMPLE})\s*{_UNIT.format(n=1)}\s*")
_COUNT = "[1-9]|1\\d|20|one|two|three|four|five|six|seven|eight|nine|ten|twice|thrice"
_OFTEN = r"(?:\s?[x×*·]\s?|\s+times\s+|\s+(?:fills?|lots?|pours?|portions?)\s+(?:of\s+)?)"
_TIMES = re.compile(
    rf"(?P<n>{_COUNT}){_OFTEN}(?:(?:of|the)\s+)*(?P<a>{SIMPLE})\s*{_UNIT.format(n=1)}"
    rf"|(?P<b>{SIMPLE})\s*{_UNIT.format(n=2)}\s?[x×*·,]?\s?(?P<m>{_COUNT})(?:\s+times)?",
    re.IGNORECASE,
)
_PRODUCT = re.compile(
    rf"\s*(?P<n>[1-9]|1\d|20)\s?[x×*·]\s?(?P<a>{SIMPLE})\s*{_UNIT.format(n=1)}\s*", re.IGNORECASE
)
_COUNTS = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8,
    "nine": 9, "ten": 10, "twice": 2, "thrice": 3,
}  # fmt: skip
# "200 mL (4 x 50 mL)", "3 x 50 mL = 150 mL": the total and how it came about.
_TOTAL_AND_PARTS = re.compile(
    r"(?P<total>[^()=]+)\((?P<parts>[^()=]+)\)|(?P<parts2>[^()=]+)=(?P<total2>[^()=]+)"
)
# "2.731 - 0.862 = 1.869 g": a result and how it was worked out.
_UNITS = r"(?:g|mg|gm|mL|ml|L|litres?|dm3|dm³|cm3|cm³)?"
_WORKING = rf"(?:{SIMPLE})\s*{_UNITS}(?:\s*[-–/÷:*×x]\s*(?:{SIMPLE})\s*{_UNITS}){{1,4}}"
_OPERATION = re.compile(rf"\s*(?P<sign>[-–/÷:*×x]?)\s*(?P<number>{SIMPLE})\s*{_UNITS}")
_WORKED = re.compile(rf"(?P<work>{_WORKING})\s*=\s*(?P<result>[^=]+)")
_IN_ALL = re.compile(
    r"\s*(?:in total|total|in all|altogether)\s*$|^\s*(?:total|=)\s*", re.IGNORECASE
)
_THEN = re.compile(
    r"\s*,?\s*\b(?:(?:and )?then|and|plus|followed by)(?: (?:another|an extra|a further))\s+"
    r"|\s*,?\s*\b(?:and )?then\s+",
    re.IGNORECASE,
)
_LIST = re.compile(r"\s*(?:,\s+(?:and\s+)?|;\s*|/|\band\b|&)\s*")
# "50 50 50 50", "100 100 50", but "1 000" may be a thousand.
_SPACED = re.compile(r"\d{2,3}(?:\s+\d{2,3})*\s+\d{2}")
_POWER = re.compile(
    rf"(?P<a>[+-]?(?:{SIMPLE}))\s?(?:[x×*·]\s?10\s?(?:\^\s?(?P<p>[+-]?\d\d?)|(?P<q>-\d\d?))"
    rf"|[eE](?P<e>[+-]\d\d?)|(?<=[.,]\d)[eE](?P<f>\d\d?)|(?<=[.,]\d\d)[eE](?P<g>\d\d?))"
    rf"\s*{_UNIT.format(n=1)}"
)
_FRACTION = re.compile(
    rf"(?:(?P<w>\d{{1,4}})\s(?:and\s)?)?(?P<n>\d{{1,2}})\s?(?P<bar>[/⁄])\s?(?P<d>\d{{1,2}})\s*{_UNIT.format(n=1)}"
)
_PLAIN = re.compile(rf"(?P<a>{LITERAL}[.,]*)(?P<tail>.*)", re.DOTALL)


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
        *((_listed,) if adds_up and (listed or _THEN.search(body)) else ()),
        _plain,
        _power,
        _plus_minus,
        *((_corrected,) if dimension == "mass" else ()),
        *((_times, _sum, _with_parts) if adds_up else ()),
        halves,
        _fraction,
        _worked,
        hours_minutes,
        in_words,
        _range,
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


def _unit_of(text: str | None, dimension: str | None) -> str | None:
    """Return a unit name, ``""`` for no unit, ``None`` if the text is no unit."""
    words = (text or "").strip().strip(",;").strip()
    words = re.sub(r"^\((.*)\)$", r"\1", words).strip()
    if dimension == "time" and words in ("'", "′", "’"):
        return "min"
    while words:
        if words.casefold() in BARE_DEGREE:
            return ""
        if dimension is None:
            return words if _is_free_unit(words) else None
        if unit := known_unit(words, dimension):
            return unit
        shorter = _HARMLESS_TAIL.sub("", words)
        if shorter == words:
            return None
        words = shorter.strip()
    return ""


def _is_free_unit(words: str) -> bool:
    """Tell whether words behind a number can be its unit: no second value among them."""
    numbers = re.findall(r"\d+(?:[.,]\d+)*", words)
    plain = re.fullmatch(r"[A-Za-zμ%°][^=<>~±?!,;]{0,40}", words)
    return plain is not None and all(n in ("1", "2", "3", "10", "100", "1000") for n in numbers)


def _plain(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    match = _PLAIN.fullmatch(body)
    if match is None:
        return None
    token, tail = match["a"], match["tail"]
    if tail and tail[0].isdigit():
        return None
    unit = _unit_of(tail, dimension)
    if unit is None:
        return None
    if tail.strip() and token[-1] in ".,":
        token = token[:-1] if token[-1] == "," and tail.startswith(" ") else token
    number = read_literal(token, mark)
    if isinstance(number, Doubt):
        return Reading(
            doubt=number.reason, likely=number.likely, readings=number.readings, unit=unit
        )
    return Reading(number.value, number.decimals, unit, note=number.note)


def _two(
    match: re.Match[str], mark: Mark | None, dimension: str | None
) -> tuple[Number, Number, str] | Reading:
    """Read the two numbers and the common unit of a two-number form."""
    first, second = read_literal(match["a"], mark), read_literal(match["b"], mark)
    units = {_unit_of(match["unit1"], dimension), _unit_of(match["unit2"], dimension)} - {""}
    no_unit = None in units or "%" in units or len(units) > 1
    if isinstance(first, Doubt) or isinstance(second, Doubt) or no_unit:
        return Reading(doubt="two numbers of which one is not clear")
    return first, second, next(iter(units), None) or ""


def _plus_minus(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    match = _PLUS_MINUS.fullmatch(body)
    if match is None:
        return None
    parts = _two(match, mark, dimension)
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


def _corrected(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read "0.19 -> 0.91" as the mass that somebody put right beside what stood there."""
    match = _ARROW.fullmatch(body)
    if match is None:
        return None
    was, now = (_plain(match[side].strip(), mark, dimension) for side in ("was", "now"))
    if was is None or now is None or was.value is None or now.value is None:
        return None
    return replace(now, note=f"corrected in the cell; was {match['was'].strip()}", notation=True)


def _range(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    match = _RANGE.fullmatch(body)
    if match is None:
        return None
    parts = _two(match, mark, dimension)
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


def _times(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    match = _TIMES.fullmatch(body)
    if match is None or dimension != "volume":
        return None
    said = (match["n"] or match["m"]).casefold()
    if match["m"] and said.isdigit() and not re.search(r"[x×*·]|times", body, re.IGNORECASE):
        return None  # "50 2"
    number = read_literal(match["a"] or match["b"], mark)
    behind = re.sub(r"\s+[x×*·]\s*\Z", "", match["unit1"] or match["unit2"] or "")  # "50ml x 4"
    unit = _unit_of(behind, dimension)
    if isinstance(number, Doubt) or unit is None:
        return Reading(doubt="a product of which one part is not clear")
    count = _COUNTS.get(said) or int(said)
    total = number.value * count
    note = f"{count} × {number.value} = {total}"
    parts = (number.value,) * count
    return Reading(total, number.decimals, unit, note=note, notation=True, parts=parts)


def _sum(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    terms = body.split("+")
    if len(terms) < 2 or dimension not in ("mass", "volume"):
        return None
    terms = [t for term in terms for t in _multiplied(term)]
    matches = [_TERM.fullmatch(term) for term in terms]
    found = [m for m in matches if m is not None]
    if len(found) != len(terms):
        return None
    numbers = [read_literal(m["a"], mark) for m in found]
    units = [_unit_of(m["unit1"], dimension) for m in found]
    named = {u for u in units if u != ""}
    clear = [n for n in numbers if isinstance(n, Number)]
    if len(clear) != len(numbers) or None in named or len(named) > 1:
        return Reading(doubt="a sum of which one part is not clear")
    total = sum((n.value for n in clear), Decimal(0))
    shown = " + ".join(str(n.value) for n in clear)
    unit = next(iter(named), None) or ""
    decimals = min(n.decimals for n in clear)
    parts = tuple(n.value for n in clear)
    return Reading(total, decimals, unit, note=f"{shown} = {total}", notation=True, parts=parts)


def _multiplied(term: str) -> list[str]:
    """Return the terms of a product in a sum: "2x100" of "2x100 + 50" is 100 and 100."""
    match = _PRODUCT.fullmatch(term)
    return [f"{match['a']}{match['unit1'] or ''}"] * int(match["n"]) if match else [term]


def _listed(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read "100, 100, 50" under a volume whose heading asks for one fill after another.

    Elsewhere several numbers may be one volume read several times.
    """
    if _SPACED.fullmatch(body):
        body = ", ".join(body.split())
    parts = _LIST.split(_THEN.sub(", ", body))
    if dimension != "volume" or len(parts) < 2 or not all(map(_TERM.fullmatch, parts)):
        return None
    if any("," in p or ("." in p and mark == ",") for p in parts):
        return None
    return _sum("+".join(parts), mark, dimension)


def _with_parts(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read a total beside the sum or product it comes from; they have to agree."""
    match = _TOTAL_AND_PARTS.fullmatch(body)
    if match is None or dimension != "volume":
        return None
    written = (match["total"] or match["total2"]).strip()
    inside = (match["parts"] or match["parts2"]).strip()
    if _plain(_IN_ALL.sub("", written), mark, dimension) is None:
        written, inside = inside, written  # "4 x 50 mL (200 mL total)"
    total = _plain(_IN_ALL.sub("", written), mark, dimension)
    parts = (
        _times(inside, mark, dimension)
        or _sum(inside, mark, dimension)
        or _listed(inside, mark, dimension)
    )
    if total is None or parts is None or total.value is None or parts.value is None:
        return None
    if total.value != parts.value or (parts.unit and total.unit and parts.unit != total.unit):
        return Reading(doubt=f"the total is not what '{inside}' makes")
    return replace(
        parts,
        unit=total.unit or parts.unit,
        note=f"{parts.note}, as the total beside it says",
    )


def _worked(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read the result of "2.731 - 0.862 = 1.869 g"; it has to be what the numbers make."""
    match = _WORKED.fullmatch(body)
    result = _plain(match["result"].strip(), mark, dimension) if match else None
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
    unit = _unit_of(match["unit1"], dimension)
    if isinstance(number, Doubt) or unit is None:
        return Reading(doubt="a power of ten of which one part is not clear")
    exponent = int(match["p"] or match["q"] or match["e"] or match["f"] or match["g"])
    value = number.value.scaleb(exponent)
    return Reading(value, number.decimals - exponent, unit, note=f"read as {value:f}")


def _fraction(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    match = _FRACTION.fullmatch(body)
    if match is None:
        return None
    unit = _unit_of(match["unit1"], dimension)
    top, bottom = int(match["n"]), int(match["d"])
    if unit is None or bottom not in (2, 3, 4, 5, 8, 10) or top >= bottom:
        return Reading(doubt=f"two values, a fraction or a date ('{body}')")
    if not unit and match["w"] is None and match["bar"] == "/":
        return Reading(doubt=f"a fraction or a date ('{body}')", likely=f"{top / bottom:g}")
    exact = Fraction(top, bottom) + int(match["w"] or 0)
    value = Decimal(f"{float(exact):.6g}")
    return Reading(value, None, unit, note=f"fraction, {value}", notation=True)
