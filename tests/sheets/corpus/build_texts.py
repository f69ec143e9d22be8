"""Text files in many dialects and encodings."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kit import (
    PLAIN,
    PLAIN_HEADINGS,
    Run,
    class_of,
    lines,
    maker,
    truth,
    values,
    volume_only,
    without,
    write,
)


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
