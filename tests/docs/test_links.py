"""Relative links lead somewhere, and the index of the docs leaves nothing out."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SKIPPED = {".git", ".venv", "node_modules", ".hypothesis", ".pytest_cache", ".ruff_cache"}
PAGES = sorted(p for p in ROOT.rglob("*.md") if not SKIPPED & set(p.relative_to(ROOT).parts[:-1]))
_LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")


def _links(text: str) -> list[str]:
    without_code = re.sub(r"^```.*?^```$|`[^`\n]*`", "", text, flags=re.M | re.S)
    return _LINK.findall(without_code)


def _anchors(text: str) -> set[str]:
    heads = re.findall(r"^#+ (.+)$", text, flags=re.M)
    return {re.sub(r"[^\w\- ]", "", h.lower()).strip().replace(" ", "-") for h in heads}


@pytest.mark.parametrize("page", PAGES, ids=lambda p: str(p.relative_to(ROOT)))
def test_relative_links_resolve(page):
    for link in _links(page.read_text(encoding="utf-8")):
        if re.match(r"[a-z]+:", link):
            continue
        place, _, anchor = link.partition("#")
        target = (page.parent / place).resolve() if place else page
        assert target.exists(), f"{page.relative_to(ROOT)}: {link} leads nowhere"
        if anchor and target.suffix == ".md":
            assert anchor in _anchors(target.read_text(encoding="utf-8")), f"{page.name}: #{anchor}"


def test_the_index_lists_every_page_study_and_benchmark():
    docs = ROOT / "docs"
    linked = set(_links((docs / "README.md").read_text(encoding="utf-8")))
    here = {p.name for p in docs.glob("*.md")} - {"README.md"}
    here |= {f"{p.parent.name}/{p.name}" for p in docs.glob("benchmarks/*.py")}
    assert here <= linked, f"not in the index: {sorted(here - linked)}"
    for study in docs.glob("calibration/*.py"):
        # A study is listed by its script, by its page of results, or by both.
        names = {f"calibration/{study.stem}{ending}" for ending in (".py", ".md")}
        assert names & linked, f"not in the index: {study.name}"
