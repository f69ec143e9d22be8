from __future__ import annotations

import hashlib
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.comments import Comment

import solubility_stats as ss
from solubility_stats.errors import InputError
from solubility_stats.sheets.markup import LEGEND, write_marked_copy

CORPUS = Path(__file__).parent / "corpus"
NAMES = sorted(p.name.removesuffix(".json") for p in CORPUS.glob("*.json"))


@pytest.fixture
def messy(tmp_path: Path) -> Path:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (
        ["Group", "Name", "Initial mass (g)", "Water (mL)", "Recovered mass (g)"],
        ["1", "Ann Example", 2.05, 200, 1.71],
        ["2", "Bo Sample", "2..05", 200, "=C3-0.3"],
        ["3", "Cy Testcase", 2500, 200, 1.70],
    ):
        sheet.append(row)
    sheet["C2"].comment = Comment("ask Bo Sample", "Ann Example")
    sheet["D2"].number_format = "0.0"
    book.properties.creator = "Ann Example"
    book.save(tmp_path / "messy.xlsx")
    return tmp_path / "messy.xlsx"


def test_colours_and_reasons(messy: Path, tmp_path: Path) -> None:
    before = hashlib.sha256(messy.read_bytes()).hexdigest()
    out = write_marked_copy(ss.read_class(messy), messy, tmp_path / "marked.xlsx")
    assert hashlib.sha256(messy.read_bytes()).hexdigest() == before
    book = load_workbook(out)
    sheet = book.worksheets[0]
    colours = {a: sheet[a].fill.fgColor.rgb for a in ("A1", "C2", "C3", "C4", "B2")}
    assert len(set(colours.values())) == 5
    assert "2.05" in sheet["C3"].comment.text
    assert "0 to 500 g" in sheet["C4"].comment.text
    assert sheet["D2"].number_format == "0.0"
    legend = book[LEGEND]
    listed = [str(c.value) for c in legend["B"] if c.value]
    assert f"{sheet.title} C3" in listed
    assert f"{sheet.title} C4" in listed


def test_nothing_runs_and_nobody_is_named(messy: Path, tmp_path: Path) -> None:
    out = write_marked_copy(ss.read_class(messy), messy, tmp_path / "marked.xlsx")
    book = load_workbook(out)
    cells = [c for s in book.worksheets for row in s.iter_rows() for c in row]
    assert not any(c.data_type == "f" for c in cells)
    said = " ".join(str(c.value) + (c.comment.text if c.comment else "") for c in cells)
    for name in ("Ann", "Example", "Bo", "Testcase"):
        assert name not in said
    assert "=C3-0.3" in book.worksheets[0]["E3"].comment.text
    assert not book.properties.creator
    assert {c.comment.author for c in cells if c.comment} == {"reader"}


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    source = tmp_path / "evil.csv"
    source.write_text(
        "Group,Initial mass (g),Water (mL),Recovered mass (g),Comment\n"
        '1,2.05,200,1.70,=HYPERLINK("x")\n2,+1,200,1.7,@SUM(A1)\n3,2.0,200,1.6,-2+3|x\n'
    )
    out = write_marked_copy(ss.read_class(source), source, tmp_path / "marked.xlsx")
    sheet = load_workbook(out).worksheets[0]
    assert sheet["E2"].data_type == "s"
    assert sheet["E2"].quotePrefix
    assert str(sheet["E2"].value).startswith("=HYPERLINK")


@pytest.mark.parametrize("name", NAMES)
def test_every_file_of_the_corpus_gets_its_copy(name: str, tmp_path: Path) -> None:
    records = ss.read_class(CORPUS / name)
    out = write_marked_copy(records, CORPUS / name, tmp_path / "marked.xlsx")
    book = load_workbook(out)
    for row in records.ledger.itertuples():
        sheet = book[row.sheet] if row.sheet in book.sheetnames else book.worksheets[0]
        assert sheet[row.cell].fill.fill_type == "solid", row.cell
    assert LEGEND in book.sheetnames


def test_wrong_wishes_are_refused(messy: Path, tmp_path: Path) -> None:
    records = ss.read_class(messy)
    with pytest.raises(InputError, match="replace the original"):
        write_marked_copy(records, messy, messy)
    with pytest.raises(InputError, match=r"\.xlsx"):
        write_marked_copy(records, messy, tmp_path / "marked.csv")
    with pytest.raises(InputError, match="no cell of this file"):
        write_marked_copy(records, tmp_path / "other.xlsx", tmp_path / "marked.xlsx")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["messy.xlsx"]
