"""Adjusted p-values against a published example and two libraries."""

from __future__ import annotations

import numpy as np
import pytest

from solubility_stats.pooling.multiplicity import adjust_p, holm


def test_holm_is_that_of_statsmodels_and_keeps_gaps():
    from statsmodels.stats.multitest import multipletests

    p = np.array([0.01, 0.04, 0.03, 0.5, 0.04])
    assert list(holm(p)) == pytest.approx(list(multipletests(p, method="holm")[1]), rel=1e-12)
    gap = holm(np.array([np.nan, 0.02, 0.9]))
    assert np.isnan(gap[0])
    assert gap[1] == pytest.approx(0.04)


def test_multiplicity():
    # Benjamini and Hochberg 1995, the 15 p-values of their example: at 5 % Holm rejects 3, BH 4.
    p = np.array(
        [0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262,
         0.5719, 0.6528, 0.7590, 1.0]
    )  # fmt: skip
    assert (adjust_p(p, "holm") <= 0.05).sum() == 3
    assert (adjust_p(p, "bh") <= 0.05).sum() == 4
    assert np.isnan(adjust_p(np.array([np.nan, 0.1]), "holm")[0])
