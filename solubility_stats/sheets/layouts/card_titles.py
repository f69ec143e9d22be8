"""Titles of cards that stand beside a word for the card: "LAB CARD | Table 1".

The word is no reading and the title is what names the group, so that the pair becomes a label with
its value like every other line of the card.
"""

from __future__ import annotations

from dataclasses import replace

from solubility_stats.sheets.head import Know
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.places import groups_in

_LONGEST = 24
_FEWEST = 2


def with_groups_labelled(sheet: Sheet, know: Know) -> Sheet:
    """Return a sheet on which such a word asks for the group; any other as it is.

    The cells keep their addresses.

    Parameters
    ----------
    sheet : Sheet
        A sheet as read from the file.
    know : callable
        Reads a stack of heading texts.
    """
    beside: dict[str, list[tuple[RawCell, RawCell | None]]] = {}
    for cell in sheet.texts:
        beside.setdefault(cell.text, []).append((cell, sheet.cells.get((cell.row, cell.col + 1))))
    cells = dict(sheet.cells)
    for word, pairs in beside.items():
        codes = [_code(value) for _, value in pairs]
        if len(set(codes)) < _FEWEST or not all(codes):
            continue
        if know((word,)).candidates or not all(_tops(label, sheet, know) for label, _ in pairs):
            continue
        for (label, value), code in zip(pairs, codes, strict=True):
            if value is not None:
                cells[label.row, label.col] = label.saying("Group")
                cells[value.row, value.col] = value.saying(code)
    return replace(sheet, cells=cells)


def _tops(label: RawCell, sheet: Sheet, know: Know) -> bool:
    """Tell whether a word and the title beside it, and nothing else, stand over labels."""
    below = sheet.cells.get((label.row + 1, label.col))
    asked = below is not None and isinstance(below.value, str) and know((below.text,)).candidates
    return bool(asked) and (label.row, label.col + 2) not in sheet.cells


def _code(value: RawCell | None) -> str:
    """Return the one group a title names, empty for anything else."""
    if value is None or not isinstance(value.value, str) or len(value.text) > _LONGEST:
        return ""
    named = groups_in(value.text)
    return next(iter(named)) if len(named) == 1 else ""
