"""The page: one self-contained file, the answer on its first screen."""

from __future__ import annotations

import os
import re
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from solubility_stats.display import with_uncertainty
from solubility_stats.files import write_text
from solubility_stats.report import parts_causes, parts_reading, parts_result, parts_spread, words
from solubility_stats.report.blocks import THIN, Part, draw, percent
from solubility_stats.report.figures import draw_groups

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis

_UNIT = re.compile(r"(\d) (%|°C|g\b|mL\b|mol/L)")
_MINUS = re.compile(r"(?<![^\s(])-(?=\d)")


def write_page(done: Analysis, folder: str | os.PathLike[str]) -> Path:
    """Write ``report.html`` and the figures; return the page's path.

    Parameters
    ----------
    done : Analysis
        Nothing is computed here; every number comes from its results.
    folder : path
        ``report.html`` and ``figures/`` go here.
    """
    out = Path(folder)
    return write_text(page(done, out / "figures"), out / "report.html")


def page(done: Analysis, figures: Path) -> str:
    """Return the page as HTML."""
    from jinja2 import Environment, PackageLoader
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("solubility_stats.report"),
        autoescape=True,
        trim_blocks=True,
        finalize=_unbroken,
    )
    css = (files("solubility_stats.report") / "templates" / "page.css").read_text("utf-8")
    return environment.get_template("page.html.jinja").render(
        title=f"Class results: solubility of {done.protocol.solid.name}",
        subtitle=_subtitle(done),
        css=Markup(css),
        answer=words.answer(done),
        cards=_cards(done),
        groups_figure=_groups_figure(done, figures),
        parts=_parts(done, figures),
    )


def _unbroken(text: Any) -> Any:
    """Keep a number and its unit on one line, with a minus; ready-made markup is left alone."""
    if isinstance(text, str) and not hasattr(text, "__html__"):
        return _MINUS.sub("−", _UNIT.sub(rf"\1{THIN}\2", text))
    return text


def _parts(done: Analysis, figures: Path) -> list[Part]:
    found = [
        parts_result.reference(done, figures),
        parts_reading.reading(done),
        parts_reading.groups_to_look_at(done),
        parts_reading.sums(done),
        parts_result.budget(done, figures),
        parts_result.breakdown(done, figures),
        parts_spread.factors(done, figures),
        parts_spread.repeats(done, figures),
        parts_causes.routes(done),
        parts_causes.causes(done, figures),
        parts_causes.next_steps(done),
        parts_result.temperature(done, figures),
        parts_spread.writing(done),
        parts_result.every_group(done),
        parts_reading.safety(done),
        parts_reading.provenance(done),
    ]
    return [part for part in found if part is not None]


def _subtitle(done: Analysis) -> str:
    runs = done.records.runs
    sections = [s for s in runs["section"].unique() if s]
    text = done.records.headline()
    if sections:
        text += f", {len(sections)} section{'s' if len(sections) > 1 else ''}"
    semesters = [s for s in runs["semester"].unique() if s]
    return f"{text}, {', '.join(semesters)}" if semesters else text


def _cards(done: Analysis) -> list[dict[str, str]]:
    a, b = done.comparison.apparent, done.comparison.unexplained
    unit = "g per 100 g water"
    reference = with_uncertainty(b.reference_g_per_100g, b.u_reference_g_per_100g)
    return [
        _card(
            "Plain result against reference",
            percent(a.percent),
            f"95 %: {words.span(a.low_percent, a.high_percent)}",
        ),
        _card(
            "Left after expected effects",
            percent(b.percent),
            f"95 %: {words.span(b.low_percent, b.high_percent)}; {b.verdict}",
        ),
        _card(
            "Class value",
            with_uncertainty(done.consensus.value, done.consensus.u),
            f"{unit}, after expected effects",
        ),
        _card("Reference", reference, f"{unit}, at {b.temperature_c:.1f} °C"),
    ]


def _card(label: str, value: str, detail: str) -> dict[str, str]:
    return {"label": label, "value": value, "detail": detail}


def _groups_figure(done: Analysis, figures: Path) -> Any:
    b = done.comparison.unexplained
    return draw(
        draw_groups,
        done.estimates.used(done.comparison.route),
        done.consensus,
        done.apparent,
        (b.reference_g_per_100g, b.u_reference_g_per_100g),
        name="groups",
        label="Solubility of every group with its 95 percent interval, before the reference band",
        caption=(
            "Each group's solubility after the effects this lab is expected to have, with its "
            "95 % interval; the small upright mark is the plain result. The band is the reference "
            "with its own uncertainty, which includes how far published sources disagree. The "
            "order is by value; it is no ranking of work."
        ),
        folder=figures,
    )
