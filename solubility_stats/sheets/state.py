"""What a reading of several files knows so far."""

from __future__ import annotations

from dataclasses import dataclass, field

from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.mapping import Mapping


@dataclass
class State:
    """What has been read so far; grows sheet by sheet within one call."""

    mapping: Mapping
    keep_personal: bool
    several_files: bool
    books: list[Book] = field(default_factory=list)
    drafts: list[Draft] = field(default_factory=list)
    headings: list[tuple[str, ...]] = field(default_factory=list)
    columns: list[str] = field(default_factory=list)
    names: set[str] = field(default_factory=set)
    personal: dict[tuple[int, tuple[int, int]], str] = field(default_factory=dict)
    codes: dict[str, str] = field(default_factory=dict)
    explained: dict[str, str] = field(default_factory=dict)
    tables: int = 0
    decided: dict[tuple[str, str, str], str] = field(default_factory=dict)
