"""Figures: each takes a result's table and an Axes, and returns the Axes. None computes."""

from solubility_stats.report.figures.groups import draw_groups
from solubility_stats.report.figures.intervals import (
    draw_budget,
    draw_causes,
    draw_differences,
)
from solubility_stats.report.figures.repeats import draw_residuals, draw_two_runs
from solubility_stats.report.figures.style import save, svg
from solubility_stats.report.figures.temperature import draw_temperature

__all__ = [
    "draw_budget",
    "draw_causes",
    "draw_differences",
    "draw_groups",
    "draw_residuals",
    "draw_temperature",
    "draw_two_runs",
    "save",
    "svg",
]
