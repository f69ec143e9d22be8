"""A number with words behind it: read where they leave it as it is, else asked about.

Rows of the catalogue of messy cells beside each rule; the wordings are common practice, no source.
"""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.quantities import quantity
from solubility_stats.sheets.cells import parse_cell
from solubility_stats.sheets.model import CellContext, ParsedCell, RawCell
from solubility_stats.sheets.words_behind import with_words


def _read(text: str, column: str) -> ParsedCell:
    return parse_cell(RawCell(1, 1, text, text), quantity(column), CellContext(column))


@pytest.mark.parametrize(
    ("text", "column", "value"),
    [("2.10 g (some spilled)", "recovered_mass_g", 2.10),
     ("2.14 g, a bit damp", "recovered_mass_g", 2.14),
     ("2.12 still damp", "recovered_mass_g", 2.12),
     ("2.12 (lost a bit on paper)", "recovered_mass_g", 2.12),
     ("2,12 g (etwas verschüttet)", "recovered_mass_g", 2.12),
     ("15 min, magnetic, no heat", "stir_min", 15), ("15 min (by hand)", "stir_min", 15),
     ("about 15 min on the plate", "dry_min", 15),
     ("21.5 °C in the flask", "temperature_c", 21.5),
     ("200 mL (spilled some)", "water_volume_ml", 200),
     ("49.5 (air bubble)", "fill_1_ml", 49.5)],
)  # fmt: skip
def test_words_that_leave_the_number(text: str, column: str, value: float) -> None:
    parsed = _read(text, column)
    assert parsed.value == pytest.approx(value)
    assert "unclear" in parsed.flags  # read, and marked
    assert "with the words" in parsed.note


@pytest.mark.parametrize(
    ("text", "column"),
    [("2.14 g not dry", "recovered_mass_g"), ("2.12 with paper", "recovered_mass_g"),
     ("2.12 (paper)", "recovered_mass_g"), ("2.12 wet", "recovered_mass_g"),
     ("2.12 g mit Filter", "recovered_mass_g"), ("2.12 (should be less)", "recovered_mass_g"),
     ("2.12 or so", "recovered_mass_g"), ("2.12 (from the other group)", "recovered_mass_g"),
     ("2.12, without the boat", "recovered_mass_g"), ("2.12 (boat)", "initial_mass_g"),
     ("50 mL each", "water_volume_ml"), ("200 - two fills", "water_volume_ml"),
     ("50 mL per fill", "water_volume_ml"), ("15 min then again", "stir_min"),
     ("15 min and a bit", "stir_min"), ("2.51 furlongs", "recovered_mass_g"),
     ("0.35 g lost", "recovered_mass_g"), ("0.35 g (dissolved)", "recovered_mass_g"),
     ("150 mL left in the bottle", "water_volume_ml"),
     ("2.12 (?)", "recovered_mass_g"), ("2.12 kilo of lime", "initial_mass_g")],
)  # fmt: skip
def test_words_that_may_change_the_number(text: str, column: str) -> None:
    assert _read(text, column).value is None


@given(
    number=st.decimals(min_value="0.5", max_value="5", places=3),
    words=st.lists(st.sampled_from(["some", "of", "it", "spilled", "bit", "damp", "slow", "hot"]),
                   min_size=2, max_size=6),
    brackets=st.booleans(),
)  # fmt: skip
def test_the_number_is_the_one_written_or_none(
    number: object, words: list[str], brackets: bool
) -> None:
    said = " ".join(words)
    reading = with_words(f"{number} g ({said})" if brackets else f"{number} g, {said}", ".", "mass")
    assert reading is None or str(reading.value) == str(number)
    assert reading is None or not re.search(r"\d", reading.note)
