"""Invented semesters with known truth: the bench is simulated, not the estimator's formula."""

from solubility_stats.simulation.causes import CAUSES
from solubility_stats.simulation.habits import Instruments
from solubility_stats.simulation.semester import Recipe, Simulation, simulate

__all__ = ["CAUSES", "Instruments", "Recipe", "Simulation", "simulate"]
