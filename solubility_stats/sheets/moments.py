"""Dates: read where a date belongs, recognised where a number was turned into one."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

from solubility_stats.sheets.model import DateOrder
from solubility_stats.sheets.numbers import tidy

_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "jan january januar janvier jän",
            "feb february februar février fév",
            "mar march mär märz mars mrz",
            "apr april avril avr",
            "may mai",
            "jun june juni juin",
            "jul july juli juillet",
            "aug august août",
            "sep sept september septembre",
            "oct october okt oktober octobre",
            "nov november novembre",
            "dec december dez dezember décembre déc",
        ),
        start=1,
    )
    for name in names.split()
}
_NAMES = "|".join(sorted(_MONTHS, key=len, reverse=True))
_CLOCK = (
    r"(?:[ T,]+(?P<h>\d{1,2}):(?P<mi>\d{2})(?::(?P<s>\d{2})(?:\.\d+)?)?\s?(?P<ap>[ap]\.?m\.?)?)?"
)
_ZONE = r"(?:\s?(?:Z|UTC|GMT|[A-Z]{3,4})?\s?(?:[+-]\d{1,2}(?::?\d{2})?)?)"
_FORMS = tuple(
    re.compile(form + _CLOCK + _ZONE, re.IGNORECASE)
    for form in (
        r"(?P<y>\d{4})[-/.](?P<a>\d{1,2})[-/.](?P<b>\d{1,2})",
        r"(?P<a>\d{1,2})(?P<sep>[-/.])(?P<b>\d{1,2})(?P=sep)(?P<y>\d{4}|\d{2})",
        rf"(?P<d>\d{{1,2}})\.?[- ]?(?P<m>{_NAMES})\.?,?[- ]?(?P<y>\d{{4}})",
        rf"(?P<m>{_NAMES})\.?\s(?P<d>\d{{1,2}}),?\s(?P<y>\d{{4}})",
    )
)
_NAMED = re.compile(
    rf"(?P<d>\d{{1,2}})\.?[-/ ]?(?P<m>{_NAMES})\.?(?:[-/ ,]+(?P<y>\d{{2,4}}))?"
    rf"|(?P<n>{_NAMES})\.?[-/ ]?(?P<e>\d{{1,4}})(?:,?\s(?P<z>\d{{4}}))?",
    re.IGNORECASE,
)


def read_moment(
    value: object, order: DateOrder | None, *, date_1904: bool = False
) -> tuple[datetime | None, str]:
    """Read a date or time of submission.

    Parameters
    ----------
    value : object
        Cell value: a date, text, or a day number of a spreadsheet program.
    order : {"dmy", "mdy", "ymd"} or None
        Order decided for the file; without it "5/2/2026" stays unread.
    date_1904 : bool
        Day numbers count from 1904.

    Returns
    -------
    moment : datetime or None
        Without time zone: what the clock of the form showed.
    note : str
        How it was read or why not.
    """
    if isinstance(value, datetime):
        return value.replace(tzinfo=None), ""
    if isinstance(value, date):
        return datetime(value.year, value.month, value.day), ""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _from_serial(float(value), date_1904)
    text = tidy(str(value))
    for form in _FORMS:
        if match := form.fullmatch(text):
            return _from_match(match.groupdict(), order, text)
    return None, f"'{text}' is not a date"


def _from_serial(value: float, date_1904: bool) -> tuple[datetime | None, str]:
    if not 35_000 - 1462 * date_1904 <= value <= 60_000:
        return None, f"{value:g} is not a date"
    start = datetime(1904, 1, 1) if date_1904 else datetime(1899, 12, 30)
    seconds = round(value * 86_400)
    return start + timedelta(seconds=seconds), f"day number {value:g} read as a date"


def _from_match(
    part: dict[str, str | None], order: DateOrder | None, text: str
) -> tuple[datetime | None, str]:
    year = int(part["y"] or 0)
    year += 2000 if year < 100 else 0
    if part.get("m"):
        month, day = _MONTHS[str(part["m"]).casefold()], int(part["d"] or 0)
    else:
        first, second = int(part["a"] or 0), int(part["b"] or 0)
        leading_year = re.match(r"\d{4}[-/.]", text) is not None
        month, day = (first, second) if leading_year else _day_month(first, second, part, order)
        if month == 0:
            return None, f"'{text}': day and month cannot be told apart"
    hour, minute = int(part["h"] or 0), int(part["mi"] or 0)
    if part["ap"]:
        hour = hour % 12 + (12 if part["ap"][0].casefold() == "p" else 0)
    try:
        return datetime(year, month, day, hour, minute, int(part["s"] or 0)), ""
    except ValueError:
        return None, f"'{text}' is not a date of the calendar"


def _day_month(
    first: int, second: int, part: dict[str, str | None], order: DateOrder | None
) -> tuple[int, int]:
    """Return month and day, zeros where they cannot be told apart."""
    if first > 12:
        return second, first
    if second > 12 or first == second:
        return first, second
    if order == "dmy" or (order is None and part.get("sep") == "."):
        return second, first  # day.month.year is the only use of points
    return (first, second) if order == "mdy" else (0, 0)


def number_behind(moment: object) -> str:
    """Say which number a spreadsheet program probably turned into this date or time.

    "2.5" typed where points part days from months becomes 2 May; "2-50" becomes February 1950.
    """
    if isinstance(moment, timedelta):
        return f"a duration ({moment}); hours and minutes cannot be told apart"
    if isinstance(moment, time):
        return (
            f"a time ({moment:%H:%M:%S}); {moment.hour} h {moment.minute} min or "
            f"{moment.hour} min {moment.minute} s?"
        )
    if not isinstance(moment, date):
        return ""
    return _likely(moment.day, moment.month, moment.year)


def _likely(day: int, month: int, year: int | None) -> str:
    if day == 1 and year is not None and not 2000 <= year <= 2040:
        return f"'{month}.{year % 100:02d}'"
    if day == 1 and year is not None and year % 100 > 12:
        return f"'{day}.{month}', '{month}.{day}' or '{month}.{year % 100:02d}'"
    return f"'{day}.{month}'" if day == month else f"'{day}.{month}' or '{month}.{day}'"


def date_in_number_column(text: str) -> str:
    """Return the numbers a date-shaped text may have been, empty if it has no such shape."""
    body = tidy(text)
    if match := _NAMED.fullmatch(body):
        if match["m"]:
            year = int(match["y"]) if match["y"] else None
            return _likely(int(match["d"]), _MONTHS[match["m"].casefold()], year)
        month, figure = _MONTHS[match["n"].casefold()], match["e"]
        return f"'{month}.{figure[-2:]}'" if len(figure) < 3 or figure[:2] in ("19", "20") else ""
    for form in _FORMS[:2]:
        if match := form.fullmatch(body):
            return f"'{int(match['a'])}.{int(match['b'])}' or '{int(match['b'])}.{int(match['a'])}'"
    return ""
