"""One printed page per group for its post-lab discussion, and an index of the pages."""

from __future__ import annotations

import os
import re
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from solubility_stats.errors import InputError
from solubility_stats.files import write_text
from solubility_stats.report import handout_parts as parts
from solubility_stats.report.cautions import cautions
from solubility_stats.report.handout_questions import questions

if TYPE_CHECKING:
    from jinja2 import Environment

    from solubility_stats.bias.diagnosis import Diagnosis
    from solubility_stats.measurement.estimates import Estimates
    from solubility_stats.records import ClassRecords

_KEYS = ["semester", "section", "group"]
# Beyond these a page is set smaller, so that it stays one sheet of A4.
_MANY_READINGS, _MANY_RESULTS = 12, 2


def write_handouts(
    records: ClassRecords,
    est: Estimates,
    diagnosis: Diagnosis | None,
    out_dir: str | os.PathLike[str],
    *,
    hide_reference: bool = False,
) -> list[Path]:
    """Write one page per group and ``index.html``.

    A page shows the group its own readings, result and budget, checks its arithmetic, marks its
    place among unnamed others, and asks questions. It ranks nobody and names no other group.

    Parameters
    ----------
    records : ClassRecords
        The runs as read.
    est : Estimates
        Their results.
    diagnosis : Diagnosis or None
        For the reference and the most useful extra measurement; without it both are left out.
    out_dir : path
        Folder for the pages; made if missing.
    hide_reference : bool
        Leave the reference out, for handing out before the discussion.

    Returns
    -------
    list of Path
        The pages of the groups in the order of the records; the index is written beside them.

    Raises
    ------
    InputError
        If there are no runs.
    """
    from solubility_stats.measurement import find_slips

    if records.runs.empty:
        raise InputError("there are no runs to write pages for", where="records")
    group = parts.Class(records, est, find_slips(records, est), diagnosis)
    environment = _environment()
    template = environment.get_template("handout.html.jinja")
    folder = Path(out_dir)
    taken: set[str] = set()
    pages, links = [], []
    for key, rows in records.runs.groupby(_KEYS, sort=False, dropna=False):
        name = _file_name(key, taken)
        context = _page(group, rows, hidden=hide_reference)
        pages.append(write_text(template.render(**context), folder / name))
        links.append((name, str(key[1]), str(key[2]), str(key[0])))
    index = environment.get_template("handout_index.html.jinja")
    solid = est.protocol.solid.name
    write_text(index.render(solid=solid, sections=_by_section(links)), folder / "index.html")
    return pages


def _page(group: parts.Class, rows: pd.DataFrame, *, hidden: bool) -> dict[str, Any]:
    records, est = group.records, group.est
    own = est.table[est.table["run_id"].isin(rows["run_id"])]
    used = own[own["used"]]
    preferred = used[used["route"] == group.route] if len(used) else used
    shown = preferred if len(preferred) else used
    reference, published = parts.reference_for(group, rows, hidden)
    drawing, sentence = parts.place_in_class(group, rows, reference)
    first, readings = rows.iloc[0], parts.readings(records, rows)
    budget = []
    if len(shown):
        budget = parts.bars(est, str(shown.iloc[0]["run_id"]), str(shown.iloc[0]["route"]))
    solid = est.protocol.solid.name
    return {
        "solid": solid,
        "who": _who(first),
        "runs": [f"run {r or k + 1}" for k, r in enumerate(rows["run"])] if len(rows) > 1 else [],
        "readings": readings,
        "dense": len(readings) > _MANY_READINGS or len(own) > _MANY_RESULTS,
        "remarks": parts.remarks(records, rows),
        "results": parts.results(est, rows),
        "bars": budget,
        "bars_most": max((bar.share for bar in budget), default=1.0),
        "sums": parts.sums(group.slips, rows),
        "strip": drawing,
        "place": sentence,
        "published": published,
        "questions": questions(rows, own, group.diagnosis, hidden=hidden),
        "cautions": cautions(solid),
        "unit": parts.UNIT,
    }


def _who(row: pd.Series) -> str:
    group = f"Group {row['group']}" if row["group"] else "One group"
    return ", ".join(part for part in (group, str(row["section"]), str(row["semester"])) if part)


def _file_name(key: tuple[Any, ...], taken: set[str]) -> str:
    """Return a file name made of plain characters only, each once, never that of the index."""
    words = [re.sub(r"[^A-Za-z0-9]+", "-", str(part)).strip("-").lower() for part in key]
    stem = "_".join(word for word in words if word) or "group"
    name, count = stem, 1
    while name in taken or name == "index":
        count += 1
        name = f"{stem}-{count}"
    taken.add(name)
    return f"{name}.html"


def _by_section(
    links: list[tuple[str, str, str, str]],
) -> list[tuple[str, list[tuple[str, str]]]]:
    sections: dict[str, list[tuple[str, str]]] = {}
    for name, section, group, semester in links:
        title = ", ".join(part for part in (section, semester) if part) or "All groups"
        sections.setdefault(title, []).append((name, group or "?"))
    return list(sections.items())


def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("solubility_stats.report"),
        autoescape=True,
        trim_blocks=True,
        lstrip_blocks=True,
        undefined=StrictUndefined,
    )
    css = files("solubility_stats.report") / "templates" / "handout.css"
    environment.globals["css"] = Markup(css.read_text(encoding="utf-8"))
    return environment
