"""What a line below the headings is: a run, a summary, an example, a note, another table."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Literal

from solubility_stats.sheets.header_lines import is_unit_line
from solubility_stats.sheets.model import RawCell
from solubility_stats.sheets.view import looks_like_number
from solubility_stats.sheets.words import says_missing

Kind = Literal[
    "run",
    "summary",
    "example",
    "note",
    "units",
    "heading",
    "listed",
    "nameless",
    "shifted",
    "slipped",
    "blank",
    "end",
]

_SUMMARY_EXACT = frozenset(
    (
        "min", "max", "lowest", "highest", "smallest", "largest", "best", "worst", "kleinster",
        "größter", "laagste", "hoogste", "n", "sd", "s.d.", "sd.", "cv", "rsd", "%rsd", "range",
        "count", "class", "all", "overall", "ka", "minimum", "maximum", "stdev", "std", "stddev",
        "sem", "se", "var",
        "σ", "s", "x̄", "xbar", "x-bar", "μ", "ø", "⌀", "∅",
    )
)  # fmt: skip
_SUMMARY = re.compile(
    r"(?!m[ée]dia\s+h?ora)(?:(?:class|section|group|lab|overall|grand|column|the)\s+)*"
    r"(?:averages?|avg|av\.|(?<=\s)av|mean|median|(?:sub-?)?totals?|sums?|std\.?\s*(?:dev\w*|error)|"
    r"st\.?\s*dev\w*|stdev|standard\s+(?:deviation|error)|%?\s*rsd|%\s*cv|"
    r"coefficient of variation|rel\w*\.?\s+(?:std|standard|sd)|variance|minimum|maximum|"
    r"\w{0,12}mittel(?:wert)?\w{0,2}|mittel\w*|\w{0,12}durchschnitt|summe|gesamt|standardabweichung|anzahl|moyenne|écart.type|somme|"
    r"gem|gns|genst|średni\w*|medelv\w*|medel|gennemsnit\w*|gjennomsnitt\w*|snitt|middelv\w*|middel|moy|"
    r"prom|ortalama\w*|ort\.|std\.? sapma|standart sapma|toplam|keskihajonta|yhteensä|celkem|"
    r"součet|směrodatná\w*|"
    r"valor(?:e|es)? (?:di |de |das )?tab\w+|valeur tabulée|tabell?\w*(?:wert|värde|verdi|værdi)|"
    r"tabulkov\w+|taulukkoarvo|odch(?:yl\w*|\.)|suma|razem|totale|totaal|afwijking|écart|erreur|keskiarvo|průměr\w*|"
    r"promedio|media|desv\w*|dev\.?\s*st\w*|d[ée]v\.?\s*std|gemiddeld\w*|standaardafw\w*|m[ée]dia|"
    r"(?:s\.?d\.?|rsd|cv)(?=\s+\S{1,6}\Z)|spread|number of groups|class results?|n\s*(?:=|total)|"
    r"(?:amount |mass |issued |volume )?per (?:team|group|pair|bench|student|table|class)|"
    r"(?:number of |no\.? of )?(?:teams|groups|pairs|students|benches)(?=\W*\Z)|"
    r"%\s*(?:err\w*|diff\w*|dev\w*)|percent\w*\s+(?:err\w*|diff\w*)|"
    r"(?:accepted|literature|lit\.?|published|expected|theor\w*|hand ?book|(?:data ?)?book|true|"
    r"real|known)\s+"
    r"(?:value|answer|solubility|s)|lit\.|valeur théorique|valor (?:teórico|real)|"
    r"lit+[eé]rat(?!ure)\w+|theor\w+|th[ée]ori\w+|te[oó]ric\w+|teoret\w+|letteratura|"
    r"(?:lit(?:erature)?|accepted)(?=\s*\Z)|"
    r"(?:w/o|without|excluding|excl\.?|leaving out)\s+\w{1,4}(?=\s*\Z)|"
    r"(?:(?:data|hand)\s?)?book(?=\W*(?:\d.*)?\Z))(?![^\W_])",
    re.IGNORECASE,
)
_NUMBER_FIRST = re.compile(r"[~≈\s]*\d+(?:[.,]\d+)?\s*(?:g|mg|ml|l|cm3|cm³|min|°)", re.IGNORECASE)
_ENDS_SUMMARY = re.compile(
    r"\S+(?:\s+\S+)?\s+(?:average|avg|mean|totals?|sd|stdev|median)", re.IGNORECASE
)
_EXAMPLE = re.compile(
    r"\W*(?:examples?|e\.\s?g\.?|beispiel|exemple|ejemplo|esempio|exemplo|voorbeeld|"
    r"exempel|eksempel|przykład|příklad|örnek|sample\s+(?:row|data|entry|line)|"
    r"template|demo|test row|dummy)\b|\W*(?:sample|test|ex)\W*\Z",
    re.IGNORECASE,
)
_EXAMPLE_ALONE = re.compile(
    r"\s*\((?:worked |an )?(?:example|beispiel|exemple|ejemplo|esempio|exemplo|voorbeeld)\)\s*",
    re.IGNORECASE,
)
_EXAMPLE_REMARK = re.compile(
    r"\b(?:example\s+(?:row|line|only|entry)|(?:delete|remove|overwrite)\s+this\s+(?:row|line)|"
    r"beispielzeile|(?:dummy|made[- ]up|invented) (?:numbers?|values?|data|entry))\b"
    r"|\A\W*example\b",
    re.IGNORECASE,
)
# In the place of a name or of a remark.
_TRIED = re.compile(
    r"\btest\b.{0,30}\bignore\b|\b(?:please )?ignore this\b(?! (?:run|group|trial|result))|"
    r"\btesting the (?:form|sheet)\b",
    re.I,
)
_FOOTNOTE = re.compile(r"\s*(?:[*†‡§¹²³]|\(?\d\)\s|n\.?b\.?\b|notes?\s*:|legend|key\s*:)", re.I)


@lru_cache(maxsize=4096)
def is_telling(code: str) -> bool:
    """Tell whether a text in the group column reads like a summary, an example or a note."""
    text = code.strip().rstrip(":= ").strip()
    return bool(
        text.casefold() in _SUMMARY_EXACT
        or _SUMMARY.match(text)
        or _ENDS_SUMMARY.fullmatch(text)
        or _EXAMPLE.match(text)
        or _FOOTNOTE.match(text)
        or len(text) > 30
    )


class Shape:
    """The places of a table by what they hold, for classifying its lines.

    Parameters
    ----------
    identifiers, numbers, words : sequence of int
        Places of identifier columns, of number columns, and of remarks and choices.
    group : int or None
        Place of the group column.
    people : sequence of int
        Those of the identifiers that hold names or initials.
    """

    def __init__(
        self,
        identifiers: Sequence[int],
        numbers: Sequence[int],
        words: Sequence[int],
        group: int | None,
        people: Sequence[int] = (),
    ) -> None:
        self.identifiers, self.numbers = set(identifiers), set(numbers)
        self.words, self.group, self.people = set(words), group, set(people)


def classify(
    cells: Mapping[int, RawCell],
    shape: Shape,
    headings: Mapping[int, str],
    *,
    after_gap: bool,
    after_summary: bool = False,
) -> Kind:
    """Return what a line is, from its cells by place.

    Parameters
    ----------
    cells : mapping of int to RawCell
        The filled places, shadows of merged cells included.
    shape : Shape
        What the places hold.
    headings : mapping of int to str
        Lowest heading text by place, to know repeated headings.
    after_gap, after_summary : bool
        Whether an empty line lies directly above, whether the line above is a summary.
    """
    own = {p: c for p, c in cells.items() if c.merged_from is None}
    if not own:
        return "note"
    typed = any(isinstance(own[p].value, float) for p in own if p in shape.numbers)
    if after_summary and _only_result(own, shape):
        return "summary"
    if typed and shape.group in own and all(map(_says_nothing, own.values())):
        return "run"  # nearly every line of a clean table
    if not typed and len(own) > 1:
        if is_unit_line(list(own.values())):
            return "units"
        same = sum(c.text.strip() == headings.get(p, "\0").strip() for p, c in own.items())
        if same >= 2 and 2 * same > len(own):
            return "heading"
        lead = own.get(shape.group) if shape.group is not None else None
        if lead is not None and lead.text.strip() == headings.get(shape.group or 0, "\0").strip():
            return "end"  # the headings of another table
        if after_gap and len(own) > _FEW and not any(map(_may_be_reading, own.values())):
            return "end"  # "Section | n | mean solid in (g) | SD (g)" of statistics below
    if _says_summary(own, shape, after_summary):
        return "summary"
    if _says_example(own, shape):
        return "example"
    kind = _plain_kind(cells, own, shape, after_gap)
    if kind == "run" and any(_is_blank(own[p].text) for p in shape.identifiers if p in own):
        return "blank"
    return kind


_FEW = 2


def _may_be_reading(cell: RawCell) -> bool:
    return looks_like_number(cell) or says_missing(cell.text) or not isinstance(cell.value, str)


# A line that was no group's run (common practice to keep them in the table, no source).
_BLANK = re.compile(
    r"\W*(?:[^\W\d_]+\s+(?:blanks?|blk|ctrl|controls?)\W*\Z|.{1,20}\bIGNORE\b"
    r"|(?:blanks?|blk|ctrl|controls?|blind|reference (?:run|sample)|leerwert|blindwert|témoin|"
    r"blanc|blanco|branco|bianco|instructor|demonstrat\w+|teacher|professor|answer key|last year|"
    r"previous year|staff|practice run|(?:my|our|ta'?s?) (?:own )?(?:practice|trial|test) run|"
    r"vorjahr|ann[ée]e (?:derni[èe]re|pr[ée]c[ée]dente)|año (?:pasado|anterior)|anno (?:scorso|"
    r"precedente)|ano (?:passado|anterior)|vorig jaar|förra året|sidste år|i fjor)\b"
    r"|(?:planned|plan|targets?|aim(?: for)?|expected|soll(?:wert)?|prévu|previsto|gepland)\W*\Z)",
    re.IGNORECASE,
)


def _says_nothing(cell: RawCell) -> bool:
    return cell.value.__class__ is not str or _is_silent(cell.text)


@lru_cache(maxsize=4096)
def _is_silent(text: str) -> bool:
    """Tell whether a text cannot make its line anything but a run."""
    return not (
        is_telling(text)
        or _EXAMPLE_REMARK.search(text)
        or _TRIED.search(text)
        or _BLANK.match(text)
    )


@lru_cache(maxsize=4096)
def _is_blank(code: str) -> bool:
    return _BLANK.match(code) is not None


def _plain_kind(
    cells: Mapping[int, RawCell], own: Mapping[int, RawCell], shape: Shape, after_gap: bool
) -> Kind:
    readings = [p for p in own if p in shape.numbers and looks_like_number(own[p])]
    content = [p for p in own if p not in shape.identifiers]
    if not readings:
        strange = [
            p
            for p in own
            if p in shape.numbers
            and isinstance(own[p].value, str)
            and not says_missing(str(own[p].value))
        ]
        if after_gap and len(own) >= 2 and strange:
            return "end"
        named = cells.get(shape.group) if shape.group is not None else None
        if named is not None and _is_note(named):
            return "note"
        if not content:
            return "listed" if named is not None else "note"
        if named is None:
            return "note"
    if shape.group is not None and shape.group not in cells:
        return "nameless"
    return "run"


def _is_note(cell: RawCell) -> bool:
    text = cell.text.strip()
    return bool(_FOOTNOTE.match(text)) or len(text) > 30 or len(text.split()) > 4


def _says_summary(own: Mapping[int, RawCell], shape: Shape, after_summary: bool) -> bool:
    places = sorted(own)
    lead = [p for p in places if p in shape.identifiers]
    if shape.group is not None and shape.group in own and not is_telling(own[shape.group].text):
        lead = [p for p in lead if p not in shape.people]  # "SD" behind a group's code is a person
        places = [p for p in places if p not in shape.people]
    texts = [p for p in places if isinstance(own[p].value, str) and not looks_like_number(own[p])]
    # A text to the right of the readings, beside a group's code, belongs to another list.
    near = [p for p in texts[:1] if not lead or not shape.numbers or p < max(shape.numbers)]
    asked = dict.fromkeys([*lead, *near, *(p for p in texts if p in shape.numbers)])
    for p in asked:
        text = own[p].text.strip().rstrip(":= ").strip()
        if p in shape.words and p not in texts[:1]:
            continue
        if p in shape.words and len(text.split()) > 3:
            continue
        # Behind a group's code "n" or "min" in a column of answers is no summary.
        counts = p in lead or (p in shape.numbers and not lead)
        if text.casefold() in _SUMMARY_EXACT and counts:
            # A single letter may be a group's code, unless it is written like a result.
            code = len(text) == 1 and text.casefold() not in "øσμ⌀∅"
            letter = code and p in lead and not own[p].text.strip().endswith(("=", ":"))
            return after_summary or not letter
        if _NUMBER_FIRST.match(text):
            continue  # "200 ml total" is a reading
        if len(text) <= 60 and (_SUMMARY.match(text) or _ENDS_SUMMARY.fullmatch(text)):
            return True
    return False


def _only_result(own: Mapping[int, RawCell], shape: Shape) -> bool:
    """Tell whether a line below the means is a word with one number: a value from a book."""
    lead = own.get(shape.group) if shape.group is not None else None
    if lead is None or len(own) != _WORD_AND_NUMBER or len(shape.numbers) < _MANY:
        return False
    word = lead.text.strip()
    lone = sum(looks_like_number(own[p]) for p in own if p in shape.numbers) == 1
    return lone and word.isalpha() and len(word) > _LONGEST_CODE


_WORD_AND_NUMBER = 2
_LONGEST_CODE = 3
_MANY = 3


def _says_example(own: Mapping[int, RawCell], shape: Shape) -> bool:
    for p, cell in own.items():
        if not isinstance(cell.value, str):
            continue
        if _EXAMPLE_ALONE.fullmatch(cell.value):
            return True
        if p == min(own) and _EXAMPLE.fullmatch(cell.value.strip(" :-")):
            return True
        if p in shape.identifiers and _EXAMPLE.match(cell.value.lstrip(" ([")):
            return True
        if p in shape.words and _EXAMPLE_REMARK.search(cell.value):
            return True
        if p in shape.words | shape.people and _TRIED.search(cell.value):
            return True
    return False


_AGGREGATE = re.compile(
    r"\b(?:AVERAGE|SUM|STDEV|MEDIAN|MIN|MAX|COUNT|VAR|MITTELWERT|SUMME)[\w.]*\(", re.IGNORECASE
)


def sums_up(
    numbers: Mapping[int, float], above: Mapping[int, Sequence[float]], formulas: Sequence[str]
) -> bool:
    """Tell whether an unlabelled line holds means, sums or deviations of the lines above it.

    Parameters
    ----------
    numbers : mapping of int to float
        Numbers on the line by place.
    above : mapping of int to sequence of float
        Numbers of the same place on the lines above.
    formulas : sequence of str
        Formulas on the line.
    """
    if any(_AGGREGATE.search(f) for f in formulas):
        return True
    hits = tested = 0
    for place, value in numbers.items():
        column = above.get(place, ())
        if len(column) < 2:
            continue
        tested += 1
        mean = math.fsum(column) / len(column)
        spread = math.sqrt(math.fsum((x - mean) ** 2 for x in column) / (len(column) - 1))
        close = 10 ** -_decimals(value) / 2 + 1e-9
        hits += any(abs(value - x) <= close for x in (mean, math.fsum(column), spread))
    return tested > 0 and hits == tested


def _decimals(value: float) -> int:
    text = f"{value:.10g}"
    return len(text.partition(".")[2]) if "e" not in text else 9
