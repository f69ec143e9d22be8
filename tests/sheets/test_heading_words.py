"""Headings by the dozen: what each column is called, and what must not be taken for it."""

from __future__ import annotations

from pathlib import Path

import pytest

import solubility_stats as ss
from solubility_stats.quantities import quantity
from solubility_stats.sheets.choices import choice
from solubility_stats.sheets.headings import understand

CALLED = {
    "initial_mass_g": [
        "mass put in (g)",
        "How much solid did you start off with?",
        "Pre-mass (g)",
        "Dry mass in (g)",
        "Mass of lime alone (g)",
        "1. Mass of solid at beginning (g)",
        "Mass of Ca(OH)2 used (g)",
        "Initial mass of Ca(OH)2",
        "m(Ca(OH)2) / g",
        "Lime weighed (g)",
        "Starting mass (g)",
        "Weight of powder at start, g",
        "How much solid did you weigh out?",
        "mass_initial_g",
        "m_i (g)",
        "Solid added (g)",
        "Amount of solid (g)",
        "Sample mass",
        "initial wt. (g)",
        "weighed out",
        "Masse de départ (g)",
        "Einwaage [g]",
        "Mass before",
        "mass of lime before adding water (g)",
        "m0/g",
        "M0",
        "start mass (g)",
        "Solid in (mg)",
        "InitialMass",
        "Lime start",
        "Ca(OH)2 mass, before filtering (g)",
        "Mass of dry Ca(OH)2 powder (g)",
        "How much Ca(OH)2 did you start out with (g)?",
        "What mass of Ca(OH)2 did you put into the beaker?",
        "Masa de cal pesada (g)",
        "Massa de soluto pesada (g)",
        "Masse de chaux pesée (g)",
        "m(Ca(OH)2) vor dem Lösen [g]",
        "INIT MASS (G)",
        "Q2 - Mass of solid before mixing (g)",
    ],
    "recovered_mass_g": [
        "mass post drying (g)",
        "Post mass (g)",
        "unreacted solid (g)",
        "How much was left after drying?",
        "Mass after filtering + drying (g)",
        "What mass did you end up with?",
        "What was left, dried? (include units)",
        "Mass of dried residue (g)",
        "Final mass (g)",
        "mass left over",
        "Leftover solid (g)",
        "undissolved solid mass",
        "Residue (dry) g",
        "m_f (g)",
        "mass_recovered_g",
        "dry residue [g]",
        "Recovered solid mass, g",
        "mr",
        "Mass of solid recovered from filter (g)",
        "How much solid was left after drying?",
        "solid remaining (g)",
        "Weight after drying",
        "Rückstand [g]",
        "Dried cake (g)",
        "mass after filtration and drying",
        "Solid out (mg)",
        "Final Ca(OH)2",
        "Constant mass of residue (g)",
        "Dry Ca(OH)2 scraped off filter (g)",
        "Mass of Ca(OH)2 recovered from filter paper (g)",
        "weight of ppt on filter after drying (g)",
        "After drying, how much did your solid weigh?",
        "What stayed on the filter, dry (g)",
        "Masse du résidu sec (g)",
        "Massa residu gedroogd (g)",
        "Tørr masse etter filtrering (g)",
        "Rückwaage getrocknet in g",
    ],
    "fill": [
        "fill one",
        "fill two (mL)",
        "Volume of 2nd pour (mL)",
        "grad cyl 1 (mL)",
        "3. fill of water (mL)",
        "Water, pour 1 / mL",
        "Fill 1",
        "V1 (mL)",
        "Vol. 1 / mL",
        "1st fill (mL)",
        "First pour (mL)",
        "Cylinder 1 (mL)",
        "water added #2 (mL)",
        "Volume 3",
        "Portion 2 [mL]",
        "Fill no. 4",
        "fill_1",
        "H2O 1 (mL)",
        "Reading 2 (ml)",
        "Second fill",
        "water 1",
        "v_2 (ml)",
        "Füllung 3 (mL)",
        "1st cylinder of water (mL)",
        "50-mL portion #2",
        "Addition 3 (mL)",
    ],
    "water_volume_ml": [
        "Total H2O poured",
        "Water used to dissolve (mL)",
        "2. Total volume of water (mL)",
        "Total water (mL)",
        "Total volume of water added",
        "Volume of water (mL)",
        "V H2O (mL)",
        "Water used /mL",
        "water total mL",
        "How much water in total?",
        "sum of fills (mL)",
        "Vtot",
        "V_w (mL)",
        "How many mL of water did you add altogether?",
        "Total H2O (mL)",
        "Volume total d'eau versé (mL)",
        "Volumen total de agua (mL)",
        "Vannvolum (mL)",
        "Amount of water",
        "Combined volume of fills (mL)",
        "Total H2O poured in (mL)",
        "Vol. of water (sum of 4 fills), mL",
    ],
    "temperature_c": [
        "temp when stirring stopped",
        "degC",
        "Temp (C)",
        "T (°C)",
        "Temp. of solution",
        "Water temp (°F)",
        "temperature of the mixture when filtering",
        "T/°C",
        "lab temp in C",
        "Temperatur",
        "θ / °C",
        "What was the temperature of your solution when you filtered it?",
        "Temp during stirring (°C)",
        "Final T",
        "t_mix",
    ],
    "filtration": [
        "Filter method",
        "Filtration (V/G)",
        "vac or gravity",
        "How did you filter?",
        "Type of filtration used",
        "Büchner/gravity",
        "filter setup",
        "Vacuum? (Y/N)",
        "Which kind of filtration did your group do?",
        "Tipo de filtración",
    ],
    "aliquot_ml": [
        "Aliquot titrated (mL)",
        "Filtrate titrated (mL)",
        "Aliquot (mL)",
        "volume of filtrate taken",
        "pipette volume (mL)",
        "V aliquot",
        "sample taken for titration (mL)",
        "mL of saturated solution titrated",
        "Volume of filtrate titrated (mL)",
    ],
    "titrant_ml": [
        "HCl used (mL)",
        "Titre (mL)",
        "volume of acid added",
        "V(HCl)",
        "titrant volume, mL",
        "acid (mL)",
        "burette difference (mL)",
        "mL HCl to endpoint",
        "Verbrauch HCl (mL)",
    ],
    "burette_start_ml": [
        "Initial burette reading (mL)",
        "Burette start (mL)",
        "Burette reading before titration (mL)",
    ],
    "burette_end_ml": [
        "Final burette reading (mL)",
        "Burette end (mL)",
        "Burette reading at the end point (mL)",
    ],
    "titrant_mol_per_l": [
        "HCl concentration (mol/L)",
        "[HCl] (M)",
        "Conc. of acid",
        "Acid molarity",
        "c(HCl) mol/L",
        "M HCl",
    ],
    "reported_solubility": [
        "Your solubility (g/100 mL)",
        "Solubility (g/L)",
        "Calculated solubility g/100mL",
        "solubility you calculated",
        "Our result (g/L)",
        "Final solubility",
        "s (g/100 mL)",
        "Reported s / g L-1",
    ],
    "group": [
        "Your group letter",
        "Group",
        "Grp #",
        "Team",
        "Bench no.",
        "Pair",
        "Group ID",
        "Which group are you?",
        "Lab group",
        "Station",
        "group code",
        "Table no.",
        "Gp",
        "Binôme",
        "Equipo",
    ],
    "section": [
        "Section",
        "Lab day",
        "Sec.",
        "Lab section",
        "Which section are you in?",
        "Lab period",
        "Day",
    ],
    "stir_min": [
        "Stir (min)",
        "Stirring time / min",
        "How long did you stir?",
        "mixing (min)",
        "time stirred",
        "minutes of stirring",
    ],
    "dry_min": [
        "How long did you let it dry?",
        "Drying (min)",
        "time on hotplate (min)",
        "Dried for (min)",
        "drying time",
        "Minutes on hot plate",
    ],
    "settle_min": [
        "Settle (min)",
        "settling time",
        "time to settle (min)",
        "Minutes left to settle",
    ],
    "paper_mass_g": [
        "Filter paper (g)",
        "paper mass",
        "mass of filter paper",
        "empty filter paper / g",
    ],
    "recovered_with_paper_mass_g": [
        "Paper + solid (g)",
        "filter paper and residue",
        "mass of paper with dry solid",
        "Filter + residue (dry)",
        "Residue + filter paper (g)",
        "Mass of filter paper w/ dry Ca(OH)2",
        "Papel + sólido (g)",
    ],
    "scatter": [
        "Laser test",
        "Tyndall?",
        "Beam visible?",
        "laser beam seen in filtrate",
    ],
    "comment": [
        "Notes",
        "Anything unusual?",
        "Comments / observations",
        "Remarks",
    ],
    "dish_mass_g": [
        "Dish (g)",
        "Mass of evaporating dish",
        "empty dish",
        "empty evaporating dish",
    ],
    "dish_residue_mass_g": [
        "Dish + residue (g)",
        "Mass dish + dry residue",
        "dish and solid after evaporation",
    ],
    "constant_mass": [
        "Constant mass?",
        "Dried to constant mass",
    ],
    "evaporation_aliquot_ml": [
        "Filtrate in dish (mL)",
        "Volume of filtrate evaporated (mL)",
    ],
}

# Beside each group of headings, what would be wrong to read from them.
OTHER = [
    "Mass of filtered solid (g)",
    "weight of dry powder (g)",
    "Weighed amount (g)",
    "Mass of solid that failed to dissolve + paper (g)",
    "Mass of weighing paper (g)",
    "Dry solid on paper (g)",
    "Difference (g)",
    "Mass dissolved (g)",
    "% error",
    "Grade",
    "Average",
    "Student name",
    "E-mail",
    "Initials",
    "pH",
    "Colour",
    "Room",
    "mass dissolved / g",
    "Volume of acid at start (mL)",
    "Volume of filtrate (mL)",
    "V(filtrate)",
    "Vol. limewater (mL)",
    "Mass 1 (g)",
    "Mass 2 (g)",
    "First weighing (g)",
    "Beaker + solid (g)",
    "Weigh boat + Ca(OH)2 (g)",
    "Mass of funnel + dry solid (g)",
    "Paper + wet solid (g)",
    "Mass of solid from filtrate (g)",
    "Mass of solution (g)",
    "Mass of evaporated residue",
    "Target mass (g)",
    "Mean solubility (g/L)",
    "Literature solubility (g/L)",
    "Uncertainty of initial mass (g)",
    "± initial mass",
    "Std dev of recovered mass",
    "Δm (g)",
    "Masse dissoute (g)",
    "Gelöste Masse (g)",
    "Massa dissolvida (g)",
    "Volume after (mL)",
    "V0",
    "Wash water (mL)",
    "Drying start time",
    "Stir start",
    "Number in group",
    "Group average (g/L)",
    "Tare",
    "Reading",
]

STACKED_OTHER = [
    ("Paper", "before"),
    ("Paper (g)", "After"),
    ("Beaker (g)", "before"),
    ("Titration", "Volume (mL)"),
    ("Filtrate", "Volume (mL)"),
    ("Evaporation", "Initial mass (g)"),
    ("Solubility", "mean"),
]

STACKED = [
    (("Solid", "before (g)"), "initial_mass_g"),
    (("Solid", "after drying", "(g)"), "recovered_mass_g"),
    (("Part A", "Initial mass (g)"), "initial_mass_g"),
    (("Monday", "Temp"), "temperature_c"),
    (("HCl", "Volume (mL)"), "titrant_ml"),
    (("Water (mL)", "2nd"), "fill_2_ml"),
    (("Start", "m (g)"), "initial_mass_g"),
    (("Dish", "Initial mass (g)"), "dish_mass_g"),
    (("Evaporation", "Volume (mL)"), "evaporation_aliquot_ml"),
]


@pytest.mark.parametrize(
    ("column", "heading"), [(c, h) for c, many in CALLED.items() for h in many]
)
def test_called(column: str, heading: str) -> None:
    found = understand([heading]).column or ""
    assert found == column or (column == "fill" and found.startswith("fill_"))


@pytest.mark.parametrize("heading", OTHER)
def test_of_something_else_or_not_certain(heading: str) -> None:
    assert understand([heading]).column is None


@pytest.mark.parametrize(("levels", "column"), STACKED)
def test_a_parent_adds_its_meaning(levels: tuple[str, ...], column: str) -> None:
    assert understand(levels).column == column


@pytest.mark.parametrize("levels", STACKED_OTHER)
def test_a_parent_that_says_something_else_leaves_it_open(levels: tuple[str, ...]) -> None:
    assert understand(levels).column is None


def test_masses_whose_values_contradict_their_headings_stay_open(tmp_path: Path) -> None:
    sheet = tmp_path / "turned_round.csv"
    sheet.write_text(
        "Group,Mass of lime at the start (g),Mass of lime after drying (g),Water (mL)\n"
        "1,1.70,2.03,200\n2,1.66,1.98,201\n3,1.71,2.05,199\n4,1.68,2.01,200\n"
    )
    records = ss.read_class(sheet)
    assert not {"initial_mass_g", "recovered_mass_g"} & set(
        records.runs.dropna(axis="columns", how="all").columns
    )
    open_ones = records.headings[records.headings["column"] == ""]
    assert open_ones["note"].str.contains("contradict").sum() == 2


@pytest.mark.parametrize("said", ["ohne Vakuum", "sans vide", "w/o vacuum", "vacuum failed"])
def test_what_was_not_done_is_no_answer(said: str) -> None:
    assert choice(said, quantity("filtration"))[0] is None


HERE = Path(__file__).parent


def test_headings_of_sheets_written_without_sight_of_the_vocabulary() -> None:
    """Invented sheets of many hands, 2026: each heading with the column a teacher takes it for."""
    lines = (HERE / "headings_seen.tsv").read_text(encoding="utf-8").splitlines()
    assert len(lines) > 1400
    expected = [tuple(line.split("\t")) for line in lines]
    wrong = [(h, c, u) for c, h in expected if (u := understand([h]).column) != c]
    assert not wrong


def test_headings_of_other_things_name_no_column() -> None:
    """What stood beside them on those sheets and is no reading of ours."""
    lines = (HERE / "headings_of_other_things.txt").read_text(encoding="utf-8").splitlines()
    assert len(lines) > 120
    assert [h for h in lines if understand([h]).column is not None] == []
