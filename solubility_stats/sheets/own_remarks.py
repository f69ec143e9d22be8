"""What the remark of a run says against its own readings: "dry mass is 1.72 not 1.92", "VOID".

A reading that its own line calls wrong is left out, or put right where both figures are said; a
run that is called void is set aside. Remarks on how it went ("spilled a little") change nothing,
and neither do those that say that all is well now ("typed it wrong the first time").
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from solubility_stats.quantities import fill_columns, is_canonical, quantity
from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.field import Field
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.said_filtrations import HOW
from solubility_stats.sheets.units import unit_in_heading

# "Balance said 25.1?? maybe 2.51" beside a reading of 25.1
_DOUBTS = re.compile(
    r"\?\?|\b(?:maybe|perhaps|probably|typo|misread|mistyped|meant|not sure|unsure|wrong|"
    r"should(?: be| have been|'ve been)|vielleicht|peut-être|quizás?|talvez|forse|misschien)\b|"
    r"\d\s*\?",
    re.IGNORECASE,
)
# "used 300 because they misread the sheet" says that 300 it was
_USED = re.compile(
    r"\b(?:used|took|added|weighed)\s+(?P<figure>\d+[.,]\d+|\d{3,})(?![\w.,]*\d)(?!\s*\w*\s*\?)",
    re.IGNORECASE,
)
_FIGURE = re.compile(r"(?<![\w.,])(?:\d+[.,]\d+|\d{3,})(?![\w]|[.,]\d)")
# What was wrong is right now, or was so in another submission.
_ALL_WELL = re.compile(
    r"\b(?:zero\w*|fixed|correct\w*|re-?submi\w*|first|before|previous\w*|now|earlier|removed|"
    r"again|redone|redid|afterwards?|subtracted|use th(?:is|ese)|(?:this|these|is|are|numbers) "
    r"(?:is |are )?(?:the )?right|other (?:one|submission)|second (?:time|submission)|sent)\b",
    re.IGNORECASE,
)
_NUMBER = r"\d*[.,]?\d+"
_UNIT = r"(?:m?g|m[lL]|cm3|cm³|L|°?\s?[CF]|min)?"
# "1.72 not 1.92", "used 250 mL instead of 200", "1.92 should be 1.72", "not 1.92 but 1.72"
_PUT_RIGHT = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"(?<![\w.,])(?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})\s*,?\s*(?:and )?(?:not|instead of)\s+"
        rf"(?P<was>{_NUMBER})(?![\w]*[.,]?\d)",
        rf"\bnot (?P<was>{_NUMBER})\s*{_UNIT}\s*,?\s*but "
        rf"(?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})(?!\w)",
        rf"\b(?:wrote|typed|put|says) (?P<was>{_NUMBER})\s*{_UNIT}\s*,?\s*but "
        rf"(?:it |that )?(?:was|is|should be) (?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})(?!\w)",
        rf"(?<![\w.,])(?P<was>{_NUMBER})\s*{_UNIT}\s*is (?:a )?(?:typo|mistake|wrong|misread)\b"
        rf"[^;!?]*?\b(?:says|reads|reading|shows|is|was|be|meant)\s+(?P<now>{_NUMBER})\s*"
        rf"(?P<unit>{_UNIT})(?!\w)",
        rf"(?<![\w.,])(?P<was>{_NUMBER})\s*{_UNIT}\s*(?:should|must) (?:be|read|say|have been) "
        rf"(?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})(?!\w)",
    )
)
# "typo in dry mass", "wrong water volume", "wrote the paper mass down wrong"
_CALLED_WRONG = re.compile(
    r"\b(?:typo|mistake|error)\s+(?:in|with|for|on)\s+(?:the |our |my )?(?P<a>[^\d,.;:!?]+)"
    r"|\bwrong\s+(?P<b>[^\d,.;:!?]+)"
    r"|\b(?:typed|wrote|entered|read|put)\s+(?:the |our |my )?(?P<c>[^\d,.;:!?]+?)\s+"
    r"(?:down |in )?wrong(?:ly)?\b"
    r"|\b(?P<d>[^\d,.;:!?]+?)\s+(?:is|was|are) (?:wrong|a typo|made up|invented|a guess)\b",
    re.IGNORECASE,
)
# "use 1.358 for lime", "papier is 0,87 g, hiernaast verkeerd overgenomen"
_USE = re.compile(
    rf"\b(?:please )?use (?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})\s+(?:for|as) (?:the |our )?"
    r"(?P<what>[^\d,.;:!?]+)",
    re.IGNORECASE,
)
_IS = re.compile(
    r"\b(?P<what>[^\W\d][^\d,.;:!?]*?)\s+(?:is|was|ist|war|est|était|es|era|è|to|=)\s+"
    rf"(?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})(?!\w)",
    re.IGNORECASE,
)
_COPIED_WRONG = re.compile(
    r"\b(?:wrong(?:ly)?|typo|misread|miscopied|mistake|verkeerd|falsch|vertippt|faux|fausse|erreur|"
    r"equivocad[oa]|mal (?:copi|escrit|anotad)\w+|sbagliat[oa]|errad[oa]|"
    r"fel|feil|forkert|błędnie)\b",
    re.IGNORECASE,
)
_OF_SUMS = re.compile(r"\b(?:sums?|calc\w*|formula|equation|answer)\b", re.IGNORECASE)
# "water was really 250", "dry mass should be 1.72"
_REALLY = re.compile(
    r"\b(?P<what>[^\d,.;:!?]+?)\s+(?:(?:was|is|were)\s+(?:really|actually|in fact)|"
    rf"should (?:be|read|say|have been))\s+(?P<now>{_NUMBER})\s*(?P<unit>{_UNIT})(?!\w)",
    re.IGNORECASE,
)
# What held the solid on the balance and was not taken off.
_VESSEL = r"(?:weigh(?:ing)? )?(?:boat|dish|watch ?glass|beaker|vial|container|tray|cup)"
_WITH_VESSEL = re.compile(
    rf"\b(?:includ\w+|incl\.?|not (?:subtracted|tared|taken off)|"
    rf"(?:forgot to|didn'?t|did not) (?:subtract|tare|zero|take off|take away|minus))\b"
    rf"[^.;!?]{{0,25}}\b{_VESSEL}\b(?! (?:was|is) (?:tared|zeroed|subtracted))"
    rf"|\b{_VESSEL}\s+(?:was |is )?not (?:been )?(?:tared|subtracted|zeroed|taken off)\b"
    r"|\bforgot to (?:tare|zero)\b(?! once)",
    re.IGNORECASE,
)
_SWAPPED = re.compile(
    r"\b(?:start|initial|masses|weights|numbers|values|columns)\b[^.;!?]{0,25}"
    r"\b(?:swapped|mixed up|(?:the )?wrong way a?round|reversed)\b",
    re.IGNORECASE,
)
_DAMP = re.compile(
    r"\b(?:solid|residue|powder|it|sample|still|weighed)\b[^.;!?]{0,15}\b(?:damp|wet|moist)\b"
    r"|\bnot (?:\w+ )?(?:dry|dried)\b|\bwet mass\b|\bnoch (?:feucht|nass)\b|\bencore humide\b|"
    r"\btodavía húmed[oa]\b|\bancora umid[oa]\b|\bnog (?:nat|vochtig)\b",
    re.IGNORECASE,
)
# Something else was wet.
_OTHER_DAMP = re.compile(r"\b(?:\w*papi?er|filter|cake|cylinder|forgot\w*|card)\b", re.IGNORECASE)
# "finished by gravity", and not "the vacuum pump was noisy"
_DONE_SO = re.compile(
    r"\b(?:filtered|finished|switched|changed|used|by|with|under)\s+(?:(?:by|with|on|to|the|a|only|"
    r"just)\s+)*(?P<how>[^\W\d_]{4,})",
    re.IGNORECASE,
)
_OF_START = re.compile(r"\b(?:start\w*|initial|before|weigh(?:ed)? out|boat|vial)\b", re.IGNORECASE)
_OF_END = re.compile(r"\b(?:dr(?:y|ied)|end|final|after|residue|left|recovered)\b", re.IGNORECASE)
_VOID = re.compile(
    r"\bvoid(?:ed)?\b|\b(?:do not|don'?t|please don'?t) (?:use|count)\b(?! the\b)"
    r"|\b(?:discard|disregard|ignore|exclude|scrap) (?:this|these|our|the) "
    r"(?:group|run|row|line|result|data|trial|numbers)s?\b"
    r"|\bnicht (?:werten|verwenden)\b|\bne pas (?:utiliser|compter)\b|\bno (?:usar|contar)\b"
    r"|\bnon (?:usare|contare)\b|\bniet (?:gebruiken|meetellen)\b",
    re.IGNORECASE,
)
_OTHER_SOLID = re.compile(
    r"\b(?:used |took |weighed )?(?:the )?wrong (?:chemical|solid|powder|substance|compound|salt)\b"
    r"|\bused (?!Ca\(OH\))(?:[A-Z][a-z]?\d?|\((?:OH|[A-Z]\w+)\)\d?){2,} instead\b"
)


def heed_own_remarks(drafts: Sequence[Draft], book: Book, fields: Sequence[Field]) -> None:
    """Let the remark of a run stand against the readings of its line.

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of a table; changed in place.
    book : Book
        The ledger of their sheet, which tells the cell of each reading.
    fields : sequence of Field
        The columns of the table, by whose headings a remark may call a reading.
    """
    headed = {
        normal(unit_in_heading(text)[0]): f.column
        for f in fields
        if f.column
        for text in (f.source.heading, *(c.text for c in f.source.cells[:1]))
    }
    for draft in drafts:
        remark = str(draft.values.get("comment") or "")
        if not remark or draft.set_aside:
            continue
        if _VOID.search(remark) or _OTHER_SOLID.search(remark):
            draft.set_aside = f"its remark says so: '{remark}'"
            continue
        _flag_only(draft, remark)
        if "?" not in remark and (
            _put_right(draft, remark, book) or _said_right(draft, remark, book, headed)
        ):
            continue
        doubted = [*_doubted(draft, remark, headed), *_with_vessel(draft, remark)]
        for column in dict.fromkeys(doubted):
            _leave_out(draft, column, remark)


def _readings(draft: Draft) -> list[str]:
    return [c for c, v in draft.values.items() if isinstance(v, float) and is_canonical(c)]


def _doubted(draft: Draft, remark: str, headed: Mapping[str, str]) -> Iterator[str]:
    """Yield the readings whose figure a remark doubts, or which it calls wrong by name."""
    if _DOUBTS.search(remark):
        used = {m["figure"] for m in _USED.finditer(remark)}
        doubtful = {m[0] for m in _FIGURE.finditer(remark)} - used
        figures = {float(figure.replace(",", ".")) for figure in doubtful}
        yield from (c for c in _readings(draft) if draft.values[c] in figures)
    if _ALL_WELL.search(remark):
        return
    for found in _CALLED_WRONG.finditer(remark):
        named = next(filter(None, found.groups()))
        if not _OF_SUMS.search(named):
            yield from (c for c in _named(named, headed) if c in draft.values)
    for found in _REALLY.finditer(remark):
        for column in _named(found["what"], headed):
            now = parse_said(f"{found['now']} {found['unit']}".strip(), column).value
            if column in draft.values and now != draft.values[column]:
                yield column


def _named(text: str, headed: Mapping[str, str]) -> list[str]:
    """Return the column of a measured quantity that some words name, in a list."""
    called = normal(text)
    if (known := {c for words, c in headed.items() if words == called}) and len(known) == 1:
        return [c for c in known if is_canonical(c) and quantity(c).unit]
    words = re.sub(r"\b(?:we|i|our|my|the|its?|that|this|number|value|figure)\b", " ", text)
    column = understand((" ".join(words.split()),)).column
    return [column] if column and is_canonical(column) and quantity(column).unit else []


def _with_vessel(draft: Draft, remark: str) -> Iterator[str]:
    """Yield the masses that hold a vessel too, as a remark says; both where it names none.

    Of masses that changed places neither holds.
    """
    if _SWAPPED.search(remark):
        yield from {"initial_mass_g", "recovered_mass_g"} & {*draft.values}
    if not _WITH_VESSEL.search(remark) or _ALL_WELL.search(remark):
        return
    start, end = bool(_OF_START.search(remark)), bool(_OF_END.search(remark))
    if start or not end:
        yield from {"initial_mass_g"} & {*draft.values}
    if end or not start:
        yield from {"recovered_mass_g"} & {*draft.values}


def _flag_only(draft: Draft, remark: str) -> None:
    """Mark readings that hold as they are, but whose remark tells how far to trust them."""
    damp = _DAMP.search(remark) and not _OTHER_DAMP.search(remark)
    if damp and "recovered_mass_g" in draft.values and not _ALL_WELL.search(remark):
        draft.flag("recovered_mass_g", "unclear", f"weighed damp? '{remark}'")
    ways = {way for found in _DONE_SO.finditer(remark) if (way := _way(found["how"]))}
    if "filtration" in draft.values and len(ways) == 1 and draft.values["filtration"] not in ways:
        draft.flag("filtration", "unclear", f"its remark says otherwise: '{remark}'")


def _way(word: str) -> str | None:
    return choice(word, quantity("filtration"))[0] if HOW.search(word) else None


def _put_right(draft: Draft, remark: str, book: Book) -> bool:
    """Put a reading right where its remark gives the figure on the sheet and the one that holds."""
    done = False
    for pattern in _PUT_RIGHT:
        for found in pattern.finditer(remark):
            was, now = (float(found[side].replace(",", ".")) for side in ("was", "now"))
            meant = [c for c in _readings(draft) if draft.values[c] == was]
            if len(meant) != 1 or was == now or fill_columns(meant):
                continue
            column = meant[0]
            parsed = parse_said(f"{found['now']} {found['unit']}".strip(), column)
            poured = column == "water_volume_ml" and fill_columns(draft.values)
            if parsed.value is None or poured:
                _leave_out(draft, column, remark)
                continue
            draft.take(column, parsed)
            done = True
            note = f"put right by the remark of the run: '{remark}'"
            draft.flag(column, "unclear", note)
            _say_in_ledger(draft, column, note, book)
    return done


def _said_right(draft: Draft, remark: str, book: Book, headed: Mapping[str, str]) -> bool:
    """Put a reading right that a remark gives by name, where it says that the sheet is wrong."""
    wrong = _COPIED_WRONG.search(remark) and not _ALL_WELL.search(remark)
    found = [*_USE.finditer(remark), *(_IS.finditer(remark) if wrong else ())]
    done = False
    for match in found:
        for column in _named(match["what"], headed):
            parsed = parse_said(f"{match['now']} {match['unit']}".strip(), column)
            poured = fill_columns([column]) or fill_columns(draft.values)
            own = draft.values.get(column)
            volume = column.endswith("_ml") and poured
            if parsed.value is None or own is None or parsed.value == own or volume:
                continue
            draft.take(column, parsed)
            note = f"put right by the remark of the run: '{remark}'"
            draft.flag(column, "unclear", note)
            _say_in_ledger(draft, column, note, book)
            done = True
    return done


def _say_in_ledger(draft: Draft, column: str, note: str, book: Book) -> None:
    for place in draft.cells:
        entry = book.entries.get(place)
        if entry is not None and entry.column == column:
            book.entries[place] = replace(entry, value=draft.values[column], note=note)


def _leave_out(draft: Draft, column: str, remark: str) -> None:
    why = f"the remark of the run doubts it: '{remark}'"
    draft.leave_out(column, why)
    if fill_columns([column]) and "water_volume_ml" in draft.values:
        draft.leave_out("water_volume_ml", why)
