"""Rounding follows the uncertainty; files are whole or absent; cells never run as formulas."""

from __future__ import annotations

import csv
import json
import pickle

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from solubility_stats.display import json_safe, with_uncertainty
from solubility_stats.errors import InputError, SolubilityStatsError, UnreadableFileError
from solubility_stats.files import FORMULA_STARTERS, harmless, replacing, write_csv, write_json


@given(
    st.floats(-1e3, 1e3, allow_subnormal=False).filter(lambda x: abs(x) > 1e-6),
    st.floats(1e-4, 0.9),
)
def test_rounding_to_the_uncertainty_agrees_with_the_uncertainties_package(value, u):
    ours = with_uncertainty(value, u).replace("−", "-").split(" ± ")
    theirs = f"{ufloat(value, u):.2u}".split("+/-")
    # A u that rounds up to three digits (0.0996 → 0.100) keeps one digit more here.
    if len(ours[1]) == len(theirs[1]):
        assert [float(t) for t in ours] == [float(t) for t in theirs]
    else:
        assert float(ours[1]) == pytest.approx(float(theirs[1]), rel=0.06)


def test_an_uncertainty_that_is_not_available_is_said():
    assert "not available" in with_uncertainty(1.0, float("nan"))
    assert with_uncertainty(float("nan"), 1.0) == "not available"


def test_json_has_no_not_a_number():
    thing = {
        "a": np.float64("nan"),
        "b": pd.NA,
        "c": np.array([1, 2]),
        "d": np.bool_(True),
        "e": pd.DataFrame({"x": [1.5, np.nan]}),
        "f": frozenset({"z", "y"}),
    }
    text = json.dumps(json_safe(thing), allow_nan=False)
    assert json.loads(text) == {
        "a": None,
        "b": None,
        "c": [1, 2],
        "d": True,
        "e": [{"x": 1.5}, {"x": None}],
        "f": ["y", "z"],
    }


@given(st.text(max_size=30))
def test_no_written_cell_starts_like_a_formula(text):
    shown = harmless(text)
    starts = shown.startswith(FORMULA_STARTERS)
    if starts:
        float(shown)  # only plain numbers may keep a sign
    assert shown.removeprefix("'") == text.removeprefix("'") or shown == "'" + text


def test_csv_is_harmless_and_leaves_the_frame_alone(tmp_path):
    frame = pd.DataFrame({"=1+1": ["=cmd|' /C calc'!A0", "-2.5", "fine"], "n": [-1.5, 2.0, 1 / 3]})
    before = frame.copy()
    write_csv(frame, tmp_path / "odd näme ' .csv")
    pd.testing.assert_frame_equal(frame, before)
    with (tmp_path / "odd näme ' .csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.reader(handle))
    assert rows[0] == ["'=1+1", "n"]
    assert rows[1][0].startswith("'=")
    assert rows[2] == ["-2.5", "2"]


def test_equal_frames_give_equal_bytes(tmp_path):
    frame = pd.DataFrame({"x": np.random.default_rng(0).normal(size=50)})
    write_csv(frame, tmp_path / "a.csv")
    write_csv(frame.copy(), tmp_path / "b.csv")
    assert (tmp_path / "a.csv").read_bytes() == (tmp_path / "b.csv").read_bytes()


def _write_half(target):
    with replacing(target) as draft:
        draft.write_text("half")
        raise RuntimeError("power cut")


def test_a_failed_write_leaves_the_old_file_and_no_litter(tmp_path):
    target = tmp_path / "kept.json"
    write_json({"old": 1}, target)
    with pytest.raises(RuntimeError, match="power cut"):
        _write_half(target)
    assert json.loads(target.read_text()) == {"old": 1}
    assert list(tmp_path.iterdir()) == [target]


def test_errors_share_a_root_pickle_and_say_what_to_do():
    error = UnreadableFileError(
        "the file is empty", where="mon.xlsx", found=0, expected="a table", remedy="Send it again."
    )
    again = pickle.loads(pickle.dumps(error))
    assert isinstance(again, (SolubilityStatsError, ValueError))
    assert str(again) == str(error)
    assert again.where == "mon.xlsx"
    for word in ("mon.xlsx", "empty", "a table", "Send it again."):
        assert word in str(error)
    assert issubclass(InputError, ValueError)
