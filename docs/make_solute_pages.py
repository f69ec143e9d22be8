"""Write one page per solute into ``solutes/`` beside this script: value, figure, sources.

Run it after a change of the solute files. Same data, same bytes.
"""

from __future__ import annotations

import os
from pathlib import Path

os.environ.setdefault("MPLBACKEND", "Agg")

import matplotlib as mpl
import numpy as np
import pandas as pd
from matplotlib import pyplot as plt

from solubility_stats.display import with_uncertainty
from solubility_stats.files import replacing, write_text
from solubility_stats.reference import ReferenceCurve, curve, solute_names

OUT = Path(__file__).parent / "solutes"
STYLE = {"svg.hashsalt": "solutes", "svg.fonttype": "path", "font.size": 10.5}

CAUTION = (
    "Which solids a class may use, how waste is collected and what to wear is settled by local "
    "rules and the responsible instructor, not by this page."
)


def page_name(found: ReferenceCurve) -> str:
    """Return the file name, without suffix, of a solute's page."""
    plain = "".join(c if c.isalnum() else "_" for c in found.solute.lower())
    return "_".join(part for part in plain.split("_") if part)


def percent(x: float, digits: int = 1) -> str:
    """Return a signed percentage without a signed zero."""
    rounded = round(x, digits)
    return f"{rounded:+.{digits}f}".replace("-", "−") if rounded else f"{0:.{digits}f}"


def markdown(frame: pd.DataFrame) -> str:
    """Return a frame of ready-made text as a Markdown table."""
    rows = [list(frame.columns), ["---"] * frame.shape[1], *frame.astype(str).values.tolist()]
    return "\n".join("| " + " | ".join(c.replace("|", "/") for c in row) + " |" for row in rows)


def grid_of(found: ReferenceCurve) -> np.ndarray:
    """Return round temperatures within the range, 25 °C included."""
    tens = np.arange(np.ceil(found.low_c / 10), np.floor(found.high_c / 10) + 1) * 10
    room = [25.0] if found.low_c <= 25 <= found.high_c else []
    return np.unique(np.concatenate([tens, room]))


def value_table(found: ReferenceCurve) -> str:
    """Return value, uncertainty and extremes of the sources at round temperatures."""
    spread = found.spread(grid_of(found))
    shown = pd.DataFrame(
        {
            "°C": [f"{t:g}" for t in spread["temperature_c"]],
            f"{found.basis} ± u": [
                with_uncertainty(v, u) for v, u in zip(spread["value"], spread["u"], strict=True)
            ],
            "u / %": [f"{x:.1f}" for x in spread["u_percent"]],
            "lowest source": [f"{x:.4g}" for x in spread["lowest"]],
            "highest source": [f"{x:.4g}" for x in spread["highest"]],
            "sources (families)": [
                f"{n} ({k})" for n, k in zip(spread["sources"], spread["families"], strict=True)
            ],
        }
    )
    return markdown(shown)


def source_table(found: ReferenceCurve, t_c: float) -> str:
    """Return all sources with what each says near ``t_c``."""
    said = found.by_source(t_c, every=True).set_index("source")
    rows = []
    for s in found.sources.to_dict("records"):
        value = difference = ""
        if s["key"] in said.index:
            row = said.loc[s["key"]]
            value = with_uncertainty(row["value"], row["u"])
            difference = percent(row["percent_from_combined"])
        rows.append(
            {
                "source": s["key"],
                "citation": s["citation"],
                "grade": s["quality"],
                "family": s["family"],
                "covers": s["covers"],
                "from memory": s["from_memory"],
                f"at {t_c:g} °C": value,
                "from the curve / %": difference,
                "in the curve": "yes" if s["used"] else f"no: {s['why_not']}",
                "remark": s["note"],
            }
        )
    frame = pd.DataFrame(rows)
    empty = [c for c in ("from memory", "remark") if (frame[c] == "").all()]
    return markdown(frame.drop(columns=empty))


def struck_table(found: ReferenceCurve) -> str:
    """Return the struck values with their reasons, or nothing."""
    points = found.points
    struck = points[points["struck"] != ""]
    if struck.empty:
        return ""
    shown = pd.DataFrame(
        {
            "source": struck["source"],
            "°C": [f"{t:g}" for t in struck["temperature_c"]],
            "value": [f"~~{v:g}~~" for v in struck["published"]],
            "unit": struck["unit"].str.replace("_", " "),
            "reason": struck["struck"],
        }
    )
    return f"\n## Struck values\n\nShown, but in no curve.\n\n{markdown(shown)}\n"


def without_table(found: ReferenceCurve, t_c: float) -> str:
    """Return what leaving out each source changes, or nothing for a single source."""
    left = found.leave_one_out(t_c)
    if left.empty:
        return ""
    shown = pd.DataFrame(
        {
            "without": left["left_out"],
            f"at {t_c:g} °C": [
                with_uncertainty(v, u) for v, u in zip(left["value"], left["u"], strict=True)
            ],
            "change / %": [percent(x, 2) for x in left["change_percent"]],
        }
    )
    return f"\n## Without each source in turn\n\n{markdown(shown)}\n"


def fit_table(found: ReferenceCurve) -> str:
    """Return the fitted coefficients of the sources in the curve."""
    fits = found.fits
    shown = pd.DataFrame(
        {
            "source": fits["source"],
            "points": fits["points"],
            **{c: [f"{x:.8g}" if x else "" for x in fits[c]] for c in "ABCD"},
            "scatter / %": [f"{x:.2f}" for x in fits["scatter_percent"]],
        }
    )
    return markdown(shown)


def families_text(found: ReferenceCurve) -> str:
    """Return why sources share a family."""
    if not found.data.families:
        return ""
    lines = [f"- **{name}.** {why}" for name, why in found.data.families.items()]
    return "\nSources of one family count once:\n\n" + "\n".join(lines) + "\n"


def page(found: ReferenceCurve) -> str:
    """Return the page of one solute as Markdown."""
    name = page_name(found)
    t_c = 25.0 if found.low_c <= 25 <= found.high_c else found.low_c
    value, u = found.at(t_c)
    notes = "".join(
        f"- **{n['topic'].capitalize()}.** {n['text']} ({n['source']})\n" for n in found.data.notes
    )
    single = len(set(found.model.family.tolist())) == 1
    told = (
        "There is one family of sources, so the uncertainty is the stated one of a single family "
        f"({100 * found.data.prior:g} %)."
        if single
        else "The uncertainty is how far a source family typically lies from the curve, not how "
        "well their mean is known."
    )
    return f"""# {found.solute.capitalize()}, {found.formula}

{with_uncertainty(value, u)} {found.basis} at {t_c:g} °C (± one standard uncertainty).
Range {found.low_c:g} to {found.high_c:g} °C. {told}

![Solubility of {found.solute} against temperature]({name}.svg)

Line and grey bands: the curve with one and two standard uncertainties. Filled marks: sources in
the curve; open marks: sources shown for comparison. Sources of one family share a colour.

{value_table(found)}

## Sources

{source_table(found, t_c)}
{families_text(found)}
Grades: A critically evaluated or primary, B handbook or derived from evaluated data, C tertiary.
{struck_table(found)}{without_table(found, t_c)}
## Fits

ln s = A + B/T + C ln T + D T, with s in {found.basis} and T in kelvin.

{fit_table(found)}

## Notes

{notes}- {CAUTION}
"""


def draw(found: ReferenceCurve) -> None:
    """Write the figure of one solute."""
    with mpl.rc_context(STYLE):
        axes = found.plot()
        figure = axes.figure
        with replacing(OUT / f"{page_name(found)}.svg") as draft:
            figure.savefig(draft, metadata={"Date": None, "Creator": None})
        plt.close(figure)


def apart(found: ReferenceCurve) -> str:
    """Return the range of root-mean-square distances of the families, percent."""
    if len(set(found.model.family.tolist())) == 1:
        return ""
    grid = grid_of(found)
    unknown = 100 * found.model.prior / np.sqrt(found.model.families_at(grid))
    between = found.spread(grid)["between_percent"].to_numpy()
    distance = np.sqrt(np.maximum(between**2 - unknown**2, 0))
    return f"{distance.min():.1f}–{distance.max():.1f}"


OWN = """
## A curve of your own

A CSV file with the columns `temperature_c` and `value` is enough (`ReferenceCurve.from_csv`); `u`,
`source`, `family`, `citation` and `quality` are read where given. Several sources with their
citations fit better in the form the library itself uses (`ReferenceCurve.from_toml`):

```toml
name = "lithium carbonate"
formula = "Li2CO3"          # what is weighed out
between_percent = 5.0       # standard uncertainty of a single family of sources

[[source]]
key = "our thermostat"
citation = "own measurements, spring"
family = "own"
quality = "B"
unit = "g/100 g water"
points = [[15.0, 1.38, 0.02], [25.0, 1.29, 0.02], [35.0, 1.21, 0.02]]  # °C, value, u

[[source]]
key = "handbook"
citation = "handbook, edition, page"
family = "handbook"
quality = "A"
unit = "mass_percent"
resolution = 0.01           # one unit of the last printed digit
points = [[10, 1.43], [20, 1.33], [30, 1.24], [40, 1.15]]
struck = [{ temperature_c = 35, value = 1.91, reason = "digits exchanged" }]
```
"""


def index(curves: list[ReferenceCurve]) -> str:
    """Return the page that lists all solutes."""
    rows = []
    for found in curves:
        value, u = found.at(25.0)
        rows.append(
            {
                "solute": f"[{found.solute}]({page_name(found)}.md)",
                "formula": found.formula,
                "g/100 g water at 25 °C": with_uncertainty(value, u),
                "u / %": f"{100 * u / value:.1f}",
                "families lie from the curve / %": apart(found),
                "range / °C": f"{found.low_c:g}–{found.high_c:g}",
                "sources (families)": f"{len(found.model.names)} "
                f"({len(set(found.model.family.tolist()))})",
            }
        )
    return f"""# Reference solubilities

{markdown(pd.DataFrame(rows))}

± is one standard uncertainty. How the curves are made: each source is fitted by
ln s = A + B/T + C ln T + D T with as many terms as its points bear; families of sources that share
their data count once; the curve is their mean weighted by stated accuracy; its uncertainty is the
distance at which a family lies from the curve, together with the stated uncertainty of a single
family divided by the root of their number. A curve of one family is as uncertain as a single
family. Grades and stated accuracies are judgement and stand in the data files.
{OWN}"""


def main() -> None:
    """Write all pages."""
    curves = [curve(name) for name in solute_names()]
    for found in curves:
        draw(found)
        write_text(page(found), OUT / f"{page_name(found)}.md")
    write_text(index(curves), OUT / "index.md")


if __name__ == "__main__":
    main()
