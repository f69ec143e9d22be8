"""ReferenceCurve: what the literature says at a temperature, and how far it disagrees."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np
import numpy.typing as npt
import pandas as pd

from solubility_stats.covariance import SharedCovariance
from solubility_stats.display import Result, with_uncertainty
from solubility_stats.errors import InputError, OutOfRangeError, SolubilityStatsWarning
from solubility_stats.reference import tables
from solubility_stats.reference.combine import Combined
from solubility_stats.reference.fits import fit_source
from solubility_stats.reference.solutes import Solute, Source, find, read_solute

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Vector = npt.NDArray[np.float64]


class ExtrapolationWarning(SolubilityStatsWarning):
    """A curve was asked for outside the range of its data."""


class CurveValue(NamedTuple):
    """Solubility and its standard uncertainty, both in g per 100 g water."""

    value: Any
    u: Any


@dataclass(frozen=True, repr=False)
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
    def from_toml(cls, path: str | os.PathLike[str]) -> ReferenceCurve:
        """Build a curve from a TOML file in the form of the library's own solute files.

        Raises
        ------
        InputError
            If the file cannot be read or something in it is wrong.
        """
        return build(read_solute(path))

    @classmethod
    def from_csv(
        cls, path: str | os.PathLike[str], solute: str, *, formula: str = "", **settings: Any
    ) -> ReferenceCurve:
        """Build a curve from a CSV file; columns and settings as :meth:`from_frame`."""
        return cls.from_frame(pd.read_csv(path), solute, formula=formula, **settings)

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
        return build(tables.solute_from_frame(frame, solute, formula, unit, between_percent))

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
    def fits(self) -> pd.DataFrame:
        """Fitted form of each source: ln s = A + B/T + C ln T + D T, T in kelvin."""
        return tables.fits(self.model)

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
            return _ufloats(value, covariance, scalar=np.ndim(t) == 0)
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

    def slope(self, t: npt.ArrayLike) -> float | Vector:
        """Return the change with temperature in g/100 g water per kelvin."""
        grid = self._temperatures(t, extrapolate=False)
        slope = self._slope(grid)
        return float(slope[0]) if np.ndim(t) == 0 else slope

    def by_source(self, t: npt.ArrayLike) -> pd.DataFrame:
        """Return what each source says by itself.

        Parameters
        ----------
        t : array_like
            Temperatures in °C.

        Returns
        -------
        DataFrame
            One row per temperature and source that reaches it (its own range, or at most 10 K
            beyond along the common slope): ``temperature_c, source, family, quality, value, u,
            percent_from_combined, combined, note``. Values in g/100 g water; ``u`` is the
            source's own (rounding, scatter about its curve, stated accuracy of its grade).
        """
        grid = self._temperatures(t, extrapolate=False)
        return tables.by_source(self.data, self.model, grid)

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
            other = build(self.data, [k for k in keys if k != key])
            inside = grid[(grid >= other.low_c) & (grid <= other.high_c)]
            if inside.size:
                parts.append(tables.changed(key, inside, other.at(inside), self.at(inside).value))
        return pd.concat(parts, ignore_index=True) if parts else tables.changed_empty()

    def alternatives(self) -> dict[str, ReferenceCurve]:
        """Return a curve of each single source that spans at least 20 K, by its key."""
        wide = [s.key for s in self.data.sources if np.ptp(s.t_c) >= 20]
        return {key: build(self.data, [key]) for key in wide}

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
            told = f"{count} sources in {int(self.model.family.max()) + 1} families"
        return (
            f"{self.solute}: {with_uncertainty(value, u)} {self.basis} at {middle:g} °C "
            f"({told}; {self.low_c:g} to {self.high_c:g} °C)"
        )

    def tables(self) -> dict[str, pd.DataFrame]:
        """Return the spread along the range and the sources."""
        grid = np.linspace(self.low_c, self.high_c, 6) if self.high_c > self.low_c else [self.low_c]
        return {"Along the range": self.spread(grid), "Sources": self.sources}

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
        }
        return {key: json_safe(value) for key, value in said.items()}

    def _slope(self, grid: Vector) -> Vector:
        return np.asarray(np.exp(self.model.log_value(grid)) * self.model.log_slope(grid))

    def _covariance(self, grid: Vector, u_t: npt.ArrayLike | None) -> SharedCovariance:
        loadings, names = self.model.loadings(grid)
        value = np.exp(self.model.log_value(grid))
        own = np.zeros_like(grid)
        if u_t is not None:
            own = (self._slope(grid) * np.asarray(u_t, dtype=float)) ** 2
        return SharedCovariance(
            own, loadings * value[:, None], tuple(f"reference, {name}" for name in names)
        )

    def _temperatures(self, t: npt.ArrayLike, extrapolate: bool) -> Vector:
        grid = np.atleast_1d(np.asarray(t, dtype=float))
        if grid.ndim > 1:
            raise InputError("temperatures must be a scalar or one-dimensional", found=grid.shape)
        missing = np.flatnonzero(~np.isfinite(grid))
        if missing.size:
            raise InputError(
                "a temperature is missing",
                where=f"curve of {self.solute}",
                found=f"positions {missing[:8].tolist()} of {grid.size}",
                expected="a temperature in °C for each value",
                remedy="Leave those runs out, or give the room temperature with its uncertainty.",
            )
        self._check_range(grid, extrapolate)
        return grid

    def _check_range(self, grid: Vector, extrapolate: bool) -> None:
        outside = np.unique(grid[(grid < self.low_c) | (grid > self.high_c)])
        if not outside.size:
            return
        told = f"{self.low_c:g} to {self.high_c:g} °C"
        if not extrapolate:
            raise OutOfRangeError(
                "a temperature is outside the range of the curve",
                where=f"curve of {self.solute}",
                found=outside[:8].tolist(),
                expected=told,
                remedy="Use a curve that covers it, or pass extrapolate=True for a guess with a "
                "growing uncertainty.",
            )
        import warnings

        warnings.warn(
            f"curve of {self.solute} extrapolated to {outside[:8].tolist()} °C; data cover {told}",
            ExtrapolationWarning,
            stacklevel=4,
        )


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
    return build(data, None if sources is None else tables.chosen_keys(data, sources))


def build(data: Solute, keys: Iterable[str] | None = None) -> ReferenceCurve:
    """Fit and combine the sources of a solute; ``keys`` picks some, else those marked."""
    wanted = None if keys is None else set(keys)
    used = [s for s in data.sources if (s.combine if wanted is None else s.key in wanted)]
    if not used:
        raise InputError("no source to build a curve from", where=data.name)
    families = list(dict.fromkeys(s.family for s in used))
    model = Combined(
        names=tuple(s.key for s in used),
        fits=tuple(fit_source(s.t_c, s.value, s.u_relative) for s in used),
        family=np.array([families.index(s.family) for s in used]),
        accuracy=np.array([s.accuracy for s in used]),
        prior=data.prior,
        low_c=_edge(data, used, 0),
        high_c=_edge(data, used, 1),
    )
    return ReferenceCurve(data.name, data.formula, model.low_c, model.high_c, data, model)


def _edge(data: Solute, used: list[Source], end: int) -> float:
    if end == 0:
        return max(data.range_c[0], min(float(s.t_c.min()) for s in used))
    return min(data.range_c[1], max(float(s.t_c.max()) for s in used))


def _ufloats(value: Vector, covariance: SharedCovariance, *, scalar: bool) -> Any:
    """Return values as correlated ufloats: one variable per shared cause, one per own part."""
    from uncertainties import ufloat

    causes = [ufloat(0.0, 1.0, tag=name) for name in covariance.factors]
    out = np.empty(value.size, dtype=object)
    for i in range(value.size):
        own = np.sqrt(covariance.variance[i])
        out[i] = float(value[i]) + sum(
            float(x) * c for x, c in zip(covariance.loadings[i], causes, strict=True)
        )
        out[i] += ufloat(0.0, float(own), tag="temperature") if own > 0 else 0.0
    return out[0] if scalar else out
