"""Which workbooks may be read by values: bounded in memory, nothing lost, nothing unseen."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from solubility_stats.sheets import proof, read_class
from solubility_stats.sheets.files_in import Source
from solubility_stats.sheets.workbooks import MAX_RECTANGLE

Write = Callable[..., Path]
Rewrite = Callable[..., Source]

ROWS = [
    ["Group", "m0 (g)", "fill 1 (mL)", "m dry (g)"],
    *([f"G{k}", 2.5 + k / 1000, 100.0, 2.1 + k / 1000] for k in range(40)),
]


@pytest.fixture
def rewrite(workbook: Write) -> Rewrite:
    """Write a clean workbook whose sheet XML goes through some replacements."""

    def write(*changes: tuple[str, str]) -> Source:
        clean = workbook({"Data": ROWS})
        changed = clean.with_name("changed.xlsx")
        with zipfile.ZipFile(clean) as old, zipfile.ZipFile(changed, "w") as new:
            for name in old.namelist():
                content = old.read(name)
                if name.startswith("xl/worksheets/sheet"):
                    text = content.decode()
                    for before, after in changes:
                        assert before in text
                        text = text.replace(before, after, 1)
                    content = text.encode()
                new.writestr(name, content)
        return Source(changed, changed.name, "xlsx")

    return write


@pytest.fixture(autouse=True)
def small(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take small sheets for large ones, and read them in pieces of a few cells."""
    monkeypatch.setattr(proof, "LARGE_BYTES", 1000)
    monkeypatch.setattr(proof, "_PIECE_BYTES", 100)


def corner(shape: str) -> int:
    """Return the area of the largest rectangle whose addresses all have a shape."""
    letters = max((name for name in ("Z", "JZ", "XFD") if re.fullmatch(shape, f"{name}1")), key=len)
    columns = sum((ord(c) - 64) * 26**k for k, c in enumerate(reversed(letters)))
    rows = max(n for n in (9, 99, 999, 9999, 99_999, 999_999) if re.fullmatch(shape, f"A{n}"))
    return columns * rows


def test_every_shape_fits_in_memory() -> None:
    areas = [corner(shape) for shape in proof.SHAPES]
    assert areas == [26 * 999_999, 286 * 99_999, 16_384 * 999]
    assert max(areas) < MAX_RECTANGLE


def test_a_clean_sheet(rewrite: Rewrite) -> None:
    source = rewrite()
    assert proof.is_bounded(source)
    assert proof.is_large_and_clean(source)


@pytest.mark.parametrize(
    "address", ['r="XFD1000"', 'r="A1048577"', 'r="a9"', "r='XFD1048576'", 'r = "XFD1048576"', ""]
)
def test_a_cell_out_of_bounds(rewrite: Rewrite, address: str) -> None:
    source = rewrite(('r="B9"', address))
    assert not proof.is_bounded(source)
    assert not proof.is_large_and_clean(source)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ('<c r="B9"', '<x:c r="XFD1048576"'),
        ("<v>100</v>", "<v>&#35;N/A</v>"),
        ('<row r="9"', "<row r=\"9\" hidden='1'"),
        ("<sheetData>", "<!-- --><sheetData>"),
    ],
)
def test_disguises(rewrite: Rewrite, before: str, after: str) -> None:
    assert not proof.is_bounded(rewrite((before, after)))


@pytest.mark.parametrize("columns", [30, 300])
def test_wide_sheets_are_bounded(workbook: Write, columns: int) -> None:
    path = workbook({"Data": [list(range(columns))] * 50})
    assert proof.is_bounded(Source(path, path.name, "xlsx"))


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ('<row r="9"', '<row r="9" hidden="1"'),
        ('<row r="9"', '<row r="9" hidden="true"'),
        ("<sheetData>", '<cols><col min="2" max="2" hidden="1"/></cols><sheetData>'),
        ("</sheetData>", '</sheetData><mergeCells><mergeCell ref="A9:A10"/></mergeCells>'),
        ("<v>100</v>", "<f>50+50</f><v>100</v>"),
        ("<v>100</v>", '<f t="shared" si="0"/><v>100</v>'),
    ],
)
def test_what_values_do_not_show(rewrite: Rewrite, before: str, after: str) -> None:
    source = rewrite((before, after))
    assert proof.is_bounded(source)
    assert not proof.is_large_and_clean(source)


def test_a_sheet_of_shown_rows_is_clean(rewrite: Rewrite) -> None:
    assert proof.is_large_and_clean(rewrite(('<row r="9"', '<row r="9" hidden="0"')))


def test_an_error_cell_is_not_lost(workbook: Write) -> None:
    rows = [list(row) for row in ROWS]
    rows[7][1] = "#DIV/0!"
    records = read_class(workbook({"Data": rows}), path="values")
    assert records.account["path"] == "full"
    assert len(records.ledger) == 41 * 4
    assert records.ledger.loc[records.ledger["raw"] == "#DIV/0!", "outcome"].tolist() == ["unclear"]


def test_what_calamine_cannot_read_goes_the_full_way(rewrite: Rewrite) -> None:
    source = rewrite(("<v>100</v>", "<v>100</v><v>100</v>"), ('t="n"', 't="unheard"'))
    full = read_class(source.path, path="full")
    values = read_class(source.path, path="values")
    assert values.account["path"] == "full"
    assert len(values.ledger) == len(full.ledger)
