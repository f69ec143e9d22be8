"""Columns read again with what the table around them tells.

The unit of all masses of a sheet, the unit behind the values of one column, and the numbers of a
list of questions are known only when the whole table is.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence, Set
from dataclasses import replace
from itertools import pairwise

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets import concepts, keywords
from solubility_stats.sheets.beam import beam_said
from solubility_stats.sheets.choices import coded
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import ACID_STRENGTH, RATIO, normal, plain_ordinals
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.numbered_trials import with_numbered_trials
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.titre import TITRATION
from solubility_stats.sheets.units import dimension_of, known_unit
from solubility_stats.sheets.view import like_weighings, looks_like_number


def reread(
    table: Table,
    values: Mapping[int, Sequence[RawCell | None]],
    said: dict[str, str],
    explained: Mapping[str, str],
) -> Table:
    """Return a table whose columns are read with all that stands around and below them.

    Parameters
    ----------
    table : Table
        A table with its headings read one by one.
    values : mapping of int to sequence of RawCell or None
        Cells below each heading, by the place of the column.
    said : dict of str to str
        Units that a text around the table states, by quantity.
    explained : mapping of str to str
        Codes that a legend of the workbook explains.

    Returns
    -------
    Table
        With titles over the labels of a card moved to its caption.
    """
    columns = with_numbered_trials(without_numbers(table.columns))
    known = {c.reading.column for c in columns}
    columns = tuple(by_codes(c, explained, values[c.place], known) for c in columns)
    caption = table.caption
    if table.view.turned:
        columns = below_titles(columns, values)
        caption = (*caption, *titles_that_say(columns, values))
    columns = lone_mean_titre(on_hot_plate(columns, caption))
    columns = by_title(columns, caption, values)
    columns = tuple(as_beam(as_result(c, values[c.place]), values[c.place]) for c in columns)
    columns = tuple(with_unit(c, said, values[c.place]) for c in columns)
    return replace(table, columns=columns, caption=caption)


_NUMBERED = re.compile(r"\s*\(?(\d{1,2})\s*[.):]\s*(?=[^\W\d])")


def without_numbers(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Return columns without the numbers of a list of questions before their headings.

    "2. volume of water added" of questions 1 to 8 is no second fill; "1. fill", "2. fill" count.
    """
    found = {c.place: m for c in columns if c.cells and (m := _NUMBERED.match(c.cells[-1].text))}
    numbers = [int(m[1]) for m in found.values()]
    rest = {m.string[m.end() :].casefold().strip() for m in found.values()}
    counts = len(rest) == len(numbers) >= _FEWEST_NUMBERED
    if not counts or any(b <= a for a, b in pairwise(numbers)):
        return tuple(columns)
    return tuple(_without_number(c, found.get(c.place)) for c in columns)


# So many questions with different words are a numbered list (judgement).
_FEWEST_NUMBERED = 4


def _without_number(column: Column, number: re.Match[str] | None) -> Column:
    if number is None or column.reading.how == "mapping":
        return column
    texts = [c.text for c in column.cells]
    again = understand((*texts[:-1], number.string[number.end() :]))
    return replace(column, reading=again) if again.column else column


def lone_mean_titre(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Return columns, "Mean titre" read as the acid used where no other titration is listed."""
    known = {c.reading.column for c in columns}
    means = [c for c in columns if c.reading.derived and _MEAN_TITRE.search(normal(c.heading))]
    if len(means) != 1 or known & TITRATION:
        return tuple(columns)
    acid = Reading(
        ("titrant_ml",), means[0].reading.unit, "keywords", note="the mean of titrations"
    )
    return tuple(replace(c, reading=acid) if c is means[0] else c for c in columns)


_MEAN_TITRE = re.compile(r"\b(?:mean|average|avg|concordant)\b.*\b(?:titre|titer)\b")
_TITLE_NUMBER = re.compile(r"\A\W*(?:table|tab|part|step)\.?\s*\w{1,3}\s*[.:)–-]\s*", re.IGNORECASE)


def by_title(
    columns: Sequence[Column],
    caption: Sequence[RawCell],
    values: Mapping[int, Sequence[RawCell | None]],
) -> tuple[Column, ...]:
    """Return columns, the only one with numbers read by the title of the table.

    "Solubility found by the group (g/L)" over "Group | By residue | Remarks".
    """
    held = [c for c in columns if any(looks_like_number(v) for v in values.get(c.place, ()) if v)]
    named = [c for c in held if not c.reading.candidates]
    known = {str(c.reading.column) for c in columns if c.reading.column}
    beside = all(quantity(k).kind != "number" for k in known if is_canonical(k))
    titles = [c.text for c in caption if isinstance(c.value, str)]
    if len(named) != 1 or len(held) != _GROUP_AND_NUMBER or not beside or not titles:
        return tuple(columns)
    again = understand((_TITLE_NUMBER.sub("", titles[-1]),))
    if again.column is None or quantity(again.column).kind != "number":
        return tuple(columns)
    return tuple(replace(c, reading=again) if c is named[0] else c for c in columns)


_GROUP_AND_NUMBER = 2


def below_titles(
    columns: Sequence[Column], values: Mapping[int, Sequence[RawCell | None]]
) -> tuple[Column, ...]:
    """Return the labels of a form, those below a title of their own read together with it.

    "Cylinder fills" with nothing beside it over "first | 51 mL", "second | 100 mL".
    """
    done: list[Column] = []
    title: Column | None = None
    for column in columns:
        cells = [c for c in values.get(column.place, ()) if c is not None]
        if column.cells and not cells:
            title = column
        elif title is not None and cells and not column.reading.candidates:
            own = column.cells[-1].text if column.cells else ""
            number = plain_ordinals(own.strip().casefold())  # "second" is no unit here
            levels = [title.cells[-1].text, number if number.isdigit() else own]
            unit = _unit_behind(cells) or column.reading.unit
            again = understand((*levels, unit) if unit else tuple(levels))
            # The label of a blank ("3rd fill") has its own meaning, and gives it to no other.
            its_own = again.column == title.reading.column and not number.isdigit()
            if again.column and not its_own:
                column = replace(column, reading=again)
        done.append(column)
    return tuple(done)


def titles_that_say(
    columns: Sequence[Column], values: Mapping[int, Sequence[RawCell | None]]
) -> list[RawCell]:
    """Return the titles between the steps of a form that state an amount for all its runs.

    "Titration (25 cm3 pipetted)" over the readings of the burette.
    """
    return [
        column.cells[-1]
        for column in columns
        if len(values.get(column.place, ())) > 1 and not any(values[column.place])
        if column.cells and _STATES_AMOUNT.search(column.cells[-1].text)
    ]


_STATES_AMOUNT = re.compile(r"[(\[][^)\]]*\d[^)\]]*[^\W\d_]{3}")


_HOT_PLATE = re.compile(r"\b(?:hot|warm|heating)[\s-]?plate\b|\boven\b", re.IGNORECASE)
_ON_PLATE = re.compile(r"\bon (?:the )?plate\b", re.IGNORECASE)


def on_hot_plate(columns: Sequence[Column], caption: Sequence[RawCell]) -> tuple[Column, ...]:
    """Return columns with "min on plate" read as time on the hot plate their title speaks of.

    Nobody stirs for hours, so "on plate (h)" needs no title.
    """
    hot = any(_HOT_PLATE.search(c.text) for c in caption if isinstance(c.value, str))
    asked = [c for c in columns if not c.reading.candidates and _ON_PLATE.search(c.heading)]
    hours = len(asked) == 1 and _IN_HOURS.search(asked[0].heading)
    if not (hot or hours) or len(asked) != 1 or any(c.reading.column == "dry_min" for c in columns):
        return tuple(columns)
    texts = (_ON_PLATE.sub("on hot plate", c.text) for c in asked[0].cells)
    again = replace(asked[0], reading=understand(tuple(texts)))
    return tuple(again if c is asked[0] else c for c in columns)


_IN_HOURS = re.compile(r"\b(?:h|hrs?|hours?)\b", re.IGNORECASE)
_PLAIN_ANSWERS = concepts.listed("answers")


def by_codes(
    column: Column,
    explained: Mapping[str, str],
    cells: Sequence[RawCell | None],
    taken: Set[str | None],
) -> Column:
    """Return a column whose values are codes that the sheet explains as the column of that choice.

    "z" and "w" under "filter: z/w" with "z = sucked, w = by gravity" below the table.
    """
    if column.reading.column or column.reading.derived or not explained:
        return column
    texts = {c.text.strip() for c in cells if c is not None}
    if {text.casefold() for text in texts} <= _PLAIN_ANSWERS:
        return column  # yes and no may answer anything
    for name, said in explained.items():
        if name not in taken and all(coded(text, quantity(name), said) for text in texts):
            return replace(column, reading=Reading((name,), None, "values"))
    return column


def with_unit(column: Column, said: dict[str, str], cells: Sequence[RawCell | None]) -> Column:
    """Return a column with the unit the sheet states for all its masses or volumes.

    A heading that is not understood is asked again with the unit behind its values ("Ca(OH)2
    tipped in | 2.204 g").
    """
    reading = column.reading
    if (again := _weighed_dry(column, cells)) is not None:
        column, reading = replace(column, reading=again), again
    # "Solid" over "2.45 g" is no name, and "filter" over "0.9 g" no method.
    named = reading.column not in (None, "solute", "filtration")
    if named and reading.unit is None and (behind := _unit_behind(cells)):
        own = known_unit(quantity(str(reading.column)).unit or "")
        # "Dry | 2.252 g" is no time.
        named = own is None or dimension_of(own) == dimension_of(behind)
    acid = "acid" in concepts.concepts_among(normal(column.heading).split())
    if not reading.column and acid and _are_strengths(cells):
        return replace(column, reading=Reading(("titrant_mol_per_l",), None, "keywords"))
    if reading.unit is None and not named and not reading.derived:
        behind = _unit_behind(cells)
        if behind and (again := _with(column, behind)).column:
            reading = replace(again, unit=None)
            column = replace(column, reading=reading)
    meant = [c for c in reading.candidates if is_canonical(c) and quantity(c).unit]
    if not said or reading.unit is not None:
        return column
    if not reading.candidates:  # "Residue after 2nd drying" of a sheet with "all masses in mg"
        found = [r for unit in said.values() if (r := _with(column, unit)).column]
        return replace(column, reading=found[0]) if len(found) == 1 else column
    if not meant:
        return column
    mine = known_unit(quantity(meant[0]).unit)
    unit = said.get(dimension_of(mine) or "") if mine is not None else None
    return replace(column, reading=replace(reading, unit=unit)) if unit else column


def _weighed_dry(column: Column, cells: Sequence[RawCell | None]) -> Reading | None:
    """Return what "dry #1" or "dry again" over 2.40 means: no time, although no unit is said."""
    reading = column.reading
    asked = reading.column == "dry_min" or not reading.candidates
    words = _TAIL.sub(" ", normal(column.heading)).split()  # "dry1"
    said = asked and "dry" in concepts.concepts_among(words)
    if not said or reading.unit is not None or not like_weighings(cells):
        return None
    weighed = _with(column, "g")
    dried = {"recovered_mass_g", "second_dry_mass_g"} & {*weighed.candidates}
    return replace(weighed, unit=None) if dried else None


_TAIL = re.compile(r"(?<=[^\W\d_])\d\b")


def _with(column: Column, unit: str) -> Reading:
    return understand((*(c.text for c in column.cells), unit))


_RESULTS = concepts.listed("values") | {
    "outcome", "uitkomst", "ergebnisse", "utfall", "their answer", "group answer", "their result",
    "group result", "their value", "group value", "student answer", "what they got",
}  # fmt: skip


_LASER = re.compile(r"l[aáä]s[ae]r|beam|tyndall|strahl|rayo|feixe|faisceau|raggio|\bhaz\b", re.I)
_MAY_HOLD_BEAM = frozenset({"aliquot_ml", "comment", "filtration", keywords.UNSURE})


def as_beam(column: Column, cells: Sequence[RawCell | None]) -> Column:
    """Return a column as the test with the laser where every cell says what the beam did.

    "Filtrado" over "no se ve el láser".
    """
    if not set(column.reading.candidates) <= _MAY_HOLD_BEAM:
        return column
    told = 0
    for cell in cells:
        if cell is None or not cell.text.strip():
            continue
        if not (_LASER.search(cell.text) and beam_said(cell.text)):
            return column  # nearly every column, at its first cell
        told += 1
    beam = Reading(("scatter",), None, "values")
    return replace(column, reading=beam) if told >= _FEWEST_SAID else column


_FEWEST_SAID = 2


def as_result(column: Column, cells: Sequence[RawCell | None]) -> Column:
    """Return a column "Ergebnis" whose values are all grams per volume as the group's result."""
    texts = [c.text for c in cells if c is not None]
    if column.reading.candidates or normal(column.heading) not in _RESULTS or not texts:
        return column
    if not all(_IS_RATIO.fullmatch(text.strip()) for text in texts):
        return column
    return replace(column, reading=Reading(("reported_solubility",), None, "values"))


_IS_RATIO = re.compile(rf"[~≈]?\d+(?:[.,]\d+)?\s*(?:{RATIO.pattern})", re.IGNORECASE)
_BEHIND = re.compile(r"[\s~≈]*\d[\d.,]*\s*(?P<unit>[^\W\d_]{1,8}|°\s?[CFK])\.?\s*")


def _unit_behind(cells: Sequence[RawCell | None]) -> str | None:
    """Return the unit behind all numbers of a column, if there is one and the same."""
    texts = [c.text for c in cells if c is not None and isinstance(c.value, str)]
    written = {m["unit"] for text in texts if (m := _BEHIND.fullmatch(text))}
    units = [known_unit(u) for u in sorted(written)]
    kinds = {dimension_of(u) for u in units if u is not None}
    # "2.8 g" and "2800 mg" in one column are both masses.
    return units[0] if len(kinds) == 1 and None not in units else None


def _are_strengths(cells: Sequence[RawCell | None]) -> bool:
    texts = [c.text for c in cells if c is not None]
    return bool(texts) and all(map(ACID_STRENGTH.search, texts))
