"""What the XML of a workbook proves, in one pass, before its values alone are taken."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Iterator

from solubility_stats.sheets.files_in import Source

# Sheet XML from here on is worth the values path (about 150 000 cells).
LARGE_BYTES = 6_000_000
_PIECE_BYTES = 1 << 18

# calamine lays a sheet out as a full rectangle, so one stray cell in the last corner would cost
# gigabytes. The full rectangle of each of these shapes stays within workbooks.MAX_RECTANGLE.
SHAPES = (r"[A-Z]\d{1,6}", r"[A-J]?[A-Z]\d{1,5}", r"[A-Z]{1,3}\d{1,3}")
# A cell that does not begin with an address of the shape; one without address counts as such.
_BEYOND = tuple(re.compile(rf'<c(?! r="{shape}"|[a-zA-Z])'.encode()) for shape in SHAPES)

# A mark speaks against the values path: a byte it never comes without (rare in most sheets, and
# looking for one byte costs next to nothing), its text, and where needed what confirms it.
Mark = tuple[bytes, bytes, re.Pattern[bytes] | None]
# calamine gives an error cell as an empty one, so it would be lost. Its text begins with #.
_LOST: Mark = (b"#", b"#", re.compile(rb"<v[^>]*>&?#"))
# What could hide any of this: prefixed tags, other quotes, another encoding, declarations.
_DISGUISES: tuple[Mark, ...] = (
    (b":", b":c", re.compile(rb":c[\s/>]")),
    (b"'", b"='", re.compile(rb" hidden='")),
    (b"!", b"<!", None),
    (b"\x00", b"\x00", None),
)
_ALWAYS = (_LOST, *_DISGUISES)
# What values do not show: formulas, merged cells, hidden rows and columns.
_UNSEEN: tuple[Mark, ...] = (
    (b"f", b"<f", None),
    (b"g", b"<mergeCell ", None),
    (b"h", b" hidden=", re.compile(rb' hidden="(?:1|true)"')),
)


def is_bounded(source: Source) -> bool:
    """Tell whether calamine can lay an ``.xlsx`` file out in memory and give every filled cell."""
    with zipfile.ZipFile(source.path) as archive:
        return all(_is_free(archive, name, _ALWAYS) for name in _sheets(archive))


def is_large_and_clean(source: Source) -> bool:
    """Tell whether an ``.xlsx`` file is large and holds nothing that the values path would miss."""
    if source.kind != "xlsx":
        return False
    with zipfile.ZipFile(source.path) as archive:
        sheets = _sheets(archive)
        if sum(archive.getinfo(name).file_size for name in sheets) < LARGE_BYTES:
            return False
        if any("comments" in n or "threadedComment" in n for n in archive.namelist()):
            return False
        return all(_is_free(archive, name, _ALWAYS + _UNSEEN) for name in sheets)


def _sheets(archive: zipfile.ZipFile) -> list[str]:
    names = archive.namelist()
    return [n for n in names if n.startswith("xl/worksheets/") and n.endswith(".xml")]


def _is_free(archive: zipfile.ZipFile, name: str, marks: tuple[Mark, ...]) -> bool:
    """Tell whether a sheet keeps to one of the shapes and bears none of the marks."""
    return any(
        not any(
            beyond.search(piece) or any(_bears(piece, *mark) for mark in marks)
            for piece in _pieces(archive, name)
        )
        for beyond in _BEYOND
    )


def _bears(piece: bytes, rare: bytes, text: bytes, confirm: re.Pattern[bytes] | None) -> bool:
    found = rare in piece and text in piece
    return found and (confirm is None or confirm.search(piece) is not None)


def _pieces(archive: zipfile.ZipFile, name: str) -> Iterator[bytes]:
    """Yield the content of a part in pieces that end where a tag begins."""
    rest = b""
    with archive.open(name) as stream:
        while more := stream.read(_PIECE_BYTES):
            piece = rest + more
            end = piece.rfind(b"<")
            rest = piece[end:] if end > 0 else b""
            yield piece[:end] if end > 0 else piece
    yield rest
