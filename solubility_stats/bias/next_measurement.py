"""Which extra measurement would tell causes apart, ranked by what it buys for its work.

Expected reductions are those of linear prediction: for readings ``h theta + e`` the posterior
covariance of the sizes falls by ``S h' (h S h' + R)^-1 h S`` whatever the outcome (the preposterior
analysis of the normal model, Raiffa and Schlaifer 1961, Applied Statistical Decision Theory).
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.forward import Solid, sensitivities
from solubility_stats.bias.model import ClassModel
from solubility_stats.bias.sampler import Draws

Vector = npt.NDArray[np.float64]

# A measurement that takes away less of the variance than this is not worth a class's time alone.
WORTH_DOING_PERCENT = 8.0
# Relative standard deviation of one added reading of a route by its instruments (judgement).
ROUTE_SD = {"titration": 0.006, "evaporation": 0.03}


@dataclass(frozen=True)
class Measurement:
    """An extra measurement a class could make; see ``measurements.toml`` for the fields."""

    name: str
    term: str
    minutes: float
    once: float
    per: str
    shows: Mapping[str, float | str] | None = None
    sd: float = 0.0
    route: str = ""
    lime_only: bool = False


@cache
def measurements() -> tuple[Measurement, ...]:
    """Return every measurement of the catalogue."""
    text = (files("solubility_stats.bias") / "measurements.toml").read_text(encoding="utf-8")
    return tuple(Measurement(name=n, **entry) for n, entry in tomllib.loads(text).items())


def rank_measurements(
    model: ClassModel,
    draws: Draws,
    solid: Solid,
    *,
    groups: int = 6,
    causes: Sequence[str] | None = None,
) -> pd.DataFrame:
    """Return the measurements that would reduce the uncertainty of the causes, best first.

    Parameters
    ----------
    model : ClassModel
        The class.
    draws : Draws
        What is known now.
    solid : Solid
        Constants of the solid.
    groups : int
        Groups that would make a measurement that is made by groups.
    causes : sequence of str, optional
        Judge the measurements by these causes only; by default by all.

    Returns
    -------
    DataFrame
        ``measurement, term, groups, minutes, u_now_percent, u_after_percent,
        reduction_percent`` (of the variance of all effects together), ``reduction_per_hour,
        settles`` (causes whose variance it would at least halve). ``u`` is the root of the
        summed variances of the effects on the class value. Measurements the class has made, or
        that would change less than 1 %, are left out; those under
        :data:`WORTH_DOING_PERCENT` come last, however quick they are.
    """
    covariance = np.cov(draws.sizes, rowvar=False)
    known = list(dict.fromkeys(model.sizes.owners))
    owners = [o for o in known if causes is None or o in causes]
    to_effect = _effect_rows(model, owners)
    now = np.einsum("kd,de,ke->k", to_effect, covariance, to_effect)
    rows = []
    for m in measurements():
        observed = _observation(m, model, solid, groups)
        if observed is None:
            continue
        h, noise = observed
        gain = covariance @ h.T @ np.linalg.solve(h @ covariance @ h.T + noise, h @ covariance)
        after = now - np.einsum("kd,de,ke->k", to_effect, gain, to_effect)
        share = 1.0 - float(after.sum() / now.sum()) if now.sum() > 0 else 0.0
        if share < 0.01:
            continue
        count = groups if m.per == "group" else 1
        minutes = m.once + m.minutes * count
        big = now > 0.01 * now.sum()
        settled = [
            o for o, a, b, c in zip(owners, after, now, big, strict=True) if c and a < 0.5 * b
        ]
        rows.append(
            {
                "measurement": m.name,
                "term": m.term.format(n=groups),
                "groups": count,
                "minutes": minutes,
                "u_now_percent": float(np.sqrt(now.sum())),
                "u_after_percent": float(np.sqrt(max(after.sum(), 0.0))),
                "reduction_percent": 100.0 * share,
                "reduction_per_hour": 100.0 * share / (minutes / 60.0),
                "settles": settled,
            }
        )
    columns = ["measurement", "term", "groups", "minutes", "u_now_percent", "u_after_percent",
               "reduction_percent", "reduction_per_hour", "settles"]  # fmt: skip
    table = pd.DataFrame(rows, columns=columns)
    worth = (table["reduction_percent"] >= WORTH_DOING_PERCENT).rename("worth")
    ordered = table.assign(worth=worth).sort_values(
        ["worth", "reduction_per_hour"], ascending=False, ignore_index=True
    )
    return ordered[columns]


def _effect_rows(model: ClassModel, owners: list[str]) -> Vector:
    rows = np.zeros((len(owners), model.sizes.d))
    for k, owner in enumerate(owners):
        at = model.owned_by(owner)
        rows[k, at] = model.effect[at]
    return rows


def _observation(
    m: Measurement, model: ClassModel, solid: Solid, groups: int
) -> tuple[Vector, Vector] | None:
    """Return sensitivity and covariance of the mean of the new readings, in rows."""
    if m.lime_only and not solid.takes_carbon_dioxide:
        return None
    if m.route:
        return _route_readings(m, model, solid, groups)
    count = groups if m.per == "group" else 1
    owned = {o: model.owned_by(o) for o in m.shows or {}}
    instruments = [j for at in owned.values() for j in at if model.sizes.kinds[j] != "cause"]
    if instruments:  # each instrument of the class by itself, in units of its uncertainty
        return np.eye(model.sizes.d)[instruments], m.sd**2 * np.eye(len(instruments))
    h = np.zeros((1, model.sizes.d))
    between = 0.0
    residue = _mean_residue(model)
    for owner, given in (m.shows or {}).items():
        at = owned[owner]
        if not at.size:
            continue
        weight = residue if given == "residue" else float(given)
        h[0, at] = weight * model.sizes.unit[at]
        spread = [float(np.mean(model.terms[j].sd_between)) for j in at]
        between += (weight * max(spread)) ** 2
    if not h.any():
        return None
    return h, np.array([[(m.sd**2 + between) / count]])


def _mean_residue(model: ClassModel) -> float:
    b = model.batch.take(model.fitted & (model.route == model.main_route))
    dissolved = b.solubility * b.density * b.water_volume_ml / 100.0
    return float(np.mean(np.maximum(b.initial_mass_g - dissolved, 0.0)))


def _route_readings(
    m: Measurement, model: ClassModel, solid: Solid, groups: int
) -> tuple[Vector, Vector] | None:
    if m.route in model.routes:
        return None
    main = np.flatnonzero(model.fitted & (model.route == model.main_route))
    sub = model.batch.take(main)
    names = list(dict.fromkeys(t.cause.name for t in model.terms))
    at: dict[str, Any] = {
        n: sum(t.mean * t.pattern[main] for t in model.terms if t.cause.name == n) for n in names
    }
    _, by_cause = sensitivities(sub, names, m.route, at=at, solid=solid)
    h = np.zeros((1, model.sizes.d))
    between = 0.0
    for j, term in enumerate(model.terms):
        slope = by_cause[:, names.index(term.cause.name)]
        h[0, j] = float(np.mean(slope * term.pattern[main])) * model.sizes.unit[j]
        between += float(np.mean((slope * term.sd_between[main]) ** 2))
    for owner in ("reference_value", "temperature_error"):
        columns = model.owned_by(owner)
        h[0, columns] = np.mean(model.design[np.ix_(main, columns)], axis=0)
    level = float(np.mean(sub.solubility))
    # Technique of the new route: causes the class has not had so far, from the same catalogue.
    noise = (ROUTE_SD[m.route] * level) ** 2 + between
    technique = (_NEW_TECHNIQUE[m.route] * level) ** 2
    return h, np.array([[noise / groups + technique]])


# Relative uncertainty shared by all new readings of a route: acid, carbonation, dilution.
_NEW_TECHNIQUE = {"titration": 0.015, "evaporation": 0.06}
