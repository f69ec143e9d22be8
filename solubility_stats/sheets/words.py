"""Cells that hold words: missing-value marks, choices, yes and no, group codes."""

from __future__ import annotations

import re
import unicodedata

from solubility_stats.sheets.numbers import tidy

# A writer who puts one of these says that there is no value.
MISSING = frozenset(
    {
        *("n/a", "na", "n.a.", "n.a", "#n/a", "nan", "nd", "n.d.", "n.d", "null", "blank"),
        *("-", "--", "---", "–", "––", "–––", ".", "..", "...", "/", "//", "missing"),
        *("notrecorded", "notmeasured", "notdone", "notused", "notapplicable", "notavailable"),
        *("nodata", "novalue", "unused", "k.a.", "keineangabe", "fehlt", "—", "brak", "brakdanych"),
        *("nichtgemessen", "nichtnotiert", "nonmesuré", "nonrelevé", "nonmisurato", "nomedido"),
        *("nãomedido", "nietgemeten", "ontbreekt", "ejmätt", "saknas", "ikkemålt", "mangler"),
        *(
            "nonfait",
            "nonfaite",
            "pasfait",
            "pasfaite",
            "nonfatto",
            "nonfatta",
            "nãofez",
            "nohecho",
        ),
        *("ölçülmedi", "olculmedi", "yapılmadı", "bakılmadı", "tartılmadı", "eimitattu"),
        *("eitehty", "puuttuu", "neměřeno", "nezměřeno", "neprovedeno", "nesušeno", "chybí"),
    }
)


YES = frozenset(
    {
        *("yes", "y", "true", "t", "1", "✓", "✔", "√", "☑", "✅", "done", "ok"),
        *("ja", "j", "oui", "si", "sì", "sí", "sim", "tak", "ano", "kyllä", "evet", "joo"),
    }
)


_NO = frozenset(
    {
        *("no", "n", "nope", "nah", "false", "f", "0", "✗", "✘", "☐", "❌", "not", "never"),
        *("not quite", "not yet"),
        *("nein", "non", "nee", "neen", "não", "nie", "nej", "nei", "ei", "ne", "hayır"),
    }
)


NEGATIONS = frozenset(
    {
        *(
            "no",
            "not",
            "non",
            "nee",
            "niet",
            "geen",
            "nicht",
            "kein",
            "keine",
            "without",
            "never",
            "instead",
            "isn't",
        ),
        *(
            "wasn't",
            "didn't",
            "couldn't",
            "failed",
            "broken",
            "broke",
            "off",
            "ohne",
            "sans",
            "pas",
            "sin",
            "sem",
            "não",
            "senza",
            "zonder",
            "geen",
        ),
        *("utan", "uten", "uden", "inte", "ikke", "bez", "nie", "ei", "eivät", "není", "değil"),
    }
)


# "can't", "cant", "cannot", "couldnt"
_CONTRACTED = re.compile(r"\w+n't|cannot|(?:ca|could|did|does|do|was|is|wo|would|has|have|had)nt")


def denials(said: str) -> set[str]:
    """Return the words of a text, in plain letters, that deny something."""
    return {w for w in said.split() if w in NEGATIONS or _CONTRACTED.fullmatch(w)}


HEDGES = frozenset(
    {"almost", "nearly", "mostly", "partly", "fairly", "maybe", "probably", "perhaps"}
)


_NONE = frozenset(
    {"", "-", "–", "—", "--", "n/a", "na", "none", "nil", "n.a.", "/", "no", "no more",
     "not needed", "keine", "keiner", "aucun", "aucune", "ninguna", "ninguno", "nessuno", "nessuna",
     "nenhum", "nenhuma", "geen", "ingen", "inget", "intet", "brak"}
)  # fmt: skip


def says_none(text: str) -> bool:
    """Tell whether a text says that there was nothing to read, not that a reading is lost."""
    return text.strip(" .").casefold() in _NONE


def says_missing(text: str) -> bool:
    """Tell whether a text means "no value"."""
    return re.sub(r"\s+", "", tidy(text)).casefold() in MISSING


def clean_text(text: str) -> str:
    """Return free text composed, with odd spaces and invisible characters made plain."""
    text = unicodedata.normalize("NFC", text)
    text = re.sub("[\u200b\u200e\u200f\u2060\ufeff\u00ad]", "", text)
    return " ".join(text.split())


def identifier(value: object, number_format: str = "General") -> str:
    """Return a group, section or balance code as text: "007" stays "007", 3.0 becomes "3"."""
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        value = int(value)
    if isinstance(value, int) and not isinstance(value, bool):
        if re.fullmatch(r"0{2,}", number_format):
            return str(value).zfill(len(number_format))
        return str(value)
    if isinstance(value, str) and value.isascii() and value.isalnum():
        return value  # nearly every code
    # "1º B" is no "1o B".
    whole = re.split("([ºª])", str(value))
    plain = (t if t in "ºª" else unicodedata.normalize("NFKC", t) for t in whole)
    text = clean_text("".join(plain))
    return re.sub(r"(?<=\w)\s*[*†‡§]+$", "", text)


def flag(value: object) -> bool | None:
    """Return yes or no, ``None`` if the word is neither."""
    if isinstance(value, bool):
        return value
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    word = tidy(str(value)).casefold().strip(" .!")
    if word in YES:
        return True
    return False if word in _NO else None


# "w.p.", "n. s.", "gr."
SHORTENED = r"(?:[^\W\d_]{1,3}\.[^\S\n]?){1,3}"


# "n.d. = not determined" and "N = not tested" explain a code that gives no value.
NOT_DONE = re.compile(
    r"\b(?:determined|tested|done|tried|measured|checked|recorded|bestimmt|getestet|gemessen|"
    r"mesuré|testé|fait|medido|misurato|målt|mätt|absent|forgot\w*|missing)\b",
    re.IGNORECASE,
)


def letters(text: str) -> str:
    """Return the words of a text in lower case, without signs."""
    plain = re.sub(r"\bw/o\b", "without", tidy(re.sub("[’´`ʼ]", "'", text)).casefold())
    return " ".join(re.sub(r"[^\w']+", " ", plain).split())
