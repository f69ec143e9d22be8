"""Planning: how many groups, which recipe, which step to improve, what to measure besides."""

from __future__ import annotations

from solubility_stats.lazy import on_first_use

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


__getattr__ = on_first_use(__name__, _HOMES)


def __dir__() -> list[str]:
    return __all__
