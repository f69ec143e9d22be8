"""Blocks of the same headings side by side, each under the name of a section, group or bath.

"F21" over start, left, °C and "S22" over start, left, °C again are two classes beside one list of
benches; "Ice bath" and "Room temperature" are two runs of each group. Each block becomes runs of
its own.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import counted_by
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.places import GROUP_WORDS

_FEWEST = 2
_GROUP = re.compile(rf"(?:{GROUP_WORDS}|table|tisch)(?![^\W_])", re.IGNORECASE)


_RUN = re.compile(r"(?:experiment|expt|exp|round|series|set|go|test)\W*(\d{1,2})", re.IGNORECASE)
_CODE = re.compile(r"[^\W\d_]{1,3}[\s'’-]?\d{2,4}")  # "S22" is a spring
_BATH = re.compile(
    r".*\b(?:(?:water |ice |salt )?bath|ice|(?:room|ambient) temp\w*|cold|cool|warm|hot|\d+ ?°C|"
    r"\w*bad|kalt|warm|raumtemp\w*|zimmertemp\w*|bain\b.*|froid|chaud|ambiante|baño\b.*|frío|"
    r"caliente|ambiente|banho\b.*|frio|quente|bagno\b.*|freddo|caldo)",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class Blocks:
    """What the names over the blocks are, and the reading of each place with its block."""

    column: str
    readings: dict[int, Reading]


def find_blocks(heads: Sequence[tuple[int, tuple[RawCell, ...]]], know: Know) -> Blocks | None:
    """Return the blocks of a table, ``None`` where its headings do not repeat.

    Parameters
    ----------
    heads : sequence of tuple of (int, tuple of RawCell)
        Places with their heading cells from top to bottom.
    know : callable
        Reads a stack of heading texts.
    """
    blocks: dict[str, list[tuple[int, tuple[str, ...]]]] = {}
    for place, cells in heads:
        texts = tuple(dict.fromkeys(" ".join(c.text.split()) for c in cells))
        if len(texts) > 1:
            blocks.setdefault(texts[0], []).append((place, texts[1:]))
    whole = {name: parts for name, parts in blocks.items() if len(parts) >= _FEWEST}
    layouts = {tuple(texts for _, texts in parts) for parts in whole.values()}
    if len(whole) < _FEWEST or len(layouts) != 1 or len(whole) != len(blocks):
        return None
    baths = all(map(_BATH.fullmatch, whole)) and _ask_for_runs(next(iter(whole.values())), know)
    names_one = (not _CODE.fullmatch(name) and _is_reading(know((name,))) for name in whole)
    if not baths and any(names_one):
        return None  # "Mass (g)" over before and after, "Water (mL)" over 1 and 2
    readings = {}
    for name, parts in whole.items():
        for place, texts in parts:
            reading = know(texts)
            if reading.trial or (know((name, *texts)).trial and not _CODE.fullmatch(name)):
                return None  # trials are told apart elsewhere
            readings[place] = replace(reading, trial=_run_of(name) or name)
    known = {r.column for r in readings.values() if r.column}
    if len({c for c in known if _is_number(c)}) < _FEWEST:
        return None
    column = "group" if all(map(_GROUP.match, whole)) else "section"
    listed = any(
        know(tuple(c.text for c in cells)).column == "group" for _, cells in heads if cells
    )
    if not listed and any(map(counted_by, whole)):
        return None  # "1" and "2" over the same headings, with no groups beside: perhaps groups
    column = "run" if baths or all(map(_run_of, whole)) else column
    return Blocks(column, readings)


def _ask_for_runs(parts: Sequence[tuple[int, tuple[str, ...]]], know: Know) -> bool:
    """Tell whether the headings of one block ask for the two masses that make a run."""
    return {"initial_mass_g", "recovered_mass_g"} <= {know(texts).column for _, texts in parts}


def _run_of(name: str) -> str:
    """Return the number of the run a block is named after ("Go 2", "2", "Second"), else nothing."""
    numbered = _RUN.fullmatch(name)
    return numbered[1] if numbered else counted_by(name)


def _is_reading(reading: Reading) -> bool:
    return any(map(_is_number, reading.candidates))


def _is_number(column: str) -> bool:
    return is_canonical(column) and quantity(column).kind == "number"
