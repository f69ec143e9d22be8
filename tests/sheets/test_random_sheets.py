"""Random sheets built from known truth: nothing lost, nothing invented.

Each example draws a class (groups and their readings) and then a way of writing it down: layout,
headings, units, dialect of numbers, noise around the table. Every cell that was written must be
in the ledger once, and every value read must be the true one or be missing and pointed out.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from solubility_stats.sheets import read_class

HEADINGS = {
    "group": ["Group", "Grp", "group no.", "Team", "Bench", "GROUP #"],
    "initial_mass_g": [
        "m0", "Initial mass", "starting mass", "m initial", "What mass did you start with?",
        "Mass of solid added", "Initial mas", "m₀",
    ],
    "recovered_mass_g": [
        "m dry", "Recovered mass", "residue", "mass recovered", "undissolved mass",
        "Mass of dried solid", "What mass was left?", "Recoverd mass",
    ],
    "water_volume_ml": ["Volume", "water volume", "Total volume", "Vol", "Volume of water", "V"],
    "temperature_c": ["Temp", "Temperature", "T", "water temp.", "Temprature"],
    "filtration": ["Filtration", "Buchner or gravity?", "filter", "vac/grav"],
}  # fmt: skip
FILL_HEADINGS = ["Vol {}", "Fill {}", "V{}", "fill #{}", "Volume {}", "water {}"]
UNITS = {
    "initial_mass_g": [("g", 1.0), ("mg", 1000.0), ("grams", 1.0)],
    "recovered_mass_g": [("g", 1.0), ("mg", 1000.0), ("g", 1.0)],
    "water_volume_ml": [("mL", 1.0), ("L", 0.001), ("cm³", 1.0), ("ml", 1.0)],
    "temperature_c": [("°C", None), ("°F", None), ("K", None)],
}
WORDS = {"vacuum": ["vac", "Büchner", "vacuum", "V"], "gravity": ["grav.", "gravity", "G"]}


@dataclass
class Written:
    """A class as truth and as rows to write."""

    truth: dict[tuple[str, str], dict[str, object]]
    rows: list[list[object]]
    text_numbers: bool
    merges: list[str] = field(default_factory=list)


def _shown(value: float, decimals: int, as_text: bool, comma: bool, unit: str) -> object:
    if not as_text and not unit:
        return round(value, decimals)
    text = f"{value:.{decimals}f}"
    text = text.replace(".", ",") if comma else text
    return f"{text} {unit}" if unit else text


def _in_unit(column: str, value: float, unit: str, factor: float | None) -> tuple[float, int]:
    if column == "temperature_c":
        if unit == "°F":
            return value * 1.8 + 32, 2
        return (value + 273.15, 2) if unit == "K" else (value, 1)
    decimals = {1.0: 2 if column.endswith("_g") else 1, 1000.0: 0, 0.001: 4}[factor or 1.0]
    return value * (factor or 1.0), decimals


@st.composite
def classes(draw: st.DrawFn, text: bool) -> Written:
    """Draw a class and a way of writing it down."""
    n = draw(st.integers(3, 9))
    fills = draw(st.sampled_from([0, 0, 2, 4]))
    extra = draw(st.lists(st.sampled_from(["temperature_c", "filtration"]), unique=True))
    comma = draw(st.booleans())
    as_text = text or draw(st.booleans())
    unit_where = draw(st.sampled_from(["heading", "row", "cell"]))
    columns = ["group", "initial_mass_g"]
    columns += [f"fill_{k}_ml" for k in range(1, fills + 1)] or ["water_volume_ml"]
    columns += ["recovered_mass_g", *extra]
    tail = columns[1:]
    columns = ["group", *draw(st.permutations(tail))]
    # Fills keep their order, as people pour one after another.
    style = {c: draw(st.sampled_from(HEADINGS.get(c, FILL_HEADINGS))) for c in columns}
    fill_style = draw(st.sampled_from(FILL_HEADINGS))
    units = {c: draw(st.sampled_from(UNITS.get(c, [("mL", 1.0)]))) for c in columns}
    prefix = draw(st.sampled_from(["", "A", "Group "]))
    head: list[object] = []
    unit_row: list[object] = []
    for c in columns:
        name = fill_style.format(c.split("_")[1]) if c.startswith("fill_") else style[c]
        unit = units[c][0] if c not in ("group", "filtration") else ""
        head.append(f"{name} ({unit})" if unit and unit_where == "heading" else name)
        unit_row.append(unit or None)
    rows = [head]
    if unit_where == "row":
        rows.append(unit_row)
    truth: dict[tuple[str, str], dict[str, object]] = {}
    body: list[list[object]] = []
    for k in range(1, n + 1):
        m0 = draw(st.integers(220, 280)) / 100
        values: dict[str, object] = {"initial_mass_g": m0}
        values["recovered_mass_g"] = round(m0 - draw(st.integers(20, 60)) / 100, 2)
        total = 0.0
        for c in columns:
            if c.startswith("fill_"):
                values[c] = draw(st.integers(480, 520)) / 10
                total += float(str(values[c]))
        values["water_volume_ml"] = total or draw(st.integers(1900, 2100)) / 10
        values["temperature_c"] = draw(st.integers(180, 260)) / 10
        values["filtration"] = draw(st.sampled_from(["vacuum", "gravity"]))
        row: list[object] = []
        for c in columns:
            if c == "group":
                row.append(f"{prefix}{k}" if prefix or as_text else k)
            elif c == "filtration":
                row.append(draw(st.sampled_from(WORDS[str(values[c])])))
            else:
                unit, factor = units[c]
                value, decimals = _in_unit(c, float(str(values[c])), unit, factor)
                inside = unit if unit_where == "cell" else ""
                row.append(_shown(value, decimals, as_text, comma, inside))
        body.append(row)
        keep = {*columns, "water_volume_ml"} - {"group"}
        code = f"{prefix}{k}".removeprefix("Group ")
        truth["", code] = {c: v for c, v in values.items() if c in keep}
    if draw(st.booleans()):
        body.insert(draw(st.integers(1, n - 1)), [])
    rows += body
    rows = _with_noise(draw, rows, len(columns), as_text)
    return Written(truth, rows, as_text)


def _with_noise(
    draw: st.DrawFn, rows: list[list[object]], width: int, as_text: bool
) -> list[list[object]]:
    if draw(st.booleans()):
        label = draw(st.sampled_from(["Mean", "average", "Total", "SD", "Class avg."]))
        rows = [*rows, [label, *(["1.5" if as_text else 1.5] * (width - 1))]]
    if draw(st.booleans()):
        rows = [*rows, [], ["* one group weighed again the next day"]]
    if draw(st.booleans()):
        rows = [["Results of the solubility lab"], [], *rows]
    if draw(st.booleans()):
        rows = [*rows, [], [], [None] * (width + 4) + ["printed by the office"]]
    return rows


def _filled(rows: list[list[object]]) -> int:
    return sum(cell not in (None, "") for row in rows for cell in row)


def _check(path: Path, written: Written) -> tuple[int, int]:
    """Assert conservation and truth; return the cells right and the cells possible."""
    records = read_class(path)
    assert len(records.ledger) == _filled(written.rows)
    assert not records.ledger.duplicated(["file", "sheet", "cell"]).any()
    right = possible = 0
    runs = records.runs.set_index(["section", "group"])
    assert set(runs.index) <= set(written.truth), runs.index.tolist()
    for key, values in written.truth.items():
        for column, value in values.items():
            possible += 1
            if key not in runs.index or column not in runs.columns:
                continue
            read = runs.at[key, column]
            if isinstance(value, str):
                assert read == value or read is None or read != read
                right += read == value
            elif np.isnan(read):
                continue
            else:
                assert read == pytest.approx(value, abs=0.006), (key, column)
                right += 1
    return right, possible


def _turned(rows: list[list[object]]) -> list[list[object]]:
    width = max(map(len, rows))
    padded = [[*r, *[None] * (width - len(r))] for r in rows]
    return [list(column) for column in zip(*padded, strict=True)]


@settings(max_examples=60)
@given(written=classes(text=False), turned=st.booleans())
def test_workbooks_lose_and_invent_nothing(
    written: Written, turned: bool, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("random") / "class.xlsx"
    rows = _turned(written.rows) if turned else written.rows
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    book.save(path)
    right, possible = _check(path, written)
    assert right == possible


@settings(max_examples=60)
@given(
    written=classes(text=True),
    delimiter=st.sampled_from([";", "\t", ",", "|"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
)
def test_text_tables_lose_and_invent_nothing(
    written: Written, delimiter: str, encoding: str, tmp_path_factory: pytest.TempPathFactory
) -> None:
    path = tmp_path_factory.mktemp("random") / "class.csv"
    rows = [[str(c).replace("₀", "0") if c is not None else "" for c in r] for r in written.rows]
    with path.open("w", encoding=encoding, newline="") as handle:
        csv.writer(handle, delimiter=delimiter).writerows(rows)
    right, possible = _check(path, written)
    assert right == possible
