"""The whole job in one call: files in, every stage's result out, nothing hidden in between."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar, cast

import pandas as pd

from solubility_stats.display import Result
from solubility_stats.errors import InputError
from solubility_stats.records import ClassRecords
from solubility_stats.studies import Studies, study

if TYPE_CHECKING:
    from solubility_stats.bias.comparison import Comparison
    from solubility_stats.bias.diagnosis import Diagnosis
    from solubility_stats.measurement import Estimates, Protocol, Slips
    from solubility_stats.pooling.consensus import Consensus
    from solubility_stats.reference import ReferenceCurve

T = TypeVar("T")
PathLike = str | os.PathLike[str]
STEPS = ("reading", "estimating", "checking sums", "pooling", "comparing", "looking for causes")


@dataclass(frozen=True, repr=False)
class Analysis(Result):
    """Every result of one analysis, in the order they were made.

    Attributes
    ----------
    records : ClassRecords
        What was read.
    protocol : Protocol
        What was used, with the defaults that filled its gaps.
    estimates : Estimates
        Solubility per run and route.
    slips : Slips
        Reported values against recomputed ones.
    studies : Studies
        Pooled value, estimators, groups that stand apart, factors, precision, final digits.
    curve : ReferenceCurve
        What it is compared with.
    comparison : Comparison
    diagnosis : Diagnosis
    files : tuple of Path
        Input files; empty for records from a frame.
    settings : tuple of Path
        Protocol and mapping file, where given as files.
    seed : int
        Seed of every random number.
    """

    records: ClassRecords
    protocol: Protocol
    estimates: Estimates
    slips: Slips
    studies: Studies
    curve: ReferenceCurve
    comparison: Comparison
    diagnosis: Diagnosis
    files: tuple[Path, ...] = field(default=())
    settings: tuple[Path, ...] = field(default=())
    seed: int = 0

    @property
    def consensus(self) -> Consensus:
        """The class's value after the expected effects."""
        return self.studies.consensus

    @property
    def apparent(self) -> Consensus:
        """The class's value as plainly computed."""
        return self.studies.apparent

    def headline(self) -> str:
        """Return the verdict in one sentence."""
        return self.comparison.headline()

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the tables of the diagnosis."""
        return self.diagnosis.tables()


def analyse(
    source: PathLike | Iterable[PathLike] | ClassRecords | pd.DataFrame,
    protocol: Protocol | PathLike | None = None,
    *,
    solute: str | None = None,
    mapping: PathLike | None = None,
    curve: ReferenceCurve | None = None,
    margin_percent: float = 5.0,
    seed: int = 0,
    on_step: Callable[[str], None] | None = None,
) -> Analysis:
    """Do the whole job on a class.

    Parameters
    ----------
    source : path, paths, ClassRecords or DataFrame
        Files to read, or records already read, or a clean frame with canonical columns.
    protocol : Protocol or path, optional
        What was used in the lab; the solute's defaults where not given.
    solute : str, optional
        Name or formula; taken from the protocol or the records where not given.
    mapping : path, optional
        TOML file that settles headings the reader could not.
    curve : ReferenceCurve, optional
        Reference to compare with; the default curve of the solute where not given.
    margin_percent : float
        Deviation the class counts as agreement (the user's judgement).
    seed : int
        Seed of every random number; equal inputs and seed give equal results.
    on_step : callable, optional
        Called with the name of each step (:data:`STEPS`) as it begins.

    Raises
    ------
    InputError
        If nothing can be read, or no run has what any route needs.
    """
    from solubility_stats import bias, measurement, reference

    if seed < 0:
        raise InputError("a seed is negative", where="seed", found=seed, expected="zero or more")
    say = on_step or (lambda step: None)
    say(STEPS[0])
    records, files = _records(source, mapping)
    settled = _protocol(protocol, _solute(solute, protocol, records))
    say(STEPS[1])
    estimates = measurement.estimate(records, settled)
    _check_any(estimates, records)
    say(STEPS[2])
    slips = measurement.find_slips(records, estimates)
    say(STEPS[3])
    route = primary_route(estimates)
    studies = study(records, estimates, route)
    say(STEPS[4])
    curve = curve if curve is not None else reference.curve(settled.solid.name)
    comparison = bias.compare(estimates, curve, margin_percent=margin_percent)
    say(STEPS[5])
    diagnosis = bias.diagnose(comparison, seed=seed)
    return Analysis(
        records=records,
        protocol=settled,
        estimates=estimates,
        slips=slips,
        studies=studies,
        curve=curve,
        comparison=comparison,
        diagnosis=diagnosis,
        files=files,
        settings=tuple(Path(p) for p in (protocol, mapping) if isinstance(p, (str, os.PathLike))),
        seed=seed,
    )


def primary_route(estimates: Estimates) -> str:
    """Return the route the class's value rests on: residue where any run has it."""
    counts = estimates.table.loc[estimates.table["used"], "route"].value_counts()
    for route in ("residue", "titration", "evaporation"):
        if counts.get(route, 0):
            return route
    raise InputError(
        "no run has what any route needs",
        where="estimates",
        remedy="See the column 'reason' of the estimates' table.",
    )


def _records(
    source: PathLike | Iterable[PathLike] | ClassRecords | pd.DataFrame, mapping: PathLike | None
) -> tuple[ClassRecords, tuple[Path, ...]]:
    if isinstance(source, ClassRecords):
        return source, ()
    if isinstance(source, pd.DataFrame):
        return ClassRecords.from_frame(source), ()
    from solubility_stats.sheets import read_class
    from solubility_stats.sheets.files_in import find_sources

    # Folders and patterns stand for the files in them.
    paths = tuple(found.path for found in find_sources(source))
    records = read_class(paths, mapping=mapping)
    if not records.n:
        raise InputError(
            "no table of readings was found",
            where=", ".join(p.name for p in paths),
            remedy="'solubility-stats read' writes what became of each cell.",
        )
    return records, paths


def _solute(solute: str | None, protocol: Protocol | PathLike | None, records: ClassRecords) -> str:
    """Settle which solid it is: as stated, by the protocol, by the sheets, else lime."""
    if solute:
        return solute
    if protocol is not None and not isinstance(protocol, (str, os.PathLike)):
        return protocol.solid.name
    if "solute" in records.runs:
        named = records.runs["solute"].dropna()
        named = named[named.astype(str).str.strip() != ""].astype(str).str.strip().str.lower()
        kinds = sorted(named.unique())
        if len(kinds) > 1:
            raise InputError(
                "the sheets name several solids",
                where="column solute",
                found=kinds,
                expected="one solid per analysis",
                remedy="Analyse them apart, or say which with --solute.",
            )
        if kinds:
            return str(kinds[0])
    return "" if protocol is not None else "calcium hydroxide"


def _protocol(protocol: Protocol | PathLike | None, solute: str) -> Protocol:
    from solubility_stats.measurement import Protocol

    if protocol is None:
        return Protocol.default(solute)
    if isinstance(protocol, (str, os.PathLike)):
        return Protocol.from_toml(protocol, solute=solute)
    return protocol


def _check_any(estimates: Estimates, records: ClassRecords) -> None:
    if not estimates.table["used"].any():
        reasons = estimates.table["reason"].value_counts().head(3)
        raise InputError(
            "no run can be used",
            where=f"{records.n} run{'s' if records.n != 1 else ''}",
            found="; ".join(f"{reason} ({n})" for reason, n in reasons.items()),
            expected="initial and recovered mass and the water, or a titration",
            remedy="Look at the ledger: 'solubility-stats read' writes it.",
        )


def from_diagnosis(diagnosis: Diagnosis) -> Analysis:
    """Put an analysis together from a diagnosis made step by step, without the sheets."""
    from solubility_stats import measurement

    comparison = diagnosis.comparison
    # A comparison asks only for what it uses; what it keeps is what it was made from.
    estimates = cast("Estimates", comparison.estimates)
    curve, route = cast("ReferenceCurve", comparison.curve), comparison.route
    records = ClassRecords.from_frame(estimates.table[estimates.table["route"] == route])
    return Analysis(
        records=records,
        protocol=estimates.protocol,
        estimates=estimates,
        slips=measurement.find_slips(records, estimates),
        studies=study(records, estimates, route),
        curve=curve,
        comparison=comparison,
        diagnosis=diagnosis,
        seed=diagnosis.seed,
    )
