"""How many groups a class needs to see a bias of a given size, and when no number is enough."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from solubility_stats.bias.comparison import Comparison
from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.planning.recipes import Recipe

MOST_GROUPS = 10_000


@dataclass(frozen=True, repr=False)
class GroupsNeeded(Result):
    """Groups needed to detect a bias.

    Attributes
    ----------
    groups : int or None
        Smallest number of groups; None where no number is enough.
    bias_percent, power, level : float
        What is to be detected, how surely, at which confidence.
    spread_percent : float
        Standard deviation of single results.
    floor_percent : float
        Shared uncertainty, reference included: what infinitely many groups would leave.
    smallest_possible_percent : float
        Bias that infinitely many groups would detect.
    limited_by : str
        Largest shared component.
    table : DataFrame
        ``groups, u_percent, detectable_percent`` for 3 to 96 groups.
    text : str
        The answer in a sentence.
    """

    groups: int | None
    bias_percent: float
    power: float
    level: float
    spread_percent: float
    floor_percent: float
    smallest_possible_percent: float
    limited_by: str
    table: pd.DataFrame
    text: str

    def headline(self) -> str:
        """Return the answer."""
        return self.text

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the detectable bias by number of groups."""
        return {"Detectable bias": self.table}


def groups_needed(
    source: Comparison | Recipe,
    bias_percent: float,
    *,
    power: float = 0.9,
    level: float = 0.95,
    u_reference_percent: float | None = None,
    apparent: bool = False,
) -> GroupsNeeded:
    """Return how many groups detect a bias.

    Parameters
    ----------
    source : Comparison or Recipe
        A class that was measured, or a recipe that is planned.
    bias_percent : float
        Bias to be detected, percent of the reference.
    power, level : float
        Probability of detection, and confidence of the verdict.
    u_reference_percent : float, optional
        Uncertainty of the reference; needed with a recipe, from the class otherwise.
    apparent : bool
        Plan for the plain result instead of the one after expected effects (classes only).

    Notes
    -----
    ``u(n)^2 = floor^2 + spread^2 / n`` and detectable ``(t(1 - alpha/2) + t(power)) u(n)`` with
    the degrees of freedom of ``n`` groups scaled up by the share of the floor (Welch and
    Satterthwaite). Sections are the unit of replication for what a section shares; more groups of
    the same sections do not help against that, and it counts as floor here.
    """
    if not bias_percent > 0:
        raise InputError("a positive bias is needed", where="bias_percent", found=bias_percent)
    spread, floor, limit = _sources(source, u_reference_percent, apparent)

    def detectable(n: int) -> tuple[float, float]:
        return _detectable(spread, floor, n, level, power)

    smallest = _detectable(0.0, floor, MOST_GROUPS, level, power)[1]
    found = _search(detectable, bias_percent)
    counts = [3, 4, 6, 8, 12, 16, 24, 36, 48, 72, 96]
    table = pd.DataFrame(
        [(n, *detectable(n)) for n in counts], columns=["groups", "u_percent", "detectable_percent"]
    )
    if found is None:
        text = (
            f"No number of groups finds a bias of {bias_percent:g} %: what all groups share, above "
            f"all {limit}, is uncertain by {floor:.1f} %, so a bias under {smallest:.0f} % would "
            f"often go unseen."
        )
    else:
        text = (
            f"{found} groups find a bias of {bias_percent:g} % {100 * power:.0f} times in 100 "
            f"(groups scatter by {spread:.0f} %; {floor:.1f} % is common to all)."
        )
    return GroupsNeeded(
        found, bias_percent, power, level, spread, floor, smallest, limit, table, text
    )


def _sources(
    source: Comparison | Recipe, u_reference: float | None, apparent: bool
) -> tuple[float, float, str]:
    """Return spread of single results, shared floor, and the largest shared component."""
    if isinstance(source, Recipe):
        if u_reference is None or not source.enough_solid:
            raise InputError(
                "the uncertainty of the reference is needed with a recipe"
                if u_reference is None
                else "this recipe has no safe excess of solid",
                where="u_reference_percent" if u_reference is None else "recipe",
            )
        shared = source.components[source.components["shared"].astype(bool)]
        floor = float(np.hypot(source.shared_percent, u_reference))
        top = float(shared["u_percent"].max()) if len(shared) else 0.0
        limit = "the reference curve" if u_reference >= top else str(shared["component"].iloc[0])
        return source.spread_percent, floor, limit
    found = source.apparent if apparent else source.unexplained
    parts = found.components
    own = ~parts["shared"].astype(bool)
    variance = parts["u_percent"] ** 2
    spread = float(np.sqrt(variance[own].sum() * found.n))
    shared_rows = parts[~own]
    floor2 = float(variance[~own].sum())
    if u_reference is not None:
        of_curve = parts["component"] == "reference curve"
        floor2 += u_reference**2 - float(variance[of_curve].sum())
    limit = str(shared_rows["component"].iloc[0]) if len(shared_rows) else "nothing"
    return spread, float(np.sqrt(max(floor2, 0.0))), limit


def _detectable(
    spread: float, floor: float, n: int, level: float, power: float
) -> tuple[float, float]:
    from scipy.special import stdtrit

    own = spread**2 / n
    u2 = floor**2 + own
    dof = (n - 1) * (u2 / own) ** 2 if own > 0 else np.inf
    dof = float(min(dof, 1e9))
    u = float(np.sqrt(u2))
    return u, float(stdtrit(dof, 0.5 + level / 2) + stdtrit(dof, power)) * u


def _search(detectable: Callable[[int], tuple[float, float]], bias_percent: float) -> int | None:
    """Return the smallest number of groups, by doubling and halving."""
    if detectable(MOST_GROUPS)[1] > bias_percent:
        return None
    low, high = 1, 2
    while detectable(high)[1] > bias_percent:
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        if detectable(middle)[1] > bias_percent:
            low = middle
        else:
            high = middle
    return high
