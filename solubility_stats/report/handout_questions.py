"""Questions for a group's own error discussion: signed and sized from its readings, no verdicts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from solubility_stats.bias.diagnosis import Diagnosis

MOST = 6
# Sizes put to the student to try out, percent of the recovered solid; not estimates.
_LOST, _MOIST = 5.0, 2.0


def questions(
    rows: pd.DataFrame, results: pd.DataFrame, diagnosis: Diagnosis | None, *, hidden: bool
) -> list[str]:
    """Return questions, the most telling first.

    Parameters
    ----------
    rows : DataFrame
        Runs of the group.
    results : DataFrame
        Rows of the estimates' table that belong to the group.
    diagnosis : Diagnosis or None
        Used for the extra measurement that would help most.
    hidden : bool
        Whether the reference must not be hinted at.
    """
    used = results[results["used"]]
    out = _residue(used[used["route"] == "residue"])
    out += _bench(rows)
    out += _routes(used)
    if diagnosis is not None and len(diagnosis.next_measurement):
        term = str(diagnosis.next_measurement.iloc[0]["term"])
        out.append(
            f"The extra measurement that would tell the class most is to {term}. Which two "
            "explanations of your own result would it separate?"
        )
    out.append(
        "Choose the two explanations you find most likely. In which direction does each move the "
        "result, by how much, and what in your notes speaks for or against it?"
    )
    if diagnosis is not None and not hidden:
        out.append(
            "Could two opposite effects hide one another in your result? How would anybody notice?"
        )
    return out[:MOST]


def _residue(used: pd.DataFrame) -> list[str]:
    leverage = float(used["leverage"].median()) if len(used) else float("nan")
    if not np.isfinite(leverage) or leverage <= 0:
        return []
    lost, moist = _LOST * leverage, _MOIST * leverage
    return [
        f"You recovered {leverage:.1f} g of solid for every gram that dissolved. If {_LOST:.0f} % "
        f"of the solid had stayed behind on paper, glass or spatula, the result would come out "
        f"about {lost:.0f} % too high. Where could solid have stayed, and how much of it did you "
        "see?",
        f"If the recovered solid had still held {_MOIST:.0f} % of water, the result would come "
        f"out about {moist:.0f} % too low.{_dried(used)}",
    ]


def _dried(used: pd.DataFrame) -> str:
    minutes = used["dry_min"].dropna() if "dry_min" in used else pd.Series(dtype=float)
    if len(minutes):
        return f" You noted {minutes.iloc[0]:g} min of drying: how did you know it was dry?"
    return " How did you know it was dry?"


def _bench(rows: pd.DataFrame) -> list[str]:
    out = []
    if "scatter" in rows and rows["scatter"].eq("visible").any():
        out.append(
            "The beam was visible in your filtrate. If solid passed the paper, what does that do "
            "to the recovered mass, and so to the result?"
        )
    if "filtration" in rows and rows["filtration"].notna().any():
        how = rows["filtration"].dropna().iloc[0]
        by = {"vacuum": "under vacuum", "gravity": "by gravity"}.get(str(how), str(how))
        out.append(
            f"You filtered {by}. Liquid that stays in the cake leaves its dissolved solid there "
            "when it dries: in which direction does that move the result?"
        )
    if "temperature_c" in rows and rows["temperature_c"].isna().all():
        out.append("No temperature was noted. How much could that matter for this solid?")
    return out


def _routes(used: pd.DataFrame) -> list[str]:
    by_route = used.groupby("route")[["value_g_per_100g", "u_g_per_100g"]].mean()
    if len(by_route) < 2:
        return []
    pairs = sorted(by_route.iterrows(), key=lambda pair: pair[0] != "residue")
    (a, first), (b, second) = pairs[:2]
    gap = float(first["value_g_per_100g"] - second["value_g_per_100g"])
    u = float(np.hypot(first["u_g_per_100g"], second["u_g_per_100g"]))
    return [
        f"Your results by {a} and by {b} differ by {abs(gap):.2g} g per 100 g water; the standard "
        f"uncertainty of that difference is about {u:.2g}. Which effects touch one route and "
        "leave the other alone?"
    ]
