"""The catalogue in words: every slip's code and what it is called.

The slips are those of ordinary teaching practice (judgement; no published frequency table was
found). Codes: V volume, S masses, U and W units, M molar mass, R rounding, D digits and rows,
C copying in a spreadsheet, T titration, E evaporation.
"""

from __future__ import annotations

TERMS: dict[str, str] = {
    "V1": "one fill used instead of the total",
    "V2": "fills averaged instead of added",
    "V3": "one fill left out",
    "V4": "one fill counted twice",
    "V5": "nominal volume used instead of the readings",
    "V6": "volume of the filtrate used instead of the water added",
    "V7": "capacity of the cylinder used instead of its reading",
    "S1": "nothing subtracted: initial mass used as dissolved mass",
    "S2": "recovered mass used as dissolved mass",
    "S3": "subtraction the wrong way round",
    "S4": "masses added instead of subtracted",
    "S5": "paper not subtracted from the recovered mass",
    "S6": "paper subtracted twice",
    "S7": "container left in the initial mass only",
    "S8": "percent dissolved given as solubility",
    "S9": "percent recovered given as solubility",
    "S10": "division upside down: mL per gram",
    "S11": "multiplied by the volume, or divided by the initial mass as well",
    "S12": "dissolved mass given, not divided by the volume",
    "U1": "mL not converted: value per mL",
    "U2": "value per 100 mL",
    "U3": "value per litre",
    "U4": "value in mg per litre",
    "U5": "mL to litres by a wrong power of ten",
    "U6": "kilograms for grams",
    "U7": "value in mg per mL",
    "U8": "US gallon or fluid ounce in the conversion",
    "U9": "moles and grams mixed up",
    "U10": "value in mg per 100 mL",
    "W1": "per mass of solution and per mass of water mixed up",
    "M1": "molar mass of another form of the solid (oxide, or with other crystal water)",
    "M2": "molar mass of the carbonate",
    "M3": "molar mass from an incomplete formula",
    "M4": "multiplied by the molar mass instead of divided",
    "M5": "moles given, not per litre",
    "M6": "concentration of the ion for that of the solid, or half of it",
    "R1": "dissolved mass rounded too early",
    "R2": "quotient rounded too early",
    "D1": "two neighbouring digits exchanged",
    "D2": "one digit mistyped, or the decimal point moved",
    "D3": "readings of another group used",
    "D4": "reading of another trial used",
    "C1": "cell reference off by one row",
    "T1": "factor 2 of the acid forgotten",
    "T2": "multiplied by 2 instead of divided",
    "T3": "concentration of hydroxide given as that of the solid",
    "T4": "molar mass of another formula",
    "T5": "molar mass of hydroxide used with its concentration",
    "T6": "acid and aliquot volumes exchanged",
    "T7": "all the water taken as the aliquot",
    "T9": "nominal concentration of the acid used",
    "T10": "titre of another trial, or a mean over trials",
    "T11": "mL not converted",
    "E1": "dish not subtracted",
    "E2": "residue given, not divided by the aliquot",
    "E3": "all the water used instead of the aliquot",
}


def term(codes: str) -> str:
    """Return the words for one code or for several joined by ``/``."""
    words = [TERMS[code] for code in codes.split("/")]
    return " = ".join(dict.fromkeys(words))
