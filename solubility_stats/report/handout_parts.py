"""What one group's sheet says: readings, result, budget, sums and its place in the class."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from solubility_stats.display import with_uncertainty
from solubility_stats.quantities import QUANTITIES, fill_columns, is_canonical, quantity
from solubility_stats.report.handout_strip import Strip, strip

if TYPE_CHECKING:
    from solubility_stats.bias.diagnosis import Diagnosis
    from solubility_stats.measurement.estimates import Estimates
    from solubility_stats.measurement.slips import Slips
    from solubility_stats.records import ClassRecords

UNIT = "g per 100 g water"
BARS = 6
# Candidates spelled out on a sheet; more would read as an accusation by weight of numbers.
WAYS = 3
_LEFT_OUT = frozenset(
    {
        "semester", "section", "group", "run", "instructor", "submitted", "solute", "comment",
        "reported_solubility", "reported_unit", "constant_mass",
    }
)  # fmt: skip
_OWN_SCOPES = ("run", "group")


@dataclass(frozen=True)
class Class:
    """The class's results that every sheet is drawn from."""

    records: ClassRecords
    est: Estimates
    slips: Slips
    diagnosis: Diagnosis | None

    @property
    def route(self) -> str:
        """Route the class is compared on: the one with most usable results."""
        used = self.est.table[self.est.table["used"]]
        return str(used["route"].value_counts().idxmax()) if len(used) else "residue"


@dataclass(frozen=True)
class ReadingRow:
    """One reading of every run of the group."""

    label: str
    unit: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class ResultLine:
    """One result in words."""

    run: str
    route: str
    value: str
    interval: str
    plain: str
    note: str

    @property
    def title(self) -> str:
        """Run and route, as far as they need telling."""
        return ", ".join(part for part in (self.run, self.route) if part)


@dataclass(frozen=True)
class Bar:
    """One line of the budget: shares of the variance in percent."""

    label: str
    own: float
    shared: float

    @property
    def share(self) -> float:
        """Whole share of the line."""
        return self.own + self.shared


@dataclass(frozen=True)
class Sums:
    """The arithmetic check of one run, in neutral words."""

    run: str
    text: str
    ways: tuple[tuple[str, str], ...] = ()
    aside: str = ""


def readings(records: ClassRecords, rows: pd.DataFrame) -> list[ReadingRow]:
    """Return the readings of the group as they were read, with their recorded decimals."""
    fills = fill_columns(rows.columns)
    order = [q.name for q in QUANTITIES if q.name not in _LEFT_OUT and q.name in rows]
    at = order.index("water_volume_ml") if "water_volume_ml" in order else len(order)
    names = [*order[:at], *fills, *order[at:]]
    out = []
    for name in names:
        if rows[name].isna().all() or (rows[name].astype("str").str.strip() == "").all():
            continue
        if name == "water_volume_ml" and len(rows[fills].dropna(axis=1, how="all").columns) == 1:
            continue
        about = quantity(name)
        label = about.meaning.rstrip(".")
        if name in fills:
            label = f"Fill {name.split('_')[1]}"
        elif name == "water_volume_ml" and fills:
            label = "Water in all"
        cells = tuple(_cell(records, row, name) for row in rows.index)
        out.append(ReadingRow(label, {"degC": "°C"}.get(about.unit, about.unit), cells))
    return out


def _cell(records: ClassRecords, row: int, name: str) -> str:
    column = records.runs[name]
    if column.isna().loc[row]:
        return "–"
    if quantity(name).kind != "number":
        return str(column.loc[row])
    value = float(column.loc[row])
    if name in records.decimals:
        places = pd.to_numeric(records.decimals[name]).to_numpy(dtype=float, na_value=np.nan)
        recorded = places[records.runs.index.get_loc(row)]
        if np.isfinite(recorded):
            return f"{value:.{int(recorded)}f}"
    return f"{value:g}"


def remarks(records: ClassRecords, rows: pd.DataFrame) -> list[str]:
    """Return what the reader marked about this group's cells."""
    own = records.flags[records.flags["run_id"].isin(rows["run_id"])]
    out = []
    for _, flag in own.iterrows():
        name = str(flag["column"])
        what = quantity(name).meaning.rstrip(".").lower() if is_canonical(name) else name
        note = str(flag["note"]).strip()
        out.append(f"{what}: {note or flag['flag']}" if what else note)
    out += [f"set aside: {text}" for text in rows["set_aside"] if text]
    return list(dict.fromkeys(out))


def results(est: Estimates, rows: pd.DataFrame) -> list[ResultLine]:
    """Return every result of the group, or why there is none."""
    own = est.table[est.table["run_id"].isin(rows["run_id"])]
    several = len(rows) > 1
    routes = own["route"].nunique() > 1
    out = []
    for _, row in own.iterrows():
        run = (
            f"run {row['run'] or list(rows['run_id']).index(row['run_id']) + 1}" if several else ""
        )
        route = str(row["route"]) if routes else ""
        if not row["used"]:
            out.append(ResultLine(run, route, "", "", "", str(row["reason"])))
            continue
        value, u = float(row["value_g_per_100g"]), float(row["u_g_per_100g"])
        low, high = float(row["low_g_per_100g"]), float(row["high_g_per_100g"])
        plain = with_uncertainty(
            float(row["apparent_g_per_100g"]), float(row["u_apparent_g_per_100g"])
        )
        span = f"{_like(low, u)} to {_like(high, u)}"
        out.append(ResultLine(run, route, with_uncertainty(value, u), span, plain, ""))
    return out


def _like(value: float, u: float) -> str:
    """Return ``value`` with the decimals that ``u`` calls for."""
    return with_uncertainty(value, u).split(" ± ")[0]


def bars(est: Estimates, run_id: str, route: str) -> list[Bar]:
    """Return the largest parts of a run's uncertainty, own and shared causes apart."""
    budget = est.budget_of([run_id], route=route)
    parts = budget.assign(
        label=budget["component"].str.partition(":")[0],
        own=budget["share_percent"].where(budget["scope"].isin(_OWN_SCOPES), 0.0),
        shared=budget["share_percent"].where(~budget["scope"].isin(_OWN_SCOPES), 0.0),
    )
    by = parts.groupby("label")[["own", "shared"]].sum()
    by = by.loc[by.sum(axis=1).sort_values(ascending=False, kind="stable").index]
    lines = [Bar(_capital(str(k)), float(r["own"]), float(r["shared"])) for k, r in by.iterrows()]
    rest = lines[BARS:]
    if rest:
        lines = lines[:BARS]
        lines.append(Bar("Everything else", sum(b.own for b in rest), sum(b.shared for b in rest)))
    return lines


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def sums(slips: Slips, rows: pd.DataFrame) -> list[Sums]:
    """Return the arithmetic check of each run of the group."""
    table = slips.table.set_index("run_id")
    reasons = dict(zip(slips.unchecked["run_id"], slips.unchecked["reason"], strict=True))
    out = []
    for k, (run_id, run) in enumerate(zip(rows["run_id"], rows["run"], strict=True)):
        name = f"run {run or k + 1}" if len(rows) > 1 else ""
        if run_id not in table.index:
            out.append(Sums(name, "No solubility was reported, so there is nothing to compare."))
            continue
        row = table.loc[run_id]
        said = f"The reported value is {row['reported']:g} {row['reported_unit'] or '(no unit)'}"
        if run_id in reasons:
            out.append(Sums(name, f"{said}. It could not be worked out again: {reasons[run_id]}."))
            continue
        gives = f"the readings give {row['recomputed_in_unit']:.4g} {row['unit_read']}"
        if row["agrees"]:
            out.append(Sums(name, f"{said}; {gives}. The two agree within rounding."))
            continue
        out.append(_differing(name, f"{said}; {gives}.", slips, run_id))
    return out


def _differing(name: str, start: str, slips: Slips, run_id: str) -> Sums:
    found = slips.candidates[slips.candidates["run_id"] == run_id]
    if found.empty:
        return Sums(
            name,
            f"{start} No common slip leads from one to the other.",
            aside="Which step, or which reading, might differ from what is written above?",
        )
    plainest = found[found["found_by"] == found["found_by"].iloc[0]]
    # One formula for each slip, on the plainest basis it fits on.
    plainest = plainest.sort_values("basis", kind="stable").drop_duplicates("slip").head(WAYS)
    ways = tuple(zip(plainest["slip"], plainest["formula"], strict=True))
    chance = 100 * float(plainest["chance_match"].iloc[0])
    often = f"about {chance:.0f} in 100" if chance >= 1 else "fewer than 1 in 100"
    lead = "if" if len(ways) == 1 else "in more than one way, for example if"
    more = found["slip"].nunique() - len(ways)
    others = f" {more} less simple way{'s' if more > 1 else ''} would fit too." if more else ""
    return Sums(
        name,
        f"{start} The reported value is what one gets {lead} one works out:",
        ways,
        f"Of unrelated numbers {often} would fit such a formula by chance.{others} The difference "
        "may also sit in a reading as it was typed.",
    )


def place_in_class(
    group: Class, rows: pd.DataFrame, reference: tuple[float, float] | None
) -> tuple[Strip | None, str]:
    """Return the drawing of the class with this group marked, and a sentence about it."""
    used = group.est.table[group.est.table["used"] & (group.est.table["route"] == group.route)]
    if len(used) < 3:
        return None, "Fewer than three results are there to compare with."
    values = used["value_g_per_100g"].to_numpy(dtype=float)
    mine = used[used["run_id"].isin(rows["run_id"])]
    columns = ["value_g_per_100g", "low_g_per_100g", "high_g_per_100g"]
    own = [(float(a), float(b), float(c)) for a, b, c in mine[columns].to_numpy(dtype=float)]
    drawing = strip(values, own, reference)
    if mine.empty:
        return drawing, "The dots are the results of the class; yours could not be worked out."
    middle = float(np.median(values))
    value = float(mine["value_g_per_100g"].mean())
    u = _own_uncertainty(group.est, list(mine["run_id"]), group.route)
    side = "above" if value >= middle else "below"
    start = (
        f"Your value lies {abs(value - middle):.2g} {UNIT} {side} the middle of the class. "
        f"The part of the uncertainty that belongs to single groups is ±{u:.2g} (one standard "
        "uncertainty), "
    )
    if abs(value - middle) <= 2 * u:
        return drawing, start + "so scatter alone can make a difference of this size."
    return drawing, start + (
        "so a difference of this size is more than that scatter usually makes: something may have "
        "been different, at your bench or at the others."
    )


def _own_uncertainty(est: Estimates, run_ids: Sequence[str], route: str) -> float:
    """Return the standard uncertainty of the group's mean from causes no other group shares."""
    budget = est.budget_of(list(run_ids), route=route)
    own = budget[budget["scope"].isin(_OWN_SCOPES)]
    per_run = own.groupby("run_id")["contribution_g_per_100g"].agg(lambda c: float(np.sum(c**2)))
    return float(np.sqrt(per_run.sum()) / max(len(per_run), 1))


def reference_for(
    group: Class, rows: pd.DataFrame, hidden: bool
) -> tuple[tuple[float, float] | None, str]:
    """Return the reference at the group's temperature and a sentence; nothing if hidden."""
    if hidden or group.diagnosis is None:
        return None, ""
    runs = group.diagnosis.comparison.runs
    own = runs[runs["run_id"].isin(rows["run_id"])]
    if own.empty:
        return None, ""
    first = own.iloc[0]
    value, u = float(first["reference_g_per_100g"]), float(first["u_reference_g_per_100g"])
    text = (
        f"Published values at your temperature give {with_uncertainty(value, u)} {UNIT}; the "
        "uncertainty includes how far the published sources disagree with one another."
    )
    return (value, u), text
