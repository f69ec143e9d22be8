"""From records to a solubility per run and route, each with its whole uncertainty budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result, json_safe, with_uncertainty
from solubility_stats.errors import InputError
from solubility_stats.measurement import tables
from solubility_stats.measurement.conditions import reasons
from solubility_stats.measurement.protocol import Protocol
from solubility_stats.measurement.readings import Readings, with_recorded_balance
from solubility_stats.measurement.route_inputs import (
    evaporation_inputs,
    residue_inputs,
    titration_inputs,
)
from solubility_stats.measurement.routes import RouteArrays, evaluate
from solubility_stats.measurement.settings import RunSettings
from solubility_stats.measurement.solids import one_solid
from solubility_stats.records import ClassRecords

if TYPE_CHECKING:
    from solubility_stats.measurement.montecarlo import MonteCarlo

MOST_BUDGET_ROWS = 5_000_000  # about 1.5 GB while it is built
ROUTES = ("residue", "titration", "evaporation")
# A route exists for a run that recorded any of these.
_SIGNS = {
    "residue": ("initial_mass_g", "recovered_mass_g", "recovered_with_paper_mass_g"),
    "titration": ("titrant_ml",),
    "evaporation": ("dish_residue_mass_g",),
}


@dataclass(frozen=True, repr=False, eq=False)
class Estimates(Result):
    """Solubility of every run by every route it has readings for, with budgets.

    Attributes
    ----------
    table : DataFrame
        One row per run and route: identifiers, ``route``, ``filtration``, ``temperature_c``,
        ``u_temperature_k``; ``apparent_g_per_100g``, ``u_apparent_g_per_100g`` (plain equation,
        instruments only); ``value_g_per_100g``, ``u_g_per_100g``, ``low_g_per_100g``,
        ``high_g_per_100g``, ``dof`` (after the protocol's expected effects, 95 % interval);
        ``leverage`` (residue over dissolved mass), ``used``, ``reason``, ``note``; then the
        readings as they were used.
    protocol : Protocol
        What was assumed.
    defaults : DataFrame
        Settings nobody gave: ``setting, value, unit, origin, basis``.
    arrays : mapping of str to RouteArrays
        The compact form behind table and budget, one per route.
    """

    table: pd.DataFrame
    protocol: Protocol
    defaults: pd.DataFrame
    arrays: dict[str, RouteArrays] = field(default_factory=dict)

    @property
    def n(self) -> int:
        """Number of rows (runs times routes), used or not."""
        return len(self.table)

    @property
    def n_set_aside(self) -> int:
        """Number of rows that enter no statistic."""
        return int((~self.table["used"]).sum())

    @cached_property
    def budget(self) -> pd.DataFrame:
        """The long budget: one row per run, route and component.

        Columns ``run_id, route, component, quantity, value, u, unit, distribution, evaluation,
        dof, scope, scope_key, sensitivity, contribution_g_per_100g, share_percent, basis``. Built
        on first use; for very many runs ask :meth:`budget_of` for some of them.

        Raises
        ------
        InputError
            If it would have more than five million rows.
        """
        size = sum(a.n * len(a.components()) for a in self.arrays.values())
        if size > MOST_BUDGET_ROWS:
            raise InputError(
                "the whole budget does not fit a table of sensible size",
                where="budget",
                found=f"{size} rows",
                expected=f"at most {MOST_BUDGET_ROWS}",
                remedy="Ask budget_of(run_ids) for the runs that matter.",
            )
        return self.budget_of()

    def budget_of(
        self,
        run_ids: Sequence[str] | None = None,
        *,
        route: str | None = None,
        apparent: bool = False,
    ) -> pd.DataFrame:
        """Return the budget of some runs.

        Parameters
        ----------
        run_ids : sequence of str, optional
            Which runs; all if not given.
        route : str, optional
            Which route; all if not given.
        apparent : bool
            Budget of the plain result instead of the one after expected effects.

        Raises
        ------
        InputError
            If a run or route does not exist.
        """
        wanted = None if run_ids is None else set(run_ids)
        if wanted is not None:
            unknown = sorted(wanted - set(self.table["run_id"]))
            if unknown:
                raise InputError("no such run", where="run_ids", found=unknown[:5])
        parts = []
        for name in [route] if route else list(self.arrays):
            own = self._rows(name)
            ids = own["run_id"].to_numpy(dtype=object)
            rows = np.arange(len(own))
            if wanted is not None:
                rows = rows[np.isin(ids, list(wanted))]
            parts.append(tables.budget_frame(self.arrays[name], ids, rows, apparent))
        return pd.concat(parts, ignore_index=True) if parts else tables.empty_budget()

    def used(self, route: str = "residue") -> pd.DataFrame:
        """Return the rows of a route that may enter statistics, in table order.

        Raises
        ------
        InputError
            If no run has readings for the route.
        """
        own = self._rows(route)
        return own[own["used"]]

    def covariance(self, route: str = "residue", apparent: bool = False) -> SharedCovariance:
        """Return the covariance of the used rows of a route, in table order.

        Parameters
        ----------
        route : {"residue", "titration", "evaporation"}
            Which route.
        apparent : bool
            Covariance of the plain results (instruments only).

        Returns
        -------
        SharedCovariance
            Causes of each run's own as variances; each cause that several runs share as one
            factor named ``"<component> [<who shares it>]"``.
        """
        own = self._rows(route)
        rows = np.flatnonzero(own["used"].to_numpy())
        return self.arrays[route].covariance(rows, apparent)

    def in_unit(self, unit: str, *, apparent: bool = False) -> pd.DataFrame:
        """Return the results in another unit.

        Parameters
        ----------
        unit : str
            E.g. ``"g/L"``, ``"g/100 mL"``, ``"mol/L"``, ``"mol/kg"``; volumes are of solution
            unless the unit says water (see :mod:`solubility_stats.reference.convert`).
        apparent : bool
            Convert the plain results instead of those after expected effects.

        Returns
        -------
        DataFrame
            ``run_id, route, value, u, unit, used``; not-a-number where a result is missing or
            negative. ``u`` includes that of the density of the solution.

        Raises
        ------
        InputError
            If the unit is unknown, or needs a formula the protocol lacks.
        """
        return tables.converted_frame(self.table, self.protocol.solid, unit, apparent)

    def propagate(
        self, method: str = "montecarlo", *, seed: int | None = 0, **options: Any
    ) -> MonteCarlo:
        """Propagate whole distributions and judge first order by them (JCGM 101:2008).

        Parameters
        ----------
        method : {"montecarlo"}
            The only method besides the first order already in ``table``.
        seed : int or None
            Seed of the random numbers; the same seed gives the same result.
        **options
            See :func:`solubility_stats.measurement.montecarlo.monte_carlo`.
        """
        from solubility_stats.measurement.montecarlo import propagate_estimates

        if method != "montecarlo":
            raise InputError("unknown method", where="propagate", found=method,
                             expected="'montecarlo'")  # fmt: skip
        return propagate_estimates(self, seed=seed, **options)

    def headline(self) -> str:
        """Return the median of the used results of the first route and how many there are."""
        for route in self.arrays:
            rows = self.used(route)
            if len(rows):
                middle = float(rows["value_g_per_100g"].median())
                text = with_uncertainty(middle, float(rows["u_g_per_100g"].median()))
                return (
                    f"{len(rows)} results by {route}, {self.n_set_aside} not used; the middle one "
                    f"is {text} g/100 g water (standard uncertainty of a single run)"
                )
        return f"{self.n} results, none of which can be used"

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the results, leverage first, and the defaults in use."""
        columns = [
            "run_id", "route", "leverage", "apparent_g_per_100g", "u_apparent_g_per_100g",
            "value_g_per_100g", "u_g_per_100g", "used", "reason",
        ]  # fmt: skip
        return {
            "Results": self.table[columns],
            "Defaults in use": self.defaults[["setting", "value", "unit"]],
        }

    def to_dict(self) -> dict[str, Any]:
        """Return table, budget, defaults and protocol as JSON-safe plain Python."""
        return {
            "table": json_safe(self.table),
            "budget": json_safe(self.budget),
            "defaults": json_safe(self.defaults),
            "protocol": self.protocol.to_dict(),
        }

    def _rows(self, route: str) -> pd.DataFrame:
        if route not in self.arrays:
            raise InputError(
                "no run has readings for this route",
                where="route",
                found=route,
                expected=", ".join(self.arrays) or "readings of at least one route",
            )
        return self.table[self.table["route"] == route]


def estimate(
    records: ClassRecords | pd.DataFrame,
    protocol: Protocol | None = None,
    *,
    solute: str | None = None,
) -> Estimates:
    """Return the solubility of every run by every route, with its uncertainty budget.

    Parameters
    ----------
    records : ClassRecords or DataFrame
        Runs with canonical columns. Not changed.
    protocol : Protocol, optional
        What was used; the defaults of the solid if not given.
    solute : str, optional
        The solid, where neither protocol nor records name one, or where the records hold several:
        runs of another solid are then not used.

    Returns
    -------
    Estimates

    Raises
    ------
    InputError
        If the records hold no readings of any route, or several solids and no word which.

    Warns
    -----
    NoSoluteWarning
        If nothing names the solid.
    """
    if isinstance(records, pd.DataFrame):
        records = ClassRecords.from_frame(records)
    runs = records.runs.reset_index(drop=True)
    runs, chosen = one_solid(runs, protocol, solute)
    protocol = chosen if protocol is None else protocol
    arrays: dict[str, RouteArrays] = {}
    blocks: list[pd.DataFrame] = []
    bench: dict[str, Protocol] = {}
    for route in ROUTES:
        rows = _rows_with(runs, route)
        if not rows.size:
            continue
        bench[route] = with_recorded_balance(protocol, records, route)
        r = Readings(
            runs=_some(runs, rows),
            decimals=_some(records.decimals.reset_index(drop=True), rows),
            settings=RunSettings(bench[route], _some(runs, rows)),
        )
        arrays[route] = _route(r, route)
        reason, note = reasons(r, arrays[route].inputs, arrays[route].value, arrays[route].u)
        note = tables.with_flags(note, r.runs["run_id"], records.flags, route)
        blocks.append(tables.result_frame(r, route, arrays[route], reason, note))
    if not blocks:
        raise InputError(
            "no run holds the readings of any route",
            where="records",
            found=sorted(runs.columns)[:12],
            expected="initial_mass_g and recovered_mass_g, or titrant_ml, or dish_residue_mass_g",
        )
    first = next(iter(bench.values()))
    return Estimates(pd.concat(blocks, ignore_index=True), first, _defaults(bench), arrays)


def _defaults(bench: dict[str, Protocol]) -> pd.DataFrame:
    """Return the settings nobody gave and that one of the routes uses."""
    parts = []
    for route, protocol in bench.items():
        settings = protocol.settings()
        used = {f"effects.{e.name}" for e in protocol.expected_effects(route)}
        effect = settings["setting"].str.extract(r"^(effects\.\w+)")[0]
        idle = settings["setting"].str.match(r"^(pipette|burette|titrant)\.")
        own = effect.isin(used) | (effect.isna() & ~(idle & (route == "residue")))
        parts.append(settings[own & (settings["origin"] == "default")])
    return pd.concat(parts, ignore_index=True).drop_duplicates(ignore_index=True)


def _some(frame: pd.DataFrame, rows: np.ndarray[Any, Any]) -> pd.DataFrame:
    """Return the chosen rows with a plain index; all of them without copying."""
    if frame.empty:
        return frame
    return frame if rows.size == len(frame) else frame.iloc[rows].reset_index(drop=True)


def _rows_with(runs: pd.DataFrame, route: str) -> np.ndarray[Any, Any]:
    signs = [c for c in _SIGNS[route] if c in runs]
    if not signs:
        return np.empty(0, dtype=np.intp)
    if route != "residue":
        return np.flatnonzero(runs[signs].notna().any(axis="columns").to_numpy())
    # A run without readings of any route is listed with the residue route, as not used.
    other = [c for name in ROUTES[1:] for c in _SIGNS[name] if c in runs]
    have = runs[signs].notna().any(axis="columns")
    only_other = runs[other].notna().any(axis="columns") & ~have
    return np.flatnonzero(~only_other.to_numpy()) if have.any() else np.empty(0, dtype=np.intp)


def _route(r: Readings, route: str) -> RouteArrays:
    if route == "residue":
        return evaluate(residue_inputs(r))
    if route == "titration":
        return evaluate(titration_inputs(r))
    return evaluate(evaporation_inputs(r))
