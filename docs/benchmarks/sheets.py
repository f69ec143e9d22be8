"""How long reading takes, as a ratio to the bare libraries on the same file.

Run ``python docs/benchmarks/sheets.py``. Baselines: ``openpyxl.load_workbook`` for the full path,
``python_calamine`` for the values path. Processor time is compared, the least of several goes taken
in turn with the baseline, so that other work on the machine counts as little as possible.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import python_calamine

from solubility_stats.datasets import demo_semester
from solubility_stats.sheets import read_class

HEAD = ["semester", "section", "group", "run", "temperature (°C)", "initial mass (g)",
        "fill 1 (mL)", "fill 2 (mL)", "fill 3 (mL)", "fill 4 (mL)", "recovered mass (g)",
        "filtration"]  # fmt: skip


def write(rows: int, path: Path) -> Path:
    """Write a clean class of so many runs."""
    rng = np.random.default_rng(1)
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("data")
    sheet.append(HEAD)
    for k in range(rows):
        fills = [round(float(x), 1) for x in 50 + 0.3 * rng.normal(size=4)]
        masses = [round(float(m + 0.05 * rng.normal()), 3) for m in (2.5, 2.1)]
        sheet.append(
            ["2026", f"S{k % 20}", f"G{k}", 1, round(float(20 + rng.normal()), 1), masses[0],
             *fills, masses[1], "vacuum" if k % 2 else "gravity"]
        )  # fmt: skip
    book.save(path)
    return path


def write_messy(groups: int, path: Path) -> Path:
    """Write a class in tables of ten with captions, units in cells, gaps, means and remarks."""
    rng = np.random.default_rng(2)
    book = openpyxl.Workbook()
    sheet = book.active
    for first in range(0, groups, 10):
        sheet.append([f"Section {first // 10 + 1}"])
        sheet.merge_cells(
            start_row=sheet.max_row, end_row=sheet.max_row, start_column=1, end_column=6
        )
        sheet.append(["Grp", "m0 (g)", "water", "m dry", "T", "Filter", "Remarks"])
        for k in range(first, first + 10):
            initial, left = 2.5 + 0.05 * rng.normal(), 2.1 + 0.05 * rng.normal()
            sheet.append(
                [f"Group {k + 1}", f"{initial:.3f} g" if k % 3 else round(initial, 3),
                 f"{200 + rng.normal():.1f} mL", f"~{left:.2f} g" if k % 7 == 0 else f"{left:.3f}g",
                 "lost" if k % 11 == 5 else "20.5 °C", "vac" if k % 2 else "grav.",
                 "spilled a little" if k % 5 == 0 else None]
            )  # fmt: skip
        sheet.append(["Mean", f"=AVERAGE(B{sheet.max_row - 9}:B{sheet.max_row})"])
        sheet.append([])
    book.save(path)
    return path


def best(*works: Callable[[], object], goes: int = 5) -> list[float]:
    """Return the least processor time of each work, all done in turn."""
    times: list[list[float]] = [[] for _ in works]
    for _ in range(goes):
        for work, taken in zip(works, times, strict=True):
            start = time.process_time()
            work()
            taken.append(time.process_time() - start)
    return [min(taken) for taken in times]


def bare_calamine(path: Path) -> object:
    """Read all values and do nothing with them."""
    return python_calamine.CalamineWorkbook.from_path(str(path)).get_sheet_by_index(0).to_python()


def main() -> None:
    """Print the ratios."""
    with tempfile.TemporaryDirectory() as folder:
        small, middle, large = (write(n, Path(folder) / f"{n}.xlsx") for n in (60, 3_000, 100_000))
        read_class(small)  # imports and caches
        messy = write_messy(60, Path(folder) / "messy.xlsx")
        for name, files in (
            ("60 groups, clean", small),
            ("60 groups, messy", messy),
            ("demo semester", demo_semester().files),
        ):
            print(f"{name}: {best(lambda files=files: read_class(files))[0]:.3f} s")
        bare, full = best(
            lambda: openpyxl.load_workbook(middle), lambda: read_class(middle, path="full")
        )
        print(f"full path, 3 000 × 12: {full:.2f} s = {full / bare:.2f} × bare openpyxl")
        bare, values, auto = best(
            lambda: bare_calamine(large),
            lambda: read_class(large, path="values"),
            lambda: read_class(large),
        )
        for path, ours in (("values", values), ("auto", auto)):
            print(f"{path}, 100 000 × 12: {ours:.2f} s = {ours / bare:.2f} × bare calamine")


if __name__ == "__main__":
    main()
