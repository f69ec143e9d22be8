"""First against second runs of the groups: what repeats is systematic, what does not is chance."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from solubility_stats.report.figures.style import CLASS, MUTED, WARN, axes, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from solubility_stats.pooling import TwoSample


@styled
def draw_two_runs(two: TwoSample, *, ax: Axes | None = None, narrow: bool = False) -> Axes:
    """Draw Youden's two-sample plot.

    Parameters
    ----------
    two : TwoSample
        Groups lie along the diagonal where they repeat their deviation, and inside the circle
        where chance alone explains them.
    """
    from matplotlib.patches import Circle

    ax = axes(ax, (4.1 if narrow else 5.2, 4.1 if narrow else 5.2))
    frame = two.frame
    centre = (two.centre_first, two.centre_second)
    reach = 1.08 * max(
        float((frame["first"] - centre[0]).abs().max()),
        float((frame["second"] - centre[1]).abs().max()),
        two.radius,
    )
    ax.axvline(centre[0], color=MUTED, lw=0.8)
    ax.axhline(centre[1], color=MUTED, lw=0.8)
    ax.plot(
        [centre[0] - reach, centre[0] + reach],
        [centre[1] - reach, centre[1] + reach],
        color=MUTED,
        lw=0.8,
        ls=(0, (4, 3)),
        label="equal deviations",
    )
    ax.add_patch(Circle(centre, two.radius, fill=False, ec=CLASS, lw=1.4, label="95 % by chance"))
    for outside, colour, label in ((False, CLASS, "groups"), (True, WARN, "beyond the circle")):
        part = frame[frame["outside"].astype(bool) == outside]
        if len(part):
            ax.plot(
                part["first"], part["second"], "o", ms=5.5, color=colour, mec="white", mew=0.5,
                ls="", label=label,
            )  # fmt: skip
    ax.set_xlim(centre[0] - reach, centre[0] + reach)
    ax.set_ylim(centre[1] - reach, centre[1] + reach)
    ax.set_aspect("equal")
    ax.set_xlabel("first run, g per 100 g water")
    ax.set_ylabel("second run")
    ax.legend(loc="lower left", bbox_to_anchor=(0.0, 1.0), ncols=2, borderaxespad=0.2)
    return ax


@styled
def draw_residuals(
    fitted: npt.ArrayLike,
    residual: npt.ArrayLike,
    *,
    ax: Axes | None = None,
    narrow: bool = False,
) -> Axes:
    """Draw what a fit of factors leaves over against what it predicts.

    Parameters
    ----------
    fitted, residual : array_like, shape (n,)
        In g per 100 g water; a funnel or a bend means the fit's assumptions do not hold.
    """
    ax = axes(ax, (4.1 if narrow else 5.6, 3.0))
    ax.axhline(0, color=MUTED, lw=0.8)
    ax.plot(
        np.asarray(fitted),
        np.asarray(residual),
        "o",
        ms=4.5,
        color=CLASS,
        mec="white",
        mew=0.4,
        ls="",
    )
    ax.set_xlabel("fitted, g per 100 g water")
    ax.set_ylabel("left over")
    ax.yaxis.grid(True)
    return ax
