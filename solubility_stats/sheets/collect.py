"""The blank collection workbook: a sheet a class cannot easily fill in wrongly.

Headings carry their units, choices are drop-downs, impossible values are refused when they are
typed, one example row shows how, and the reader reads the result back without a mapping.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from solubility_stats.errors import InputError
from solubility_stats.files import replacing
from solubility_stats.quantities import Quantity, fill_column, quantity
from solubility_stats.sheets.collect_guide import write_guide

if TYPE_CHECKING:
    from openpyxl import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

ROUTES = ("residue", "titration", "evaporation")
SHEET = "Readings"
EXAMPLE = "example"
MAX_FILLS = 20

_INK, _PAPER, _RULE = "1F2933", "FFFFFF", "C9D3DC"
_TITLE_ROW, _HINT_ROW, _HEAD_ROW, _EXAMPLE_ROW = 1, 2, 4, 5


@dataclass(frozen=True)
class _Column:
    name: str
    heading: str
    example: str | float
    width: float
    band: str


@dataclass(frozen=True)
class _Band:
    """A run of columns that belong together, with its two tints (heading, entry)."""

    dark: str
    light: str


# Tints of one lightness each, told apart by hue and by the blank rule between bands.
_BANDS = {
    "who": _Band("DCE6EF", "F6F9FB"),
    "start": _Band("F3E3C3", "FDF8EE"),
    "water": _Band("CFE5F2", "F1F8FC"),
    "filter": _Band("DDE8D3", "F5F9F1"),
    "titration": _Band("F1D9DC", "FCF3F4"),
    "evaporation": _Band("E2DCEE", "F7F5FB"),
    "result": _Band("E4E4E4", "F7F7F7"),
}


def _columns(fills: int, routes: Sequence[str]) -> list[_Column]:
    """Return the columns of the sheet, left to right in the order of the work."""
    columns = [
        _Column("section", "Section", EXAMPLE, 11, "who"),
        _Column("group", "Group", EXAMPLE, 11, "who"),
        _Column("run", "Run", "1", 6, "who"),
        _Column("temperature_c", "Temperature (°C)", 22.5, 13, "start"),
        _Column("initial_mass_g", "Initial mass (g)", 2.04, 10, "start"),
    ]
    columns += [
        _Column(fill_column(n), f"Fill {n} (mL)", 50.0, 8, "water") for n in range(1, fills + 1)
    ]
    columns += [
        _Column("filtration", "Filtration", "vacuum", 11, "filter"),
        _Column("stir_min", "Stirring time (min)", 10, 11, "filter"),
        _Column("settle_min", "Settling time (min)", 5, 11, "filter"),
        _Column("scatter", "Laser test", "clear", 10, "filter"),
    ]
    if "residue" in routes:
        columns += [
            _Column("paper_mass_g", "Paper mass (g)", 0.85, 10, "filter"),
            _Column("dry_min", "Drying time (min)", 30, 10, "filter"),
            _Column("recovered_with_paper_mass_g", "Paper + solid (g)", 2.56, 10, "filter"),
            _Column("recovered_mass_g", "Recovered mass (g)", 1.71, 12, "filter"),
            _Column("constant_mass", "Constant mass", "yes", 11, "filter"),
        ]
    if "titration" in routes:
        columns += [
            _Column("aliquot_ml", "Aliquot (mL)", 25.0, 10, "titration"),
            _Column("titrant_mol_per_l", "Acid concentration (mol/L)", 0.1, 14, "titration"),
            _Column("titrant_ml", "Acid used (mL)", 11.2, 10, "titration"),
        ]
    if "evaporation" in routes:
        columns += [
            _Column("evaporation_aliquot_ml", "Volume evaporated (mL)", 50.0, 12, "evaporation"),
            _Column("dish_mass_g", "Empty dish (g)", 45.12, 10, "evaporation"),
            _Column("dish_residue_mass_g", "Dish + residue (g)", 45.2, 11, "evaporation"),
        ]
    return [
        *columns,
        _Column("balance", "Balance", "B2", 9, "result"),
        _Column("reported_solubility", "Our solubility", 0.16, 11, "result"),
        _Column("reported_unit", "Unit", "g/100 g", 9, "result"),
        _Column("comment", "Comment", "reweighed after cooling", 26, "result"),
    ]


def write_collection_workbook(
    path: str | os.PathLike[str],
    *,
    fills: int = 4,
    groups: int | Sequence[str] = 30,
    sections: Sequence[str] = (),
    routes: Sequence[str] = ("residue",),
    mass_decimals: int | None = None,
) -> Path:
    """Write a blank workbook for a class to fill in.

    Parameters
    ----------
    path : path
        Where to write the ``.xlsx`` file; written whole or not at all.
    fills : int
        Number of fill columns, 1 to 20.
    groups : int or sequence of str
        Number of empty rows, or the group codes to write into the rows. Codes, not names.
    sections : sequence of str
        Lab sections offered in a drop-down.
    routes : sequence of str
        Any of ``residue``, ``titration``, ``evaporation``: which columns to offer.
    mass_decimals : int, optional
        Decimals all balances of the class show. Masses then keep their final zeros, which tell
        the resolution; leave it out if balances differ, because shown zeros would be invented.

    Returns
    -------
    Path
        The file written.

    Raises
    ------
    InputError
        If a number is out of range, a route is unknown or codes repeat.
    """
    codes = _checked(path, fills, groups, sections, routes, mass_decimals)
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    if sheet is None:  # openpyxl always makes one; the type does not say so
        sheet = book.create_sheet()
    sheet.title = SHEET
    columns = _columns(fills, routes)
    rows = max(len(codes), 1)
    _lay_out(sheet, columns, rows)
    _fill_cells(sheet, columns, codes, mass_decimals)
    _validate(sheet, columns, rows, sections)
    _warn_in_colour(sheet, columns, rows)
    _print_set_up(sheet, columns)
    write_guide(book, _meanings(columns), routes, _INK)
    _no_traces(book)
    with replacing(path) as draft:
        book.save(draft)
    return Path(path)


def _checked(
    path: str | os.PathLike[str],
    fills: int,
    groups: int | Sequence[str],
    sections: Sequence[str],
    routes: Sequence[str],
    mass_decimals: int | None,
) -> list[str]:
    def refuse(what: str, found: object, expected: str) -> InputError:
        return InputError(f"{what} cannot be used", where=what, found=found, expected=expected)

    if Path(path).suffix.lower() != ".xlsx":
        raise refuse("path", Path(path).name, "a name that ends in .xlsx")
    if not 1 <= fills <= MAX_FILLS:
        raise refuse("fills", fills, f"a whole number from 1 to {MAX_FILLS}")
    unknown = [r for r in routes if r not in ROUTES]
    if unknown or not routes:
        raise refuse("routes", unknown or list(routes), " or ".join(ROUTES))
    if mass_decimals is not None and not 0 <= mass_decimals <= 6:
        raise refuse("mass_decimals", mass_decimals, "a whole number from 0 to 6")
    if sum(len(s) + 1 for s in sections) > 250 or any("," in s for s in sections):
        raise refuse("sections", list(sections), "short codes without commas, 250 signs in all")
    if isinstance(groups, int):
        if not 1 <= groups <= 5000:
            raise refuse("groups", groups, "a number from 1 to 5000, or a list of codes")
        return [""] * groups
    codes = [str(g).strip() for g in groups]
    if not codes or "" in codes or len(set(codes)) < len(codes):
        raise refuse("groups", codes, "codes that are not empty and do not repeat")
    return codes


def _styles() -> dict[str, Any]:
    from openpyxl.styles import Alignment, Border, Side

    thin, strong = Side(style="thin", color=_RULE), Side(style="medium", color="8A99A8")
    return {
        "cell": Border(left=thin, right=thin, top=thin, bottom=thin),
        "head": Border(left=thin, right=thin, top=strong, bottom=strong),
        "centre": Alignment(horizontal="center", vertical="center", wrap_text=True),
        "middle": Alignment(horizontal="center", vertical="center"),
        "left": Alignment(horizontal="left", vertical="center", wrap_text=False),
    }


def _lay_out(sheet: Worksheet, columns: list[_Column], rows: int) -> None:
    from openpyxl.styles import Font, PatternFill
    from openpyxl.utils import get_column_letter

    look = _styles()
    sheet.cell(_TITLE_ROW, 1, "Class readings").font = Font(size=16, bold=True, color=_INK)
    hint = sheet.cell(
        _HINT_ROW,
        1,
        "One row per preparation, one number per cell, no names. See the other page.",
    )
    hint.font = Font(size=10, italic=True, color="52606D")
    sheet.row_dimensions[_TITLE_ROW].height = 26
    sheet.row_dimensions[3].height = 6
    sheet.row_dimensions[_HEAD_ROW].height = 48
    for position, column in enumerate(columns, start=1):
        band = _BANDS[column.band]
        sheet.column_dimensions[get_column_letter(position)].width = column.width
        head = sheet.cell(_HEAD_ROW, position, column.heading)
        head.font = Font(bold=True, color=_INK)
        head.fill = PatternFill("solid", fgColor=band.dark)
        head.border, head.alignment = look["head"], look["centre"]
        left = column.name in ("comment",)
        for row in range(_EXAMPLE_ROW, _EXAMPLE_ROW + rows + 1):
            cell = sheet.cell(row, position)
            sheet.row_dimensions[row].height = 19
            cell.fill = PatternFill("solid", fgColor=band.light if row > _EXAMPLE_ROW else _PAPER)
            cell.border = look["cell"]
            cell.alignment = look["left"] if left else look["middle"]
    sheet.freeze_panes = f"D{_EXAMPLE_ROW}"
    sheet.sheet_view.showGridLines = False
    sheet.sheet_view.zoomScale = 110


def _fill_cells(
    sheet: Worksheet, columns: list[_Column], codes: list[str], mass_decimals: int | None
) -> None:
    from openpyxl.styles import Font, Protection

    for position, column in enumerate(columns, start=1):
        said = quantity(column.name)
        style = "General"
        if said.kind in ("identifier", "text"):
            style = "@"
        elif said.unit == "g" and mass_decimals is not None:
            style = "0." + "0" * mass_decimals if mass_decimals else "0"
        example = sheet.cell(_EXAMPLE_ROW, position, column.example)
        example.font = Font(italic=True, color="8A99A8")
        example.number_format = style
        for offset, code in enumerate(codes, start=1):
            cell = sheet.cell(_EXAMPLE_ROW + offset, position)
            cell.number_format = style
            cell.protection = Protection(locked=False)
            if column.name == "group" and code:
                cell.value = code
                cell.data_type = "s"  # a code that starts with "=" is a code, not a formula
    # Without a password: it keeps headings from being typed over, not anybody from changing them.
    sheet.protection.sheet = True
    sheet.protection.formatColumns = False
    sheet.protection.formatRows = False
    sheet.protection.insertRows = False
    sheet.protection.sort = False


def _validate(sheet: Worksheet, columns: list[_Column], rows: int, sections: Sequence[str]) -> None:
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    for position, column in enumerate(columns, start=1):
        said = quantity(column.name)
        letter = get_column_letter(position)
        rule = _rule(column, said, sections)
        if rule is None:
            continue
        check = DataValidation(allow_blank=True, showErrorMessage=True, **rule)
        check.promptTitle = column.heading[:32]
        check.prompt = said.meaning[:250]
        check.showInputMessage = True
        check.add(f"{letter}{_EXAMPLE_ROW + 1}:{letter}{_EXAMPLE_ROW + rows}")
        sheet.add_data_validation(check)


def _rule(column: _Column, said: Quantity, sections: Sequence[str]) -> dict[str, Any] | None:
    listed: Sequence[str] = ()
    if said.kind == "choice":
        listed = [word for word, _ in said.choices]
    elif said.kind == "flag":
        listed = ("yes", "no")
    elif column.name == "section":
        listed = sections
    if listed:
        return {
            "type": "list",
            "formula1": '"' + ",".join(listed) + '"',
            "errorTitle": "Please choose",
            "error": "Choose one of: " + ", ".join(listed),
        }
    if said.kind == "number" and said.unit:
        unit = column.heading.partition("(")[2].rstrip(")")
        return {
            "type": "decimal",
            "operator": "between",
            "formula1": f"{said.low:g}",
            "formula2": f"{said.high:g}",
            "errorTitle": "Not a possible value",
            "error": f"Write a plain number from {said.low:g} to {said.high:g} {unit}, without "
            "the unit. If there is no value, leave the cell empty and say why in Comment.",
        }
    return None


def _warn_in_colour(sheet: Worksheet, columns: list[_Column], rows: int) -> None:
    """Tint a recovered mass that is larger than what was weighed in."""
    from openpyxl.formatting.rule import FormulaRule
    from openpyxl.styles import Font, PatternFill
    from openpyxl.utils import get_column_letter

    place = {c.name: get_column_letter(i) for i, c in enumerate(columns, start=1)}
    if "recovered_mass_g" not in place:
        return
    first = _EXAMPLE_ROW + 1
    start, end = place["initial_mass_g"], place["recovered_mass_g"]
    low, high = f"${start}{first}", f"${end}{first}"
    rule = FormulaRule(  # type: ignore[no-untyped-call]
        formula=[f"AND(ISNUMBER({low}),ISNUMBER({high}),{high}>{low})"],
        font=Font(bold=True, color="9C2A10"),
        fill=PatternFill(bgColor="FBD9CE"),
    )
    sheet.conditional_formatting.add(f"{end}{first}:{end}{first + rows - 1}", rule)


def _print_set_up(sheet: Worksheet, columns: list[_Column]) -> None:
    from openpyxl.utils import get_column_letter

    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    if sheet.sheet_properties.pageSetUpPr is not None:
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = f"{_HEAD_ROW}:{_HEAD_ROW}"
    sheet.print_area = f"A1:{get_column_letter(len(columns))}{sheet.max_row}"
    if sheet.oddFooter is not None and sheet.oddFooter.center is not None:
        sheet.oddFooter.center.text = "Page &P of &N"
    margins = sheet.page_margins
    margins.left = margins.right = 0.4
    margins.top = margins.bottom = 0.5


def _meanings(columns: list[_Column]) -> list[tuple[str, str]]:
    """Return each heading once with the sentence that explains it."""
    found: dict[str, tuple[str, str]] = {}
    for column in columns:
        said = quantity(column.name)
        heading = "Fill 1, 2, …" if column.name.startswith("fill_") else column.heading
        meaning = said.meaning
        if column.name == "comment":
            meaning = "Anything unusual: spilled, stirred longer, weighed again. No names."
        found.setdefault(said.name, (heading, meaning))
    return list(found.values())


def _no_traces(book: Workbook) -> None:
    """Leave no person in the document properties."""
    book.properties.creator = ""
    book.properties.lastModifiedBy = ""
    book.properties.title = "Class readings"
