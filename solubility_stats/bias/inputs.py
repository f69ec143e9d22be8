"""What the room takes in: estimates of a class, or a plain frame dressed up as such."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.covariance import SharedCovariance
from solubility_stats.errors import InputError

Vector = npt.NDArray[np.float64]
IDENTITY = ("run_id", "semester", "section", "group", "run")


class ClassEstimates(Protocol):
    """The part of the estimates of a class that this room uses."""

    @property
    def table(self) -> pd.DataFrame:
        """One row per run and route."""

    @property
    def protocol(self) -> Any:
        """What was used and expected."""

    def used(self, route: str) -> pd.DataFrame:
        """Return the rows of a route that enter statistics."""

    def covariance(self, route: str = "residue", apparent: bool = False) -> SharedCovariance:
        """Return the covariance of those rows."""


class Curve(Protocol):
    """The part of a reference curve that this room uses; all in g per 100 g water."""

    @property
    def low_c(self) -> float:
        """Lowest temperature covered, degC."""

    @property
    def high_c(self) -> float:
        """Highest temperature covered, degC."""

    @property
    def solute(self) -> str:
        """Name of the solid."""

    @property
    def sources(self) -> Any:
        """The sources."""

    def at(self, t: Any) -> Any:
        """Return value and standard uncertainty."""

    def covariance(self, t: Any) -> Any:
        """Return the covariance of the values at several temperatures."""

    def slope(self, t: Any) -> Any:
        """Return the change per kelvin."""

    def by_source(self, t: Any) -> pd.DataFrame:
        """Return value and uncertainty under each source."""


@dataclass(frozen=True)
class FrameEstimates:
    """A plain frame of values with uncertainties, seen as estimates.

    Attributes
    ----------
    table : DataFrame
        With the columns of an Estimates table; what was absent is filled in.
    protocol : object
        Default protocol, or the one given.
    """

    table: pd.DataFrame
    protocol: Any

    def used(self, route: str) -> pd.DataFrame:
        """Return the rows of a route that enter statistics."""
        return self.table[(self.table["route"] == route) & self.table["used"].astype(bool)]

    def covariance(self, route: str = "residue", apparent: bool = False) -> SharedCovariance:
        """Return independent variances: a plain frame does not say what is shared."""
        name = "u_apparent_g_per_100g" if apparent else "u_g_per_100g"
        return SharedCovariance(np.asarray(self.used(route)[name], dtype=float) ** 2)


def usable(est: ClassEstimates, route: str) -> pd.DataFrame:
    """Return the used rows of a route; an empty frame where no run has its readings."""
    if not (est.table["route"] == route).any():
        return est.table.iloc[:0]
    return est.used(route)


def examined(table: pd.DataFrame) -> pd.Series:
    """Tell which rows are a group's word on its run, used or not; index of ``table``.

    Rows the reader or the teacher set aside (a later submission, the same line again, an example
    row, another solid) are not: nothing that stands in them says anything about a group.
    """
    if "set_aside" not in table:
        return pd.Series(True, index=table.index)
    return table["set_aside"].fillna("").astype("str") == ""


@dataclass(frozen=True)
class _Restricted:
    """Estimates without the rows a curve cannot be compared with."""

    base: ClassEstimates
    table: pd.DataFrame

    @property
    def protocol(self) -> Any:
        """What was used and expected."""
        return self.base.protocol

    @property
    def budget(self) -> Any:
        """The budgets of all rows, used or not."""
        return getattr(self.base, "budget", None)

    def used(self, route: str) -> pd.DataFrame:
        """Return the rows of a route that enter statistics."""
        return self.table[(self.table["route"] == route) & self.table["used"].astype(bool)]

    def covariance(self, route: str = "residue", apparent: bool = False) -> SharedCovariance:
        """Return the covariance of those rows."""
        before = self.base.used(route).index
        return self.base.covariance(route, apparent).take(before.isin(self.used(route).index))


def within_curve(est: ClassEstimates, curve: Curve) -> ClassEstimates:
    """Return the estimates with rows outside the curve's temperatures set aside, and why.

    Where every used row lies outside, the estimates come back as they are and the curve itself
    refuses them.
    """
    t = pd.to_numeric(est.table["temperature_c"], errors="coerce")
    used = est.table["used"].astype(bool)
    outside = used & ~t.between(curve.low_c, curve.high_c)
    if not outside.any() or outside.sum() == used.sum():
        return est
    table = est.table.copy()
    span = f"({curve.low_c:g} to {curve.high_c:g} °C)"
    said = [
        f"temperature {value:g} °C lies outside the reference {span}: not compared"
        for value in t[outside]
    ]
    table.loc[outside, "reason"] = said
    table.loc[outside, "used"] = False
    return _Restricted(est, table)


def outside_curve(before: ClassEstimates, after: ClassEstimates, route: str) -> list[str]:
    """Return the runs of a route that :func:`within_curve` took out, in table order."""
    taken = before.table["used"].astype(bool) & ~after.table["used"].astype(bool)
    mine = taken & (before.table["route"] == route)
    return [str(r) for r in before.table.loc[mine, "run_id"]]


def as_estimates(data: Any, protocol: Any = None) -> ClassEstimates:
    """Return ``data`` as estimates.

    Parameters
    ----------
    data : Estimates or DataFrame
        A frame needs ``value_g_per_100g, u_g_per_100g, temperature_c``.
    protocol : Protocol, optional
        For a frame; default protocol where absent.

    Raises
    ------
    InputError
        If it is neither, or a needed column is absent.
    """
    if isinstance(data, pd.DataFrame):
        return _from_frame(data, protocol)
    if all(hasattr(data, name) for name in ("table", "used", "covariance")):
        return data  # type: ignore[no-any-return]
    raise InputError(
        "these are no estimates of a class",
        where="est",
        found=type(data).__name__,
        expected="the result of estimate(...), or a DataFrame",
    )


def _from_frame(frame: pd.DataFrame, protocol: Any) -> FrameEstimates:
    table = frame.reset_index(drop=True).copy()
    needed = ("value_g_per_100g", "u_g_per_100g", "temperature_c")
    absent = [c for c in needed if c not in table]
    if absent:
        raise InputError(
            "columns are missing",
            where="est",
            found=[str(c) for c in frame.columns[:12]],
            expected=", ".join(needed),
        )
    filled: dict[str, Any] = {
        "route": "residue",
        "used": True,
        "reason": "",
        "u_temperature_k": 0.0,
        "apparent_g_per_100g": table["value_g_per_100g"],
        "u_apparent_g_per_100g": table["u_g_per_100g"],
        "run_id": [str(i + 1) for i in range(len(table))],
        **dict.fromkeys(IDENTITY[1:], ""),
    }
    for name, value in filled.items():
        if name not in table:
            table[name] = value
    if protocol is None:
        from solubility_stats.measurement import Protocol as Bench

        protocol = Bench.default("")
    return FrameEstimates(table, protocol)


def curve_loadings(curve: Curve, temperature_c: Vector) -> Vector:
    """Return the curve's uncertainty as shared loadings, g per 100 g water, shape (n, k).

    The covariance between distinct temperatures is split into its principal parts; those below
    a millionth of the whole are dropped, so k stays small whatever the number of runs.
    """
    distinct, where = np.unique(temperature_c, return_inverse=True)
    if distinct.size > 60:  # finer than any reading: the curve is smooth between grid points
        grid = np.linspace(distinct[0], distinct[-1], 60)
        coarse = _principal(_dense(curve, grid))
        return np.column_stack([np.interp(temperature_c, grid, c) for c in coarse.T])
    return np.asarray(_principal(_dense(curve, distinct))[where])


def _dense(curve: Curve, temperature_c: Vector) -> Vector:
    found = curve.covariance(temperature_c)
    return np.asarray(found.dense() if isinstance(found, SharedCovariance) else found, dtype=float)


def _principal(covariance: Vector) -> Vector:
    values, vectors = np.linalg.eigh(np.atleast_2d(covariance))
    keep = values > 1e-6 * max(float(values.sum()), 1e-300)
    return np.asarray(vectors[:, keep] * np.sqrt(values[keep]))
