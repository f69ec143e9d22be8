"""Words of a heading that no concept of its column accounts for, and what they may mean."""

from __future__ import annotations

from collections.abc import Iterable

from solubility_stats.sheets.concepts import SAID, concepts_of, plain, words_of_list
from solubility_stats.sheets.units import known_unit

# A word that is in no concept may change the meaning ("wash water", "beaker + solid"), so a
# heading is only understood by keywords if nothing but these is left over.
_HARMLESS = words_of_list(SAID["harmless"]["always"])
_HARMLESS_FOR = {c: words_of_list(w) for c, w in SAID["harmless"].items() if c != "always"}


# Concepts that may stand in the heading of a column; any other one may change its meaning ("mass of
# the funnel with dry solid"). Columns that are not listed hold words, not numbers.
_ALWAYS = "class amount unit used start method total group run balance"
_MAY = {
    "initial_mass_g": "mass solid reagent dry begin before water stir filtration",
    "recovered_mass_g": "mass solid reagent constant residue final after dry heat "
    "filtration vacuum gravity",
    "recovered_with_paper_mass_g": "mass solid residue paper final after dry heat filtration",
    "paper_mass_g": "mass paper filtration begin before alone dry",
    "wet_cake_mass_g": "mass solid residue wet before dry after filtration paper heat",
    "second_dry_mass_g": "mass solid residue again dry heat after final",
    "dish_mass_g": "mass dish evaporation begin before alone dry",
    "dish_residue_mass_g": "mass dish evaporation solid residue after dry heat final",
    "temperature_c": "temperature water filtration filtrate solid begin final vacuum gravity "
    "summary stir settle before after solution",
    "stir_min": "stir time solid water solution",
    "settle_min": "settle time solid before filtration residue solution",
    "dry_min": "dry heat time solid residue paper",
    "water_volume_ml": "water volume begin solid fill stir",
    "fill": "fill water volume begin again run",
    "aliquot_ml": "aliquot volume filtrate solid titrated filtration solution",
    "evaporation_aliquot_ml": "aliquot volume filtrate evaporation dish solid dry filtration "
    "solution",
    "titrant_ml": "acid titre titrated burette volume derived endpoint solution filtrate",
    "burette_start_ml": "burette acid titre titrated volume begin before fill solution filtrate",
    "burette_end_ml": "burette acid titre titrated volume final after endpoint fill solution "
    "filtrate",
    "titrant_mol_per_l": "acid concentration titrated titre solid solution burette",
    "reported_solubility": "solubility solid derived water final solution",
}  # fmt: skip


# Weighings that no heading with a "+" names.
NO_SUM = frozenset({"initial_mass_g", "recovered_mass_g", "paper_mass_g", "dish_mass_g"})


def unexplained(words: list[str], column: str) -> list[str]:
    """Return the words of a heading that neither concepts nor the language account for."""
    # A sum of two weighings is neither of them.
    if "+" in words and column in NO_SUM:
        return ["+"]
    allowed = _HARMLESS | _HARMLESS_FOR.get(column, frozenset())
    fitting = words_of_list(f"{_ALWAYS} {_MAY[column]}") if column in _MAY else None
    return [
        w
        for w in words
        if plain(w) not in allowed
        and w != "+"
        and (not known_unit(w) or w == "second")
        and not (concepts_of(w) if fitting is None else concepts_of(w) & fitting)
    ]


# Things on the bench, fates and intentions that make a column something else than a reading of
# ours, whatever else its heading says. Not exhaustive: the values are asked as well.
# Where a volume was put or a temperature was taken these say nothing.
VESSELS = words_of_list(SAID["other"]["vessels"])
_OTHER_THINGS = words_of_list(SAID["other"]["things"])
_SUMS = words_of_list(SAID["other"]["sums"])
# A strange word of one of these concepts turns the heading to another column.
_OTHER_CONCEPTS = frozenset(
    {"paper", "dish", "wet", "again", "acid", "titre", "burette", "aliquot", "evaporation",
     "derived", "summary", "count", "concentration", "titrated", "unit", "temperature",
     "solubility", "comment", "timestamp", "scatter", "total", "heat"}
)  # fmt: skip


# "Water left in the jug" was not added.
_NO_WATER = frozenset({"residue", "final", "wet"})


def names_other(column: str, words: Iterable[str]) -> bool:
    """Tell whether words that do not fit a column name another thing than its reading."""
    fitting = words_of_list(_MAY.get(column, ""))
    things = _OTHER_THINGS
    if column == "temperature_c":
        things = things - words_of_list("tap stock")
    concepts = _OTHER_CONCEPTS | (_NO_WATER if column.endswith("_ml") else frozenset())
    others = things | (VESSELS | _SUMS if column.endswith("_g") else frozenset())
    for word in words:
        if plain(word) in others or word == "+" or (word.isdigit() and column in _MAY):
            return True
        if concepts_of(word) & (concepts - fitting):
            return True
    return False


def is_plain(word: str) -> bool:
    """Tell whether a word is one of the language, so that it is no misspelt other word."""
    word = plain(word)
    return word in _HARMLESS or any(word in said for said in _HARMLESS_FOR.values())


def is_thing(word: str) -> bool:
    """Tell whether a word names a thing of its own, so that it is no misspelt other word."""
    return plain(word) in _OTHER_THINGS | VESSELS | _SUMS


def may_name(words: list[str], column: str) -> bool:
    """Tell whether no known word of a heading speaks against a column.

    Unknown words do not count; a sum of two weighings is none of them.
    """
    fitting = words_of_list(f"{_ALWAYS} {_MAY[column]}")
    said = [concepts_of(w) for w in words if not known_unit(w)]
    return "+" not in words and all(c & fitting for c in said if c)
