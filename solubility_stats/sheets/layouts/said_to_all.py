"""Lines of a log that hold for all groups: 13:00 | all | water temp, tap drum | 20.2.

Such a line holds for the runs that begin below it, to the next line of its kind, and only where a
run has no reading of its own. A line of another day or section says nothing of them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from solubility_stats.sheets import keywords, strange_words
from solubility_stats.sheets.head import ONCE_PER_TABLE, Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.model import RawCell

_WHOLE = r"(?:benches|groups|teams|tables|pairs|stations|of (?:us|them|you))"
_EVERYBODY = re.compile(
    rf"\s*(?:all(?:\s+{_WHOLE})?|every(?:one|body)|(?:the\s+)?(?:whole\s+)?class|alle|tous|todos|"
    r"tutti|wszyscy)\s*",
    re.IGNORECASE,
)
_FOR_ALL = re.compile(
    rf"[\s,;(–-]+(?:for\s+)?(?:all(?:\s+{_WHOLE})?|every(?:one|body))(?:\s+today)?\s*\)?\s*\Z",
    re.IGNORECASE,
)
_WIDER = ("semester", "section")


def holds_for_all(keys: Mapping[str, RawCell]) -> bool:
    """Tell whether the group of a line is everybody."""
    return "group" in keys and _EVERYBODY.fullmatch(keys["group"].text) is not None


def meant_for_all(name: str, unit: str | None, know: Know) -> tuple[str, Reading] | None:
    """Return the column and reading of "water temp, tap drum, all benches today", or ``None``."""
    levels = (_FOR_ALL.sub("", name), *(() if unit is None else (unit,)))
    reading = know(levels)
    known = [c for c in reading.candidates if c != keywords.UNSURE]
    if len(known) != 1 or known[0] not in ONCE_PER_TABLE:
        return None
    vessel = known[0] == "temperature_c"  # whatever the water was in
    told = vessel or reading.column or not strange_words.names_other(known[0], reading.strange)
    return (known[0], reading) if told else None


@dataclass
class SaidToAll:
    """What was last said of everybody, by column, while a log is read from top to bottom."""

    now: dict[str, tuple[dict[str, str], RawCell]] = field(default_factory=dict)

    def say(self, column: str, keys: Mapping[str, RawCell], value: RawCell) -> None:
        """Take a line that holds for all runs that begin below it."""
        where = {c: keys[c].text.strip() for c in _WIDER if c in keys}
        self.now[column] = (where, value)

    def at_start(self, keys: Mapping[str, RawCell]) -> dict[str, RawCell]:
        """Return what holds for a run that begins here."""
        own = {c: keys[c].text.strip() for c in _WIDER if c in keys}
        return {
            column: value
            for column, (where, value) in self.now.items()
            if all(own.get(c) == said for c, said in where.items())
        }
