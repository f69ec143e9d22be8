"""How results print: one base class, one rounding rule, for terminal, notebook and JSON."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd


def with_uncertainty(value: float, u: float, unit: str = "", digits: int = 2) -> str:
    """Return ``value ± u`` rounded to the uncertainty.

    Parameters
    ----------
    value, u : float
        Value and standard uncertainty, same unit.
    unit : str
        Appended after a space.
    digits : int
        Significant digits kept in the uncertainty; storage elsewhere is never rounded.
    """
    tail = f" {unit}" if unit else ""
    if not math.isfinite(value):
        return "not available"
    if not math.isfinite(u):
        return f"{value:.4g}{tail} (uncertainty not available)"
    if u <= 0:
        return f"{value:.6g} ± 0{tail}"
    decimals = max(0, digits - 1 - math.floor(math.log10(u)))
    return f"{value:.{decimals}f} ± {u:.{decimals}f}{tail}".replace("-", "−")


def json_safe(thing: Any) -> Any:
    """Return ``thing`` as plain Python that ``json.dumps(..., allow_nan=False)`` accepts.

    Frames become lists of records, arrays become lists, and every not-a-number becomes ``None``
    because JSON has no word for it.
    """
    if isinstance(thing, pd.DataFrame):
        frame = thing if isinstance(thing.index, pd.RangeIndex) else thing.reset_index()
        return [{str(k): json_safe(v) for k, v in row.items()} for row in frame.to_dict("records")]
    if isinstance(thing, pd.Series):
        return {str(k): json_safe(v) for k, v in thing.items()}
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        return {f.name: json_safe(getattr(thing, f.name)) for f in dataclasses.fields(thing)}
    if isinstance(thing, Mapping):
        return {str(k): json_safe(v) for k, v in thing.items()}
    if isinstance(thing, (list, tuple, set, frozenset, np.ndarray)):
        return [
            json_safe(v) for v in (sorted(thing) if isinstance(thing, (set, frozenset)) else thing)
        ]
    if thing is None or thing is pd.NA or thing is pd.NaT:
        return None
    if isinstance(thing, (bool, np.bool_)):
        return bool(thing)
    if isinstance(thing, (int, np.integer)):
        return int(thing)
    if isinstance(thing, (float, np.floating)):
        return float(thing) if math.isfinite(thing) else None
    return thing if isinstance(thing, str) else str(thing)


class Result:
    """Base of the frozen result objects: one headline, a few tables, printed the same way.

    A subclass says ``headline()`` (one sentence with the number that matters and its
    uncertainty) and ``tables()`` (title to tidy frame); text, HTML and JSON follow from these.
    """

    def headline(self) -> str:
        """Return the result in one sentence."""
        raise NotImplementedError

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the tables worth printing, title first."""
        return {}

    def to_dict(self) -> dict[str, Any]:
        """Return every field as JSON-safe plain Python."""
        return {str(k): v for k, v in json_safe(self).items()}

    def __str__(self) -> str:
        parts = [self.headline()]
        for title, frame in self.tables().items():
            parts.append(f"\n{title}\n{_short_text(frame)}")
        return "\n".join(parts)

    def __repr__(self) -> str:
        return f"<{type(self).__name__}: {self.headline()}>"

    def _repr_html_(self) -> str:
        from html import escape

        parts = [f"<p><strong>{escape(self.headline())}</strong></p>"]
        for title, frame in self.tables().items():
            shown = frame.head(40).to_html(
                index=not isinstance(frame.index, pd.RangeIndex),
                float_format=_four_digits,
                na_rep="",
            )
            parts.append(f"<h4>{escape(title)}</h4>{shown}{_rest(frame, 40)}")
        return "\n".join(parts)


def _four_digits(x: float) -> str:
    return f"{x:.4g}"


def _rest(frame: pd.DataFrame, shown: int) -> str:
    return f"<p>and {len(frame) - shown} more rows</p>" if len(frame) > shown else ""


def _short_text(frame: pd.DataFrame, rows: int = 20) -> str:
    if frame.empty:
        return "  (none)"
    text = frame.head(rows).to_string(
        index=not isinstance(frame.index, pd.RangeIndex), float_format=_four_digits, na_rep=""
    )
    return text if len(frame) <= rows else f"{text}\n  … and {len(frame) - rows} more rows"
