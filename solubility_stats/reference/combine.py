"""One curve from several sources that disagree (arrays only).

Sources of one *family* share their data and count once. At every temperature the curve is the
weighted mean of the families' ln s, weighted by their stated accuracy. Its uncertainty is the
distance at which a family typically lies from the curve, not the smaller uncertainty of the mean:
the families are few, they do not scatter around the truth at random (fine or coarse solid, shared
solubility constants), and the reader's own solid may sit with any of them. With ``k`` families

    between² = mean square distance of the families + s0²/k,

``s0`` being the stated uncertainty of a single family. One family leaves ``s0`` alone; many let
it fade. In the terms of the random-effects model (DerSimonian, Laird, Control. Clin. Trials 7
(1986) 177) this is the between-study deviation τ, taken about the adopted curve and with one prior
family, and not the standard error τ/√k of the mean.

A source that covers part of the range keeps, outside its own range, the offset it has at its
nearest end, with a weight that falls as a Gaussian of 15 K: nothing jumps where a source begins.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from solubility_stats.reference.fits import SourceFit

Vector = npt.NDArray[np.float64]

FADE_K = 15.0
# Distance in kelvin over which the unknown error of a single family loses a quarter turn of
# correlation: over 100 K it may change from one side of the truth to none.
_TURN_K = 100.0
# Added relative uncertainty per kelvin outside the range of the data. Judgement: tabulated curves
# that agree at the end of a range part by less than this per kelvin beyond it.
EXTRAPOLATION_PER_K = 0.01
# How far a source may be carried along another's curve, and what that costs, relative per kelvin:
# published slopes for calcium hydroxide at 22 °C lie between −0.53 and −0.72 % per kelvin.
CARRY_K = 10.0
CARRY_PER_K = 0.002


@dataclass(frozen=True, eq=False)
class Combined:
    """Several source fits as one curve.

    Attributes
    ----------
    names : tuple of str, length m
        Source keys.
    fits : tuple of SourceFit, length m
        Their fits.
    family : ndarray of int, shape (m,)
        Number of the family of each source, 0 to k − 1.
    accuracy : ndarray, shape (m,)
        Stated relative standard uncertainty of each source.
    prior : float
        ``s0``: relative standard uncertainty of a single family.
    low_c, high_c : float
        Range of the curve in °C.
    shape : Combined, optional
        Curve whose shape sources of a single or nearly single temperature are carried along.
    """

    names: tuple[str, ...]
    fits: tuple[SourceFit, ...]
    family: npt.NDArray[np.int64]
    accuracy: Vector
    prior: float
    low_c: float
    high_c: float
    shape: Combined | None = None

    @property
    def has_slope(self) -> bool:
        """Whether anything tells how the solubility changes with temperature."""
        return self.shape is not None or any(fit.terms > 1 for fit in self.fits)

    def log_sources(self, t_c: Vector) -> Vector:
        """Return ln s of every source, carried beyond its own range, shape (m, n)."""
        long = [fit for fit in self.fits if self._is_long(fit)]
        base: list[SourceFit | Combined] = [*long] if self.shape is None else [self.shape]
        return np.stack([self._carried(fit, base, t_c) for fit in self.fits])

    def log_value(self, t_c: Vector) -> Vector:
        """Return ln s of the curve, shape (n,)."""
        return np.asarray(np.sum(self.weights(t_c) * self.log_sources(t_c), axis=0))

    def log_slope(self, t_c: Vector) -> Vector:
        """Return d ln s/dT of the curve in 1/K, shape (n,)."""
        step = 1e-3
        return (self.log_value(t_c + step) - self.log_value(t_c - step)) / (2 * step)

    def weights(self, t_c: Vector) -> Vector:
        """Return the weight of each source in the curve, shape (m, n); columns sum to one."""
        share, presence = self._shares(t_c)
        variance = self._family_sum(share * self.accuracy[:, None] ** 2)
        family = presence / variance
        return np.asarray(share * (family / family.sum(axis=0))[self.family])

    def families_at(self, t_c: Vector) -> Vector:
        """Return the effective number of families at each temperature, shape (n,)."""
        _, presence = self._shares(t_c)
        return np.asarray(presence.sum(axis=0) ** 2 / np.sum(presence**2, axis=0))

    def loadings(self, t_c: Vector) -> tuple[Vector, tuple[str, ...]]:
        """Return the shared relative errors of the curve.

        Parameters
        ----------
        t_c : ndarray, shape (n,)
            Temperatures in °C.

        Returns
        -------
        loadings : ndarray, shape (n, j)
            Effect of one standard uncertainty of each shared cause on ln s.
        names : tuple of str, length j
        """
        log_s = self.log_sources(t_c)
        weights = self.weights(t_c)
        distance = log_s - np.sum(weights * log_s, axis=0)
        share, presence = self._shares(t_c)
        count = share * presence[self.family] / presence.sum(axis=0)
        columns = [np.sqrt(count[i]) * distance[i] for i in range(len(self.fits))]
        names = [f"between sources: {name}" for name in self.names]
        turn = 0.5 * np.pi * t_c / _TURN_K
        unknown = self.prior / np.sqrt(self.families_at(t_c))
        columns += [unknown * np.cos(turn), unknown * np.sin(turn)]
        names += ["unknown error of a family: level", "unknown error of a family: slope"]
        for i, fit in enumerate(self.fits):
            block = fit.loadings(np.clip(t_c, fit.low_c, fit.high_c)) * weights[i][:, None]
            columns += list(block.T)
            names += [f"fit of {self.names[i]}: {j + 1}" for j in range(fit.terms)]
        if self.shape is not None:
            columns.append(CARRY_PER_K * np.min(self._away(t_c), axis=0))
            names.append("carried along another curve")
        outside = np.maximum(np.maximum(self.low_c - t_c, t_c - self.high_c), 0.0)
        if np.any(outside > 0):
            columns.append(EXTRAPOLATION_PER_K * outside)
            names.append("extrapolation")
        return np.stack(columns, axis=-1), tuple(names)

    def between(self, t_c: Vector) -> Vector:
        """Return the relative between-source standard uncertainty, shape (n,)."""
        loadings, names = self.loadings(t_c)
        chosen = [
            j for j, name in enumerate(names) if not name.startswith(("fit", "extra", "carried"))
        ]
        return np.asarray(np.sqrt(np.sum(loadings[:, chosen] ** 2, axis=1)))

    def _is_long(self, fit: SourceFit) -> bool:
        if self.shape is not None:
            return False
        longest = max(f.high_c - f.low_c for f in self.fits)
        return fit.high_c - fit.low_c >= 0.9 * longest

    def _carried(self, fit: SourceFit, base: Sequence[SourceFit | Combined], t_c: Vector) -> Vector:
        if self._is_long(fit):
            return fit.log_value(t_c)
        inside = np.clip(t_c, fit.low_c, fit.high_c)
        common = np.mean([b.log_value(t_c) - b.log_value(inside) for b in base], axis=0)
        return np.asarray(fit.log_value(inside) + common)

    def _shares(self, t_c: Vector) -> tuple[Vector, Vector]:
        """Return each source's share of its family, (m, n), and each family's presence, (k, n)."""
        away = self._away(t_c)
        # Outside the range of the curve every source is extrapolated alike, so none may fade out.
        away = away - np.min(away, axis=0)
        taper = np.exp(-0.5 * (away / FADE_K) ** 2)
        total = self._family_sum(taper)
        absent = np.ones_like(total)
        np.multiply.at(absent, self.family, 1 - taper)
        safe = np.where(total > 0, total, 1.0)
        return taper / safe[self.family], 1 - absent

    def _away(self, t_c: Vector) -> Vector:
        """Return how many kelvin each source is from its own range, shape (m, n)."""
        return np.stack(
            [np.maximum(np.maximum(f.low_c - t_c, t_c - f.high_c), 0.0) for f in self.fits]
        )

    def _family_sum(self, per_source: Vector) -> Vector:
        total = np.zeros((int(self.family.max()) + 1, per_source.shape[1]))
        np.add.at(total, self.family, per_source)
        return total
