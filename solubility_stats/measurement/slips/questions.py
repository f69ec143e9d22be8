"""The runs under check: what each reported, what it may mean, what the readings give instead."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.measurement.slips.agreement import agreement
from solubility_stats.measurement.slips.digits import (
    Counts,
    Vector,
    reported_resolution,
    shortest_decimals,
)
from solubility_stats.measurement.slips.filtrate import evaporation, titration
from solubility_stats.measurement.slips.match import Asked
from solubility_stats.measurement.slips.readings import Index, Readings
from solubility_stats.measurement.slips.residue import residue
from solubility_stats.measurement.slips.route import Cases, plain_value
from solubility_stats.measurement.slips.substances import Substance, substance
from solubility_stats.measurement.slips.units import UnitForm, read_unit

if TYPE_CHECKING:
    from solubility_stats.measurement.estimates import Estimates

ROUTES = {"residue": residue, "titration": titration, "evaporation": evaporation}
# Water where no temperature is recorded: 22 °C, and wide enough for 15 to 30 °C (judgement).
_LAB_C, _LAB_HALF = 22.0, 0.0022


@dataclass(frozen=True)
class Verdict:
    """What was found about one reported value.

    Attributes
    ----------
    agrees : bool
    reason : str
        Why it could not be checked; empty otherwise.
    form : UnitForm
        Unit the number was read in.
    route : str
        Route compared with; empty if none.
    recomputed : float
        Right answer in that unit.
    """

    agrees: bool
    reason: str
    form: UnitForm
    route: str = ""
    recomputed: float = float("nan")

    @property
    def differs(self) -> bool:
        """Whether readings exist and give another number."""
        return not self.agrees and not self.reason


@dataclass(frozen=True)
class Questions:
    """Everything needed to check the runs, one entry per run.

    Attributes
    ----------
    run_ids, unit_texts : list of str, length n
    readings : Readings
    reported, half : ndarray, shape (n,)
        Reported value and half a unit of its last figure.
    figures, decimals : ndarray of int, shape (n,)
        Significant figures and decimals of the reported value.
    inferred : ndarray of bool, shape (n,)
        Where the decimals were not recorded and the shortest text was taken.
    forms : tuple of tuple of UnitForm, length n
    written : tuple of bool, length n
        Whether the unit was written legibly.
    substances : tuple of Substance or None, length n
    density, half_density : ndarray, shape (n,)
    corrected : dict of str to ndarray
        By route the value after expected effects, g/100 g of water; not a number if unknown.
    """

    run_ids: list[str]
    unit_texts: list[str]
    readings: Readings
    reported: Vector
    half: Vector
    figures: Counts
    decimals: Counts
    inferred: npt.NDArray[np.bool_]
    forms: tuple[tuple[UnitForm, ...], ...]
    written: tuple[bool, ...]
    substances: tuple[Substance | None, ...]
    density: Vector
    half_density: Vector
    corrected: dict[str, Vector]

    @classmethod
    def of(cls, runs: pd.DataFrame, decimals: pd.DataFrame, est: Estimates | None) -> Questions:
        """Collect the questions of ``runs`` (plain range index)."""
        reported = runs["reported_solubility"].to_numpy(dtype=float)
        places = shortest_decimals(reported)
        inferred = np.ones(len(runs), dtype=bool)
        if "reported_solubility" in decimals:
            known = pd.to_numeric(decimals["reported_solubility"]).reindex(runs.index)
            inferred = known.isna().to_numpy(dtype=bool)
            places = np.where(inferred, places, known.fillna(0)).astype(np.int64)
        resolution = [
            reported_resolution(float(v), int(d)) if np.isfinite(v) else (0, np.nan)
            for v, d in zip(reported, places, strict=True)
        ]
        unit_texts = _texts(runs, "reported_unit")
        units = [read_unit(text) for text in unit_texts]
        default = _default_solute(est)
        density, half_density = _density(runs)
        return cls(
            run_ids=[str(name) for name in runs["run_id"]],
            unit_texts=unit_texts,
            readings=Readings.of(runs, decimals),
            reported=reported,
            half=np.array([half for _, half in resolution]),
            figures=np.array([figures for figures, _ in resolution], dtype=np.int64),
            decimals=places,
            inferred=inferred,
            forms=tuple(forms for forms, _ in units),
            written=tuple(written for _, written in units),
            substances=tuple(substance(name or default) for name in _texts(runs, "solute")),
            density=density,
            half_density=half_density,
            corrected=_corrected(runs, est),
        )

    def cases(self, rows: Index) -> Cases:
        """Return one case for every run in ``rows`` and unit it may mean."""
        run = np.array([r for r in rows for _ in self.forms[r]], dtype=np.int64)
        return Cases(
            run=run,
            readings=self.readings.take(run),
            forms=tuple(form for r in rows for form in self.forms[r]),
            substances=tuple(self.substances[r] for r in run),
            density=self.density[run],
            half_density=self.half_density[run],
        )

    def asked(self, cases: Cases) -> Asked:
        """Return the reported number of each case."""
        run = cases.run
        return Asked(self.reported[run], self.half[run], self.figures[run], self.decimals[run])

    def verdicts(self) -> dict[int, Verdict]:
        """Compare every reported value with every route its readings allow."""
        rows = np.flatnonzero(np.isfinite(self.reported))
        cases = self.cases(rows)
        asked = self.asked(cases)
        best = {int(r): self._unchecked(int(r)) for r in rows}
        distance = dict.fromkeys(best, np.inf)
        for name, build in ROUTES.items():
            route = build(cases)
            plain = plain_value(name, route.right, cases)
            agrees = agreement(cases, route, asked, self.corrected[name][cases.run])
            with np.errstate(divide="ignore", invalid="ignore"):
                away = np.abs(np.log10(np.abs(asked.value / plain)))
            away = np.where(agrees, -1.0, np.nan_to_num(away, nan=1e3, posinf=1e3))
            for case in np.flatnonzero(np.isfinite(plain)):
                row = int(cases.run[case])
                if away[case] < distance[row]:
                    distance[row] = float(away[case])
                    best[row] = Verdict(
                        bool(agrees[case]), "", cases.forms[case], name, float(plain[case])
                    )
        return best

    def _unchecked(self, row: int) -> Verdict:
        forms = self.forms[row]
        unknown = self.substances[row] is None
        if all(form.amount for form in forms) and unknown:
            reason = "the molar mass of the solute is not known"
        else:
            reason = "the readings it was computed from are not all recorded"
        return Verdict(False, reason, forms[0])


def _texts(runs: pd.DataFrame, name: str) -> list[str]:
    if name not in runs:
        return [""] * len(runs)
    return ["" if pd.isna(cell) else str(cell).strip() for cell in runs[name]]


def _default_solute(est: Estimates | None) -> str:
    solute = getattr(getattr(est, "protocol", None), "solute", "")
    return str(solute or "calcium hydroxide")


def _density(runs: pd.DataFrame) -> tuple[Vector, Vector]:
    from solubility_stats.reference.water import density

    n = len(runs)
    t = (
        runs["temperature_c"].to_numpy(dtype=float)
        if "temperature_c" in runs
        else np.full(n, np.nan)
    )
    usable = np.isfinite(t) & (t >= 0) & (t <= 100)
    rho, _ = density(np.where(usable, t, _LAB_C))
    return np.asarray(rho, dtype=float), np.where(usable, 0.0, _LAB_HALF)


def _corrected(runs: pd.DataFrame, est: Estimates | None) -> dict[str, Vector]:
    unknown = {name: np.full(len(runs), np.nan) for name in ROUTES}
    if est is None:
        return unknown
    table = est.table
    for name in ROUTES:
        rows = table[table["route"] == name].drop_duplicates("run_id").set_index("run_id")
        values = rows["value_g_per_100g"].reindex(runs["run_id"])
        unknown[name] = values.to_numpy(dtype=float)
    return unknown
