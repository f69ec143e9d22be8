"""Runs that stand more than once: resubmissions, copies, and readings worth asking about.

Everything stays in the tables. What must not count twice is set aside with the reason; equal
readings of different groups are only pointed out, because there may be a good reason.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import datetime
from functools import lru_cache

from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.sheets.drafts import Draft

Readings = tuple[tuple[str, object], ...]

# Fewer equal readings than this can be chance in a class of sixty (judgement).
_ENOUGH = 4


def mark_duplicates(drafts: Sequence[Draft]) -> None:
    """Set copies and replaced submissions aside; flag equal readings."""
    readings = {id(d): _readings(d) for d in drafts if not d.set_aside}
    _mark_copies(drafts, readings)
    _mark_resubmissions(drafts)
    _flag_equal_readings(drafts, readings)


def _readings(draft: Draft) -> Readings:
    """Return the raw readings of a run, without what is derived or reported."""
    values = draft.values
    return tuple([(name, values[name]) for name in _raw_among(tuple(values))])


@lru_cache(maxsize=256)
def _raw_among(names: tuple[str, ...]) -> list[str]:
    """Return the raw readings among the columns of a run; most runs of a class have the same."""
    left_out = {"reported_solubility"} | ({"water_volume_ml"} if "fill_1_ml" in names else set())
    return [
        name
        for name in sorted(names)
        if is_canonical(name) and quantity(name).kind == "number" and name not in left_out
    ]


def _live(drafts: Sequence[Draft]) -> list[Draft]:
    return [d for d in drafts if not d.set_aside]


def _mark_copies(drafts: Sequence[Draft], of: Mapping[int, Readings]) -> None:
    """Set aside a run that stands, equal in every reading, elsewhere for the same group."""
    seen: dict[tuple[object, ...], list[Draft]] = defaultdict(list)
    for draft in _live(drafts):
        semester, _, group, run = draft.key
        readings = of[id(draft)]
        if not group or not readings:
            continue
        earlier = seen[semester, group, run, readings, frozenset(draft.unread)]
        for other in earlier:
            elsewhere = (other.file, other.sheet) != (draft.file, draft.sheet)
            told_apart = other.section_said and draft.section_said
            if other.key == draft.key or (
                elsewhere and not told_apart and len(readings) >= _ENOUGH - 1
            ):
                draft.set_aside = f"the same line again ({_beside(other, draft)})"
                draft.flag("", "resubmitted", f"identical to {other.place}")
                break
        else:
            earlier.append(draft)


def _beside(other: Draft, draft: Draft) -> str:
    same = (other.file, other.sheet) == (draft.file, draft.sheet)
    return other.line if same else other.place


def _mark_resubmissions(drafts: Sequence[Draft]) -> None:
    by_key: dict[tuple[str, str, str, str], list[Draft]] = defaultdict(list)
    for draft in _live(drafts):
        if (key := draft.key)[2]:
            by_key[key].append(draft)
    several = {key for key, same in by_key.items() if len(same) > 1}
    for key in several:
        same = by_key[key]
        if _are_replicates(key, by_key):
            for number, draft in enumerate(same, start=1):
                draft.values["run"] = str(number)
            continue
        dated = all(isinstance(d.values.get("submitted"), datetime) for d in same)
        order = sorted(same, key=_handed_in) if dated else same
        last = order[-1]
        for draft in same:
            if draft is not last:
                draft.set_aside = f"replaced by a later submission ({_beside(last, draft)})"
                draft.flag("", "resubmitted", draft.set_aside)
        last.flag("", "resubmitted", "submitted more than once; the last is used")


def _handed_in(draft: Draft) -> datetime:
    moment = draft.values.get("submitted")
    return moment if isinstance(moment, datetime) else datetime.min


def _at_a_time(moment: object) -> bool:
    return isinstance(moment, datetime) and (moment.hour, moment.minute) != (0, 0)


def _are_replicates(
    key: tuple[str, str, str, str], by_key: dict[tuple[str, str, str, str], list[Draft]]
) -> bool:
    """Tell whether several lines of a group are several preparations.

    So where more than half of the groups of the section have several lines without run numbers
    and without a time of submission; a day alone is the one of the lab.
    """
    if key[3] or any(_at_a_time(d.values.get("submitted")) for d in by_key[key]):
        return False
    peers = [same for other, same in by_key.items() if other[:2] == key[:2] and not other[3]]
    return len(peers) >= 2 and 2 * sum(len(same) > 1 for same in peers) > len(peers)


def _flag_equal_readings(drafts: Sequence[Draft], of: Mapping[int, Readings]) -> None:
    equal: dict[tuple[object, ...], list[Draft]] = defaultdict(list)
    for draft in _live(drafts):
        readings = of[id(draft)]
        masses = {name for name, _ in readings} & {"initial_mass_g", "recovered_mass_g"}
        if len(readings) >= _ENOUGH and len(masses) == 2:
            equal[readings].append(draft)
    for same in equal.values():
        for draft in same:
            for other in same:
                if other is draft:
                    continue
                if other.key[:3] == draft.key[:3]:
                    note = f"the same readings as {_named(other)}; worth asking about"
                    draft.flag("", "repeated", note)
                else:
                    note = f"the same readings as group {_named(other)}; worth asking about"
                    draft.flag("", "as_other_group", note)


def _named(draft: Draft) -> str:
    return "/".join(part for part in draft.key[1:] if part) or draft.line
