"""What the makers of the corpus share: the invented class, and how to write it down."""

from __future__ import annotations

import random
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from openpyxl import Workbook

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


def small(n: int, seed: int) -> tuple[Workbook, Any, list[Run]]:
    """A plain sheet: group, temperature, initial mass, water volume, recovered mass."""
    runs = volume_only(without(class_of(n, seed), "filtration", "stir_min"))
    book, sheet = new_book()
    heads = ("Group", "Temperature (°C)", "Initial mass (g)", "Water volume (mL)",
             "Recovered mass (g)")  # fmt: skip
    names = ("group", "temperature_c", "initial_mass_g", "water_volume_ml", "recovered_mass_g")
    table(sheet, heads, values(runs, *names))
    return book, sheet, runs
