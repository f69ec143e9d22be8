"""Words the pages explain are the words of the code: methods, intervals, verdicts, commands."""

from __future__ import annotations

import pytest


@pytest.fixture(scope="module")
def page(root):
    return lambda name: (root / "docs" / name).read_text(encoding="utf-8")


def test_every_estimator_and_interval_is_explained(page):
    from solubility_stats.pooling import METHODS
    from solubility_stats.pooling.intervals import KINDS

    text = page("pooling.md")
    assert not [word for word in (*METHODS, *KINDS) if f"`{word}`" not in text]


def test_every_public_study_of_the_pooling_room_is_named(page):
    from solubility_stats import pooling

    functions = [n for n in pooling.__all__ if n[0].islower()]
    text = page("pooling.md")
    absent = [n for n in functions if f"`{n}" not in text and f"pooling.{n}" not in text]
    assert not absent, f"not on the page: {absent}"


def test_every_verdict_is_explained(page):
    from solubility_stats.bias.class_difference import Verdict

    assert not [v for v in Verdict.__args__ if f"| `{v}` |" not in page("bias.md")]


def test_thresholds_on_the_page_are_those_of_the_code(page):
    from solubility_stats.bias import attribution, next_measurement, separability

    text = page("bias.md")
    for number in (
        separability.TOLD_APART,
        separability.PARALLEL,
        separability.TIED,
        attribution.MARKED,
        next_measurement.WORTH_DOING_PERCENT,
    ):
        assert f"{number:g}" in text, number


def test_every_outcome_of_the_ledger_is_explained(page):
    from solubility_stats.sheets.model import Outcome

    assert not [word for word in Outcome.__args__ if f"| `{word}` |" not in page("reading.md")]


def test_every_command_is_mentioned_somewhere(root, capsys):
    from solubility_stats.cli import parser

    with pytest.raises(SystemExit):
        parser().parse_args(["--help"])
    listed = [
        line.split()[0]
        for line in capsys.readouterr().out.splitlines()
        if line.startswith("    ") and line.strip()
    ]
    text = "".join(
        p.read_text(encoding="utf-8") for p in [root / "README.md", *root.glob("docs/*.md")]
    )
    assert {"read", "analyse"} <= set(listed)
    assert not [c for c in listed if f"solubility-stats {c}" not in text and f"`{c}" not in text]
