"""The corpus of messy files: everything recoverable is read, nothing wrong is read in silence."""

from __future__ import annotations

import csv
import io
import json
import math
import re
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import solubility_stats as ss
from solubility_stats.records import LEDGER_COLUMNS, ClassRecords

CORPUS = Path(__file__).parent / "corpus"
NAMES = sorted(p.name.removesuffix(".json") for p in CORPUS.glob("*.json"))
IDENTITY = ("section", "group", "run")
OUTCOMES = {"used", "converted", "context", "ignored", "unclear", "rejected"}


@pytest.fixture(scope="module")
def read() -> Any:
    kept: dict[str, ClassRecords] = {}

    def reader(name: str) -> ClassRecords:
        if name not in kept:
            kept[name] = ss.read_class(CORPUS / name)
        return kept[name]

    return reader


def truth_of(name: str) -> dict[str, Any]:
    loaded: dict[str, Any] = json.loads((CORPUS / f"{name}.json").read_text(encoding="utf-8"))
    return loaded


def same(found: object, expected: object) -> bool:
    if isinstance(expected, (bool, str)):
        return found == expected
    return isinstance(found, float) and math.isclose(found, float(str(expected)), rel_tol=1e-6)


def missing(found: object) -> bool:
    return found is None or found is pd.NA or found is pd.NaT or found != found


def partner(runs: pd.DataFrame, wanted: dict[str, Any]) -> pd.Series | None:
    """Find the run of the table that a run of the truth is about."""
    rows = runs
    for name in IDENTITY:
        if wanted.get(name):
            rows = rows[rows[name] == wanted[name]]
    return None if len(rows) != 1 else rows.iloc[0]


def account(name: str, records: ClassRecords) -> tuple[int, int, list[str]]:
    """Count recoverable and recovered values and list everything wrong."""
    active = records.runs[records.runs["set_aside"] == ""]
    wanted = truth_of(name)["runs"]
    recoverable = recovered = 0
    wrong = [] if len(active) <= len(wanted) else [f"{len(active)} runs for {len(wanted)}"]
    unnamed = truth_of(name).get("unnamed", False)
    for position, run in enumerate(wanted):
        row = active.iloc[position] if unnamed else partner(active, run)
        for column, expected in run.items():
            if column in IDENTITY:
                continue
            found = None if row is None else row.get(column)
            at = f"{name} group {run['group']} {column}: {found!r} for {expected!r}"
            if expected is None:
                wrong += [] if missing(found) else [at]
                continue
            recoverable += 1
            if same(found, expected):
                recovered += 1
            elif not missing(found):
                wrong.append(at)
    return recoverable, recovered, wrong


@pytest.mark.parametrize("name", NAMES)
def test_no_wrong_value_and_none_invented(name: str, read: Any) -> None:
    assert account(name, read(name))[2] == []


@pytest.mark.parametrize("name", NAMES)
def test_everything_recoverable_is_read(name: str, read: Any) -> None:
    recoverable, recovered, _ = account(name, read(name))
    assert recovered == recoverable


def test_over_the_corpus_at_least_99_percent_are_right(read: Any) -> None:
    assert len(NAMES) >= 25
    counts = [account(name, read(name)) for name in NAMES]
    assert sum(c[1] for c in counts) >= 0.99 * sum(c[0] for c in counts)


@pytest.mark.parametrize("name", [n for n in NAMES if truth_of(n)["look"]])
def test_the_cells_that_need_a_person_say_why(name: str, read: Any) -> None:
    ledger = read(name).ledger.set_index("cell")
    for address in truth_of(name)["look"]:
        row = ledger.loc[address]
        assert row["outcome"] in ("unclear", "rejected"), address
        assert len(row["note"]) > 5


def cells_in(path: Path) -> int:
    """Count the non-empty cells of a file without the reader."""
    if path.suffix == ".xlsx":
        from openpyxl import load_workbook

        book = load_workbook(path)
        return sum(
            cell.value is not None and str(cell.value).strip() != ""
            for sheet in book.worksheets
            for row in sheet.iter_rows()
            for cell in row
        )
    if path.suffix in (".xls", ".ods", ".xlsb"):
        from python_calamine import CalamineWorkbook

        calamine = CalamineWorkbook.from_path(str(path))
        grids = [calamine.get_sheet_by_name(n).to_python() for n in calamine.sheet_names]
        return sum(str(cell).strip() != "" for grid in grids for row in grid for cell in row)
    return cells_of_text(path.read_bytes())


def cells_of_text(data: bytes) -> int:
    wide = {b"\xff\xfe": "utf-16", b"\x00G": "utf-16-be"}
    for encoding in (wide.get(data[:2], "utf-8-sig"), "cp1252"):
        try:
            text = data.decode(encoding)
            break
        except UnicodeDecodeError:
            continue
    text = re.sub(r"\r\n?", "\n", text)
    told = text.startswith("sep=")
    common = [d for d in ";\t|" if text.count(d) >= text.count("\n")]
    delimiter = common[0] if common else ","
    body = text.partition("\n")[2] if told else text
    return sum(
        cell.strip() != ""
        for row in csv.reader(io.StringIO(body), delimiter=delimiter)
        for cell in row
    )


@pytest.mark.parametrize("name", NAMES)
def test_every_cell_is_accounted_for_once(name: str, read: Any) -> None:
    ledger = read(name).ledger
    assert list(ledger.columns) == list(LEDGER_COLUMNS)
    body = ledger[~ledger["raw"].astype(str).str.startswith("sep=")]
    assert len(body) == cells_in(CORPUS / name)
    assert not ledger.duplicated(["file", "sheet", "cell"]).any()
    assert set(ledger["outcome"]) <= OUTCOMES


@pytest.mark.parametrize("name", [n for n in NAMES if "private" in truth_of(n)])
def test_nobody_is_named(name: str, read: Any) -> None:
    records = read(name)
    said = records.runs.to_csv() + records.ledger.to_csv() + records.flags.to_csv()
    said += records.headings.to_csv() + str(records) + json.dumps(records.to_dict())
    for word in truth_of(name)["private"]:
        assert not re.search(rf"\b{re.escape(word)}\b", said), word


@pytest.mark.parametrize("name", [n for n in NAMES if "set_aside" in truth_of(n)])
def test_earlier_submissions_stay_and_are_set_aside(name: str, read: Any) -> None:
    runs = read(name).runs
    aside = runs[runs["set_aside"] != ""]
    wanted = truth_of(name)["set_aside"]
    assert sorted(aside["group"]) == sorted(run["group"] for run in wanted)
    for run in wanted:
        row = partner(aside, run)
        assert row is not None
        assert same(row["recovered_mass_g"], run["recovered_mass_g"])


@pytest.mark.parametrize("name", [n for n in NAMES if "flagged" in truth_of(n)])
def test_flags(name: str, read: Any) -> None:
    records = read(name)
    group_of = records.runs.set_index("run_id")["group"]
    for flag, groups in truth_of(name)["flagged"].items():
        marked = records.flags[records.flags["flag"] == flag]
        assert set(marked["run_id"].map(group_of)) == set(groups)


@pytest.mark.parametrize("name", [n for n in NAMES if "decimals" in truth_of(n)])
def test_recorded_decimals_are_kept(name: str, read: Any) -> None:
    records = read(name)
    kept = records.decimals[(records.runs["set_aside"] == "").to_numpy()]
    for column, decimals in truth_of(name)["decimals"].items():
        known = kept[column].dropna()
        assert len(known) > 0
        assert set(known) == {decimals}
