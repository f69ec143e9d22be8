from __future__ import annotations

from pathlib import Path

import pytest
from openpyxl import load_workbook

import solubility_stats as ss
from solubility_stats.errors import InputError
from solubility_stats.quantities import quantity
from solubility_stats.sheets.collect import ROUTES, SHEET, write_collection_workbook


def test_every_column_of_every_route_is_read_back(tmp_path: Path) -> None:
    path = write_collection_workbook(tmp_path / "sheet.xlsx", routes=ROUTES, fills=6, groups=3)
    book = load_workbook(path)
    sheet = book[SHEET]
    headings = {str(cell.value): cell.column for cell in sheet[4]}
    typed = {
        "Section": "Mon-A", "Group": "07", "Run": "2", "Temperature (°C)": 21.5,
        "Initial mass (g)": 2.05, **{f"Fill {k} (mL)": 50.0 + k / 10 for k in range(1, 7)},
        "Filtration": "gravity", "Stirring time (min)": 12, "Settling time (min)": 3,
        "Laser test": "visible", "Paper mass (g)": 0.91, "Drying time (min)": 25,
        "Paper + solid (g)": 2.5, "Recovered mass (g)": 1.59, "Constant mass": "no",
        "Aliquot (mL)": 25, "Acid concentration (mol/L)": 0.05, "Acid used (mL)": 22.4,
        "Volume evaporated (mL)": 50, "Empty dish (g)": 44.1, "Dish + residue (g)": 44.19,
        "Balance": "B3", "Our solubility": 0.15, "Unit": "g/100 mL", "Comment": "none",
    }  # fmt: skip
    assert set(typed) == set(headings)
    for heading, value in typed.items():
        sheet.cell(6, headings[heading]).value = value
    book.save(path)
    records = ss.read_class(path)
    (run,) = records.runs[records.runs["set_aside"] == ""].to_dict("records")
    expected = {
        "section": "Mon-A", "group": "07", "run": "2", "temperature_c": 21.5,
        "initial_mass_g": 2.05, **{f"fill_{k}_ml": 50.0 + k / 10 for k in range(1, 7)},
        "water_volume_ml": 302.1, "filtration": "gravity", "stir_min": 12.0, "settle_min": 3.0,
        "scatter": "visible", "paper_mass_g": 0.91, "dry_min": 25.0,
        "recovered_with_paper_mass_g": 2.5, "recovered_mass_g": 1.59, "constant_mass": False,
        "aliquot_ml": 25.0, "titrant_mol_per_l": 0.05, "titrant_ml": 22.4,
        "evaporation_aliquot_ml": 50.0, "dish_mass_g": 44.1, "dish_residue_mass_g": 44.19,
        "balance": "B3", "reported_solubility": 0.15, "reported_unit": "g/100 mL",
        "comment": "none",
    }  # fmt: skip
    for name, value in expected.items():
        assert run[name] == (pytest.approx(value) if isinstance(value, float) else value), name
    aside = records.runs[records.runs["set_aside"] != ""]
    assert len(aside) == 1
    assert "example" in aside["set_aside"].iloc[0]
    assert not records.ledger["outcome"].isin(["unclear", "rejected"]).any()


def test_a_blank_sheet_holds_no_run_but_the_example(tmp_path: Path) -> None:
    path = write_collection_workbook(tmp_path / "blank.xlsx", groups=["01", "02"])
    records = ss.read_class(path)
    entered = records.runs[records.runs["set_aside"] == ""]
    assert entered[["initial_mass_g", "recovered_mass_g"]].notna().sum().sum() == 0


def test_cells_are_guarded(tmp_path: Path) -> None:
    path = write_collection_workbook(
        tmp_path / "s.xlsx", fills=2, groups=5, sections=["A", "B"], mass_decimals=3
    )
    sheet = load_workbook(path)[SHEET]
    column = {str(c.value): c.column_letter for c in sheet[4]}
    rules = {str(v.sqref).split(":")[0][:-1]: v for v in sheet.data_validations.dataValidation}
    mass = rules[column["Initial mass (g)"]]
    assert (mass.type, mass.formula1, mass.formula2) == ("decimal", "0", "500")
    assert rules[column["Filtration"]].formula1 == '"vacuum,gravity"'
    assert rules[column["Section"]].formula1 == '"A,B"'
    assert str(mass.sqref) == f"{column['Initial mass (g)']}6:{column['Initial mass (g)']}10"
    assert sheet.freeze_panes == "D5"
    assert sheet.print_title_rows == "$4:$4"
    assert sheet.protection.sheet
    assert not sheet["B6"].protection.locked
    assert sheet["B4"].protection.locked
    assert sheet[f"{column['Initial mass (g)']}6"].number_format == "0.000"
    assert quantity("initial_mass_g").high == 500  # the rule above comes from the vocabulary


def test_codes_that_look_like_formulas_stay_codes(tmp_path: Path) -> None:
    path = write_collection_workbook(tmp_path / "s.xlsx", groups=["=1+1", "@x"])
    sheet = load_workbook(path)[SHEET]
    assert (sheet["B6"].value, sheet["B6"].data_type) == ("=1+1", "s")


@pytest.mark.parametrize(
    "wrong",
    [
        {"fills": 0}, {"fills": 99}, {"groups": 0}, {"groups": []}, {"groups": ["a", "a"]},
        {"groups": ["a", " "]}, {"routes": ["tasting"]}, {"routes": []}, {"mass_decimals": 9},
        {"sections": ["a,b"]},
    ],
)  # fmt: skip
def test_wrong_wishes_are_refused_and_nothing_is_left_behind(tmp_path: Path, wrong: dict) -> None:
    with pytest.raises(InputError, match="cannot be used"):
        write_collection_workbook(tmp_path / "s.xlsx", **wrong)
    with pytest.raises(InputError, match=r"\.xlsx"):
        write_collection_workbook(tmp_path / "s.csv")
    assert list(tmp_path.iterdir()) == []
