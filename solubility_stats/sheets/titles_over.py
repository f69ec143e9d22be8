"""Guards: titles of blocks taken for headings, and headings taken for the names of groups.

What stands over a heading for groups or trials is the title of a block, no heading: the codes below
"m start (g)" over "group | run 1 | run 2" are not what was weighed in. And no group is called "Dish
empty (g)", as where a turned table ran on into the headings of the next one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from solubility_stats.quantities import quantity
from solubility_stats.sheets.drafts import Draft, is_reading
from solubility_stats.sheets.field import Field
from solubility_stats.sheets.head import Know
from solubility_stats.sheets.model import RawCell

_KEYS = ("section", "group", "run")
_NOTE = "a heading for groups or trials stands below it: the title of a block that was not read"


def without_titles_over(
    fields: Sequence[Field], values: Mapping[int, Sequence[RawCell | None]], know: Know
) -> list[Field]:
    """Leave readings open below whose heading "group" stands, which names what is below it."""
    done = []
    for f in fields:
        numbers = f.column and quantity(f.column).kind == "number"  # "gr." may be a way to filter
        cells = values.get(f.place, ()) if numbers else ()
        texts = {c.value for c in cells if c is not None and isinstance(c.value, str)}
        if any(r.column in _KEYS and r.how == "vocabulary" for r in (know((t,)) for t in texts)):
            f = replace(f, column="", state="open", note=_NOTE)
        done.append(f)
    return done


_HEADED = "its group has the name of a heading: two tables that could not be told apart"


def without_headings_as_groups(drafts: Sequence[Draft], know: Know) -> None:
    """Set the lines of a table aside of which two or more are named like a measured column."""
    readings = [(d, know((d.key[2],))) for d in drafts if d.key[2]]
    headed = [d for d, r in readings if r.column and r.unit and is_reading(r.column)]
    for draft in drafts if len(headed) > 1 else ():
        draft.set_aside = draft.set_aside or _HEADED
