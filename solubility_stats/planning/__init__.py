"""Planning: how many groups, which recipe, which step to improve, what to measure besides."""

from __future__ import annotations

from importlib import import_module
from typing import Any

_HOMES = {
    "GroupsNeeded": "groups",
    "groups_needed": "groups",
    "Improvement": "improve",
    "step_to_improve": "improve",
    "Recipe": "recipes",
    "recipe": "recipes",
    "compare_recipes": "recipes",
    "SeparationPlan": "separate",
    "measurement_to_separate": "separate",
}
__all__ = sorted(_HOMES)


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
