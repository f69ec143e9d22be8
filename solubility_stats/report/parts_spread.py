"""Parts of the page about spread: estimators, repeated runs, factors, habits of writing."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from solubility_stats.report.blocks import Bullets, Folded, Part, Text, draw, percent, table
from solubility_stats.report.figures import draw_residuals, draw_two_runs
from solubility_stats.report.words import sentence

if TYPE_CHECKING:
    import pandas as pd

    from solubility_stats.analysis import Analysis


def estimators(done: Analysis) -> list[object]:
    """Return the class value by every estimator, and whether the choice matters."""
    found = done.studies.estimators
    if found is None:
        return []
    return [
        Text(found.sentence),
        Folded(
            "The class's value by every estimator",
            table(
                found.table,
                {"description": "Estimator", "value": "g per 100 g water", "u": "u",
                 "low": "95 % from", "high": "to"},
            ),
        ),
    ]  # fmt: skip


def repeats(done: Analysis, figures: Path) -> Part | None:
    """Return what repeated runs of a group say, for classes that have them."""
    two, precision = done.studies.two_runs, done.studies.precision
    if two is None and precision is None:
        return None
    blocks: list[object] = []
    if two is not None:
        blocks += [
            Text(sentence(two.headline())),
            draw(
                draw_two_runs, two,
                name="two_runs",
                label="First against second run of each group",
                caption="Along the dashed line a group repeats its deviation (systematic for it); "
                "inside the circle lie 95 % of groups if there were chance alone.",
                folder=figures,
            ),
        ]  # fmt: skip
    if precision is not None:
        blocks += [
            Text(sentence(precision.headline())),
            table(
                precision.conditions,
                {"condition": "Condition", "sd": "Standard deviation", "sd_low": "95 % from",
                 "sd_high": "to", "limit": "Limit of two results"},
            ),
            *(Text(note) for note in precision.notes),
        ]  # fmt: skip
    return Part("repeats", "Repeated runs", tuple(blocks))


def factors(done: Analysis, figures: Path) -> Part | None:
    """Return what goes with higher or lower results, and which assumptions fail."""
    found = done.studies.factors
    if found is None or not len(found.tests):
        return None
    blocks: list[object] = [
        Text(
            "Factors the class recorded, one at a time, allowing for groups and sections as the "
            "units of replication; p-values are adjusted for how many were looked at (Holm)."
        ),
        table(
            _named(found.tests),
            {"factor": "Factor", "n": "Runs", "unit_of_replication": "Replicates",
             "p_holm": "p, adjusted", "verdict": "Verdict", "words": "Why not"},
        ),
        Folded("Sizes of the effects", table(_effects(_named(found.effects)), EFFECTS)),
    ]  # fmt: skip
    failed = found.checks[~found.checks["holds"].astype(bool)]
    if len(failed):
        blocks.append(Bullets(tuple(dict.fromkeys(failed["words"].astype(str)))))
        worst = failed["factor"].iloc[0]
        name = NAMES.get(worst, worst)
        rest = found.residuals[found.residuals["factor"] == worst]
        blocks.append(
            draw(
                draw_residuals, rest["fitted"], rest["residual"],
                name="residuals",
                label=f"What the fit of {name} leaves over",
                caption=f"What the fit of {name} leaves over, against its prediction.",
                folder=figures,
            )
        )  # fmt: skip
    blocks.extend(Text(words) for words in found.aliases["words"].astype(str))
    return Part("factors", "What goes with higher or lower results", tuple(blocks))


EFFECTS = {
    "factor": "Factor",
    "level": "Level",
    "against": "Against",
    "effect_percent": "Effect",
    "interval": "95 % interval",
    "n": "Runs",
}


NAMES = {
    "stir_min": "stirring time",
    "settle_min": "settling time",
    "dry_min": "drying time",
    "temperature_c": "temperature",
    "scatter": "laser-beam test",
    "initial_mass_g": "solid weighed out",
    "water_volume_ml": "water",
}


def _named(frame: pd.DataFrame) -> pd.DataFrame:
    """Write columns the way people say them; a column without remarks is left out."""
    words = "words" in frame and frame["words"].fillna("").astype(str).str.strip().eq("").all()
    frame = frame.assign(factor=[NAMES.get(f, f) for f in frame["factor"]])
    return frame.drop(columns="words") if words else frame


def _effects(effects: pd.DataFrame) -> pd.DataFrame:
    ends = zip(effects["low_percent"], effects["high_percent"], strict=True)
    return effects.assign(
        interval=[f"{percent(low)} to {percent(high)}" for low, high in ends],
        effect_percent=[percent(x) for x in effects["effect_percent"]],
    )


def writing(done: Analysis) -> Part | None:
    """Return how readings were written: preferred final digits, equal rows; neutral words."""
    digits, identical = done.studies.digits, done.studies.identical
    blocks: list[object] = []
    if digits is not None and len(digits.table):
        blocks += [
            Text(sentence(digits.headline())),
            Text(
                "A preference (often 0 and 5) is usual where a scale is read between its marks; "
                "it says how finely a reading was really taken, and nothing about anybody's care."
            ),
        ]
    if identical is not None:
        blocks.append(Text(sentence(identical.headline())))
        if len(identical.table):
            shown = identical.table.assign(
                runs=[", ".join(map(str, labels)) for labels in identical.table["labels"]]
            )
            blocks.append(
                table(shown, {"runs": "Rows", "expected_by_chance": "Expected by chance",
                              "note": "Remark"})
            )  # fmt: skip
    return Part("writing", "How readings were written", tuple(blocks)) if blocks else None
