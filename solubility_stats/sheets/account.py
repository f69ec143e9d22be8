"""The short account of a reading: what was found, understood, used and left open."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.remarks.put_right import NOTE as PUT_RIGHT
from solubility_stats.sheets.remarks.with_paper import NOTE as WITH_PAPER


def account_of(
    books: Sequence[Book],
    runs: pd.DataFrame,
    ledger: pd.DataFrame,
    headings: pd.DataFrame,
    tables: int,
    decided: Mapping[tuple[str, str, str], str],
) -> dict[str, object]:
    """Return counts and, under ``text``, a few lines a teacher understands."""
    outcomes = ledger["outcome"].value_counts().to_dict()
    files = list(dict.fromkeys(b.sheet.file for b in books))
    counts: dict[str, object] = {
        "files": len(files),
        "sheets": len(books),
        "tables": tables,
        "runs": len(runs),
        "runs_set_aside": int((runs["set_aside"] != "").sum()),
        "cells": len(ledger),
        **{f"cells_{o}": int(outcomes.get(o, 0)) for o in
           ("used", "converted", "context", "ignored", "unclear", "rejected")},
        "path": "full",
    }  # fmt: skip
    counts["text"] = _text(counts, books, runs, ledger, headings, decided)
    return counts


def _text(
    counts: Mapping[str, object],
    books: Sequence[Book],
    runs: pd.DataFrame,
    ledger: pd.DataFrame,
    headings: pd.DataFrame,
    decided: Mapping[tuple[str, str, str], str],
) -> str:
    used = int(str(counts["cells_used"])) + int(str(counts["cells_converted"]))
    asked = int(str(counts["cells_unclear"])) + int(str(counts["cells_rejected"]))
    lines = [
        f"Read {_many(counts['files'], 'file')}: {_many(counts['sheets'], 'sheet')}, "
        f"{_many(counts['tables'], 'table')}, {_many(counts['runs'], 'run')}"
        + (f" ({counts['runs_set_aside']} set aside)." if counts["runs_set_aside"] else "."),
        f"Cells: {counts['cells']} filled; {used} used "
        f"({counts['cells_converted']} of them converted), {counts['cells_context']} headings and "
        f"captions, {counts['cells_ignored']} ignored, {asked} need a person.",
    ]
    understood = headings[headings["column"] != ""]
    names = list(dict.fromkeys(understood["column"]))
    if names:
        lines.append(f"Columns understood: {', '.join(names)}.")
    titles = headings["note"] == "names the group of a card"
    open_ones = headings[(headings["column"] == "") & ~titles]
    for row in open_ones.drop_duplicates(["heading", "note"]).head(8).itertuples(index=False):
        lines.append(f"Heading '{row.heading}': {row.note}.")
    worked_out = headings[headings["how"].isin(["arithmetic", "likely"])]
    for row in worked_out.drop_duplicates(["heading", "note"]).head(8).itertuples(index=False):
        lines.append(f"Heading '{row.heading}': {row.note}.")
    lines += _commas(decided)
    for why, n in Counter(runs.loc[runs["set_aside"] != "", "set_aside"]).most_common(6):
        lines.append(f"Set aside: {why}" + (f" ({n} runs)." if n > 1 else "."))
    notes = [note for note in ledger["note"].unique() if note.startswith((PUT_RIGHT, WITH_PAPER))]
    moved = ledger[ledger["note"].isin(notes)]
    for row in moved.head(10).itertuples(index=False):
        lines.append(f"{_place(row)}, {row.column}: {row.note}.")
    questions = ledger[ledger["outcome"].isin(["unclear", "rejected"])]
    for row in questions.head(10).itertuples(index=False):
        lines.append(f"Please look at {_place(row)}: {row.note}.")
    if len(questions) > 10:
        lines.append(f"… and {len(questions) - 10} more cells, listed in the ledger.")
    for book in books:
        for note in book.sheet.notes:
            if not note.startswith("text in utf-8, fields"):
                where = (
                    f"{book.sheet.file}, {book.sheet.name}" if book.sheet.name else book.sheet.file
                )
                lines.append(f"{where}: {note}.")
    return "\n".join(lines)


def _place(row: Any) -> str:
    """Return where a line of the ledger stands, and what the cell holds."""
    sheet = f"{row.sheet}!" if row.sheet else ""
    return f"{row.file}, {sheet}{row.cell} ('{row.raw}')"


def _commas(decided: Mapping[tuple[str, str, str], str]) -> list[str]:
    """Return one line per sheet with columns whose figures have a decimal comma."""
    found: dict[tuple[str, str], list[str]] = {}
    for (file, sheet, column), why in decided.items():
        if why.startswith("decimal ','"):
            found.setdefault((file, sheet), []).append(column)
    return [
        f"Decimal comma in {', '.join(filter(None, place))}: {', '.join(columns)}."
        for place, columns in found.items()
    ]


def _many(n: object, word: str) -> str:
    return f"{n} {word}" if n == 1 else f"{n} {word}s"
