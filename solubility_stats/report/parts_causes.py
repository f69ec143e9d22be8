"""Parts of the page about causes: routes, mechanisms, what is tied, what to measure."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from solubility_stats.report import words
from solubility_stats.report.blocks import Folded, Part, Table, Text, draw, percent, table
from solubility_stats.report.figures import draw_causes

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis


def routes(done: Analysis) -> Part | None:
    """Return the routes side by side, and residue against titration where both were done."""
    comparison = done.comparison
    if len(comparison.by_route) < 2 and comparison.contrast is None:
        return None
    frame = comparison.by_route.assign(
        interval=[
            f"{percent(low)} to {percent(high)}"
            for low, high in zip(
                comparison.by_route["low_percent"], comparison.by_route["high_percent"], strict=True
            )
        ]
    )
    blocks: list[object] = []
    contrast = comparison.contrast
    if contrast is not None:
        blocks.append(Text(words.contrast_sentence(contrast)))
        blocks.append(Text(words.sentence(contrast.says), "note"))
    blocks.append(
        table(
            frame,
            {
                "route": "Route",
                "groups": "Groups",
                "value_g_per_100g": "g per 100 g water",
                "standard_uncertainty_g_per_100g": "u",
                "percent": "Against reference",
                "interval": "95 % interval",
                "verdict": "Verdict",
            },
            formats={"percent": percent},
            tags=("verdict",),
        )
    )
    return Part("routes", "The same quantity by another route", tuple(blocks))


def causes(done: Analysis, figures: Path) -> Part:
    """Return what may have moved the class's value, and what cannot be told apart."""
    diagnosis = done.diagnosis
    shown = diagnosis.causes
    blocks: list[object] = [
        Text(diagnosis.separability.sentence, "note"),
        *(Text(note) for note in diagnosis.notes if note != diagnosis.separability.sentence),
    ]
    if len(shown):
        blocks.append(
            draw(
                draw_causes,
                shown,
                name="causes",
                label="Effect of each cause on the class's plain value, before and after the data",
                caption=(
                    "What each cause is thought to do to the class's plain value: the wide grey "
                    "bar is what such a lab expects beforehand, the dot and line are what this "
                    "class's data leave of it (90 % intervals). Where the two hardly differ, the "
                    "data say nothing about that cause."
                ),
                folder=figures,
            )
        )
    blocks.append(Folded("Every cause in numbers", _cause_table(diagnosis.mechanisms)))
    blocks.append(
        Folded(
            "If the expected sizes were half or twice as wide",
            table(
                diagnosis.sensitivity,
                {
                    "term": "Cause",
                    "effect_percent_x0.5": "Half as wide",
                    "effect_percent_x1": "As stated",
                    "effect_percent_x2": "Twice as wide",
                },
                formats=dict.fromkeys(
                    ("effect_percent_x0.5", "effect_percent_x1", "effect_percent_x2"), percent
                ),
            ),
        )
    )
    marked = diagnosis.discrete[diagnosis.discrete["marked"].astype(bool)]
    blocks.append(Text("Single runs where one event would explain much", "heading"))
    blocks.append(
        table(
            marked.assign(chance=100 * marked["probability"]),
            {
                "section": "Section",
                "group": "Group",
                "term": "What would explain it",
                "chance": "Chance, %",
                "question": "Worth asking",
            },
            none="None.",
        )
    )
    return Part("causes", "What may have moved the value", tuple(blocks))


def _cause_table(mechanisms: pd.DataFrame) -> Table:
    frame = mechanisms.assign(
        interval=[
            f"{percent(low)} to {percent(high)}"
            for low, high in zip(mechanisms["low_percent"], mechanisms["high_percent"], strict=True)
        ],
        basis=["judgement" if j else "published or measured" for j in mechanisms["judged"]],
        ties=[len(names) for names in mechanisms["not_separable_from"]],
    )
    return table(
        frame,
        {
            "term": "Cause",
            "prior_percent": "Expected",
            "effect_percent": "After the data",
            "interval": "90 % interval",
            "ties": "Not separable from",
            "basis": "Expected size from",
        },
        formats={"prior_percent": percent, "effect_percent": percent},
    )


def next_steps(done: Analysis) -> Part:
    """Return which extra measurement would help, best first."""
    frame = done.diagnosis.next_measurement
    return Part(
        "next",
        "What to measure next",
        (
            Text(
                "How far each extra measurement is expected to narrow what this class leaves open "
                "about the causes together, best value for its work first (times are judgement)."
            ),
            table(
                frame,
                {
                    "term": "Measurement",
                    "minutes": "Minutes",
                    "u_now_percent": "u now, %",
                    "u_after_percent": "u afterwards, %",
                    "reduction_percent": "Variance gone, %",
                },
                formats={
                    "u_now_percent": _one,
                    "u_after_percent": _one,
                    "reduction_percent": _none,
                },
            ),
        ),
    )


def _one(x: float) -> str:
    return f"{x:.1f}"


def _none(x: float) -> str:
    return f"{x:.0f}"
