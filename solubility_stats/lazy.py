"""Public names that load their module on first use, so that nobody pays for a room not entered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from typing import Any


def on_first_use(package: str, homes: Mapping[str, str]) -> Callable[[str], Any]:
    """Return a module's ``__getattr__`` (PEP 562).

    Parameters
    ----------
    package : str
        Name of the package whose names these are.
    homes : mapping of str to str
        Public name to the module of the package that defines it; a name that is its own home
        is a module.
    """

    def load(name: str) -> Any:
        home = homes.get(name)
        if home is None:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        module = import_module(f"{package}.{home}")
        return module if home == name else getattr(module, name)

    return load
