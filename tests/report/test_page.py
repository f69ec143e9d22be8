"""The page: whole in itself, valid, readable by all, and silent about persons."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

VOID = {"meta", "br", "img", "hr", "input", "link", "col"}


class Outline(HTMLParser):
    """Elements, their nesting and their attributes; a wrong nesting is an error."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.seen: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[str] = []
        self.feed(text)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        names = [name for name, _ in attrs]
        assert len(set(names)) == len(names), f"{tag} repeats an attribute"
        self.seen.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.seen.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open[-1:] == [tag]
        self.open.pop()

    def handle_data(self, data):
        if "style" not in self.open:
            self.texts.append(data)

    def all(self, tag):
        return [attrs for name, attrs in self.seen if name == tag]


@pytest.fixture(scope="module")
def outline(report):
    return Outline(report.page)


def test_page_is_well_formed_and_says_its_language(report, outline):
    assert report.page.startswith("<!doctype html>")
    assert outline.all("html") == [{"lang": "en"}]
    assert len(outline.all("title")) == len(outline.all("h1")) == 1
    assert {"charset": "utf-8"} in outline.all("meta")


def test_nothing_is_fetched_from_elsewhere(report, outline):
    assert not any(outline.all(tag) for tag in ("script", "link", "img", "iframe", "object"))
    for _, attrs in outline.seen:
        for name in ("src", "href", "xlink:href", "action", "data"):
            # References within the page only: glyphs and clip paths of the figures.
            assert (attrs.get(name) or "#").startswith("#")
        assert not any(name.startswith("on") for name in attrs)
    css = report.page[report.page.index("<style>") : report.page.index("</style>")]
    assert "@import" not in css
    assert "url(" not in css
    # Names of namespaces are no addresses to fetch.
    rest = re.sub(r'xmlns(:\w+)?="[^"]*"', "", report.page)
    assert "http:" not in rest
    assert "https:" not in rest


def test_every_figure_has_a_name_of_its_own_and_two_forms(outline):
    figures = [a for a in outline.all("svg") if a.get("role") == "img"]
    labels = [a["aria-label"] for a in figures]
    assert len(labels) == len(outline.all("svg")) == 2 * len(outline.all("figure")) > 6
    assert all(labels)
    assert len(set(labels)) == len(labels)
    classes = [a.get("class") for a in outline.all("div")]
    assert classes.count("wide") == classes.count("narrow") == len(outline.all("figure"))
    assert len(outline.all("figcaption")) == len(outline.all("figure"))


def test_ids_are_unique_and_references_within_the_page_hit(report, outline):
    ids = [attrs["id"] for _, attrs in outline.seen if attrs.get("id")]
    assert len(set(ids)) == len(ids)
    meant = {a["xlink:href"][1:] for _, a in outline.seen if a.get("xlink:href")}
    meant |= set(re.findall(r"url\(#([^)]+)\)", report.page))
    assert meant
    assert meant <= set(ids)


def test_answer_comes_first_with_its_intervals_and_one_figure(report, outline):
    first = report.page[: report.page.index('<section id="')]
    assert first.count('<p class="answer">') == first.count("<figure") == 1
    answer = re.search(r'<p class="answer">(.*?)</p>', first, re.S).group(1)
    assert len(re.findall(r"[+−][\d.]+\u202f% to [+−][\d.]+\u202f%", answer)) == 2
    assert "reference" in answer


@pytest.mark.parametrize(
    "part",
    [
        "reference",
        "reading",
        "groups",
        "sums",
        "budget",
        "sections",
        "routes",
        "causes",
        "next",
        "temperature",
        "all",
        "safety",
        "provenance",
    ],
)
def test_every_part_is_there_once(report, part):
    assert report.page.count(f'<section id="{part}">') == 1


def test_page_tells_what_was_not_read(report):
    assert "L6" in report.page
    assert "1.5?2" in report.page
    assert "missing: recovered mass" in report.page


def test_page_states_the_leverage_and_the_share_of_sources(report):
    assert "for every gram it dissolved" in report.page
    assert "Published values do not agree" in report.page


def test_cautions_defer_to_local_rules(report):
    safety = report.page[report.page.index('<section id="safety">') :]
    assert "local risk assessment" in safety
    assert "responsible instructor" in safety
    assert "goggles" in safety
    assert safety.count("<li>") >= 4


def test_markup_in_cells_stays_text(report, outline):
    assert "<b>" not in report.page
    assert "<b>G1</b>" in "".join(outline.texts)
    assert "&lt;b&gt;G1&lt;/b&gt;" in report.page


@pytest.mark.parametrize("person", ["Brandgruber", "brandgruber@", "0151 4455667"])
def test_nobody_is_named_in_any_file(report, person):
    files = [p for p in report.folder.rglob("*") if p.is_file()]
    assert len(files) > 10
    for path in files:
        assert person.encode() not in path.read_bytes(), path.name
    assert person.encode() in report.file.read_bytes()


def test_formulas_in_cells_do_not_run(report):
    ledger = (report.folder / "ledger.csv").read_text(encoding="utf-8")
    assert ",'=1+1," in ledger
    assert ",=1+1," not in ledger


def test_numbers_keep_their_unit_on_one_line(outline):
    inside = " ".join(t for t in outline.texts if t.strip())
    assert not re.search(r"\d (%|°C)", inside)
    assert not re.search(r"(?<![^\s(])-\d", inside)


def test_narrow_windows_and_print_have_rules_of_their_own(report):
    assert "@media (max-width: 640px)" in report.page
    assert "@media print" in report.page
