"""Dots with intervals: sections, filtrations, sources, routes and causes share one form."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from solubility_stats.report.figures.style import (
    CLASS,
    INK,
    MUTED,
    REFERENCE,
    WARN,
    axes,
    percent_axis,
    styled,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

VERDICT_COLOURS = {"agrees": CLASS, "high": WARN, "low": WARN, "undecided": MUTED}


@styled
def draw_differences(
    frame: pd.DataFrame,
    label: str,
    *,
    xlabel: str = "difference from the reference, unexplained",
    ax: Axes | None = None,
    narrow: bool = False,
) -> Axes:
    """Draw one row per part of the class (or per source) with its interval around zero.

    Parameters
    ----------
    frame : DataFrame
        ``percent, low_percent, high_percent`` and, where decided, ``verdict``.
    label : str
        Column that names the rows.
    """
    n = len(frame)
    ax = axes(ax, (4.1 if narrow else 6.6, 0.85 + 0.3 * n))
    y = np.arange(n)[::-1]
    verdicts = frame["verdict"] if "verdict" in frame else pd.Series("", index=frame.index)
    colours = [VERDICT_COLOURS.get(str(v), INK) for v in verdicts]
    ax.axvline(0, color=REFERENCE, lw=1.6, zorder=1)
    ax.hlines(y, frame["low_percent"], frame["high_percent"], colors=colours, lw=2.2, alpha=0.55)
    ax.scatter(frame["percent"], y, c=colours, s=34, zorder=3, edgecolors="white", linewidths=0.6)
    names = [_short(str(t), 20 if narrow else 40) for t in frame[label]]
    if "groups" in frame and not narrow:
        names = [f"{t}  (n {int(g)})" for t, g in zip(names, frame["groups"], strict=True)]
    ax.set_yticks(y, names)
    ax.set_ylim(-0.7, n - 0.3)
    ax.set_xlabel(xlabel)
    percent_axis(ax, narrow=narrow)
    ax.spines["left"].set_visible(False)
    ax.xaxis.grid(True)
    return ax


@styled
def draw_causes(
    mechanisms: pd.DataFrame,
    *,
    at_most: int = 10,
    ax: Axes | None = None,
    narrow: bool = False,
) -> Axes:
    """Draw the causes' effects on the class value, expected before and after the data.

    Parameters
    ----------
    mechanisms : DataFrame
        ``term, effect_percent, low_percent, high_percent, prior_percent, prior_low_percent,
        prior_high_percent``, 90 % intervals; drawn in order of the size of the effect.
    """
    order = mechanisms["effect_percent"].abs().sort_values(ascending=False, kind="stable").index
    shown = mechanisms.loc[order[:at_most]]
    n = len(shown)
    ax = axes(ax, (4.1 if narrow else 7.6, 1.1 + 0.36 * n))
    y = np.arange(n)[::-1]
    ax.axvline(0, color=MUTED, lw=1.0, zorder=1)
    ax.hlines(
        y + 0.14,
        shown["prior_low_percent"],
        shown["prior_high_percent"],
        color=MUTED,
        lw=5,
        alpha=0.25,
        label="expected beforehand",
    )
    ax.hlines(
        y - 0.1,
        shown["low_percent"],
        shown["high_percent"],
        color=CLASS,
        lw=2.2,
        alpha=0.7,
        label="after this class's data",
    )
    ax.plot(shown["effect_percent"], y - 0.1, "o", ms=6, color=CLASS, mec="white", ls="")
    wrap = 22 if narrow else 44
    ax.set_yticks(y, [_wrapped(str(t), wrap) for t in shown["term"]])
    ax.tick_params(axis="y", labelsize=8 if narrow else 9)
    ax.set_ylim(-0.7, n - 0.3)
    ax.set_xlabel(
        "effect on the class's plain value"
        if narrow
        else "effect on the class's plain value (90 % intervals)"
    )
    percent_axis(ax, narrow=narrow)
    ax.spines["left"].set_visible(False)
    ax.xaxis.grid(True)
    ax.legend(
        loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=1 if narrow else 2, borderaxespad=0.2
    )
    return ax


@styled
def draw_budget(
    names: Sequence[str],
    shares: Sequence[float],
    *,
    ax: Axes | None = None,
    narrow: bool = False,
) -> Axes:
    """Draw the shares of an uncertainty budget, percent of the variance, as bars."""
    n = len(names)
    ax = axes(ax, (4.1 if narrow else 7.0, 0.8 + 0.3 * n))
    y = np.arange(n)[::-1]
    ax.barh(y, shares, height=0.62, color=CLASS, alpha=0.85)
    for at, share in zip(y, shares, strict=True):
        ax.text(
            share + max(shares) * 0.015,
            at,
            f"{share:.0f} %" if share >= 1 else "< 1 %",
            va="center",
            fontsize=8.5,
            color=INK,
        )
    ax.set_yticks(y, [_wrapped(t, 24 if narrow else 46) for t in names])
    ax.tick_params(axis="y", labelsize=8 if narrow else 9)
    ax.set_xlim(0, max(shares) * 1.14)
    ax.set_xticks([])
    ax.spines[["bottom", "left"]].set_visible(False)
    return ax


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 1] + "…"


def _wrapped(text: str, width: int) -> str:
    import textwrap

    return "\n".join(textwrap.wrap(text, width)[:2])
