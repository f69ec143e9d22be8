"""A mapping: a person's answers to what the reader could not settle, kept in a TOML file.

The reader writes one from what it understood; the person mends it and keeps it for next term.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping as MappingABC
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from solubility_stats.errors import InputError
from solubility_stats.files import write_text
from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.records import ClassRecords
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import normal
from solubility_stats.sheets.headings import understand
from solubility_stats.sheets.model import DateOrder, Decimal
from solubility_stats.sheets.table import Column
from solubility_stats.sheets.units import known_unit

LEAVE_OUT = "ignore"


@dataclass(frozen=True)
class HeadingRule:
    """What one heading means; ``file``, ``sheet`` and ``cell`` narrow it down where given."""

    heading: str
    column: str
    unit: str = ""
    file: str = ""
    sheet: str = ""
    cell: str = ""


@dataclass(frozen=True)
class CellRule:
    """The value of one cell, in the canonical unit of its column; empty for no value."""

    cell: str
    value: object
    file: str = ""
    sheet: str = ""


@dataclass(frozen=True)
class Mapping:
    """Answers to what the reader could not settle.

    Attributes
    ----------
    headings : tuple of HeadingRule
        What headings mean. The column ``ignore`` leaves a column out.
    cells : tuple of CellRule
        Values of single cells.
    sections : mapping of str to str
        Section by sheet name or file name.
    leave_out_sheets : tuple of str
        Sheets that hold no readings.
    decimal, date_order : str or None
        Decimal mark and order of day and month for everything read.
    """

    headings: tuple[HeadingRule, ...] = ()
    cells: tuple[CellRule, ...] = ()
    sections: MappingABC[str, str] = field(default_factory=dict)
    leave_out_sheets: tuple[str, ...] = ()
    decimal: Decimal | None = None
    date_order: DateOrder | None = None

    @classmethod
    def from_toml(cls, path: str | os.PathLike[str]) -> Mapping:
        """Read a mapping file.

        Raises
        ------
        InputError
            If the file is no TOML or says something the reader does not know; all faults named.
        """
        name = Path(path).name
        try:
            entries = tomllib.loads(Path(path).read_text(encoding="utf-8-sig"))
        except OSError as problem:
            raise InputError(
                "the mapping file cannot be opened", where=name, found=problem.strerror
            ) from problem
        except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
            raise InputError(
                "the mapping file is not valid TOML", where=name, found=str(problem)
            ) from problem
        return cls.from_dict(entries, where=name)

    @classmethod
    def from_dict(cls, entries: MappingABC[str, Any], *, where: str = "mapping") -> Mapping:
        """Build a mapping from the content of a mapping file."""
        faults: list[str] = []
        known = {"heading", "cell", "sections", "leave_out_sheets", "decimal", "date_order"}
        faults += [f"unknown entry '{key}'" for key in entries if key not in known]
        headings = tuple(_heading_rule(e, faults) for e in entries.get("heading", ()))
        cells = tuple(_cell_rule(e, faults) for e in entries.get("cell", ()))
        decimal = entries.get("decimal")
        if decimal not in (None, ".", ","):
            faults.append(f"decimal is {decimal!r}, not '.' or ','")
        order = entries.get("date_order")
        if order not in (None, "dmy", "mdy", "ymd"):
            faults.append(f"date_order is {order!r}, not 'dmy', 'mdy' or 'ymd'")
        if faults:
            raise InputError(
                "the mapping cannot be used",
                where=where,
                found=faults,
                remedy="Mend these entries; a fresh mapping is written by read --write-mapping.",
            )
        return cls(
            headings=headings,
            cells=cells,
            sections={str(k): str(v) for k, v in entries.get("sections", {}).items()},
            leave_out_sheets=tuple(map(str, entries.get("leave_out_sheets", ()))),
            decimal=decimal,
            date_order=order,
        )

    def know(self, file: str, sheet: str) -> Know:
        """Return a reader of headings for one sheet that asks the mapping first."""
        rules = {
            normal(rule.heading): rule
            for rule in self.headings
            if not rule.cell and _here(rule, file, sheet)
        }
        if not rules:
            return understand

        def look(levels: Sequence[str]) -> Reading:
            joined = normal(" ".join(dict.fromkeys(levels)))
            rule = rules.get(joined) or (rules.get(normal(levels[-1])) if levels else None)
            return understand(levels) if rule is None else _told(rule, understand(levels))

        return look

    def tell(self, columns: Sequence[Column], file: str, sheet: str) -> tuple[Column, ...]:
        """Return columns with the readings that rules for single heading cells give."""
        rules = {r.cell: r for r in self.headings if r.cell and _here(r, file, sheet)}
        found = []
        for column in columns:
            rule = next((rules[c.address] for c in column.cells if c.address in rules), None)
            told = column if rule is None else replace(column, reading=_told(rule, column.reading))
            found.append(told)
        return tuple(found)

    def settled_cells(self, file: str, sheet: str) -> dict[str, object]:
        """Return the values settled for single cells of one sheet."""
        return {r.cell: r.value for r in self.cells if _here(r, file, sheet)}

    def settled_units(self, file: str, sheet: str) -> frozenset[str]:
        """Return the columns whose unit a person gave."""
        rules = [r for r in self.headings if r.unit and _here(r, file, sheet)]
        return frozenset(r.column for r in rules)


def _here(rule: HeadingRule | CellRule, file: str, sheet: str) -> bool:
    return rule.file in ("", file) and rule.sheet in ("", sheet)


def _told(rule: HeadingRule, plain: Reading) -> Reading:
    if rule.column == LEAVE_OUT:
        return Reading(how="mapping")
    unit = known_unit(rule.unit) if rule.unit else plain.unit
    return Reading((rule.column,), unit, "mapping", trial=plain.trial)


def _heading_rule(entry: MappingABC[str, Any], faults: list[str]) -> HeadingRule:
    fields = {str(k): str(v) for k, v in entry.items()}
    faults += [f"unknown key '{k}' in a heading" for k in fields if k not in _HEADING_KEYS]
    fields = {k: v for k, v in fields.items() if k in _HEADING_KEYS}
    heading = fields.get("heading", "")
    column = fields.get("column", "")
    if column != LEAVE_OUT and not is_canonical(column):
        faults.append(f"heading '{heading}': '{column}' is no column of ours")
    unit = fields.get("unit", "")
    if unit and known_unit(unit) is None:
        faults.append(f"heading '{heading}': unit '{unit}' is not known")
    return HeadingRule(**{"heading": "", "column": "", **fields})


def _cell_rule(entry: MappingABC[str, Any], faults: list[str]) -> CellRule:
    faults += [f"unknown key '{k}' in a cell" for k in entry if k not in _CELL_KEYS]
    if "cell" not in entry or "value" not in entry:
        faults.append(f"a cell entry needs 'cell' and 'value': {dict(entry)}")
    return CellRule(
        str(entry.get("cell", "")),
        entry.get("value", ""),
        str(entry.get("file", "")),
        str(entry.get("sheet", "")),
    )


_HEADING_KEYS = frozenset({"heading", "column", "unit", "file", "sheet", "cell"})
_CELL_KEYS = frozenset({"cell", "value", "file", "sheet"})


def write_mapping(records: ClassRecords, path: str | os.PathLike[str]) -> Path:
    """Write what was understood as a mapping file, open questions as comments; return the path.

    Parameters
    ----------
    records : ClassRecords
        What :func:`read_class` returned.
    path : path-like
        TOML file to write; replaced as a whole.
    """
    import tomli_w

    lines = [
        "# How the headings were read. Mend what is wrong, settle what is open, and give this",
        '# file to the reader next time (--mapping).  column = "ignore" leaves a column out.',
        "# A single cell is settled by  [[cell]]  with  sheet, cell  and  value.",
        "",
    ]
    seen: set[tuple[str, ...]] = set()
    for row in records.headings.itertuples(index=False):
        key = tuple(map(str, (row.file, row.sheet, row.heading, row.column, row.unit)))
        if key in seen or not row.heading:
            continue
        seen.add(key)
        entry: dict[str, object] = {
            "file": row.file,
            "sheet": row.sheet,
            "heading": row.heading,
            "column": row.column or LEAVE_OUT,
        }
        if row.unit:
            entry["unit"] = row.unit
        # Given the whole list, the writer would put short entries on one line each, as a list
        # that a second entry may not extend.
        text = "[[heading]]\n" + tomli_w.dumps(entry).strip()
        if not row.column:
            text = "\n".join(f"# {line}" for line in [f"open: {row.note}", *text.splitlines()])
        lines += [text, ""]
    return write_text("\n".join(lines), path)


def canonical_unit(column: str) -> str:
    """Return the unit of a column, empty for none."""
    return quantity(column).unit if is_canonical(column) else ""
