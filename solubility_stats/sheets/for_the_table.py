"""What holds for every run of a table, given to each: section, group of the tab, conditions."""

from __future__ import annotations

import re
from collections.abc import Mapping as Readings
from collections.abc import Sequence

from solubility_stats.sheets.cells import parse_said
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.model import Sheet
from solubility_stats.sheets.places import (
    group_of_sheet,
    is_weekday,
    section_in,
    section_named,
    section_of_file,
    section_of_sheet,
)
from solubility_stats.sheets.said_temperatures import temperatures_by_section
from solubility_stats.sheets.state import State
from solubility_stats.sheets.stated import Preamble
from solubility_stats.sheets.titre import TITRATION


def hold_for_all(
    drafts: Sequence[Draft],
    preamble: Preamble,
    sheet: Sheet,
    several: bool,
    state: State,
    texts: Sequence[str],
    taken: set[str],
) -> None:
    """Give the runs of a table what is said once for all of them.

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of one table; changed in place.
    preamble : Preamble
        What stands above the table.
    sheet : Sheet
        Its name may be a section or a group.
    several : bool
        Whether the workbook has several sheets with runs.
    state : State
        The sections a mapping gives to sheets and files.
    texts : sequence of str
        Texts around the table, which may state a temperature for each section.
    taken : set of str
        Columns of the table itself.
    """
    by_section = {k: v for t in texts for k, v in temperatures_by_section(t).items()}
    for draft in drafts:
        place_run(draft, preamble, sheet, several, state)
        _leave_acid_out(draft, preamble, taken)
        _warm_as_section(draft, by_section)


def place_run(draft: Draft, preamble: Preamble, sheet: Sheet, several: bool, state: State) -> None:
    """Give a run the section and whatever else holds for its whole table."""
    draft.section_said = bool(draft.values.get("section") or preamble.section)
    own = draft.values.get("group") or preamble.values.get("group")
    told = state.mapping.sections.get(sheet.name) or state.mapping.sections.get(sheet.file)
    section = (
        draft.values.get("section")
        or told
        or (is_weekday(preamble.section) and section_named(sheet.name))
        or preamble.section
        or (
            section_of_sheet(sheet.name)
            if several or state.several_files
            else section_in(sheet.name)
        )
        or section_of_file(sheet.file, state.several_files)
        or (_own_name(own, sheet) if several or preamble.values.get("group") else "")
    )
    if section:
        draft.values["section"] = section
    if not own and "group" not in draft.unread:  # a card in a tab "Group 3" may be of team 5
        group = group_of_sheet(sheet.name)
        if group:
            draft.values["group"] = group
    # A group that handed nothing in was not there for what holds for the others.
    present = not preamble.values or draft.set_aside or any(map(is_reading, draft.values))
    for column, value in preamble.values.items():
        if not present and is_reading(column):
            continue
        if column not in draft.values and column not in draft.unread:
            draft.values[column] = value
            if column in preamble.decimals:
                draft.decimals[column] = preamble.decimals[column]
    for flag in preamble.flags:
        draft.flag(*flag)


def _own_name(own: object, sheet: Sheet) -> str:
    """Return what the name of a sheet calls its section, empty where it names one group.

    "Groupe 02" over a table with groups of its own is the name of a class.
    """
    group = group_of_sheet(sheet.name)
    if not group:
        return sheet.name
    return group if own not in (None, "", group) else ""


def _warm_as_section(draft: Draft, said: Readings[str, str]) -> None:
    """Give a run the temperature that a line above the table states for its section."""
    column = "temperature_c"
    section = str(draft.values.get("section") or "").casefold()
    if not said or not section or column in draft.values or column in draft.unread:
        return
    day = section[:_DAY] if is_weekday(section) else ""
    told = {
        v for k, v in said.items() if k == section or (day and is_weekday(k) and k[:_DAY] == day)
    }
    parsed = parse_said(told.pop(), column) if len(told) == 1 else None
    if parsed is not None and parsed.value is not None:
        draft.values[column] = parsed.value


_DAY = 3  # letters that tell the days of the week apart


def _leave_acid_out(draft: Draft, preamble: Preamble, taken: set[str]) -> None:
    """Take back what was stated for those who titrated from a run that was not."""
    titrated = taken & TITRATION
    lost = {c for c, _, note in draft.flags if c in titrated and not _NOT_TITRATED.search(note)}
    took_part = (titrated | ({"aliquot_ml"} & taken)) & {*draft.values}
    if titrated and not lost and not took_part:
        for column in {"titrant_mol_per_l", "aliquot_ml"} & {*preamble.values} - taken:
            draft.values.pop(column, None)


_NOT_TITRATED = re.compile(
    r"\b(?:ran )?out of time\b|\bno time\b|\bskipped\b|"
    r"\b(?:not?|never|nie|nicht|niet|non|pas|ikke|inte|ej|ei|não|sin|ne)\b.{0,9}(?:titr|miareczk|done|time)",
    re.IGNORECASE,
)
