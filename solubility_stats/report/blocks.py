"""The few kinds of block a page is made of, and tables cut down to what a reader can take in."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from solubility_stats.files import write_text
from solubility_stats.report.figures.style import inline, keep_layout, save, svg, svg_source

if TYPE_CHECKING:
    from pathlib import Path

    from markupsafe import Markup
    from matplotlib.axes import Axes


THIN = "\u202f"  # narrow space that no line breaks at, between a number and its unit


@dataclass(frozen=True)
class Text:
    """A paragraph; ``kind`` is ``text``, ``note`` or ``heading``."""

    text: str
    kind: str = "text"


@dataclass(frozen=True)
class Bullets:
    """A list of sentences."""

    items: tuple[str, ...]
    kind: str = "list"


@dataclass(frozen=True)
class Drawing:
    """A figure drawn twice, for a wide and for a narrow window."""

    wide: Markup
    narrow: Markup
    caption: str
    kind: str = "figure"


@dataclass(frozen=True)
class Column:
    """How one column of a table is titled and set."""

    title: str
    number: bool = False
    tag: bool = False


@dataclass(frozen=True)
class Table:
    """A table of ready-made text."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    none: str = "None."
    more: str = ""
    kind: str = "table"


@dataclass(frozen=True)
class Folded:
    """A table behind a line one can open."""

    title: str
    table: Table
    kind: str = "folded"


@dataclass(frozen=True)
class Part:
    """One part of the page."""

    id: str
    title: str
    blocks: tuple[Any, ...] = field(default_factory=tuple)


def draw(
    painter: Callable[..., Axes],
    *args: Any,
    name: str,
    label: str,
    caption: str,
    folder: Path,
    **options: Any,
) -> Drawing:
    """Draw a figure for wide and narrow windows and keep PNG and SVG files of the wide one."""
    from markupsafe import Markup

    wide = painter(*args, **options)
    source = svg_source(wide)
    keep_layout(wide)
    write_text(source, folder / f"{name}.svg")
    save(wide, folder / f"{name}.png")
    narrow = painter(*args, narrow=True, **options)
    # Markup: the SVG comes from our own renderer, its texts are escaped there.
    return Drawing(
        Markup(inline(source, label)),
        Markup(svg(narrow, f"{label}, narrow")),
        caption,
    )


def table(
    frame: pd.DataFrame,
    columns: Mapping[str, str],
    *,
    formats: Mapping[str, Callable[[Any], str]] | None = None,
    tags: Iterable[str] = (),
    none: str = "None.",
    at_most: int = 60,
    file: str = "",
) -> Table:
    """Make a table of ready text from the named columns of a frame.

    Parameters
    ----------
    columns : mapping of str to str
        Column of the frame to title; columns the frame lacks are left out.
    formats : mapping, optional
        How to write a column; numbers get four significant digits otherwise.
    tags : iterable of str
        Columns whose words are set as small labels.
    at_most : int
        Rows shown; the rest is counted, and ``file`` named as the place to find it.
    """
    formats = formats or {}
    names = [c for c in columns if c in frame]
    heads = tuple(
        Column(columns[c], pd.api.types.is_numeric_dtype(frame[c]) or c in formats, c in set(tags))
        for c in names
    )
    cells = [[formats.get(c, plain)(v) for v in frame[c].head(at_most)] for c in names]
    rest = len(frame) - at_most
    more = f"and {rest} more rows" + (f" in {file}" if file else "") if rest > 0 else ""
    return Table(heads, tuple(zip(*cells, strict=True)), none, more)


def plain(value: Any) -> str:
    """Write a value: four significant digits, yes or no, nothing for missing."""
    if value is None or value is pd.NA or (isinstance(value, float) and not np.isfinite(value)):
        return ""
    if isinstance(value, (bool, np.bool_)):
        return "yes" if value else "no"
    if isinstance(value, (float, np.floating)):
        return f"{value:.4g}".replace("-", "−")
    if isinstance(value, (list, tuple)):
        return "; ".join(str(v) for v in value)
    return str(value)


def amount(value: float, digits: int = 0) -> str:
    """Write an unsigned percentage."""
    return f"{value:.{digits}f}{THIN}%"


def percent(value: Any) -> str:
    """Write a signed percentage without false precision."""
    if value is None or not np.isfinite(value):
        return "–"
    digits = 1 if abs(value) < 10 else 0
    return f"{value:+.{digits}f}{THIN}%".replace("-", "−")
