"""The tables of a web page: what many course systems call a spreadsheet when they export one.

Tables stand below one another on one sheet, a blank line between them; headings and paragraphs
above a table are lines of their own. Nested tables are no data and are read as text.
"""

from __future__ import annotations

from html.parser import HTMLParser

from solubility_stats.errors import UnreadableFileError
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.texts import decode

_TEXT = frozenset({"h1", "h2", "h3", "h4", "h5", "p", "caption"})
_SILENT = frozenset({"script", "style", "title"})
# A cell that claims to reach over more places than this is a trick or a layout (judgement).
_WIDEST = 200


class _Tables(HTMLParser):
    """Collects cells by row and column, and ranges of merged cells."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: dict[tuple[int, int], str] = {}
        self.merged: list[tuple[int, int, int, int]] = []
        self._row = self._col = 0
        self._depth = 0
        self._covered: set[tuple[int, int]] = set()
        self._said: list[str] | None = None
        self._span = (1, 1)
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _SILENT:
            self._silent += 1
        elif tag == "table":
            self._depth += 1
            if self._depth == 1 and self.texts:
                self._row += 1
        elif tag == "tr" and self._depth == 1:
            self._finish()
            self._row, self._col = self._row + 1, 0
        elif tag in ("td", "th") and self._depth == 1:
            self._finish()
            given = dict(attrs)
            self._span = (_count(given.get("rowspan")), _count(given.get("colspan")))
            self._said = []
        elif tag in _TEXT and self._said is None:
            self._row, self._col, self._span = self._row + 1, 0, (1, 1)
            self._said = []
        elif tag == "br" and self._said is not None:
            self._said.append(" ")

    def handle_endtag(self, tag: str) -> None:
        if tag in _SILENT:
            self._silent = max(0, self._silent - 1)
        elif tag == "table":
            if self._depth == 1:
                self._finish()
            self._depth = max(0, self._depth - 1)
        elif (tag in ("td", "th") and self._depth == 1) or (tag in _TEXT and not self._depth):
            self._finish()

    def handle_data(self, data: str) -> None:
        if self._said is not None and not self._silent:
            self._said.append(data)

    def _finish(self) -> None:
        """Put the text collected so far into the next free place of its row."""
        if self._said is None:
            return
        text, self._said = " ".join("".join(self._said).split()), None
        self._col += 1
        while (self._row, self._col) in self._covered:
            self._col += 1
        rows, columns = self._span
        if rows > 1 or columns > 1:
            last = (self._row + rows - 1, self._col + columns - 1)
            self.merged.append((self._row, self._col, *last))
            self._covered |= {
                (i, j) for i in range(self._row, last[0] + 1) for j in range(self._col, last[1] + 1)
            }
        if text:
            self.texts[self._row, self._col] = text
        self._col += columns - 1


def _count(said: str | None) -> int:
    return min(_WIDEST, max(1, int(said))) if said and said.isdigit() else 1


def read_web_page(source: Source) -> Sheet:
    """Return the tables of a web page as one sheet, all values as text.

    Raises
    ------
    UnreadableFileError
        If the page holds no table with a filled cell.
    """
    text, encoding = decode(source.path.read_bytes(), source.label)
    page = _Tables()
    page.feed(text)
    page.close()
    cells = {
        place: RawCell(row=place[0], col=place[1], value=said, text=said)
        for place, said in page.texts.items()
    }
    if "<table" not in text.lower() or len(cells) < 2:
        raise UnreadableFileError(
            "this is a web page with a spreadsheet's name, and holds no table",
            where=source.label,
            remedy="Open it in a spreadsheet program and save it as .xlsx or .csv.",
        )
    note = f"a web page in {encoding} with a spreadsheet's name"
    return Sheet(file=source.label, name="", cells=cells, merged=tuple(page.merged), notes=(note,))
