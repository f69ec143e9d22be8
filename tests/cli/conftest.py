"""A small clean class as a file, and a way to run the command line in this process."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from solubility_stats import cli

CLASS = "section,group,initial mass (g),water (mL),recovered mass (g),temperature (C)\n" + "".join(
    f"{'AB'[i % 2]},{i},{2 + i / 100:.3f},200.0,{1.66 + (i * 7 % 5) / 100:.3f},22.{i % 3}\n"
    for i in range(1, 9)
)


@pytest.fixture
def here(tmp_path, monkeypatch):
    """An empty working folder that holds ``class.csv``."""
    (tmp_path / "class.csv").write_text(CLASS, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def run(capsys):
    """Run the command line; exits of the argument parser count as its status."""

    def call(*argv: str) -> SimpleNamespace:
        capsys.readouterr()
        try:
            status = cli.main([str(a) for a in argv])
        except SystemExit as stop:
            status = stop.code
        told = capsys.readouterr()
        return SimpleNamespace(status=status, out=told.out, err=told.err)

    return call
