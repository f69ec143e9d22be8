"""The usual cautions, for every output that reaches people in a lab."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from importlib.resources import files


@dataclass(frozen=True)
class Cautions:
    """Reminders for one solid.

    Attributes
    ----------
    heading, rule : str
        Title, and the sentence that defers to local rules and the responsible instructor.
    items : tuple of (about, text, source)
    """

    heading: str
    rule: str
    items: tuple[tuple[str, str, str], ...]


def cautions(solute: str) -> Cautions:
    """Return the cautions that apply to a solid; the general one where it has none of its own."""
    path = files("solubility_stats.report") / "cautions.toml"
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    known = {name for entry in data["caution"] for name in entry["solutes"]}
    items = []
    for entry in data["caution"]:
        for_all = not entry["solutes"]
        generic_solid = for_all and entry["about"].startswith("Solid")
        if solute in entry["solutes"] or (for_all and not (generic_solid and solute in known)):
            items.append((entry["about"], entry["text"], entry["source"]))
    return Cautions(data["heading"], data["rule"], tuple(items))
