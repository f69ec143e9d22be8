"""Which solid the records are about."""

from __future__ import annotations

import warnings

import pandas as pd

from solubility_stats.errors import InputError, SolubilityStatsWarning
from solubility_stats.measurement.protocol import Protocol


class NoSoluteWarning(SolubilityStatsWarning):
    """Nothing says which solid was studied, so the widest defaults are used."""


def one_solid(
    runs: pd.DataFrame, protocol: Protocol | None, solute: str | None
) -> tuple[pd.DataFrame, Protocol]:
    """Return the runs with those of other solids set aside, and the defaults of the one meant."""
    written = runs["solute"].dropna() if "solute" in runs else pd.Series(dtype="str")
    names = {w: Protocol.default(str(w)).solid.name for w in written.unique() if str(w).strip()}
    meant = solute or (protocol.solid.name if protocol is not None else "")
    if not meant and len(set(names.values())) > 1:
        raise InputError(
            "the records hold several solids",
            where="column solute",
            found=sorted(set(names.values())),
            remedy="Say which one with solute=..., the runs of the others are then not used.",
        )
    if not meant and names:
        meant = next(iter(names.values()))
    if not meant:
        warnings.warn(
            "nothing says which solid was studied: generic defaults with wide uncertainties are "
            "used, and no titration is computed; pass solute=...",
            NoSoluteWarning,
            stacklevel=3,
        )
    default = Protocol.default(meant)
    other = [w for w, name in names.items() if meant and name != default.solid.name]
    if other:
        elsewhere = runs["solute"].isin(other) & (runs["set_aside"] == "")
        runs = runs.assign(set_aside=runs["set_aside"].mask(elsewhere, "another solid"))
    return runs, default
