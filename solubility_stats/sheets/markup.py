"""A marked-up copy of a class file: every cell coloured by what became of it, with the reason.

The original is only read. In the copy formulas stand as the values they had, so nothing runs;
personal data the reader left out is left out here too. Text files and old formats become a new
workbook with the same addresses.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from solubility_stats.errors import InputError
from solubility_stats.files import FORMULA_STARTERS, replacing
from solubility_stats.quantities import is_canonical, quantity
from solubility_stats.records import ClassRecords
from solubility_stats.sheets.privacy import REDACTED, names_in, scrub
from solubility_stats.sheets.units import SHOWN_UNIT

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

LEGEND = "Legend"
_LISTED = 300
_AUTHOR = "reader"


@dataclass(frozen=True)
class _Mark:
    colour: str
    meaning: str


# Light tints, told apart by lightness too; the comment says the same in words.
_MARKS: dict[str, _Mark] = {
    "used": _Mark("E3F1E1", "read as it stands"),
    "converted": _Mark("D3E7F5", "read after conversion or working out"),
    "context": _Mark("ECE8F4", "understood as heading, caption or unit"),
    "ignored": _Mark("EEEEEE", "not a reading; left out for the reason given"),
    "unclear": _Mark("FFE08A", "please look: two readings are possible, or none"),
    "rejected": _Mark("F5B7A6", "please look: this cannot be right"),
}
_WORKBOOKS = (".xlsx", ".xlsm")
_REDACTIONS = frozenset(REDACTED.values())


def write_marked_copy(
    records: ClassRecords, source: str | os.PathLike[str], out: str | os.PathLike[str]
) -> Path:
    """Write a copy of one class file with its cells marked by the outcome of reading.

    Parameters
    ----------
    records : ClassRecords
        What :func:`solubility_stats.read_class` made of the file.
    source : path
        The file read; it is not changed.
    out : path
        Where to write the ``.xlsx`` copy; written whole or not at all.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    InputError
        If the ledger holds no cell of ``source``, or ``out`` is the source or no ``.xlsx`` name.
    """
    origin, target = Path(source), Path(out)
    if target.suffix.lower() != ".xlsx":
        raise InputError(
            "a marked copy is a workbook", where="out", found=target.name, expected="a .xlsx name"
        )
    if target.exists() and origin.exists() and target.samefile(origin):
        raise InputError("the copy would replace the original", where="out", found=target.name)
    ledger = _rows_of(records.ledger, origin)
    formulas: dict[tuple[str, str], str] = {}
    if origin.suffix.lower() in _WORKBOOKS and origin.exists():
        book = _copy(origin, formulas)
    else:
        book = _rebuilt(ledger)
    places = _sheet_places(book, ledger)
    _scrub_comments(book, _people_in(places, ledger))
    for name, rows in ledger.groupby("sheet", sort=False):
        sheet = places[str(name)]
        _mark_sheet(sheet, rows, {a: f for (t, a), f in formulas.items() if t == sheet.title})
    _write_legend(book, ledger)
    book.properties.creator = ""
    book.properties.lastModifiedBy = ""
    with replacing(target) as draft:
        book.save(draft)
    return target


def _rows_of(ledger: pd.DataFrame, origin: Path) -> pd.DataFrame:
    names = ledger["file"].astype("str")
    rows = ledger[names == str(origin)]
    if rows.empty:
        rows = ledger[names.map(lambda name: Path(name).name) == origin.name]
    if rows.empty:
        raise InputError(
            "the records hold no cell of this file",
            where=origin.name,
            found=sorted(set(names))[:8],
            remedy="Give the file that was read, and the records that came from it.",
        )
    return rows


def _copy(origin: Path, formulas: dict[tuple[str, str], str]) -> Workbook:
    """Load a workbook with its looks, formulas replaced by the values they had and listed."""
    import warnings

    from openpyxl import load_workbook

    with warnings.catch_warnings():
        # openpyxl tells about features it drops (slicers, old validations); a marked copy may.
        warnings.simplefilter("ignore", UserWarning)
        book = load_workbook(origin, keep_links=False, keep_vba=False)
        values = load_workbook(origin, keep_links=False, data_only=True)
    for sheet in book.worksheets:
        stored = values[sheet.title]
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    formulas[sheet.title, cell.coordinate] = str(
                        getattr(cell.value, "text", cell.value)
                    )
                    _set_plain(cell, stored[cell.coordinate].value)
                elif isinstance(cell.value, str):
                    _set_plain(cell, cell.value)
                if getattr(cell, "hyperlink", None) is not None:
                    cell.hyperlink = None
    for name in list(book.defined_names):
        del book.defined_names[name]
    return book


def _people_in(places: Mapping[str, Worksheet], ledger: pd.DataFrame) -> frozenset[str]:
    """Return the names that stand in the cells the reader left out."""
    left_out = ledger[ledger["raw"].isin(list(_REDACTIONS))]
    where = zip(left_out["sheet"], left_out["cell"], strict=True)
    return names_in(places[str(sheet)][address].value for sheet, address in where)


def _scrub_comments(book: Workbook, names: frozenset[str]) -> None:
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.comment is not None:
                    cell.comment.text = scrub(cell.comment.text, names)
                    cell.comment.author = _AUTHOR


def _set_plain(cell: Any, value: object) -> None:
    """Put a value into a cell so that no spreadsheet program takes it for a formula."""
    cell.value = None
    if isinstance(value, str):
        # Typed as text and, where needed, kept as text even when somebody edits the cell.
        cell.value = _printable(value)
        cell.data_type = "s"
        cell.quotePrefix = value.startswith(FORMULA_STARTERS)
    else:
        cell.value = value


def _printable(text: str) -> str:
    """Drop control characters, which a workbook cannot hold."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    return ILLEGAL_CHARACTERS_RE.sub("", text)[:32_000]


def _rebuilt(ledger: pd.DataFrame) -> Workbook:
    """Build a workbook from the ledger alone: what stood in each cell, as text."""
    from openpyxl import Workbook

    book = Workbook()
    if book.active is not None:
        book.remove(book.active)
    for number, (name, rows) in enumerate(ledger.groupby("sheet", sort=False), start=1):
        sheet = book.create_sheet(_sheet_title(str(name)) or f"Sheet {number}")
        for address, raw in zip(rows["cell"], rows["raw"], strict=True):
            cell = sheet[address]
            _set_plain(cell, str(raw))
            width = sheet.column_dimensions[cell.column_letter]
            width.width = max(width.width, min(30.0, 3.0 + len(str(raw))))
    return book


def _sheet_title(name: str) -> str:
    """Return a name a workbook accepts for a sheet."""
    return "".join("-" if c in "\\/*?:[]" else c for c in _printable(name)).strip("'")[:31]


def _sheet_places(book: Workbook, ledger: pd.DataFrame) -> Mapping[str, Worksheet]:
    names = [str(n) for n in dict.fromkeys(ledger["sheet"])]
    by_name = {sheet.title: sheet for sheet in book.worksheets}
    if all(name in by_name for name in names):
        return {name: by_name[name] for name in names}
    return dict(zip(names, book.worksheets, strict=False))


def _mark_sheet(sheet: Worksheet, rows: pd.DataFrame, formulas: Mapping[str, str]) -> None:
    from openpyxl.cell import MergedCell
    from openpyxl.styles import PatternFill

    fills = {o: PatternFill("solid", fgColor=m.colour) for o, m in _MARKS.items()}
    columns = ("cell", "raw", "outcome", "column", "value", "unit", "note")
    for address, raw, outcome, column, value, unit, note in zip(
        *(rows[c] for c in columns), strict=True
    ):
        cell = sheet[address]
        if isinstance(cell, MergedCell):
            continue
        cell.fill = fills[outcome]
        if any(word in str(raw) for word in _REDACTIONS):
            _set_plain(cell, str(raw))
        text = _remark(outcome, _said(column), _said(value), _said(unit), _said(note))
        if address in formulas:
            text = f"{text}\nFormula in the original: {formulas[address]}".strip()
        if text:
            _comment(cell, text)


def _said(thing: object) -> str:
    return "" if thing is None or thing is pd.NA or thing != thing else str(thing)


def _remark(outcome: str, column: str, value: str, unit: str, note: str) -> str:
    """Say in a cell comment what was read, or why not; nothing for what speaks for itself."""
    if outcome == "context":
        return _heading_remark(column, unit, note)
    if outcome == "used" and not note:
        return ""
    if outcome in ("used", "converted"):
        head = f"Read as {value} {SHOWN_UNIT.get(unit, unit)}".strip()
    else:
        head = "Left out" if outcome == "ignored" else "Please look"
    place = f" ({column})" if column else ""
    return f"{head}{place}. {_sentence(note)}".strip()


def _heading_remark(column: str, unit: str, note: str) -> str:
    if not is_canonical(column):
        return _sentence(note)
    shown = f" in {SHOWN_UNIT.get(unit, unit)}" if unit else ""
    return f"Understood as {column}{shown}: {quantity(column).meaning}"


def _sentence(note: str) -> str:
    return (
        note[:1].upper() + note[1:] + ("" if note.endswith((".", "?", "!")) else ".")
        if note
        else ""
    )


def _comment(cell: Any, text: str) -> None:
    from openpyxl.comments import Comment

    if cell.comment is not None:
        text = f"{text}\n\nComment in the original: {cell.comment.text}"
    note = Comment(_printable(text), _AUTHOR)
    note.width, note.height = 320, 40 + 18 * (1 + len(text) // 42)
    cell.comment = note


def _write_legend(book: Workbook, ledger: pd.DataFrame) -> None:
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

    title, number = LEGEND, 1
    while title in book.sheetnames:
        number += 1
        title = f"{LEGEND} {number}"
    sheet = book.create_sheet(title)
    sheet.sheet_view.showGridLines = False
    for letter, width in zip("ABCD", (3, 16, 16, 84), strict=True):
        sheet.column_dimensions[letter].width = width
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    if sheet.sheet_properties.pageSetUpPr is not None:
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet["B2"] = "What the colours mean"
    sheet["B2"].font = Font(size=14, bold=True, color="1F2933")
    sheet.row_dimensions[2].height = 28
    line = Side(style="thin", color="C9D3DC")
    counts = ledger["outcome"].value_counts()
    for row, (outcome, mark) in enumerate(_MARKS.items(), start=4):
        for column, text in zip(
            "BCD", (outcome, int(counts.get(outcome, 0)), mark.meaning), strict=True
        ):
            cell = sheet[f"{column}{row}"]
            cell.value = text
            cell.border = Border(top=line, bottom=line)
            cell.alignment = Alignment(vertical="center", indent=1)
        sheet[f"B{row}"].fill = PatternFill("solid", fgColor=mark.colour)
        sheet.row_dimensions[row].height = 22
    sheet["C3"], sheet["D3"] = "cells", "meaning"
    for address in ("C3", "D3"):
        sheet[address].font = Font(color="52606D", italic=True)
        sheet[address].alignment = Alignment(indent=1)
    sheet["B11"] = (
        "A copy: the original file is unchanged. Formulas stand as the values they had; "
        "names and addresses of persons are left out."
    )
    sheet["B11"].font = Font(italic=True, color="52606D")
    _list_cells(sheet, ledger[ledger["outcome"].isin(("unclear", "rejected"))], top=13)


def _list_cells(sheet: Worksheet, rows: pd.DataFrame, top: int) -> None:
    """List the cells that need a person, so that none has to be searched for."""
    from openpyxl.styles import Alignment, Font

    if rows.empty:
        return
    sheet.cell(top, 2, "Please look at these cells").font = Font(size=14, bold=True, color="1F2933")
    shown = rows.head(_LISTED)
    for row, (name, address, raw, note) in enumerate(
        zip(*(shown[c] for c in ("sheet", "cell", "raw", "note")), strict=True), start=top + 1
    ):
        _set_plain(sheet.cell(row, 2), f"{name} {address}".strip())
        _set_plain(sheet.cell(row, 3), str(raw)[:60])
        _set_plain(sheet.cell(row, 4), _sentence(_said(note)))
        for column in (2, 3, 4):
            sheet.cell(row, column).alignment = Alignment(wrap_text=True, vertical="top", indent=1)
    if len(rows) > _LISTED:
        sheet.cell(top + 1 + _LISTED, 2, f"and {len(rows) - _LISTED} more, coloured in the sheets")
