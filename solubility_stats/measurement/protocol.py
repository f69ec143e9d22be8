"""The protocol: what was used and what is expected to happen, with a basis for every figure."""

from __future__ import annotations

import dataclasses
import os
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.measurement.effects import Effect
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
from solubility_stats.measurement.protocol_tree import (
    PARTS,
    build,
    check_value,
    choices,
    default_tree,
    merge,
    paths,
    unflatten,
    unit_of,
    value_at,
)

_UNKNOWN = "?"  # stands for "whoever builds this did not say"


@dataclass(frozen=True)
class Override:
    """Settings that hold only for some runs.

    Attributes
    ----------
    when : tuple of (column, value)
        The override holds where every named run column equals its value.
    settings : tuple of (path, value)
        Dotted paths as in :meth:`Protocol.get`, e.g. ``("balance.readability_g", 0.001)``.
    """

    when: tuple[tuple[str, object], ...]
    settings: tuple[tuple[str, object], ...]


@dataclass(frozen=True, repr=False)
class Protocol(Result):
    """What was used, for which solid, and which effects are expected.

    Attributes
    ----------
    solid, balance, cylinder, pipette, burette, thermometer, titrant, lab
        See :mod:`solubility_stats.measurement.instruments`.
    effects : tuple of Effect
        The one table of effect sizes; budgets take the expected ones, the search for causes takes
        all of them as priors.
    overrides : tuple of Override
        Differences between sections, filtrations or runs; later ones win.
    given : frozenset of str
        Paths the user set; every other setting is a default and is reported as such. A protocol
        built directly counts as given what differs from the records' own defaults, and has only
        the effects it is built with: none means plain equations.
    """

    solid: Solid = field(default_factory=Solid)
    balance: Balance = field(default_factory=Balance)
    cylinder: Cylinder = field(default_factory=Cylinder)
    pipette: Pipette = field(default_factory=Pipette)
    burette: Burette = field(default_factory=Burette)
    thermometer: Thermometer = field(default_factory=Thermometer)
    titrant: Titrant = field(default_factory=Titrant)
    lab: Lab = field(default_factory=Lab)
    effects: tuple[Effect, ...] = ()
    overrides: tuple[Override, ...] = ()
    given: frozenset[str] = frozenset({_UNKNOWN})

    def __post_init__(self) -> None:
        if _UNKNOWN in self.given:
            differing = (
                f"{name}.{item.name}"
                for name, kind in PARTS.items()
                for item in dataclasses.fields(kind)
                if item.name != "basis" and getattr(getattr(self, name), item.name) != item.default
            )
            object.__setattr__(self, "given", frozenset(differing))

    @classmethod
    def default(cls, solute: str = "") -> Protocol:
        """Return the defaults for a solid; one that is not listed gets the generic ones.

        Parameters
        ----------
        solute : str
            Name or formula, any case.
        """
        return cls._from_tree(default_tree(solute), frozenset())

    @classmethod
    def from_toml(cls, path: str | os.PathLike[str], *, solute: str = "") -> Protocol:
        """Read a protocol file; what it leaves out comes from the defaults of its solid.

        Parameters
        ----------
        path : path
            TOML with any of the tables of :meth:`to_toml`.
        solute : str
            Solid whose defaults to start from when the file has no ``[solid] name``.

        Raises
        ------
        InputError
            For a file that cannot be read, an unknown table or setting, or a value that cannot be.
        """
        try:
            given = tomllib.loads(Path(path).read_text(encoding="utf-8-sig"))
        except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as problem:
            reason = problem.strerror if isinstance(problem, OSError) else problem
            raise InputError(
                f"the protocol cannot be read ({reason})",
                where=str(path),
                expected="a TOML text file",
                remedy="Write an example with Protocol.default(...).to_toml(path) and edit it.",
            ) from problem
        name = str(given.get("solid", {}).get("name", "")) or solute
        base = default_tree(name)
        tree = merge(base, given)
        if name:  # the file may call the solid by a synonym
            tree["solid"] = {**tree["solid"], "name": base["solid"]["name"]}
        return cls._from_tree(tree, frozenset(paths(given)), where=str(path))

    def to_toml(self, path: str | os.PathLike[str] | None = None) -> str:
        """Return the whole protocol as TOML text, and write it to ``path`` if one is given."""
        import tomli_w

        from solubility_stats.files import write_text

        tree: dict[str, Any] = {name: dataclasses.asdict(getattr(self, name)) for name in PARTS}
        tree["effects"] = {
            e.name: {k: v for k, v in dataclasses.asdict(e).items() if k != "name"}
            for e in self.effects
        }
        tree["override"] = [
            {"when": dict(o.when)} | unflatten(dict(o.settings)) for o in self.overrides
        ]
        text = tomli_w.dumps(tree)
        if path is not None:
            write_text(text, path)
        return text

    def get(self, path: str) -> Any:
        """Return a setting by its dotted path, e.g. ``"balance.readability_g"``.

        Effects are ``"effects.<name>.<field>"``. Overrides are not looked at; see
        :meth:`settings`.
        """
        part, _, rest = path.partition(".")
        if part == "effects":
            name, _, attribute = rest.partition(".")
            return getattr(self.effect(name), attribute)
        if part not in PARTS or not hasattr(getattr(self, part), rest):
            raise InputError(
                "there is no such setting", where="protocol", found=path, expected=choices(part)
            )
        return getattr(getattr(self, part), rest)

    def effect(self, name: str) -> Effect:
        """Return the effect of that name.

        Raises
        ------
        InputError
            If the protocol has no such effect.
        """
        for effect in self.effects:
            if effect.name == name:
                return effect
        raise InputError(
            "the protocol has no such effect",
            where="protocol effects",
            found=name,
            expected=", ".join(e.name for e in self.effects),
        )

    def expected_effects(self, route: str) -> tuple[Effect, ...]:
        """Return the effects that values and budgets of ``route`` include."""
        return tuple(e for e in self.effects if e.expected and route in e.routes)

    def with_settings(self, settings: Mapping[str, object]) -> Protocol:
        """Return a copy with settings changed.

        Parameters
        ----------
        settings : mapping
            Dotted path to value, e.g. ``{"balance.readability_g": 0.001,
            "effects.fines.mean": 0.0}``.

        Raises
        ------
        InputError
            For an unknown path or an impossible value.
        """
        tree = tomllib.loads(self.to_toml())
        changed = merge(tree, unflatten(dict(settings)))
        return self._from_tree(changed, self.given | frozenset(settings))

    def without_effects(self) -> Protocol:
        """Return a copy without expected effects: plain equations, instruments only."""
        kept = tuple(
            o for o in self.overrides if not any(p.startswith("effects.") for p, _ in o.settings)
        )
        return dataclasses.replace(self, effects=(), overrides=kept)

    def settings(self) -> pd.DataFrame:
        """Return every setting: ``setting, value, unit, origin (given|default), basis``."""
        rows = [
            {
                "setting": path,
                "value": value,
                "unit": unit,
                "origin": "given" if path in self.given else "default",
                "basis": basis,
            }
            for path, value, unit, basis in self._walk()
        ]
        return pd.DataFrame(rows)

    def _walk(self) -> Iterator[tuple[str, object, str, str]]:
        for name in PARTS:
            part = getattr(self, name)
            for item in dataclasses.fields(part):
                if item.name != "basis":
                    value = getattr(part, item.name)
                    yield f"{name}.{item.name}", value, unit_of(item.name), part.basis
        for effect in self.effects:
            for attribute in ("mean", "u_shared", "sd_between"):
                path = f"effects.{effect.name}.{attribute}"
                yield path, getattr(effect, attribute), effect.unit, effect.basis
        for number, override in enumerate(self.overrides, start=1):
            when = " and ".join(f"{c} = {v}" for c, v in override.when)
            for path, value in override.settings:
                yield f"override {number} ({when}): {path}", value, "", "override"

    def headline(self) -> str:
        """Return for which solid this is and how much of it was given."""
        name = self.solid.name or "a solid that is not listed"
        return (
            f"Protocol for {name}: {len(self.effects)} effects, "
            f"{len(self.given)} settings given, the rest defaults"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the settings."""
        return {"Settings": self.settings()}

    @classmethod
    def _from_tree(
        cls, tree: Mapping[str, Any], given: frozenset[str], where: str = "protocol"
    ) -> Protocol:
        unknown = set(tree) - set(PARTS) - {"effects", "override"}
        if unknown:
            raise InputError(
                "unknown table", where=where, found=sorted(unknown), expected=", ".join(PARTS)
            )
        parts = {
            name: build(kind, tree.get(name, {}), f"{where} [{name}]")
            for name, kind in PARTS.items()
        }
        effects = tuple(
            build(Effect, {"name": name, **entry}, f"{where} [effects.{name}]")
            for name, entry in tree.get("effects", {}).items()
        )
        overrides = tuple(_override(entry, where) for entry in tree.get("override", []))
        made = cls(effects=effects, overrides=overrides, given=given, **parts)
        for override in overrides:
            for path, value in override.settings:
                check_value(made.get(path), value, f"{where} override {path}")
        return made


def _override(entry: Mapping[str, Any], where: str) -> Override:
    when = entry.get("when")
    if not isinstance(when, Mapping) or not when:
        raise InputError(
            "an override does not say for which runs it holds",
            where=f"{where} [[override]]",
            found=dict(entry),
            expected='a line such as when = { section = "Tue" }',
        )
    rest = {k: v for k, v in entry.items() if k != "when"}
    flat = tuple((path, value_at(rest, path)) for path in paths(rest))
    return Override(when=tuple(when.items()), settings=flat)
