"""The first figure of the page: every group with its interval before the reference band."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from solubility_stats.report.figures.style import (
    CLASS,
    INK,
    MUTED,
    REFERENCE,
    SECTION_COLOURS,
    SECTION_MARKERS,
    axes,
    styled,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from solubility_stats.pooling.consensus import Consensus


@styled
def draw_groups(
    runs: pd.DataFrame,
    consensus: Consensus,
    apparent: Consensus,
    reference: tuple[float, float],
    *,
    ax: Axes | None = None,
    narrow: bool = False,
) -> Axes:
    """Draw the groups in the order of their values, the class below, the reference behind.

    Parameters
    ----------
    runs : DataFrame
        Used rows of one route of the estimates.
    consensus, apparent : Consensus
        The class's value after the expected effects, and as plainly computed.
    reference : tuple of float
        Reference value and its standard uncertainty at the class's temperature, g/100 g water.
    ax : Axes, optional
        Where to draw; a new figure otherwise.
    narrow : bool
        For a narrow window: less width, same size of text.
    """
    ordered = runs.sort_values("value_g_per_100g", kind="stable")
    n = len(ordered)
    width = 4.1 if narrow else 8.6
    ax = axes(ax, (width, 1.9 + 0.165 * (n + 5)))
    _reference_band(ax, reference, n)
    y = np.arange(n)[::-1]
    _group_rows(ax, ordered, y)
    _class_rows(ax, consensus, apparent)
    # Codes beside every row are wanted on a wide page; sections repeat in colour and marker.
    ax.set_yticks([*y, -2.0, -3.2], [*_codes(ordered, narrow), "Class", "Class, plain"])
    for label in ax.get_yticklabels()[-2:]:
        label.set_fontweight("bold")
    ax.tick_params(axis="y", labelsize=7.5)
    ax.set_ylim(-4.0, n - 0.3)
    ax.set_xlim(*_limits(ordered, reference))
    ax.set_xlabel("solubility, g per 100 g water")
    ax.spines["left"].set_visible(False)
    ax.xaxis.grid(True)
    ax.legend(
        loc="lower left",
        bbox_to_anchor=(0.0, 1.0),
        ncols=2 if narrow else 6,
        borderaxespad=0.2,
        columnspacing=1.2,
        handletextpad=0.4,
    )
    return ax


def _codes(ordered: pd.DataFrame, narrow: bool) -> list[str]:
    """Return a short code per run; the run number only where a group has several."""
    most = 9 if narrow else 18
    single = not ordered.duplicated(["semester", "section", "group"]).any()
    if single:
        parts = ordered[["section", "group"]].astype(str).to_numpy()
        return [_code(section, group, most) for section, group in parts]
    return [_code(*str(code).rpartition("/")[::2], most) for code in ordered["run_id"]]


def _code(section: str, group: str, most: int) -> str:
    """Return ``section/group``, the section shortened first: the group's code tells rows apart."""
    if len(group) > most:
        return "…" + group[1 - most :]
    room = most - len(group) - 1
    if section and len(section) > room:
        section = section[: room - 1] + "…" if room > 1 else ""
    return f"{section}/{group}" if section else group


def _limits(ordered: pd.DataFrame, reference: tuple[float, float]) -> tuple[float, float]:
    """Show every value and most intervals; an endless interval must not flatten the rest."""
    low, high = ordered["low_g_per_100g"].to_numpy(), ordered["high_g_per_100g"].to_numpy()
    value = ordered["value_g_per_100g"].to_numpy()
    left = min(float(np.quantile(low, 0.1)), float(value.min()), reference[0] - 2.5 * reference[1])
    right = max(
        float(np.quantile(high, 0.9)), float(value.max()), reference[0] + 2.5 * reference[1]
    )
    room = 0.03 * (right - left)
    return left - room, right + room


def _reference_band(ax: Axes, reference: tuple[float, float], n: int) -> None:
    value, u = reference
    ax.axvspan(
        value - 1.96 * u,
        value + 1.96 * u,
        color=REFERENCE,
        alpha=0.20,
        lw=0,
        label="reference, 95 %",
    )
    ax.axvline(value, color=REFERENCE, lw=1.6)


def _group_rows(ax: Axes, ordered: pd.DataFrame, y: np.ndarray) -> None:
    # In the order of the sheets, which is the order people know.
    sections = list(dict.fromkeys(ordered.sort_index()["section"].astype(str)))
    for i, section in enumerate(sections):
        chosen = (ordered["section"].astype(str) == section).to_numpy()
        part = ordered[chosen]
        colour = SECTION_COLOURS[i % len(SECTION_COLOURS)]
        ax.hlines(
            y[chosen],
            part["low_g_per_100g"],
            part["high_g_per_100g"],
            color=colour,
            lw=1.1,
            alpha=0.45,
        )
        ax.plot(
            part["value_g_per_100g"],
            y[chosen],
            SECTION_MARKERS[i % len(SECTION_MARKERS)],
            ms=5.0,
            color=colour,
            mec="white",
            mew=0.5,
            ls="",
            label=section or "groups",
        )
    ax.plot(
        ordered["apparent_g_per_100g"],
        y,
        "|",
        ms=6,
        mew=1.1,
        color=MUTED,
        ls="",
        label="plain result",
    )


def _class_rows(ax: Axes, consensus: Consensus, apparent: Consensus) -> None:
    ax.axhline(-1.1, color=MUTED, lw=0.6)
    for y, pooled, colour in ((-2.0, consensus, CLASS), (-3.2, apparent, INK)):
        ax.hlines(y, pooled.low, pooled.high, color=colour, lw=3.2, alpha=0.55)
        ax.plot([pooled.value], [y], "D", ms=7, color=colour, mec="white", mew=0.8, ls="")
