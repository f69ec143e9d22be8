"""Units as people write them, in a cell or in a heading, and their conversion.

A small table turns what is written ("grams", "mls", "cm³", "° F", "hrs") into a unit name of the
``pint`` package; ``pint`` does the arithmetic. Its registry is loaded on the first conversion
that needs it and kept.
"""

from __future__ import annotations

import math
import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pint

# Dimension -> unit name -> ways of writing it (lower case, spaces and full stops removed).
_WRITTEN: dict[str, dict[str, str]] = {
    "mass": {
        "g": "g gm gms gr grs gram grams gramm gramme grammes gramos gramas grammi "
        "grammaa gramů gramy",
        "mg": "mg mgs mgm milligram milligrams milligramm milligramme milligrammes",
        "kg": "kg kgs kilogram kilograms kilogramm kilogramme kilogrammes",
        "ug": "ug μg mcg microgram micrograms mikrogramm",
        "oz": "oz ounce ounces",
        "lb": "lb lbs pound pounds",
    },
    "volume": {
        "mL": "ml mls milliliter milliliters millilitre millilitres cc ccs ccm cm3 cm^3 cm**3 "
        "cubiccentimeter cubiccentimeters cubiccentimetre cubiccentimetres",
        "L": "l lt ltr ltrs liter liters litre litres litros dm3 dm^3",
        "cL": "cl centiliter centilitre",
        "dL": "dl deciliter decilitre",
        "uL": "ul μl microliter microlitre",
    },
    "temperature": {
        "degC": "c °c degc degreec degreesc degcelsius degreecelsius degreescelsius celsius "
        "centigrade degreescentigrade oc gradcelsius gradc",
        "degF": "f °f degf degreef degreesf degfahrenheit degreefahrenheit degreesfahrenheit "
        "fahrenheit",
        "K": "k kelvin kelvins °k degk",
    },
    "time": {
        "min": "min mins minute minutes minuten minuti minuto minutos minuter minutter minuut "
        "menit minuty minut minuta dk dak dakika minuuttia minuutti m mn",
        "h": "h hr hrs hour hours std stunde stunden heure heures hora horas ore uur timmar timme "
        "tim godz godziny godzin saat tunti tuntia hodina hodiny hodin",
        "s": "s sec secs second seconds sek sekunden secondes segundos secondi sekunder sekundy "
        "sekund sn saniye sekuntia",
        "day": "d day days tag tage jour jours días giorni dagar dage dager dni gün päivä päivää",
    },
    "concentration": {
        "mol/L": "mol/l moll-1 mol*l-1 mol·l-1 mol/dm3 moldm-3 molar mol/liter mol/litre "
        "molperl molperliter molperlitre",
        "mmol/L": "mmol/l mmoll-1 mmol/dm3 mmoldm-3 millimolar",
    },
}
_BY_DIMENSION = {
    dimension: {word: unit for unit, words in table.items() for word in words.split()}
    for dimension, table in _WRITTEN.items()
}
_DIMENSION = {unit: dim for dim, table in _WRITTEN.items() for unit in table}
# Upper and lower case differ in meaning here: M is molar, m is not.
_CASED = {"M": "mol/L", "mM": "mmol/L"}
# How units are shown to people.
SHOWN_UNIT = {"degC": "°C", "degF": "°F", "uL": "µL", "ug": "µg"}
# The sign alone does not say which scale.
BARE_DEGREE = frozenset(
    {
        "°",
        "deg",
        "degs",
        "degree",
        "degrees",
        "grad",
        "grados",
        "graus",
        "gradi",
        "degrés",
        "graden",
        "grader",
    }
)
# Single letters that are too weak to be a unit at the end of a heading without brackets.
_WEAK = frozenset({"c", "f", "k", "l", "m", "h", "s", "d", "oc", "t"})


def normal_unit(text: str) -> str:
    """Return ``text`` in the form the table of written units uses (not yet a unit name)."""
    text = text.replace("º", "°").replace("˚", "°").replace("∘", "°")
    text = unicodedata.normalize("NFKC", text).replace("−", "-").replace("⋅", "·")
    return re.sub(r"[\s.]+", "", text)


@lru_cache(maxsize=1024)
def known_unit(text: str, dimension: str | None = None) -> str | None:
    """Return the unit name for what somebody wrote, or ``None`` if it is no unit we know.

    Parameters
    ----------
    text : str
        Unit as written, e.g. ``"grams"``, ``"cm³"``, ``"° F"``.
    dimension : str, optional
        ``mass | volume | temperature | time | concentration``; settles words with two meanings
        ("m" is minutes above a time). A unit of another dimension is still returned.
    """
    word = normal_unit(text)
    if dimension in (None, "concentration") and word in _CASED:
        return _CASED[word]
    word = word.casefold()
    if dimension in _BY_DIMENSION and word in _BY_DIMENSION[dimension]:
        return _BY_DIMENSION[dimension][word]
    for table in _BY_DIMENSION.values():
        if word in table:
            return table[word]
    return None


def dimension_of(unit: str) -> str | None:
    """Return the dimension of a unit name from :func:`known_unit`, ``None`` for none."""
    return _DIMENSION.get(unit)


@lru_cache(maxsize=1)
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    return pint.UnitRegistry(cache_folder=None)


@lru_cache(maxsize=256)
def factor(unit: str, target: str) -> float | None:
    """Return the factor from ``unit`` to ``target``; ``None`` if an offset is involved."""
    if unit == target:
        return 1.0
    if "temperature" in (_DIMENSION.get(unit), _DIMENSION.get(target)):
        return None
    registry = _registry()
    return float(registry.Quantity(1.0, unit).to(target).magnitude)


def convert(value: float, unit: str, target: str) -> float:
    """Return ``value`` in ``target``, rounded to twelve significant digits.

    Parameters
    ----------
    value : float
        Number in ``unit``.
    unit, target : str
        Unit names from :func:`known_unit`, same dimension.

    Raises
    ------
    pint.DimensionalityError
        If the two units measure different things.
    """
    if unit == target:
        return value
    ratio = factor(unit, target)
    if ratio is not None:
        return _rounded(value * ratio)
    registry = _registry()
    return _rounded(float(registry.Quantity(value, unit).to(target).magnitude))


def convert_difference(width: float, unit: str, target: str) -> float:
    """Return a difference (an interval, an uncertainty) in ``target``: offsets do not count."""
    return _rounded(abs(width) * _scale(unit, target))


def convert_decimals(decimals: int | None, unit: str, target: str) -> int | None:
    """Return the recorded decimals after conversion; never finer than what was recorded.

    2510 mg (0 decimals) is 2.510 g (3 decimals); 72 °F (steps of 0.56 °C) is read to 1 °C. Where
    the larger unit hides the step ("0.25 L", "2 h") the writing does not tell it: ``None``.
    """
    if decimals is None or unit == target:
        return decimals
    step = _scale(unit, target) * 10.0**-decimals
    converted = math.floor(-math.log10(step) + 1e-9)
    return converted if converted >= 0 else None


def _scale(unit: str, target: str) -> float:
    ratio = factor(unit, target)
    if ratio is not None:
        return ratio
    # The size of a degree does not depend on where the scale starts.
    kelvins = {"degC": 1.0, "K": 1.0, "degF": 5.0 / 9.0}
    return kelvins[unit] / kelvins[target]


def _rounded(value: float) -> float:
    return float(f"{value:.12g}")


_BRACKETED = re.compile(r"[(\[{]\s*(?:(?:[^()\[\]{}]{0,40}\s)?in\s+)?([^()\[\]{}]{1,24}?)\s*[)\]}]")
_TRAILING = re.compile(
    r"(?:^|(?P<mark>[\s_]*[/,:;=]\s*|[\s_]+in\s+)|[\s_]+)(?P<unit>[^\s,/_:;=]+)$"
)


_RATIO = re.compile(
    r"(?:^|[\s,_/]\s*)((?:m?mol|mg|k?g)\s?/\s?(?:100\s?)?(?:k?g|m?l|dm\^?[3³]|cm\^?[3³]))\s*$",
    re.IGNORECASE,
)


# "(mL, joined with +)" and ", g (before)": the unit goes before a remark.
_BEFORE_REMARK = re.compile(
    r"[(\[]\s*(?P<inside>[^()\[\]\s,;:]{1,12})\s*[,;:][^()\[\]]*[)\]]"
    r"|[,/]\s*(?P<outside>[^()\[\]\s,;:/]{1,12})\s*(?=\()"
)
_LEADING = re.compile(
    r"(?P<before>.*\bhow (?:many|much)\s+)?"
    r"(?P<unit>m?g|mgs|(?i:grams?|milligrams?|millilit(?:er|re)s?)|m[lL]s?|mins?|minutes|°C|"
    r"[lL](?= of ))\b(?!\s*[/)\]])[\s_]+(?:of\s+)?(?=\w)",
)


def unit_in_heading(heading: str, dimension: str | None = None) -> tuple[str, str | None]:
    """Split a heading into its words and the unit it names.

    Parameters
    ----------
    heading : str
        Heading as written: ``"Mass (mg)"``, ``"T/°C"``, ``"Vol 2, mL"``, ``"mass_g"``.
    dimension : str, optional
        Dimension of the column, if it is known; lets a lone letter count ("Temp C").

    Returns
    -------
    rest : str
        The heading without the unit, stripped.
    unit : str or None
        Unit name, ``None`` if none is named.
    """
    for match in _BRACKETED.finditer(heading):
        unit = known_unit(match[1], dimension)
        if unit is not None and dimension in (None, _DIMENSION[unit]):
            rest = heading[: match.start()] + " " + heading[match.end() :]
            return " ".join(rest.split()), unit
    for match in _BEFORE_REMARK.finditer(heading):
        unit = known_unit(match["inside"] or match["outside"], dimension)
        weak = normal_unit(match["inside"] or match["outside"]).casefold() in _WEAK
        if unit is not None and dimension in (None, _DIMENSION[unit]) and not weak:
            inside = match["inside"] is not None
            rest = heading[: match.start()] + " " + heading[match.end() :]
            return (" ".join(rest.split()) if inside else rest.strip()), unit
    text = heading.strip()
    if lead := _LEADING.match(text):  # "g of solid", "how many mL of filtrate"
        unit = known_unit(lead["unit"], "volume" if lead["unit"] in "Ll" else dimension)
        if unit is not None and dimension in (None, _DIMENSION[unit]):
            return f"{lead['before'] or ''} {text[lead.end() :]}".strip(), unit
    two_words = re.search(r"[\s/,]((?:deg|degrees?|°)\s*\.?\s*[CFK]\w*)\s*$", text, re.IGNORECASE)
    if two_words and (unit := known_unit(two_words[1], dimension)):
        return text[: two_words.start()].strip(" /,"), unit
    if ratio := _RATIO.search(text):
        unit = known_unit(ratio[1], dimension)  # "g/L" at the end is no litre
        return (text[: ratio.start()].strip(" /,_"), unit) if unit else (text, None)
    tail = _TRAILING.search(text)
    if tail is None or not (rest := text[: tail.start()].strip(" _")):
        return text, None
    unit = known_unit(tail["unit"], dimension)
    if unit is None or (dimension and _DIMENSION[unit] != dimension):
        return text, None
    weak = normal_unit(tail["unit"]).casefold() in _WEAK
    if weak and not tail["mark"] and dimension is None:
        return text, None
    return rest, unit
