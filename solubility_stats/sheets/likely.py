"""Headings with a word nobody foresaw: taken where the rest of the table leaves one meaning.

"Fluffy powder left over, g" says what it is to any colleague although "fluffy" stands in no list.
Such a column is taken if the words that are understood mean one reading only, none of the others
names another thing, no other column claims that reading, and unit and values agree with it and with
what the other columns hold. What was taken so is said in the account, for a person to confirm.
"""

from __future__ import annotations

import re
from collections.abc import Sequence, Set
from dataclasses import replace

import numpy as np

from solubility_stats.quantities import fill_columns, quantity
from solubility_stats.sheets import concepts, keywords, strange_words
from solubility_stats.sheets.codes import are_codes, counts_groups
from solubility_stats.sheets.column_numbers import numbers_of
from solubility_stats.sheets.field import Field, Values
from solubility_stats.sheets.heading_forms import ONLY_RATIO
from solubility_stats.sheets.heading_text import lone_number, normal, numbered, plain_ordinals
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.phrases import words_of
from solubility_stats.sheets.relations import MOST, Array, in_order, readings
from solubility_stats.sheets.units import dimension_of, known_unit, unit_in_heading
from solubility_stats.sheets.view import looks_like_number

# Half of the lines must hold a number: more may be blank or lost in a bad week (judgement).
_FILLED = 0.5
# Room around the typical range of a column: other solutes and other vessels (judgement).
_ROOM = 2.0
# A temperature of a lab, and of the things in it that are not the mixture (°C).
_LAB = (5.0, 45.0)


def take_likely(fields: list[Field], values: Values, lines: Sequence[int]) -> list[Field]:
    """Take the open columns that can only be one reading.

    Parameters
    ----------
    fields : list of Field
        Places of a table as settled by headings and arithmetic.
    values : mapping of int to sequence of RawCell or None
        Cells below the headings by place.
    lines : sequence of int
        Positions within ``values`` of the lines that may be runs.

    Returns
    -------
    list of Field
        The same places; those taken here say ``likely`` and why.
    """
    taken = {(f.column, f.trial) for f in fields if f.column}
    wanted = {f.place: column for f in fields if (column := _meant(f, taken, values))}
    wanted |= {f.place: "paper_mass_g" for f in fields if _is_dry_paper(f, fields)}
    known = {f.column for f in fields}
    left = [f for f in fields if f.state in ("open", "unknown")]
    on_paper = (f for f in left if is_on_paper(unit_in_heading(f.source.heading)[0], known))
    wanted |= {f.place: "recovered_with_paper_mass_g" for f in on_paper}
    wanted |= {f.place: "water_volume_ml" for f in fields if _is_lone_volume(f, fields)}
    if not wanted:
        return fields
    found: dict[tuple[str, str], list[Field]] = {}
    for f in fields:
        column = wanted.get(f.place, "")
        if not column or (column, f.trial) in taken:
            continue
        unit = f.unit or unit_in_heading(f.source.heading)[1]
        new = replace(
            f, column=column, unit=unit, state="understood", how="likely", note=_why(f, column)
        )
        if _fits(new, fields, values, lines):
            found.setdefault((column, f.trial), []).append(new)
    settled = {same[0].place: same[0] for same in found.values() if len(same) == 1}
    return [settled.get(f.place, f) for f in fields]


def _why(field: Field, column: str) -> str:
    strange = field.source.reading.strange
    words = f"although {_listed(strange)} is not understood" if strange else "by its unit"
    return f"taken as {column} {words}, because nothing else in the table is; please check"


_DRY_PAPER = re.compile(r"\bdry (?:filter ?)?(?:paper|filter|disc)\b")


def _is_dry_paper(field: Field, fields: Sequence[Field]) -> bool:
    """Tell whether "dry filter paper" is the paper alone: where nothing with paper is beside it."""
    both = {"paper_mass_g", "recovered_with_paper_mass_g"}
    if field.state != "open" or set(field.source.reading.candidates) != both:
        return False
    others = [g for g in fields if g is not field]
    with_paper = any("paper" in concepts.concepts_among(_words(g)) for g in others)
    dried = any(g.column == "recovered_mass_g" for g in others)
    return not with_paper and not dried and bool(_DRY_PAPER.search(normal(field.source.heading)))


_ON_PAPER = re.compile(r"(?:dry|dried) (?:solid|residue|powder) on (?:the )?(?:filter )?paper")


def is_on_paper(words: str, known: Set[str | None]) -> bool:
    """Tell whether "dry solid on paper" is both: beside the paper alone and no other dry mass.

    Parameters
    ----------
    words : str
        What names the reading, without a unit.
    known : set of str
        The columns of the others.
    """
    return (
        "paper_mass_g" in known
        and not known & {"recovered_mass_g", "recovered_with_paper_mass_g"}
        and _ON_PAPER.fullmatch(normal(words)) is not None
    )


def _is_lone_volume(field: Field, fields: Sequence[Field]) -> bool:
    """Tell whether "mL" alone stands beside both masses, and nothing else is a volume."""
    unit = known_unit(field.source.heading.strip(" ()[]"))
    if field.state not in ("open", "unknown") or field.trial:
        return False
    others = [g for g in fields if g is not field and g.state != "personal"]
    units = [g.unit or unit_in_heading(g.source.heading)[1] for g in others]
    known = {g.column for g in fields}
    return (
        unit is not None
        and dimension_of(unit) == "volume"
        and not any(u is not None and dimension_of(u) == "volume" for u in units)
        and not any(quantity(c).unit == "mL" for c in known if c)
        and "initial_mass_g" in known
        and bool(known & {"recovered_mass_g", "recovered_with_paper_mass_g"})
    )


def _words(field: Field) -> list[str]:
    return words_of(normal(unit_in_heading(field.source.heading)[0]))


def _listed(words: Sequence[str]) -> str:
    return ", ".join(f"'{w}'" for w in words)


def _meant(field: Field, taken: set[tuple[str, str]], values: Values) -> str:
    """Return the one column an open heading can mean, empty if there is none or more.

    What another heading claims is no longer open.
    """
    if field.state not in ("open", "unknown") or counts_groups(field.source.heading):
        return ""
    reading = field.source.reading
    known = [c for c in reading.candidates if c != keywords.UNSURE]
    if known == [keywords.DERIVED]:
        return ""
    if known[:1] == ["water_volume_ml"] and any(len(word) == 1 for word in reading.strange):
        return ""  # "H2O b" is one of several
    masses = {"initial_mass_g", "recovered_mass_g"}
    if (
        set(known) == masses
        and ("initial_mass_g", field.trial) in taken
        and {"drypowder", "found"} & {*_words(field)}
    ):
        return "recovered_mass_g"  # dry powder beside what was weighed in
    dried = {("recovered_mass_g", field.trial), ("recovered_with_paper_mass_g", field.trial)}
    named = normal(field.source.heading) in _SOLID_ALONE
    if dried & taken and (named or (set(known) == masses and _weighed_out(field))):
        return "initial_mass_g"
    some = len(known) > 1
    if some and (reading.strange or set(known) == {"initial_mass_g", "recovered_mass_g"}):
        return ""  # a mass of anything
    known = [c for c in known if (c, field.trial) not in taken] if some else known
    if len(known) > 1 or (some and not known):
        return ""
    if not known:
        least = _at_least(field, values)
        poured = any(column.startswith("fill_") for column, _ in taken)
        # Beside fills that are known the other volumes may be fills, too.
        return "" if least == "water_volume_ml" and poured else least
    doubted = bool(reading.strange) or some
    if known[0] == "recovered_with_paper_mass_g" and _may_deny(field):
        return ""  # "rest uten papir": a word nobody knows may say without
    nothing_in = ("initial_mass_g", field.trial) not in taken
    out = known[0] == "recovered_mass_g" and _OUT.search(normal(field.source.heading))
    if out and nothing_in:
        return ""  # out of a pot nobody knows, or of the filter
    return known[0] if doubted and not strange_words.names_other(known[0], reading.strange) else ""


_SOLID_ALONE = frozenset({"solid", "lime", "slaked lime", "ca oh 2", "reagent", "powder"})
_WEIGHED = frozenset({"weighed", "taken", "eingewogen", "pesado", "pesada", "pesé", "pesée"})


def _weighed_out(field: Field) -> bool:
    """Tell whether "KHT weighed" or "actual mass weighed" names no solid but its short name."""
    heading = field.source.heading
    short = {w.casefold() for w in re.findall(r"\b[A-Z][A-Z0-9]{1,5}\b", heading)}
    return bool(_WEIGHED & {*_words(field)}) and {*field.source.reading.strange} <= short


_OUT = re.compile(r"\bout\b")
_JOINS = concepts.listed("with")


def _may_deny(field: Field) -> bool:
    """Tell whether an unknown word stands where "with" or "and" is expected."""
    return bool(field.source.reading.strange) and not _JOINS & set(_words(field))


def _at_least(field: Field, values: Values) -> str:
    """Return what a heading may mean at the least it says, with its unit or that of its cells."""
    rest, unit = unit_in_heading(field.source.heading)
    dimension = dimension_of(unit) if unit is not None else _dimension_of_cells(field, values)
    words = words_of(normal(rest))
    column = "temperature_c"
    if dimension != "temperature":
        cells = values.get(field.place, ())
        if dimension and unit is None and (clear := _with_unit_of(field, cells)):
            return clear
        column = keywords.at_least(words, dimension) if dimension else ""
        if column == "water_volume_ml" and _counts(rest):
            column = ""  # one fill of several is not the water
    return "" if not column or strange_words.names_other(column, _beyond(words, column)) else column


def _counts(heading: str) -> bool:
    """Tell whether a heading counts: "V₃", "third cylinder", "fill no. 2"."""
    words = normal(heading)
    plain = plain_ordinals(words)
    return bool(
        numbered(words)[1] or numbered(plain)[1] or lone_number(words) or lone_number(plain)
    )


def _beyond(words: list[str], column: str) -> list[str]:
    return words if column == "temperature_c" else strange_words.unexplained(words, column)


def _dimension_of_cells(field: Field, values: Values) -> str | None:
    """Return the dimension of the units behind most numbers of a column."""
    written = numbers_of(values.get(field.place, ()), None, "").units
    named = [known_unit(u) or known_unit(u.split()[0]) for u in written if u]  # "h 10 min"
    units = [u for u in named if u is not None]
    known = {dimension_of(u) for u in units}
    enough = 2 * len(units) >= sum(c is not None for c in values.get(field.place, ()))
    # A remark behind a number is no unit.
    clear = len(units) >= MOST * len(named)
    return known.pop() if len(known) == 1 and clear and enough else None


def _fits(field: Field, fields: Sequence[Field], values: Values, lines: Sequence[int]) -> bool:
    """Tell whether the values of a column may be the reading it is taken for."""
    cells = [c for i in lines if i < len(values[field.place]) and (c := values[field.place][i])]
    asked = quantity(field.column)
    if asked.kind == "identifier":
        return are_codes([c.text.strip() for c in cells])
    if asked.kind != "number":
        return False
    numeric = [c for c in cells if looks_like_number(c)]
    # A sheet of one group has one number; where two other readings are excluded that is enough.
    excluded = len(field.source.reading.candidates) > 1
    alone = len(cells) == len(lines) == 1 or (
        len(numeric) == 1 and _with_unit_of(field, numeric) == field.column
    )
    one = len(numeric) == 1 and (excluded or alone)
    if len(numeric) < max(1 if one else 2, _FILLED * len(cells)):
        return False
    bare = ONLY_RATIO.fullmatch(field.source.heading) is not None
    if field.column == "reported_solubility" and bare and _is_compared_or_other(fields):
        return False
    usual = _usual(field, readings(field, values, lines), 1 if one else 2)
    return usual and in_order(field, fields, values, lines)


def _with_unit_of(field: Field, cells: Sequence[RawCell | None]) -> str:
    """Return what a heading means with the unit behind its values ("Solid taken | 2.8 g")."""
    units = [u for u in numbers_of(cells, None, "").units if u]
    known = known_unit(units[0]) if len(set(units)) == 1 else None
    return (understand((field.source.heading, known)).column or "") if known else ""


_OTHER_ROUTES = frozenset({"dish_residue_mass_g", "titrant_ml", "burette_end_ml"})


def _is_compared_or_other(fields: Sequence[Field]) -> bool:
    """Tell whether a solubility was compared with its readings, or comes by another route."""
    known = {f.column for f in fields}
    if any(f.trial for f in fields):
        return False  # trials side by side are not compared
    if known & _OTHER_ROUTES and not known & {"recovered_mass_g", "recovered_with_paper_mass_g"}:
        return True
    water = "water_volume_ml" in known or bool(fill_columns(known))
    left = "recovered_mass_g" in known or {"recovered_with_paper_mass_g", "paper_mass_g"} <= known
    return water and left and "initial_mass_g" in known


def _usual(field: Field, own: Array, fewest: int) -> bool:
    asked = quantity(field.column)
    known = own[np.isfinite(own)]
    if known.size < fewest:
        return False
    if asked.unit == "degC":
        low, high = _LAB
    elif asked.typical is None:
        return True
    else:
        low, high = asked.typical[0] / _ROOM, asked.typical[1] * _ROOM
    return bool(((known >= low) & (known <= high)).mean() >= MOST)
