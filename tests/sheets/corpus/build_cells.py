"""What stands in a cell."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from kit import (
    PLAIN,
    PLAIN_HEADINGS,
    class_of,
    from_book,
    maker,
    new_book,
    save,
    small,
    table,
    truth,
    values,
    without,
)
from openpyxl.comments import Comment
from openpyxl.styles import Font


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
    runs[1]["initial_mass_g"] = 2.051  # among 2.00 to 2.09 neither 2051 g nor a guess
    runs[2]["water_volume_ml"] = runs[3]["water_volume_ml"] = None
    save(book, "thousands_or_decimals.xlsx")
    return truth(runs, look=["D4", "D5"])


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
