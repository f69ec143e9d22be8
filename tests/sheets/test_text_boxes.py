"""Text boxes on a sheet of a workbook; the drawing is written by hand after ECMA-376, part 1."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

import solubility_stats as ss
from solubility_stats.sheets.text_boxes import boxes_in

Write = Callable[..., Path]
SHEET = [["Group", "Ca(OH)2 start (g)", "Water (mL)", "Dry solid left (g)"],
         *([g, 2.3 + g / 100, 150, 2.03 + g / 100] for g in range(1, 5))]  # fmt: skip
SPACE = "http://schemas.openxmlformats.org"
DRAWING = f"""<xdr:wsDr xmlns:xdr="{SPACE}/drawingml/2006/spreadsheetDrawing"
 xmlns:a="{SPACE}/drawingml/2006/main"><xdr:twoCellAnchor><xdr:from><xdr:col>%d</xdr:col>
 <xdr:colOff>0</xdr:colOff><xdr:row>%d</xdr:row><xdr:rowOff>0</xdr:rowOff></xdr:from><xdr:sp>
 <xdr:txBody><a:p><a:r><a:t>%s</a:t></a:r></a:p><a:p><a:r><a:t>Room 214</a:t></a:r></a:p>
 </xdr:txBody></xdr:sp></xdr:twoCellAnchor></xdr:wsDr>"""
RELS = f"""<Relationships xmlns="{SPACE}/package/2006/relationships"><Relationship Id="rId1"
 Type="{SPACE}/officeDocument/2006/relationships/drawing" Target="/xl/drawings/drawing1.xml"/>
 </Relationships>"""


def _with_box(path: Path, said: str, row: int, col: int) -> Path:
    whole = path.with_name("boxed.xlsx")
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(whole, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name))
        new.writestr("xl/drawings/drawing1.xml", DRAWING % (col - 1, row - 1, said))
        new.writestr("xl/worksheets/_rels/sheet1.xml.rels", RELS)
    return whole


@pytest.mark.parametrize(("row", "col"), [(2, 8), (3, 2), (9, 1), (1, 5)])
def test_what_a_box_says_holds_for_the_runs_and_is_told(
    workbook: Write, row: int, col: int
) -> None:
    said = "All groups: water 21.5 °C, stirred 20 min, gravity filtration"
    records = ss.read_class(_with_box(workbook({"5C": SHEET}), said, row, col))
    runs = records.runs
    assert runs["temperature_c"].eq(21.5).all()
    assert runs["stir_min"].eq(20).all()
    assert runs["filtration"].eq("gravity").all()
    assert len(runs) == 4
    assert said in records.ledger["raw"].to_list()
    assert "text boxes were read like cells" in str(records.account["text"])


def test_an_empty_drawing_says_nothing() -> None:
    assert list(boxes_in((DRAWING % (1, 1, "")).replace("Room 214", " ").encode())) == []
