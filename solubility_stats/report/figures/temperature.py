"""Results against temperature, with the reference curve and its sources."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from solubility_stats.report.figures.style import CLASS, MUTED, REFERENCE, axes, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from solubility_stats.reference import ReferenceCurve


@styled
def draw_temperature(
    runs: pd.DataFrame, curve: ReferenceCurve, *, ax: Axes | None = None, narrow: bool = False
) -> Axes:
    """Draw plain and corrected results at their temperatures over the reference curve.

    Parameters
    ----------
    runs : DataFrame
        Used rows of one route of the estimates.
    curve : ReferenceCurve
        Drawn with its 95 % band; thin lines are its sources.
    """
    ax = axes(ax, (4.1 if narrow else 6.6, 3.6))
    t = runs["temperature_c"].to_numpy(dtype=float)
    low = max(curve.low_c, float(np.nanmin(t)) - 4.0)
    high = min(curve.high_c, float(np.nanmax(t)) + 4.0)
    grid = np.linspace(low, high, 60)
    value, u = (np.asarray(part) for part in curve.at(grid))
    ax.fill_between(
        grid,
        value - 1.96 * u,
        value + 1.96 * u,
        color=REFERENCE,
        alpha=0.2,
        lw=0,
        label="reference, 95 %",
    )
    ax.plot(grid, value, color=REFERENCE, lw=1.8)
    # Readings come in whole or half degrees: a fixed, tiny shift keeps dots apart.
    shift = (np.argsort(np.argsort(runs["run_id"].to_numpy())) % 7 - 3) * 0.03
    ax.vlines(
        t + shift, runs["low_g_per_100g"], runs["high_g_per_100g"], color=CLASS, lw=0.8, alpha=0.25
    )
    ax.plot(
        t + shift,
        runs["value_g_per_100g"],
        "o",
        ms=4.5,
        color=CLASS,
        mec="white",
        mew=0.4,
        ls="",
        label="groups, 95 %",
    )
    ax.plot(
        t + shift,
        runs["apparent_g_per_100g"],
        "_",
        ms=6,
        mew=1.2,
        color=MUTED,
        ls="",
        label="plain result",
    )
    ax.set_xlabel("temperature, °C")
    ax.set_ylabel("g per 100 g water")
    ax.yaxis.grid(True)
    ax.legend(
        loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2 if narrow else 3, borderaxespad=0.2
    )
    return ax
