"""Groups that did it twice and say so beside their code: "3 (redo)", "8 again"."""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence

from solubility_stats.sheets.drafts import Draft
from solubility_stats.sheets.places import RUN_WORDS, says_again

# "3 (redo)", "4 (2. Versuch)", "5 – omtag": what may stand behind the code of a group.
_ASIDE = re.compile(r"(?P<group>\S.*?)(?:\s*[(\[,–]\s*|\s+-\s*|\s+)(?P<said>[^()\[\],]+)[)\].]*")
# A second preparation, and not the first one corrected.
_ANEW = re.compile(
    rf"repeat(?:ed)?|re-?runs?|.*\d.*|.*(?<![^\W_])(?:{RUN_WORDS})(?![^\W_]).*", re.IGNORECASE
)


_LONGEST_CODE = 6


def is_group_again(code: str) -> bool:
    """Tell whether a text is the code of a group that did it twice: "2 (2nd try)"."""
    aside = _ASIDE.fullmatch(code)
    return aside is not None and len(aside["group"]) <= _LONGEST_CODE and says_again(aside["said"])


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
    groups = {str(d.values["group"]) for d in drafts if d.values.get("group")} | {*elsewhere}
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
