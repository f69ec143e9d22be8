"""Figure of a reference curve."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from solubility_stats.reference.curves import ReferenceCurve

# Okabe and Ito's palette, told apart with any colour vision; black is kept for the curve.
_COLOURS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#E69F00", "#56B4E9")
_MARKERS = "osD^vPXd<>h*p8H"


def draw_curve(curve: ReferenceCurve, ax: Axes | None = None) -> Axes:
    """Draw value, ±u and ±2u bands, the fitted sources and the published points.

    Parameters
    ----------
    curve : ReferenceCurve
        What to draw.
    ax : Axes, optional
        Where; a new figure if not given.

    Returns
    -------
    Axes
    """
    if ax is None:
        from matplotlib import pyplot as plt

        _, ax = plt.subplots(figsize=(7.2, 4.8), layout="constrained")
    _draw_bands(curve, ax)
    points = curve.points
    families = list(dict.fromkeys(s.family for s in curve.data.sources))
    for i, source in enumerate(curve.data.sources):
        colour = _COLOURS[families.index(source.family) % len(_COLOURS)]
        used = source.key in curve.model.names
        if used:
            _draw_fit(curve, source.key, colour, ax)
        own = points[(points["source"] == source.key) & (points["struck"] == "")]
        inside = own["temperature_c"].between(curve.low_c - 1, curve.high_c + 1)
        ax.plot(
            own["temperature_c"][inside],
            own["g_per_100g"][inside],
            linestyle="none",
            marker=_MARKERS[i % len(_MARKERS)],
            markersize=5.5,
            color=colour,
            markerfacecolor=colour if used else "none",
            label=source.key if used else f"{source.key} (not combined)",
            zorder=4,
        )
    ax.set_xlabel("Temperature / °C")
    ax.set_ylabel(f"Solubility / {curve.basis}")
    ax.set_title(curve.solute, loc="left")
    ax.legend(frameon=False, fontsize="small", ncols=1 if len(families) < 3 else 2)
    ax.margins(x=0.02)
    return ax


def _draw_bands(curve: ReferenceCurve, ax: Axes) -> None:
    grid = np.linspace(curve.low_c, curve.high_c, 201)
    value, u = curve.at(grid)
    for factor, alpha in ((2, 0.12), (1, 0.16)):
        ax.fill_between(
            grid,
            value - factor * u,
            value + factor * u,
            color="black",
            alpha=alpha,
            linewidth=0,
            label=f"± {factor} u" if factor == 2 else "± u",
        )
    ax.plot(grid, value, color="black", linewidth=2, label="this curve", zorder=3)


def _draw_fit(curve: ReferenceCurve, key: str, colour: str, ax: Axes) -> None:
    fit = curve.model.fits[curve.model.names.index(key)]
    if fit.terms < 2:
        return
    low, high = max(fit.low_c, curve.low_c), min(fit.high_c, curve.high_c)
    grid = np.linspace(low, high, 101)
    ax.plot(grid, np.exp(fit.log_value(grid)), color=colour, linewidth=0.9, alpha=0.8, zorder=2)
