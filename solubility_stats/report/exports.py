"""Tables as files: what was read, what was computed, and clean data for research."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from solubility_stats.files import write_csv, write_json
from solubility_stats.report.summary import slip_rows, summary

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis
    from solubility_stats.records import ClassRecords

PathLike = str | os.PathLike[str]


def write_records(records: ClassRecords, folder: PathLike) -> list[Path]:
    """Write ``runs.csv`` and ``ledger.csv``; return their paths."""
    out = Path(folder)
    return [
        write_csv(records.runs.dropna(axis="columns", how="all"), out / "runs.csv"),
        write_csv(records.ledger, out / "ledger.csv"),
    ]


def write_tables(done: Analysis, folder: PathLike) -> list[Path]:
    """Write every table of an analysis and ``summary.json``; return their paths."""
    out = Path(folder)
    return [
        *write_records(done.records, out),
        write_csv(done.estimates.table, out / "estimates.csv"),
        write_csv(done.estimates.budget, out / "budget.csv"),
        write_csv(slip_rows(done), out / "slips.csv"),
        write_json(summary(done), out / "summary.json"),
    ]


def write_marked_copies(
    records: ClassRecords, files: Iterable[PathLike], folder: PathLike
) -> list[Path]:
    """Write a coloured copy of each sheet that shows what was read; originals stay untouched."""
    from dataclasses import replace

    from solubility_stats.sheets.files_in import find_sources
    from solubility_stats.sheets.markup import write_marked_copy

    written = []
    for source in find_sources(files):
        # The label keeps files of one name in two folders apart, and so does the copy's name.
        cells = records.ledger[records.ledger["file"] == source.label]
        name = source.label.replace("/", "_").replace(".", "_") + "_marked.xlsx"
        copy = write_marked_copy(replace(records, ledger=cells), source.path, Path(folder) / name)
        written.append(copy)
    return written


def budget_of_typical_run(done: Analysis) -> pd.DataFrame:
    """Return the budget of the run whose uncertainty is the middle one, largest share first.

    Returns
    -------
    DataFrame
        ``component, share_percent``; class and group parts of one effect are added up.
    """
    used = done.estimates.used(done.comparison.route)
    middle = used.sort_values("u_g_per_100g", kind="stable").iloc[len(used) // 2]
    budget = done.estimates.budget_of([middle["run_id"]], route=done.comparison.route)
    budget = budget.assign(component=budget["component"].str.split(": ").str[0])
    shares = budget.groupby("component", sort=False)["share_percent"].sum()
    return shares.sort_values(ascending=False, kind="stable").reset_index()
