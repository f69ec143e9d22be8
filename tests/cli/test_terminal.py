"""What a terminal or a pipe may do to the command line."""

from __future__ import annotations

import os
import subprocess
import sys
import warnings

import pytest

from solubility_stats.errors import SolubilityStatsWarning
from solubility_stats.terminal import progress, warnings_in_words

CURVE = [sys.executable, "-m", "solubility_stats.cli", "curve", "calcium hydroxide"]


def test_terminal_without_our_characters_gets_plain_ones():
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    done = subprocess.run(CURVE, capture_output=True, env=environment, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"+/-" in done.stdout
    assert b"?" not in done.stdout


def test_reader_that_leaves_early_is_no_error():
    with subprocess.Popen(CURVE, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as job:
        job.stdout.close()
        assert job.stderr.read() == b""
        assert job.wait() == 0


def test_progress_is_silent_where_nobody_watches(capsys):
    with progress() as say:
        say("reading")
    told = capsys.readouterr()
    assert told.out == told.err == ""


def test_own_warnings_become_a_sentence(capsys):
    class Wide(SolubilityStatsWarning):
        pass

    before = warnings.showwarning
    with warnings_in_words():
        warnings.simplefilter("always")
        warnings.warn("the curve is a guess here", Wide, stacklevel=1)
    assert capsys.readouterr().err == "solubility-stats: note: the curve is a guess here\n"
    assert warnings.showwarning is before


@pytest.mark.skipif(sys.platform != "linux", reason="file names of any bytes are allowed there")
def test_file_name_from_another_system_is_shown_as_escapes(here):
    name = b"caf\xe9.csv"
    (here / "class.csv").rename(os.fsdecode(name))
    command = [sys.executable, "-m", "solubility_stats.cli", "read", name, "--out", "out"]
    done = subprocess.run(command, capture_output=True, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert "caf\\udce9.csv" in (here / "out" / "ledger.csv").read_text(encoding="utf-8")
