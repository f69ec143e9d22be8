"""Notes beside the tables of a sheet: of all runs, of all tables, of the runs with a mark."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.ledger import Book, Entry
from solubility_stats.sheets.model import ParsedCell, RawCell
from solubility_stats.sheets.places import GROUP_WORDS, RUN_WORDS, section_named
from solubility_stats.sheets.remarks.on_lines import heed_remarks_on_lines
from solubility_stats.sheets.remarks.own import correct, heed_remark
from solubility_stats.sheets.remarks.with_paper import paper_left_on, weigh_with_paper
from solubility_stats.sheets.sentences import said_in

# What a note may say wherever it stands.
_ANYWHERE = frozenset({"titrant_mol_per_l", "aliquot_ml", "temperature_c", "filtration", "scatter"})
# What only a note on everybody may say.
_STEPS = frozenset({"stir_min", "settle_min", "dry_min"})
_FEWEST_WORDS = 4
_AROUND = frozenset(
    {
        "above the table",
        "a note under the table",
        "below the table, under no heading that was understood",
    }
)


def say_for_all(book: Book, drafts: Sequence[Draft]) -> None:
    """Give the runs of a sheet what a sentence somewhere beside its tables says of all of them.

    Only what no run of the sheet has, and only if nothing else on the sheet says otherwise.
    """
    live = [d for d in drafts if not d.set_aside and any(map(is_reading, d.values))]
    heed_remarks_on_lines(book, live)
    known = set().union(*({*d.values, *d.unread} for d in live), set())
    beside = [
        cell
        for cell in book.sheet.texts
        if cell.text.count(" ") >= _FEWEST_WORDS - 1
        and "=" not in cell.text  # what explains a code says how nobody did it
        and ((entry := book.entries.get((cell.row, cell.col))) is None or entry.note in _AROUND)
    ]  # fmt: skip
    beside = _without_footnotes(beside, live, book)
    for cell in beside:
        _heed_note_on_a_run(cell, live, book)
    if not live or not beside:
        return
    beside.sort(key=lambda cell: (cell.row, cell.col))
    for column, cell, parsed in _stated(beside, known):
        note = "; ".join(n for n in ("stated once on the sheet", parsed.note) if n)
        _give(live, column, parsed, book, cell, note)


def _stated(cells: Sequence[RawCell], known: set[str]) -> Iterator[tuple[str, RawCell, ParsedCell]]:
    """Yield what the sentences of some cells state: column, cell and value."""
    for column, (cell, text) in said_in(cells, known).items():
        parsed = parse_said(text, column)
        of_all = column in _STEPS and _EVERYBODY.search(cell.text)
        if (column in _ANYWHERE or of_all) and parsed.value is not None:
            yield column, cell, parsed


_MARK = re.compile(r"\s*(\*+|[†‡§])\s*\S")


def _without_footnotes(
    beside: Sequence[RawCell], live: Sequence[Draft], book: Book
) -> list[RawCell]:
    """Give what a footnote says to the runs that bear its mark; return the other notes.

    "6 *" and below "* gravity filtered, aspirator broken".
    """
    left = []
    for cell in beside:
        found = _MARK.match(cell.text)
        marked = [d for d in live if found and _bears(d, found[1], book)]
        if not marked:
            left.append(cell)
            continue
        rest = cell.text.strip("*†‡§ ")
        for draft in marked:
            if paper_left_on(rest):
                weigh_with_paper(draft, rest, book)
            else:
                heed_remark(draft, rest, book, {})
        for column, _, parsed in _stated([cell], set()):
            note = "stated in a footnote, for the runs with its mark"
            without = [d for d in marked if column not in {*d.values, *d.unread}]
            _give(without, column, parsed, book, cell, note)
    return left


# "Grp 4 trial 1: temp is 20.5, not 21.2."
_ON_A_RUN = re.compile(
    rf"\b(?:{GROUP_WORDS})\.?\s*(?P<group>\d{{1,2}}[A-Za-z]?|[A-Z])"
    rf"(?:,?\s*(?:{RUN_WORDS})\s*(?P<run>\d))?\s*[:–-]\s*(?P<said>[^\n]+?)(?=\.\s|\.?\Z)",
    re.IGNORECASE,
)


def _heed_note_on_a_run(cell: RawCell, live: Sequence[Draft], book: Book) -> None:
    """Let what a note says of one run stand against the readings of that run."""
    for found in _ON_A_RUN.finditer(cell.text):
        meant = [
            d
            for d in live
            if str(d.values.get("group", "")).casefold() == found["group"].casefold()
            and found["run"] in (None, str(d.values.get("run") or ""))
        ]
        if len(meant) == 1 and correct(meant[0], found["said"], book, {}):
            book.enter(cell, Entry("used", note=_ON_ITS_READING), again=True)
    if len(live) == 1 and not _TO_BE_DONE.search(cell.text):
        if paper_left_on(cell.text):
            weigh_with_paper(live[0], cell.text, book)
        elif not correct(live[0], cell.text, book, {}):
            return
        book.enter(cell, Entry("used", note=_ON_ITS_READING), again=True)


_ON_ITS_READING = "speaks of a reading of the run"
_TO_BE_DONE = re.compile(
    r"\b(?:please|should (?!be)|must|(?<!sure )if|write|enter|type|record|remember|do not|"
    r"don'?t (?!know)|bitte|"
    r"veuillez|por favor)\b",
    re.IGNORECASE,
)


def _bears(draft: Draft, mark: str, book: Book) -> bool:
    """Tell whether a cell of a run ends in a mark."""
    texts = [c.text.rstrip() for p in draft.cells if (c := book.sheet.cells.get(p)) is not None]
    return any(t.endswith(mark) and not t.removesuffix(mark).endswith(mark[-1]) for t in texts)


def _give(
    drafts: Sequence[Draft], column: str, parsed: ParsedCell, book: Book, cell: RawCell, note: str
) -> None:
    """Give runs what a cell states, and say in the ledger that it was used."""
    entry = Entry(parsed.outcome, column, parsed.value, parsed.unit, note)
    book.enter(cell, entry, again=True)
    for draft in drafts:
        draft.take(column, parsed)


_EVERYBODY = re.compile(
    r"\b(?:every(?:one|body)|todos|todas|tous|toutes|tutti|alle (?:gruppen|groepen)|"
    r"all (?:groups|teams|tables|benches)|nobody|"
    r"both (?:days|labs|classes|sections|tables|shifts|periods|groups|weeks)|"
    r"(?:los|las) dos \w+|amb[oa]s \w+|les deux \w+|beide \w+|"
    r"entramb[ie] \w+|(?:as|os) dois \w+)\b",
    re.IGNORECASE,
)


def say_for_tables_beside(book: Book, tables: Sequence[Sequence[Draft]]) -> None:
    """Give all tables of a sheet what a note below them, found under one, says of everybody."""
    if len(tables) < 2:
        return
    lowest = max((row for drafts in tables for d in drafts for row, _ in d.cells), default=0)
    notes = [
        cell
        for cell in book.sheet.texts
        if cell.row > lowest and _EVERYBODY.search(cell.text) and not section_named(cell.text)
    ]
    for column, cell, parsed in _stated(notes, set()):
        said = [d.values.get(column) for drafts in tables for d in drafts if column in d.values]
        entry = book.entries.get((cell.row, cell.col))
        used = entry is not None and entry.column == column and entry.value == parsed.value
        if not used or any(v != parsed.value for v in said):
            continue
        for drafts in tables:
            if not any(column in {*d.values, *d.unread} for d in drafts):
                for draft in drafts:
                    if any(map(is_reading, draft.values)):
                        draft.take(column, parsed)
