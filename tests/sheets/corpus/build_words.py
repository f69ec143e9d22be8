"""Headings in other people's words: questions, other languages, symbols, lists beside the table."""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from typing import Any

from kit import FILLS, class_of, lines, maker, new_book, save, table, truth, values, without, write
from kit import volume_only as by_volume

Run = dict[str, Any]
FOUR = ("group", "initial_mass_g", "water_volume_ml", "temperature_c", "recovered_mass_g")
FIVE = (*FOUR, "filtration")


def _runs(n: int, seed: int, *names: str, **more: Any) -> list[Run]:
    kept = {*(names or FOUR), "section", "group"}
    return [{k: v for k, v in run.items() if k in kept} for run in class_of(n, seed, **more)]


def _said(runs: Sequence[Run], names: Sequence[str], words: Mapping[str, str]) -> list[list[Any]]:
    return [[words.get(v, v) for v in row] for row in values(runs, *names)]


def _book(name: str, headings: Sequence[object], rows: Sequence[Sequence[object]]) -> None:
    book, sheet = new_book()
    table(sheet, headings, rows)
    save(book, name)


@maker("titles_beside_turned.xlsx")
def titles_beside_turned() -> Run:
    names = ("initial_mass_g", *FILLS, "temperature_c", "filtration", "recovered_mass_g")
    runs = _runs(6, 301, *names, section="Wednesday")
    labels = ("Mass of Ca(OH)2 weighed out (g)", "1st cylinder of water (mL)",
              "2nd cylinder of water (mL)", "3rd cylinder of water (mL)",
              "4th cylinder of water (mL)", "Temperature of the mixture (°C)", "How filtered",
              "Mass of recovered solid (g)")  # fmt: skip
    book, sheet = new_book()
    sheet["A1"] = "Section: Wednesday"
    rows = [[label, *(r[n] for r in runs)] for label, n in zip(labels, names, strict=True)]
    table(sheet, ["", *(f"Gp {r['group']}" for r in runs)], rows, top=3)
    save(book, "titles_beside_turned.xlsx")
    return truth(runs)


@maker("questions.csv")
def questions() -> Run:
    runs = _runs(7, 302, *FIVE, "stir_min")
    asked = ["Q1 - Your group", "Q2 - What mass of Ca(OH)2 did you put into the beaker?",
             "Q3 - How many mL of water did you add altogether?",
             "Q4 - What was the temperature of your solution when you filtered it?",
             "Q5 - After drying, how much did your solid weigh?",
             "Q6 - Which kind of filtration did your group do?",
             "Q7 - For how long did you stir the mixture?"]  # fmt: skip
    how = {"vacuum": "Vacuum (Büchner funnel)", "gravity": "Gravity (fluted paper)"}
    rows = [
        [g, f"{m} grams", v, f"{t} degrees C", f"{left} grams", how[f], f"{stir:.0f} minutes"]
        for g, m, v, t, left, f, stir in values(runs, *FIVE, "stir_min")
    ]
    write("questions.csv", lines([asked, *rows]))
    return truth(runs)


@maker("spanish.csv")
def spanish() -> Run:
    runs = _runs(6, 303, *FIVE)
    heads = ["Equipo", "Masa de cal pesada (g)", "Volumen total de agua (mL)",
             "Temperatura de la disolución (°C)", "Masa del residuo seco (g)",
             "Tipo de filtración"]  # fmt: skip
    rows = _said(runs, FIVE, {"vacuum": "al vacío", "gravity": "por gravedad"})
    write("spanish.csv", lines([heads, *rows], ";", comma=True))
    return truth(runs)


@maker("portuguese.csv")
def portuguese() -> Run:
    runs = _runs(6, 304, *FIVE)
    heads = ["Grupo", "Massa de soluto pesada (g)", "Volume total de água (mL)",
             "Temp. da solução (°C)", "Massa de sólido seco (g)", "Filtração"]  # fmt: skip
    rows = _said(runs, FIVE, {"vacuum": "a vácuo", "gravity": "por gravidade"})
    write("portuguese.csv", lines([heads, *rows], ";", comma=True))
    return truth(runs)


@maker("italian.txt")
def italian() -> Run:
    runs = _runs(6, 305)
    heads = ["Gruppo", "Massa iniziale (g)", "Volume d'acqua (mL)", "Temperatura (°C)",
             "Massa recuperata (g)"]  # fmt: skip
    write("italian.txt", lines([heads, *values(runs, *FOUR)], "\t", comma=True), "utf-16")
    return truth(runs)


@maker("dutch.csv")
def dutch() -> Run:
    runs = _runs(6, 306)
    heads = ["Groep", "Beginmassa (g)", "Volume water (mL)", "Temperatuur (°C)",
             "Massa residu gedroogd (g)"]  # fmt: skip
    write("dutch.csv", lines([heads, *values(runs, *FOUR)], ";", comma=True))
    return truth(runs)


@maker("french_bench.csv")
def french_bench() -> Run:
    runs = _runs(6, 307, *FIVE)
    heads = ["Binôme", "Masse de chaux pesée (g)", "Volume total d'eau versé (mL)",
             "Température du mélange (°C)", "Masse du résidu sec (g)", "Filtration",
             "Masse dissoute (g)"]  # fmt: skip
    rows = _said(runs, FIVE, {"vacuum": "sous vide", "gravity": "par gravité"})
    rows = [[*row, round(row[1] - row[4], 2)] for row in rows]
    write("french_bench.csv", lines([heads, *rows], ";", comma=True), "cp1252")
    return truth(runs)


@maker("german_bench.csv")
def german_bench() -> Run:
    runs = _runs(6, 308, *FIVE)
    heads = ["Grp.", "m(Ca(OH)2) vor dem Lösen [g]", "Wasservolumen gesamt [ml]",
             "Temp. der Lösung [°C]", "Rückwaage getrocknet [g]", "Filtration",
             "gelöst [g]"]  # fmt: skip
    rows = _said(runs, FIVE, {"vacuum": "Nutsche", "gravity": "Faltenfilter"})
    rows = [[*row, round(row[1] - row[4], 2)] for row in rows]
    write("german_bench.csv", lines([heads, *rows], ";", comma=True))
    return truth(runs)


@maker("physics_symbols.xlsx")
def physics_symbols() -> Run:
    runs = _runs(6, 309, decimals=3)
    heads = ("Group", "m₀ / g", "±", "V / cm³", "±", "θ / °C", "m(undissolved) / g", "Δm / g")
    rows = [[g, m, 0.001, v, 1, t, left, round(m - left, 3)]
            for g, m, v, t, left in values(runs, *FOUR)]  # fmt: skip
    _book("physics_symbols.xlsx", heads, rows)
    return truth(runs)


@maker("in_and_out.csv")
def in_and_out() -> Run:
    runs = _runs(6, 310)
    rows: list[list[object]] = [
        ["bench", "solid in (mg)", "water (dm3)", "T (K)", "solid out (mg)"]
    ]
    for run in runs:
        mg, left = round(run["initial_mass_g"] * 1000), round(run["recovered_mass_g"] * 1000)
        litres = round(run["water_volume_ml"] / 1000, 4)
        kelvin = round(run["temperature_c"] + 273.15, 2)
        rows.append([run["group"], mg, f"{litres:.4f}", f"{kelvin:.2f}", left])
    write("in_and_out.csv", lines(rows))
    return truth(runs)


@maker("yes_no_vacuum.csv")
def yes_no_vacuum() -> Run:
    runs = _runs(6, 311, *FIVE)
    heads = ["Group", "Ca(OH)2 initial (g)", "Water (mL)", "Temp (C)", "Ca(OH)2 recovered (g)",
             "Vacuum? (Y/N)", "Initials"]  # fmt: skip
    rows = _said(runs, FIVE, {"vacuum": "Y", "gravity": "N"})
    write("yes_no_vacuum.csv", lines([heads, *([*row, "KP"] for row in rows)]))
    return truth(runs)


@maker("summary_sheet.xlsx")
def summary_sheet() -> Run:
    runs = []
    book, sheet = new_book()
    sheet.title = "Summary"
    table(sheet, ("Section", "Mean solubility (g/L)", "SD"),
          [["Tues 1pm", 1.61, 0.08], ["Thur 6pm", 1.66, 0.05]])  # fmt: skip
    heads = ("Lab bench", "Mass Ca(OH)2 used (g)", "Total H2O (mL)", "Temp. (deg. C)",
             "Mass Ca(OH)2 recovered (g)")  # fmt: skip
    for seed, section in ((312, "Tues 1pm"), (313, "Thur 6pm")):
        mine = _runs(5, seed, section=section)
        table(book.create_sheet(f"Lab {section}"), heads, values(mine, *FOUR))
        runs += mine
    save(book, "summary_sheet.xlsx")
    return truth(runs)


@maker("statistics_beside.xlsx")
def statistics_beside() -> Run:
    runs = _runs(6, 314)
    book, sheet = new_book()
    heads = ("Group", "Mass of solid at start (g)", "Volume of water used (mL)",
             "Temp of water (°C)", "Mass of solid at end (g)")  # fmt: skip
    table(sheet, heads, values(runs, *FOUR))
    table(sheet, ("Class", ""), [["Mean", 0.163], ["Std dev", 0.006], ["Accepted", 0.165]], left=7)
    save(book, "statistics_beside.xlsx")
    return truth(runs)


@maker("burette_and_dish.xlsx")
def burette_and_dish() -> Run:
    dice = random.Random(315)
    runs = _runs(6, 315)
    heads = ("Group", "Initial mass (g)", "Water (mL)", "T (deg C)", "Lime recovered (g)",
             "mL of saturated solution titrated", "c(HCl) / mol L⁻¹",
             "Initial burette reading (mL)", "Final burette reading (mL)", "mL HCl to endpoint",
             "Filtrate in dish (mL)", "Mass of empty crucible (g)",
             "Crucible + solid after evaporation (g)")  # fmt: skip
    rows = []
    for run, row in zip(runs, values(runs, *FOUR), strict=True):
        start, acid = round(dice.uniform(0, 3), 2), round(dice.gauss(22, 0.3), 2)
        dish = round(dice.gauss(20, 1), 3)
        run.update(aliquot_ml=25.0, titrant_mol_per_l=0.0512, titrant_ml=acid,
                   evaporation_aliquot_ml=50.0, dish_mass_g=dish,
                   dish_residue_mass_g=round(dish + 0.081, 3))  # fmt: skip
        rows.append([*row, 25.0, 0.0512, start, round(start + acid, 2), acid, 50.0, dish,
                     run["dish_residue_mass_g"]])  # fmt: skip
    _book("burette_and_dish.xlsx", heads, rows)
    return truth(runs)


@maker("burette_readings_only.csv")
def burette_readings_only() -> Run:
    dice = random.Random(316)
    runs = _runs(5, 316, "temperature_c")
    rows: list[list[object]] = [
        ["Group", "Temp (°C)", "Aliquot (mL)", "Final burette reading (mL)"]
    ]
    for run in runs:
        run.update(aliquot_ml=25.0, titrant_ml=None)
        rows.append([run["group"], run["temperature_c"], 25.0, round(dice.gauss(24, 1), 2)])
    write("burette_readings_only.csv", lines(rows))
    return truth(runs)


@maker("boat_and_filter.csv")
def boat_and_filter() -> Run:
    runs = by_volume(without(class_of(6, 317), "filtration", "stir_min"))
    heads = ["Group", "Weighing boat (g)", "Boat + lime (g)", "Volume H2O (mL)", "Filter paper (g)",
             "Filter + residue (dry)", "Temperature (°C)"]  # fmt: skip
    rows = []
    for run in runs:
        start, left = run.pop("initial_mass_g"), run.pop("recovered_mass_g")
        run.update(paper_mass_g=0.91, recovered_with_paper_mass_g=round(left + 0.91, 2))
        rows.append([run["group"], 1.79, round(1.79 + start, 2), run["water_volume_ml"], 0.91,
                     run["recovered_with_paper_mass_g"], run["temperature_c"]])  # fmt: skip
        run["initial_mass_g"] = None
    write("boat_and_filter.csv", lines([heads, *rows]))
    return truth(runs)


@maker("capitals.csv")
def capitals() -> Run:
    runs = _runs(6, 318, *FIVE, section="3")
    heads = ["SECT", "GRP", "INIT MASS (G)", "H2O VOL (ML)", "TEMP (C)", "FINAL MASS (G)", "FILT"]
    rows = _said(runs, ("section", *FIVE), {"vacuum": "VACU", "gravity": "GRAV"})
    write("capitals.csv", lines([heads, *rows]))
    return truth(runs)
