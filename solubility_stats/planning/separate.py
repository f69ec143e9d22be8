"""Which extra measurement would tell two causes apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from solubility_stats.bias.attribution import term_of
from solubility_stats.bias.diagnosis import Diagnosis
from solubility_stats.bias.next_measurement import rank_measurements
from solubility_stats.bias.priors import solid_of
from solubility_stats.display import Result
from solubility_stats.errors import InputError


@dataclass(frozen=True, repr=False)
class SeparationPlan(Result):
    """Extra measurements ranked for telling given causes apart.

    Attributes
    ----------
    causes : tuple of str
        Causes to be told apart.
    table : DataFrame
        See :func:`~solubility_stats.bias.next_measurement.rank_measurements`.
    text : str
        The answer in a sentence.
    """

    causes: tuple[str, ...]
    table: pd.DataFrame
    text: str

    def headline(self) -> str:
        """Return the answer."""
        return self.text

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the measurements."""
        return {"Measurements": self.table}


def measurement_to_separate(
    diag: Diagnosis, causes: Sequence[str] | None = None, *, groups: int = 6
) -> SeparationPlan:
    """Rank the measurements that would tell causes apart, given what the class knows already.

    Parameters
    ----------
    diag : Diagnosis
        Of the class.
    causes : sequence of str, optional
        Names as in ``diag.mechanisms``; default the largest cause and all it is tied to.
    groups : int
        Groups that would make a measurement that is made by groups.

    Raises
    ------
    InputError
        For a cause the class's model does not have.
    """
    known = tuple(dict.fromkeys(diag.model.sizes.owners))
    if causes is None:
        top = diag.causes.iloc[0]
        causes = [str(top["name"]), *top["not_separable_from"]]
    unknown = [c for c in causes if c not in known]
    if unknown or not causes:
        raise InputError(
            "these causes are not in the model of this class",
            where="causes",
            found=unknown,
            expected=", ".join(known),
        )
    solid = solid_of(diag.comparison.estimates.protocol)
    table = rank_measurements(diag.model, diag.draws, solid, groups=groups, causes=causes)
    said = " and ".join(term_of(c) for c in list(causes)[:2])
    if table.empty:
        text = f"No measurement of the catalogue would tell {said} apart."
    else:
        best = table.iloc[0]
        text = (
            f"To tell {said} apart: {best['term']} (about {best['minutes']:.0f} min of work). The "
            f"uncertainty of these causes would fall from {best['u_now_percent']:.1f} to "
            f"{best['u_after_percent']:.1f} %."
        )
    return SeparationPlan(tuple(causes), table, text)
