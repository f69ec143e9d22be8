"""What people say about the laser beam in the filtrate: "no se ve el haz", "yes, a red line".

Every word of an answer has to be known; "beam not tested" says nothing about the filtrate.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

from solubility_stats.sheets.sentence_parts import parts_of

_WORDS = {
    "beam": """
        beam beams line lines path cone ray rays streak scatter scattering tyndall tyndalla
        effect efekt
        effekt effet efecto effetto efeito haz strahl
        lichtstrahl raggio rayo fascio faisceau rayon straal laserstraal laserstrahl feixe laserlys
        laserljus laserlicht stråle strale strala
        laserstrale wiazka wiazke smuga smugi smuge promien promienia
        stralen laserstralen rayo trace isin isini isik paprsek paprsku
        sade         lasersade lasersateen sateen valokeila""",
    "seen": """
        see sees saw seen visible observed observe appears appeared shows showed shown showing
        present noticed detected ve veia visto voit vu visibile sichtbar gesehen zichtbaar visivel
        vede erkennbar sehen sieht gesehen ver vedere voir zien gezien syns synlig synligt sas ses
        widac widoczna widoczny vio vimos ven viu vemos visto voyait voyons aparece aparecio
        gorundu goruldu gorunuyor goruluyor gozlendi gorunur videt viditelny viditelna nakyy nakyi
        nay nakynyt nakyvissa havaittiin terlihat tampak""",
    "cloudy": """cloudy hazy milky turbid murky trub trube trouble torbido turbio grumlig
        uklar uklart metny bulanik samea zakaleny zakaleno""",
    "clear": """clear limpid transparent transparente trasparente klar klart clair limpide
        limpido claro helder klarowny berrak kirkas ciry ciro""",
    "absent": """
        no not none nothing niks niets neen nope never isn't wasn't didn't couldn't can't cannot
        don't
        doesn't without nicht kein keine keinen nein geen niet pas non aucun aucune rien nessun
        nessuno nada sin sem nao ej inte ikke inget intet ingen nie brak bez
        yok ei neni nebyl nebylo zadny tidak""",
    "invisible": """
        invisible invisibile unsichtbar onzichtbaar absent niewidoczna niewidoczny osynlig
        gorunmedi gorulmedi gozlenmedi gorunmuyor gorulmuyor gozlenmiyor neviditelny""",
    "yes": "yes yep yeah oui ja sim tak evet kylla joo ano",
    "glue": """
        inside within across down onto along up as shows dot
        just barely apenas appena way bright faded dim dimly debilmente leggermente faiblement
        levemente leicht
        the a an in it i we can could did was is there through straight goes went passes passed
        either both section sections class classes test day days
        liquid filtrate filtrates water solution
        totally completely very quite pretty all at any anything
        clearly plainly you they o os as
        little bit some slight slightly faint faintly weak strong svag svagt svakt svak schwach
        zwak faible debil debole fraco slaba heikko tenue leve red green laser light pen pointer
        with just only
        but and or of to our my el la le les il lo der die das den de du im un une en dans se s l
        war zu y that wel te si man wir konnte quedo de on quedaba filtrado filtrat filtratet
        its it's so kan poco un poco unpoco poquito
        filtraat suzuntude suzuntu icinde
        tydeligt tydlig tydligt tydelig godt deutlich gut klarlich duidelijk goed nettement bien
        claramente chiaramente bene bem wyraznie dobrze zretelne selvasti net
        ne cela un une suodoksessa je byl filtratu v gennem genom var""",
}
_KINDS = {word: kind for kind, words in _WORDS.items() for word in words.split()}


def _kinds(text: str) -> set[str]:
    letters = unicodedata.normalize(
        "NFKD", re.sub("[’´`ʼ]", "'", text.casefold()).replace("ı", "i")
    )
    plain = "".join(c for c in letters if not unicodedata.combining(c))
    plain = re.sub(r"\b(is|was|did|could|ca|do|does)n'?t\b", r"\1n't", plain)
    return {_KINDS.get(word, "") for word in re.findall(r"[^\W_]+(?:'[^\W_]+)?", plain)}


# Portuguese "no filtrado": in the, not no.
_IN_THE = re.compile(r"\bno (?=filtra|líquid|liquid|tubo|copo|béquer)", re.IGNORECASE)


def asks_for_beam(heading: str) -> bool:
    """Tell whether a heading asks if the beam was seen, so that yes and no answer it."""
    said = _kinds(_IN_THE.sub(" ", heading))
    laser = "seen" in said and re.search(r"\bl[aá]s[ae]r", heading, re.IGNORECASE) is not None
    if said & {"clear", "absent", "invisible"}:
        return False
    return ("beam" in said or laser) != ("cloudy" in said)


def asks_for_clear(heading: str) -> bool:
    """Tell whether a heading asks if the filtrate was clear, so that yes is the good answer."""
    said = _kinds(heading)
    return "clear" in said and not said & {"beam", "seen", "absent", "invisible", "cloudy"}


def beam_meant(text: str) -> str | None:
    """Return ``visible`` or ``clear`` for what a key says of a code, whatever else it says.

    "○ = beam not visible in the filtrate of this group" explains; an answer would have to be plain.
    """
    said = _kinds(_IN_THE.sub(" ", text))
    if not said & {"beam", "seen", "cloudy", "clear"}:
        return None
    absent = bool(said & {"absent", "invisible"})
    if "clear" in said:
        return None if absent and "beam" not in said and "seen" not in said else "clear"
    return "clear" if absent else "visible"


_EFFECT = re.compile(r"tyndall|\beff?e[ckt]|scatter", re.IGNORECASE)


def beam_said(text: str, heading: str = "") -> str | None:
    """Return ``visible`` or ``clear`` for what was said about the beam, ``None`` if unsure.

    Parameters
    ----------
    text : str
        A whole cell: "I can see the beam in the liquid", "nothing seen".
    heading : str
        What stands over the cell: absent is an answer below "Tyndall effect" only.
    """
    if text.strip(" .!").casefold() == "absent":
        # The effect, or else perhaps whoever should have looked.
        return "clear" if _EFFECT.search(heading) else None
    said = _kinds(_MADE_OUT.sub("seen", plain_beam(text)))
    if "" in said:
        return _said_in_clauses(text)
    if not said or {"clear", "cloudy"} <= said:
        return None
    if said == {"glue"} and _HOW_MUCH.fullmatch(text) and _LIGHT.search(heading):
        return "visible"
    absent = bool(said & {"absent", "invisible"})
    if "yes" in said and (absent or "clear" in said):
        return None
    if "clear" in said and (_NOT_CLEAR.search(text) or len(_split(text)) > 1):
        return None if _NOT_CLEAR.fullmatch(text.strip()) else _said_in_clauses(text)
    scattered = bool(said & {"beam", "seen", "cloudy"})
    if absent:
        return "clear" if scattered or "invisible" in said else None
    if "clear" in said:
        return None if scattered else "clear"
    return "visible" if scattered else None


# "Could just make it out"
_MADE_OUT = re.compile(r"\bm(?:ake|ade) (?:it |one |(?:a|the) beam )?out\b", re.IGNORECASE)
_CLEAR_BEAM = re.compile(
    r"(?<!not )(?<!not a )(?<!not very )\b(?:(?P<a>a )?clear|clearly)\b"
    r"(?=(?P<how>(?:,? (?:bright|red|green|thin|visible|seen|sharp|laser))*) "
    r"(?:line|beam|ray|path|streak|cone|visible|seen)\b)",
    re.IGNORECASE,
)


def plain_beam(text: str) -> str:
    """Return what was said with "a clear bright line" as a line: what is clear is the line."""
    return _CLEAR_BEAM.sub(lambda m: "visible" if m["a"] or m["how"] else m[0], text)


# "A little" below "laser": of the beam.
_HOW_MUCH = re.compile(
    r"\W*(?:(?:just|only|very|a|an)\s+)*(?:little|bit|tiny bit|about|slight(?:ly)?|some|dim(?:ly)?|"
    r"faint(?:ly)?|weak(?:ly)?|obvious(?:ly)?|deutlich|nettement|poco|un poco|"
    r"un peu|ein wenig|etwas|schwach|svagt?|lite|słabo|debolmente|appena|zwak|pouco)\W*",
    re.IGNORECASE,
)
_CLAUSE = re.compile(r"[.!?;,:()]+|\s[–—-]+\s|\b(?:so|but|because|bc)\b", re.IGNORECASE)
# What tells of more than one look at the filtrate.
_LATER = re.compile(
    r"\b(?:after\w*|before|then|later|again|first|second|third|1st|2nd|re-?filt\w*|until|now|"
    r"still|half|other|maybe|perhaps|unsure|sure|think|or)\b",
    re.IGNORECASE,
)


# "Not clear" alone may be about the look of the liquid or about the answer.
_NOT_CLEAR = re.compile(
    r"(?:not|isn'?t|wasn'?t|never|nicht|pas|no|non|niet)\s+(?:very|quite|completely|so|all|too|"
    r"totally|entirely|really|ganz|très|muy)?\s*(?:clear|klar|clair|claro|limpid[oe]?|helder)",
    re.IGNORECASE,
)


def _split(text: str) -> list[str]:
    return [c for c in _CLAUSE.split(text) if c.strip()]


def _said_in_clauses(text: str) -> str | None:
    """Return what the clauses say that are understood word for word, if the others say nothing.

    "beam visible!! tiny bits went through?"
    """
    if _LATER.search(text):
        return None
    clauses = _split(text)
    rest = set().union(*(k for c in clauses if "" in (k := _kinds(c))), set())
    if len(clauses) < 2 or not rest <= {"", "glue"}:
        return None
    known = [c for c in clauses if "" not in _kinds(c)]
    said = {"visible?" if _NOT_CLEAR.search(c) else beam_said(c) for c in known} - {None}
    if "visible?" in said:  # not clear says only that it was no clear liquid
        said = said - {"visible?"} if "visible" in said else set()
    return said.pop() if len(said) == 1 else None


_IN_ALL = re.compile(
    r"\b(?:in|for|by|on) (?:any|all|each|every|none)(?: one)?(?: of (?:them|these|those|the))?"
    r"(?: (?:three|four|our|my))?(?: (?:runs?|trials?|groups?|filtrates?|samples?|goes|tests?))?\b"
    r"|\b(?:for|by) every(?:one|body)\b",
    re.IGNORECASE,
)
_LIGHT = re.compile(r"\b(?:laser|beam|tyndall)", re.IGNORECASE)
_BUT = re.compile(r"\b(?:except|apart from|but|unless|only|most|other than)\b", re.IGNORECASE)


def beams(text: str) -> Iterator[str]:
    """Yield what a sentence says of the filtrates of all: "no beam in any of them"."""
    if not _LIGHT.search(text) or _BUT.search(text) or "?" in text:
        return
    for part in parts_of(text):
        rest = _IN_ALL.sub(" ", part)
        none = re.search(r"\bin none\b", part, re.IGNORECASE)
        if rest == part or not _LIGHT.search(part) or (said := beam_said(rest.strip(" ."))) is None:
            continue
        yield "clear" if none else said
