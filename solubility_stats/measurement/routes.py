"""Evaluate a route for all its runs: values, uncertainties, contributions (arrays only)."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from solubility_stats.covariance import SharedCovariance
from solubility_stats.measurement.components import Component, RouteInputs
from solubility_stats.measurement.propagation import combine
from solubility_stats.measurement.settings import Array

Rows = npt.NDArray[np.intp]
Gradient = dict[str, "float | Array"]
Spreads = dict[str, tuple["float | Array", "float | Array"]]
PIECE = 16_384


@dataclass(frozen=True)
class RouteArrays:
    """One route evaluated for ``n`` runs.

    Attributes
    ----------
    inputs : RouteInputs
        What went in.
    value, u, dof : ndarray, shape (n,)
        Solubility after expected effects (g per 100 g water), its standard uncertainty and
        effective degrees of freedom.
    apparent, u_apparent, dof_apparent : ndarray, shape (n,)
        The same without expected effects, instruments only.
    gradient, apparent_gradient : dict
        Sensitivity by input.
    """

    inputs: RouteInputs
    value: Array
    u: Array
    dof: Array
    apparent: Array
    u_apparent: Array
    dof_apparent: Array
    gradient: Gradient
    apparent_gradient: Gradient

    @property
    def n(self) -> int:
        """Number of runs."""
        return int(self.value.size)

    def components(self, apparent: bool = False) -> tuple[Component, ...]:
        """Return the components that count."""
        return tuple(c for c in self.inputs.components if c.instrument or not apparent)

    def sensitivity(self, component: Component, apparent: bool = False) -> Array:
        """Return the sensitivity to a component's input, shape (n,)."""
        gradient = self.apparent_gradient if apparent else self.gradient
        return np.broadcast_to(np.asarray(gradient[component.quantity], dtype=float), (self.n,))

    def contribution(
        self, component: Component, rows: Rows | slice = slice(None), apparent: bool = False
    ) -> Array:
        """Return sensitivity times standard uncertainty for some rows (g per 100 g water)."""
        u = np.broadcast_to(np.asarray(component.u, dtype=float), (self.n,))
        return np.asarray(self.sensitivity(component, apparent)[rows] * u[rows])

    def covariance(self, rows: Rows, apparent: bool = False) -> SharedCovariance:
        """Return the covariance of some rows: own causes as variances, shared ones as loadings.

        A cause that only one of the rows has is that row's own.
        """
        variance = np.zeros(rows.size)
        loadings: list[Array] = []
        factors: list[str] = []
        habits: list[Component] = []
        for component in self.components(apparent):
            keys = component.keys
            if keys is None:
                variance += self.contribution(component, rows, apparent) ** 2
                continue
            if component.own:
                habits.append(component)
                continue
            part = self.contribution(component, rows, apparent)
            codes = keys.codes[rows]
            for code, count in zip(*np.unique(codes, return_counts=True), strict=True):
                here = codes == code
                if count == 1:
                    variance[here] += part[here] ** 2
                else:
                    loadings.append(np.where(here, part, 0.0))
                    factors.append(f"{component.name} [{keys.labels[code]}]")
        if habits:
            variance += self._habits(habits, rows, loadings, factors)
        matrix = np.column_stack(loadings) if loadings else np.empty((rows.size, 0))
        return SharedCovariance(variance, matrix, tuple(factors))

    def _habits(
        self, habits: list[Component], rows: Rows, loadings: list[Array], factors: list[str]
    ) -> Array:
        """Return own variances; append the factors of groups with several runs.

        All habits of a group are rotated into as few independent factors as it has runs: one
        per component would be many columns for the same matrix. The factors carry the route in
        their name, since those of another route are other mixtures.
        """
        parts = np.column_stack([self.contribution(c, rows) for c in habits])
        variance = np.einsum("ij,ij->i", parts, parts)
        keys = habits[0].keys
        codes = np.full(rows.size, -1) if keys is None else keys.codes[rows]
        present, counts = np.unique(codes, return_counts=True)
        for code in present[(present >= 0) & (counts > 1)]:
            here = np.flatnonzero(codes == code)
            variance[here] = 0.0
            left, sizes, _ = np.linalg.svd(parts[here], full_matrices=False)
            for k in np.flatnonzero(sizes > 1e-9 * sizes[0]):
                column = np.zeros(rows.size)
                column[here] = left[:, k] * sizes[k]
                loadings.append(column)
                label = keys.labels[code] if keys is not None else ""
                factors.append(f"habits, part {k + 1} [{label}, {self.inputs.route}]")
        return np.asarray(variance)


def evaluate(inputs: RouteInputs) -> RouteArrays:
    """Return value, first-order uncertainty and degrees of freedom of every run.

    Long inputs are worked through in pieces that stay in the processor's cache.
    """
    n = max(np.size(v) for v in inputs.values.values())
    spreads = (_by_quantity(inputs.components), _by_quantity(inputs.components, instrument=True))
    if n <= PIECE:
        return RouteArrays(inputs, *_piece(inputs, spreads, slice(None), n))
    results = np.empty((6, n))
    gradients: tuple[Gradient, Gradient] = ({}, {})
    for start in range(0, n, PIECE):
        rows = slice(start, min(start + PIECE, n))
        *columns, full, bare = _piece(inputs, spreads, rows, rows.stop - start)
        results[:, rows] = columns
        for whole, part in zip(gradients, (full, bare), strict=True):
            for name, slope in part.items():
                if np.ndim(slope) == 0:
                    whole[name] = slope
                else:
                    np.asarray(whole.setdefault(name, np.empty(n)))[rows] = slope
    value, u, dof, apparent, u_apparent, dof_apparent = results
    return RouteArrays(
        inputs, value, u, dof, apparent, u_apparent, dof_apparent, *gradients
    )  # fmt: skip


def _piece(
    inputs: RouteInputs, spreads: tuple[Spreads, Spreads], rows: slice, n: int
) -> tuple[Any, ...]:
    """Return value, u, dof, their plain counterparts and both gradients for some rows."""
    values = {name: _rows_of(v, rows) for name, v in inputs.values.items()}
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        plain_values = {k: v for k, v in values.items() if k in _PLAIN[inputs.route]}
        apparent, plain_gradient = inputs.plain(plain_values)
        value, gradient = inputs.model(values)
        for name, (through, slope) in inputs.corrections.items():
            gradient[name] = gradient[name] + gradient[through] * _rows_of(slope, rows)
        full = _combine(spreads[0], gradient, rows)
        bare = _combine(spreads[1], plain_gradient, rows)
    columns = [np.broadcast_to(a, (n,)) for a in (value, *full, apparent, *bare)]
    return (*columns, gradient, plain_gradient)


def _rows_of(x: float | Array, rows: slice) -> float | Array:
    return x if np.ndim(x) == 0 else np.asarray(x)[rows]


def _by_quantity(components: tuple[Component, ...], *, instrument: bool = False) -> Spreads:
    """Return for each input the sums over its causes of u^2 and of u^4/dof."""
    sums: Spreads = {}
    for c in components:
        if c.instrument or not instrument:
            variance, knowledge = sums.get(c.quantity, (0.0, 0.0))
            square = np.multiply(c.u, c.u)
            added = square * square / c.dof if np.isfinite(c.dof) else 0.0
            sums[c.quantity] = (variance + square, knowledge + added)
    return sums


def _combine(spreads: Spreads, gradient: Gradient, rows: slice) -> tuple[Array, Array]:
    return combine(
        [gradient[name] for name in spreads],
        [_rows_of(variance, rows) for variance, _ in spreads.values()],
        [_rows_of(knowledge, rows) for _, knowledge in spreads.values()],
    )


_PLAIN = {
    "residue": {"initial", "recovered", "volume", "density"},
    "titration": {
        "titrant", "titrant_concentration", "aliquot", "molar_mass", "equivalents", "density",
        "specific_volume",
    },
    "evaporation": {"dish", "dish_residue", "aliquot", "density", "specific_volume"},
}  # fmt: skip
