"""Which section and semester a table belongs to, from sheet name, caption, file name."""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import PurePath

from solubility_stats.sheets.concepts import concepts_of
from solubility_stats.sheets.heading_text import ORDINALS

# Words for the people who did one run: few who share a bench, and those that may be a class, too.
_FEW = (
    "bin[ôo]me|trin[ôo]me|paillasse|pareja|dupla|bancada|pair|bench|station|mesa|equipo|equipe|équipe|duo|"
    "tweetal|coppia|mesada|zespół|banco|stolik|stanowisko|team|crew|squad|poste|postazione|platz|bänk|takım|ekip|"
    "työpari|pöytä|dvojice|lavice"
)
_GROUPS = (
    "group|grp\\.?|gp\\.?|gr\\.?|gruppe|grupp|groupe|grupo|gruppo|groep|grupa|skupina|hold|grup|"
    "ryhmä|kelompok|groepje|groupement|grüppchen|" + _FEW
)
# The longer words first: "gruppo 1" is no "grupp" O.
GROUP_WORDS = "|".join(sorted(_GROUPS.split("|"), key=len, reverse=True))
# Between the word and the code: "Gr A", "Gr3", "GroupA", but nothing in "Green" and "Benchmark".
BEFORE_CODE = r"(?:[\s_.#:-]+|(?=\d)|(?=(?-i:[A-Z]\d{0,2}(?![^\W_]))))"
# Words for a section: what stands behind one is its code, letters or figures.
SECTION_WORDS = r"section|sect\.?|sec\.?|sektion|stream|demi-?groupe?"
# Words for a class that mean other things, too: only a short code behind one tells.
CLASS_WORDS = (
    "class|classe|klasse|clase|turma|secci[oó]n|sezione|se[cç][cç]?[aã]o|set|form|period|block|"
    "hour|hr|luokka|şube|sınıf|třída|klas|klasa|klass|curso|curs|kurs|comisi[oó]n|divisi[oó]n|"
    "reeks|turno"
)
# Words for one preparation of several.
RUN_WORDS = (
    "trial|run|rep|replicate|repeat|attempt|preparation|prep|try|go|determination|essai|manip|versuch|durchgang|"
    "prova|prueba|proef|poging|intento|ensaio|ensayo|repetici[oó]n|repetição|r[ée]plica|försök|forsøk|forsøg|"
    "tentativ[oa]|próba|pokus|deneme|koe|yritys|"
    "parall[eè]l\\w*|paralel\\w*"
)
# Words that count preparations only behind an ordinal: "1ª vez", "2. Mal", "2nd time".
TIME_WORDS = "time|vez|vuelta|volta|fois|mal|keer|gång(?:en)?|gang|raz|kere|kerta"
# Words that count the trials of one group over the columns of its form: "Reading I".
READING_WORDS = (
    "reading|observation|measurement|experiment|expt|test|sample|messung|mesure|medida|medición|"
    "misura|lettura|meting|mätning|måling|pomiar|mittaus|měření|ölçüm"
)

_GENERIC = re.compile(
    r"(?:sheet|tabelle|feuil|hoja|foglio|blatt|planilha|table|data|daten|results?|class|all|main|"
    r"raw|master|form responses|lab|labs?|lab data|class data|class results?|class table|groups?|"
    r"this (?:year|term|semester|week)|input|entry|"
    r"template|readings|summary|runs|export|solubility)[\s_]*\d*",
    re.IGNORECASE,
)
_WEEKDAY = re.compile(
    r"(?<![^\W\d_])(mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun|monday|tuesday|wednesday|thursday|"
    r"friday|saturday|sunday|montag|dienstag|mittwoch|donnerstag|freitag|lundi|mardi|mercredi|"
    r"jeudi|vendredi|lunes|martes|miércoles|jueves|viernes|lunedì|martedì|mercoledì|giovedì|venerdì|"
    r"maandag|dinsdag|woensdag|donderdag|vrijdag|poniedziałek|wtorek|środa|czwartek|piątek|måndag|"
    r"mandag|tisdag|tirsdag|onsdag|torsdag|fredag)(?:[\s_.-]*(am|pm|morning|afternoon|evening|"
    r"\d{1,2}(?::\d\d)?(?:\s?[–-]\s?\d{1,2}(?::\d\d)?)?\s?(?:am|pm|h|uhr)|"
    r"\d{1,2}:\d\d(?:\s?[–-]\s?\d{1,2}:\d\d)?|\d{1,2}\s?[–-]\s?\d{1,2})|-\d{1,2}\Z)?(?![^\W\d_])",
    re.IGNORECASE,
)
_SECTION = re.compile(
    rf"(?<![^\W\d_])(?:lab[\s_-]*)?(?:{SECTION_WORDS})"
    r"(?![^\W\d_])[\s_.:#-]*(?:no\.?\s*)?"
    r"((?-i:[A-Z]{2,5})\s\d{2,4}[A-Z]?-\w{1,4}|(?=[A-Z]+\d)\w{2,5}-\d{1,2}|"
    r"[^\W_][\w]{0,11}(?:-(?-i:[A-Z]\d?))?)(?![^\W_])",
    re.IGNORECASE,
)
_SEMESTER = re.compile(
    r"(?<![^\W\d_])(?:(autumn|fall|spring|summer|winter|herbst|frühjahr|ws|ss)[\s_-]*"
    r"((?:19|20)\d\d)|((?:19|20)\d\d)[\s_-]*(autumn|fall|spring|summer|winter|herbst|ws|ss))"
    r"(?![^\W_])",
    re.IGNORECASE,
)
_GROUP_SHEET = re.compile(
    rf"\s*(?:{GROUP_WORDS}){BEFORE_CODE}(?:n[or°º]?\b\.?\s*)?"
    r"([^\W_][\w-]{0,7})\s*"
    r"(?:[(\[]?\s*(?:final|late|v\d|new|corrected|done|complete\w*|re-?submit\w*)\s*[)\]]?\s*)?\Z",
    re.IGNORECASE,
)


_NO_SECTION = frozenset(
    {
        "of",
        "and",
        "results",
        "data",
        "name",
        "number",
        "for",
        "in",
        "the",
        "on",
        "table",
        "report",
        "used",
        "had",
        "has",
        "have",
        "was",
        "were",
        "is",
        "are",
        "did",
        "does",
        "took",
        "got",
        "with",
        "only",
        "all",
        "that",
        "this",
        "which",
        "who",
        "where",
        "when",
        "by",
        "at",
        "to",
        "from",
        "gravity",
        "vacuum",
        "suction",
        "filtered",
        "filtration",
        "mean",
        "means",
        "average",
    }
)
# "PM section - gravity filtration"
_SECTION_BEHIND = re.compile(
    r"\A\W*(?:the )?(?:"
    r"(?P<part>[ap]\.?m\.?|morning|afternoon|evening|night)\s+(?:section|stream|class|session|lab|group)"
    r"|(?P<nth>first|second|third|early|late)\s+(?:section|stream|session))\b",
    re.IGNORECASE,
)


# "Class 10P", "Set 2": only with a code behind it, because "class results" names nothing.
_CLASS = re.compile(
    rf"(?<![^\W\d_])(?i:{CLASS_WORDS})(?![^\W\d_])"
    r"[\s_.:#-]*(?:de\s+|no\.?\s*)?"
    r"((?:\d{1,3}(?:[-./ ]?[A-Za-z])?\d?|\d{1,2}[A-Z]{2,3}\d?|\d[A-Z]\d|[A-Z]\d?)"
    r"(?:/[A-Za-z]{0,2}\d?)?"
    r"(?:\s(?i:red|blue|green|yellow|white|black|gold|silver|north|south|east|west))?)(?![^\W_])"
)
# "Curso: 4º ESO B", "Klasa: IIc": nothing but a label and a code, whatever words the code has.
_CLASS_LABELLED = re.compile(
    rf"\W*(?i:{CLASS_WORDS}|stream)"
    r"\s*[:=]\s*((?=\d|[IVX]+[a-z]?\b|[A-Z]{1,2}-?\d)[\wº°ª][\wº°ª/-]{0,5}"
    r"(?: [A-Z\d][\wº°ª/-]{0,5}){0,2})\s*"
)


# Of students, beside their year; a batch of the solid has a bottle.
_BATCH = re.compile(
    r"(?i:\b(?:year|yr|b\.?\s?sc|sem(?:ester)?)\b.*\bbatch)[\s:–-]+([A-Z]\d?)(?![^\W_])"
)
_NTH = re.compile(r"\b(\d{1,2})(?:st|nd|rd|th)\s+(?:hour|hr|period|per|block)\b", re.IGNORECASE)


def is_weekday(text: str) -> bool:
    """Tell whether a section is called by a day of the week ("Monday", "Tue pm")."""
    return _WEEKDAY.fullmatch(text.strip()) is not None


# "Cylinder 100 mL class B" tells how exact it is.
_OF_GLASS = re.compile(
    r"(?:\d\s*m?l|glass\w*|cylinders?|bur(?:et|ette)s?|pipett?e?s?|flasks?|tolerance)\W+(?:\w+\W+){0,2}?"
    r"class\s+(?:as?|b)\b",
    re.IGNORECASE,
)


def section_named(text: str) -> str:
    """Return the code a text calls a section, class or period, empty for none."""
    text = _OF_GLASS.sub(" ", text)
    if found := _CLASS_LABELLED.fullmatch(text):
        return found[1]
    if found := _SECTION_BEHIND.match(text):
        return found["part"] or found["nth"]
    found = _SECTION.search(text)
    if found and found[1].casefold() not in _NO_SECTION and not _WEEKDAY.match(found[1]):
        return found[1]
    if found := _NTH.search(text):
        return found[1]
    found = _CLASS.search(text) or _BATCH.search(text)
    return re.sub(r"(?<=\d) (?=\w\b)", "", found[1]) if found else ""


# "Return to the office by Friday"
_UNTIL = re.compile(
    r"\b(?:by|before|until|till?|due|bis|avant|voor|entro|prima di|antes del?|para el)\s+"
    r"(?:the\s+)?\Z",
    re.IGNORECASE,
)


def section_in(text: str) -> str:
    """Return the section a text names ("Section B, week 3" gives ``B``), empty for none."""
    if named := section_named(text):
        return named
    found = next((m for m in _WEEKDAY.finditer(text) if not _UNTIL.search(text[: m.start()])), None)
    return " ".join(_GAP.split(found[0].strip())) if found else ""


_GAP = re.compile(r"[\s_.]+|(?<!\d)-(?!\d)|-(?=[^\W\d])")


# "Lab 9 P2", "Expt 3 - Tue"
_LAB_NUMBER = re.compile(
    r"\A(?:lab|exp(?:t|eriment)?\.?|practical|prac|versuch|tp|pr[áa]ctica)\s*\d{1,2}\s*[–:,-]?\s+(?=\S)",
    re.IGNORECASE,
)


def section_of_sheet(name: str) -> str:
    """Return the section a sheet name stands for; empty for ``Sheet1`` and its like."""
    plain = _LAB_NUMBER.sub("", name.strip())
    if not plain or _GENERIC.fullmatch(plain) or _GROUP_SHEET.match(plain):
        return ""
    return section_in(plain) or plain


def section_of_file(label: str, several: bool) -> str:
    """Return the section a file name stands for.

    Only a name that speaks of a section or weekday counts, or any name if several files were
    given, because then the name is what tells them apart.
    """
    stem = PurePath(label).stem
    return section_in(stem.replace("_", " ")) or (stem if several else "")


def semester_in(texts: Iterable[str]) -> str:
    """Return the semester named first in the texts ("Autumn 2026" gives ``2026-autumn``)."""
    for text in texts:
        found = _SEMESTER.search(text)
        if found:
            season, year = (found[1], found[2]) if found[1] else (found[4], found[3])
            return f"{year}-{season.casefold()}"
    return ""


_GROUP_IN = re.compile(
    rf"(?<![^\W\d_])(?:lab\s+)?(?P<word>{GROUP_WORDS})"
    r"[\s_.:#-]*(?:(?:n[or°º]?|num)(?![^\W_])[.\s]*)?(?P<code>\d{1,3}(?:-\d{1,2})?|[A-Z]\d{0,2}|[A-Z]{1,3}-?\d{1,3})(?![^\W_])",
    re.IGNORECASE,
)


TABLE_NUMBERED = re.compile(
    r"\s*(?:table|tisch|tafel|bord|card|karte|kort|fiche|ficha|scheda|kaart)\s*(?:no\.?\s*)?(\d{1,2})\s*",
    re.IGNORECASE,
)


# "Group Alder", "Team: Otter" as a whole title.
_NAMED_GROUP = re.compile(
    rf"\s*(?i:{GROUP_WORDS})(?:\s*[:–—-]\s*|\s+)(?P<name>[^\W\d_a-z][^\W\d_]{{2,11}})\s*"
)
# "RED BENCH", "Blue team" as a whole title: with other words before "team" it may be no name.
_COLOURED = re.compile(
    r"\s*(?i:the\s+)?(?P<name>(?i:red|orange|yellow|green|blue|purple|violet|pink|white|black|gr[ea]y|"
    r"brown|gold|silver|teal|turquoise|rot|gelb|grün|blau|weiß|schwarz|rouge|jaune|vert|bleu|noir|"
    rf"rojo|amarillo|verde|azul|negro))\s+(?P<word>(?i:{GROUP_WORDS}|table))\s*"
)
_NO_GROUP = frozenset(
    {"data", "results", "result", "members", "member", "number", "code", "sheet", "sheets", "work",
     "record", "records", "form", "forms",
     "notes", "report", "reports", "table", "tables", "lab", "labs", "card", "cards", "list",
     "lists", "names", "setup", "set", "averages", "log", "page", "overview", "details", "info"}
)  # fmt: skip


def _names_no_group(word: str) -> bool:
    """Tell whether a word behind "group" is about the sheet or the lab, not a name."""
    return word.casefold() in _NO_GROUP or bool(concepts_of(word.casefold()))


def groups_in(text: str) -> set[str]:
    """Return the groups a text names by a code ("Section 04, Group 4" gives ``4``).

    Of a class and the pair within it ("Groupe A, binôme 3") the pair counts.
    """
    if found := TABLE_NUMBERED.fullmatch(text):
        return {found[1]}
    if found := _COLOURED.fullmatch(text):
        return {found["name"]}
    if (found := _NAMED_GROUP.fullmatch(text)) and not _names_no_group(found["name"]):
        return {found["name"]}
    named = [(m["word"], m["code"]) for m in _GROUP_IN.finditer(text) if not _is_ending(m)]
    few = [code for word, code in named if re.fullmatch(_FEW, word, re.IGNORECASE)]
    return set(few or [code for _, code in named])


def _is_ending(found: re.Match[str]) -> bool:
    """Tell whether a code is the end of the word: "all groups" names no group "s"."""
    return found["code"].islower() and found.end("word") == found.start("code")


def one_group_in(texts: Iterable[str]) -> str:
    """Return the one group that texts name between them, empty for none or several."""
    named = set().union(*map(groups_in, texts))
    return named.pop() if len(named) == 1 else ""


def names_few(label: str) -> bool:
    """Tell whether a label asks for those who share a bench ("Equipo"), not maybe for a class."""
    return re.match(rf"\s*(?:{_FEW})(?![^\W_])", label, re.IGNORECASE) is not None


def speaks_of_few(heading: str) -> bool:
    """Tell whether a heading names those who share a bench anywhere ("Número de equipo")."""
    return re.search(rf"(?<![^\W_])(?:{_FEW})(?![^\W_])", heading, re.IGNORECASE) is not None


def is_word_for_group(text: str) -> bool:
    """Tell whether a text is a word for a group and nothing else: "Group", "Team:"."""
    return re.fullmatch(rf"\s*(?:{GROUP_WORDS})\s*:?\s*", text, re.IGNORECASE) is not None


def group_of_sheet(name: str) -> str:
    """Return the group a sheet name stands for ("Group 4" gives ``4``), empty for none."""
    found = _GROUP_SHEET.match(name)
    return found[1] if found else ""


_GROUP_FILE = re.compile(
    r"(?<![^\W\d_])(?!gr\b)"  # "Gr 11" is a grade
    rf"(?:{GROUP_WORDS})[\s.#-]*(\d{{1,3}})(?!\w)",
    re.IGNORECASE,
)


def group_of_file(label: str) -> str:
    """Return the one group a file is named after ("Grp 4 log.xlsx" gives ``4``), empty for none."""
    found = set(_GROUP_FILE.findall(PurePath(label).stem.replace("_", " ")))
    return found.pop() if len(found) == 1 else ""


# "Trial 2", "2nd go", "third attempt"
RUN_NAMED = re.compile(
    rf"(?:(?P<nth>{'|'.join(ORDINALS)}|\d{{1,2}}[:\w]{{0,3}}\.?)\s+)?"
    rf"(?:(?:{RUN_WORDS})\b|(?(nth)(?:{TIME_WORDS})\W*\Z|(?!)))",
    re.IGNORECASE,
)
# A group that did it twice says so beside its code, in the languages of the headings.
_SECOND_RUN = re.compile(
    r"(?:re-?do(?:ne)?|redid|repeat(?:ed)?)(?: again)?|re-?runs?|re-?test|retry|again|"
    r"resubmi(?:t|tted|ssion)|"
    r"corrected|take 2|bis|second (?:run|try|attempt|go|trial)|wieder\w*|wdh\w*|"
    r"(?:noch|neu)\w*|erneut|"
    r"r[ée]p[ée]t\w*|refai\w*|repe\w*|otra vez|refei\w*|ripet\w*|rifatt\w*|"
    r"herha\w*|opnieuw|om(?:tag|gjord|försök|gång)\w*|igen|gentag\w*|gjent\w*|omgjort|powt\w*|"
    r"ponown\w*|opakov\w*|znovu|tekrar\w*|toisto|uusinta|uudelleen|uusittu|"
    rf"(?:2\s?(?:nd|\.|e|ème|ª|º|:a)?|zweiter|deuxième|secondo?a?|segund[oa]|tweede|andra|andet|druga|drugie|ikinci|toinen|"
    rf"druhý)\s+(?:{RUN_WORDS}|{TIME_WORDS})|(?:{RUN_WORDS})\s+(?:nr\.?\s*|n[°º]\s*)?2",
    re.IGNORECASE,
)


def says_again(text: str) -> bool:
    """Tell whether a text beside a code says that something was done a second time."""
    return _SECOND_RUN.fullmatch(text.strip(" .")) is not None


_PREFIX = re.compile(
    rf"({GROUP_WORDS}|"
    r"table|tisch|masa|platz|batch|[eé]q\.?|bin\.?|tbl\.?|stn\.?|"
    rf"{CLASS_WORDS}|(?:lab )?(?:{SECTION_WORDS})|{RUN_WORDS}|{TIME_WORDS}|{READING_WORDS})"
    r"(?:[\s_.#:-]+|(?=\d|[a-z]\Z))(?:no\.?\s*)?([\w][\w./-]*)\Z",
    re.IGNORECASE,
)


def without_common_prefix(codes: Iterable[str]) -> dict[str, str]:
    """Return codes without the word they begin with ("Group 3" and "#3" give ``3``).

    Only if no code has another word; otherwise empty.
    """
    short: dict[str, str] = {}
    words: set[str] = set()
    for code in dict.fromkeys(codes):
        found = _PREFIX.match(_NTH_RUN.sub(_number_last, code.strip()))
        coloured = None if found else _COLOURED.fullmatch(code)
        bare = None if found else _BARE.match(code.strip())
        if coloured:
            words.add(coloured["word"].casefold())
            short[code] = coloured["name"]
            continue
        if found:
            words.add(_SAME_WORD.get(found[1].casefold().rstrip("."), found[1].casefold()))
        if (found is None and bare is None) or len(words) > 1:
            return {}
        short[code] = found[2] if found else bare[1] if bare else code
    return short


_NTH_RUN = re.compile(
    rf"(?P<nth>\d{{1,2}})(?:st|nd|rd|th|\.|e|er|re|ère|ème|ª|º|a|:a)?\s+(?P<word>{RUN_WORDS}|{TIME_WORDS})\Z"
    rf"|(?P<said>first|second|third|fourth|fifth)\s+(?P<run>{RUN_WORDS}|time)\Z",
    re.IGNORECASE,
)


def _number_last(match: re.Match[str]) -> str:
    """Turn "2nd attempt" into "attempt 2"."""
    if match["nth"]:
        return f"{match['word']} {match['nth']}"
    return f"{match['run']} {ORDINALS[match['said'].casefold()]}"


# A code nobody put a word before: "3", "#3", "No. 3", "3b".
_BARE = re.compile(r"(?:#|№|n[°º]|no\.|nr\.)?\s*(\d{1,3}[A-Za-z]?)\Z", re.IGNORECASE)
_SAME_WORD = {
    "grp": "group", "gp": "group", "gr": "group", "sect": "section", "sec": "section",
    "eq": "equipo", "éq": "équipe", "bin": "binôme", "tbl": "table", "stn": "station",
}  # fmt: skip
