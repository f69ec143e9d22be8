"""Symbols that a sheet explains itself: "m_i = Ca(OH)2 weighed in" makes a heading of m_i plain."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import replace

from solubility_stats.quantities import quantity
from solubility_stats.sheets import concepts
from solubility_stats.sheets.choices import meaning
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.heading_forms import ONLY_RATIO
from solubility_stats.sheets.heading_line import Reading
from solubility_stats.sheets.heading_text import ORDINALS, RATIO, normal, vocabulary
from solubility_stats.sheets.model import RawCell, Sheet
from solubility_stats.sheets.units import known_unit, unit_in_heading
from solubility_stats.sheets.words import SHORTENED

_SYMBOL = r"[^\W\d_][^\s:=;,]{0,9}"
_ENTRY = re.compile(
    rf"(?:\A|[;,]\s*|\s{{2,}}|\blegend\W+)(?P<symbol>{_SYMBOL})(?:\s*[:=]|\s[–—])\s*"
    rf"(?P<meaning>.+?)(?=\s*(?:;|\s{{2,}}|,\s*{_SYMBOL}\s*=)|\s*\Z)",
    re.IGNORECASE | re.DOTALL,
)
_UNIT_BEHIND = re.compile(
    r"\s*(?P<symbol>\S.*?)\s*[/,(\[]\s*(?P<unit>[^/,()\[\]]+(?:/[^/,()\[\]]+)?)[)\]]?\s*"
)
_LONGEST_SYMBOL = 20
# A legend stands above the table or below it (lines of the sheet).
_ABOVE, _BELOW = 60, 40
_RANGE = re.compile(r"([^\W\d_]+)_?(\d)\s*(?:…|\.\.\.?|-|–|to|bis)\s*\1_?(\d)")
_ONE = r"[^\W\d_]{1,2}_?(?:\d|(?<=\w)[a-h])"
_SERIES = re.compile(rf"{_ONE}(?:(?:\s*(?:,|/|and|und|et|y|e|i|&)\s*|\s+){_ONE})+")
_LISTED_SYMBOLS = re.compile(
    rf"\s*(?P<symbols>{_SERIES.pattern})\s*(?:[:=]|[–—])\s*(?P<meaning>\S.{{2,}})"
)


def legend_of(sheet: Sheet) -> dict[str, str]:
    """Return what the texts of a sheet say its symbols mean, by the symbol and by its plain text.

    Words of the vocabulary are no symbols: "Section: Mon" explains nothing. A symbol explained in
    two ways is left out; where T and t differ, only the symbol as it was written is known.
    """
    last = max((row for row, _ in sheet.cells), default=0) - _BELOW
    texts = {
        (cell.row, cell.col): cell for cell in sheet.texts if cell.row <= _ABOVE or cell.row > last
    }
    told = [pair for text in dict.fromkeys(c.text for c in texts.values()) for pair in _told(text)]
    exact: dict[str, set[str]] = {}
    plain: dict[str, set[str]] = {}
    for symbol, said in (*told, *_pairs(sheet, texts), *_listed_below(sheet, texts)):
        exact.setdefault(symbol, set()).add(said)
        plain.setdefault(normal(symbol), set()).add(said)
    return {name: min(m) for name, m in (plain | exact).items() if len(m) == 1}


def _told(text: str) -> list[tuple[str, str]]:
    """Return the symbols one text explains, each with its meaning."""
    if (listed := _UNIT_OF_RESULT.search(text)) and len(text) <= _LONGEST_ENTRY:
        return [(listed["symbol"], f"solubility ({listed['unit']})")]
    if not re.search(r"[=:]|\s[–—]\s", text) or len(text) > _LONGEST_ENTRY:
        return []
    if (aside := _BY_THE_WAY.match(text)) and _is_symbol(aside["symbol"]):
        return [(aside["symbol"], aside["meaning"])]
    plain_text = unicodedata.normalize("NFKC", text)
    if several := _LISTED_SYMBOLS.fullmatch(plain_text):  # "V₁, V₂ = water, each fill"
        return _each(several["symbols"], several["meaning"])
    found = []
    for entry in _ENTRY.finditer(text):
        symbol, said = entry["symbol"], entry["meaning"].strip(" .,")
        equals = text[entry.end("symbol") :].lstrip().startswith("=")
        if len(said) > 2 and (_is_symbol(symbol) or (equals and _is_short_word(symbol))):
            found.append((symbol, said))
    found += (*_told_in_turn(plain_text), *_told_side_by_side(plain_text))
    return [pair for symbol, said in found for pair in _each(symbol, said)]


# "masses g, volumes mL, sol g/L": the units of a sheet, that of its result among them.
_UNIT_OF_RESULT = re.compile(
    rf"\b(?:masses|volumes|weights|times|temps?)\b[^=:]*[,;]\s*(?P<symbol>s|sol|solub)\.?\s+"
    rf"(?:in\s+)?(?P<unit>{RATIO.pattern})\s*(?:[,;.]|\Z)",
    re.IGNORECASE,
)
_KEY_SHEET = re.compile(
    r"\b(?:key|legend[ae]?|légende|leyenda|read ?me|directions?|instructions?|notes?|info|symbols?|"
    r"symbole|símbolos|simboli|about|code ?book|erläuterung(?:en)?|erklärung(?:en)?|bezeichnungen|"
    r"variables?|dictionary|abbreviations?|abkürzungen|clave|objaśnienia|forklaring|förklaring(?:ar)?)\b",
    re.IGNORECASE,
)
_FEW_NUMBERS = 3


def explains(sheet: Sheet) -> bool:
    """Tell whether a sheet only explains the others, by its name and for want of numbers."""
    if _KEY_SHEET.search(sheet.name.replace("_", " ")) is None:
        return False
    return sum(not isinstance(c.value, str) for c in sheet.cells.values()) < _FEW_NUMBERS


_LABELLED = re.compile(
    rf"\s*(?P<label>[^:=]{{1,40}}):\s*(?P<codes>\S.*(?:=|\b[A-Z] [a-z]|\({SHORTENED}\)).*)",
    re.DOTALL,
)
# "L (laser through the filtrate): …" explains the symbol by the way.
_BY_THE_WAY = re.compile(r"\s*(?P<symbol>[^\W\d_]\w{0,3})\s*\((?P<meaning>[^()]{4,})\)\s*[:=]")
_CHOICES = ("filtration", "scatter")


def codes_explained(sheets: Sequence[Sheet], know: Know) -> dict[str, str]:
    """Return what texts of a file say of the codes of a choice, by its column.

    "Laser: C = no beam seen, B = beam seen" says how to read C and B in the column of the laser.
    """
    found: dict[str, str] = {}
    for sheet in sheets:
        last = max((row for row, _ in sheet.cells), default=0) - _BELOW
        for cell in sheet.texts:
            if (cell.row <= _ABOVE or cell.row > last) and _TELLS_CODE.search(cell.text):
                beside = sheet.cells.get((cell.row, cell.col - 1))
                for text in _ONE_BY_ONE.split(cell.text):
                    column, codes = _codes_told(text, beside.text if beside else "", know)
                    if column in _CHOICES:
                        found.setdefault(str(column), codes)
    pairs = [pair for sheet in filter(explains, sheets) for pair in _listed_beside(sheet)]
    pairs += [
        (code, said)
        for sheet in sheets
        for text in dict.fromkeys(cell.text for cell in sheet.texts)
        if _EXPLAINS.search(text) and len(text) < _LONGEST_ENTRY
        for code, said in _CODE_AND_MEANING.findall(text)
    ]
    found |= {c: said for c, said in _codes_by_heading(sheets, know).items() if c not in found}
    for name in _CHOICES:
        meant = {code: said for code, said in pairs if meaning(said, quantity(name)) is not None}
        words = {meaning(said, quantity(name)) for said in meant.values()}
        if len(words) > 1:
            found.setdefault(name, "; ".join(f"{code} = {said}" for code, said in meant.items()))
    return found


def _codes_by_heading(sheets: Sequence[Sheet], know: Know) -> dict[str, str]:
    """Return what lists like "Beam C | not visible", "Beam S | visible" say, by column."""
    told: dict[str, list[str]] = {}
    for sheet in sheets:
        for cell in sheet.texts:
            found = _HEADING_AND_CODE.fullmatch(cell.text)
            beside = sheet.cells.get((cell.row, cell.col + 1))
            if found is None or beside is None or (cell.row, cell.col + 2) in sheet.cells:
                continue
            column = know((found["what"],)).column
            if column in _CHOICES and meaning(beside.text, quantity(column)) is not None:
                told.setdefault(column, []).append(f"{found['code']} = {beside.text.strip()}")
    return {column: "; ".join(lines) for column, lines in told.items() if len(lines) > 1}


_HEADING_AND_CODE = re.compile(
    r"\s*(?P<what>[^\W\d_]{3,}[^\d]{0,20}?)\s+(?P<code>[A-Z]{1,2}|\d)\s*"
)


def _codes_told(text: str, beside: str, know: Know) -> tuple[str | None, str]:
    """Return the choice whose codes a text explains, perhaps named beside it, and the codes."""
    text = _NEXT_SENTENCE.sub("; ", text)
    said = _LABELLED.fullmatch(text)
    label = said["label"] if said else beside
    if said is None and (told := _SYMBOL_TOLD.fullmatch(text)):
        label = told["what"]  # "F = how it was filtered: P pump, G gravity"
    aside = _ASIDE_OF_LABEL.fullmatch(label)
    asked = [know((t,)).column for t in ([label, aside[1]] if aside else [label]) if t]
    column = next((c for c in asked if c in _CHOICES), None)
    if column is None and not any(asked):
        column = _choice_explained(text)
    return column, _SPOKEN_CODE.sub(r"\1 = ", said["codes"] if said else text)


# "filtr: v = vacuum, g = gravity. Tyndall: pos = beam visible": one label after the other.
_ONE_BY_ONE = re.compile(r"(?<=[^\W_]{3}[.;])\s+(?=[^.;:=]{2,40}:\s)|\n")
# "pos = beam visible in filtrate. n.d. = not determined"
_NEXT_SENTENCE = re.compile(r"(?<=[^\W_]{3})\.\s+(?=\S{1,6}\s*=)")
_EXPLAINS = re.compile(r"=|\s[–-]\s")
_LONGEST_ENTRY = 400


_SYMBOL_TOLD = re.compile(r"\s*\S{1,4}\s*=\s*(?P<what>[^:=]{4,40}):\s*(?P<codes>\S.*)", re.DOTALL)
# "P pump (vacuum), G gravity": a capital letter before what it stands for.
_SPOKEN_CODE = re.compile(r"(?:(?<=: )|(?<=, )|(?<=; ))([A-Z])\s+(?=[a-z])")
# A text that may explain a code: "B = beam", "P pump", "not seen (n. s.)".
_TELLS_CODE = re.compile(rf"=|{_SPOKEN_CODE.pattern}|\({SHORTENED}\)")
_ASIDE_OF_LABEL = re.compile(r"[^()]{1,4}\(([^()]{4,})\)\s*")
_CODE_AND_MEANING = re.compile(
    rf"(?<!\w)({SHORTENED}|[^\W_]{{1,5}}|[^\w\s,;:=()])\s*(?:=|\s[–-]\s)\s*([^,;=]+?)(?=\s*(?:[,;]|\Z))"
)


def _choice_explained(text: str) -> str | None:
    """Return the column whose two choices a text explains: "N = Trichter, S = Saugflasche"."""
    meanings = [said for _, said in _CODE_AND_MEANING.findall(text)]
    for name in _CHOICES if len(meanings) == 2 else ():
        words = {meaning(said, quantity(name)) for said in meanings}
        if len(words) == 2 and None not in words:
            return name
    return None


def _listed_beside(sheet: Sheet) -> list[tuple[str, str]]:
    """Return short texts with what stands beside them: "B | Büchner funnel"."""
    return [
        (cell.text.strip(), re.sub(r"\A[^:]{2,12}:\s*", "", beside.text.strip()))
        for (row, col), cell in sheet.cells.items()
        if len(cell.text.strip()) <= _LONGEST_CODE
        and (beside := sheet.cells.get((row, col + 1))) is not None
    ]


_LONGEST_CODE = 5


def _pairs(sheet: Sheet, texts: Mapping[tuple[int, int], RawCell]) -> list[tuple[str, str]]:
    """Return symbols and meanings that stand beside each other on at least three lines."""
    found: dict[int, list[tuple[str, str]]] = {}
    for (row, col), cell in texts.items():
        beside = texts.get((row, col + 1))
        if beside is None or (row, col - 1) in sheet.cells or (row, col + 3) in sheet.cells:
            continue
        third, unit = sheet.cells.get((row, col + 2)), ""
        if third is not None:
            unit = third.text.strip()
            if _CODES_TOLD.match(unit):
                unit = ""  # "1 = yes, 0 = no" explains the values
            elif not (known_unit(unit) or ONLY_RATIO.fullmatch(unit)):
                continue
        symbol = cell.text.strip()
        short = len(symbol) <= _LONGEST_SYMBOL and (
            " " not in symbol or len(symbol) < 6 or bool(_SERIES.fullmatch(symbol))
        )
        if short and len(beside.text) > 4 and _is_symbol(symbol):
            said = beside.text.strip() + (f" ({unit})" if unit else "")
            found.setdefault(col, []).extend(_each(symbol, said))
    return [pair for pairs in found.values() if len(pairs) > 2 for pair in pairs]


_CODES_TOLD = re.compile(r"\s*\S{1,6}\s*=\s*\S|\s*\d\s*/\s*\d\s*\Z")
_IN_TURN_WITHOUT_SIGN = re.compile(
    r"\W*(?P<symbol>[^\W\d_]{1,2}\d(?:\.\.\.?|…|-|–)[^\W\d_]{0,2}\d|[^\W\d_]{1,3}_?\d?)\s+(?P<meaning>[^\W\d_].{3,})"
)


def _told_in_turn(text: str) -> list[tuple[str, str]]:
    """Return the symbols without a sign in a list with some: "m0 lime; V1-V3 fills; w = wet"."""
    parts = re.split(r"\s*;\s*", text)
    if len(parts) < 3 or not any("=" in part for part in parts):
        return []
    found = [_IN_TURN_WITHOUT_SIGN.fullmatch(p) for p in parts if not re.search(r"[=:]", p)]
    return [(m["symbol"], m["meaning"]) for m in found if m and _is_symbol(m["symbol"])]


_SIDE_BY_SIDE = re.compile(
    rf"(?P<symbols>{_SYMBOL}(?:\s+/\s+{_SYMBOL})+)\s*[:=]\s*(?P<meanings>.+)"
)


def _told_side_by_side(text: str) -> list[tuple[str, str]]:
    """Return symbols that are explained in one go: "t1 / t2 = stirring / settling time"."""
    found: list[tuple[str, str]] = []
    for part in re.split(r"\s*(?:;|\s{2,})\s*", text):
        if told := _SIDE_BY_SIDE.fullmatch(part):
            symbols, meanings = (re.split(r"\s+/\s+", told[n]) for n in ("symbols", "meanings"))
            if len(symbols) == len(meanings) and all(map(_is_symbol, symbols)):
                found += zip(symbols, (m.strip(" .,") for m in meanings), strict=True)
    return found


_TITLE = re.compile(r"\s*(?:symbols?|legend|key|abbreviations?|where|columns)\W*\Z", re.IGNORECASE)
_LISTED = re.compile(r"\s*(\S{1,6})\s+(\S.{3,})", re.DOTALL)


def _listed_below(sheet: Sheet, texts: Mapping[tuple[int, int], RawCell]) -> list[tuple[str, str]]:
    """Return the "m0 lime weighed in, g" of the lines below a title like "Symbols:"."""
    found = []
    for (row, col), cell in texts.items():
        if not _TITLE.match(cell.text):
            continue
        below = row + 1
        while (entry := texts.get((below, col))) is not None:
            match = _LISTED.fullmatch(entry.text)
            if match is None or re.search(r"[=:]", match[1] + match[2][0]):
                break
            if not _is_symbol(match[1]):
                break
            found.append((match[1], match[2].strip(" .")))
            below += 1
    return found


def _each(symbol: str, meaning: str) -> list[tuple[str, str]]:
    """Return a symbol and its meaning; "v1-v3: water, fills" gives three of them."""
    if _SERIES.fullmatch(symbol):
        listed = re.findall(r"([^\W\d_]{1,2}?_?)(\d|[a-h])(?![^\W_])", symbol)
        meaning = _IN_TURN.sub(" ", meaning)
        return [(normal(f"{s}{n}"), _of_one(meaning, _counted(n))) for s, n in listed]
    span = _RANGE.fullmatch(normal(symbol.replace("-", "–").replace("…", "…")).replace(" ", "–"))
    if span is None:
        return [(symbol, meaning)]
    numbers = range(int(span[2]), int(span[3]) + 1)
    return [(normal(f"{span[1]}{n}"), _of_one(meaning, n)) for n in numbers]


# "Water, first, second, third cylinder", "fills of water, in order": of each the one counted.
_ORDINAL = "|".join(ORDINALS)
_IN_TURN = re.compile(
    rf"(?:\b(?:{_ORDINAL})\b\s*,?\s*(?:and |e |y |et |und )?){{2,}}|,?\s*in order\b", re.I
)


def _counted(mark: str) -> str:
    return mark if mark.isdigit() else str(ord(mark) - ord("a") + 1)


def _of_one(meaning: str, number: int | str) -> str:
    """Return what one of several counted symbols means: the number behind the common meaning."""
    words, unit = unit_in_heading(meaning)
    said = f" ({unit})" if unit else ""
    # How many fills there were says nothing about the one.
    words = re.sub(
        r"\b(?:one|a) (?:number|value|reading|column|cell) (?:per|for each|each)\b", " ", words
    )
    words = re.sub(r"\b(?:\d+|two|three|four|five|six|successive|each)\b", " ", words)
    return f"{words.strip(' ,')} {number}{said}"


def _is_symbol(text: str) -> bool:
    plain = normal(text)
    if len(plain) <= 2 or not text.isalpha():
        return True
    return plain not in vocabulary() and not any(map(concepts.concepts_of, plain.split()))


def _is_short_word(text: str) -> bool:
    """Tell whether a word that alone heads no column may be what "wet = …" explains."""
    plain = normal(text)
    return len(plain) <= _SHORT and plain not in vocabulary()


# "dried to constant mass: y / n" tells the answers as well.
_ANSWERS = re.compile(r"\s*[:,(]\s*y(?:es)?\s*(?:/|or)\s*no?\b\s*\)?\s*\Z", re.IGNORECASE)


def _explained(heading: str, legend: Mapping[str, str]) -> str:
    """Return what a heading of a symbol means, with its unit; any other heading as it is."""
    meaning = _ANSWERS.sub("", _of_symbol(heading, legend) or "")
    if meaning:
        unit = unit_in_heading(heading)[1]  # "m_dry1_g" says the unit itself
        return f"{meaning} ({unit})" if unit and not unit_in_heading(meaning)[1] else meaning
    cut = _UNIT_BEHIND.fullmatch(heading)
    meaning = _of_symbol(cut["symbol"], legend) or "" if cut else ""
    if cut is None or not meaning:
        return heading
    return meaning if unit_in_heading(meaning)[1] else f"{meaning} ({cut['unit']})"


# A heading this short is a symbol, and what a key sheet says of it goes before what it usually is.
_SHORT = 5


def _of_symbol(symbol: str, legend: Mapping[str, str]) -> str | None:
    return legend.get(symbol.strip()) or legend.get(normal(symbol))


def _is_unit(level: str) -> bool:
    return bool(known_unit(level) or ONLY_RATIO.fullmatch(level))


def with_legend(know: Know, legend: Mapping[str, str], own_sheet: bool = True) -> Know:
    """Return a reader of headings that takes a symbol for what the legend says it is.

    Where the explanation is not understood, a symbol of the vocabulary keeps its usual meaning.
    """
    if not legend:
        return know

    def read(levels: Sequence[str]) -> Reading:
        own = know(levels)
        plain = tuple(
            level if at and _is_unit(level.strip(" ()[]")) else _explained(level, legend)
            for at, level in enumerate(levels)
        )  # the "(g)" under a heading is its unit, whatever G means on the sheet
        if own.how == "mapping" or plain == tuple(levels):
            return own
        said = know(plain)
        if own.column and not own_sheet and len(normal(levels[0])) > _SHORT:
            # Another sheet explains it; the heading says enough, but perhaps not its unit.
            return replace(own, unit=own.unit or said.unit) if said.column == own.column else own
        if own.trial and not said.trial:
            return own
        # "S = dissolved / water, as handed in": the symbol says more than its formula, and
        # "const? = m1 and m2 within 0.01 g" than its rule.
        asks = own.column in ("constant_mass", *_CHOICES)
        unclear = own.column and (not said.candidates or asks)
        return said if said.column or not (own.how == "vocabulary" or unclear) else own

    return read
