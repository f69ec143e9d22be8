"""From matches to the frame a person reads: identical formulas grouped, each in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd

from solubility_stats.measurement.slips.digits import Vector
from solubility_stats.measurement.slips.match import TIERS, Match
from solubility_stats.measurement.slips.route import Cases, Route, Variant
from solubility_stats.measurement.slips.terms import term

CANDIDATE_COLUMNS = (
    "run_id", "slip", "slip_code", "pair", "predicted", "formula", "chance_match", "found_by",
    "unit", "route", "basis",
)  # fmt: skip
# Formulas shown for one group of identical slips.
_SHOWN = 3


@dataclass(frozen=True)
class Found:
    """A match with what is needed to put it into words."""

    match: Match
    cases: Cases
    route: Route

    @property
    def run(self) -> int:
        """Position of the run."""
        return int(self.cases.run[self.match.case])

    @property
    def unit(self) -> str:
        """Unit the reported number was read in."""
        return self.cases.forms[self.match.case].name

    def key(self) -> tuple[object, ...]:
        """Return what identical slips have in common."""
        predicted = f"{self.match.predicted:.9g}"
        return (self.run, self.match.tier, self.unit, self.route.name, self.match.basis, predicted)


def candidate_frame(
    found: Sequence[Found], chance: Sequence[Vector], place: dict[int, int], ids: Sequence[str]
) -> pd.DataFrame:
    """Return the candidates of some runs, plainest first.

    Parameters
    ----------
    found : sequence of Found
    chance : sequence of ndarray
        For each tier the chance match of each run.
    place : dict
        Position of a run in the arrays of ``chance``.
    ids : sequence of str
        Identifier of every run.
    """
    groups: dict[tuple[object, ...], list[Found]] = {}
    for one in found:
        groups.setdefault(one.key(), []).append(one)
    rows = []
    for members in groups.values():
        first = members[0]
        tier = first.match.tier
        codes = list(dict.fromkeys(_code(m.match.variants) for m in members))
        names = list(dict.fromkeys(_name(m.match.variants) for m in members))
        formulas = list(dict.fromkeys(_formula(m) for m in members))
        more = f" or {len(formulas) - _SHOWN} more" if len(formulas) > _SHOWN else ""
        rows.append(
            {
                "run_id": ids[first.run],
                "slip": " = ".join(names),
                "slip_code": "/".join(codes),
                "pair": len(first.match.variants) > 1,
                "predicted": first.match.predicted,
                "formula": " or ".join(formulas[:_SHOWN]) + more,
                "chance_match": float(chance[tier][place[first.run]]),
                "found_by": TIERS[tier],
                "unit": first.unit,
                "route": first.route.name,
                "basis": first.match.basis,
                "_order": (first.run, tier, first.match.basis != ""),
            }
        )
    rows.sort(key=lambda row: row["_order"])  # type: ignore[arg-type, return-value]
    return pd.DataFrame(rows, columns=list(CANDIDATE_COLUMNS))


def _code(variants: tuple[Variant, ...]) -> str:
    return "+".join(v.code for v in variants)


def _name(variants: tuple[Variant, ...]) -> str:
    return " and ".join(term(v.code) for v in variants)


def _formula(found: Found) -> str:
    match, case = found.match, found.match.case
    form = found.cases.forms[case]
    if match.variants[0].stage == "whole":
        text = match.variants[0].words(case)
    else:
        text = _product(found, case)
    basis = f", {match.basis}" if match.basis else ""
    return f"{text} = {_number(match.predicted)} {form.name}{basis}"


def _product(found: Found, case: int) -> str:
    """Return the right formula with the pieces of the slips put in their places."""
    form = found.cases.forms[case]
    replaced = {v.stage: v.words(case) for v in found.match.variants}
    pieces = []
    quotient = replaced.pop("quotient", "")
    volumes = replaced.pop("volumes", "")
    gone = set(found.route.words) if quotient else ({"titre", "aliquot"} if volumes else set())
    pieces += [piece for piece in (quotient, volumes) if piece]
    for stage, words in found.route.words.items():
        if stage in replaced:
            pieces.append(replaced.pop(stage))
        elif stage not in gone:
            pieces.append(words(case))
    per = form.per / 1e3 if found.route.name == "titration" else form.per
    pieces.append(f"× {per:g}" if per != 1 else "")
    divides = form.amount and found.route.name != "titration"
    if divides and "formula" not in replaced:
        pieces.append(f"÷ {found.cases.molar[case]:.2f} g/mol")
    pieces += replaced.values()
    return " ".join(piece for piece in pieces if piece)


def _number(value: float) -> str:
    return f"{value:.5g}".replace("-", "−")
