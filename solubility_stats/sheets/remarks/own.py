"""What the remark of a run says against its own readings: "dry mass is 1.72 not 1.92", "VOID".

A reading that its own line calls wrong is put right where the figure that holds is said, else left
out; a run that is called void is set aside. Remarks on how it went ("spilled a little") change
nothing, and neither do those that say that all is well now ("typed it wrong the first time").
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence

from solubility_stats.quantities import fill_columns
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.field import Field
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.remarks.put_right import doubt, put_right, readings_of, said_really
from solubility_stats.sheets.remarks.sayings import (
    ALL_WELL,
    MENDED,
    named_in,
    not_taken_off,
    unsure_by_name,
    wrong_by_name,
)
from solubility_stats.sheets.remarks.told_only import second_drying
from solubility_stats.sheets.remarks.verdicts import swapped_between, taken_back
from solubility_stats.sheets.remarks.vocabulary import said
from solubility_stats.sheets.said_filtrations import ways_named
from solubility_stats.sheets.units import unit_in_heading

# "Balance said 25.1?? maybe 2.51" beside a reading of 25.1
_DOUBTS = re.compile(
    rf"\?\?|{said('unsure', 'wrong', 'error')}|\b(?:mistyped|meant|"
    r"should(?: be| have been|'ve been))\b|\d\s*\?",
    re.IGNORECASE,
)
# "used 300 because they misread the sheet" says that 300 it was
_USED = re.compile(
    r"\b(?:used|took|added|weighed)\s+(?P<figure>\d+[.,]\d+|\d{3,})(?![\w.,]*\d)(?!\s*\w*\s*\?)",
    re.IGNORECASE,
)
_FIGURE = re.compile(r"(?<![\w.,])(?:\d+[.,]\d+|\d{3,})(?![\w]|[.,]\d)")
# "4.1 or 4.7", "either 150 or 200"
_ONE_OR_OTHER = re.compile(
    rf"(?<![\w.,])(?P<a>\d+(?:[.,]\d+)?)\s*(?:m?g|mL|ml|°?C|min)?\s+{said('or')}\s+(?:maybe\s+|the\s+)*"
    r"(?P<b>\d+(?:[.,]\d+)?)(?![\w]*[.,]?\d)",
    re.IGNORECASE,
)
# "not sure about the starting mass", "ignore the temp", "paper mass might be from group 5"
_UNSURE_OF = re.compile(
    rf"(?:{said('unsure')}\s+(?:about|of|über|bei|de|del|da|over|om|o)|{said('ignore')})\s+"
    rf"(?:{said('beside')}\s+)*(?P<a>[^\d,.;:!?]+)"
    rf"|{said('unsure')}\s+(?:if|whether|ob|si|se|of|om)\s+(?:{said('beside')}\s+)*"
    rf"(?P<c>[^\d,.;:!?]+?)\s+(?:above\s+)?{said('is')}"
    r"|(?P<b>[^\d,.;:!?]+?)\s+(?:might|may|could)\s+(?:be|have been)\s+"
    r"(?:from|wrong|off|the|some\w*|another|a different|swapped|mixed|mis\w+)\b",
    re.IGNORECASE,
)
_NOT_ZEROED = re.compile(
    rf"{said('balance')}[^.;]*(?:{said('not', 'forgot')}|n't|n'était pas)[^.;]*{said('taken_off')}"
    rf"|{said('forgot')}[^.;]*{said('taken_off')}[^.;]*{said('balance')}",
    re.IGNORECASE,
)
_FOR_WHAT = re.compile(
    rf"\b(?:for|when|at|für|bei|pour|para|per|voor|bij|för|ved|na|przy|při)\s+"
    rf"(?:{said('beside')}\s+)*(?P<what>[^\d,.;:!?]+)",
    re.IGNORECASE,
)
# What held the solid on the balance and was not taken off.
_VESSEL = re.compile(said("vessel"), re.IGNORECASE)
_WITH_VESSEL = re.compile(
    rf"{said('with')}\s+(?:{said('beside')}\s+)*(?:weigh(?:ing)?\s+)?{said('vessel')}"
    rf"(?! (?:was|is) (?:tared|zeroed|subtracted))",
    re.IGNORECASE,
)
_BEFORE_TARE = re.compile(r"\bforgot to (?:tare|zero)\b(?! once)", re.IGNORECASE)
_SWAPPED = re.compile(rf"{said('readings')}[^.;!?]{{0,25}}{said('swapped')}", re.IGNORECASE)
_DAMP = re.compile(
    rf"\b(?:solid|residue|powder|it|sample)\b[^.;!?]{{0,15}}{said('damp')}"
    rf"|{said('still', 'weighed')}[^.;!?]{{0,15}}{said('damp')}"
    rf"|{said('damp')}\s+{said('weighed')}"
    rf"|{said('not')}\s+(?:[^\W\d_]+\s+){{0,3}}{said('dry')}"
    r"|\bnot (?:\w+ ){0,2}(?:dry|dried)\b",
    re.IGNORECASE,
)
# Something else was wet.
_OTHER_DAMP = re.compile(
    rf"{said('paper')}|\b(?:filter|cake|cylinder|forgot\w*|card)\b", re.IGNORECASE
)
# "finished by gravity", and not "the vacuum pump was noisy"
_DONE_SO = re.compile(
    r"\b(?:filtered|finished|switched|changed|used|by|with|under)\s+(?:(?:by|with|on|to|the|a|only|"
    r"just)\s+)*(?P<how>[^\W\d_]{4,})",
    re.IGNORECASE,
)
_OF_START = re.compile(r"\b(?:start\w*|initial|before|weigh(?:ed)? out|boat|vial)\b", re.IGNORECASE)
_OF_END = re.compile(r"\b(?:dr(?:y|ied)|end|final|after|residue|left|recovered)\b", re.IGNORECASE)
_VOID = re.compile(
    rf"{said('void')}|\bnot to be used\b"
    r"|\b(?:do not|don'?t|please don'?t) (?:use|count)\b(?! the\b)"
    r"|\b(?:discard|disregard|ignore|exclude|scrap) (?:this|these|our|the) "
    r"(?:group|run|row|line|result|data|trial|numbers)s?\b",
    re.IGNORECASE,
)
# "Correction: our earlier answer is void": not this one.
_OF_EARLIER_ENTRY = re.compile(
    r"\b(?:previous|earlier|first|old|last|poprzedni\w*|vorig\w*|frühere?\w*|précédente?|anterior|"
    r"precedente|förra|forrige|tidligere)\s+(?:\w+\s+)?(?:answers?|response|entry|submission|form|"
    r"odpowied\w+|antwort|eingabe|réponse|respuesta|resposta|risposta|svar|antwoord)",
    re.IGNORECASE,
)
_OTHER_SOLID = re.compile(
    rf"(?i:{said('wrong_solid')})"
    r"|\bused (?!Ca\(OH\))(?:[A-Z][a-z]?\d?|\((?:OH|[A-Z]\w+)\)\d?){2,} instead\b"
)


# "Temp. water niet zeker" is one clause.
_SHORTENED = re.compile(r"\b(temp|vol|conc|approx|ca)\.\s+", re.IGNORECASE)


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
        remark = _SHORTENED.sub(r"\1 ", str(draft.values.get("comment") or ""))
        if remark and not draft.set_aside:
            heed_remark(draft, remark, book, headed)
        groups, columns = swapped_between(remark, headed) if remark else (set(), set())
        for other in drafts if columns else ():
            if other.key[2].casefold() in groups and other.key[1] == draft.key[1]:
                for column in columns & {*other.values}:
                    doubt(other, column, remark)


def heed_remark(draft: Draft, remark: str, book: Book, headed: Mapping[str, str]) -> None:
    """Let what is said of a run stand against its readings.

    Parameters
    ----------
    draft : Draft
        The run; changed in place.
    remark : str
        What is said of it.
    book : Book
        The ledger of its sheet.
    headed : mapping of str to str
        Columns by the plain words of their headings.
    """
    back = dict.fromkeys(c for c in taken_back(remark, headed) if c in draft.values)
    void = _VOID.search(remark) and not _OF_EARLIER_ENTRY.search(remark)
    if (void and not back) or _OTHER_SOLID.search(remark):
        draft.set_aside = f"its remark says so: '{remark}'"
        return
    _flag_only(draft, remark)
    if not {"second_dry_mass_g"} & {*headed.values(), *draft.values, *draft.unread}:
        second_drying(draft, remark)
    correct(draft, remark, book, headed)


def correct(draft: Draft, remark: str, book: Book, headed: Mapping[str, str]) -> bool:
    """Put readings right as something said of a run tells, or leave out what it doubts.

    Parameters
    ----------
    draft, remark, book, headed
        As for :func:`heed_remark`.

    Returns
    -------
    bool
        Whether a reading changed.
    """
    if "?" not in remark and put_right(draft, remark, book, headed):
        return True
    named = (
        *_doubted(draft, remark, headed),
        *_with_vessel(remark, headed),
        *taken_back(remark, headed),
    )
    doubted = dict.fromkeys(c for c in named if c in draft.values)
    for column in doubted:
        doubt(draft, column, remark)
    return bool(doubted)


# "dolano jeszcze czwarty cylinder, 50 cm³", "added another 50 mL"
_MORE_WATER = re.compile(
    r"\b(?:added|poured|put in|used|took)\s+(?:in\s+)?(?:an?other|an? (?:extra|additional|third|"
    r"fourth|fifth|\d(?:rd|th))|one more|more|extra)\b[^.;!?]{0,25}\b(?:water|ml|cm3|cylinders?|"
    r"fills?|pours?)\b|\bdolano\b|\b(?:noch|zusätzlich)\b[^.;]{0,30}\b(?:dazugegeben|nachgefüllt|"
    r"zugegeben)\b|\b(?:rajouté|ajouté encore)\b|\b(?:añadi|agreg)\w+ (?:más|otr[ao])\b|"
    r"\baggiunt\w+ (?:ancora|altr[io])\b|\bbijgevuld\b",
    re.IGNORECASE,
)


def _doubted(draft: Draft, remark: str, headed: Mapping[str, str]) -> Iterator[str]:
    """Yield the columns whose figure a remark doubts, or which it calls wrong by name."""
    if _DOUBTS.search(remark):
        used = {m["figure"] for m in _USED.finditer(remark)}
        doubtful = {m[0] for m in _FIGURE.finditer(remark)} - used
        figures = {float(figure.replace(",", ".")) for figure in doubtful}
        yield from (c for c in readings_of(draft) if draft.values[c] in figures)
    for found in _ONE_OR_OTHER.finditer(remark):
        either = {float(found[side].replace(",", ".")) for side in "ab"}
        yield from (c for c in readings_of(draft) if len(either) == 2 and draft.values[c] in either)
    for found in _UNSURE_OF.finditer(remark):
        yield from named_in(found["a"] or found["b"] or found["c"], headed)
    yield from unsure_by_name(remark, headed)
    told = _FOR_WHAT.search(remark) if _NOT_ZEROED.search(remark) else None
    if told and not MENDED.search(remark):
        yield from named_in(told["what"], headed)
    if ALL_WELL.search(remark):
        return
    yield from wrong_by_name(remark, headed)
    if _MORE_WATER.search(remark) and fill_columns(draft.values):
        yield "water_volume_ml"
    figures_said = any(map(str.isdigit, remark))
    for column, now in said_really(draft, remark, headed) if figures_said else ():
        if now.value != draft.values.get(column):
            yield column


def _with_vessel(remark: str, headed: Mapping[str, str]) -> Iterator[str]:
    """Yield the masses that hold a vessel too, as a remark says; both where it names none.

    Of masses that changed places neither holds.
    """
    if _SWAPPED.search(remark):
        start, end = bool(_OF_START.search(remark)), bool(_OF_END.search(remark))
        yield from ("initial_mass_g",) if start >= end else ()
        yield from ("recovered_mass_g",) if end >= start else ()
    if not _holds_vessel(remark, headed):
        return
    start, end = bool(_OF_START.search(remark)), bool(_OF_END.search(remark))
    if start or not end:
        yield "initial_mass_g"
    if end or not start:
        yield "recovered_mass_g"


def _holds_vessel(remark: str, headed: Mapping[str, str]) -> bool:
    """Tell whether a remark says that a vessel was weighed too, and was not taken off later.

    "Before" in the name of a reading ("m before includes the boat") is no word for earlier.
    """
    rest = remark.casefold()
    for heading in headed:
        rest = rest.replace(heading, " ") if len(heading.split()) > 1 else rest
    return not_taken_off(_VESSEL, remark) or (
        not ALL_WELL.search(rest)
        and bool(_WITH_VESSEL.search(remark) or _BEFORE_TARE.search(remark))
    )


def _flag_only(draft: Draft, remark: str) -> None:
    """Mark readings that hold as they are, but whose remark tells how far to trust them."""
    damp = _DAMP.search(remark) and not _OTHER_DAMP.search(remark)
    if damp and "recovered_mass_g" in draft.values and not ALL_WELL.search(remark):
        draft.flag("recovered_mass_g", "unclear", f"weighed damp? '{remark}'")
    ways = {way for found in _DONE_SO.finditer(remark) for way in ways_named(found["how"]) if way}
    if "filtration" in draft.values and len(ways) == 1 and draft.values["filtration"] not in ways:
        draft.flag("filtration", "unclear", f"its remark says otherwise: '{remark}'")
