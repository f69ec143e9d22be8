"""From readings to a solubility per run: protocol, measurement equations, budgets, slips."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

# Each name loads its module on first use, so that reading a protocol does not pay for the rest.
_HOMES = {
    "Protocol": "protocol",
    "Override": "protocol",
    "Effect": "effects",
    "estimate": "estimates",
    "Estimates": "estimates",
    "Preparation": "preparation",
    "Slips": "slips",
    "find_slips": "slips",
}
__all__ = [
    "Effect",
    "Estimates",
    "Override",
    "Preparation",
    "Protocol",
    "Slips",
    "estimate",
    "find_slips",
]

if TYPE_CHECKING:
    from solubility_stats.measurement.effects import Effect
    from solubility_stats.measurement.estimates import Estimates, estimate
    from solubility_stats.measurement.preparation import Preparation
    from solubility_stats.measurement.protocol import Override, Protocol
    from solubility_stats.measurement.slips import Slips, find_slips


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
