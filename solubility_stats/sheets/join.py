"""Tables that hold different readings of the same runs, made one: weighing in, weighing out.

A class may keep what it did on two days, or with two methods, in two tables. They are one if their
groups are the same and no reading of a group stands in both; everything else stays apart.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from math import isclose

from solubility_stats.sheets.again import same_group_again
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.places import is_weekday, section_in

# Most groups must stand in both tables (judgement: one or two were absent on one day).
_SHARED = 0.6
_FEWEST = 3


def join_tables(tables: Sequence[list[Draft]]) -> list[list[Draft]]:
    """Return the runs of a file's tables, those of the same runs joined.

    Parameters
    ----------
    tables : sequence of list of Draft
        The runs of each table in reading order. Runs that are joined are changed in place.

    Returns
    -------
    list of list of Draft
        As many lists as there are tables left.
    """
    if len(tables) < 2:
        return list(tables)
    _spell_alike(tables)
    _say_whose_trials(tables)
    _say_whose_beside(tables)
    _say_who_did_it_again(tables)
    left: list[list[Draft]] = []
    for drafts in _without_overview(_with_other_half(tables)):
        partner = next((other for other in left if _are_one(other, drafts)), None)
        if partner is None:
            left.append(drafts)
        else:
            _join(partner, drafts)
    return _with_forms(left)


def _say_whose_trials(tables: Sequence[list[Draft]]) -> None:
    """Give trials of a tab of calculations, or later ones, the group of a file of one group."""
    live = [d for drafts in tables for d in drafts if not d.set_aside]
    groups = {d.key[2] for d in live if d.key[2]}
    if len(groups) != 1:
        return
    named = [d for d in live if d.key[2]]
    trials = {d.key[3] for d in named}
    for drafts in tables:
        if not drafts or any(d.key[2] or not d.key[3] for d in drafts):
            continue
        beside = [d for d in named if d.sheet == drafts[0].sheet]
        known = {d.key[3] in trials for d in drafts}
        # On the same sheet "Table 2. Evaporation of filtrate" holds other readings.
        apart = known == {True} and not _readings(drafts) & _readings(beside)
        later = bool(beside) and known == {False}
        for draft in drafts if apart or later else ():
            draft.values["group"] = named[0].values["group"]
            if later and is_weekday(draft.key[1]):  # "Thursday Feb 13 - Trial 2"
                draft.values["section"] = named[0].values.get("section", "")


def _say_whose_beside(tables: Sequence[list[Draft]]) -> None:
    """Give trials without a group that of the card they stand beside: other readings of its runs.

    "Bench 1 | Run 1 | Run 2" and, on the same lines, "Titration of filtrate | Run 1 | Run 2".
    """
    cards = [drafts for drafts in tables if len({d.key[2] for d in drafts} - {""}) == 1]
    for drafts in tables:
        live = [d for d in drafts if not d.set_aside and _readings([d]) - _STATED_ONCE]
        if not live or any(d.key[2] or not d.key[3] for d in drafts):
            continue
        beside = [
            card
            for card in cards
            if card[0].sheet == drafts[0].sheet
            and {d.key[3] for d in live} <= {d.key[3] for d in card}
            and _lines_of(drafts) <= _lines_of(card)
            and not (_readings(drafts) & _readings(card)) - _STATED_ONCE
        ]
        for draft in drafts if len(beside) == 1 else ():
            draft.values["group"] = beside[0][0].values["group"]


# What a line above all tables may have given to each of them.
_STATED_ONCE = frozenset(
    {"aliquot_ml", "titrant_mol_per_l", "temperature_c", "filtration", "stir_min", "settle_min",
     "dry_min", "evaporation_aliquot_ml"}
)  # fmt: skip


def _lines_of(drafts: Sequence[Draft]) -> set[int]:
    return {row for draft in drafts for row, _ in draft.cells}


def _spell_alike(tables: Sequence[list[Draft]]) -> None:
    """Write "red" as "Red" where another table does, unless one table has both as two groups."""
    said = [{d.key[2] for d in drafts if d.key[2]} for drafts in tables]
    if any(len({g.casefold() for g in groups}) < len(groups) for groups in said):
        return
    first: dict[str, str] = {}
    for group in (d.key[2] for drafts in tables for d in drafts if d.key[2]):
        first.setdefault(group.casefold(), group)
    for draft in (d for drafts in tables for d in drafts if d.key[2]):
        draft.values["group"] = first[draft.key[2].casefold()]


def _say_who_did_it_again(tables: Sequence[list[Draft]]) -> None:
    """Know "8 again" for group 8 where only another table has the first run of group 8."""
    groups = {d.key[2] for drafts in tables for d in drafts}
    for drafts in tables:
        same_group_again(drafts, groups)


def _with_other_half(tables: Sequence[list[Draft]]) -> list[list[Draft]]:
    """Join the halves of a card: two lists of labels side by side, the group in one of them."""
    left = [list(t) for t in tables]
    cards = [t for t in left if len(t) == 1 and t[0].cells and not t[0].set_aside]
    for card in cards:
        if not card or not card[0].values.get("group"):
            continue
        halves = [t for t in cards if t and t is not card and _may_be_half(card[0], t[0])]
        if len(halves) == 1 and _same_in_both(card[0], halves[0][0]):
            _complete(card[0], halves[0][0])
            if halves[0][0].section_said and "section" in halves[0][0].values:
                card[0].values.setdefault("section", halves[0][0].values["section"])
            halves[0].clear()
        for part in cards:  # more readings of the card on the lines right below it
            below = part and part is not card and _is_below(card[0], part[0])
            if below and not _readings(card) & _readings(part):
                _complete(card[0], part[0])
                part.clear()
    return [t for t in left if t]


def _is_below(card: Draft, other: Draft) -> bool:
    """Tell whether a part without a group stands right below a card, under headings of its own."""
    if any(other.key[2:]) or (card.file, card.sheet) != (other.file, other.sheet):
        return False
    gap = min(row for row, _ in other.cells) - max(row for row, _ in card.cells)
    mine, theirs = ({col for _, col in d.cells} for d in (card, other))
    return 0 < gap <= _ASKEW and bool(mine & theirs)


def _may_be_half(card: Draft, other: Draft) -> bool:
    same = other.key[2] in ("", card.key[2]) and not other.key[3]
    return same and _is_beside(card, other)


def _is_beside(card: Draft, other: Draft) -> bool:
    """Tell whether a part of a sheet stands right of a card, on no other lines than that."""
    if card.file != other.file or card.sheet != other.sheet:
        return False
    mine, theirs = [row for row, _ in card.cells], [row for row, _ in other.cells]
    right = min(col for _, col in other.cells) > max(col for _, col in card.cells)
    begins = min(mine) <= min(theirs) + _ASKEW
    return right and begins and max(theirs) <= max(mine) + _ASKEW


# The halves of a card may begin and end a few lines apart (judgement).
_ASKEW = 2


# So many readings that agree are no coincidence (judgement).
_COPIED = 2


def _without_overview(tables: Sequence[list[Draft]]) -> list[list[Draft]]:
    """Join an overview of all sections with the tables of the sections it repeats.

    Where it holds the same columns its lines are copies, which are set aside later.
    """
    left = [list(t) for t in tables]
    for overview in left:
        details = [d for t in left if t is not overview for d in t]
        runs = {d.key: d for d in details if not d.set_aside}
        mine = {d.key: d for d in overview if not d.set_aside}
        shared = [key for key in mine if key in runs and key[2]]
        unique = len(runs) == sum(not d.set_aside for d in details)
        if not unique or len(shared) < max(_FEWEST, _SHARED * len(mine)):
            continue
        more = any(_readings([runs[key]]) != _readings([mine[key]]) for key in shared)
        if more and all(_repeats(mine[key], runs[key]) for key in shared):
            for key in shared:
                _complete(runs[key], mine[key])
                overview.remove(mine[key])
    return [t for t in left if t]


def _repeats(copy: Draft, run: Draft) -> bool:
    both = {c for c in copy.values if is_reading(c) and c in run.values}
    numbers = sum(isinstance(copy.values[c], float) for c in both)
    return numbers >= _COPIED and _agree(copy, run)


def _with_forms(tables: list[list[Draft]]) -> list[list[Draft]]:
    """Join the sheets of one group each with the table that sums them up."""
    forms = [t for t in tables if len(t) == 1]
    pooled = [draft for form in forms for draft in form]
    others = [t for t in tables if len(t) > 1]
    partner = next((t for t in others if _are_one(t, pooled)), None)
    if partner is None:
        return tables
    _join(partner, pooled)
    return others


def _are_one(one: Sequence[Draft], other: Sequence[Draft]) -> bool:
    steps = _on_two_days(one, other)
    whole = not steps and all(d.section_said for d in (*one, *other))
    first, second = _by_code(one, whole), _by_code(other, whole)
    if not first or not second:
        return False
    shared = first.keys() & second.keys()
    few = min(len(first), len(second))
    if _is_other_route(one, other) and len(shared) == len(second):
        return all(_agree(first[code], second[code]) for code in shared)
    # "Second go" over the few who had time: group and go name each line.
    repeats = len(shared) == len(second) > 1 and all(code[-2] for code in (*first, *second))
    if (len(shared) < _FEWEST and not repeats) or len(shared) < _SHARED * few:
        return False
    mine, theirs = _readings(one), _readings(other)
    if not mine or not theirs or mine == theirs:
        return False
    if steps:
        return True
    return all(_agree(first[code], second[code]) for code in shared)


# What is read of the filtrate, after the solid was dealt with.
_OF_FILTRATE = frozenset(
    {"aliquot_ml", "titrant_ml", "titrant_mol_per_l", "burette_start_ml", "burette_end_ml",
     "evaporation_aliquot_ml", "dish_mass_g", "dish_residue_mass_g", "scatter"}
)  # fmt: skip
# What holds for all tables of a sheet and was given to each.
_OF_ALL = frozenset({"temperature_c", "filtration"})


def _is_other_route(one: Sequence[Draft], other: Sequence[Draft]) -> bool:
    """Tell whether a table holds only what few groups read of their filtrate, below the runs."""
    mine, theirs = _readings(one), _readings(other) - _OF_ALL
    same = {(d.file, d.sheet) for d in (*one, *other)}
    named = {d.key[1] for d in (*one, *other) if d.section_said}  # the name of a sheet is one
    of_filtrate = bool(theirs) and theirs <= _OF_FILTRATE and not theirs & mine
    return len(same) == 1 and len(named) <= 1 and of_filtrate and "initial_mass_g" in mine


def _on_two_days(one: Sequence[Draft], other: Sequence[Draft]) -> bool:
    """Tell whether two tables hold two steps of one lab, under the days they were done on.

    "MONDAY (set up)" has what was weighed in, "TUESDAY (weigh)" what was left, and no reading
    stands in both.
    """
    days = [{d.key[1] for d in part} for part in (one, other)]
    if any(len(day) != 1 for day in days) or days[0] == days[1]:
        return False
    if not any(is_weekday(next(iter(day))) for day in days):
        return False
    mine, theirs = _readings(one), _readings(other)
    return ("initial_mass_g" in mine) != ("initial_mass_g" in theirs) and not mine & theirs


def _by_code(drafts: Sequence[Draft], whole: bool) -> dict[tuple[str, ...], Draft]:
    """Return the runs by group, run code and whether it is a redo; nothing if one stands twice.

    The ``whole`` code has the section too, where all sheets name it.
    """
    found = {_code(d, whole): d for d in drafts if not d.set_aside}
    live = sum(not d.set_aside for d in drafts)
    named = all(code[-3] for code in found)
    # One group's trials, on a sheet of raw and a sheet of processed data.
    numbered = all(not code[-3] and code[-2] for code in found)
    return found if len(found) == live and (named or numbered) else {}


def _readings(drafts: Sequence[Draft]) -> set[str]:
    return {c for d in drafts for c in (*d.values, *d.unread) if is_reading(c)}


def _code(draft: Draft, whole: bool) -> tuple[str, ...]:
    return (*(draft.key[1:] if whole else draft.key[2:]), draft.again)


def _agree(one: Draft, other: Draft) -> bool:
    """Tell whether two parts of a run have no reading in common, or the same one."""
    if _section(one) and _section(other) and "" != one.key[1] != other.key[1] != "":
        return False
    return _same_in_both(one, other)


def _same_in_both(one: Draft, other: Draft) -> bool:
    both = {c for c in (*one.values, *one.unread) if is_reading(c)}
    both &= {*other.values, *other.unread}
    return all(_equal(one.values.get(c), other.values.get(c)) for c in both)


def _equal(one: object, other: object) -> bool:
    """Tell whether two readings are the same but for the last bits of a sum."""
    if isinstance(one, float) and isinstance(other, float):
        return isclose(one, other, rel_tol=1e-9)
    return one is not None and one == other


def _section(draft: Draft) -> bool:
    """Tell whether a section is named: in the sheet, or by a sheet name that speaks of one."""
    return draft.section_said or bool(section_in(draft.sheet))


def _join(one: list[Draft], other: list[Draft]) -> None:
    steps = _on_two_days(one, other)
    for draft in (*one, *other) if steps else ():
        if is_weekday(draft.key[1]):
            draft.values.pop("section", None)
            draft.section_said = False
    whole = not steps and all(d.section_said for d in (*one, *other))
    parts, theirs = _by_code(one, whole), _by_code(other, whole)
    for mine, wider in ((parts, theirs), (theirs, parts)):
        for code in _not_said_which(mine, wider):
            mine[code].set_aside = "one of several runs of its group, and not said which"
    for draft in other:
        run = parts.get(_code(draft, whole)) if not draft.set_aside else None
        if run is None or run.set_aside:
            one.append(draft)
        else:
            _complete(run, draft)


def _not_said_which(
    mine: Mapping[tuple[str, ...], Draft], theirs: Mapping[tuple[str, ...], Draft]
) -> list[tuple[str, ...]]:
    """Return the groups that a table lists once and without a word, and the other several times."""
    several = Counter(code[:-2] for code in theirs)
    own = Counter(code[:-2] for code in mine)
    return [
        code
        for code in mine
        if not any(code[-2:]) and own[code[:-2]] == 1 and several[code[:-2]] > 1
    ]


def _complete(run: Draft, part: Draft) -> None:
    """Add to a run what its other table holds."""
    if run.sheet != part.sheet and not run.section_said:
        # The name of a sheet that holds one part of every run names no section.
        run.values.pop("section", None)
        if part.section_said:
            run.values["section"] = part.values["section"]
    run.section_said = run.section_said or part.section_said
    said = [str(d.values["comment"]) for d in (run, part) if "comment" in d.values]
    for column, value in part.values.items():
        if column != "section":
            run.values.setdefault(column, value)
    if len(said) == 2:
        run.values["comment"] = "; ".join(dict.fromkeys(said))
    for column, decimals in part.decimals.items():
        run.decimals.setdefault(column, decimals)
    for flag in part.flags:
        run.flag(*flag)
    run.unread |= part.unread
    run.doubtful |= part.doubtful
    run.hidden = run.hidden or part.hidden
    if run.sheet == part.sheet:
        run.cells += part.cells
