"""A place of a table with what it was settled to hold."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.table import Column

State = Literal["understood", "open", "unknown", "derived", "same", "personal", "told"]


@dataclass(frozen=True)
class Field:
    """A place of a table with what it was settled to hold.

    Attributes
    ----------
    place : int
        Place along the line.
    column : str
        Canonical column, empty if none.
    unit : str or None
        Unit name from the heading.
    trial : str
        Trial the place belongs to, empty for all.
    state : str
        ``understood``; ``open`` (ambiguous: its values are unclear); ``unknown``; ``derived``
        (worked out by the group); ``same`` (repeats another column); ``personal``; ``told``
        (a mapping says to leave it out).
    how, note : str
        Evidence and remark for the headings table.
    source : Column
        The column as found.
    """

    place: int
    column: str
    unit: str | None
    trial: str
    state: State
    how: str
    note: str
    source: Column


Values = Mapping[int, Sequence[RawCell | None]]
