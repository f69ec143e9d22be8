"""One preparation for a notebook: readings in, a number with its uncertainty and budget out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import pandas as pd

from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError
from solubility_stats.measurement.estimates import Estimates, estimate
from solubility_stats.measurement.protocol import Protocol
from solubility_stats.quantities import fill_column

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_PART = r": (class mean|group to group)$"


@dataclass(frozen=True, repr=False, eq=False)
class Budget(Result):
    """The budget of one result, largest share first.

    Attributes
    ----------
    frame : DataFrame
        Columns as in :attr:`Estimates.budget`.
    value, u : float
        The result and its standard uncertainty (g per 100 g water).
    """

    frame: pd.DataFrame
    value: float
    u: float

    def headline(self) -> str:
        """Return the result and what limits it."""
        text = with_uncertainty(self.value, self.u, "g/100 g water")
        first = self.frame.iloc[0]
        return f"{text}; {first['share_percent']:.0f} % of the variance: {first['component']}"

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return value, uncertainty, contribution and share of each component."""
        columns = ["component", "value", "u", "unit", "contribution_g_per_100g", "share_percent"]
        return {"Uncertainty budget": self.frame[columns]}

    def by_cause(self) -> pd.DataFrame:
        """Return shares of the variance by cause, ``own_percent`` and ``shared_percent``."""
        parts = self.frame.assign(
            cause=self.frame["component"].str.replace(_PART, "", regex=True),
            part=self.frame["scope"].eq("run").map({True: "own_percent", False: "shared_percent"}),
        )
        table = parts.pivot_table(
            index="cause", columns="part", values="share_percent", aggfunc="sum", fill_value=0.0
        ).reindex(columns=["own_percent", "shared_percent"], fill_value=0.0)
        order = table.sum(axis="columns").sort_values(ascending=False, kind="stable").index
        return table.loc[order]

    def plot(self, ax: Axes | None = None, *, most: int = 12) -> Axes:
        """Draw each cause's share of the variance as a bar, largest on top.

        The two parts of a bar tell what averages out over a class and what does not.

        Parameters
        ----------
        ax : matplotlib Axes, optional
            Where to draw; a new figure if not given.
        most : int
            How many bars; the rest is joined into one.

        Returns
        -------
        matplotlib Axes
        """
        import textwrap

        if ax is None:
            import matplotlib.pyplot as plt

            _, ax = plt.subplots(figsize=(7.5, 4.8), layout="constrained")
        shares = self.by_cause()
        shown = shares[:most]
        if len(shares) > most:
            rest = shares[most:][["own_percent", "shared_percent"]].sum()
            name = f"{len(shares) - most} smaller ones together"
            shown = pd.concat([shown, rest.rename(name).to_frame().T])
        at, own = range(len(shown)), shown["own_percent"].astype(float)
        ax.barh(at, own, color="#33638d", label="of this run alone")
        ax.barh(at, shown["shared_percent"].astype(float), left=own, color="#e0a43b",
                label="shared with other runs")  # fmt: skip
        ax.set_yticks(at, labels=[textwrap.fill(str(n), 32) for n in shown.index])
        ax.invert_yaxis()
        ax.set_xlabel("share of the variance (%)")
        ax.legend(loc="lower right", frameon=False)
        return ax


class Preparation:
    """One preparation: what was weighed, poured and titrated.

    Parameters
    ----------
    initial_mass_g, recovered_mass_g : float, optional
        Solid weighed out and dry solid recovered (g).
    fills_ml : sequence of float, optional
        Fillings of the cylinder (mL).
    water_volume_ml : float, optional
        Water in all (mL), where the fillings are not known.
    solute : str
        The solid.
    route : str, optional
        ``residue``, ``titration`` or ``evaporation``; the first there are readings for if not
        given.
    protocol : Protocol, optional
        What was used; defaults of the solid if not given.
    **readings
        Any other canonical run column, e.g. ``temperature_c=23.5, filtration="vacuum",
        aliquot_ml=25, titrant_ml=11.2, titrant_mol_per_l=0.1``.

    Attributes
    ----------
    estimates : Estimates
        The same result in the form a whole class has.

    Raises
    ------
    InputError
        If a reading has an unknown name, or the readings do not give a result.

    Examples
    --------
    >>> p = Preparation(2.50, 2.02, fills_ml=[100, 100, 100], solute="calcium hydroxide")
    >>> print(f"{p.solubility:.2u}")
    0.156+/-0.032
    """

    def __init__(
        self,
        initial_mass_g: float | None = None,
        recovered_mass_g: float | None = None,
        *,
        solute: str,
        fills_ml: Sequence[float] = (),
        water_volume_ml: float | None = None,
        route: str | None = None,
        protocol: Protocol | None = None,
        **readings: Any,
    ) -> None:
        row: dict[str, Any] = {
            "initial_mass_g": initial_mass_g,
            "recovered_mass_g": recovered_mass_g,
            "water_volume_ml": water_volume_ml,
            "group": "1",
            **{fill_column(i): v for i, v in enumerate(fills_ml, start=1)},
            **readings,
        }
        _check_names(row)
        given = {name: [value] for name, value in row.items() if value is not None}
        self.estimates: Estimates = estimate(pd.DataFrame(given), protocol, solute=solute)
        self.route = route or next(iter(self.estimates.arrays))
        self._row = self.estimates.table[self.estimates.table["route"] == self.route]
        if self._row.empty or not self._row["used"].iloc[0]:
            raise InputError(
                "these readings do not give a solubility",
                where=f"Preparation, route {self.route}",
                found=None if self._row.empty else self._row["reason"].iloc[0],
                remedy="Mend or add the reading named.",
            )

    @property
    def value(self) -> float:
        """Solubility after expected effects (g per 100 g water)."""
        return float(self._row["value_g_per_100g"].iloc[0])

    @property
    def interval(self) -> tuple[float, float]:
        """95 % interval of the solubility (g per 100 g water)."""
        return float(self._row["low_g_per_100g"].iloc[0]), float(
            self._row["high_g_per_100g"].iloc[0]
        )

    @cached_property
    def solubility(self) -> Any:
        """Solubility (g per 100 g water) as an ``uncertainties`` value.

        Its ``error_components()`` are the lines of the budget, tagged with their names.
        """
        return self._ufloat(apparent=False)

    @cached_property
    def apparent(self) -> Any:
        """Plain mass difference over the water, instruments only, as an ``uncertainties`` value."""
        return self._ufloat(apparent=True)

    @cached_property
    def budget(self) -> Budget:
        """The budget, largest share first."""
        frame = self._frame(apparent=False)
        frame = frame.sort_values("share_percent", ascending=False, kind="stable")
        return Budget(
            frame.reset_index(drop=True), self.value, float(self._row["u_g_per_100g"].iloc[0])
        )

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draw the budget as bars; see :meth:`Budget.plot`."""
        return self.budget.plot(ax)

    def _frame(self, *, apparent: bool) -> pd.DataFrame:
        return self.estimates.budget_of(route=self.route, apparent=apparent)

    def _ufloat(self, *, apparent: bool) -> Any:
        from uncertainties import ufloat

        column = "apparent_g_per_100g" if apparent else "value_g_per_100g"
        total: Any = float(self._row[column].iloc[0])
        frame = self._frame(apparent=apparent)
        for tag, part in zip(frame["component"], frame["contribution_g_per_100g"], strict=True):
            total = total + float(part) * ufloat(0.0, 1.0, tag=tag)
        return total

    def __repr__(self) -> str:
        return f"<Preparation: {self.budget.headline()}>"

    def __str__(self) -> str:
        return str(self.budget)

    def _repr_html_(self) -> str:
        return self.budget._repr_html_()


def _check_names(row: dict[str, Any]) -> None:
    from solubility_stats.quantities import is_canonical

    unknown = [name for name in row if not is_canonical(name)]
    if unknown:
        raise InputError(
            "there is no reading of this name",
            where="Preparation",
            found=unknown,
            expected="canonical run columns such as temperature_c, aliquot_ml, titrant_ml",
        )
