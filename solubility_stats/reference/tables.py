"""Tidy frames about a curve: its sources, points, fits, spread, and the way in from a frame."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.errors import InputError, UnreadableFileError
from solubility_stats.reference.combine import CARRY_K, CARRY_PER_K, Combined
from solubility_stats.reference.fits import fit_source
from solubility_stats.reference.solutes import Solute, Source, parse_solute
from solubility_stats.reference.values import CurveValue

Vector = npt.NDArray[np.float64]

FEWEST_FOR_CURVE = 5


def sources(data: Solute, model: Combined) -> pd.DataFrame:
    """Return one row per source of the solute; ``used`` tells those in this curve."""
    return pd.DataFrame(
        {
            "key": [s.key for s in data.sources],
            "citation": [s.citation for s in data.sources],
            "family": [s.family for s in data.sources],
            "quality": [s.quality for s in data.sources],
            "from_memory": [_memory(s.from_memory) for s in data.sources],
            "covers": [_span(s.t_c) for s in data.sources],
            "points": [s.t_c.size for s in data.sources],
            "used": [s.key in model.names for s in data.sources],
            "why_not": [s.why_not for s in data.sources],
            "reached": [s.reached for s in data.sources],
            "note": [s.note for s in data.sources],
        }
    )


def points(data: Solute, model: Combined) -> pd.DataFrame:
    """Return one row per published value, struck ones with their reason and without a value."""
    rows: list[dict[str, Any]] = []
    for s in data.sources:
        about = {"source": s.key, "unit": s.unit, "formula": s.formula}
        used = s.key in model.names
        rows += [
            {
                **about,
                "temperature_c": float(t),
                "published": float(raw),
                "g_per_100g": float(v),
                "from_memory": memory,
                "used": used,
                "struck": "",
            }
            for t, raw, v, memory in zip(s.t_c, s.published, s.value, s.from_memory, strict=True)
        ]
        rows += [
            {
                **about,
                "temperature_c": float(out["temperature_c"]),
                "published": float(out["value"]),
                "g_per_100g": np.nan,
                "from_memory": False,
                "used": False,
                "struck": str(out["reason"]),
            }
            for out in s.struck
        ]
    names = ["source", "temperature_c", "published", "unit", "formula", "g_per_100g"]
    return pd.DataFrame(rows)[[*names, "from_memory", "used", "struck"]]


def fits(model: Combined) -> pd.DataFrame:
    """Return coefficients of ln s = A + B/T + C ln T + D T (T in K) and the scatter in percent."""
    return pd.DataFrame(
        [
            {
                "source": name,
                "points": fit.n,
                "terms": fit.terms,
                **fit.published(),
                "scatter_percent": 100 * fit.scatter,
                "low_c": fit.low_c,
                "high_c": fit.high_c,
            }
            for name, fit in zip(model.names, model.fits, strict=True)
        ]
    )


def by_source(data: Solute, model: Combined, grid: Vector, *, every: bool) -> pd.DataFrame:
    """Return each source's own value at each temperature it reaches (see ``ReferenceCurve``)."""
    combined = np.exp(model.log_value(grid))
    shown = [s for s in data.sources if every or s.key in model.names]
    parts = [_one_source(s, model, grid, combined) for s in shown]
    together = pd.concat(parts, ignore_index=True)
    return together.sort_values("temperature_c", kind="stable", ignore_index=True)


def _one_source(s: Source, model: Combined, grid: Vector, combined: Vector) -> pd.DataFrame:
    # Too few points for a curve of their own say what they say at the nearest one.
    if np.unique(s.t_c).size < FEWEST_FOR_CURVE:
        nearest = np.argmin(np.abs(grid[:, None] - s.t_c), axis=1)
        inside, log_s, own = s.t_c[nearest], np.log(s.value)[nearest], s.u_relative[nearest] ** 2
    else:
        fit = fit_source(s.t_c, s.value, s.u_relative)
        inside = np.clip(grid, fit.low_c, fit.high_c)
        log_s, own = fit.log_value(inside), np.sum(fit.loadings(inside) ** 2, axis=1)
    away = np.abs(grid - inside)
    value = np.exp(log_s + model.log_value(grid) - model.log_value(inside))
    u = value * np.sqrt(own + s.accuracy**2 + (CARRY_PER_K * away) ** 2)
    note = np.full(grid.size, "", dtype=object)
    carried = away > 0
    note[carried] = [f"its value at {at:g} °C, carried along the curve" for at in inside[carried]]
    frame = pd.DataFrame(
        {
            "temperature_c": grid,
            "source": s.key,
            "family": s.family,
            "quality": s.quality,
            "value": value,
            "u": u,
            "percent_from_combined": 100 * (value / combined - 1),
            "combined": s.key in model.names,
            "note": note,
        }
    )
    reached: pd.DataFrame = frame[away <= CARRY_K]
    return reached


def spread(model: Combined, grid: Vector, value: Vector, u: Vector) -> pd.DataFrame:
    """Return the disagreement of the sources in use per temperature."""
    log_s = model.log_sources(grid)
    low = np.array([f.low_c for f in model.fits])[:, None]
    high = np.array([f.high_c for f in model.fits])[:, None]
    covered = (grid >= low) & (grid <= high)
    # Where a single temperature is carried along another curve, what is carried is all there is.
    covered |= ~covered.any(axis=0)
    lowest = np.exp(np.min(np.where(covered, log_s, np.inf), axis=0))
    highest = np.exp(np.max(np.where(covered, log_s, -np.inf), axis=0))
    families = [len(set(model.family[column].tolist())) for column in covered.T]
    return pd.DataFrame(
        {
            "temperature_c": grid,
            "value": value,
            "u": u,
            "u_percent": 100 * u / value,
            "between_percent": 100 * model.between(grid),
            "lowest": lowest,
            "highest": highest,
            "range_percent": 100 * (highest - lowest) / value,
            "sources": covered.sum(axis=0),
            "families": families,
        }
    )


def changed(key: str, grid: Vector, other: CurveValue, value: Vector) -> pd.DataFrame:
    """Return the curve without one source beside the full one."""
    return pd.DataFrame(
        {
            "temperature_c": grid,
            "left_out": key,
            "value": other.value,
            "u": other.u,
            "change_percent": 100 * (other.value / value - 1),
        }
    )


def changed_empty() -> pd.DataFrame:
    """Return the frame of :func:`changed` without rows."""
    nothing = np.array([])
    return changed("", nothing, CurveValue(nothing, nothing), nothing)


def chosen_keys(data: Solute, wanted: Iterable[str] | str) -> list[str]:
    """Return the keys of the sources meant, by full key or by its beginning.

    Raises
    ------
    InputError
        If a wanted source is not known.
    """
    asked = [wanted] if isinstance(wanted, str) else list(wanted)
    keys = [s.key for s in data.sources]
    chosen: list[str] = []
    for name in asked:
        plain = str(name).casefold()
        hits = [k for k in keys if k.casefold() == plain]
        hits = hits or [k for k in keys if k.casefold().startswith(plain) and plain]
        if not hits:
            raise InputError(
                "no such source", where=data.name, found=name, expected=" or ".join(keys)
            )
        chosen += hits
    return list(dict.fromkeys(chosen))


def read_points(path: str | os.PathLike[str]) -> pd.DataFrame:
    """Return a CSV file of points as a frame.

    Raises
    ------
    UnreadableFileError
        If the file cannot be opened or holds no table.
    """
    try:
        return pd.read_csv(path)
    except (OSError, ValueError) as problem:  # pandas' parser errors are ValueErrors
        raise UnreadableFileError(
            f"the file of points cannot be read ({problem})", where=os.path.basename(path)
        ) from problem


def solute_from_frame(
    frame: pd.DataFrame, solute: str, formula: str, unit: str, between_percent: float
) -> Solute:
    """Return a solute from a user's frame; see ``ReferenceCurve.from_frame``."""
    missing = [c for c in ("temperature_c", "value") if c not in frame]
    if missing:
        raise InputError(
            "columns are missing",
            where=f"data of {solute}",
            found=[str(c) for c in frame.columns],
            expected=", ".join(missing),
        )
    whole = frame.reset_index(drop=True)
    named = whole["source"] if "source" in whole else pd.Series(pd.NA, whole.index)
    key = named.fillna("own data").astype("str")
    entries = [
        _entry(str(name), part, unit) for name, part in whole.groupby(key, sort=False, dropna=False)
    ]
    said: dict[str, Any] = {
        "name": solute,
        "formula": formula,
        "between_percent": between_percent,
        "source": entries,
    }
    return parse_solute(said, where=f"data of {solute}")


def _entry(name: str, part: pd.DataFrame, unit: str) -> Mapping[str, Any]:
    columns = ["temperature_c", "value", *(["u"] if "u" in part else [])]
    entry: dict[str, Any] = {"key": name, "unit": unit, "points": part[columns].values.tolist()}
    for word in ("family", "citation", "quality"):
        if word in part:
            entry[word] = str(part[word].iloc[0])
    return entry


def _memory(flags: tuple[bool, ...]) -> str:
    if all(flags):
        return "all"
    return f"{sum(flags)} of {len(flags)}" if any(flags) else ""


def _span(t_c: Vector) -> str:
    low, high = float(t_c.min()), float(t_c.max())
    return f"{low:g} °C" if low == high else f"{low:g}–{high:g} °C"
