"""``summary.json``: the whole analysis in numbers, with the unit in every key."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from solubility_stats.display import json_safe

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis
    from solubility_stats.pooling.consensus import Consensus

PACKAGES = ("solubility-stats", "numpy", "pandas", "scipy", "uncertainties", "python-calamine")


def summary(done: Analysis) -> dict[str, Any]:
    """Return the summary of an analysis as JSON-safe plain Python."""
    # The comparison's own table: there, runs the reference does not cover are not used either.
    table = done.comparison.estimates.table
    route = done.comparison.route
    used = table[table["used"] & (table["route"] == route)]
    comparison, diagnosis = done.comparison, done.diagnosis
    block = {
        "solute": done.protocol.solid.name,
        "route": route,
        "groups": len(used[["semester", "section", "group"]].drop_duplicates()),
        "runs_used": len(used),
        "runs_set_aside": set_aside(done),
        "consensus": consensus_block(done.consensus),
        "consensus_apparent": consensus_block(done.apparent),
        "reference": comparison.reference_dict(),
        "bias": comparison.bias_dict(),
        "by_route": comparison.by_route_dict(),
        "factors": factors(done),
        "mechanisms": diagnosis.mechanisms_list(),
        "next_measurement": json_safe(diagnosis.next_measurement),
        "groups_to_look_at": groups_to_look_at(done),
        "slips": slips(done),
        "provenance": provenance(done),
    }
    return dict(json_safe(block))


def consensus_block(pooled: Consensus) -> dict[str, Any]:
    """Return the block of a pooled value."""
    return {
        "value_g_per_100g": pooled.value,
        "standard_uncertainty_g_per_100g": pooled.u,
        "interval95_g_per_100g": [pooled.low, pooled.high],
        "method": pooled.method,
        "tau_g_per_100g": pooled.tau,
        "i_squared": pooled.i_squared,
        "shared_uncertainty_g_per_100g": pooled.u_shared,
    }


def set_aside(done: Analysis) -> list[dict[str, Any]]:
    """Return runs that entered no comparison with the reference, with reasons."""
    table = done.comparison.estimates.table
    rows = table[~table["used"] & (table["route"] == done.comparison.route)]
    return [
        {"run": r["run_id"], "section": r["section"], "group": r["group"], "reason": r["reason"]}
        for r in rows.to_dict("records")
    ]


def groups_to_look_at(done: Analysis) -> list[dict[str, Any]]:
    """Return the groups a person should look at, with every reason, in the order of the sheets."""
    reasons: dict[tuple[str, str], list[str]] = {}
    for row in done.diagnosis.groups_to_look_at.to_dict("records"):
        reasons.setdefault((row["section"], row["group"]), []).extend(_listed(row["reasons"]))
    if done.studies.standing is not None:
        table = done.studies.standing.table
        for row in table[table["marked"].astype(bool)].to_dict("records"):
            key = (str(row.get("section", "")), str(row.get("group", "")))
            reasons.setdefault(key, []).extend(_listed(row["reasons"]))
    runs = done.records.runs[["section", "group"]].drop_duplicates()
    order = {key: i for i, key in enumerate(runs.itertuples(index=False, name=None))}
    return [
        {"group": group, "section": section, "reasons": list(dict.fromkeys(found))}
        for (section, group), found in sorted(
            reasons.items(), key=lambda item: order.get(item[0], len(order))
        )
    ]


def factors(done: Analysis) -> list[dict[str, Any]]:
    """Return one entry per factor tested, with its verdict and effects in percent."""
    found = done.studies.factors
    if found is None:
        return []
    tests = found.tests[["factor", "kind", "n", "p_value", "p_holm", "verdict", "words"]]
    effects = found.effects
    kept = ["level", "against", "effect_percent", "low_percent", "high_percent"]
    return [
        {**json_safe(row), "effects": effects.loc[effects["factor"] == row["factor"], kept]}
        for row in tests.to_dict("records")
    ]


def _listed(reasons: Any) -> list[str]:
    return [str(r) for r in reasons] if isinstance(reasons, (list, tuple)) else [str(reasons)]


def slips(done: Analysis) -> list[dict[str, Any]]:
    """Return the groups whose own sum does not follow from their readings."""
    frame = slip_rows(done)
    return [
        {"group": r["group"], "section": r["section"], "slip": r["slip"]}
        for r in frame.to_dict("records")
    ]


def slip_rows(done: Analysis) -> pd.DataFrame:
    """Return one row per run whose reported value disagrees: ``slip`` names all that fit."""
    table: pd.DataFrame = done.slips.disagreeing

    def named(names: Any) -> str:
        return "; ".join(dict.fromkeys(_listed(names))) if len(names) else "no known slip"

    return table.assign(slip=[named(names) for names in table["candidates"]])


def provenance(done: Analysis) -> dict[str, Any]:
    """Return input hashes, package versions and the seed; no paths, no machine names."""
    return {
        "inputs_sha256": inputs(done.files),
        "settings_sha256": {path.name: sha256(path) for path in done.settings},
        "versions": versions(),
        "seed": done.seed,
    }


def inputs(files: Iterable[Path]) -> dict[str, str]:
    """Return the SHA-256 of each file under the name the ledger has for it."""
    from solubility_stats.sheets.files_in import find_sources

    paths = list(files)
    return {found.label: sha256(found.path) for found in find_sources(paths)} if paths else {}


def sha256(path: str | os.PathLike[str]) -> str:
    """Return the SHA-256 of a file, hexadecimal."""
    with open(path, "rb") as handle:
        return hashlib.file_digest(handle, "sha256").hexdigest()


def versions() -> dict[str, str]:
    """Return the versions of the packages that make the numbers."""
    found = {}
    for name in PACKAGES:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not installed"
    return found
