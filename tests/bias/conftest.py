"""Classes small enough to be quick and rich enough to show everything."""

import numpy as np
import pytest

from solubility_stats.bias import compare, diagnose
from solubility_stats.measurement import Protocol, estimate
from solubility_stats.reference import curve
from solubility_stats.simulation import Recipe, simulate


class FlatCurve:
    """A reference that says what a test needs: constant slope, one uncertainty for all."""

    def __init__(self, value=0.16, u=0.0, slope=0.0, at=20.0, sources=None):
        self.value, self.u, self.gradient, self.zero = value, u, slope, at
        self.low_c, self.high_c, self.solute = 0.0, 100.0, "calcium hydroxide"
        self.listed = sources or {"only": (value, u)}
        self.sources = list(self.listed)

    def at(self, t):
        t = np.asarray(t, dtype=float)
        return self.value + self.gradient * (t - self.zero), np.full(t.shape, self.u)

    def covariance(self, t):
        return np.full((len(t), len(t)), self.u**2)

    def slope(self, t):
        return np.full(np.shape(t), self.gradient)

    def by_source(self, t):
        import pandas as pd

        rows = [{"source": k, "value": v, "u": u} for k, (v, u) in self.listed.items()]
        return pd.DataFrame(rows)


@pytest.fixture
def flat_curve():
    return FlatCurve


@pytest.fixture(scope="session")
def lime():
    return curve("calcium hydroxide")


@pytest.fixture(scope="session")
def protocol():
    return Protocol.default("calcium hydroxide")


@pytest.fixture(scope="session")
def make_class(protocol):
    def make(**options):
        return estimate(simulate(protocol, **options).records, protocol)

    return make


@pytest.fixture(scope="session")
def two_routes(make_class):
    return make_class(groups=18, seed=4, routes=("residue", "titration"))


@pytest.fixture(scope="session")
def planned(make_class):
    recipe = Recipe(initial_mass_g=(1.0, 2.0, 3.0), fills=(3, 6))
    return make_class(groups=18, seed=5, recipe=recipe, routes=("residue", "titration"))


@pytest.fixture(scope="session")
def one_recipe(make_class):
    return make_class(groups=18, seed=6)


@pytest.fixture(scope="session")
def diagnosis(two_routes, lime):
    return diagnose(compare(two_routes, lime), seed=1)


@pytest.fixture(scope="session")
def plain_diagnosis(one_recipe, lime):
    return diagnose(compare(one_recipe, lime), seed=1)


@pytest.fixture(scope="session")
def planned_diagnosis(planned, lime):
    return diagnose(compare(planned, lime), seed=1)
