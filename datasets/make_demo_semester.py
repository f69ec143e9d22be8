"""Make the demo semester: simulate it at the bench, then write it as people do.

Run from a checkout: ``python datasets/make_demo_semester.py [FOLDER_FOR_TRUTH]``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pandas as pd

from solubility_stats.files import write_csv
from solubility_stats.measurement import Protocol
from solubility_stats.simulation import simulate
from solubility_stats.simulation.messy import comma_workbook, form_csv, titled_workbook

HERE = Path(__file__).parent / "demo_semester"
SEED = 2
LOSSES = {"transfer_loss": 0.06, "constant_loss": 0.04}
SECTIONS = {"Monday": 11, "Wednesday": 11, "Friday": 10}


def main(truth_folder: str | None = None) -> None:
    protocol = Protocol.from_toml(HERE / "protocol.toml")
    made = simulate(
        protocol,
        groups=sum(SECTIONS.values()),
        sections=len(SECTIONS),
        causes={**LOSSES, "calculation_slip": 0.16, "missed_fill": 0.03},
        routes=("residue", "titration"),
        temperature_c=22.5,
        seed=SEED,
    )
    days = [day for day, groups in SECTIONS.items() for _ in range(groups)]
    numbers = [str(i + 1) for groups in SECTIONS.values() for i in range(groups)]
    runs = made.records.runs.assign(section=days, group=numbers)
    by_day = {day: part for day, part in runs.groupby("section")}
    titrated = ["aliquot_ml", "titrant_mol_per_l", "titrant_ml"]
    titled_workbook(
        by_day["Monday"].drop(columns=titrated),
        HERE / "monday_results.xlsx",
        title="Quillmoor College - Section: Monday",
        seed=1,
    )
    comma_workbook(
        by_day["Wednesday"].drop(columns=titrated),
        HERE / "wednesday_class_table.xlsx",
        title="Section: Wednesday",
        seed=2,
    )
    form_csv(by_day["Friday"], HERE / "friday_form.csv", section="Friday", late=(3,), seed=3)
    if truth_folder:
        ids = (runs["section"] + "/" + runs["group"] + "/1").to_numpy()
        write_csv(made.truth.assign(run_id=ids), Path(truth_folder) / "truth.csv")
        write_csv(made.causes, Path(truth_folder) / "causes.csv")
    print(made.headline())
    print(pd.Series(made.truth["mishap"]).value_counts().to_dict())


if __name__ == "__main__":
    main(*sys.argv[1:2])
