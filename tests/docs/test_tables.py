"""The data dictionary describes every column and key that is written, and no other."""

from __future__ import annotations

import re

import pytest

from solubility_stats.quantities import QUANTITIES


@pytest.fixture(scope="session")
def page(root):
    return (root / "docs" / "tables.md").read_text(encoding="utf-8")


def _names(rows: list[dict[str, str]], column: str) -> list[str]:
    return [name for row in rows for name in re.findall(r"`([^`]+)`", row[column])]


def test_runs_describe_the_vocabulary_with_its_units(page, tables_of, written):
    rows = tables_of(page, "runs.csv")
    described = _names(rows, "column")
    own = {"run_id", "set_aside", "source_file", "source_sheet", "source_cells", "fill_{n}_ml"}
    assert sorted(described) == sorted({q.name for q in QUANTITIES} | own)
    shown = {"degC": "°C", "": "–"}
    units = {name: row["unit"] for row in rows for name in _names([row], "column")}
    for q in QUANTITIES:
        assert units[q.name] == shown.get(q.unit, q.unit), q.name
    found = {re.sub(r"^fill_\d+_ml$", "fill_{n}_ml", c) for c in written[0]["runs"].columns}
    assert found <= set(described)


@pytest.mark.parametrize("name", ["ledger", "budget", "slips"])
def test_columns_of_a_table_are_those_described(name, page, tables_of, written):
    described = _names(tables_of(page, f"{name}.csv"), "column")
    assert described == list(dict.fromkeys(described)), "described twice"
    assert set(described) == set(written[0][name].columns)


def test_estimates_add_their_columns_to_the_readings(page, tables_of, written):
    described = _names(tables_of(page, "estimates.csv"), "column")
    runs = set(written[0]["runs"].columns)
    assert set(written[0]["estimates"].columns) - set(described) <= runs
    assert set(described) <= set(written[0]["estimates"].columns)


def _paths(thing: object, before: str = "") -> set[str]:
    if isinstance(thing, dict):
        named = before in {
            "by_route",
            "bias.by_source",
            "provenance.inputs_sha256",
            "provenance.settings_sha256",
        }
        named |= before == "provenance.versions"
        found: set[str] = set()
        for key, value in thing.items():
            part = "*" if named else key
            found |= _paths(value, f"{before}.{part}" if before else part)
        return found
    if isinstance(thing, list) and thing and isinstance(thing[0], dict):
        return set().union(*(_paths(item, f"{before}[]") for item in thing))
    return {before}


def test_keys_of_the_summary_are_those_described(page, tables_of, written):
    described = set(_names(tables_of(page, "summary.json"), "key"))
    found = _paths(written[1])
    # A list that happens to be empty shows no keys; what it would hold may be described.
    empty = {p for p in found if any(d.startswith(f"{p}[]") for d in described)}
    assert found - empty <= described, f"not described: {sorted(found - empty - described)}"
    missing = {
        d
        for d in described - found
        if not any(d.startswith(f"{e}[]") for e in empty)
        and not any(f.startswith(f"{d}[]") for f in found)
    }
    assert not missing, f"described but not written: {sorted(missing)}"


def test_outcomes_and_flags_in_the_page_are_those_of_the_code(page):
    from solubility_stats.bias.class_difference import Verdict

    for word in Verdict.__args__:
        assert f"`{word}`" in page
    for word in ("used", "converted", "context", "ignored", "unclear", "rejected"):
        assert f"`{word}`" in page
