"""Which step to improve: what halving each component would do to the class's verdict."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from solubility_stats.bias.comparison import Comparison
from solubility_stats.display import Result
from solubility_stats.planning.recipes import OWN_SCOPES, Recipe


@dataclass(frozen=True, repr=False)
class Improvement(Result):
    """Steps ranked by what halving their uncertainty would bring.

    Attributes
    ----------
    table : DataFrame
        ``step, u_percent, share_percent, shared, u_class_halved_percent, gain_percent`` (by how
        much the uncertainty of the class falls).
    within_scatter : DataFrame
        The scatter between groups taken apart into what the budgets expect of it: ``component,
        share_percent``; empty for a recipe.
    u_percent : float
        Uncertainty now.
    text : str
        The first step in a sentence.
    """

    table: pd.DataFrame
    within_scatter: pd.DataFrame
    u_percent: float
    text: str

    def headline(self) -> str:
        """Return the first step."""
        return self.text

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the steps."""
        return {"Steps": self.table, "What the scatter is made of": self.within_scatter}


def step_to_improve(source: Comparison | Recipe, *, groups: int | None = None) -> Improvement:
    """Rank the steps of the lab by what halving their uncertainty would bring.

    Parameters
    ----------
    source : Comparison or Recipe
        A class that was measured, or a recipe that is planned.
    groups : int, optional
        With a recipe: size of the class, default 24.
    """
    if isinstance(source, Recipe):
        parts, within = _of_recipe(source, groups or 24), pd.DataFrame()
    else:
        parts = source.unexplained.components[["component", "u_percent", "shared"]].copy()
        within = _within_scatter(source)
    variance = parts["u_percent"].to_numpy(dtype=float) ** 2
    whole = float(variance.sum())
    halved = np.sqrt(whole - 0.75 * variance)
    now = float(np.sqrt(whole))
    table = pd.DataFrame(
        {
            "step": parts["component"],
            "u_percent": parts["u_percent"],
            "share_percent": 100.0 * variance / whole,
            "shared": parts["shared"].astype(bool),
            "u_class_halved_percent": halved,
            "gain_percent": 100.0 * (1.0 - halved / now),
        }
    ).sort_values("gain_percent", ascending=False, ignore_index=True)
    first = table.iloc[0]
    means = (
        "All groups share it, so more groups do not help; measuring or removing it does."
        if first["shared"]
        else "More groups or steadier work reduce it."
    )
    text = (
        f"First improve: {first['step']} ({first['share_percent']:.0f} % of the variance). Halved, "
        f"it would lower the uncertainty of the class from {now:.1f} to "
        f"{first['u_class_halved_percent']:.1f} %. {means}"
    )
    return Improvement(table, within, now, text)


def _of_recipe(source: Recipe, groups: int) -> pd.DataFrame:
    parts = source.components[["component", "u_percent", "shared"]].copy()
    own = ~parts["shared"].astype(bool)
    parts.loc[own, "u_percent"] = parts.loc[own, "u_percent"] / np.sqrt(groups)
    return parts


def _within_scatter(source: Comparison) -> pd.DataFrame:
    """Return what the budgets expect the scatter between groups to be made of."""
    columns = ["component", "share_percent"]
    budget = getattr(source.estimates, "budget", None)
    if budget is None or not len(budget):
        return pd.DataFrame(columns=columns)
    used = set(source.runs["run_id"])
    rows = budget[
        (budget["route"] == source.route)
        & budget["run_id"].isin(used)
        & budget["scope"].isin(OWN_SCOPES)
    ]
    squares = rows["contribution_g_per_100g"] ** 2
    total = squares.groupby(rows["component"], sort=False).sum()
    table = pd.DataFrame(
        {"component": total.index, "share_percent": 100.0 * total.to_numpy() / total.sum()}
    )
    return table.sort_values("share_percent", ascending=False, ignore_index=True)
