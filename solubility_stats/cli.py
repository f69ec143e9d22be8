"""The command line: parse, call, print.

Exit status: 0 done; 1 done, but something needs a person; 2 nothing could be done.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from solubility_stats.errors import InputError, SolubilityStatsError
from solubility_stats.terminal import print_anywhere, progress, warnings_in_words

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis
    from solubility_stats.measurement import Protocol
    from solubility_stats.records import ClassRecords
    from solubility_stats.reference import ReferenceCurve

DONE, NEEDS_A_PERSON, NOTHING_DONE = 0, 1, 2
# What may be written beside one another into the folder of the results.
WRITTEN = ("runs.csv", "ledger.csv", "estimates.csv", "budget.csv", "slips.csv")
FIGURES = (".png", ".svg", ".pdf")


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command line; return the exit status."""
    print_anywhere()
    arguments = parser().parse_args(argv)
    try:
        with warnings_in_words():
            _check_target(arguments)
            status = int(arguments.run(arguments))
            sys.stdout.flush()
            return status
    except BrokenPipeError:
        # Whoever read our output has seen enough; the files were written before anything printed.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except (SolubilityStatsError, OSError) as problem:
        print(f"solubility-stats: {_one_sentence(problem)}", file=sys.stderr)
        return NOTHING_DONE
    except KeyboardInterrupt:
        print("solubility-stats: stopped.", file=sys.stderr)
        return NOTHING_DONE


def _one_sentence(problem: Exception) -> str:
    if isinstance(problem, OSError) and problem.filename is not None:
        return f"{problem.filename}: {problem.strerror or problem}."
    return " ".join(str(problem).split())


def _check_target(a: argparse.Namespace) -> None:
    """Refuse a place that cannot be written before the work, not after it."""
    out = getattr(a, "out", None)
    if out is None:
        return
    if a.run is run_collect:
        if out.is_dir() or out.suffix.lower() != ".xlsx":
            raise InputError(
                "the workbook needs a file name", where="--out", found=str(out),
                expected="a name ending in .xlsx",
            )  # fmt: skip
        out = out.parent
    there = next(place for place in (out.absolute(), *out.absolute().parents) if place.exists())
    if not there.is_dir():
        raise InputError(
            "a file is in the place of the folder to write to", where="--out", found=str(there)
        )
    if not os.access(there, os.W_OK):
        raise InputError("this folder cannot be written to", where="--out", found=str(there))
    if getattr(a, "files", None):
        _keep_inputs(a.files, out)


def _keep_inputs(files: Sequence[str], out: Path) -> None:
    from solubility_stats.sheets.files_in import find_sources

    for source in find_sources(files):
        if source.path.name in WRITTEN and source.path.parent.resolve() == out.resolve():
            raise InputError(
                "this input would be overwritten by a result of the same name",
                where="--out",
                found=str(source.path),
                expected="another folder than that of the sheets",
            )


def parser() -> argparse.ArgumentParser:
    """Return the parser of the whole command line."""
    top = argparse.ArgumentParser(
        prog="solubility-stats",
        description="From a class's solubility sheets to a value, its uncertainty and its bias.",
    )
    commands = top.add_subparsers(required=True, metavar="COMMAND")
    for add in (_read, _analyse, _handouts, _collect, _plan, _curve, _simulate):
        add(commands)
    return top


# argparse offers no public name for what add_subparsers returns.
Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"


def _files(command: argparse.ArgumentParser) -> None:
    command.add_argument("files", nargs="+", metavar="FILE", help="sheets of the class")
    command.add_argument("--mapping", type=Path, metavar="M.toml", help="settles headings")
    _out(command)


def _out(command: argparse.ArgumentParser) -> None:
    command.add_argument("--out", type=Path, required=True, metavar="DIR", help="where to write")


def _analysis_options(command: argparse.ArgumentParser) -> None:
    command.add_argument("--protocol", type=Path, metavar="P.toml", help="what was used")
    command.add_argument("--solute", metavar="S", help="name or formula of the solid")
    command.add_argument(
        "--margin",
        type=float,
        default=5.0,
        metavar="PERCENT",
        help="deviation that still counts as agreement (default 5)",
    )
    command.add_argument(
        "--seed", type=_seed, default=0, metavar="N", help="seed of the random numbers (default 0)"
    )


def _seed(text: str) -> int:
    number = int(text)
    if number < 0:
        raise ValueError("a seed is zero or more")
    return number


_seed.__name__ = "whole number of zero or more"  # argparse puts this into its message


def _read(commands: Commands) -> None:
    command = commands.add_parser("read", help="read sheets: runs.csv and ledger.csv")
    _files(command)
    command.add_argument(
        "--write-mapping",
        type=Path,
        metavar="M.toml",
        help="write how headings were understood, to edit and use again",
    )
    command.add_argument(
        "--marked-copies",
        action="store_true",
        help="write a coloured copy of each sheet showing what was read",
    )
    command.add_argument(
        "--pseudonym-key", metavar="SECRET", help="replace group codes by keyed pseudonyms"
    )
    command.add_argument(
        "--keep-personal",
        action="store_true",
        help="keep names and e-mail addresses (they are dropped otherwise)",
    )
    command.set_defaults(run=run_read)


def _analyse(commands: Commands) -> None:
    command = commands.add_parser("analyse", help="the whole job: tables, figures and a page")
    _files(command)
    _analysis_options(command)
    command.set_defaults(run=run_analyse)


def _handouts(commands: Commands) -> None:
    command = commands.add_parser("handouts", help="one page per group")
    _files(command)
    _analysis_options(command)
    command.add_argument(
        "--hide-reference",
        action="store_true",
        help="leave the reference value out, for before the discussion",
    )
    command.set_defaults(run=run_handouts)


def _collect(commands: Commands) -> None:
    command = commands.add_parser("collect", help="a blank collection workbook")
    command.add_argument("--out", type=Path, required=True, metavar="SHEET.xlsx")
    command.add_argument("--fills", type=int, default=4, help="cylinder fills (default 4)")
    command.add_argument("--groups", type=int, default=30, help="rows to prepare (default 30)")
    command.add_argument(
        "--routes", nargs="+", default=["residue"], choices=["residue", "titration", "evaporation"]
    )
    command.set_defaults(run=run_collect)


def _plan(commands: Commands) -> None:
    command = commands.add_parser("plan", help="groups needed, step to improve, what to measure")
    command.add_argument(
        "files",
        nargs="*",
        metavar="FILE",
        help="this semester's sheets; without any, the protocol's own figures",
    )
    command.add_argument("--mapping", type=Path, metavar="M.toml")
    _analysis_options(command)
    command.add_argument("--mass", type=float, metavar="G", help="solid to weigh out, g")
    command.add_argument("--water", type=float, metavar="ML", help="water to add, mL")
    command.add_argument(
        "--bias",
        type=float,
        default=10.0,
        metavar="PERCENT",
        help="bias the class should be able to see (default 10)",
    )
    command.set_defaults(run=run_plan)


def _curve(commands: Commands) -> None:
    command = commands.add_parser("curve", help="reference values, uncertainty, sources")
    command.add_argument("solute")
    command.add_argument("--temperature", type=float, nargs="+", metavar="T", help="in °C")
    command.add_argument("--figure", type=Path, metavar="F.png", help="draw the curve")
    command.set_defaults(run=run_curve)


def _simulate(commands: Commands) -> None:
    command = commands.add_parser("simulate", help="an invented semester with known causes")
    command.add_argument("--groups", type=int, default=24)
    command.add_argument("--sections", type=int, default=3)
    command.add_argument(
        "--cause",
        action="append",
        default=[],
        metavar="NAME=SIZE",
        help="class size of a cause; may be repeated",
    )
    command.add_argument("--protocol", type=Path, metavar="P.toml")
    command.add_argument(
        "--routes", nargs="+", default=["residue"], choices=["residue", "titration", "evaporation"]
    )
    command.add_argument("--seed", type=_seed, default=0)
    command.add_argument(
        "--only-stated", action="store_true", help="leave out the protocol's usual effects"
    )
    command.add_argument("--messy", action="store_true", help="also write sheets as people do")
    _out(command)
    command.set_defaults(run=run_simulate)


# What each command does ---------------------------------------------------------------------------


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


if __name__ == "__main__":
    raise SystemExit(main())
