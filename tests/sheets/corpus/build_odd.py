"""More that turns up: odd places, odd encodings, terse headings, people in the margins."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from binary_book import write_binary_book
from kit import (
    HERE,
    PLAIN,
    PLAIN_HEADINGS,
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
from openpyxl.styles import PatternFill
from openpyxl.worksheet.table import Table

SMALL = ("group", "temperature_c", "initial_mass_g", "water_volume_ml", "recovered_mass_g")
HEADS = ("Group", "Temperature (°C)", "Initial mass (g)", "Water volume (mL)", "Recovered mass (g)")


def small_runs(n: int, seed: int, **more: Any) -> list[dict[str, Any]]:
    return volume_only(without(class_of(n, seed, **more), "filtration", "stir_min"))


@maker("binary.xlsb")
def binary() -> dict[str, Any]:
    runs = small_runs(6, 100)
    rows = values(runs, *SMALL)
    rows[2][2] = "2..01"
    runs[2]["initial_mass_g"] = None
    write_binary_book(HERE / "binary.xlsb", "Data", [["Results"], [], list(HEADS), *rows])
    return truth(runs, look=["C6"])


@maker("far_corner.xlsx")
def far_corner() -> dict[str, Any]:
    runs = without(class_of(5, 101), "filtration", "stir_min")
    book, sheet = new_book()
    table(sheet, PLAIN_HEADINGS[:-1], values(runs, *PLAIN[:-1]), top=40, left=8)
    save(book, "far_corner.xlsx")
    return truth(runs)


@maker("table_object_filter.xlsx")
def table_object_filter() -> dict[str, Any]:
    runs = small_runs(6, 102)
    book, sheet = new_book()
    table(sheet, HEADS, values(runs, *SMALL))
    sheet.add_table(Table(displayName="Readings", ref="A1:E7"))
    for row in (3, 5):
        sheet.row_dimensions[row].hidden = True
        sheet.cell(row, 1).fill = PatternFill("solid", fgColor="FFFF00")
    save(book, "table_object_filter.xlsx")
    return truth(runs, flagged={"hidden": ["2", "4"]})


@maker("margins_with_people.xlsx")
def margins_with_people() -> dict[str, Any]:
    runs = small_runs(5, 103)
    book, sheet = new_book()
    sheet["A1"] = "Prepared by Ann Example"
    sheet["A2"] = "Questions to ann.example@example.org"
    table(sheet, (*HEADS, "Partner", "Student ID"), values(runs, *SMALL), top=4)
    for i in range(5):
        sheet.cell(5 + i, 6).value = f"Bo Sample{'abcde'[i]}"
        sheet.cell(5 + i, 7).value = 4420110 + i
    sheet["A11"] = "Bo was late"
    book.properties.creator = "Ann Example"
    save(book, "margins_with_people.xlsx")
    return truth(runs, private=["Ann", "Example", "Bo", "Samplea", "4420110", "ann.example"])


@maker("terse_headings.csv")
def terse_headings() -> dict[str, Any]:
    runs = small_runs(6, 104)
    write(
        "terse_headings.csv",
        lines([("Grp", "T (°C)", "m0 (g)", "V (mL)", "mr (g)"), *values(runs, *SMALL)]),
    )
    return truth(runs)


@maker("mixed_units_in_cells.csv")
def mixed_units_in_cells() -> dict[str, Any]:
    runs = small_runs(8, 105)
    rows: list[list[Any]] = [["Team", "Water temp", "Starting mass", "Total water", "Dry mass"]]
    for i, run in enumerate(runs):
        group, t, m, v, left = values([run], *SMALL)[0]
        rows.append(
            [
                group,
                f"{t} C" if i % 2 else f"{t}°C",
                f"{round(m * 1000)} mg" if i % 3 == 0 else f"{m} g",
                f"{v / 1000:.4f} L" if i % 3 == 1 else f"{v} ml",
                f"{left} gr" if i % 2 else f"{left}g",
            ]
        )
    write("mixed_units_in_cells.csv", lines(rows))
    return truth(runs)


@maker("utf16be_no_mark.csv")
def utf16be_no_mark() -> dict[str, Any]:
    runs = small_runs(5, 106)
    write(
        "utf16be_no_mark.csv", lines([HEADS, *values(runs, *SMALL)], ";", comma=True), "utf-16-be"
    )
    return truth(runs)


@maker("line_breaks_in_cells.csv")
def line_breaks_in_cells() -> dict[str, Any]:
    runs = small_runs(5, 107)
    heads = (
        "Group",
        "Temp\n(°C)",
        'Mass "initial"\n(g)',
        "Water volume\n(mL)",
        "Recovered mass\n(g)",
        "Notes",
    )
    notes = ("stirred, then waited", 'said "fine"', "line one\nline two", "", "a; b")
    rows = [[*row, note] for row, note in zip(values(runs, *SMALL), notes, strict=True)]
    text = lines([heads, *rows]).replace('"Mass "initial"\n(g)"', '"Mass ""initial""\n(g)"')
    text = text.replace('"said "fine""', '"said ""fine"""')
    write("line_breaks_in_cells.csv", text, newline="\r\n")
    return truth(runs)


@maker("stamps_1904.xlsx")
def stamps_1904() -> dict[str, Any]:
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    runs = small_runs(4, 108)
    book, sheet = new_book()
    book.epoch = CALENDAR_MAC_1904
    table(sheet, ("Timestamp", *HEADS), [])
    start = datetime(2026, 5, 4, 10, 0, 0)
    rows = values(runs, *SMALL)
    later = dict(runs[0], recovered_mass_g=round(runs[0]["recovered_mass_g"] + 0.04, 2))
    rows.append(values([later], *SMALL)[0])
    for i, row in enumerate(rows):
        sheet.cell(2 + i, 1).value = start + timedelta(minutes=7 * i)
        for j, value in enumerate(row, start=2):
            sheet.cell(2 + i, j).value = value
    save(book, "stamps_1904.xlsx")
    return truth([later, *runs[1:]], set_aside=[runs[0]])


@maker("columns_with_runs.xlsx")
def columns_with_runs() -> dict[str, Any]:
    """Groups as columns, two trials under each."""
    runs = small_runs(6, 109, names=["1", "1", "2", "2", "3", "3"])
    for i, run in enumerate(runs):
        run["run"] = str(i % 2 + 1)
    book, sheet = new_book()
    labels = ("Group", "Trial", *HEADS[1:])
    names = ("group", "run", *SMALL[1:])
    for i, (label, name) in enumerate(zip(labels, names, strict=True), start=3):
        sheet.cell(i, 2).value = label
        for j, run in enumerate(runs, start=3):
            sheet.cell(i, j).value = run[name]
    save(book, "columns_with_runs.xlsx")
    return truth(runs)


@maker("thousands_swiss.csv")
def thousands_swiss() -> dict[str, Any]:
    runs = small_runs(5, 110)
    rows: list[list[Any]] = [
        ["Group", "Initial mass (mg)", "Water volume (mL)", "Recovered mass (mg)"]
    ]
    for run in runs:
        run.pop("temperature_c")
        big = [f"{round(run[k] * 1000):,}".replace(",", "'") for k in SMALL[2::2]]
        rows.append([run["group"], big[0], run["water_volume_ml"], big[1]])
    write("thousands_swiss.csv", lines(rows, ";"))
    return truth(runs)


@maker("thousands_comma.csv")
def thousands_comma() -> dict[str, Any]:
    """1,300 mL beside 995.5 mL: the column itself proves which mark is decimal."""
    runs = small_runs(5, 111)
    rows: list[list[Any]] = [HEADS[:1] + HEADS[3:] + ("Initial mass (g)",)]
    for i, run in enumerate(runs):
        run.pop("temperature_c")
        run["water_volume_ml"] = 995.5 + 152.25 * i
        run["initial_mass_g"] = round(run["initial_mass_g"] + 8, 2)
        run["recovered_mass_g"] = round(run["recovered_mass_g"] + 6, 2)
        rows.append([run["group"], f"{run['water_volume_ml']:,}", run["recovered_mass_g"],
                     run["initial_mass_g"]])  # fmt: skip
    write("thousands_comma.csv", lines(rows, "\t"))
    return truth(runs)


@maker("no_group_column.csv")
def no_group_column() -> dict[str, Any]:
    """Without a group column the runs are still read, each for itself."""
    runs = small_runs(4, 112)
    write("no_group_column.csv", lines([HEADS[1:], *values(runs, *SMALL[1:])]))
    for run in runs:
        run["group"] = ""
    return truth(runs, unnamed=True)


@maker("misleading_headings.csv")
def misleading_headings() -> dict[str, Any]:
    """Columns that sound like ours and are not: gross masses, book values; a pair that is."""
    runs = small_runs(5, 113)
    heads = ("Group", "Beaker + solid before (g)", "Wash water (mL)", "Hot plate temp (°C)",
             "Initial burette reading (mL)", "Final burette reading (mL)",
             "Theoretical solubility (g/100 mL)", "Watch glass + residue (g)")  # fmt: skip
    rows: list[list[Any]] = [list(heads)]
    blank = ("temperature_c", "initial_mass_g", "water_volume_ml", "recovered_mass_g",
             "reported_solubility")  # fmt: skip
    for i, run in enumerate(runs):
        rows.append([run["group"], round(47.2 + run["initial_mass_g"], 2), 20 + i, 60 + i, 0.1 * i,
                     11.2 + 0.1 * i, 0.17, round(31.4 + run["recovered_mass_g"], 2)])  # fmt: skip
    write("misleading_headings.csv", lines(rows))
    # The two readings of the burette give the acid used.
    return truth([{"group": r["group"], **dict.fromkeys(blank), "titrant_ml": 11.2} for r in runs])


@maker("two_dryings.csv")
def two_dryings() -> dict[str, Any]:
    runs = small_runs(5, 114)
    for run in runs:
        run["second_dry_mass_g"] = round(run["recovered_mass_g"] - 0.02, 2)
    heads = (*HEADS[:4], "Mass after 1st drying (g)", "Mass after 2nd drying (g)")
    write("two_dryings.csv", lines([heads, *values(runs, *SMALL, "second_dry_mass_g")]))
    return truth(runs)
