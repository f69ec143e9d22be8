"""Times as people write them: "1 h 10 min", "half an hour", "ten minutes", "0:45"."""

from __future__ import annotations

import re
from datetime import datetime, time, timedelta
from decimal import Decimal

from solubility_stats.sheets.model import Decimal as Mark
from solubility_stats.sheets.numbers import SIMPLE, Doubt, Reading, read_literal
from solubility_stats.sheets.units import known_unit

_CLOCK = re.compile(r"\d{1,2}\s*:\s*\d{2}(?:\s*:\s*\d{2})?")
_HOURS_MINUTES = re.compile(
    rf"(?P<a>{SIMPLE})\s*(?P<u>[a-z]+)\.?\s*(?:,|and|und|et)?\s*(?P<b>{SIMPLE})\s*(?P<v>[a-z]+)?\.?",
    re.IGNORECASE,
)
_IN_WORDS = re.compile(
    r"(?:(?P<whole>an?|one|two|three|four|five|six|\d{1,2})\s+(?:(?P<unit>hours?|minutes?|min)\s+)?(?P<and>and\s+))?"
    r"(?P<part>(?:a\s+)?half(?:\s+an?)?|(?:a\s+|three\s+)?quarters?(?:\s+of)?(?:\s+an?)?)"
    r"(?:\s*(?P<last>hours?|hr|minutes?|min))?"
    r"|(?P<count>an?|[a-z]+(?:[\s-][a-z]+)?)\s*(?P<of>hours?|hrs?|minutes?|mins?)",
    re.IGNORECASE,
)
_COUNTED = (
    "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen "
    "sixteen seventeen eighteen nineteen twenty"
)
NUMBER_WORDS = {word: number for number, word in enumerate(_COUNTED.split())} | {
    "a": 1, "an": 1, "twenty five": 25, "thirty": 30, "forty": 40, "forty five": 45, "fifty": 50,
    "sixty": 60,
}  # fmt: skip


# In the other languages of the headings, without their articles; minutes.
_SPOKEN = {
    15: "viertelstunde|quart d'heure|cuarto de hora|quarto d'ora|quarto de hora|kwartier|kwart|"
        "kvart|kvarter|kwadrans|çeyrek saat|vartti|čtvrthodina|čtvrthodinu|čtvrt hodiny",
    30: "halbe stunde|demi heure|demi-heure|media hora|mezz'ora|mezza ora|meia hora|half uur|"
        "halvtimme|halv timme|halv time|halvtime|pół godziny|"
        "yarım saat|yarim saat|puoli tuntia|puolituntia|půl hodiny|půlhodina|půlhodinu",
    45: "dreiviertelstunde|trois quarts d'heure|tres cuartos de hora|drie kwartier|trekvart|"
        "üç çeyrek saat|kolme varttia|tři čtvrtě hodiny",
    60: "stunde|stunden|heure|hora|ora|uur|timme|timmar|time|timer|godzina|godzinę|godziny|"
        "saat|tunti|hodina|hodinu",
}  # fmt: skip
_SPOKEN[90] = (
    "hora y media|ora e mezza|ora e mezzo|hora e meia|heure et demie|anderthalb stunden|"
    "eineinhalb stunden|anderhalf uur|półtorej godziny"
)
_HOUR = 60
# "½ time", "1½ Stunde"
_HALVES = re.compile(
    r"(?P<whole>\d{0,2})\s*(?<!\d)1[/⁄]2\s*(?P<of>[^\W\d_]+)\.?"
    r"|(?P<hours>\d{1,2}) timer",
    re.IGNORECASE,
)
_ARTICLE = re.compile(
    r"\A(?:eine?|une?|un'|una|uma|um|een|en|ett|et|bir|1)(?:\s+|(?<=')|(?<=1))", re.IGNORECASE
)
_MINUTES_SPOKEN = {
    words.strip(): minutes for minutes, said in _SPOKEN.items() for words in said.split("|")
}


def clock(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Doubt "0:45": it may be a time of day, or minutes and seconds."""
    if not _CLOCK.fullmatch(body):
        return None
    return Reading(doubt="a time of day or a duration; hours and minutes cannot be told apart")


# A heading that says how its times are written: "Drying time h:mm".
HOURS_AND_MINUTES = re.compile(r"(?<![^\W_])h{1,2}\s?:\s?m{1,3}(?:in)?(?![^\W_])", re.IGNORECASE)


def minutes_on_clock(value: object) -> Decimal | None:
    """Return the minutes of "1:15" and of the times a program makes of it, ``None`` for others."""
    if isinstance(value, datetime) and value.year <= 1900:
        value = value.time()  # day nought of a spreadsheet program
    if isinstance(value, time):
        value = timedelta(hours=value.hour, minutes=value.minute, seconds=value.second)
    if isinstance(value, timedelta):
        seconds = value.total_seconds()
        return Decimal(round(seconds / 60)) if seconds % 60 == 0 else None
    found = re.fullmatch(r"\s*(\d{1,2})\s*:\s*([0-5]\d)(?:\s*:\s*00)?\s*", str(value))
    return Decimal(int(found[1]) * 60 + int(found[2])) if found else None


def hours_minutes(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read a time in two units: "1 h 10 min"."""
    match = _HOURS_MINUTES.fullmatch(body) if dimension == "time" else None
    if match is None:
        return None
    first, second = read_literal(match["a"], mark), read_literal(match["b"], mark)
    unit = known_unit(match["u"], "time")
    smaller = {"h": "min", "min": "s", "day": "h"}.get(unit or "")
    written = known_unit(match["v"], "time") if match["v"] else smaller
    if isinstance(first, Doubt) or isinstance(second, Doubt) or not smaller or written != smaller:
        return Reading(doubt="two numbers of which one is not clear")
    step = 24 if unit == "day" else 60
    value = first.value * step + second.value
    return Reading(value, second.decimals, smaller, note=f"{value} {smaller} in all", notation=True)


def halves(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read "½ time" and "1½ Stunden": halves of an hour in one of the languages."""
    found = _HALVES.fullmatch(body.strip()) if dimension == "time" else None
    if found is None:
        return None
    if found["hours"]:  # Danish; in a heading it would be a clock
        value = Decimal(found["hours"])
    elif _MINUTES_SPOKEN.get(found["of"].casefold()) == _HOUR:
        value = int(found["whole"] or 0) + Decimal("0.5")
    else:
        return None
    return Reading(value, None, "h", note=f"{value} h", notation=True)


def _bare_word(body: str) -> str:
    return body.strip(" .").casefold().replace("-", " ")


def in_words(body: str, mark: Mark | None, dimension: str | None) -> Reading | None:
    """Read a time in words: "half an hour", "an hour and a half", "ten minutes"."""
    match = _IN_WORDS.fullmatch(body.strip(" .")) if dimension == "time" else None
    if dimension == "time" and (bare := NUMBER_WORDS.get(_bare_word(body), 0)) > 1:
        return Reading(Decimal(bare), 0, "", note=f"{bare}", notation=True)
    spoken = _MINUTES_SPOKEN.get(_ARTICLE.sub("", body.strip(" .").casefold().replace("’", "'")))
    if dimension == "time" and spoken is not None and match is None:
        return Reading(Decimal(spoken), 0, "min", note=f"{spoken} min", notation=True)
    if match is None:
        return None
    if match["of"]:
        number = NUMBER_WORDS.get(match["count"].casefold().replace("-", " "))
        unit = known_unit(match["of"], "time")
        if number is None or unit is None:
            return None
        return Reading(Decimal(number), 0, unit, note=f"{number} {unit}", notation=True)
    one_unit = (match["unit"] is None) != (match["last"] is None)
    if not one_unit or bool(match["whole"]) != bool(match["and"]):
        return None
    unit = known_unit(match["unit"] or match["last"], "time")
    part = match["part"].casefold()
    share = Decimal("0.5") if "half" in part else Decimal("0.25") * (3 if "three" in part else 1)
    whole = match["whole"].casefold() if match["whole"] else ""
    value = share + (int(whole) if whole.isdigit() else NUMBER_WORDS.get(whole, 0))
    return Reading(value, None, unit or "", note=f"{value} {unit}", notation=True)
