"""A sheet that says once what holds for the runs on the other sheets: acid, aliquot, filtration.

"setup" with "Water temperature, all groups | 21.5 °C" holds no run of its own.
"""

from __future__ import annotations

from collections.abc import Sequence

from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.header import ONCE_PER_TABLE

_FEWEST = 2


def without_setup(tables: Sequence[list[Draft]]) -> list[list[Draft]]:
    """Return the runs of a file's tables, what a setup sheet says given to all of them.

    Parameters
    ----------
    tables : sequence of list of Draft
        The runs of each table; changed in place where a setup sheet speaks of them.
    """
    said = [t for t in tables if _is_setup(t)]
    others = [t for t in tables if t and not _is_setup(t)]
    runs = [d for t in others for d in t if not d.set_aside and any(map(is_reading, d.values))]
    if len(said) != 1 or len(runs) < _FEWEST or _shares_sheet(said[0][0], runs):
        return list(tables)
    setup = said[0][0]
    known = set().union(*({*d.values, *d.unread} for d in runs))
    if not any(d.section_said for d in runs):
        known.discard("section")  # the name of a sheet gives way
    for column, value in setup.values.items():
        if column in ("group", "run", "comment") or column in known:
            continue  # the runs say it themselves
        for draft in runs:
            draft.values[column] = value
            if column in setup.decimals:
                draft.decimals[column] = setup.decimals[column]
            draft.section_said = draft.section_said or column == "section"
    return others


def _is_setup(drafts: Sequence[Draft]) -> bool:
    """Tell whether a table holds one line without a group, and no mass, fill or titre."""
    if len(drafts) != 1 or drafts[0].key[2] or drafts[0].key[3]:
        return False
    readings = {c for c in (*drafts[0].values, *drafts[0].unread) if is_reading(c)}
    return bool(readings) and readings <= {*ONCE_PER_TABLE} - {"water_volume_ml"}


def _shares_sheet(setup: Draft, runs: Sequence[Draft]) -> bool:
    return any((d.file, d.sheet) == (setup.file, setup.sheet) for d in runs)
