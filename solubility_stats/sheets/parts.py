"""Labs written up part by part on one sheet: where the title of the next part ends a table."""

from __future__ import annotations

import re

from solubility_stats.sheets.view import View

_LABEL_AND_VALUE = 2
_PART = re.compile(
    r"\s*(?:part|step|stage|station|teil|schritt|partie|étape|parte|paso|etapa|fase|del|deel|stap|"
    r"osa|vaihe|część|krok|část|bölüm)\s*(?:[A-H]|\d{1,2}|[IVX]{1,4})\s*(?:[:.)(–-].*)?",
    re.IGNORECASE,
)


def end_of_part(view: View, header: tuple[int, ...], floor: int, span: tuple[int, int]) -> int:
    """Return where a table ends if the title of the next part of the lab stands below a gap.

    "Part C: stirring" over labels with a value each, or over the names of the groups side by side,
    is nobody's run; a part with further lines like those above it goes on with the table.

    Parameters
    ----------
    view : View
        The sheet, upright; a turned one has no such titles.
    header : tuple of int
        Heading lines of the table.
    floor : int
        First line below the table as known so far.
    span : tuple of int
        First and last place of the table.
    """
    heading = view.get(header[-1], span[0])
    lines = [i for i in view.lines if header[-1] < i < floor]
    for line in lines:
        if view.turned or line - 1 in view.along or len(view.along[line]) != 1:
            continue
        title = view.cells[line, view.along[line][0]]
        if not isinstance(title.value, str) or not _PART.fullmatch(title.text):
            continue
        block: list[int] = []
        for below in lines[lines.index(line) + 1 :]:
            if below != (block[-1] if block else line) + 1:
                break
            block.append(below)
        wide = span[1] - span[0] >= _LABEL_AND_VALUE  # a run fills two columns as a label does
        few = wide and all(len(view.along[i]) <= _LABEL_AND_VALUE for i in block)
        firsts = [c.text.strip() for i in block if (c := view.get(i, span[0])) is not None]
        if block and (few or (heading is not None and heading.text.strip() in firsts)):
            return line
    return floor
