"""Sheets on which a reader in a hurry goes wrong."""

from __future__ import annotations

from typing import Any

from kit import (
    FILLS,
    PLAIN,
    PLAIN_HEADINGS,
    class_of,
    lines,
    maker,
    new_book,
    save,
    small,
    table,
    truth,
    values,
    volume_only,
    without,
    write,
)
from openpyxl.styles import Font

SMALL = ("group", "temperature_c", "initial_mass_g", "water_volume_ml", "recovered_mass_g")


def small_runs(n: int, seed: int, **more: Any) -> list[dict[str, Any]]:
    return volume_only(without(class_of(n, seed, **more), "filtration", "stir_min"))


@maker("unquoted_commas.csv")
def unquoted_commas() -> dict[str, Any]:
    """Decimal commas in a comma-separated file: the fields cannot be told apart any more."""
    runs = small_runs(4, 70)
    text = "Group,Temperature (°C),Initial mass (g),Water volume (mL),Recovered mass (g)\n"
    for run in runs:
        numbers = [f"{run[k]:.2f}".replace(".", ",") for k in SMALL[1:]]
        text += ",".join([run["group"], *numbers]) + "\n"
    write("unquoted_commas.csv", text)
    blank = [{"group": r["group"], **dict.fromkeys(SMALL[1:])} for r in runs]
    return truth(blank)


@maker("quoted_commas.csv")
def quoted_commas() -> dict[str, Any]:
    runs = small_runs(5, 71)
    heads = ("Group", "Temp (°C)", "Initial mass (g)", "Water volume (mL)", "Recovered mass (g)")
    write("quoted_commas.csv", lines([heads, *values(runs, *SMALL)], ",", comma=True))
    return truth(runs)


@maker("milligrams_under_grams.xlsx")
def milligrams_under_grams() -> dict[str, Any]:
    book, sheet, runs = small(6, 72)
    for row in range(2, 8):
        sheet[f"C{row}"] = round(sheet[f"C{row}"].value * 1000)
        runs[row - 2]["initial_mass_g"] = None
    save(book, "milligrams_under_grams.xlsx")
    return truth(runs, look=[f"C{row}" for row in range(2, 8)])


@maker("litres_without_unit.xlsx")
def litres_without_unit() -> dict[str, Any]:
    book, sheet, runs = small(5, 73)
    sheet["D1"] = "Volume of water"
    sheet["B1"] = "Temp"
    for row in range(2, 7):
        sheet[f"D{row}"] = round(sheet[f"D{row}"].value / 1000, 4)
        sheet[f"B{row}"] = 72
        runs[row - 2]["water_volume_ml"] = runs[row - 2]["temperature_c"] = None
    save(book, "litres_without_unit.xlsx")
    return truth(runs, look=["D2", "B2"])


@maker("nameless_mean_row.xlsx")
def nameless_mean_row() -> dict[str, Any]:
    book, sheet, runs = small(7, 74)
    for column in range(2, 6):
        numbers = [sheet.cell(row, column).value for row in range(2, 9)]
        sheet.cell(9, column).value = sum(numbers) / len(numbers)
    save(book, "nameless_mean_row.xlsx")
    return truth(runs)


@maker("averages_in_words.xlsx")
def averages_in_words() -> dict[str, Any]:
    book, sheet, runs = small(5, 75)
    words = ("Class avg", "Std. dev.", "%RSD", "Max", "Mittelwert", "Summe", "n =")
    for row, word in enumerate(words, start=8):
        sheet.cell(row, 1).value = word
        for column in range(2, 6):
            sheet.cell(row, column).value = sheet.cell(3, column).value
    save(book, "averages_in_words.xlsx")
    return truth(runs)


@maker("groups_in_words.xlsx")
def groups_in_words() -> dict[str, Any]:
    runs = small_runs(6, 76, names=["Group 1", "Group 2", "group 3", "Grp 4", "5", "6a"])
    heads = ("", "Temperature (°C)", "Initial mass (g)", "Water (mL)", "Recovered mass (g)")
    book, sheet = new_book()
    table(sheet, ("Who", *heads[1:]), values(runs, *SMALL))
    sheet["A1"] = "Lab group"
    save(book, "groups_in_words.xlsx")
    return truth([run | {"group": run["group"].split()[-1]} for run in runs])


@maker("symbols_line_breaks.xlsx")
def symbols_line_breaks() -> dict[str, Any]:
    runs = without(class_of(6, 77), "filtration", "stir_min")
    heads = (
        "Team",
        "T / °C",
        "m₀ / g",
        "V₁ / mL",
        "V₂ / mL",
        "V₃ / mL",
        "V₄ / mL",
        "Recovered\nmass\n(g)",
    )
    book, sheet = new_book()
    table(sheet, heads, values(runs, *PLAIN[:-1]))
    save(book, "symbols_line_breaks.xlsx")
    return truth(runs)


@maker("misspelt_headings.xlsx")
def misspelt_headings() -> dict[str, Any]:
    runs = small_runs(6, 78)
    heads = (
        "Goup",
        "Temprature (C)",
        "Inital mass (g)",
        "Volme of water (ml)",
        "Recoverd mass (g)",
    )
    book, sheet = new_book()
    table(sheet, heads, values(runs, *SMALL))
    save(book, "misspelt_headings.xlsx")
    return truth(runs)


@maker("trials_as_columns.xlsx")
def trials_as_columns() -> dict[str, Any]:
    book, sheet = new_book()
    heads = ["Group", "Temp (°C)"]
    for k in (1, 2):
        heads += [f"Initial mass trial {k} (g)", f"Water volume trial {k} (mL)",
                  f"Recovered mass trial {k} (g)"]  # fmt: skip
    one, two = small_runs(5, 79), small_runs(5, 80)
    rows = []
    for first, second in zip(one, two, strict=True):
        second["temperature_c"] = first["temperature_c"]
        first["run"], second["run"] = "1", "2"
        rows.append([*values([first], *SMALL)[0], *values([second], *SMALL[2:])[0]])
    table(sheet, heads, rows)
    save(book, "trials_as_columns.xlsx")
    return truth([*one, *two])


@maker("long_form.csv")
def long_form() -> dict[str, Any]:
    runs = small_runs(5, 81)
    rows: list[list[Any]] = [["Group", "Quantity", "Value", "Unit"]]
    said = {"temperature_c": ("temperature", "°C"), "initial_mass_g": ("initial mass", "g"),
            "water_volume_ml": ("water volume", "mL"), "recovered_mass_g": ("recovered mass",
            "g")}  # fmt: skip
    for run in runs:
        rows += [[run["group"], word, run[name], unit] for name, (word, unit) in said.items()]
    write("long_form.csv", lines(rows))
    return truth(runs)


@maker("german_sheet.xlsx")
def german_sheet() -> dict[str, Any]:
    runs = class_of(6, 82)
    heads = ("Gruppe", "Temperatur [°C]", "Einwaage [g]", "Füllung 1 [mL]", "Füllung 2 [mL]",
             "Füllung 3 [mL]", "Füllung 4 [mL]", "Rückstand [g]", "Filtration",
             "Rührzeit [min]")  # fmt: skip
    rows = values(runs, *PLAIN, "stir_min")
    for row in rows:
        row[1:8] = [f"{v}".replace(".", ",") for v in row[1:8]]
        row[8] = {"vacuum": "Nutsche", "gravity": "Faltenfilter"}[row[8]]
    book, sheet = new_book()
    table(sheet, heads, rows, top=3)
    sheet["A1"] = "Löslichkeit, Mittwochskurs"
    save(book, "german_sheet.xlsx")
    return truth(runs)


@maker("two_blocks_other_order.xlsx")
def two_blocks_other_order() -> dict[str, Any]:
    one = without(class_of(4, 83, section="A"), "stir_min", "filtration")
    two = without(class_of(4, 84, section="B"), "stir_min", "filtration")
    book, sheet = new_book()
    sheet["A1"] = "Section A"
    table(sheet, PLAIN_HEADINGS[:-1], values(one, *PLAIN[:-1]), top=2)
    sheet["A8"] = "Section B"
    order = ("recovered_mass_g", "group", *reversed(FILLS), "initial_mass_g", "temperature_c")
    heads = ("Mass recovered (g)", "Group", "Fill 4 (mL)", "Fill 3 (mL)", "Fill 2 (mL)",
             "Fill 1 (mL)", "Starting mass (g)", "Temperature (°C)")  # fmt: skip
    table(sheet, heads, values(two, *order), top=9)
    save(book, "two_blocks_other_order.xlsx")
    return truth([*one, *two])


@maker("paper_both_ways.xlsx")
def paper_both_ways() -> dict[str, Any]:
    runs = small_runs(5, 85)
    for run in runs:
        run["paper_mass_g"] = 0.92
        run["recovered_with_paper_mass_g"] = round(run.pop("recovered_mass_g") + 0.92, 2)
    heads = ("Group", "Temp (°C)", "Initial mass (g)", "Water volume (mL)", "Filter paper (g)",
             "Filter paper + solid (g)")  # fmt: skip
    names = (*SMALL[:4], "paper_mass_g", "recovered_with_paper_mass_g")
    book, sheet = new_book()
    table(sheet, heads, values(runs, *names))
    save(book, "paper_both_ways.xlsx")
    return truth(runs)


@maker("same_heading_twice.xlsx")
def same_heading_twice() -> dict[str, Any]:
    """Two columns headed "Mass (g)": which is which is for a person to say."""
    book, sheet, runs = small(5, 86)
    sheet["C1"] = sheet["E1"] = "Mass (g)"
    for run in runs:
        run["initial_mass_g"] = run["recovered_mass_g"] = None
    save(book, "same_heading_twice.xlsx")
    return truth(runs)


@maker("instructions_above.xlsx")
def instructions_above() -> dict[str, Any]:
    runs = small_runs(6, 87, section="Thu")
    book, sheet = new_book()
    sheet["A1"] = "Data collection, Thu section"
    sheet["A2"] = "Enter the initial mass in g, the water volume in mL. Group 1 sits at the window."
    sheet["A3"] = "Target: 2.0 g in 200 mL"
    sheet["F3"] = 2026
    heads = ("Group", "Temp (°C)", "Initial mass (g)", "Water volume (mL)", "Recovered mass (g)")
    table(sheet, ("e.g. 0", "22", "2.00", "200", "1.70"), [], top=6)
    table(sheet, heads, [], top=5)
    for i, row in enumerate(values(runs, *SMALL), start=7):
        for j, value in enumerate(row, start=1):
            sheet.cell(i, j, value)
    sheet["A5"].font = Font(bold=True)
    sheet["A6"] = "example"
    sheet.title = "Thu"
    save(book, "instructions_above.xlsx")
    return truth(runs)


@maker("absent_group.xlsx")
def absent_group() -> dict[str, Any]:
    book, sheet, runs = small(7, 88)
    for column in range(2, 6):
        sheet.cell(4, column).value = None
    sheet["B4"] = "absent"
    sheet.merge_cells("B4:E4")
    runs[2].update(dict.fromkeys(SMALL[1:]))
    save(book, "absent_group.xlsx")
    return truth(runs)


@maker("yes_no_flags.csv")
def yes_no_flags() -> dict[str, Any]:
    runs = small_runs(6, 89)
    rows: list[list[Any]] = [
        ["Group", "Temp (°C)", "Initial mass (g)", "Water volume (mL)", "Recovered mass (g)",
         "Laser beam visible?", "Dried to constant mass?"]
    ]  # fmt: skip
    said = [
        ("Y", "yes"),
        ("N", "no"),
        ("yes", "Y"),
        ("no", "N"),
        ("Yes", "✓"),
        ("not visible", "x"),
    ]
    for i, run in enumerate(runs):
        beam, dried = said[i]
        rows.append([*values([run], *SMALL)[0], beam, dried])
        run["scatter"] = "visible" if beam.lower().startswith("y") else "clear"
        run["constant_mass"] = None if dried == "x" else dried in ("yes", "Y", "✓")
    write("yes_no_flags.csv", lines(rows))
    return truth(runs, look=["G7"])


@maker("hidden_sheet_old.xlsx")
def hidden_sheet_old() -> dict[str, Any]:
    """A hidden copy of the same readings must not count a second time."""
    book, sheet, runs = small(5, 90)
    sheet.title = "Data"
    old = book.create_sheet("Backup")
    for row in sheet.iter_rows():
        for cell in row:
            old.cell(cell.row, cell.column, cell.value)
    old.sheet_state = "hidden"
    save(book, "hidden_sheet_old.xlsx")
    return truth(runs)


@maker("fill_sum_beside.xlsx")
def fill_sum_beside() -> dict[str, Any]:
    runs = without(class_of(6, 91), "filtration", "stir_min")
    heads = (*PLAIN_HEADINGS[:-2], "Total volume (mL)", "Recovered mass (g)")
    names = (*PLAIN[:-2], "water_volume_ml", "recovered_mass_g")
    book, sheet = new_book()
    table(sheet, heads, values(runs, *names))
    sheet["G4"] = None  # three fills written, the total tells of four
    runs[2]["fill_4_ml"] = None
    runs[2].pop("water_volume_ml")
    save(book, "fill_sum_beside.xlsx")
    return truth(runs)
