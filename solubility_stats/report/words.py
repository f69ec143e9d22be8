"""Results in sentences: the only place where numbers become prose."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from solubility_stats.report.blocks import amount, percent

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis
    from solubility_stats.bias.contrast import RouteContrast

VERDICTS = {
    "agrees": "agrees with the literature",
    "high": "lies above the literature",
    "low": "lies below the literature",
    "undecided": "cannot be told from the literature either way",
}


def span(low: float, high: float) -> str:
    """Return an interval in percent, with words between its ends."""
    return f"{percent(low)} to {percent(high)}"


def sense(value: float) -> str:
    """Return ``above`` or ``below``."""
    return "above" if value >= 0 else "below"


def answer(done: Analysis) -> str:
    """Return the page's first sentence: both questions, both answers, the uncertainty of each."""
    a, b = done.comparison.apparent, done.comparison.unexplained
    first = (
        f"As the class works it out, the solubility comes out {amount(abs(a.percent))} "
        f"{sense(a.percent)} the reference (95 % interval {span(a.low_percent, a.high_percent)})."
    )
    left = (
        f"After the effects this lab is expected to have, {percent(b.percent)} is left "
        f"({span(b.low_percent, b.high_percent)}): "
    )
    ends = {
        "agrees": "the class agrees with the literature within the margin.",
        "high": "the class is high beyond what is expected.",
        "low": "the class is low beyond what is expected.",
        "undecided": (
            "whether anything beyond the usual is wrong stays undecided (largest source of "
            f"doubt: {lower_first(b.limited_by)})."
        ),
    }
    return f"{first} {left}{ends[b.verdict]}"


def lower_first(text: str) -> str:
    """Return the text to stand inside a sentence; a leading acronym keeps its capitals."""
    return text if len(text) > 1 and text[1].isupper() else text[:1].lower() + text[1:]


def sentence(text: str) -> str:
    """Return a clause as a sentence: capital letter, full stop."""
    text = text.strip()
    return (text[:1].upper() + text[1:]) + ("" if text.endswith(".") else ".")


def source_sentence(done: Analysis) -> str:
    """Say what the disagreement of the literature does to the verdict."""
    comparison = done.comparison
    frame = comparison.by_source
    if len(frame) < 2:
        return (
            "There is one source for this reference; how far others would disagree is unknown, "
            "and its uncertainty is widened for it."
        )
    low = frame["reference_g_per_100g"].min()
    high = frame["reference_g_per_100g"].max()
    text = (
        f"Published values do not agree: at this temperature they run from {low:.4f} to "
        f"{high:.4f} g per 100 g water, {amount(100 * (high - low) / low)} apart. The reference "
        f"used here carries that disagreement in its uncertainty."
    )
    if comparison.depends_on_source:
        words = sorted(set(frame["verdict"]))
        return f"{text} Taken one by one, the sources give different verdicts: {', '.join(words)}."
    return f"{text} Taken one by one, every source gives the same verdict: {comparison.verdict}."


def leverage_sentence(table: Any) -> str:
    """Say what one percent of lost residue costs."""
    leverage = float(table["leverage"].median())
    if leverage < 1:
        return (
            f"A typical group recovered {leverage:.2f} g for every gram it dissolved: one percent "
            f"of the residue lost raises its result by {amount(leverage, 2)}."
        )
    return (
        f"A typical group recovered {leverage:.1f} g for every gram it dissolved. One percent of "
        f"the residue lost (or gained) therefore moves its result by {amount(leverage, 1)}. "
        f"Weighing out less solid, or adding more water, is the cheapest way to a better result."
    )


def pooled_sentence(done: Analysis) -> str:
    """Say how the class's value was made."""
    c = done.consensus
    return (
        f"The class's value is a random-effects mean of {c.n} {c.replicate}s "
        f"({c.method.upper()}); groups differ by {c.tau:.3g} g per 100 g water beyond their own "
        f"stated uncertainties (I² = {amount(100 * c.i_squared)}). "
        f"{c.u_shared:.2g} of its standard uncertainty of {c.u:.2g} g per 100 g water is shared "
        f"by all groups."
    )


def contrast_sentence(contrast: RouteContrast) -> str:
    """Say how far residue and titration lie apart, which needs no reference."""
    plain = span(contrast.apparent_low_percent, contrast.apparent_high_percent)
    left = span(contrast.low_percent, contrast.high_percent)
    return (
        "Residue minus titration needs no reference value: whatever the true solubility, the two "
        f"should agree. Over {contrast.n} runs they differ by "
        f"{percent(contrast.apparent_percent)} as computed ({plain}) and by "
        f"{percent(contrast.percent)} after the expected effects ({left})."
    )
