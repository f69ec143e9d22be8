"""Text tables: encoding, delimiter and dialect decided on evidence, every field kept as text."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter

from solubility_stats.errors import UnreadableFileError
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.model import RawCell, Sheet

_DELIMITERS = (";", "\t", ",", "|")
# UTF-8 read as CP1252 shows these pairs (degree, micro, umlauts, accents, quotes, dashes).
_MOJIBAKE = re.compile("Â[°µ·±²³ ]|Ã[¤¶¼Ÿ©¨ª«®¯´¹»±³²]|â€[“”™œ]|â‚[‚ƒ„€]")
_CONTROL = re.compile(r"[\x00-\x08\x0e-\x1b\x7f]")


def decode(content: bytes, label: str) -> tuple[str, str]:
    """Return the text of a file and the name of the encoding it was read with.

    Order of evidence: byte order mark, pattern of zero bytes (UTF-16 without a mark), strict
    UTF-8, the letters of an old Mac where code page 1252 makes no sense, a code page in which more
    words are known, then code page 1252.
    """
    text, name = _decode_plain(content, label)
    if len(_CONTROL.findall(text)) > 0.001 * len(text):
        raise UnreadableFileError(
            "this is neither a workbook nor a text table",
            where=label,
            remedy="Ask for the original workbook, or save it as .xlsx or .csv.",
        )
    if _MOJIBAKE.search(text):
        try:
            return text.encode("cp1252").decode("utf-8"), f"{name}, wrongly converted once, mended"
        except UnicodeError:
            pass
    return text, name


def _decode_plain(content: bytes, label: str) -> tuple[str, str]:
    marks = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
    for mark, encoding in marks:
        if content.startswith(mark):
            try:
                return content.decode(encoding), encoding.removesuffix("-sig")
            except UnicodeError as problem:
                raise UnreadableFileError(
                    "the text file is damaged", where=label, remedy="Save it as UTF-8 text."
                ) from problem
    sample = content[:4000]
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if odd > 0.3 * len(sample) / 2 or even > 0.3 * len(sample) / 2:
        encoding = "utf-16-le" if odd > even else "utf-16-be"
        try:
            return content.decode(encoding), encoding
        except UnicodeError:
            pass
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        # The five bytes that code page 1252 leaves undefined become visible replacement marks.
        text = content.decode("cp1252", errors="replace")
        if _MAC.search(text) and not _LATIN.search(text):
            return content.decode("mac_roman"), "mac roman"
        if page := _by_known_words(content):
            return content.decode(page, errors="replace"), page
        if len(_CENTRAL.findall(text)) > len(_WESTERN.findall(text)):
            return content.decode("cp1250", errors="replace"), "cp1250"
        return text, "cp1252"


def _by_known_words(content: bytes) -> str:
    """Return the code page that makes most words of a heading known, empty if none is ahead.

    Czech, Polish and Turkish letters share their bytes with Western ones, so letters alone do not
    tell: "tøída" is no word, "třída" is, and neither is "tĝrt" for "tørt".
    """
    from solubility_stats.sheets.concepts import concepts_of

    known: dict[str, set[str]] = {}
    for page in _PAGES:
        words = set(re.findall(r"[^\W\d_]{3,}", content.decode(page, errors="replace").casefold()))
        known[page] = {w for w in words if not w.isascii() and concepts_of(w)}
    ahead = max(_PAGES, key=lambda page: len(known[page]))
    behind = [len(words) for words in known.values() if words != known[ahead]]
    return ahead if behind and len(known[ahead]) > max(behind) + 1 else ""


_PAGES = ("cp1252", "cp1250", "cp1254")


# What umlauts, accents, degrees and quotes of an old Mac look like in code page 1252, between
# letters or before a unit; and the letters a Windows text would have.
_MAC = re.compile(r"(?<=[A-Za-z])[ŸŠšŒ‡ˆŽ](?=[a-z])|¡\s?[CF]\b|(?<!\w)[ÒÓ](?=\w)|\bµ\s?[CF]\b")
# Polish and Czech letters of code page 1250 as 1252 shows them, inside words; and the letters that
# Western words have.
_CENTRAL = re.compile(r"(?<=[A-Za-z])[œæ³¹¿êñŸø¾èìù](?=[a-z])|(?<=[a-z]{3})[œæ³¹¿Ÿ]\b")
_WESTERN = re.compile(r"[äöüßéèàçíúåïëôîâÄÖÜÉ]")
_LATIN = re.compile(r"[äöüßéèêàçñíóúåæø°²³]")


def split(text: str, label: str) -> tuple[list[list[str]], str, str]:
    """Split text into rows of fields; return rows, delimiter and remaining remark."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    first, _, rest = text.partition("\n")
    named = re.fullmatch(r'"?sep=(.)"?', first.strip(" \x00"))
    if named:
        # The line is for spreadsheet programs; it stays a cell so that nothing is lost.
        return [[first], *_rows(rest, named.group(1), label)], named.group(1), "named in the file"
    scores = {d: _consistency(text, d) for d in _DELIMITERS}
    best = max(_DELIMITERS, key=lambda d: scores[d])
    agree, width = scores[","]
    if agree >= _MOSTLY and width > 2 * scores[best][1]:
        best = ","  # decimal commas leave hardly more fields than there are of their own
    return _rows(text, best, label), best, ""


_MOSTLY = 0.8


def _rows(text: str, delimiter: str, label: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text), delimiter=delimiter, skipinitialspace=False))
    except csv.Error as problem:
        raise UnreadableFileError(
            "the text table is damaged", where=label, found=str(problem)
        ) from problem


# Quotes that another delimiter would have opened or closed: "100; 99; 51" in a table with commas.
_TORN = re.compile(r"[,;\t|]\"|\"[,;\t|]")


def _consistency(text: str, delimiter: str) -> tuple[float, int]:
    """Score a delimiter: how many lines agree on a number of fields above one."""
    try:
        rows = list(csv.reader(io.StringIO(text[:200_000]), delimiter=delimiter))
    except csv.Error:
        return (0.0, 0)
    counts = Counter(len(r) for r in rows if any(f.strip() for f in r))
    total = sum(counts.values())
    several = [(n, k) for k, n in counts.items() if k > 1]
    torn = sum(any(_TORN.search(f) for f in r) for r in rows)
    if not several or 2 * torn > total:
        return (0.0, 0)
    agree, width = max(several)
    # Comma is also the decimal mark of half the world: another delimiter that fits as well wins,
    # because a comma that separates rarely leaves equally long rows of something else.
    bonus = 0.0 if delimiter == "," else 0.3
    return (agree / total + bonus, width)


def read_text(source: Source) -> Sheet:
    """Return the one sheet of a text table, all values as text.

    Raises
    ------
    UnreadableFileError
        If the file is not text or holds nothing.
    """
    text, encoding = decode(source.path.read_bytes(), source.label)
    rows, delimiter, remark = split(text, source.label)
    cells = {
        (i, j): RawCell(row=i, col=j, value=field, text=field)
        for i, row in enumerate(rows, start=1)
        for j, field in enumerate(row, start=1)
        if field != ""
    }
    if not cells:
        raise UnreadableFileError(
            "the file is empty", where=source.label, remedy="Ask for it to be sent again."
        )
    shown = {"\t": "tab", ";": "semicolon", ",": "comma", "|": "bar"}.get(delimiter, delimiter)
    notes = [f"text in {encoding}, fields separated by {shown}"]
    if remark:
        notes.append(f"separator {remark}")
    return Sheet(file=source.label, name="", cells=cells, notes=tuple(notes), delimiter=delimiter)
