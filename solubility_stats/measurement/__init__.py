"""From readings to a solubility per run: protocol, measurement equations, budgets, slips."""

from __future__ import annotations

from typing import TYPE_CHECKING

from solubility_stats.lazy import on_first_use

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


__getattr__ = on_first_use(__name__, _HOMES)


def __dir__() -> list[str]:
    return __all__
