"""Headings that say what they are by their form, before anybody looks at their words.

"g/L from weighing", "filter V/G" and "Dried to constant mass? (y/n)" would be misread word by word.
"""

from __future__ import annotations

import re

from solubility_stats.sheets.heading_text import CONCENTRATION, RATIO

_RATIO = RATIO.pattern.removesuffix(r"\Z")
ONLY_RATIO = re.compile(rf"\s*(?:{_RATIO})", re.IGNORECASE)

_OWNER = r"(?:our|your|their|ur|(?:group|team|student|pair)s?['’]?s?['’]?)"
_MENTIONS = (
    # "S, g/L (group's own)": whose it is.
    (re.compile(rf"\(\s*(?:the\s+)?{_OWNER}(?:\s+own)?\s*\)|\(\s*own\s*\)", re.IGNORECASE), " "),
    # "Room temp on the day": no unit; "Solubility by method 1": the one this heading is about.
    (re.compile(r"\bon (?:the|that) day\b"), " "),
    (
        re.compile(
            r"(?<=y)\s+(?:by|from|with|using)\s+(?:the\s+)?"
            r"(?:[Mm]ethod|[Pp]art|[Tt]able) (?:1|one|A)\b"
        ),
        " ",
    ),
    (CONCENTRATION, r"conc \1 "),
    # "paper + cake, dry (45 min)": how long is no unit either.
    (re.compile(r"(?<=\w)\s*[(\[]\s*\d+\s*(?:min(?:utes?)?|h|hours?|hrs?)\s*[)\]]"), " "),
    # "time in oven (60 degrees)"
    (
        re.compile(
            r"(\b(?:oven|étuve|estufa|stufa|ofen|dr(?:y|ied|ying))\b[^()]{0,12})"
            r"[(\[]\s*\d{2,3}\s*(?:°|º|deg\w*)\s*[CF]?\s*[)\]]",
            re.IGNORECASE,
        ),
        r"\1",
    ),
    # "Trocknen bei 80 °C" over "min": how hot it was is no unit.
    (
        re.compile(
            r"\b((?:dr(?:y|ied|ying)|heat\w*|oven|(?:ge)?trock\w*|séch\w*|sec(?:ad|ag)\w*|"
            r"ess?icc\w*|asciug\w*|gedroogd|drogen|tork\w*|tør[kr]\w*|susz\w*|suš\w*)[^()\d]{0,25}?)"
            r"\s(?:at|bei|à|a|op|vid|ved|w|przy|při)\s+\d{2,3}\s*(?:°|º|deg\w*)?\s*[CF]\b",
            re.IGNORECASE,
        ),
        r"\1",
    ),
    # "Wasser 1. Zylinderfüllung"
    (re.compile(r"\b[Ww]asser[,:]?\s+(?=\d\.\s?\w*[Ff]üllung)"), ""),
    # "HCl needed to titrate your 25.00 mL aliquot of filtrate": the volume meant is the acid's.
    (
        re.compile(
            r"\b(?:für|for|pour|para|per|voor|för|til)\s+(?:je\s+|each\s+)?\d+(?:[.,]\d+)?\s*"
            r"(?:mL|ml|cm3|cm³)\s+(?:(?:of|de|di|del|des|du)\s+)?(?:(?:the|your)\s+)?"
            r"(?:filtra\w*|lime\s?water)"
            r"|(?<=\btitre )(?:of|for)\s+\d+(?:[.,]\d+)?\s*(?:mL|ml|cm3|cm³)\s+(?:of\s+)?"
            r"(?:the\s+)?(?:filtrate|lime\s?water|aliquots?)"
            r"|\b(?:(?:needed|used|required|taken|added)\s+)?(?:to|for)\s+(?:titrat\w+|neutrali[sz]\w+)"
            r"\s+(?:(?:your|the|our|a|an|each)\s+)?(?:\d+(?:[.,]\d+)?\s*(?:mL|ml|cm3|cm³)\s*)?"
            r"(?:(?:aliquot|portion|sample)s?\s*)?(?:(?:of\s+)?(?:the\s+|your\s+)?"
            r"(?:filtrate|lime\s?water|solution))?(?=\W|\Z)",
            re.IGNORECASE,
        ),
        "used for titration ",
    ),
    # "We found, g in 100 ml"
    (
        re.compile(
            r"\A\W*(?:we (?:found|got|calculated)|(?:our|your) (?:result|answer|value|number))"
            r"[\s,:(]+"
            r"(?=.*\bm?g\s?(?:/|per|in)\s?(?:100|L\b|dm))",
            re.IGNORECASE,
        ),
        "solubility, ",
    ),
    # "Probe 3: mixture at filtering (°C)"
    (re.compile(r"\A\s*(?:probe|sensor|thermometer|channel)\s*\d\s*[:–-]\s*(?=\w)", re.I), ""),
    (re.compile(r"\bset[ -]?point\b", re.IGNORECASE), "nominal"),
    # "Ca(OH)2 taken (difference)": how it was weighed
    (
        re.compile(
            r"(\b(?:taken|weighed(?: out)?|used|added)\b.*?)\s*\((?:by )?difference\)",
            re.IGNORECASE,
        ),
        r"\1",
    ),
    # "Beaker at filtering / °C"
    (
        re.compile(r"\b(?:beaker|flask|jar)(?= (?:at|when|before|on) filt\w+)", re.IGNORECASE),
        "mixture",
    ),
    # "HCl / mol per L"
    (re.compile(r"\bmol per (?:L|l|dm3|dm³|lit(?:er|re))\b"), "mol/L"),
    # "Heat degree of mixture (°C)"
    (re.compile(r"\bheat degree\b", re.IGNORECASE), "temperature"),
    # "Water (2 fills) 1st": how many there were says nothing of the one.
    (
        re.compile(
            r"\((?:\d|two|three|four|five|six) (?:fills|pours|cylinders|lots|portions)\)(?=\s*\d)",
            re.IGNORECASE,
        ),
        " ",
    ),
    # "Sol. from residue [g/L]": not the solid, not the solution.
    (re.compile(r"\b[Ss]ol\b\.?(?=.*\bg\s?(?:(?:/|per)\s?(?:100|L\b|dm)|dm))"), "solubility"),
    # "S, residue (g/L)", "S by mass loss (g/100 mL)"
    (
        re.compile(
            r"\A\s*S(?=,?\s+(?:by|from|via|through|after|\(?(?:residue|evap|titr|mass|diff|loss))"
            r".*\bg\s?(?:/|per)\s?(?:100|L\b|dm))"
        ),
        "solubility",
    ),
    # "g dissolved per L (their number)"
    (
        re.compile(
            r"(?<=\S)\s*[(\[](?:their|our|your|my|groups?'?s?|students?'?) (?:own )?"
            r"(?:number|value|answer|result|calculation|figure)s?[)\]]\s*\Z",
            re.IGNORECASE,
        ),
        "",
    ),
    # "Dissolved per litre in g" is a solubility.
    (
        re.compile(
            r"\bdissolved (?:per|in (?:one|a|1)) (lit(?:er|re)|L|100 ?mL)[\s,(]*"
            r"(?:in )?(g|mg|grams?)\b\W*\Z",
            re.IGNORECASE,
        ),
        r"solubility (\2/\1)",
    ),
    (re.compile(r"(?<=[Cc]onc)[_ ]M\Z|(?<=[Cc]oncentration)[_ ]M\Z"), " (M)"),
)
# "Weigh about 2.5 g of lime. Exact mass:" tells what to aim at.
_AIM = re.compile(
    r"\b(?:about|approx(?:imately|\.)?|roughly|around|at least)\s+\d[\d.,–-]*\s*(?:g|mg|mL|ml|"
    r"min(?:utes?)?)\b"
    r"|\b\d[\d.,]*\s?[–-]\s?\d[\d.,]*\s*(?:g|mL|ml|min)\b(?=\s*\w)",
    re.IGNORECASE,
)
_PER = re.compile(r"_m?g_per_\w+", re.IGNORECASE)  # "s_g_per_L"


# "Answer: solubility from Part 1 and 2"
FROM_PARTS = re.compile(
    r"\bfrom (?:the )?(?:part|step|line|table|question|box)s?\s*\w{1,2}\b"
    r"(?:\s*(?:and|&|,|to|-)\s*\w{1,2}\b)*"
    r"|,\s*method\s?\d\b"
    r"|\b(?:stufe|level|setting|niveau|nivel|livello)\s?\d\b",  # of the hot plate
    re.IGNORECASE,
)


# "so Ca(OH)2" below two weighings
_SO = re.compile(r"\A\s*(?:so|thus|hence|therefore|donc|somit)\b,?\s+(?=[^\W\d_])", re.IGNORECASE)


def plainly(text: str) -> str:
    """Return a heading with what only gets in the way of its unit and words taken out."""
    text = _SO.sub("", _AIM.sub(" ", text))
    text = _PER.sub(lambda m: m[0].replace("_", " "), text)
    for mention, plain in _MENTIONS:
        text = mention.sub(plain, text)
    return text


_FORMS: tuple[tuple[str, re.Pattern[str]], ...] = (
    # A question, not the mass.
    (
        "constant_mass",
        re.compile(
            r"\b(?:const(?:ant)?\.?|same)\s+(?:mass|weight)\b.*(?:\?|\(\s*y)"
            r"|\bvägde lika\b|\bsam(?:ma|me) (?:vikt|vekt|vægt)\b"
            r"|\b(?:mass|weight) (?:has |had )?(?:stayed|remained|was|is) (?:constant|unchanged)\b"
            r"|\b(?:same|agree\w*|equal)\b[^?]{0,12}\bwithin\b"
            r"|\b(?:was|is) (?:the |its )?(?:mass|weight) the same\b"
            r"|\b(?:mass|weight) (?:stay|remain|keep)(?:ed|s)? (?:constant|unchanged|the same)\b"
            r"|\bstay(?:ed|s)? (?:the )?same\b|\b(?:mass|weight) stop(?:ped)? chang\w*|"
            r"\bweigh(?:ed|s|ing)? (?:out )?the same\b"
            r"|\breweigh\w*\b.*\bsame\b|\b(?:stopped|no longer|not) (?:changing|losing)\b|"
            r"\bno more change\b"
            r"|\b(?:mass|weight)\s+(?:is\s+|was\s+)?(?:steady|constant|stable|settled|unchanged)\b"
            r"|\b(?:second|2nd|two|both|last)\s+(?:\w+\s+)?weighings?\b.*\b(?:same|agree\w*)\b.*(?:\?|\(\s*y)",
            re.IGNORECASE,
        ),
    ),
    # "filter V/G", "Büchner (B) or fluted paper (F)": no unit is meant.
    (
        "filtration",
        re.compile(
            r"\A\s*(?:pump|pumpe|pomp|pompe|pompa|bomba)\s*\?"
            r"|\A\s*\(?[VSB]\s*(?:\bor\b|\bou\b|\boder\b|/|,)\s*G\)?\s*\??\s*\Z"
            r"|\b(?:pump|pumpe|pomp|pompe|pompa|bomba)\b.*\b(?:used|gebruikt|benutzt|verwendet|utilisée?|"
            r"usad[ao]|usata|brukt|brugt|använ\w*)\b"
            r"|\b(?:suction|vacuum|vac)\b[^/]*(?:\bor\b|/).*\b(?:gravity|grav|drip\w*|funnel|fluted)\b"
            r"|\b(?:gravity|drip\w*|funnel|fluted)\b[^/]*(?:\bor\b|/).*\b(?:suction|vacuum|vac|pump)\b"
            r"|\bfilt(?:er|ered|ering|ration|r)?\W+(?![yn]\b)[^\W\d_]\s*/\s*[^\W\d_]\b"
            r"|\bpump\b\W*(?:or|/)\W*(?:(?:no|without)\W+pump|(?:plain |fluted |gravity |"
            r"just )*(?:funnel|gravity|drip\w*|paper))"
            r"|\b(?:paper|plain|ordinary)\b[^/]*\bor\b[^/]*\bpump\b"
            r"|\bfilt\w*\b.*\b(?:v|vac)\.?\s*/\s*(?:g|grav)\b"
            r"|\bb(?:ü|u|ue)chner\b.*\bor\b.*\b(?:fluted|gravity|cone|conical|plain)\b"
            r"|\b(?:fluted|gravity)\b.*\bor\b.*b(?:ü|u|ue)chner",
            re.IGNORECASE,
        ),
    ),
    # "g/L from weighing", "g dissolved in 100 mL", "our g/L", "Group's answer g/L"
    (
        "reported_solubility",
        re.compile(
            rf"\s*(?:{_RATIO})\s*\W?(?:from|by)\s+(?:the\s+)?"
            r"(?:weigh\w*|mass\w*|(?:mass )?loss|difference|residue|filtering|filtration)\W*\Z"
            rf"|\s*(?:{_RATIO})\s*\((?:mass loss|loss|difference|residue)\)\s*\Z"
            rf"|\s*(?:{_RATIO})\s*(?:that |which )?(?:dissol\w+|dissous|disuelt\w+|disciolt\w+|"
            r"(?:auf)?gelöst|opgelost|löst|opløst|oppløst|rozpuszczon\w+)\W*\Z",
            re.IGNORECASE,
        ),
    ),
    (
        "reported_solubility",
        re.compile(
            r"\s*m?g(?:rams?)?\s+(?:of\s+\w+\s+)?(?:that\s+)?dissolv\w*\s+(?:in|per)\s+"
            r"(?:1000|100|1|an?|one|each|every)?\s*(?:ml|cm3|cm³|l|lit(?:er|re)|dm3|dm³)"
            r"(?:\s+(?:of\s+)?water)?\W*\Z",
            re.IGNORECASE,
        ),
    ),
    (  # "Conc. Ca(OH)2 / g dm-3"
        "reported_solubility",
        re.compile(
            r"\A\W*conc\w*\.?\s+(?:of\s+)?(?:the\s+|your\s+|our\s+)?"
            r"(?:ca\s?\(oh\)[2₂]?|calcium hydroxide|lime\s?water|filtrate|saturated solution)\W*"
            rf"(?:{_RATIO})\W*\Z",
            re.IGNORECASE,
        ),
    ),
    (  # "s (mol/L) by group"
        "reported_solubility",
        re.compile(
            rf"\A\W*s\s*(?:{_RATIO})\s*(?:by|from|of)\s+(?:the\s+)?(?:group|team|students?)\W*\Z",
            re.IGNORECASE,
        ),
    ),
    (  # "gelöst pro Liter (g/L)"
        "reported_solubility",
        re.compile(
            r"\A\W*(?:dissolved|gelöst|dissous|disuelt\w+|dissolvid\w+|disciolt\w+|opgelost|löst|"
            r"opløst|oppløst|rozpuszczon\w+)\s+(?:per|pro|par|por|al|na)\s+(?:li?t\w*|dm3|dm³|l)\b",
            re.IGNORECASE,
        ),
    ),
    (  # "Found / g dm-3"
        "reported_solubility",
        re.compile(
            rf"\A\W*(?:found|obtained|measured|trouvée?|gefunden|encontrad[oa]|trovat[ao])\W*"
            rf"(?:{_RATIO})\W*\Z",
            re.IGNORECASE,
        ),
    ),
    (  # "group's sol. (g/L)", but no acid
        "reported_solubility",
        re.compile(
            rf"\A(?!.*\b(?:hcl|h2so4|naoh|acid|base|conc\w*|std|standard)\b)(?:[^\W\d_]+'?s?\s+){{0,3}}"
            rf"sol(?:ub)?\.?\s*(?:{_RATIO})\W*\Z",
            re.IGNORECASE,
        ),
    ),
    (  # "Ca(OH)2 in limewater / g dm-3"
        "reported_solubility",
        re.compile(
            rf".*\bin\s+(?:the\s+|your\s+|our\s+)?(?:lime\s?water|filtrate)\W*(?:{_RATIO})\W*\Z",
            re.IGNORECASE,
        ),
    ),
    (
        "reported_solubility",
        re.compile(
            rf"\s*{_OWNER}\s+(?:value\s+)?(?:{_RATIO})\Z"
            rf"|.*\b{_OWNER}\s+(?:own\s+)?(?:answer|value|result|figure|S)\b.*?(?:{_RATIO})\Z",
            re.IGNORECASE,
        ),
    ),
)


def column_by_form(text: str) -> str:
    """Return the column a heading can only mean by its form, empty for any other heading."""
    return next((column for column, form in _FORMS if form.search(text)), "")


# German "Was" asks what; a question that only yes or no answers names who or what did.
YES_OR_NO = re.compile(
    r"\W*(?:\d+[.)]\s*)?(?:(?:was|were|is|are) (?:the|your|it|there|any|this|all)"
    r"|(?:did|does|do|have|has|had) (?:the|you|your|it|any|all|we))"
    r"\b[^?]*\?\s*(?:\([^()]*\))?\s*\Z",
    re.IGNORECASE,
)
_EACH_FILL = re.compile(
    r"\b(?:each|every|list|all)\b.*\b(?:fills?|pours?|portions?|additions?|cylinders?)\b"
    r"|\bcylinder (?:by|after) cylinder\b|\bfill (?:by|after) fill\b|\bpour (?:by|after) pour\b"
    r"|\bevery volume\b|\beach volume\b|\blist (?:all )?(?:the |your )?volumes\b"
    r"|\b(?:fills|pours|portions|additions|cylinders|probetas|éprouvettes|cilindri)\b",
)
_IN_ALL = re.compile(
    r"\b(?:total|sum|combined|altogether|together|in all|added up|number|how many|count)\b"
)


def asks_every_fill(words: str) -> bool:
    """Tell whether a plain heading asks for each fill ("List every fill"), not for their sum."""
    return _EACH_FILL.search(words) is not None and _IN_ALL.search(words) is None
