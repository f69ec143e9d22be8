"""What a heading states besides naming its column: "mL of 0.1 M HCl for 25 mL of filtrate".

In a log a label may be all there is: "filtered by gravity", with nothing beside it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Set

from solubility_stats.quantities import quantity
from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.heading_text import ACID_STRENGTH, EVAPORATED
from solubility_stats.sheets.model import ParsedCell
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.places import RUN_NAMED
from solubility_stats.sheets.said_filtrations import filtrations
from solubility_stats.sheets.sentences import said_by
from solubility_stats.sheets.table import Table
from solubility_stats.sheets.titre import TITRATION

_ALIQUOT = re.compile(
    r"(?:\A|\b(?:titrat\w+|titre of|titration of|neutrali[sz]\w+|for|per|für|pour|para|voor|"
    r"för|til)\s+)"
    r"(?:(?:your|the|our|a|an|each|je)\s+)?"
    r"(?P<volume>\d+(?:[.,]\d+)?\s*(?:mL|ml|cm3|cm³))\s+"
    r"(?:(?:aliquot|portion|sample)s?\b|(?:(?:of|de|di|del|des|du)\s+)?(?:the\s+|your\s+)?"
    r"(?:filtra\w*|lime\s?water)\b)",
    re.IGNORECASE,
)

# Said, and not a question or a box that nobody ticked ("Vacuum filtration").
_SAYS_HOW = re.compile(
    r"(?:we )?(?:vacuum |gravity )?filtered\b[^?/]+(?:\bw/[^?/]+)?", re.IGNORECASE
)
# "FILTERING (vacuum)" over the steps of it
_STEP_WITH_HOW = re.compile(
    r"(?:(?:step|part)\s+\w{1,3}\W+)?(?:\w+\s+){0,4}filt(?:er|ering|ration|ered)\s*[(:,–-]+\s*"
    r"(?P<how>[^()?/]+?)\s*\)?\s*:?",
    re.IGNORECASE,
)
# "TITRATION of the filtrate, 25.00 mL with 0.1000 M HCl"
_OF_FILTRATE = re.compile(
    r"\btitrat\w+ of (?:the |our |your )?(?:filtrate|lime ?water)\s*[,:(–-]+\s*"
    r"(?P<volume>\d+(?:[.,]\d+)?\s*(?:mL|ml|cm3|cm³))",
    re.IGNORECASE,
)
# "Paper + dry solid, after 30 min heating (g)"
_HEATED = re.compile(
    r"\bafter (?P<time>\d+(?:[.,]\d+)?\s*(?:min\w*|h|hrs?|hours?))\s+(?:of |in |on |at )?(?:the )?"
    r"(?:heat\w*|dry\w*|oven|hot ?plate|low heat|lamp)\b",
    re.IGNORECASE,
)
# "Paper + solid, dried 40 min (g)", "paper + cake, dry (45 min)"
_DRIED_FOR = re.compile(
    r"\b(?:dr(?:y|ied)|heated|getrocknet|trocken|séchée?|sec|secad[oa]|seco|gedroogd|tork\w*|"
    r"tør\w*)\b[\s,(]{1,3}(?:for |durant |durante |für )?"
    r"(?P<time>\d+(?:[.,]\d+)?\s*(?:min\w*|h|hrs?|hours?))(?![\w/])",
    re.IGNORECASE,
)
_DRIED = frozenset({"recovered_mass_g", "recovered_with_paper_mass_g"})
_DISH = frozenset({"dish_mass_g", "dish_residue_mass_g"})


def stated_in_headings(table: Table, taken: Set[str]) -> Iterator[tuple[str, ParsedCell]]:
    """Yield columns and values that headings of readings state once for all runs.

    Parameters
    ----------
    table : Table
        A table with its headings read.
    taken : set of str
        Columns that are known without; nothing is stated for them.
    """
    headings = [
        c.heading
        for c in table.columns
        if c.reading.column in TITRATION
        or (not c.reading.column and taken & TITRATION and "acid" in concepts_in(c.heading))
    ]
    said = {
        "titrant_mol_per_l": {m[0] for h in headings for m in ACID_STRENGTH.finditer(h)},
        "aliquot_ml": {
            m["volume"]
            for h in headings
            for one in (_ALIQUOT, _OF_FILTRATE)
            for m in one.finditer(h)
        },
        "dry_min": {
            m["time"]
            for c in table.columns
            if c.reading.column in _DRIED
            for one in (_HEATED, _DRIED_FOR)
            for m in one.finditer(c.heading)
        },
        "evaporation_aliquot_ml": {
            m["volume"]
            for c in table.columns
            if c.reading.column in _DISH
            for m in EVAPORATED.finditer(c.heading)
        },
    }
    for column, texts in said.items():
        if column in taken or len(texts) != 1:
            continue
        text = next(iter(texts))
        if column == "titrant_mol_per_l":
            text = re.sub(r"N\Z", "M", text)  # one proton: normality and molarity are the same
        parsed = parse_said(text, column)
        if parsed.value is not None:
            yield column, parsed
    yield from _told_by_labels(table, taken)


# So many words make a sentence of a label (judgement).
_FEWEST_BLANKS = 4


def _told_by_labels(table: Table, taken: Set[str]) -> Iterator[tuple[str, ParsedCell]]:
    """Yield how a log says in the place of a label that it was filtered."""
    if not table.view.turned:
        return
    held = {
        p
        for line in table.lines
        for p in table.view.along.get(line, ())
        if not _only_trials(table, p)
    }
    silent = [c for c in table.columns if c.place not in held]
    # "Stirred 10 min with the glass rod, then let it settle 15 min." between the labels
    spoken = [said_by(c.heading, taken) for c in silent if c.heading.count(" ") >= _FEWEST_BLANKS]
    for column in ("stir_min", "settle_min", "dry_min"):
        times = {words[column] for words in spoken if column in words}
        if len(times) == 1 and column not in taken:
            yield column, parse_said(times.pop(), column)
    answered = any(c.reading.column == "filtration" and c.place in held for c in table.columns)
    asked = any(c.reading.column == "filtration" for c in silent)
    if answered or ("filtration" in taken and not asked):
        return
    told = {h for c in silent if _SAYS_HOW.fullmatch(c.heading) for h in filtrations(c.heading)}
    titles = [m["how"] for c in silent if (m := _STEP_WITH_HOW.fullmatch(c.heading.strip()))]
    told |= {w for how in titles if (w := choice(how, quantity("filtration"))[0])}
    if len(told) == 1:
        yield "filtration", parse_said(told.pop(), "filtration")


def _only_trials(table: Table, place: int) -> bool:
    """Tell whether nothing but the names of trials stands beside a title."""
    beside = [c for line in table.lines if (c := table.view.get(line, place)) is not None]
    return bool(beside) and all(RUN_NAMED.match(c.text.strip()) for c in beside)
