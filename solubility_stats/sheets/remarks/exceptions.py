"""A remark of a run against what is stated once for all: "25 mL of filtrate unless noted".

The remark counts where the statement leaves room for it or the remark says what was done instead;
where it only says something else, the value is left out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from solubility_stats.quantities import fill_columns
from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.phrases import concepts_in
from solubility_stats.sheets.said_filtrations import ways_named
from solubility_stats.sheets.sentence_parts import parts_of
from solubility_stats.sheets.sentences import exceptions_in, said_by

_STATED = (
    "aliquot_ml", "evaporation_aliquot_ml", "temperature_c", "filtration", "titrant_mol_per_l",
    "stir_min", "settle_min", "dry_min",
)  # fmt: skip
# "Gravity instead of vacuum", "gravity instead": what is denied is not what was done.
_OF_OTHERS = re.compile(r"\binstead(?: of[^,;.]*)?", re.IGNORECASE)
# What a remark on an amount of filtrate must be taken to speak of, if the table has it.
_AMOUNTS = ("aliquot_ml", "evaporation_aliquot_ml")
_TITRATED = {"titrant_ml", "dish_mass_g"}
_ROOM = re.compile(
    r"\b(?:unless|except|otherwise|if not|außer|falls nicht|sauf|excepto|salvo|tranne|tenzij)\b",
    re.IGNORECASE,
)
_INSTEAD = re.compile(
    r"\b(?:only|just|instead|nur|stattdessen|seulement|solo|sólo|só|apenas|alleen|slechts)\b",
    re.IGNORECASE,
)
# "Switched to vacuum", "filtré par gravité": what this one did.
_DONE_SO = re.compile(
    r"\b(?:(?:switched|changed|went) (?:over )?to|(?:we |had to |so )used?|"
    r"filtered (?:by|with|under|through)|filtrée? (?:par|sous)|"
    r"filtrad[oa] (?:por|al|a)|filtrat[oa] (?:per|sotto)|passé à)\b",
    re.IGNORECASE,
)
_TAKEN = re.compile(r"\b(?:used|took|taken|pipett?ed)\b", re.IGNORECASE)
_NOT_TAKEN = re.compile(
    r"\b(?:spil\w*|lost|left|over|remain\w*|extra|more|added|about|maybe|should|verschüttet|rest)\b",
    re.IGNORECASE,
)
_VOLUME = re.compile(r"\d\s*(?:mL|cm3|cm³|cc)\b", re.IGNORECASE)
_BARE_TEMPERATURE = re.compile(
    r"\b(?:T|temp\w*|water|thermometer)\b[^.;\d]{1,25}(?P<number>\d\d(?:[.,]\d)?)\b"
    r"(?:\s*(?P<unit>°?\s?[CF])\b)?(?!\s*(?:min|m?g\b|m?L\b|%|s\b|h\b))",
    re.IGNORECASE,
)
_OTHER_VOLUME = frozenset({"acid", "water", "burette", "titre", "fill", "endpoint"})


def heed_remarks(
    drafts: Sequence[Draft], stated: Mapping[str, object], texts: Sequence[str]
) -> None:
    """Let the remark of a run stand against what was stated once for its table.

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of a table; changed in place.
    stated : mapping of str to object
        What was stated once, by canonical column.
    texts : sequence of str
        The texts around the table.
    """
    columns = [c for c in _STATED if c in stated]
    room = any(map(_ROOM.search, texts))
    for draft in drafts if columns else ():
        remark = str(draft.values.get("comment") or "")
        same = [c for c in columns if draft.values.get(c) == stated[c]]
        if remark and same:
            _heed(draft, remark, same, room)


def _heed(draft: Draft, remark: str, columns: Sequence[str], room: bool) -> None:
    plain = _OF_OTHERS.sub(" ", remark)
    said = said_by(plain, _TITRATED)
    instead = bool(room or _INSTEAD.search(remark))
    for column in columns:
        if column not in said:
            continue
        words = said[column]
        parsed = parse_said(words, column)
        if parsed.value == draft.values[column]:
            continue
        done = column == "filtration" and _DONE_SO.search(remark)
        clear = instead or done or (column in _AMOUNTS and _TAKEN.search(remark))
        if parsed.value is None or not clear or _NOT_TAKEN.search(remark):
            draft.leave_out(column, _AGAINST)
            continue
        draft.take(column, parsed)
        draft.flag(column, "unclear", f"from the remark '{words}', not as stated for all")
    if "temperature_c" in columns and "temperature_c" not in said:
        _heed_temperature(draft, remark, room)
    if "filtration" in columns and "filtration" not in said:
        _heed_filtration(draft, remark, room)
    amounts = [c for c in columns if c in _AMOUNTS and c not in said]
    volume = _VOLUME.search(remark) and not concepts_in(remark) & _OTHER_VOLUME
    if amounts and not said and volume and instead:
        for column in amounts:
            draft.leave_out(column, _AGAINST)


def _heed_temperature(draft: Draft, remark: str, room: bool) -> None:
    """Heed "water was warmer, 24.0 C by our thermometer", and leave "T was 25 in ours" open."""
    bare = _BARE_TEMPERATURE.search(remark)
    if bare is None:
        return
    parsed = parse_said(f"{bare['number']} {bare['unit'] or ''}".strip(), "temperature_c")
    if parsed.value == draft.values["temperature_c"]:
        return
    if parsed.value is None or not (room and bare["unit"]):
        draft.leave_out("temperature_c", _AGAINST)
    else:
        draft.take("temperature_c", parsed)
        draft.flag("temperature_c", "unclear", f"from the remark '{remark}', not as stated for all")


# "vacuum line down at our hood, gravity filtered": why, and then how.
_FAILED = re.compile(
    r"\b(?:down|broke\w*|dead|died|taken|out|off|missing|no|not|without|slow|weak)\b", re.IGNORECASE
)


def _heed_filtration(draft: Draft, remark: str, room: bool) -> None:
    stated = draft.values["filtration"]
    done = ways_named(" ".join(p for p in parts_of(remark) if not _FAILED.search(p))) - {None}
    if (room or _DONE_SO.search(remark)) and len(done) == 1 and stated not in done:
        draft.values["filtration"] = done.pop()
        draft.flag("filtration", "unclear", f"from the remark '{remark}', not as stated for all")
    elif ways_named(remark) - {None, stated}:
        draft.leave_out("filtration", _AGAINST)


_AGAINST = "the remark of the run speaks against what is stated for all"


def heed_exceptions(
    drafts: Sequence[Draft], stated: Mapping[str, object], texts: Sequence[str]
) -> None:
    """Give a group that a sentence about all excepts what it says of it, or leave that open.

    "HCl 0.0502 M (group 5 used the leftover 0.0985 M)"

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of a table; changed in place.
    stated : mapping of str to object
        What was stated once, by canonical column.
    texts : sequence of str
        The texts around the table.
    """
    for text in (one for whole in texts for one in _SENTENCES.split(whole)):
        for group, clause in exceptions_in(text):
            excepted = {*said_by(text, _TITRATED)} & {*stated}
            own = [d for d in drafts if str(d.values.get("group") or "").casefold() == group]
            for draft in own:
                for column in sorted(excepted):
                    if draft.values.get(column) == stated[column]:
                        _except(draft, column, clause, text)


_SENTENCES = re.compile(r"(?<=[.!?])\s+(?=[A-Z\d])")


def _except(draft: Draft, column: str, clause: str, text: str) -> None:
    for part in [column, *(fill_columns(draft.values) if column == "water_volume_ml" else ())]:
        draft.leave_out(part, f"excepted in '{text}'")
    told = f"HCl {clause}" if column == "titrant_mol_per_l" else clause
    words = said_by(told, _TITRATED).get(column)
    own = parse_said(words, column) if words else None
    if own is not None and own.value is not None:
        draft.unread.discard(column)
        draft.take(column, own)
