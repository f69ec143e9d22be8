"""Classes of every shape give a page, or one sentence that says why not."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest

from solubility_stats.analysis import analyse
from solubility_stats.errors import InputError
from solubility_stats.report import write_report
from solubility_stats.simulation import simulate

ODD_CODES = [
    "$x_1$",
    "a\nb",
    "=1+1",
    r"\frac{",
    "日本",
    "é",
    "_a_",
    "%",
    "🙂",
    "x" * 200,
    "#",
    "&<i>",
]


def class_of(groups: int, **options: object) -> pd.DataFrame:
    sections = min(3, groups)
    return simulate(groups=groups, seed=3, **{"sections": sections, **options}).records.runs


def without(frame: pd.DataFrame, *columns: str) -> pd.DataFrame:
    return frame.drop(columns=list(columns))


def titrated() -> pd.DataFrame:
    runs = class_of(8, routes=("residue", "titration"))
    return without(runs, "initial_mass_g", "recovered_mass_g")


def two_semesters() -> pd.DataFrame:
    parts = [class_of(5).assign(semester=name) for name in ("autumn", "spring")]
    return pd.concat(parts)


SHAPES = {
    "three groups": lambda: class_of(3),
    "one group, three runs": lambda: class_of(1, runs_per_group=3),
    "several runs each": lambda: class_of(4, runs_per_group=2),
    "many sections": lambda: class_of(8, sections=8),
    "only titration": titrated,
    "one titration": lambda: titrated().head(1),
    "all routes": lambda: class_of(6, routes=("residue", "titration", "evaporation")),
    "no temperature": lambda: without(class_of(6), "temperature_c"),
    "temperatures left empty": lambda: class_of(6).assign(temperature_c=np.nan),
    "no sections": lambda: without(class_of(6), "section"),
    "several semesters": two_semesters,
    "equal results": lambda: pd.concat([class_of(1)] * 5).assign(group=list("abcde")),
    "more recovered than weighed out": lambda: class_of(5).assign(recovered_mass_g=2.3),
    "masses and water only": lambda: class_of(5)[["initial_mass_g", "recovered_mass_g"]].assign(
        water_volume_ml=200.0
    ),
}


def check(frame: pd.DataFrame, folder) -> str:
    """Analyse, write, and hold summary and page against the frame; return the page."""
    before = frame.copy(deep=True)
    done = analyse(frame)
    page = write_report(done, folder).read_text(encoding="utf-8")
    pd.testing.assert_frame_equal(frame, before)
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    assert summary["runs_used"] + len(summary["runs_set_aside"]) == len(frame)
    low, high = summary["bias"]["interval95_percent"]
    assert low < summary["bias"]["percent"] < high
    assert summary["consensus"]["standard_uncertainty_g_per_100g"] > 0
    assert page.endswith("</html>")
    assert "nan" not in page.lower().split("<svg")[0]
    return page


@pytest.mark.parametrize("groups", [1, 2])
def test_one_group_and_two(tmp_path, groups):
    page = check(class_of(groups), tmp_path)
    assert ("Against temperature" in page) == (groups == 2)


def test_codes_of_any_characters(tmp_path):
    frame = class_of(12).assign(group=ODD_CODES, section=r"$\alpha", comment="<script>1</script>")
    page = check(frame, tmp_path)
    assert "<script" not in page
    assert "<i>" not in page
    assert "日本" in page


@pytest.mark.slow
@pytest.mark.parametrize("shape", SHAPES)
def test_shape(tmp_path, shape):
    check(SHAPES[shape](), tmp_path)


@pytest.mark.slow
def test_two_hundred_groups(tmp_path):
    page = check(class_of(200), tmp_path)
    # Long tables are cut and say where the rest is; the page stays a page.
    assert len(page) < 5_000_000


def test_a_small_class_is_less_certain_than_a_large_one():
    few, many = (analyse(class_of(n)).comparison.apparent for n in (2, 24))
    assert few.high_percent - few.low_percent > many.high_percent - many.low_percent


@pytest.mark.parametrize(
    ("frame", "words"),
    [
        (class_of(3).head(0), "no run"),
        (class_of(3).assign(recovered_mass_g=0.0), "lower limit"),
        (class_of(3).assign(recovered_mass_g=np.nan), "missing: recovered mass"),
        (class_of(3).assign(initial_mass_g=np.inf), "no run can be used"),
        (class_of(3).assign(solute=["calcium hydroxide", "gypsum", "gypsum"]), "several solids"),
        (class_of(3).assign(solute="unobtainium"), "unobtainium"),
    ],
)
def test_hopeless_classes_get_a_sentence(frame, words):
    with pytest.raises(InputError, match=words):
        analyse(frame)


def test_seed_must_be_natural():
    with pytest.raises(InputError, match="seed"):
        analyse(class_of(2), seed=-1)
