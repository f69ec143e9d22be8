"""The demo semester: what is in it was put in, and the analysis finds it."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from openpyxl import load_workbook

from solubility_stats import datasets
from solubility_stats.analysis import analyse
from solubility_stats.quantities import numeric_columns
from solubility_stats.sheets import read_class


@pytest.fixture(scope="module")
def script():
    """The module that makes the demo sheets; it sits beside the package, not in it."""
    path = datasets.folder() / "make_demo_semester.py"
    spec = importlib.util.spec_from_file_location("make_demo_semester", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def made(script):
    return script.semester()


@pytest.fixture(scope="module")
def demo():
    return datasets.demo_semester()


@pytest.fixture(scope="module")
def records(demo):
    return read_class(demo.files)


@pytest.fixture(scope="module")
def done(records, demo):
    return analyse(records, demo.protocol)


def cells(path: Path) -> dict[tuple[str, str], object]:
    if path.suffix == ".csv":
        return {("", str(i)): line for i, line in enumerate(path.read_bytes().splitlines())}
    book = load_workbook(path)
    return {
        (sheet.title, cell.coordinate): (cell.value, cell.number_format)
        for sheet in book.worksheets
        for row in sheet.iter_rows()
        for cell in row
    }


def test_files_are_found_and_described(demo):
    assert [p.name for p in demo.files] == [
        "friday_form.csv",
        "monday_results.xlsx",
        "wednesday_class_table.xlsx",
    ]
    text = demo.dictionary.read_text(encoding="utf-8")
    for path in (*demo.files, demo.protocol):
        assert path.is_file()
        assert path.name in text
    assert "invented" in text


def test_committed_sheets_equal_a_fresh_generation(script, made, demo, tmp_path):
    script.write(made, tmp_path)
    fresh = sorted(p.name for p in tmp_path.iterdir())
    assert fresh == [p.name for p in demo.files]
    for path in demo.files:
        assert cells(path) == cells(tmp_path / path.name), path.name


def test_every_recorded_value_is_recovered(records, made):
    truth = made.records.runs.set_index(["section", "group"])
    kept = records.runs[records.runs["set_aside"] == ""].set_index(["section", "group"])
    assert sorted(kept.index) == sorted(truth.index)
    kept = kept.loc[truth.index]
    # Columns some section's form did not ask for, by section.
    unasked = {
        "Monday": {"stir_min", "settle_min", "dry_min"},
        "Wednesday": {"settle_min"},
        "Friday": {"stir_min", "settle_min", "dry_min"},
    }
    compared = 0
    for column in numeric_columns(truth.columns):
        for section, absent in unasked.items():
            expected = truth.loc[[section], column]
            found = (
                kept.loc[[section], column]
                if column in kept
                else pd.Series(np.nan, index=expected.index)
            )
            if column in absent:
                assert found.isna().all(), column
                continue
            if (section, column) == ("Wednesday", "stir_min"):
                assert pd.isna(found.iloc[2])  # written "n/a"
                expected, found = expected.drop(expected.index[2]), found.drop(found.index[2])
            assert found.tolist() == pytest.approx(expected.tolist(), rel=1e-12, nan_ok=True), (
                section,
                column,
            )
            compared += int(expected.notna().sum())
    assert compared > 290
    assert (kept["filtration"] == truth["filtration"]).all()
    friday = kept.loc[["Friday"], "scatter"]
    assert (friday == truth.loc[["Friday"], "scatter"]).all()


def test_what_is_doubtful_is_flagged_and_nothing_is_lost(records, made):
    ledger = records.ledger
    assert not ledger["outcome"].isin(["unclear", "rejected"]).any()
    monday = ledger[ledger["file"] == "monday_results.xlsx"]
    assert (monday["raw"] == "~49.5").sum() == 1
    flags = records.flags
    rough = flags[flags["flag"] == "approximate"]
    assert rough[["run_id", "column"]].to_numpy().tolist() == [["Monday/2", "fill_1_ml"]]
    means = ledger[ledger["raw"].isin(["Mean"])]
    assert (means["outcome"] != "used").all()
    assert len(records.runs) == len(made.records.runs) + 1  # one group sent its row twice


def test_the_version_sent_last_is_the_one_used(records, made):
    twice = records.runs[(records.runs["section"] == "Friday") & (records.runs["group"] == "4")]
    assert len(twice) == 2
    used = twice[twice["set_aside"] == ""]
    truth = made.records.runs.set_index("run_id").loc["Friday/4", "recovered_mass_g"]
    assert used["recovered_mass_g"].tolist() == [truth]
    assert (twice["set_aside"] != "").sum() == 1


def test_apparent_bias_is_high_as_it_was_made(done, made):
    apparent = done.comparison.apparent
    assert apparent.verdict == "high"
    # What really happened: the plain result over the true solubility, run by run.
    true = made.truth.set_index("run_id")
    column = next(c for c in true.columns if c.startswith("solubility"))
    table = done.estimates.used("residue").set_index("run_id")
    plain = table["apparent_g_per_100g"].rename(index=lambda run: run.split("#")[0])
    put_in = float(100 * (plain / true.loc[plain.index, column] - 1).mean())
    assert put_in > 15
    assert apparent.low_percent < put_in < apparent.high_percent


def test_titration_agrees_and_residue_lies_above_it(done):
    contrast = done.comparison.contrast
    assert contrast is not None
    assert contrast.n == 10
    assert contrast.apparent_percent > 0
    assert contrast.apparent_low_percent > 0
    verdicts = done.comparison.by_route.set_index("route")["verdict"]
    assert verdicts["titration"] in ("agrees", "undecided")


def test_the_fill_never_poured_is_among_the_runs_to_ask_about(done, made):
    (missed,) = made.truth.loc[made.truth["mishap"] == "missed_fill", "run_id"]
    section, group = missed.split("/")
    listed = done.diagnosis.groups_to_look_at
    here = (listed["section"] == section) & (listed["group"] == group)
    discrete = done.diagnosis.discrete
    named = discrete[(discrete["run_id"] == missed) & (discrete["slip"] == "missed_fill")]
    assert here.any() or len(named)


def test_slips_put_in_are_found_and_no_others(done, made):
    truth = made.truth.set_index("run_id")["calculation_slip"]
    slipped = set(truth[truth.fillna("") != ""].index)
    found = set(done.slips.disagreeing["run_id"])
    assert found == slipped


def test_the_loss_put_in_is_the_leading_cause_and_the_data_raise_it(done):
    mechanisms = done.diagnosis.mechanisms.set_index("name")
    sizes = mechanisms["effect_percent"].abs()
    assert sizes.idxmax() == "transfer_loss"
    # The protocol expects less than was lost; the data move the estimate towards the truth.
    loss = mechanisms.loc["transfer_loss"]
    assert loss["effect_percent"] > loss["prior_percent"] > 0
