"""Trials numbered within the headings: "Start wt 1 | Water 1 | End wt 1 | Start wt 2 | …".

"Water 1" and "Water 2" are the fills of one run, unless what was weighed out and what came back
are numbered like them: then each number is a run of its own, and the sum would be a silent wrong
volume. Where the numbered weighings do not tell, the volumes stay open.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from solubility_stats.quantities import fill_columns
from solubility_stats.sheets import keywords
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import ORDINALS, normal
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.places import RUN_WORDS
from solubility_stats.sheets.table import Column
from solubility_stats.sheets.units import dimension_of

# A number of its own, but not the one of "Ca(OH)2" or "0.1 M"; "B" counts like 2, "T2" is trial 2.
_COUNT = re.compile(
    r"(?<![^\W_])(?<![).,])(?:T?(?P<digit>[1-9])(?:st|nd|rd|th|er|re|e|ème|ª|º|°)?|(?P<letter>[A-D])|"
    r"(?P<word>[^\W\d_]{4,}))(?![^\W_])(?![.,]\d)|(?<=[^\W\d_]{3})(?P<tail>[1-9])(?![\w.,])"
)
_LEFTOVER = re.compile(r"[(\[]\s*[)\]]|#|\b[nN][or°º]\.?(?=\s|\Z)")
_WEIGHED_OUT = "initial_mass_g"
_CAME_BACK = frozenset({"recovered_mass_g", "recovered_with_paper_mass_g"})
_RUN_WORD = re.compile(rf"\b(?:{RUN_WORDS})s?\b", re.IGNORECASE)
# More trials of one group do not stand on one line (judgement).
_MOST = 6


@dataclass(frozen=True)
class _Series:
    """Columns whose headings differ in their number only, and what they mean without it."""

    columns: Mapping[int, Column]
    reading: Reading

    @property
    def weighed(self) -> bool:
        unit = self.reading.unit
        meant = any(c.endswith("_mass_g") for c in self.reading.candidates)
        return meant if unit is None else dimension_of(unit) == "mass"

    @property
    def poured(self) -> bool:
        return bool(fill_columns(c.reading.column or "" for c in self.columns.values()))


def with_numbered_trials(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Return columns with a trial each where the numbers in their headings count trials."""
    columns = _with_repeat(columns)
    series = _series_of(columns)
    for count in sorted({len(s.columns) for s in series}):
        alike = [s for s in series if len(s.columns) == count]
        weighed = [s for s in alike if s.weighed]
        out = [s for s in weighed if _WEIGHED_OUT in s.reading.candidates]
        back = [s for s in weighed if _CAME_BACK & {*s.reading.candidates}]
        if out and any(b is not o for o in out for b in back):
            return _numbered(columns, alike)
        once = any(c.reading.column == _WEIGHED_OUT for c in columns)
        numbered_out = any(c.reading.trial and c.reading.column == _WEIGHED_OUT for c in columns)
        if len(weighed) > 1 and (numbered_out or not once):
            note = "numbered like the weighings: fills of one run, or the water of several trials?"
            return _opened(columns, [s for s in alike if s.poured], note)
    return tuple(columns)


# "First go" over a block of headings and "Repeat" over the same again.
_REPEAT = re.compile(
    r"\s*(?:repeat(?:s|ed)?|re-?run|re-?do|again|second (?:go|try|attempt)|wiederholung|répétition|"
    r"repetici[oó]n|repetição|ripetizione|herhaling|powtórzenie)(?:\s+(?:run|trial|go))?\s*",
    re.IGNORECASE,
)


def _with_repeat(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Return columns with a block under "Repeat" read as the second trial of the block before."""

    def below(column: Column) -> tuple[str, ...]:
        return tuple(normal(c.text) for c in column.cells[1:])

    again = [
        c
        for c in columns
        if len(c.cells) > 1 and not c.reading.trial and _REPEAT.fullmatch(c.cells[0].text)
    ]
    first = {below(c): c.reading for c in columns if c.reading.trial == "1" and below(c)}
    if len(again) <= 1 or any(below(c) not in first for c in again):
        return tuple(columns)
    second = {c.place: replace(first[below(c)], trial="2") for c in again}
    return tuple(replace(c, reading=second[c.place]) if c.place in second else c for c in columns)


def _numbered(columns: Sequence[Column], alike: Sequence[_Series]) -> tuple[Column, ...]:
    called = {n: c.reading.trial for s in alike for n, c in s.columns.items() if _names_trial(c)}
    told: dict[int, Column] = {}
    for series in alike:
        for number, column in series.columns.items():
            reading = replace(series.reading, trial=called.get(number, str(number)))
            told[column.place] = replace(column, reading=reading)
    done = tuple(told.get(c.place, c) for c in columns)
    note = "a fill beside numbered trials: of which of them?"
    return tuple(
        c
        if c.place in told
        else _left_open(c, note)
        if fill_columns([c.reading.column or ""])
        else c
        for c in done
    )


def _opened(columns: Sequence[Column], poured: Sequence[_Series], note: str) -> tuple[Column, ...]:
    places = {c.place for s in poured for c in s.columns.values()}
    return tuple(_left_open(c, note) if c.place in places else c for c in columns)


def _left_open(column: Column, note: str) -> Column:
    reading = column.reading
    if reading.how == "mapping" or not reading.column or reading.column == "water_volume_ml":
        return column
    open_one = replace(reading, candidates=(reading.column, keywords.UNSURE), note=note)
    return replace(column, reading=open_one)


def _series_of(columns: Sequence[Column]) -> list[_Series]:
    """Return the series of headings numbered from 1 without a gap."""
    found: dict[str, dict[int, Column]] = {}
    levels: dict[str, tuple[str, ...]] = {}
    for column in columns:
        if column.reading.how == "mapping":
            continue
        stem, number = _stem([c.text for c in column.cells])
        if number and _names_trial(column):
            stem = tuple(t for level in stem if (t := _RUN_WORD.sub(" ", level).strip()))
        key = normal(" / ".join(stem))
        if number and key:
            numbers = found.setdefault(key, {})
            if number in numbers:
                numbers[0] = column  # twice the same: no count
            numbers[number] = column
            levels[key] = stem
    return [
        _Series(numbers, understand(levels[key]))
        for key, numbers in found.items()
        if 1 < len(numbers) <= _MOST and sorted(numbers) == list(range(1, len(numbers) + 1))
    ]


def _names_trial(column: Column) -> bool:
    """Tell whether a heading says "trial 1", and not only a number."""
    return bool(column.reading.trial) and column.reading.how != "pattern"


def _stem(texts: Sequence[str]) -> tuple[tuple[str, ...], int]:
    """Return the levels of a heading without their number, number 0 if there is none or more."""
    numbers: list[int] = []
    rest: list[str] = []
    for text in dict.fromkeys(texts):
        hits = [(m, n) for m in _COUNT.finditer(text) if (n := _count(m))]
        numbers += [n for _, n in hits]
        for m, _ in reversed(hits):
            text = _LEFTOVER.sub(" ", f"{text[: m.start()]} {text[m.end() :]}")
        if text.strip(" ,.:/–-"):
            rest.append(" ".join(text.split()).strip(" ,:/–-"))
    return (tuple(rest), numbers[0]) if len(numbers) == 1 else ((), 0)


def _count(found: re.Match[str]) -> int:
    if found["letter"]:
        return ord(found["letter"]) - ord("A") + 1
    if found["word"]:
        return int(ORDINALS.get(found["word"].casefold(), 0))
    return int(found["digit"] or found["tail"])
