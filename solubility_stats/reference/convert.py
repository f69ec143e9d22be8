"""Solubility units and bases: per mass or volume of water or of solution, by mass or amount.

Everything passes through one measure, *r*: grams of solute per gram of water. Units that speak of
a volume of solution need its density. It is either given, or follows from the density of water
and an apparent specific volume φ of the dissolved solid (mL/g): a solution of one gram of water
has the volume 1/ρ_w + φ r.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from solubility_stats.errors import InputError
from solubility_stats.reference.molar_mass import molar_mass
from solubility_stats.reference.water import density

Vector = npt.NDArray[np.float64]

# What people write -> name here. Names carry what they are per.
_SYNONYMS = {
    "g_per_100g_water": ("g/100 g water", "g/100 g", "g/100g", "g per 100 g water"),
    "g_per_100ml_water": ("g/100 mL water", "g_per_100mL_water", "g per 100 mL water"),
    "g_per_100ml_solution": ("g/100 mL solution", "g/100 mL", "g/100mL", "g_per_100mL_solution"),
    "g_per_l": ("g/L", "g_per_L", "g/L solution", "g per litre", "g/dm3"),
    "mass_percent": ("g_per_100g_solution", "g/100 g solution", "mass %", "wt%", "w/w %", "% w/w"),
    "mol_per_l": ("mol/L", "mol_per_L", "M", "mol/dm3"),
    "mmol_per_l": ("mmol/L", "mM"),
    "mol_per_kg_water": ("mol/kg", "mol_per_kg", "mol/kg water"),
    "mole_fraction": ("mol/mol",),
}
UNITS = tuple(_SYNONYMS)
_NEEDS_MOLAR_MASS = {"mol_per_l", "mmol_per_l", "mol_per_kg_water", "mole_fraction"}
_PER_SOLUTION_VOLUME = {"g_per_100ml_solution", "g_per_l", "mol_per_l", "mmol_per_l"}
# Below this many grams per gram of water an unknown φ between 0 and 1 mL/g changes the result by
# less than half of this, so the midpoint may stand in.
_DILUTE = 0.01
DEFAULT_PHI, DEFAULT_U_PHI = 0.4, 0.3


class Converted(NamedTuple):
    """A converted value and its standard uncertainty, same unit."""

    value: float | Vector
    u: float | Vector


@dataclass(frozen=True)
class Solution:
    """What a conversion needs to know besides the number.

    Attributes
    ----------
    formula : str
        Of the solute on the basis used; needed for amounts (mol).
    temperature_c : float or array
        Temperature in °C at which volumes are meant.
    density_g_per_ml, u_density_g_per_ml : float or array, optional
        Measured density of the solution; overrides ``phi``.
    phi_ml_per_g, u_phi_ml_per_g : float, optional
        Apparent specific volume of the dissolved solid in mL/g. Where neither is given, solutions
        below 1 g per 100 g water take 0.4 ± 0.3 mL/g and stronger ones are refused.
    """

    formula: str = ""
    temperature_c: float | Vector = 25.0
    density_g_per_ml: float | Vector | None = None
    u_density_g_per_ml: float | Vector = 0.0
    phi_ml_per_g: float | None = None
    u_phi_ml_per_g: float = 0.0


def unit_name(unit: str) -> str:
    """Return the name used here for a unit as people write it.

    Raises
    ------
    InputError
        If the unit is not known.
    """
    wanted = _squeezed(unit)
    for name, said in _SYNONYMS.items():
        if wanted in {_squeezed(s) for s in (name, *said)}:
            return name
    raise InputError("unknown solubility unit", found=unit, expected=", ".join(UNITS))


def convert(
    value: npt.ArrayLike,
    unit: str,
    to: str = "g_per_100g_water",
    *,
    solution: Solution | None = None,
) -> float | Vector:
    """Convert a solubility from one unit to another.

    Parameters
    ----------
    value : array_like
        Solubility in ``unit``.
    unit, to : str
        Units; see ``UNITS``. "g/100 g" is taken per 100 g of *water*, "g/100 mL" per 100 mL of
        *solution*.
    solution : Solution, optional
        Formula, temperature and density where the units need them.

    Returns
    -------
    float or ndarray
        Float for scalar input.

    Raises
    ------
    InputError
        If a unit is unknown, a value impossible, or formula or density are missing.

    Examples
    --------
    >>> lime = Solution("Ca(OH)2", 25.0)
    >>> round(convert(0.0203, "mol/L", solution=lime), 3)  # Bates, Bower, Smith 1956
    0.151
    """
    return convert_u(value, 0.0, unit, to, solution=solution).value


def convert_u(
    value: npt.ArrayLike,
    u: npt.ArrayLike,
    unit: str,
    to: str = "g_per_100g_water",
    *,
    solution: Solution | None = None,
) -> Converted:
    """Convert a solubility and its standard uncertainty.

    Adds the uncertainties of the solution density (or φ), the water density and the molar mass to
    that of the value, by central differences (GUM, JCGM 100:2008, 5.1.3 note 2).

    Parameters
    ----------
    value, u : array_like
        Solubility and standard uncertainty in ``unit``.
    unit, to : str
        Units as in :func:`convert`.
    solution : Solution, optional
        Formula, temperature and density where the units need them.

    Returns
    -------
    Converted
        ``(value, u)`` in the unit ``to``.

    Raises
    ------
    InputError
        As :func:`convert`.
    """
    start, end = unit_name(unit), unit_name(to)
    given = np.asarray(value, dtype=float)
    _check_value(given, start)
    about = _Inputs.of(solution or Solution(), start, end, given)

    def result(x: Vector, inputs: _Inputs) -> Vector:
        return _from_ratio(_to_ratio(x, start, inputs), end, inputs)

    centre = result(given, about)
    step = np.maximum(np.abs(given) * 1e-6, 1e-12)
    slope = (result(given + step, about) - result(given - step, about)) / (2 * step)
    variance = (slope * np.asarray(u, dtype=float)) ** 2
    for up, down in about.shifted():
        variance = variance + ((result(given, up) - result(given, down)) / 2) ** 2
    spread = np.sqrt(variance)
    if np.ndim(centre) == 0 and np.ndim(spread) == 0:
        return Converted(float(centre), float(spread))
    return Converted(*np.broadcast_arrays(centre, spread))


def to_hydrate(
    g_anhydrous_per_100g_water: npt.ArrayLike, hydrate: str, anhydrous: str
) -> float | Vector:
    """Return grams of hydrate that dissolve in 100 g of *added* water.

    With r grams of anhydrous salt per 100 g of total water and q = M(hydrate)/M(anhydrous):
    100 q r/(100 − r (q − 1)), because the water of crystallisation joins the solvent.

    Parameters
    ----------
    g_anhydrous_per_100g_water : array_like
        Anhydrous salt in g per 100 g water.
    hydrate, anhydrous : str
        Formulas, e.g. ``"CaSO4.2H2O"`` and ``"CaSO4"``.

    Raises
    ------
    InputError
        If so much is dissolved that no added water would be left.
    """
    q = molar_mass(hydrate).value / molar_mass(anhydrous).value
    r = np.asarray(g_anhydrous_per_100g_water, dtype=float)
    left = 100 - r * (q - 1)
    if np.any(left <= 0):
        raise InputError(
            "the crystal water alone would dissolve this much",
            where=hydrate,
            found=float(np.max(r)),
        )
    out = np.asarray(100 * q * r / left)
    return float(out) if out.ndim == 0 else out


def to_anhydrous(
    g_hydrate_per_100g_water: npt.ArrayLike, hydrate: str, anhydrous: str
) -> float | Vector:
    """Return grams of anhydrous salt per 100 g of total water: :func:`to_hydrate` back."""
    q = molar_mass(hydrate).value / molar_mass(anhydrous).value
    h = np.asarray(g_hydrate_per_100g_water, dtype=float)
    out = np.asarray(100 * h / (100 * q + h * (q - 1)))
    return float(out) if out.ndim == 0 else out


@dataclass(frozen=True)
class _Inputs:
    """Plain numbers of one conversion, so that each can be shifted by its uncertainty."""

    molar: float
    u_molar: float
    water: Vector
    u_water: Vector
    phi: float
    u_phi: float
    measured: Vector | None
    u_measured: Vector

    @classmethod
    def of(cls, solution: Solution, start: str, end: str, given: Vector) -> _Inputs:
        molar, u_molar = 1.0, 0.0
        if {start, end} & _NEEDS_MOLAR_MASS:
            if not solution.formula:
                raise InputError(
                    f"converting {start} to {end} needs the formula of the solute",
                    where="solution",
                    remedy="Give Solution('Ca(OH)2', temperature_c=25.0) with your formula.",
                )
            molar, u_molar = molar_mass(solution.formula)
        water, u_water = density(solution.temperature_c)
        phi, u_phi = solution.phi_ml_per_g, solution.u_phi_ml_per_g
        measured = solution.density_g_per_ml
        inputs = cls(
            molar,
            u_molar,
            np.asarray(water),
            np.asarray(u_water),
            DEFAULT_PHI if phi is None else phi,
            DEFAULT_U_PHI if phi is None else u_phi,
            None if measured is None else np.asarray(measured, dtype=float),
            np.asarray(solution.u_density_g_per_ml, dtype=float),
        )
        if phi is None and measured is None and {start, end} & _PER_SOLUTION_VOLUME:
            inputs._refuse_strong(given, start)
        return inputs

    def _refuse_strong(self, given: Vector, start: str) -> None:
        if np.any(_to_ratio(given, start, self) > _DILUTE):
            raise InputError(
                "a strong solution needs its density to convert volumes",
                where="solution",
                found=float(np.max(given)),
                expected="density_g_per_ml, or phi_ml_per_g of the dissolved solid",
            )

    def shifted(self) -> list[tuple[_Inputs, _Inputs]]:
        """Return pairs of inputs moved up and down by one standard uncertainty each."""
        pairs = [
            (
                replace(self, molar=self.molar + self.u_molar),
                replace(self, molar=self.molar - self.u_molar),
            ),
            (
                replace(self, water=self.water + self.u_water),
                replace(self, water=self.water - self.u_water),
            ),
        ]
        if self.measured is None:
            up = replace(self, phi=self.phi + self.u_phi)
            return [*pairs, (up, replace(self, phi=self.phi - self.u_phi))]
        up = replace(self, measured=self.measured + self.u_measured)
        return [*pairs, (up, replace(self, measured=self.measured - self.u_measured))]


def _water_molar() -> float:
    return molar_mass("H2O").value


def _per_litre_to_ratio(grams_per_ml: Vector, i: _Inputs) -> Vector:
    if i.measured is not None:
        return np.asarray(grams_per_ml / (i.measured - grams_per_ml))
    return np.asarray(grams_per_ml / (i.water * (1 - i.phi * grams_per_ml)))


def _ratio_to_per_litre(ratio: Vector, i: _Inputs) -> Vector:
    if i.measured is not None:
        return np.asarray(i.measured * ratio / (1 + ratio))
    return np.asarray(ratio / (1 / i.water + i.phi * ratio))


_TO: dict[str, Callable[[Vector, _Inputs], Vector]] = {
    "g_per_100g_water": lambda x, i: x / 100,
    "g_per_100ml_water": lambda x, i: x / (100 * i.water),
    "g_per_100ml_solution": lambda x, i: _per_litre_to_ratio(x / 100, i),
    "g_per_l": lambda x, i: _per_litre_to_ratio(x / 1000, i),
    "mass_percent": lambda x, i: x / (100 - x),
    "mol_per_l": lambda x, i: _per_litre_to_ratio(x * i.molar / 1000, i),
    "mmol_per_l": lambda x, i: _per_litre_to_ratio(x * i.molar / 1e6, i),
    "mol_per_kg_water": lambda x, i: x * i.molar / 1000,
    "mole_fraction": lambda x, i: x / (1 - x) * i.molar / _water_molar(),
}
_FROM: dict[str, Callable[[Vector, _Inputs], Vector]] = {
    "g_per_100g_water": lambda r, i: 100 * r,
    "g_per_100ml_water": lambda r, i: 100 * r * i.water,
    "g_per_100ml_solution": lambda r, i: 100 * _ratio_to_per_litre(r, i),
    "g_per_l": lambda r, i: 1000 * _ratio_to_per_litre(r, i),
    "mass_percent": lambda r, i: 100 * r / (1 + r),
    "mol_per_l": lambda r, i: 1000 * _ratio_to_per_litre(r, i) / i.molar,
    "mmol_per_l": lambda r, i: 1e6 * _ratio_to_per_litre(r, i) / i.molar,
    "mol_per_kg_water": lambda r, i: 1000 * r / i.molar,
    "mole_fraction": lambda r, i: (r / i.molar) / (r / i.molar + 1 / _water_molar()),
}


def _to_ratio(x: Vector, unit: str, inputs: _Inputs) -> Vector:
    return np.asarray(_TO[unit](x, inputs))


def _from_ratio(ratio: Vector, unit: str, inputs: _Inputs) -> Vector:
    return np.asarray(_FROM[unit](ratio, inputs))


def _check_value(given: Vector, unit: str) -> None:
    if np.any(~np.isfinite(given)) or np.any(given < 0):
        raise InputError(
            "a solubility must be a finite number of zero or more",
            where=unit,
            found=np.atleast_1d(given)[~(np.atleast_1d(given) >= 0)][:5].tolist(),
        )
    ceiling = {"mass_percent": 100.0, "mole_fraction": 1.0}.get(unit, np.inf)
    if np.any(given >= ceiling):
        raise InputError(
            f"a {unit} of {ceiling:g} or more leaves no water",
            found=float(np.max(given)),
            expected=f"below {ceiling:g}",
        )


def _squeezed(unit: str) -> str:
    return str(unit).strip().casefold().replace(" ", "").replace("per", "/").replace("_", "")
