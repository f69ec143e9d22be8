"""Slips across rows: another group's readings, another trial's, a cell reference off by one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from solubility_stats.measurement.slips.digits import Vector
from solubility_stats.measurement.slips.readings import Index, Readings
from solubility_stats.measurement.slips.residue import dissolved
from solubility_stats.measurement.slips.route import Cases, Route, Variant

# Rows of one section searched; in a longer list only the nearest rows, because with hundreds of
# rows some other row matches anything.
MOST_ROWS = 24


@dataclass(frozen=True)
class Neighbours:
    """For each run the other rows that may have been used for it.

    Attributes
    ----------
    section, own, next : ndarray of int, shape (n, k)
        Positions of the rows of other groups in the section, of the group's own other trials,
        and of the rows just above and below; -1 pads.
    name : list of str
        What to call each row.
    """

    section: Index
    own: Index
    next: Index
    name: list[str]

    @classmethod
    def of(cls, runs: pd.DataFrame) -> Neighbours:
        """Find the neighbours of every run by semester, section and group, in sheet order."""
        runs = runs.reset_index(drop=True)
        sections = [runs["semester"].astype("str"), runs["section"].astype("str")]
        group = runs["group"].astype("str").to_numpy()
        section: list[list[int]] = [[] for _ in range(len(runs))]
        own: list[list[int]] = [[] for _ in range(len(runs))]
        beside: list[list[int]] = [[] for _ in range(len(runs))]
        for _, members in runs.groupby(sections, sort=False, dropna=False):
            rows = members.index.to_numpy()
            for place, row in enumerate(rows):
                near = rows[max(0, place - MOST_ROWS) : place + MOST_ROWS + 1]
                near = near[np.argsort(np.abs(near - row), kind="stable")][1 : MOST_ROWS + 1]
                same = (group[near] == group[row]) & (group[row] != "")
                own[row], section[row] = list(near[same]), list(near[~same])
                beside[row] = list(rows[max(0, place - 1) : place]) + list(
                    rows[place + 1 : place + 2]
                )
        return cls(_padded(section), _padded(own), _padded(beside), list(runs["run_id"]))


def _padded(lists: list[list[int]]) -> Index:
    width = max(map(len, lists), default=0)
    return np.array([row + [-1] * (width - len(row)) for row in lists], dtype=np.int64).reshape(
        len(lists), width
    )


def row_slips(cases: Cases, route: Route, runs: Readings, near: Neighbours) -> list[Variant]:
    """Return the slips of using another row.

    Parameters
    ----------
    cases : Cases
    route : Route
        The right answer of the cases; only the residue and titration routes are searched.
    runs : Readings
        Readings of all runs, in the order of ``near``.
    near : Neighbours
    """
    if route.name == "residue":
        return _residue_rows(cases, runs, near)
    if route.name == "titration":
        return _titre_rows(cases, runs, near)
    return []


def _residue_rows(cases: Cases, runs: Readings, near: Neighbours) -> list[Variant]:
    m0, mr, volume = (
        runs.value[n] for n in ("initial_mass_g", "recovered_mass_g", "water_volume_ml")
    )
    y = dissolved(runs)
    my_y, my_v = y[cases.run], volume[cases.run]
    finder = _Finder(cases, near)
    out: list[Variant] = []
    for code, table in (("D3", near.section), ("D4", near.own), ("C1", near.next)):
        out += finder.columns(code, table, lambda o: y[o] / my_y, "dissolved mass")
        out += finder.columns(code, table, lambda o: my_v / volume[o], "volume")
        if code != "C1":
            out += finder.columns(code, table, lambda o: y[o] / volume[o] * my_v / my_y, "result")
        if code != "D3":
            out += finder.columns(
                code, table, lambda o: (m0[o] - mr[cases.run]) / my_y, "initial mass"
            )
            out += finder.columns(
                code, table, lambda o: (m0[cases.run] - mr[o]) / my_y, "recovered mass"
            )
    return out


def _titre_rows(cases: Cases, runs: Readings, near: Neighbours) -> list[Variant]:
    titre = runs.value["titrant_ml"]
    mine = titre[cases.run]
    finder = _Finder(cases, near)
    out = finder.columns("T10", near.own, lambda o: titre[o] / mine, "titre")
    out += finder.columns("D3", near.section, lambda o: titre[o] / mine, "titre")
    own = near.own[cases.run]
    if own.shape[1]:
        trials = np.where(own >= 0, titre[own], np.nan)
        count = np.isfinite(trials).sum(axis=1)
        mean = (np.nansum(trials, axis=1) + mine) / (count + 1)
        ratio = np.where(count > 0, mean / mine, np.nan)
        out.append(
            Variant(
                "T10",
                "row",
                ratio,
                np.zeros(cases.n),
                lambda i: f"with the mean titre {mean[i]:.4g} mL of the trials",
                "row",
            )
        )
    return out


@dataclass(frozen=True)
class _Finder:
    cases: Cases
    near: Neighbours

    def columns(
        self, code: str, table: Index, ratio: Callable[[Index], Vector], what: str
    ) -> list[Variant]:
        """Return one variant per column of a table of other rows."""
        others = table[self.cases.run]
        return [self._one(code, others[:, k], ratio, what) for k in range(others.shape[1])]

    def _one(self, code: str, other: Index, ratio: Callable[[Index], Vector], what: str) -> Variant:
        found = np.where(other >= 0, ratio(np.maximum(other, 0)), np.nan)
        found = np.where(np.abs(found - 1) < 1e-9, np.nan, found)
        names = self.near.name
        return Variant(
            code,
            "row",
            found,
            np.zeros(self.cases.n),
            lambda i: f"with the {what} of {names[other[i]]}",
            "row",
        )
