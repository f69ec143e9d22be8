"""Whole processes: import against importing pandas, and the demo semester from sheets to page.

Each command runs in a fresh process, ours and the baseline in turn; the least of the runs counts.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time

import solubility_stats as ss

RUNS = 5
PANDAS = "import pandas"
OURS = "import solubility_stats"
HEAVY = "import pandas, scipy.stats, matplotlib.figure, openpyxl, jinja2"
JOB = """
import sys
from solubility_stats.cli import main
main(["analyse", *{files!r}, "--protocol", {protocol!r}, "--out", sys.argv[1]])
"""


def seconds(code: str, *arguments: str) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", code, *arguments], check=True, capture_output=True)
    return time.perf_counter() - start


def against(name: str, ours: str, baseline: str, *arguments: str) -> None:
    pairs = [(seconds(ours, *arguments), seconds(baseline)) for _ in range(RUNS)]
    a, b = (min(times) for times in zip(*pairs, strict=True))
    print(f"{name:<48} {a:6.2f} s  {b:6.2f} s  ratio {a / b:5.2f}")


def main() -> None:
    demo = ss.datasets.demo_semester()
    job = JOB.format(files=[str(f) for f in demo.files], protocol=str(demo.protocol))
    print(f"{'':<48}     ours   baseline")
    against("import (baseline: import pandas)", OURS, PANDAS)
    with tempfile.TemporaryDirectory() as folder:
        against("analyse the demo (baseline: import what it uses)", job, HEAVY, folder)


if __name__ == "__main__":
    main()
