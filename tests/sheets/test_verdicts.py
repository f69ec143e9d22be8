"""Remarks that take a reading back by its name, and those that do not.

The quantities are invented; the ways of writing are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import solubility_stats as ss
from solubility_stats.sheets.remarks.verdicts import swapped_between, taken_back

Write = Callable[..., Path]
HEADED = {
    "filter paper + dry solid": "recovered_with_paper_mass_g", "fill 2": "fill_2_ml",
    "burette at end": "burette_end_ml", "dish + residue": "dish_residue_mass_g",
    "start mass": "initial_mass_g", "mass back dry": "recovered_mass_g",
    "paper": "paper_mass_g", "wet solid": "wet_cake_mass_g", "v": "water_volume_ml",
}  # fmt: skip


@pytest.mark.parametrize(
    ("remark", "columns"),
    [("dry solid: weighed before it was dry, do not use", {"recovered_mass_g"}),
     ("paper weighed after use, not before; do not use it", {"paper_mass_g"}),
     ("solid on filter paper was still damp when we weighed, number not good",
      {"recovered_with_paper_mass_g"}),
     ("dry mass is only what we could sweep up, please do not use it", {"recovered_mass_g"}),
     ("wet solid incl. paper by mistake", {"wet_cake_mass_g"}),
     ("sorry the first dry weighing is with the paper still under it", {"recovered_mass_g"}),
     ("dish + residue weighed while still hot, value no good", {"dish_residue_mass_g"}),
     ("cyl 2 was misread, ignore that number", {"fill_2_ml"}),
     ("end reading one cm3 too high, corrected in the used column", {"burette_end_ml"}),
     ("fill 2 must be wrong, sum says otherwise", {"fill_2_ml"}),
     ("start mass and mass back entered the wrong way round",
      {"initial_mass_g", "recovered_mass_g"}),
     ("after-drying mass still contains the paper", {"recovered_mass_g"}),
     ("before and after written in the wrong order", {"initial_mass_g", "recovered_mass_g"}),
     ("withdrawn: fill 2 was added after the filtration", {"fill_2_ml"}),
     ("second cylinder was refilled, volume not sure", {"fill_2_ml", "water_volume_ml"}),
     ("forgot the tare: start mass includes the boat", {"initial_mass_g"}),
     ("copied the issued mass, their own weighing is not written down", {"initial_mass_g"})],
)  # fmt: skip
def test_a_reading_taken_back_by_its_name(remark: str, columns: set[str]) -> None:
    assert set(taken_back(remark, HEADED)) == columns


@pytest.mark.parametrize(
    "remark",
    ["used a cracked beaker, do not use it again", "spilled a little, fine", "stirred only 5 min",
     "do not use", "dry mass fixed, use this", "paper tore", "water was cloudy", "no good weather",
     "the balance is good"],
)  # fmt: skip
def test_nothing_is_taken_back(remark: str) -> None:
    assert not set(taken_back(remark, HEADED))


@pytest.mark.parametrize(
    ("remark", "groups", "columns"),
    [("V of groups 2 and 3 were swapped on this sheet", {"2", "3"}, {"water_volume_ml"}),
     ("4 and 5: masses before are swapped, see note", {"4", "5"}, {"initial_mass_g"}),
     ("groups 2 and 3 swapped stirrers", {"2", "3"}, set()),
     ("weighed by groups 2 and 3", set(), set())],
)  # fmt: skip
def test_readings_that_changed_places(remark: str, groups: set[str], columns: set[str]) -> None:
    assert swapped_between(remark, HEADED) == (groups, columns)


HEADS = ["Group", "m before (g)", "V (mL)", "m after, dry (g)", "notes"]


def _runs(workbook: Write, remarks: dict[int, str], heads: list[str] | None = None) -> Any:
    rows = [[g, 2.4 + g / 100, 200, 2.1, remarks.get(g)] for g in range(1, 6)]
    return ss.read_class(workbook({"data": [heads or HEADS, *rows]})).runs


def test_only_the_reading_that_is_named_is_left_out(workbook: Write) -> None:
    runs = _runs(workbook, {3: "dry solid: weighed before it was dry, do not use"})
    assert runs["recovered_mass_g"].isna().tolist() == [False, False, True, False, False]
    assert runs["initial_mass_g"].notna().all()
    assert not runs["set_aside"].any()
    whole = _runs(workbook, {3: "do not use"})
    assert whole["set_aside"].astype(bool).tolist() == [False, False, True, False, False]


def test_two_groups_whose_readings_changed_places(workbook: Write) -> None:
    runs = _runs(workbook, {2: "masses before of groups 2 and 4 are swapped"})
    assert runs["initial_mass_g"].isna().tolist() == [False, True, False, True, False]
    assert runs["recovered_mass_g"].notna().all()


def test_a_boat_in_what_is_called_before(workbook: Write) -> None:
    runs = _runs(workbook, {5: "m before includes the boat (1.9-ish), forgot to tare"})
    assert runs["initial_mass_g"].isna().tolist() == [False, False, False, False, True]


@pytest.mark.parametrize("heading", ["check", "Tick", "ok?"])
def test_remarks_below_any_word(workbook: Write, heading: str) -> None:
    remarks = {g: "ok" for g in (1, 2, 4, 5)}
    remarks[3] = "start mass and mass back entered the wrong way round"
    heads = ["Group", "start mass (g)", "V (mL)", "mass back, dry (g)", heading]
    runs = _runs(workbook, remarks, heads)
    for column in ("initial_mass_g", "recovered_mass_g"):
        assert runs[column].isna().tolist() == [False, False, True, False, False]


def test_the_wet_cake_on_its_paper_says_nothing_of_the_dry_solid(workbook: Write) -> None:
    runs = _runs(workbook, {1: "wet solid incl. paper by mistake"})
    assert runs["recovered_mass_g"].eq(2.1).all()
    assert "recovered_with_paper_mass_g" not in runs


def test_by_how_much_a_reading_was_off_is_not_the_reading(text_table: Write) -> None:
    rows: list[list[Any]] = [["Group", "HCl (mol/L)", "Aliquot (mL)", "Burette start (mL)",
                              "Burette end (mL)", "Notes"]]  # fmt: skip
    rows += [[g, 0.05, 25, 0.5, 23.2, None] for g in (1, 2, 3)]
    rows.append([4, 0.05, 25, 0.5, 23.6, "burette end should be 0.4 lower, the tap dripped"])
    runs = ss.read_class(text_table(rows)).runs
    assert runs["burette_end_ml"].isna().tolist() == [False, False, False, True]
    assert runs["titrant_ml"].isna().tolist() == [False, False, False, True]


def test_names_below_any_word_are_no_remarks(workbook: Write) -> None:
    people = ["Ana Perl, Rob Tann", "Lena Quist Sam Orr", "Ivy Brandt and Max Berg", "Kim", "Jo"]
    heads = ["Group", "start mass (g)", "V (mL)", "mass back, dry (g)", "crew list"]
    runs = _runs(workbook, dict(enumerate(people, start=1)), heads)
    assert "comment" not in runs or runs["comment"].isna().all()
