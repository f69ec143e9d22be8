"""Other workbook formats, and the collection workbook filled in."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from kit import (
    HERE,
    PLAIN,
    PLAIN_HEADINGS,
    class_of,
    from_book,
    maker,
    new_book,
    small,
    table,
    truth,
    values,
    without,
)


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
