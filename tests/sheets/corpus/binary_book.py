"""Write a minimal binary workbook (.xlsb), for which no Python package has a writer.

Record numbers and layouts after Microsoft, [MS-XLSB] "Excel Binary File Format", sections 2.3 to
2.4 (BrtBeginSheet 129, BrtRowHdr 0, BrtCellReal 5, BrtCellSt 6, …). Only plain text and numbers.
"""

from __future__ import annotations

import struct
import zipfile
from collections.abc import Sequence
from pathlib import Path

_TYPES = """<?xml version="1.0" encoding="UTF-8" standalone="yes"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="bin" ContentType="application/vnd.ms-excel.sheet.binary.macroEnabled.main"/>
<Override PartName="/xl/worksheets/sheet1.bin" ContentType="application/vnd.ms-excel.worksheet"/>
</Types>"""
_REL = """<?xml version="1.0" encoding="UTF-8" standalone="yes"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/{kind}" Target="{target}"/>
</Relationships>"""  # noqa: E501


def _varied(number: int) -> bytes:
    """Seven bits to a byte, the high bit set on all but the last."""
    out = b""
    while number > 127:
        out += bytes([number & 127 | 128])
        number >>= 7
    return out + bytes([number])


def _record(number: int, body: bytes = b"") -> bytes:
    kind = bytes([number]) if number < 128 else bytes([number & 127 | 128, number >> 7])
    return kind + _varied(len(body)) + body


def _wide(text: str) -> bytes:
    return struct.pack("<I", len(text)) + text.encode("utf-16-le")


def _cell(column: int, value: object) -> bytes:
    place = struct.pack("<II", column, 0)
    if isinstance(value, (int, float)):
        return _record(5, place + struct.pack("<d", float(value)))
    return _record(6, place + _wide(str(value)))


def write_binary_book(path: Path, title: str, rows: Sequence[Sequence[object]]) -> None:
    """Write one sheet of text and numbers; ``None`` leaves a cell out."""
    width = max(len(row) for row in rows)
    sheet = _record(129) + _record(148, struct.pack("<IIII", 0, len(rows) - 1, 0, width - 1))
    sheet += _record(145)
    for number, row in enumerate(rows):
        head = struct.pack("<IIHHBI", number, 0, 300, 0, 0, 1) + struct.pack("<II", 0, width - 1)
        sheet += _record(0, head)
        sheet += b"".join(_cell(c, v) for c, v in enumerate(row) if v is not None)
    sheet += _record(146) + _record(130)
    bundle = struct.pack("<II", 0, 1) + _wide("rId1") + _wide(title)
    book = _record(131) + _record(143) + _record(156, bundle) + _record(144) + _record(132)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as pack:
        pack.writestr("[Content_Types].xml", _TYPES)
        pack.writestr("_rels/.rels", _REL.format(kind="officeDocument", target="xl/workbook.bin"))
        pack.writestr("xl/workbook.bin", book)
        target = _REL.format(kind="worksheet", target="worksheets/sheet1.bin")
        pack.writestr("xl/_rels/workbook.bin.rels", target)
        pack.writestr("xl/worksheets/sheet1.bin", sheet)
