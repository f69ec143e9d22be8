"""Whether each group's own arithmetic agrees with its readings, and if not, which slip it was."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.measurement.slips.agreement import fair_bases
from solubility_stats.measurement.slips.candidates import (
    CANDIDATE_COLUMNS,
    Found,
    candidate_frame,
)
from solubility_stats.measurement.slips.conversions import (
    reference_slips,
    result_digits,
    unit_slips,
    whole_slips,
)
from solubility_stats.measurement.slips.digits import Vector
from solubility_stats.measurement.slips.match import DECADES, TIERS, Search, chance_of_match
from solubility_stats.measurement.slips.questions import ROUTES, Questions, Verdict
from solubility_stats.measurement.slips.readings import Index
from solubility_stats.measurement.slips.route import Route, Variant, plain_value
from solubility_stats.measurement.slips.rows import Neighbours, row_slips
from solubility_stats.records import ClassRecords

if TYPE_CHECKING:
    from solubility_stats.measurement.estimates import Estimates

TABLE_COLUMNS = (
    "run_id", "semester", "section", "group", "run", "reported", "reported_unit",
    "reported_digits", "recomputed_in_unit", "unit_read", "unit_assumed", "digits_inferred",
    "route", "agrees", "verdict", "candidates", "chance_match",
)  # fmt: skip
AGREES, ONE, SEVERAL, NONE, UNCHECKED = (
    "agrees",
    "one slip fits",
    "several slips fit",
    "no known slip",
    "not checked",
)
# Runs searched at a time, which bounds the memory.
_CHUNK = 400
# Candidates named in the table; all are in the frame of candidates.
_NAMED = 6


@dataclass(frozen=True, repr=False)
class Slips(Result):
    """Reported solubilities against what their readings give.

    Attributes
    ----------
    table : DataFrame
        One row per run that reports a value: ``run_id, semester, section, group, run``;
        ``reported``, ``reported_unit`` (as written), ``reported_digits`` (significant figures);
        ``recomputed_in_unit`` (from the readings, in ``unit_read``, plain difference over
        volume); ``unit_read`` and ``unit_assumed`` (no unit, or one that could not be read);
        ``digits_inferred`` (the file does not tell how many decimals were written); ``route``
        whose readings were compared; ``agrees``; ``verdict`` (``agrees``, ``one slip fits``,
        ``several slips fit``, ``no known slip``, ``not checked``; the last does not count as
        disagreement although ``agrees`` is false); ``candidates`` (the first few
        by name, plainest first); and
        ``chance_match``, the chance that an unrelated number of as many figures would have been
        given a candidate too.
    candidates : DataFrame
        Every slip that reproduces the reported value, one row each: ``run_id, slip, slip_code,
        pair`` (two slips at once), ``predicted`` (in ``unit``), ``formula`` (with the numbers),
        ``chance_match`` (chance that an unrelated number would match in this or an earlier step
        of the search), ``found_by`` (``slip``; ``rounded``: only with the readings at half a
        unit of their last figure; ``digit``; ``row``; ``pair``), ``unit``, ``route``, ``basis``.
    unchecked : DataFrame
        ``run_id`` and ``reason`` of reported values that could not be recomputed.

    Notes
    -----
    A slip is a statement about arithmetic: the formula reproduces the number. It is not proof,
    and the reading itself may be what is mistyped; both values are kept.
    """

    table: pd.DataFrame
    candidates: pd.DataFrame
    unchecked: pd.DataFrame

    @property
    def n(self) -> int:
        """Number of runs that report a value."""
        return len(self.table)

    @property
    def disagreeing(self) -> pd.DataFrame:
        """Rows of the table whose reported value differs from what the readings give."""
        differs = ~self.table["agrees"] & (self.table["verdict"] != UNCHECKED)
        return self.table[differs].reset_index(drop=True)

    def export(self) -> pd.DataFrame:
        """Return one row per disagreeing run, ready to be written: group, section, slip first."""
        columns = [
            "group", "section", "semester", "run", "run_id", "reported", "reported_unit",
            "recomputed_in_unit", "unit_read", "chance_match",
        ]  # fmt: skip
        frame = self.disagreeing
        out = frame[columns].copy()
        out.insert(2, "slip", frame["candidates"].where(frame["candidates"] != "", NONE))
        return out

    def headline(self) -> str:
        """Return how many reported values agree with their readings."""
        checked = self.n - len(self.unchecked)
        differs = len(self.disagreeing)
        named = int((self.disagreeing["candidates"] != "").sum())
        text = f"{checked - differs} of {checked} reported values agree with their readings"
        if differs:
            text += f"; {named} of the other {differs} equal what a known slip gives"
        if len(self.unchecked):
            text += f"; {len(self.unchecked)} could not be checked"
        return text

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the disagreeing runs and their candidates."""
        return {"Differs": self.export(), "Candidates": self.candidates}


def find_slips(records: ClassRecords | pd.DataFrame, est: Estimates | None = None) -> Slips:
    """Compare reported solubilities with the readings and name the slips that explain them.

    Parameters
    ----------
    records : ClassRecords or DataFrame
        Runs with readings, ``reported_solubility`` and ``reported_unit``.
    est : Estimates, optional
        Adds the value after the protocol's expected effects to what counts as right, and the
        protocol's solute where a run does not name one.

    Returns
    -------
    Slips

    Raises
    ------
    InputError
        If a frame has no canonical column.
    """
    if isinstance(records, pd.DataFrame):
        records = ClassRecords.from_frame(records)
    runs = records.runs.reset_index(drop=True)
    decimals = records.decimals.reset_index(drop=True)
    if "reported_solubility" not in runs or runs["reported_solubility"].isna().all():
        return _nothing_reported()
    questions = Questions.of(runs, decimals, est)
    verdicts = questions.verdicts()
    differs = np.array([r for r, v in verdicts.items() if v.differs], dtype=np.int64)
    near = Neighbours.of(runs)
    frames, chance = [], np.full(len(runs), np.nan)
    for start in range(0, len(differs), _CHUNK):
        rows = differs[start : start + _CHUNK]
        frame, overall = _search(questions, rows, verdicts, near)
        frames.append(frame)
        chance[rows] = overall
    return _assemble(runs, questions, verdicts, frames, chance)


def _search(
    questions: Questions, rows: Index, verdicts: dict[int, Verdict], near: Neighbours
) -> tuple[pd.DataFrame, Vector]:
    """Return the candidates of some disagreeing runs and their overall chance match."""
    cases = questions.cases(rows)
    asked = questions.asked(cases)
    place = {int(r): k for k, r in enumerate(rows)}
    local = np.array([place[int(r)] for r in cases.run], dtype=np.int64)
    found: list[Found] = []
    pieces: list[list[tuple[Index, Vector, Vector]]] = [[] for _ in TIERS]
    for build in ROUTES.values():
        route = build(cases)
        plain = plain_value(route.name, route.right, cases)
        if not np.isfinite(plain).any():
            continue
        search = Search(asked, plain, fair_bases(route, cases))
        variants = [
            *route.variants,
            *unit_slips(cases),
            *reference_slips(cases, route.right),
            *whole_slips(cases, route),
            *row_slips(cases, route, questions.readings, near),
            *result_digits(cases, plain, asked),
        ]
        search.singles(variants, [_spread(route, v) for v in variants])
        search.pairs(variants)
        found += [Found(match, cases, route) for match in search.matches]
        for tier, owner, low, high in search.intervals():
            pieces[tier].append((local[owner], low, high))
    centre = np.log10([_centre(verdicts[int(r)], questions, int(r)) for r in rows])
    chance = _by_tier(pieces, centre)
    zero = questions.reported[rows] == 0
    written_as_zero = np.log10(questions.half[rows]) - (centre - DECADES / 2)
    chance = [np.where(zero, np.clip(written_as_zero / DECADES, 0, 1), c) for c in chance]
    return candidate_frame(found, chance, place, questions.run_ids), chance[-1]


def _spread(route: Route, variant: Variant) -> Vector:
    """Return the relative half width of a slip's result from the readings it still uses."""
    kept = "whole" if variant.stage == "whole" else variant.stage
    others = 0.0 if kept in ("whole", "quotient") else route.total_half(without=kept)
    return np.asarray(variant.half + others)


def _centre(verdict: Verdict, questions: Questions, row: int) -> float:
    """Return the middle of the four decades: the right answer, or the report if that is nil."""
    right, said = abs(verdict.recomputed), abs(questions.reported[row])
    return right if right > 1e-9 else max(float(said), 1e-9)


def _by_tier(pieces: list[list[tuple[Index, Vector, Vector]]], centre: Vector) -> list[Vector]:
    out = []
    for tier in range(len(TIERS)):
        so_far = [piece for part in pieces[: tier + 1] for piece in part]
        if not so_far:
            out.append(np.zeros(len(centre)))
            continue
        owner, low, high = (np.concatenate([piece[k] for piece in so_far]) for k in range(3))
        out.append(chance_of_match(owner, low, high, centre, len(centre)))
    return out


def _assemble(
    runs: pd.DataFrame,
    questions: Questions,
    verdicts: dict[int, Verdict],
    frames: list[pd.DataFrame],
    chance: Vector,
) -> Slips:
    candidates = (
        pd.concat(frames, ignore_index=True)
        if frames
        else pd.DataFrame(columns=list(CANDIDATE_COLUMNS))
    )
    names = candidates.groupby("run_id", sort=False)["slip"].agg(list).to_dict()
    rows = []
    for row, verdict in verdicts.items():
        slips = names.get(runs["run_id"][row], [])
        rows.append(
            {
                **{c: runs[c][row] for c in ("run_id", "semester", "section", "group", "run")},
                "reported": questions.reported[row],
                "reported_unit": questions.unit_texts[row],
                "reported_digits": int(questions.figures[row]),
                "recomputed_in_unit": verdict.recomputed,
                "unit_read": verdict.form.name,
                "unit_assumed": not questions.written[row],
                "digits_inferred": bool(questions.inferred[row]),
                "route": verdict.route,
                "agrees": verdict.agrees,
                "verdict": _verdict_words(verdict, len(slips)),
                "candidates": _listed(slips),
                "chance_match": chance[row],
            }
        )
    table = pd.DataFrame(rows, columns=list(TABLE_COLUMNS))
    reasons = [(runs["run_id"][r], v.reason) for r, v in verdicts.items() if v.reason]
    return Slips(table, candidates, pd.DataFrame(reasons, columns=["run_id", "reason"]))


def _listed(slips: list[str]) -> str:
    names = list(dict.fromkeys(slips))
    more = len(names) - _NAMED
    return "; ".join(names[:_NAMED]) + (f"; and {more} more" if more > 0 else "")


def _verdict_words(verdict: Verdict, n: int) -> str:
    if verdict.reason:
        return UNCHECKED
    if verdict.agrees:
        return AGREES
    return (NONE, ONE)[n] if n < 2 else SEVERAL


def _nothing_reported() -> Slips:
    return Slips(
        pd.DataFrame(columns=list(TABLE_COLUMNS)).astype({"agrees": bool}),
        pd.DataFrame(columns=list(CANDIDATE_COLUMNS)),
        pd.DataFrame(columns=["run_id", "reason"]),
    )
