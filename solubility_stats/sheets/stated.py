"""What holds for a whole table because it is stated once above it."""

from __future__ import annotations

from dataclasses import dataclass, field

from solubility_stats.sheets.drafts import Values


@dataclass
class Preamble(Values):
    """Values that hold for a whole table, and what named the section."""

    values: dict[str, object] = field(default_factory=dict)
    decimals: dict[str, int] = field(default_factory=dict)
    flags: list[tuple[str, str, str]] = field(default_factory=list)
    section: str = ""
    title: str = ""
