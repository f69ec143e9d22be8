"""What a heading means: vocabulary first, then keywords, then spelling mistakes; never a guess.

A heading is a stack of texts from top to bottom ("Mass (g)" over "initial"). The result names the
candidate columns: exactly one when understood, several when ambiguous, none when unknown.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from typing import Literal

from solubility_stats.quantities import fill_column, quantity
from solubility_stats.sheets import keywords
from solubility_stats.sheets.heading_text import (
    CONCENTRATION,
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


_RUN = (
    r"(?:trial|run|rep|replicate|attempt|preparation|prep|try|go|determination|essai|versuch|prova|"
    r"prueba|proef|poging|intento|ensaio)"
)
_TRIAL = re.compile(rf"\b{_RUN}s?\s*(?:no\s*)?(\d{{1,2}}|[a-d])\b")
_NTH_TRIAL = re.compile(
    rf"\b(first|second|third|fourth|[1-9](?:st|nd|rd|th))\s+{_RUN}\b", re.IGNORECASE
)
# A form puts the row of a grid behind its question: "Your fills [first]".
_GRID = re.compile(r"(\S.*\S)\s*\[([^\[\]]{2,40})\]\s*", re.DOTALL)


def _fits_unit(column: str, unit: str | None) -> bool:
    if unit is None or column in (keywords.DERIVED, keywords.UNSURE):
        return True
    if column in ("reported_solubility", "reported_unit"):
        return True
    mine = known_unit(quantity(column).unit) if quantity(column).unit else None
    return mine is not None and dimension_of(mine) == dimension_of(unit)


def understand(levels: Sequence[str]) -> Reading:
    """Return what a heading means.

    Parameters
    ----------
    levels : sequence of str
        Heading texts from top to bottom; the last may be a unit alone.
    """
    unit: str | None = None
    texts: list[str] = []
    if len(levels) == 1 and (grid := _GRID.fullmatch(levels[0])):
        if not unit_in_heading(levels[0])[1] and not _RATIO_UNIT.search(grid[2]):
            levels = (grid[1], grid[2])
    for level in levels:
        alone = known_unit(level.strip().strip("()[]")) if len(level.strip()) <= 24 else None
        if texts and (normal(level) in _NO_WORDS or _CHOICES.fullmatch(level.strip())):
            continue
        letter = not texts and len(level.strip()) == 1  # "S" over "g/L" is no second
        if alone is not None and len(levels) > 1 and normal(level) != "second" and not letter:
            unit = unit or alone
        elif level.strip():
            texts.append(level)
    return _understand(tuple(texts), unit)


_RATIO_UNIT = re.compile(r"\w\s*(?:/|per)\s*\w|%")
_NO_WORDS = ("unit", "units", "einheit", "unité", "in")
# Below a heading: the answers to choose from.
_CHOICES = re.compile(
    r"\(?(?:v|vac|b|g|grav|y|yes|n|no|vacuum|gravity|buchner|büchner)\s*"
    r"(?:/|\bor\b)\s*(?:v|vac|b|g|grav|y|yes|n|no|vacuum|gravity|buchner|büchner)\)?",
    re.IGNORECASE,
)


@lru_cache(maxsize=4096)
def _understand(texts: tuple[str, ...], unit: str | None) -> Reading:
    trial, cleaned = "", []
    for text in texts:
        text = _NTH_TRIAL.sub(lambda m: f"trial {plain_ordinals(m[1].lower())}", text)
        words = normal(text)
        found = _TRIAL.search(words)
        if found and (len(texts) > 1 or words != found[0]):
            trial = found[1]
            text = _without_trial(text)
        if text.strip():
            cleaned.append(text)
    cleaned = [t for t in cleaned if not _is_neutral(t)] or cleaned
    best = Reading()
    wordings = _wordings(cleaned)
    for wording in wordings:
        reading = _less_sure(_one(wording, unit), wording, cleaned)
        if reading.strength > best.strength:
            best = reading
        if best.candidates:
            break
    if len(cleaned) > 1 and "water_volume_ml" in best.candidates:
        below = _one(cleaned[-1], unit or best.unit)  # "Water" over "V1"
        if below.how == "pattern":
            best = below
    if trial and not best.candidates and not cleaned:
        best = Reading(("run",), None, "vocabulary")
    return replace(best, trial=trial)


# Titles over several headings that say nothing about what stands below them.
_NEUTRAL_WORDS = """
    part data raw result results measured measurement measurements reading readings step stage
    experiment lab class student students day week your our the monday tuesday wednesday thursday
    friday saturday sunday montag dienstag mittwoch donnerstag freitag messwerte daten données
    mesures datos medidas dati a b c d i ii iii iv 1 2 3 4
"""
_NEUTRAL = frozenset(_NEUTRAL_WORDS.split())


def _is_neutral(text: str) -> bool:
    words = normal(text).split()
    return len(text.strip()) > 2 and bool(words) and all(w in _NEUTRAL for w in words)


# A parent with no other meaning than these leaves the meaning of what stands below it as it is.
_PARENTS = frozenset(
    {
        "class",
        "group",
        "section",
        "run",
        "semester",
        "instructor",
        "comment",
        "method",
        "count",
        "unit",
    }
)


def _less_sure(reading: Reading, wording: str, texts: Sequence[str]) -> Reading:
    """Leave a reading open if it needs one level alone and another level says something else.

    "Before" below "Paper" is no initial mass of the solid.
    """
    known = [c for c in reading.candidates if c not in (keywords.DERIVED, keywords.UNSURE)]
    if len(texts) < 2 or not known or wording not in texts:
        return reading
    others = [t for t in texts if t != wording]
    if wording == texts[0]:
        strange = [w for w in words_of(normal(texts[-1])) if not _says_nothing(w)]
        if strange:
            said = ", ".join(f"'{w}'" for w in strange)
            note = f"may mean {' or '.join(known)}, but {said} is not understood"
            doubted = (*known, keywords.UNSURE)
            return replace(reading, candidates=doubted, note=note, strange=tuple(strange))
    said = set().union(*(keywords.concepts_of(w) for t in others for w in normal(t).split()), set())
    mine = set().union(*map(keywords.concepts_of, normal(wording).split()), set())
    if said <= _PARENTS | mine or "alone" in mine:
        return reading
    note = f"may mean {' or '.join(known)}, but stands with '{others[0]}'"
    return replace(reading, candidates=(*known, keywords.UNSURE), note=note)


def _says_nothing(word: str) -> bool:
    known = keywords.is_plain(word) or keywords.concepts_of(word) or known_unit(word)
    return bool(known) or len(word) < 3 or any(c.isdigit() for c in word)


def _without_trial(text: str) -> str:
    plain = re.sub(
        rf"[\(\[]?\b{_RUN}s?"
        r"[\s_.#-]*(?:no\.?\s*)?(?:\d{1,2}|[A-Da-d])\b[\)\]]?",
        " ",
        text,
        flags=re.IGNORECASE,
    )
    return plain.strip(" -–:/,_")


def _wordings(texts: Sequence[str]) -> list[str]:
    """Return the ways to say a stacked heading, the most telling first."""
    if len(texts) < 2:
        return list(texts)
    joined = [" ".join(texts), " ".join(reversed(texts))]
    if len(texts[-1]) <= 2:
        joined.append("".join(texts))
    joined += [f"{a} {b}" for a, b in pairwise(texts)] if len(texts) > 2 else []
    return [*joined, texts[-1], texts[0]] if len(texts) == 2 else [*joined, texts[-1]]


def _one(text: str, unit: str | None) -> Reading:
    """Return what one line of a heading means by itself."""
    text = without_asides(text)
    text = TEMPERATURE.sub("temperature", text) if len(text.split()) > 1 else text
    text = CONCENTRATION.sub(r"conc \1 ", text)
    whole = normal(text)
    rest, named = unit_in_heading(" ".join(text.split()))
    if unit and named and unit != named:
        # "Mass (mg)" over a row of units that says g: a person has to choose.
        found = _one(rest, unit)
        known = tuple(c for c in found.candidates if c not in (keywords.DERIVED, keywords.UNSURE))
        note = f"two units are named, {named} and {unit}"
        return replace(found, candidates=(*known, keywords.UNSURE), note=note) if known else found
    unit = unit or named
    core = normal(RATIO.sub(" ", rest) if unit is None else rest)
    if core in PEOPLE:
        return Reading()
    return (
        _by_vocabulary(text, whole, core, unit)
        or _by_number(rest, core, unit)
        or _by_keywords(text, whole, core, unit)
        or _misspelt(core, unit)
    )


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
        if words == whole and not fitting:  # the "day" of "Lab day" is no unit
            fitting = tuple(c for c in meant if not quantity(c).unit)
        if fitting:
            # "t" may be a time and "c" a temperature unit: one meaning per heading or a question.
            return Reading(fitting, unit or _unit_for(text, fitting), "vocabulary")
    return None


_TIME_OF = re.compile(
    r"\b(\d(?:st|nd|rd|th)|first|second|third|fourth|fifth|sixth) time\b", re.IGNORECASE
)


def _by_number(rest: str, core: str, unit: str | None) -> Reading | None:
    """Read a heading with a number: a fill, or a trial of what the other words say."""
    if (fill := _as_fill(core, unit)) is not None:
        return fill
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
    said = whole if unit is None else core  # the "sec" of "(sec)" is not the French word for dry
    found = _fitting(tuple(keywords.match(words_of(said), _dimension(unit))), unit)
    own = _OWN_ANSWER.search(core) and not keywords.sums_up(words_of(core))
    if found == (keywords.DERIVED,) and own and RATIO.search(text):
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


# "Our answer for how much dissolves (g per litre)" is what the group reported.
_OWN_ANSWER = re.compile(r"\b(?:our|your|ur|reported|answer|result)\b")


_YEAR = re.compile(r"\b(?:19|20)\d\d\b")


def _doubted(reading: Reading, words: str) -> Reading:
    """Leave a reading open if a word or number of the heading is not accounted for."""
    known = [c for c in reading.candidates if c != keywords.DERIVED]
    if not known or quantity(known[0]).kind not in ("number", "identifier"):
        return reading
    listed = words_of(words)
    strange = [w for w in keywords.unexplained(listed, known[0]) if _mend(w) == w]
    strange += [n] if (n := lone_number(words)) else []
    strange += _YEAR.findall(words)  # "by the class of 2024"
    if not strange:
        return reading
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
    named = {core, singular(core)} & pour_words()
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
    return any(len(w) < 3 or keywords.concepts_of(w) for w in other)


def _mend(word: str) -> str:
    """Return the known word a misspelt one is meant to be, or the word itself."""
    from rapidfuzz import fuzz, process

    if len(word) < 5 or keywords.concepts_of(word) or keywords.is_plain(word):
        return word
    choices = [k for k in keywords.known_words() if len(k) >= 5 and k[0] == word[0]]
    found = process.extractOne(word, choices, scorer=fuzz.ratio, score_cutoff=_LIKE_WORD)
    return found[0] if found else word
