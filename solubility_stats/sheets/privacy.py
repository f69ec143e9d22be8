"""People in the data: found by heading and by content, left out, or replaced by keyed codes.

A name, an e-mail address or a student number is recognised so that it never leaves the reader.
Recognition errs on the side of leaving out. A code made with :func:`pseudonym` is pseudonymous,
not anonymous: whoever has the key and a class list can make the code again, so the key is kept
apart from the data (General Data Protection Regulation, Art. 4(5) and recital 29).
"""

from __future__ import annotations

import base64
import hashlib
import hmac
import re
import unicodedata
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Literal

from solubility_stats.errors import InputError
from solubility_stats.quantities import FILL, QUANTITIES

Kind = Literal["name", "e-mail", "student number", "telephone", ""]

REDACTED: dict[str, str] = {
    "name": "[name]",
    "e-mail": "[e-mail]",
    "student number": "[student number]",
    "telephone": "[telephone]",
}

_HEADINGS: tuple[tuple[Kind, re.Pattern[str]], ...] = (
    ("e-mail", re.compile(r"\be-?\s?mail|\bmail address|\bcourriel", re.IGNORECASE)),
    ("telephone", re.compile(r"\bphone|\bmobile\b|\btelephone|\btelefon|\bcell no", re.IGNORECASE)),
    (
        "student number",
        re.compile(
            r"\bstudent\s*(?:id|no|number|nr|#)|\bid\s*(?:number|no)?\s*\(?student|\bmatri[ck]\w*"
            r"|\bnet\s?id\b|\buser\s?(?:name|id)\b|\buniversity id|\bcollege id|\bschool id"
            r"|\bcandidate (?:no|number)|\bstudierenden\w*nummer",
            re.IGNORECASE,
        ),
    ),
    (
        "name",
        re.compile(
            r"\b(?:first|last|full|your|student'?s?|partner'?s?|family|given|sur|fore|member'?s?|ta"
            r"|instructor'?s?|teacher'?s?)\s?names?\b|^\s*names?\s*(?:\(s\)|\d)?\s*$|\bsurname"
            r"|\bnames? of (?:the |all |your |each )*(?:(?:lab|group|team) )?(?:students?|members?|"
            r"partners?|mates?|participants?|everyone|everybody|people)\b"
            r"|\bwho (?:was|is|were|are) (?:in|on) (?:your|the) (?:group|team|bench)\b"
            r"|^\s*(?:students?|partners?|lab partners?|members?|group members?|participants?)"
            r"\s*(?:\d|[a-d])?\s*$|\binitials\b|\b(?:vor|nach|familien)name\b|^\s*pr[ée]nom|^\s*nom\b"
            r"|\bsubmitted by\b|\brecorded by\b|\bentered by\b|\bscribe\b",
            re.IGNORECASE,
        ),
    ),
)
# Every repetition is bounded (64 characters before the @ by RFC 5321), so that no text, however
# long, takes more than a time in proportion to its length.
_EMAIL = re.compile(r"(?<![\w.+-])[\w.+-]{1,64}\s?@\s?[\w-]{1,63}(?:\.[\w-]{1,63}){1,6}")
_NUMBER = re.compile(r"(?<![\w.,])[A-Za-z]{0,3}\d{6,10}(?![\w]|[.,]\d)")
_PHONE = re.compile(
    r"(?<!\d)(?:\+|00)\d[\d ()/-]{6,18}\d|(?:tel|phone|call|mobile)\W{1,3}[\d ()/+-]{6,20}", re.I
)
_WORD = r"[^\W\d_a-z](?:[^\W\d_]|[’'-](?=[^\W\d_])){1,40}"
_PARTICLE = r"(?:van|von|de|der|den|del|della|di|da|la|le|bin|ibn|al|el|ter|zu)"
_FULL_NAME = re.compile(
    rf"\b{_WORD}(?:\s{{1,3}}(?:[^\W\d_a-z]\.|{_PARTICLE})){{0,3}}(?:\s{{1,3}}{_WORD}){{1,2}}\b"
    rf"|\b{_WORD},\s*{_WORD}\b|\b[^\W\d_a-z]\.\s?{_WORD}\b"
)
_ADDRESSED = re.compile(
    rf"\b(?P<lead>Prof(?:essor)?|Dr|Mr|Mrs|Ms|Miss|Herr|Frau|Mme|TA|partner|with|by|ask(?:ed)?|from|thanks"
    rf"|instructor|teacher)(?P<gap>\.?\s+)(?P<name>{_WORD}(?:\s+{_WORD})?)"
)
# Capitalised words of a lab sheet that are no person, and words that start its sentences; every
# word of the vocabulary of headings and choices joins them.
_LAB_WORDS = """
    bunsen erlenmeyer celsius fahrenheit kelvin schott calcium hydroxide sodium potassium chloride
    nitrate sulfate sulphate carbonate base oven plate hot room monday tuesday wednesday thursday
    friday saturday sunday january february march april may june july august september october
    november december am pm the a an we our it this that not some very dried forgot spilled lost
    used first second third last full mean average sd yellow red blue green black orange purple
    pink north south east west morning afternoon evening unknown other please see stream left
    right front back gold silver alpha beta gamma delta epsilon zeta omega sigma distilled
    deionised deionized tap ice magnetic stirrer email e-mail address name names student students
    number id score anything unusual which what how your enter type
"""


# Months that are also given to people.
_FIRST_NAMES = frozenset({"april", "may", "june", "august"})


@lru_cache(maxsize=1)
def _lab_words() -> frozenset[str]:
    words = _LAB_WORDS.split()
    for said in (*QUANTITIES, FILL):
        for phrase in (*said.headings, *(w for c in said.choices for w in (c[0], *c[1]))):
            words += re.findall(r"[^\W\d_]+", phrase)
    return frozenset(w.casefold() for w in words if len(w) > 1)


def personal_kind(heading: str, values: Sequence[object] = ()) -> Kind:
    """Tell whether a column holds personal data, from its heading and its content.

    Parameters
    ----------
    heading : str
        Heading as written; may be empty.
    values : sequence
        Cells of the column; only text and whole numbers matter.

    Returns
    -------
    {"name", "e-mail", "student number", "telephone", ""}
        Empty for a column that is not personal. By content at least half of the cells must
        look alike (judgement).
    """
    words = " ".join(heading.replace("_", " ").split()).rstrip(" :=")
    texts = [str(v).strip() for v in values if isinstance(v, (str, int)) and str(v).strip()]
    coded = bool(texts) and all(map(_CODE.fullmatch, texts)) and bool(_OF_GROUP.search(words))
    for kind, pattern in _HEADINGS:
        if pattern.search(words) and not (coded and kind == "name"):
            return kind
    if not texts:
        return ""
    half = max(len(texts), sum(v is not None for v in values)) / 2  # numbers are no names
    if sum(bool(_EMAIL.search(t)) for t in texts) >= half:
        return "e-mail"
    if sum(bool(_NUMBER.fullmatch(t)) and not _is_date(t) for t in texts) >= half:
        return "student number"
    named = sum(looks_like_name(t) for t in texts) >= half
    return "name" if named and not _OF_SECTION.search(words) else ""


# "Your lab section" over "Tue AM": two capitals make no name.
_OF_SECTION = re.compile(r"\b(?:section|session|period|weekday|lab day|sección|sezione)\b", re.I)
# "Nom de votre groupe" over A1, A2: codes.
_OF_GROUP = re.compile(
    r"\b(?:group|team|bench|groupe|gruppe|grupo|gruppo|groep|équipe|equipo)\b", re.I
)
_CODE = re.compile(r"[A-Za-z]{0,2}[\s-]?\d{1,2}[a-z]?|[A-Z]")


def _is_date(text: str) -> bool:
    return bool(re.fullmatch(r"(?:19|20)\d\d(?:0[1-9]|1[0-2])(?:[0-2]\d|3[01])", text))


def looks_like_name(text: str) -> bool:
    """Tell whether a whole text reads as one or more names of people ("Ada B. Example")."""
    if len(text) > 120:
        return False
    parts = [p for p in re.split(r"\s*(?:[&/;+]|\band\b|\bund\b|\bet\b|\n)\s*", text.strip()) if p]
    return bool(parts) and all(map(_is_name, parts))


def _is_name(text: str) -> bool:
    if any(c.isdigit() for c in text):
        return False
    match = _FULL_NAME.fullmatch(text.strip())
    return match is not None and not _is_lab_talk(match[0])


def may_be_name(word: str) -> bool:
    """Tell whether a part of a list of people may be one of them: "Ada", "A. Example"."""
    return _PERSON.fullmatch(word) is not None and not _is_lab_talk(word)


_PERSON = re.compile(rf"{_WORD}(?:\s+(?:{_WORD}|[^\W\d_a-z]\.?)){{0,2}}|[^\W\d_a-z]\.?\s?{_WORD}")


def _is_lab_talk(phrase: str) -> bool:
    """Tell lab words from a name: surnames may be lab words ("Green"), first names hardly are."""
    words = [w.casefold() for w in re.findall(r"[^\W\d_]+", phrase) if len(w) > 1]
    lab = [w in _lab_words() for w in words]
    return bool(lab) and (all(lab) or (lab[0] and words[0] not in _FIRST_NAMES))


def names_in(values: Iterable[object]) -> frozenset[str]:
    """Return the single names in the cells of a name column, for :func:`scrub`."""
    found = set()
    for value in values:
        for word in re.findall(_WORD, str(value)):
            if word.casefold() not in _lab_words():
                found.add(word)
    return frozenset(found)


# Notes of the reader that end in what somebody wrote: "put right by the remark of the run: '…'".
_QUOTES = re.compile(
    r"(?P<before>.*\b(?:remark|with its paper|damp|excepted in|is said|under)\b[^']*')"
    r"(?P<said>.*)(?P<after>'.*)",
    re.DOTALL,
)


def scrub_quoted(note: str, names: Iterable[str] = ()) -> str:
    """Return a note of the reader with the remark that it quotes scrubbed.

    Parameters
    ----------
    note : str
        A note on a reading, or why a run was set aside.
    names : iterable of str
        Names known from other columns.
    """
    found = _QUOTES.fullmatch(note)
    return found["before"] + scrub(found["said"], names) + found["after"] if found else note


def scrub(text: str, names: Iterable[str] = ()) -> str:
    """Return a remark with e-mail addresses, telephone and student numbers and names left out.

    Parameters
    ----------
    text : str
        Free text.
    names : iterable of str
        Names known from other columns; every occurrence goes, whatever stands around it.
    """
    text = _EMAIL.sub(REDACTED["e-mail"], text)
    text = _PHONE.sub(REDACTED["telephone"], text)
    text = _NUMBER.sub(lambda m: m[0] if _is_date(m[0]) else REDACTED["student number"], text)
    known = sorted((n for n in names if n), key=len, reverse=True)
    # A short name is a name only as written: "Al" is a person, "al" may be anything.
    for short, flags in ((False, re.IGNORECASE), (True, re.NOFLAG)):
        if some := [re.escape(n) for n in known if (len(n) < 3) == short]:
            pattern = rf"\b(?:{'|'.join(some)})\b(?:['’]s)?"
            text = re.sub(pattern, REDACTED["name"], text, flags=flags)
    text = _ADDRESSED.sub(_without_name, text)
    return _FULL_NAME.sub(lambda m: m[0] if _is_lab_talk(m[0]) else REDACTED["name"], text)


def _without_name(match: re.Match[str]) -> str:
    if _is_lab_talk(match["name"]):
        return match[0]
    return f"{match['lead']}{match['gap']}{REDACTED['name']}"


def pseudonym(group: str, key: str | bytes) -> str:
    """Return a short code for a group that only the holder of the key can make again.

    Parameters
    ----------
    group : str
        Group code as written; case and surrounding spaces do not matter.
    key : str or bytes
        Secret of at least eight bytes, kept apart from the data.

    Returns
    -------
    str
        ``"G-XXXX-XXXX"``, 40 bits of an HMAC with SHA-256 (RFC 2104): among 5 000 groups two
        share a code with a probability of about 1 in 90 000.

    Raises
    ------
    InputError
        If the key is too short to be secret.
    """
    secret = key.encode("utf-8") if isinstance(key, str) else key
    if len(secret) < 8:
        raise InputError(
            "the key is too short to protect anybody",
            where="pseudonym key",
            found=f"{len(secret)} bytes",
            expected="8 bytes or more",
            remedy="Use a random key, e.g. from secrets.token_hex(16), and keep it apart.",
        )
    name = " ".join(unicodedata.normalize("NFKC", group).casefold().split())
    digest = hmac.new(secret, b"group:" + name.encode("utf-8"), hashlib.sha256).digest()
    code = base64.b32encode(digest[:5]).decode("ascii")
    return f"G-{code[:4]}-{code[4:]}"
