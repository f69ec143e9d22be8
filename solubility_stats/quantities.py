"""The vocabulary, once: every canonical run column with its unit, range and headings.

Everything that reads, computes or prints takes names and units from here, so a column is added
in one place: ``quantities.toml`` beside this module. A *run* is one preparation by one group.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any, Literal

Kind = Literal["number", "text", "identifier", "choice", "flag", "moment"]


@dataclass(frozen=True)
class Quantity:
    """One canonical column.

    Attributes
    ----------
    name : str
        Column name, with its unit as suffix where it has one.
    kind : str
        ``number``; ``identifier`` (kept as text, "007" stays "007"); ``choice`` (one of
        ``choices``); ``flag`` (true or false); ``moment`` (date or time); ``text``.
    meaning : str
        One sentence a student understands.
    unit : str
        Unit in the notation of the ``pint`` package; empty for none.
    low, high : float
        Outside these a value is impossible in a teaching lab and needs a person.
    typical : tuple of float or None
        Where nearly all values of the demo kind of lab lie (judgement); used only as a witness
        when a heading is ambiguous.
    headings : tuple of str
        What people write above such a column, lower case, without unit.
    choices : tuple of (str, tuple of str)
        For ``choice``: canonical word and the words people use for it.
    """

    name: str
    kind: Kind
    meaning: str
    unit: str = ""
    low: float = float("-inf")
    high: float = float("inf")
    typical: tuple[float, float] | None = None
    headings: tuple[str, ...] = ()
    choices: tuple[tuple[str, tuple[str, ...]], ...] = ()


def _load() -> dict[str, Quantity]:
    text = (files("solubility_stats") / "quantities.toml").read_text(encoding="utf-8")
    return {name: _quantity(name, entry) for name, entry in tomllib.loads(text).items()}


def _quantity(name: str, entry: dict[str, Any]) -> Quantity:
    fields = dict(entry)
    choices = fields.pop("choices", {})
    typical = fields.pop("typical", None)
    return Quantity(
        name="fill_{n}_ml" if name == "fill" else name,
        headings=tuple(fields.pop("headings")),
        typical=None if typical is None else (typical[0], typical[1]),
        choices=tuple((word, tuple(said)) for word, said in choices.items()),
        **fields,
    )


_ALL = _load()
FILL = _ALL.pop("fill")
QUANTITIES: tuple[Quantity, ...] = tuple(_ALL.values())
SOURCE_COLUMNS = ("source_file", "source_sheet", "source_cells")

_FILL_NAME = re.compile(r"fill_([1-9]\d?)_ml\Z")


def fill_column(number: int) -> str:
    """Return the name of the column for the given fill (1, 2, …)."""
    return f"fill_{number}_ml"


@lru_cache(maxsize=4096)
def _fill_number(name: str) -> int:
    """Return the number of a fill column, 0 for any other; asked for every cell of a sheet."""
    found = _FILL_NAME.match(name)
    return int(found.group(1)) if found else 0


def fill_columns(columns: Iterable[object]) -> list[str]:
    """Return the fill columns among ``columns``, in the order of their numbers."""
    return list(_fills_among(tuple(map(str, columns))))


@lru_cache(maxsize=1024)
def _fills_among(columns: tuple[str, ...]) -> tuple[str, ...]:
    """Return the fill columns; asked for every run, and most runs of a class have the same."""
    return tuple(sorted(filter(_fill_number, columns), key=_fill_number))


def quantity(name: str) -> Quantity:
    """Return the :class:`Quantity` of a canonical column.

    Raises
    ------
    KeyError
        If ``name`` is not a canonical column.
    """
    if _fill_number(name):
        return FILL
    return _ALL[name]


def is_canonical(name: str) -> bool:
    """Tell whether ``name`` is a canonical run column."""
    return name in _ALL or _fill_number(name) > 0


def numeric_columns(columns: Iterable[object]) -> list[str]:
    """Return those of ``columns`` that are canonical and hold numbers, in their order."""
    return [str(c) for c in columns if is_canonical(str(c)) and quantity(str(c)).kind == "number"]
