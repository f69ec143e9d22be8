"""Effects in sentences, units of slopes, and the order of semesters."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from solubility_stats.errors import InputError
from solubility_stats.pooling.factor_model import Term, TermResult
from solubility_stats.quantities import is_canonical, quantity

TREND = "semester trend"

# Where a season stands within its year, by the words used for it.
_SEASONS = (
    ("winter", "wi", "january"),
    ("spring", "sp", "ss", "hilary", "lent"),
    ("summer", "su", "trinity", "easter"),
    ("autumn", "fall", "au", "fa", "ws", "michaelmas"),
)


def unit_of(term: Term, unit: str) -> str:
    """Return the unit of a term's effect: that of the value, per unit of a slope."""
    if not term.numeric:
        return unit
    per = quantity(term.name).unit if is_canonical(term.name) else "unit"
    per = "semester" if term.name == TREND else per or "unit"
    return f"{unit} per {per}".strip()


def effect_words(row: Mapping[str, Any], found: TermResult, values: pd.Series[Any] | None) -> str:
    """Return one contrast as a sentence with its interval and what replicates it."""
    size, low, high = row["effect_percent"], row["low_percent"], row["high_percent"]
    interval = f"{_signed(size)} % ({_signed(low)} to {_signed(high)} %)"
    replicates = f"{found.units} {found.unit}s as replicates"
    if found.term.numeric:
        per = str(row["unit"]).split(" per ")[-1].removeprefix("per ")
        text = f"{found.term.name}: {interval} for each {per}"
        if values is not None:
            seen = values.dropna()
            text += f"; seen from {seen.min():g} to {seen.max():g}"
        return f"{text}; {replicates}"
    return f"{found.term.name} {row['level']} against {row['against']}: {interval}; {replicates}"


def _signed(x: float) -> str:
    if not math.isfinite(x):
        return "unknown"
    return f"{x:+.2g}".replace("-", "−")


def semester_order(names: Sequence[str], order: Sequence[str] | None = None) -> list[str]:
    """Return semesters in order of time.

    Parameters
    ----------
    names : sequence of str
        Semesters, e.g. ``"fall 2024"`` or ``"2025-1"``.
    order : sequence of str, optional
        The order, if names do not tell it; must hold every name.

    Notes
    -----
    By year, then season of the calendar year, then by the name itself.
    """
    if order is not None:
        absent = sorted(set(names) - set(map(str, order)))
        if absent:
            raise InputError("semester without a place", where="semesters", found=absent[0])
        return [str(s) for s in order if str(s) in set(names)]
    return sorted(names, key=_moment)


def _moment(name: str) -> tuple[int, int, list[tuple[int, str]]]:
    year = re.search(r"(?:19|20)\d\d", name) or re.search(r"\d\d(?!\d)", name)
    words = re.findall(r"[a-z]+", name.lower())
    season = next(
        (i for i, said in enumerate(_SEASONS) if any(w in said for w in words)), len(_SEASONS)
    )
    natural = [(int(d) if d else -1, t) for d, t in re.findall(r"(\d+)|(\D+)", name)]
    return (int(year.group()) % 100 if year else 0, season, natural)
