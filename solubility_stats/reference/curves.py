"""ReferenceCurve: what the literature says at a temperature, and how far it disagrees."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Literal, overload

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError
from solubility_stats.reference import tables
from solubility_stats.reference.combine import Combined
from solubility_stats.reference.convert import convert_u, to_anhydrous
from solubility_stats.reference.modelling import NARROW_K, build_model
from solubility_stats.reference.solutes import Solute, find, read_solute
from solubility_stats.reference.values import (
    CurveValue,
    checked_temperatures,
    correlated_ufloats,
    variance_from_temperature,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Vector = npt.NDArray[np.float64]


@dataclass(frozen=True, repr=False, eq=False)
class ReferenceCurve(Result):
    """Solubility in water against temperature from one or several sources.

    Build it with :func:`curve`, or from your own data with :meth:`from_frame`, :meth:`from_csv`
    or :meth:`from_toml`. All values are g of ``basis`` per 100 g water.

    Attributes
    ----------
    solute, formula : str
        Name and formula of the solid weighed out.
    low_c, high_c : float
        Range of the curve in °C; outside it :meth:`at` refuses unless told otherwise.
    data : Solute
        Everything the solute file says.
    model : Combined
        The fitted sources and how they combine.
    """

    solute: str
    formula: str
    low_c: float
    high_c: float
    data: Solute = field(repr=False)
    model: Combined = field(repr=False)

    @classmethod
    def of(cls, data: Solute, keys: Iterable[str] | None = None) -> ReferenceCurve:
        """Build a curve from a solute; ``keys`` picks sources, else those marked for it."""
        model = build_model(data, keys)
        return cls(data.name, data.formula, model.low_c, model.high_c, data, model)

    @classmethod
    def from_toml(cls, path: str | os.PathLike[str]) -> ReferenceCurve:
        """Build a curve from a TOML file in the form of the library's own solute files.

        Raises
        ------
        InputError
            If the file cannot be read or something in it is wrong.
        """
        return cls.of(read_solute(path))

    @classmethod
    def from_csv(
        cls, path: str | os.PathLike[str], solute: str, *, formula: str = "", **settings: Any
    ) -> ReferenceCurve:
        """Build a curve from a CSV file; columns and settings as :meth:`from_frame`.

        Raises
        ------
        UnreadableFileError
            If the file cannot be opened or holds no table.
        InputError
            As :meth:`from_frame`.
        """
        return cls.from_frame(tables.read_points(path), solute, formula=formula, **settings)

    @classmethod
    def from_frame(
        cls,
        frame: pd.DataFrame,
        solute: str,
        *,
        formula: str = "",
        unit: str = "g/100 g water",
        between_percent: float = 5.0,
    ) -> ReferenceCurve:
        """Build a curve from your own points.

        Parameters
        ----------
        frame : DataFrame
            Columns ``temperature_c`` and ``value``; optional ``u`` (standard uncertainty, same
            unit), ``source``, ``family``, ``citation`` and ``quality`` (A, B or C). Not changed.
        solute, formula : str
            Name and formula; the formula is needed for amounts (mol).
        unit : str
            Unit of ``value`` and ``u``; see :mod:`solubility_stats.reference.convert`.
        between_percent : float
            Standard uncertainty of a single source family in percent.

        Raises
        ------
        InputError
            If columns are missing or a value is impossible.
        """
        return cls.of(tables.solute_from_frame(frame, solute, formula, unit, between_percent))

    @property
    def basis(self) -> str:
        """What is counted, e.g. ``"g Ca(OH)2 per 100 g water"``."""
        return f"g {self.formula or self.solute} per 100 g water"

    @property
    def sources(self) -> pd.DataFrame:
        """All sources of the solute: key, citation, family, quality, whether used and why not."""
        return tables.sources(self.data, self.model)

    @property
    def points(self) -> pd.DataFrame:
        """Every published point, struck ones included with their reason."""
        return tables.points(self.data, self.model)

    @property
    def notes(self) -> pd.DataFrame:
        """What to know about this solute: ``topic, text, source``."""
        return pd.DataFrame(list(self.data.notes), columns=["topic", "text", "source"])

    @property
    def fits(self) -> pd.DataFrame:
        """Fitted form of each source: ln s = A + B/T + C ln T + D T, T in kelvin."""
        return tables.fits(self.model)

    @overload
    def at(
        self,
        t: npt.ArrayLike,
        u_t: npt.ArrayLike | None = None,
        *,
        extrapolate: bool = False,
        as_ufloat: Literal[False] = False,
    ) -> CurveValue: ...

    @overload
    def at(
        self,
        t: npt.ArrayLike,
        u_t: npt.ArrayLike | None = None,
        *,
        extrapolate: bool = False,
        as_ufloat: Literal[True],
    ) -> Any: ...

    def at(
        self,
        t: npt.ArrayLike,
        u_t: npt.ArrayLike | None = None,
        *,
        extrapolate: bool = False,
        as_ufloat: bool = False,
    ) -> CurveValue | Any:
        """Return the solubility and its standard uncertainty.

        Parameters
        ----------
        t : array_like
            Temperature in °C.
        u_t : array_like, optional
            Standard uncertainty of the temperature in K; carried through the slope.
        extrapolate : bool
            Allow temperatures outside the range, with a warning and a growing uncertainty.
        as_ufloat : bool
            Return a ``ufloat`` (scalar) or an array of correlated ``ufloat``s instead.

        Returns
        -------
        CurveValue
            ``(value, u)`` in g/100 g water: floats for a scalar temperature, else arrays.

        Raises
        ------
        OutOfRangeError
            If a temperature is outside the range and ``extrapolate`` is false.
        InputError
            If a temperature is missing.
        """
        grid = self._temperatures(t, extrapolate)
        covariance = self._covariance(grid, u_t)
        value = np.exp(self.model.log_value(grid))
        u = np.sqrt(covariance.diagonal())
        if as_ufloat:
            return correlated_ufloats(value, covariance, scalar=np.ndim(t) == 0)
        if np.ndim(t) == 0 and value.size == 1:
            return CurveValue(float(value[0]), float(u[0]))
        return CurveValue(value, u)

    def covariance(
        self, t: npt.ArrayLike, u_t: npt.ArrayLike | None = None, *, extrapolate: bool = False
    ) -> SharedCovariance:
        """Return the covariance of the curve at several temperatures.

        Nearly all of it is shared: a source that lies high does so at every temperature.

        Parameters
        ----------
        t : array_like, shape (n,)
            Temperatures in °C.
        u_t : array_like, optional
            Independent standard uncertainty of each temperature in K.
        extrapolate : bool
            Allow temperatures outside the range.

        Returns
        -------
        SharedCovariance
            In (g/100 g water)²; ``.dense()`` gives the n × n matrix.
        """
        return self._covariance(self._temperatures(t, extrapolate), u_t)

    def loadings(self, t: npt.ArrayLike) -> tuple[Vector, tuple[str, ...]]:
        """Return the effect of each shared cause in g/100 g water, shape (n, k), and its names."""
        covariance = self.covariance(t)
        return covariance.loadings, covariance.factors

    def in_unit(
        self,
        t: npt.ArrayLike,
        unit: str,
        u_t: npt.ArrayLike | None = None,
        *,
        formula: str | None = None,
    ) -> CurveValue:
        """Return the solubility in another unit, densities included in the uncertainty.

        Parameters
        ----------
        t : array_like
            Temperature in °C.
        unit : str
            See :mod:`solubility_stats.reference.convert`.
        u_t : array_like, optional
            Standard uncertainty of the temperature in K.
        formula : str, optional
            Count this formula instead of the curve's, e.g. ``"CaSO4"`` for gypsum.

        Raises
        ------
        InputError
            If the unit is unknown, or a volume of a strong solution of unknown density is asked.
        """
        value, u = self.at(t, u_t)
        about = self.data.solution(np.asarray(t, dtype=float))
        if formula is not None and formula != self.formula:
            step = np.maximum(u, 1e-9)
            low, centre, high = (
                to_anhydrous(value + k * step, self.formula, formula) for k in (-1, 0, 1)
            )
            value, u = centre, (np.asarray(high) - np.asarray(low)) / 2
            about = replace(about, formula=formula)
        return CurveValue(*convert_u(value, u, "g_per_100g_water", unit, solution=about))

    def slope(self, t: npt.ArrayLike) -> float | Vector:
        """Return the change with temperature in g/100 g water per kelvin.

        Raises
        ------
        InputError
            If the curve is known at one temperature only.
        """
        grid = self._temperatures(t, extrapolate=False)
        slope = self._slope(grid)
        return float(slope[0]) if np.ndim(t) == 0 else slope

    def by_source(self, t: npt.ArrayLike, *, every: bool = False) -> pd.DataFrame:
        """Return what each source says by itself.

        Parameters
        ----------
        t : array_like
            Temperatures in °C.
        every : bool
            Also the sources that are not part of this curve (copies, extrapolations, values of
            two figures; see ``why_not`` in :attr:`sources`).

        Returns
        -------
        DataFrame
            One row per temperature and source that reaches it (its own range, or at most 10 K
            from it along the slope of this curve; sources of fewer than five points speak
            through their nearest one): ``temperature_c, source, family, quality, value, u,
            percent_from_combined, combined, note``. Values in g/100 g water; ``u`` is the
            source's own (rounding, scatter about its curve, stated accuracy of its grade).
        """
        grid = self._temperatures(t, extrapolate=False)
        return tables.by_source(self.data, self.model, grid, every=every)

    def spread(self, t: npt.ArrayLike) -> pd.DataFrame:
        """Return how far the sources of this curve disagree.

        Returns
        -------
        DataFrame
            Per temperature: ``temperature_c, value, u, u_percent, between_percent, lowest,
            highest, range_percent, sources, families``.
        """
        grid = self._temperatures(t, extrapolate=False)
        return tables.spread(self.model, grid, *self.at(grid))

    def leave_one_out(self, t: npt.ArrayLike) -> pd.DataFrame:
        """Return the curve without each source in turn.

        Returns
        -------
        DataFrame
            ``temperature_c, left_out, value, u, change_percent``; no row for a source without
            which the temperature would not be covered.
        """
        grid = self._temperatures(t, extrapolate=False)
        keys = self.model.names
        parts = []
        for key in keys if len(keys) > 1 else ():
            other = ReferenceCurve.of(self.data, [k for k in keys if k != key])
            inside = grid[(grid >= other.low_c) & (grid <= other.high_c)]
            if inside.size:
                parts.append(tables.changed(key, inside, other.at(inside), self.at(inside).value))
        return pd.concat(parts, ignore_index=True) if parts else tables.changed_empty()

    def alternatives(self) -> dict[str, ReferenceCurve]:
        """Return a curve of each single source that bears one, by its key.

        Sources of a single temperature are carried along the default curve for 10 K.
        """
        return {
            s.key: ReferenceCurve.of(self.data, [s.key])
            for s in self.data.sources
            if np.unique(s.t_c).size >= tables.FEWEST_FOR_CURVE or np.ptp(s.t_c) < NARROW_K
        }

    def plot(self, ax: Axes | None = None) -> Axes:
        """Draw the curve with its uncertainty, the sources and their points; return the axes."""
        from solubility_stats.reference.plot import draw_curve

        return draw_curve(self, ax)

    def headline(self) -> str:
        """Return the value at 25 °C, or at the middle of the range, and where it comes from."""
        middle = 25.0 if self.low_c <= 25 <= self.high_c else (self.low_c + self.high_c) / 2
        value, u = self.at(middle)
        count = len(self.model.names)
        told = "1 source, widened for what one source cannot show"
        if count > 1:
            families = int(self.model.family.max()) + 1
            told = f"{count} sources in {families} {'families' if families > 1 else 'family'}"
        return (
            f"{self.solute}: {with_uncertainty(value, u)} {self.basis} at {middle:g} °C "
            f"({told}; {self.low_c:g} to {self.high_c:g} °C)"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the spread along the range and the sources."""
        grid = np.linspace(self.low_c, self.high_c, 6) if self.high_c > self.low_c else [self.low_c]
        shown = ["key", "family", "quality", "from_memory", "covers", "points", "used"]
        return {"Along the range": self.spread(grid), "Sources": self.sources[shown]}

    def to_dict(self) -> dict[str, Any]:
        """Return name, range, values along the range and sources as JSON-safe plain Python."""
        from solubility_stats.display import json_safe

        said = {
            "solute": self.solute,
            "formula": self.formula,
            "basis": self.basis,
            "low_c": self.low_c,
            "high_c": self.high_c,
            **self.tables(),
            "citations": self.sources,
        }
        return {key: json_safe(value) for key, value in said.items()}

    def _slope(self, grid: Vector) -> Vector:
        if not self.model.has_slope:
            raise InputError(
                "the slope is unknown: the curve has a single temperature",
                where=f"curve of {self.solute}",
                found=self.low_c,
                remedy="Add points at other temperatures, or leave out the temperature "
                "uncertainty.",
            )
        return np.asarray(np.exp(self.model.log_value(grid)) * self.model.log_slope(grid))

    def _covariance(self, grid: Vector, u_t: npt.ArrayLike | None) -> SharedCovariance:
        loadings, names = self.model.loadings(grid)
        value = np.exp(self.model.log_value(grid))
        own = np.zeros_like(grid)
        if u_t is not None:
            where = f"temperature uncertainty, curve of {self.solute}"
            own = variance_from_temperature(self._slope(grid), u_t, where)
        return SharedCovariance(
            own, loadings * value[:, None], tuple(f"reference, {name}" for name in names)
        )

    def _temperatures(self, t: npt.ArrayLike, extrapolate: bool) -> Vector:
        where = f"curve of {self.solute}"
        return checked_temperatures(t, self.low_c, self.high_c, where, extrapolate=extrapolate)


def curve(solute: str, *, sources: Iterable[str] | str | None = None) -> ReferenceCurve:
    """Return the reference curve of a solute.

    Parameters
    ----------
    solute : str
        Name, synonym or formula: ``"calcium hydroxide"``, ``"slaked lime"``, ``"Ca(OH)2"``.
    sources : str or iterable of str, optional
        Keys of the sources to use; the beginning of a key is enough (``"THEREDA"``). By default
        every source its file marks for combination.

    Returns
    -------
    ReferenceCurve
        Combined over source families; see :mod:`solubility_stats.reference.combine`.

    Raises
    ------
    InputError
        If the solute or a source is not known; the closest names are offered.

    Examples
    --------
    >>> value, u = curve("calcium hydroxide").at(25.0)
    """
    data = find(solute)
    return ReferenceCurve.of(data, None if sources is None else tables.chosen_keys(data, sources))
