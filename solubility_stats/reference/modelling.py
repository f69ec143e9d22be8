"""From a solute's sources to one combined model."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from solubility_stats.errors import InputError
from solubility_stats.reference.combine import CARRY_K, Combined
from solubility_stats.reference.fits import fit_source
from solubility_stats.reference.solutes import Solute

# Sources that span fewer kelvin have no usable slope of their own.
NARROW_K = 10.0


def build_model(data: Solute, keys: Iterable[str] | None = None) -> Combined:
    """Fit and combine sources.

    Parameters
    ----------
    data : Solute
        The solute with all its sources.
    keys : iterable of str, optional
        Which sources; by default those marked for combination. Sources of a single temperature
        alone are carried along the default curve for at most 10 K.

    Raises
    ------
    InputError
        If no source is left.
    """
    wanted = None if keys is None else set(keys)
    used = [s for s in data.sources if (s.combine if wanted is None else s.key in wanted)]
    if not used:
        raise InputError("no source to build a curve from", where=data.name)
    shape = None
    if wanted is not None and max(np.ptp(s.t_c) for s in used) < NARROW_K:
        wide = any(s.combine and np.ptp(s.t_c) >= NARROW_K for s in data.sources)
        shape = build_model(data) if wide else None
    reach = CARRY_K if shape is not None else 0.0
    families = list(dict.fromkeys(s.family for s in used))
    return Combined(
        names=tuple(s.key for s in used),
        fits=tuple(fit_source(s.t_c, s.value, s.u_relative) for s in used),
        family=np.array([families.index(s.family) for s in used]),
        accuracy=np.array([s.accuracy for s in used]),
        prior=data.prior,
        low_c=max(data.range_c[0], min(float(s.t_c.min()) for s in used) - reach),
        high_c=min(data.range_c[1], max(float(s.t_c.max()) for s in used) + reach),
        shape=shape,
    )
