"""A mapping settles what the reader left open, and is written out from what it read."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from solubility_stats.errors import InputError
from solubility_stats.sheets import Mapping, read_class, write_mapping

Write = Callable[..., Path]
ROWS = [
    ["Grp", "mass", "vol", "mass 2", "Locker"],
    [1, 2.5, 200, 2.1, 17],
    [2, 2.51, "2..01", 2.12, 18],
    [3, 2.49, 201, 2.2, 19],
]


def test_open_headings_and_cells_are_settled(workbook: Write, tmp_path: Path) -> None:
    path = workbook({"Data": ROWS})
    before = read_class(path)
    assert before.runs[["initial_mass_g", "recovered_mass_g"]].isna().all(axis=None)
    rules = tmp_path / "mapping.toml"
    rules.write_text(
        '[[heading]]\nheading = "mass"\ncolumn = "initial_mass_g"\nunit = "g"\n'
        '[[heading]]\nheading = "mass 2"\ncolumn = "recovered_mass_g"\n'
        '[[heading]]\nheading = "Locker"\ncolumn = "ignore"\n'
        '[[cell]]\nsheet = "Data"\ncell = "C3"\nvalue = 201\n'
        '[sections]\nData = "Mon"\n'
    )
    records = read_class(path, mapping=rules)
    assert records.runs["initial_mass_g"].tolist() == [2.5, 2.51, 2.49]
    assert records.runs["recovered_mass_g"].tolist() == [2.1, 2.12, 2.2]
    assert records.runs["water_volume_ml"].tolist() == [200, 201, 201]
    assert records.runs["section"].tolist() == ["Mon"] * 3
    assert not records.ledger["outcome"].isin(["unclear", "rejected"]).any()


def test_a_written_mapping_reads_the_same_again(workbook: Write, tmp_path: Path) -> None:
    path = workbook({"Data": ROWS})
    records = read_class(path)
    written = write_mapping(records, tmp_path / "out" / "mapping.toml")
    assert "mass" in written.read_text()
    again = read_class(path, mapping=Mapping.from_toml(written))
    assert again.runs.equals(records.runs)


def test_a_cell_names_one_of_two_equal_headings(workbook: Write) -> None:
    rows = [["Grp", "mass", "vol", "mass"], [1, 2.5, 200, 2.1], [2, 2.51, 200, 2.12]]
    entry = {"heading": "mass", "column": "initial_mass_g", "cell": "B1"}
    other = {"heading": "mass", "column": "recovered_mass_g", "cell": "D1"}
    rules = Mapping.from_dict({"heading": [entry, other]})
    runs = read_class(workbook({"Data": rows}), mapping=rules).runs
    assert runs["initial_mass_g"].tolist() == [2.5, 2.51]
    assert runs["recovered_mass_g"].tolist() == [2.1, 2.12]


def test_every_fault_of_a_mapping_is_named() -> None:
    entries = {
        "heading": [{"heading": "m", "column": "weight", "unit": "stone"}],
        "cell": [{"sheet": "A"}],
        "decimal": ";",
        "colour": 1,
    }
    with pytest.raises(InputError) as caught:
        Mapping.from_dict(entries)
    for word in ("weight", "stone", "'cell'", "decimal", "colour"):
        assert word in str(caught.value)


@pytest.mark.parametrize("text", ["heading = [", "\xff"])
def test_a_file_that_is_no_toml(tmp_path: Path, text: str) -> None:
    path = tmp_path / "m.toml"
    path.write_text(text, encoding="latin-1")
    with pytest.raises(InputError, match="TOML"):
        Mapping.from_toml(path)
