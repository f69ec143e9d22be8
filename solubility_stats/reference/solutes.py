"""Solute files: sourced points with units, citations and reasons, read and checked.

One TOML file per solute sits in ``data/``; users write their own in the same form.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from solubility_stats.errors import InputError, UnreadableFileError
from solubility_stats.reference.convert import Solution, convert, to_hydrate, unit_name
from solubility_stats.reference.molar_mass import composition

Vector = npt.NDArray[np.float64]

# Where a file says nothing: the spread of published values of common salts (judgement).
BETWEEN_PERCENT = 5.0
ACCURACY_PERCENT = {"A": 1.0, "B": 2.0, "C": 4.0}
_SOLUTE_KEYS = frozenset(
    {
        "name",
        "formula",
        "synonyms",
        "range_c",
        "between_percent",
        "phi_ml_per_g",
        "u_phi_ml_per_g",
        "accuracy_percent",
        "families",
        "note",
        "source",
    }
)
_SOURCE_KEYS = frozenset(
    {
        "key",
        "citation",
        "family",
        "quality",
        "reached",
        "combine",
        "why_not",
        "note",
        "formula",
        "unit",
        "resolution",
        "from_memory",
        "from_memory_at_c",
        "points",
        "struck",
    }
)


@dataclass(frozen=True, eq=False)
class Source:
    """One source of one solute.

    Attributes
    ----------
    key, citation, family, quality, reached, note : str
        Name; full citation; family of shared data; grade A, B or C; how it was reached; remark.
    combine : bool
        Whether it enters the combined curve; ``why_not`` says why not.
    unit, formula : str
        Unit as published and the formula it counts (hydrate or anhydrous).
    t_c, published, value, u_relative : ndarray, shape (n,)
        Temperature in °C; value as published; value in g/100 g water on the basis of the curve;
        relative standard uncertainty from rounding (or as given by the user).
    from_memory : tuple of bool, length n
        Which points are from memory.
    struck : tuple of mapping
        Values left out: ``temperature_c, value, reason``.
    accuracy : float
        Relative standard uncertainty the grade stands for.
    """

    key: str
    citation: str
    family: str
    quality: str
    reached: str
    note: str
    combine: bool
    why_not: str
    unit: str
    formula: str
    t_c: Vector
    published: Vector
    value: Vector
    u_relative: Vector
    from_memory: tuple[bool, ...]
    struck: tuple[Mapping[str, Any], ...]
    accuracy: float


@dataclass(frozen=True, eq=False)
class Solute:
    """All that a solute file says, points converted to g/100 g water.

    Attributes
    ----------
    name, formula : str
        Name and the formula weighed out, which is the basis of the curve.
    range_c : tuple of float
        Range in °C over which one solid phase is meant.
    prior : float
        Relative standard uncertainty of a single source family.
    sources : tuple of Source
    families : mapping of str to str
        What the members of a family share.
    notes : tuple of mapping
        ``topic, text, source``.
    phi_ml_per_g, u_phi_ml_per_g : float or None, float
        Apparent specific volume of the dissolved solid in mL/g, for units per litre.
    """

    name: str
    formula: str
    range_c: tuple[float, float]
    prior: float
    sources: tuple[Source, ...]
    synonyms: tuple[str, ...] = ()
    families: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[Mapping[str, str], ...] = ()
    phi_ml_per_g: float | None = None
    u_phi_ml_per_g: float = 0.0

    def solution(self, t_c: Vector) -> Solution:
        """Return what conversions of the saturated solution need at the given temperatures."""
        # Beyond 0 to 100 °C the density of water only touches values per litre.
        return Solution(
            self.formula,
            np.clip(t_c, 0.0, 100.0),
            phi_ml_per_g=self.phi_ml_per_g,
            u_phi_ml_per_g=self.u_phi_ml_per_g,
        )


def solute_names() -> list[str]:
    """Return the names of the solutes with data in the library, sorted."""
    return sorted(solute.name for solute in _library())


def find(name: str) -> Solute:
    """Return the library's data on a solute by name, synonym or formula.

    Raises
    ------
    InputError
        If the solute is not known; the closest names are offered.
    """
    wanted = _plain(name)
    known = {_plain(said): s for s in _library() for said in (*s.synonyms, s.formula, s.name)}
    if wanted in known:
        return known[wanted]
    from rapidfuzz import process

    close = process.extract(wanted, list(known), limit=8, score_cutoff=60)
    hints = list(dict.fromkeys(known[match].name for match, _, _ in close))[:3]
    raise InputError(
        "no solubility data for this solute",
        where="solute",
        found=name,
        expected=f"perhaps {' or '.join(hints)}" if hints else ", ".join(solute_names()),
        remedy="Give your own data with ReferenceCurve.from_csv, from_toml or from_frame.",
    )


def read_solute(path: str | os.PathLike[str]) -> Solute:
    """Return the data of a solute file in the library's TOML form.

    Raises
    ------
    UnreadableFileError
        If the file cannot be opened or is not TOML.
    InputError
        If something in it is missing, unknown or impossible.
    """
    target = Path(path)
    try:
        said = tomllib.loads(target.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
        raise UnreadableFileError(
            f"the solute file cannot be read ({problem})", where=target.name
        ) from problem
    return parse_solute(said, where=target.name)


def parse_solute(said: Mapping[str, Any], *, where: str) -> Solute:
    """Return a solute from the content of its file.

    Parameters
    ----------
    said : mapping
        Content in the form of the files in ``data/``.
    where : str
        Name of the file or frame, for messages.

    Raises
    ------
    InputError
        If something is missing, unknown or impossible.
    """
    _check_keys(said, _SOLUTE_KEYS, ("name", "source"), where)
    low, high = said.get("range_c", (-np.inf, np.inf))
    if not low < high:
        raise InputError("range_c must rise", where=where, found=[low, high])
    accuracy = {**ACCURACY_PERCENT, **said.get("accuracy_percent", {})}
    sources = tuple(_source(entry, said, accuracy, where) for entry in said["source"])
    keys = [source.key for source in sources]
    if len(set(keys)) < len(keys):
        raise InputError("a source key occurs twice", where=where, found=sorted(keys))
    return Solute(
        name=str(said["name"]),
        formula=str(said.get("formula", "")),
        range_c=(float(low), float(high)),
        prior=float(said.get("between_percent", BETWEEN_PERCENT)) / 100,
        sources=sources,
        synonyms=tuple(said.get("synonyms", ())),
        families=dict(said.get("families", {})),
        notes=tuple(said.get("note", ())),
        phi_ml_per_g=said.get("phi_ml_per_g"),
        u_phi_ml_per_g=float(said.get("u_phi_ml_per_g", 0.0)),
    )


def _source(
    entry: Mapping[str, Any],
    solute: Mapping[str, Any],
    accuracy: Mapping[str, float],
    where: str,
) -> Source:
    place = f"{where}, source {entry.get('key', '?')}"
    _check_keys(entry, _SOURCE_KEYS, ("key", "points"), place)
    quality = str(entry.get("quality", "C"))
    if quality not in accuracy:
        raise InputError("unknown quality", where=place, found=quality, expected="A, B or C")
    t_c, published, stated = _points(entry["points"], place)
    base = str(solute.get("formula", ""))
    formula, unit = str(entry.get("formula", base)), str(entry.get("unit", "g/100 g water"))
    about = Solution(
        formula,
        np.clip(t_c, 0.0, 100.0),  # beyond, the water density only touches values per litre
        phi_ml_per_g=solute.get("phi_ml_per_g"),
        u_phi_ml_per_g=solute.get("u_phi_ml_per_g", 0.0),
    )
    try:
        value = np.asarray(convert(published, unit, solution=about), dtype=float)
        if formula != base:
            _check_hydrate(formula, base)
            value = np.asarray(to_hydrate(value, base, formula))
    except InputError as problem:
        raise InputError(
            problem.problem, where=place, found=problem.found, expected=problem.expected
        ) from problem
    for shared in (t_c, published, value):
        shared.flags.writeable = False  # the library's solutes are read once and handed to all
    resolution = float(entry.get("resolution", 0.0))
    remembered = set(entry.get("from_memory_at_c", ()))
    return Source(
        key=str(entry["key"]),
        citation=str(entry.get("citation", "")),
        family=str(entry.get("family", entry["key"])),
        quality=quality,
        reached=str(entry.get("reached", "")),
        note=str(entry.get("note", "")),
        combine=bool(entry.get("combine", True)),
        why_not=str(entry.get("why_not", "")),
        unit=unit_name(unit),
        formula=formula,
        t_c=t_c,
        published=published,
        value=value,
        u_relative=np.hypot(stated, resolution / np.sqrt(12.0)) / published,
        from_memory=tuple(bool(entry.get("from_memory", False)) or t in remembered for t in t_c),
        struck=tuple(entry.get("struck", ())),
        accuracy=accuracy[quality] / 100,
    )


def _points(points: Sequence[Sequence[float]], where: str) -> tuple[Vector, Vector, Vector]:
    """Return temperatures, values and stated uncertainties (zero where only two are given)."""
    try:
        rows = np.array([(*p, 0.0) if len(p) == 2 else tuple(p) for p in points], dtype=float)
    except (TypeError, ValueError) as problem:
        raise InputError(
            "points must be [°C, value] or [°C, value, u]", where=where, found=str(problem)
        ) from problem
    if rows.ndim != 2 or rows.shape[1] != 3:
        raise InputError("points must be [°C, value] or [°C, value, u]", where=where)
    bad = ~np.all(np.isfinite(rows), axis=1) | (rows[:, 1] <= 0) | (rows[:, 2] < 0)
    if np.any(bad):
        raise InputError(
            "a point is not a temperature with a positive solubility",
            where=where,
            found=rows[bad][:5].tolist(),
        )
    rows = rows[np.argsort(rows[:, 0], kind="stable")]
    return rows[:, 0], rows[:, 1], rows[:, 2]


def _check_hydrate(formula: str, base: str) -> None:
    """Refuse two formulas that differ by more than water of crystallisation."""
    one, other = composition(formula), composition(base)
    rest = {e: one.get(e, 0.0) - other.get(e, 0.0) for e in {*one, *other}}
    water = rest.pop("O", 0.0)
    hydrogen = rest.pop("H", 0.0)
    if any(rest.values()) or not np.isclose(hydrogen, 2 * water):
        raise InputError(
            "a source counts another substance than the curve",
            found=formula,
            expected=f"{base or 'a formula for the solute'}, with or without crystal water",
        )


def _check_keys(
    said: Mapping[str, Any], allowed: frozenset[str], needed: tuple[str, ...], where: str
) -> None:
    missing = [key for key in needed if key not in said]
    unknown = sorted(set(said) - allowed)
    if missing or unknown:
        raise InputError(
            "; ".join(
                [f"missing: {', '.join(missing)}"] * bool(missing)
                + [f"not known: {', '.join(unknown)}"] * bool(unknown)
            ),
            where=where,
            expected=", ".join(sorted(allowed)),
        )


@cache
def _library() -> tuple[Solute, ...]:
    folder = files("solubility_stats.reference") / "data"
    found = sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    return tuple(
        parse_solute(tomllib.loads(f.read_text(encoding="utf-8")), where=f.name) for f in found
    )


_FLAT = str.maketrans("₀₁₂₃₄₅₆₇₈₉·•∙⋅*ϕ", "0123456789.....f")


def _plain(name: str) -> str:
    text = str(name).translate(_FLAT).casefold().replace("sulph", "sulf")
    return "".join(c for c in text if c.isalnum() or c in "().")
