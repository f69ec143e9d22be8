"""Pages of sentences with blanks filled in, as in "We stirred it for ___12___ minutes".

Each blank becomes a label, made of the words around it, with its value beside it. Pages of one
form below one another become columns of one table. Where the words do not say what a blank holds,
its value keeps a label that nobody understands and is left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from solubility_stats.quantities import is_canonical
from solubility_stats.sheets.fills import NO_FILL
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_text import ORDINALS, RATIO, normal
from solubility_stats.sheets.layouts.form_lines import POINT, lines_at
from solubility_stats.sheets.layouts.side_by_side import (
    Cards,
    Line,
    group_in,
    one_of_several,
    with_fills_asked,
    with_unit,
)
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.phrases import concepts_in, words_of
from solubility_stats.sheets.strange_words import names_other
from solubility_stats.sheets.units import dimension_of, known_unit

# So many different readings in blanks make a worksheet (judgement).
_FEWEST = 3
_LINE = re.compile(r"_{2,}|(?<!\.)\.{4,}|…+")
_NUMBER = r"[~≈<>]?\s?[-−–]?\d[\d.,]*"
_VALUE = re.compile(rf"\s*{_NUMBER}\s*(?P<unit>[^\W\d_]{{1,7}}|°\s?[CF])?\s*")
_BEGINS = re.compile(rf"{_NUMBER}(?=[\s,;.]|\Z)")
_ENDS = re.compile(rf"(?:\A|(?<=\s)){_NUMBER}\Z")
_UNIT = re.compile(r"\s*(?P<unit>[^\W\d_]+[23³]?|[°º]\s?[CF])(?![\w/])\.?(?P<rest>.*)", re.DOTALL)
_RATIO = re.compile(r"\s*" + RATIO.pattern.removesuffix(r"\Z") + r"(?![\w/])", re.IGNORECASE)
# "grams in one litre", "g of lime per 100 mL"
_PER = re.compile(
    r"\s*(?P<mass>m?g|grams?)\b(?:\s+of\s+\w+)?\s+(?:in|per|for)\s+(?:every |each )?"
    r"(?P<water>(?:(?:one|an?|1|100|1000)\s*)?(?:lit(?:er|re)|L|mL|dm3|dm³|cm3|cm³)\b)"
    r"(?:\s+of\s+water)?",
    re.IGNORECASE,
)
# "One liter of water can dissolve ___ grams", "___ grams dissolve in one liter of water"
_WATER = (
    r"(?P<water{0}>(?:one|an?|1|100|1000)\s*(?:lit(?:er|re)|L|mL|dm3|dm³|cm3|cm³))\b"
    r"(?:\s+of\s+(?:the\s+|our\s+)?water)?"
)
_DISSOLVES = re.compile(
    rf"(?:so\s+|in\s+)?{_WATER.format('')}(?:\s+(?:can|will|could|is able to))?\s+"
    r"(?:dissolves?|holds?)(?:\s+of\s+\w+)?"
    r"|(?:so\s+)?(?:of\s+\w+\s+)?(?:(?:can|will|could)\s+)?(?:be\s+)?dissolve[ds]?\s+in\s+"
    rf"{_WATER.format('_in')}",
    re.IGNORECASE,
)
_ONE = re.compile(r"\A(?:one|an?|1)\s*(?=\D)", re.IGNORECASE)
_CLAUSE = re.compile(
    r"[,;:]\s+|\.\s+|[?!]\s*|\s{2,}|\s(?=(?:and|then|but|so|und|dann|et|puis|y|luego|e|poi|en)\s)"
)
_MASSES = ("g", "mg")


class _Blank(NamedTuple):
    """A blank: what is filled in, empty for nothing, and where it ends and begins in its text."""

    value: str
    start: int
    end: int


class _Said(NamedTuple):
    """A blank with the words that say what it holds, and its unit."""

    label: str
    value: str
    unit: str


def blanks_filled(sheet: Sheet, know: Know) -> Sheet | None:
    """Return pages of sentences with blanks as labels and values, ``None`` for any other sheet.

    The cells keep their addresses.
    """
    found = [b for cell in sheet.texts if _LINE.search(cell.text) for b in _blanks(cell.text)]
    if sum(b.value != "" for b in found) < _FEWEST:
        return None
    in_order = sorted(sheet.texts, key=lambda c: (c.row, c.col))
    asked = {cell: _lines(cell, know) for cell in in_order}
    labels = [label.text for lines in asked.values() for label, _ in lines]
    told = {column for text in labels if (column := know((text,)).column) is not None}
    if sum(map(is_canonical, told)) < _FEWEST:
        return None
    page = Cards()
    for lines in _by_row(sheet, asked, page, "group" in told, know):
        page.add(lines, anew=page.cards[-1].asks(lines[0][0].text))
    page.cards = [c for c in page.cards if any(value is not None for _, value in c.lines)]
    if len(page.cards) < _FEWEST:
        page.cards = [with_fills_asked(card, know, few=True) for card in page.cards]
    return page.laid_out(sheet, know)


def _by_row(
    sheet: Sheet, asked: dict[RawCell, list[Line]], page: Cards, groups_asked: bool, know: Know
) -> Iterator[list[Line]]:
    """Yield the blanks of each row, or what stands beside labels; the rest are titles."""
    rows = sheet.lines()
    done = 0
    for row, cells in rows.items():
        if row <= done:
            continue
        texts = [c for c in cells if isinstance(c.value, str)]
        lines: list[Line] = []
        if not any(asked[c] for c in texts):
            lines, done = lines_at(rows, row, know)
        if lines:
            yield lines
            continue
        for cell in texts:
            if not asked[cell]:
                page.entitle(cell)
        for cell in texts:
            if lines := asked[cell] or ([] if groups_asked else group_in(cell)):
                yield lines


def _blanks(text: str) -> list[_Blank]:
    """Return the blanks of a text: "___2.07___", "___ 2.07 ___", "___2.07 g", "2.07___", "____"."""
    lines = list(_LINE.finditer(text))
    found: list[_Blank] = []
    at = 0
    while at < len(lines):
        line = lines[at]
        after = lines[at + 1] if at + 1 < len(lines) else None
        inside = text[line.end() : after.start()] if after is not None else ""
        if after is not None and _is_filled(inside, dotted=line[0][0] != "_"):
            found.append(_Blank(inside.strip(), line.start(), after.end()))
            at += 2
            continue
        at += 1
        left = found[-1].end if found else 0
        if line[0][0] == "_" and (said := _BEGINS.match(text, line.end())):
            found.append(
                _Blank(said[0].rstrip(".,"), line.start(), line.end() + len(said[0].rstrip(".,")))
            )
        elif line[0][0] == "_" and (said := _ENDS.search(text[left : line.start()])):
            found.append(_Blank(said[0], left + said.start(), line.end()))
        else:
            found.append(_Blank("", line.start(), line.end()))
    return found


def _is_filled(inside: str, *, dotted: bool) -> bool:
    """Tell whether what stands between two lines is filled in, not the words between two blanks."""
    bare = inside.strip()
    if not bare:
        return False
    if inside[0].isspace() != inside[-1].isspace():
        return False
    if inside[0].isspace():
        return _VALUE.fullmatch(inside) is not None
    # A point may be one of the dots: "....5...." is five or a half.
    return (bare[0].isalnum() and not (dotted and bare.isdigit())) or bare[0] in "~≈<>-−–(+"


def _lines(cell: RawCell, know: Know) -> list[Line]:
    """Return the blanks of a cell as labels, made of the words around them, and values."""
    text = cell.text
    blanks = _blanks(text) if _LINE.search(text) else []
    said: list[_Said] = []
    before = POINT.sub("", text[: blanks[0].start], count=1) if blanks else ""
    for at, blank in enumerate(blanks):
        after = blanks[at + 1] if at + 1 < len(blanks) else None
        behind = text[blank.end : after.start if after else len(text)]
        unit, rest = _unit_first(behind)
        cut = _CLAUSE.search(rest)
        if cut is not None:
            tail, rest = rest[: cut.start()], rest[cut.end() :]
        else:
            tail, rest = ("", rest) if after is not None else (rest, "")
        own = _VALUE.fullmatch(blank.value)
        unit = unit or (known_unit(own["unit"] or "") if own else None) or ""
        label = " ".join(f"{before.strip(' ,;')} {tail.strip(' .,;')}".split())
        if unit in _MASSES and (per := _DISSOLVES.fullmatch(label)):
            water = _ONE.sub("", per["water"] or per["water_in"])
            label, unit = "solubility", f"{unit}/{water}"
        said.append(_Said(label, blank.value, unit))
        before = rest
    return [_line(cell, one, know) for one in _as_series(cell, _as_rest(said, know))]


def _unit_first(behind: str) -> tuple[str, str]:
    """Part the words behind a blank into its unit, empty for none, and the rest."""
    if per := _PER.match(behind):
        return f"{per['mass']}/{_ONE.sub('', per['water'])}", behind[per.end() :]
    if ratio := _RATIO.match(behind):
        return ratio[0].strip(" ()[]"), behind[ratio.end() :]
    found = _UNIT.fullmatch(behind)
    if found and (unit := known_unit(found["unit"])):
        return unit, found["rest"]
    return "", behind


# "We weighed ___ g of lime into the big beaker" says where it went.
_WHERE = re.compile(r"\s(?:into|onto|in|to)\s(?:the|an?|our)\s.*\Z", re.IGNORECASE | re.DOTALL)


def _line(cell: RawCell, said: _Said, know: Know) -> Line:
    """Return a blank as a label with its unit and a value with its unit."""
    label = with_unit(said.label, said.unit)
    whole, short = know((label,)), with_unit(_WHERE.sub("", said.label), said.unit)
    if whole.column is None and know((short,)).column in whole.candidates:
        label = short
    bare = re.fullmatch(_NUMBER, said.value) is not None
    value = f"{said.value} {said.unit}" if bare and known_unit(said.unit) else said.value
    return cell.saying(label), cell.saying(value) if value else None


_THUS = re.compile(r"(?:and\s+)?(?:so|therefore|thus|hence|leaving|which|that)\b", re.IGNORECASE)


def _as_rest(said: Sequence[_Said], know: Know) -> list[_Said]:
    """Take "so the powder alone is" behind the paper with its residue for the residue.

    By itself it might as well be the powder of the start.
    """
    done: list[_Said] = []
    for one in said:
        if done and _THUS.match(one.label) and one.unit and known_unit(one.unit) is not None:
            weighed = know((f"{done[-1].label} ({done[-1].unit})",)).column
            alone = know((f"{one.label} ({one.unit})",)).column
            if weighed == "recovered_with_paper_mass_g" and alone == "initial_mass_g":
                one = one._replace(label=f"dry residue, {one.label}")
        done.append(one)
    return done


_COUNTS = re.compile(
    r"\b(?:\d|one|two|three|four|five|six)\s+(?:times|portions|lots|goes|fills|parts)\b|"
    + rf"\b(?:{'|'.join(map(re.escape, ORDINALS))}|1st)(?:ly)?\b",
    re.IGNORECASE,
)
_GOES_ON = re.compile(
    r"(?:\W*\b(?:and|then|next|plus|finally|lastly|last|another|later|again|of|water|the|a|for|time|"
    rf"\d(?:st|nd|rd|th)|{'|'.join(map(re.escape, ORDINALS))})(?:ly)?\b)*\W*",
    re.IGNORECASE,
)


def _as_series(cell: RawCell, said: Sequence[_Said]) -> list[_Said]:
    """Return blanks with the fills of "first ___ mL, then ___ mL" numbered.

    Of anything else that was read several times none is taken.
    """
    done = list(said)
    start = 0
    while start < len(done):
        end = start + 1
        while end < len(done) and done[end].unit == done[start].unit and _goes_on(done[end]):
            end += 1
        if end - start > 1:
            water = _is_water(done[start])
            for number, at in enumerate(range(start, end), start=1):
                if water:
                    done[at] = done[at]._replace(label=f"fill {number}")
                else:
                    done[at] = _Said(one_of_several(cell, number), done[at].value, "")
        start = end
    return done


def _goes_on(said: _Said) -> bool:
    return said.unit != "" and _GOES_ON.fullmatch(said.label) is not None


def _is_water(said: _Said) -> bool:
    unit = known_unit(said.unit)
    if unit is None or dimension_of(unit) != "volume":
        return False
    plain = normal(_COUNTS.sub(" ", said.label))
    meant = concepts_in(plain)
    return bool(meant & {"water", "fill"}) and not (
        meant & NO_FILL - {"time", "total"} or names_other("fill", words_of(plain))
    )
