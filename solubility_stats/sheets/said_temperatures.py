"""How warm it was, as the sentences around a table say: of water or lab, and not of a book."""

from __future__ import annotations

import re
from collections.abc import Iterator

from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.places import CLASS_WORDS, SECTION_WORDS
from solubility_stats.sheets.sentence_parts import NUMBER, parts_of

_SHORTENED = re.compile(r"\b(temp|approx|ca|vol|conc)\.(?=\s)", re.IGNORECASE)
_DEGREES = re.compile(
    rf"({NUMBER})\s*(°\s*[CF]\b|º\s*[CF]\b|deg(?:rees)?\.?\s*[CF]\w*|celsius|fahrenheit)",
    re.IGNORECASE,
)
# "Ofentemperatur", "droogtemperatuur", "ugnstemperatur"
_OF_A_HEATER = (
    r"\w*(?:ofen|oven|ovn|ugn|droog|tro[ck]|tork|tørk|koch|kook|siede|schmelz|smelt|platt?e)"
)
# "Room temp 22.5 C today": after a word for temperature a bare letter is enough.
_TEMPERATURE = re.compile(
    rf"\b(?:(?!{_OF_A_HEATER})\w{{0,12}}temp\w*\.?|suhu|lämpötil\w+|teplot\w+|sıcaklı\w+|T|bath|thermometer|"
    rf"(?:water|room|lab|everything|mixtures?|suspensions?|beakers?) (?:was|were|is|at|"
    rf"reads?|showed|stayed)|(?:water|room|lab|tank|carboy|mixtures?|suspensions?)(?=[\s:=]{{1,3}}\d\d(?:[.,]\d)?\s*C\b))"
    rf"(?![^\W_])[^\d;.]{{0,40}}?({NUMBER})\s*"
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
    r"\A\s+(?:(?:in|for|at)\s+(?:the\s+)?(?:room|lab|water|all|every\w*)\b|"
    r"(?:all (?:day|morning|afternoon|lesson|week|period)|throughout)\Z)",
    re.IGNORECASE,
)
# What the thermometer was in, or who it holds for.
_OF_THE_LAB = re.compile(
    r"\b(?:whole|entire|filter(?:ed|ing)|"
    r"water|eau|wasser|acqua|agua|água|aigua|lab|room|thermometers?|carboy|tank|this time|"
    r"mixtures?|suspensions?|"
    r"solution|bath|ambient|all|every\w*|today|raum|(?:wasser|raum|labor)temperatur|für alle|"
    r"pour tous|para todos|salle|vattn\w+|vatten|vand\w*|vann\w*|wod[ay]|veden|vesi|suyun|"
    r"c[ao]me to|equilibrat\w+|vod[ay]|kaikki|herkes|všichni|laborator\w+)\b",
    re.IGNORECASE,
)
# "Two trials each, vacuum filtration, 21.5 °C": a title that says how everybody did it.
_FOR_EACH = re.compile(
    r"\b(?:each|trials?|vacuum|gravity|suction|b(?:ü|u|ue)chner)\b", re.IGNORECASE
)
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


# What the lab had, where the water or the mixture was measured as well.
_ROOM = re.compile(
    r"\b(?:room|lab|air|ambient|raum\w*|zimmer\w*|pi[èe]ce|salle|ambiente?|sala|aula|aire|lokal|rum\w*|"
    r"kamer\w*|lokaal|pokoj\w*|pomieszczen\w*|sali|oda|huone\w*|místnost\w*)\b",
    re.IGNORECASE,
)
_WET = re.compile(
    r"wat(?:er|ten)|wasser|eau\b|agua|água|acqua|vand|vann\b|woda|wody|bath|mix|susp|solution|filtrat|"
    r"lösung|liquid|beaker|flask",
    re.IGNORECASE,
)


def of_room(text: str) -> bool:
    """Tell whether a temperature is that of the room, and not of water or solution."""
    text = text.replace("_", " ")
    return _ROOM.search(text) is not None and _WET.search(text) is None


def degrees_in(text: str) -> str:
    """Return the one temperature with its unit that a text names, empty for none or several."""
    found = {f"{m[1]} {m[2]}" for m in _DEGREES.finditer(text)}
    return found.pop() if len(found) == 1 else ""


def temperatures_in(text: str) -> list[str]:
    """Return the temperatures of water or lab that a sentence states, each with its unit."""
    return list(temperatures(text))


# Two in the range of a lab, of which only one is understood: "Monday 71 F, Wednesday 70 F".
_ANY_DEGREES = re.compile(
    r"(?<![\w.,])(?:(?P<c>(?:1[5-9]|2\d|3[0-5])(?:[.,]\d+)?)\s*(?:°\s*|º\s*|deg\w*\s*)?C"
    r"|(?P<f>[5-9]\d(?:[.,]\d+)?)\s*(?:°\s*|º\s*|deg\w*\s*)?F)\b"
)
# Degrees rounded and converted may differ by so much (judgement).
_SAME_DEGREES = 0.4


_FILTRATE_AT = re.compile(r"\bfiltrate (?:was |is )?(?:at|:)", re.IGNORECASE)


def temperatures(text: str) -> Iterator[str]:
    """Yield the temperatures of water or lab that a text states, each with its unit.

    None if it names several, as for several days.
    """
    told = [p for p in _parts_said(text) if _ANY_DEGREES.search(p)]
    wet = [p for p in told if _WET.search(p)]
    if wet and any(map(of_room, told)):
        text = _FILTRATE_AT.sub(
            "water at", "; ".join(wet)
        )  # "Air in lab 23.5 °C, water from the carboy 20.5 °C"
    found = list(_temperatures(text))
    parts = [p for p in _parts_said(text) if not _OTHER_LAB.search(p)]
    named = [
        float(m["c"].replace(",", ".")) if m["c"] else (float(m["f"].replace(",", ".")) - 32) / 1.8
        for p in parts
        for m in _ANY_DEGREES.finditer(p)
    ]
    if not named or max(named) - min(named) <= _SAME_DEGREES:
        yield from found


_UNIT = r"(?:°\s*|º\s*|deg(?:rees)?\.?\s*)?[CF]\b"
# "Water was 21.0 C (014) and 22.5 C (017)"; "Monday 71 F, Wednesday 70 F"
_BY_SECTION = (
    re.compile(
        rf"(?P<said>{NUMBER}\s*{_UNIT})\s*\(\s*(?:for |in |on )?(?P<code>[^()]{{1,20}}?)\s*\)"
    ),
    re.compile(
        rf"(?:(?:{SECTION_WORDS}|{CLASS_WORDS}|group|on)\s+)?(?P<code>[^\W_]\w{{0,9}})\s*[:=]?\s*"
        rf"(?P<said>{NUMBER}\s*{_UNIT})",
        re.IGNORECASE,
    ),
)
_SECTION_WORD = re.compile(rf"(?:{SECTION_WORDS}|{CLASS_WORDS}|lab)\s+", re.IGNORECASE)


def temperatures_by_section(text: str) -> dict[str, str]:
    """Return the temperatures that a text states for several sections, by the code of each.

    Nothing unless every temperature in the text has a section of its own.
    """
    degrees = re.findall(rf"{NUMBER}\s*{_UNIT}", text)
    if len(degrees) < _SEVERAL or _OTHER_LAB.search(text):
        return {}
    for pattern in _BY_SECTION:
        found = {
            _SECTION_WORD.sub("", m["code"]).casefold(): m["said"] for m in pattern.finditer(text)
        }
        if len(found) == len(degrees):
            return found
    return {}


_SEVERAL = 2


def _parts_said(text: str) -> list[str]:
    """Return the parts of the sentences of a text that quote no book."""
    said = [s for s in re.split(r"[.;]\s|\n", text) if not FROM_A_BOOK.search(s)]
    return [p for s in said for p in parts_of(s)]


# "Water (and room) at 22.5 °C"
_AND_ROOM = re.compile(r"\s*\((?:and|und|et|y|e|en|och|og) [^()\d]{1,20}\)", re.IGNORECASE)


# "mixtures kept at 40 °C on the hot plate"
_KEPT_AT = re.compile(
    rf"\b(?:mixtures?|suspensions?|slurr(?:y|ies)) (?:(?:was|were|all) )*"
    rf"(?:kept|held|stirred|filtered) at ({NUMBER})\s*(°\s*[CF]\b|[CF]\b)",
    re.IGNORECASE,
)


def _temperatures(text: str) -> Iterator[str]:
    text = _AND_ROOM.sub("", _SHORTENED.sub(r"\1", text))
    parts = _parts_said(text)
    yield from (
        f"{m['number']} {m['unit']}"
        for p in parts
        if (m := _BARE_DEGREES.match(p)) and _ROOM_BEHIND.search(p[m.end() :])
    )
    yield from (f"{m[1]} {m[2]}" for p in parts for m in _KEPT_AT.finditer(p))
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
