"""Numbers inside this room's sentences: signs, spans and lists written one way."""

from __future__ import annotations

from collections.abc import Sequence


def signed(value: float, digits: int = 0) -> str:
    """Return ``value`` with its sign, a true minus for negative ones."""
    return f"{value:+.{digits}f}".replace("-", "−")


def span(low: float, high: float, digits: int = 0) -> str:
    """Return both ends of an interval."""
    return f"{signed(low, digits)} to {signed(high, digits)}"


def listed(names: Sequence[str], most: int = 4) -> str:
    """Return the first names in a row and the number of those left out."""
    shown, rest = list(names[:most]), len(names) - most
    if rest > 0:
        return f"{', '.join(shown)} and {rest} other{'s' if rest > 1 else ''}"
    return " and ".join(filter(None, [", ".join(shown[:-1]), *shown[-1:]]))
