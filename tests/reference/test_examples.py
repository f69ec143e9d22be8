"""The examples in the docstrings run."""

from __future__ import annotations

import doctest
from importlib import import_module

import pytest


@pytest.mark.parametrize("name", ["water", "convert", "molar_mass", "weighing", "curves", "ksp"])
def test_docstring_examples(name):
    outcome = doctest.testmod(import_module(f"solubility_stats.reference.{name}"))
    assert outcome.attempted > 0
    assert outcome.failed == 0
