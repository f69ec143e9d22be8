"""Cards of one sheet filled in alike: a unit that most write behind a value tells the others.

"Ca(OH)2 | 2.24 g" on one card says what "Ca(OH)2 | 2.38" means on the next.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from solubility_stats.sheets.column_numbers import numbers_of
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.table import Column, Table
from solubility_stats.sheets.units import known_unit

# Fewer values with the same unit may be slips of the pen (judgement).
_FEWEST = 2


def with_units_alike(tables: Sequence[Table], know: Know) -> list[Table]:
    """Return the cards of a sheet with the labels read that the unit of other cards settles.

    Parameters
    ----------
    tables : sequence of Table
        The tables of one sheet; only turned ones, with labels beside values, are changed.
    know : callable
        Reads a stack of heading texts.
    """
    units: dict[str, list[str]] = {}
    for table in (t for t in tables if t.view.turned):
        for column in table.columns:
            if column.reading.column is None and column.cells:
                units.setdefault(normal(column.heading), []).extend(_units(table, column))
    settled = {
        label: said[0]
        for label, said in units.items()
        if len(said) >= _FEWEST and len({known_unit(u) for u in said}) == 1 and known_unit(said[0])
    }
    return [_settled(t, settled, know) if t.view.turned else t for t in tables]


def _units(table: Table, column: Column) -> list[str]:
    cells = table.view.column(column.place, table.lines)
    return [unit for unit in numbers_of(cells, None, "").units if unit]


def _settled(table: Table, units: dict[str, str], know: Know) -> Table:
    columns = []
    for column in table.columns:
        unit = units.get(normal(column.heading)) if column.reading.column is None else None
        if unit is not None:
            reading = know((*(c.text for c in column.cells), unit))
            column = replace(column, reading=reading) if reading.column else column
        columns.append(column)
    return replace(table, columns=tuple(columns))
