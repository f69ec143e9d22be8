"""A run while the reader puts it together."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.model import ParsedCell


class Values:
    """Values by column with the decimals they were written with."""

    values: dict[str, object]
    decimals: dict[str, int]

    def take(self, column: str, parsed: ParsedCell) -> None:
        """Put a value that was read in place of any other of its column."""
        self.values[column] = parsed.value
        self.decimals.pop(column, None)
        if parsed.decimals is not None:
            self.decimals[column] = parsed.decimals


@dataclass
class Draft(Values):
    """A run while it is being put together.

    ``unread`` holds the columns whose cell is there but could not be read; ``section_said`` tells
    that the sheet itself named the section, in a column or beside a label; ``doubtful`` that a
    number stands in some cell that could not be read; ``again`` that the code of the group says it
    started anew; ``not_of`` the sections that what a setup sheet says of a column excepts.
    """

    file: str
    sheet: str
    line: str
    values: dict[str, object] = field(default_factory=dict)
    decimals: dict[str, int] = field(default_factory=dict)
    flags: list[tuple[str, str, str]] = field(default_factory=list)
    cells: list[tuple[int, int]] = field(default_factory=list)
    unread: set[str] = field(default_factory=set)
    set_aside: str = ""
    hidden: bool = False
    section_said: bool = False
    doubtful: bool = False
    again: str = ""
    not_of: dict[str, frozenset[str]] = field(default_factory=dict)

    @property
    def key(self) -> tuple[str, str, str, str]:
        """Semester, section, group and run."""
        get = self.values.get  # asked several times for every run
        return (
            str(get("semester") or ""),
            str(get("section") or ""),
            str(get("group") or ""),
            str(get("run") or ""),
        )

    @property
    def place(self) -> str:
        """Where the run stands, in words."""
        sheet = f", sheet {self.sheet}" if self.sheet else ""
        return f"{self.file}{sheet}, {self.line}"

    def leave_out(self, column: str, why: str, flag: str = "unclear") -> None:
        """Take a reading out of the run and say why; its cell stays, so it counts as unread."""
        self.values.pop(column, None)
        self.decimals.pop(column, None)
        self.unread.add(column)
        self.flag(column, flag, why)

    def flag(self, column: str, flag: str, note: str = "") -> None:
        """Add a remark on a reading, each once."""
        if (column, flag, note) not in self.flags:
            self.flags.append((column, flag, note))


@lru_cache(maxsize=512)
def is_reading(column: str) -> bool:
    """Tell whether a column holds something measured or observed, not whose or where it is."""
    return is_canonical(column) and quantity(column).kind in ("number", "choice", "flag")
