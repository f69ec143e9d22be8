"""Evaluate a route for all its runs: values, uncertainties, contributions (arrays only)."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from solubility_stats.covariance import SharedCovariance
from solubility_stats.measurement.components import Component, RouteInputs
from solubility_stats.measurement.propagation import first_order
from solubility_stats.measurement.settings import Array

Rows = npt.NDArray[np.intp]


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
    gradient: dict[str, float | Array]
    apparent_gradient: dict[str, float | Array]

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
        for component in self.components(apparent):
            part = self.contribution(component, rows, apparent)
            keys = component.keys
            if keys is None:
                variance += part**2
                continue
            codes = keys.codes[rows]
            for code, count in zip(*np.unique(codes, return_counts=True), strict=True):
                here = codes == code
                if count == 1:
                    variance[here] += part[here] ** 2
                else:
                    loadings.append(np.where(here, part, 0.0))
                    factors.append(f"{component.name} [{keys.labels[code]}]")
        matrix = np.column_stack(loadings) if loadings else np.empty((rows.size, 0))
        return SharedCovariance(variance, matrix, tuple(factors))


def evaluate(inputs: RouteInputs) -> RouteArrays:
    """Return value, first-order uncertainty and degrees of freedom of every run."""
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        apparent, plain_gradient = inputs.plain(
            {k: v for k, v in inputs.values.items() if _is_reading(inputs, k)}
        )
        value, gradient = inputs.model(inputs.values)
        for name, (through, slope) in inputs.corrections.items():
            gradient[name] = gradient[name] + gradient[through] * slope
        full = _combine(inputs.components, gradient)
        bare = _combine([c for c in inputs.components if c.instrument], plain_gradient)
    n = value.size
    spread = [np.broadcast_to(a, (n,)) for a in (*full, *bare)]
    return RouteArrays(
        inputs, value, spread[0], spread[1], apparent, spread[2], spread[3],
        gradient, plain_gradient,
    )  # fmt: skip


def _combine(
    components: tuple[Component, ...] | list[Component], gradient: dict[str, float | Array]
) -> tuple[Array, Array]:
    result = first_order(
        [gradient[c.quantity] for c in components],
        [c.u for c in components],
        [c.dof for c in components],
    )
    return result.u, result.dof


def _is_reading(inputs: RouteInputs, name: str) -> bool:
    """Whether an input belongs to the plain equation: it is no effect."""
    effects = {c.quantity for c in inputs.components if not c.instrument}
    return name in _PLAIN[inputs.route] and name not in effects


_PLAIN = {
    "residue": {"initial", "recovered", "volume", "density"},
    "titration": {
        "titrant", "titrant_concentration", "aliquot", "molar_mass", "equivalents", "density",
        "specific_volume",
    },
    "evaporation": {"dish", "dish_residue", "aliquot", "density", "specific_volume"},
}  # fmt: skip
