"""Writing files so that nothing half-written stays behind and no cell runs as a formula."""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import pandas as pd

from solubility_stats.display import json_safe

# A spreadsheet program runs a cell that starts with one of these (common practice: the
# characters named in public guidance on CSV injection).
FORMULA_STARTERS = ("=", "+", "-", "@", "\t", "\r", "\n")

# File names from another system can hold bytes that are no text; they are shown as escapes.
_ODD: Final = "backslashreplace"


@contextmanager
def replacing(path: str | os.PathLike[str]) -> Iterator[Path]:
    """Yield a temporary path beside ``path`` and rename it into place on success.

    On an exception the temporary file is removed and ``path`` is left as it was.
    """
    target = Path(path)
    target.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=".", suffix=target.suffix, dir=target.parent)
    os.close(handle)
    draft = Path(name)
    try:
        yield draft
        draft.chmod(0o644)
        draft.replace(target)
    finally:
        draft.unlink(missing_ok=True)


def harmless(cell: Any) -> Any:
    """Return ``cell`` so that a spreadsheet program shows it instead of running it.

    Text that begins like a formula gets a leading apostrophe; numbers, and text that is only a
    number, pass through unchanged.
    """
    if not isinstance(cell, str) or not cell.startswith(FORMULA_STARTERS):
        return cell
    try:
        float(cell)
    except ValueError:
        return "'" + cell
    return cell


def write_text(text: str, path: str | os.PathLike[str]) -> Path:
    """Write UTF-8 text with Unix line ends; return the path."""
    with replacing(path) as draft:
        draft.write_text(text, encoding="utf-8", errors=_ODD, newline="\n")
    return Path(path)


def write_csv(frame: pd.DataFrame, path: str | os.PathLike[str]) -> Path:
    """Write a frame as UTF-8 CSV without its index, formulas made harmless; return the path.

    Numbers are written with 12 significant digits, so equal results give equal bytes.
    """
    safe = frame.copy()
    safe.columns = pd.Index([harmless(str(c)) for c in safe.columns])
    for position, dtype in enumerate(safe.dtypes):
        if not (pd.api.types.is_numeric_dtype(dtype) or pd.api.types.is_bool_dtype(dtype)):
            safe.isetitem(position, [harmless(c) for c in safe.iloc[:, position]])
    with replacing(path) as draft:
        safe.to_csv(
            draft,
            index=False,
            encoding="utf-8",
            errors=_ODD,
            lineterminator="\n",
            float_format="%.12g",
        )
    return Path(path)


def write_json(thing: Any, path: str | os.PathLike[str]) -> Path:
    """Write anything :func:`solubility_stats.display.json_safe` understands; return the path."""
    text = json.dumps(json_safe(thing), indent=2, ensure_ascii=False, allow_nan=False)
    return write_text(text + "\n", path)
