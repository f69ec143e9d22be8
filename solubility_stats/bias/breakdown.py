"""The difference taken apart: by source of the curve, route, part of the class, temperature."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.class_difference import (
    ClassDifference,
    against_reference,
    class_difference,
)
from solubility_stats.bias.differences import REFERENCE, Differences
from solubility_stats.bias.inputs import Curve

Vector = npt.NDArray[np.float64]
Options = Mapping[str, Any]


def _row(found: ClassDifference) -> dict[str, Any]:
    return {
        "percent": found.percent,
        "u_percent": found.u_percent,
        "low_percent": found.low_percent,
        "high_percent": found.high_percent,
        "p_value": found.p_value,
        "verdict": found.verdict,
        "groups": found.n,
    }


def by_source_table(
    unexplained: ClassDifference, apparent: ClassDifference, curve: Curve
) -> pd.DataFrame:
    """Return the class difference under each source of the curve.

    Each source's own value and uncertainty, at the mean temperature of the class, replace those
    of the combined curve; the temperature dependence of the combined curve is kept.
    """
    t = unexplained.temperature_c
    combined = float(np.asarray(curve.at(t)[0]))
    rows = []
    for entry in curve.by_source(t).to_dict("records"):
        value, u = float(entry["value"]), float(entry["u"])
        if not np.isfinite(value) or value <= 0:
            continue
        ratio, relative = value / combined, u / value if np.isfinite(u) else 0.0
        shown = against_reference(apparent, ratio, relative)
        rows.append(
            {
                "source": str(entry["source"]),
                "reference_g_per_100g": value,
                "u_reference_g_per_100g": u,
                **_row(against_reference(unexplained, ratio, relative)),
                "apparent_percent": shown.percent,
                "apparent_verdict": shown.verdict,
            }
        )
    columns = ["source", "percent", "u_percent", "low_percent", "high_percent", "verdict",
               "apparent_percent", "apparent_verdict"]  # fmt: skip
    return pd.DataFrame(rows) if rows else pd.DataFrame(columns=columns)


def by_route_table(
    found_by_route: Mapping[str, tuple[ClassDifference, ClassDifference]],
) -> pd.DataFrame:
    """Return one row per route: value at the mean temperature and both differences.

    Parameters
    ----------
    found_by_route : mapping of str to (ClassDifference, ClassDifference)
        Unexplained and apparent difference of each route.
    """
    rows = []
    for route, (found, shown) in found_by_route.items():
        value = found.reference_g_per_100g * (1.0 + found.percent / 100.0)
        # The uncertainty of the value itself leaves out that of the reference.
        of_curve = found.components["component"] == REFERENCE
        own = found.components.loc[~of_curve, "u_percent"]
        u = found.reference_g_per_100g / 100.0 * float(np.sqrt(np.sum(own**2)))
        rows.append(
            {
                "route": route,
                "value_g_per_100g": value,
                "standard_uncertainty_g_per_100g": u,
                "temperature_c": found.temperature_c,
                **_row(found),
                "apparent_percent": shown.percent,
                "apparent_low_percent": shown.low_percent,
                "apparent_high_percent": shown.high_percent,
                "apparent_verdict": shown.verdict,
            }
        )
    return pd.DataFrame(rows)


def by_part(diff: Differences, column: str, options: Options) -> pd.DataFrame:
    """Return the difference of each part of a class, and of each part from the others.

    ``from_rest_percent`` is free of everything the whole class shares, the reference included.
    Fewer than two parts give an empty frame.
    """
    columns = [column, "percent", "u_percent", "low_percent", "high_percent", "p_value",
               "verdict", "groups", "from_rest_percent", "u_from_rest_percent",
               "p_from_rest"]  # fmt: skip
    if column not in diff.rows:
        return pd.DataFrame(columns=columns)
    label = diff.rows[column].astype("str").where(diff.rows[column].notna(), "")
    names = [n for n in sorted(label.unique()) if n]
    if len(names) < 2:
        return pd.DataFrame(columns=columns)
    rows = []
    for name in names:
        mask = np.asarray(label == name)
        found = class_difference(diff.take(mask), **options)
        rows.append({column: name, **_row(found), **_from_rest(diff, mask, found)})
    return pd.DataFrame(rows, columns=columns)


def _from_rest(
    diff: Differences, mask: npt.NDArray[np.bool_], found: ClassDifference
) -> dict[str, float]:
    from scipy.special import stdtr

    inside, outside = int(mask.sum()), int((~mask).sum())
    weights = np.where(mask, 1.0 / inside, -1.0 / max(outside, 1))
    # Independent variance from the scatter itself where there is enough to see it.
    spread = [np.var(diff.percent[m], ddof=1) if m.sum() > 1 else np.nan for m in (mask, ~mask)]
    stated = [float(np.mean(diff.covariance.variance[m])) for m in (mask, ~mask)]
    own = [
        s if np.isfinite(s) else max(v, found.tau_percent**2)
        for s, v in zip(spread, stated, strict=True)
    ]
    shared = float(np.sum((weights @ diff.covariance.loadings) ** 2))
    parts = [own[0] / inside, own[1] / max(outside, 1)]
    u = float(np.sqrt(sum(parts) + shared))
    # Welch and Satterthwaite, B. L. Welch, Biometrika 34 (1947) 28.
    steps = [p**2 / max(n - 1, 1) for p, n in zip(parts, (inside, outside), strict=True)]
    dof = sum(parts) ** 2 / sum(steps) if sum(steps) > 0 else np.inf
    difference = float(weights @ diff.percent)
    p = float(2 * stdtr(dof, -abs(difference) / u)) if u > 0 else np.nan
    return {"from_rest_percent": difference, "u_from_rest_percent": u, "p_from_rest": p}


def temperature_trend(
    diff: Differences, curve: Curve, tau_percent: float, level: float
) -> dict[str, Any]:
    """Return how the difference from the curve changes with temperature.

    A class that follows the curve has slope zero here; its own solubility then falls or rises
    with temperature as the curve does. Causes common to all temperatures do not enter.

    Returns
    -------
    dict
        ``slope_percent_per_k, u_percent_per_k, low, high, curve_percent_per_k, span_k, says``;
        numbers are absent where the temperatures do not differ enough.
    """
    from scipy.special import stdtrit

    t = np.asarray(diff.rows["temperature_c"], dtype=float)
    mean_t = float(np.mean(t))
    at, _ = curve.at(mean_t)
    own = 100.0 * float(np.asarray(curve.slope(mean_t))) / float(np.asarray(at))
    span = float(np.ptp(t))
    base: dict[str, Any] = {"curve_percent_per_k": own, "span_k": span}
    if t.size < 4 or span < 1.0:
        return base | {"says": "The temperatures do not differ enough to see a slope."}
    weights = 1.0 / (diff.covariance.variance + tau_percent**2)
    centred = t - np.sum(weights * t) / np.sum(weights)
    size = float(np.sum(weights * centred**2))
    combination = weights * centred / size
    slope = float(combination @ diff.percent)
    level_part = float(np.sum(weights * diff.percent) / np.sum(weights))
    rest = diff.percent - level_part - slope * centred
    # Scatter estimated from the residuals, never below what the runs state themselves.
    scale = max(1.0, float(np.sum(weights * rest**2)) / (t.size - 2))
    shared = float(np.sum((combination @ diff.covariance.loadings) ** 2))
    u = float(np.sqrt(scale / size + shared))
    half = float(stdtrit(t.size - 2, 0.5 + level / 2)) * u
    low, high = slope - half, slope + half
    if low <= 0 <= high and not low <= -own <= high:
        says = "The class follows the curve's change with temperature."
    elif low <= 0 <= high:
        says = "Too uncertain to tell whether the class follows the curve's change."
    else:
        says = "The class does not follow the curve's change with temperature."
    return base | {"slope_percent_per_k": slope, "u_percent_per_k": u, "low": low, "high": high,
                   "says": says}  # fmt: skip
