"""What one line of a heading means: vocabulary first, then keywords, then spelling mistakes.

Never a guess: a line that names several columns, or holds a word nobody accounts for, stays open.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from solubility_stats.quantities import fill_column, is_canonical, quantity
from solubility_stats.sheets import concepts, keywords, strange_words
from solubility_stats.sheets.heading_forms import (
    ONLY_RATIO,
    YES_OR_NO,
    asks_every_fill,
    column_by_form,
    plainly,
)
from solubility_stats.sheets.heading_text import (
    GOES_IN,
    PEOPLE,
    RATIO,
    SYMBOLS,
    TEMPERATURE,
    fill_words,
    lone_number,
    normal,
    numbered,
    plain_ordinals,
    pour_words,
    singular,
    vocabulary,
    with_ratio_joined,
    without_asides,
)
from solubility_stats.sheets.phrases import words_of
from solubility_stats.sheets.units import dimension_of, known_unit, unit_in_heading

How = Literal["vocabulary", "pattern", "keywords", "spelling", "position", "values", "arithmetic",
              "likely", "mapping", ""]  # fmt: skip
_STRENGTH = {"mapping": 6, "vocabulary": 5, "pattern": 4, "keywords": 3, "values": 2, "position": 2,
             "arithmetic": 2, "likely": 1, "spelling": 1, "": 0}  # fmt: skip

# Judgement, checked on the headings of the corpus: below these a likeness is a coincidence.
_LIKE_HEADING = 88.0
_LIKE_WORD = 84.0


@dataclass(frozen=True)
class Reading:
    """How one heading was understood.

    Attributes
    ----------
    candidates : tuple of str
        Canonical columns it may mean; one if understood, none if unknown. ``keywords.DERIVED``
        for a value the group worked out.
    unit : str or None
        Unit name found in the heading.
    how : str
        Which evidence decided.
    trial : str
        Number of the trial the column belongs to ("m0 (trial 2)"), empty for none.
    note : str
        Remark for the headings table.
    strange : tuple of str
        Words that neither the candidates nor the language account for.
    """

    candidates: tuple[str, ...] = ()
    unit: str | None = None
    how: How = ""
    trial: str = ""
    note: str = ""
    strange: tuple[str, ...] = ()

    @property
    def column(self) -> str | None:
        """The column, if exactly one fits and it is one of ours."""
        if len(self.candidates) == 1 and self.candidates[0] != keywords.DERIVED:
            return self.candidates[0]
        return None

    @property
    def derived(self) -> bool:
        """Whether the column holds something the group worked out."""
        return self.candidates == (keywords.DERIVED,)

    @property
    def strength(self) -> int:
        """Rank of the evidence, for two headings that claim one column."""
        return _STRENGTH[self.how]


def _fits_unit(column: str, unit: str | None) -> bool:
    if unit is None or column in (keywords.DERIVED, keywords.UNSURE):
        return True
    if column in ("reported_solubility", "reported_unit"):
        return True
    mine = known_unit(quantity(column).unit) if quantity(column).unit else None
    return mine is not None and dimension_of(mine) == dimension_of(unit)


def read_line(text: str, unit: str | None) -> Reading:
    """Return what one line of a heading means by itself."""
    text = with_ratio_joined(without_asides(plainly(text)))
    if column := column_by_form(text):
        return Reading((column,), None, "keywords")
    text = TEMPERATURE.sub("temperature", text) if len(text.split()) > 1 else text
    whole = normal(text)
    rest, named = unit_in_heading(" ".join(text.split()))
    if _SOLUBILITY.search(text) and RATIO.search(text):
        rest, named = RATIO.sub(" ", text), None  # the "mL" of "g per 100 mL" is no unit of it
        whole = normal(rest)
    if unit and named and dimension_of(unit) == "mass" and dimension_of(named) == "time":
        rest, named = text, None  # the "sec" of "résidu sec" is dry, "after 10 min" says when
    if (
        named
        and _DRY_NOT_SECONDS.search(text)
        and concepts.concepts_among(normal(rest).split()) & _OF_MASS
    ):
        rest, named = text, None
    if unit and named and unit != named:
        # "Mass (mg)" over a row of units that says g: a person has to choose.
        found = read_line(rest, unit)
        known = tuple(c for c in found.candidates if c not in (keywords.DERIVED, keywords.UNSURE))
        note = f"two units are named, {named} and {unit}"
        return replace(found, candidates=(*known, keywords.UNSURE), note=note) if known else found
    if ONLY_RATIO.fullmatch(text):  # "g/L" may be what the group reported, or its teacher
        return unsure(Reading(how="keywords"), ["reported_solubility"], [text.strip()])
    unit = unit or named
    core = normal(RATIO.sub(" ", rest) if unit is None else rest)
    if core in PEOPLE:
        return Reading()
    found = (
        _by_vocabulary(text, whole, core, unit)
        or _as_burette(core, unit)
        or _by_number(rest, core, unit)
        or _by_keywords(text, whole, core, unit)
        or _with_aside(rest, unit)
        or _with_weak_unit(text, unit)
        or _misspelt(core, unit)
    )
    if unit is None and YES_OR_NO.match(text) and found.column and is_canonical(found.column):
        # "Was the filter paper still on?" asks for no mass.
        found = Reading() if quantity(found.column).kind == "number" else found
    if RATIO.search(text) and {*found.candidates} & _WHOSE:  # "S_group [g/L]", "class got (g/L)"
        words = words_of(normal(RATIO.sub(" ", text)))
        core = " ".join(w for w in words if w == "table" or not concepts.concepts_of(w) & _OWNERS)
        if vocabulary().get(core) == ("reported_solubility",):
            return Reading(("reported_solubility",), None, "keywords")
        found = Reading(("reported_solubility",), None)
        return unsure(found, found.candidates, [core or text.strip()])
    if RATIO.search(text) and any(c.endswith(("_g", "_ml")) for c in found.candidates):
        # "Evaporated (g/100 mL)" is no volume, whatever was evaporated.
        strange = strange_words.unexplained(words_of(core), "reported_solubility")
        return unsure(Reading(how="keywords"), ["reported_solubility"], strange or [text.strip()])
    return found


# A table may be a group, and one in a book.
_WHOSE, _OWNERS = frozenset({"group", "section", "run"}), frozenset({"group", "class"})
# "Masse du résidu sec": dry, not seconds.
_DRY_NOT_SECONDS = re.compile(r"(?<![\w(\[/])secs?\s*\Z", re.IGNORECASE)
_OF_MASS = frozenset({"mass", "residue", "paper", "solid"})

# "List every fill": several volumes in one cell, or the one volume of all of them.
EACH_FILL = "one fill after another"
_SOLUBILITY = re.compile(r"solub|löslich|oplosbaar|\bdissolved\b", re.IGNORECASE)
# What dissolved is a difference; per litre it is the solubility.
_DISSOLVED = re.compile(r"\bdissolved\b|\binto solution\b")


def _by_vocabulary(text: str, whole: str, core: str, unit: str | None) -> Reading | None:
    bare = re.sub(r"\s+(?:no|nr|number|num|id|code|used)\Z", "", core)
    if len(bare) == 1 and bare != core:
        return None  # "S. No." counts the lines
    numbered_thing = re.search(r"\s(?:no|nr|number|num|id|code)\Z", core) is not None
    for words in dict.fromkeys((whole, core, singular(core), bare)):
        meant = vocabulary().get(words, ())
        if words == bare != core and numbered_thing:  # "dish no." is no mass of a dish
            meant = tuple(c for c in meant if quantity(c).kind == "identifier")
        fitting = _fitting(meant, unit)
        if words == whole != core and not fitting:  # the "day" of "Lab day" is no unit
            fitting = tuple(c for c in meant if not quantity(c).unit)
        if fitting:
            # "t" may be a time and "c" a temperature unit: one meaning per heading or a question.
            return Reading(fitting, unit or _unit_for(text, fitting), "vocabulary")
    return None


_BURETTE_END = re.compile(r"(?:end|ending|final) readings?")
_BURETTE_START = re.compile(r"(?:start|starting|initial) readings?")


def _as_burette(core: str, unit: str | None) -> Reading | None:
    """Read "Start reading (mL)": only a burette is read twice."""
    if unit is None or dimension_of(unit) != "volume":
        return None
    if _BURETTE_START.fullmatch(core):
        return Reading(("burette_start_ml",), unit, "keywords")
    return Reading(("burette_end_ml",), unit, "keywords") if _BURETTE_END.fullmatch(core) else None


def _with_weak_unit(text: str, unit: str | None) -> Reading | None:
    """Read "stir s" and "temp F": a heading of ours and a letter that is its unit."""
    for dimension in ("time", "temperature") if unit is None else ():
        rest, letter = unit_in_heading(text, dimension)
        meant = vocabulary().get(normal(rest), ()) if letter is not None else ()
        if fitting := tuple(c for c in meant if _fits_unit(c, letter) and quantity(c).unit):
            return Reading(fitting, letter, "keywords")
    return None


_ASIDE = re.compile(r"\s*[(\[][^()\[\]]*[)\]]\s*")


def _with_aside(text: str, unit: str | None) -> Reading | None:
    """Read "drying (hot plate, low)": a heading of ours and an aside that changes nothing."""
    asides = " ".join(_ASIDE.findall(text))
    if not asides or len(core := normal(_ASIDE.sub(" ", text))) < 2:
        return None  # nothing else, or a symbol with its index: "t(R)" is no temperature
    fitting = _fitting(vocabulary().get(core, ()), unit)
    words = words_of(normal(asides))
    if len(fitting) != 1 or quantity(fitting[0]).kind != "number":
        return None
    if strange_words.unexplained(words, fitting[0]) or strange_words.names_other(fitting[0], words):
        return None
    return Reading(fitting, unit or _unit_for(text, fitting), "keywords")


_TIME_OF = re.compile(
    r"\b(\d(?:st|nd|rd|th)|first|second|third|fourth|fifth|sixth) time\b", re.IGNORECASE
)


_NTH_TIME = re.compile(
    r"(?:and )?(?:the )?(\d(?:st|nd|rd|th)|first|second|third|fourth|fifth|sixth) time(?: to)?"
)
_SECOND = re.compile(
    r"\b(?:2nd|second|2e|2ª) (?:time|drying|weighing|round|heating|pesée|pesata|pesada)\b"
)


def _by_number(rest: str, core: str, unit: str | None) -> Reading | None:
    """Read a heading with a number: a fill, or a trial of what the other words say."""
    if (fill := _as_fill(core, unit)) is not None:
        return fill
    if unit and dimension_of(unit) == "volume" and (again := _NTH_TIME.fullmatch(core)):
        return Reading((fill_column(int(plain_ordinals(again[1]))),), unit, "pattern")
    if _SECOND.search(core) and not keywords.names_fill(words_of(core)):
        return None  # a second drying is no second run
    core = _TIME_OF.sub(r"\1", core)  # "the second time"
    stem, number = numbered(core)
    if _fits_unit(fill_column(1), unit):
        counted = plain_ordinals(core)
        alone = lone_number(counted)
        words = words_of(re.sub(r"(?<!\S)\d{1,2}(?!\S)", " ", counted))
        if alone and keywords.means_fill(words):
            return Reading((fill_column(int(alone)),), unit, "pattern")
        if alone and unit is not None and (vessel := keywords.fills_vessel(words)):
            # "1st glass (mL)": what stands beside it tells whether water was in it.
            note = f"may mean a fill, but '{vessel}' is not understood"
            meant = (fill_column(int(alone)), keywords.UNSURE)
            return Reading(meant, unit, "keywords", note=note, strange=(vessel,))
        said = words_of(stem)
        if number not in ("", "0") and keywords.means_fill(said) and keywords.names_fill(said):
            return Reading((fill_column(int(number)),), unit, "pattern")
    if number not in ("", "0"):
        fitting = _fitting(vocabulary().get(stem, ()), unit)
        if fitting and quantity(fitting[0]).kind == "number":
            return Reading(fitting, unit or _unit_for(rest, fitting), "pattern", trial=number)
    return None


def _by_keywords(text: str, whole: str, core: str, unit: str | None) -> Reading | None:
    if GOES_IN.search(core):
        whole = core = GOES_IN.sub(r"\1 initial", core)
    if unit is not None and dimension_of(unit) == "mass" and _PUT_IN.fullmatch(text):
        whole = core = "initial mass"  # "g in" beside "g out"
    said = whole if unit is None else core  # the "sec" of "(sec)" is not the French word for dry
    found = _fitting(tuple(keywords.match(words_of(said), _dimension(unit))), unit)
    own = _OWN_ANSWER.search(core) or _DISSOLVED.search(core)
    own_ratio = own is not None and RATIO.search(text) is not None
    if found == (keywords.DERIVED,) and own_ratio and not keywords.sums_up(words_of(core)):
        return Reading(("reported_solubility",), unit, "keywords")
    if not found:
        return None
    note = "" if len(found) == 1 else "may mean " + " or ".join(found)
    read = Reading(found, unit or _unit_for(text, found), "keywords", note=note)
    doubted = _doubted(read, core)
    if doubted is read:
        return read
    spelt = _misspelt(core, unit)
    return spelt if spelt.column and spelt.column == read.column else doubted


_PUT_IN = re.compile(
    r"\s*(?:m?g|grams?|gms?)\s+(?:went |put |goes |dry )?in\s*(?:\(?(?:dry|before)\)?)?\s*",
    re.IGNORECASE,
)
# "Our answer for how much dissolves (g per litre)" is what the group reported.
_OWN_ANSWER = re.compile(r"\b(?:our|your|ur|reported|answer|result)\b")


_YEAR = re.compile(r"\b(?:19|20)\d\d\b")


def _doubted(reading: Reading, words: str) -> Reading:
    """Leave a reading open if a word or number of the heading is not accounted for."""
    known = [c for c in reading.candidates if c != keywords.DERIVED]
    if not known or quantity(known[0]).kind not in ("number", "identifier"):
        return reading
    listed = words_of(words)
    if "+" in listed and (sums := [c for c in known if c not in strange_words.NO_SUM]):
        known = sums  # "m paper+dry" is not the paper
        reading = replace(reading, candidates=tuple(known))
    strange = [w for w in strange_words.unexplained(listed, known[0]) if _mend(w) == w]
    strange += [n] if (n := lone_number(words)) else []
    strange += _YEAR.findall(words)  # "by the class of 2024"
    return unsure(reading, known, strange) if strange else reading


def unsure(reading: Reading, known: Sequence[str], strange: Sequence[str]) -> Reading:
    """Return a reading left open because of words that are not understood."""
    said = ", ".join(f"'{w}'" for w in strange)
    note = f"may mean {' or '.join(known)}, but {said} is not understood"
    doubted = (*known, keywords.UNSURE)
    return replace(reading, candidates=doubted, note=note, strange=tuple(strange))


def _dimension(unit: str | None) -> str | None:
    return None if unit is None else dimension_of(unit)


def _unit_for(text: str, columns: tuple[str, ...]) -> str | None:
    """Look again for a weak unit ("Temp C") once the column is known."""
    if len(columns) != 1 or columns[0] == keywords.DERIVED or not quantity(columns[0]).unit:
        return None
    mine = known_unit(quantity(columns[0]).unit)
    if mine is None:
        return None
    if dimension_of(mine) == "time" and (said := _TIME_UNIT.search(text)):
        return known_unit(said[0], "time")  # "Hours in the oven"
    return unit_in_heading(" ".join(text.split()), dimension_of(mine))[1]


_TIME_UNIT = re.compile(r"\b(?:hours?|hrs?|seconds?|secs?|days?)\b", re.IGNORECASE)


def _fitting(columns: tuple[str, ...], unit: str | None) -> tuple[str, ...]:
    return tuple(c for c in columns if _fits_unit(c, unit))


def _as_fill(core: str, unit: str | None) -> Reading | None:
    stem, number = numbered(core)
    if not number and asks_every_fill(core) and _fits_unit("fill_1_ml", unit):
        words = words_of(core)
        if keywords.names_fill(words) and not strange_words.unexplained(words, "fill"):
            return Reading((fill_column(1),), unit, "pattern", note=EACH_FILL)
    alone = core.removeprefix("water ")
    named = {core, singular(core), alone, singular(alone)} & pour_words()
    if named == {"reading"} and unit is None:
        return None
    if not number and named and _fits_unit("fill_1_ml", unit):
        return Reading((fill_column(1),), unit, "pattern")
    if number and (stem in fill_words() or singular(stem) in fill_words()):
        column = fill_column(int(number)) if 1 <= int(number) <= 30 else None
        if column and _fits_unit(column, unit):
            return Reading((column,), unit, "pattern")
    return None


def _misspelt(core: str, unit: str | None) -> Reading:
    from rapidfuzz import fuzz, process

    if len(core) >= 6:
        whole_words = [words for words in vocabulary() if words not in SYMBOLS]
        scored = process.extract(core, whole_words, scorer=fuzz.ratio, limit=6)
        close = [
            (words, score)
            for words, score, _ in scored
            if score >= _LIKE_HEADING and not _says_other(core, words)
        ]
        columns = {c for w, s in close if s >= close[0][1] - 4 for c in vocabulary()[w]}
        fitting = _fitting(tuple(sorted(columns)), unit)
        if fitting:
            return Reading(fitting, unit, "spelling", note=f"read as '{close[0][0]}'")
    mended = [_mend(word) for word in words_of(core)]
    found = _fitting(tuple(keywords.match(mended, _dimension(unit))), unit)
    if found and mended != words_of(core):
        read = Reading(found, unit, "spelling", note=f"read as '{' '.join(mended)}'")
        return _doubted(read, " ".join(mended))
    return Reading(unit=unit)


def _says_other(core: str, words: str) -> bool:
    """Tell whether a heading holds a known word that the one it resembles does not hold.

    "Volume after" is no misspelt "volume water", and a letter is no misspelt other letter.
    """
    other = set(core.split()) - set(words.split())
    return any(len(w) < 3 or concepts.concepts_of(w) for w in other)


def _mend(word: str) -> str:
    """Return the known word a misspelt one is meant to be, or the word itself."""
    from rapidfuzz import fuzz, process

    if len(word) < 5 or concepts.concepts_of(word) or strange_words.is_plain(word):
        return word
    if strange_words.is_thing(word):
        return word
    choices = [k for k in concepts.known_words() if len(k) >= 5 and k[0] == word[0]]
    found = process.extractOne(word, choices, scorer=fuzz.ratio, score_cutoff=_LIKE_WORD)
    return found[0] if found else word
