"""Page, handouts, figures and tables for people; nothing here computes a result."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from solubility_stats.lazy import on_first_use

if TYPE_CHECKING:
    from solubility_stats.analysis import Analysis
    from solubility_stats.bias import Diagnosis
    from solubility_stats.report.handouts import write_handouts

__all__ = ["write_handouts", "write_report"]


def write_report(result: Analysis | Diagnosis, folder: str | os.PathLike[str]) -> Path:
    """Write the page, the tables and the figures of an analysis; return the page's path.

    Parameters
    ----------
    result : Analysis or Diagnosis
        From a diagnosis alone the rest is put together again: its estimates and curve are in it,
        but not the sheets, so the page says nothing of what was read.
    folder : path
        Gets ``report.html``, ``summary.json``, ``figures/`` and the CSV tables.
    """
    from solubility_stats.analysis import Analysis, from_diagnosis
    from solubility_stats.report.exports import write_tables
    from solubility_stats.report.page import write_page

    done = result if isinstance(result, Analysis) else from_diagnosis(result)
    write_tables(done, folder)
    return write_page(done, folder)


__getattr__ = on_first_use(__name__, {"write_handouts": "handouts"})
