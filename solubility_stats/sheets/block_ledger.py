"""The ledger of a table read column by column: codes into lists of words, no object per cell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from solubility_stats.sheets.fast import OUTCOMES, Block, Objects
from solubility_stats.sheets.ledger import UNREACHED, Entry
from solubility_stats.sheets.model import column_letters


def ledger_of(block: Block, above: Mapping[tuple[int, int], Entry]) -> pd.DataFrame:
    """Return the ledger of a block, columns of few different words as categories.

    ``raw`` holds the stored value itself, because making text of a million numbers costs more
    than reading them.

    Parameters
    ----------
    block : Block
        The table.
    above : mapping
        Entries of the cells above the runs, by row and column counted from 1.
    """
    rows, cols = block.cells.shape
    columns, units, notes = (
        _Coded(words, rows) for words in (block.columns, block.units, block.general)
    )
    for (i, j), note in block.notes.items():
        notes.enter(i, j, note)
    outcomes, values = block.outcomes, block.values
    for i in range(rows if not len(block.rows) else int(block.rows[0])):
        for j in range(cols):
            entry = above.get((i + 1, j + 1), UNREACHED)
            columns.enter(i, j, entry.column)
            units.enter(i, j, entry.unit)
            notes.enter(i, j, entry.note)
            outcomes[i, j], values[i, j] = OUTCOMES.index(entry.outcome), entry.value
    keep = slice(None) if block.filled.all() else np.flatnonzero(block.filled)
    n = int(block.filled.sum())
    return pd.DataFrame(
        {
            "file": _same(block.sheet.file, n),
            "sheet": _same(block.sheet.name, n),
            "cell": pd.Series(_addresses(rows, cols)[keep], dtype="str"),
            "raw": pd.Series(block.cells.ravel()[keep], dtype="object"),
            "outcome": _categories(outcomes.ravel()[keep], OUTCOMES),
            "column": columns.categories(keep),
            "value": pd.Series(values.ravel()[keep], dtype="object"),
            "unit": units.categories(keep),
            "note": notes.categories(keep),
        },
        copy=False,
    )


class _Coded:
    """A word for every cell, the same down each column unless entered otherwise."""

    def __init__(self, words: Sequence[str], rows: int) -> None:
        self.known = {word: k for k, word in enumerate(dict.fromkeys(words))}
        of_place = np.array([self.known[word] for word in words], np.int32)
        self.codes = np.tile(of_place, (rows, 1))

    def enter(self, i: int, j: int, word: str) -> None:
        """Enter a word for one cell."""
        self.codes[i, j] = self.known.setdefault(word, len(self.known))

    def categories(self, keep: slice | NDArray[np.int64]) -> pd.Categorical:
        """Return the words of the cells to keep."""
        return _categories(self.codes.ravel()[keep], list(self.known))


def _categories(codes: NDArray[Any], words: Sequence[str]) -> pd.Categorical:
    return pd.Categorical.from_codes(codes, categories=pd.Index(list(words), dtype="str"))


def _same(word: str, n: int) -> pd.Categorical:
    return _categories(np.zeros(n, np.int8), [word])


def _addresses(rows: int, cols: int) -> Objects:
    """Return the addresses of a rectangle in reading order."""
    letters = np.array([column_letters(j) for j in range(1, cols + 1)], dtype=object)
    numbers = np.array([str(i) for i in range(1, rows + 1)], dtype=object)
    return np.asarray(letters + numbers[:, np.newaxis]).ravel()
