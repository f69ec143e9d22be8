"""What a sentence around a table says about all its runs: how warm, how strong, how filtered.

"Water was 21 °C for everybody (same carboy)" gives a temperature, "published value at 25 °C" does
not. A sentence is taken apart at its commas and brackets; a part counts if it speaks of the thing
and of nothing else, and only if all parts around the table that speak of the thing agree.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from solubility_stats.quantities import fill_columns
from solubility_stats.sheets import concepts, keywords
from solubility_stats.sheets.beam import beams
from solubility_stats.sheets.durations import NUMBER_WORDS
from solubility_stats.sheets.heading_text import ACID_STRENGTH, normal
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.phrases import concepts_in, words_of
from solubility_stats.sheets.places import GROUP_WORDS
from solubility_stats.sheets.said_filtrations import TO_DO, filtrations
from solubility_stats.sheets.said_temperatures import of_room, temperatures
from solubility_stats.sheets.sentence_parts import NUMBER, parts_of
from solubility_stats.sheets.titre import TITRATION

_VOLUME = re.compile(rf"({NUMBER})\s*(mL|ml|cm3|cm³|cc)\b")
_WITH = r"\b(?:with|against|versus|vs\.?|by|mit|gegen|avec|par|con|com|met|med)\s+"
_ACID = (
    "hcl|acid|salzsäure|acide(?: chlorhydrique)?|zoutzuur|[áa]cido(?: clorh[íi]drico| cloridrico)?|"
    "saltsyra|saltsyre|kwas\\w*"
)
_OF_ACID = rf"(?:-?\s*(?:d['e]\s*|di\s+|de\s+)?(?:{_ACID})\b)?"
_WITH_ACID = re.compile(  # "25 mL filtrate with 0.100 M HCl"
    rf"{_WITH}{ACID_STRENGTH.pattern}\s*{_OF_ACID}",
    re.IGNORECASE,
)
# "10,0 mL Filtrat mit Salzsäure", the strength behind a comma
_ACID_ALONE = re.compile(
    rf"{_WITH}(?:the\s+|l'|der\s+)?(?:{_ACID}|(?:hydrochloric|standard) acid)\b",
    re.IGNORECASE,
)
_ACID_FIRST = re.compile(  # "com HCl 0,0500 mol/L"
    r"\b(with|against|versus|vs\.?|by|mit|avec|con|com|met|med)\s+(?:the\s+)?(?:hcl|acid)\s+(?=\d)",
    re.IGNORECASE,
)
# "25 mL de filtrado": the word for filtering, behind a volume.
_OF_FILTRATE = re.compile(
    r"\b(mL|cm3|cm³) (?:de|do|del|di|du) (?:filtrado|filtrato|filtrat)\b", re.IGNORECASE
)
# "Titration of filtrate (10.00 mL) with 0.0500 M HCl"
_IN_BRACKETS = re.compile(
    rf"\b(filtrate|aliquots?|lime ?water|filtrat|filtrado|filtrato)\s*"
    rf"\((?=\s*{NUMBER}\s*(?:mL|cm3|cm³)\b)"
    r"([^()]*)\)",
    re.IGNORECASE,
)
_PORTIONS = re.compile(r"\bportions?\b", re.IGNORECASE)  # of the filtrate, not of the water
_AT_DEGREES = re.compile(rf"\b(?:at|bei|à|a)\s+{NUMBER}\s*(?:degrees|deg|°\s*[CF]?)\b", re.I)
_FOR_ALL = re.compile(
    r"\b(?:every\w*|each|all|always|throughout|"
    r"in total|au total|en total|in totale|insgesamt|in totaal|no total|"
    r"per (?:trial|run|group|pair|team)|"
    r"iedereen|elke?|allemaal|all[ea]|jede[rs]?|chaque|tou(?:s|tes|t le monde)|todo?s|todas|"
    r"tutt[ie]|ogni|cada|wszyscy|każd\w+|varje|hver\w*|samtlige|samtliga|všichni|každ\w+)\b",
    re.IGNORECASE,
)
# "Each time we stirred 10 minutes and let it stand 15 minutes"
_AND = re.compile(
    r"\s+(?:and|then|und|dann|et|puis|y|luego|e|poi|en|dan|i|og|och)\s+", re.IGNORECASE
)
_BRACKETS = re.compile(r"\s*\([^()]*\)\s*")
_SUM = re.compile(rf"{NUMBER}\s*mL(?:\s*\+\s*{NUMBER}\s*mL)+", re.IGNORECASE)
_POURS = r"fills?|pours?|lots?|additions?|portions?|measures?"
_FILLS = re.compile(
    rf"\b(\d{{1,2}})\s*(?:x|×|(?:{_POURS}) of|times|[ée]prouvettes? d[e']|probetas? d[e']|"
    rf"provetas? d[e']|"
    rf"cilindri da|(?:mess)?zylinder (?:mit|zu|à)|maatcilinders? van|mätglas (?:à|om|med)|"
    rf"måleglas (?:à|på|med))\s*(?:the |a )?({NUMBER})\s*(mL|ml|cm3|cm³)\b",
    re.IGNORECASE,
)
_FILLED = re.compile(rf"\b(two|three|four|five|six) (?=(?:{_POURS}) of|times)", re.IGNORECASE)
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
    r"(?:stehen|absetzen|ruhen|sedimentieren) (?:ge)?lassen|laten (?:bezinken|staan|rusten)|"
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


# "(group 5 used the leftover 0.0985 mol/L)", ", except table 6 who took 150 mL"
_OF_ONE = (
    re.compile(
        rf"\(\s*(?:{GROUP_WORDS}|table)\s*(?P<group>\w{{1,3}})\s+"
        r"(?P<said>(?:used|took|had|did|filtered|was|stirred)\b[^()]*)\)",
        re.IGNORECASE,
    ),
    re.compile(
        rf"[,;–-]\s*(?:except|apart from|but(?: not)?)\s+(?:for\s+)?(?:{GROUP_WORDS}|table)\s*"
        r"(?P<group>\w{1,3})\b(?P<said>[^;.]*)",
        re.IGNORECASE,
    ),
)


def exceptions_in(text: str) -> list[tuple[str, str]]:
    """Return the groups that a sentence about all excepts, each with what it says of them."""
    return [(m["group"].casefold(), m["said"]) for one in _OF_ONE for m in one.finditer(text)]


def said_by(text: str, known: Iterable[str]) -> dict[str, str]:
    """Return the words for each value that one sentence says, by column; see :func:`said_in`."""
    found = said_in([RawCell(1, 1, text, text)], {*known})
    return {column: words for column, (_, words) in found.items()}


def _stated(text: str) -> str:
    """Return what a text says of all: no exceptions, nothing it only asks or asks to do."""
    for one in _OF_ONE:
        text = one.sub(" ", text)
    return TO_DO.sub(" ", _QUESTION.sub(" ", text))


_QUESTION = re.compile(r"(?:(?<=[.!?]\s)|\A)(?:[^.!?]|\.(?=\d))*[^.!?()\s]\?(?=\s|\Z)")


def said_in(cells: Sequence[RawCell], known: set[str]) -> dict[str, tuple[RawCell, str]]:
    """Return what the sentences around a table say once for all its runs.

    Parameters
    ----------
    cells : sequence of RawCell
        Cells above and below a table, without those that are labels or their values.
    known : set of str
        Columns the table or a label has already.

    Returns
    -------
    dict of str to tuple of (RawCell, str)
        By canonical column: the cell that says it, and the words for the value with its unit.
    """
    texts = [c for c in cells if isinstance(c.value, str)]
    titrated = known & TITRATION or any("titrated" in concepts_in(c.text) for c in texts)
    asked: dict[str, Callable[[str], Iterator[str]]] = {
        "temperature_c": temperatures,
        "titrant_mol_per_l": _strengths,
        "filtration": filtrations,
        "scatter": beams,
        "constant_mass": _dried_out,
        "water_volume_ml": _waters,
        "stir_min": lambda text: _durations(text, "stir_min"),
        "settle_min": lambda text: _durations(text, "settle_min"),
        "dry_min": lambda text: _durations(text, "dry_min"),
    }
    if titrated:
        asked["aliquot_ml"] = _aliquots
    if "dish_mass_g" in known:
        asked["evaporation_aliquot_ml"] = _evaporated
    found: dict[str, tuple[RawCell, str]] = {}
    for column, look in asked.items():
        if column in known or (column == "water_volume_ml" and fill_columns(known)):
            continue
        hits = [(cell, said) for cell in texts for said in look(_stated(cell.text))]
        if column == "temperature_c":
            hits = [(c, said) for c, said in hits if not of_room(c.text)] or hits
        if not hits and column == "titrant_mol_per_l":  # "Acid: HCl" beside "c = 0.1 mol/l"
            hits = [(b, said) for a, b in pairwise(texts) if a.row == b.row
                    for said in look(f"{a.text} {b.text}")]  # fmt: skip
        if len({" ".join(said.split()) for _, said in hits}) == 1:
            found[column] = hits[0]
    return found


_NORMAL = re.compile(rf"({NUMBER})\s*N\b")


def _strengths(text: str) -> Iterator[str]:
    if "hcl" in text.casefold():  # one proton: normality and molarity are the same
        yield from (f"{m[1]} M" for m in _NORMAL.finditer(text))
    for match in ACID_STRENGTH.finditer(text):
        around = normal(text[: match.start()] + " " + text[match.end() :])
        if any("acid" in concepts.concepts_of(word) for word in around.split()):
            yield f"{match['number']} {match['unit'].replace('N', 'M')}"


def _aliquots(text: str) -> Iterator[str]:
    text = _IN_BRACKETS.sub(r"\1 \2", text)
    for part in parts_of(text):
        part = _ACID_ALONE.sub(" ", _WITH_ACID.sub(" ", _ACID_FIRST.sub(r"\1 ", part)))
        part = _OF_FILTRATE.sub(r"\1 filtrate", _PORTIONS.sub("aliquots", part))
        part = _POUR_TOUS.sub("each ", _PRISES.sub("aliquots ", part))
        volumes = _VOLUME.findall(part)
        said = concepts_in(_VOLUME.sub(" ", part))
        other = said & {"evaporation", "dish", "acid", "water", "fill"} or "total" in part
        if len(volumes) == 1 and said & {"aliquot", "filtrate"} and not other:
            yield f"{volumes[0][0]} {volumes[0][1]}"


def _evaporated(text: str) -> Iterator[str]:
    for part in parts_of(text):
        volumes = _VOLUME.findall(part)
        said = concepts_in(_VOLUME.sub(" ", part))
        taken = said & {"aliquot", "filtrate"} or "filtrate" in part.casefold()
        if len(volumes) == 1 and taken and said & {"evaporation", "dish"}:
            yield f"{volumes[0][0]} {volumes[0][1]}"
    titled = _TITLE_OF_DISHES.search(text)  # "Evaporating dish (10.00 mL of filtrate each)"
    if titled is not None and not concepts_in(text) & {"acid", "titration", "titre"}:
        yield f"{titled['volume']} {titled['unit']}"


_POUR_TOUS = re.compile(r"\bpour (?=tou[st]|chaque|les?\b)", re.IGNORECASE)
_PRISES = re.compile(r"\bprises?\s+(?:d'essai\s+)?(?:de\s+)?", re.IGNORECASE)
_TITLE_OF_DISHES = re.compile(
    rf"\b(?:dish|evaporat)\w*[^()]{{0,20}}\(\s*(?P<volume>{NUMBER})\s*(?P<unit>mL|ml|cm3|cm³) "
    r"(?:of )?(?:the )?(?:filtrate|lime ?water|solution)[^()]{0,20}\)",
    re.IGNORECASE,
)


def _waters(text: str) -> Iterator[str]:
    """Yield the water every group took: "250 mL every time (5 fills of the 50 mL cylinder)"."""
    text = _FILLED.sub(lambda m: f"{NUMBER_WORDS[m[1].lower()]} ", text)
    text = _FOR_EACH_ASIDE.sub(r"\1", text)  # "200 ml (each group)"
    plain = _BRACKETS.sub(" ", text)  # "Water: 250 mL (one 250 mL cylinder) for every trial"
    for part in [*parts_of(text), *(parts_of(plain) if plain != text else ())]:
        volumes = _VOLUME.findall(part)
        said = concepts_in(_VOLUME.sub(" ", part))
        if len(volumes) > 1 and _FOR_ALL.search(part) and "water" in said:
            yield from (m[0] for m in _SUM.finditer(part))
        poured = _FILLS.search(part)
        if poured is not None and len(volumes) == 2 and _FOR_ALL.search(part) and "water" in said:
            whole = int(poured[1]) * float(poured[2])
            if whole in (float(volumes[0][0]), float(volumes[1][0])):
                yield f"{poured[1]} x {poured[2]} {poured[3]}"
        spoken = "water" in said or (poured is not None and "fill" in said)
        if _VOLUME_EACH.fullmatch(part) and not concepts_in(text) & _NO_WATER:
            spoken = True
        of_all = _FOR_ALL.search(text if poured is not None and "water" in said else part)
        if len(volumes) != 1 or not of_all or not spoken:
            continue
        if said & {"aliquot", "filtrate", "acid", "temperature", "dish", "heat", "mass"}:
            continue
        total, unit = volumes[0]
        if poured is not None and (float(total) == float(poured[2]) or "water" not in said):
            yield f"{poured[1]} x {poured[2]} {unit}"
            continue
        poured = _FILLS.search(text)
        if poured and float(total) == int(poured[1]) * float(poured[2]):
            yield f"{poured[1]} x {poured[2]} {unit}"
        else:
            yield f"{total} {unit}"


_FOR_EACH_ASIDE = re.compile(
    r"\(\s*((?:each|every|all|per|für jede|par|por)\b[^()\d]{0,20})\)", re.I
)
# "Mine: vacuum, 200 mL each"
_VOLUME_EACH = re.compile(
    rf"\s*(?:all |always )?{NUMBER}\s*(?:mL|ml|cm3|cm³) "
    r"(?:each|in total|per (?:group|team|pair|bench|run|trial))\s*",
)
_NO_WATER = frozenset({"aliquot", "filtrate", "acid", "titration", "titre", "burette", "dish"})


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


def _dried_out(text: str) -> Iterator[str]:
    """Yield yes where a sentence says that all residues were dried to constant mass."""
    for sentence in re.split(r"(?<=[.;!])\s+", text):
        said = _DRIED_OUT.search(sentence) and _FOR_ALL.search(sentence)
        if said and not _NOT_DRIED_OUT.search(sentence):
            yield "yes"


def _durations(text: str, column: str) -> Iterator[str]:
    text = _ONE_HOUR.sub("1 h", _HALF_AN_HOUR.sub("30 min", text))
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


_SOME_MORE = re.compile(
    r"\b(?:again|another|a further|further|extra|additional|second (?:time|drying)|more minutes|"
    r"erneut|nochmals?|weitere\w*|encore|de nouveau|otra vez|otros|altri|ancora|opnieuw|nog|"
    r"ponownie|jeszcze|ytterligare|igen|yderligere|ytterligere)\b",
    re.IGNORECASE,
)


def _spoken(text: str, apart: Sequence[str], column: str) -> Iterator[str]:
    """Yield the times that the parts of a text state for a step of the work."""
    everybody = _FOR_ALL.search(text)
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
        words = words_of(normal(_DURATION.sub(" ", part)))
        if keywords.match([*words, "min"], "time") == [column]:
            yield f"{times[0][0]} {times[0][1]}"
