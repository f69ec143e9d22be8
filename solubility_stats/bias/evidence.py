"""What a class's own records say for or against single causes, one clue at a time.

The joint model weighs everything together; these are the plain looks a teacher can repeat by
hand. A clue whose interval contains zero says nothing, which is not the same as speaking against.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.bias.catalogue import causes
from solubility_stats.bias.comparison import Comparison
from solubility_stats.bias.designed import PLANNED_SPREAD, REGRESSORS

Vector = npt.NDArray[np.float64]
COLUMNS = ["cause", "term", "clue", "slope", "low", "high", "unit", "says", "runs"]

# Trends of the plain difference with a recorded number, and the sign each cause would give it.
TRENDS: tuple[tuple[str, str, float, dict[str, int]], ...] = (
    ("dry_min", "longer drying", 10.0, {"residual_moisture": 1, "residue_carbonation": -1}),
    ("stir_min", "longer stirring", 10.0, {"undersaturation": 1, "early_evaporation": -1}),
    ("settle_min", "longer standing", 10.0, {"early_carbonation": -1, "undersaturation": 1}),
)
# Causes in proportion to the residue, for classes that planned different amounts.
EXCESS = {
    "transfer_loss": 1,
    "residual_moisture": -1,
    "residue_carbonation": -1,
    "retained_liquor": -1,
}
FEWEST_RUNS = 6
# Slopes are taken between all pairs of runs; of more runs than this every second, third … is taken.
MOST_RUNS = 1000


def evidence_table(comp: Comparison, *, level: float = 0.95) -> pd.DataFrame:
    """Return the clues of a class, one row per clue and cause.

    Parameters
    ----------
    comp : Comparison
        The class against the curve; its plain differences are used, since the expected effects
        are the very thing in question.
    level : float
        Confidence of the intervals.

    Returns
    -------
    DataFrame
        ``cause, term, clue, slope, low, high, unit, says (for|against|nothing), runs``. ``slope``
        is the change of the plain difference in percent per step of the clue. Clues that were not
        recorded, or do not vary, are absent.
    """
    runs = comp.runs
    if comp.route != "residue":
        return pd.DataFrame(columns=COLUMNS)
    y = runs["apparent_percent"].to_numpy(dtype=float)
    rows: list[dict[str, object]] = []
    for column, clue, step, signs in TRENDS:
        if column in runs:
            x = pd.to_numeric(runs[column], errors="coerce").to_numpy(dtype=float)
            rows.extend(_clue(x / step, y, f"{clue} (per {step:g} min)", signs, level))
    excess = _planned_leverage(runs)
    if excess is not None:
        rows.extend(
            _clue(excess, y, "larger planned excess (per part that dissolves)", EXCESS, level)
        )
    if "scatter" in runs:
        said = runs["scatter"].astype("str").str.casefold()
        beam = np.where(said == "visible", 1.0, np.where(said == "clear", 0.0, np.nan))
        rows.extend(_clue(beam, y, "beam in the filtrate", {"fines": 1}, level))
    rows.extend(_contrast(comp))
    return pd.DataFrame(rows, columns=COLUMNS)


def _planned_leverage(runs: pd.DataFrame) -> Vector | None:
    """Return residue over dissolved as planned, or None where one recipe was used.

    Taken from the amounts weighed in and the reference, never from the recovered mass: that would
    put the error of the result on both axes.
    """
    if any(c not in runs for c in REGRESSORS):
        return None
    m0, volume = (pd.to_numeric(runs[c], errors="coerce").to_numpy(dtype=float) for c in REGRESSORS)
    ratio = m0 / (runs["reference_g_per_100g"].to_numpy(dtype=float) * volume / 100.0)
    known = ratio[np.isfinite(ratio)]
    if known.size < FEWEST_RUNS or np.std(known) < PLANNED_SPREAD * np.mean(known):
        return None
    return np.asarray(ratio - 1.0)


def _clue(
    x: Vector, y: Vector, clue: str, signs: dict[str, int], level: float
) -> Iterator[dict[str, object]]:
    from scipy import stats

    good = np.isfinite(x) & np.isfinite(y)
    good[np.arange(good.size) % (1 + good.size // MOST_RUNS) != 0] = False
    if good.sum() < FEWEST_RUNS or np.ptp(x[good]) <= 1e-9 * max(abs(float(np.mean(x[good]))), 1.0):
        return
    # Theil and Sen: the median of pairwise slopes, which single slips do not carry away.
    found = stats.theilslopes(y[good], x[good], alpha=level)
    slope, low, high = (float(v) for v in (found.slope, found.low_slope, found.high_slope))
    if not np.isfinite([slope, low, high]).all():
        return
    for name, sign in signs.items():
        shown = 0 if low <= 0.0 <= high else int(np.sign(slope))
        says = "nothing" if not shown else "for" if shown == sign else "against"
        yield {
            "cause": name,
            "term": causes()[name].term,
            "clue": clue,
            "slope": slope,
            "low": low,
            "high": high,
            "unit": "%",
            "says": says,
            "runs": int(good.sum()),
        }


def _contrast(comp: Comparison) -> Iterator[dict[str, object]]:
    """Yield what residue minus titration says: only causes outside the solution can move it."""
    found = comp.contrast
    if found is None or found.n < FEWEST_RUNS:
        return
    low, high = found.apparent_low_percent, found.apparent_high_percent
    shown = 0 if low <= 0.0 <= high else int(np.sign(found.apparent_percent))
    for cause in causes().values():
        moved = {"up": 1, "down": -1}.get(cause.direction("residue"), 0)
        in_solution = cause.direction("titration") != "none"
        if not moved or in_solution:
            continue
        yield {
            "cause": cause.name,
            "term": cause.term,
            "clue": "residue minus titration",
            "slope": found.apparent_percent,
            "low": low,
            "high": high,
            "unit": "%",
            "says": "nothing" if not shown else "for" if shown == moved else "against",
            "runs": found.n,
        }
