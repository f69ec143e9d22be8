"""Figures: on the axes given, saying what the tables say, leaving no trace elsewhere."""

from __future__ import annotations

import sys
import warnings

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure

from solubility_stats.report.exports import budget_of_typical_run
from solubility_stats.report.figures import (
    draw_budget,
    draw_causes,
    draw_differences,
    draw_groups,
    draw_temperature,
    save,
    svg,
)


@pytest.fixture(scope="module")
def paint(report):
    """Painters by name, each with the arguments of one analysis."""
    done = report.done
    used = done.estimates.used("residue")
    b = done.comparison.unexplained
    band = (b.reference_g_per_100g, b.u_reference_g_per_100g)
    shares = budget_of_typical_run(done)
    names, values = shares["component"].tolist(), shares["share_percent"].tolist()
    return {
        "groups": lambda **k: draw_groups(used, done.consensus, done.apparent, band, **k),
        "sources": lambda **k: draw_differences(done.comparison.by_source, "source", **k),
        "causes": lambda **k: draw_causes(done.diagnosis.causes, **k),
        "budget": lambda **k: draw_budget(names, values, **k),
        "temperature": lambda **k: draw_temperature(used, done.curve, **k),
    }


FIGURES = ["groups", "sources", "causes", "budget", "temperature"]


@pytest.mark.parametrize("name", FIGURES)
def test_draws_on_the_axes_given_and_on_no_other(paint, name):
    left, right = Figure().subplots(1, 2)
    before = len(right.get_children())
    assert paint[name](ax=left) is left
    assert left.has_data()
    assert not right.has_data()
    assert len(right.get_children()) == before


@pytest.mark.parametrize("name", FIGURES)
def test_leaves_settings_filters_and_pyplot_alone(paint, name, tmp_path):
    settings, filters = dict(mpl.rcParams), list(warnings.filters)
    ax = paint[name]()
    save(ax, tmp_path / "f.png")
    assert isinstance(ax, Axes)
    assert dict(mpl.rcParams) == settings
    assert warnings.filters == filters
    if "matplotlib.pyplot" in sys.modules:
        assert sys.modules["matplotlib.pyplot"].get_fignums() == []


@pytest.mark.parametrize("name", FIGURES)
def test_narrow_form_is_narrower_with_text_of_the_same_size(paint, name):
    wide, narrow = paint[name](), paint[name](narrow=True)
    assert narrow.figure.get_figwidth() < 0.75 * wide.figure.get_figwidth()
    assert narrow.xaxis.label.get_fontsize() == wide.xaxis.label.get_fontsize()


@pytest.mark.parametrize("name", FIGURES)
def test_no_text_runs_into_another_or_out_of_the_figure(paint, name):
    for narrow in (False, True):
        ax = paint[name](narrow=narrow)
        ax.figure.canvas.draw()
        edge = ax.figure.bbox
        renderer = ax.figure.canvas.get_renderer()
        for labels in (ax.get_xticklabels(), ax.get_yticklabels()):
            shown = [t for t in labels if t.get_text() and t.get_visible()]
            boxes = [t.get_window_extent(renderer) for t in shown]
            inside = [b for b in boxes if ax.bbox.padded(30).overlaps(b)]
            assert all(b.x0 >= edge.x0 - 1 for b in inside)
            assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[:i])
        legend = ax.get_legend()
        if legend is not None:
            box = legend.get_window_extent(renderer)
            assert box.x1 <= edge.x1 + 1
            assert box.y1 <= edge.y1 + 1


@pytest.mark.parametrize("ending", ["png", "svg"])
def test_same_figure_gives_the_same_bytes(paint, tmp_path, ending):
    first, second = (save(paint["groups"](), tmp_path / f"{i}.{ending}") for i in range(2))
    assert first.read_bytes() == second.read_bytes()


def lines_of(ax: Axes) -> np.ndarray:
    """Return ends of all horizontal intervals, shape (n, 3): y, low, high."""
    found = [
        (s[0, 1], s[0, 0], s[1, 0])
        for c in ax.collections
        if isinstance(c, LineCollection)
        for s in c.get_segments()
    ]
    return np.array(found)


def test_groups_are_ordered_and_carry_their_intervals(paint, report):
    ax = paint["groups"]()
    used = report.done.estimates.used("residue").sort_values("value_g_per_100g")
    rows = lines_of(ax)
    groups = rows[rows[:, 0] >= 0]
    by_height = groups[np.argsort(-groups[:, 0])]
    assert by_height[:, 1] == pytest.approx(used["low_g_per_100g"].to_numpy())
    assert by_height[:, 2] == pytest.approx(used["high_g_per_100g"].to_numpy())
    codes = [t.get_text() for t in ax.get_yticklabels()]
    assert codes[-2:] == ["Class", "Class, plain"]
    assert codes[0] == f"{used['section'].iloc[0]}/{used['group'].iloc[0]}"


def test_class_rows_and_reference_band_are_those_of_the_results(paint, report):
    ax, done = paint["groups"](), report.done
    rows = lines_of(ax)
    below = rows[rows[:, 0] < -1.5]
    assert below[:, 1:].tolist() == [
        [done.consensus.low, done.consensus.high],
        [done.apparent.low, done.apparent.high],
    ]
    b = done.comparison.unexplained
    band = ax.patches[0].get_extents().transformed(ax.transData.inverted())
    assert band.width == pytest.approx(2 * 1.96 * b.u_reference_g_per_100g, rel=1e-6)
    middle = (band.x0 + band.x1) / 2
    assert middle == pytest.approx(b.reference_g_per_100g, rel=1e-6)


def test_every_group_value_is_within_the_window(paint, report):
    ax = paint["groups"]()
    low, high = ax.get_xlim()
    values = report.done.estimates.used("residue")["value_g_per_100g"]
    assert low < values.min()
    assert high > values.max()


def test_budget_bars_are_the_shares(paint, report):
    ax = paint["budget"]()
    shares = budget_of_typical_run(report.done)["share_percent"]
    assert [bar.get_width() for bar in ax.patches] == pytest.approx(shares.tolist())
    assert shares.sum() == pytest.approx(100.0, abs=1e-6)


def test_causes_come_largest_first(paint, report):
    ax = paint["causes"]()
    largest = report.done.diagnosis.causes["effect_percent"].abs().max()
    dots = next(line for line in ax.lines if line.get_marker() == "o")
    top = np.argmax(dots.get_ydata())
    assert abs(dots.get_xdata()[top]) == pytest.approx(largest)


def test_codes_are_shown_as_written():
    from solubility_stats.pooling import pool
    from solubility_stats.simulation import simulate

    frame = simulate(groups=3, seed=1).records.runs
    frame = frame.assign(group=["$a_1$", r"\frac{", "🙂"], section="")
    from solubility_stats.measurement import Protocol, estimate
    from solubility_stats.records import ClassRecords

    est = estimate(ClassRecords.from_frame(frame), Protocol.default("calcium hydroxide"))
    both = pool(est), pool(est, apparent=True)
    ax = draw_groups(est.used("residue"), *both, (0.16, 0.01))
    assert {"$a_1$", r"\frac{", "🙂"} <= {t.get_text() for t in ax.get_yticklabels()}
    assert svg(ax, "Odd codes").startswith("<svg ")


@pytest.mark.parametrize(
    ("section", "group", "code"),
    [
        ("", "7", "7"),
        ("Wednesday", "11", "Wedne…/11"),
        ("Mon", "7", "Mon/7"),
        ("Monday", "bench 12", "bench 12"),
        ("Monday", "a very long code", "…ong code"),
    ],
)
def test_codes_keep_what_tells_groups_apart(section, group, code):
    from solubility_stats.report.figures.groups import _code

    assert _code(section, group, 9) == code


def test_inline_element_is_named_and_keeps_its_ids_to_itself(paint):
    ax = paint["budget"]()
    one, two = svg(ax, 'Shares "of" <all>'), svg(ax, "Shares of others")
    assert 'aria-label="Shares &quot;of&quot; &lt;all&gt;"' in one

    def ids(text: str) -> set[str]:
        import re

        return set(re.findall(r'\bid="([^"]+)"', text))

    assert ids(one)
    assert not ids(one) & ids(two)


def test_two_runs_lie_inside_or_beyond_a_round_circle():
    from solubility_stats.pooling import two_sample
    from solubility_stats.report.figures import draw_two_runs

    runs = pd.DataFrame(
        {"group": [g for g in "abcdefgh" for _ in range(2)],
         "v": [1.0, 1.1, 1.2, 1.1, 0.9, 1.0, 3.0, 3.1, 1.1, 1.2, 1.0, 0.9, 1.1, 1.0, 1.2, 1.3]}
    )  # fmt: skip
    two = two_sample(runs, value="v", group="group")
    drawn = draw_two_runs(two)
    (circle,) = drawn.patches
    assert circle.radius == pytest.approx(two.radius)
    assert drawn.get_aspect() == 1.0
    dots = [line for line in drawn.get_lines() if line.get_marker() == "o"]
    assert sum(len(line.get_xdata()) for line in dots) == two.groups
    beyond = next(line for line in dots if line.get_label() == "beyond the circle")
    assert len(beyond.get_xdata()) == int(two.frame["outside"].sum())


def test_residuals_are_drawn_where_they_are():
    from solubility_stats.report.figures import draw_residuals

    drawn = draw_residuals([1.0, 2.0, 3.0], [0.1, -0.1, 0.0])
    (dots,) = [line for line in drawn.get_lines() if line.get_marker() == "o"]
    assert dots.get_ydata().tolist() == [0.1, -0.1, 0.0]
