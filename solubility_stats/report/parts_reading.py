"""Parts of the page about the sheets: what was read, whom to ask, the groups' own sums."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from solubility_stats.report import summary
from solubility_stats.report.blocks import Bullets, Folded, Part, Text, table
from solubility_stats.report.cautions import cautions

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis

PLACE = {"file": "File", "sheet": "Sheet", "cell": "Cells", "raw": "Written", "note": "Why"}


def reading(done: Analysis) -> Part | None:
    """Return what was read and what was not; None for a table that needed no reading."""
    records = done.records
    blocks: list[object] = []
    account = str(records.account.get("text", "")).strip()
    for line in account.splitlines():
        # Single cells follow in a table of their own.
        if not line.startswith(("Please look at", "…")):
            blocks.append(Text(line))
    ledger = records.ledger
    asking = ledger[ledger["outcome"].isin(["unclear", "rejected"])]
    if len(ledger):
        blocks.append(Text("Cells a person should settle", "heading"))
        blocks.append(
            table(
                _together(asking, by=["file", "sheet", "note"], listed=["cell", "raw"]),
                PLACE,
                none="None: every cell was understood.",
                at_most=30,
                file="ledger.csv",
            )
        )
    away = records.runs[records.runs["set_aside"] != ""]
    left = pd.DataFrame(summary.set_aside(done), columns=["run", "section", "group", "reason"])
    if len(away) or len(left):
        blocks.append(Text("Runs kept in every table but left out of the result", "heading"))
        reasons = _together(left, by=["reason"], listed=["run"], at_most=40)
        blocks.append(table(reasons, {"reason": "Reason", "run": "Runs"}))
    headings = table(
        records.headings,
        {
            "file": "File",
            "sheet": "Sheet",
            "cell": "Cell",
            "heading": "Heading",
            "column": "Understood as",
            "unit": "Unit",
            "how": "How",
        },
        at_most=80,
        file="a mapping file",
    )
    if headings.rows:
        blocks.append(Folded("How each heading was understood", headings))
    if not blocks:
        return None
    return Part("reading", "What was read, and what was not", tuple(blocks))


def _together(
    frame: pd.DataFrame, *, by: list[str], listed: list[str], at_most: int = 6
) -> pd.DataFrame:
    """Return one row per reason, with the cells or runs it concerns side by side."""

    def side_by_side(items: pd.Series) -> str:
        shown = [str(item) for item in items.drop_duplicates()]
        rest = len(shown) - at_most
        return ", ".join(shown[:at_most]) + (f" and {rest} more" if rest > 0 else "")

    if frame.empty:
        return frame
    filled = frame.assign(**{name: frame[name].fillna("") for name in by})
    return filled.groupby(by, sort=False, as_index=False)[listed].agg(side_by_side)


def groups_to_look_at(done: Analysis) -> Part:
    """Return the groups to look at and why, in neutral words."""
    frame = pd.DataFrame(summary.groups_to_look_at(done), columns=["section", "group", "reasons"])
    return Part(
        "groups",
        "Groups to look at, and why",
        (
            Text("Marked for a conversation, not for a grade. Nothing below was deleted."),
            table(
                frame,
                {"section": "Section", "group": "Group", "reasons": "Why"},
                none="No group stands apart from the others.",
            ),
        ),
    )


def sums(done: Analysis) -> Part | None:
    """Return the groups' own sums, compared with their readings."""
    slips = done.slips
    if not slips.n:
        return None
    rows = summary.slip_rows(done)
    shown = rows.assign(
        reported=[
            f"{r:g} {u}"
            for r, u in zip(rows["reported"], rows["reported_unit"].fillna(""), strict=True)
        ],
        chance=[f"{100 * c:.0f} %" if c == c else "" for c in rows["chance_match"]],
    )
    return Part(
        "sums",
        "The groups' own sums",
        (
            Text(slips.headline().rstrip(".") + "."),
            Text(
                "Reported values are kept for the study of errors; the class's value uses the "
                "readings. A slip named here reproduces the reported number. It is no proof: the "
                "last column says how often a number that has nothing to do with the readings "
                "would have matched some slip as well."
            ),
            table(
                shown,
                {
                    "section": "Section",
                    "group": "Group",
                    "reported": "Reported",
                    "recomputed_in_unit": "From the readings",
                    "slip": "What fits",
                    "chance": "Chance match",
                },
                none="Every reported value follows from its readings.",
            ),
        ),
    )


def safety(done: Analysis) -> Part:
    """Return the usual cautions."""
    usual = cautions(done.protocol.solid.name)
    items = tuple(f"{about}: {text}" for about, text, _ in usual.items)
    return Part("safety", usual.heading, (Text(usual.rule, "note"), Bullets(items)))


def provenance(done: Analysis) -> Part:
    """Return what the page was made from."""
    made = summary.provenance(done)
    hashes = pd.DataFrame(
        (made["inputs_sha256"] | made["settings_sha256"]).items(), columns=["file", "sha256"]
    )
    versions = pd.DataFrame(made["versions"].items(), columns=["package", "version"])
    defaults = done.estimates.defaults
    return Part(
        "provenance",
        "How this page was made",
        (
            Text(
                f"Seed {done.seed}. The same files, settings and seed give the same tables. All "
                "numbers of this page are in summary.json and the CSV files beside it."
            ),
            Folded(
                f"{len(defaults)} settings taken from the defaults, with their basis",
                table(
                    defaults,
                    {"setting": "Setting", "value": "Value", "unit": "Unit", "basis": "Basis"},
                    at_most=200,
                ),
            ),
            Folded(
                "Input files (SHA-256)",
                table(hashes, {"file": "File", "sha256": "SHA-256"}, none="A table in memory."),
            ),
            Folded("Versions", table(versions, {"package": "Package", "version": "Version"})),
        ),
    )
