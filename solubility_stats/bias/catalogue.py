"""The catalogue of causes: terms of the trade, signs, evidence and questions, kept as data."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

import pandas as pd

Direction = Literal["up", "down", "either", "none"]
ROUTES = ("residue", "titration", "evaporation")


@dataclass(frozen=True)
class Cause:
    """A continuous cause: it has a size in every run.

    Attributes
    ----------
    name, term, meaning : str
        Key (that of the protocol's effect with its expected size, where there is one), term of
        the trade, and one sentence on how it works.
    residue, titration, evaporation : str
        What a positive size does to the solubility read by the route.
    follows : str
        Recorded column part of it goes with, or empty.
    share : float
        Prior share of that part (judgement).
    lime_only : bool
        Whether it needs a solid that takes up carbon dioxide.
    signed : bool
        Whether the size may be negative.
    instrument : tuple of str
        Words that mark its components among the shared components of the budgets.
    supports, opposes : tuple of str
        Observations that speak for and against it.
    question : str
        What to ask a group about it.
    """

    name: str
    term: str
    meaning: str
    question: str
    residue: Direction = "none"
    titration: Direction = "none"
    evaporation: Direction = "none"
    follows: str = ""
    share: float = 0.0
    lime_only: bool = False
    signed: bool = False
    instrument: tuple[str, ...] = ()
    supports: tuple[str, ...] = ()
    opposes: tuple[str, ...] = ()

    def direction(self, route: str) -> Direction:
        """Return what a positive size does to the result of ``route``."""
        found: Direction = getattr(self, route)
        return found

    def signature(self) -> str:
        """Return the pattern over the routes in words."""
        moves = {"up": "up", "down": "down", "either": "up or down", "none": "unchanged"}
        return ", ".join(f"{route} {moves[self.direction(route)]}" for route in ROUTES)


@dataclass(frozen=True)
class Slip:
    """A discrete cause: it happened to a single run or it did not.

    Attributes
    ----------
    name, term, question : str
        Key, words for it, and what to ask the group.
    probability : float
        Prior chance per run (judgement).
    """

    name: str
    term: str
    question: str
    probability: float


def _read(name: str) -> dict[str, dict[str, object]]:
    text = (files("solubility_stats.bias") / name).read_text(encoding="utf-8")
    return tomllib.loads(text)


def _fields(entry: Mapping[str, object]) -> dict[str, object]:
    return {k: tuple(v) if isinstance(v, list) else v for k, v in entry.items()}


@cache
def causes() -> Mapping[str, Cause]:
    """Return every continuous cause by name."""
    entries = _read("causes.toml").items()
    return {name: Cause(name=name, **_fields(entry)) for name, entry in entries}  # type: ignore[arg-type]


@cache
def slips() -> Mapping[str, Slip]:
    """Return every discrete cause by name; the last, ``unnamed``, catches all others."""
    entries = _read("slips.toml").items()
    return {name: Slip(name=name, **_fields(entry)) for name, entry in entries}  # type: ignore[arg-type]


def catalogue_table() -> pd.DataFrame:
    """Return the causes as a frame: name, term, effect on each route, evidence."""
    rows = [
        {
            "cause": c.name,
            "term": c.term,
            **{route: c.direction(route) for route in ROUTES},
            "speaks_for": "; ".join(c.supports),
            "speaks_against": "; ".join(c.opposes),
            "meaning": c.meaning,
        }
        for c in causes().values()
    ]
    return pd.DataFrame(rows)
