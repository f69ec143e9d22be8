"""Words that name one of a few choices: how it was filtered, whether the beam was seen."""

from __future__ import annotations

import re
from functools import lru_cache

from solubility_stats.quantities import Quantity
from solubility_stats.sheets.beam import asks_for_beam, asks_for_clear, beam_meant, beam_said
from solubility_stats.sheets.words import HEDGES, NOT_DONE, SHORTENED, denials, flag, letters

_TICKED = re.compile(r"(?:\[\s*[xX✓✔*]\s*\]|[☒☑✅])\s*([^\[\]☐☒☑✅]+)")


# A Büchner funnel is no plain funnel.
_BUCHNER = re.compile(
    r"\b(?:funnel|trichter|entonnoir|embudo|funil|imbuto|trechter|tratt|tragt|trakt|lejek|nálevka|"
    r"huni|suppilo)\s+(?:(?:de|di|von|typu)\s+)?b(?:ü|u|ue)chner\w*"
    r"|\bb(?:ü|u|ue)chner\w*\s+(?:entonnoir|huni\w*|suppilo\w*|nálevk\w*|trechter|tratt|tragt)\b"
)


@lru_cache(maxsize=512)
def choice(text: str, quantity: Quantity) -> tuple[str | None, str]:
    """Find the choice a text names.

    Parameters
    ----------
    text : str
        What was written, e.g. ``"Vac. (Büchner)"``.
    quantity : Quantity
        A quantity with choices.

    Returns
    -------
    word : str or None
        The canonical word, ``None`` if none or several fit.
    note : str
        How it was understood or why not.
    """
    if len(ticked := _TICKED.findall(text)) == 1 and re.search(r"[\[☐]", _TICKED.sub("", text)):
        text = ticked[0].strip()  # "[X] vacuum  [ ] gravity"
    said = _BUCHNER.sub("buchner", letters(text))
    if "?" in text or HEDGES & set(said.split()):
        return None, f"'{text}' is not sure"
    table = {letters(w): word for word, words in quantity.choices for w in (word, *words)}
    signs = {w: word for word, words in quantity.choices for w in words if not letters(w)}
    table.pop("", None)  # a sign has no letters, but not every sign is "+"
    if not said:
        word = signs.get(text.strip())
        return word, "" if word else f"'{text}' is none of {_listed(quantity)}"
    if said in table:
        return table[said], ""
    if (meant := _said_twice(text, table, quantity)) is not None:
        return meant, f"'{text}' read as {meant}"
    first, _, rest = said.partition(" ")
    if denials(first):
        # "no scatter": the negation is itself a word of one choice, the rest names another.
        if first in table and rest in table and table[rest] != table[first]:
            return table[first], f"'{text}' read as {table[first]}"
        if first in table and _named(rest, table) == {table[first]}:
            return table[first], f"'{text}' read as {table[first]}"  # "no it's clear"
        return None, f"'{text}' denies something; it does not say what was done"
    if denials(said):
        return None, f"'{text}' denies something; it does not say what was done"
    fits = _named(said, table)
    if len(fits) == 1:
        word = fits.pop()
        return word, f"'{text}' read as {word}"
    if len(fits) > 1:
        return None, f"'{text}' names more than one of {_listed(quantity)}"
    return _misspelt(said, text, table, quantity)


def _said_twice(text: str, table: dict[str, str], quantity: Quantity) -> str | None:
    """Return the choice of "no beam, clear": one part names it, the others do not name another."""
    parts = [p for p in re.split(r"[,;()]", text) if p.strip()]
    if len(parts) < 2 or any(flag(p.strip()) is not None for p in parts):
        return None  # yes and no answer the heading, and name nothing
    found = {c for p in parts if (c := choice(p, quantity)[0])}
    silent = [letters(p) for p in parts if choice(p, quantity)[0] is None]
    plain = [p for p in silent if not denials(p)]
    others = set().union(*(_named(p, table) for p in plain), set())
    return next(iter(found)) if len(found) == 1 and others <= found else None


def _named(said: str, table: dict[str, str]) -> set[str]:
    """Return the choices a text names; "Büchner funnel" is no plain funnel."""
    found = [w for w in table if len(w) > 2 and re.search(rf"\b{re.escape(w)}\b", said)]
    whole = [w for w in found if not any(w != other and w in other for other in found)]
    return {table[w] for w in whole}


@lru_cache(maxsize=512)
def answer(text: str, quantity: Quantity, heading: str) -> tuple[str | None, str] | None:
    """Read a plain yes or no below a heading that names a choice ("Vacuum? (Y/N)").

    Returns
    -------
    tuple of (str or None, str) or None
        Choice and remark like :func:`choice`; ``None`` if the heading names no choice or the text
        is no yes or no, so that the text speaks for itself.
    """
    yes = True if text.strip() in ("x", "X") else _yes(text, heading)  # ticked
    if quantity.name == "scatter" and _FAINTLY.fullmatch(text):
        yes = True
    words = [word for word, _ in quantity.choices]
    if yes is None or len(words) != 2:
        return None
    table = {letters(w): word for word, said in quantity.choices for w in (word, *said)}
    plain = {w: c for w, c in table.items() if flag(w) is None}
    asked_words = re.sub(r"\b(?:yes|y)\b\W*(?:or\W+)?\b(?:no|n)\b", " ", heading, flags=re.I)
    asked_words = re.sub(r"\([^)]*\)", " ", asked_words) if "?" in heading else asked_words
    asked_words = re.sub(r"\bclear (?=liquid|filtrate|solution|water|lime)", " ", asked_words)
    question, _, key = asked_words.partition("?")
    if "=" in key and _named(letters(question), plain):
        asked_words = question  # "Pump used?", and then a key of both answers
    named = _named(letters(asked_words), plain)
    if not named:
        return None
    if len(named) > 1 or denials(letters(asked_words)):
        return None, f"'{text}' does not answer '{heading}'"
    asked = named.pop()
    meant = asked if yes else next(w for w in words if w != asked)
    return meant, f"'{text}' below '{heading}' read as {meant}"


_OUI = re.compile(r"\(?\b[oO]\s?/\s?[nN]\b\)?")  # oui ou non


def _yes(value: object, heading: str) -> bool | None:
    """Return yes or no, ``None`` for another word; O is yes below "(O/N)"."""
    return True if str(value).strip() in ("O", "o") and _OUI.search(heading) else flag(value)


_SIGN = r"[^\w\s,;:=()\[\]/|.'\"?!&%°]"


_PAIR = re.compile(
    rf"(?<!\w)({SHORTENED}|[^\W_]{{1,5}}|{_SIGN})\s*(?:=|:|for)\s*([^,;/|=]+?)(?=\s*(?:[,;/|)\]]|\Z))"
)


# "(+ beam seen, − not seen)"
_SIGNED = re.compile(rf"(?<![\w=])({_SIGN})\s+(?!=)([^,;/|=()]{{3,}}?)(?=\s*(?:[,;/|)\]]|\Z))")


# "Büchner (B) or fluted paper (F)", "not seen (n. s.)"
_CODED = re.compile(rf"([^\W\d_][^()/,;]*?)\s*\(([^\W_]{{1,2}}|{SHORTENED})\)")


_OR = r"(?:\s+(?:or|oder|ou|o|of|eller|lub)\s+|\s*/\s*)"


_EITHER = re.compile(rf"([^\W\d_][\w-]*){_OR}([^\W\d_][\w-]*)(?:\s+([^\W\d_]+))?", re.IGNORECASE)


# Büchner or gravity.
_B_OR_G = re.compile(rf"(?<!\w)(?:B{_OR}G|G{_OR}B)(?!\w)")


@lru_cache(maxsize=512)
def one_of_two(text: str, quantity: Quantity, heading: str) -> tuple[str | None, str] | None:
    """Read "plain" below "Buchner or plain funnel", or "S" below "Suction/gravity".

    Returns
    -------
    tuple of (str or None, str) or None
        Choice and remark like :func:`choice`; ``None`` if the heading does not settle it.
    """
    if quantity.name == "filtration" and text.strip(" .") in "Bb" and _B_OR_G.search(heading):
        return "vacuum", f"'{text}' below '{heading}' read as Büchner"
    heading = re.sub(r"\bpaper filter\b", "paper", heading, flags=re.IGNORECASE)
    text = re.sub(r"\A\s*(?:just|only)\s+(?:the\s+)?", "", text)
    found = [pair for pair in _EITHER.findall(heading) if min(map(len, pair[:2])) > 1]
    words = [word for word, _ in quantity.choices]
    if quantity.name != "filtration" or len(found) != 1 or len(words) != 2:
        return None
    first, second, thing = found[0]
    said = letters(text)
    pair = [letters(first), letters(second)]
    initials = [p[:1] for p in pair]
    if said in initials and initials[0] != initials[1]:
        said = pair[initials.index(said)]
    if said not in {*pair, *(f"{p} {letters(thing)}" for p in pair)}:
        return None
    mine = 0 if said.split()[0] == pair[0] else 1
    alone, with_thing = ([choice(f"{p}{t}", quantity)[0] for p in pair] for t in ("", f" {thing}"))
    if thing and with_thing[1] and not alone[1]:
        with_thing[0] = None  # "simple / sous vide": the last word belongs to the second
    meant = [a or b for a, b in zip(alone, with_thing, strict=True)]
    other = meant[1 - mine]
    word = meant[mine] or next((w for w in words if other and w != other), None)
    if word is None or word == other:
        return None
    return word, f"'{text}' below '{heading}' read as {word}"


@lru_cache(maxsize=512)
def coded(text: str, quantity: Quantity, heading: str) -> tuple[str | None, str] | None:
    """Read a code by what the heading says of it: "Y = beam visible, N = not"."""
    pairs = _PAIR.findall(heading)
    pairs += [(code, said) for said, code in _CODED.findall(heading)]
    pairs += _SIGNED.findall(heading)
    codes: dict[str, str | None] = {}
    code = _one_dash(text.strip())
    for sign, said in pairs:
        meant = meaning(said, quantity)
        if meant is not None or not NOT_DONE.search(said):
            codes.setdefault(_one_dash(sign), meant)
        elif _one_dash(sign) == code:
            return None, f"'{text}' is explained as '{said.strip()}'"
    known = {c for c in codes.values() if c}
    if len(codes) == 1 and flag(text) is not None and code not in codes:
        explained = flag(next(iter(codes)))
        if explained is not None and explained != flag(text):
            codes[code] = None  # "no = gravity" explains yes, too
    if code not in codes and len(codes) == len(known) == 1:
        ((explained_code, meant),) = codes.items()
        usual = choice(explained_code, quantity)[0]
        if usual and usual != meant and choice(text, quantity)[0]:
            return None, f"'{text}' is not explained, and '{explained_code}' means the unusual"
    if code not in codes or not known:
        return None
    word = codes[code]
    words = [w for w, _ in quantity.choices]
    if word is None and len(codes) == len(words) == 2 and len(known) == 1:
        word = next(w for w in words if w not in known)  # "N = not" is the other one
    return (word, f"'{text}' read as {word}, as the heading explains") if word else None


def _one_dash(code: str) -> str:
    """Return a code in the form in which two of them are compared: "n. s." is "n.s"."""
    return re.sub(r"(?<=\w)\.\s*", "", re.sub("[–−—]", "-", code)).strip().casefold()


def meaning(said: str, quantity: Quantity) -> str | None:
    """Return the choice that the explanation of a code names."""
    word = choice(said, quantity)[0]
    return word or (beam_meant(said) if quantity.name == "scatter" else None)


# "gravity – the aspirators were off": what was done, and why.
_AND_WHY = re.compile(r"\s*([^,;:()–—]+?)\s*(?:[,;:(–—]|\s-\s)\s*(\S.*)", re.DOTALL)


_WHY = re.compile(
    r"\b(?:off|broken|broke|out of order|not work\w*|no pumps?|no vacuum|taken|down|busy|missing|"
    r"because|since|as the|defekt|kaputt|en panne)\b",
    re.IGNORECASE,
)


def reason_behind(text: str, quantity: Quantity) -> tuple[str | None, str] | None:
    """Read "gravity (the pump was broken)": the reason names what was not done."""
    found = _AND_WHY.fullmatch(text)
    if found is None or not _WHY.search(found[2]) or "?" in text:
        return None
    word = choice(found[1], quantity)[0]
    rest = _named(letters(found[2]), {letters(w): c for c, ws in quantity.choices for w in ws})
    return (word, f"'{text}' read as {word}") if word and word not in rest else None


# "n.t." and "n-t" are no "no".
YES_OR_NO = re.compile(r"\s*(?!\w[.-]\s?\w\b)(\w+)\s*[,;:.(–—-]+\s*(\S.*)", re.DOTALL)


def answer_first(text: str, quantity: Quantity, heading: str) -> tuple[str | None, str] | None:
    """Read "No, the filtrate was clear": an answer and words that say the same or nothing."""
    found = YES_OR_NO.fullmatch(text)
    if found is None or flag(found[1]) is None or "?" in text:
        return None
    said = (
        sees_beam(found[1], quantity, heading)
        or answer(found[1], quantity, heading)
        or choice(found[1], quantity)
    )
    rest = letters(found[2])
    table = {letters(w): word for word, words in quantity.choices for w in (word, *words)}
    plain = {w: c for w, c in table.items() if flag(w) is None}
    denied = bool(denials(rest))
    if said[0] is None or HEDGES & set(rest.split()) or (denied and flag(found[1])):
        return None
    named = set() if denied else _named(rest, plain)
    return (said[0], f"'{text}' read as {said[0]}") if named <= {said[0]} else None


def _misspelt(
    said: str, text: str, table: dict[str, str], quantity: Quantity
) -> tuple[str | None, str]:
    """Accept a misspelling only if it is near one choice and far from all others."""
    from rapidfuzz import fuzz

    scores: dict[str, float] = {}
    for w, word in table.items():
        # Letters before a word deny it ("niewidoczna"), they are no slip of the pen.
        if len(w) > 4 and w[0] == said[:1]:
            scores[word] = max(scores.get(word, 0.0), fuzz.ratio(said, w))
    ranked = sorted(scores, key=scores.__getitem__, reverse=True)
    rival = scores[ranked[1]] if len(ranked) > 1 else 0.0
    if len(said) > 3 and ranked and scores[ranked[0]] >= 80 and rival < 60:
        return ranked[0], f"'{text}' read as {ranked[0]}"
    return None, f"'{text}' is none of {_listed(quantity)}"


def _listed(quantity: Quantity) -> str:
    return ", ".join(word for word, _ in quantity.choices)


def beam_after_answer(text: str, quantity: Quantity, heading: str) -> tuple[str | None, str] | None:
    """Read "Yes, could not see the beam" below "Was the filtrate clear?".

    The words tell; an answer that says something else by its heading leaves it open.
    """
    found = YES_OR_NO.fullmatch(text)
    if quantity.name != "scatter" or found is None or flag(found[1]) is None or "?" in text:
        return None
    said = beam_said(found[2].strip(" ."))
    asked = sees_beam(found[1], quantity, heading) or answer(found[1], quantity, heading)
    if said is None or asked is None:
        return None
    if asked[0] not in (None, said):
        return None, f"'{text}' answers '{heading}' and says something else"
    return said, f"'{text}' read as {said}"


def says_no_effect(text: str, quantity: Quantity, heading: str) -> bool:
    """Tell whether "brak" answers for the Tyndall effect: none seen, and not none noted."""
    return (
        quantity.name == "scatter" and asks_for_beam(heading) and text.strip().casefold() == "brak"
    )


_FAINTLY = re.compile(
    r"\s*(?:only |just |very |yes,? |y,? )*"
    r"(?:slightly|faintly|barely|weakly|a (?:little|bit|tiny bit)|faint|"
    r"un peu|ein wenig|etwas|schwach|un poco|um pouco|een beetje|lite|litt|lidt|trochę)\W*",
    re.IGNORECASE,
)
_WORD_OR_BOOL = re.compile(r"[^\W\d_]")


def sees_beam(value: object, quantity: Quantity, heading: str) -> tuple[str, str] | None:
    """Read a plain yes or no below a question for the beam, in any of the languages."""
    yes = None
    if quantity.name == "scatter" and asks_for_beam(_OUI.sub(" ", heading)):
        yes = _yes(value, heading)
    elif quantity.name == "scatter" and asks_for_clear(_OUI.sub(" ", heading)):
        clear = _yes(value, heading)
        yes = None if clear is None else not clear
    # A tick below "laser" may say that the beam was seen, or that the filtrate passed.
    if yes is None or not _WORD_OR_BOOL.search(str(value)) or isinstance(value, int):
        return None
    word = "visible" if yes else "clear"
    return word, f"'{value}' below '{heading}' read as {word}"
