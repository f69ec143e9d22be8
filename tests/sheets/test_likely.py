"""Headings with a word nobody foresaw: taken if the rest of the table leaves one meaning."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import solubility_stats as ss
from solubility_stats.records import ClassRecords
from solubility_stats.sheets.concepts import concepts_of
from solubility_stats.sheets.strange_words import is_plain
from solubility_stats.sheets.units import known_unit

Write = Callable[..., Path]

# Invented: masses near 2 g, 200 mL of water, residues 0.3 g lighter.
START = [2.04, 1.98, 2.11, 2.02, 1.95]
LEFT = [1.71, 1.67, 1.78, 1.70, 1.61]
WATER = [200.5, 199.0, 201.0, 200.0, 199.5]
WARM = [21.5, 22.0, 21.0, 22.5, 21.8]


def table(text_table: Write, name: str, **columns: list[Any]) -> ClassRecords:
    heads = ["Group", *columns]
    rows = [heads, *([i + 1, *row] for i, row in enumerate(zip(*columns.values(), strict=True)))]
    return ss.read_class(text_table(rows, name=f"{name}.csv"))


def meant(records: ClassRecords) -> dict[str, tuple[str, str]]:
    rows = records.headings.itertuples()
    return {str(r.heading): (str(r.column), str(r.how)) for r in rows}


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Fluffy solid left over (g)", "recovered_mass_g"),
        ("Dried remainder, snowy (g)", "recovered_mass_g"),
        ("Zesty solid weighed out (g)", "initial_mass_g"),
        ("Glorious water, total (mL)", "water_volume_ml"),
        ("How cosy was the slurry (°C)", "temperature_c"),
    ],
)
def test_taken_with_a_remark(heading: str, column: str, text_table: Write) -> None:
    plain = {
        "Initial mass (g)": ("initial_mass_g", START),
        "Water (mL)": ("water_volume_ml", WATER),
        "Temp (°C)": ("temperature_c", WARM),
        "Residue (g)": ("recovered_mass_g", LEFT),
    }
    columns = {heading if c == column else h: v for h, (c, v) in plain.items()}
    records = table(text_table, "odd", **columns)
    assert meant(records)[heading] == (column, "likely")
    values = next(v for c, v in plain.values() if c == column)
    assert records.runs[column].tolist() == pytest.approx(values)
    assert f"Heading '{heading}': taken as {column}" in str(records.account["text"])


@pytest.mark.parametrize(
    ("heading", "values"),
    [
        ("Solid spilled on the floor (g)", [0.6, 0.7, 0.6, 0.8, 0.9]),
        ("Target mass of solid to start (g)", [2.0] * 5),
        ("Mass of solid in the jar at start (g) with lid", [48.1, 47.2, 46.9, 48.8, 47.7]),
        ("Solid last year at start (g)", START),
        ("Solid at start without boat (g)", START),
    ],
)
def test_another_thing_stays_open(heading: str, values: list[float], text_table: Write) -> None:
    columns: dict[str, list[Any]] = {heading: values, "Water (mL)": WATER, "Residue (g)": LEFT}
    records = table(text_table, "other", **columns)
    assert records.runs["initial_mass_g"].isna().all()


@pytest.mark.parametrize("heading", ["Water left in the jug (mL)", "Rinsing water, total (mL)"])
def test_other_water_stays_open(heading: str, text_table: Write) -> None:
    columns: dict[str, list[Any]] = {
        "Initial mass (g)": START, heading: WATER, "Residue (g)": LEFT,
    }  # fmt: skip
    assert table(text_table, "water", **columns).runs["water_volume_ml"].isna().all()


def test_not_if_another_column_claims_it(text_table: Write) -> None:
    columns: dict[str, list[Any]] = {
        "Initial mass (g)": START, "Zesty solid weighed out (g)": [m + 0.1 for m in START],
        "Residue (g)": LEFT,
    }  # fmt: skip
    records = table(text_table, "claimed", **columns)
    assert meant(records)["Zesty solid weighed out (g)"][0] == ""
    assert records.runs["initial_mass_g"].tolist() == START


def test_not_if_two_columns_may_be_it(text_table: Write) -> None:
    columns: dict[str, list[Any]] = {
        "Zesty solid weighed out (g)": START, "Murky solid weighed out (g)": START[::-1],
        "Residue (g)": LEFT,
    }  # fmt: skip
    assert table(text_table, "two", **columns).runs["initial_mass_g"].isna().all()


def test_not_if_the_values_speak_against_it(text_table: Write) -> None:
    heavier = [m + 3.0 for m in START]
    columns: dict[str, list[Any]] = {
        "Initial mass (g)": START, "Water (mL)": WATER, "Snowy solid left (g)": heavier,
    }  # fmt: skip
    assert table(text_table, "denied", **columns).runs["recovered_mass_g"].isna().all()


def test_a_residue_that_is_not_paper_with_solid_less_paper(text_table: Write) -> None:
    paper = [1.10, 1.12, 1.09, 1.11, 1.13]
    columns: dict[str, list[Any]] = {
        "Solid found on the tray, dry (g)": START,
        "Paper (g)": paper,
        "Paper + solid (g)": [p + m for p, m in zip(paper, LEFT, strict=True)],
    }
    records = table(text_table, "paper", **columns)
    assert records.runs["recovered_mass_g"].isna().all()


LETTERS = st.text(alphabet="bcdfghjklmnpqrstvwxzaeiou", min_size=6, max_size=9)


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(word=LETTERS, seed=st.integers(0, 10_000), place=st.integers(0, 2))
def test_a_chance_word_never_turns_a_column_into_another(
    word: str, seed: int, place: int, text_table: Write
) -> None:
    """Whatever the word, a column holds its own reading or is left open."""
    if concepts_of(word) or is_plain(word) or known_unit(word):
        return
    rng = np.random.default_rng(seed)
    start = np.round(rng.normal(2.0, 0.05, 7), 2)
    truth = {
        "initial_mass_g": start,
        "water_volume_ml": np.round(rng.normal(200, 1, 7), 1),
        "recovered_mass_g": np.round(start - rng.normal(0.33, 0.02, 7), 2),
    }
    heads = ["Mass of solid weighed out (g)", "Total water (mL)", "Dry solid left (g)"]
    words = heads[place].split()
    heads[place] = " ".join([words[0], word, *words[1:]])
    columns = {h: v.tolist() for h, v in zip(heads, truth.values(), strict=True)}
    runs = table(text_table, "chance", **columns).runs
    for column, values in truth.items():
        read = runs[column].to_numpy(dtype=float)
        assert np.isnan(read).all() or read == pytest.approx(values)


@pytest.mark.parametrize(
    "heading", ["Outer bath (°C)", "Hot plate surface (°C)", "Melting point on the label (°C)"]
)
def test_other_temperatures_stay_open(heading: str, text_table: Write) -> None:
    columns: dict[str, list[Any]] = {
        "Initial mass (g)": START, "Water (mL)": WATER, heading: WARM, "Residue (g)": LEFT,
    }  # fmt: skip
    runs = table(text_table, "warm", **columns).runs
    assert "temperature_c" not in runs or runs["temperature_c"].isna().all()
