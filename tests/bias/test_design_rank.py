"""What plans of measurement can and cannot see."""

import numpy as np
import pytest

from solubility_stats.bias.design_rank import design_rank
from solubility_stats.bias.forward import (
    DISH_SIZES,
    RESIDUE_SIZES,
    TITRATION_SIZES,
    Batch,
)

N = 24
RNG = np.random.default_rng(20)
ONE_MASS, ONE_VOLUME = np.full(N, 2.5), np.full(N, 300.0)
MASSES, VOLUMES = RNG.uniform(1.0, 6.0, N), RNG.uniform(100.0, 450.0, N)
WITH_TITRATION = RESIDUE_SIZES + TITRATION_SIZES
EVERY = WITH_TITRATION + DISH_SIZES
ALL_ROUTES = ("residue", "titration", "methyl_orange", "evaporation")


def batch(masses, volumes):
    return Batch(masses, volumes, np.full(N, 0.165), np.full(N, -0.00115), np.ones(N))


# Ranks follow from the algebra: residue masses alone span (m0, V, 1); each further reading adds
# the directions counted beside it.
@pytest.mark.parametrize(
    ("masses", "volumes", "names", "routes", "rank"),
    [
        (ONE_MASS, ONE_VOLUME, RESIDUE_SIZES, ("residue",), 1),
        (ONE_MASS, VOLUMES, RESIDUE_SIZES, ("residue",), 2),
        (MASSES, ONE_VOLUME, RESIDUE_SIZES, ("residue",), 2),
        (MASSES, VOLUMES, RESIDUE_SIZES, ("residue",), 3),
        (ONE_MASS, ONE_VOLUME, WITH_TITRATION, ("residue", "titration"), 2),
        (MASSES, VOLUMES, WITH_TITRATION, ("residue", "titration"), 5),
        (MASSES, VOLUMES, RESIDUE_SIZES, ("residue", "wet_cake"), 5),
        (MASSES, VOLUMES, EVERY, ALL_ROUTES, 8),
        (MASSES, VOLUMES, EVERY, (*ALL_ROUTES, "wet_cake"), 10),
    ],
)
def test_number_of_directions(masses, volumes, names, routes, rank):
    assert design_rank(batch(masses, volumes), names, routes).rank == rank


def test_one_recipe_and_residues_alone_separate_nothing():
    found = design_rank(batch(ONE_MASS, ONE_VOLUME), RESIDUE_SIZES)
    assert len(found.alike) == 1
    assert found.silent == ("insoluble_matter",)


def test_a_wet_cake_mass_parts_retained_liquor_from_loss_and_nothing_else_does():
    plain = design_rank(batch(MASSES, VOLUMES), RESIDUE_SIZES)
    weighed = design_rank(batch(MASSES, VOLUMES), RESIDUE_SIZES, ("residue", "wet_cake"))
    assert "transfer_loss" in plain.partners("retained_liquor")
    assert weighed.partners("retained_liquor") == ()
    assert weighed.partners("residual_moisture") == ("residue_carbonation",)


def test_under_saturation_and_temperature_never_part():
    found = design_rank(batch(MASSES, VOLUMES), EVERY, (*ALL_ROUTES, "wet_cake"))
    assert found.partners("undersaturation") == ("temperature_error",)
