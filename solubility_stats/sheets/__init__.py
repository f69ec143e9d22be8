"""Class sheets as people send them, read without losing or inventing a value."""

from solubility_stats.sheets.mapping import Mapping, write_mapping
from solubility_stats.sheets.read import read_class

__all__ = ["Mapping", "read_class", "write_mapping"]
