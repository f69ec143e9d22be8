"""Causes with the size of their effect: what the joint posterior says, one row per cause."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.catalogue import causes, slips
from solubility_stats.bias.model import ClassModel
from solubility_stats.bias.sampler import Draws
from solubility_stats.bias.separability import Separability
from solubility_stats.bias.truncated_normal import half_line_moments

Vector = npt.NDArray[np.float64]
PROBABILITY = 0.9
# Causes lead the list where they, with all they are tied to, are pushed this many prior standard
# deviations beyond what was expected of them together.
LEADS = 1.5
# A run is marked where the chance that something happened, on the list or not, is one in four or
# more. A mark asks a question, and a needless question costs less than a slip nobody asks about.
MARKED = 0.25
# Where single results scatter so much (share of the solubility) that no rule could find nineteen
# of twenty misplaced fills and accuse one sound run in a hundred, the chance must be one in two:
# 25 % = (2.33 + 1.64 * 1.25) s for one fill of four poured and not written down.
BLURRED, MARKED_BLURRED = 0.057, 0.5

TERMS = {
    "reference_value": "the reference curve itself",
    "other_instruments": "calibration of other instruments",
}


def term_of(owner: str) -> str:
    """Return the words for a cause, an instrument or the reference."""
    known = causes()
    return known[owner].term if owner in known else TERMS.get(owner, owner.replace("_", " "))


def shortest_interval(draws: Vector, probability: float = PROBABILITY) -> tuple[float, float]:
    """Return the shortest interval that holds a share of the draws, shape (S,).

    Sizes that may well be zero have their density highest there: an interval with equal tails
    would exclude exactly the values the data favour. An interval that begins at the draw nearest
    to zero, of draws all of one sign, is let begin at zero.
    """
    ordered = np.sort(draws)
    held = int(np.ceil(probability * len(ordered)))
    widths = ordered[held - 1 :] - ordered[: len(ordered) - held + 1]
    start = int(np.argmin(widths))
    low, high = float(ordered[start]), float(ordered[start + held - 1])
    edge = 0.01 * len(ordered)
    if ordered[0] >= 0 and start <= edge:
        low = 0.0
    if ordered[-1] <= 0 and start + held >= len(ordered) - edge:
        high = 0.0
    return low, high


def mechanism_table(model: ClassModel, draws: Draws, found: Separability) -> pd.DataFrame:
    """Return one row per cause: its effect on the class value before and after the data.

    Returns
    -------
    DataFrame
        ``name, term, kind (cause|instrument|reference), effect_percent, low_percent,
        high_percent`` (shortest 90 % interval), ``prior_percent, prior_low_percent,
        prior_high_percent, excess_percent`` (effect beyond what the protocol expects),
        ``beyond_expected`` (whether the data push it, with all it is tied to, past what was
        expected), ``learned`` (share of the prior variance taken away), ``size, size_low,
        size_high, unit, judged, not_separable_from``; the effect by each further route as
        ``<route>_percent``.
        Causes that the data push beyond what was expected (:data:`LEADS`) come first, by their
        excess; the others follow by the size of their effect.
    """
    rng = np.random.default_rng(0)  # only for quantiles of sums of priors, same for every class
    prior = prior_draws(model, rng, 4000)
    rows = [
        _mechanism(model, draws, prior, owner, found) for owner in dict.fromkeys(model.sizes.owners)
    ]
    table = pd.DataFrame(rows)
    return _ordered(table, model)


def _ordered(table: pd.DataFrame, model: ClassModel) -> pd.DataFrame:
    """Put first what the data push beyond expectation, then the rest by size of effect."""
    names = table["name"].tolist()
    prior_sd = np.array([np.linalg.norm(model.effect[model.owned_by(o)]) for o in names])
    excess = table["excess_percent"].to_numpy()
    together = np.array(
        [
            [other == name or other in ties for other in names]
            for name, ties in zip(names, table["not_separable_from"], strict=True)
        ]
    )
    pushed = np.abs(together @ excess) > LEADS * np.sqrt(together @ prior_sd**2)
    leads = pushed & (np.abs(excess) > 1.0)
    effect = np.where(leads, excess, table["effect_percent"].to_numpy())
    ordered = table.assign(beyond_expected=leads).iloc[np.lexsort((-np.abs(effect), ~leads))]
    return ordered.reset_index(drop=True)


def leading(mechanisms: pd.DataFrame) -> tuple[pd.Series | None, pd.Series | None]:
    """Return the cause with the largest effect, and what is most beyond expectation, if anything.

    The first answers what moves the class most, expected or not; the second what is different in
    this class. They need not be the same.
    """
    causes_only = mechanisms[mechanisms["kind"] == "cause"]
    if causes_only.empty:
        return None, None
    largest = causes_only.iloc[int(causes_only["effect_percent"].abs().to_numpy().argmax())]
    beyond = mechanisms[mechanisms["beyond_expected"]]
    return largest, beyond.iloc[0] if len(beyond) else None


def prior_draws(model: ClassModel, rng: np.random.Generator, n: int) -> Vector:
    """Return draws of the sizes before any data, shape (n, d), in prior standard deviations."""
    from scipy.special import ndtr, ndtri

    sizes = model.sizes
    uniform = rng.random((n, sizes.d))
    # Inverse distribution function of the normal cut off at zero.
    low = np.where(sizes.positive, ndtr(-sizes.location / sizes.scale), 0.0)
    drawn = sizes.location + sizes.scale * ndtri(low + uniform * (1.0 - low))
    return np.asarray(np.where(sizes.positive, np.maximum(drawn, 0.0), drawn))


def _mechanism(
    model: ClassModel, draws: Draws, prior: Vector, owner: str, found: Separability
) -> dict[str, object]:
    sizes = model.sizes
    at = model.owned_by(owner)
    kind = sizes.kinds[at[0]]
    effect = draws.sizes[:, at] @ model.effect[at]
    before = prior[:, at] @ model.effect[at]
    low, high = shortest_interval(effect)
    prior_low, prior_high = shortest_interval(before)
    expected = float(_prior_mean(model)[at] @ model.effect[at])
    row: dict[str, object] = {
        "name": owner,
        "term": term_of(owner),
        "kind": kind,
        "effect_percent": float(effect.mean()),
        "low_percent": float(low),
        "high_percent": float(high),
        "prior_percent": expected,
        "prior_low_percent": float(prior_low),
        "prior_high_percent": float(prior_high),
        "excess_percent": float(effect.mean()) - expected,
        "learned": found.learned[owner],
        **_natural_size(model, draws, owner, at),
        "judged": bool(sizes.judged[at].any()),
        "not_separable_from": list(found.ties[owner]),
    }
    for route in model.routes:
        if route != model.main_route:
            row[f"{route}_percent"] = float((draws.sizes[:, at] @ model.effects[route][at]).mean())
    return row


def _prior_mean(model: ClassModel) -> Vector:
    sizes = model.sizes
    mean, _ = half_line_moments(sizes.location, sizes.scale)
    return np.asarray(np.where(sizes.positive, mean, sizes.location))


def _natural_size(
    model: ClassModel, draws: Draws, owner: str, at: npt.NDArray[np.intp]
) -> dict[str, object]:
    from solubility_stats.bias.forward import SIZES

    if model.sizes.kinds[at[0]] != "cause":
        return {"size": np.nan, "size_low": np.nan, "size_high": np.nan, "unit": ""}
    # Parts add up to the class mean: patterns of the following parts are about 1 on average.
    average = np.array([float(np.mean(model.terms[j].pattern[model.fitted])) for j in at])
    size = draws.sizes[:, at] @ (model.sizes.unit[at] * average)
    low, high = shortest_interval(size)
    return {
        "size": float(size.mean()),
        "size_low": float(low),
        "size_high": float(high),
        "unit": SIZES[owner],
    }


def total_effect(model: ClassModel, draws: Draws) -> tuple[float, float, float]:
    """Return mean and 90 % interval of the sum of all effects on the class value, percent."""
    total = draws.sizes @ model.effect
    low, high = shortest_interval(total)
    return float(total.mean()), float(low), float(high)


def slip_table(model: ClassModel, draws: Draws) -> pd.DataFrame:
    """Return what may have happened to single runs: one row per run and likely slip.

    Returns
    -------
    DataFrame
        ``run_id, semester, section, group, run, slip, term, probability, any_slip, marked,
        in_fit, question``; slips with a chance of 1 % or more. ``any_slip`` is the chance that
        anything on the list, or something not on it, happened; ``marked``: see
        :data:`MARKED`.
    """
    states = model.states
    known = slips()
    happened = np.flatnonzero([name in known for name in states.names])
    needed = _chance_needed(model, draws)
    rows = []
    for r, at in enumerate(states.rows):
        identity = {
            k: str(model.rows[k].iloc[at])
            for k in ("run_id", "semester", "section", "group", "run")
            if k in model.rows
        }
        something = float(draws.chance[happened, r].sum())
        for k in happened[np.argsort(-draws.chance[happened, r], kind="stable")]:
            chance = float(draws.chance[k, r])
            if chance < 0.01:
                break
            slip = known[states.names[k]]
            rows.append(
                {
                    **identity,
                    "slip": slip.name,
                    "term": slip.term,
                    "probability": chance,
                    "any_slip": something,
                    "marked": something >= needed[r],
                    "in_fit": bool(model.fitted[at]),
                    "question": slip.question,
                }
            )
    columns = ["run_id", "semester", "section", "group", "run", "slip", "term", "probability",
               "any_slip", "marked", "in_fit", "question"]  # fmt: skip
    # A class without a single likely slip still needs columns that can select rows.
    table = pd.DataFrame(rows, columns=columns).astype({"marked": bool, "in_fit": bool})
    return table.sort_values(
        ["any_slip", "run_id", "probability"], ascending=[False, True, False], ignore_index=True
    )


def _chance_needed(model: ClassModel, draws: Draws) -> Vector:
    """Return the chance from which each residue reading is marked."""
    at = model.states.rows
    if not at.size:
        return np.empty(0)
    scatter = float(np.median(draws.scatter[:, draws.routes.index("residue")]))
    sd = np.sqrt(model.own[at] + model.between[at] * scatter**2)
    return np.where(sd > BLURRED * model.reference[at], MARKED_BLURRED, MARKED)


def prior_sensitivity(
    model: ClassModel, fits: Sequence[Draws], widths: Sequence[float]
) -> pd.DataFrame:
    """Return the effect of each cause when all judged priors are narrower or wider.

    Returns
    -------
    DataFrame
        ``name, term`` and ``effect_percent_x<width>, u_percent_x<width>`` for each width.
    """
    rows = []
    for owner in dict.fromkeys(model.sizes.owners):
        at = model.owned_by(owner)
        row: dict[str, object] = {"name": owner, "term": term_of(owner)}
        for width, draws in zip(widths, fits, strict=True):
            effect = draws.sizes[:, at] @ model.effect[at]
            row[f"effect_percent_x{width:g}"] = float(effect.mean())
            row[f"u_percent_x{width:g}"] = float(effect.std())
        rows.append(row)
    return pd.DataFrame(rows)
