"""What every test shares: a settled hypothesis profile and figures closed after use."""

from __future__ import annotations

import os
import sys

import pytest
from hypothesis import HealthCheck, settings

# Machines that run several workers are noisy: time limits on single examples would fail there.
settings.register_profile(
    "house", deadline=None, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
settings.load_profile("house")
os.environ.setdefault("MPLBACKEND", "Agg")


@pytest.fixture(autouse=True)
def _close_figures():
    yield
    if "matplotlib.pyplot" in sys.modules:
        sys.modules["matplotlib.pyplot"].close("all")
