"""What each command of the command line does, and the status it ends with."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from solubility_stats.errors import InputError
from solubility_stats.terminal import progress

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis
    from solubility_stats.measurement import Protocol
    from solubility_stats.records import ClassRecords
    from solubility_stats.reference import ReferenceCurve

DONE, NEEDS_A_PERSON, NOTHING_DONE = 0, 1, 2
FIGURES = (".png", ".svg", ".pdf")


def run_read(a: argparse.Namespace) -> int:
    """Read sheets; write runs.csv and ledger.csv."""
    from solubility_stats.report import exports
    from solubility_stats.sheets import read_class, write_mapping

    with progress() as say:
        say("reading")
        records = read_class(
            a.files, mapping=a.mapping, keep_personal=a.keep_personal, pseudonym_key=a.pseudonym_key
        )
        say("writing")
        exports.write_records(records, a.out)
        if a.write_mapping:
            write_mapping(records, a.write_mapping)
        if a.marked_copies:
            exports.write_marked_copies(records, a.files, a.out / "marked")
    print(records.account["text"])
    print(f"Written to {a.out}: runs.csv, ledger.csv")
    if not records.n:
        raise InputError(
            "no table of readings was found",
            where=", ".join(Path(f).name for f in a.files),
            remedy=f"See what became of each cell in {a.out / 'ledger.csv'}.",
        )
    return _reading_status(records)


def run_analyse(a: argparse.Namespace) -> int:
    """Do the whole job; write every table, figure and the page."""
    from solubility_stats.report import write_report

    with progress() as say:
        done = _analysis(a, say)
        say("writing")
        write_report(done, a.out)
    print(done.records.account["text"])
    print(done.headline())
    print(f"Written to {a.out}: report.html, summary.json and the tables")
    return _reading_status(done.records)


def run_handouts(a: argparse.Namespace) -> int:
    """Write one page per group."""
    from solubility_stats.report import write_handouts

    with progress() as say:
        done = _analysis(a, say)
        say("writing")
        pages = write_handouts(
            done.records, done.estimates, done.diagnosis, a.out, hide_reference=a.hide_reference
        )
    print(f"{len(pages)} pages written to {a.out}")
    return _reading_status(done.records)


def run_collect(a: argparse.Namespace) -> int:
    """Write the blank collection workbook."""
    from solubility_stats.sheets.collect import write_collection_workbook

    write_collection_workbook(a.out, fills=a.fills, groups=a.groups, routes=tuple(a.routes))
    print(f"Written: {a.out}")
    return DONE


def run_plan(a: argparse.Namespace) -> int:
    """Print what would make the next class better, from this class or from the protocol alone."""
    from solubility_stats import planning

    status = DONE
    with progress() as say:
        if a.files:
            done = _analysis(a, say)
            source, protocol, curve = done.comparison, done.protocol, done.curve
            status = _reading_status(done.records)
        else:
            protocol, curve = _protocol_and_curve(a)
        mass = protocol.lab.initial_mass_g if a.mass is None else a.mass
        water = protocol.lab.water_volume_ml if a.water is None else a.water
        recipe = planning.recipe(mass, water, protocol, curve)
    if a.files:
        print(planning.groups_needed(source, a.bias))
        print(planning.step_to_improve(source))
        print(planning.measurement_to_separate(done.diagnosis))
    else:
        value, u = curve.at(protocol.lab.temperature_c)
        u_reference = 100 * float(u) / float(value)
        print(planning.groups_needed(recipe, a.bias, u_reference_percent=u_reference))
        print(planning.step_to_improve(recipe))
    print(recipe)
    return status


def _analysis(a: argparse.Namespace, say: Callable[[str], None]) -> Analysis:
    from solubility_stats.analysis import analyse

    return analyse(
        a.files,
        a.protocol,
        solute=a.solute,
        mapping=a.mapping,
        margin_percent=a.margin,
        seed=a.seed,
        on_step=say,
    )


def _protocol_and_curve(a: argparse.Namespace) -> tuple[Protocol, ReferenceCurve]:
    from solubility_stats.measurement import Protocol
    from solubility_stats.reference import curve

    solute = a.solute or ("" if a.protocol else "calcium hydroxide")
    protocol = (
        Protocol.from_toml(a.protocol, solute=solute) if a.protocol else Protocol.default(solute)
    )
    return protocol, curve(protocol.solid.name)


def run_curve(a: argparse.Namespace) -> int:
    """Print reference values with uncertainty and sources."""
    import pandas as pd

    from solubility_stats.reference import curve

    if a.figure and a.figure.suffix.lower() not in FIGURES:
        raise InputError(
            "no figure can be written under this name",
            where="--figure",
            found=str(a.figure),
            expected=f"a name ending in {', '.join(FIGURES)}",
        )
    found = curve(a.solute)
    if a.temperature:
        value, u = found.at(a.temperature)
        frame = pd.DataFrame(
            {"temperature_c": a.temperature, "value_g_per_100g": value, "u_g_per_100g": u}
        )
        print(found.headline())
        print(frame.to_string(index=False, float_format=lambda x: f"{x:.4g}"))
        print(found.by_source(a.temperature[0]).to_string(index=False))
    else:
        print(found)
    if a.figure:
        from solubility_stats.report.figures import save

        save(found.plot(), a.figure)
    return DONE


def run_simulate(a: argparse.Namespace) -> int:
    """Write an invented semester and its truth."""
    from solubility_stats.files import write_csv
    from solubility_stats.measurement import Protocol
    from solubility_stats.simulation import simulate
    from solubility_stats.simulation.messy import write_messy

    protocol = Protocol.from_toml(a.protocol) if a.protocol else None
    made = simulate(
        protocol,
        groups=a.groups,
        sections=a.sections,
        causes=dict(map(_cause, a.cause)),
        routes=tuple(a.routes),
        seed=a.seed,
        usual=not a.only_stated,
    )
    write_csv(made.records.runs, a.out / "runs.csv")
    write_csv(made.truth, a.out / "truth.csv")
    write_csv(made.causes, a.out / "causes.csv")
    if a.messy:
        write_messy(made, a.out / "sheets", seed=a.seed)
    print(made.headline())
    print(f"Written to {a.out}: runs.csv, truth.csv, causes.csv")
    return DONE


def _cause(text: str) -> tuple[str, float]:
    name, _, size = text.partition("=")
    try:
        return name.strip(), float(size)
    except ValueError:
        raise InputError(
            "a cause needs a size",
            where="--cause",
            found=text,
            expected="NAME=SIZE, e.g. transfer_loss=0.05",
        ) from None


def _reading_status(records: ClassRecords) -> int:
    unclear = records.ledger["outcome"].isin(["unclear", "rejected"])
    return NEEDS_A_PERSON if bool(unclear.any()) else DONE
