"""What the slips of every route share: the cases under check, a route's right answer, a variant."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from solubility_stats.measurement.slips.digits import Counts, Vector
from solubility_stats.measurement.slips.readings import Index, Readings
from solubility_stats.measurement.slips.substances import Substance
from solubility_stats.measurement.slips.units import UnitForm

Words = Callable[[int], str]
Flags = npt.NDArray[np.bool_]

# Volume per gram of dissolved solid, mL/g: between a solid that takes no room and the most bulky
# common solutes (sucrose about 0.62), so that values per volume of solution count as right.
ROOM = (0.35, 0.30)


@dataclass(frozen=True)
class Cases:
    """Every reading of a reported number: one row per run and unit it may be meant in.

    Attributes
    ----------
    run : ndarray of int, shape (n,)
        Position of the run.
    readings : Readings
        Readings, shape (n,) each.
    forms : tuple of UnitForm, length n
    substances : tuple of Substance or None, length n
    density : ndarray, shape (n,)
        Density of water, g/mL.
    half_density : ndarray, shape (n,)
        Relative half width of the density where the temperature is not recorded.
    """

    run: Index
    readings: Readings
    forms: tuple[UnitForm, ...]
    substances: tuple[Substance | None, ...]
    density: Vector
    half_density: Vector

    @property
    def n(self) -> int:
        """Number of cases."""
        return len(self.forms)

    @property
    def per(self) -> Vector:
        """Number stated per gram and millilitre (or gram) of each form."""
        return np.array([form.per for form in self.forms], dtype=float)

    @property
    def amount(self) -> Flags:
        """Where moles are counted."""
        return np.array([form.amount for form in self.forms], dtype=bool)

    @property
    def molar(self) -> Vector:
        """Molar mass of the solute, g/mol; not a number where unknown."""
        return np.array([np.nan if s is None else s.molar_mass for s in self.substances])

    def kind(self, name: str) -> Flags:
        """Where the form refers to ``volume``, ``water`` or ``solution``."""
        return np.array([form.kind == name for form in self.forms], dtype=bool)

    def take(self, rows: Index) -> Cases:
        """Return the given cases, in that order."""
        return Cases(
            self.run[rows],
            self.readings.take(rows),
            tuple(self.forms[i] for i in rows),
            tuple(self.substances[i] for i in rows),
            self.density[rows],
            self.half_density[rows],
        )


@dataclass(frozen=True)
class Variant:
    """One slip at one stage of the calculation, for all cases at once.

    Attributes
    ----------
    code : str
        Catalogue codes, joined by ``/`` where two slips are the same formula.
    stage : str
        Part of the calculation it replaces; ``whole`` replaces all of it.
    ratio : ndarray, shape (n,)
        Reported over right; not a number where the slip cannot happen.
    half : ndarray, shape (n,)
        Relative half width from half a unit of the last figure of this stage's readings.
    words : callable
        Row to the piece of the formula, with the numbers.
    tier : str
        ``slip``, ``digit`` or ``row``: which search the variant belongs to.
    """

    code: str
    stage: str
    ratio: Vector
    half: Vector
    words: Words
    tier: str = "slip"


@dataclass(frozen=True)
class Route:
    """One way from readings to a solubility.

    Attributes
    ----------
    name : str
        ``residue``, ``titration`` or ``evaporation``.
    right : ndarray, shape (n,)
        Grams of solute per millilitre of water (residue) or of solution (the others); not a
        number where readings are missing.
    half : mapping of str to ndarray, shape (n,)
        Relative half width of each stage from half a unit of the last figures.
    words : mapping of str to callable
        The right pieces of the formula, in order.
    steps : tuple of tuple of ndarray
        Orders in which the calculation may be done: factors whose running product a person may
        round on the way. The product of all is the answer per millilitre, in moles where the
        case counts moles, in grams elsewhere.
    figures : ndarray of int, shape (n,)
        Significant figures a person keeps by the rule for products.
    variants : tuple of Variant
    """

    name: str
    right: Vector
    half: dict[str, Vector]
    words: dict[str, Words]
    steps: tuple[tuple[Vector, ...], ...]
    figures: Counts
    variants: tuple[Variant, ...] = field(default=())

    def total_half(self, without: str = "") -> Vector:
        """Return the relative half width of the result without one stage's share."""
        shares = [h for stage, h in self.half.items() if stage != without]
        return np.sum(shares, axis=0) if shares else np.zeros_like(self.right)


def constant(text: str) -> Words:
    """Return words that are the same for every row."""
    return lambda _row: text


def bases(route: str, x: Vector, cases: Cases) -> list[tuple[str, Vector, Vector]]:
    """Return the right answers on every basis that is fair under the written unit.

    Parameters
    ----------
    route : str
        ``residue`` counts per millilitre of water, the others per millilitre of solution.
    x : ndarray, shape (n,)
        Grams of solute per millilitre.
    cases : Cases

    Returns
    -------
    list of (str, ndarray, ndarray)
        Words, value relative to the first basis, relative half width. The first is the plain
        one: per volume as measured, or per mass of water at its density.
    """
    rho, wide = cases.density, cases.half_density
    phi, spread = ROOM
    of_water = route == "residue"
    room = phi * x
    # Grams of water in a millilitre of what x refers to, and millilitres of solution to it.
    water = rho if of_water else rho * (1 - room)
    solution = 1 + room if of_water else np.ones_like(x)
    half_room = spread * np.abs(x)
    none = np.zeros_like(x)
    plain_half = np.where(cases.kind("volume"), none, wide + (0 if of_water else half_room))
    by_kind = {
        "volume": (x, x / rho, x / solution if of_water else x / (1 - room)),
        "water": (x / water, x, x / rho if not of_water else x / water),
        "solution": (x / (water + x), x / (1 + x) if of_water else x, x / (rho + x)),
    }
    half = (plain_half, wide, half_room + wide)
    words = (
        "",
        "with water (or solution) taken as 1 g/mL or read as mass",
        "per volume or mass of solution",
    )
    out = []
    for k in range(3):
        value = np.select([cases.kind(kind) for kind in by_kind], [v[k] for v in by_kind.values()])
        out.append((words[k], value, half[k]))
    plain = out[0][1]
    with np.errstate(divide="ignore", invalid="ignore"):
        return [(word, value / plain, h) for word, value, h in out]


def molar_rounding(route: str, cases: Cases) -> list[tuple[str, Vector]]:
    """Return relative values with the molar mass rounded as people round it (74.1, 74)."""
    divides = cases.amount if route != "titration" else np.zeros(cases.n, dtype=bool)
    multiplies = ~cases.amount if route == "titration" else np.zeros(cases.n, dtype=bool)
    out = []
    for places in (1, 0):
        ratio = np.round(cases.molar, places) / cases.molar
        value = np.select([divides, multiplies], [1 / ratio, ratio], default=np.nan)
        out.append((f"with the molar mass to {places} decimals", value))
    return out


def plain_value(route: str, x: Vector, cases: Cases) -> Vector:
    """Return the right answer on the plain basis, in each case's unit, shape (n,)."""
    rho = cases.density
    water = rho if route == "residue" else rho * (1 - ROOM[0] * x)
    value = np.select(
        [cases.kind("volume"), cases.kind("water")], [x, x / water], default=x / (water + x)
    )
    return np.asarray(value * cases.per / np.where(cases.amount, cases.molar, 1.0))
