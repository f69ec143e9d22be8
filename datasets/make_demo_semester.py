"""Make the demo semester: simulate it at the bench, then write it as people do.

Run from a checkout: ``python datasets/make_demo_semester.py [FOLDER_FOR_TRUTH]``.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import pandas as pd

from solubility_stats.files import write_csv
from solubility_stats.measurement import Protocol
from solubility_stats.records import ClassRecords
from solubility_stats.simulation import Simulation, simulate
from solubility_stats.simulation.messy import comma_workbook, form_csv, titled_workbook

HERE = Path(__file__).parent / "demo_semester"
SEED = 13
LOSSES = {"transfer_loss": 0.045, "constant_loss": 0.055}
SECTIONS = {"Monday": 11, "Wednesday": 11, "Friday": 10}
TITRATION = ["aliquot_ml", "titrant_mol_per_l", "titrant_ml"]  # only Friday titrated


def semester() -> Simulation:
    """Simulate the semester; its sections are named after days, its groups numbered in each."""
    made = simulate(
        Protocol.from_toml(HERE / "protocol.toml"),
        groups=sum(SECTIONS.values()),
        sections=len(SECTIONS),
        causes={**LOSSES, "calculation_slip": 0.16, "missed_fill": 0.03},
        routes=("residue", "titration"),
        temperature_c=22.5,
        seed=SEED,
    )
    days = [day for day, groups in SECTIONS.items() for _ in range(groups)]
    numbers = [str(i + 1) for groups in SECTIONS.values() for i in range(groups)]
    ids = [f"{day}/{number}" for day, number in zip(days, numbers, strict=True)]
    runs = made.records.runs.assign(section=days, group=numbers, run="", run_id=ids)
    untitrated = runs["section"] != "Friday"
    runs[TITRATION] = runs[TITRATION].mask(untitrated)
    return replace(made, records=ClassRecords.from_frame(runs), truth=made.truth.assign(run_id=ids))


def write(made: Simulation, folder: Path) -> None:
    """Write the sheets of the three sections, each messy in its own way."""
    by_day = dict(list(made.records.runs.groupby("section")))
    titled_workbook(
        by_day["Monday"],
        folder / "monday_results.xlsx",
        title="Quillmoor College - Section: Monday",
        seed=1,
    )
    comma_workbook(
        by_day["Wednesday"],
        folder / "wednesday_class_table.xlsx",
        title="Section: Wednesday",
        seed=2,
    )
    form_csv(by_day["Friday"], folder / "friday_form.csv", section="Friday", late=(3,), seed=3)


def main(truth_folder: str | None = None) -> None:
    """Write the sheets again, and the truth where asked for it."""
    made = semester()
    write(made, HERE)
    if truth_folder:
        write_csv(made.truth, Path(truth_folder) / "truth.csv")
        write_csv(made.causes, Path(truth_folder) / "causes.csv")
    print(made.headline())
    print(pd.Series(made.truth["mishap"]).value_counts().to_dict())


if __name__ == "__main__":
    main(*sys.argv[1:2])
