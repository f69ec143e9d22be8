"""summary.json: complete, strict, consistent with the tables and with the page."""

from __future__ import annotations

import hashlib
import json

import pandas as pd
import pytest

from solubility_stats.display import with_uncertainty
from solubility_stats.report.blocks import percent

KEYS = {
    "": "solute groups runs_used runs_set_aside consensus reference bias by_route factors "
    "mechanisms next_measurement groups_to_look_at slips provenance",
    "consensus": "value_g_per_100g standard_uncertainty_g_per_100g interval95_g_per_100g method "
    "tau_g_per_100g i_squared shared_uncertainty_g_per_100g",
    "reference": "value_g_per_100g standard_uncertainty_g_per_100g temperature_c sources",
    "bias": "apparent_percent apparent_interval95_percent percent interval95_percent p_value "
    "smallest_detectable_percent limited_by verdict by_source",
    "provenance": "inputs_sha256 settings_sha256 versions seed",
}
VERDICTS = {"agrees", "high", "low", "undecided"}


@pytest.fixture(scope="module")
def summary(report):
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    text = (report.folder / "summary.json").read_text(encoding="utf-8")
    return json.loads(text, parse_constant=refuse)


@pytest.fixture(scope="module")
def table(report):
    frame = pd.read_csv(report.folder / "estimates.csv", keep_default_na=False, na_values=[""])
    return frame[frame["route"] == "residue"]


@pytest.mark.parametrize("block", KEYS)
def test_every_key_is_there(summary, block):
    found = summary[block] if block else summary
    assert set(KEYS[block].split()) <= set(found)


def test_lists_hold_what_they_promise(summary):
    for mechanism in summary["mechanisms"]:
        assert {"name", "effect_percent", "interval90_percent", "not_separable_from"} <= set(
            mechanism
        )
        low, high = mechanism["interval90_percent"]
        assert low <= mechanism["effect_percent"] <= high
    for entry in summary["groups_to_look_at"]:
        assert entry["reasons"]
        assert all(isinstance(r, str) for r in entry["reasons"])
    assert {"group", "section", "reason"} <= set(summary["runs_set_aside"][0])
    assert summary["next_measurement"]
    assert summary["reference"]["sources"]


def test_intervals_hold_their_values_and_are_wider_apart_than_nothing(summary):
    pooled, bias = summary["consensus"], summary["bias"]
    for value, (low, high) in (
        (pooled["value_g_per_100g"], pooled["interval95_g_per_100g"]),
        (bias["percent"], bias["interval95_percent"]),
        (bias["apparent_percent"], bias["apparent_interval95_percent"]),
    ):
        assert low < value < high
    # What all groups share is a part of the whole.
    whole = pooled["standard_uncertainty_g_per_100g"]
    assert 0 < pooled["shared_uncertainty_g_per_100g"] < whole
    assert 0 <= bias["p_value"] <= 1
    assert bias["smallest_detectable_percent"] > 0


def test_verdicts_are_words_of_four(summary):
    bias = summary["bias"]
    said = {bias["verdict"], *bias["by_source"].values()}
    said |= {route["verdict"] for route in summary["by_route"].values()}
    assert said <= VERDICTS
    low, high = bias["interval95_percent"]
    if bias["verdict"] == "undecided":
        assert low <= 0 <= high


def test_numbers_of_runs_equal_those_of_the_table(summary, table, report):
    used = table[table["used"]]
    assert summary["runs_used"] == len(used) == 9
    assert summary["groups"] == len(used[["section", "group"]].drop_duplicates())
    aside = table[~table["used"]]
    assert [r["run"] for r in summary["runs_set_aside"]] == aside["run_id"].tolist()
    assert [r["reason"] for r in summary["runs_set_aside"]] == aside["reason"].tolist()
    runs = pd.read_csv(report.folder / "runs.csv")
    assert len(runs) == summary["runs_used"] + len(summary["runs_set_aside"])


def test_consensus_lies_among_the_values_of_the_table(summary, table):
    used = table[table["used"]]
    value = summary["consensus"]["value_g_per_100g"]
    assert used["value_g_per_100g"].min() < value < used["value_g_per_100g"].max()


def test_routes_of_the_summary_are_those_of_the_table(summary, report):
    frame = pd.read_csv(report.folder / "estimates.csv")
    counts = frame[frame["used"]].groupby("route")["group"].nunique()
    assert {r: b["groups"] for r, b in summary["by_route"].items()} == counts.to_dict()


def test_budget_file_adds_up_to_the_uncertainty_of_each_run(table, report):
    budget = pd.read_csv(report.folder / "budget.csv")
    budget = budget[budget["route"] == "residue"]
    # Each share is a percentage of the run's variance.
    total = budget.groupby("run_id")["share_percent"].sum()
    used = table[table["used"]]["run_id"]
    assert total.loc[used].to_numpy() == pytest.approx(100.0, abs=1e-6)


def test_slips_file_and_summary_name_the_same_groups(summary, report):
    frame = pd.read_csv(report.folder / "slips.csv", dtype=str, keep_default_na=False)
    assert frame["group"].tolist() == [s["group"] for s in summary["slips"]]
    assert frame["slip"].tolist() == [s["slip"] for s in summary["slips"]]


def test_page_says_the_numbers_of_the_summary(summary, report):
    bias, pooled, reference = summary["bias"], summary["consensus"], summary["reference"]
    card = with_uncertainty(pooled["value_g_per_100g"], pooled["standard_uncertainty_g_per_100g"])
    told = with_uncertainty(
        reference["value_g_per_100g"], reference["standard_uncertainty_g_per_100g"]
    )
    assert f"<dd>{card}<small>" in report.page
    assert f"<dd>{told}<small>" in report.page
    for number in (bias["percent"], bias["apparent_percent"], *bias["interval95_percent"]):
        assert percent(number) in report.page
    assert f"{reference['temperature_c']:.1f}" in report.page


def test_provenance_holds_hashes_versions_and_seed_and_no_paths(summary, report):
    made = summary["provenance"]
    assert made["seed"] == 5
    assert made["inputs_sha256"] == {
        "class.csv": hashlib.sha256(report.file.read_bytes()).hexdigest()
    }
    assert made["versions"]["numpy"][0].isdigit()
    assert str(report.file.parent) not in json.dumps(summary)


def test_units_are_in_the_keys(summary):
    pure = ("i_squared", "p_value", "p_holm", "p_from_rest", "probability")

    def numbers(thing, key):
        if isinstance(thing, dict):
            for name, inner in thing.items():
                yield from numbers(inner, name)
        elif isinstance(thing, list):
            for inner in thing:
                yield from numbers(inner, key)
        elif isinstance(thing, float):
            yield key

    named = ("_g_per_100g", "_percent", "percent_", "temperature_c", "_k", "_minutes")
    blocks = ("consensus", "consensus_apparent", "reference", "bias", "by_route", "mechanisms")
    found = {k for block in blocks for k in numbers(summary[block], block)}
    assert len(found) > 10
    for key in found - set(pure):
        assert key == "percent" or any(unit in key for unit in named), key


def test_report_of_a_diagnosis_alone_has_the_same_numbers(report, summary, tmp_path):
    import solubility_stats as ss

    ss.write_report(report.done.diagnosis, tmp_path)
    alone = json.loads((tmp_path / "summary.json").read_text(encoding="utf-8"))
    for block in ("consensus", "reference", "bias", "by_route", "mechanisms"):
        assert alone[block] == summary[block]
    assert alone["provenance"]["inputs_sha256"] == {}
