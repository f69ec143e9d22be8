"""How long reading takes, as a ratio to the bare libraries on the same file.

Run ``python docs/benchmarks/sheets.py``. Baselines: ``openpyxl.load_workbook`` for the full path,
``python_calamine`` for the values path. Processor time is compared, best of three, so that other
work on the machine does not count.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import openpyxl
import python_calamine

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


def best(work: Callable[[], object]) -> float:
    """Return the least processor time of three goes."""
    times = []
    for _ in range(3):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def bare_calamine(path: Path) -> object:
    """Read all values and do nothing with them."""
    return python_calamine.CalamineWorkbook.from_path(str(path)).get_sheet_by_index(0).to_python()


def main() -> None:
    """Print the ratios."""
    with tempfile.TemporaryDirectory() as folder:
        small, middle, large = (write(n, Path(folder) / f"{n}.xlsx") for n in (60, 3_000, 100_000))
        read_class(small)  # imports and caches
        print(f"60 groups: {best(lambda: read_class(small)):.3f} s")
        ours = best(lambda: read_class(middle, path="full"))
        bare = best(lambda: openpyxl.load_workbook(middle))
        print(f"full path, 3 000 × 12: {ours:.2f} s = {ours / bare:.2f} × bare openpyxl")
        bare = best(lambda: bare_calamine(large))
        for path in ("values", "auto"):
            ours = best(lambda path=path: read_class(large, path=path))
            print(f"{path}, 100 000 × 12: {ours:.2f} s = {ours / bare:.2f} × bare calamine")


if __name__ == "__main__":
    main()
