"""ClassRecords: what the class wrote down, one row per run, with where each run came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.quantities import (
    SOURCE_COLUMNS,
    fill_columns,
    is_canonical,
    numeric_columns,
    quantity,
)

IDENTIFIERS = ("semester", "section", "group", "run")
LEDGER_COLUMNS = ("file", "sheet", "cell", "raw", "outcome", "column", "value", "unit", "note")
FLAG_COLUMNS = ("run_id", "column", "flag", "note")
HEADING_COLUMNS = ("file", "sheet", "cell", "heading", "column", "unit", "how", "note")


def _empty(columns: tuple[str, ...]) -> pd.DataFrame:
    return pd.DataFrame({c: pd.Series(dtype="str") for c in columns})


@dataclass(frozen=True, repr=False)
class ClassRecords(Result):
    """The runs of a class and the account of how they were read.

    Attributes
    ----------
    runs : DataFrame
        One row per run with the canonical columns (see :mod:`solubility_stats.quantities`), the
        unique text ``run_id``, ``set_aside`` (why the run must not enter the statistics, empty
        for a run that may) and ``source_file``, ``source_sheet``, ``source_cells``.
    ledger : DataFrame
        One row per non-empty cell of every file: ``file, sheet, cell, raw, outcome, column,
        value, unit, note``. Empty for records built from a frame.
    headings : DataFrame
        How each heading was understood: ``file, sheet, cell, heading, column, unit, how, note``.
    flags : DataFrame
        Remarks on single readings: ``run_id, column, flag, note``, with ``flag`` one of
        ``approximate | censored | unclear | hidden | struck | repeated | resubmitted |
        implausible | incomplete | as_other_group``.
    decimals : DataFrame
        Recorded decimals of each number, indexed like ``runs``, one Int64 column per numeric
        column; ``<NA>`` where the source does not tell. They bound the resolution: 1.00 is not 1.
    account : mapping
        Counts for the reader's short account (tables found, cells by outcome, path taken).
    """

    runs: pd.DataFrame
    ledger: pd.DataFrame = field(default_factory=lambda: _empty(LEDGER_COLUMNS))
    headings: pd.DataFrame = field(default_factory=lambda: _empty(HEADING_COLUMNS))
    flags: pd.DataFrame = field(default_factory=lambda: _empty(FLAG_COLUMNS))
    decimals: pd.DataFrame = field(default_factory=pd.DataFrame)
    account: Mapping[str, object] = field(default_factory=dict)

    @classmethod
    def from_frame(
        cls, frame: pd.DataFrame, *, decimals: pd.DataFrame | None = None
    ) -> ClassRecords:
        """Build records from a clean frame with canonical column names.

        Parameters
        ----------
        frame : DataFrame
            One row per run. Not changed. Its index is not used.
        decimals : DataFrame, optional
            Recorded decimals, same shape of index, one column per numeric column.

        Raises
        ------
        InputError
            If no canonical column is present, a column name occurs twice, or a numeric column
            holds text; all offending cells are named.
        """
        runs = frame.reset_index(drop=True).copy()
        runs.columns = pd.Index([str(c) for c in runs.columns])
        _check_columns(runs)
        for name in numeric_columns(runs.columns):
            runs[name] = _as_float(runs[name], name)
        runs = with_water_volume(runs)
        runs = _with_identity(runs)
        if decimals is None:
            decimals = pd.DataFrame(
                {
                    c: pd.Series(pd.NA, index=runs.index, dtype="Int64")
                    for c in numeric_columns(runs.columns)
                }
            )
        return cls(runs=runs, decimals=decimals.reset_index(drop=True))

    @property
    def n(self) -> int:
        """Number of runs, including those set aside."""
        return len(self.runs)

    @property
    def n_set_aside(self) -> int:
        """Number of runs that must not enter the statistics."""
        return int((self.runs["set_aside"] != "").sum())

    def headline(self) -> str:
        """Return how many runs were read and from where."""
        groups = len(self.runs[["section", "group"]].drop_duplicates())
        text = f"{self.n} runs of {groups} groups"
        return f"{text}, {self.n_set_aside} set aside" if self.n_set_aside else text

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return runs, headings and flags."""
        filled = self.runs.dropna(axis="columns", how="all")
        return {"Runs": filled, "Headings": self.headings, "Flags": self.flags}


def _check_columns(runs: pd.DataFrame) -> None:
    twice = runs.columns[runs.columns.duplicated()].unique().tolist()
    if twice:
        raise InputError(
            "a column name occurs more than once",
            where="frame",
            found=twice,
            remedy="Rename or drop the extra columns.",
        )
    if not any(is_canonical(c) for c in runs.columns):
        raise InputError(
            "no column has a canonical name",
            where="frame",
            found=list(runs.columns)[:12],
            expected="columns such as group, initial_mass_g, fill_1_ml, recovered_mass_g",
            remedy="Rename the columns, or read the original file with read_class.",
        )


def _as_float(column: pd.Series, name: str) -> pd.Series:
    try:
        return column.astype(float)
    except (TypeError, ValueError):
        numbers = pd.to_numeric(column, errors="coerce")
        bad = column[numbers.isna() & column.notna()]
        shown = {f"row {i}": v for i, v in bad.head(8).items()}
        raise InputError(
            f"{len(bad)} cells are not numbers",
            where=f"column {name}",
            found=shown,
            expected=f"numbers in {quantity(name).unit or 'plain figures'}",
            remedy="Mend the cells, set them to missing, or use read_class for messy files.",
        ) from None


def with_water_volume(runs: pd.DataFrame) -> pd.DataFrame:
    """Return a copy whose ``water_volume_ml`` is the sum of fills where any fill is recorded."""
    fills = fill_columns(runs.columns)
    runs = runs.copy()
    if "water_volume_ml" not in runs:
        runs["water_volume_ml"] = np.nan
    if fills:
        total = runs[fills].sum(axis="columns", min_count=1)
        runs["water_volume_ml"] = total.where(total.notna(), runs["water_volume_ml"])
    return runs


def _with_identity(runs: pd.DataFrame) -> pd.DataFrame:
    runs = runs.copy()
    for name in IDENTIFIERS:
        if name not in runs:
            runs[name] = ""
        runs[name] = runs[name].map(_identifier).astype("str")
    for name in SOURCE_COLUMNS:
        if name not in runs:
            runs[name] = ""
    if "set_aside" not in runs:
        runs["set_aside"] = ""
    runs["set_aside"] = runs["set_aside"].fillna("").astype("str")
    if "run_id" not in runs or runs["run_id"].duplicated().any():
        runs["run_id"] = run_ids(runs)
    return runs


def _identifier(cell: object) -> str:
    if cell is None or cell is pd.NA or (isinstance(cell, float) and np.isnan(cell)):
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))  # 3.0 came from a column of whole numbers with a gap
    return str(cell).strip()


def run_ids(runs: pd.DataFrame) -> pd.Series:
    """Return a unique text id per run, ``section/group/run`` with a counter where these repeat."""
    parts = runs[list(IDENTIFIERS)].astype("str")
    several = parts["semester"].nunique() > 1
    names = ["semester", *IDENTIFIERS[1:]] if several else list(IDENTIFIERS[1:])
    if parts.empty:
        return pd.Series(dtype="str")
    rows = zip(*(parts[name].tolist() for name in names), strict=True)
    base = pd.Series(["/".join(filter(None, row)) or "run" for row in rows], index=runs.index)
    if base.is_unique:
        return base.astype("str")
    count = base.groupby(base).cumcount()
    return base.where(count == 0, base + "#" + (count + 1).astype(str)).astype("str")
