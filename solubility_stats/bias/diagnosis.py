"""From a comparison to causes: what moved the class, what cannot be told apart, what to do next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.bias import attribution
from solubility_stats.bias.class_difference import ClassDifference, class_difference
from solubility_stats.bias.comparison import Comparison
from solubility_stats.bias.compensation import Compensation, compensation
from solubility_stats.bias.designed import DesignedFit, designed_fit_if_planned
from solubility_stats.bias.differences import differences
from solubility_stats.bias.evidence import evidence_table
from solubility_stats.bias.inputs import examined
from solubility_stats.bias.model import ClassModel, build_model
from solubility_stats.bias.next_measurement import rank_measurements
from solubility_stats.bias.priors import solid_of
from solubility_stats.bias.sampler import Draws, sample
from solubility_stats.bias.separability import Separability, separability
from solubility_stats.bias.wording import signed, span
from solubility_stats.display import Result, json_safe
from solubility_stats.errors import InputError

# Judged priors as they are, half as wide, twice as wide.
WIDTHS = (1.0, 0.5, 2.0)
SWEEPS, BURN = 50, 15
# Beyond this many standard deviations a run is listed even when no slip explains it (Iglewicz and
# Hoaglin 1993, How to Detect and Handle Outliers, ASQC, section 3.4: 3.5).
FAR = 3.5


@dataclass(frozen=True, repr=False)
class Diagnosis(Result):
    """Causes of a class's deviation, and what its data cannot say.

    Attributes
    ----------
    comparison : Comparison
        The class against the curve.
    mechanisms : DataFrame
        One row per cause; see :func:`~solubility_stats.bias.attribution.mechanism_table`.
    discrete : DataFrame
        Slips of single runs with their chance.
    separability : Separability
        What these data cannot tell apart.
    next_measurement : DataFrame
        Extra measurements, best first.
    groups_to_look_at : DataFrame
        ``group, section, semester, run_id, reasons`` (list of sentences).
    evidence : DataFrame
        Plain clues for and against single causes; see
        :func:`~solubility_stats.bias.evidence.evidence_table`.
    sensitivity : DataFrame
        Effects when all judged priors are half or twice as wide.
    designed : DesignedFit or None
        Slope of recovered on initial mass and water, where the class used planned amounts.
    without_marked : ClassDifference or None
        The unexplained difference with the runs marked as slips left out; None where no run is
        marked. The comparison itself keeps every run.
    compensation : Compensation
        The warning about opposing errors.
    model, draws : ClassModel, Draws
        The joint model and its posterior, for figures and plans.
    notes : tuple of str
        What a reader must know beside the numbers.
    seed : int
        Seed of the sampler.
    """

    comparison: Comparison
    mechanisms: pd.DataFrame
    discrete: pd.DataFrame
    separability: Separability
    next_measurement: pd.DataFrame
    groups_to_look_at: pd.DataFrame
    evidence: pd.DataFrame
    sensitivity: pd.DataFrame
    designed: DesignedFit | None
    without_marked: ClassDifference | None
    compensation: Compensation
    model: ClassModel
    draws: Draws
    notes: tuple[str, ...] = field(default_factory=tuple)
    seed: int = 0

    @property
    def causes(self) -> pd.DataFrame:
        """Rows of :attr:`mechanisms` that are causes on the bench."""
        kind = self.mechanisms["kind"]
        return self.mechanisms[kind == "cause"].reset_index(drop=True)

    def headline(self) -> str:
        """Return the verdict and the largest cause with what it cannot be told from."""
        text = self.comparison.headline()
        largest, beyond = attribution.leading(self.mechanisms)
        if largest is not None:
            text += (
                f". Largest cause: {largest['term']}, {signed(largest['effect_percent'], 1)} % "
                f"({span(largest['low_percent'], largest['high_percent'], 1)})"
                f"{_tied(largest)}"
            )
        if beyond is not None:
            text += (
                f". More than expected: {beyond['term']}, by "
                f"{signed(beyond['excess_percent'], 1)} %{_tied(beyond)}"
            )
        return text

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return causes, slips, groups and measurements."""
        shown = [
            "term",
            "effect_percent",
            "low_percent",
            "high_percent",
            "prior_percent",
            "learned",
        ]
        return {
            "Causes": self.mechanisms[shown],
            "Slips of single runs": self.discrete,
            "Groups to look at": self.groups_to_look_at,
            "What to measure next": self.next_measurement,
        }

    def mechanisms_list(self) -> list[dict[str, Any]]:
        """Return the block ``mechanisms`` of the summary, plain Python."""
        return [
            {
                "name": row["name"],
                "term": row["term"],
                "kind": row["kind"],
                "effect_percent": json_safe(row["effect_percent"]),
                "interval90_percent": json_safe([row["low_percent"], row["high_percent"]]),
                "expected_percent": json_safe(row["prior_percent"]),
                "not_separable_from": list(row["not_separable_from"]),
            }
            for row in self.mechanisms.to_dict("records")
        ]

    def to_dict(self) -> dict[str, Any]:
        """Return everything but model and draws as JSON-safe plain Python."""
        return {
            "comparison": self.comparison.to_dict(),
            "mechanisms": self.mechanisms_list(),
            "discrete": json_safe(self.discrete),
            "separability": self.separability.to_dict(),
            "next_measurement": json_safe(self.next_measurement),
            "groups_to_look_at": json_safe(self.groups_to_look_at),
            "evidence": json_safe(self.evidence),
            "sensitivity": json_safe(self.sensitivity),
            "designed": None if self.designed is None else self.designed.to_dict(),
            "without_marked": (
                None if self.without_marked is None else self.without_marked.to_dict()
            ),
            "compensation": self.compensation.to_dict(),
            "notes": list(self.notes),
            "seed": self.seed,
        }


def diagnose(comp: Comparison, *, seed: int = 0) -> Diagnosis:
    """Look for the causes of a class's deviation.

    Parameters
    ----------
    comp : Comparison
        Result of :func:`solubility_stats.compare`.
    seed : int
        Seed of the sampler; equal inputs and seed give an equal result.

    Returns
    -------
    Diagnosis

    Raises
    ------
    InputError
        If the estimates lack the masses and volumes the causes act on.
    """
    est, curve = comp.estimates, comp.curve
    _check(comp)
    model = build_model(est, curve, comp.route)
    rng = np.random.default_rng(seed)
    fits = sample(model, rng, widths=WIDTHS, chains=_chains(len(model.y)), sweeps=SWEEPS, burn=BURN)
    draws = fits[0]
    words = {o: attribution.term_of(o) for o in model.sizes.owners}
    found = separability(model, draws, words)
    mechanisms = attribution.mechanism_table(model, draws, found)
    discrete = attribution.slip_table(model, draws)
    warning = compensation(model, draws, mechanisms)
    measures = rank_measurements(model, draws, solid_of(est.protocol))
    designed = designed_fit_if_planned(est, curve)
    without = _without_marked(comp, discrete)
    sensitivity = attribution.prior_sensitivity(model, fits, WIDTHS)
    return Diagnosis(
        comparison=comp,
        mechanisms=mechanisms,
        discrete=discrete,
        separability=found,
        next_measurement=measures,
        groups_to_look_at=_groups(comp, model, draws, discrete),
        evidence=evidence_table(comp),
        sensitivity=sensitivity,
        designed=designed,
        without_marked=without,
        compensation=warning,
        model=model,
        draws=draws,
        notes=_notes(model, draws, fits, found, warning, measures, without),
        seed=seed,
    )


def _chains(readings: int) -> tuple[int, ...]:
    """Return the chains for each width; fewer for very many readings, which cost time in each."""
    base = int(np.clip(9000 // max(readings, 1), 16, 90))
    return (base, max(base // 3, 8), max(base // 3, 8))


def _check(comp: Comparison) -> None:
    if comp.route != "residue":
        return
    used = comp.estimates.used("residue")
    absent = [c for c in ("initial_mass_g", "water_volume_ml") if c not in used]
    if absent:
        raise InputError(
            "the causes act on masses and volumes, and these are not there",
            where="estimates",
            found=f"no column {', '.join(absent)}",
            remedy="Estimate from the records instead of from a frame of values.",
        )


def _without_marked(comp: Comparison, discrete: pd.DataFrame) -> ClassDifference | None:
    marked = set(discrete.loc[discrete["marked"] & discrete["in_fit"], "run_id"])
    diff = differences(comp.estimates, comp.curve, comp.route, apparent=False)
    keep = ~diff.rows["run_id"].astype("str").isin(marked).to_numpy()
    if not marked or not keep.any():
        return None
    u = comp.unexplained
    return class_difference(
        diff.take(keep),
        margin_percent=u.margin_percent,
        level=u.level,
        power=u.power,
        n_set_aside=u.n_set_aside + int((~keep).sum()),
    )


def _groups(
    comp: Comparison, model: ClassModel, draws: Draws, discrete: pd.DataFrame
) -> pd.DataFrame:
    """Return the groups worth a second look, with the reasons in words."""
    reasons: dict[str, list[str]] = {}
    for run_id, rows in discrete[discrete["marked"]].groupby("run_id", sort=False):
        named = rows[rows["slip"] != "unnamed"].head(2)
        for row in named[named["probability"] >= 0.1].to_dict("records"):
            chance = f"{100.0 * row['probability']:.0f} %"
            said = f"{_capital(str(row['term']))} (chance {chance}). {row['question']}"
            reasons.setdefault(str(run_id), []).append(said)
        if str(run_id) not in reasons:
            reasons[str(run_id)] = ["Far from the class, and no slip on the list explains it well."]
    for run_id, z in _standardised(model, draws).items():
        if abs(z) > FAR and run_id not in reasons:
            side = "above" if z > 0 else "below"
            reasons[run_id] = [
                f"{_capital(side)} the class by {abs(z):.1f} times the usual scatter."
            ]
    table = comp.estimates.table
    unused = (table["route"] == comp.route) & ~table["used"].astype(bool)
    aside = table[unused & examined(table)]
    for row in aside.to_dict("records"):
        reasons.setdefault(str(row["run_id"]), []).insert(0, f"Not used: {row.get('reason', '')}")
    of_route = table[table["route"] == comp.route].drop_duplicates("run_id")
    place = {str(r["run_id"]): r for r in of_route.to_dict("records")}
    listed = [
        {
            "group": str(place[i].get("group", "")),
            "section": str(place[i].get("section", "")),
            "semester": str(place[i].get("semester", "")),
            "run_id": i,
            "reasons": said,
        }
        for i, said in reasons.items()
        if i in place
    ]
    return pd.DataFrame(listed, columns=["group", "section", "semester", "run_id", "reasons"])


def _tied(row: pd.Series) -> str:
    tied = len(row["not_separable_from"])
    return f", not to be told from {tied} other{'s' if tied > 1 else ''}" if tied else ""


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _standardised(model: ClassModel, draws: Draws) -> dict[str, float]:
    """Return each main-route reading's distance from the class in its own standard deviations."""
    scatter = dict(zip(draws.routes, np.median(draws.scatter, axis=0), strict=True))
    at = np.flatnonzero(model.fitted & (model.route == model.main_route))
    middle = draws.sizes.mean(axis=0)
    residual = model.y[at] - model.offset[at] - model.design[at] @ middle
    sd = np.sqrt(model.own[at] + model.between[at] * scatter[model.main_route] ** 2)
    ids = model.rows["run_id"].iloc[at].astype("str")
    return dict(zip(ids, (residual / sd).tolist(), strict=True))


def _notes(
    model: ClassModel,
    draws: Draws,
    fits: Sequence[Draws],
    found: Separability,
    warning: Compensation,
    measures: pd.DataFrame,
    without: ClassDifference | None,
) -> tuple[str, ...]:
    notes = [found.sentence, warning.text]
    if without is not None:
        notes.append(
            f"Without the runs marked as slips the unexplained difference would be "
            f"{signed(without.percent, 1)} % "
            f"({span(without.low_percent, without.high_percent, 1)}): {without.verdict}."
        )
    total, low, high = attribution.total_effect(model, draws)
    notes.append(
        f"All causes together, instruments and reference included, move the class's plain value "
        f"by {signed(total)} % (90 % interval {span(low, high)} %)."
    )
    shift = np.max(np.abs(_means(model, fits[2]) - _means(model, fits[0])))
    judged = int(np.sum(model.sizes.judged))
    if judged:
        notes.append(
            f"{judged} of {model.sizes.d} expected sizes rest on judgement, not on a published "
            f"source; the protocol can set them. Were all of these twice as uncertain, no effect "
            f"would change by more than {shift:.0f} %."
        )
    if len(measures):
        best = measures.iloc[0]
        notes.append(
            f"Best value for its work (about {best['minutes']:.0f} min): {best['term']}. The "
            f"uncertainty of the causes would fall from {best['u_now_percent']:.1f} to "
            f"{best['u_after_percent']:.1f} %."
        )
    misfit = _misfit(model)
    if misfit > 3.0:
        notes.append(
            f"The class lies {misfit:.1f} standard deviations from where causes of the expected "
            "sizes would put it: something is larger than expected, or is not on the list."
        )
    return tuple(notes)


def _means(model: ClassModel, draws: Draws) -> Any:
    """Return the mean effect of each cause, percent."""
    owners = dict.fromkeys(model.sizes.owners)
    at = [model.owned_by(o) for o in owners]
    return np.array([float(np.mean(draws.sizes[:, a] @ model.effect[a])) for a in at])


def _misfit(model: ClassModel) -> float:
    """Return how far the class lies from the prior prediction, in standard deviations."""
    at = np.flatnonzero(model.fitted & (model.route == model.main_route))
    predicted = model.offset[at] + model.design[at] @ model.sizes.centre
    residual = 100.0 * (model.y[at] - predicted) / model.reference[at]
    # The median, so that single slips do not speak for the class.
    distance = float(np.median(residual))
    scatter = float(np.median(np.abs(residual - distance))) * 1.4826
    spread = np.sqrt(np.sum(model.effect**2) + scatter**2 / at.size)
    return abs(distance) / float(spread)
