"""Readings looked at as digits: terminal-digit preference, and rows that are the same.

Neither says anything about a person. Round final digits come from scales read between marks;
equal rows from a shared measurement, a form filled twice, or a line entered twice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.pooling.identical import IdenticalRows, identical_rows
from solubility_stats.pooling.multiplicity import holm

__all__ = [
    "IdenticalRows",
    "ReadingDigits",
    "TerminalDigits",
    "identical_rows",
    "reading_digits",
    "terminal_digits",
]

# The last digit of clean readings is uniform only where they spread over many of its steps.
_LEAST_SPREAD = 20
_LEAST = 10


@dataclass(frozen=True, repr=False)
class TerminalDigits(Result):
    """How often each final digit was recorded.

    Attributes
    ----------
    table : DataFrame
        ``digit`` (0 to 9), ``count, expected, share_percent``.
    statistic, p_value : float
        Chi-squared against equal shares, 9 degrees of freedom, and its p-value.
    round_share_percent, round_p_value : float
        Share of 0 and 5 (20 % expected) and its exact binomial p-value (more than expected).
    exact : bool
        Whether ``p_value`` is by simulation because counts are too small for chi-squared.
    n, omitted : int
        Readings used; missing readings left out.
    name : str
        What was read.
    """

    table: pd.DataFrame
    statistic: float
    p_value: float
    round_share_percent: float
    round_p_value: float
    exact: bool
    n: int
    omitted: int
    name: str = ""

    def headline(self) -> str:
        """Return whether some final digits are preferred."""
        what = f" of {self.name}" if self.name else ""
        verdict = (
            "some final digits occur more often than chance would have it; the last digit then "
            "says less than its place suggests"
            if self.p_value < 0.01
            else "no preference shown"
        )
        return (
            f"Final digits{what}, {self.n} readings: {verdict} (p = {self.p_value:.2g}; 0 and 5 "
            f"make {self.round_share_percent:.0f} %, 20 % expected)"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the counts."""
        return {"Final digits": self.table}


def terminal_digits(
    readings: npt.ArrayLike | Sequence[str] | pd.Series[Any],
    decimals: npt.ArrayLike | pd.Series[Any] | int | None = None,
    *,
    name: str = "",
    rng: np.random.Generator | int | None = 0,
) -> TerminalDigits:
    """Test whether the final recorded digits of readings are equally frequent.

    Parameters
    ----------
    readings : sequence of str or array_like of float
        As written (``"1.00"`` keeps its zeros), or numbers together with ``decimals``.
    decimals : int or array_like of int, optional
        Recorded decimals of each number; 0 for whole numbers. Missing ones are left out.
    name : str
        What was read, for printing.
    rng : Generator or int
        For the simulated p-value, used when fewer than 50 readings make chi-squared too rough.

    Raises
    ------
    InputError
        With fewer than 10 readings, numbers without ``decimals``, or readings that spread over
        fewer than 20 steps of their last digit (then even clean digits are not uniform).

    Notes
    -----
    Readings of different decimals are each counted by their own last digit.
    """
    from scipy.special import bdtrc, chdtrc

    units, omitted = _last_units(readings, decimals)
    n = units.size
    if n < _LEAST:
        raise InputError(
            "too few readings", where=name or "readings", found=n, expected=f"{_LEAST} or more"
        )
    if np.ptp(units) < _LEAST_SPREAD:
        raise InputError(
            "readings lie too close together for their last digits to be equally frequent",
            where=name or "readings",
            found=f"a spread of {int(np.ptp(units))} steps",
            expected=f"{_LEAST_SPREAD} or more",
        )
    counts = np.bincount((np.abs(units) % 10).astype(int), minlength=10)
    statistic = float(((counts - n / 10) ** 2).sum() / (n / 10))
    exact = n < 50
    if exact:
        drawn = np.random.default_rng(rng).multinomial(n, np.full(10, 0.1), size=20_000)
        simulated = ((drawn - n / 10) ** 2).sum(axis=1) / (n / 10)
        p_value = float((1 + (simulated >= statistic - 1e-9).sum()) / (1 + simulated.size))
    else:
        p_value = float(chdtrc(9, statistic))
    rounded = int(counts[0] + counts[5])
    table = pd.DataFrame(
        {
            "digit": np.arange(10),
            "count": counts,
            "expected": n / 10,
            "share_percent": 100 * counts / n,
        }
    )
    return TerminalDigits(
        table=table,
        statistic=statistic,
        p_value=p_value,
        round_share_percent=100 * rounded / n,
        round_p_value=float(bdtrc(rounded - 1, n, 0.2)) if rounded else 1.0,
        exact=exact,
        n=int(n),
        omitted=omitted,
        name=name,
    )


@dataclass(frozen=True, repr=False)
class ReadingDigits(Result):
    """Terminal digits of every column of readings.

    Attributes
    ----------
    table : DataFrame
        ``column, n, statistic, p_value, p_holm, round_share_percent, preferred`` (Holm below
        0.05) and ``words`` (why a column cannot be judged).
    """

    table: pd.DataFrame

    def headline(self) -> str:
        """Return in which columns some final digits are preferred."""
        judged = int(self.table["p_value"].notna().sum())
        hit = list(self.table.loc[self.table["preferred"], "column"])
        if not hit:
            return f"Final digits of {judged} columns of readings: no preference shown"
        return f"Some final digits are preferred in {', '.join(hit)} (of {judged} columns)"

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the columns."""
        return {"Final digits": self.table}


def reading_digits(records: Any, columns: Sequence[str] | None = None) -> ReadingDigits:
    """Test the terminal digits of every column of readings whose decimals are known.

    Parameters
    ----------
    records : ClassRecords
        Anything with ``runs`` and, indexed alike, ``decimals``.
    columns : sequence of str, optional
        Columns to judge; by default all with recorded decimals.
    """
    runs, decimals = records.runs, records.decimals
    chosen = [c for c in decimals.columns if c in runs.columns] if columns is None else columns
    rows: list[dict[str, Any]] = []
    for column in chosen:
        if column not in runs.columns or column not in decimals.columns:
            raise InputError("no readings with known decimals", where=f"column {column}")
        try:
            found = terminal_digits(
                runs[column].to_numpy(), decimals[column].to_numpy(), name=column
            )
        except InputError as reason:
            rows.append({"column": column, "words": f"{reason.problem}; found {reason.found}"})
            continue
        kept = ("n", "statistic", "p_value", "round_share_percent")
        rows.append({"column": column, **{k: getattr(found, k) for k in kept}, "words": ""})
    names = ["column", "n", "statistic", "p_value", "p_holm", "round_share_percent", "preferred"]
    table = pd.DataFrame(rows, columns=[*names, "words"])
    table["p_holm"] = holm(table["p_value"].to_numpy(dtype=float))
    table["preferred"] = (table["p_holm"] < 0.05).to_numpy(dtype=bool)
    return ReadingDigits(table)


def _last_units(readings: Any, decimals: Any) -> tuple[npt.NDArray[np.float64], int]:
    """Return each reading in units of its last recorded place, and how many are missing."""
    given = list(readings)
    if any(isinstance(v, str) for v in given):
        return _from_text(given)
    if decimals is None:
        raise InputError(
            "numbers do not tell how many decimals were recorded (1.00 is not 1)",
            where="terminal_digits",
            expected="readings as text, or decimals=",
        )
    places = np.broadcast_to(
        np.array([math.nan if pd.isna(d) else float(d) for d in np.atleast_1d(decimals)]),
        (len(given),),
    )
    values = np.array([math.nan if pd.isna(v) else float(v) for v in given])
    known = np.isfinite(values) & np.isfinite(places)
    return np.rint(values[known] * 10.0 ** places[known]), int((~known).sum())


def _from_text(given: list[Any]) -> tuple[npt.NDArray[np.float64], int]:
    units, missing = [], 0
    for reading in given:
        if pd.isna(reading) or not str(reading).strip():
            missing += 1
            continue
        try:
            number = Decimal(str(reading).strip())
        except InvalidOperation:
            raise InputError(
                "not a plain decimal number", where="readings", found=reading
            ) from None
        exponent = number.as_tuple().exponent
        if not isinstance(exponent, int):
            missing += 1  # "nan" and "inf" are no readings
            continue
        units.append(float(number.scaleb(-exponent)))
    return np.array(units, dtype=float), missing
