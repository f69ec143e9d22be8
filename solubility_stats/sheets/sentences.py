"""What a sentence around a table says about all its runs: how warm, how strong, how filtered.

"Water was 21 °C for everybody (same carboy)" gives a temperature, "published value at 25 °C" does
not. A sentence is taken apart at its commas and brackets; a part counts if it speaks of the thing
and of nothing else, and only if all parts around the table that speak of the thing agree.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

from solubility_stats.quantities import fill_columns, quantity
from solubility_stats.sheets import keywords
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.heading_text import ACID_STRENGTH, normal
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.phrases import concepts_in, words_of
from solubility_stats.sheets.titre import TITRATION
from solubility_stats.sheets.units import dimension_of, known_unit

_PARTS = re.compile(r"[;()|\n→•]|\s·\s|,\s|\.\s|\s[-–—]\s|[!?]|\s{2,}")
_SHORTENED = re.compile(r"\b(temp|approx|ca|vol|conc)\.(?=\s)", re.IGNORECASE)
_NUMBER = r"(?<![\w.,])\d{1,3}(?:[.,]\d+)?"
_DEGREES = re.compile(
    rf"({_NUMBER})\s*(°\s*[CF]\b|º\s*[CF]\b|deg(?:rees)?\.?\s*[CF]\w*|celsius|fahrenheit)",
    re.IGNORECASE,
)
# "Room temp 22.5 C today": after a word for temperature a bare letter is enough.
_TEMPERATURE = re.compile(
    rf"\b(?:temp\w*\.?|lämpötil\w+|teplot\w+|sıcaklı\w+|T|bath|thermometer|"
    rf"(?:water|room|lab|everything) (?:was|is|at|"
    rf"stayed))(?![^\W_])[^\d;.]{{0,40}}?({_NUMBER})\s*"
    r"(°\s*[CF]|deg(?:rees)?\.?\s*[CF]\w*|[CFK]\b|celsius|fahrenheit)",
    re.IGNORECASE,
)
# "Whole class 22 degrees": of the lab, and so of Celsius.
_PLAIN_DEGREES = re.compile(
    r"(?<![\w.,])((?:1[5-9]|2\d|3[0-5])(?:[.,]\d)?)\s*(deg(?:rees|s)?)\b(?!\.?\s*[CF])", re.I
)
# "First trial (Mon, 20 C)": a part that is nothing else, within a lab's range.
_BARE_DEGREES = re.compile(
    r"(?P<number>(?:1[5-9]|2\d|3[0-5])(?:[.,]\d)?(?=\s*C)|[678]\d(?:[.,]\d)?(?=\s*F))\s*(?P<unit>[CF])"
)
_ROOM_BEHIND = re.compile(
    r"\A\s+(?:in|for|at)\s+(?:the\s+)?(?:room|lab|water|all|every\w*)\b", re.IGNORECASE
)
# What the thermometer was in, or who it holds for.
_OF_THE_LAB = re.compile(
    r"\b(?:water|eau|wasser|acqua|agua|lab|room|thermometers?|carboy|tank|this time|mixture|"
    r"solution|bath|ambient|all|every\w*|today|raum|(?:wasser|raum|labor)temperatur|für alle|"
    r"pour tous|para todos|salle|vattn\w+|vatten|vand\w*|vann\w*|wod[ay]|veden|vesi|suyun|"
    r"vod[ay]|kaikki|herkes|všichni|laborator\w+)\b",
    re.IGNORECASE,
)
# "Two trials each, vacuum filtration, 21.5 °C": a title that says how everybody did it.
_FOR_EACH = re.compile(r"\b(?:each|trials?|(?:vacuum|gravity|suction) filt\w+)\b", re.IGNORECASE)
_NO_LAB = frozenset(
    {"dry", "heat", "evaporation", "summary", "derived", "solubility", "dish", "mass"}
)
_OTHER_LAB = re.compile(
    r"\b(?:handbook|book|lit|literature|published|textbook|oven|(?<!all )tables?(?!\s*\d)|"
    r"reference|"
    r"boil\w*|melt\w*|"
    r"store\w*|fridge|standard|calibrat\w*|density|expected|theor\w*)\b",
    re.IGNORECASE,
)
FROM_A_BOOK = re.compile(
    r"\b(?:hand ?book|book|lit|literature|published|textbook|reference|expected|theor\w*)\b", re.I
)
_AMOUNT = re.compile(r"\d\s*m?[gL]\b")
_VOLUME = re.compile(rf"({_NUMBER})\s*(mL|ml|cm3|cm³|cc)\b")
_WITH_ACID = re.compile(  # "25 mL filtrate with 0.100 M HCl"
    rf"\b(?:with|against|by|mit|avec|con|com|met|med)\s+{ACID_STRENGTH.pattern}\s*(?:hcl|acid)?",
    re.IGNORECASE,
)
_ACID_FIRST = re.compile(  # "com HCl 0,0500 mol/L"
    r"\b(with|against|by|mit|avec|con|com|met|med)\s+(?:the\s+)?(?:hcl|acid)\s+(?=\d)",
    re.IGNORECASE,
)
# "25 mL de filtrado": the word for filtering, behind a volume.
_OF_FILTRATE = re.compile(r"\b(mL|cm3|cm³) (?:de|do|del|di) (?:filtrado|filtrato)\b", re.IGNORECASE)
_PORTIONS = re.compile(r"\bportions?\b", re.IGNORECASE)  # of the filtrate, not of the water
_AT_DEGREES = re.compile(rf"\b(?:at|bei|à|a)\s+{_NUMBER}\s*(?:degrees|deg|°\s*[CF]?)\b", re.I)
_FOR_ALL = re.compile(r"\b(?:every\w*|each|all|always|throughout)\b", re.IGNORECASE)
_BRACKETS = re.compile(r"\s*\([^()]*\)\s*")
_SUM = re.compile(rf"{_NUMBER}\s*mL(?:\s*\+\s*{_NUMBER}\s*mL)+", re.IGNORECASE)
_FILLS = re.compile(
    rf"\b(\d{{1,2}})\s*(?:x|×|fills? of|times)\s*(?:the |a )?({_NUMBER})\s*(mL|ml|cm3|cm³)\b",
    re.IGNORECASE,
)
_DURATION = re.compile(rf"({_NUMBER})\s*(min(?:ut\w*|s)?|h(?:ours?|rs?)?|ore)\b", re.IGNORECASE)
# What was done, and not what is to be done ("Stir for 10 min").
_DONE = re.compile(
    r"\b(?:stirred|(?<=min )stir\b|(?<=minutes )stir\b|mixed|stirring|settled|settling|"
    r"undisturbed|stood|stod|stået|standing|dried|drying|"
    r"(?:left|allowed) to (?:sit|settle|stand)|(?:sat|stood)\b|essicca\w*|secado|séchage|"
    r"trocknung|agitation|décantation|gerührt|getrocknet|abgesetzt|gestanden|suszeni\w+|mieszani\w+|"
    r"omrör\w+|omrør\w+|tork\w+|tørr\w+|tørk\w+|henstand|gedroogd|geroerd|bezonken|droogtijd|"
    r"agita\w+|reposo|repouso|riposo|secagem|mescola\w+|decantazione|trockenzeit|rührzeit|absetzzeit)\b",
    re.IGNORECASE,
)
# "Stirrer 15 min, rest 20 min": names of things and no commands, so both were done.
_STIRRER = re.compile(r"(?:magnetic )?stir(?:rer|ring):?(?= \d)", re.IGNORECASE)
_RESTED = re.compile(r"(?:rest|standing|settling):?(?= \d)", re.IGNORECASE)
# "Every group: stir 10 min, stand 15 min"
_VERB = re.compile(r"\b(?:stir|mix|stand|sit|settle|dry)\b", re.IGNORECASE)
_FILTERED = re.compile(
    r"filt|sinter|frit|gooch|vacuum line|"
    r"fluted|sącz|abgesaugt|funnel|trichter|nutsch|saug|sug\b|\balle\b|\btous\b|\btodos\b|"
    r"\btutti\b|süz|suodat|imusuod|vakuum|odsáv|vývěv|herkes|kaikki|všichni|"
    r"\balla\b|\ballen\b|pump|aspirator|suction|every(?:one|body)|all groups",
    re.IGNORECASE,
)
# "All on the Büchner (vacuum)", "Büchner again", and not "all Büchner flasks" to be given back.
_ALL_SO = re.compile(
    r"\b(?:all|both|every\w*|we (?:all )?used)\b.{0,25}\b(?:vac\w*|gravity|b(?:ü|u|ue)chner)\b"
    r"|\b(?:vac\w*|gravity|b(?:ü|u|ue)chner)\b"
    r"(?: again\b|[^,;.]{0,20}\b(?:all|every\w*|throughout)\b)",
    re.IGNORECASE,
)
# What stands in a lab or is dried, and who else did it.
_NOT_ALL_SO = re.compile(
    r"\b(?:vac\w*|gravity|b(?:ü|u|ue)chners?)\s+(?:pumps?|flasks?|hoses?|tub\w+|oven|desiccat\w*|"
    r"dr(?:y|ied|ying)|grease|lines?|convection)\b|\bdr(?:y|ied|ying)\b[^,;.]{0,20}\bvac"
    r"|\b(?:some|few|most|half|except|but|use|try|next|(?:group|bench|team|pair|table)s?\s+\d+)\b",
    re.IGNORECASE,
)
HOW = re.compile(
    r"\bv[aá][ckü]|suction|b(?:ü|u|ue)chner|nutsch|aspirat|\bgraw?v?|fluted|faltenf|schwerkraft|"
    r"sous vide|vuoto|ab(?:gesaugt|genutscht)|ciśnieniem|\bpump|próżni|podciśn|tyngdk|tyngdek|"
    r"zwaartekr|onderdruk|unterdruck|\bsug|vakum|tromp|plissé|grawitac|gravit|imusuod|alipain|"
    r"painovoim|yerçekim|vakuov|podtlak|odsáv|vývěv|atmosférick",
    re.IGNORECASE,
)
_NOT = re.compile(
    r"\b(?:no|not|nobody|never|none|without|broken|instead of|n't|out of order|en panne|"
    r"kaputt|defekt|"
    r"averiad\w|avariad\w|rott[oa]|guast[oa]|kapot|stuk|trasig|ødelagt|zepsut\w|rozbit\w+|bozuk|"
    r"arızalı|rikki|nefunguje)\b",
    re.I,
)


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
        "temperature_c": _temperatures,
        "titrant_mol_per_l": _strengths,
        "filtration": _filtrations,
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
        hits = [(cell, said) for cell in texts for said in look(cell.text)]
        if len({" ".join(said.split()) for _, said in hits}) == 1:
            found[column] = hits[0]
    return found


_UNITS = re.compile(
    r"\b(?P<of>mass(?:es)?|weigh(?:t|ts|ings)|volumes?|temperatures?|times)\b[^.;()]{0,45}?\s*[-–:,]?\s+"
    r"(?:(?:are|is|given|recorded|all|were|read)\s+)*in\s+(?:the\s+)?(?P<unit>°?\s?[^\W\d_]+|cm3|cm³)",
    re.IGNORECASE,
)


# "ALL WEIGHTS IN MILLIGRAMS - TEMPERATURES FAHRENHEIT", "Masses g, volumes mL"
_UNIT_NEXT = re.compile(
    r"\b(?P<of>masses|weights|volumes|temp(?:erature)?s|times)\.?\s*(?:[:=(–-]\s*)?"
    r"(?P<unit>°\s?[CF]|[^\W\d_]{1,12}|cm3|cm³)(?=\s*(?:\Z|[,;.)/|&–-]|and\b))",
    re.IGNORECASE,
)
_MEASURED = {"ma": "mass", "we": "mass", "vo": "volume", "te": "temperature", "ti": "time"}


_TITLE_WITH_UNIT = re.compile(
    r"\s*(?:all )?(?P<of>masses|weights|volumes|times)\s*\((?:all )?(?:in )?(?P<unit>\w+)\)\s*",
    re.I,
)


# "masses g, volumes mL, times min"
_UNIT_LIST = re.compile(
    r"\b(?P<of>masses|weights|volumes|times)\s+(?P<unit>mg|g|mL|L|cm3|cm³|min|h)\b(?=\s*(?:[,;.]|\Z))",
    re.I,
)


def units_said(texts: Sequence[str]) -> dict[str, str]:
    """Return the unit by dimension that texts state for the whole sheet ("All masses in mg").

    A dimension with two units is left out.
    """
    said: dict[str, set[str]] = {}
    for text in texts:
        if titled := _TITLE_WITH_UNIT.fullmatch(text):
            text = f"{titled['of']} in {titled['unit']}"
        listed = list(_UNIT_LIST.finditer(text))
        for match in (*_UNITS.finditer(text), *(listed if len(listed) > 1 else ())):
            unit = known_unit(match["unit"])
            dimension = dimension_of(unit) if unit is not None else None
            if unit is not None and dimension is not None:
                said.setdefault(dimension, set()).add(unit)
        for match in _UNIT_NEXT.finditer(text):
            meant = _MEASURED[match["of"][:2].casefold()]
            unit = known_unit(match["unit"], meant)
            if unit is not None and dimension_of(unit) == meant:
                said.setdefault(meant, set()).add(unit)
    return {dimension: units.pop() for dimension, units in said.items() if len(units) == 1}


def degrees_in(text: str) -> str:
    """Return the one temperature with its unit that a text names, empty for none or several."""
    found = {f"{m[1]} {m[2]}" for m in _DEGREES.finditer(text)}
    return found.pop() if len(found) == 1 else ""


def _parts(text: str) -> list[str]:
    return [p.strip() for p in _PARTS.split(text) if p.strip()]


def temperatures_in(text: str) -> list[str]:
    """Return the temperatures of water or lab that a sentence states, each with its unit."""
    return list(_temperatures(text))


def _temperatures(text: str) -> Iterator[str]:
    text = _SHORTENED.sub(r"\1", text)
    said = [s for s in re.split(r"[.;]\s|\n", text) if not FROM_A_BOOK.search(s)]
    parts = [p for s in said for p in _parts(s)]
    yield from (
        f"{m['number']} {m['unit']}"
        for p in parts
        if (m := _BARE_DEGREES.match(p)) and _ROOM_BEHIND.search(p[m.end() :])
    )
    bare = [m for p in parts if (m := _BARE_DEGREES.fullmatch(p))]
    yield from (f"{m['number']} {m['unit']}" for m in bare)
    for part in parts:
        plain = _PLAIN_DEGREES.search(part)
        if plain and re.search(
            r"\b(?:(?:whole )?class|everyone|everybody|all|room|lab|water)\b", part, re.I
        ):
            rest = part[: plain.start()] + " " + part[plain.end() :]
            if not (concepts_in(rest) & _NO_LAB or _OTHER_LAB.search(rest)):
                yield f"{plain[1]} degC"
        if not (_DEGREES.search(part) or _TEMPERATURE.search(part)):
            continue
        named = _TEMPERATURE.search(part)
        match = named or _DEGREES.search(part)
        if match is None or len(set(_DEGREES.findall(part))) > 1:
            continue
        rest = part[: match.start()] + " " + part[match.end() :]
        if concepts_in(rest) & _NO_LAB or _OTHER_LAB.search(rest) or _AMOUNT.search(rest):
            continue
        alone = not re.search(r"\w", rest) and not _OTHER_LAB.search(text)
        for_each = alone and _FOR_EACH.search(text) and not concepts_in(text) & _NO_LAB
        if named or for_each or _OF_THE_LAB.search(text if alone else rest):
            yield f"{match[1]} {match[2]}"


_NORMAL = re.compile(rf"({_NUMBER})\s*N\b")


def _strengths(text: str) -> Iterator[str]:
    if "hcl" in text.casefold():  # one proton: normality and molarity are the same
        yield from (f"{m[1]} M" for m in _NORMAL.finditer(text))
    for match in ACID_STRENGTH.finditer(text):
        around = normal(text[: match.start()] + " " + text[match.end() :])
        if any("acid" in keywords.concepts_of(word) for word in around.split()):
            yield f"{match['number']} {match['unit'].replace('N', 'M')}"


def _aliquots(text: str) -> Iterator[str]:
    for part in _parts(text):
        part = _WITH_ACID.sub(" ", _ACID_FIRST.sub(r"\1 ", part))
        part = _OF_FILTRATE.sub(r"\1 filtrate", _PORTIONS.sub("aliquots", part))
        volumes = _VOLUME.findall(part)
        said = concepts_in(_VOLUME.sub(" ", part))
        other = said & {"evaporation", "dish", "acid", "water", "fill"} or "total" in part
        if len(volumes) == 1 and said & {"aliquot", "filtrate"} and not other:
            yield f"{volumes[0][0]} {volumes[0][1]}"


def _evaporated(text: str) -> Iterator[str]:
    for part in _parts(text):
        volumes = _VOLUME.findall(part)
        said = concepts_in(_VOLUME.sub(" ", part))
        if len(volumes) == 1 and said & {"aliquot", "filtrate"} and said & {"evaporation", "dish"}:
            yield f"{volumes[0][0]} {volumes[0][1]}"


def _waters(text: str) -> Iterator[str]:
    """Yield the water every group took: "250 mL every time (5 fills of the 50 mL cylinder)"."""
    plain = _BRACKETS.sub(" ", text)  # "Water: 250 mL (one 250 mL cylinder) for every trial"
    for part in [*_parts(text), *(_parts(plain) if plain != text else ())]:
        volumes = _VOLUME.findall(part)
        said = concepts_in(_VOLUME.sub(" ", part))
        if len(volumes) > 1 and _FOR_ALL.search(part) and "water" in said:
            yield from (m[0] for m in _SUM.finditer(part))
        poured = _FILLS.search(part)
        spoken = "water" in said or (poured is not None and "fill" in said)
        if len(volumes) != 1 or not _FOR_ALL.search(part) or not spoken:
            continue
        if said & {"aliquot", "filtrate", "acid", "temperature", "dish", "heat", "mass"}:
            continue
        total, unit = volumes[0]
        if poured is not None and "water" not in said:
            yield f"{poured[1]} x {poured[2]} {unit}"
            continue
        poured = _FILLS.search(text)
        if poured and float(total) == int(poured[1]) * float(poured[2]):
            yield f"{poured[1]} x {poured[2]} {unit}"
        else:
            yield f"{total} {unit}"


def _durations(text: str, column: str) -> Iterator[str]:
    text = re.sub(r"\s*\([^()\d]*\)", "", text)  # "on the hot plate (low) for 20 min"
    beside = any(_STIRRER.match(p) and _DURATION.search(p) for p in _parts(text))
    for part in _parts(text):
        part = _AT_DEGREES.sub(" ", part)
        times = _DURATION.findall(part)
        told = _DONE.search(part) or (_FOR_ALL.search(text) and _VERB.search(part))
        named = beside and (_STIRRER.match(part) or _RESTED.match(part))
        if len(times) != 1 or not (told or named) or len(part) > 60:
            continue
        words = words_of(normal(_DURATION.sub(" ", part)))
        if keywords.match([*words, "min"], "time") == [column]:
            yield f"{times[0][0]} {times[0][1]}"


# "N = Nutsche, T = Trichter" explains codes and says how nobody did it.
_KEY = re.compile(
    r"(?:\A|[,;.]\s+|[,;.])\s*\S{1,4}\s*(?:=|\s[–-]\s)(?!\s*[\d~≈])|[^\W\d]\s*=\s*[^\W\d][^=]*=\s*[^\W\d]"
)


# "Everyone used gravity. Y = you can see the beam": the key is of something else.
_SENTENCES = re.compile(r"(?<=[.!])\s+")
_EXPLAINS = re.compile(r"=|(?<!\w)\w{1,4}\s[–-]\s")
# "Gravity, because the pump was broken"
_REASON = re.compile(r"\b(?:because|since|weil|parce qu|porque|perché)[^.;]*", re.IGNORECASE)


# "Buchners in use by Year 12, so gravity": why, and then what everybody did.
_SO = re.compile(
    r"[,;–-]\s*(?:so|therefore|hence)\s*:?,?\s+(?:(?:it|this|that|was|all|we|they|every\w*|class|"
    r"the|whole|had|to|use[ds]?|did|filtered|with|by|on|just|only|only just|plain|ordinary)\s+)*"
    r"(?P<how>gravity|vac(?:uum)?|b(?:ü|u|ue)chners?|suction)"
    r"(?:\s+(?:filt\w+|funnels?|only|for|all|every\w*|this|time|today|throughout|again|instead|"
    r"groups|benches))*\s*(?=[.;!)]|\Z)",
    re.IGNORECASE,
)
_EVERYBODY = re.compile(
    r"\b(?:every(?:one|body)|all|alle|alla|tous|toutes|todos|tutti|wszyscy|kaikki|herkes|všichni)\b",
    re.IGNORECASE,
)


def _filtrations(text: str) -> Iterator[str]:
    if (so := _SO.search(text)) is not None:
        yield from filter(None, [choice(so["how"], quantity("filtration"))[0]])
        return
    if _KEY.search(text):
        text = " ".join(s for s in _SENTENCES.split(text) if not _EXPLAINS.search(s))
    told = _FILTERED.search(text) or (_ALL_SO.search(text) and not _NOT_ALL_SO.search(text))
    if not told or _KEY.search(text):
        return
    for part in _parts(_REASON.sub(" ", text)):
        if not HOW.search(part) or _NOT.search(part):
            continue
        word, _ = choice(part, quantity("filtration"))
        if word is None and _EVERYBODY.search(part) and not _NOT_ALL_SO.search(part):
            word = _way_named(part)
        if word is not None:
            yield word


def _way_named(text: str) -> str | None:
    """Return the one way of filtering that the words of a text name, ``None`` for none or both."""
    ways = [word for word in re.findall(r"[^\W\d_]{3,}", text) if HOW.search(word)]
    named = {choice(word, quantity("filtration"))[0] for word in ways}
    return named.pop() if len(named) == 1 else None
