"""How figures look: one palette, applied only while a figure of ours is drawn."""

from __future__ import annotations

import functools
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, ParamSpec

if TYPE_CHECKING:
    from matplotlib.axes import Axes

P = ParamSpec("P")

INK = "#22303c"  # text, axes
MUTED = "#6b7a86"  # secondary text, plain results
GRID = "#e3e8ec"
REFERENCE = "#d9a441"  # the literature, everywhere
CLASS = "#0b6e75"  # the class's own value, everywhere
WARN = "#b3432b"
# Sections; chosen to stay apart in grey print and for colour-blind readers, each with a marker.
SECTION_COLOURS = ("#355c9a", "#8a4f9e", "#3f8f5b", "#a8642a", "#5b6b7a", "#b04a6f")
SECTION_MARKERS = ("o", "s", "^", "D", "v", "P")

# Any: the key type of matplotlib settings is a list of every name it knows.
_RC: Any = {
    "font.family": "DejaVu Sans",
    "font.size": 9.5,
    "axes.edgecolor": MUTED,
    "axes.labelcolor": INK,
    "axes.titlecolor": INK,
    "axes.titlesize": 10.5,
    "axes.titlelocation": "left",
    "axes.linewidth": 0.8,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.axisbelow": True,
    "grid.color": GRID,
    "grid.linewidth": 0.8,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "xtick.major.size": 3,
    "ytick.major.size": 0,
    "legend.frameon": False,
    "legend.fontsize": 8.5,
    "figure.dpi": 110,
    "savefig.dpi": 160,
    # Group codes are shown as written, dollar signs and backslashes included.
    "text.parse_math": False,
    # Same inputs, same bytes.
    "svg.hashsalt": "solubility_stats",
}


def styled(draw: Callable[P, Axes]) -> Callable[P, Axes]:
    """Draw with our look without leaving a trace in matplotlib's settings."""

    @functools.wraps(draw)
    def wrapper(*args: P.args, **kwargs: P.kwargs) -> Axes:
        with _look():
            return draw(*args, **kwargs)

    return wrapper


@contextmanager
def _look() -> Iterator[None]:
    """Apply our settings; a character the font lacks shows as a box, without a warning."""
    import warnings

    import matplotlib as mpl

    with mpl.rc_context(_RC), warnings.catch_warnings():
        warnings.filterwarnings("ignore", r"Glyph \d+ .* missing from font", UserWarning)
        yield


def axes(ax: Axes | None, size: tuple[float, float]) -> Axes:
    """Return ``ax``, or the axes of a new figure of the given size in inches."""
    if ax is not None:
        return ax
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    # A figure outside pyplot: nothing global to close, no window to open.
    figure = Figure(figsize=size, layout="constrained")
    FigureCanvasAgg(figure)
    return figure.add_subplot()


def save(ax: Axes, path: str | Path) -> Path:
    """Save the figure of ``ax``; SVG and PNG come out the same on every run."""
    from solubility_stats.files import replacing

    target = Path(path)
    figure = ax.get_figure(root=True)
    if figure is None:
        raise ValueError("these axes belong to no figure")
    metadata = {"Date": None} if target.suffix == ".svg" else {"Software": None}
    with replacing(target) as draft, _look():
        figure.savefig(draft, metadata=metadata)
    return target


def svg_source(ax: Axes) -> str:
    """Return the figure of ``ax`` as the text of an SVG file."""
    import io

    figure = ax.get_figure(root=True)
    if figure is None:
        raise ValueError("these axes belong to no figure")
    buffer = io.StringIO()
    with _look():
        figure.savefig(buffer, format="svg", metadata={"Date": None})
    return buffer.getvalue()


def keep_layout(ax: Axes) -> None:
    """Keep the layout of a figure of ours as drawn, so that drawing it again costs half."""
    figure = ax.get_figure(root=True)
    if figure is not None:
        figure.set_layout_engine("none")


def svg(ax: Axes, label: str) -> str:
    """Return the figure of ``ax`` as an inline SVG element that screen readers name ``label``."""
    return inline(svg_source(ax), label)


def inline(source: str, label: str) -> str:
    """Turn the text of an SVG file into an element of a page that holds several."""
    import re
    from html import escape
    from zlib import crc32

    text = source[source.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>", "", text, flags=re.DOTALL)
    # Several figures share one page: their ids must not meet.
    mark = f"f{crc32(label.encode()):08x}"
    text = re.sub(r'\bid="', f'id="{mark}-', text)
    text = re.sub(r'(href="#|url\(#)', rf"\g<1>{mark}-", text)
    width = re.search(r'viewBox="0 0 ([\d.]+) ', text)
    limit = f"max-width:{float(width.group(1)) * 1.35:.0f}px" if width else ""
    return re.sub(
        r'<svg ([^>]*?)width="[^"]*"([^>]*)height="[^"]*"|<svg ',
        lambda m: (
            f'<svg role="img" aria-label="{escape(label, quote=True)}" style="{limit}" '
            + ((m.group(1) or "") + (m.group(2) or ""))
        ),
        text,
        count=1,
    )


def percent_axis(ax: Axes, *, narrow: bool = False) -> None:
    """Label the horizontal axis in signed percent, with as many ticks as there is room for."""
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    def label(x: float, _: int) -> str:
        return "0" if abs(x) < 1e-9 else f"{x:+.0f} %".replace("-", "−")

    ax.xaxis.set_major_locator(MaxNLocator(5 if narrow else 8, steps=[1, 2, 5, 10]))
    ax.xaxis.set_major_formatter(FuncFormatter(label))
