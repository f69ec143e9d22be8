"""What the command line needs of a terminal: plain characters, warnings in words, progress."""

from __future__ import annotations

import codecs
import sys
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from solubility_stats.errors import SolubilityStatsWarning

# Stand-ins for what our sentences use beyond ASCII; a lost minus would change a result.
_PLAIN = {
    "−": "-", "–": "-", "—": "-", "±": "+/-", "…": "...", "×": "x", "²": "^2", "·": "*",
    "°": " deg ", "µ": "u", "≤": "<=", "≥": ">=", "→": "->", "’": "'", "\u202f": " ", "\xa0": " ",
}  # fmt: skip
_HANDLER = "solubility_stats.plain"


def print_anywhere() -> None:
    """Let a terminal or pipe that lacks a character show a plain one, not end in a traceback."""
    codecs.register_error(_HANDLER, _plain_characters)
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors=_HANDLER)


def _plain_characters(problem: UnicodeError) -> tuple[str, int]:
    if not isinstance(problem, UnicodeEncodeError):
        raise problem
    lost = problem.object[problem.start : problem.end]
    return "".join(_PLAIN.get(c, "?") for c in lost), problem.end


@contextmanager
def warnings_in_words() -> Iterator[None]:
    """Print our own warnings as a sentence, without the line of code they come from."""
    plain = warnings.showwarning

    def show(
        message: Warning | str,
        category: type[Warning],
        filename: str,
        lineno: int,
        file: object = None,
        line: str | None = None,
    ) -> None:
        if issubclass(category, SolubilityStatsWarning):
            print(f"solubility-stats: note: {message}", file=sys.stderr)
        else:
            plain(message, category, filename, lineno, None, line)

    with warnings.catch_warnings():
        warnings.showwarning = show
        yield


@contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Show the current step on a terminal, and nothing when the output is piped."""
    if not sys.stderr.isatty():
        yield lambda step: None
        return
    from rich.console import Console

    with Console(stderr=True).status("starting") as status:
        yield lambda step: status.update(f"{step} …")
