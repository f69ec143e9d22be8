"""The fits behind one call for factors: each alone, then together, kept as tidy rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from solubility_stats.pooling import factor_checks
from solubility_stats.pooling.factor_model import (
    CannotTellError,
    Levels,
    Term,
    TermResult,
    fit_terms,
    make_term,
)
from solubility_stats.pooling.factor_words import TREND, effect_words, semester_order, unit_of
from solubility_stats.pooling.multiplicity import adjust_p
from solubility_stats.pooling.tidy import Observations, Vector, labels

EFFECT_COLUMNS = (
    "factor",
    "level",
    "against",
    "n",
    "effect",
    "u",
    "low",
    "high",
    "effect_percent",
    "low_percent",
    "high_percent",
    "unit",
    "dof",
    "p_value",
    "p_adjusted",
    "words",
)
TEST_COLUMNS = (
    "factor",
    "kind",
    "n",
    "missing",
    "unit_of_replication",
    "units",
    "f",
    "dof1",
    "dof2",
    "p_value",
    "p_holm",
    "p_bh",
    "verdict",
    "words",
)


class Study:
    """Collects the fits of one call: terms, tests, effects, checks and residuals."""

    def __init__(
        self, obs: Observations, levels: Levels, grouping: Sequence[str], level: float
    ) -> None:
        self.obs, self.levels, self.grouping, self.level = obs, levels, grouping, level
        self.y: Vector = obs.values
        self.mean = float(self.y.mean())
        self.terms: list[Term] = []
        self.told: list[str] = []
        self.tests: list[dict[str, Any]] = []
        self.effects: list[dict[str, Any]] = []
        self.checks: list[factor_checks.Check] = []
        self.residuals: list[pd.DataFrame] = []

    def column(self, name: str) -> pd.Series[Any]:
        """Return a factor's entries; for a unit, labels that are unique among all units.

        Section 1 of one semester is not section 1 of the next.
        """
        frame = self.obs.frame
        if name not in self.grouping:
            return frame[name]
        outer = list(self.grouping[: self.grouping.index(name) + 1])
        codes, names = labels(frame, outer)
        whole = pd.Series(np.array(names, dtype=object)[codes], name=name)
        return whole.where(frame[name].notna())

    def add(self, name: str, numeric: bool) -> None:
        """Fit one factor alone."""
        self._add(self.column(name), numeric, "slope" if numeric else "levels")

    def add_trend(self, order: Sequence[str] | None) -> None:
        """Fit the trend over semesters, if there are three or more."""
        column = self.obs.frame["semester"]
        names = [str(s) for s in column.dropna().unique()]
        if len(names) < 3:
            return
        place = {s: i for i, s in enumerate(semester_order(names, order))}
        number = column.map(lambda s: place[str(s)] if pd.notna(s) else np.nan)
        self._add(number.astype(float).rename(TREND), True, "trend")

    def _add(self, series: pd.Series[Any], numeric: bool, kind: str) -> None:
        name = str(series.name)
        row: dict[str, Any] = {"factor": name, "kind": kind, "n": int(series.notna().sum())}
        row["missing"] = len(series) - row["n"]
        try:
            term = make_term(series, numeric)
            if kind != "trend":
                self.terms.append(term)
            levels = self.levels.take(term.rows)
            y = self.y[term.rows]
            found = fit_terms(y, [term], levels)[0]
        except CannotTellError as reason:
            self.tests.append({**row, "verdict": "cannot tell", "words": str(reason)})
            return
        self.told.append(name)
        self.tests.append(
            {
                **row,
                "unit_of_replication": found.unit,
                "units": found.units,
                "f": found.f,
                "dof1": found.dof1,
                "dof2": found.dof2,
                "p_value": found.p_value,
                "words": "",
            }
        )
        self.effects += self._contrasts(found)
        self.checks += factor_checks.check(found, y, levels)
        self.residuals.append(
            pd.DataFrame(
                {
                    "factor": name,
                    "row": self.obs.rows[term.rows],
                    "fitted": found.fitted,
                    "residual": found.residual,
                }
            )
        )

    def _contrasts(self, found: TermResult) -> list[dict[str, Any]]:
        from scipy.special import stdtr, stdtrit

        t = float(stdtrit(found.dof2, (1 + self.level) / 2))
        percent = 100 / abs(self.mean) if self.mean else np.nan
        rows = []
        for level, against, n, effect, u in found.contrasts:
            low, high = effect - t * u, effect + t * u
            row = {
                "factor": found.term.name,
                "level": level,
                "against": against,
                "n": n,
                "effect": effect,
                "u": u,
                "low": low,
                "high": high,
                "effect_percent": effect * percent,
                "low_percent": low * percent,
                "high_percent": high * percent,
                "unit": unit_of(found.term, self.obs.unit),
                "dof": found.dof2,
                "p_value": float(2 * stdtr(found.dof2, -abs(effect) / u)),
            }
            values = self.obs.frame.get(found.term.name)
            rows.append({**row, "words": effect_words(row, found, values)})
        return rows

    def tests_frame(self) -> pd.DataFrame:
        """Return one row per factor asked for, p-values not yet adjusted."""
        return _frame(self.tests, TEST_COLUMNS)

    def effects_frame(self) -> pd.DataFrame:
        """Return one row per contrast of the factors fitted alone."""
        return _adjusted(_frame(self.effects, EFFECT_COLUMNS))

    def residuals_frame(self) -> pd.DataFrame:
        """Return fitted values and residuals of every fit."""
        if not self.residuals:
            return pd.DataFrame(columns=["factor", "row", "fitted", "residual"])
        return pd.concat(self.residuals, ignore_index=True)

    def joint(self, alias: pd.DataFrame) -> tuple[pd.DataFrame, list[str]]:
        """Return the effects of all factors fitted together, where the data allow, and notes."""
        lost = set(alias.loc[alias["relation"] != "nearly", "other"]) | set(
            alias.loc[alias["relation"] == "decided by", "factor"]
        )
        chosen = [
            t
            for t in self.terms
            if t.name in self.told and t.name not in self.grouping and t.name not in lost
        ]
        if len(chosen) < 2:
            return _frame([], EFFECT_COLUMNS), []
        rows = np.logical_and.reduce([t.rows for t in chosen])
        try:
            terms = [make_term(self.column(t.name).where(rows), t.numeric) for t in chosen]
            results = fit_terms(self.y[rows], terms, self.levels.take(rows))
        except (CannotTellError, np.linalg.LinAlgError):
            words = "Together the factors cannot be told apart; only single fits are given."
            return _frame([], EFFECT_COLUMNS), [words]
        rows_told = [r for f in results for r in self._contrasts(f)]
        return _adjusted(_frame(rows_told, EFFECT_COLUMNS)), []


def _frame(rows: list[dict[str, Any]], columns: Sequence[str]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=list(columns))


def _adjusted(effects: pd.DataFrame) -> pd.DataFrame:
    if len(effects):
        effects["p_adjusted"] = adjust_p(effects["p_value"].to_numpy(dtype=float), "holm")
    return effects
