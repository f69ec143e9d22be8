"""One small class with every kind of content, analysed and written once for all tests here."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest

from solubility_stats.analysis import analyse
from solubility_stats.report import write_report
from solubility_stats.simulation import simulate

PERSONAL = ("Ottilie Brandgruber", "o.brandgruber@quillmoor.example", "0151 4455667")
NASTY = "<script>alert('x')</script>"


def written(class_file: Path, out: Path) -> SimpleNamespace:
    done = analyse([class_file], seed=5)
    page = write_report(done, out)
    return SimpleNamespace(
        done=done, folder=out, file=class_file, page=page.read_text(encoding="utf-8")
    )


@pytest.fixture(scope="session")
def report(tmp_path_factory):
    """Analysis and files of ten groups in two sections who also titrated.

    The sheet holds names, addresses, markup in a group code and in a remark, a formula, an
    unreadable mass and a group that recovered more than it started with.
    """
    folder = tmp_path_factory.mktemp("report")
    runs = simulate(groups=10, sections=2, routes=("residue", "titration"), seed=7).records.runs
    fills = [f"fill_{i}_ml" for i in range(1, 5)]
    sheet = pd.DataFrame(
        {
            "Section": runs["section"],
            "Group": ["<b>G1</b>", *[f"G{i}" for i in range(2, 11)]],
            "Student name": [PERSONAL[0]] * 10,
            "E-mail": [PERSONAL[1]] * 10,
            "Initial mass (g)": runs["initial_mass_g"].map("{:.3f}".format),
            **{f"Fill {i} (mL)": runs[f] for i, f in enumerate(fills, start=1)},
            "Temperature (°C)": runs["temperature_c"],
            "Filtration": runs["filtration"],
            "Recovered mass (g)": runs["recovered_mass_g"].map("{:.3f}".format),
            "Aliquot (mL)": runs["aliquot_ml"],
            "Acid (mol/L)": runs["titrant_mol_per_l"],
            "Titrant (mL)": runs["titrant_ml"],
            "Reported solubility (g/100 mL)": runs["reported_solubility"],
            "Comments": [NASTY, "=1+1", f"call {PERSONAL[2]}", *[""] * 7],
        }
    )
    sheet.loc[4, "Recovered mass (g)"] = "1.5?2"
    file = folder / "class.csv"
    sheet.to_csv(file, index=False)
    return written(file, folder / "out")
