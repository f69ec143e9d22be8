"""Expected effects of the bench on a result: one table of sizes for budgets, causes and plans."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Shared = Literal["class", "section", "bottle", "balance", "cylinder"]
Shape = Literal["gamma", "normal"]


@dataclass(frozen=True)
class Effect:
    """One effect that moves a result, with its expected size.

    The size in a run is ``mean`` plus a deviation all runs of the class share (standard deviation
    ``u_shared``: how badly the class mean of the effect is known) plus a deviation of its own
    (``sd_between``). More groups reduce the second, never the first.

    Attributes
    ----------
    name : str
        Key, e.g. ``"transfer_loss"``; the route models know their inputs by it.
    term : str
        The trade's term.
    routes : tuple of str
        Routes it enters: ``residue``, ``titration``, ``evaporation``.
    unit : str
        Unit of ``mean``, ``u_shared`` and ``sd_between``; ``"1"`` for a fraction.
    mean, u_shared, sd_between : float
        Expected size over affected and unaffected runs together, uncertainty of the class mean,
        spread between groups.
    dof : float
        Degrees of freedom of both standard uncertainties: how well they are known themselves
        (JCGM 100:2008, G.4.2: a relative uncertainty r of u counts as 1 / (2 r^2)).
    shape : {"gamma", "normal"}
        Distribution in a Monte Carlo; ``gamma`` for sizes that cannot be negative.
    shared_by : str
        What the shared part is common to; runs naming no bottle, balance or cylinder share it
        with their whole section or class.
    rate : float
        1 for an effect present in every run. Below 1 the effect is *occasional*: that fraction
        of groups suffers it in full (``mean`` is then its size where it happens), it is **not**
        taken into values or budgets, and it serves as prior where single groups are examined.
    basis : str
        Source of the sizes, or "judgement".
    """

    name: str
    term: str
    routes: tuple[str, ...]
    unit: str
    mean: float
    u_shared: float
    sd_between: float
    basis: str
    dof: float = 8.0
    shape: Shape = "gamma"
    shared_by: Shared = "class"
    rate: float = 1.0

    @property
    def expected(self) -> bool:
        """Whether values and budgets include it."""
        return self.rate >= 1.0
