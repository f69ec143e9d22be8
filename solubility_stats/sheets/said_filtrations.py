"""How everybody filtered, as the sentences around a table say: done so, and not only possible."""

from __future__ import annotations

import re
from collections.abc import Iterator

from solubility_stats.quantities import quantity
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.places import section_named
from solubility_stats.sheets.sentence_parts import parts_of

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
    r"|\bhouse vacuum\b(?! (?:was|is) (?:off|down|broken|out))"
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
    r"\b(?:pumps?|vacuum|aspirators?|suction) (?:is |was |were )?"
    r"(?:down|off|dead|out|busy|taken|on loan|needed elsewhere|being \w+ed|under repair)\b|"
    r"\b(?:no|not|nobody|never|none|without|broken|instead of|n't|out of order|en panne|"
    r"kaputt|defekt|"
    r"averiad\w|avariad\w|rott[oa]|guast[oa]|kapot|stuk|trasig|ødelagt|zepsut\w|rozbit\w+|bozuk|"
    r"arızalı|rikki|nefunguje)\b",
    re.I,
)


# "N = Nutsche, T = Trichter" explains codes and says how nobody did it.
_KEY = re.compile(
    r"(?:\A|[,;.]\s+|[,;.])\s*(?:\S{1,4}\s*=|(?!\w+\d\s|\d+[A-Z]\s)\S{1,4}\s+[–-]\s)(?!\s*[\d~≈])|[^\W\d]\s*=\s*[^\W\d][^=]*=\s*[^\W\d]"
)


# "Everyone used gravity. Y = you can see the beam": the key is of something else.
_SENTENCES = re.compile(r"(?<=[.!])\s+")
_EXPLAINS = re.compile(r"=|(?<!\w)\w{1,4}\s[–-]\s")
# "Filter funnel and paper used by every group (no pump available)"
_NO_VACUUM = re.compile(
    r"\b(?:no|without|geen|ohne|sans|sin|senza|bez|utan|uden|uten)\s+(?:any\s+|the\s+|a\s+)?"
    r"(?:va[ck]u+m\w*|vacuüm|vide|vacío|vuoto|próżni\w*|pump\w*|aspirator|suction|podtlak\w*)\b",
    re.IGNORECASE,
)
_FUNNEL = re.compile(
    r"\b(?:funnels?|vouwfilter|faltenfilter|filtre plissé|coffee filters?|filter papers?|"
    r"trechter|trichter|entonnoir|embudo|imbuto|"
    r"funil|lejek|lejka|tratt|tragt|trakt|trychtýř)\w*",
    re.IGNORECASE,
)
# "and the filter cake was not washed"
_NOT_WASHED = re.compile(
    r"(?:\band |\bbut |, )?(?:the )?(?:filter )?(?:cake|solid|residue|it)?\s*"
    r"(?:(?:was|were) )?(?:not|never|un)[ -]?(?:been )?(?:washed|rinsed)\b",
    re.IGNORECASE,
)
# "Gravity, because the pump was broken"
REASON = re.compile(r"\b(?:because|since|weil|parce qu|porque|perché)[^.;]*", re.IGNORECASE)


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
    r"\b(?:every(?:one|body)|all|almal|allemaal|alle|alla|tous|toutes|todos|tutti|wszyscy|kaikki|herkes|všichni)\b",
    re.IGNORECASE,
)


# "Ask Dr T about the pump", "Check the vacuum line" tell what to do, and not what was done.
TO_DO = re.compile(
    r"(?:(?<=[.!?;]\s)|\A)\W*(?:ask|check|tell|call|fix|order|e-?mail|remember|remind|to ?do|bring|"
    r"return|clean|book|borrow|buy|repair|replace)\b[^.!?;]*",
    re.IGNORECASE,
)
_WORD = re.compile(r"[^\W\d_]+")
_FEW_WORDS = 2


def filtrations(text: str) -> Iterator[str]:
    """Yield the ways of filtering that a text says everybody used, as canonical words."""
    text = TO_DO.sub(" ", text)
    if (so := _SO.search(text)) is not None:
        yield from filter(None, [choice(so["how"], quantity("filtration"))[0]])
        return
    text = _NOT_WASHED.sub(" ", text)
    if len(_WORD.findall(text)) <= _FEW_WORDS and all(map(HOW.search, _WORD.findall(text))):
        yield from filter(None, [choice(text.strip(), quantity("filtration"))[0]])
        return  # "Gravity", "Vacuum (Büchner)" over a table
    if _NO_VACUUM.search(text) and _FUNNEL.search(text) and not _NOT_ALL_SO.search(text):
        yield "gravity"
        return
    if _KEY.search(text):
        text = " ".join(s for s in _SENTENCES.split(text) if not _EXPLAINS.search(s))
    if not _KEY.search(text):
        yield from _among_conditions(text)
    told = _FILTERED.search(text) or (_ALL_SO.search(text) and not _NOT_ALL_SO.search(text))
    if not told or _KEY.search(text):
        return
    for part in parts_of(REASON.sub(" ", text)):
        if not HOW.search(part) or _NOT.search(part):
            continue
        word, _ = choice(part, quantity("filtration"))
        if word is None and _EVERYBODY.search(part) and not _NOT_ALL_SO.search(part):
            word = _way_named(part)
        if word is not None:
            yield word


# "Tuesday: 200 mL in total, Büchner/vacuum, 20.5 °C": each part says how it was for all.
_CONDITION = re.compile(
    r"\d\s*(?:°\s?[CF]?|[CF])\b|\btemp(?:erature)?s?\b"
    r"|\d\s*mL (?:water )?(?:each|in total|per \w+)\b",
    re.IGNORECASE,
)
_PARTS = re.compile(r"\s*[,;]\s+|\s[–-]\s|(?<=\w):\s+|(?<=\w\w)\.\s+")


_ASIDE = re.compile(r"\([^()]*\)")


def _among_conditions(text: str) -> Iterator[str]:
    """Yield the way of filtering that stands by itself among other conditions of all runs."""
    parts = [*_PARTS.split(_ASIDE.sub(" ", text)), *_ASIDE.findall(text)]  # "gravity (TA: …)"
    if any(map(_CONDITION.search, parts)) or section_named(parts[0]):
        for part in parts:
            words = _WORD.findall(part)
            if 0 < len(words) <= _FEW_WORDS and all(map(HOW.match, words)):
                yield from filter(None, [choice(part.strip(" .()"), quantity("filtration"))[0]])


def _way_named(text: str) -> str | None:
    """Return the one way of filtering that the words of a text name, ``None`` for none or both."""
    named = ways_named(text)
    return named.pop() if len(named) == 1 else None


def ways_named(text: str) -> set[str | None]:
    """Return the ways of filtering that the words of a text name, ``None`` for an unclear word."""
    ways = [word for word in re.findall(r"[^\W\d_]{3,}", text) if HOW.search(word)]
    return {choice(word, quantity("filtration"))[0] for word in ways}
