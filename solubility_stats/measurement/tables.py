"""Frames of results and budgets, built from the arrays of a route."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.measurement.components import Component
from solubility_stats.measurement.instruments import Solid
from solubility_stats.measurement.propagation import coverage_factor
from solubility_stats.measurement.readings import Readings
from solubility_stats.measurement.routes import RouteArrays, Rows

BUDGET_COLUMNS = (
    "run_id", "route", "component", "quantity", "value", "u", "unit", "distribution",
    "evaluation", "dof", "scope", "scope_key", "sensitivity", "contribution_g_per_100g",
    "share_percent", "basis",
)  # fmt: skip
_IDENTITY = ("run_id", "semester", "section", "group", "run")
LEVEL = 0.95


def result_frame(
    r: Readings,
    route: str,
    arrays: RouteArrays,
    reason: npt.NDArray[np.object_],
    note: npt.NDArray[np.object_],
) -> pd.DataFrame:
    """Return one row per run of a route; see :class:`~.estimates.Estimates` for the columns."""
    runs = r.runs
    t, u_t = r.temperature()
    with np.errstate(invalid="ignore"):
        half = coverage_factor(arrays.dof, LEVEL) * arrays.u
    columns: dict[str, Any] = {name: runs[name] for name in _IDENTITY}
    columns["route"] = np.full(r.n, route)
    columns["filtration"] = runs["filtration"] if "filtration" in runs else np.full(r.n, "")
    columns |= {
        "temperature_c": t,
        "u_temperature_k": u_t,
        "apparent_g_per_100g": arrays.apparent,
        "u_apparent_g_per_100g": arrays.u_apparent,
        "value_g_per_100g": arrays.value,
        "u_g_per_100g": arrays.u,
        "low_g_per_100g": arrays.value - half,
        "high_g_per_100g": arrays.value + half,
        "dof": arrays.dof,
        "leverage": _leverage(r),
        "used": reason == "",
        "reason": pd.array(reason, dtype="str"),
        "note": pd.array(note, dtype="str"),
    }
    rest = {c: runs[c] for c in runs.columns if c not in columns}
    if "recovered_mass_g" in rest or r.with_paper().any():
        rest["recovered_mass_g"] = pd.Series(r.recovered(), index=runs.index)
    if route == "residue":
        rest["water_volume_ml"] = pd.Series(r.water(), index=runs.index)
    return pd.DataFrame(columns | rest)


def _leverage(r: Readings) -> npt.NDArray[np.float64]:
    """Return recovered over dissolved mass: by how much a relative error in the residue grows."""
    recovered, initial = r.recovered(), r.initial()
    with np.errstate(invalid="ignore", divide="ignore"):
        dissolved = initial - recovered
        return np.where(dissolved > 0, recovered / dissolved, np.nan)


# Remarks of the reader that bear on how far a reading can be trusted, and where they matter.
_DOUBTS = ("approximate", "censored", "unclear", "hidden", "struck", "implausible", "incomplete")
_READINGS = {
    "residue": r"mass_g$|_ml$",
    "titration": r"^titrant|^aliquot",
    "evaporation": r"^dish|aliquot_ml$",
}
_NOT_OF_RESIDUE = r"^(?:dish|titrant|aliquot|evaporation|wet_cake|second_dry)"


def with_flags(
    note: npt.NDArray[np.object_], run_ids: pd.Series, flags: pd.DataFrame, route: str
) -> npt.NDArray[np.object_]:
    """Return the notes with the reader's doubts about readings of this route added.

    Parameters
    ----------
    note : ndarray of str objects, shape (n,)
        Notes so far.
    run_ids : Series
        Ids of the runs.
    flags : DataFrame
        ``run_id, column, flag, note`` as in :class:`~solubility_stats.records.ClassRecords`.
    route : str
        Route whose readings count.
    """
    columns = flags["column"].astype("str")
    mine = columns.str.contains(_READINGS[route]) & flags["flag"].isin(_DOUBTS)
    if route == "residue":
        mine &= ~columns.str.contains(_NOT_OF_RESIDUE)
    if not mine.any():
        return note
    words = columns[mine] + " " + flags.loc[mine, "flag"].astype("str")
    added = words.groupby(flags.loc[mine, "run_id"]).agg(lambda w: "; ".join(dict.fromkeys(w)))
    extra = run_ids.map(added).fillna("").to_numpy(dtype=object)
    return np.array(["; ".join(p for p in pair if p) for pair in zip(note, extra, strict=True)],
                    dtype=object)  # fmt: skip


def empty_budget() -> pd.DataFrame:
    """Return a budget without rows."""
    return pd.DataFrame({c: pd.Series(dtype="str") for c in BUDGET_COLUMNS})


def budget_frame(
    arrays: RouteArrays, run_ids: npt.NDArray[np.object_], rows: Rows, apparent: bool = False
) -> pd.DataFrame:
    """Return the long budget of some runs, ordered by run and then by component.

    Parameters
    ----------
    arrays : RouteArrays
        The route.
    run_ids : ndarray of str objects, shape (n,)
        Ids of all its runs.
    rows : ndarray of int
        Which of them.
    apparent : bool
        Budget of the plain result.
    """
    total = (arrays.u_apparent if apparent else arrays.u)[rows] ** 2
    parts = [
        _component_frame(arrays, component, run_ids, rows, total, apparent)
        for component in arrays.components(apparent)
    ]
    if not parts or not rows.size:
        return empty_budget()
    frame = pd.concat(parts, ignore_index=True)
    by_run = np.argsort(np.tile(np.arange(rows.size), len(parts)), kind="stable")
    return frame.iloc[by_run].reset_index(drop=True)


def _component_frame(
    arrays: RouteArrays,
    component: Component,
    run_ids: npt.NDArray[np.object_],
    rows: Rows,
    total: npt.NDArray[np.float64],
    apparent: bool,
) -> pd.DataFrame:
    def some(x: object) -> npt.NDArray[np.float64]:
        return np.broadcast_to(np.asarray(x, dtype=float), (arrays.n,))[rows]

    contribution = arrays.contribution(component, rows, apparent)
    keys = component.keys
    scope: Any = np.full(rows.size, "run")
    scope_key: Any = run_ids[rows]
    if keys is not None:
        codes = keys.codes[rows]  # -1, the run's own, finds the extra last entry
        scope = np.array([*keys.scopes, "run"], dtype=object)[codes]
        scope_key = np.where(
            codes >= 0, np.array([*keys.labels, ""], dtype=object)[codes], run_ids[rows]
        )
    with np.errstate(invalid="ignore", divide="ignore"):
        share = 100.0 * contribution**2 / total
    frame = {
        "run_id": run_ids[rows],
        "route": arrays.inputs.route,
        "component": component.name,
        "quantity": component.quantity,
        "value": some(arrays.inputs.values[component.quantity]),
        "u": some(component.u),
        "unit": component.unit,
        "distribution": component.distribution,
        "evaluation": component.evaluation,
        "dof": component.dof,
        "scope": scope,
        "scope_key": scope_key,
        "sensitivity": arrays.sensitivity(component, apparent)[rows],
        "contribution_g_per_100g": contribution,
        "share_percent": share,
        "basis": component.basis,
    }
    return pd.DataFrame(frame, columns=list(BUDGET_COLUMNS))


def converted_frame(
    table: pd.DataFrame, solid: Solid, unit: str, apparent: bool = False
) -> pd.DataFrame:
    """Return results in another unit; see :meth:`~.estimates.Estimates.in_unit`."""
    from solubility_stats.reference import convert

    kind = "apparent" if apparent else "value"
    value = table[f"{kind}_g_per_100g"].to_numpy(dtype=float)
    u = table[f"u{'_apparent' if apparent else ''}_g_per_100g"].to_numpy(dtype=float)
    possible = np.isfinite(value) & (value >= 0)
    about = convert.Solution(
        formula=solid.formula,
        temperature_c=table["temperature_c"].to_numpy(dtype=float)[possible],
        phi_ml_per_g=solid.specific_volume_ml_per_g,
        u_phi_ml_per_g=solid.u_specific_volume_ml_per_g,
    )
    found = convert.convert_u(
        value[possible], u[possible], "g_per_100g_water", unit, solution=about
    )
    new = np.full((2, len(table)), np.nan)
    new[0, possible], new[1, possible] = found
    return table[["run_id", "route"]].assign(
        value=new[0], u=new[1], unit=unit, used=table["used"] & possible
    )
