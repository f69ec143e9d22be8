"""Why a bare solubility product gives no reference value.

The textbook route for a salt of ν₊ cations and ν₋ anions, s = (Ksp/(ν₊^ν₊ ν₋^ν₋))^(1/(ν₊+ν₋)),
sets activities equal to concentrations and knows no ion pairs. For calcium hydroxide it yields
about half of what is measured.
"""

from __future__ import annotations

from typing import NoReturn

from solubility_stats.errors import InputError
from solubility_stats.reference.convert import Solution, convert
from solubility_stats.reference.curves import curve


def naive_solubility(ksp: float, cations: int = 1, anions: int = 2) -> float:
    """Return the textbook solubility in mol/L from a solubility product, without activities.

    For teaching the size of the error only; no curve here is made from it.

    Parameters
    ----------
    ksp : float
        Solubility product in (mol/L)^(cations + anions).
    cations, anions : int
        Ions per formula unit; 1 and 2 for Ca(OH)2.

    Raises
    ------
    InputError
        If the product or a number of ions is not positive.

    Examples
    --------
    >>> round(naive_solubility(5.02e-6), 5)
    0.01079
    """
    if not (ksp > 0 and cations > 0 and anions > 0):
        raise InputError(
            "a solubility product and its numbers of ions must be positive",
            where="ksp",
            found=[ksp, cations, anions],
        )
    return float((ksp / (cations**cations * anions**anions)) ** (1 / (cations + anions)))


def curve_from_ksp(
    ksp: float,
    solute: str = "calcium hydroxide",
    *,
    cations: int = 1,
    anions: int = 2,
    t_c: float = 25.0,
) -> NoReturn:
    """Refuse to make a reference from a bare solubility product, and say by how much it is off.

    Parameters
    ----------
    ksp : float
        Solubility product.
    solute : str
        Solute to compare with.
    cations, anions : int
        Ions per formula unit.
    t_c : float
        Temperature of the comparison in °C.

    Raises
    ------
    InputError
        Always, with the naive and the measured value.
    """
    data = curve(solute)
    molar = naive_solubility(ksp, cations, anions)
    grams = convert(molar, "mol/L", solution=Solution(data.formula, t_c))
    value, u = data.at(t_c)
    raise InputError(
        f"a bare solubility product is no reference for {data.solute}: it sets activities equal "
        f"to concentrations and ignores ion pairs; Ksp = {ksp:.3g} gives {molar:.4g} mol/L, which "
        f"is {float(grams):.3g} g/100 g water or {100 * (float(grams) / value - 1):+.0f} % "
        f"against the measured {value:.3g} ± {u:.2g} at {t_c:g} °C",
        where="ksp",
        remedy=f"Use curve({data.solute!r}); its thermodynamic databases take activities and ion "
        "pairs into account.",
    )
