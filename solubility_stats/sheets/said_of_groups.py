"""What a sentence says of some groups by their codes: "groups 1-3 vacuum, the others gravity"."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence, Set

from solubility_stats.sheets.beam import beam_meant
from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.said_filtrations import REASON, ways_named
from solubility_stats.sheets.said_temperatures import degrees_in, of_room
from solubility_stats.sheets.some_groups import BETWEEN, GROUPS, LIST, OTHERS

_ALL_BUT = re.compile(
    r"\b(?:all|every\w*|alle|tous|todos|tutti)\b.*\b(?:except|but|apart from|außer|sauf|excepto|"
    r"salvo|tranne)\W*\Z",
    re.IGNORECASE | re.DOTALL,
)
_LIGHT = re.compile(r"\b(?:laser|beam|tyndall|strahl|rayo|faisceau|haz|raggio)", re.IGNORECASE)


# "Their aspirator was leaking": why, and not how.
_FAILED = re.compile(
    r"[^,;()]*\b(?:leak\w*|broke\w*|down|dead|died|out of order|kaputt|defekt|en panne)\b[^,;()]*",
    re.IGNORECASE,
)


def _filtration(text: str, whole: str) -> str | None:
    named = ways_named(_FAILED.sub(" ", REASON.sub(" ", text))) - {None}
    return named.pop() if len(named) == 1 else None


def _scatter(text: str, whole: str) -> str | None:
    return beam_meant(text) if _LIGHT.search(whole) else None


def _temperature(text: str, whole: str) -> str | None:
    return None if of_room(whole) else degrees_in(text) or None


_ASKED: Mapping[str, Callable[[str, str], str | None]] = {
    "filtration": _filtration,
    "scatter": _scatter,
    "temperature_c": _temperature,
}


def heed_groups(
    drafts: Sequence[Draft], cells: Sequence[RawCell], taken: Set[str], book: Book
) -> None:
    """Give the groups of a table what the sentences around it say of each by its code.

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of one table; changed in place.
    cells : sequence of RawCell
        Cells above and below the table.
    taken : set of str
        Columns of the table itself.
    book : Book
        The ledger of the sheet.
    """
    groups = {str(d.values.get("group") or "").casefold() for d in drafts} - {""}
    for cell in cells if groups else ():
        if not isinstance(cell.value, str):
            continue
        for column in _ASKED.keys() - taken:
            told = said_of_groups(cell.text, column, groups)
            for draft in drafts:
                word = told.get(str(draft.values.get("group") or "").casefold())
                parsed = parse_said(word, column) if word else None
                if parsed is None or parsed.value is None or column in draft.unread:
                    continue
                if not any(map(is_reading, draft.values)):
                    continue
                draft.take(column, parsed)
                note = "says it of some groups by their codes"
                book.enter(cell, Entry("context", column, note=note), again=True)


def said_of_groups(text: str, column: str, groups: Set[str]) -> dict[str, str]:
    """Return what a text says of the groups it names, by the code of each.

    Parameters
    ----------
    text : str
        "Groups 1, 2 and 5 filtered by gravity, the others by vacuum."
    column : str
        ``filtration``, ``scatter`` or ``temperature_c``.
    groups : set of str
        The codes of the groups in the table, in small letters.

    Returns
    -------
    dict of str to str
        Empty where it names other groups, says two things of one, or it cannot be told of whom.
    """
    pattern = _mentions(groups)
    look = _ASKED[column]
    found: dict[str, str] = {}
    for sentence in re.split(r"(?<=[.;!])\s+(?=\D)|\n", text):
        for codes, value in _told(sentence, pattern, lambda t: look(t, text), groups).items():
            for code in codes:
                if found.setdefault(code, value) != value:
                    return {}
    rest = _of_the_rest(text, pattern, lambda t: look(t, text))
    if rest is not None and found:
        found |= {code: rest for code in groups - found.keys()}
    return found


def _mentions(groups: Set[str]) -> re.Pattern[str]:
    """Return the pattern of a list of groups: behind the word, by name, or behind a colon."""
    names = sorted((re.escape(g) for g in groups if g.isalpha() and len(g) > 2), key=len)
    words = "|".join(reversed(names)) or r"(?!)"
    named = rf"\b(?:{words})\b(?:{BETWEEN}(?:{words})\b)*"
    return re.compile(
        rf"{GROUPS}(?P<list>{LIST})|(?P<names>{named})|(?<=:)\s*(?P<bare>{LIST})(?=\s*(?:[.;\n]|\Z))",
        re.IGNORECASE,
    )


def _told(
    sentence: str,
    pattern: re.Pattern[str],
    look: Callable[[str], str | None],
    groups: Set[str],
) -> dict[tuple[str, ...], str]:
    """Return what one sentence says of the groups it names, where each has its own words."""
    hits = list(pattern.finditer(sentence))
    if not hits:
        return {}
    ends = [0, *(h.end() for h in hits)]
    others = re.search(OTHERS, sentence, re.IGNORECASE)
    last = others.start() if others and others.start() > hits[-1].end() else len(sentence)
    starts = [*(h.start() for h in hits), last]
    pieces = [sentence[a:b] for a, b in zip(ends, starts, strict=True)]
    if _ALL_BUT.search(pieces[0]):
        pieces[0] = ""
    for chosen in (pieces[1:], pieces[:-1]):
        values = [look(piece) for piece in chosen]
        if all(values):
            told: dict[tuple[str, ...], str] = {}
            for hit, value in zip(hits, values, strict=True):
                codes = _codes(hit)
                if not codes or not {*codes} <= groups:
                    return {}
                told[codes] = str(value)
            return told
    return {}


def _of_the_rest(
    text: str, pattern: re.Pattern[str], look: Callable[[str], str | None]
) -> str | None:
    """Return what a text says of all the groups that it does not name."""
    if others := re.search(OTHERS, text, re.IGNORECASE):
        behind = text[others.end() :]
        hit = pattern.search(behind)
        return look(behind[: hit.start()] if hit else behind)
    hit = pattern.search(text)
    before = text[: hit.start()] if hit else ""
    return look(before) if _ALL_BUT.search(before) else None


def _codes(hit: re.Match[str]) -> tuple[str, ...]:
    """Return the codes of a list, a range of numbers written out."""
    listed = hit["list"] or hit["names"] or hit["bare"] or ""
    parts = re.split(rf"({BETWEEN})", listed, flags=re.IGNORECASE)
    codes = [parts[0].strip()]
    for sign, code in zip(parts[1::2], parts[2::2], strict=True):
        first, last = codes[-1], code.strip()
        if sign.strip().casefold() in ("-", "–", "to", "bis", "à", "a"):
            if not (first.isdigit() and last.isdigit() and int(first) < int(last)):
                return ()
            codes += [str(n) for n in range(int(first) + 1, int(last))]
        codes.append(last)
    return tuple(c.casefold() for c in codes)
