"""The joint model of a class as plain arrays: readings, sizes to be found, states of single runs.

Readings are linear in the sizes around their prior means (the bookkeeping of masses is a low
polynomial, so second-order terms are a few tenths of a percent of the solubility). Around that
line a reading scatters by its instrument and by the spread of causes between groups.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.forward import Batch, Solid, sensitivities
from solubility_stats.bias.inputs import ClassEstimates, Curve, examined, usable
from solubility_stats.bias.instruments import Shared, fold_negligible, instrument_columns
from solubility_stats.bias.priors import Term, solid_of, terms_for
from solubility_stats.bias.states import States, run_states
from solubility_stats.bias.truncated_normal import half_line_parameters

Vector = npt.NDArray[np.float64]
ROUTES = ("residue", "titration", "evaporation")


@dataclass(frozen=True)
class Sizes:
    """The sizes to be found, in units of their prior standard deviation.

    Attributes
    ----------
    names, owners : tuple of str, length d
        Each size, and the cause it belongs to.
    kinds : tuple of str
        ``cause``, ``instrument`` or ``reference``.
    unit : ndarray, shape (d,)
        One prior standard deviation in the unit of the cause.
    location, scale : ndarray, shape (d,)
        Normal prior before it is cut off at zero, in these units.
    positive : ndarray of bool, shape (d,)
        Whether it is cut off.
    judged : ndarray of bool, shape (d,)
        Whether the prior is a judgement.
    centre : ndarray, shape (d,)
        Prior mean, where the model is linearised.
    """

    names: tuple[str, ...]
    owners: tuple[str, ...]
    kinds: tuple[str, ...]
    unit: Vector
    location: Vector
    scale: Vector
    positive: npt.NDArray[np.bool_]
    judged: npt.NDArray[np.bool_]
    centre: Vector

    @property
    def d(self) -> int:
        """Number of sizes."""
        return len(self.names)


@dataclass(frozen=True)
class ClassModel:
    """A class as arrays.

    Attributes
    ----------
    sizes : Sizes
        What is to be found.
    y, offset : ndarray, shape (N,)
        Readings, and readings with every size at zero on the linearised line, g/100 g.
    design : ndarray, shape (N, d)
        Change of each reading per prior standard deviation of each size.
    own, between : ndarray, shape (N,)
        Variance of instruments, and of causes between groups as the protocol expects it.
    route : ndarray of str, shape (N,)
        Route of each reading.
    repeats : ndarray, shape (N,)
        Fitted readings of the same group by the same route. They share the group's habits, so
        for the class they weigh as one result with their mean instrument variance.
    fitted : ndarray of bool, shape (N,)
        Readings that enter the fit; the others are only examined for slips.
    rows : DataFrame, N rows
        Identity of each reading's run.
    states : States
        What may have happened to single runs.
    reference : ndarray, shape (N,)
        Curve at each run's temperature, g/100 g.
    effects : mapping of str to ndarray, shape (d,)
        By route: percent of the class value per prior standard deviation.
    batch : Batch
        What each reading's run was made of.
    terms : tuple of Term
        The causes behind the first sizes.
    main_route : str
        Route the class value is taken from.
    """

    sizes: Sizes
    y: Vector
    offset: Vector
    design: Vector
    own: Vector
    between: Vector
    route: npt.NDArray[np.str_]
    repeats: Vector
    fitted: npt.NDArray[np.bool_]
    rows: pd.DataFrame
    states: States
    reference: Vector
    effects: Mapping[str, Vector]
    batch: Batch
    terms: tuple[Term, ...]
    main_route: str

    @property
    def effect(self) -> Vector:
        """Percent of the class value per prior standard deviation, shape (d,)."""
        return self.effects[self.main_route]

    @property
    def routes(self) -> tuple[str, ...]:
        """Routes with readings."""
        return tuple(self.effects)

    def owned_by(self, owner: str) -> npt.NDArray[np.intp]:
        """Return the positions of the sizes of one cause."""
        return np.flatnonzero([o == owner for o in self.sizes.owners])


def build_model(est: ClassEstimates, curve: Curve, main_route: str = "residue") -> ClassModel:
    """Assemble the joint model of a class.

    Parameters
    ----------
    est : Estimates
        Estimates of the class, with recorded masses and volumes where the residue is used.
    curve : ReferenceCurve
        Reference.
    main_route : str
        Route whose class value the effects refer to.
    """
    routes = [r for r in ROUTES if len(usable(est, r))]
    rows, fitted = _readings(est, routes, curve)
    solid = solid_of(est.protocol)
    batch = _batch(rows, curve)
    terms = terms_for(est.protocol, rows, routes)
    route = rows["route"].to_numpy(dtype=np.str_)
    base, jacobian = _linearised(batch, terms, route, solid)
    shared = instrument_columns(est, curve, rows, routes, batch.slope)
    own = _own_variance(est, rows, fitted, routes)
    by_size = jacobian * np.array([t.sd for t in terms])
    shared, own = fold_negligible(shared, own, np.sum(by_size**2, axis=1), route)
    sizes = _sizes(terms, shared)
    design = np.hstack([by_size, shared.columns])
    offset = base - design @ sizes.centre
    between = np.einsum(
        "nk,nk->n", jacobian**2, np.stack([_natural(t) for t in terms], axis=1) ** 2
    ) if terms else np.zeros(len(rows))  # fmt: skip
    reference = batch.solubility
    effects = {
        r: 100.0
        * np.mean(design[fitted & (route == r)] / reference[fitted & (route == r), None], 0)
        for r in routes
    }
    states = run_states(rows, batch, terms, sizes.unit[: len(terms)], sizes.centre, solid, design)
    return ClassModel(
        sizes, np.asarray(rows["apparent_g_per_100g"], dtype=float), offset, design, own, between,
        route, _repeats(rows, fitted), fitted, rows, states, reference, effects, batch, terms,
        main_route,
    )  # fmt: skip


def _readings(
    est: ClassEstimates, routes: Sequence[str], curve: Curve
) -> tuple[pd.DataFrame, npt.NDArray[np.bool_]]:
    """Return all readings with finite numbers, used rows of each route first to last.

    Residues not used for what stands in them follow, to be examined for slips.
    """
    parts, fitted = [], []
    for route in routes:
        used = usable(est, route)
        parts.append(used)
        fitted += [True] * len(used)
    table = est.table
    unused = (table["route"] == "residue") & ~table["used"].astype(bool)
    aside = table[unused & examined(table)]
    if "residue" in routes and len(aside):
        t = aside["temperature_c"]
        finite = aside[["initial_mass_g", "water_volume_ml", "apparent_g_per_100g"]].notna()
        inside = t.between(curve.low_c, curve.high_c) & (aside["water_volume_ml"] > 0)
        kept = aside[finite.all(axis="columns") & inside & (aside["initial_mass_g"] > 0)]
        parts.append(kept)
        fitted += [False] * len(kept)
    return pd.concat(parts, ignore_index=True), np.array(fitted, dtype=bool)


def _repeats(rows: pd.DataFrame, fitted: npt.NDArray[np.bool_]) -> Vector:
    """Return how many fitted readings the group of each has by its route; 1 for nameless groups."""
    keys = [c for c in ("semester", "section", "group", "route") if c in rows]
    if "group" not in keys:
        return np.ones(len(rows))
    count = rows[keys].astype("str").assign(n=fitted).groupby(keys)["n"].transform("sum")
    named = (rows["group"].astype("str") != "").to_numpy()
    return np.where(named, np.maximum(np.asarray(count, dtype=float), 1.0), 1.0)


def _batch(rows: pd.DataFrame, curve: Curve) -> Batch:
    from solubility_stats.reference.water import density

    t = np.asarray(rows["temperature_c"], dtype=float)
    mass = _column(rows, "initial_mass_g", np.nan)
    volume = _column(rows, "water_volume_ml", np.nan)
    # Routes on the filtrate need neither; their sensitivities do not depend on what is filled in.
    mass = np.where(np.isfinite(mass) & (mass > 0), mass, _middle(mass, 3.0))
    volume = np.where(np.isfinite(volume) & (volume > 0), volume, _middle(volume, 300.0))
    titre = _column(rows, "titrant_ml", np.nan)
    value = np.asarray(curve.at(t)[0], dtype=float)
    slope = np.asarray(curve.slope(t), dtype=float) * np.ones_like(t)
    rho = np.asarray(density(t)[0], dtype=float) * np.ones_like(t)
    return Batch(mass, volume, value, slope, rho, _middle(titre, 10.0))


def _column(rows: pd.DataFrame, name: str, otherwise: float) -> Vector:
    if name not in rows:
        return np.full(len(rows), otherwise)
    return np.array(pd.to_numeric(rows[name], errors="coerce"), dtype=float)


def _middle(values: Vector, otherwise: float) -> float:
    good = values[np.isfinite(values) & (values > 0)]
    return float(np.median(good)) if good.size else otherwise


def _linearised(
    batch: Batch, terms: Sequence[Term], route: npt.NDArray[np.str_], solid: Solid
) -> tuple[Vector, Vector]:
    """Return readings at the prior means and their derivative by each class-level size."""
    names = list(dict.fromkeys(t.cause.name for t in terms))
    at = {n: np.zeros(batch.n) for n in names}
    for term in terms:
        at[term.cause.name] = at[term.cause.name] + term.mean * term.pattern
    base, by_cause = np.empty(batch.n), np.empty((batch.n, len(names)))
    for r in np.unique(route):
        mask = route == r
        sub = {n: v[mask] for n, v in at.items()}
        base[mask], by_cause[mask] = sensitivities(
            batch.take(mask), names, str(r), at=sub, solid=solid
        )
    columns = [by_cause[:, names.index(t.cause.name)] * t.pattern for t in terms]
    return base, np.stack(columns, axis=1) if columns else np.empty((batch.n, 0))


def _natural(term: Term) -> Vector:
    """Return the spread between groups in units of the class-level size of ``term``."""
    safe = np.where(term.pattern != 0, term.pattern, 1.0)
    return np.asarray(term.sd_between / safe)


def _sizes(terms: Sequence[Term], shared: Shared) -> Sizes:
    mean = np.array([t.mean for t in terms])
    sd = np.array([t.sd for t in terms])
    k, s = len(terms), len(shared.names)
    location, scale = half_line_parameters(mean, sd) if k else (np.empty(0), np.empty(0))
    return Sizes(
        names=(*[t.name for t in terms], *shared.names),
        owners=(*[t.cause.name for t in terms], *shared.owners),
        kinds=(*["cause"] * k, *shared.kinds),
        unit=np.concatenate([sd, np.ones(s)]),
        location=np.concatenate([location / sd, np.zeros(s)]),
        scale=np.concatenate([scale / sd, np.ones(s)]),
        positive=np.arange(k + s) < k,
        judged=np.array([*[t.judged for t in terms], *[False] * s], dtype=bool),
        centre=np.concatenate([mean / sd, np.zeros(s)]),
    )


def _own_variance(
    est: ClassEstimates,
    rows: pd.DataFrame,
    fitted: npt.NDArray[np.bool_],
    routes: Sequence[str],
) -> Vector:
    own = np.square(_column(rows, "u_apparent_g_per_100g", np.nan))
    own[fitted] = np.concatenate([est.covariance(r, True).variance for r in routes])
    typical = float(np.median(own[fitted]))
    return np.where(np.isfinite(own) & (own > 0), own, max(typical, 1e-12))
