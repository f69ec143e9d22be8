"""Balances: resolution and air buoyancy."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from solubility_stats.errors import InputError

# Conventional conditions of mass calibration (OIML D 28): air 1.2 kg/m3, weights 8000 kg/m3.
AIR_DENSITY, WEIGHT_DENSITY = 1.2e-3, 8.0  # g/mL


def resolution_u(step: float) -> float:
    """Return the standard uncertainty of a reading displayed in steps of ``step``, same unit.

    Rectangular distribution of full width ``step``: u = step/√12 (GUM, JCGM 100:2008, F.2.2.1).

    Raises
    ------
    InputError
        If the step is not positive.
    """
    if not step > 0:
        raise InputError("a resolution must be positive", where="step", found=step)
    return step / math.sqrt(12.0)


def buoyancy_factor(
    density_g_per_ml: npt.ArrayLike, air_g_per_ml: float = AIR_DENSITY
) -> float | npt.NDArray[np.float64]:
    """Return mass divided by balance reading for an object of the given density.

    m/W = (1 − ρ_air/ρ_weights)/(1 − ρ_air/ρ_object), with weights of 8 g/mL.

    Parameters
    ----------
    density_g_per_ml : array_like
        Density of the object in g/mL.
    air_g_per_ml : float
        Density of the air in g/mL.

    Examples
    --------
    >>> round(float(buoyancy_factor(2.211)), 6)  # calcium hydroxide
    1.000393
    """
    rho = np.asarray(density_g_per_ml, dtype=float)
    if np.any(~(rho > air_g_per_ml)):
        raise InputError(
            "a density is not above that of air", where="density_g_per_ml", found=rho.tolist()
        )
    factor = np.asarray((1 - air_g_per_ml / WEIGHT_DENSITY) / (1 - air_g_per_ml / rho))
    return float(factor) if factor.ndim == 0 else factor
