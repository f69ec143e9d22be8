"""What the arithmetic check needs to know of a solute: formula, acid it takes, likely mix-ups."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from solubility_stats.errors import InputError


@dataclass(frozen=True)
class Substance:
    """Formula of a solute and the formulas its molar mass gets confused with.

    Attributes
    ----------
    formula : str
        Formula whose molar mass is right.
    equivalents : int
        Moles of strong acid that neutralise one mole; 0 where an acid titration says nothing.
    mistaken : tuple of (str, str)
        Code of the slip and the formula used by mistake.
    """

    formula: str
    equivalents: int = 0
    mistaken: tuple[tuple[str, str], ...] = ()

    @property
    def molar_mass(self) -> float:
        """Molar mass in g/mol; not a number where the formula cannot be read."""
        return _molar_mass(self.formula)


# Wrong formulas: the oxide, the carbonate and the formula with one OH for lime; elsewhere the
# other hydrate (judgement).
SUBSTANCES: dict[str, Substance] = {
    "calcium hydroxide": Substance("Ca(OH)2", 2, (("M1", "CaO"), ("M2", "CaCO3"), ("M3", "CaOH"))),
    "barium hydroxide octahydrate": Substance(
        "Ba(OH)2·8H2O", 2, (("M1", "Ba(OH)2"), ("M3", "BaOH"))
    ),
    "lithium carbonate": Substance("Li2CO3", 2, (("M3", "LiCO3"),)),
    "borax": Substance("Na2B4O7·10H2O", 2, (("M1", "Na2B4O7"),)),
    "calcium sulfate dihydrate": Substance("CaSO4·2H2O", 0, (("M1", "CaSO4"),)),
    "calcium iodate": Substance("Ca(IO3)2", 0, (("M1", "Ca(IO3)2·6H2O"), ("M3", "CaIO3"))),
    "lead(II) iodide": Substance("PbI2", 0, (("M3", "PbI"),)),
    "lead(II) chloride": Substance("PbCl2", 0, (("M3", "PbCl"),)),
    "sodium chloride": Substance("NaCl"),
    "potassium chloride": Substance("KCl"),
    "potassium nitrate": Substance("KNO3"),
    "potassium chlorate": Substance("KClO3"),
    "potassium perchlorate": Substance("KClO4"),
    "potassium hydrogen tartrate": Substance("KC4H5O6"),
    "ammonium chloride": Substance("NH4Cl"),
    "silver chloride": Substance("AgCl"),
    "benzoic acid": Substance("C7H6O2"),
    "sucrose": Substance("C12H22O11"),
}
_ALSO = {
    "slaked lime": "calcium hydroxide",
    "lime": "calcium hydroxide",
    "hydrated lime": "calcium hydroxide",
    "gypsum": "calcium sulfate dihydrate",
    "table salt": "sodium chloride",
    "sugar": "sucrose",
    "cream of tartar": "potassium hydrogen tartrate",
    "potassium bitartrate": "potassium hydrogen tartrate",
    "saltpetre": "potassium nitrate",
}


def substance(name: str, default: str = "calcium hydroxide") -> Substance | None:
    """Return the :class:`Substance` of a name or formula, or ``None`` if it is neither.

    An empty name stands for ``default``.
    """
    plain = " ".join((name.strip() or default).lower().split())
    plain = _ALSO.get(plain, plain)
    by_name = {known.lower(): entry for known, entry in SUBSTANCES.items()}
    if plain in by_name:
        return by_name[plain]
    by_formula = {_bare(s.formula): s for s in SUBSTANCES.values()}
    if _bare(name) in by_formula:
        return by_formula[_bare(name)]
    unknown = Substance(name.strip())
    return None if np.isnan(unknown.molar_mass) else unknown


def _bare(formula: str) -> str:
    plain = formula.translate(str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789"))
    return "".join(plain.replace("*", "·").replace(".", "·").lower().split())


@cache
def _molar_mass(formula: str) -> float:
    from solubility_stats.reference.molar_mass import molar_mass

    try:
        value, _ = molar_mass(formula)
    except InputError:
        return float("nan")
    return float(value)
