"""Every command does its job: files written, status, what it prints."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pandas as pd
import pytest

ANALYSIS = {"runs.csv", "ledger.csv", "estimates.csv", "budget.csv", "slips.csv"}
ALL = {*ANALYSIS, "summary.json", "report.html", "figures"}


def names(folder) -> set[str]:
    return {p.name for p in folder.iterdir()}


def test_read_clean_sheet(here, run):
    result = run("read", "class.csv", "--out", "out/deep")
    assert (result.status, result.err) == (0, "")
    assert names(here / "out" / "deep") == {"runs.csv", "ledger.csv"}
    runs = pd.read_csv(here / "out" / "deep" / "runs.csv", dtype={"group": str})
    original = pd.read_csv(here / "class.csv")
    assert runs["recovered_mass_g"].tolist() == original["recovered mass (g)"].tolist()
    ledger = pd.read_csv(here / "out" / "deep" / "ledger.csv")
    assert len(ledger) == original.size + len(original.columns)
    assert "8 runs" in result.out


def test_read_sheet_that_needs_a_person(here, run):
    text = (here / "class.csv").read_text(encoding="utf-8").replace("1.670", "1.6?0")
    (here / "class.csv").write_text(text, encoding="utf-8")
    result = run("read", "class.csv", "--out", "out")
    assert result.status == 1
    assert names(here / "out") == {"runs.csv", "ledger.csv"}
    assert "1.6?0" in result.out


def test_mapping_written_can_be_used_again(here, run):
    assert run("read", "class.csv", "--write-mapping", "map.toml", "--out", "one").status == 0
    result = run("read", "class.csv", "--mapping", "map.toml", "--out", "two")
    assert result.status == 0
    first, again = ((here / d / "runs.csv").read_bytes() for d in ("one", "two"))
    assert first == again


def test_marked_copies_keep_files_of_one_name_apart(here, run):
    for day in ("mon", "tue"):
        (here / day).mkdir()
        text = (here / "class.csv").read_text(encoding="utf-8")
        if day == "tue":
            text = text.replace("A,", "C,").replace("B,", "D,")
        (here / day / "class.csv").write_text(text, encoding="utf-8")
    result = run("read", "mon", "tue", "class.csv", "--marked-copies", "--out", "out")
    assert result.status in (0, 1)
    copies = names(here / "out" / "marked")
    assert len(copies) == 3
    assert {"mon_class_csv_marked.xlsx", "tue_class_csv_marked.xlsx"} <= copies


def test_pseudonyms_replace_codes_in_every_file(here, run):
    text = (here / "class.csv").read_text(encoding="utf-8").replace("A,2,", "A,benchkestrel,")
    (here / "class.csv").write_text(text, encoding="utf-8")
    plain = run("read", "class.csv", "--out", "plain")
    assert "benchkestrel" in (here / "plain" / "runs.csv").read_text(encoding="utf-8")
    result = run("read", "class.csv", "--pseudonym-key", "a long secret", "--out", "out")
    assert result.status == plain.status
    for path in (here / "out").iterdir():
        assert "benchkestrel" not in path.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def analysed(tmp_path_factory):
    """Files of one analysis, run as people run it: another process, odd characters in paths."""
    folder = tmp_path_factory.mktemp("whole job")
    odd = folder / "wéird ‘dir’ %s {x} #1 $HOME"
    odd.mkdir()
    from solubility_stats.simulation import simulate

    sheet = odd / "müsli & co; 100%.csv"
    runs = simulate(groups=6, sections=2, seed=4).records.runs
    runs.drop(columns=["run_id", "semester", "run"]).to_csv(sheet, index=False)
    before = sheet.read_bytes()
    out = odd / "öut"
    command = [
        sys.executable,
        "-m",
        "solubility_stats.cli",
        "analyse",
        str(sheet),
        "--out",
        str(out),
    ]
    done = subprocess.run(command, capture_output=True, encoding="utf-8", cwd=folder, check=False,
                          env={**os.environ, "PYTHONUTF8": "1"})  # fmt: skip
    assert sheet.read_bytes() == before
    return out, done


def test_analyse_writes_every_file(analysed):
    out, done = analysed
    assert done.stderr == ""
    assert done.returncode in (0, 1)
    assert names(out) == ALL
    assert all(p.stat().st_size for p in out.rglob("*"))
    figures = names(out / "figures")
    assert {p.removesuffix(".png") for p in figures if p.endswith(".png")} == {
        p.removesuffix(".svg") for p in figures if p.endswith(".svg")
    }
    assert {"groups.png", "budget.png", "causes.png", "sources.png"} <= figures


def test_analyse_prints_account_and_verdict(analysed):
    out, done = analysed
    summary = json.loads((out / "summary.json").read_text(encoding="utf-8"))
    assert "6 runs" in done.stdout
    assert summary["bias"]["verdict"] in done.stdout
    assert list(summary["provenance"]["inputs_sha256"]) == ["müsli & co; 100%.csv"]


def test_status_says_whether_a_person_is_needed(analysed):
    out, done = analysed
    outcomes = pd.read_csv(out / "ledger.csv", dtype=str)["outcome"]
    assert done.returncode == int(outcomes.isin(["unclear", "rejected"]).any())


@pytest.mark.slow
def test_same_inputs_and_seed_give_the_same_bytes(here, tmp_path):
    """Another working folder, another path spelling and another hash seed change nothing."""
    places = []
    for name, hashes, file in (("a", "1", "../class.csv"), ("b", "2", here / "class.csv")):
        folder = tmp_path / name
        folder.mkdir()
        command = [sys.executable, "-m", "solubility_stats.cli", "analyse", str(file),
                   "--seed", "3", "--out", "out"]  # fmt: skip
        environment = {**os.environ, "PYTHONHASHSEED": hashes}
        done = subprocess.run(
            command, cwd=folder, env=environment, capture_output=True, check=False
        )
        assert done.returncode == 0, done.stderr
        places.append(folder / "out")
    first, second = places
    files = sorted(p.relative_to(first) for p in first.rglob("*") if p.is_file())
    assert len(files) > 12
    for file in files:
        assert (first / file).read_bytes() == (second / file).read_bytes(), file


def test_handouts_write_a_page_per_group(here, run):
    result = run("handouts", "class.csv", "--hide-reference", "--out", "out")
    assert result.status == 0
    pages = [p for p in names(here / "out") if p.endswith(".html")]
    assert len(pages) >= 8
    assert "written to out" in result.out


def test_collect_writes_a_workbook_that_checks_what_is_typed(here, run):
    routes = ("residue", "titration")
    result = run(
        "collect", "--out", "blank.xlsx", "--fills", "3", "--groups", "5", "--routes", *routes
    )
    assert result.status == 0
    from openpyxl import load_workbook

    sheets = load_workbook("blank.xlsx").worksheets
    assert any(s.data_validations.dataValidation for s in sheets)


def test_plan_from_the_protocol_and_from_a_class(here, run):
    alone = run("plan", "--mass", "2", "--water", "200", "--bias", "8")
    assert (alone.status, alone.err) == (0, "")
    lighter = run("plan", "--mass", "1", "--water", "200", "--bias", "8")
    assert alone.out != lighter.out
    of_class = run("plan", "class.csv")
    assert of_class.status == 0
    assert len(of_class.out) > len(alone.out)


def test_curve_prints_value_uncertainty_and_sources(here, run):
    whole = run("curve", "calcium hydroxide")
    assert whole.status == 0
    assert "sources" in whole.out
    at = run("curve", "Ca(OH)2", "--temperature", "20", "25", "--figure", "f.svg")
    rows = [line.split() for line in at.out.splitlines()]
    values = {r[0]: (float(r[1]), float(r[2])) for r in rows if r and r[0] in ("20", "25")}
    assert values["20"][0] > values["25"][0]  # it dissolves better in the cold
    assert all(0 < u < 0.1 * v for v, u in values.values())
    assert (here / "f.svg").read_text(encoding="utf-8").startswith("<?xml")


def test_simulate_writes_records_truth_and_causes(here, run):
    argv = ("simulate", "--groups", "6", "--cause", "transfer_loss=0.2", "--cause", "missed_fill=1")
    assert run(*argv, "--seed", "2", "--out", "one").status == 0
    assert names(here / "one") == {"runs.csv", "truth.csv", "causes.csv"}
    causes = pd.read_csv(here / "one" / "causes.csv").set_index("cause")["size"]
    assert causes["transfer_loss"] == 0.2
    assert (pd.read_csv(here / "one" / "truth.csv")["mishap"] == "missed_fill").all()
    run(*argv, "--seed", "2", "--out", "two")
    run(*argv, "--seed", "3", "--out", "three")
    one, two, three = ((here / d / "runs.csv").read_bytes() for d in ("one", "two", "three"))
    assert one == two
    assert one != three


def test_help_names_every_command(run):
    told = run("--help").out
    for command in ("read", "analyse", "handouts", "collect", "plan", "curve", "simulate"):
        assert command in told
        assert run(command, "--help").status == 0
