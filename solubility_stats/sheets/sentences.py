"""What a sentence around a table says about all its runs: how warm, how strong, how filtered.

"Water was 21 °C for everybody (same carboy)" gives a temperature, "published value at 25 °C" does
not. A sentence is taken apart at its commas and brackets; a part counts if it speaks of the thing
and of nothing else, and only if all parts around the table that speak of the thing agree.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import pairwise

from solubility_stats.quantities import fill_columns
from solubility_stats.sheets.beam import beams
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.places import GROUP_WORDS
from solubility_stats.sheets.said_amounts import aliquots, evaporated, strengths, waters
from solubility_stats.sheets.said_filtrations import TO_DO, filtrations
from solubility_stats.sheets.said_steps import dried_out, durations
from solubility_stats.sheets.said_temperatures import of_room, temperatures
from solubility_stats.sheets.sentence_parts import FOR_ALL
from solubility_stats.sheets.some_groups import ONE_GROUP, SOME_GROUPS
from solubility_stats.sheets.titre import TITRATION

# "(group 5 used the leftover 0.0985 mol/L)", ", except table 6 who took 150 mL"
_OF_ONE = (
    re.compile(
        rf"\(\s*(?:{GROUP_WORDS}|table)\s*(?P<group>\w{{1,3}})\s+"
        r"(?P<said>(?:used|took|had|did|filtered|was|stirred)\b[^()]*)\)",
        re.IGNORECASE,
    ),
    re.compile(
        rf"[,;–-]\s*(?:except|apart from|but(?: not)?)\s+(?:for\s+)?(?:{GROUP_WORDS}|table)\s*"
        r"(?P<group>\w{1,3})\b(?P<said>[^;.]*)",
        re.IGNORECASE,
    ),
)


def exceptions_in(text: str) -> list[tuple[str, str]]:
    """Return the groups that a sentence about all excepts, each with what it says of them."""
    return [(m["group"].casefold(), m["said"]) for one in _OF_ONE for m in one.finditer(text)]


def said_by(text: str, known: Iterable[str]) -> dict[str, str]:
    """Return the words for each value that one sentence says, by column; see :func:`said_in`."""
    found = said_in([RawCell(1, 1, text, text)], {*known})
    return {column: words for column, (_, words) in found.items()}


def _stated(text: str) -> str:
    """Return what a text says of all: no exceptions, nothing it only asks or asks to do."""
    for one in _OF_ONE:
        text = one.sub(" ", text)
    text = " ".join(s for s in _SENTENCES.split(text) if not _of_some(s))
    return TO_DO.sub(" ", _QUESTION.sub(" ", text))


def _of_some(sentence: str) -> bool:
    """Tell whether a sentence speaks of some groups only; see ``said_of_groups.py``."""
    one = ONE_GROUP.match(sentence) is not None and FOR_ALL.search(sentence) is None
    return one or SOME_GROUPS.search(sentence) is not None


_SENTENCES = re.compile(r"(?<=[.;!?])\s+")
_QUESTION = re.compile(r"(?:(?<=[.!?]\s)|\A)(?:[^.!?]|\.(?=\d))*[^.!?()\s]\?(?=\s|\Z)")


def said_in(cells: Sequence[RawCell], known: set[str]) -> dict[str, tuple[RawCell, str]]:
    """Return what the sentences around a table say once for all its runs.

    Parameters
    ----------
    cells : sequence of RawCell
        Cells above and below a table, without those that are labels or their values.
    known : set of str
        Columns the table or a label has already.

    Returns
    -------
    dict of str to tuple of (RawCell, str)
        By canonical column: the cell that says it, and the words for the value with its unit.
    """
    texts = [c for c in cells if isinstance(c.value, str)]
    titrated = known & TITRATION or any("titrated" in concepts_in(c.text) for c in texts)
    asked: dict[str, Callable[[str], Iterator[str]]] = {
        "temperature_c": temperatures,
        "titrant_mol_per_l": strengths,
        "filtration": filtrations,
        "scatter": beams,
        "constant_mass": dried_out,
        "water_volume_ml": waters,
        "stir_min": lambda text: durations(text, "stir_min"),
        "settle_min": lambda text: durations(text, "settle_min"),
        "dry_min": lambda text: durations(text, "dry_min"),
    }
    if titrated:
        asked["aliquot_ml"] = aliquots
    if "dish_mass_g" in known:
        asked["evaporation_aliquot_ml"] = evaporated
    found: dict[str, tuple[RawCell, str]] = {}
    for column, look in asked.items():
        if column in known or (column == "water_volume_ml" and fill_columns(known)):
            continue
        hits = [(cell, said) for cell in texts for said in look(_stated(cell.text))]
        if column == "temperature_c":
            hits = [(c, said) for c, said in hits if not of_room(c.text)] or hits
        if not hits and column == "titrant_mol_per_l":  # "Acid: HCl" beside "c = 0.1 mol/l"
            hits = [(b, said) for a, b in pairwise(texts) if a.row == b.row
                    for said in look(f"{a.text} {b.text}")]  # fmt: skip
        if len({" ".join(said.split()) for _, said in hits}) == 1:
            found[column] = hits[0]
    return found
