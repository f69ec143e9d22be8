"""The command line: parse, call, print.

Exit status: 0 done; 1 done, but something needs a person; 2 nothing could be done.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TypeAlias

from solubility_stats.commands import (
    DONE,
    NOTHING_DONE,
    run_analyse,
    run_collect,
    run_curve,
    run_handouts,
    run_plan,
    run_read,
    run_simulate,
)
from solubility_stats.errors import InputError, SolubilityStatsError
from solubility_stats.terminal import print_anywhere, warnings_in_words

# What may be written beside one another into the folder of the results.
WRITTEN = ("runs.csv", "ledger.csv", "estimates.csv", "budget.csv", "slips.csv")


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


if __name__ == "__main__":
    raise SystemExit(main())
