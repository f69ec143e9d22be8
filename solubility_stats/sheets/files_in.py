"""Which files to read, what kind each one really is, and which must not be opened at all.

The kind comes from the first bytes, not from the ending: renamed files are common. Files built to
exhaust the machine (a small archive that unpacks to gigabytes) are refused before unpacking.
"""

from __future__ import annotations

import glob
import os
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from solubility_stats.errors import InputError, UnreadableFileError

Kind = Literal["xlsx", "xlsb", "xls", "ods", "text", "page"]
PathLike = str | os.PathLike[str]

# Judgement: the largest real class file seen unpacks to well under 100 MB; ordinary sheet XML
# packs 5 to 40 times.
MAX_UNPACKED_BYTES = 1_000_000_000
MAX_PACKING = 300
PACKING_FREE_BYTES = 20_000_000
MAX_PARTS = 10_000
MAX_TEXT_BYTES = 500_000_000

_OLE2 = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_NOT_A_TABLE = {
    b"%PDF": "a PDF document",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"{\\rtf": "a word-processor document",
    b"\x1f\x8b": "a compressed archive",
    b"7z\xbc\xaf": "a compressed archive",
    b"Rar!": "a compressed archive",
}
_RESAVE = "Open it in a spreadsheet program and save it as .xlsx or .csv."


@dataclass(frozen=True)
class Source:
    """A file to read: where it lies, the name shown for it and what kind it is."""

    path: Path
    label: str
    kind: Kind


def find_sources(paths: PathLike | Iterable[PathLike]) -> list[Source]:
    """Return the files meant by ``paths``, each once, in the order given.

    Parameters
    ----------
    paths : path-like or iterable of path-like
        Files, folders (their table files are taken) or patterns such as ``"week3/*.xlsx"``.

    Raises
    ------
    InputError
        If nothing is given or a pattern or path matches nothing.
    UnreadableFileError
        If a file is empty, encrypted, of a wrong type or unsafe to open.
    """
    given = [paths] if isinstance(paths, (str, os.PathLike)) else list(paths)
    if not given:
        raise InputError("no file was given", where="paths", remedy="Name at least one file.")
    found: list[Path] = []
    for one in given:
        for path in _expand(one):
            if not any(path.samefile(known) for known in found):
                found.append(path)
    labels = _labels(found)
    return [Source(path, labels[path], sniff(path, labels[path])) for path in found]


def _expand(one: PathLike) -> list[Path]:
    path = Path(one)
    if path.is_file():
        return [path]
    if path.is_dir():
        endings = (".xlsx", ".xlsm", ".xls", ".xlsb", ".ods", ".csv", ".tsv", ".txt")
        inside = sorted(
            p
            for p in path.iterdir()
            if p.suffix.lower() in endings and not p.name.startswith(("~$", "."))
        )
        if inside:
            return inside
        raise InputError("the folder holds no table file", where=path.name, remedy=_RESAVE)
    matches = sorted(Path(p) for p in glob.glob(os.fspath(one), recursive=True))
    matches = [p for p in matches if p.is_file() and not p.name.startswith("~$")]
    if not matches:
        raise UnreadableFileError(
            "there is no such file", where=path.name, remedy="Check the name and the folder."
        )
    return matches


def _labels(found: list[Path]) -> dict[Path, str]:
    """Name each file by its last part, and by more of its path where two would look alike."""
    labels = {p: p.name for p in found}
    for depth in range(2, 12):
        shown = list(labels.values())
        twins = [p for p in found if shown.count(labels[p]) > 1]
        if not twins:
            break
        for p in twins:
            labels[p] = "/".join(p.parts[-depth:])
    return labels


def sniff(path: Path, label: str) -> Kind:
    """Return what kind of file this is by its content.

    Raises
    ------
    UnreadableFileError
        If it is empty, encrypted, not a table, or unsafe to open.
    """
    try:
        size = path.stat().st_size
        with path.open("rb") as handle:
            head = handle.read(4096)
    except OSError as problem:
        raise UnreadableFileError(
            "the file cannot be opened", where=label, found=problem.strerror
        ) from problem
    if size == 0:
        raise UnreadableFileError(
            "the file is empty", where=label, remedy="Ask for it to be sent again."
        )
    if head.startswith(_OLE2):
        return _sniff_ole2(path, label)
    if head.startswith(b"PK"):
        return _sniff_zip(path, label)
    for magic, what in _NOT_A_TABLE.items():
        if head.startswith(magic):
            raise UnreadableFileError(
                "this is not a table",
                where=label,
                found=what,
                expected="a workbook or a text table",
                remedy="Ask for the original workbook.",
            )
    start = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if start.startswith((b"<!doctype html", b"<html", b"<table")) and size <= MAX_TEXT_BYTES:
        return "page"
    if start.startswith(b"<?xml"):
        raise UnreadableFileError(
            "this is an XML document with a spreadsheet's name",
            where=label,
            remedy=_RESAVE,
        )
    if size > MAX_TEXT_BYTES:
        raise UnreadableFileError("the text file is too large to be a class table", where=label)
    return "text"


def _sniff_ole2(path: Path, label: str) -> Kind:
    content = path.read_bytes()
    if "EncryptedPackage".encode("utf-16-le") in content:
        raise UnreadableFileError(
            "the workbook is protected by a password",
            where=label,
            remedy="Open it with the password and save a copy without one.",
        )
    names = ("Workbook", "Book")
    if not any(name.encode("utf-16-le") in content for name in names):
        raise UnreadableFileError("this is not a workbook", where=label, remedy=_RESAVE)
    return "xls"


def _sniff_zip(path: Path, label: str) -> Kind:
    try:
        with zipfile.ZipFile(path) as archive:
            _check_bomb(archive, label)
            names = set(archive.namelist())
            if "mimetype" in names:
                mimetype = archive.read("mimetype")[:200]
                if b"opendocument.spreadsheet" in mimetype:
                    return _checked_ods(archive, label)
    except zipfile.BadZipFile as problem:
        raise UnreadableFileError(
            "the file is damaged", where=label, remedy="Ask for it to be sent again."
        ) from problem
    if "xl/workbook.bin" in names:
        return "xlsb"
    if any(name.startswith("xl/") for name in names):
        return "xlsx"
    if any(name.lower().endswith((".xlsx", ".csv", ".xls", ".ods")) for name in names):
        raise UnreadableFileError(
            "this is an archive of several files",
            where=label,
            remedy="Unpack it and give the files themselves.",
        )
    raise UnreadableFileError(
        "this is not a workbook",
        where=label,
        expected="a workbook (.xlsx, .xls, .xlsb, .ods) or a text table",
        remedy=_RESAVE,
    )


def _check_bomb(archive: zipfile.ZipFile, label: str) -> None:
    parts = archive.infolist()
    unpacked = sum(p.file_size for p in parts)
    packed = sum(p.compress_size for p in parts)
    suspicious = unpacked > PACKING_FREE_BYTES and unpacked > MAX_PACKING * max(packed, 1)
    if unpacked > MAX_UNPACKED_BYTES or suspicious or len(parts) > MAX_PARTS:
        raise UnreadableFileError(
            "the file would unpack to an unreasonable size and was not opened",
            where=label,
            found=f"{packed} bytes that unpack to {unpacked}",
            remedy="If it is a real class file, copy its cells into a new workbook.",
        )
    if any(p.flag_bits & 0x1 for p in parts):
        raise UnreadableFileError(
            "the file is protected by a password",
            where=label,
            remedy="Open it with the password and save a copy without one.",
        )


def _checked_ods(archive: zipfile.ZipFile, label: str) -> Kind:
    if "META-INF/manifest.xml" in archive.namelist():
        manifest = archive.read("META-INF/manifest.xml")
        if b"encryption-data" in manifest:
            raise UnreadableFileError(
                "the workbook is protected by a password",
                where=label,
                remedy="Open it with the password and save a copy without one.",
            )
    return "ods"
