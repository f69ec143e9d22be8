"""Slips of arithmetic: which known ones reproduce a reported value that the readings do not.

``find`` is the driver; ``readings`` what a run offers, ``units`` how a value may be meant,
``residue``, ``filtrate``, ``conversions``, ``digits`` and ``rows`` the slips themselves, ``terms``
their names, ``agreement`` when work counts as right, ``match`` the interval of a written number and
the chance of a match, ``candidates`` the search in steps.
"""

from solubility_stats.measurement.slips.find import Slips, find_slips

__all__ = ["Slips", "find_slips"]
