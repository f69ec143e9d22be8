"""The page of the collection workbook that says how to fill it in, and the usual cautions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from openpyxl import Workbook

GUIDE = "Read me first"

_RULES = (
    "Write what the instrument shows, with all its digits: 2.50, not 2.5.",
    "One number in a cell, without its unit; the unit stands in the heading.",
    "Point or comma for decimals, but the same one throughout; nothing between thousands.",
    "No value? Leave the cell empty and say why under Comment. Never write 0 or 999 instead.",
    "A second preparation is a second row with another number under Run.",
    "Group codes only. No names, no e-mail addresses, no student numbers anywhere.",
    "The grey row marked 'example' may stay; it is recognised and left out.",
)
_PAPER = (
    "Weighed solid and paper together? Write that under Paper + solid and leave the other empty."
)
# Hazard statements H315, H318, H335 of calcium hydroxide; first aid and vacuum as in common
# laboratory guidance. Reminders only: the local assessment governs.
_CAUTIONS = (
    "The rules of your laboratory and the word of the instructor in charge go before this page.",
    "Calcium hydroxide, its dust and its slurry irritate skin and can damage eyes: splash "
    "goggles, gloves, no dust.",
    "In the eye: rinse at once, long, with the lids held open, and get medical help in any case.",
    "Vacuum only on thick-walled flasks made for it; look for cracks first; let air in before "
    "lifting the funnel.",
    "A hot plate looks the same hot or cold. Gentle heat, never unattended, cool before weighing.",
    "The laser beam stays flat and below eye level, with a stop behind the beaker; nobody looks "
    "along it.",
    "The filtrate is alkaline. Ask where it goes; nothing into the sink unless you are told so.",
)
_BURETTE = "Fill the burette below eye level; wipe up drops of acid at once."
_DISH = "Evaporate gently; a dish heated to dryness can spit and crack."
_LINE, _PER_LINE = 17, 105


def write_guide(
    book: Workbook, meanings: Sequence[tuple[str, str]], routes: Sequence[str], ink: str
) -> None:
    """Add the guide sheet: cautions, rules, and what each heading asks for.

    Every line is a sentence in one cell, so that no reader takes the page for a table.
    """
    from openpyxl.styles import Alignment, Font, PatternFill

    sheet = book.create_sheet(GUIDE)
    sheet.sheet_view.showGridLines = False
    sheet.column_dimensions["A"].width = 3
    sheet.column_dimensions["B"].width = 100
    for row, (kind, text) in enumerate(_lines(meanings, routes), start=2):
        title = kind == "title"
        cell = sheet.cell(row, 2, text)
        cell.alignment = Alignment(wrap_text=True, vertical="center", indent=0 if title else 1)
        cell.font = Font(size=14 if title else 11, bold=title, color=ink)
        sheet.row_dimensions[row].height = 32 if title else _LINE * (1 + len(text) // _PER_LINE)
        if kind == "caution":
            cell.fill = PatternFill("solid", fgColor="FDF3DC")
    sheet.page_setup.orientation = "portrait"
    sheet.page_setup.paperSize = 9  # A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    if sheet.sheet_properties.pageSetUpPr is not None:
        sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.protection.sheet = True


def _lines(meanings: Sequence[tuple[str, str]], routes: Sequence[str]) -> list[tuple[str, str]]:
    cautions = [*_CAUTIONS]
    rules = [*_RULES]
    if "residue" in routes:
        rules.append(_PAPER)
    if "titration" in routes:
        cautions.append(_BURETTE)
    if "evaporation" in routes:
        cautions.append(_DISH)
    return [
        ("title", "Before you start"),
        *(("caution", text) for text in cautions),
        ("title", "How to fill in the readings"),
        *(("line", text) for text in rules),
        ("title", "What the headings ask for"),
        *(("line", f"{heading} – {meaning}") for heading, meaning in meanings),
    ]
