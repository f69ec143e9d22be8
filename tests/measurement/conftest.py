"""A class of runs, and the residue equation written once more, apart from the library."""

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from uncertainties import umath


def residue_by_hand(x, carbonation=0.3508, slurry=0.02599, oxide=0.3213, insoluble=0.0):
    """The residue equation for single numbers with uncertainty; effects not given are zero."""
    x = {**dict.fromkeys(EFFECTS, 0.0), **x}
    cake = x["recovered"] + x["constant_loss"] + x["warm_weighing"] + x["paper_regain"]
    cake = (cake - x["fibres"]) / (1 - x["transfer_loss"]) / (1 + x["residual_moisture"])
    cake = cake / (1 - x["dehydration"])
    cake = (cake + carbonation * insoluble * x["residue_carbonation"] * x["initial"]) / (
        1 + carbonation * x["residue_carbonation"]
    )
    entered = x["initial"] * (
        1 - x["reagent_moisture"] - x["soluble_impurity"] + oxide * x["reagent_oxide"]
    )
    entered = entered + slurry * x["early_carbonation"] - x["fines"]
    water = x["volume"] * (1 - x["drainage_film"]) - x["early_evaporation"]
    a = water * x["retained_liquor"]
    b = water - entered * x["retained_liquor"] - x["paper_liquor"]
    c = 2 * (entered - cake) / (b + umath.sqrt(b * b + 4 * a * (entered - cake)))
    return 100 * c / x["density"] / (1 - x["undersaturation"])


MOLAR, CARBONATE, OXIDE = 74.093, 100.087, 56.077  # g/mol


def bench(x, solubility, insoluble=0.0, molar_co2=1e-3):
    """The bench, forwards: what the balance shows for a true solubility (g/mL of water)."""
    oxide = x["reagent_oxide"]
    active = x["initial"] * (
        1 - insoluble - x["reagent_moisture"] - x["soluble_impurity"] - oxide
        + oxide * MOLAR / OXIDE
    )  # fmt: skip
    water = x["volume"] * (1 - x["drainage_film"]) - x["early_evaporation"]
    concentration = (1 - x["undersaturation"]) * solubility
    dissolved = concentration * water
    co2 = x["early_carbonation"] * molar_co2
    soil = insoluble * x["initial"]
    solid = active - dissolved + co2 * (CARBONATE - MOLAR) + soil - x["fines"]
    cake = solid + concentration * (x["retained_liquor"] * solid + x["paper_liquor"])
    hydroxide = cake - soil
    cake = cake + (CARBONATE / MOLAR - 1) * x["residue_carbonation"] * hydroxide
    cake = cake * (1 + x["residual_moisture"]) * (1 - x.get("dehydration", 0.0))
    shown = cake * (1 - x["transfer_loss"]) - x["constant_loss"] + x["fibres"]
    return shown - x["warm_weighing"] - x["paper_regain"]


EFFECTS = (
    "dehydration", "retained_liquor", "paper_liquor", "residual_moisture", "residue_carbonation",
    "transfer_loss", "constant_loss", "warm_weighing", "paper_regain", "fibres", "fines",
    "reagent_moisture", "soluble_impurity", "reagent_oxide", "early_carbonation",
    "drainage_film", "early_evaporation", "undersaturation",
)  # fmt: skip


@pytest.fixture(scope="session")
def oracle():
    return SimpleNamespace(residue=residue_by_hand, bench=bench)


def make_class(n=12, sections=("Mon", "Tue")):
    """Runs of calcium hydroxide, 2.5 g in three fills of 100 mL, some with other routes."""
    rng = np.random.default_rng(20)
    frame = pd.DataFrame(
        {
            "section": np.repeat(sections, n // len(sections)),
            "group": [str(i + 1) for i in range(n)],
            "initial_mass_g": np.round(rng.normal(2.5, 0.05, n), 2),
            "fill_1_ml": 100.0,
            "fill_2_ml": 100.0,
            "fill_3_ml": 100.0,
            "filtration": ["vacuum", "gravity"] * (n // 2),
            "temperature_c": 22.0,
        }
    )
    frame["recovered_mass_g"] = np.round(frame["initial_mass_g"] - 0.48 + rng.normal(0, 0.03, n), 2)
    return frame


@pytest.fixture
def class_frame():
    return make_class()


@pytest.fixture
def three_routes(class_frame):
    frame = class_frame.assign(titrant_mol_per_l=0.1, aliquot_ml=25.0)
    frame.loc[:5, "titrant_ml"] = [10.9, 11.0, 11.2, 10.8, 11.1, 11.0]
    frame.loc[:1, "dish_mass_g"] = 50.10
    frame.loc[:1, "dish_residue_mass_g"] = [50.15, 50.16]
    return frame
