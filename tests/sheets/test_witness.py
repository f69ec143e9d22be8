"""Columns that the arithmetic of a sheet identifies, and those it rightly leaves open."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from solubility_stats import read_class
from solubility_stats.records import ClassRecords

Write = Callable[..., Path]
Rows = list[list[object]]


def class_data(n: int = 9, seed: int = 3) -> pd.DataFrame:
    """Return an invented class with readings rounded as written down."""
    rng = np.random.default_rng(seed)
    m0 = np.round(rng.normal(2.05, 0.07, n), 2)
    fills = np.round(rng.normal(50.0, 0.4, (n, 4)), 1)
    water = np.round(fills.sum(axis=1), 1)
    left = np.round(m0 - 0.00163 * water + rng.normal(0, 0.02, n), 2)
    paper = np.round(rng.normal(0.92, 0.04, n), 2)
    return pd.DataFrame(
        {
            "group": np.arange(1, n + 1), "m0": m0, "water": water, "left": left,
            **{f"f{k + 1}": fills[:, k] for k in range(4)},
            "paper": paper, "both": np.round(left + paper, 2),
            "gone": np.round(m0 - left, 2), "s": np.round(100 * (m0 - left) / water, 3),
        }
    )  # fmt: skip


def sheet(data: pd.DataFrame, **headings: str) -> Rows:
    body = data[list(headings)].astype(object).to_numpy().tolist()
    return [list(headings.values()), *body]


def how(records: ClassRecords) -> dict[str, tuple[str, str]]:
    table = records.headings
    return {
        str(h): (str(c), str(w))
        for h, c, w in zip(table["heading"], table["column"], table["how"], strict=True)
    }


FRAME = {"group": "Group", "m0": "Initial mass (g)", "water": "Water (mL)"}


def test_recovered_mass_from_the_reported_solubility(text_table: Write) -> None:
    data = class_data()
    data.loc[[1, 4], "s"] = [0.314, 0.021]  # two groups calculated wrongly
    rows = sheet(data, **FRAME, left="Zinger (g)", s="Solubility (g/100 mL)")
    records = read_class(text_table(rows))
    assert how(records)["Zinger (g)"] == ("recovered_mass_g", "arithmetic")
    assert records.runs["recovered_mass_g"].tolist() == data["left"].tolist()
    note = records.headings.set_index("heading").loc["Zinger (g)", "note"]
    assert "initial mass − this, divided by the water," in note
    assert "in 7 of 9 rows" in note
    assert note in str(records.account["text"])


@pytest.mark.parametrize(
    ("factor", "unit"), [(10.0, "g/L"), (10.0, "mg/mL"), (1.0, "%"), (1e4, "mg/L"), (1.0, "")]
)
def test_any_power_of_ten_of_the_reported_unit(factor: float, unit: str, text_table: Write) -> None:
    data = class_data()
    data["s"] = [f"{factor * s:.6g} {unit}".strip() for s in data["s"]]
    data["group"] = data["group"].astype(object)
    rows: Rows = [["Group", "m0 (g)", "Zinger (g)", "Water (mL)", "Solubility"]]
    columns = ["group", "m0", "left", "water", "s"]
    rows += data[columns].astype(object).to_numpy().tolist()
    found = how(read_class(text_table(rows)))
    assert found["Zinger (g)"] == ("recovered_mass_g", "arithmetic")


def test_initial_mass_from_the_dissolved_mass(text_table: Write) -> None:
    data = class_data()
    rows = sheet(data, group="Group", m0="Zinger (g)", water="Water (mL)",
                 left="Recovered mass (g)", gone="Mass dissolved (g)")  # fmt: skip
    records = read_class(text_table(rows))
    assert how(records)["Zinger (g)"] == ("initial_mass_g", "arithmetic")
    assert records.runs["initial_mass_g"].tolist() == data["m0"].tolist()


def test_water_from_the_reported_solubility(text_table: Write) -> None:
    data = class_data()
    rows = sheet(data, group="Group", m0="m0 (g)", water="Zinger volume (mL)", left="m dry (g)",
                 s="Solubility (g/100 mL)")  # fmt: skip
    records = read_class(text_table(rows))
    assert how(records)["Zinger volume (mL)"] == ("water_volume_ml", "arithmetic")


def test_fills_from_their_total_in_order(text_table: Write) -> None:
    data = class_data()
    named = {f"f{k}": f"Zinger {name} (mL)" for k, name in enumerate("ABCD", start=1)}
    rows = sheet(data, group="Group", m0="m0 (g)", **named, water="Total water (mL)",
                 left="m dry (g)")  # fmt: skip
    records = read_class(text_table(rows))
    for k in range(1, 5):
        assert how(records)[named[f"f{k}"]] == (f"fill_{k}_ml", "arithmetic")
        assert records.runs[f"fill_{k}_ml"].tolist() == data[f"f{k}"].tolist()


def test_paper_with_solid_from_paper_and_recovered_mass(text_table: Write) -> None:
    data = class_data()
    rows = sheet(data, group="Group", m0="m0 (g)", water="Water (mL)", both="Zinger (g)",
                 paper="Filter paper (g)", left="Recovered mass (g)")  # fmt: skip
    records = read_class(text_table(rows))
    assert how(records)["Zinger (g)"] == ("recovered_with_paper_mass_g", "arithmetic")


def test_paper_with_solid_from_the_reported_solubility(text_table: Write) -> None:
    data = class_data()
    rows = sheet(data, **FRAME, both="Zinger (g)", paper="Filter paper (g)",
                 s="Solubility (g/100 mL)")  # fmt: skip
    found = how(read_class(text_table(rows)))
    assert found["Zinger (g)"] == ("recovered_with_paper_mass_g", "arithmetic")


def left_open(records: ClassRecords, *headings: str) -> None:
    for heading in headings:
        assert how(records)[heading][0] == ""


def test_two_columns_that_fit_stay_open(text_table: Write) -> None:
    data = class_data().assign(again=lambda d: d["left"])
    rows = sheet(data, **FRAME, left="Zinger A (g)", again="Zinger B (g)",
                 s="Solubility (g/100 mL)")  # fmt: skip
    left_open(read_class(text_table(rows)), "Zinger A (g)", "Zinger B (g)")


def test_two_unknown_masses_stay_open(text_table: Write) -> None:
    """Both may hold the same vessel: the difference cannot tell."""
    data = class_data()
    data[["m0", "left"]] += 2.4
    rows = sheet(data, group="Group", m0="Zinger A (g)", water="Water (mL)", left="Zinger B (g)",
                 gone="Mass dissolved (g)", s="Solubility (g/100 mL)")  # fmt: skip
    left_open(read_class(text_table(rows)), "Zinger A (g)", "Zinger B (g)")


@pytest.mark.parametrize(
    "heading", ["Zinger paper + solid (g)", "Zinger wet (g)", "Zinger before (g)", "Zinger (mL)",
                "Zinger (min)"],
)  # fmt: skip
def test_a_heading_that_speaks_against_it_stays_open(heading: str, text_table: Write) -> None:
    rows = sheet(class_data(), **FRAME, left=heading, s="Solubility (g/100 mL)")
    assert how(read_class(text_table(rows)))[heading][0] != "recovered_mass_g"


def test_an_understood_column_is_never_overridden(text_table: Write) -> None:
    data = class_data().assign(other=lambda d: d["left"] + 0.3)
    rows = sheet(data, **FRAME, other="Recovered mass (g)", left="Zinger (g)",
                 s="Solubility (g/100 mL)")  # fmt: skip
    records = read_class(text_table(rows))
    left_open(records, "Zinger (g)")
    assert records.runs["recovered_mass_g"].tolist() == pytest.approx(data["other"].tolist())


def test_too_few_rows_or_too_coarse_digits_tell_nothing(text_table: Write) -> None:
    short = sheet(class_data(3), **FRAME, left="Zinger (g)", s="Solubility (g/100 mL)")
    left_open(read_class(text_table(short)), "Zinger (g)")
    data = class_data().assign(s=lambda d: d["s"].round(1))
    coarse = sheet(data, **FRAME, left="Zinger (g)", s="Solubility (g/100 mL)")
    left_open(read_class(text_table(coarse, name="coarse.csv")), "Zinger (g)")


def test_most_rows_must_agree(text_table: Write) -> None:
    data = class_data(10)
    data.loc[:3, "s"] *= 1.4
    rows = sheet(data, **FRAME, left="Zinger (g)", s="Solubility (g/100 mL)")
    left_open(read_class(text_table(rows)), "Zinger (g)")


def test_columns_of_chance_are_hardly_ever_taken(text_table: Write) -> None:
    """Masses near the recovered mass, drawn apart from it, in 150 classes."""
    taken = 0
    for seed in range(150):
        rng = np.random.default_rng(1000 + seed)
        data = class_data(8, seed)
        data["other"] = np.round(rng.normal(1.72, 0.07, 8), 2)
        rows = sheet(data, **FRAME, other="Zinger (g)", s="Solubility (g/100 mL)",
                     gone="Mass dissolved (g)")  # fmt: skip
        found = how(read_class(text_table(rows, name=f"c{seed}.csv")))
        taken += found["Zinger (g)"][0] != ""
    assert taken == 0


def test_summary_rows_do_not_count(text_table: Write) -> None:
    data = class_data(4)
    rows = sheet(data, **FRAME, left="Zinger (g)", s="Solubility (g/100 mL)")
    means = data[["m0", "water", "left", "s"]].mean().round(3)
    rows.append(["Average", *means.tolist()])
    note = read_class(text_table(rows)).headings.set_index("heading").loc["Zinger (g)", "note"]
    assert "in 4 of 4 rows" in note


def test_rows_of_text_with_units_and_decimal_commas(text_table: Write) -> None:
    data = class_data()
    shown: Sequence[str] = [f"{x:.2f}".replace(".", ",") for x in data["left"]]
    rows: Rows = [["Group", "m0 (g)", "Water (mL)", "Zinger", "Solubility (g/100 mL)"]]
    for (_, row), left in zip(data.iterrows(), shown, strict=True):
        comma = [f"{row[c]:.{d}f}".replace(".", ",") for c, d in (("m0", 2), ("water", 1))]
        s = f"{row['s']:.3f}".replace(".", ",")
        rows.append([str(int(row["group"])), *comma, f"{left} g", s])
    records = read_class(text_table(rows, delimiter=";"))
    assert how(records)["Zinger"] == ("recovered_mass_g", "arithmetic")
    assert records.runs["recovered_mass_g"].tolist() == data["left"].tolist()


def test_a_sum_that_may_lack_a_fill_is_not_formed(text_table: Write) -> None:
    data = class_data().assign(f2=50.0, f3=50.0, f4=50.0)
    three = {"f2": "Fill 2 (mL)", "f3": "Fill 3 (mL)", "f4": "Fill 4 (mL)"}
    gap = sheet(data, group="Group", m0="m0 (g)", **three, left="m dry (g)")
    other = sheet(data, group="Group", m0="m0 (g)", f2="Fill 1 (mL)", f3="Fill 2 (mL)",
                  f1="Rinse water (mL)", left="m dry (g)")  # fmt: skip
    total = sheet(data, group="Group", m0="m0 (g)", **three, water="Total water (mL)",
                  left="m dry (g)")  # fmt: skip
    for at, rows in enumerate((gap, other, total)):
        records = read_class(text_table(rows, name=f"{at}.csv"))
        runs = records.runs
        assert "water_volume_ml" not in runs or runs["water_volume_ml"].isna().all()
        assert records.runs["recovered_mass_g"].tolist() == data["left"].tolist()


def test_the_solubility_under_a_bare_unit_is_recognised(text_table: Write) -> None:
    data = class_data()
    rows = sheet(data, **FRAME, left="m dry (g)", s="g per 100 mL")
    records = read_class(text_table(rows))
    assert how(records)["g per 100 mL"] == ("reported_solubility", "arithmetic")
    assert records.runs["reported_solubility"].tolist() == pytest.approx(data["s"].tolist())
    strange = sheet(data.assign(s=class_data(seed=9)["s"]), **FRAME, left="m dry (g)", s="g/L")
    left_open(read_class(text_table(strange, name="strange.csv")), "g/L")


def test_filtrate_is_not_taken_for_water(text_table: Write) -> None:
    data = class_data().assign(got=lambda d: (d["water"] - 4.0).round(1))
    for digits in (2, 3):
        rows = sheet(data.assign(s=data["s"].round(digits)), group="Group", m0="m0 (g)",
                     got="Zinger volume (mL)", left="m dry (g)", s="Solubility (g/L)")  # fmt: skip
        left_open(read_class(text_table(rows, name=f"{digits}.csv")), "Zinger volume (mL)")


def test_the_mass_dissolved_in_100_ml_is_no_solubility(text_table: Write) -> None:
    data = class_data().assign(water=100.0)
    rows = sheet(data, **FRAME, left="m dry (g)", gone="Zinger")
    left_open(read_class(text_table(rows)), "Zinger")


def test_a_second_weighing_that_nearly_agrees_stays_open(text_table: Write) -> None:
    data = class_data()
    data["again"] = data["left"] - np.where(np.arange(len(data)) == 4, 0.01, 0.0)
    rows = sheet(data.round(2), **FRAME, again="Zinger (g)", gone="Mass dissolved (g)")
    left_open(read_class(text_table(rows)), "Zinger (g)")
    slip = data.assign(gone=data["gone"].where(data.index != 4, 1.32)).round(2)
    rows = sheet(slip, **FRAME, left="Zinger (g)", gone="Mass dissolved (g)")
    found = how(read_class(text_table(rows, name="slip.csv")))
    assert found["Zinger (g)"] == ("recovered_mass_g", "arithmetic")
