"""What stands beside the code of a group: that it did it twice, "3 (redo)", or where it sat."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.places import GROUP_WORDS, RUN_WORDS, says_again

# "3 (redo)", "4 (2. Versuch)", "5 – omtag": what may stand behind the code of a group.
_ASIDE = re.compile(
    rf"(?P<group>(?:(?:{GROUP_WORDS})\.?\s+)?\S.*?)(?:\s*[(\[,–]\s*|\s+-\s*|\s+)"
    r"(?P<said>[^()\[\],]+)[)\].]*",
    re.IGNORECASE,
)
# A second preparation, and not the first one corrected.
_ANEW = re.compile(
    rf"repeat(?:ed)?|re-?runs?|.*\d.*|.*(?<![^\W_])(?:{RUN_WORDS})(?![^\W_]).*", re.IGNORECASE
)


# "5 (back table)": a number, and a bracket that says more about the group.
_REMARK = re.compile(r"(?P<code>\d{1,3}[A-Za-z]?)\s*[(\[](?P<said>[^()\[\]]*)[)\]]")
# A number in the bracket may tell two groups apart.
_IN_WORDS = re.compile(r"\D*[^\W\d_]{3}\D*")
_LONGEST_CODE = 6


def is_group_and_more(code: str) -> bool:
    """Tell whether a text is the code of a group and a remark: "2 (2nd try)", "5 (by the sink)"."""
    if _REMARK.fullmatch(code):
        return True
    aside = _ASIDE.fullmatch(code)
    return aside is not None and len(aside["group"]) <= _LONGEST_CODE and says_again(aside["said"])


_BEHIND_CODE = re.compile(r"\s*[(\[,–:]|\s+-\s")


def same_group_again(drafts: Sequence[Draft], elsewhere: Collection[str] = ()) -> None:
    """Take "3 (redo)" for group 3 where group 3 stands in the table too.

    What is called a repeat is a second preparation, where the first stands once beside it.

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of a table, changed in place.
    elsewhere : collection of str
        Codes of groups in other tables of the file.
    """
    _part_runs(drafts)
    groups = {str(d.values["group"]) for d in drafts if d.values.get("group")} | {*elsewhere}
    void = (str(d.values.get("group") or "") for d in drafts if d.set_aside)
    groups |= {_BEHIND_CODE.split(code)[0] for code in void}  # "5 - IGNORE" beside "5 redo"
    for draft in drafts:
        code = str(draft.values.get("group") or "")
        aside = _ASIDE.fullmatch(code) if not code.isalnum() else None
        if not aside or aside["group"] not in groups or not says_again(aside["said"]):
            continue
        draft.values["group"] = aside["group"]
        peers = [d for d in drafts if d.key[:3] == draft.key[:3] and not d.set_aside]
        if _ANEW.fullmatch(aside["said"].strip()) and not any(d.key[3] for d in peers):
            for d in peers if len(peers) == 2 else [draft]:
                d.values["run"] = "2" if d is draft else "1"
        else:
            draft.again = "again"


_GROUP_AND_RUN = re.compile(
    rf"(?P<group>\w{{1,6}})[\s,(–-]+(?:{RUN_WORDS})\s*(?:n[°º]\s*|no\.?\s*|#)?(?P<run>[1-4])\)?",
    re.IGNORECASE,
)


def _part_runs(drafts: Sequence[Draft]) -> None:
    """Part "3 trial 1" and "3 trial 2" into the group and its runs."""
    told = [(d, _GROUP_AND_RUN.fullmatch(str(d.values.get("group") or ""))) for d in drafts]
    runs: dict[str, set[str]] = {}
    for _, found in told:
        if found is not None:
            runs.setdefault(found["group"], set()).add(found["run"])
    for draft, found in told:
        if found is not None and len(runs[found["group"]]) > 1 and not draft.key[3]:
            draft.values |= {"group": found["group"], "run": found["run"]}


def without_remarks(drafts: Sequence[Draft]) -> None:
    """Take "5 (back table)" for group 5 where the other groups have bare codes.

    Left as it is where its section has a group 5 besides: it may be another one.

    Parameters
    ----------
    drafts : sequence of Draft
        The runs of a table, changed in place.
    """
    codes = [(d, str(d.values.get("group") or "")) for d in drafts]
    remarked = [
        (d, m["code"])
        for d, code in codes
        if (m := _REMARK.fullmatch(code)) and _IN_WORDS.fullmatch(m["said"])
    ]
    bare = sum(re.fullmatch(r"\d{1,3}[A-Za-z]?", code) is not None for _, code in codes)
    if bare < 2 * len(remarked):
        return
    keys = [d.key[:3] for d in drafts] + [(*d.key[:2], code) for d, code in remarked]
    for draft, code in remarked:
        if keys.count((*draft.key[:2], code)) == 1:
            draft.values["group"] = code
