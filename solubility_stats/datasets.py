"""The demo semester: an invented class, found in a checkout and in an installed package alike."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from solubility_stats.errors import InputError


@dataclass(frozen=True)
class DemoSemester:
    """Files of an invented semester.

    Attributes
    ----------
    files : tuple of Path
        What the sections handed in: two workbooks and one text file.
    protocol : Path
        What was used in the lab.
    dictionary : Path
        What each column means, and how the data were made.
    """

    files: tuple[Path, ...]
    protocol: Path
    dictionary: Path


def folder() -> Path:
    """Return the folder of data sets.

    Raises
    ------
    InputError
        If the data sets were left out of the installation.
    """
    package = Path(__file__).resolve().parent
    # Inside an installed package; beside it in a checkout.
    for place in (package / "_datasets", package.parent / "datasets"):
        if (place / "demo_semester").is_dir():
            return place
    raise InputError(
        "the demo data are not installed",
        where=str(package),
        remedy="Install the package again, or work from a full checkout.",
    )


def demo_semester() -> DemoSemester:
    """Return the files of the demo semester (invented college, groups and readings).

    Examples
    --------
    >>> import solubility_stats as ss
    >>> demo = ss.datasets.demo_semester()
    >>> records = ss.read_class(demo.files)  # doctest: +SKIP
    """
    place = folder() / "demo_semester"
    files = sorted(p for p in place.iterdir() if p.suffix in {".xlsx", ".csv"})
    return DemoSemester(tuple(files), place / "protocol.toml", place / "README.md")
