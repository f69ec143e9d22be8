"""Every python block of the README and the pages runs, offline, and prints what the page shows."""

from __future__ import annotations

import contextlib
import io
import socket
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]


@pytest.fixture
def offline(monkeypatch):
    def refuse(*_args, **_kwargs):
        raise AssertionError("a documented example reached for the network")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)


def _plain(text: str) -> list[str]:
    return [line.rstrip() for line in text.strip().splitlines()]


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
@pytest.mark.usefixtures("offline")
def test_python_blocks_run_and_print_what_is_shown(page, code_blocks, tmp_path, monkeypatch):
    blocks = code_blocks(page.read_text(encoding="utf-8"))
    monkeypatch.chdir(tmp_path)
    space: dict[str, object] = {"__name__": "__page__"}
    printed = None
    for language, content, line in blocks:
        if language == "python":
            # Blank lines keep the numbers of lines in a traceback those of the page.
            code = compile("\n" * (line - 1) + content, str(page), "exec")
            caught = io.StringIO()
            with contextlib.redirect_stdout(caught):
                exec(code, space)
            printed = caught.getvalue()
        elif language == "text" and printed is not None:
            assert _plain(printed) == _plain(content), f"{page.name}, line {line}"
            printed = None


def test_the_readme_and_every_page_of_text_are_among_them():
    names = {p.name for p in PAGES}
    assert {"README.md", "reading.md", "method.md", "pooling.md", "bias.md", "tables.md"} <= names
