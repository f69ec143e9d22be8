"""Where things stand on a sheet."""

from __future__ import annotations

import random
from typing import Any

from kit import (
    FILLS,
    PLAIN,
    PLAIN_HEADINGS,
    Run,
    class_of,
    maker,
    new_book,
    save,
    table,
    truth,
    values,
    volume_only,
    without,
)


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
