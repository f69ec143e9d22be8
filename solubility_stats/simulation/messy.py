"""Simulated runs written the way people hand sheets in, for demos and for tests of the reader.

Each style takes the runs of one section and writes one file; the values in it are exactly the
recorded ones, so ``Simulation.records`` stays the truth to compare a reading with.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from solubility_stats.files import replacing
from solubility_stats.quantities import fill_columns

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

    from solubility_stats.simulation.semester import Simulation

Cell = object
PathLike = str | os.PathLike[str]
_WORDS = {
    "vacuum": ("vacuum", "Büchner", "vac", "Vacuum"),
    "gravity": ("gravity", "grav.", "Gravity"),
}


def number(value: float, decimals: int | None, *, comma: bool = False) -> str:
    """Return a number as it was written on paper, empty for none; all its digits for None."""
    if not np.isfinite(value):
        return ""
    text = f"{value:g}" if decimals is None else f"{value:.{decimals}f}"
    return text.replace(".", ",") if comma else text


def titled_workbook(runs: pd.DataFrame, path: PathLike, *, title: str, seed: int = 0) -> Path:
    """Write a workbook with title rows, a units row, spaces, a mean row and a footnote."""
    rng = np.random.default_rng(seed)
    fills = fill_columns(runs.columns)
    head = [
        "Group",
        "Mass before",
        "",
        *[f"Fill {j + 1}" for j in range(len(fills))],
        "Temp",
        "Filter",
        "Mass after",
        "Solubility",
        "Notes",
    ]
    units = ["", "(g)", "", *["(mL)"] * len(fills), "(°C)", "", "(g, dried)", "(g/100 mL)", ""]
    rows: list[list[Any]] = []
    for _, run in runs.iterrows():
        filtration = rng.choice(_WORDS[str(run["filtration"])])
        rows.append(
            [
                str(run["group"]),
                run["initial_mass_g"],
                None,
                *run[fills].tolist(),
                run["temperature_c"],
                str(filtration),
                run["recovered_mass_g"],
                run["reported_solubility"],
                None,
            ]
        )
    if len(rows) > 1:
        rows[1][3] = f"~{rows[1][3]:g}"  # somebody was not sure of the first fill
    if len(rows) > 4:
        rows[4][len(head) - 1] = "re-weighed after lunch*"
    numbers = [r for r in rows if isinstance(r[1], float)]
    mean: list[Any] = [None] * len(head)
    mean[0], mean[1] = "Mean", float(np.mean([r[1] for r in numbers]))
    mean[-3] = float(np.mean([r[-3] for r in numbers]))
    with _sheet(path, "Results") as sheet:
        for line in ([title], ["Solubility of calcium hydroxide (invented data)"], [], head, units):
            sheet.append(line)
        for row in [*rows, mean, [], ["* dried again for ten minutes"]]:
            sheet.append([_written(v) for v in row])
        _formats(sheet, {2: "0.000", len(head) - 2: "0.000", len(head) - 4 - 0: "0.0"}, 6)
        for column in range(4, 4 + len(fills)):
            _formats(sheet, {column: "0.0"}, 6)
    return Path(path)


def comma_workbook(runs: pd.DataFrame, path: PathLike, *, title: str, seed: int = 0) -> Path:
    """Write a workbook of text cells with decimal commas, groups as columns, and one "n/a"."""
    fills = fill_columns(runs.columns)
    label: dict[str, tuple[str, int | None]] = {
        "initial_mass_g": ("Initial mass / g", 3),
        **{f: (f"Water, pour {j + 1} / mL", 1) for j, f in enumerate(fills)},
        "temperature_c": ("Temperature / °C", 1),
        "stir_min": ("Stirring time / min", 0),
        "dry_min": ("Drying time / min", 0),
        "recovered_mass_g": ("Undissolved solid, dry / g", 3),
        "reported_solubility": ("Our solubility / (g/100 mL)", None),
    }
    with _sheet(path, "Class table") as sheet:
        sheet.append([title])
        sheet.append([])
        sheet.append(["Group", *[f"Team {g}" for g in runs["group"]]])
        sheet.append(["Vacuum or gravity?", *runs["filtration"].tolist()])
        for name, (heading, decimals) in label.items():
            texts = [number(float(v), decimals, comma=True) for v in runs[name]]
            if name == "stir_min" and len(texts) > 2:
                texts[2] = "n/a"
            sheet.append([heading, *texts])
    return Path(path)


def form_csv(
    runs: pd.DataFrame, path: PathLike, *, section: str, late: Sequence[int] = (), seed: int = 0
) -> Path:
    """Write the export of a web form: time stamps, questions as headings, units in cells.

    Parameters
    ----------
    late : sequence of int
        Positions of runs handed in a second time; the first version has another, wrong residue.
    """
    rng = np.random.default_rng(seed)
    fills = fill_columns(runs.columns)
    routes = [c for c in ("aliquot_ml", "titrant_mol_per_l", "titrant_ml") if c in runs]
    asked = {
        "aliquot_ml": ("Aliquot titrated (mL)", 2),
        "titrant_mol_per_l": ("HCl concentration (mol/L)", 4),
        "titrant_ml": ("HCl used (mL)", 2),
    }
    head = [
        "Timestamp",
        "Section",
        "Which group are you?",
        "What mass did you start with? (include units)",
        *[f"Vol {j + 1} (mL)" for j in range(len(fills))],
        "Water temperature (°C)",
        "Buchner or gravity?",
        "What was left, dried? (include units)",
        *[asked[c][0] for c in routes],
        "Your solubility (g/100 mL)",
        "Laser test",
    ]

    def line(run: pd.Series, minute: int, residue: float) -> list[str]:
        unit = rng.choice([" g", "g", " grams"])
        stamp = f"2026-09-18 15:{minute:02d}:{int(rng.integers(60)):02d}"
        return [
            stamp,
            section,
            str(run["group"]),
            number(run["initial_mass_g"], 3) + unit,
            *[number(v, 1) for v in run[fills]],
            number(run["temperature_c"], 1),
            str(rng.choice(_WORDS[str(run["filtration"])])),
            number(residue, 3) + unit,
            *[number(run[c], asked[c][1]) for c in routes],
            number(run["reported_solubility"], None),
            str(run["scatter"]),
        ]

    table = [
        line(run, 2 + 3 * i, run["recovered_mass_g"]) for i, (_, run) in enumerate(runs.iterrows())
    ]
    for position in late:
        run = runs.iloc[position]
        early = line(run, 2 + 3 * position, round(run["recovered_mass_g"] + 0.31, 3))
        final = line(run, 3 * len(runs) + 9, run["recovered_mass_g"])
        table[position] = early
        table.append(final)
    with replacing(path) as draft, draft.open("w", encoding="utf-8-sig", newline="") as handle:
        csv.writer(handle, lineterminator="\r\n").writerows([head, *table])
    return Path(path)


def write_messy(simulation: Simulation, directory: PathLike, *, seed: int = 0) -> list[Path]:
    """Write each section of a simulated semester in another style; return the files.

    Parameters
    ----------
    simulation : Simulation
        Its recorded values are written unchanged.
    directory : path
        Created where missing.
    """
    folder = Path(directory)
    runs = simulation.records.runs
    styles: list[tuple[str, Callable[..., Path], dict[str, Any]]] = [
        ("titled.xlsx", titled_workbook, {}),
        ("columns.xlsx", comma_workbook, {}),
        ("form.csv", form_csv, {}),
    ]
    written = []
    for i, (section, part) in enumerate(runs.groupby("section", sort=False)):
        name, write, options = styles[i % len(styles)]
        target = folder / f"{section}_{name}"
        told = {"section": str(section)} if write is form_csv else {"title": f"Section: {section}"}
        written.append(write(part, target, seed=seed + i, **told, **options))
    return written


class _sheet:
    """A workbook of one sheet, written on leaving; nothing personal in its properties."""

    def __init__(self, path: PathLike, name: str) -> None:
        self.path, self.name = path, name

    def __enter__(self) -> Worksheet:
        from openpyxl import Workbook

        self.book = Workbook()
        self.book.properties.creator = "simulated class"
        sheet = self.book.active
        assert sheet is not None  # a new workbook always has one sheet
        sheet.title = self.name
        return sheet

    def __exit__(self, kind: object, *_: object) -> None:
        if kind is None:
            with replacing(self.path) as draft:
                self.book.save(draft)


def _written(value: Cell) -> Cell:
    if isinstance(value, float) and not np.isfinite(value):
        return None
    return value


def _formats(sheet: Worksheet, formats: dict[int, str], first_row: int) -> None:
    for column, code in formats.items():
        for row in range(first_row, sheet.max_row + 1):
            sheet.cell(row, column).number_format = code
