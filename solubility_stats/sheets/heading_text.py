"""The text of a heading before anybody asks what it means: made plain, its number apart."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from solubility_stats.quantities import FILL, QUANTITIES, quantity

_MARKS = re.compile(r"[*†‡§?¿¡:!;=\"]+")
_JOINERS = re.compile(r"[_\-–—/.,|()\[\]{}]+")


# "Q2 - Mass …", "3) Mass …", "3. Mass of …": the number of a question says nothing. "3. fill" and
# "2. Wägung" are counted, so a number with a full stop needs an English phrase behind it.
_COUNTED = (
    "fill|pour|portion|addition|cyl|reading|weighing|trial|run|füll|zyl|wäg|mess|versuch|essai|"
    "measur|pes|prova|prueba|portie|probeta|éprouvette|ajout|aggiunta|water|vol|trock|séch|sech|"
    "seca|essic|asciug|droog|susz|waż|tork|tør|vej|väg|veiing|weging|sušen|vysuš|váž|kuiv|punnit|"
    "kurut|tart|mezür|mittal|válec|odměr|mät|mål|maat|cilin|menzur|rempl|llenad|enchim|vulling|"
    "påfyll|täyttö|dolum"
)
_PHRASE = "temperature|of|the|what|how|your|you|total|initial|final|before|after"
_ITEM = re.compile(
    r"\A\s*(?:(?:weighing|item)\s*\d{1,2}\s*[.)–-]?\s+(?=\w+ \w)"
    r"|(?:step|schritt|étape|etape|paso|passo|passaggio|stap|steg|trin|krok)\s*\d{1,2}[a-d]?\s*"
    r"[.):–-]?\s+(?=(?:\d{1,2}\S{0,3}\s)?[^\W\d]{2})"
    r"|\(?(?:[a-z]|i{1,3}|iv|vi{0,3})\)\s+"
    r"|q(?:uestion)?\s*\d{1,2}[a-z]?\b[\s.:)–-]*|\d{1,2}\)\s*"
    rf"|\d{{1,2}}\.\s+(?!(?:{_COUNTED})\w*\b)(?=(?:\w+ )*(?:{_PHRASE})\b)"
    rf"|\d{{1,2}}\.\s+(?!(?:{_COUNTED}))(?=[^\W\d]+,? [^\W\d]{{2,}})"
    r"|\d{1,2}[a-h][.)]\s+(?=\w+,? \w)"
    r"|\d{1,2}\.\s+(?=.*\b(?:first|second|third|1st|2nd|3rd)\b)"
    r"|\d{1,2}\.\s+(?=.*\b(?:fill|cylinder|pour|portion)\s+(?:no\.?\s*)?[a-d\d]\b)"
    r"|\d{1,2}\.\s+(?=[^\W\d]+ \+ [^\W\d]{2,}))(?=\w)"
)


# "InitialMass", "paperPlusDrySolid", "weighedToConstant", but "CaCl" and "mL" are whole.
_CAMEL = re.compile(r"(?<=[a-z]{2})(?=[A-Z][a-z]+)|(?<=[a-z])(?=[A-Z][a-z]{2})")


# "Mass ± 0.01 g" states the unit; "(example: 200)" states nothing.
_TOLERANCE = re.compile(r"\(?\s*(?:±|\+\s?/\s?[-−–])\s*\d+(?:[.,]\d+)?\s*([^\s()\d]*)\s*\)?")
_EXAMPLE = re.compile(
    r"[(\[]\s*(?:e\.?\s?g\.?|for example|example|ex\.?|z\.\s?b\.)\W[^)\]]*[)\]]", re.I
)


# A form puts the question of a block before each of its parts ("Your masses: - grams of solid").
_BLOCK = re.compile(r"\A.{8,}?:\s+[-–]\s+(?=\w)", re.DOTALL)


# "0.0500 M HCl used (mL)" states the concentration, which is read elsewhere.
ACID_STRENGTH = re.compile(
    r"(?<![\w.,])(?P<number>\d*[.,]\d+|\d+)\s*-?\s*(?P<unit>mM|M|N(?=\s*HCl)|m?mol\s*/\s*(?:L|l|dm\^?[3³])|m?mol\s*(?:L|dm)\S?[-−⁻]\S)"
    r"(?![\w/])"
)


# "10.00 mL evap: dish (g)" states the aliquot, which is read elsewhere.
EVAPORATED = re.compile(
    r"(?<![\w.,])(?P<volume>\d+(?:[.,]\d+)?\s*(?:mL|ml|cm3|cm³))\s+"
    r"(?:(?:of\s+)?(?:the\s+)?filtrate\s+)?evap\w*\b",
)


# "(leave blank if three were enough)" tells the student what to do.
_INSTRUCTION = re.compile(
    r"[(\[]\s*(?:write|show|give|list|enter|note|record|use|round|one per|leave|if|"
    r"tell|mark|tick|circle|check|select|delete|only if|"
    r"skip|put|type|choose|pick|ignore|please|see|ask|remember|don't|do not)\b[^)\]]*[)\]]"
    r"|(?<=[.?!])\s+(?:write|show|give|enter|use|round|leave|"
    r"if(?! (?:yes|so),? (?:what|how))|only|skip|put|type|ignore|please|"
    r"include|don't|do not)\b.*\Z"
    r"|\s*[,;–-]\s*(?:separated (?:by|with)|in order|one after)\b.*\Z"
    r"|\s*[,;–-]\s*(?:(?:please )?(?:leave|write|put|enter|type|skip)(?: it|"
    r" this)? (?:\w+ ){0,2}(?:if|blank|empty)\b|"
    r"if (?:any|used|needed|you)\b|only if\b|optional\b).*\Z",
    re.IGNORECASE,
)


# "(not the oven)" says what is not meant; "(not dissolved)" says what is.
_NOT_MEANT = re.compile(
    r"[(\[][^()\[\]]*\bnot\b(?!\s+(?:been\s+)?(?:dissol|dry|dried|incl|wash|rins|with))[^()\[\]]*[)\]]",
    re.IGNORECASE,
)


# "Deionised water /cm3 (3 lots of 50)" says how the total came about.
POURED = re.compile(
    r"[(\[]\s*(?P<count>\d{1,2})\s*(?:x|×|\*|(?:lots?|fills?|portions?|pours?|times)(?:\s+of)?)\s*"
    r"(?P<each>\d+(?:[.,]\d+)?)\s*(?:mL|ml|cm3|cm³)?(?:\s+each)?\s*[)\]]"
)
# "Mass of dried solid (8 – 7)": lines of the form, and no numbers of anything.
_LINE = r"(?:(?:line|row|step|item|#)\s*)?(?:[A-Ha-h]|\d{1,2})"
_LINES = re.compile(rf"[(\[]\s*(?:=\s*)?{_LINE}\s*[-−–+÷/x×*]\s*{_LINE}\s*[)\]]")
_ARITHMETIC = re.compile(r"\s[-−–+×÷*/]\s|\bminus\b|\bplus\b")
# "filter: V or G", "Filtered (S or G)?": the answers say that the question is how.
_VACUUM_OR_GRAVITY = re.compile(r"(?<=\w)\W+\b(?:[VS]\s*(?:or|/|,)\s*G|G\s*(?:or|/|,)\s*[VS])\b")
_AS_CLOCK = re.compile(
    r"[(\[]?(?<![^\W_])h{1,2}\s?:\s?m{1,3}(?:in)?(?![^\W_])[)\]]?", re.IGNORECASE
)
_UNIT_OF_WATER = re.compile(r"\((mL|ml|cm3|cm³|L)\s+(?:of\s+)?(?:water|h2o)\)", re.IGNORECASE)


_QUESTION_ID = re.compile(r"\A\s*\d{5,}\s*:\s+(?=\S)")  # surveys put it before each question
# "If yes: mass of the filter paper (g)" is about the paper of those who say yes.
_IF_SO = re.compile(r"\A\s*if (?:yes|so|it was|you did|applicable)\s*[,:–-]\s*", re.IGNORECASE)


# "Filter paper + residue, day 2 (g)" says when it was weighed.
_ON_DAY = re.compile(
    r"(?<=\w)(?P<before>(?<!\d)[^+]*\+.*?),?\s*\(?(?:day|lesson|week|session)\s?[1-4]\)?(?=\s*(?:[(/\[]|\Z))",
    re.IGNORECASE,
)


def without_asides(text: str) -> str:
    """Return a heading without its example and with the unit of its tolerance in brackets."""
    text = _AS_CLOCK.sub(" ", text)
    text = _VACUUM_OR_GRAVITY.sub(" method", _LINES.sub(" ", text))
    text = _UNIT_OF_WATER.sub(r" water (\1)", POURED.sub(" ", _without_formula(text)))
    text = _ON_DAY.sub(r"\g<before>", text)
    text = _NOT_MEANT.sub(" ", _INSTRUCTION.sub(" ", text))
    text = _IF_SO.sub("", _QUESTION_ID.sub("", text))
    text = EVAPORATED.sub(" ", ACID_STRENGTH.sub(" ", _BLOCK.sub("", text)))
    text = _TOLERANCE.sub(lambda m: f" ({m[1]})" if m[1] else " ", _EXAMPLE.sub(" ", text))
    return " ".join(text.split())


# "1° cilindro", "2.ª pesada"
_NTH_SIGN = re.compile(r"(?<=\d)(?:\s?[°º]\s+|\.\s?[ªº]\s*)(?=[^\W\d_]{3})")
_NUMBER_SIGN = re.compile(r"(?<![^\W_])[nN][.\s]?[º°ᵒ](?![^\W_])|(?<![^\W_])[nN]\.\s?(?=\d)|№")


def _without_formula(text: str) -> str:
    """Return what "boat + lime minus boat = lime used /g" comes to: "lime used /g"."""
    sides = text.split("=")
    formulas = [bool(_ARITHMETIC.search(side)) for side in sides]
    return sides[formulas.index(False)] if len(sides) == 2 and sum(formulas) == 1 else text


# "Massa seca s/ papel", "peso c/ filtro"
_WITH_OR_WITHOUT = re.compile(
    r"(?<![\w/])([cs])/\s*(?=(?:papel|papier|carta|filtr|sól|cáps|recip|o\b|a\b)\w*)"
)


def normal(text: str) -> str:
    """Return a heading in lower case, look-alikes and punctuation made plain."""
    text = _NTH_SIGN.sub(" ", _NUMBER_SIGN.sub(" no ", text))
    text = _CAMEL.sub(" ", unicodedata.normalize("NFKC", text)).casefold().replace("’", "'")
    text = text.replace("ı", "i").replace("i\u0307", "i")  # Turkish, with and without its dot
    text = _MARKS.sub(" ", text).replace("#", " no ")
    text = re.sub(r"\bw/o\b", "without ", _ITEM.sub("", text))
    text = re.sub(r"\bw/(?=\s*\w)", "with ", re.sub(r"\bb4\b", "before", text))
    text = _WITH_OR_WITHOUT.sub(lambda m: "sem " if m[1] == "s" else "com ", text)
    text = text.replace("±", " uncertainty ").replace("δ", " difference ")
    return " ".join(_JOINERS.sub(" ", text).split())


# Symbols as people type them, besides the headings of the vocabulary.
SYMBOLS = {
    "mi": "initial_mass_g", "m i": "initial_mass_g", "m in": "initial_mass_g",
    "m out": "recovered_mass_g", "mass in": "initial_mass_g", "mass out": "recovered_mass_g",
    "v aliq": "aliquot_ml", "b g": "filtration", "g b": "filtration",
    "mf": "recovered_mass_g",
    "m f": "recovered_mass_g", "vtot": "water_volume_ml", "v tot": "water_volume_ml",
    "v h2o": "water_volume_ml", "h2o": "water_volume_ml", "v water": "water_volume_ml",
    "vwater": "water_volume_ml", "tlab": "temperature_c", "t lab": "temperature_c",
    "twater": "temperature_c", "t water": "temperature_c", "v w": "water_volume_ml",
    "vw": "water_volume_ml", "v aliquot": "aliquot_ml", "v al": "aliquot_ml",
    "valiquot": "aliquot_ml", "v hcl": "titrant_ml", "vhcl": "titrant_ml",
    "c hcl": "titrant_mol_per_l", "m hcl": "titrant_mol_per_l", "chcl": "titrant_mol_per_l",
    "tut group": "group", "tutorial group": "group",  # and a section, where groups stand beside it
    "s reported": "reported_solubility", "s rep": "reported_solubility",
    "our s": "reported_solubility", "my s": "reported_solubility",
    "t mix": "temperature_c", "t mixture": "temperature_c", "t solution": "temperature_c",
    "t bath": "temperature_c", "t filtrate": "temperature_c", "t room": "temperature_c",
    "v g": "filtration", "g v": "filtration", "θ": "temperature_c", "ϑ": "temperature_c",
}  # fmt: skip


@lru_cache(maxsize=1)
def vocabulary() -> dict[str, tuple[str, ...]]:
    """Return the columns each known heading may mean, by the plain text of the heading."""
    found: dict[str, list[str]] = {words: [column] for words, column in SYMBOLS.items()}
    for entry in QUANTITIES:
        for heading in (*entry.headings, entry.name):
            found.setdefault(normal(heading), []).append(entry.name)
    return {words: tuple(dict.fromkeys(columns)) for words, columns in found.items()}


@lru_cache(maxsize=1)
def fill_words() -> frozenset[str]:
    """Return the words that mean a fill if a number stands with them."""
    of_water = [h for h in quantity("water_volume_ml").headings if "total" not in h]
    words = {normal(h) for h in (*FILL.headings, *of_water)} | {"fill ml", "v", "vol", "vfill"}
    return frozenset(words | {singular(w) for w in words})


@lru_cache(maxsize=1)
def pour_words() -> frozenset[str]:
    """Return the words that mean a fill even without a number."""
    return frozenset(normal(h) for h in FILL.headings) - set(vocabulary())


def singular(text: str) -> str:
    """Return the words of a text without the "s" of the plural."""
    return " ".join(w[:-1] if len(w) > 3 and w.endswith("s") else w for w in text.split())


_NTH = {
    "1": "first erste erster erstes ersten premier première primer primero primera primo prima "
         "primeiro primeira eerste första første pierwszy pierwsza pierwsze birinci ensimmäinen "
         "první",
    "2": "second zweite zweiter zweites zweiten deuxième segundo segunda secondo seconda tweede "
         "andra anden andet andre drugi druga drugie ikinci toinen druhý druhá druhé",
    "3": "third dritte dritter drittes dritten troisième tercer tercero tercera terzo terza "
         "terceiro terceira derde tredje trzeci trzecia trzecie üçüncü kolmas třetí",
    "4": "fourth vierte vierter viertes vierten quatrième cuarto cuarta quarto quarta vierde "
         "fjärde fjerde czwarty czwarta czwarte dördüncü neljäs čtvrtý čtvrtá čtvrté",
    "5": "fifth fünfte fünfter cinquième quinto quinta vijfde femte piąty piąta beşinci "
         "viides pátý",
    "6": "sixth sechste sechster sixième sexto sexta zesde sjätte sjette szósty szósta "
         "altinci kuudes šestý",
}  # fmt: skip
ORDINALS = {word: number for number, words in _NTH.items() for word in words.split()}
_COUNTS = {"one": "1", "two": "2", "three": "3", "four": "4", "five": "5", "six": "6"}
# "Eau versée, 1re fois": the first fill of several.
_POURED_AGAIN = re.compile(
    r"\A(?=.*\b(?:eau|water|wasser|agua|água|acqua|vatten|vand|vann|wod[ay]|vod[ay]|maatcilinder|"
    r"messzylinder|probeta|proveta|éprouvette|cilindro|mätglas|måleglas|målesylinder|cylinder)\b)(.*?)"
    r"\s*\b(\d)(?:re|er|ère|e|ème|a|st|nd|rd|th)? (?:fois|vez|volta|mal|keer|gang|gången|raz)"
    r"(?: (?:gevuld|gefüllt|rempli\w*|llen\w+|enchid\w+|riempit\w+|fylt|fyllt|fyldt))?\Z"
)
# "First 100 (mL)": the size of the cylinder says nothing.
_SIZE = re.compile(r"(?<!\S)(?:[2-9]\d|\d{3,4})(?:\s?ml)?(?!\S)")
_COUNTED_OUT = re.compile(rf"\b(fill|pour|portion|addition|cylinder) ({'|'.join(_COUNTS)})\Z")
_LETTERED = re.compile(
    r"(?:(?:water|h2o) )?(fill|pour|portion|addition|cylinder|cylinder fill|cyl|cyl fill|"
    r"cylinder reading|water|h2o|h2o vol|vol h2o|vol|volume|water vol|water volume|"
    r"volume of water|water fill|"
    r"water portion|portion of water) "
    r"([a-h])"
)
_NUMBER_LAST = re.compile(r"(.*?[^\W\d])\s*(?:\b(?:no|nr|num|number|n°)\b)?\s*0?(\d{1,2})\Z")
_NUMBER_FIRST = re.compile(r"(\d{1,2})\s*(?:st|nd|rd|th|er|re|ère|e|ème|ª|º|a)?\s+(.+)\Z")
_ORDINAL_LAST = re.compile(r"(.+?)\s+(\d{1,2})\s*(?:st|nd|rd|th|er|e|ème)\Z")


_ROMAN_LAST = re.compile(r"(?<=\w)\s(i{1,3}|iv)\Z")


def without_size(words: str) -> str:
    """Return words without the size of a cylinder: "1st 50" is the first fill."""
    return _SIZE.sub(" ", words).strip()


def numbered(words: str) -> tuple[str, str]:
    """Split "vol 2", "2nd fill", "third pour" into the words and the number."""
    words = _ROMAN_LAST.sub(lambda m: f" {_ROMAN[m[1]]}", words)
    words = without_size(re.sub(r"\bof \d{1,2}\b", "", words))
    words = " ".join(ORDINALS.get(w, w) for w in words.split())
    words = _POURED_AGAIN.sub(r"\1 \2", words)
    words = _COUNTED_OUT.sub(lambda m: f"{m[1]} {_COUNTS[m[2]]}", words)
    lettered = _LETTERED.fullmatch(words)
    if lettered:
        return lettered[1], str(ord(lettered[2]) - ord("a") + 1)
    for pattern, (text, number) in ((_ORDINAL_LAST, (1, 2)), (_NUMBER_LAST, (1, 2)),
                                    (_NUMBER_FIRST, (2, 1))):  # fmt: skip
        if found := pattern.fullmatch(words):
            return found[text].strip(), str(int(found[number]))
    return words, ""


_FORMULAS = re.compile(
    r"\b(?:ca|mg|ba|na|k)\s*oh(?:\s*2)?\b|\bh\s*2\s*o\b"
    r"|\b\d+\s*(?:more )?(?:ml|l|g|min|mins|minutes|h|hrs?|hours?|°c)\b"
    r"|\b(?:sum|total) of \d+\b"
    r"|(?<=\bdry )(?:wt|weight|mass|residue|solid) (?:no )?2\Z"
    r"|\b[12]\w{0,3} (?=(?:trock|dry|susz|séch|sech|seca|torr|tork|tør|essic|asciug|droog|drog|wäg|"
    r"pesé|pesad|pesat|pesag|waż|weigh|weging|vej|väg|veiing|kurut|tart|sušen|vysuš|usuš|váž|kuiva|"
    r"punnit)\w*)"  # see phrases: "2. Wägung"
)


# Without V, which is a volume.
_ROMAN = {"i": "1", "ii": "2", "iii": "3", "iv": "4", "vi": "6"}


# "2nd", "3.", "no. 2", Swedish "1:a", French "1er" and "2e"
_NTH_MARKS = re.compile(
    r"[\s.°ºª()#]|\bno\b|st\b|nd\b|rd\b|th\b|(?<=\d):?(?:er|re|ère|e|ème|eme|de)\b|(?<=\d):a\b"
)


def counted(text: str) -> str:
    """Return the number of a text that only counts ("II", "2°", "3.", "no. 2"), else the text."""
    plain = re.sub(_NTH_MARKS, "", text.casefold())
    number = _ROMAN.get(plain, plain)
    return number if number.isdigit() and len(number) < 3 else text.strip()


def counted_by(text: str) -> str:
    """Return the number of a text that only counts, in digits or as a word ("First"), else ""."""
    number = counted(plain_ordinals(text.strip().casefold()))
    return str(int(number)) if number.isdigit() else ""


def plain_ordinals(words: str) -> str:
    """Return words with "2nd" and "second" made numbers."""
    words = re.sub(r"\b(\d{1,2})(?:st|nd|rd|th|er|re|ère|e|ème|ª|º|a)\b", r"\1", words)
    return " ".join(ORDINALS.get(w, w) for w in words.split())


def lone_number(words: str) -> str:
    """Return a number that stands by itself in a heading ("water vol no 1"), else nothing."""
    found = re.findall(r"(?<!\S)(\d{1,2})(?!\S)", _FORMULAS.sub(" ", words))
    return str(int(found[0])) if found else ""


# A unit of solubility after a heading; it is kept as written with the reported value.
RATIO = re.compile(
    r"[(\[/,]?\s*\b(?:m?mol|mg|k?g|gms?|grams?)\s*(?:/|per|·)?\s*(?:100\s*)?"
    r"(?:(?:dm|cm)\s?\^?\s?[-−–⁻]\s?[3³]"
    r"|(?:k?g|m?l|lit(?:(?:er|re)s?|\.)?|dm\^?[3³]|cm\^?[3³])(?:\s*(?:\^\s*)?[-−–]\s*1|⁻¹)?)"
    r"(?:\s+(?:of\s+)?water)?\s*[)\]]?\s*\Z",
    re.IGNORECASE,
)
_RATIO_APART = re.compile(
    r"\b(m?g|m?mol|grams?)\s+dissolved\s*(?:/|per|in)\s*((?:100\s*)?(?:m?l|g|dm3|cm3)\b)",
    re.IGNORECASE,
)


def with_ratio_joined(text: str) -> str:
    """Return "dissolved (g/100 mL)" for "g dissolved /100 mL", any other heading as it is."""
    return _RATIO_APART.sub(r"dissolved (\1/\2)", text)


TEMPERATURE = re.compile(r"(?<![\w/°])T(?![\w'’])(?!\s*[/(\[=])")
# "Solid in (g)" beside "solid out (g)"; in "solid in g" the unit is gone already.
GOES_IN = re.compile(r"\b(?:dry )?(mass|weight|wt|solid|lime|powder) in\Z")
# Plurals that are no plural of a heading of ours.
PEOPLE = frozenset({"initials", "your initials", "student initials", "ta initials"})
CONCENTRATION = re.compile(r"\[\s*(hcl|acid|titrant)\s*\]", re.IGNORECASE)
