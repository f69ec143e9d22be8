"""Settings of a protocol looked up for many runs at once, with its overrides applied."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.measurement.effects import Effect
from solubility_stats.measurement.protocol import Protocol

Array = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]
_TRUE = {"true", "yes", "y", "1", "1.0"}


@dataclass(frozen=True)
class Keys:
    """Which runs share a cause.

    Attributes
    ----------
    codes : ndarray of int, shape (n,)
        Number of the shared cause of each run; -1 where the cause is the run's own.
    labels, scopes : tuple of str
        Name of each shared cause and how far it reaches (``group``, ``section`` or ``class``).
    """

    codes: npt.NDArray[np.intp]
    labels: tuple[str, ...]
    scopes: tuple[str, ...]


class RunSettings:
    """A protocol as it applies to each of ``n`` runs.

    Parameters
    ----------
    protocol : Protocol
        Settings and overrides.
    runs : DataFrame
        Runs with canonical columns.
    """

    def __init__(self, protocol: Protocol, runs: pd.DataFrame) -> None:
        self.protocol, self._runs = protocol, runs
        self.n = len(runs)
        self._factors: dict[str, tuple[Any, Any]] = {}
        self._masks = [self._mask(o.when) for o in protocol.overrides]
        self._keys: dict[str, Keys] = {}
        self._sections: tuple[npt.NDArray[np.intp], list[str]] | None = None

    def number(self, path: str) -> float | Array:
        """Return a numeric setting: one number, or shape (n,) where overrides make it differ."""
        value: float | Array = float(self.protocol.get(path))
        for mask, setting in self._changes(path):
            value = np.where(mask, float(setting), value)  # type: ignore[arg-type]
        return value

    def word(self, path: str) -> npt.NDArray[np.str_]:
        """Return a text setting per run, shape (n,)."""
        value = np.full(self.n, self.protocol.get(path))
        for mask, setting in self._changes(path):
            value = np.where(mask, str(setting), value)
        return value

    def effects(self, route: str) -> tuple[Effect, ...]:
        """Return the effects that values and budgets of ``route`` include."""
        return self.protocol.expected_effects(route)

    def effect(self, effect: Effect) -> tuple[float | Array, float | Array, float | Array]:
        """Return mean, shared uncertainty and spread of an effect."""
        start = f"effects.{effect.name}"
        return (
            self.number(f"{start}.mean"),
            self.number(f"{start}.u_shared"),
            self.number(f"{start}.sd_between"),
        )

    def keys(self, shared_by: str) -> Keys:
        """Return which runs share a thing: ``class``, ``section``, ``group`` or an id column.

        Runs that name no balance or cylinder are taken to share one within their section, and
        within the class where there are no sections; runs that name no bottle are taken to share
        one within the class. Both are the cautious reading. What one group does is its own, so
        only groups with several runs share by ``group``.
        """
        if shared_by not in self._keys:
            self._keys[shared_by] = self._make_keys(shared_by)
        return self._keys[shared_by]

    def _make_keys(self, shared_by: str) -> Keys:
        if shared_by == "class" or self.n == 0:
            return Keys(self._whole_class()[0], ("class",), ("class",))
        if shared_by == "group":
            return self._repeated_groups()
        codes, labels = self._own_section() if shared_by != "bottle" else self._whole_class()
        scopes = ["section" if label != "class" else "class" for label in labels]
        own, names = self._factor(shared_by) if shared_by != "section" else (None, [])
        if own is not None and names:
            codes = np.where(own >= 0, own, len(names) + codes)
            labels = [f"{shared_by} {name}" for name in names] + labels
            scopes = ["class"] * len(names) + scopes
        return Keys(np.asarray(codes, dtype=np.intp), tuple(labels), tuple(scopes))

    def _whole_class(self) -> tuple[npt.NDArray[np.intp], list[str]]:
        return np.zeros(self.n, dtype=np.intp), ["class"]

    def _own_section(self) -> tuple[npt.NDArray[np.intp], list[str]]:
        """Return the section of each run, told apart by semester where there are several."""
        if self._sections is None:
            codes, names = self._factor("section")
            terms, semesters = self._factor("semester")
            # Code -1 is "not named"; shifted by one it becomes the first name.
            names = ["", *names]
            codes = codes + 1
            if len(semesters) > 1:
                codes = codes + len(names) * (terms + 1)
                names = [_joined(s, n) for s in ["", *semesters] for n in names]
            present = np.flatnonzero(np.bincount(codes, minlength=len(names)))
            compact = np.zeros(len(names), dtype=np.intp)
            compact[present] = np.arange(present.size)
            labels = [f"section {names[i]}" if names[i] else "class" for i in present]
            self._sections = compact[codes], labels
        return self._sections

    def _repeated_groups(self) -> Keys:
        """Return the groups with several runs: their habits are in each of these runs."""
        group, names = self._factor("group")
        section, sections = self._own_section()
        whole = np.where(group >= 0, section * len(names) + group, -1)
        count = np.bincount(whole + 1, minlength=len(sections) * len(names) + 1)[1:]
        several = np.flatnonzero(count > 1)
        compact = np.full(count.size + 1, -1, dtype=np.intp)  # the last one serves code -1
        compact[several] = np.arange(several.size)
        where = [name.removeprefix("section ").removeprefix("class") for name in sections]
        k = len(names)
        labels = [f"group {_joined(where[i // k], names[i % k])}" for i in several]
        return Keys(compact[whole], tuple(labels), ("group",) * len(labels))

    def _factor(self, column: str) -> tuple[npt.NDArray[np.intp], list[str]]:
        """Return codes and names of a text column; code -1 where a run names nothing."""
        if column not in self._runs:
            return np.full(self.n, -1, dtype=np.intp), []
        codes, uniques = pd.factorize(self._runs[column])
        names = [str(u).strip() for u in uniques]
        blank = np.array([not name for name in names] + [True])[codes]
        kept = [name for name in names if name]
        new = np.cumsum([bool(name) for name in names]) - 1
        return np.where(blank, -1, np.append(new, -1)[codes]).astype(np.intp), kept

    def _changes(self, path: str) -> list[tuple[Mask, object]]:
        return [
            (mask, setting)
            for mask, override in zip(self._masks, self.protocol.overrides, strict=True)
            if mask is not None
            for where, setting in override.settings
            if where == path
        ]

    def _mask(self, when: tuple[tuple[str, object], ...]) -> Mask | None:
        """Return where an override holds, or None where it holds nowhere."""
        mask = np.ones(self.n, dtype=bool)
        for column, wanted in when:
            if column not in self._runs:
                return None
            if column not in self._factors:
                self._factors[column] = pd.factorize(self._runs[column])
            codes, uniques = self._factors[column]
            hit = np.array([*(_equal(u, wanted) for u in uniques), False])  # -1 is missing
            mask &= hit[codes]
        return mask if mask.any() else None


def _joined(*words: str) -> str:
    return "/".join(w for w in words if w)


def _equal(found: object, wanted: object) -> bool:
    if isinstance(wanted, bool):
        return (str(found).strip().casefold() in _TRUE) is wanted
    if isinstance(found, (int, float)) and isinstance(wanted, (int, float)):
        return found == wanted
    return str(found).strip().casefold() == str(wanted).strip().casefold()
