"""What a heading means: a stack of texts from top to bottom ("Mass (g)" over "initial").

The result names the candidate columns: exactly one when understood, several when ambiguous, none
when unknown.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

from solubility_stats.sheets import concepts, keywords, strange_words
from solubility_stats.sheets.heading_forms import FROM_PARTS, ONLY_RATIO
from solubility_stats.sheets.heading_line import Reading, read_line, unsure
from solubility_stats.sheets.heading_text import (
    ACID_STRENGTH,
    ORDINALS,
    counted,
    counted_by,
    normal,
    plain_ordinals,
)
from solubility_stats.sheets.phrases import words_of
from solubility_stats.sheets.places import RUN_WORDS, groups_in, section_named
from solubility_stats.sheets.units import dimension_of, known_unit, unit_in_heading

_RUN = rf"(?:{RUN_WORDS})"
_TRIAL = re.compile(rf"\b{_RUN}s?\s*(?:no\s*)?(\d{{1,2}}|[a-d])\b")
# "Start mass T1", but "T1 (°C)" is a temperature.
_T_TRIAL = re.compile(r"(?<=\w)\W+\(?T([1-4])\)?\s*\Z")
_NTH_TRIAL = re.compile(
    rf"\b(first|second|third|fourth|[1-9](?:st|nd|rd|th))\s+{_RUN}\b(?!\s+(?:in|on|at)\b)",
    re.IGNORECASE,
)
# A form puts the row of a grid behind its question: "Your fills [first]".
_GRID = re.compile(r"(\S.*\S)\s*\[([^\[\]]{2,40})\]\s*", re.DOTALL)


# "Water (4 grad. cylinders, mL each)" over 1, 2, 3, 4: which one it is stands below.
_HOW_MANY_FILLS = re.compile(
    r"\s*\(\d ((?:\w+\.? )?(?:cylinders|fills|pours|portions|lots)\b)", re.IGNORECASE
)
# "Enter each fill in mL - 1st fill"
_ROW_OF_GRID = re.compile(
    rf"(\S.*\S)\s[-–]\s((?:{'|'.join(ORDINALS)}|[1-9](?:st|nd|rd|th))\b[^–-]{{0,20}})",
    re.IGNORECASE | re.DOTALL,
)


# "b. First cylinder of water (mL)"
_ITEM_LETTER = re.compile(r"\A\s*[a-k]\.\s+(?=[A-Z][a-z])")


def understand(levels: Sequence[str]) -> Reading:
    """Return what a heading means.

    Parameters
    ----------
    levels : sequence of str
        Heading texts from top to bottom; the last may be a unit alone.
    """
    unit: str | None = None
    texts: list[str] = []
    # a heading merged over two lines says it once
    levels = tuple(
        dict.fromkeys(_ITEM_LETTER.sub("", FROM_PARTS.sub("", level)) for level in levels)
    )
    levels = _titrations_counted(levels)
    if len(levels) > 1 and counted(levels[-1]).isdigit():
        levels = (*(_HOW_MANY_FILLS.sub(r" (\1", level) for level in levels[:-1]), levels[-1])
    grid = _GRID.fullmatch(levels[0]) if len(levels) == 1 else None
    if grid and not unit_in_heading(levels[0])[1] and not _RATIO_UNIT.search(grid[2]):
        levels = (grid[1], grid[2])
    elif len(levels) == 1 and (row := _ROW_OF_GRID.fullmatch(levels[0])):
        counted_alone = _understand((row[2],), unit_in_heading(row[1])[1])
        if counted_alone.column:
            return counted_alone
        levels = (row[1], row[2])
    degrees = known_unit(levels[0].strip()) if len(levels) == 1 else None
    if degrees and dimension_of(degrees) == "temperature" and len(levels[0].strip()) > 1:
        return Reading(("temperature_c",), degrees, "keywords")
    for level in [part for whole in levels for part in _unit_and_aside(whole, len(levels))]:
        alone = known_unit(level.strip().strip("()[]")) if len(level.strip()) <= 24 else None
        ticked = not level.strip(" ☒☑☐✓✔✗xX") and len(level.strip()) == 1 and bool(texts)
        if texts and (ticked or normal(level) in UNIT_WORDS or _CHOICES.fullmatch(level.strip())):
            continue
        letter = not texts and len(level.strip()) == 1  # "S" over "g/L" is no second
        if alone is not None and len(levels) > 1 and normal(level) != "second" and not letter:
            unit = unit or alone
        elif level.strip():
            again = texts and normal(level) == "second"  # no unit, below "Water (mL)"
            texts.append("2" if again else _counted(level) if texts else level)
    return _below_half(tuple(texts), unit) or _understand(tuple(texts), unit)


def _unit_and_aside(level: str, depth: int) -> list[str]:
    """Return "g (no paper)" below a heading as what it says besides, and the unit."""
    found = _UNIT_WITH_ASIDE.fullmatch(level) if depth > 1 else None
    return [found[2], found[1]] if found and known_unit(found[1]) else [level]


_UNIT_WITH_ASIDE = re.compile(r"\s*(m?g|m[Ll]|cm3|cm³|°C|min)\s+\(([^()]*[^\W\d_]{3}[^()]*)\)\s*")


def _counted(level: str) -> str:
    """Return the number of a level that only counts: "2nd", and "2a" below "Probetas de agua"."""
    return counted_by(level) if _FEMININE.fullmatch(level) else counted(level)


_FEMININE = re.compile(r"\s*\d[ao]\.?\s*")
_NTH_TITRATION = re.compile(
    r"\s*titration\s*(?:no\.?\s*|#\s*)?([1-4])\b[\s:./–-]*(.*)", re.IGNORECASE | re.DOTALL
)


def _titrations_counted(levels: tuple[str, ...]) -> tuple[str, ...]:
    """Put the number of a titration behind: "Titration 2: buret" over "initial" is the second."""
    found = _NTH_TITRATION.fullmatch(levels[0]) if levels else None
    below = " ".join((found[2], *levels[1:])) if found else ""
    if found is None or not re.search(r"\bbur(?:et|ette)s?\b", below, re.IGNORECASE):
        return levels
    first, unit = unit_in_heading(found[2])
    words = re.sub(r"\bbur(?:et|ette)s?\b", "burette", " ".join((first, *levels[1:])), flags=re.I)
    return (f"{words} {found[1]}" + (f" ({unit})" if unit else ""),)


def _below_half(texts: tuple[str, ...], unit: str | None) -> Reading | None:
    """Return what a heading below the title of one half of a table means by itself."""
    if len(texts) > 1 and _LATER.fullmatch(texts[0]):
        below = _understand(texts[1:], unit)
        return below if below.column in _LATE else None
    if len(texts) > 1 and "alone" in concepts.concepts_among(words_of(normal(texts[-1]))):
        below = _understand(texts[-1:], unit)
        if below.column == "paper_mass_g":
            return below  # below "Residue after the oven"
    if len(texts) > 1 and _RESIDUE_TITLE.fullmatch(texts[0]) and _PAPER_ONLY.fullmatch(texts[-1]):
        return _understand(texts[-1:], unit)  # not the residue with its paper
    if len(texts) < 2 or not _HALF.fullmatch(texts[0]):
        return None
    if counted(texts[-1]).isdigit():
        return Reading()  # "2nd" goes on counting what stands before it
    below = _understand(texts[1:], unit)
    return below if below.column in _UNMOVED else None


_RESIDUE_TITLE = re.compile(
    r"\s*(?:residue|solid|filtration|results?|recovered|recovery)s?\s*", re.IGNORECASE
)
_PAPER_ONLY = re.compile(
    r"\s*(?:dry )?(?:filter ?)?papers?\s*(?:[(\[,/]\s*m?g\s*[)\]]?)?\s*", re.IGNORECASE
)
_RATIO_UNIT = re.compile(r"\w\s*(?:/|per)\s*\w|%")
UNIT_WORDS = concepts.listed("units")
# Below a heading: the answers to choose from.
_CHOICES = re.compile(
    r"\(?(?:v|vac|b|g|grav|y|yes|n|no|vacuum|gravity|buchner|büchner)\s*"
    r"(?:/|\bor\b)\s*(?:v|vac|b|g|grav|y|yes|n|no|vacuum|gravity|buchner|büchner)\)?",
    re.IGNORECASE,
)


@lru_cache(maxsize=4096)
def _understand(texts: tuple[str, ...], unit: str | None) -> Reading:
    trial, cleaned = "", []
    steps = [*(_as_step(t) for t in texts[:-1]), *texts[-1:]]
    texts = tuple(t for t in steps if t.strip()) or texts
    for text in texts:
        text = _with_trial(text)
        words = normal(text)
        found = _TRIAL.search(words)
        if found and (len(texts) > 1 or words != found[0]):
            trial = found[1]
            text = _without_trial(text)
        if text.strip():
            cleaned.append(text)
    cleaned = [t for t in cleaned if not _is_neutral(t)] or cleaned
    if unit is None and len(cleaned) > 1:
        # The unit of a title over several headings is theirs as well.
        named = {u for t in cleaned if (u := unit_in_heading(t)[1]) is not None}
        unit = named.pop() if len(named) == 1 else None
    best = Reading()
    wordings = _wordings(cleaned)
    for wording in wordings:
        reading = _less_sure(read_line(wording, unit), wording, cleaned)
        if reading.strength > best.strength:
            best = reading
        if best.candidates:
            break
    reported = "reported_solubility" in best.candidates or best.derived
    if len(cleaned) > 1 and not reported and ONLY_RATIO.fullmatch(cleaned[-1]):
        best = read_line(cleaned[-1], None)  # "g/L" says the same below "After drying"
    if len(cleaned) > 1 and "water_volume_ml" in best.candidates:
        below = read_line(cleaned[-1], unit or best.unit)  # "Water" over "V1"
        if below.how == "pattern":
            best = below
    if trial and not best.candidates and not cleaned:
        best = Reading(("run",), None, "vocabulary")
    return replace(best, trial=trial)


def _with_trial(text: str) -> str:
    """Return a heading with the word for a trial it shortens or counts: "Start mass T1"."""
    if not (section_named(text) or groups_in(text)):  # "Section T1"
        text = _T_TRIAL.sub(r" trial \1", text)
    return _NTH_TRIAL.sub(lambda m: f"trial {plain_ordinals(m[1].lower())}", text)


# "Method 1: evaporation of filtrate": what counts is the method.
_NUMBERED_TITLE = re.compile(
    r"\s*(?:method|part|table|route|way|approach|section)\s*(?:no\.?\s*)?(?:\d|[A-Z]|I{1,3})\s*[:.)–-]+\s*(?=\w)"
    r"|\s*(?:method|part)\s+(?:\d|[A-Z]|I{1,3})\s+(?=\w)",
    re.IGNORECASE,
)
# Titles over one half of a table say when its readings were taken, or of which solid. A reading
# that names itself stays what it is.
_HALF = re.compile(
    r"\s*(?:before|start|(?:un)?dissolved|(?:un)?dissolved\s*[(:–-].*)\s*", re.IGNORECASE
)
_LATER = re.compile(
    r"\s*(?:after(?:wards)?|at the end|later|nach(?:her)?|danach|après|después|dopo|depois|"
    r"na afloop|"
    r"(?:after )?dry(?:ing)?|(?:after )?filter(?:ing)?|séchage|trocknung)\s*",
    re.IGNORECASE,
)
_LATE = frozenset(
    {"paper_mass_g", "recovered_mass_g", "recovered_with_paper_mass_g", "reported_solubility",
     "aliquot_ml", "dish_residue_mass_g", "titrant_ml"}
)  # fmt: skip
_UNMOVED = frozenset(
    {"group", "initial_mass_g", "water_volume_ml", "paper_mass_g", "aliquot_ml", "dish_mass_g",
     "evaporation_aliquot_ml", "dish_residue_mass_g", "recovered_mass_g",
     "recovered_with_paper_mass_g", "reported_solubility", "temperature_c", "titrant_ml"}
    | {f"fill_{n}_ml" for n in range(1, 10)}
)  # fmt: skip
_BY_MASS = re.compile(
    r"\s*(?:by\s+)?(?:the\s+)?(?:undissolved solid|difference|mass(?: difference| balance)?|"
    r"missing mass|gravimetr\w*|residue|weighing|filtration)(?:\s+method)?\s*",
    re.IGNORECASE,
)
# "Mass loss" beside "Titration": the route, whatever stands below it.
_MASS_LOSS = re.compile(
    r"\s*(?:by\s+)?(?:mass[ -]loss|missing[ -]mass|loss (?:of|in) mass|gravimetr\w*)\s*",
    re.IGNORECASE,
)
# Titles that name the step of the work: what was titrated or evaporated matters below them.
_TITRATIONS = (
    r"titrations?|titrating|titrages?|titrierung(?:en)?|titrering|valoraci[oó]n(?:es)?|"
    r"titulaci[oó]n(?:es)?|titula[cç][aã]o|titolazione|miareczkowanie"
)
_EVAPORATIONS = (
    r"evaporations?|evaporating|[ée]vaporation|evaporaci[oó]n|evapora[cç][aã]o|evaporazione|"
    r"eindampfen|abdampfen|verdampfung|indampning|indunstning|odparowanie"
)
_OTHER_STEPS = (
    r"weighings?(?:\s+by\s+difference)?|mixing|dissolving|dissolution|disoluci[oó]n|"
    r"dissolu[cç][aã]o|dissoluzione|auflösung|auflösen|preparation|filtration|filtering|drying|"
    r"measurements?"
)
_STRENGTH = re.sub(r"\?P<\w+>", "?:", ACID_STRENGTH.pattern)
_STEP = re.compile(
    rf"\s*(?:part\s+)?(?:[A-Z]|\d{{1,2}})?[.):]?\s*(?:(?P<titration>{_TITRATIONS})|"
    rf"(?P<evaporation>{_EVAPORATIONS})|{_OTHER_STEPS})"
    r"(?:\s+(?:of\s+)?(?:the\s+|an\s+)?(?:filtrate|solution|solid|residue|lime ?water|liquid|"
    r"aliquot))?"
    rf"(?:\s+(?:with|by|against|con|avec|mit|com|med|gegen)\s+\w+(?:\s+{_STRENGTH})?)?"
    r"\s*:?\s*(?P<unit>[(\[]\s*\S{1,4}\s*[)\]])?\s*",
    re.IGNORECASE,
)


def _as_step(title: str) -> str:
    """Return what a title over several headings says of them, nothing if it only names a step."""
    named = _NUMBERED_TITLE.sub("", title)
    if (named != title and _BY_MASS.fullmatch(named)) or _MASS_LOSS.fullmatch(named):
        return ""
    found = _STEP.fullmatch(named)
    if found is None:
        return named
    return f"{_route(found)} {found['unit'] or ''}".strip()


def _route(step: re.Match[str]) -> str:
    """Return the route by which the filtrate was measured in a step, empty for another step."""
    return next((r for r in ("titration", "evaporation") if step[r]), "")


def routes_named(titles: Sequence[str]) -> frozenset[str]:
    """Return the titles over headings that name the route by the residue beside another route.

    "Residue" beside "Titration" and "Evaporation" says nothing of the readings below it.
    """
    steps = [_STEP.fullmatch(_NUMBERED_TITLE.sub("", title)) for title in titles]
    others = any(s is not None and _route(s) for s in steps)
    return frozenset(t for t in titles if others and _BY_MASS.fullmatch(t))


# Titles over several headings that say nothing about what stands below them.
_NEUTRAL_WORDS = """
    part data raw result results measured measurement measurements reading readings step stage
    experiment conditions lab class student students day week your our the monday tuesday wednesday
    thursday friday saturday sunday montag dienstag mittwoch donnerstag freitag messwerte daten
    données mesures datos medidas dati a b c d i ii iii iv 1 2 3 4
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


# What a title may say of when something was read without changing what it is.
_STEPS = frozenset({"before", "after", "start", "begin", "final", "dry", "filtration"})
_WHEN = {
    "temperature_c": _STEPS, "scatter": _STEPS, "filtration": _STEPS, "stir_min": _STEPS,
    "settle_min": _STEPS, "dry_min": _STEPS, "reported_solubility": _STEPS,
    "water_volume_ml": frozenset({"before", "start", "begin", "filtration"}),
}  # fmt: skip


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
            return unsure(reading, known, strange)
    said = concepts.concepts_among(w for t in others for w in normal(t).split())
    mine = concepts.concepts_among(normal(wording).split())
    if known == ["stir_min"] and "stir" in mine and all(map(_WAITING.fullmatch, others)):
        return reading  # whoever stirs waits as well
    if said <= _PARENTS | mine or "alone" in mine:
        return reading
    if len(known) == 1 and said <= _WHEN.get(known[0], frozenset()) | _PARENTS | mine:
        return reading
    note = f"may mean {' or '.join(known)}, but stands with '{others[0]}'"
    return replace(reading, candidates=(*known, keywords.UNSURE), note=note)


_WAITING = re.compile(r"\W*wait(?:ing)?(?: times?| periods?)?\W*", re.IGNORECASE)


def _says_nothing(word: str) -> bool:
    known = strange_words.is_plain(word) or concepts.concepts_of(word) or known_unit(word)
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
