"""Protocols as nested tables: defaults, merging, and checking what a file says."""

from __future__ import annotations

import dataclasses
import math
import tomllib
from collections.abc import Iterator, Mapping
from importlib.resources import files
from typing import Any

from solubility_stats.errors import InputError
from solubility_stats.measurement.instruments import (
    Balance,
    Burette,
    Cylinder,
    Lab,
    Pipette,
    Solid,
    Thermometer,
    Titrant,
)

PARTS: dict[str, type[Any]] = {
    "balance": Balance,
    "cylinder": Cylinder,
    "pipette": Pipette,
    "burette": Burette,
    "thermometer": Thermometer,
    "titrant": Titrant,
    "lab": Lab,
    "solid": Solid,
}
_UNIT_ENDINGS = {
    "_g": "g",
    "_ml": "mL",
    "_k": "K",
    "_c": "degC",
    "_mol_per_l": "mol/L",
    "_ml_per_g": "mL/g",
    "_g_per_mmol": "g/mmol",
}


def unit_of(name: str) -> str:
    """Return the unit a setting carries in its name."""
    fits = [
        u
        for ending, u in sorted(_UNIT_ENDINGS.items(), key=lambda e: -len(e[0]))
        if f"_{name}".endswith(ending)
    ]
    return fits[0] if fits else ""


def choices(part: str) -> str:
    """Return in words which settings there are."""
    if part in PARTS:
        return ", ".join(f"{part}.{f.name}" for f in dataclasses.fields(PARTS[part]))
    return ", ".join([*PARTS, "effects.<name>.<field>"])


def _data(name: str) -> dict[str, Any]:
    folder = files("solubility_stats.measurement") / "data"
    return tomllib.loads((folder / name).read_text(encoding="utf-8"))


def default_tree(solute: str) -> dict[str, Any]:
    """Return the defaults for a solid: generic, then its families', then its own."""
    from solubility_stats.reference import solutes

    tree = _data("generic.toml")
    wanted = " ".join(solute.split())
    try:
        known = solutes.find(wanted) if wanted else None
    except InputError:  # nobody listed it: generic defaults are what there is
        known = None
    if known is None:
        return merge(tree, {"solid": {"name": wanted}})
    solid: dict[str, Any] = {"name": known.name, "formula": known.formula}
    if known.phi_ml_per_g is not None:
        solid["specific_volume_ml_per_g"] = known.phi_ml_per_g
        solid["u_specific_volume_ml_per_g"] = known.u_phi_ml_per_g
    entry = _data("solids.toml").get(known.name, {})
    for family in entry.get("families", ()):
        tree = merge(tree, _data(f"{family}.toml"))
    solid |= {k: v for k, v in entry.items() if k not in ("families", "effects")}
    return merge(tree, {"solid": solid, "effects": entry.get("effects", {})})


def merge(base: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    """Return nested tables with those of ``over`` winning; overrides are joined by condition."""
    merged = dict(base)
    for key, value in over.items():
        if isinstance(value, Mapping) and isinstance(merged.get(key), Mapping):
            merged[key] = merge(merged[key], value)
        elif isinstance(value, list) and isinstance(merged.get(key), list) and key == "override":
            merged[key] = _joined_overrides(merged[key], value)
        else:
            merged[key] = value
    return merged


def _joined_overrides(old: list[Any], new: list[Any]) -> list[Any]:
    """Append overrides; one for the same runs as an older one takes over its settings."""
    joined = list(old)
    for entry in new:
        same = [o for o in joined if o.get("when") == entry.get("when")]
        joined = [o for o in joined if o not in same]
        for earlier in reversed(same):
            entry = merge(earlier, entry)
        joined.append(entry)
    return joined


def paths(tree: Mapping[str, Any], before: str = "") -> Iterator[str]:
    """Yield the dotted path of every setting, overrides left out."""
    for key, value in tree.items():
        if isinstance(value, Mapping):
            yield from paths(value, f"{before}{key}.")
        elif key != "override" or before:
            yield f"{before}{key}"


def unflatten(settings: Mapping[str, object]) -> dict[str, Any]:
    """Return nested tables from dotted paths."""
    tree: dict[str, Any] = {}
    for path, value in settings.items():
        *outer, last = path.split(".")
        branch = tree
        for key in outer:
            branch = branch.setdefault(key, {})
        branch[last] = value
    return tree


def value_at(tree: Mapping[str, Any], path: str) -> object:
    """Return the value at a dotted path."""
    value: Any = tree
    for key in path.split("."):
        value = value[key]
    return value


def build(kind: type[Any], entry: Mapping[str, Any], where: str) -> Any:
    """Return a record of ``kind`` from a table, every name and value checked.

    Raises
    ------
    InputError
        For an unknown or missing setting, or a value it cannot have.
    """
    if not isinstance(entry, Mapping):
        raise InputError("a table of settings is expected", where=where, found=entry)
    kinds = {f.name: f for f in dataclasses.fields(kind)}
    unknown = sorted(set(entry) - set(kinds))
    if unknown:
        raise InputError(
            "there is no such setting", where=where, found=unknown, expected=", ".join(kinds)
        )
    missing = [n for n, f in kinds.items() if n not in entry and f.default is dataclasses.MISSING]
    if missing:
        raise InputError("a new effect lacks settings", where=where, expected=", ".join(missing))
    values: dict[str, Any] = {}
    for name, value in entry.items():
        default = kinds[name].default
        like = default if default is not dataclasses.MISSING else _LIKE.get(name, "")
        values[name] = check_value(like, value, f"{where} {name}")
    return kind(**values)


# What the settings of an effect that have no default look like.
_LIKE: dict[str, object] = {"routes": (), "mean": 0.0, "u_shared": 0.0, "sd_between": 0.0}
_SIGNED = ("mean", "carbonation_gain", "slurry_gain_g_per_mmol", "specific_volume_ml_per_g",
           "temperature_c", "oxide_gain")  # fmt: skip
_WORDS = {
    "grade": ("A", "B"),
    "shape": ("gamma", "normal"),
    "shared_by": ("class", "section", "bottle", "balance", "cylinder"),
}


def check_value(like: object, value: object, where: str) -> object:
    """Return ``value`` in the type of ``like`` or refuse it."""
    last = where.rsplit(".", 1)[-1].rsplit(" ", 1)[-1]
    if isinstance(like, float):
        if (
            isinstance(value, bool)
            or not isinstance(value, (int, float))
            or not math.isfinite(value)
            or (value < 0 and last not in _SIGNED)
        ):
            raise InputError("a setting cannot have this value", where=where, found=value,
                             expected="a number of zero or more")  # fmt: skip
        return float(value)
    if isinstance(like, tuple):
        routes = tuple(value) if isinstance(value, (list, tuple)) else ()
        if not routes or set(routes) - {"residue", "titration", "evaporation"}:
            raise InputError("unknown route", where=where, found=value,
                             expected="some of residue, titration, evaporation")  # fmt: skip
        return routes
    allowed = _WORDS.get(last)
    if not isinstance(value, str) or (allowed and value not in allowed):
        raise InputError("a setting cannot have this value", where=where, found=value,
                         expected=" or ".join(allowed or ("text",)))  # fmt: skip
    return value
