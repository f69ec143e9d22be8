"""The words of a heading, with those phrases made one word that mean more than their words."""

from __future__ import annotations

import re

_NOT_DISSOLVED = re.compile(
    r"\b(?:(?:did|does|do|was|is|has)\s*n['o]?t|not|never|un)[\s-]*(?:been\s+)?dissolv\w*"
    r"|\b(?:didn|doesn|wasn) t dissolv\w*|\bnicht gelöst\w*"
)
_WATER = re.compile(r"\bh\s?2\s?o\b")
# "After filtering + drying" joins two steps, not two weighings.
_STEPS = re.compile(r"(?<=ing) ?[+&] ?(?=\w+ing\b)")
# Dry powder is the reagent to one class and the residue to another.
_DRY_POWDER = re.compile(r"\b(dry|dried) powder\b")
# What water was used for; "failed to dissolve" speaks of something else.
_FOR_DISSOLVING = re.compile(r"\b(used|added|needed|taken|poured) to dissolve\b(?: it\b)?")
_WEIGHED_OUT = re.compile(
    r"\b(?:weigh(?:ed|ing|t)?|measured|measuring|tipped|spooned|poured|counted|portioned)\s+out\b"
)
_SUM_OF_FILLS = re.compile(
    r"\b(?:sum of|total of|all) (?:the |all |\w+ of the )*"
    r"(?:\d{1,2} |four |three |six |five )?(?:fills|pours|portions|readings|additions)\b"
)
# Paper to weigh on is no filter paper; solid taken off the filter paper is weighed without it, and
# solid "on the paper" may be either.
_WEIGHING_PAPER = re.compile(r"\bweigh(?:ing)? papers?\b|\bpapers? (?:to|for) weigh\w*")
_OFF_PAPER = re.compile(r"\b(?:from|off|off of|out of) (?:the |your |our )?(?:filter ?)?papers?\b")
_ON_PAPER = re.compile(r"\bon (?:the |your |our )?(?:filter ?)?papers?\b")
# Where something was put says nothing about what was weighed or measured.
_SOMEWHERE = re.compile(
    r"\b(?:in|into|inside|to|from|out of|off|off of|on|onto|under|at)\s+"
    r"(?:the\s+|a\s+|an\s+|your\s+|our\s+|ur\s+)?(?:\d+\s*ml\s+)?(?:weigh(?:ing)? )?"
    r"(?:water|beaker|flask|erlenmeyer|bottle|jar|cup|container|solution|mixture|funnel|sheet|table|"
    r"lab|bench|balance|boat|vial|tube|tub|board|label|drawer|schedule)\b"
)
# "Filter + residue" is weighed with its paper; "residue on the filter" is not.
_WITH_FILTER = re.compile(
    r"\bfilter\b(?=\s*(?:\+|&|and\b|with\b|plus\b|mit\b|und\b|et\b))"
    r"|(?<=[+&])\s*filter\b|\b(?:with|plus|and|und|mit)\s+(?:the\s+|its\s+)?filter\b(?!ing)"
)
_INCLUDE_UNITS = re.compile(r"\(?\b(?:please )?(?:include|incl|with|add|state|give)\.? units?\b\)?")
_WORD = re.compile(r"[^\W\d_]+\d*|\d+(?:st|nd|rd|th)\b|[%+]")


# What people say in place of the trade's word.
_SAYINGS = tuple(
    (re.compile(pattern), word)
    for pattern, word in (
        (r"\b(?:with no|no|without(?: the)?|w o|minus(?: the)?|excluding(?: the)?|less the) (?:filter ?)?paper\b"
         r"|\b(?:filter ?)?paper (?:already )?(?:removed|subtracted|taken off|excluded)\b", " residue "),
        (r"\bhow (?:hot|warm|cold)\b(?:/(?:hot|warm|cold)\b)?", " temperature "),
        (r"\b(?:came|come|comes|got|get|getting|gotten|was|is|we) back\b", " recovered "),
        (r"\b(?:put|placed|went|goes|returned) back\b|\bback in(?:to)? the (?:oven|heat)\b", " again heat "),
        (r"\b(?:went|goes|go|gone|passed|passes) into (?:the )?solution\b", " dissolved "),
        (r"\buntil (?:the |it )?(?:pink|colou?r|indicator|end ?point|turned|change[ds]?)\b.*", " endpoint "),
        (r"\b(?:began|begin|start|started) with\b", " initial "),
        (r"\bsol'?y\b", " solubility "),
        (r"\b(?:added|adds|adding|add) up\b", " total "),
        (r"\b(?:total|sum) of (?:[a-h] (?:and |& |\\+ )?){2,}", " total "),
        (r"\b(?:by|as|from) (?:the |a )?(?:difference|subtraction)\b", " "),
        (r"\b(?:to|at|until|till) (?:the |its )?end ?point\b", " endpoint "),
        (r"\b(?:a|the) second time\b", " again "),
        (r"\b(first|second|third|fourth|fifth|sixth|1st|2nd|3rd|4th|5th|6th) time (?=you|how|we)", r" fill \1 "),
        (r"\bwater (?:was |that was |we )?(?:poured|run|tipped|filled|put)(?: in| into| on)?\b", " water added "),
        (r"\b(?:rest|left|stand|stood|standing) without stirring\b", " settled "),
        (r"\bhow many g\b", " "),
        (r"\bhow many ml\b", " ml "),
        (r"\b(?:from|between) (?:the )?(?:end of )?stirring (?:and|to|until|till|before)\b.*filter\w*",
         " settled "),
        (r"\bhow many (?=(?:was|were|after|did|is|you|before|came|at|in|left|got|the|are)\b)", " "),
        (r"\b(?:warm|warming|hot|heating) ?plate\b", " hotplate "),
        (r"\b(?:after|once|when) (?:you |we |the balance was )?(?:tar(?:ed|ing)|zero(?:ed|ing))\b"
         r"(?: (?:the |your |our |a )?(?:weigh(?:ing)? )?(?:boat|paper|dish|beaker|container|cup|balance)\b)?",
         " tared "),
        (r"(?<=ed) ?[+&] ?(?=\w)", " and "),
        (r"\b(residue|solid|left|mass) (?:left )?in (?:the )?(?:evaporating )?(?:dish|basin)\b", r" \1 indish "),
    )
)  # fmt: skip


def words_of(heading: str) -> list[str]:
    """Return the words of a normalised heading, negated dissolving made one word."""
    text = _NOT_DISSOLVED.sub(" undissolved ", _WATER.sub(" water ", heading))
    for said, word in _SAYINGS:
        text = said.sub(word, text)
    text = _FOR_DISSOLVING.sub(r"\1", _STEPS.sub(" and ", text))
    text = _DRY_POWDER.sub(r"\1 drypowder", text)
    text = re.sub(r"\bhot plate\b", "hotplate", text)
    text = re.sub(r"\bhow much\b", "much", text)  # "how" alone asks for a method
    text = re.sub(r"\bput in(?:to)?\b", "added in", re.sub(r"\bplus\b", "+", text))
    text = _SUM_OF_FILLS.sub(" total ", text)
    text = re.sub(r"\b(start\w*|spread)\s+(?:out|off)\b", r"\1", text)
    text = re.sub(r"\Av (?=\S)", "volume ", text)
    text = _WEIGHING_PAPER.sub(" weighboat ", text)
    text = _ON_PAPER.sub(" onpaper ", _OFF_PAPER.sub(" ", text))
    text = _SOMEWHERE.sub(" ", text)
    text = _WITH_FILTER.sub(" paper ", text)
    text = _WEIGHED_OUT.sub(" initial weight ", text)
    text = re.sub(r"\bnumber of (?:your|the|our|ur) (?=group|team|bench|table|pair|station|section|class)",
                  "", text)  # fmt: skip
    text = re.sub(r"\b(?:number|no) (?:of|in|per)\b|\banzahl der\b", "count", text)
    return _WORD.findall(_INCLUDE_UNITS.sub(" ", text))
