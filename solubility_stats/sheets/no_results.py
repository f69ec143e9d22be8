"""Tables and lines that hold no results of the class: targets, supplies, means, another year."""

from __future__ import annotations

import re
from collections.abc import Sequence

from solubility_stats.sheets.drafts import Draft

_EXAMPLE_SHEET = re.compile(
    r"\b(?:worked (?:example|solution|answer)|example|sample (?:calc|data)|demo\b|template|"
    r"answer key|model answer|dummy|(?:last|previous) (?:year|semester|term)|archiv|backup|"
    r"old (?:data|values|results|sheet)|supersed\w+|obsolete|withdrawn|change ?log|audit trail)",
    re.IGNORECASE,
)


# What was to be used or handed out, and not what was.
_NO_RESULTS = re.compile(
    r"\W*(?:(?:the|our|class)\s+)?(?:targets?(?:\s+(?:values?|amounts?|quantit\w+|masses))?|aims?|"
    r"planned\s+(?:values?|amounts?|quantit\w+)|(?:list\s+of\s+)?(?:supplies|apparatus|equipment|"
    r"materials|chemicals|requisition)(?:\s+(?:list|order|needed|required))?|"
    r"(?:to\s+be\s+)?issued\s+(?:by|from)\s+(?:the\s+)?(?:prep\s+room|stores?)\b[^.:;,]{0,40}|"
    r"stores?\s+(?:list|order|issue)|kit\s+list|shopping\s+list|order\s+(?:list|form)|"
    r"sollwerte|materialliste|consignes|liste du matériel|lista de materiales?)\W*",
    re.IGNORECASE,
)


# "Last year (2024), only for comparison", "Vorjahr zum Vergleich" over a table of its own
_NOT_NOW = re.compile(
    r"\A\W*(?:\w+\s+){0,2}(?:last|previous|prior)\s+(?:school\s+)?(?:year|semester|term)\b"
    r"|\bsuperseded\b(?!\s+by)"
    r"|\bnot (?:a result|results|measured)\b"
    r"|\bdemo(?:nstration)?\b.{0,30}\b(?:instructor|teacher|ta)\b"
    r"|\b(?:only for|for)\s+(?:comparison|comparing)(?:\s+only)?\b|\bdo not use\b"
    r"|\A\W*(?:vorjahr|vorig\s+(?:school)?jaar|ann[ée]e\s+(?:derni[èe]re|pr[ée]c[ée]dente|pass[ée]e)|"
    r"(?:curso|año)\s+(?:pasado|anterior)|anno\s+(?:scorso|precedente)|ano\s+(?:passado|anterior)|"
    r"zeszły\s+rok|f[öo]rra\s+året|sidste\s+år|i\s+fjor)\b"
    r"|\b(?:zum vergleich|ter vergelijking|pour comparaison|para comparar)\b",
    re.IGNORECASE,
)


# "Section means (for the lecture)", "Mean solubilities by section" over a table without groups
_MEANS = re.compile(
    r"\W*(?:(?:section|class|group|overall|lab)\s+)?(?:means?|averages?|statistics|summary|"
    r"mittelwerte|moyennes|medias|medie|gemiddelden|średnie)\b",
    re.IGNORECASE,
)


_TEMPLATE = re.compile(r"\btemplate\b", re.IGNORECASE)


def set_results_of_others_aside(
    drafts: Sequence[Draft], sheet: str, title: str, near: Sequence[str], *, alone: bool
) -> None:
    """Set the runs of a table aside that its titles call no results of this class.

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of one table; changed in place.
    sheet : str
        Name of the sheet.
    title : str
        Title of the table.
    near : sequence of str
        Texts right above it.
    alone : bool
        No other sheet holds runs, so that a template is one that was filled in.
    """
    titles = [c for c in (sheet, title) if _NO_RESULTS.fullmatch(c)]
    titles += [c for c in near if of_another_time(c)]
    if not any(d.values.get("group") for d in drafts):
        titles += [c for c in near if _MEANS.match(c)]
    why = f"under '{titles[0]}', which names no results" if titles else ""
    filled_in = alone and len(drafts) > 1 and _TEMPLATE.search(sheet)
    if not why and not filled_in and _EXAMPLE_SHEET.search(sheet):
        why = f"on the sheet '{sheet}'"
    for draft in drafts if why else ():
        draft.set_aside = draft.set_aside or why


def of_another_time(title: str) -> bool:
    """Tell whether a title says that what stands below it is of another year, or only compared."""
    said = " ".join(s for s in _SENTENCES.split(title) if not _OF_SOME_ROWS.search(s))
    return _NOT_NOW.search(said) is not None


_SENTENCES = re.compile(r"(?<=[.!;])\s+")
# "Grey rows are last year's, kept for comparison": not the others.
_OF_SOME_ROWS = re.compile(
    r"\b(?:rows?|lines?|columns?|cells?|entries|zeilen?|spalten?|lignes?|colonnes?|filas?|columnas?|"
    r"gr[ae]y|yellow|red|green|blue|shaded|hidden|struck|marked|highlighted|italics?)\b",
    re.IGNORECASE,
)


# Of a sheet by its name, on a sheet that explains the others.
_OF_OTHERS = re.compile(
    r"\b(?:last|previous|prior) (?:year|semester|term)\b|\b(?:intended|planned|plan|not measured|"
    r"superseded|outdated|invented|practice)\b|\bdo not (?:use|analy[sz]e|mix|count)\b|"
    r"\b(?:only |kept )?for (?:comparison|reference)\b|\bhow to fill\b|\bexamples?\b|\bvorjahr\b|"
    r"\bann[ée]e (?:derni[èe]re|pr[ée]c[ée]dente)\b|\baño (?:pasado|anterior)\b",
    re.IGNORECASE,
)
_ONLY = re.compile(
    r"\bonly\b.{0,25}\b(?:sheet|tab|page)s?\b|\b(?:sheet|tab|page)s?\b.{0,40}\bonly\b", re.I
)
_OF_THIS = re.compile(r"\b(?:this (?:class|year|semester|term)|results|counts?|our data)\b", re.I)
_CLAUSES = re.compile(r"(?<=[.!?])\s+|[,;]\s+(?=[\"“‘']|sheet|tab)", re.IGNORECASE)


def sheets_of_others(texts: Sequence[str], names: Sequence[str]) -> dict[str, str]:
    """Return the sheets that the texts of another sheet call no results of this class.

    Parameters
    ----------
    texts : sequence of str
        Texts on sheets without runs: 'Only the sheet "2026" holds this class; "2025" is last year.'
    names : sequence of str
        Names of the sheets with runs.

    Returns
    -------
    dict of str to str
        What is said, by the name of the sheet.
    """
    found: dict[str, str] = {}
    for clause in (c for text in texts for c in _CLAUSES.split(text)):
        quoted = [n for n in names if re.search(rf"[\"“”‘’']\s*{re.escape(n)}\s*[\"“”‘’']", clause)]
        if len(quoted) == 1 and _ONLY.search(clause) and _OF_THIS.search(clause):
            found |= {n: clause for n in names if n not in quoted}
        elif len(quoted) == 1 and _OF_OTHERS.search(clause):
            found[quoted[0]] = clause
    return found
