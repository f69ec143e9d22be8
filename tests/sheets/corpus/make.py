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
import random
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Font

HERE = Path(__file__).parent
Run = dict[str, Any]
MAKERS: dict[str, Callable[[], dict[str, Any]]] = {}


def maker(name: str) -> Callable[[Callable[[], dict[str, Any]]], Callable[[], dict[str, Any]]]:
    def register(function: Callable[[], dict[str, Any]]) -> Callable[[], dict[str, Any]]:
        MAKERS[name] = function
        return function

    return register


# The class ------------------------------------------------------------------------------------


def class_of(
    n: int,
    seed: int,
    *,
    section: str = "",
    fills: int = 4,
    names: Sequence[str] | None = None,
    decimals: int = 2,
) -> list[Run]:
    """Return ``n`` runs with plausible readings, rounded as written down."""
    dice = random.Random(seed)
    runs = []
    for i in range(n):
        start = round(dice.gauss(2.05, 0.06), decimals)
        run: Run = {
            "section": section,
            "group": names[i] if names else str(i + 1),
            "temperature_c": round(dice.gauss(22.4, 0.4), 1),
            "initial_mass_g": start,
        }
        for k in range(1, fills + 1):
            run[f"fill_{k}_ml"] = round(dice.gauss(50.0, 0.3), 1)
        volume = round(sum(run[f"fill_{k}_ml"] for k in range(1, fills + 1)), 1)
        run["water_volume_ml"] = volume
        left = start - 0.00163 * volume + dice.gauss(0, 0.012)
        run["recovered_mass_g"] = round(left, decimals)
        run["filtration"] = dice.choice(["vacuum", "gravity"])
        run["stir_min"] = float(dice.choice([5, 10, 15]))
        runs.append(run)
    return runs


def without(runs: list[Run], *names: str) -> list[Run]:
    return [{k: v for k, v in run.items() if k not in names} for run in runs]


def volume_only(runs: list[Run]) -> list[Run]:
    return without(runs, "fill_1_ml", "fill_2_ml", "fill_3_ml", "fill_4_ml")


FILLS = ("fill_1_ml", "fill_2_ml", "fill_3_ml", "fill_4_ml")


# Writing --------------------------------------------------------------------------------------


def new_book() -> tuple[Workbook, Any]:
    book = Workbook()
    return book, book.active


def save(book: Workbook, name: str) -> None:
    book.save(HERE / name)


def office(source: Path, kind: str, target: str) -> None:
    """Convert a file with the office suite; ``kind`` is its file ending."""
    with tempfile.TemporaryDirectory() as folder:
        home = f"-env:UserInstallation=file://{folder}/profile"
        command = ["soffice", home, "--headless", "--convert-to", kind, "--outdir", folder]
        subprocess.run([*command, str(source)], check=True, capture_output=True, timeout=180)
        (HERE / target).write_bytes((Path(folder) / f"{source.stem}.{kind}").read_bytes())


def from_book(book: Workbook, kind: str, target: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / f"{Path(target).stem}.xlsx"
        book.save(source)
        office(source, kind, target)


def lines(rows: Sequence[Sequence[object]], delimiter: str = ",", comma: bool = False) -> str:
    def shown(cell: object) -> str:
        text = "" if cell is None else str(cell)
        if comma and isinstance(cell, float):
            text = text.replace(".", ",")
        return f'"{text}"' if delimiter in text or "\n" in text or '"' in text else text

    return "\n".join(delimiter.join(shown(c) for c in row) for row in rows) + "\n"


def write(name: str, text: str, encoding: str = "utf-8", newline: str = "\n") -> None:
    (HERE / name).write_bytes(text.replace("\n", newline).encode(encoding))


def table(sheet: Any, headings: Sequence[object], rows: Sequence[Sequence[object]], top: int = 1,
          left: int = 1) -> None:  # fmt: skip
    for j, heading in enumerate(headings):
        sheet.cell(top, left + j, heading)
    for i, row in enumerate(rows, start=1):
        for j, value in enumerate(row):
            sheet.cell(top + i, left + j, value)


def values(runs: Sequence[Run], *names: str) -> list[list[Any]]:
    return [[run.get(name) for name in names] for run in runs]


def truth(runs: Sequence[Run], look: Sequence[str] = (), **more: Any) -> dict[str, Any]:
    return {"runs": list(runs), "look": list(look), **more}


PLAIN = ("group", "temperature_c", "initial_mass_g", *FILLS, "recovered_mass_g", "filtration")
PLAIN_HEADINGS = (
    "Group", "Temp (°C)", "Initial mass (g)", "Fill 1 (mL)", "Fill 2 (mL)", "Fill 3 (mL)",
    "Fill 4 (mL)", "Recovered mass (g)", "Filtration",
)  # fmt: skip


# Layouts --------------------------------------------------------------------------------------


@maker("title_rows.xlsx")
def title_rows() -> dict[str, Any]:
    runs = without(class_of(8, 1, section="Mon-A"), "stir_min")
    book, sheet = new_book()
    sheet["A1"] = "Solubility lab, results"
    sheet["A2"] = "Section: Mon-A"
    table(sheet, PLAIN_HEADINGS, values(runs, *PLAIN), top=4)
    save(book, "title_rows.xlsx")
    return truth(runs)


@maker("two_row_heading.xlsx")
def two_row_heading() -> dict[str, Any]:
    runs = without(class_of(7, 2), "filtration", "stir_min")
    book, sheet = new_book()
    sheet["A1"] = "Group"
    sheet.merge_cells("A1:A2")
    sheet["B1"] = "Mass (g)"
    sheet.merge_cells("B1:C1")
    sheet["B2"], sheet["C2"] = "initial", "recovered"
    sheet["D1"] = "Water (mL)"
    sheet.merge_cells("D1:G1")
    for j in range(4):
        sheet.cell(2, 4 + j, f"fill {j + 1}")
    sheet["H1"] = "Temp (°C)"
    sheet.merge_cells("H1:H2")
    names = ("group", "initial_mass_g", "recovered_mass_g", *FILLS, "temperature_c")
    for i, row in enumerate(values(runs, *names), start=3):
        for j, value in enumerate(row, start=1):
            sheet.cell(i, j, value)
    save(book, "two_row_heading.xlsx")
    return truth(runs)


@maker("unit_row_mg.xlsx")
def unit_row_mg() -> dict[str, Any]:
    runs = volume_only(without(class_of(6, 3, decimals=3), "filtration", "stir_min"))
    book, sheet = new_book()
    names = ("group", "temperature_c", "initial_mass_g", "water_volume_ml", "recovered_mass_g")
    rows = values(runs, *names)
    for row in rows:
        row[2], row[4] = round(row[2] * 1000), round(row[4] * 1000)
        row[3] = round(row[3] / 1000, 4)
    units = ("", "°C", "mg", "L", "mg")
    table(sheet, ("Team", "Temperature", "Start mass", "Total volume", "Dry mass"), [units, *rows])
    save(book, "unit_row_mg.xlsx")
    return truth(runs)


@maker("groups_as_columns.xlsx")
def groups_as_columns() -> dict[str, Any]:
    runs = without(class_of(6, 4, names=[f"B{i}" for i in range(1, 7)]), "stir_min")
    book, sheet = new_book()
    labels = ("Bench", "Temperature (°C)", "m0 (g)", "Vol 1 (mL)", "Vol 2 (mL)", "Vol 3 (mL)",
              "Vol 4 (mL)", "m dry (g)", "vac/grav")  # fmt: skip
    for i, (label, name) in enumerate(zip(labels, PLAIN, strict=True), start=2):
        sheet.cell(i, 1, label)
        for j, run in enumerate(runs, start=2):
            sheet.cell(i, j, run[name])
    save(book, "groups_as_columns.xlsx")
    return truth(runs)


@maker("stacked_sections.xlsx")
def stacked_sections() -> dict[str, Any]:
    first = without(class_of(5, 5, section="Mon"), "stir_min", "filtration")
    second = without(class_of(4, 6, section="Tue"), "stir_min", "filtration")
    book, sheet = new_book()
    names, heads = PLAIN[:-1], PLAIN_HEADINGS[:-1]
    top = 1
    for section, runs in (("Mon", first), ("Tue", second)):
        sheet.cell(top, 1, f"Section {section}")
        rows = values(runs, *names)
        table(sheet, heads, rows, top=top + 1)
        below = top + 2 + len(rows)
        sheet.cell(below, 1, "Mean")
        sheet.cell(below + 1, 1, "SD")
        for j in range(1, len(names)):
            column = [row[j] for row in rows]
            mean = sum(column) / len(column)
            sheet.cell(below, j + 1, mean)
            spread = (sum((x - mean) ** 2 for x in column) / (len(column) - 1)) ** 0.5
            sheet.cell(below + 1, j + 1, spread)
        top = below + 4
    save(book, "stacked_sections.xlsx")
    return truth([*first, *second])


@maker("side_by_side.xlsx")
def side_by_side() -> dict[str, Any]:
    names = ("group", "initial_mass_g", "water_volume_ml", "recovered_mass_g")
    heads = ("Grp", "Initial mass (g)", "Water volume (mL)", "Recovered mass (g)")
    left = volume_only(without(class_of(5, 7), "temperature_c", "filtration", "stir_min"))
    right = class_of(5, 8, names=[str(i) for i in range(6, 11)])
    right = volume_only(without(right, "temperature_c", "filtration", "stir_min"))
    book, sheet = new_book()
    table(sheet, heads, values(left, *names), top=3, left=1)
    table(sheet, heads, values(right, *names), top=3, left=6)
    save(book, "side_by_side.xlsx")
    return truth([*left, *right])


@maker("sheet_per_section.xlsx")
def sheet_per_section() -> dict[str, Any]:
    book, sheet = new_book()
    every: list[Run] = []
    for k, section in enumerate(("Mon AM", "Wed PM", "Fri AM")):
        runs = without(class_of(4, 10 + k, section=section), "filtration")
        page = sheet if k == 0 else book.create_sheet()
        page.title = section
        heads = (*PLAIN_HEADINGS[:-1], "Stirring time (min)")
        table(page, heads, values(runs, *PLAIN[:-1], "stir_min"))
        every += runs
    notes = book.create_sheet("Notes")
    notes["B2"] = "Results are due on Friday. Ask if in doubt."
    save(book, "sheet_per_section.xlsx")
    return truth(every)


@maker("merged_cells.xlsx")
def merged_cells() -> dict[str, Any]:
    runs = class_of(6, 14, names=["1", "1", "2", "2", "3", "3"])
    runs = volume_only(without(runs, "filtration", "stir_min"))
    for i, run in enumerate(runs):
        run["run"] = str(i % 2 + 1)
        run["temperature_c"] = runs[i - i % 2]["temperature_c"]
    book, sheet = new_book()
    names = ("group", "run", "temperature_c", "initial_mass_g", "water_volume_ml",
             "recovered_mass_g")  # fmt: skip
    heads = ("Group", "Trial", "Temp °C", "Initial mass (g)", "Water (mL)", "Recovered mass (g)")
    table(sheet, heads, values(runs, *names))
    for top in (2, 4, 6):
        sheet.merge_cells(start_row=top, end_row=top + 1, start_column=1, end_column=1)
        sheet.merge_cells(start_row=top, end_row=top + 1, start_column=3, end_column=3)
    save(book, "merged_cells.xlsx")
    return truth(runs)


@maker("footnotes_far_notes.xlsx")
def footnotes_far_notes() -> dict[str, Any]:
    runs = volume_only(without(class_of(6, 15), "filtration", "stir_min"))
    book, sheet = new_book()
    names = ("group", "temperature_c", "initial_mass_g", "water_volume_ml", "recovered_mass_g")
    heads = ("Group", "Temp (°C)", "Initial mass (g)", "Water volume (mL)", "Recovered mass (g)")
    rows = values(runs, *names)
    rows[2][4] = f"{rows[2][4]}*"
    table(sheet, heads, rows, top=2)
    sheet["A10"] = "* reweighed the next day"
    sheet["A11"] = "† none this time"
    sheet["AD90"] = "old notes, ignore"
    for row in range(2, 2500):
        sheet.cell(row, 3).number_format = "0.00"
    save(book, "footnotes_far_notes.xlsx")
    return truth(runs)


@maker("hidden_rows.xlsx")
def hidden_rows() -> dict[str, Any]:
    runs = without(class_of(7, 16), "filtration", "stir_min")
    book, sheet = new_book()
    table(sheet, PLAIN_HEADINGS[:-1], values(runs, *PLAIN[:-1]))
    sheet.row_dimensions[4].hidden = True
    save(book, "hidden_rows.xlsx")
    return truth(runs, flagged={"hidden": ["3"]})


@maker("blank_separators.xlsx")
def blank_separators() -> dict[str, Any]:
    runs = without(class_of(6, 17), "filtration", "stir_min")
    book, sheet = new_book()
    rows = values(runs, *PLAIN[:-1])
    rows[3:3] = [[None] * 8]
    for row in rows:
        row[2:2] = [None]
    heads = [*PLAIN_HEADINGS[:2], None, *PLAIN_HEADINGS[2:-1]]
    table(sheet, heads, rows)
    save(book, "blank_separators.xlsx")
    return truth(runs)


@maker("own_words.xlsx")
def own_words() -> dict[str, Any]:
    runs = class_of(6, 18)
    book, sheet = new_book()
    heads = ("Team #", "Water temp (C)", "What mass did you start with? (g)", "Vol 1 (mL)",
             "Vol 2 (mL)", "Vol 3 (mL)", "Vol 4 (mL)", "Mass of dried solid (g)",
             "Buchner or gravity?", "Time stirred (min)")  # fmt: skip
    words = {"vacuum": ["Buchner", "vac", "Büchner", "V"], "gravity": ["grav.", "G", "fluted"]}
    rows = values(runs, *PLAIN, "stir_min")
    for i, row in enumerate(rows):
        said = words[row[8]]
        row[8] = said[i % len(said)]
    table(sheet, heads, rows)
    save(book, "own_words.xlsx")
    return truth(runs)


@maker("titration_dish.xlsx")
def titration_dish() -> dict[str, Any]:
    runs = volume_only(without(class_of(6, 19), "filtration", "stir_min"))
    dice = random.Random(19)
    for run in runs:
        run["aliquot_ml"] = 25.0
        run["titrant_mol_per_l"] = 0.1
        run["titrant_ml"] = round(dice.gauss(11.0, 0.2), 2)
        run["evaporation_aliquot_ml"] = 50.0
        run["dish_mass_g"] = round(dice.gauss(45.0, 2.0), 3)
        run["dish_residue_mass_g"] = round(run["dish_mass_g"] + 0.081, 3)
    heads = ("Group", "Temperature (°C)", "Initial mass (g)", "Water volume (mL)",
             "Recovered mass (g)", "Aliquot (mL)", "HCl molarity (M)", "Acid used (mL)",
             "Volume evaporated (mL)", "Empty dish (g)", "Dish + residue (g)")  # fmt: skip
    names = ("group", "temperature_c", "initial_mass_g", "water_volume_ml", "recovered_mass_g",
             "aliquot_ml", "titrant_mol_per_l", "titrant_ml", "evaporation_aliquot_ml",
             "dish_mass_g", "dish_residue_mass_g")  # fmt: skip
    book, sheet = new_book()
    table(sheet, heads, values(runs, *names))
    save(book, "titration_dish.xlsx")
    return truth(runs)


# Cells ----------------------------------------------------------------------------------------


def small(n: int, seed: int) -> tuple[Workbook, Any, list[Run]]:
    """A plain sheet: group, temperature, initial mass, water volume, recovered mass."""
    runs = volume_only(without(class_of(n, seed), "filtration", "stir_min"))
    book, sheet = new_book()
    heads = ("Group", "Temperature (°C)", "Initial mass (g)", "Water volume (mL)",
             "Recovered mass (g)")  # fmt: skip
    names = ("group", "temperature_c", "initial_mass_g", "water_volume_ml", "recovered_mass_g")
    table(sheet, heads, values(runs, *names))
    return book, sheet, runs


@maker("numbers_as_text.xlsx")
def numbers_as_text() -> dict[str, Any]:
    book, sheet, runs = small(8, 20)
    wide = str.maketrans("0123456789.", "０１２３４５６７８９．")
    sheet["C2"] = f"{runs[0]['initial_mass_g']:.2f}"
    sheet["C3"] = f"{runs[1]['initial_mass_g']:.2f}\u00a0"
    sheet["C4"] = f"\u200b{runs[2]['initial_mass_g']:.2f}"
    sheet["C5"] = f"{runs[3]['initial_mass_g']:.2f}".translate(wide)
    sheet["E2"] = f"{runs[0]['recovered_mass_g']:.2f} g"
    sheet["E3"] = f"'{runs[1]['recovered_mass_g']:.2f}"
    sheet["D6"] = f"{runs[4]['water_volume_ml']} "
    for row in range(2, 10):
        sheet.cell(row, 1).value = f"{row - 1:03d}"
        runs[row - 2]["group"] = f"{row - 1:03d}"
    save(book, "numbers_as_text.xlsx")
    return truth(runs)


@maker("units_in_cells.xlsx")
def units_in_cells() -> dict[str, Any]:
    book, sheet, runs = small(8, 21)
    sheet["B1"], sheet["C1"], sheet["D1"], sheet["E1"] = (
        "Temperature", "Initial mass (include units)", "Water volume", "Recovered mass",
    )  # fmt: skip
    for i, run in enumerate(runs, start=2):
        sheet[f"B{i}"] = f"{run['temperature_c']} °C"
        sheet[f"C{i}"] = f"{run['initial_mass_g']} g"
        sheet[f"D{i}"] = f"{run['water_volume_ml']}mL"
        sheet[f"E{i}"] = f"{run['recovered_mass_g']} grams"
    runs[0]["temperature_c"] = 22.0
    sheet["B2"] = "71.6 °F"
    runs[1]["temperature_c"] = 22.0
    sheet["B3"] = "295.15 K"
    sheet["C4"] = f"{round(runs[2]['initial_mass_g'] * 1000)} mg"
    sheet["D5"] = f"{runs[3]['water_volume_ml'] / 1000:.4f} L"
    sheet["D6"] = f"{runs[4]['water_volume_ml']} cm³"
    sheet["E7"] = f"{runs[5]['recovered_mass_g']}gr."
    save(book, "units_in_cells.xlsx")
    return truth(runs)


@maker("approximate_and_limits.xlsx")
def approximate_and_limits() -> dict[str, Any]:
    book, sheet, runs = small(10, 22)
    sheet["D2"] = f"~{runs[0]['water_volume_ml']}"
    sheet["D3"] = f"about {runs[1]['water_volume_ml']} mL"
    sheet["D4"] = "198-202"
    runs[2]["water_volume_ml"] = 200.0
    sheet["C5"] = f"{runs[3]['initial_mass_g']} ± 0.01"
    sheet["D6"] = "50+50+50+50"
    runs[4]["water_volume_ml"] = 200.0
    sheet["D7"] = "4 x 50 mL"
    runs[5]["water_volume_ml"] = 200.0
    sheet["E8"] = "<0.01"
    sheet["E9"] = "spilled"
    sheet["E10"] = "1.70?"
    for i in (6, 7, 8):
        runs[i]["recovered_mass_g"] = None
    sheet["E11"] = "n/a"
    runs[9]["recovered_mass_g"] = None
    save(book, "approximate_and_limits.xlsx")
    return truth(runs, look=["E8", "E9", "E10"])


@maker("slips_of_the_pen.xlsx")
def slips_of_the_pen() -> dict[str, Any]:
    book, sheet, runs = small(12, 23)
    bad = {"C2": "2..05", "C3": "2.O1", "C4": "2,0.1", "C5": "2.0l", "C6": "2_05",
    "E7": "1.71/1.70",
           "E8": "1.71 1.70", "E9": "(1.71)", "D10": "50;50;50;50", "D11": "50,50,50,50",
           "E12": "=1.7", "C13": "2.05¹"}  # fmt: skip
    names = {"C": "initial_mass_g", "D": "water_volume_ml", "E": "recovered_mass_g"}
    for address, text in bad.items():
        cell = sheet[address]
        cell.value = text
        cell.data_type = "s"
        runs[int(address[1:]) - 2][names[address[0]]] = None
    save(book, "slips_of_the_pen.xlsx")
    return truth(runs, look=list(bad))


@maker("dates_from_numbers.xlsx")
def dates_from_numbers() -> dict[str, Any]:
    book, sheet, runs = small(8, 24)
    sheet["C3"] = datetime(2026, 5, 2)
    sheet["C3"].number_format = "d-mmm"
    sheet["E4"] = datetime(1970, 1, 1)
    sheet["E4"].number_format = "mmm-yy"
    sheet["C5"] = 46144
    sheet["E6"] = "02-May"
    runs[1]["initial_mass_g"] = runs[3]["initial_mass_g"] = None
    runs[2]["recovered_mass_g"] = runs[4]["recovered_mass_g"] = None
    save(book, "dates_from_numbers.xlsx")
    return truth(runs, look=["C3", "E4", "C5", "E6"])


@maker("formulas_stored.xlsx")
def formulas_stored() -> dict[str, Any]:
    book, sheet, runs = small(6, 25)
    sheet["E3"] = "=C3-0.33"
    runs[1]["recovered_mass_g"] = round(runs[1]["initial_mass_g"] - 0.33, 2)
    sheet["D4"] = "=50+50+49.5+50.5"
    runs[2]["water_volume_ml"] = 200.0
    sheet["E5"] = "=C5/0"
    runs[3]["recovered_mass_g"] = None
    sheet["A8"], sheet["C8"], sheet["E8"] = "Average", "=AVERAGE(C2:C7)", "=AVERAGE(E2:E4)"
    from_book(book, "xlsx", "formulas_stored.xlsx")
    return truth(runs, look=["E5"])


@maker("formulas_not_stored.xlsx")
def formulas_not_stored() -> dict[str, Any]:
    book, sheet, runs = small(5, 26)
    sheet["E3"] = "=C3-0.33"
    runs[1]["recovered_mass_g"] = None
    save(book, "formulas_not_stored.xlsx")
    return truth(runs, look=["E3"])


@maker("number_formats.xlsx")
def number_formats() -> dict[str, Any]:
    book, sheet, runs = small(6, 27)
    for row in range(2, 8):
        sheet[f"C{row}"].number_format = "0.000"
        sheet[f"D{row}"].number_format = '0.0" mL"'
    sheet["E3"].number_format = "0%"
    sheet["E4"].value = round(runs[2]["recovered_mass_g"] * 1000)
    sheet["E4"].number_format = '0" mg"'
    runs[1]["recovered_mass_g"] = None
    save(book, "number_formats.xlsx")
    return truth(runs, look=["E3"], decimals={"initial_mass_g": 3, "water_volume_ml": 1})


@maker("comments_struck.xlsx")
def comments_struck() -> dict[str, Any]:
    book, sheet, runs = small(6, 28)
    sheet["C3"].font = Font(strike=True)
    sheet["E4"].comment = Comment("actually 1.55", "lab")
    sheet["E5"].comment = Comment("cooled before weighing", "lab")
    runs[1]["initial_mass_g"] = None
    runs[2]["recovered_mass_g"] = None
    save(book, "comments_struck.xlsx")
    return truth(runs, look=["C3", "E4"])


@maker("thousands_or_decimals.xlsx")
def thousands_or_decimals() -> dict[str, Any]:
    book, sheet, runs = small(6, 29)
    sheet["C3"] = "2,051"
    sheet["D4"] = "1,200"
    sheet["D5"] = "1.200"
    runs[1]["initial_mass_g"] = None
    runs[2]["water_volume_ml"] = runs[3]["water_volume_ml"] = None
    save(book, "thousands_or_decimals.xlsx")
    return truth(runs, look=["C3", "D4", "D5"])


@maker("another_unit_inside.xlsx")
def another_unit_inside() -> dict[str, Any]:
    book, sheet, runs = small(8, 30)
    sheet["C3"] = round(runs[1]["initial_mass_g"] * 1000)
    sheet["D4"] = round(runs[2]["water_volume_ml"] / 1000, 3)
    sheet["B5"] = 72.0
    runs[1]["initial_mass_g"] = None
    runs[2]["water_volume_ml"] = None
    runs[3]["temperature_c"] = None
    save(book, "another_unit_inside.xlsx")
    return truth(runs, look=["C3", "D4", "B5"])


@maker("missing_marks.xlsx")
def missing_marks() -> dict[str, Any]:
    runs = without(class_of(8, 31), "filtration", "stir_min")
    book, sheet = new_book()
    table(sheet, PLAIN_HEADINGS[:-1], values(runs, *PLAIN[:-1]))
    sheet["H2"], sheet["H3"], sheet["H4"] = "-", "n/a", "—"
    sheet["C5"], sheet["C6"] = 0, 999
    sheet["G7"] = "?"
    for i in (0, 1, 2):
        runs[i]["recovered_mass_g"] = None
    runs[3]["initial_mass_g"] = runs[4]["initial_mass_g"] = None
    runs[5]["fill_4_ml"] = runs[5]["water_volume_ml"] = None
    save(book, "missing_marks.xlsx")
    return truth(runs, look=["C5", "C6", "G7"])


# Text files -----------------------------------------------------------------------------------


def text_rows(runs: Sequence[Run], heads: Sequence[str] = PLAIN_HEADINGS) -> list[list[Any]]:
    return [list(heads), *values(runs, *PLAIN)]


@maker("plain.csv")
def plain() -> dict[str, Any]:
    runs = without(class_of(9, 40), "stir_min")
    write("plain.csv", lines(text_rows(runs)))
    return truth(runs)


@maker("semicolon_comma_bom.csv")
def semicolon_comma_bom() -> dict[str, Any]:
    runs = without(class_of(8, 41), "stir_min")
    write("semicolon_comma_bom.csv", lines(text_rows(runs), ";", comma=True), "utf-8-sig", "\r\n")
    return truth(runs)


@maker("three_decimals_comma.csv")
def three_decimals_comma() -> dict[str, Any]:
    runs = volume_only(
        without(class_of(7, 42, decimals=3), "filtration", "stir_min", "temperature_c")
    )
    rows = [["Gruppe", "Einwaage (g)", "Wasser (mL)", "Auswaage (g)"]]
    for run in runs:
        rows.append([run["group"], f"{run['initial_mass_g']:.3f}".replace(".", ","),
                     f"{run['water_volume_ml']:.1f}".replace(".", ","),
                     f"{run['recovered_mass_g']:.3f}".replace(".", ",")])  # fmt: skip
    write("three_decimals_comma.csv", lines(rows, ";"))
    return truth(runs)


@maker("utf16_tabs.txt")
def utf16_tabs() -> dict[str, Any]:
    runs = without(class_of(6, 43), "stir_min")
    for run in runs:
        run["filtration"] = "vacuum"
    rows = text_rows(runs)
    for row in rows[1:]:
        row[8] = "Büchner"
    write("utf16_tabs.txt", lines(rows, "\t"), "utf-16", "\r\n")
    return truth(runs)


@maker("cp1252.csv")
def cp1252() -> dict[str, Any]:
    runs = without(class_of(6, 44), "stir_min")
    rows = text_rows(runs)
    for row in rows[1:]:
        row[8] = "Büchner" if row[8] == "vacuum" else "gravity – fluted"
    write("cp1252.csv", lines(rows, ";", comma=True), "cp1252", "\r\n")
    return truth(runs)


@maker("sep_line_cr.csv")
def sep_line_cr() -> dict[str, Any]:
    runs = without(class_of(5, 45), "stir_min")
    write("sep_line_cr.csv", "sep=;\n" + lines(text_rows(runs), ";"), newline="\r")
    return truth(runs)


@maker("pipes_titles.txt")
def pipes_titles() -> dict[str, Any]:
    runs = without(class_of(5, 46, section="Thu-2"), "stir_min")
    text = "Lab results\nSection: Thu-2\n\n" + lines(text_rows(runs), "|")
    write("pipes_titles.txt", text)
    return truth(runs)


@maker("mojibake.csv")
def mojibake() -> dict[str, Any]:
    runs = without(class_of(5, 47), "stir_min")
    rows = text_rows(runs)
    for row in rows[1:]:
        row[8] = "Büchner" if row[8] == "vacuum" else "gravity"
    broken = lines(rows).encode("utf-8").decode("cp1252")
    write("mojibake.csv", broken)
    return truth(runs)


@maker("web_form.csv")
def web_form() -> dict[str, Any]:
    runs = volume_only(class_of(6, 48))
    heads = ("Timestamp", "Email Address", "Your name", "Which bench were you at?",
             "What mass did you start with? (include units)", "Total volume of water (mL)",
             "What mass was left? (include units)", "Lab temperature (°C)", "Buchner or gravity?",
             "Time stirred (min)", "Anything unusual?")  # fmt: skip
    rows: list[list[Any]] = [list(heads)]
    people = ("Ann Example", "Bo Sample", "Cy Testcase", "Di Invented", "Ed Nobody", "Flo Madeup")
    for i, (run, person) in enumerate(zip(runs, people, strict=True)):
        mail = person.lower().replace(" ", ".") + "@example.org"
        note = f"{person.split()[0]} spilled a little" if i == 2 else ""
        rows.append([f"2026/05/0{i + 1} 2:03:1{i} PM GMT+2", mail, person, run["group"],
                     f"{run['initial_mass_g']} g", run["water_volume_ml"],
                     f"{run['recovered_mass_g']}g", run["temperature_c"], run["filtration"],
                     int(run["stir_min"]), note])  # fmt: skip
    write("web_form.csv", lines(rows))
    return truth(runs, private=[w for p in people for w in p.split()] + ["example.org"])


@maker("resubmitted.csv")
def resubmitted() -> dict[str, Any]:
    runs = volume_only(without(class_of(5, 49), "filtration", "stir_min"))
    heads = ["Timestamp", "Group", "Temp (°C)", "Initial mass (g)", "Water volume (mL)",
             "Recovered mass (g)"]  # fmt: skip
    names = ("group", "temperature_c", "initial_mass_g", "water_volume_ml", "recovered_mass_g")
    rows: list[list[Any]] = [heads]
    for i, row in enumerate(values(runs, *names)):
        rows.append([f"2026-05-04 10:0{i}:00", *row])
    earlier = dict(runs[1])
    later = dict(runs[1], recovered_mass_g=round(runs[1]["recovered_mass_g"] + 0.05, 2))
    rows.append(["2026-05-04 11:30:00", *values([later], *names)[0]])
    rows.append(["2026-05-04 10:03:00", *values([runs[3]], *names)[0]])
    write("resubmitted.csv", lines(rows))
    kept = [runs[0], later, runs[2], runs[3], runs[4]]
    return truth(kept, set_aside=[earlier, runs[3]])


@maker("repeated_header.csv")
def repeated_header() -> dict[str, Any]:
    runs = without(class_of(8, 50), "stir_min")
    rows = text_rows(runs)
    rows[5:5] = [list(PLAIN_HEADINGS)]
    write("repeated_header.csv", lines(rows))
    return truth(runs)


@maker("ragged.csv")
def ragged() -> dict[str, Any]:
    runs = without(class_of(6, 51), "stir_min", "filtration")
    rows = [list(PLAIN_HEADINGS[:-1]), *values(runs, *PLAIN[:-1])]
    text = lines(rows).replace("\n", ",\n").replace(",\n", "\n", 1)
    write("ragged.csv", text)
    return truth(runs)


@maker("fahrenheit.tsv")
def fahrenheit() -> dict[str, Any]:
    runs = volume_only(without(class_of(6, 52), "filtration", "stir_min"))
    rows: list[list[Any]] = [
        ["Table", "Temp (°F)", "Starting mass (g)", "Water (mL)", "Mass recovered (g)"]
    ]
    for i, run in enumerate(runs):
        run["temperature_c"] = 20.0 + 5.0 * (i % 2) / 9.0
        rows.append([run["group"], 68 + i % 2, run["initial_mass_g"], run["water_volume_ml"],
                     run["recovered_mass_g"]])  # fmt: skip
    write("fahrenheit.tsv", lines(rows, "\t"))
    return truth(runs)


@maker("french.csv")
def french() -> dict[str, Any]:
    runs = volume_only(without(class_of(6, 53), "filtration", "stir_min"))
    rows: list[list[Any]] = [
        ["Groupe", "Température (°C)", "Masse initiale (g)", "Volume d'eau (mL)",
         "Masse récupérée (g)"],
        *values(runs, "group", "temperature_c", "initial_mass_g", "water_volume_ml",
                "recovered_mass_g"),
    ]  # fmt: skip
    write("french.csv", lines(rows, ";", comma=True), "utf-8", "\r\n")
    return truth(runs)


@maker("mixed_marks.csv")
def mixed_marks() -> dict[str, Any]:
    runs = volume_only(without(class_of(8, 54), "filtration", "stir_min", "temperature_c"))
    rows: list[list[Any]] = [["Group", "Initial mass (g)", "Water (mL)", "Recovered mass (g)"]]
    for i, run in enumerate(runs):
        row = values([run], "group", "initial_mass_g", "water_volume_ml", "recovered_mass_g")[0]
        row = [f"{v:.2f}" if isinstance(v, float) else v for v in row]
        row[2] = f"{run['water_volume_ml']:.1f}"
        rows.append([str(v).replace(".", ",") if i % 3 == 0 else v for v in row])
    write("mixed_marks.csv", lines(rows, "\t"))
    return truth(runs)


# Other workbook formats -----------------------------------------------------------------------


@maker("legacy.xls")
def legacy() -> dict[str, Any]:
    book, sheet, runs = small(7, 60)
    sheet["C3"] = "2,O5"
    runs[1]["initial_mass_g"] = None
    sheet["E4"] = f"{runs[2]['recovered_mass_g']} g"
    from_book(book, "xls", "legacy.xls")
    return truth(runs, look=["C3"])


@maker("open_document.ods")
def open_document() -> dict[str, Any]:
    runs = without(class_of(6, 61, section="Sat"), "filtration", "stir_min")
    book, sheet = new_book()
    sheet.title = "Sat"
    table(sheet, PLAIN_HEADINGS[:-1], values(runs, *PLAIN[:-1]), top=2)
    sheet["C4"] = datetime(2026, 5, 2)
    runs[1]["initial_mass_g"] = None
    from_book(book, "ods", "open_document.ods")
    return truth(runs, look=["C4"])


@maker("collected.xlsx")
def collected() -> dict[str, Any]:
    """The blank collection workbook, filled in."""
    from openpyxl import load_workbook

    from solubility_stats.sheets.collect import SHEET, write_collection_workbook

    runs = class_of(9, 62, section="Mon-A", names=[f"{i:02d}" for i in range(1, 10)])
    path = write_collection_workbook(
        HERE / "collected.xlsx",
        groups=[r["group"] for r in runs] + ["10", "11"],
        sections=["Mon-A", "Tue-B"],
        mass_decimals=2,
    )
    book = load_workbook(path)
    sheet = book[SHEET]
    place = {str(c.value): c.column for c in sheet[4]}
    where = {
        "Section": "section", "Temperature (°C)": "temperature_c",
        "Initial mass (g)": "initial_mass_g",
        "Recovered mass (g)": "recovered_mass_g", "Filtration": "filtration",
        "Stirring time (min)": "stir_min",
        **{f"Fill {k} (mL)": f"fill_{k}_ml" for k in range(1, 5)},
    }  # fmt: skip
    for i, run in enumerate(runs, start=6):
        for heading, name in where.items():
            sheet.cell(i, place[heading]).value = run[name]
        sheet.cell(i, place["Constant mass"]).value = "yes"
        sheet.cell(i, place["Laser test"]).value = "clear"
        run["constant_mass"], run["scatter"] = True, "clear"
    book.save(path)
    return truth(runs, decimals={"initial_mass_g": 2})


def main(names: Sequence[str]) -> None:
    for name in names or MAKERS:
        found = MAKERS[name]()
        text = json.dumps(found, indent=1, ensure_ascii=False)
        (HERE / f"{name}.json").write_text(text + "\n", encoding="utf-8")
        print(name, len(found["runs"]), "runs")


if __name__ == "__main__":
    main(sys.argv[1:])
