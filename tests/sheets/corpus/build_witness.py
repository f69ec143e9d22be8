"""Sheets whose headings leave a column open and whose arithmetic tells what it holds."""

from __future__ import annotations

import random
from typing import Any

from kit import (
    FILLS,
    class_of,
    lines,
    maker,
    new_book,
    save,
    table,
    truth,
    values,
    volume_only,
    without,
    write,
)

Run = dict[str, Any]
MASSES = ("group", "initial_mass_g", "water_volume_ml", "recovered_mass_g", "temperature_c")


def _runs(n: int, seed: int) -> list[Run]:
    return without(class_of(n, seed), "filtration", "stir_min")


def _report(runs: list[Run], factor: float, digits: int) -> None:
    for run in runs:
        gone = run["initial_mass_g"] - run["recovered_mass_g"]
        run["reported_solubility"] = round(factor * gone / run["water_volume_ml"], digits)


@maker("lime_back.xlsx")
def lime_back() -> Run:
    """The recovered mass under two words; two groups of nine calculated wrongly."""
    runs = volume_only(_runs(9, 401))
    _report(runs, 1000.0, 2)
    runs[2]["reported_solubility"], runs[6]["reported_solubility"] = 0.84, 3.31
    book, sheet = new_book()
    sheet["A1"] = "Lab 4: how much slaked lime dissolves?"
    heads = ("Team", "Lime in (g)", "Water in (mL)", "Lime back (g)", "Temp (°C)",
             "Our answer (g/L)")  # fmt: skip
    table(sheet, heads, values(runs, *MASSES, "reported_solubility"), top=3)
    save(book, "lime_back.xlsx")
    return truth(runs)


@maker("cups_and_sum.csv")
def cups_and_sum() -> Run:
    """Fills under letters; what they add up to is written beside them."""
    runs = _runs(8, 402)
    heads = ["Bench", "Weighed out (g)", "Cup A", "Cup B", "Cup C", "Cup D", "All water (mL)",
             "Mass of dry residue (g)", "T (°C)"]  # fmt: skip
    names = ("group", "initial_mass_g", *FILLS, "water_volume_ml", "recovered_mass_g",
             "temperature_c")  # fmt: skip
    write("cups_and_sum.csv", lines([heads, *values(runs, *names)]))
    return truth(runs)


@maker("difference_beside.csv")
def difference_beside() -> Run:
    """The mass dissolved stands in the sheet, so the column before it is the recovered mass."""
    runs = volume_only(_runs(7, 403))
    heads = ["Group", "Mass at the start (g)", "Water (mL)", "Powder saved (g)", "Temp (C)",
             "Mass dissolved (g)"]  # fmt: skip
    rows = values(runs, *MASSES)
    for row in rows:
        row.append(round(row[1] - row[3], 2))
    write("difference_beside.csv", lines([heads, *rows], ";", comma=True))
    return truth(runs)


@maker("two_columns_fit.csv")
def two_columns_fit() -> Run:
    """Two weighings after drying agree, so nothing tells which one the class used."""
    runs = volume_only(_runs(6, 404))
    _report(runs, 100.0, 3)
    heads = ["Group", "Initial mass (g)", "Water (mL)", "Tray one (g)", "Temp (C)", "Tray two (g)",
             "Solubility (g/100 mL)"]  # fmt: skip
    rows = values(runs, *MASSES)
    for run, row in zip(runs, rows, strict=True):
        row += [row[3], run["reported_solubility"]]
        run["recovered_mass_g"] = None
    write("two_columns_fit.csv", lines([heads, *rows]))
    return truth(runs, look=["D1", "D2", "F1", "F2"])


@maker("both_in_a_dish.csv")
def both_in_a_dish() -> Run:
    """Both masses with the same dish: the difference is right and neither mass is known."""
    dice = random.Random(405)
    runs = volume_only(_runs(7, 405))
    _report(runs, 100.0, 3)
    heads = ["Group", "Saucer first (g)", "Water (mL)", "Saucer later (g)", "Temp (C)",
             "Solubility (g/100 mL)"]  # fmt: skip
    rows = values(runs, *MASSES, "reported_solubility")
    for run, row in zip(runs, rows, strict=True):
        dish = dice.uniform(30, 33)
        row[1], row[3] = round(row[1] + dish, 2), round(row[3] + dish, 2)
        run["initial_mass_g"] = run["recovered_mass_g"] = None
    write("both_in_a_dish.csv", lines([heads, *rows]))
    return truth(runs)
