"""What enters a pooling: values, independent variances and shared loadings, one row per unit.

The border of the room: frames, estimates and arrays become a :class:`Sample` here, by position
and never by label, and everything behind it works on arrays. Rows that belong to one unit of
replication (the runs of a group, the groups of a section) are combined here too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.covariance import SharedCovariance
from solubility_stats.errors import InputError

Vector = npt.NDArray[np.float64]
Missing = Literal["raise", "omit"]

IDENTITY = ("run_id", "semester", "section", "group", "run")
GROUP_KEYS = ("semester", "section", "group")
CANONICAL = "value_g_per_100g"
APPARENT = "apparent_g_per_100g"
UNIT = "g/100 g water"


@dataclass(frozen=True)
class Sample:
    """Values of ``n`` units with their covariance.

    Attributes
    ----------
    y : ndarray, shape (n,)
        Values.
    covariance : SharedCovariance or None
        ``None`` when no uncertainties were given.
    labels : DataFrame
        What identifies each unit, ``n`` rows.
    unit : str
        Unit of the values.
    replicate : str
        What one row is, in words ("row", "group", "section").
    set_aside : DataFrame
        Rows left out, with ``reason``.
    rows : int
        Rows the units were made of.
    tau2_within : float
        Variance between rows of one unit beyond their stated uncertainty.
    """

    y: Vector
    covariance: SharedCovariance | None
    labels: pd.DataFrame
    unit: str
    replicate: str
    set_aside: pd.DataFrame
    rows: int
    tau2_within: float = 0.0

    @property
    def n(self) -> int:
        """Number of units."""
        return int(self.y.size)


def sample_from(
    data: Any,
    *,
    value: str | None = None,
    u: str | npt.ArrayLike | None = None,
    covariance: SharedCovariance | npt.ArrayLike | None = None,
    route: str = "residue",
    apparent: bool = False,
    missing: Missing = "raise",
    by: str | Sequence[str] | None = None,
) -> Sample:
    """Turn whatever was given into a :class:`Sample`; see :func:`..consensus.pool`."""
    if missing not in ("raise", "omit"):
        raise InputError("unknown choice", where="missing", found=missing, expected="raise or omit")
    shared = _as_shared(covariance)
    if hasattr(data, "used") and hasattr(data, "covariance") and hasattr(data, "table"):
        sample = _from_estimates(data, shared, route, apparent, missing)
        canonical = True
    elif isinstance(data, pd.DataFrame):
        sample, canonical = _from_frame(data, value, u, shared, route, apparent, missing)
    else:
        sample, canonical = _from_arrays(data, u, shared, missing), False
    if sample.n == 0:
        raise InputError(
            "no value is left to pool",
            where=f"route {route}" if canonical else "data",
            remedy="Look at the column reason of the table: it says why each row was set aside.",
        )
    keys = _keys(by, sample.labels, canonical)
    return combine(sample, keys) if keys else sample


def _keys(by: str | Sequence[str] | None, labels: pd.DataFrame, canonical: bool) -> list[str]:
    if by is None:
        found = [k for k in GROUP_KEYS if k in labels.columns]
        return found if canonical and "group" in found else []
    return key_columns(by, labels)


def key_columns(by: str | Sequence[str], labels: pd.DataFrame) -> list[str]:
    """Return the columns that together name a unit: group "3" of each section is another one."""
    keys = [by] if isinstance(by, str) else list(by)
    if absent := [k for k in keys if k not in labels.columns]:
        raise InputError(
            "no such column", where="by", found=absent, expected=f"one of {list(labels.columns)}"
        )
    if keys == ["section"] and "semester" in labels.columns:
        keys = ["semester", "section"]
    if keys == ["group"]:
        keys = [k for k in GROUP_KEYS if k in labels.columns]
    return keys


# --- the three kinds of input ----------------------------------------------------------------


def _from_estimates(
    data: Any, covariance: SharedCovariance | None, route: str, apparent: bool, missing: Missing
) -> Sample:
    used = data.used(route)
    cov = data.covariance(route, apparent) if covariance is None else covariance
    table = data.table
    of_route = table[table["route"] == route] if "route" in table else table
    left_out = of_route[~of_route["used"].astype(bool)] if "used" in of_route else of_route.iloc[:0]
    y = _numbers(used[APPARENT if apparent else CANONICAL], "value")
    return _clean(y, cov, _labels(used), UNIT, _aside(left_out), missing)


def _from_frame(
    data: pd.DataFrame,
    value: str | None,
    u: str | npt.ArrayLike | None,
    covariance: SharedCovariance | None,
    route: str,
    apparent: bool,
    missing: Missing,
) -> tuple[Sample, bool]:
    own = APPARENT if apparent else CANONICAL
    canonical = value is None and own in data.columns
    name = value if value is not None else own if canonical else "value"
    _need(data, name, "value")
    frame, left_out = data, data.iloc[:0]
    if canonical:
        if "route" in frame:
            frame = frame[frame["route"] == route]
        if "used" in frame:
            left_out = frame[~frame["used"].astype(bool)]
            frame = frame[frame["used"].astype(bool)]
    if u is None and covariance is None:
        default = f"u_{own}" if canonical and apparent else "u_g_per_100g" if canonical else "u"
        u = default if default in data.columns else None
    if isinstance(u, str):
        _need(data, u, "u")
        u = frame[u]
    y = _numbers(frame[name], name)
    cov = _covariance(u, covariance, y.size)
    sample = _clean(y, cov, _labels(frame), UNIT if canonical else "", _aside(left_out), missing)
    return sample, canonical


def _from_arrays(
    data: Any,
    u: str | npt.ArrayLike | None,
    covariance: SharedCovariance | None,
    missing: Missing,
) -> Sample:
    if isinstance(u, str):
        raise InputError("a column name needs a DataFrame", where="u", found=u)
    if isinstance(data, pd.Series) and isinstance(u, pd.Series) and not data.index.equals(u.index):
        raise InputError(
            "values and uncertainties carry different labels",
            where="u",
            remedy="Bring both into the same order, or give one DataFrame with two columns.",
        )
    y = _numbers(data, "data")
    if y.ndim != 1:
        raise InputError("one dimension is needed", where="data", found=f"shape {y.shape}")
    index = data.index if isinstance(data, pd.Series) else pd.RangeIndex(1, y.size + 1)
    labels = pd.DataFrame({"label": index.astype(str)})
    return _clean(y, _covariance(u, covariance, y.size), labels, "", pd.DataFrame(), missing)


# --- checks ----------------------------------------------------------------------------------


def _need(data: pd.DataFrame, name: str, where: str) -> None:
    if name not in data.columns:
        raise InputError(
            "no such column",
            where=where,
            found=name,
            expected=f"one of {[str(c) for c in data.columns[:20]]}",
        )


def _numbers(column: Any, where: str) -> Vector:
    try:
        return np.array(column, dtype=float)
    except (TypeError, ValueError) as error:
        raise InputError(
            "something is not a number",
            where=where,
            found=str(error),
            remedy="Convert the column to numbers, or set what cannot be read to missing.",
        ) from None


def _as_shared(
    covariance: SharedCovariance | npt.ArrayLike | None,
) -> SharedCovariance | None:
    if covariance is None or isinstance(covariance, SharedCovariance):
        return covariance
    try:
        return SharedCovariance.from_dense(covariance)
    except ValueError as problem:
        raise InputError(
            str(problem), where="covariance", expected="a symmetric (n, n) covariance matrix"
        ) from None


def _covariance(
    u: npt.ArrayLike | None, covariance: SharedCovariance | None, n: int
) -> SharedCovariance | None:
    if covariance is not None:
        if covariance.n != n:
            raise InputError(
                "covariance does not fit the values",
                where="covariance",
                found=f"{covariance.n} values",
                expected=f"{n}",
            )
        return covariance
    if u is None:
        return None
    given = np.broadcast_to(_numbers(u, "u"), (n,)) if np.ndim(u) == 0 else _numbers(u, "u")
    if given.shape != (n,):
        raise InputError(
            "as many uncertainties as values are needed",
            where="u",
            found=f"shape {given.shape}",
            expected=f"({n},)",
        )
    if np.any(given < 0):
        raise InputError(
            "a standard uncertainty is negative", where="u", found=float(given[given < 0][0])
        )
    return SharedCovariance(given**2)


def _labels(frame: pd.DataFrame) -> pd.DataFrame:
    known = [c for c in IDENTITY if c in frame.columns]
    labels = frame[known].reset_index(drop=True)
    if not known:
        labels.insert(0, "label", frame.index.astype(str))
    return labels


def _aside(rows: pd.DataFrame) -> pd.DataFrame:
    kept = [c for c in (*IDENTITY, "reason") if c in rows.columns]
    return rows[kept].reset_index(drop=True)


def _clean(
    y: Vector,
    covariance: SharedCovariance | None,
    labels: pd.DataFrame,
    unit: str,
    set_aside: pd.DataFrame,
    missing: Missing,
) -> Sample:
    bad = ~np.isfinite(y)
    if covariance is not None:
        bad |= ~np.isfinite(covariance.variance) | ~np.isfinite(covariance.loadings).all(axis=1)
    if bad.any():
        lost = labels[bad].assign(reason="value or uncertainty missing or infinite")
        if missing == "raise":
            raise InputError(
                f"{int(bad.sum())} of {y.size} rows have no finite value and uncertainty",
                where="data",
                found=lost.iloc[:8, 0].tolist(),
                remedy="Mend them, or pass missing='omit' to leave them out and have them listed.",
            )
        set_aside = pd.concat([set_aside, lost], ignore_index=True)
        y, labels = y[~bad], labels[~bad].reset_index(drop=True)
        covariance = None if covariance is None else covariance.take(~bad)
    return Sample(y, covariance, labels, unit, "row", set_aside, int(y.size))


# --- units of replication --------------------------------------------------------------------


def combine(sample: Sample, keys: Sequence[str]) -> Sample:
    """Combine the rows of each unit of replication into one value.

    Within a unit the rows are weighted by ``1 / (v + t2)``: ``v`` their independent variance,
    ``t2`` the variance between rows of one unit beyond ``v``, common to all units and solved
    from the pooled within-unit sum of squares (Paule & Mandel's condition applied within
    units). Shared loadings are combined with the same weights, so they do not average out.
    """
    unit = unit_codes(sample.labels, keys)
    count = int(unit.max()) + 1
    replicate = keys[-1]
    first = pd.Series(unit).drop_duplicates().index.to_numpy()
    if count == sample.n:
        return replace(sample, replicate=replicate)
    kept = [c for c in sample.labels.columns if c in keys]
    labels = sample.labels.iloc[first][kept].reset_index(drop=True)
    labels["rows"] = np.bincount(unit)
    cov = sample.covariance
    v = np.zeros(sample.n) if cov is None else cov.variance
    t2 = 0.0 if cov is None else within_variance(sample.y, v, unit)
    total = v + t2
    w = 1 / total if np.all(total > 0) else np.ones(sample.n)
    a = w / np.bincount(unit, w)[unit]
    y = _sums(unit, a * sample.y)
    joined = None
    if cov is not None:
        loadings = np.zeros((count, len(cov.factors)))
        for j in range(len(cov.factors)):
            loadings[:, j] = _sums(unit, a * cov.loadings[:, j])
        joined = SharedCovariance(_sums(unit, a**2 * total), loadings, cov.factors)
    return replace(
        sample, y=y, covariance=joined, labels=labels, replicate=replicate, tau2_within=t2
    )


def unit_codes(labels: pd.DataFrame, keys: Sequence[str]) -> npt.NDArray[Any]:
    """Return the number of the unit of each row, 0 upwards in order of appearance."""
    words = [labels[key].astype("str").fillna("") for key in keys]
    unit = np.zeros(len(labels), dtype=np.int64)
    for column in words:
        code, distinct = pd.factorize(column)
        unit = pd.factorize(unit * len(distinct) + code)[0]
    return _own_unit_for_nameless(unit, (words[-1] == "").to_numpy())


def _own_unit_for_nameless(unit: npt.NDArray[Any], nameless: npt.NDArray[Any]) -> npt.NDArray[Any]:
    # Rows without a name are not known to belong together: each stays a unit of its own.
    if not nameless.any():
        return unit
    fresh = unit.copy()
    fresh[nameless] = unit.max() + 1 + np.arange(int(nameless.sum()))
    return np.asarray(pd.factorize(fresh)[0])


def within_variance(y: Vector, v: Vector, unit: npt.NDArray[Any]) -> float:
    """Return the common variance between rows of one unit beyond ``v``; 0 if there is none.

    Solves ``sum over units of sum w (y - mean_w)^2 = n - units`` with ``w = 1 / (v + t2)``.
    """
    dof = y.size - (int(unit.max()) + 1)
    centred = y - y.mean()

    def excess(t2: float) -> float:
        w = 1 / (v + t2)
        mean = np.bincount(unit, w * centred) / np.bincount(unit, w)
        return float(np.sum(w * (centred - mean[unit]) ** 2)) - dof

    plain = np.bincount(unit, centred) / np.bincount(unit)
    top = float(np.sum((centred - plain[unit]) ** 2)) / dof if dof else 0.0
    if top <= 0:
        return 0.0
    if np.any(v <= 0):
        return top if np.all(v <= 0) else _root(excess, top * 1e-12, top)
    return 0.0 if excess(0.0) <= 0 else _root(excess, 0.0, top)


def _sums(unit: npt.NDArray[Any], x: Vector) -> Vector:
    return np.asarray(np.bincount(unit, x), dtype=float)


def _root(function: Any, low: float, high: float) -> float:
    from scipy.optimize import brentq

    if function(low) <= 0:
        return low
    if function(high) >= 0:
        return high
    return float(brentq(function, low, high, xtol=1e-14 * high, rtol=1e-13))
