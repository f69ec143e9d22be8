"""A sheet that says once what holds for the runs on the other sheets: acid, aliquot, filtration.

"setup" with "Water temperature, all groups | 21.5 °C" holds no run of its own, nor does a list of
sections with the temperature and the filtration of each.
"""

from __future__ import annotations

import re
from collections.abc import Sequence, Set

from solubility_stats.quantities import quantity
from solubility_stats.sheets.cells import parse_cell
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.head import ONCE_PER_TABLE, Know
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import CellContext, RawCell, Sheet
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.places import SECTION_WORDS, section_named
from solubility_stats.sheets.remarks.exceptions import heed_remarks
from solubility_stats.sheets.sentences import said_in
from solubility_stats.sheets.titre import TITRATION
from solubility_stats.sheets.view import looks_like_number

_FEWEST = 2
# A longer text beside a label is no value of it (judgement).
_LONGEST = 80
_OF_TITRATION = frozenset({"titrant_mol_per_l", "aliquot_ml"})


def particulars(book: Book, know: Know, *, explains: bool = False) -> list[Draft]:
    """Return what a sheet without runs states in words beside its labels, as one draft at most.

    "Stirring | 20 minutes for all pairs" counts where the label alone means what the words say.

    Parameters
    ----------
    book : Book
        The ledger of a sheet on which no run was found.
    know : callable
        Reads a stack of heading texts.
    explains : bool
        The sheet explains codes and symbols, so that only its sentences count.
    """
    draft = _stated(book, know, () if explains else _labelled(book.sheet))
    _take_sentences(draft, book)
    named = {s for c in book.sheet.texts if (s := section_named(c.text))}
    if draft.values and len(named) == 1:
        draft.values["section"] = named.pop()
        draft.section_said = True
    return [draft] if draft.values else []


# "all 8 groups together:" over "stir | 12 min"
_EVERYBODY = re.compile(
    r"\b(?:every(?:one|body)|all (?:the )?(?:\w+ )?(?:groups|teams|tables|benches|pairs|of us)|"
    r"(?:the )?whole class|(?:the )?same for all)\b",
    re.IGNORECASE,
)


# "Every run in both sections was filtered on the aspirator."
_EVERY_RUN = re.compile(
    r"\bevery(?:one|body)|\b(?:the )?whole class\b|\bwe all\b|\b(?:every|all) (?:the )?(?:\w+ )?"
    r"(?:runs?|trials?|groups?|teams?|sections?|tables?|bench(?:es)?|pairs?|class(?:es)?|rooms?|"
    r"labs?|tabs?|sheets?)\b|"
    r"\b(?:both|all) (?:sections|classes|days|weeks)\b",
    re.IGNORECASE,
)
_TO_BE_DONE = re.compile(
    r"\b(?:should|must|shall|will|please|need\w*|ha(?:s|ve) to|if|unless|except\w*|to be|enter|"
    r"type|write|fill)\b",
    re.IGNORECASE,
)
_IN_SENTENCES = frozenset({"filtration", "temperature_c", "titrant_mol_per_l"})
# "Same for everybody unless it says so in the notes:" over a line for each step
_LIST_FOR_ALL = re.compile(rf"(?:{_EVERYBODY.pattern})[^:]*:\s*\Z", re.IGNORECASE)
_STEPS = frozenset({"stir_min", "settle_min", "dry_min"})


def _take_sentences(draft: Draft, book: Book) -> None:
    """Take what the sentences of a sheet without runs say of every run."""
    texts = book.sheet.texts
    spoken = [c for c in texts if _EVERY_RUN.search(c.text) and not _TO_BE_DONE.search(c.text)]
    _take_with_exception(draft, texts, book)
    for cell in texts:
        if said := _UNLESS.fullmatch(cell.text):
            spoken_of_all = cell.saying(f"everybody: {said['all']}")
            for column in _take_said(draft, [spoken_of_all], _IN_SENTENCES | _STEPS, book):
                draft.not_of[column] = frozenset()
    over = next((c.row for c in texts if _LIST_FOR_ALL.search(c.text)), None)
    listed = [c for c in texts if over is not None and c.row > over]
    spoken += [c.saying(f"everybody: {c.text}") for c in listed if c not in spoken]
    _take_said(draft, spoken, _IN_SENTENCES | _STEPS, book)


def _take_said(draft: Draft, spoken: Sequence[RawCell], may: Set[str], book: Book) -> list[str]:
    """Put what sentences say of some columns into a draft; return these columns."""
    taken = []
    for column, (cell, text) in said_in(spoken, set(draft.values)).items():
        parsed = parse_cell(cell.saying(text), quantity(column), CellContext(column))
        if column not in may or parsed.value is None:
            continue
        note = "stated once for the runs on the other sheets"
        book.enter(cell, Entry(parsed.outcome, column, parsed.value, note=note), again=True)
        draft.take(column, parsed)
        taken.append(column)
    return taken


# "every section filtered by vacuum except 003, where the aspirators were down"
_BUT_SECTIONS = re.compile(
    r"(?P<all>.*?)[,;(]?\s*\b(?:except|apart from|but not)(?:\s+for)?\s+"
    rf"(?:(?:{SECTION_WORDS})s?\s*)?"
    r"(?P<codes>[^\W_]\w*(?:(?:\s*,\s*|\s+and\s+|\s*&\s*)[^\W_]\w*\d\w*)*)",
    re.IGNORECASE | re.DOTALL,
)
# "Vacuum filtration unless your tab says otherwise": of every run that says nothing else
_UNLESS = re.compile(
    r"(?P<all>.*\S)\s+(?:unless|except where|if not) (?:(?:your|the|a|its|their|that) )?"
    r"(?:(?:tab|sheet|page|form|card|note|remark|comment|group|it|they)s? )?(?:(?:is|are) )?"
    r"(?:otherwise )?(?:say|said|stat|note|mark|mention|indicat)\w*(?: so| otherwise)?"
    r"(?: (?:in|on) (?:the |your |its )?\w+)?\W*",
    re.IGNORECASE | re.DOTALL,
)
_CODES = re.compile(r"\s*(?:,|&|\band\b)\s*", re.IGNORECASE)


def _take_with_exception(draft: Draft, texts: Sequence[RawCell], book: Book) -> None:
    """Take what a sentence says of all sections but some, and which it excepts."""
    for cell in texts:
        said = _BUT_SECTIONS.match(cell.text)
        if said is None or not _EVERY_RUN.search(said["all"]):
            continue
        codes = frozenset(code.casefold() for code in _CODES.split(said["codes"]))
        for column in _take_said(draft, [cell.saying(said["all"])], _IN_SENTENCES, book):
            draft.not_of[column] = codes


def said_to_everybody(book: Book, know: Know) -> Draft:
    """Return what labels beside no table state, below words that speak of all groups.

    Parameters
    ----------
    book : Book
        The ledger of a sheet with runs.
    know : callable
        Reads a stack of heading texts.
    """
    said = {c.row for c in book.sheet.texts if not book.reached(c) and _EVERYBODY.search(c.text)}
    pairs: list[tuple[RawCell, RawCell]] = []
    for label, value in _labelled(book.sheet) if said else ():
        above = {p[0].row for p in pairs} | said
        if label.row - 1 in above and not book.reached(label):
            pairs.append((label, value))
    return _stated(book, know, pairs)


def _stated(book: Book, know: Know, pairs: Sequence[tuple[RawCell, RawCell]]) -> Draft:
    draft = Draft(book.sheet.file, book.sheet.name, "particulars")
    for label, value in pairs:
        behind = _UNIT_BEHIND.search(value.text)
        column = know((label.text,)).column or (
            know((label.text, behind[1])).column if behind else None
        )
        if column is None and "acid" in concepts_in(label.text):
            column = "titrant_mol_per_l"  # "Acid in burette | hydrochloric acid 0.1 mol/L"
        if column not in ONCE_PER_TABLE or not is_reading(column) or column in draft.values:
            continue
        said = _said(column, label, value)
        parsed = parse_cell(said, quantity(column), CellContext(column)) if said else None
        if parsed is None or parsed.value is None:
            continue
        book.enter(label, Entry("context", column, note=f"label of {column}"), again=True)
        note = "stated once for the runs on the other sheets"
        book.enter(value, Entry(parsed.outcome, column, parsed.value, note=note), again=True)
        draft.take(column, parsed)
    return draft


_UNIT_BEHIND = re.compile(r"\d\s*([^\W\d_]{1,8})\.?\s*\Z")


def _labelled(sheet: Sheet) -> list[tuple[RawCell, RawCell]]:
    """Return the texts with one cell beside them and nothing else on their line."""
    rows = sheet.lines()
    pairs = [(cells[0], cells[1]) for cells in rows.values() if len(cells) == 2]
    return [(a, b) for a, b in pairs if isinstance(a.value, str) and not looks_like_number(a)]


def _said(column: str, label: RawCell, value: RawCell) -> RawCell | None:
    """Return the value of a label: a bare one, or what the words beside the label say."""
    if looks_like_number(value) or quantity(column).kind != "number":
        return value
    if len(value.text) > _LONGEST:
        return None
    known = set(TITRATION) if column == "aliquot_ml" else set()
    found = said_in([value.saying(f"{label.text}: {value.text}")], known).get(column)
    return value.saying(found[1]) if found else None


def without_setup(tables: Sequence[list[Draft]]) -> tuple[list[list[Draft]], Draft | None]:
    """Part the runs of a file's tables from what a setup sheet says of all of them.

    Parameters
    ----------
    tables : sequence of list of Draft
        The runs of each table.

    Returns
    -------
    tables : list of list of Draft
        Without that of the setup sheet, where there is one.
    setup : Draft or None
        What it says.
    """
    said = [t for t in tables if _is_setup(t)]
    others = [t for t in tables if t and not _is_setup(t)]
    runs = _live(others)
    if len(said) != 1 or len(runs) < _FEWEST or _shares_sheet(said[0][0], runs):
        return [t for t in tables if not _is_spoken(t)], None
    return others, said[0][0]


def with_setup_above(tables: Sequence[list[Draft]]) -> list[list[Draft]]:
    """Give the runs of a sheet what a list of labels above them states once; return the runs.

    Parameters
    ----------
    tables : sequence of list of Draft
        The runs of each table of a file; changed in place.
    """
    left = [t for t in tables if t]
    for setup in [t for t in left if _is_setup(t) and not _is_spoken(t)]:
        others = [t for t in left if t is not setup and _shares_sheet(setup[0], t)]
        runs = _live(others)
        first = min((row for d in runs for row, _ in d.cells), default=0)
        above = all(row < first for row, _ in setup[0].cells)
        if above and len(runs) >= _FEWEST and all(d.key[2] for d in runs):
            if all(d.key[1] for d in runs):
                setup[0].values.pop("section", None)
            give_to_all(setup[0], others)
            left = [t for t in left if t is not setup]
    return left


def with_setup_of_sections(tables: Sequence[list[Draft]]) -> list[list[Draft]]:
    """Give the runs of each section what a list of sections states of them; return the runs.

    The remark of a run may say otherwise.

    Parameters
    ----------
    tables : sequence of list of Draft
        The runs of each table of a file; changed in place.
    """
    left = [t for t in tables if t]
    for listed in [t for t in left if len(t) > 1 and all(_is_setup([d]) for d in t)]:
        others = [t for t in left if t is not listed]
        runs = _live(others)
        sections = [d.key[1] for d in listed]
        if not all(sections) or len({*sections}) < len(sections):
            continue
        if not {*sections} & {d.key[1] for d in runs} or not all(d.key[2] for d in runs):
            continue
        for setup in listed:
            own = [d for d in runs if d.key[1] == setup.key[1]]
            known = set().union(*({*d.values, *d.unread} for d in own))
            setup.values = {c: v for c, v in setup.values.items() if c not in {*known, "section"}}
            give_to_all(setup, [own])
        left = others
    return left


def give_to_all(setup: Draft | None, tables: Sequence[list[Draft]]) -> None:
    """Give the runs of a file what its setup sheet says of them; they are changed in place.

    The remark of a run may say otherwise.
    """
    runs = _live(tables)
    if setup is None or not runs:
        return
    known = set().union(*map(_own, runs))
    if not any(d.section_said for d in runs):
        known.discard("section")  # the name of a sheet gives way
    titrated = [d for d in runs if TITRATION & {*d.values, *d.unread}]
    given = {c: v for c, v in setup.values.items() if c not in known or c in setup.not_of}
    for column, value in given.items():
        if column in ("group", "run", "comment"):
            continue  # the runs say it themselves
        for draft in titrated or runs if column in _OF_TITRATION else runs:
            if _is_excepted(draft, setup, column) or column in {*draft.values} - _own(draft):
                continue
            draft.values[column] = value
            if column in setup.decimals:
                draft.decimals[column] = setup.decimals[column]
            draft.section_said = draft.section_said or column == "section"
    heed_remarks(runs, given, ["unless its remark says otherwise"])


def _own(draft: Draft) -> set[str]:
    """Return the columns a run has, without those that only its remark tells."""
    remarks = {column for column, _, note in draft.flags if note.startswith("from the remark")}
    return ({*draft.values} - remarks) | draft.unread


def _is_excepted(draft: Draft, setup: Draft, column: str) -> bool:
    """Tell whether a setup sheet excepts the section of a run, or the run has its own value."""
    if column not in setup.not_of:
        return False
    own = column in draft.values or column in draft.unread
    return own or draft.key[1].casefold() in setup.not_of[column]


def _live(tables: Sequence[list[Draft]]) -> list[Draft]:
    return [d for t in tables for d in t if not d.set_aside and any(map(is_reading, d.values))]


def _is_setup(drafts: Sequence[Draft]) -> bool:
    """Tell whether a table holds one line without a group, and no mass, fill or titre."""
    if len(drafts) != 1 or drafts[0].key[2] or drafts[0].key[3]:
        return False
    readings = {c for c in (*drafts[0].values, *drafts[0].unread) if is_reading(c)}
    return bool(readings) and readings <= {*ONCE_PER_TABLE} - {"water_volume_ml"}


def _is_spoken(drafts: Sequence[Draft]) -> bool:
    """Tell whether a draft is made of what a sheet without runs says, so that it is no run."""
    return len(drafts) == 1 and drafts[0].line == "particulars"


def _shares_sheet(setup: Draft, runs: Sequence[Draft]) -> bool:
    return any((d.file, d.sheet) == (setup.file, setup.sheet) for d in runs)
