"""Group codes replaced wherever a reading of a class shows them, not only in the group column.

A caption "Group 3" over a card, a sheet "Team 3" or a note that names the place of a run would
give away what the column hides.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from pathlib import PurePath

import pandas as pd

from solubility_stats.records import ClassRecords
from solubility_stats.sheets.places import group_of_sheet, groups_in

_ALSO = re.compile(r"(?<=also group: )[^;]+")


def recoded(text: str, codes: Mapping[str, str], known: Iterable[str] = ()) -> str:
    """Return a text with the groups it names by a word and a code under their pseudonyms.

    Parameters
    ----------
    text : str
        A caption, a name of a sheet, a note.
    codes : mapping of str to str
        Pseudonyms by code.
    known : iterable of str
        Codes the text is known to name, however it does.
    """
    text = _ALSO.sub(lambda m: codes.get(m[0], "[group]"), text)
    named = {group_of_sheet(text), *groups_in(text), *known}
    for code in sorted(named & codes.keys(), key=len, reverse=True):
        text = re.sub(rf"(?<![^\W_]){re.escape(code)}(?![^\W_])", codes[code], text)
    return text


def without_codes(records: ClassRecords, codes: Mapping[str, str]) -> ClassRecords:
    """Return the records with every text that names a group under its pseudonym.

    The name of a sheet or file that holds the runs of one group is that of the group.
    """
    ledger = records.ledger.copy()
    also = ledger["note"].str.extract(r"also group: ([^;]+)")[0].fillna("")
    ledger["raw"] = [
        recoded(raw, codes, [code]) if code else raw
        for raw, code in zip(ledger["raw"], also, strict=True)
    ]
    ledger["raw"] = ledger["raw"].astype("str")
    sheets = _of_one_group(records.runs, "source_sheet")
    files = {
        name: f"{code}{PurePath(name).suffix}"
        for name, code in _of_one_group(records.runs, "source_file").items()
    }
    names = sheets | files

    def told(text: str) -> str:
        for name in sorted(names, key=len, reverse=True):
            text = text.replace(name, names[name]) if name else text
        return recoded(text, codes)

    account = {
        what: "\n".join(map(told, said.split("\n"))) if isinstance(said, str) else said
        for what, said in records.account.items()
    }
    renamed = {
        "runs": records.runs.replace({"source_sheet": sheets, "source_file": files}),
        "ledger": ledger.replace({"sheet": sheets, "file": files}),
        "headings": records.headings.replace({"sheet": sheets, "file": files}),
        "flags": records.flags,
    }
    frames = {name: _recoded(frame, codes) for name, frame in renamed.items()}
    return replace(records, **frames, account=account)


def _of_one_group(runs: pd.DataFrame, where: str) -> dict[str, str]:
    """Return the pseudonym of the group by the sheets or files that hold one group only."""
    groups = runs[runs["group"] != ""].groupby(where)["group"].unique()
    return {str(name): str(found[0]) for name, found in groups.items() if len(found) == 1}


def _recoded(frame: pd.DataFrame, codes: Mapping[str, str]) -> pd.DataFrame:
    texts = [c for c in frame.columns if frame[c].dtype == "str" and c not in ("group", "run_id")]
    changed = {}
    for name in texts:
        known = {text: recoded(text, codes) for text in frame[name].dropna().unique()}
        changed[name] = frame[name].map(known).astype("str")
    return frame.assign(**changed)
