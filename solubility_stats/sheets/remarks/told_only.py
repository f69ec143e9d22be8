"""What nothing but the remark of a run tells: the beam, how warm it was, a second drying.

Taken only where no column holds it and nothing is stated for all, and always with a flag.
"""

from __future__ import annotations

import re
from collections.abc import Sequence, Set

from solubility_stats.sheets.beam import beam_said
from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.sentences import said_by

_OF_BEAM = re.compile(r"\b(?:laser|beam|tyndall)\w*", re.IGNORECASE)


def see_beam_in_remarks(drafts: Sequence[Draft]) -> None:
    """Take what remarks say of the beam ("laser: no beam, clear") where nothing else asks for it.

    Every word has to be known, and the parts of a remark must not disagree.
    """
    for draft in drafts:
        remark = str(draft.values.get("comment") or "")
        if not _OF_BEAM.search(remark):
            continue
        parts = [p for p in re.split(r"[.;,!?()\n]|\s[-–]\s", remark) if p.strip()]
        said = [beam_said(p) for p in parts if _OF_BEAM.search(p)]
        if said and said[0] is not None and set(said) == {said[0]}:
            draft.values["scatter"] = said[0]
            draft.flag("scatter", "unclear", "from the remark of the run; nothing else asks for it")


_FROM_REMARKS = ("temperature_c", "filtration", "stir_min", "settle_min", "dry_min")
# Of more than one time, or not of the time that is meant.
_NOT_ALL_OF_IT = re.compile(
    r"\b(?:more|again|extra|longer|another|further|first|second|late|after|half)\b|\?|\d\s+(?:or|oder|ou|o|of|eller)\s+\d",
    re.IGNORECASE,
)
# Filtered one way and then another.
_CHANGED = re.compile(
    r"\b(?:half\w*|partly|some|most|then|switch\w*|chang\w*|start\w*|tried|but|instead)\b", re.I
)
_OF_RUN = re.compile(r"\b(?:run|trial)\s*#?(?P<run>\d)\b", re.IGNORECASE)


def conditions_in_remarks(drafts: Sequence[Draft], known: Set[str]) -> None:
    """Take what remarks say was done ("stirred 15 min, 23 °C") where nothing else tells it.

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of a table; changed in place.
    known : set of str
        Columns of the table, and what is stated for all of it.
    """
    for draft in drafts:
        asked = [c for c in _FROM_REMARKS if c not in draft.values and c not in draft.unread]
        remark = str(draft.values.get("comment") or "")
        of_run = _OF_RUN.search(remark)
        other = of_run is not None and of_run["run"] != str(draft.values.get("run") or "")
        if not remark or other or _NOT_ALL_OF_IT.search(remark):
            continue
        said = said_by(remark, draft.values)
        if _CHANGED.search(remark):
            said.pop("filtration", None)
        for column in asked:
            parsed = parse_said(said[column], column) if column in said else None
            if parsed is not None and parsed.value is not None:
                why = "its own cell is blank" if column in known else "nothing else asks"
                draft.take(column, parsed)
                draft.flag(column, "unclear", f"from the remark '{remark}'; {why}")


# "reheated 10 min, weighed again: 1.8376 g"
_WEIGHED_AGAIN = re.compile(
    r"\b(?:again|re-?heated|re-?dried|re-?weighed|second (?:drying|weighing|time)|2nd (?:drying|"
    r"weighing|time)|nochmal\w*|erneut\w*|de nouveau|encore|de nuevo|otra vez|di nuovo|opnieuw|"
    r"jeszcze raz|ponown\w+|igen)\b",
    re.IGNORECASE,
)
_HEATED = re.compile(
    r"\b(?:dr(?:y|ied|ying)|heat\w*|re-?heat\w*|re-?dr\w+|weigh\w*|re-?weigh\w*|oven|getrocknet|"
    r"gewogen|getrockn\w+|séch\w+|pes[éa]\w*|secad\w*|asciug\w*|gedroogd|susz\w+|waż\w+|tork\w+|"
    r"tørr\w+)\b",
    re.IGNORECASE,
)
_MASS = re.compile(
    r"(?<![\w.,])(?P<mass>\d+[.,]\d+|\d{3,4}(?=\s*mg))\s*(?P<unit>m?g)?(?![\w.,]*\d)"
    r"(?!\s*(?:min|h\b|mL|ml|°))"
)
# A second drying takes away water, a few percent at most of the solid (judgement).
_LEAST_LEFT = 0.85


def second_drying(draft: Draft, remark: str) -> None:
    """Take the mass after a second drying from a remark, where no column asks for it."""
    first = draft.values.get("recovered_mass_g")
    if not isinstance(first, float) or "?" in remark or "paper" in remark.casefold():
        return
    if not _WEIGHED_AGAIN.search(remark) or not _HEATED.search(remark):
        return
    masses = [m for m in _MASS.finditer(remark) if float(m["mass"].replace(",", ".")) != first]
    if len(masses) != 1:
        return
    parsed = parse_said(f"{masses[0]['mass']} {masses[0]['unit'] or 'g'}", "second_dry_mass_g")
    if isinstance(parsed.value, float) and _LEAST_LEFT * first <= parsed.value <= first:
        draft.take("second_dry_mass_g", parsed)
        draft.flag("second_dry_mass_g", "unclear", f"from the remark '{remark}'")
