"""Every public name carries a numpydoc docstring that lists its parameters with their types."""

from __future__ import annotations

import dataclasses
import inspect
import re
from importlib import import_module

import pytest

ROOMS = (
    "bias", "datasets", "measurement", "planning", "pooling", "reference", "report", "sheets",
    "simulation",
)  # fmt: skip
_SECTION = re.compile(r"^(\w[\w ]*)\n-{3,}$", flags=re.M)


def _public() -> list[tuple[str, object]]:
    found: dict[int, tuple[str, object]] = {}
    for module in ("", *(f".{room}" for room in ROOMS)):
        loaded = import_module(f"solubility_stats{module}")
        for name in getattr(loaded, "__all__", ()):
            thing = getattr(loaded, name)
            if inspect.isclass(thing) or inspect.isroutine(thing):
                found.setdefault(id(thing), (f"{thing.__module__}.{name}", thing))
    return sorted(found.values(), key=lambda pair: pair[0])


PUBLIC = _public()


def _sections(doc: str) -> dict[str, str]:
    parts = _SECTION.split(inspect.cleandoc(doc))
    return {"": parts[0], **dict(zip(parts[1::2], parts[2::2], strict=True))}


def _entries(section: str) -> dict[str, tuple[str, str]]:
    """Return name -> (type, text) of each entry of a section."""
    found: dict[str, tuple[str, str]] = {}
    for block in re.split(r"\n(?=\S)", section.strip("\n")):
        head, _, text = block.partition("\n")
        names, _, kind = head.partition(" : ")
        for name in names.split(","):
            found[name.strip().lstrip("*")] = (kind.strip(), text.strip())
    return found


def _parameters(thing: object) -> list[str]:
    try:
        signature = inspect.signature(thing)  # type: ignore[arg-type]
    except ValueError:
        return []
    return [n for n in signature.parameters if n not in ("self", "cls")]


def _gathered(thing: object) -> set[str]:
    """Return the names of ``*args`` and ``**kwargs``, which numpydoc leaves without a type."""
    kinds = (inspect.Parameter.VAR_POSITIONAL, inspect.Parameter.VAR_KEYWORD)
    found = inspect.signature(thing).parameters.values()  # type: ignore[arg-type]
    return {p.name for p in found if p.kind in kinds}


def _faults(name: str, thing: object) -> list[str]:
    doc = inspect.getdoc(thing) or ""
    own = getattr(thing, "__doc__", None)
    if not own or not doc.strip():
        return [f"{name}: no docstring"]
    sections = _sections(doc)
    faults = []
    if not sections[""].split("\n\n")[0].rstrip().endswith((".", ":")):
        faults.append(f"{name}: the summary is no sentence")
    wanted = _parameters(thing)
    if inspect.isclass(thing) and issubclass(thing, Exception):
        return faults
    if not wanted:
        return faults
    described = {
        **_entries(sections.get("Parameters", "")),
        **_entries(sections.get("Attributes", "")),
    }
    gathered = _gathered(thing)
    missing = [p for p in wanted if p not in described]
    if missing:
        faults.append(f"{name}: {', '.join(missing)} not described")
    for parameter in wanted:
        kind, text = described.get(parameter, ("-", ""))
        if parameter in gathered:
            continue
        # Without a type of its own an entry must say where it is described.
        pointed = re.search(r"\b(?:[Ss]ee|[Aa]s in|[Aa]s for|Only)\b", text)
        if not (kind or pointed or dataclasses.is_dataclass(thing)):
            faults.append(f"{name}: {parameter} has no type")
    return faults


@pytest.mark.parametrize(("name", "thing"), PUBLIC, ids=[name for name, _ in PUBLIC])
def test_public_name_is_documented(name, thing):
    faults = _faults(name, thing)
    assert not faults, "\n".join(faults)


@pytest.mark.parametrize(("name", "thing"), PUBLIC, ids=[name for name, _ in PUBLIC])
def test_public_methods_have_a_docstring(name, thing):
    if not inspect.isclass(thing) or not thing.__module__.startswith("solubility_stats"):
        return
    bare = [
        key
        for key, member in vars(thing).items()
        if not key.startswith("_")
        and (inspect.isroutine(member) or isinstance(member, (property, classmethod)))
        and not inspect.getdoc(member)
    ]
    assert not bare, f"{name}: {', '.join(bare)}"


def test_the_walk_finds_faults(tmp_path):
    def bare(a, b):
        """Do something.

        Parameters
        ----------
        a
            First.
        """

    assert _faults("bare", bare) == ["bare: b not described", "bare: a has no type"]
    assert len(PUBLIC) > 50


# A unit in the name of a parameter, or a word for it in its entry.
_UNIT_NAMES = re.compile(r"(?:^|_)(?:g|ml|k|c|min|percent|mol_per_l|g_per_100g|per_\w+|relative)$")
_UNIT_WORDS = re.compile(
    r"\b(?:g|mL|K|min|mol|degC|percent|units?|fraction|relative|probability|confidence|share"
    r"|degrees of freedom|p-value|seed|level|factor|ratio|dimensionless)\b|°C|%",
    flags=re.IGNORECASE,
)
_NUMBERS = re.compile(r"\b(?:float|ndarray(?! of (?:bool|int|str))|array_like)\b")
_WITHOUT_UNIT = re.compile(r"^(?:level|alpha|power|seed|rng|dof)$")


def _without_unit(thing: object) -> list[str]:
    described = {
        name: entry
        for section in ("Parameters", "Attributes")
        for name, entry in _entries(_sections(inspect.getdoc(thing) or "").get(section, "")).items()
    }
    # Results with a field ``unit`` say it there, for all their numbers.
    if "unit" in described:
        return []
    return [
        name
        for name, (kind, text) in described.items()
        if _NUMBERS.search(kind)
        and not _UNIT_NAMES.search(name)
        and not _WITHOUT_UNIT.match(name)
        and not _UNIT_WORDS.search(f"{kind} {text}")
    ]


# The pooling room takes values of any unit and returns them in the same.
@pytest.mark.parametrize(
    ("name", "thing"),
    [pair for pair in PUBLIC if ".pooling." not in pair[0]],
    ids=[name for name, _ in PUBLIC if ".pooling." not in name],
)
def test_numbers_are_documented_with_their_unit(name, thing):
    bare = _without_unit(thing)
    assert not bare, f"{name}: no unit for {', '.join(bare)}"


def test_a_number_without_unit_is_found():
    def bare(volume, mass_g):
        """Do something.

        Parameters
        ----------
        volume, mass_g : float
            Of the water and of the solid.
        """

    assert _without_unit(bare) == ["volume"]
