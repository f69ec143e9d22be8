"""Build the corpus of messy class files, each with its truth beside it.

Run ``python make.py`` in this folder to write every file again; ``python make.py NAME…`` writes
some. The files are committed, so tests do not need this script. The old binary and the open
document formats, and formulas with stored results, come from the office suite ``soffice``.

Every class is invented: about two grams of calcium hydroxide in four fills of 50 mL.

The truth (``NAME.json``) lists under ``runs`` what a careful teacher reads, one entry per run with
canonical names; a quantity given as ``null`` must stay missing, because the file does not tell it.
``look`` lists cells that must end up ``unclear`` or ``rejected``; ``set_aside`` the runs that must
not enter the statistics.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence

import build_books
import build_cells
import build_hard
import build_layouts
import build_odd
import build_texts
import build_witness
import build_words
from kit import HERE, MAKERS

# Importing the parts registers their makers.
PARTS = (build_layouts, build_cells, build_texts, build_books, build_hard, build_odd, build_words,
         build_witness)  # fmt: skip


def main(names: Sequence[str]) -> None:
    for name in names or MAKERS:
        found = MAKERS[name]()
        text = json.dumps(found, indent=1, ensure_ascii=False)
        (HERE / f"{name}.json").write_text(text + "\n", encoding="utf-8")
        print(name, len(found["runs"]), "runs")


if __name__ == "__main__":
    main(sys.argv[1:])
