"""Class against curve: apparent and unexplained bias, kept apart."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.bias.breakdown import (
    by_part,
    by_route_table,
    by_source_table,
    temperature_trend,
)
from solubility_stats.bias.class_difference import ClassDifference, class_difference
from solubility_stats.bias.contrast import RouteContrast, residue_minus_titration
from solubility_stats.bias.differences import Differences, differences
from solubility_stats.bias.inputs import (
    IDENTITY,
    ClassEstimates,
    Curve,
    as_estimates,
    outside_curve,
    usable,
    within_curve,
)
from solubility_stats.bias.wording import signed, span
from solubility_stats.display import Result, json_safe
from solubility_stats.errors import InputError

ROUTES = ("residue", "titration", "evaporation")


@dataclass(frozen=True, repr=False)
class Comparison(Result):
    """A class compared with a reference curve at its own temperatures.

    Two questions are kept apart. The *apparent* difference is what the class computes, the plain
    mass difference over volume, against the curve. The *unexplained* difference is what is left
    after the effects the protocol expects, with their uncertainty.

    Attributes
    ----------
    route : str
        Route compared.
    apparent, unexplained : ClassDifference
        The two answers.
    runs : DataFrame
        One row per used run: identity, ``temperature_c, reference_g_per_100g,
        u_reference_g_per_100g, apparent_percent, u_apparent_percent, unexplained_percent,
        u_unexplained_percent`` and the recorded factors.
    by_source : DataFrame
        The unexplained difference under each source of the curve: ``source, percent, u_percent,
        low_percent, high_percent, verdict, apparent_percent, apparent_verdict``.
    by_route : DataFrame
        One row per route with runs: value at the class's temperature and both differences.
    by_section, by_filtration : DataFrame
        The unexplained difference of each part, and how far it is from the rest of the class.
    trend : dict
        Slope of the difference against temperature, and what it means.
    contrast : RouteContrast or None
        Residue minus titration; needs no reference.
    n_set_aside : int
        Rows of the route not used; the estimates say why.
    estimates, curve : object
        What was compared.
    notes : tuple of str
        What a reader must know beside the numbers.
    """

    route: str
    apparent: ClassDifference
    unexplained: ClassDifference
    runs: pd.DataFrame
    by_source: pd.DataFrame
    by_route: pd.DataFrame
    by_section: pd.DataFrame
    by_filtration: pd.DataFrame
    trend: dict[str, Any]
    contrast: RouteContrast | None
    n_set_aside: int
    estimates: ClassEstimates
    curve: Curve
    notes: tuple[str, ...] = field(default_factory=tuple)

    @property
    def verdict(self) -> str:
        """Verdict on the unexplained difference."""
        return self.unexplained.verdict

    @property
    def smallest_detectable_percent(self) -> float:
        """Smallest unexplained bias this class would have found."""
        return self.unexplained.smallest_detectable_percent

    @property
    def limited_by(self) -> str:
        """Component that limits the unexplained difference."""
        return self.unexplained.limited_by

    @property
    def depends_on_source(self) -> bool:
        """Whether the verdict changes with the source of the curve."""
        return len(self.by_source) > 1 and self.by_source["verdict"].nunique() > 1

    def headline(self) -> str:
        """Return both differences and the verdict."""
        a, b = self.apparent, self.unexplained
        return (
            f"apparent {signed(a.percent, 1)} % ({span(a.low_percent, a.high_percent, 1)}, "
            f"{a.verdict}), unexplained {signed(b.percent, 1)} % "
            f"({span(b.low_percent, b.high_percent, 1)}, {b.verdict}); limited by {b.limited_by}"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the breakdowns and the runs."""
        return {
            "What limits it": self.unexplained.components,
            "By source": self.by_source,
            "By route": self.by_route,
            "By section": self.by_section,
            "By filtration": self.by_filtration,
            "Runs": self.runs,
        }

    def bias_dict(self) -> dict[str, Any]:
        """Return the block ``bias`` of the summary, plain Python."""
        a, b = self.apparent, self.unexplained
        block = {
            "apparent_percent": a.percent,
            "apparent_interval95_percent": [a.low_percent, a.high_percent],
            "apparent_verdict": a.verdict,
            "percent": b.percent,
            "interval95_percent": [b.low_percent, b.high_percent],
            "p_value": b.p_value,
            "smallest_detectable_percent": b.smallest_detectable_percent,
            "limited_by": b.limited_by,
            "verdict": b.verdict,
            "by_source": dict(
                zip(self.by_source["source"], self.by_source["verdict"], strict=True)
            ),
        }
        return dict(json_safe(block))

    def reference_dict(self) -> dict[str, Any]:
        """Return the block ``reference`` of the summary, plain Python."""
        sources = self.curve.sources
        names = sources["key"].tolist() if isinstance(sources, pd.DataFrame) else list(sources)
        block = {
            "value_g_per_100g": self.unexplained.reference_g_per_100g,
            "standard_uncertainty_g_per_100g": self.unexplained.u_reference_g_per_100g,
            "temperature_c": self.unexplained.temperature_c,
            "sources": [str(s) for s in names],
        }
        return dict(json_safe(block))

    def by_route_dict(self) -> dict[str, Any]:
        """Return the block ``by_route`` of the summary, plain Python."""
        rows = self.by_route.to_dict("records")
        return {
            str(r["route"]): json_safe({k: v for k, v in r.items() if k != "route"}) for r in rows
        }

    def to_dict(self) -> dict[str, Any]:
        """Return everything but the inputs as JSON-safe plain Python."""
        return {
            "route": self.route,
            "bias": self.bias_dict(),
            "reference": self.reference_dict(),
            "by_route": self.by_route_dict(),
            "apparent": self.apparent.to_dict(),
            "unexplained": self.unexplained.to_dict(),
            "by_source": json_safe(self.by_source),
            "by_section": json_safe(self.by_section),
            "by_filtration": json_safe(self.by_filtration),
            "trend": json_safe(self.trend),
            "contrast": None if self.contrast is None else self.contrast.to_dict(),
            "runs": json_safe(self.runs),
            "n_set_aside": self.n_set_aside,
            "notes": list(self.notes),
        }


def compare(
    est: Any,
    curve: Curve,
    *,
    margin_percent: float = 5.0,
    level: float = 0.95,
    power: float = 0.9,
    route: str | None = None,
    method: str = "reml",
    protocol: Any = None,
) -> Comparison:
    """Compare a class with a reference curve.

    Parameters
    ----------
    est : Estimates or DataFrame
        Estimates of a class, or a frame with ``value_g_per_100g, u_g_per_100g, temperature_c``.
    curve : ReferenceCurve
        Reference, g per 100 g water.
    margin_percent : float
        Largest bias that does not matter to the user; "agrees" means shown to be inside it.
    level : float
        Confidence of the intervals; the equivalence test works at ``1 - level``.
    power : float
        Probability with which the stated smallest detectable bias would have been found.
    route : str, optional
        ``residue``, ``titration`` or ``evaporation``; by default the first of these with runs.
    method : str
        How groups are pooled; see :func:`solubility_stats.pool`.
    protocol : Protocol, optional
        Only for a plain frame.

    Returns
    -------
    Comparison

    Raises
    ------
    InputError
        If no run of the route can be used.
    OutOfRangeError
        If every temperature lies outside the curve; single ones are set aside and listed.
    """
    if not margin_percent > 0:
        raise InputError(
            "the margin is empty",
            where="margin_percent",
            found=margin_percent,
            expected="a positive percentage",
        )
    given = as_estimates(est, protocol)
    source = within_curve(given, curve)
    present = [r for r in ROUTES if len(usable(source, r))]
    chosen = route or (present[0] if present else "residue")
    if chosen not in present:
        raise InputError(
            f"no run of the {chosen} route can be used",
            where="est",
            found=f"routes with usable runs: {', '.join(present) or 'none'}",
            remedy="See the column reason of the estimates for what was left out and why.",
        )
    options: dict[str, Any] = {
        "margin_percent": margin_percent,
        "level": level,
        "power": power,
        "method": method,
    }
    plain = differences(source, curve, chosen, apparent=True)
    left = differences(source, curve, chosen, apparent=False)
    of_route = source.table[source.table["route"] == chosen]
    n_set_aside = len(of_route) - len(left.rows)
    unexplained = class_difference(left, n_set_aside=n_set_aside, **options)
    apparent = class_difference(plain, n_set_aside=n_set_aside, **options)
    found = {chosen: (unexplained, apparent)}
    for other in present:
        if other != chosen:
            pair = (differences(source, curve, other, apparent=a) for a in (False, True))
            after, before = (class_difference(d, **options) for d in pair)
            found[other] = (after, before)
    made = Comparison(
        route=chosen,
        apparent=apparent,
        unexplained=unexplained,
        runs=_runs(plain, left),
        by_source=by_source_table(unexplained, apparent, curve),
        by_route=by_route_table({r: found[r] for r in present}),
        by_section=by_part(left, "section", options),
        by_filtration=by_part(left, "filtration", options),
        trend=temperature_trend(left, curve, unexplained.tau_percent, level),
        contrast=residue_minus_titration(source, level=level, method=method),
        n_set_aside=n_set_aside,
        estimates=source,
        curve=curve,
    )
    notes = _notes(made, outside_curve(given, source, chosen))
    return Comparison(
        **{**{k: getattr(made, k) for k in made.__dataclass_fields__}, "notes": notes}
    )


_FACTORS = ("instructor", "balance", "cylinder", "bottle", "filtration", "scatter", "stir_min",
            "settle_min", "dry_min", "initial_mass_g", "water_volume_ml", "recovered_mass_g",
            "leverage")  # fmt: skip


def _runs(plain: Differences, left: Differences) -> pd.DataFrame:
    kept = [c for c in (*IDENTITY, "temperature_c") if c in left.rows]
    runs = left.rows[kept].copy()
    runs["reference_g_per_100g"] = left.reference
    runs["u_reference_g_per_100g"] = left.u_reference
    runs["apparent_percent"] = plain.percent
    runs["u_apparent_percent"] = np.sqrt(plain.covariance.diagonal())
    runs["unexplained_percent"] = left.percent
    runs["u_unexplained_percent"] = np.sqrt(left.covariance.diagonal())
    factors = [c for c in _FACTORS if c in left.rows]
    return pd.concat([runs, left.rows[factors]], axis="columns")


def _notes(comp: Comparison, outside: list[str]) -> tuple[str, ...]:
    notes = [comp.unexplained.sentence()]
    if comp.apparent.verdict in ("high", "low") and comp.verdict in ("agrees", "undecided"):
        tail = (
            "the effects the protocol expects account for that."
            if comp.verdict == "agrees"
            else "whether the effects the protocol expects account for all of that is not decided."
        )
        notes.append(
            f"As the class computes it, the result is {abs(comp.apparent.percent):.1f} % too "
            f"{comp.apparent.verdict}; {tail}"
        )
    if comp.depends_on_source:
        groups = comp.by_source.groupby("verdict", sort=False)["source"]
        said = "; ".join(f"{verdict} under {', '.join(names)}" for verdict, names in groups)
        notes.append(f"The verdict depends on which published curve is right: {said}.")
    parts = comp.unexplained.components
    common = parts[parts["shared"].astype(bool)]
    share = float(common["share_percent"].sum())
    if comp.verdict == "undecided" and share > 50.0:
        named = " and ".join(common["component"].head(2))
        notes.append(
            f"More groups would hardly help: {share:.0f} % of the variance is the same for every "
            f"group, above all {named}."
        )
    if outside:
        notes.append(_outside_sentence(outside, comp.curve))
    return tuple(notes)


_NAMED_RUNS = 6


def _outside_sentence(outside: list[str], curve: Curve) -> str:
    n = len(outside)
    named = ", ".join(outside[:_NAMED_RUNS])
    more = f" and {n - _NAMED_RUNS} more" if n > _NAMED_RUNS else ""
    one = n == 1
    return (
        f"{n} run{' was' if one else 's were'} not compared, because the reference covers only "
        f"{curve.low_c:g} to {curve.high_c:g} °C: {named}{more}. "
        f"{'It still counts' if one else 'They still count'} in the class's own value."
    )
