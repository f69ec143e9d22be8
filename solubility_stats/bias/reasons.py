"""One group's page of reasons: its deviation, and what could and could not explain it.

Everything here is put as a question. The group knows what it did; the numbers only say which of
the usual causes would have the right direction and a believable size.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.bias.catalogue import Cause, causes
from solubility_stats.bias.diagnosis import Diagnosis
from solubility_stats.bias.forward import SIZES, sensitivities
from solubility_stats.bias.model import ClassModel
from solubility_stats.bias.priors import Term, solid_of
from solubility_stats.bias.wording import signed
from solubility_stats.display import Result
from solubility_stats.errors import InputError

# A size within this many spreads of what is expected is believable.
BELIEVABLE = 3.0
# Deviations below this many standard deviations need no reason.
ORDINARY = 1.0


@dataclass(frozen=True, repr=False)
class GroupReasons(Result):
    """What could explain one run's deviation from its class.

    Attributes
    ----------
    run_id, group, section : str
        Which run.
    value_g_per_100g, class_g_per_100g : float
        Plain result of the run, and what the class as a whole would have found with its amounts.
    deviation_percent, u_percent : float
        Run minus class, percent of the reference, and the scatter to be expected of one run.
    from_curve_percent : float
        Run minus reference, percent.
    direction : {"higher", "lower", "like"}
        Against the class; ``like`` where the deviation is no larger than ordinary scatter.
    could : DataFrame
        ``cause, term, needed, unit, usual, change_percent_per_unit, question``: causes of the right
        direction whose needed size is believable. ``needed`` is how far the run's size would have
        to lie from the class's usual one.
    could_not : DataFrame
        ``cause, term, why``.
    slips : DataFrame
        Rows of the diagnosis's discrete causes for this run.
    text : tuple of str
        The page in sentences.
    """

    run_id: str
    group: str
    section: str
    value_g_per_100g: float
    class_g_per_100g: float
    deviation_percent: float
    u_percent: float
    from_curve_percent: float
    direction: str
    could: pd.DataFrame
    could_not: pd.DataFrame
    slips: pd.DataFrame
    text: tuple[str, ...]

    def headline(self) -> str:
        """Return direction and size."""
        return self.text[0]

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the causes."""
        return {"Could": self.could, "Could not": self.could_not, "Slips": self.slips}


def reasons_for_group(
    diag: Diagnosis, group: str, section: str | None = None, *, semester: str | None = None
) -> tuple[GroupReasons, ...]:
    """Return the page of reasons of one group, one entry per run with a result.

    Parameters
    ----------
    diag : Diagnosis
        Of the whole class.
    group : str
        Name of the group.
    section, semester : str, optional
        Needed only where several have a group of that name.

    Raises
    ------
    InputError
        If no such group has a result, or the name fits groups of several sections.
    """
    model = diag.model
    at = np.flatnonzero(_mask(model, str(group), section, semester))
    if not at.size:
        raise InputError(
            "no run of this group has a result",
            where=f"group {group}" + (f", section {section}" if section is not None else ""),
            expected=f"one of {sorted(set(model.rows['group'].astype('str')))[:20]}",
        )
    places = set(model.rows["section"].iloc[at].astype("str"))
    if len(places) > 1:
        raise InputError(
            "groups of several sections have this name",
            where=f"group {group}",
            found=sorted(places),
            remedy="Say which section is meant.",
        )
    return tuple(_reasons(diag, int(i)) for i in at)


def _mask(model: ClassModel, group: str, section: str | None, semester: str | None) -> Any:
    rows = model.rows
    mask = (rows["group"].astype("str") == group) & (model.route == model.main_route)
    if section is not None:
        mask &= rows["section"].astype("str") == str(section)
    if semester is not None:
        mask &= rows["semester"].astype("str") == str(semester)
    return mask.to_numpy()


def _reasons(diag: Diagnosis, at: int) -> GroupReasons:
    model, draws = diag.model, diag.draws
    row = model.rows.iloc[at]
    middle = draws.sizes.mean(axis=0)
    usual = float(model.offset[at] + model.design[at] @ middle)
    scatter = float(np.median(draws.scatter[:, draws.routes.index(model.main_route)]))
    sd = float(np.sqrt(model.own[at] + model.between[at] * scatter**2))
    reference = float(model.reference[at])
    off = float(model.y[at]) - usual
    direction = "like" if abs(off) < ORDINARY * sd else "higher" if off > 0 else "lower"
    could, could_not = _sort_causes(diag, at, off)
    run_id = str(row["run_id"])
    slips = diag.discrete[diag.discrete["run_id"] == run_id].reset_index(drop=True)
    percent = 100.0 * off / reference
    made = GroupReasons(
        run_id=run_id,
        group=str(row.get("group", "")),
        section=str(row.get("section", "")),
        value_g_per_100g=float(model.y[at]),
        class_g_per_100g=usual,
        deviation_percent=percent,
        u_percent=100.0 * sd / reference,
        from_curve_percent=100.0 * (float(model.y[at]) / reference - 1.0),
        direction=direction,
        could=could,
        could_not=could_not,
        slips=slips,
        text=_text(percent, 100.0 * sd / reference, direction, could, could_not, slips),
    )
    return made


def _sort_causes(diag: Diagnosis, at: int, off: float) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Sort the causes into those that could and could not explain a deviation."""
    model = diag.model
    row = model.rows.iloc[at]
    own = [t for t in model.terms if not t.follows]
    names = [t.cause.name for t in own]
    base = {n: sum(t.mean * t.pattern[at] for t in model.terms if t.cause.name == n) for n in names}
    solid = solid_of(diag.comparison.estimates.protocol)
    one = model.batch.take(np.array([at]))
    _, slope = sensitivities(one, names, model.main_route, at=base, solid=solid)
    other = _other_route(model, at, diag)
    could: list[dict[str, object]] = []
    could_not: list[dict[str, object]] = []
    for j, term in enumerate(own):
        cause, gain = term.cause, float(slope[0, j])
        needed = off / gain if gain else np.inf
        why = _why_not(term, needed, float(base[cause.name]), at, row, other, model.main_route)
        if why:
            could_not.append({"cause": cause.name, "term": cause.term, "why": why})
            continue
        could.append(
            {
                "cause": cause.name,
                "term": cause.term,
                "needed": needed,
                "unit": SIZES[cause.name],
                "usual": float(base[cause.name]),
                "change_percent_per_unit": 100.0 * gain / float(model.reference[at]),
                "question": cause.question,
            }
        )
    silent = causes()["insoluble_matter"]
    could_not.append({"cause": silent.name, "term": silent.term, "why": "it is weighed both times "
                      "and cancels, so it moves no result"})  # fmt: skip
    columns = ["cause", "term", "needed", "unit", "usual", "change_percent_per_unit", "question"]
    return pd.DataFrame(could, columns=columns), pd.DataFrame(
        could_not, columns=["cause", "term", "why"]
    )


def _other_route(model: ClassModel, at: int, diag: Diagnosis) -> float | None:
    """Return the deviation of the run's titration from the class in its standard deviations."""
    same = (model.rows["run_id"] == model.rows["run_id"].iloc[at]).to_numpy()
    where = np.flatnonzero(same & (model.route == "titration") & model.fitted)
    if not where.size or model.main_route == "titration":
        return None
    i, draws = int(where[0]), diag.draws
    scatter = float(np.median(draws.scatter[:, draws.routes.index("titration")]))
    sd = float(np.sqrt(model.own[i] + model.between[i] * scatter**2))
    usual = float(model.offset[i] + model.design[i] @ draws.sizes.mean(axis=0))
    return (float(model.y[i]) - usual) / sd


def _why_not(
    term: Term,
    needed: float,
    usual: float,
    at: int,
    row: pd.Series,
    other: float | None,
    route: str,
) -> str:
    """Return why a cause cannot explain the deviation, or an empty string if it could."""
    cause = term.cause
    spread = float(term.sd_between[at])
    if cause.direction(route) == "none":
        return f"it does not act on the {route} route"
    if spread <= 0:
        return "the whole class shares it, so it cannot set one group apart"
    if _contradicted(cause, needed, row):
        return "the group's own record speaks against it"
    if other is not None and cause.direction("titration") != "none" and abs(other) < 1.0:
        return "it would have moved the titration of the same filtrate too, and that is as usual"
    if usual + needed < 0:
        return "even without any of it the result would not have moved that far"
    if abs(needed) > BELIEVABLE * spread + usual:
        return "it would have to be larger than is believable"
    return ""


def _contradicted(cause: Cause, needed: float, row: pd.Series) -> bool:
    """Tell whether the run's own record speaks against more of a cause."""
    if needed <= 0:
        return False
    if cause.name == "fines":
        return str(row.get("scatter", "")).casefold() == "clear"
    if cause.name == "residual_moisture":
        return str(row.get("constant_mass", "")).casefold() in ("true", "1", "1.0", "yes")
    return False


def _text(
    percent: float,
    u_percent: float,
    direction: str,
    could: pd.DataFrame,
    could_not: pd.DataFrame,
    slips: pd.DataFrame,
) -> tuple[str, ...]:
    if direction == "like":
        first = (
            f"This result lies {signed(percent)} % from the class; single runs usually scatter by "
            f"{u_percent:.0f} %. Nothing needs explaining."
        )
    else:
        first = (
            f"This result is {abs(percent):.0f} % {direction} than the class; single runs usually "
            f"scatter by {u_percent:.0f} %."
        )
    lines = [first]
    likely = slips[slips["probability"] >= 0.1]
    lines += [f"{s['question']} ({s['term']})" for s in likely.to_dict("records")]
    if direction != "like":
        lines += [f"{c['question']} ({c['term']})" for c in could.head(4).to_dict("records")]
        lines += [
            f"What cannot be the reason: {c['term']}, because {c['why']}."
            for c in could_not[could_not["cause"].isin(["insoluble_matter"])].to_dict("records")
        ]
    return tuple(lines)
