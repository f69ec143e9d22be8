"""A class near the reference is not proof of a sound procedure: the warning, with its numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from solubility_stats.bias.model import ClassModel
from solubility_stats.bias.sampler import Draws
from solubility_stats.bias.wording import signed
from solubility_stats.display import Result


@dataclass(frozen=True, repr=False)
class Compensation(Result):
    """How much of opposing effects may hide behind a small net difference.

    Attributes
    ----------
    up_percent, down_percent : float
        Sum of the effects that raise and that lower the class value (posterior means).
    net_percent, u_net_percent : float
        Their sum and its standard uncertainty.
    gross_percent : float
        Root of the summed squares of the single effects' posterior standard deviations: what the
        net would be uncertain by if the causes did not hang together.
    text : str
        The warning in one or two sentences.
    """

    up_percent: float
    down_percent: float
    net_percent: float
    u_net_percent: float
    gross_percent: float
    text: str

    def headline(self) -> str:
        """Return the warning."""
        return self.text


def compensation(model: ClassModel, draws: Draws, mechanisms: pd.DataFrame) -> Compensation:
    """Return the compensation warning of a class."""
    causes = mechanisms[mechanisms["kind"] == "cause"]
    effect = causes["effect_percent"].to_numpy(dtype=float)
    up, down = float(effect[effect > 0].sum()), float(effect[effect < 0].sum())
    at = np.flatnonzero([k == "cause" for k in model.sizes.kinds])
    net = draws.sizes[:, at] @ model.effect[at]
    single = [
        float(np.std(draws.sizes[:, a] @ model.effect[a]))
        for a in (model.owned_by(o) for o in causes["name"])
    ]
    gross = float(np.sqrt(np.sum(np.square(single))))
    text = (
        f"Causes that raise the result add up to about {signed(up)} %, causes that lower it to "
        f"about {signed(down)} %: together {signed(float(net.mean()))} ± {net.std():.0f} %. "
    )
    if min(up, -down) > 2.0 * abs(float(net.mean())):
        text += "They nearly cancel: a result near the reference is no proof of the procedure."
    else:
        text += (
            f"One by one they are far less certain ({gross:.0f} % in all), so even a result near "
            "the reference can be two errors that cancel."
        )
    return Compensation(up, down, float(net.mean()), float(net.std()), gross, text)
