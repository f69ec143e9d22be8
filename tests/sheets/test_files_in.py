"""Files as they arrive: kinds told by content, damage and danger refused in one clear sentence."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from solubility_stats.errors import InputError, UnreadableFileError
from solubility_stats.sheets import read_class
from solubility_stats.sheets.files_in import find_sources

Write = Callable[..., Path]
ROWS = [["Group", "m0 (g)", "Vol (mL)", "m dry (g)"], ["A", 2.5, 200, 2.1], ["B", 2.51, 199, 2.12]]


def repack(path: Path, changed: dict[str, bytes], out: Path) -> Path:
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, changed.get(name, old.read(name)))
    return out


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"   \n", "empty|no filled|no table"),
        (b"%PDF-1.7 something", "not a table"),
        (b"PK\x03\x04 broken", "damaged"),
        (b"<html><p>Group</p></html>", "web page"),
        (b"<?xml version='1.0'?><Workbook/>", "XML document"),
        (bytes(range(256)) * 40, "neither a workbook nor a text"),
        (
            b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + "EncryptedPackage".encode("utf-16-le"),
            "password",
        ),
    ],
)
def test_what_cannot_be_read_is_said_in_one_sentence(
    tmp_path: Path, content: bytes, words: str
) -> None:
    path = tmp_path / "class.xlsx"
    path.write_bytes(content)
    with pytest.raises(UnreadableFileError, match=words) as caught:
        read_class(path)
    assert caught.value.where.startswith("class.xlsx")
    assert str(tmp_path) not in str(caught.value)


def test_missing_files_and_no_files() -> None:
    with pytest.raises(UnreadableFileError, match="no such file"):
        read_class("nowhere/nothing*.xlsx")
    with pytest.raises(InputError, match="no file was given"):
        read_class([])


def test_archives_of_files_and_other_documents(tmp_path: Path) -> None:
    for name, inside, words in [
        ("a.zip", "mon.xlsx", "archive of several"),
        ("b.docx", "word/document.xml", "not a workbook"),
    ]:
        path = tmp_path / name
        with zipfile.ZipFile(path, "w") as archive:
            archive.writestr(inside, b"x")
        with pytest.raises(UnreadableFileError, match=words):
            find_sources(path)


def test_zip_bomb_is_not_unpacked(tmp_path: Path) -> None:
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b" " * 60_000_000)
    with pytest.raises(UnreadableFileError, match="unreasonable size"):
        find_sources(path)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_xml_entities_are_refused(workbook: Write, tmp_path: Path, encoding: str) -> None:
    path = workbook({"Data": ROWS})
    with zipfile.ZipFile(path) as archive:
        sheet = archive.read("xl/worksheets/sheet1.xml").decode()
    sheet = sheet.partition("?>")[2] if sheet.startswith("<?xml") else sheet
    evil = f'<?xml version="1.0" encoding="{encoding}"?><!DOCTYPE a [<!ENTITY b "c">]>' + sheet
    bad = repack(path, {"xl/worksheets/sheet1.xml": evil.encode(encoding)}, tmp_path / "bad.xlsx")
    with pytest.raises(UnreadableFileError, match="entities"):
        read_class(bad)


def test_a_damaged_sheet_is_said_to_be_damaged(workbook: Write, tmp_path: Path) -> None:
    path = workbook({"Data": ROWS})
    bad = repack(path, {"xl/worksheets/sheet1.xml": b"<worksheet><row"}, tmp_path / "bad.xlsx")
    with pytest.raises(UnreadableFileError, match="damaged"):
        read_class(bad)


def test_a_cell_in_the_last_corner_costs_nothing(workbook: Write) -> None:
    import openpyxl

    path = workbook({"Data": ROWS})
    book = openpyxl.load_workbook(path)
    book["Data"].cell(1_048_576, 16_384).value = "stray"
    book.save(path)
    records = read_class(path)
    assert records.n == 2
    assert records.ledger["cell"].iloc[-1] == "XFD1048576"
    assert read_class(path, path="values").n == 2


def test_same_names_in_two_folders_are_told_apart(workbook: Write, tmp_path: Path) -> None:
    for folder in ("mon", "tue"):
        (tmp_path / folder).mkdir()
        workbook({"Sheet1": ROWS}, name=f"{folder}/class.xlsx")
    records = read_class([tmp_path / "mon" / "class.xlsx", tmp_path / "tue" / "class.xlsx"])
    assert set(records.ledger["file"]) == {"mon/class.xlsx", "tue/class.xlsx"}


@pytest.mark.parametrize("name", ["öäü ß.xlsx", "with space & 'quote'.xlsx", "[brackets] #1.xlsx"])
def test_odd_file_names(workbook: Write, name: str) -> None:
    assert read_class(workbook({"Data": ROWS}, name=name)).n == 2


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("delimiter", [";", "\t", ",", "|"])
def test_encodings_and_delimiters(text_table: Write, encoding: str, delimiter: str) -> None:
    rows = [["Group", "m0 (g)", "Temp (°C)", "m dry (g)"], ["A", "2.50", "21.5", "2.10"],
            ["B", "2.51", "22.0", "2.12"]]  # fmt: skip
    records = read_class(text_table(rows, delimiter=delimiter, encoding=encoding))
    assert records.runs["temperature_c"].tolist() == [21.5, 22.0]
    assert records.decimals["initial_mass_g"].tolist() == [2, 2]


def test_a_separator_line_and_a_text_converted_twice(tmp_path: Path) -> None:
    path = tmp_path / "class.csv"
    text = "sep=;\nGroup;m0 (g);Temp (°C)\nA;2,50;21,5\nB;2,51;22,0\n"
    path.write_bytes(text.encode().decode("cp1252").encode("utf-8"))
    records = read_class(path)
    assert records.runs["temperature_c"].tolist() == [21.5, 22.0]
    assert "mended" in str(records.account["text"])


def test_opening_a_file_changes_nothing(workbook: Write) -> None:
    path = workbook({"Data": ROWS})
    before = path.read_bytes()
    read_class(path)
    assert path.read_bytes() == before
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_the_letters_of_an_old_mac(tmp_path: Path) -> None:
    rows = "Group\tm0 (g)\tm dry (g)\tV (mL)\tTemp (°C)\tBüchner or gravity?\t"
    rows += "Dried to constant mass?\n"
    rows += "".join(f"{g}\t2.{g}0\t2.0\t200\t21\tBüchner\t√\n" for g in range(1, 5))
    path = tmp_path / "lab.txt"
    path.write_bytes(rows.encode("mac_roman"))
    runs = read_class(path).runs
    assert runs["filtration"].tolist() == ["vacuum"] * 4
    assert runs["constant_mass"].tolist() == [True] * 4
    path.write_bytes(rows.replace("√", "ja").encode("cp1252"))
    assert read_class(path).runs["filtration"].tolist() == ["vacuum"] * 4
