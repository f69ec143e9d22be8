"""Words that give a long heading away when it is not in the vocabulary word for word.

"What mass did you start with? (include units)" holds *mass* and *start*. Each rule names the
column, the concepts a heading must hold (one of each bracket) and the concepts it must not hold.
"""

from __future__ import annotations

from solubility_stats.sheets.concepts import (
    SAID,
    concepts_among,
    concepts_of,
    plain,
    words_of_list,
)
from solubility_stats.sheets.strange_words import (
    VESSELS,
    unexplained,
)

# A column the group worked out itself; nothing of ours is filled from it.
DERIVED = "(worked out)"
# Beside a candidate: the heading holds a word that may change its meaning.
UNSURE = "(unsure)"


# column, all of these concepts (alternatives joined by |), none of these
_NO_READING = frozenset({"derived", "summary"})
_RULES: tuple[tuple[str, str, str], ...] = (
    ("recovered_with_paper_mass_g", "paper solid|residue", "time method wet dish before again"),
    ("paper_mass_g", "filtration mass alone", "solid residue time method wet dish after volume "
     "funnel filtrate"),
    ("paper_mass_g", "paper mass", "solid residue time method wet dish dry after"),
    ("paper_mass_g", "paper alone", "solid residue time method wet dish after temperature volume"),
    ("paper_mass_g", "paper mass alone|before|begin", "solid residue time method wet dish after"),
    ("paper_mass_g", "paper mass dry", "solid residue time method wet dish after final"),
    ("recovered_with_paper_mass_g", "paper mass after dry", "time method wet dish before alone "
     "begin"),
    ("recovered_with_paper_mass_g", "paper mass dry", "time method wet dish before alone begin"),
    ("wet_cake_mass_g", "wet mass|solid|residue", "time paper dish"),
    ("second_dry_mass_g", "again mass dry|heat", "paper time dish start"),
    ("dish_residue_mass_g", "dish residue|solid|after", "time before volume filtrate"),
    ("dish_mass_g", "dish mass", "residue solid after time dry"),
    ("dish_mass_g", "dish mass alone", "residue solid after time"),
    ("dish_mass_g", "dish alone", "residue solid after time final volume filtrate temperature"),
    ("second_dry_mass_g", "again mass after", "paper dish start before initial wet volume"),
    ("second_dry_mass_g", "again dry alone", "paper time dish start wet volume method"),
    ("second_dry_mass_g", "again dry solid|residue", "paper time dish start before wet volume "
     "method constant temperature"),
    ("second_dry_mass_g", "again mass residue", "paper time dish start"),
    ("second_dry_mass_g", "again mass", "paper time dish start before wet volume solid reagent "
     "water filtration temperature derived solubility"),
    ("initial_mass_g", "mass solid start", "residue paper time dry wet dish after final again"),
    ("recovered_mass_g", "mass|solid residue", "paper start time wet dish before again constant"),
    ("recovered_mass_g", "mass final|after|dry", "reagent paper start time wet dish before again "
     "stir settle constant"),
    ("recovered_mass_g", "solid dry", "reagent paper start time wet dish before again method"),
    ("recovered_mass_g", "solid final", "reagent paper start time wet dish before again method "
     "temperature volume solubility unit"),
    ("recovered_mass_g", "reagent final", "paper start time wet dish before again method "
     "temperature volume solubility unit"),
    ("recovered_mass_g", "constant mass residue|dry", "paper start time wet dish before again"),
    ("recovered_mass_g", "residue dry", "paper start time wet dish before again method"),
    ("initial_mass_g", "mass start|before", "residue paper time dry wet dish water after final "
     "acid burette again solubility"),
    ("initial_mass_g", "solid before water", "residue paper time dry wet dish after final acid "
     "again solubility volume"),
    ("initial_mass_g", "mass before water", "residue paper time dry wet dish after final acid "
     "again solubility volume"),
    ("initial_mass_g", "solid begin", "mass residue paper time dry wet dish water after final acid "
     "again solubility volume temperature method unit"),
    ("initial_mass_g", "solid before", "mass residue paper time dry wet dish water after final "
     "acid again solubility volume temperature method unit filtration stir settle heat"),
    ("initial_mass_g", "mass reagent", "residue paper time wet dish water after final acid "
     "again solubility filtration"),
    ("initial_mass_g", "mass solid", "residue paper time dry wet dish water after final acid "
     "again solubility start before filtration"),
    ("initial_mass_g", "amount solid", "residue paper time dry wet dish water after final acid "
     "again solubility volume unit filtration"),
    ("recovered_mass_g", "amount residue", "paper time wet dish water acid before again volume "
     "unit"),
    ("water_volume_ml", "amount water", "aliquot acid titre titrated burette evaporation fill time "
     "temperature mass dish concentration filtrate before solid unit"),
    ("temperature_c", "temperature", "time dry heat derived"),
    ("stir_min", "stir time", "settle dry temperature mass begin final before after"),
    ("settle_min", "settle time", "stir dry temperature mass begin final after"),
    ("dry_min", "dry|heat time", "stir settle temperature mass constant begin final before"),
    ("filtration", "vacuum gravity", "time mass temperature"),
    ("filtration", "filtration", "time mass temperature paper volume solid residue dry "
     "water after before filtrate"),
    ("filtration", "filtration|funnel method", "time mass temperature paper volume filtrate"),
    ("filtration", "vacuum|gravity", "time mass temperature volume filtrate"),
    ("water_volume_ml", "water|total volume|water", "aliquot acid titre titrated burette "
     "evaporation fill time temperature mass dish concentration filtrate before"),
    ("water_volume_ml", "total volume", "aliquot acid titre titrated burette evaporation time "
     "temperature mass dish concentration filtrate before"),
    ("water_volume_ml", "total water fill", "aliquot acid titre titrated burette evaporation "
     "time temperature mass dish concentration filtrate before solid unit"),
    ("water_volume_ml", "water start", "aliquot acid titre titrated burette evaporation fill time "
     "temperature dish concentration mass filtrate before"),
    ("aliquot_ml", "aliquot", "acid titre dish concentration evaporation mass"),
    ("aliquot_ml", "solution titrated volume", "acid titre burette dish concentration "
     "evaporation mass water total"),
    ("burette_start_ml", "filtrate titrated volume begin", "acid aliquot final after used time "
     "temperature concentration mass solution solid"),
    ("burette_end_ml", "filtrate titrated volume final", "acid aliquot begin before used time "
     "temperature concentration mass solution solid"),
    ("titrant_ml", "filtrate titrated titre", "concentration aliquot mass begin final before "
     "after solid time temperature"),
    ("aliquot_ml", "filtrate used|titrated", "begin final acid titre burette dish evaporation "
     "concentration "
     "mass water total"),
    ("aliquot_ml", "solid titrated volume", "acid titre burette dish concentration evaporation "
     "mass water total"),
    ("evaporation_aliquot_ml", "evaporation volume", "mass time acid"),
    ("evaporation_aliquot_ml", "dish filtrate volume", "mass time acid"),
    ("evaporation_aliquot_ml", "aliquot evaporation|dish", "mass time acid"),
    ("titrant_mol_per_l", "acid concentration", "mass volume"),
    ("titrant_ml", "acid|titre volume|used", "concentration aliquot mass filtrate begin final "
     "before after"),
    ("titrant_ml", "titrated volume", "concentration aliquot mass filtrate begin final before "
     "after solution solid time temperature burette"),
    ("burette_start_ml", "titrated volume begin", "acid aliquot filtrate final after used time "
     "temperature concentration mass solution solid"),
    ("burette_end_ml", "titrated volume final", "acid aliquot filtrate begin before used time "
     "temperature concentration mass solution solid"),
    ("aliquot_ml", "titrated volume", "acid titre dish concentration evaporation mass burette "
     "time temperature total begin final"),
    ("titrant_ml", "burette used|derived", "concentration aliquot mass filtrate begin final "
     "before after"),
    ("burette_start_ml", "burette begin|before", "concentration aliquot mass filtrate final after "
     "used time temperature"),
    ("burette_end_ml", "burette final|after|endpoint", "concentration aliquot mass filtrate begin "
     "before used time temperature"),
    ("reported_unit", "solubility unit", ""),
    ("reported_solubility", "solubility", "unit summary"),
    ("constant_mass", "constant", "temperature volume time water concentration summary"),
    ("scatter", "scatter", "mass time"),
    ("comment", "comment", "mass volume time"),
    ("submitted", "timestamp", ""),
    ("section", "section", "count group"),
    ("section", "class", "count group summary derived comment mass volume time temperature "
     "solubility water solid residue scatter filtration filtrate run timestamp"),
    ("group", "group", "count comment section temperature mass volume time solubility alone"),
    ("semester", "semester", ""),
)  # fmt: skip
# Columns a heading may name although it speaks of something worked out or of a summary.
_DESPITE = {
    "temperature_c": "summary", "titrant_ml": "derived", "reported_solubility": "derived summary",
    "reported_unit": "derived summary", "scatter": "derived summary",
    "comment": "derived summary", "submitted": "derived summary", "semester": "derived summary",
}  # fmt: skip


def tells_volume(words: list[str]) -> bool:
    """Tell whether a word of a heading speaks of water, of a volume or of a filling."""
    return any(concepts_of(w) & _FILL_NEEDS for w in words)


def sums_up(words: list[str]) -> bool:
    """Tell whether a heading speaks of a mean, an error or a value from a book."""
    return any("summary" in concepts_of(w) for w in words)


def tells_difference(words: list[str]) -> bool:
    """Tell whether a heading speaks of a mass that was lost or dissolved, not of a mean of it."""
    said = concepts_among(words)
    return "derived" in said and not said & {"summary", "volume", "temperature", "time", "water"}


_FILL_NEEDS = {"fill", "water", "volume"}


def means_fill(words: list[str]) -> bool:
    """Tell whether the words of a numbered heading mean one filling of the cylinder."""
    present = concepts_among(words)
    strange = [w for w in unexplained(words, "fill") if w not in ("no", "nr")]
    return bool(present & _FILL_NEEDS) and "total" not in present and not strange


def fills_vessel(words: list[str]) -> str:
    """Return the vessel a numbered heading counts, if nothing else is said."""
    strange = [w for w in unexplained(words, "fill") if w not in ("no", "nr")]
    return strange[0] if len(strange) == 1 and plain(strange[0]) in VESSELS else ""


def names_fill(words: list[str]) -> bool:
    """Tell whether the words name a filling or the water, and not a volume of anything."""
    return any(concepts_of(w) & {"fill", "water"} for w in words)


# The least a heading must say for a column of its dimension, and what must not be said: read with
# the values of the table only (see likely.py).
_CORE: tuple[tuple[str, str, str, str], ...] = (
    ("water_volume_ml", "volume", "water", "acid aliquot filtrate evaporation titrated titre "
     "burette dish before after final heat temperature residue"),
    ("stir_min", "time", "stir", "settle dry heat temperature"),
    ("settle_min", "time", "settle", "stir dry heat temperature"),
    ("dry_min", "time", "dry|heat", "stir settle temperature"),
    ("initial_mass_g", "mass", "start|begin|before", "residue paper wet dish after final again "
     "dry"),
    ("initial_mass_g", "mass", "solid|reagent", "residue paper wet dish after final again dry "
     "before heat filtration filtrate evaporation acid water"),
    ("recovered_mass_g", "mass", "residue|final|after|dry", "paper wet dish before begin start "
     "again reagent"),
    ("paper_mass_g", "mass", "paper", "solid residue wet dish after final reagent"),
    ("recovered_with_paper_mass_g", "mass", "paper solid|residue|reagent", "wet dish before begin"),
    ("wet_cake_mass_g", "mass", "wet", "paper dish begin start"),
    ("titrant_ml", "volume", "acid", "water aliquot filtrate begin final before after "
     "concentration"),
    ("aliquot_ml", "volume", "filtrate|aliquot titrated", "acid evaporation dish total water"),
    ("evaporation_aliquot_ml", "volume", "filtrate|aliquot evaporation|dish", "acid total water"),
    ("dish_residue_mass_g", "mass", "dish solid|residue", "before begin wet"),
    ("dish_mass_g", "mass", "dish alone", "solid residue after final volume filtrate"),
)  # fmt: skip
_NEVER = frozenset({"derived", "summary", "count", "unit", "comment", "timestamp", "instructor"})


def at_least(words: list[str], dimension: str) -> str:
    """Return the one column a heading may mean at the least it says, empty for none or several."""
    present = concepts_among(words)
    if present & _NEVER or ("+" in words and "paper" not in present and "dish" not in present):
        return ""
    found = {
        column
        for column, of, needed, barred in _CORE
        if of == dimension and not present & words_of_list(barred)
        if all(set(part.split("|")) & present for part in needed.split())
    }
    return found.pop() if len(found) == 1 else ""


# The thing, where "filtered" is what was done.
_FILTERS = frozenset(
    {"filter", "filtre", "filtro", "filtr", "filtra", "filtru", "filteret", "filtret", "suodatin",
     "süzgeç", "süzgeci"}
)  # fmt: skip


def match(words: list[str], dimension: str | None = None) -> list[str]:
    """Return the columns whose rule fits the words, none, one or several; or ``DERIVED``.

    The dimension of the heading's unit counts like a word: grams tell of a mass. A heading that
    says "mass" and nothing else may mean either mass of the experiment.
    """
    present: set[str] = {dimension} if dimension in SAID["concepts"] else set()
    for word in words:
        present |= concepts_of(word)
    if "uncertainty" in words and present <= {"summary", "unit", dimension or ""}:
        return [DERIVED]  # "± / °C"
    if dimension in ("mass", "volume", "temperature", "concentration"):
        present.discard("time")  # "solid after 30 min drying (g)" is no time
    if present and present <= {"start", "begin"}:
        return ["initial_mass_g"]  # "we started with"
    if present in ({"filtration", "alone"}, {"filtration", "mass"}) and _FILTERS & set(words):
        return ["paper_mass_g"]  # "bare filter", "filter (g)"
    found = []
    for column, needed, forbidden in _RULES:
        wanted = [set(part.split("|")) for part in needed.split()]
        barred = words_of_list(forbidden) | (_NO_READING - words_of_list(_DESPITE.get(column, "")))
        if all(part & present for part in wanted) and not present & barred:
            found.append(column)
    unique = list(dict.fromkeys(found))
    if "scatter" in unique:
        return ["scatter"]  # what the beam went through is no reading
    if len(unique) > 1:  # "which filtration did your group use" is not about the group
        unique = [c for c in unique if c not in ("group", "section")] or unique
    if not unique and present & _NO_READING:
        return [DERIVED]
    return _either_mass(words, present, unique)


def _either_mass(words: list[str], present: set[str], found: list[str]) -> list[str]:
    """Return both masses that a heading may mean if it does not say which, else what was found."""
    by_itself = "alone" in present or "only" in words
    if found == ["initial_mass_g"] and by_itself and "solid" in words:
        return ["initial_mass_g", "recovered_mass_g"]  # without the boat, or without the paper
    if found == ["initial_mass_g"] and "cake" in words:
        return ["wet_cake_mass_g", "recovered_mass_g"]
    if not found and "mass" in present and present <= {"mass", "amount"}:
        return ["initial_mass_g", "recovered_mass_g"]
    return found
