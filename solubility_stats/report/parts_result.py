"""Parts of the page about the result: reference, budget, sections, temperature, every group."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from solubility_stats.report import words
from solubility_stats.report.blocks import Folded, Part, Text, draw, percent, table
from solubility_stats.report.exports import budget_of_typical_run
from solubility_stats.report.figures import draw_budget, draw_differences, draw_temperature
from solubility_stats.report.parts_spread import estimators

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis

BUDGET_ROWS = 9


def reference(done: Analysis, figures: Path) -> Part:
    """Return what the verdict rests on: the literature, and what limits the answer."""
    blocks: list[object] = [
        Text(words.source_sentence(done)),
        *(Text(note) for note in done.comparison.notes),
    ]
    frame = done.comparison.by_source
    if len(frame) > 1:
        blocks.append(
            draw(
                draw_differences,
                frame,
                "source",
                name="sources",
                label="Unexplained difference of the class under each published source",
                caption="What is left after the expected effects, were each source taken alone "
                "(95 % intervals).",
                folder=figures,
            )
        )
    parts = done.comparison.unexplained.components
    blocks.append(
        Folded(
            "What makes up the uncertainty of the class's difference",
            table(
                parts,
                {
                    "component": "Component",
                    "u_percent": "u, %",
                    "share_percent": "Share of variance, %",
                    "shared": "Shared by all",
                },
                at_most=25,
            ),
        )
    )
    return Part("reference", "What the verdict rests on", tuple(blocks))


def budget(done: Analysis, figures: Path) -> Part:
    """Return the budget of a typical group and its leverage."""
    shares = budget_of_typical_run(done)
    top = shares.head(BUDGET_ROWS)
    names = top["component"].tolist()
    values = top["share_percent"].tolist()
    if len(shares) > len(top):
        names.append(f"{len(shares) - len(top)} smaller ones together")
        values.append(float(shares["share_percent"].iloc[len(top) :].sum()))
    used = done.estimates.used(done.comparison.route)
    blocks: list[object] = []
    if done.comparison.route == "residue":
        blocks.append(Text(words.leverage_sentence(used)))
    blocks.append(
        draw(
            draw_budget,
            names,
            values,
            name="budget",
            label="Shares of a typical group's uncertainty",
            caption="Shares of the variance of a typical group's result (they add up to 100 %).",
            folder=figures,
        )
    )
    return Part("budget", "Where a typical group's uncertainty comes from", tuple(blocks))


def breakdown(done: Analysis, figures: Path) -> Part | None:
    """Return results by section and by filtration."""
    blocks: list[object] = [Text(words.pooled_sentence(done)), *estimators(done)]
    for frame, label, name in (
        (done.comparison.by_section, "section", "sections"),
        (done.comparison.by_filtration, "filtration", "filtration"),
    ):
        if len(frame) < 2:
            continue
        blocks.append(
            draw(
                draw_differences,
                frame,
                label,
                name=name,
                label=f"Unexplained difference by {label}",
                caption=f"By {label}: difference from the reference that is left after the "
                "expected effects (95 % intervals). The intervals share causes, so overlapping "
                "ones can still differ: the table compares each with the rest.",
                folder=figures,
            )
        )
        blocks.append(
            table(
                frame,
                {
                    label: label.capitalize(),
                    "groups": "Groups",
                    "from_rest_percent": "From the rest",
                    "u_from_rest_percent": "u",
                    "p_from_rest": "p",
                },
                formats={
                    "from_rest_percent": percent,
                    "u_from_rest_percent": _percent_u,
                    "p_from_rest": _p,
                },
            )
        )
    return Part("sections", "By section and by filtration", tuple(blocks))


def temperature(done: Analysis, figures: Path) -> Part | None:
    """Return results against temperature, where temperatures were noted."""
    used = done.estimates.used(done.comparison.route)
    used = used[np.isfinite(used["temperature_c"].to_numpy(dtype=float))]
    if len(used) < 2:
        return None
    blocks: list[object] = [
        draw(
            draw_temperature,
            used,
            done.curve,
            name="temperature",
            label="Results against temperature over the reference curve",
            caption="Groups at their own temperatures, before the reference curve.",
            folder=figures,
        )
    ]
    says = done.comparison.trend.get("says")
    if says:
        blocks.insert(0, Text(str(says)))
    return Part("temperature", "Against temperature", tuple(blocks))


def every_group(done: Analysis) -> Part:
    """Return every run's numbers, folded away."""
    frame = done.estimates.table
    return Part(
        "all",
        "Every group",
        (
            Text("Every run by every route; estimates.csv holds the same with all digits."),
            Folded(
                f"{len(frame)} results",
                table(
                    frame,
                    {
                        "run_id": "Run",
                        "route": "Route",
                        "temperature_c": "°C",
                        "apparent_g_per_100g": "Plain",
                        "value_g_per_100g": "Result",
                        "u_g_per_100g": "u",
                        "low_g_per_100g": "95 % from",
                        "high_g_per_100g": "to",
                        "leverage": "Leverage",
                        "reason": "Not used because",
                    },
                    formats=dict.fromkeys(
                        (
                            "apparent_g_per_100g",
                            "value_g_per_100g",
                            "u_g_per_100g",
                            "low_g_per_100g",
                            "high_g_per_100g",
                        ),
                        _four_decimals,
                    ),
                    at_most=200,
                    file="estimates.csv",
                ),
            ),
        ),
    )


def _four_decimals(x: float) -> str:
    return f"{x:.4f}".replace("-", "−") if np.isfinite(x) else ""


def _percent_u(x: float) -> str:
    return f"{x:.1f} %" if np.isfinite(x) else "–"


def _p(x: float) -> str:
    if not np.isfinite(x):
        return "–"
    return "< 0.001" if x < 0.001 else f"{x:.3f}"
