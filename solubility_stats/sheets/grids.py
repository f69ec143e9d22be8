"""From a file to its sheets of raw cells, whatever the kind of file."""

from __future__ import annotations

from solubility_stats.errors import UnreadableFileError
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.model import Sheet


def read_sheets(source: Source) -> list[Sheet]:
    """Return the sheets of one file, hidden ones included, each cell raw and addressed.

    Raises
    ------
    UnreadableFileError
        If the file cannot be read or no sheet holds a cell.
    """
    from solubility_stats.sheets import texts, workbooks

    if source.kind == "text":
        sheets = [texts.read_text(source)]
    elif source.kind == "page":
        from solubility_stats.sheets import web_page

        sheets = [web_page.read_web_page(source)]
    elif source.kind == "xlsx":
        sheets = workbooks.read_workbook(source)
    elif source.kind == "xls":
        from solubility_stats.sheets import old_excel

        sheets = old_excel.read_xls(source)
    elif source.kind == "ods":
        from solubility_stats.sheets import opendocument

        sheets = opendocument.read_ods(source)
    else:
        sheets = workbooks.read_other(source)
    if not any(cell.text.strip() for sheet in sheets for cell in sheet.cells.values()):
        raise UnreadableFileError(
            "the workbook holds no filled cell",
            where=source.label,
            remedy="Ask for it to be sent again.",
        )
    return sheets
