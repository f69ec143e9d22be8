"""The water of a run: fills, a written total, and what may be missing from the sum.

A sum that silently lacks a fill would be the worst kind of wrong value, so it is only formed where
every fill of the run is known.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from solubility_stats.quantities import fill_column, fill_columns
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.heading_text import POURED
from solubility_stats.sheets.ledger import Book
from solubility_stats.sheets.model import ParsedCell

# Judgement: where three quarters of the runs of a table have a fill, a blank needs a question;
# with fewer, groups evidently poured different numbers of fills.
_USUAL = 0.75
# Totals are often rounded to a millilitre or two.
_TOTAL_ROUNDING_ML, _TOTAL_ROUNDING_SHARE = 1.0, 0.005


def join_pours(drafts: list[Draft], book: Book) -> list[Draft]:
    """Make one run of a card whose pours stand side by side ("water | 50.5 | 49.8 | 49.5").

    Parameters
    ----------
    drafts : list of Draft
        The runs of a table with labels on the left, one per column of values.
    book : Book
        The ledger of the sheet, in which each pour becomes a fill of its own.

    Returns
    -------
    list of Draft
        The first run with all fills if the others hold nothing but water; otherwise ``drafts``.
    """
    if len(drafts) < 2 or not _is_card(drafts[0]):
        return drafts
    card, *others = drafts
    words = [d for d in others if d.unread - {"water_volume_ml"}]
    if any({*d.values} - {"water_volume_ml"} or d.set_aside for d in others) or not all(
        "water_volume_ml" in (*d.values, *d.unread) for d in others
    ):
        return drafts
    poured = [d.values.get("water_volume_ml") for d in drafts]
    if words or ends_in_sum([str(volume) for volume in poured]):
        drafts[-1].values.pop("water_volume_ml", None)
        drafts[-1].unread.add("water_volume_ml")
        note = (
            "words beside the pours: perhaps a second trial that failed" if words
            else "the last figure may be a fill, or the sum of those before it"
        )  # fmt: skip
        card.flag("water_volume_ml", "unclear", note)
    for number, draft in enumerate(drafts, start=1):
        column = fill_column(number)
        for place in draft.cells:
            entry = book.entries.get(place)
            if entry is not None and entry.column == "water_volume_ml":
                book.entries[place] = replace(entry, column=column)
        if draft is not card:
            card.cells += draft.cells
        if "water_volume_ml" in draft.unread:
            draft.unread.discard("water_volume_ml")
            card.unread.add(column)
        if "water_volume_ml" in draft.values:
            card.values[column] = draft.values.pop("water_volume_ml")
        if "water_volume_ml" in draft.decimals:
            card.decimals[column] = draft.decimals.pop("water_volume_ml")
        for said, flag, note in draft.flags if draft is not card else ():
            card.flag(column if said == "water_volume_ml" else said, flag, note)
    return [card]


def ends_in_sum(figures: Sequence[str]) -> bool:
    """Tell whether the last of three or more volumes may be the total of the others."""
    try:
        volumes = [float(figure.strip().split(" ")[0].replace(",", ".")) for figure in figures]
    except ValueError:
        return False
    *fills, total = volumes or [0.0]
    return len(fills) > 1 and abs(sum(fills) - total) <= _rounding(total)


def _is_card(draft: Draft) -> bool:
    """Tell whether a run has water, in one volume, and more readings besides."""
    readings = {c for c in (*draft.values, *draft.unread) if is_reading(c)}
    return "water_volume_ml" in readings and len(readings) > 2 and not fill_columns(readings)


def pour_as_headed(drafts: Sequence[Draft], heading: str) -> None:
    """Give the runs the fills that the heading of their total states ("3 lots of 50")."""
    said = POURED.search(heading)
    if said is None:
        return
    count, each = int(said["count"]), float(said["each"].replace(",", "."))
    for draft in drafts:
        if draft.values.get("water_volume_ml") == count * each and not fill_columns(draft.values):
            draft.values |= {fill_column(n): each for n in range(1, count + 1)}


def settle_water(drafts: Sequence[Draft]) -> None:
    """Set ``water_volume_ml`` of each run to the sum of its fills, or leave it out and say why."""
    live = [d for d in drafts if not d.set_aside]
    names = fill_columns(dict.fromkeys(c for d in drafts for c in d.values))
    usual = {
        c
        for c in names
        if len(live) >= 3 and sum(c in d.values for d in live) >= _USUAL * len(live)
    }
    known = sum("water_volume_ml" in d.values for d in live)
    against = [_against_total(d) for d in drafts]
    counts = Counter(w for d, w in zip(drafts, against, strict=True) if not d.set_aside)
    apart = {word for word in _APART if counts[word] >= 2 and 2 * counts[word] > known}
    for draft, word in zip(drafts, against, strict=True):
        if word in apart:
            draft.leave_out("water_volume_ml", f"{_APART[word]}, in most runs of the table")
        else:
            _settle(draft, usual, set(names))


_APART = {
    "more": "the fills add up to less than the written total: one may be missing from the table",
    "less": "the fills add up to more than the written total: a column may be no fill",
}
# So much more than the total is no rounding of it (judgement).
_BEYOND_TOTAL = 0.04


def _against_total(draft: Draft) -> str:
    """Tell whether the written total is ``more`` or ``less`` than the fills add up to."""
    poured = sum(v for c in fill_columns(draft.values) if isinstance(v := draft.values[c], float))
    total = draft.values.get("water_volume_ml")
    if not isinstance(total, float) or not poured:
        return ""
    if poured < total - _rounding(poured):
        return "more"
    return "less" if poured > total * (1 + _BEYOND_TOTAL) else ""


def second_volume(draft: Draft, parsed: ParsedCell, where: str) -> None:
    """Put a second volume of a run beside the first: its fills and their total, in either order.

    With fills the total is compared with their sum later. Two bare volumes have to be the same.
    """
    column = "water_volume_ml"
    known, new = draft.values[column], parsed.value
    if parsed.parts:
        return  # the written total stands; the caller adds the fills
    if fill_columns(draft.values):
        draft.values[column] = new
        if parsed.decimals is not None:
            draft.decimals[column] = parsed.decimals
    elif not (isinstance(known, float) and isinstance(new, float)) or (
        abs(new - known) > _rounding(known)
    ):
        draft.leave_out("water_volume_ml", f"{where}: two volumes of water that differ")


def _rounding(poured: float) -> float:
    return max(_TOTAL_ROUNDING_ML, _TOTAL_ROUNDING_SHARE * poured)


def _settle(draft: Draft, usual: set[str], poured_by_some: set[str]) -> None:
    present = {c: v for c in fill_columns(draft.values) if isinstance(v := draft.values[c], float)}
    lost = fill_columns(draft.unread)
    total = draft.values.get("water_volume_ml")
    if lost:
        shown = ", ".join(c.split("_")[1] for c in lost)
        written = {c for c, _, note in draft.flags if _FIGURE_NOTED.search(note)} >= {*lost}
        if written and _fits(total, list(present.values()), len(lost)):
            note = f"fill {shown} could not be read; the written total is used"
            draft.flag("water_volume_ml", "unclear", note)
            return
        draft.leave_out(
            "water_volume_ml", f"fill {shown} could not be read, so the sum is not known"
        )
        return
    if not present:
        return
    poured = sum(present.values())
    agrees = isinstance(total, float) and abs(total - poured) <= _rounding(poured)
    wanted = usual if total is None else poured_by_some
    blank = sorted(wanted - set(present), key=lambda c: int(c.split("_")[1]))
    if blank and not agrees:
        shown = ", ".join(c.split("_")[1] for c in blank)
        if _fits(total, list(present.values()), len(blank)):
            note = f"fill {shown} is blank; the written total is used"
            draft.flag("water_volume_ml", "incomplete", note)
            return
        said = f"; the written total is {total:g} mL" if isinstance(total, float) else ""
        draft.leave_out(
            "water_volume_ml",
            f"fill {shown} is blank where other runs have one; the rest adds up to "
            f"{poured:g} mL{said}",
            "incomplete",
        )
        return
    if fill_column(1) not in present and not agrees:
        shown = ", ".join(c.split("_")[1] for c in present)
        draft.leave_out(
            "water_volume_ml", f"only fill {shown} is known: the fills before it are missing"
        )
        return
    if isinstance(total, float) and not agrees and (odd := _odd_fill(present, total)):
        note = f"far from the other fills, and the written total is {total:g} mL"
        draft.leave_out(odd, note)
        draft.flag("water_volume_ml", "unclear", "the written total is used")
        return
    if isinstance(total, float) and not agrees:
        draft.flag(
            "water_volume_ml",
            "implausible",
            f"the fills add up to {poured:g} mL, the written total is {total:g} mL; "
            "the sum is used",
        )
    draft.values["water_volume_ml"] = poured
    decimals = [draft.decimals[c] for c in present if c in draft.decimals]
    if len(decimals) == len(present):
        draft.decimals["water_volume_ml"] = min(decimals)


# "E10: '7O': letters among the digits", and no blank
_FIGURE_NOTED = re.compile(r"'[^']*\d[^']*': ")
# A fill like the others, as far as a group measures alike (judgement).
_LEAST_FILL, _MOST_FILL = 0.5, 1.5


def _fits(total: object, known: Sequence[float], lost: int) -> bool:
    """Tell whether a written total leaves as much for the fills that were not read as for others.

    A sum made by a formula has nothing for a text.
    """
    if not isinstance(total, float) or not known:
        return False
    each = (total - sum(known)) / lost
    return _LEAST_FILL * min(known) <= each <= _MOST_FILL * max(known)


def _odd_fill(present: Mapping[str, float], total: float) -> str:
    """Return the one fill that is unlike the others, where the total tells of one like them."""
    found = []
    for column, volume in present.items():
        others = [v for c, v in present.items() if c != column]
        alike = others and _LEAST_FILL * min(others) <= volume <= _MOST_FILL * max(others)
        if len(others) > 1 and not alike and _fits(total, others, 1):
            found.append(column)
    return found[0] if len(found) == 1 else ""


def doubt_water_beside(draft: Draft, held: set[str]) -> None:
    """Leave out the water of a card beside which a line without a group holds more volumes.

    "Water (mL) | 50 | 50 | 50" on the card of one group: the first is not all of it.
    """
    volumes = {"water_volume_ml", *fill_columns(held)}
    if held <= volumes and "water_volume_ml" in draft.values:
        draft.leave_out(
            "water_volume_ml", "more volumes stand beside it: one of several fills, or all?"
        )
