"""What cannot be done ends in status 2 and one clear sentence, never in a traceback."""

from __future__ import annotations

import random
import sys

import pytest
from openpyxl import Workbook

COMMANDS = ("read", "analyse", "handouts", "plan")


def sentence(result, *words: str) -> str:
    """Check status and form of the message; return it."""
    assert result.status == 2
    lines = result.err.strip().splitlines()
    assert len(lines) == 1, result.err
    assert lines[0].startswith("solubility-stats: ")
    assert lines[0].endswith(".")
    assert "Traceback" not in result.err
    # No word of a programmer's.
    assert not any(word in lines[0] for word in ("np.", "Error(", "object at", "Errno"))
    for word in words:
        assert word in lines[0]
    return lines[0]


def make(name: str, folder) -> None:
    path = folder / name
    if name == "folder.csv":
        path.mkdir()
    elif name == "blank.xlsx":
        Workbook().save(path)
    else:
        path.write_bytes(CONTENTS[name])


CONTENTS = {
    "empty.csv": b"",
    "empty.xlsx": b"",
    "junk.xlsx": random.Random(3).randbytes(4000),
    "junk.csv": bytes(range(256)) * 20,
    "half.xlsx": b"PK\x03\x04" + bytes(300),
    # The head of a compound file, as of a workbook protected by a password.
    "locked.xlsx": bytes.fromhex("d0cf11e0a1b11ae1")
    + bytes(600)
    + "EncryptedPackage".encode("utf-16-le")
    + bytes(4000),
    "paper.csv": b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n%%EOF",
    "picture.xlsx": b"\x89PNG\r\n\x1a\n" + bytes(200),
}


@pytest.mark.parametrize("name", [*CONTENTS, "missing.csv", "folder.csv", "blank.xlsx"])
@pytest.mark.parametrize("command", ["read", "analyse"])
def test_unreadable_files(here, run, command, name):
    if name != "missing.csv":
        make(name, here)
    sentence(run(command, name, "--out", "out"), name)
    assert not (here / "out").exists()


@pytest.mark.parametrize("command", COMMANDS)
def test_one_bad_file_among_good_ones_is_named(here, run, command):
    (here / "bad.csv").write_bytes(b"")
    out = [] if command == "plan" else ["--out", "out"]
    sentence(run(command, "class.csv", "bad.csv", *out), "bad.csv", "empty")


@pytest.fixture
def letter(here):
    book = Workbook()
    book.active.append(["Dear all,"])
    book.active.append(["the lab is closed on Monday."])
    book.save(here / "letter.xlsx")
    return "letter.xlsx"


def test_workbook_without_a_table(run, letter, here):
    sentence(run("analyse", letter, "--out", "out"), letter, "no table")
    # Reading still accounts for every cell.
    sentence(run("read", letter, "--out", "out"), letter, "no table")
    assert len((here / "out" / "ledger.csv").read_text(encoding="utf-8").splitlines()) == 3


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("group,temperature (C),comment\n1,22,well\n2,23,done\n", ("recovered_mass_g",)),
        ("group,initial mass (g),recovered mass (g)\n1,2.0,1.6\n2,2.0,1.7\n", ("water volume",)),
        ("group,initial mass (g),water (mL),recovered mass (g)\n1,2.0,200,0\n", ("lower limit",)),
    ],
)
@pytest.mark.parametrize("command", ["analyse", "handouts"])
def test_class_without_a_usable_run(here, run, command, text, words):
    (here / "thin.csv").write_text(text, encoding="utf-8")
    sentence(run(command, "thin.csv", "--out", "out"), *words)
    assert not (here / "out").exists()


@pytest.mark.parametrize("command", ["analyse", "plan", "curve"])
def test_unknown_solute_names_the_known_or_the_nearest(here, run, command):
    given = {
        "analyse": ["class.csv", "--out", "out", "--solute"],
        "plan": ["--solute"],
        "curve": [],
    }[command]
    sentence(run(command, *given, "unobtainium"), "unobtainium", "calcium hydroxide", "sucrose")
    near = sentence(run(command, *given, "calcum hydroxide"), "calcium hydroxide")
    assert "sucrose" not in near


@pytest.mark.parametrize(
    "content",
    [
        b"[solid\nname=",
        b"\xff\xfe\x00",
        b"[nonsense]\nx = 1\n",
        b'[balance]\nreadability_g = "much"\n',
        b"[balance]\nreadability_g = -1\n",
        b"[balance]\nreadability_g = nan\n",
        b"[balance]\nno_such_setting = 1\n",
        b"balance = 3\n",
        b'[solid]\nname = "unobtainium"\n',
    ],
)
@pytest.mark.parametrize("command", ["analyse", "plan", "simulate"])
def test_bad_protocol(here, run, command, content):
    (here / "lab.toml").write_bytes(content)
    files = ["class.csv"] if command == "analyse" else []
    out = [] if command == "plan" else ["--out", "out"]
    sentence(run(command, *files, "--protocol", "lab.toml", *out))


@pytest.mark.parametrize(
    "content", [b"[columns", b"\xff\xfe\x00", b"x = 1\n", b'[headings]\n"group" = "no_such"\n']
)
def test_bad_mapping(here, run, content):
    (here / "map.toml").write_bytes(content)
    for command in ("read", "analyse"):
        sentence(run(command, "class.csv", "--mapping", "map.toml", "--out", "out"), "map.toml")


@pytest.mark.parametrize("option", ["--mapping", "--protocol"])
def test_missing_settings_file(here, run, option):
    sentence(run("analyse", "class.csv", option, "no.toml", "--out", "out"), "no.toml")


@pytest.mark.parametrize("command", ["read", "analyse", "handouts", "simulate"])
def test_place_that_is_no_folder(here, run, command):
    (here / "taken").write_text("mine", encoding="utf-8")
    files = [] if command == "simulate" else ["class.csv"]
    for place in ("taken", "taken/below"):
        sentence(run(command, *files, "--out", place), "--out", "taken")
    assert (here / "taken").read_text(encoding="utf-8") == "mine"


@pytest.mark.skipif(sys.platform == "win32", reason="folders have no write bit there")
def test_folder_that_cannot_be_written(here, run, monkeypatch):
    monkeypatch.setattr("os.access", lambda *_: False)  # the super-user may write anywhere
    sentence(run("read", "class.csv", "--out", "out"), "cannot be written")


def test_disk_that_fills_up_leaves_nothing_half_written(here, run, monkeypatch):
    import pandas as pd

    def full(*_, **__):
        raise OSError(28, "No space left on device", "out/ledger.csv")

    monkeypatch.setattr(pd.DataFrame, "to_csv", full)
    sentence(run("read", "class.csv", "--out", "out"), "No space left")
    assert list((here / "out").iterdir()) == []


def test_inputs_are_never_overwritten(here, run):
    (here / "class.csv").rename(here / "runs.csv")
    before = (here / "runs.csv").read_bytes()
    for place in (".", here, "../" + here.name):
        sentence(run("read", "runs.csv", "--out", place), "runs.csv", "overwritten")
    sentence(run("read", ".", "--out", "."), "overwritten")
    assert (here / "runs.csv").read_bytes() == before


@pytest.mark.parametrize(
    "cause", ["transfer_loss", "transfer_loss=much", "no_such=1", "=3", "transfer_loss=7",
              "fines=-1", "transfer_loss=nan", "transfer_loss="],
)  # fmt: skip
def test_bad_cause(here, run, cause):
    sentence(run("simulate", "--cause", cause, "--out", "out"))
    assert not (here / "out").exists()


@pytest.mark.parametrize(
    "argv",
    [
        ["simulate", "--groups", "0", "--out", "out"],
        ["simulate", "--groups", "3", "--sections", "5", "--out", "out"],
        ["plan", "--mass", "0"],
        ["plan", "--water", "-1"],
        ["plan", "--bias", "0"],
        ["plan", "--mass", "nan"],
        ["curve", "calcium hydroxide", "--temperature", "500"],
        ["curve", "calcium hydroxide", "--temperature", "nan"],
        ["curve", "calcium hydroxide", "--figure", "curve.doc"],
        ["collect", "--out", "sheet.csv"],
        ["collect", "--out", "sheet.xlsx", "--fills", "0"],
        ["collect", "--out", "sheet.xlsx", "--groups", "-1"],
        ["analyse", "class.csv", "--margin", "-3", "--out", "out"],
        ["analyse", "class.csv", "--margin", "nan", "--out", "out"],
    ],
)
def test_numbers_that_cannot_be(here, run, argv):
    sentence(run(*argv))
    assert [p.name for p in here.iterdir()] == ["class.csv"]


@pytest.mark.parametrize(
    "argv",
    [
        [],
        ["no-such-command"],
        ["read", "class.csv"],
        ["analyse", "class.csv", "--seed", "-1", "--out", "out"],
        ["simulate", "--seed", "x", "--out", "out"],
        ["simulate", "--routes", "guess", "--out", "out"],
    ],
)
def test_wrong_usage_ends_with_the_usage(here, run, argv):
    result = run(*argv)
    assert result.status == 2
    assert "usage: solubility-stats" in result.err
    assert "Traceback" not in result.err
