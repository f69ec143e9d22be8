"""One page per group: what is on it, and what must never be."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solubility_stats.errors import InputError
from solubility_stats.measurement import Protocol, estimate
from solubility_stats.records import ClassRecords
from solubility_stats.report.handout_parts import Class, bars, place_in_class
from solubility_stats.report.handout_questions import questions
from solubility_stats.report.handout_strip import stack, strip, ticks
from solubility_stats.report.handouts import write_handouts


def class_frame(n: int = 9) -> pd.DataFrame:
    rng = np.random.default_rng(4)
    m0 = np.round(rng.uniform(1.9, 2.1, n), 3)
    mr = np.round(m0 - 0.36 - rng.normal(0, 0.03, n), 3)
    return pd.DataFrame(
        {
            "section": ["Monday"] * n,
            "group": [f"G{k}" for k in range(n)],
            "temperature_c": [21.5] * n,
            "initial_mass_g": m0,
            "fill_1_ml": [100.0] * n,
            "fill_2_ml": [99.5] * n,
            "recovered_mass_g": mr,
            "filtration": ["vacuum", "gravity", None] * (n // 3),
            "scatter": ["visible", "clear", None] * (n // 3),
            "reported_solubility": np.round(100 * (m0 - mr) / 199.5, 3),
            "reported_unit": ["g/100 mL"] * n,
        }
    )


def records_of(frame: pd.DataFrame) -> ClassRecords:
    known = {"reported_solubility": 3, "initial_mass_g": 3, "recovered_mass_g": 3}
    known |= {"fill_1_ml": 1, "fill_2_ml": 1, "temperature_c": 1}
    decimals = pd.DataFrame(
        {k: pd.array([v] * len(frame), dtype="Int64") for k, v in known.items() if k in frame}
    )
    return ClassRecords.from_frame(frame, decimals=decimals)


def diagnosis(records: ClassRecords) -> SimpleNamespace:
    """Stand for the two tables a page takes from a diagnosis."""
    runs = records.runs[["run_id"]].assign(
        reference_g_per_100g=0.15371, u_reference_g_per_100g=0.00912
    )
    following = pd.DataFrame({"term": ["titrate the filtrate of 6 groups"]})
    return SimpleNamespace(comparison=SimpleNamespace(runs=runs), next_measurement=following)


@pytest.fixture(scope="module")
def lime():
    records = records_of(class_frame())
    return records, estimate(records, Protocol.default("calcium hydroxide"))


def test_one_page_per_group_and_an_index_that_links_them(lime, tmp_path) -> None:
    records, est = lime
    pages = write_handouts(records, est, None, tmp_path)
    assert len(pages) == 9
    index = (tmp_path / "index.html").read_text("utf-8")
    assert re.findall(r'href="([^"]+)"', index) == [page.name for page in pages]


def test_a_page_shows_the_groups_own_numbers_and_no_other_group(lime, tmp_path) -> None:
    records, est = lime
    pages = write_handouts(records, est, diagnosis(records), tmp_path)
    text = pages[2].read_text("utf-8")
    own = records.runs.loc[2]
    assert f"{own['initial_mass_g']:.3f}" in text
    assert f"{own['recovered_mass_g']:.3f}" in text
    assert "100.0" in text  # with its recorded decimal
    shown = re.sub(r"<style>.*?</style>", "", text, flags=re.S)
    assert re.findall(r"\bG\d\b", shown) == ["G2", "G2"]  # title and heading
    assert shown.count("<circle") == 9 + 1
    assert "0.1537 ± 0.0091" in shown


def test_hidden_reference_leaves_no_trace(lime, tmp_path) -> None:
    records, est = lime
    for page in write_handouts(records, est, diagnosis(records), tmp_path, hide_reference=True):
        text = page.read_text("utf-8")
        shown = re.sub(r"<style>.*?</style>", "", text, flags=re.S).lower()
        assert "0.15371" not in shown
        assert "0.1537" not in shown
        assert "published" not in shown
        assert "<rect" not in shown


def test_pages_do_not_rank_or_blame(lime, tmp_path) -> None:
    records, est = lime
    for page in write_handouts(records, est, diagnosis(records), tmp_path):
        shown = re.sub(r"<style>.*?</style>", "", page.read_text("utf-8"), flags=re.S).lower()
        for word in ("rank", "best", "worst", "wrong", "careless", "percentile", "score", "error:"):
            assert word not in shown
        assert "instructor" in shown
        assert "risk assessment" in shown


def test_pages_need_nothing_from_elsewhere_and_are_the_same_twice(lime, tmp_path) -> None:
    records, est = lime
    first = write_handouts(records, est, None, tmp_path / "a")
    second = write_handouts(records, est, None, tmp_path / "b")
    for one, two in zip(first, second, strict=True):
        assert one.read_bytes() == two.read_bytes()
        text = one.read_text("utf-8")
        assert not re.search(r"(?:src|href)=|https?:|@import|url\(|<script", text)


def test_the_drawing_is_well_formed(lime, tmp_path) -> None:
    records, est = lime
    text = write_handouts(records, est, diagnosis(records), tmp_path)[0].read_text("utf-8")
    drawing = ET.fromstring(re.search(r"<svg.*?</svg>", text, flags=re.S).group())
    places = [float(c.get("cx").rstrip("%")) for c in drawing.iter("circle")]
    assert all(0 < x < 100 for x in places)


def test_text_from_a_sheet_is_shown_and_never_run(tmp_path) -> None:
    frame = class_frame()
    frame.loc[0, ["section", "group", "reported_unit"]] = [
        "../../up",
        "<script>alert(1)</script>",
        "<b>g/L</b>",
    ]
    frame.loc[1, ["section", "group"]] = ["Mon day", "1/2"]
    frame.loc[2, ["section", "group"]] = ["Mon-day", "1 2"]
    records = records_of(frame)
    est = estimate(records, Protocol.default("calcium hydroxide"))
    pages = write_handouts(records, est, None, tmp_path / "out")
    assert len({page.name for page in pages}) == 9
    assert all(page.parent == tmp_path / "out" for page in pages)
    text = pages[0].read_text("utf-8") + (tmp_path / "out" / "index.html").read_text("utf-8")
    assert "<script>" not in text
    assert "<b>g/L" not in text


def test_a_slip_is_told_as_what_one_gets(tmp_path) -> None:
    frame = class_frame()
    row = frame.loc[4]
    frame.loc[4, "reported_solubility"] = round(
        100 * (row["initial_mass_g"] - row["recovered_mass_g"]) / 99.5, 3
    )
    records = records_of(frame)
    est = estimate(records, Protocol.default("calcium hydroxide"))
    text = write_handouts(records, est, None, tmp_path)[4].read_text("utf-8")
    assert "is what one gets" in text
    assert "99.5 mL" in text
    assert "by chance" in text


def test_missing_readings_still_make_a_page(tmp_path) -> None:
    frame = class_frame()
    frame.loc[0, "recovered_mass_g"] = np.nan
    frame.loc[1, "reported_solubility"] = np.nan
    records = records_of(frame)
    est = estimate(records, Protocol.default("calcium hydroxide"))
    pages = write_handouts(records, est, None, tmp_path)
    first, second = (page.read_text("utf-8") for page in pages[:2])
    assert "not worked out, because" in first
    assert "yours could not be worked out" in first
    assert "nothing to compare" in second


def test_several_runs_of_a_group_share_a_page(tmp_path) -> None:
    frame = class_frame()
    frame.loc[1, "group"] = "G0"
    records = records_of(frame)
    est = estimate(records, Protocol.default("calcium hydroxide"))
    pages = write_handouts(records, est, None, tmp_path)
    assert len(pages) == 8
    text = pages[0].read_text("utf-8")
    assert "run 1" in text
    assert "run 2" in text


def test_no_runs_is_an_error(lime, tmp_path) -> None:
    records, est = lime
    empty = ClassRecords(records.runs.iloc[:0])
    with pytest.raises(InputError, match="no runs"):
        write_handouts(empty, est, None, tmp_path)


def test_bars_add_up_to_the_whole_variance(lime) -> None:
    records, est = lime
    lines = bars(est, str(records.runs["run_id"][0]), "residue")
    assert sum(line.share for line in lines) == pytest.approx(100.0, abs=1e-6)
    assert [line.share for line in lines[:-1]] == sorted(
        (line.share for line in lines[:-1]), reverse=True
    )


def test_the_sentence_about_the_class_follows_the_groups_own_uncertainty(lime) -> None:
    from solubility_stats.measurement import find_slips

    records, est = lime
    group = Class(records, est, find_slips(records), None)
    table = est.table.assign(
        value_g_per_100g=np.where(est.table.index == 3, 9.0, est.table["value_g_per_100g"])
    )
    far = Class(records, SimpleNamespace(table=table, budget_of=est.budget_of), group.slips, None)
    _, near_text = place_in_class(group, records.runs.iloc[[4]], None)
    _, far_text = place_in_class(far, records.runs.iloc[[3]], None)
    assert "scatter alone can make" in near_text
    assert "more than that scatter usually makes" in far_text


def test_questions_are_signed_and_sized_from_the_leverage() -> None:
    rows = pd.DataFrame({"scatter": ["visible"], "filtration": ["gravity"]})
    results = pd.DataFrame(
        {
            "route": ["residue"], "used": [True], "leverage": [4.0],
            "value_g_per_100g": [0.2], "u_g_per_100g": [0.03],
        }
    )  # fmt: skip
    asked = questions(rows, results, None, hidden=False)
    assert "about 20 % too high" in asked[0]  # 5 % of four grams for each gram dissolved
    assert "about 8 % too low" in asked[1]
    assert any("beam" in question for question in asked)
    assert all("?" in question for question in asked)


@given(st.lists(st.floats(0, 1), min_size=1, max_size=60))
def test_piles_of_dots_keep_every_value_near_its_place(places: list[float]) -> None:
    places = sorted(places)
    piles = stack(places, 0.02)
    assert len(piles) == len(places)
    assert all(abs(x - at) <= 0.01 + 1e-12 for x, (at, _) in zip(places, piles, strict=True))
    assert len(set(piles)) == len(piles)  # no dot hides another


@given(st.floats(-1e3, 1e3), st.floats(1e-4, 1e4))
def test_ticks_lie_inside_and_are_few(low: float, width: float) -> None:
    found = [value for value, _ in ticks(low, low + width)]
    assert 1 <= len(found) <= 7
    assert all(low - 1e-9 * width <= value <= low + width * (1 + 1e-9) for value in found)
    assert len({label for _, label in ticks(low, low + width)}) == len(found)


def test_equal_values_can_be_drawn() -> None:
    drawing = strip(np.array([0.2, 0.2, 0.2]), [(0.2, 0.2, 0.2)], None)
    assert len({dot.y for dot in drawing.dots}) == 3
