"""How long everybody stirred, waited and dried, as the sentences around a table say."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from solubility_stats.sheets import keywords
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.phrases import words_of
from solubility_stats.sheets.said_temperatures import temperatures
from solubility_stats.sheets.sentence_parts import FOR_ALL, NUMBER, parts_of

_AT_DEGREES = re.compile(rf"\b(?:at|bei|à|a)\s+{NUMBER}\s*(?:degrees|deg|°\s*[CF]?)\b", re.I)
# "Each time we stirred 10 minutes and let it stand 15 minutes"
_AND = re.compile(
    r"\s+(?:and|then|und|dann|et|puis|y|luego|e|poi|en|dan|i|og|och)\s+", re.IGNORECASE
)
_DURATION = re.compile(rf"({NUMBER})\s*(min(?:ut\w*|s)?|h(?:ours?|rs?)?|ore)\b", re.IGNORECASE)
_ONE_HOUR = re.compile(
    r"\b(?:one|an|een|une|eine|una|uma|en|ett) (?:hour|uur|heure|stunde|hora|ora|timme|time)\b",
    re.I,
)
_HALF_AN_HOUR = re.compile(
    r"\b(?:half an hour|een half uur|une demi-heure|eine halbe stunde|media hora|mezz'ora|"
    r"meia hora|en halvtimme|en halv time)\b",
    re.IGNORECASE,
)
# What was done, and not what is to be done ("Stir for 10 min").
_DONE = re.compile(
    r"\b(?:stirred|(?<=min )stir\b|(?<=minutes )stir\b|mixed|stirring|settled|settling|"
    r"(?:hot|warm) ?plate|undisturbed|stood|stod|stået|standing|dried|drying|"
    r"(?:left|allowed) to (?:sit|settle|stand)|(?:sat|stood)\b|essicca\w*|secado|séchage|"
    r"trocknung|agitation|décantation|repos|attente|gerührt|getrocknet|abgesetzt|gestanden|suszeni\w+|mieszani\w+|"
    r"omrör\w+|omrør\w+|tork\w+|tørr\w+|tørk\w+|henstand|gedroogd|geroerd|bezonken|droogtijd|"
    r"agita\w+|reposo|repouso|riposo|secagem|mescola\w+|decantazione|trockenzeit|rührzeit|absetzzeit|"
    r"agit(?:ó|é\w*)|agitou(?:-se)?|reposó|(?:dej|deix|lasci|laiss)\w+(?:-se)? (?:\w+ )?(?:reposar|"
    r"repousar|riposare|reposer|décanter|decantar|decantare)|sec(?:ó|ad\w+|amos|aron)|secou(?:-se)?|séché\w*|"
    r"(?:stehen|absetzen|absitzen|ruhen|sedimentieren) (?:ge)?lassen|"
    r"laten (?:bezinken|staan|rusten)|"
    r"mieszan\w+|mieszali\w+|pozostawi\w+|odstawi\w+|suszon\w+|suszyli\w+|rör(?:de|t|des)|"
    r"fick stå|stått|lät \w+ stå|l[oa]d (?:\w+ )?stå|lot (?:\w+ )?stå|rørte|fikk stå|"
    r"fik lov at stå|míchá\w+|míchal\w*|usaz\w+|suš\w+|"
    r"sekoit\w+|seisoi|seistä|kuivat\w+|karıştır\w+|beklet\w+|kurut\w+)\b",
    re.IGNORECASE,
)
# "Stirrer 15 min, rest 20 min": names of things and no commands, so both were done.
_STIRRER = re.compile(r"(?:magnetic )?stir(?:rer|ring):?(?= \d)", re.IGNORECASE)
_RESTED = re.compile(r"(?:rest|standing|settling):?(?= \d)", re.IGNORECASE)
# "Every group: stir 10 min, stand 15 min"
_LET = re.compile(r"\blet (?:(?:it|them|this) )?(?:sit|settle|stand)\b", re.IGNORECASE)
_WE_LET = re.compile(r"\bwe\b.*\blet (?:it|them|this)\b", re.IGNORECASE | re.DOTALL)
_VERB = re.compile(
    r"\b(?:stir|mix|stand|sit|settle|wait|dry|on (?:the |a )?hot ?plate|roeren|"
    r"bezinken|drogen|rühren|absetzen|trocknen|agiter|"
    r"décanter|sécher|agitar|reposar|secar|mescolare|decantare|asciugare)\b",
    re.IGNORECASE,
)


def _by_duration(part: str) -> list[str]:
    """Return the pieces of a part that tell of one time each, else the part.

    "Alle rørte i 10 min og lod det stå i 25 min": what is before a time belongs to it.
    """
    pieces: list[str] = []
    waiting = ""
    for piece in _AND.split(part):
        waiting = f"{waiting} {piece}".strip()
        if _DURATION.search(piece):
            pieces.append(waiting)
            waiting = ""
    if len(pieces) < 2:
        return [part]
    return [*pieces[:-1], f"{pieces[-1]} {waiting}".strip()]


_DRIED_OUT = re.compile(
    r"\bdried (?:again )?(?:(?:un)?til|to) (?:a )?(?:constant|steady) (?:mass|weight)\b"
    r"|\bséché\w* jusqu'à (?:masse|poids) constante?\b|\bbis zur (?:massen|gewichts)konstanz\b"
    r"|\b(?:secad\w+|seco\w*) (?:hasta|até) (?:a )?(?:masa|massa|peso) constante\b"
    r"|\bessicat\w+ fino a (?:massa|peso) costante\b|\bdo stałej masy\b|\btill konstant vikt\b",
    re.IGNORECASE,
)
_NOT_DRIED_OUT = re.compile(
    r"\b(?:not|never|un\w*|except|but|if|should|must|most|some|half|only)\b", re.IGNORECASE
)


# "Papers with residue dried to constant mass": what was done with each of them.
_SEVERAL = re.compile(
    r"\b(?:residues|solids|papers|cakes|samples|rückstände|papiere|filter|résidus|papiers|residuos|"
    r"papeles|residui|residuen)\b",
    re.IGNORECASE,
)


def dried_out(text: str) -> Iterator[str]:
    """Yield yes where a sentence says that all residues were dried to constant mass."""
    for sentence in re.split(r"(?<=[.;!])\s+", text):
        of_all = FOR_ALL.search(sentence) or _SEVERAL.search(sentence)
        said = _DRIED_OUT.search(sentence) and of_all
        if said and not _NOT_DRIED_OUT.search(sentence):
            yield "yes"


def durations(text: str, column: str) -> Iterator[str]:
    """Yield the times that a text states for a step ("stir_min"), each with its unit."""
    text = _ONE_HOUR.sub("1 h", _HALF_AN_HOUR.sub("30 min", text))
    text = _BEFORE_THAT.sub(" ", text)
    if column == "dry_min" and (times := {*_in_oven(text)}):
        yield from times
        return
    text = _IN_OVEN.sub("dried", text)
    text = re.sub(r"\s*\([^()\d]*\)", "", text)  # "on the hot plate (low) for 20 min"
    found = list(_spoken(text, [p for part in parts_of(text) for p in _by_duration(part)], column))
    if not found and len(_DURATION.findall(text)) == 1 and text.count(".") < _FEW_SENTENCES:
        found = list(_spoken(text, [" ".join(parts_of(text))], column))
    yield from found  # "dried on hot plate, low, 40 min" speaks of one thing as a whole


_FEW_SENTENCES = 2
# "residue in the 110 °C oven for 45 min"
_IN_OVEN = re.compile(
    rf"\b(?:(?:put|went|stayed|was|were|kept|dried) )*in (?:the|an|a) (?:{NUMBER}\s*°?\s*[CF]?\s+)?"
    rf"(?:drying )?oven(?: at {NUMBER}\s*°?\s*[CF]?\b)?"
    rf"|\b(?:im (?:trocken\w+|ofen)|à l'étuve|en la estufa|na estufa|in stufa|w suszarce|"
    rf"i (?:värmeskåp|torkskåp|ugn|varmeskab|tørreskap))"
    rf"(?: (?:bei|à|a|vid|ved) {NUMBER}\s*°?\s*C\b)?",
    re.IGNORECASE,
)


# "Oven 110 °C, 40 min." above a table is how all of it was dried.
_OVEN_SET = re.compile(
    rf"\s*(?:drying )?oven:?(?: at)? {NUMBER}\s*°?\s*[CF]\b[\s,;/]+(?:for )?"
    + _DURATION.pattern
    + r"\W*",
    re.IGNORECASE,
)
_BEFORE_THAT = re.compile(
    r"\b(?:vorher|zuvor|davor|danach|anschließend|beforehand|previously|afterwards)\b",
    re.IGNORECASE,
)


def _in_oven(text: str) -> Iterator[str]:
    """Yield how long everything was in the oven: "weighed after 1 h in the 110 C oven (all)"."""
    for sentence in re.split(r"(?<=[.;!])\s+(?=\D)", text):
        if whole := _OVEN_SET.fullmatch(sentence):
            yield f"{whole[1]} {whole[2]}"
        if not FOR_ALL.search(sentence) or _SOME_MORE.search(sentence):
            continue
        for oven in _IN_OVEN.finditer(sentence):
            before, behind = sentence[: oven.start()], sentence[oven.end() :]
            found = _ENDS_IN_TIME.search(before) or _BEGINS_WITH_TIME.match(behind)
            if found is not None:
                yield f"{found[1]} {found[2]}"


_ENDS_IN_TIME = re.compile(_DURATION.pattern + r"\s*\Z", re.IGNORECASE)
_BEGINS_WITH_TIME = re.compile(r"\s*(?:for|während|pendant|durante)?\s*" + _DURATION.pattern, re.I)
_SOME_MORE = re.compile(
    r"\b(?:again|another|a further|further|extra|additional|second (?:time|drying)|more minutes|"
    r"erneut|nochmals?|weitere\w*|encore|de nouveau|otra vez|otros|altri|ancora|opnieuw|nog|"
    r"ponownie|jeszcze|ytterligare|igen|yderligere|ytterligere)\b",
    re.IGNORECASE,
)


# "All mixtures: 45 min settling": what it was done with says nothing of the step.
_OF_EVERY = re.compile(
    r"\b(?:all|every|each) (?:of )?(?:the )?(?:mixtures?|suspensions?|slurr(?:y|ies)|samples?|"
    r"beakers?|flasks?|residues?|cakes?|solids?)\b",
    re.IGNORECASE,
)


def _spoken(text: str, apart: Sequence[str], column: str) -> Iterator[str]:
    """Yield the times that the parts of a text state for a step of the work."""
    everybody = FOR_ALL.search(text)
    done = any(map(_DONE.search, apart))  # "Stirred 10 min, then let stand 5 min"
    measured = any(True for _ in temperatures(text))  # a record of that day and no instruction
    beside = any(_STIRRER.match(p) and _DURATION.search(p) for p in parts_of(text))
    for part in apart:
        part = _AT_DEGREES.sub(" ", part)
        times = _DURATION.findall(part)
        told = _DONE.search(part) or (everybody and _VERB.search(part))
        told = told or ((done or _WE_LET.search(text)) and _LET.search(part))
        named = beside and (_STIRRER.match(part) or _RESTED.match(part))
        if len(times) != 1 or not (told or named or measured) or len(part) > 60:
            continue
        if _SOME_MORE.search(text):
            continue  # "Dried again = another 10 min on the hot plate"
        words = words_of(normal(_DURATION.sub(" ", _OF_EVERY.sub(" ", part))))
        if keywords.match([*words, "min"], "time") == [column]:
            yield f"{times[0][0]} {times[0][1]}"
